//! How much thread must be engaged for the bolt to break before the threaded part strips (VDI 2230-1, after E. M. Alexander
//! 1977). The formula and its factors are from memory of the guideline; the shear area is held by a published example.

use std::f64::consts::PI;

use super::{SeatedBolt, Thread};

/// How much stronger than the least tensile strength of its class a bolt may be: VDI 2230-1, from memory.
const STRONGEST: f64 = 1.2;

/// C3: what is left of the strength of a weaker internal thread since its teeth are bent. It is 0.897 where both threads
/// are as strong, and more where the internal one is weaker; from memory. A tapped hole in a part does not widen as a nut
/// does, so that C1 is 1.
const BENT: f64 = 0.897;

/// The area in mm² that an internal thread is sheared over, A_SGM = π d (m/P) [P/2 + (d − D2) tan 30°]: `outer` is the
/// bolt's outer diameter d, `pitch_diameter` the internal thread's D2, `engaged` the length m, all in mm.
pub(crate) fn shear_area_mm2(outer: f64, pitch_diameter: f64, pitch: f64, engaged: f64) -> f64 {
    PI * outer * engaged / pitch * (pitch / 2.0 + (outer - pitch_diameter) / 3f64.sqrt())
}

impl Thread {
    /// That area for a length of 1 mm, in the smallest bolt of tolerance 6g and the widest hole of 6H.
    fn least_shear_area_mm2(self) -> f64 {
        let (outer, pitch_diameter) = (self.smallest_outer_diameter_mm(), self.largest_internal_pitch_diameter_mm());
        // With a pitch so fine that the tolerances eat it up nothing is engaged.
        shear_area_mm2(outer, pitch_diameter, self.pitch_mm(), 1.0).max(f64::MIN_POSITIVE)
    }
}

impl SeatedBolt {
    /// The engaged length in mm with which the bolt breaks before a threaded part of this shear strength strips:
    /// m = 1.2 Rm As / (C1 C3 τ · A_SGM per mm). It counts full thread only.
    pub(crate) fn engagement_needed_mm(&self, shear_mpa: f64) -> f64 {
        STRONGEST * self.strength().tensile_mpa * self.thread.stress_area_mm2()
            / (BENT * shear_mpa * self.thread.least_shear_area_mm2())
    }
}
