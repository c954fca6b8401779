//! What a nearer shop file leaves out of an entry comes from the next one above that has an entry of that name, part by
//! part. Calibrations, doubts and counts of cycles are one history of one instrument wherever they are written, so that no
//! copy of an entry can hide one that failed.
//!
//! Each entry is taken apart by its fields: one that is added to a type must be thought of here, or this does not compile.

use super::named::Named;
use super::shop::{BlockType, Calibration, Fastener, ForceFigures, Gauge, Profile, ShimStock, Wrench};
use super::spanned::{Name, Spanned};

/// An entry of a shop file that takes over what it does not say.
pub(super) trait Inherits: Sized {
    fn name(&self) -> &Spanned<Name>;

    /// Takes over from the same entry of a file farther out what this one does not say.
    fn inherit(&mut self, farther: Self);
}

/// Puts an entry among those of nearer files: its parts into the one of its name where there is one.
pub(super) fn put<T: Inherits>(all: &mut Named<T>, new: T, duplicate: impl FnOnce(&Spanned<Name>, &Spanned<Name>)) {
    let own = new.name().clone();
    match all.get_mut(&own.value) {
        Some(old) if old.name().place.source == own.place.source => duplicate(&own, old.name()),
        Some(old) => old.inherit(new),
        None => {
            all.put(&own.value, new);
        }
    }
}

macro_rules! take {
    ($own:ident: $($part:ident)*) => { $(if $own.$part.is_none() { $own.$part = $part; })* };
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

    fn inherit(&mut self, farther: Gauge) {
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
            carrier,
            plus,
            calibrations,
            doubts,
        } = farther;
        take!(self: kind graduation range permissible_error local_error repeatability carrier plus);
        self.forces.inherit(forces);
        if self.reads.is_empty() {
            self.reads = reads;
        }
        unite(&mut self.calibrations, calibrations);
        self.doubts.extend(doubts);
    }
}

impl ForceFigures {
    fn inherit(&mut self, farther: ForceFigures) {
        let ForceFigures { graduation, range, permissible_error, repeatability } = farther;
        take!(self: graduation range permissible_error repeatability);
    }
}

impl Inherits for Wrench {
    fn name(&self) -> &Spanned<Name> {
        &self.name
    }

    fn inherit(&mut self, farther: Wrench) {
        let Wrench { name: _, kind, least, most, graduation, permissible_error, calibrations, doubts, cycles } =
            farther;
        take!(self: kind least most graduation permissible_error);
        unite(&mut self.calibrations, calibrations);
        self.doubts.extend(doubts);
        for (count, on) in cycles {
            if !self.cycles.iter().any(|(own, day)| (own.value, day.value) == (count.value, on.value)) {
                self.cycles.push((count, on));
            }
        }
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

    fn inherit(&mut self, farther: Profile) {
        let Profile {
            name: _,
            hole_pitch,
            end_distance,
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
        } = farther;
        take!(self: hole_pitch end_distance bolt_edge contact groove_half_width groove_half_height seat_depth expansion);
        take!(self: tighten least_segment second_moment lateral_second_moment cutting);
        // The bars of a shop are bought or kept as one list.
        if self.stock.is_empty() {
            self.stock = stock;
        }
    }
}

impl Inherits for BlockType {
    fn name(&self) -> &Spanned<Name> {
        &self.name
    }

    fn inherit(&mut self, farther: BlockType) {
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
        } = farther;
        take!(self: length dynamic static_ basis stiffness lateral_stiffness rolling);
        // Roll, pitch and yaw each by itself.
        let own = [&mut self.moment_stiffness, &mut self.dynamic_moments, &mut self.static_moments];
        for (own, farther) in own.into_iter().zip([moment_stiffness, dynamic_moments, static_moments]) {
            own.iter_mut().zip(farther).for_each(|(own, farther)| *own = own.or(farther));
        }
        // A preload is said as a force or as a share, not as both.
        if self.preload.is_none() && self.preload_share.is_none() {
            (self.preload, self.preload_share) = (preload, preload_share);
        }
    }
}

impl Inherits for Fastener {
    fn name(&self) -> &Spanned<Name> {
        &self.name
    }

    fn inherit(&mut self, farther: Fastener) {
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
        take!(self: thread class head seat_diameter into engagement shear_strength most_torque friction full snug);
    }
}
