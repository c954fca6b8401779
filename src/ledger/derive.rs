//! Derives what nobody types: positions of segments, joints and seams, holes, and the bolts of each support.

use super::describe::Faults;
use super::given::Given;
use super::machine::{Axis, Bolt, Joint, Machine, Rail, Seam, Segment};
use super::shop::{Profile, Shop};
use crate::quantity::Length;

/// More holes than this on one segment are not derived: a slip in a pitch must not fill the memory.
const MOST_HOLES: i64 = 100_000;

pub(super) fn derive(machine: &mut Machine, shop: &Shop, faults: &mut Faults) {
    for axis in &mut machine.axes {
        let address = axis.name.value.clone();
        for beam in &mut axis.beams {
            let mut at = beam.from;
            for pair in beam.pieces.windows(2) {
                at = at + pair[0].value;
                beam.seams.push(Seam { position: at, place: pair[1].place });
            }
        }
        for index in 0..axis.rails.len() {
            references(axis, index, shop, faults);
            let rail = &mut axis.rails[index];
            let rail_address = format!("{address}.{}", *rail.name);
            positions(rail);
            if let Some(profile) = rail.profile.as_ref().and_then(|name| shop.profile(name)) {
                for segment in &mut rail.segments {
                    segment.holes = holes(segment, profile);
                }
            }
            supports(rail, shop, &rail_address, faults);
        }
        if let Some(carriage) = &mut axis.carriage {
            for block in &mut carriage.blocks {
                let kind = block.kind.as_ref().and_then(|name| shop.block(name));
                if let (Some(name), None) = (&block.kind, kind) {
                    faults.unknown(
                        "block",
                        name.word(),
                        shop.blocks.iter().map(|block| block.name.as_str()),
                        address.clone(),
                    );
                }
                block.length = block.length.or(kind.and_then(|kind| kind.length));
            }
        }
    }
}

/// The names a rail cites.
fn references(axis: &Axis, index: usize, shop: &Shop, faults: &mut Faults) {
    let rail = &axis.rails[index];
    let address = format!("{}.{}", *axis.name, *rail.name);
    let mut cite = |what: &str, name: &Option<Given<String>>, known: Vec<&str>| {
        if let Some(name) = name
            && !known.contains(&name.as_str())
        {
            faults.unknown(what, name.word(), known, address.clone());
        }
    };
    cite("beam", &rail.beam, axis.beams.iter().map(|beam| beam.name.as_str()).collect());
    cite("profile", &rail.profile, shop.profiles.iter().map(|profile| profile.name.as_str()).collect());
    let fasteners = || shop.fasteners.iter().map(|fastener| fastener.name.as_str()).collect();
    cite("fastener", &rail.rail_bolt, fasteners());
    cite("fastener", &rail.base_bolt, fasteners());
    let others = axis.rails.iter().enumerate().filter(|(other, _)| *other != index);
    cite("other rail", &rail.follows, others.map(|(_, rail)| rail.name.as_str()).collect());
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
            name: format!("J{}", before + 1),
            position: pair[0].to,
            before,
            place: pair[1].place,
            support: None,
        })
        .collect();
}

/// The holes of a segment: the first at its near distance, then one a pitch, up to its far distance or its far end.
fn holes(segment: &Segment, profile: &Profile) -> Vec<Length> {
    let Some(pitch) = profile.hole_pitch else { return Vec::new() };
    let near = segment.near_distance.or(profile.end_distance).map_or(Length(pitch.0 / 2), |near| near.value);
    let last = match segment.far_distance {
        Some(far) => segment.length.0 - far.0,
        // A hole on the end itself would be cut through.
        None => segment.length.0 - 1,
    };
    let count = if last < near.0 { 0 } else { (last - near.0) / pitch.0 + 1 };
    if count > MOST_HOLES {
        return Vec::new();
    }
    (0..count).map(|i| segment.from + near + Length(i * pitch.0)).collect()
}

fn supports(rail: &mut Rail, shop: &Shop, address: &str, faults: &mut Faults) {
    rail.supports.sort_by_key(|support| support.at);
    let all = &rail.supports;
    let mut by_name: Vec<usize> = (0..all.len()).collect();
    // Two of one name: the one written first keeps it.
    by_name.sort_by(|a, b| all[*a].name.cmp(&all[*b].name).then(all[*a].place.cmp(&all[*b].place)));
    for pair in by_name.windows(2).filter(|pair| all[pair[0]].name == all[pair[1]].name) {
        let second = Given { value: all[pair[1]].name.clone(), place: all[pair[1]].place };
        faults.duplicate("supports", &second, all[pair[0]].place);
    }
    by_name.dedup_by(|b, a| all[*a].name == all[*b].name);
    rail.by_name = by_name;

    for joint in 0..rail.joints.len() {
        let support = rail.support(&rail.joints[joint].name).filter(|index| rail.supports[*index].joint.is_some());
        rail.joints[joint].support = support;
        if let Some(support) = support {
            rail.supports[support].joint = Some(Some(joint));
        }
    }
    for support in rail.supports.iter().filter(|support| support.joint == Some(None) && !rail.damaged) {
        let name = Given { value: support.name.clone(), place: support.place };
        faults.unknown("joint", name.word(), rail.joints.iter().map(|joint| joint.name.as_str()), address.to_string());
    }

    let edge = rail.profile.as_ref().and_then(|name| shop.profile(name)).and_then(|profile| profile.bolt_edge);
    let edge = edge.map_or(0, |edge| edge.0);
    let all: Vec<(Length, (usize, usize))> = rail
        .segments
        .iter()
        .enumerate()
        .flat_map(|(s, segment)| segment.holes.iter().enumerate().map(move |(h, at)| (*at, (s, h))))
        .collect();
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
                let last = all.partition_point(|(at, _)| at.0 <= to);
                support.bolts = Some(
                    all.get(first..last)
                        .unwrap_or_default()
                        .iter()
                        .map(|(at, hole)| Bolt { position: *at, hole: Some(*hole), off: Length::ZERO })
                        .collect(),
                );
            }
        }
    }
}

/// The index of the hole nearest to a position; holes are in order, and there is at least one.
fn nearest(holes: &[(Length, (usize, usize))], position: Length) -> usize {
    let after = holes.partition_point(|(at, _)| *at < position).min(holes.len() - 1);
    let before = after.saturating_sub(1);
    if (holes[before].0 - position).abs() <= (holes[after].0 - position).abs() { before } else { after }
}
