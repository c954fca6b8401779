//! Rules about the inspection of joints.
