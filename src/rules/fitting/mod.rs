//! Rules about bolts, torque and the light check.
