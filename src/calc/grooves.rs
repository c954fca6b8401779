//! From four groove steps at a joint to what is wrong there.
//!
//! A rail has four grooves, two a flank, contact angle 45°. The four steps across a joint are the sum of four
//! patterns that do not overlap: height, side, twist and size. Each amplitude is a signed sum of the four steps over
//! four, so nothing is estimated and nothing lost. Sides and grooves are named as seen along increasing axis position;
//! the *near* rail end lies before the joint, the *far* one behind it; a step is positive where the far rail's groove
//! stands proud.

use super::exact::{LengthError, Surd, in_range};

/// One of the four grooves, as seen along increasing axis position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum GroovePosition {
    /// UL
    UpperLeft,
    /// UR
    UpperRight,
    /// LL
    LowerLeft,
    /// LR
    LowerRight,
}

impl GroovePosition {
    /// The order in which four steps are given: UL, UR, LL, LR.
    pub(crate) const ALL: [Self; 4] = [Self::UpperLeft, Self::UpperRight, Self::LowerLeft, Self::LowerRight];
}

/// Which way the gauge counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum GaugePlus {
    /// A groove that stands further out reads more.
    Outward,
    /// A groove that stands further in reads more.
    Inward,
}

/// How the stylus is held to the groove.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum StylusDirection {
    /// Along the groove's normal: it reads the step.
    Square,
    /// Level, so that it reads √2 times the step.
    Horizontal,
    /// Upright, so that it reads √2 times the step.
    Vertical,
}

/// Which way the grooves of a profile face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum GrooveFacing {
    /// The upper grooves face up and out, the lower ones down and out.
    Outward,
    /// The upper grooves face down and out, the lower ones up and out: height reads with the other sign.
    Inward,
}

/// Left or right, as seen along increasing axis position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum FlankSide {
    /// Left.
    Left,
    /// Right.
    Right,
}

/// One of the two rail ends that meet in a joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum RailEnd {
    /// The end before the joint.
    Near,
    /// The end behind the joint.
    Far,
}

/// The four independent patterns of steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Pattern {
    /// The far rail stands higher or lower.
    Height,
    /// The far rail stands to one side.
    Side,
    /// The far rail is turned about its own line.
    Twist,
    /// The far profile is larger or smaller.
    Size,
}

impl Pattern {
    /// All four, in the order in which they are reported.
    pub(crate) const ALL: [Self; 4] = [Self::Height, Self::Side, Self::Twist, Self::Size];

    /// The signs with which UL, UR, LL, LR show the pattern on a profile with outward contact.
    const fn signs(self) -> [i128; 4] {
        match self {
            Self::Height => [1, 1, -1, -1],
            Self::Side => [-1, 1, -1, 1],
            Self::Twist => [1, -1, -1, 1],
            Self::Size => [1, 1, 1, 1],
        }
    }
}

/// Four steps of one joint, free of the gauge's habits: positive where the far groove stands proud.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct GrooveSteps {
    read: [i64; 4],
    stylus: StylusDirection,
}

impl GrooveSteps {
    /// Takes reading differences after − before in nm for UL, UR, LL, LR (near groove first, far groove after).
    pub(crate) fn new(differences_nm: [i64; 4], plus: GaugePlus, stylus: StylusDirection) -> Result<Self, LengthError> {
        for nm in differences_nm {
            in_range(nm)?;
        }
        let read = match plus {
            GaugePlus::Outward => differences_nm,
            GaugePlus::Inward => differences_nm.map(|nm| -nm),
        };
        Ok(Self { read, stylus })
    }

    const fn power(&self) -> i8 {
        match self.stylus {
            StylusDirection::Square => 0,
            StylusDirection::Horizontal | StylusDirection::Vertical => -1,
        }
    }

    /// The step of one groove, along its normal.
    pub(crate) fn step(&self, groove: GroovePosition) -> Surd {
        Surd::new(4 * i128::from(self.read[groove as usize]), self.power())
    }

    /// The groove with the largest step, the first of equals.
    pub(crate) fn largest(&self) -> (GroovePosition, Surd) {
        let mut found = (GroovePosition::UpperLeft, self.step(GroovePosition::UpperLeft));
        for groove in GroovePosition::ALL {
            let step = self.step(groove);
            if step.square_32() > found.1.square_32() {
                found = (groove, step);
            }
        }
        found
    }

    /// The four pattern amplitudes: signed sum of the steps over four, exact.
    pub(crate) fn patterns(&self, contact: GrooveFacing) -> Patterns {
        let amplitude = |pattern: Pattern| {
            let sum = pattern.signs().iter().zip(self.read).map(|(sign, nm)| sign * i128::from(nm)).sum();
            Surd::new(sum, self.power())
        };
        let height = amplitude(Pattern::Height);
        Patterns {
            height: match contact {
                GrooveFacing::Outward => height,
                GrooveFacing::Inward => height.negated(),
            },
            side: amplitude(Pattern::Side),
            twist: amplitude(Pattern::Twist),
            size: amplitude(Pattern::Size),
        }
    }
}

/// Amplitudes of the four patterns, each as the groove step it causes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Patterns {
    /// Positive: the far rail stands high.
    pub height: Surd,
    /// Positive: the far rail stands to the right.
    pub side: Surd,
    /// Positive: UL and LR proud.
    pub twist: Surd,
    /// Positive: the far profile is larger.
    pub size: Surd,
}

impl Patterns {
    /// The amplitude of one pattern.
    pub(crate) const fn amplitude(&self, pattern: Pattern) -> Surd {
        match pattern {
            Pattern::Height => self.height,
            Pattern::Side => self.side,
            Pattern::Twist => self.twist,
            Pattern::Size => self.size,
        }
    }

    /// How far the far rail stands high (positive) or low, in nm as a straight offset: amplitude × √2.
    pub(crate) const fn height_offset(&self) -> Surd {
        self.height.times_root_two()
    }

    /// How far the far rail stands to the right (positive) or left, in nm as a straight offset: amplitude × √2.
    pub(crate) const fn side_offset(&self) -> Surd {
        self.side.times_root_two()
    }

    /// The largest groove step left after height and side are perfectly aligned: |twist| + |size|, or |size| alone
    /// where the seat can be squared as well.
    pub(crate) const fn remaining(&self, seat_can_be_squared: bool) -> Surd {
        if seat_can_be_squared { self.size.abs() } else { self.twist.abs().plus(self.size.abs()) }
    }
}

/// What stands out in four steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Culprit {
    /// One pattern holds more than half of the squared steps.
    Pattern(Pattern),
    /// One groove alone holds more than half of the squared steps, and more than any pattern: a burr or dirt there.
    OneGroove(GroovePosition),
    /// Nothing stands out.
    Mixed,
}

/// How far the steps are from the limit, once their cause is worth a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Dominance {
    /// Some step is beyond the limit; otherwise some step is beyond half of it.
    pub over_limit: bool,
    /// What stands out.
    pub culprit: Culprit,
}

/// Judges whether the cause of four steps is worth reporting against a limit in nm, and what it is.
///
/// `None` while every step is within half the limit. The squared steps split without rest into the squared amplitudes
/// (times four), which is what "more than half" is measured on. Common practice, no source.
pub(crate) fn judge_dominance(steps: &GrooveSteps, contact: GrooveFacing, limit_nm: i64) -> Option<Dominance> {
    let (_, largest) = steps.largest();
    let doubled = largest.plus(largest);
    if doubled.cmp_magnitude(limit_nm).is_le() {
        return None;
    }
    Some(Dominance { over_limit: largest.cmp_magnitude(limit_nm).is_gt(), culprit: culprit(steps, contact) })
}

/// What stands out in four steps, whatever their size.
pub(crate) fn culprit(steps: &GrooveSteps, contact: GrooveFacing) -> Culprit {
    let patterns = steps.patterns(contact);
    let of_groove = |groove| steps.step(groove).square_32();
    let whole: u128 = GroovePosition::ALL.into_iter().map(of_groove).sum();
    let by_pattern = Pattern::ALL.into_iter().map(|p| (4 * patterns.amplitude(p).square_32(), Culprit::Pattern(p)));
    let by_groove = GroovePosition::ALL.into_iter().map(|g| (of_groove(g), Culprit::OneGroove(g)));
    let mut best = (0, Culprit::Mixed);
    for (share, what) in by_pattern.chain(by_groove) {
        if 2 * share > whole && share >= best.0 {
            best = (share, if share == best.0 { Culprit::Mixed } else { what });
        }
    }
    best.1
}

/// A cure worth trying first. Lengths are straight offsets, exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum StepRemedy {
    /// Clean under the end that stands high, or shim under the other by so much; then snug again.
    LevelSeat {
        /// The end that stands high.
        high: RailEnd,
        /// By how much.
        by: Surd,
    },
    /// Loosen this end and push it so far to the datum face; then snug again.
    PushToDatum {
        /// The end that stands off its datum face.
        end: RailEnd,
        /// Where the datum face lies.
        towards: FlankSide,
        /// How far.
        by: Surd,
    },
    /// No datum side is known: the far end has to come so far this way, or the near end the other way.
    BringOver {
        /// Which way the far end has to go.
        far_towards: FlankSide,
        /// How far.
        by: Surd,
    },
    /// The seat or the support is not square.
    SquareSeat,
    /// The profiles differ: a matched pair, or a burr or dirt on an end. Alignment cannot cure it.
    MatchEnds {
        /// The end whose profile is larger.
        larger: RailEnd,
    },
    /// Clean and deburr this groove.
    CleanGroove {
        /// Where.
        groove: GroovePosition,
    },
}

/// The cure worth trying for what stands out, given the side on which the rail's datum face lies.
///
/// `None` for mixed steps and for steps of zero.
pub(crate) fn cure(culprit: Culprit, patterns: &Patterns, datum: Option<FlankSide>) -> Option<StepRemedy> {
    let pattern = match culprit {
        Culprit::Pattern(pattern) => pattern,
        Culprit::OneGroove(groove) => return Some(StepRemedy::CleanGroove { groove }),
        Culprit::Mixed => return None,
    };
    let sign = patterns.amplitude(pattern).signum();
    if sign == 0 {
        return None;
    }
    let ahead = if sign > 0 { RailEnd::Far } else { RailEnd::Near };
    Some(match pattern {
        Pattern::Height => StepRemedy::LevelSeat { high: ahead, by: patterns.height_offset().abs() },
        Pattern::Twist => StepRemedy::SquareSeat,
        Pattern::Size => StepRemedy::MatchEnds { larger: ahead },
        Pattern::Side => {
            let by = patterns.side_offset().abs();
            // The end further from the datum face is the one that has not been pushed home.
            let right_end = ahead;
            let left_end = if sign > 0 { RailEnd::Near } else { RailEnd::Far };
            match datum {
                Some(FlankSide::Left) => StepRemedy::PushToDatum { end: right_end, towards: FlankSide::Left, by },
                Some(FlankSide::Right) => StepRemedy::PushToDatum { end: left_end, towards: FlankSide::Right, by },
                None => {
                    StepRemedy::BringOver { far_towards: if sign > 0 { FlankSide::Left } else { FlankSide::Right }, by }
                }
            }
        }
    })
}

/// The cross-section of a profile as far as rigid-body causes need it, in nm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct GrooveGeometry {
    /// From the rail's middle plane to the grooves' contact points.
    pub half_width_nm: i64,
    /// From the plane midway between upper and lower grooves to either.
    pub half_height_nm: i64,
    /// From that midway plane down to the seat.
    pub seat_depth_nm: i64,
}

/// Small motion of the far rail about its seat that explains four steps, to first order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct RigidCauses {
    /// At the seat, to the right, in nm.
    pub side_nm: f64,
    /// Up, in nm.
    pub height_nm: f64,
    /// About the seat's middle, clockwise as seen along increasing axis position, in radians.
    pub roll: f64,
    /// How much further out each groove of the far profile lies along its normal, in nm.
    pub size_nm: f64,
}

/// Rigid-body causes of four pattern amplitudes.
///
/// With half-width w, half-height h and seat depth d a roll θ about the seat shows as a twist of θ(w − h)/√2 (outward
/// contact) or −θ(w + h)/√2 (inward) and as a side step of θd/√2; height and size are not touched. `None` where the
/// profile shows no twist at all (w = h with outward contact), since then a roll cannot be told from a side offset.
pub(crate) fn rigid_causes(
    patterns: &Patterns,
    geometry: GrooveGeometry,
    contact: GrooveFacing,
) -> Option<RigidCauses> {
    let GrooveGeometry { half_width_nm: w, half_height_nm: h, seat_depth_nm: d } = geometry;
    let lever = match contact {
        GrooveFacing::Outward => w.checked_sub(h)?,
        GrooveFacing::Inward => w.checked_add(h)?.checked_neg()?,
    };
    if lever == 0 {
        return None;
    }
    let roll = patterns.twist.times_root_two().to_f64() / lever as f64;
    Some(RigidCauses {
        side_nm: patterns.side_offset().to_f64() - roll * d as f64,
        height_nm: patterns.height_offset().to_f64(),
        roll,
        size_nm: patterns.size.to_f64(),
    })
}
