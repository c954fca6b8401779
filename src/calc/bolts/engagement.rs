//! How much thread must be engaged for the bolt to break before a thread strips, its own or that of the part it is screwed
//! into (VDI 2230-1). The formula and its factors are from memory of the guideline; the shear area is held by a published
//! example.

use std::f64::consts::PI;

use super::{SeatedBolt, Thread};

/// How much stronger than the least tensile strength of its class a bolt may be: VDI 2230-1, from memory.
const STRONGEST: f64 = 1.2;

/// C2 and C3: what is left of the strength of a thread since its teeth are bent. It is 0.897 where both threads are as
/// strong, and more for the weaker of two unlike ones, so that 0.897 is never too much; from memory. A tapped hole in a part
/// does not widen as a nut does, so that C1 is 1.
const BENT: f64 = 0.897;

/// The area in mm² that an internal thread is sheared over, A_SGM = π d (m/P) [P/2 + (d − D2) tan 30°]: `outer` is the
/// bolt's outer diameter d, `pitch_diameter` the internal thread's D2, `engaged` the length m, all in mm.
pub(crate) fn shear_area_mm2(outer: f64, pitch_diameter: f64, pitch: f64, engaged: f64) -> f64 {
    PI * outer * engaged / pitch * (pitch / 2.0 + (outer - pitch_diameter) / 3f64.sqrt())
}

/// The same of the bolt's thread, A_SGS = π D1 (m/P) [P/2 + (d2 − D1) tan 30°]: it is sheared at the internal thread's minor
/// diameter D1, where the bolt's pitch diameter d2 says how thick its teeth are.
pub(crate) fn bolt_shear_area_mm2(inner: f64, pitch_diameter: f64, pitch: f64, engaged: f64) -> f64 {
    PI * inner * engaged / pitch * (pitch / 2.0 + (pitch_diameter - inner) / 3f64.sqrt())
}

impl Thread {
    /// What each of the two threads is sheared over for a length of 1 mm, in the smallest bolt of tolerance 6g and the widest
    /// hole of 6H: that of the part, and that of the bolt.
    fn least_shear_areas_mm2(self) -> [f64; 2] {
        let (outer, pitch_diameter) = (self.smallest_outer_diameter_mm(), self.largest_internal_pitch_diameter_mm());
        let (inner, of_bolt) = (self.largest_internal_minor_diameter_mm(), self.smallest_pitch_diameter_mm());
        let part = shear_area_mm2(outer, pitch_diameter, self.pitch_mm(), 1.0);
        // With a pitch so fine that the tolerances eat it up nothing is engaged.
        [part, bolt_shear_area_mm2(inner, of_bolt, self.pitch_mm(), 1.0)].map(|area| area.max(f64::MIN_POSITIVE))
    }
}

impl SeatedBolt {
    /// The forces in N that strip the part's thread and the bolt's, for each mm that is engaged, where the bolt is no stronger
    /// than its class: C1 C3 τ A_SGM or C2 τ_B A_SGS.
    fn stripping_force_per_mm(&self, shear_mpa: f64) -> [f64; 2] {
        let [part, bolt] = self.thread.least_shear_areas_mm2();
        let of_bolt = self.class.shear_ratio() * self.strength().tensile_mpa;
        [BENT * shear_mpa * part, BENT * of_bolt * bolt]
    }

    /// The engaged length in mm with which the bolt breaks before a thread strips, in a part of this shear strength. It counts
    /// full thread only. A bolt that is stronger than its class pulls harder at the part; its own thread is stronger with it.
    pub(crate) fn engagement_needed_mm(&self, shear_mpa: f64) -> f64 {
        let breaks = self.strength().tensile_mpa * self.thread.stress_area_mm2();
        let [part, bolt] = self.stripping_force_per_mm(shear_mpa);
        (STRONGEST * breaks / part).max(breaks / bolt)
    }

    /// The force in N that so much full thread in a part of this shear strength holds.
    pub(crate) fn thread_holds_n(&self, shear_mpa: f64, engaged_mm: f64) -> f64 {
        let [part, bolt] = self.stripping_force_per_mm(shear_mpa);
        engaged_mm * part.min(bolt)
    }
}
