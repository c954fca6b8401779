//! Derives what nobody types: positions of segments, joints and seams, holes, and the bolts of each support.

use super::faults::Faults;
use super::joint_end::JointSide;
use super::machine::{Bolt, Bolts, Joint, Machine, Rail, Seam, Segment};
use super::named::{NameKey, numbered};
use super::references::Scope;
use super::shop::{Profile, Shop};
use super::spanned::Spanned;
use super::totals::CountedPart;
use crate::finding::{Finding, Grade, names};
use crate::language::schema::Refers;
use crate::quantity::Length;

pub(super) fn derive(machine: &mut Machine, shop: &Shop, faults: &mut Faults) {
    for axis in &mut machine.axes {
        for beam in &mut axis.beams {
            let mut at = beam.from;
            for pair in beam.pieces.windows(2) {
                at = at + pair[0].value;
                beam.seams.push(Seam { position: at, place: pair[1].place });
            }
        }
        for index in 0..axis.rails.len() {
            derive_rail(&mut axis.rails[index], &axis.name, shop, faults);
        }
        if let Some(carriage) = &mut axis.carriage {
            for block in &mut carriage.blocks {
                let kind = block.kind.as_ref().and_then(|name| shop.block(name));
                block.length = block.length.or(kind.and_then(|kind| kind.length));
            }
        }
    }
}

fn derive_rail(rail: &mut Rail, axis: &str, shop: &Shop, faults: &mut Faults) {
    positions(rail);
    if let Some(profile) = rail.profile.as_ref().and_then(|name| shop.profile(name)) {
        rail.tighten = rail.tighten.or(profile.tighten);
        // Where the first hole of one segment lies is not known, nor is what a support that reaches under it holds.
        if rail.segments.iter().all(|segment| profile.first_hole(segment.near_distance).is_some()) {
            for segment in &mut rail.segments {
                segment.holes = holes(segment, profile, faults);
            }
        }
    }
    supports(rail, axis, shop, faults);
    for mut former in std::mem::take(&mut rail.former) {
        let told = faults.found.len();
        derive_rail(&mut former.rail, axis, shop, faults);
        faults.once_since(told);
        former.compare(rail);
        rail.former.push(former);
    }
}

fn positions(rail: &mut Rail) {
    let mut at = rail.from;
    for segment in &mut rail.segments {
        segment.from = at;
        at = at + segment.length.value;
        segment.to = at;
    }
    rail.joints = rail
        .segments
        .windows(2)
        .enumerate()
        .map(|(before, pair)| Joint {
            name: numbered("J", before as u32 + 1),
            position: pair[0].to,
            before,
            place: pair[1].place,
            support: None,
        })
        .collect();
}

/// The holes of a segment: the first at its near distance, then one a pitch, up to its far distance or its far end.
fn holes(segment: &Segment, profile: &Profile, faults: &mut Faults) -> Vec<Length> {
    let (Some(pitch), Some(near)) = (profile.hole_pitch, profile.first_hole(segment.near_distance)) else {
        return Vec::new();
    };
    let last = match segment.far_distance {
        Some(far) => segment.length.0 - far.0,
        // A hole on the end itself would be cut through.
        None => segment.length.0 - 1,
    };
    let count = if last < near.0 { 0 } else { (last - near.0) / pitch.0 + 1 };
    // A slip in a pitch must not fill the memory.
    if !faults.take(CountedPart::Holes, usize::try_from(count).unwrap_or(usize::MAX), segment.place) {
        return Vec::new();
    }
    (0..count).map(|i| segment.from + near + Length(i * pitch.0)).collect()
}

fn supports(rail: &mut Rail, axis: &str, shop: &Shop, faults: &mut Faults) {
    rail.supports.sort_by_key(|support| support.at);
    order_names(rail, faults);
    for joint in 0..rail.joints.len() {
        let support = rail.support(&rail.joints[joint].name).filter(|index| rail.supports[*index].joint.is_some());
        rail.joints[joint].support = support;
        if let Some(support) = support {
            rail.supports[support].joint = Some(Some(joint));
        }
    }
    for support in
        rail.supports.iter().filter(|support| support.joint == Some(None) && !support.life.stand_in && !rail.damaged)
    {
        let name = Spanned { value: support.name.as_str(), place: support.place };
        let scope = Scope { rail: Some(rail), ..Scope::default() };
        faults.unknown(Refers::Joint, name, scope, format!("{axis}.{}", *rail.name));
    }
    like_an_end(rail, axis, faults);
    bolts(rail, shop, faults);
}

/// Tells a support that is called as surveys call the end before a joint. What they call the one behind it is no name.
fn like_an_end(rail: &Rail, axis: &str, faults: &mut Faults) {
    for joint in rail.joints.iter().filter(|_| !rail.damaged) {
        let Some(support) = rail.support(&JointSide::Before.named(&joint.name)) else { continue };
        let support = &rail.supports[support];
        let message = format!("support `{}` is called like the end before joint {}", support.name, joint.name);
        let address = format!("{axis}.{}", *rail.name);
        faults.found.push(
            Finding::new(names::DUPLICATE_NAME, Grade::Nonconformity, address, support.place, message)
                .here("this name")
                .also(joint.place, format!("joint {} lies before this segment", joint.name))
                .next("give the support another name; records that mean it must follow"),
        );
    }
}

/// Puts the names of supports in order. Of two with one name the one written first keeps it.
fn order_names(rail: &mut Rail, faults: &mut Faults) {
    let all = &rail.supports;
    rail.keys = all.iter().map(|support| NameKey::new(&support.name)).collect();
    let of = |(_, index): &(NameKey, u32)| &all[*index as usize];
    let order = |a: &(NameKey, u32), b: &(NameKey, u32)| {
        a.0.cmp(&b.0).then_with(|| {
            let written = |it: &(NameKey, u32)| (of(it).place, it.1);
            of(a).name.cmp(&of(b).name).then_with(|| written(a).cmp(&written(b)))
        })
    };
    // Along a rail, the supports of a row are mostly in the order of their names: only the few between them that are
    // not, as those under joints, are sorted and then taken in among the others.
    let mut in_order: Vec<(NameKey, u32)> = Vec::with_capacity(all.len());
    let mut others: Vec<(NameKey, u32)> = Vec::new();
    for it in rail.keys.iter().copied().zip(0..) {
        match in_order.last() {
            Some(last) if order(last, &it).is_gt() => others.push(it),
            _ => in_order.push(it),
        }
    }
    others.sort_by(order);
    let mut by_name: Vec<(NameKey, u32)> = Vec::with_capacity(all.len());
    let mut others = others.into_iter().peekable();
    for it in in_order {
        while let Some(other) = others.next_if(|other| order(other, &it).is_lt()) {
            by_name.push(other);
        }
        by_name.push(it);
    }
    by_name.extend(others);
    let same = |a: &(NameKey, u32), b: &(NameKey, u32)| a.0 == b.0 && of(a).name == of(b).name;
    for pair in by_name.windows(2).filter(|pair| same(&pair[0], &pair[1])) {
        let (first, second) = (of(&pair[0]), of(&pair[1]));
        // What only follows from a fault of its text is not told beside it.
        if rail.damaged {
            break;
        }
        faults.duplicate("supports", Spanned { value: second.name.as_str(), place: second.place }, first.place);
    }
    by_name.dedup_by(|b, a| same(a, b));
    rail.by_name = by_name;
}

/// The bolts that lie under each support, and how far those that are described lie off the holes.
fn bolts(rail: &mut Rail, shop: &Shop, faults: &mut Faults) {
    let edge = rail.profile.as_ref().and_then(|name| shop.profile(name)).and_then(|profile| profile.bolt_edge);
    let edge = edge.map_or(0, |edge| edge.0);
    let mut all: Vec<(Length, (u32, u32))> =
        Vec::with_capacity(rail.segments.iter().map(|segment| segment.holes.len()).sum());
    for (segment, of) in rail.segments.iter().zip(0..) {
        all.extend(segment.holes.iter().zip(0..).map(|(at, hole)| (*at, (of, hole))));
    }
    if all.is_empty() {
        return;
    }
    for support in &mut rail.supports {
        match &mut support.bolts {
            Some(bolts) => {
                for bolt in bolts {
                    let (at, hole) = all[nearest(&all, bolt.position)];
                    bolt.off = (bolt.position - at).abs();
                    bolt.hole = Some(hole);
                }
            }
            None => {
                let Some(covers) = support.covers else { continue };
                let (from, to) = (support.at.0 - covers.0 / 2 + edge, support.at.0 + covers.0 / 2 - edge);
                let first = all.partition_point(|(at, _)| at.0 < from);
                let end = first + all[first..].iter().take_while(|(at, _)| at.0 <= to).count();
                if !faults.take(CountedPart::Bolts, end - first, support.place) {
                    return;
                }
                let mut bolts = Bolts::new();
                for (at, hole) in &all[first..end] {
                    bolts.push(Bolt { position: *at, hole: Some(*hole), off: Length::ZERO });
                }
                support.bolts = Some(bolts);
                support.bolts_counted = true;
            }
        }
    }
}

/// The index of the hole nearest to a position; holes are in order, and there is at least one.
fn nearest(holes: &[(Length, (u32, u32))], position: Length) -> usize {
    let after = holes.partition_point(|(at, _)| *at < position).min(holes.len() - 1);
    let before = after.saturating_sub(1);
    if (holes[before].0 - position).abs() <= (holes[after].0 - position).abs() { before } else { after }
}
