//! The requirements of a layout, each by itself, so that a set of them that cannot be met together can be named.

use super::task::{LayoutTask, Owned};

/// One requirement. Dropping it never makes a layout harder to find.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Requirement {
    /// The run is made of bars from the stock. Presupposed by all others, so it stands alone or not at all.
    Stock { rail: usize },
    /// No more bars of a kind than there are.
    StockCount { profile: usize, bar: usize },
    /// An owned bar is used, at its place where it has one.
    Owned { owned: usize },
    /// No segment is shorter than the least length.
    LeastSegment { rail: usize },
    /// End distances at the ends of the axis keep their limits.
    EndDistance { rail: usize },
    /// The hole pattern carries on across every joint.
    HolePitch { rail: usize },
    /// No sawn end lies in a joint.
    SawnEnd { rail: usize },
    /// Joints keep clear of the beam's seams.
    Seam { rail: usize },
    /// The joint support holds its bolts of both rail ends.
    JointSupport { rail: usize },
    /// Joint supports overlap neither a support that must stay nor each other.
    SupportOverlap { rail: usize },
    /// Every kept support holds its bolts.
    SupportBolts { rail: usize },
    /// Neighbouring supports stand no further apart than allowed.
    SupportSpacing { rail: usize },
    /// Joints of two rails are staggered.
    Stagger { rails: (usize, usize) },
    /// Blocks do not meet joints of these rails together; the two may be one rail.
    Meeting { rails: (usize, usize) },
}

impl Requirement {
    /// Whether it is about this rail, alone or with another.
    pub fn concerns(&self, of: usize) -> bool {
        match *self {
            Self::StockCount { .. } | Self::Owned { .. } => false,
            Self::Stagger { rails } | Self::Meeting { rails } => rails.0 == of || rails.1 == of,
            Self::Stock { rail }
            | Self::LeastSegment { rail }
            | Self::EndDistance { rail }
            | Self::HolePitch { rail }
            | Self::SawnEnd { rail }
            | Self::Seam { rail }
            | Self::JointSupport { rail }
            | Self::SupportOverlap { rail }
            | Self::SupportBolts { rail }
            | Self::SupportSpacing { rail } => rail == of,
        }
    }

    /// Every requirement that this task states, the presupposed ones left out.
    pub fn all_for(task: &LayoutTask) -> Vec<Self> {
        let mut all = Vec::new();
        for (profile, spec) in task.profiles.iter().enumerate() {
            let limited = spec.stock.iter().enumerate().filter(|(_, bar)| bar.count.is_some());
            all.extend(limited.map(|(bar, _)| Self::StockCount { profile, bar }));
        }
        all.extend((0..task.owned.len()).map(|owned| Self::Owned { owned }));
        let sawn = |rail: usize| {
            let of_rail = |owned: &&Owned| {
                owned.profile == task.rails[rail].profile && owned.rail.is_none_or(|meant| meant == rail)
            };
            task.owned.iter().filter(of_rail).any(|owned| owned.near_sawn || owned.far_sawn)
        };
        for (rail, spec) in task.rails.iter().enumerate() {
            let profile = task.profile_of(rail);
            let supports = &spec.supports;
            let planned = supports.joint_covers.is_some();
            let stated = [
                (profile.least_segment > 0, Self::LeastSegment { rail }),
                (profile.least_end > 0 || profile.most_end.is_some(), Self::EndDistance { rail }),
                (true, Self::HolePitch { rail }),
                (profile.cutting.is_some_and(|cutting| !cutting.in_joints) || sawn(rail), Self::SawnEnd { rail }),
                (!spec.seams.is_empty(), Self::Seam { rail }),
                (planned && supports.joint_bolts > 0, Self::JointSupport { rail }),
                (planned, Self::SupportOverlap { rail }),
                (supports.grid_bolts > 0 && !supports.grid.is_empty(), Self::SupportBolts { rail }),
                (planned && supports.most_spacing.is_some(), Self::SupportSpacing { rail }),
            ];
            all.extend(stated.into_iter().filter_map(|(is, requirement)| is.then_some(requirement)));
        }
        for a in 0..task.rails.len() {
            for b in a..task.rails.len() {
                if task.stagger.is_some() && a != b {
                    all.push(Self::Stagger { rails: (a, b) });
                }
                let on = |rail| task.carriage.iter().flat_map(|c| &c.blocks).any(|block| block.rail == rail);
                if on(a) && on(b) {
                    all.push(Self::Meeting { rails: (a, b) });
                }
            }
        }
        all
    }
}
