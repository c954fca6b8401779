//! Torque and preload of a bolt: what a torque makes of it, how much it may have, and whether a torque window fits.
//!
//! Formulas of VDI 2230 for torque-controlled tightening with one friction coefficient µ in thread and seat. A bolt is
//! stressed most when friction is least, so the torque allowed is that of the least friction: M_A grows with µ all along.
//! Friction is always a range; who states one number states a range of no width. A joint's own behaviour (settling,
//! working load) is not computed here; when the threaded part strips, `engagement` says.

mod derive;
mod engagement;
mod table;

pub(crate) use derive::{BoltOrigins, derive_allowed_torque, derive_preload};
#[cfg(test)]
pub(crate) use engagement::{bolt_shear_area_mm2, shear_area_mm2};
#[cfg(test)]
pub(crate) use table::AusteniticGrade;
pub(crate) use table::{BoltHead, Class, KNOWN_CLASSES, KNOWN_THREADS, Strength, Thread};

use std::f64::consts::PI;

/// The share of the yield strength that tightening may use up (VDI 2230).
pub(crate) const YIELD_SHARE: f64 = 0.9;

/// Why a bolt cannot be computed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(crate) enum BoltError {
    /// The head has no seat of its own in the tables.
    #[error("the seat of this head is not in the tables: state the mean diameter of the seat")]
    SeatUnknown,
    /// The stated seat is no seat for this thread.
    #[error("a seat of {seat_mm} mm mean diameter cannot lie under the head of a bolt of {nominal_mm} mm")]
    Seat {
        /// The stated mean diameter.
        seat_mm: f64,
        /// The thread's nominal diameter.
        nominal_mm: f64,
    },
    /// The friction range is empty or beyond 0.02 … 1.
    #[error("friction from {least} to {most} is no range between 0.02 and 1")]
    Friction {
        /// The lower end.
        least: f64,
        /// The upper end.
        most: f64,
    },
    /// A torque is negative, no number, or the range is empty.
    #[error("a torque from {least} to {most} N·m is no torque")]
    Torque {
        /// The lower end.
        least: f64,
        /// The upper end.
        most: f64,
    },
}

/// A range of a computed value, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ValueRange {
    /// The lower end.
    pub least: f64,
    /// The upper end.
    pub most: f64,
}

/// The friction coefficient in thread and seat, as a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Friction {
    least: f64,
    most: f64,
}

impl Friction {
    /// A range of friction. Errors when it is empty or leaves 0.02 … 1, where VDI 2230's formula has no business.
    pub(crate) fn new(least: f64, most: f64) -> Result<Self, BoltError> {
        if least >= 0.02 && most <= 1.0 && least <= most {
            Ok(Self { least, most })
        } else {
            Err(BoltError::Friction { least, most })
        }
    }

    /// The lower end: the bolt is stressed most.
    pub(crate) const fn least(self) -> f64 {
        self.least
    }

    /// The upper end: the clamping force is least.
    pub(crate) const fn most(self) -> f64 {
        self.most
    }
}

/// A bolt with its seat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SeatedBolt {
    thread: Thread,
    class: Class,
    head: BoltHead,
    seat_mm: f64,
    seat_stated: bool,
}

impl SeatedBolt {
    /// A bolt on its standard seat, or on one of the stated mean diameter D_Km in mm.
    ///
    /// Errors when the head has no seat in the tables and none is stated, or when the stated one is smaller than the
    /// thread or larger than four times it.
    pub(crate) fn new(
        thread: Thread,
        class: Class,
        head: BoltHead,
        stated_seat_mm: Option<f64>,
    ) -> Result<Self, BoltError> {
        let nominal_mm = thread.nominal_mm();
        let seat_mm = match stated_seat_mm {
            Some(seat_mm) if seat_mm > nominal_mm && seat_mm <= 4.0 * nominal_mm => seat_mm,
            Some(seat_mm) => return Err(BoltError::Seat { seat_mm, nominal_mm }),
            None => head.seat_mm(thread).ok_or(BoltError::SeatUnknown)?,
        };
        Ok(Self { thread, class, head, seat_mm, seat_stated: stated_seat_mm.is_some() })
    }

    fn strength(&self) -> Strength {
        self.class.strength(self.thread.nominal_mm())
    }

    /// The share of the thread's load that the head carries, 0.8 or 1.
    pub(crate) fn carries(&self) -> f64 {
        f64::from(self.head.carries_percent()) / 100.0
    }

    /// The proof load of the thread As · Sp in N (ISO 898-1; its tables round to three digits).
    pub(crate) fn thread_proof_load_n(&self) -> f64 {
        self.thread.stress_area_mm2() * self.strength().proof_mpa
    }

    /// The proof load of the bolt in N: the thread's, reduced by what the head carries.
    pub(crate) fn proof_load_n(&self) -> f64 {
        self.carries() * self.thread_proof_load_n()
    }

    /// How much the twist of tightening adds: √(1 + 3 [1.5 (d2/d0)(P/(π d2) + 1.155 µ)]²) (VDI 2230).
    fn twist_factor(&self, friction: f64) -> f64 {
        let (d2, d0) = (self.thread.pitch_diameter_mm(), self.thread.stress_diameter_mm());
        let shear = 1.5 * (d2 / d0) * (self.thread.pitch_mm() / (PI * d2) + 1.155 * friction);
        (1.0 + 3.0 * shear * shear).sqrt()
    }

    /// The lever of tightening in mm, torque over preload: 0.16 P + 0.58 d2 µ + µ D_Km/2 (VDI 2230).
    fn lever_mm(&self, friction: f64) -> f64 {
        0.16 * self.thread.pitch_mm()
            + 0.58 * self.thread.pitch_diameter_mm() * friction
            + friction * self.seat_mm / 2.0
    }

    /// The preload that tightening may reach at this friction, in N: 0.9 · Rp0.2 · As over the twist factor (VDI 2230),
    /// reduced by what the head carries.
    pub(crate) fn assembly_preload_n(&self, friction: f64) -> f64 {
        self.carries() * YIELD_SHARE * self.strength().yield_mpa * self.thread.stress_area_mm2()
            / self.twist_factor(friction)
    }

    /// The tightening torque M_A at this friction in N·m (VDI 2230), reduced by what the head carries.
    pub(crate) fn tightening_torque_nm(&self, friction: f64) -> f64 {
        self.assembly_preload_n(friction) * self.lever_mm(friction) / 1000.0
    }

    /// The preload in N that a torque between `least` and `most` N·m leaves: the least torque at the most friction up to
    /// the most torque at the least friction (VDI 2230). For one recorded torque give it twice, or widened by the
    /// wrench's error. Errors when a torque is negative, not finite, or the range empty.
    pub(crate) fn preload_n(&self, torque_nm: ValueRange, friction: Friction) -> Result<ValueRange, BoltError> {
        let ValueRange { least, most } = torque_nm;
        if !(least >= 0.0 && least <= most && most.is_finite()) {
            return Err(BoltError::Torque { least, most });
        }
        Ok(ValueRange {
            least: least * 1000.0 / self.lever_mm(friction.most),
            most: most * 1000.0 / self.lever_mm(friction.least),
        })
    }

    /// The preload as a share of the bolt's proof load, 1 = all of it. Errors as [`SeatedBolt::preload_n`].
    pub(crate) fn proof_share(&self, torque_nm: ValueRange, friction: Friction) -> Result<ValueRange, BoltError> {
        let preload = self.preload_n(torque_nm, friction)?;
        let proof = self.proof_load_n();
        Ok(ValueRange { least: preload.least / proof, most: preload.most / proof })
    }

    /// The most torque the bolt may have: M_A at the least friction.
    pub(crate) fn allowed_torque(&self, friction: Friction) -> AllowedTorque {
        AllowedTorque { newton_metres: self.tightening_torque_nm(friction.least) }
    }
}

/// The most torque a bolt may have by its own strength.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub(crate) struct AllowedTorque {
    /// In N·m, as computed.
    pub newton_metres: f64,
}

impl AllowedTorque {}

/// What binds a torque from above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum TorqueBound {
    /// The strength of the bolt.
    Bolt,
    /// A limit that somebody stated: the maker of the threaded part, or the shop.
    Stated,
}

/// Whether a torque window fits a bolt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum WindowFit<T> {
    /// Every torque in the window is allowed.
    Whole,
    /// Only torques up to `most` are; the window's upper end is not.
    LowerPart {
        /// The most torque allowed.
        most: T,
        /// What binds it.
        bound: TorqueBound,
    },
    /// Not even the window's least torque is allowed.
    Nothing {
        /// The most torque allowed.
        most: T,
        /// What binds it.
        bound: TorqueBound,
    },
}

/// Judges the window `least ..= most` by the torque a bolt may have and, where stated, the most that the maker of the threaded
/// part or the shop allows. All in one exact unit, the bolt's rounded down to it; both window ends are allowed values.
///
/// Thread in aluminium or in anything weaker than the bolt may strip first. Nothing here computes that: without a
/// stated limit the answer holds for the bolt only.
pub(crate) fn window_fit<T: Ord + Copy>(least: T, most: T, bolt: T, stated: Option<T>) -> WindowFit<T> {
    let (allowed, bound) = match stated {
        Some(stated) if stated < bolt => (stated, TorqueBound::Stated),
        _ => (bolt, TorqueBound::Bolt),
    };
    if most <= allowed {
        WindowFit::Whole
    } else if least <= allowed {
        WindowFit::LowerPart { most: allowed, bound }
    } else {
        WindowFit::Nothing { most: allowed, bound }
    }
}
