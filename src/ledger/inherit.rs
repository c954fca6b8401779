//! What a nearer shop file leaves out of an entry comes from the next one above that has an entry of that name, part by
//! part. Calibrations, doubts and counts of cycles are one history of one instrument wherever they are written, so that no
//! copy of an entry can hide one that failed.
//!
//! Each entry is taken apart by its fields: one that is added to a type must be thought of here, or this does not compile.

use super::named::Named;
use super::shop::{
    BlockType, Calibration, Cutting, Fastener, Gauge, GaugeFigures, Profile, ShimStock, TorqueWindow, Wrench,
};
use super::spanned::{Name, Spanned};
use crate::quantity::{Force, Length, Ratio, Torque};

/// An entry of a shop file that takes over what it does not say.
pub(super) trait Inherits: Sized {
    fn name(&self) -> &Spanned<Name>;

    /// Takes over from the same entry of a file farther out what this one does not say. Gives the names of what both say,
    /// and differently.
    fn inherit(&mut self, farther: Self) -> Vec<&'static str>;
}

/// Where the nearer entry has the first word of a pair, the second is not taken over from a file above: lists go whole, a
/// preload is said in one of two ways, and a rating that states no distance is for that of the standard.
pub(super) const NOT_TAKEN_OVER: [(&str, &str); 4] =
    [("reads", "reads"), ("preload", "preload-share"), ("preload-share", "preload"), ("C", "basis")];

/// Puts an entry among those of nearer files: its parts into the one of its name where there is one.
pub(super) fn put<T: Inherits>(all: &mut Named<T>, new: T, duplicate: impl FnOnce(&Spanned<Name>, &Spanned<Name>)) {
    let own = new.name().clone();
    match all.get_mut(&own.value) {
        Some(old) if old.name().place.source == own.place.source => duplicate(&own, old.name()),
        Some(old) => {
            old.inherit(new);
        }
        None => {
            all.put(&own.value, new);
        }
    }
}

macro_rules! take {
    ($own:ident, $otherwise:ident: $($part:ident)*) => {
        $(match (&$own.$part, &$part) {
            (None, _) => $own.$part = $part,
            (Some(own), Some(farther)) if !own.says(farther) => $otherwise.push(stringify!($part)),
            _ => {}
        })*
    };
}

/// What can say the same in two places.
trait Says {
    fn says(&self, other: &Self) -> bool;
}

impl<T: PartialEq> Says for Spanned<T> {
    fn says(&self, other: &Spanned<T>) -> bool {
        self.value == other.value
    }
}

impl<A: Says, B: Says> Says for (A, B) {
    fn says(&self, other: &(A, B)) -> bool {
        self.0.says(&other.0) && self.1.says(&other.1)
    }
}

impl Says for TorqueWindow {
    fn says(&self, other: &TorqueWindow) -> bool {
        (self.least, self.most) == (other.least, other.most)
    }
}

impl Says for Cutting {
    fn says(&self, other: &Cutting) -> bool {
        fn value<T: Copy>(of: &Option<Spanned<T>>) -> Option<T> {
            of.as_ref().map(|of| of.value)
        }
        let lengths = |it: &Cutting| (it.allowed, value(&it.grid), value(&it.kerf));
        lengths(self) == lengths(other) && value(&self.ends) == value(&other.ends)
    }
}

/// The calibrations of both, each once: a copy of an entry brings the same ones again.
fn unite(own: &mut Vec<Calibration>, farther: Vec<Calibration>) {
    for other in farther {
        if !own.iter().any(|it| it.same(&other)) {
            own.push(other);
        }
    }
    // The order of their days, whichever file they stand in.
    own.sort_by_key(|it| (it.on.value, it.place));
}

impl Calibration {
    /// It says the same, wherever it stands.
    fn same(&self, other: &Calibration) -> bool {
        fn value<T: Clone>(of: &Option<Spanned<T>>) -> Option<T> {
            of.as_ref().map(|of| of.value.clone())
        }
        let said = |it: &Calibration| (it.on.value, it.failed, it.adjusted, it.as_found);
        let stated = |it: &Calibration| (value(&it.due), value(&it.error), value(&it.cycles), value(&it.certificate));
        said(self) == said(other) && stated(self) == stated(other)
    }
}

impl Inherits for Gauge {
    fn name(&self) -> &Spanned<Name> {
        &self.name
    }

    fn inherit(&mut self, farther: Gauge) -> Vec<&'static str> {
        let mut otherwise = Vec::new();
        let Gauge {
            name: _,
            kind,
            reads,
            graduation,
            range,
            permissible_error,
            local_error,
            repeatability,
            forces,
            angles,
            carrier,
            plus,
            since,
            until,
            calibrations,
            doubts,
        } = farther;
        take!(self, otherwise: kind graduation range permissible_error local_error repeatability carrier plus since until);
        otherwise.extend(self.forces.inherit(forces));
        otherwise.extend(self.angles.inherit(angles));
        if self.reads.is_empty() {
            self.reads = reads;
        } else if !reads.is_empty() && self.reads != reads {
            otherwise.push("reads");
        }
        unite(&mut self.calibrations, calibrations);
        self.doubts.extend(doubts);
        otherwise
    }
}

impl<A: Copy + PartialEq> GaugeFigures<A> {
    fn inherit(&mut self, farther: GaugeFigures<A>) -> Vec<&'static str> {
        let mut otherwise = Vec::new();
        let GaugeFigures { graduation, range, permissible_error, repeatability } = farther;
        take!(self, otherwise: graduation range permissible_error repeatability);
        otherwise
    }
}

impl Inherits for Wrench {
    fn name(&self) -> &Spanned<Name> {
        &self.name
    }

    fn inherit(&mut self, farther: Wrench) -> Vec<&'static str> {
        let mut otherwise = Vec::new();
        let Wrench {
            name: _,
            kind,
            least,
            most,
            graduation,
            permissible_error,
            since,
            until,
            calibrations,
            doubts,
            cycles,
        } = farther;
        take!(self, otherwise: kind least most graduation permissible_error since until);
        unite(&mut self.calibrations, calibrations);
        self.doubts.extend(doubts);
        for (count, on) in cycles {
            if !self.cycles.iter().any(|(own, day)| (own.value, day.value) == (count.value, on.value)) {
                self.cycles.push((count, on));
            }
        }
        otherwise
    }
}

impl ShimStock {
    /// A thickness that the nearer file does not name is there as the farther one says.
    pub(super) fn inherit(&mut self, farther: ShimStock) {
        let ShimStock { place: _, leaves } = farther;
        let own: Vec<_> = self.leaves.iter().map(|leaf| leaf.thickness.value).collect();
        self.leaves.extend(leaves.into_iter().filter(|leaf| !own.contains(&leaf.thickness.value)));
    }
}

impl Inherits for Profile {
    fn name(&self) -> &Spanned<Name> {
        &self.name
    }

    fn inherit(&mut self, farther: Profile) -> Vec<&'static str> {
        let mut otherwise = Vec::new();
        let Profile {
            name: _,
            hole_pitch,
            end_distance,
            hole_diameter,
            bolt_edge,
            contact,
            groove_half_width,
            groove_half_height,
            seat_depth,
            expansion,
            tighten,
            least_segment,
            second_moment,
            lateral_second_moment,
            stock,
            cutting,
            since,
            until,
        } = farther;
        take!(self, otherwise: hole_pitch end_distance hole_diameter bolt_edge contact groove_half_width groove_half_height seat_depth expansion);
        take!(self, otherwise: tighten least_segment second_moment lateral_second_moment cutting since until);
        // The bars of a shop are bought or kept as one list.
        let bars = |of: &[(Spanned<Length>, Option<Spanned<u32>>)]| {
            let mut bars: Vec<_> = of.iter().map(|(bar, count)| (bar.value, count.map(|count| count.value))).collect();
            bars.sort_unstable();
            bars
        };
        if self.stock.is_empty() {
            self.stock = stock;
        } else if !stock.is_empty() && bars(&self.stock) != bars(&stock) {
            otherwise.push("stock");
        }
        otherwise
    }
}

impl Inherits for BlockType {
    fn name(&self) -> &Spanned<Name> {
        &self.name
    }

    fn inherit(&mut self, farther: BlockType) -> Vec<&'static str> {
        let mut otherwise = Vec::new();
        let BlockType {
            name: _,
            length,
            dynamic,
            static_,
            basis,
            stiffness,
            lateral_stiffness,
            moment_stiffness,
            dynamic_moments,
            static_moments,
            rolling,
            preload,
            preload_share,
            since,
            until,
            friction,
            seal_drag,
        } = farther;
        if self.dynamic.is_none() {
            take!(self, otherwise: basis);
        } else if basis.is_some_and(|basis| self.basis.is_none_or(|own| *own != *basis)) {
            otherwise.push("basis");
        }
        take!(self, otherwise: length dynamic static_ stiffness lateral_stiffness rolling friction seal_drag since until);
        // Roll, pitch and yaw each by itself.
        let own = [&mut self.moment_stiffness, &mut self.dynamic_moments, &mut self.static_moments];
        let names = ["roll-, pitch- or yaw-stiffness", "M-roll, M-pitch or M-yaw", "M0-roll, M0-pitch or M0-yaw"];
        for ((own, farther), name) in
            own.into_iter().zip([moment_stiffness, dynamic_moments, static_moments]).zip(names)
        {
            let differs = |(own, farther): (&Option<Spanned<Torque>>, &Option<Spanned<Torque>>)| {
                own.zip(*farther).is_some_and(|(own, farther)| own.value != farther.value)
            };
            otherwise.extend(own.iter().zip(&farther).any(differs).then_some(name));
            own.iter_mut().zip(farther).for_each(|(own, farther)| *own = own.or(farther));
        }
        // A preload is said as a force or as a share, not as both.
        let said = |force: &Option<Spanned<Force>>, share: &Option<Spanned<Ratio>>| {
            (force.map(|it| it.value), share.map(|it| it.value))
        };
        let (own, other) = (said(&self.preload, &self.preload_share), said(&preload, &preload_share));
        if own == (None, None) {
            (self.preload, self.preload_share) = (preload, preload_share);
        } else if other != (None, None) && own != other {
            otherwise.push("preload");
        }
        // The ratings as they are written.
        otherwise.iter_mut().for_each(|part| match *part {
            "dynamic" => *part = "C",
            "static_" => *part = "C0",
            _ => {}
        });
        otherwise
    }
}

impl Inherits for Fastener {
    fn name(&self) -> &Spanned<Name> {
        &self.name
    }

    fn inherit(&mut self, farther: Fastener) -> Vec<&'static str> {
        let mut otherwise = Vec::new();
        let Fastener {
            name: _,
            thread,
            class,
            head,
            seat_diameter,
            into,
            engagement,
            shear_strength,
            most_torque,
            friction,
            full,
            snug,
        } = farther;
        take!(self, otherwise: thread class head seat_diameter into engagement shear_strength most_torque friction full snug);
        otherwise
    }
}
