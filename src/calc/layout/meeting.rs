//! Blocks meeting joints: when two blocks of one carriage stand over two joints at once.
//!
//! Two joints crossed together shake the carriage twice at the same place, so the rules keep the crossings apart. The
//! stagger of the joints alone does not: staggered by exactly the block spacing, the front block meets one joint while
//! the rear block meets the other. Geometry of the trade; lengths are nanometres.

/// Range of carriage positions, both ends included. Positions are those of the carriage's reference point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PositionRange {
    /// The least position.
    pub from: i64,
    /// The greatest position.
    pub to: i64,
}

/// One block over one joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Meeting {
    /// Position of the joint along the axis.
    pub joint: i64,
    /// Where the block's centre sits, seen from the carriage's reference point.
    pub offset: i64,
    /// Effective length of the block, along the axis.
    pub length: i64,
}

impl Meeting {
    /// Carriage position at which the block's centre stands over the joint.
    pub(crate) fn centre(&self) -> i64 {
        self.joint.saturating_sub(self.offset)
    }

    /// Twice the carriage positions between which the block covers the joint (doubled, so that odd lengths stay exact).
    fn doubled_ends(&self) -> (i128, i128) {
        let centre = 2 * (i128::from(self.joint) - i128::from(self.offset));
        (centre - i128::from(self.length), centre + i128::from(self.length))
    }
}

/// The greatest extra margin at which the two meetings still stay apart; negative when they coincide already.
///
/// Block a covers joint i while the carriage stands inside the open interval `p_i - o_a ± ℓ_a / 2`. A margin m widens
/// each interval by m / 2 at both ends. The meetings coincide when the two open intervals and the closed stroke have a
/// point in common; without a stroke the whole line counts. So they stay apart when their centres are at least
/// (ℓ_a + ℓ_b) / 2 + m apart, or when all that they share lies outside the stroke. A half nanometre is rounded down,
/// which never turns a verdict.
pub(crate) fn meeting_slack(a: &Meeting, b: &Meeting, margin: i64, stroke: Option<PositionRange>) -> i64 {
    let (a_low, a_high) = a.doubled_ends();
    let (b_low, b_high) = b.doubled_ends();
    let (low, high) = (a_low.max(b_low), a_high.min(b_high));
    // With the margin m, (low - m, high + m) is what both share, doubled: empty, past the stroke, or before it.
    let mut apart = low - high;
    if let Some(stroke) = stroke {
        apart = apart.max(2 * (low - 2 * i128::from(stroke.to)));
        apart = apart.max(2 * (2 * i128::from(stroke.from) - high));
    }
    clamp(apart.div_euclid(2) - i128::from(margin))
}

fn clamp(value: i128) -> i64 {
    value.clamp(i128::from(i64::MIN), i128::from(i64::MAX)) as i64
}
