//! Reads the machine from its file: what is written, before anything is derived.

use super::built_to::{BuiltTo, DesignDeviation, StatedPart};
use super::corrected::Corrected;
use super::faults::Faults;
use super::former;
use super::lifetime::Lifetime;
use super::machine::*;
use super::named::numbered;
use super::not_applicable::NotApplicable;
use super::references::Scope;
use super::spanned::{Name, SourcedEntry, SourcedNode, Spanned};
use super::totals::CountedPart;
use crate::finding::names;
use crate::finding::{Finding, Grade};
use crate::language::schema::Refers;
use crate::quantity::Length;

pub(super) fn machine(node: SourcedNode, faults: &mut Faults) -> Machine {
    let mut machine = Machine {
        name: node.arg_text(0),
        title: node.child("title").and_then(|title| title.arg_text(0)),
        ..Machine::default()
    };
    // Counted before anything is made of them.
    let looked_up = ["not-applicable", "corrected", "built-to", "part", "deviation"];
    let looked_up = looked_up.into_iter().map(|word| node.named(word).count()).sum();
    if !faults.take(CountedPart::Lookups, looked_up, node.place()) {
        return machine;
    }
    machine.not_applicable = NotApplicable::all(node);
    machine.corrected = Corrected::all(node);
    machine.built_to = BuiltTo::all(node);
    machine.parts = StatedPart::all(node);
    machine.deviations = DesignDeviation::all(node);
    machine.axes = axes(node, faults);
    machine
}

/// The axes of a machine or a design.
pub(super) fn axes(node: SourcedNode, faults: &mut Faults) -> Vec<Axis> {
    let mut axes: Vec<Axis> = Vec::new();
    for row in node.named("axis") {
        let Some(name) = row.arg_text::<Name>(0) else { continue };
        if !faults.take(CountedPart::Parts, 1, row.place()) {
            break;
        }
        if let Some(first) = axes.iter().find(|axis| *axis.name == *name) {
            faults.duplicate("axes", name.word(), first.name.place);
            continue;
        }
        axes.push(axis(row, name, faults));
    }
    axes
}

fn axis(row: SourcedNode, name: Spanned<Name>, faults: &mut Faults) -> Axis {
    let repeated = row.named("service-interval").count();
    let intervals = if faults.take(CountedPart::Parts, repeated, row.place()) { repeated } else { 0 };
    let run = row.child("run").and_then(|run| {
        let from = run.length("from").map_or(Length::ZERO, |from| from.value);
        Some(Stretch { place: run.place(), from, to: run.length("to")?.value })
    });
    let mut axis = Axis {
        name,
        place: row.place(),
        run,
        stroke: row.child("stroke").and_then(stroke),
        temperature: row.child("temperature").and_then(temperature),
        life_required: row.child("life-required").and_then(|row| {
            Some(LifeRequired {
                place: row.place(),
                distance: row.arg_amount(0)?,
                reliability: row.amount("reliability"),
            })
        }),
        beams: Vec::new(),
        rails: Vec::new(),
        carriage: None,
        intervals: row.named("service-interval").take(intervals).filter_map(interval).collect(),
    };
    for row in row.named("beam") {
        let Some(name) = row.arg_text::<Name>(0) else { continue };
        if !faults.take(CountedPart::Parts, 1, row.place()) {
            break;
        }
        match axis.beams.iter().find(|beam| *beam.name == *name) {
            Some(first) => faults.duplicate("beams", name.word(), first.name.place),
            None => axis.beams.push(beam(row, name, faults)),
        }
    }
    let from = run.map_or(Length::ZERO, |run| run.from);
    let run_damaged = row.child("run").is_some_and(|run| faults.damage.hits(run.place()));
    for row in row.named("rail") {
        let Some(name) = row.arg_text::<Name>(0) else { continue };
        if !faults.take(CountedPart::Parts, 1, row.place()) {
            break;
        }
        match axis.rails.iter().find(|rail| *rail.name == *name) {
            Some(first) => faults.duplicate("rails", name.word(), first.name.place),
            None => axis.rails.push(rail(row, name, from, faults)),
        }
    }
    if run_damaged {
        // Nobody knows where they begin.
        axis.rails.iter_mut().for_each(|rail| rail.damaged = true);
    }
    // A carriage with a fault would be judged for blocks or loads that it does not have.
    let whole = row.child("carriage").filter(|row| !faults.damage.hits(row.at(row.node.span())));
    axis.carriage = whole
        .filter(|row| faults.take(CountedPart::Parts, row.children().count(), row.place()))
        .map(|row| carriage(row, &axis, faults));
    axis
}

fn stroke(row: SourcedNode) -> Option<Stroke> {
    Some(Stroke {
        place: row.place(),
        from: row.length("from")?,
        to: row.length("to")?,
        overtravel: row.length("overtravel"),
    })
}

fn temperature(row: SourcedNode) -> Option<TemperatureSpan> {
    Some(TemperatureSpan {
        place: row.place(),
        least: row.amount("least")?,
        most: row.amount("most")?,
        fitted: row.amount("fitted"),
    })
}

fn interval(row: SourcedNode) -> Option<Interval> {
    Some(Interval {
        place: row.place(),
        task: row.arg(0)?.word()?,
        months: row.count("months"),
        travelled: row.amount("travelled"),
    })
}

fn beam(row: SourcedNode, name: Spanned<Name>, faults: &mut Faults) -> Beam {
    // Where a piece cannot be read, nobody knows where the seams lie.
    let whole = !faults.damage.hits(row.at(row.node.span()));
    Beam {
        name,
        place: row.place(),
        from: row.length("from").map_or(Length::ZERO, |from| from.value),
        material: row.word("material"),
        expansion: row.amount("expansion"),
        pieces: row
            .named("piece")
            .filter(|_| whole)
            .take_while(|piece| faults.take(CountedPart::Parts, 1, piece.place()))
            .filter_map(|piece| Some(Spanned { value: piece.arg_amount(0)?.value, place: piece.place() }))
            .collect(),
        seams: Vec::new(),
    }
}

fn rail(row: SourcedNode, name: Spanned<Name>, run_from: Length, faults: &mut Faults) -> Rail {
    let whole = row.at(row.node.span());
    let mut rail = Rail {
        name,
        place: row.place(),
        whole,
        damaged: faults.damage.hits(whole),
        beam: None,
        profile: None,
        from: run_from,
        datum: None,
        follows: None,
        shims: None,
        seat: None,
        tighten: None,
        rail_bolt: None,
        base_bolt: None,
        segments: Vec::new(),
        joints: Vec::new(),
        supports: Vec::new(),
        keys: Vec::new(),
        by_name: Vec::new(),
        former: Vec::new(),
    };
    for (name, cell) in row.props() {
        match name {
            "beam" => rail.beam = cell.text(),
            "profile" => rail.profile = cell.text(),
            "from" => rail.from = cell.amount().map_or(run_from, |from| from.value),
            "datum" => rail.datum = cell.word(),
            "follows" => rail.follows = cell.text(),
            "shims" => rail.shims = cell.word(),
            "seat" => rail.seat = cell.word(),
            "tighten" => rail.tighten = cell.word(),
            "rail-bolt" => rail.rail_bolt = cell.text(),
            "base-bolt" => rail.base_bolt = cell.text(),
            _ => {}
        }
    }
    for row in row.children() {
        let counted = match row.name() {
            "segment" => CountedPart::Segments,
            "support" | "joint-support" => CountedPart::Supports,
            "supports" => {
                row_of_supports(row, &mut rail.supports, faults);
                continue;
            }
            _ => continue,
        };
        if !faults.take(counted, 1, row.place()) {
            break;
        }
        if counted == CountedPart::Segments {
            rail.segments.extend(segment(row));
            continue;
        }
        let joint = if row.name() == "joint-support" { Some(None) } else { None };
        let support = support(row, joint)
            .filter(|it| faults.take(CountedPart::Bolts, it.base_bolts.unwrap_or_default() as usize, row.place()));
        rail.supports.extend(support);
    }
    former::part_in_time(&mut rail, faults);
    rail
}

fn segment(row: SourcedNode) -> Option<Segment> {
    let mut segment = Segment::new(row.place(), row.arg_amount(0)?);
    let mut mark = None;
    for (name, cell) in row.props() {
        match name {
            "serial" => segment.serial = cell.text(),
            "lot" => segment.lot = cell.text(),
            "mark" => mark = cell.text(),
            "near-mark" => segment.near_mark = cell.text(),
            "far-mark" => segment.far_mark = cell.text(),
            "near-distance" => segment.near_distance = cell.size(),
            "far-distance" => segment.far_distance = cell.size(),
            "near-end" => segment.near_end = cell.word(),
            "far-end" => segment.far_end = cell.word(),
            "owned" => segment.owned = cell.flag().is_some_and(|owned| *owned),
            "since" => segment.life.since = cell.moment(),
            "until" => segment.life.until = cell.moment(),
            _ => {}
        }
    }
    segment.near_mark = segment.near_mark.or_else(|| mark.clone());
    segment.far_mark = segment.far_mark.or(mark);
    Some(segment)
}

fn row_of_supports(row: SourcedNode, supports: &mut Vec<Support>, faults: &mut Faults) {
    let (Some(prefix), Some(first), Some(count)) = (row.arg_text::<&str>(0), row.length("first"), row.count("count"))
    else {
        return;
    };
    let pitch = row.size("pitch").map(|pitch| pitch.value);
    if *count > 1 && pitch.is_none() {
        let message = "`supports` with more than one place does not say `pitch`";
        let finding = Finding::new(names::MISSING_PART, Grade::Nonconformity, "", row.place(), message);
        faults.found.push(finding.here("this row").next("add pitch=…"));
        return;
    }
    if !faults.take(CountedPart::Supports, *count as usize, row.place()) {
        return;
    }
    let last = i128::from(first.0) + i128::from(pitch.unwrap_or_default().0) * i128::from(*count);
    if i64::try_from(last * 4).is_err() {
        let message = "the row runs beyond any position a ledger holds".to_string();
        faults.found.push(
            Finding::new(names::WRONG_VALUE, Grade::Nonconformity, "", row.place(), message)
                .here("this row")
                .next("check first, pitch and count"),
        );
        return;
    }
    let mut omitted: Vec<(u32, Lifetime)> = Vec::new();
    for omit in row.named("omit") {
        let life = Lifetime::of(omit);
        for word in omit.args().filter_map(SourcedEntry::text::<&str>) {
            // A place that is left out is one of the row, however often it is named.
            if !faults.take(CountedPart::Supports, 1, word.place) {
                return;
            }
            let number = word.strip_prefix(*prefix).and_then(|number| number.parse::<u32>().ok());
            let number = number.filter(|number| (1..=*count).contains(number) && numbered(*prefix, *number) == *word);
            if let Some(number) = number {
                omitted.push((number, life));
            } else {
                let ends = [numbered(*prefix, 1), numbered(*prefix, *count)];
                let ends = || ends.iter().map(Name::as_str).collect();
                faults.unknown_among(Refers::RowPlace, word, ends, "");
            }
        }
    }
    omitted.sort_by_key(|(number, life)| (*number, life.since.map(|since| since.date)));
    let (place, pitch, life) = (row.place(), pitch.unwrap_or_default(), Lifetime::of(row));
    let (stiffness, lateral_stiffness) = (row.amount("stiffness"), row.amount("lateral-stiffness"));
    let covers = row.size("length").map(|covers| covers.value);
    let base_bolts = row.count("base-bolts").map(|count| count.value);
    let all_bolts = (*count as usize).saturating_mul(base_bolts.unwrap_or_default() as usize);
    if !faults.take(CountedPart::Bolts, all_bolts, row.place()) {
        return;
    }
    supports.reserve(*count as usize);
    for number in 1..=*count {
        let from = omitted.partition_point(|(other, _)| *other < number);
        let out = omitted[from..].iter().take_while(|(other, _)| *other == number).map(|(_, life)| *life);
        for life in life.without(out) {
            let at = Length(first.0 + pitch.0 * i64::from(number - 1));
            let name = numbered(*prefix, number);
            supports.push(Support {
                covers,
                base_bolts,
                life,
                stiffness,
                lateral_stiffness,
                ..Support::new(name, place, at)
            });
        }
    }
}

/// A support that is described on its own, under a joint or not.
fn support(row: SourcedNode, joint: Option<Option<usize>>) -> Option<Support> {
    let mut it = Support { joint, ..Support::new(Name::default(), row.place(), Length::ZERO) };
    let mut at = None;
    for (name, cell) in row.props() {
        match name {
            "at" => at = cell.amount(),
            "length" => it.covers = cell.size().map(|covers| covers.value),
            "base-bolts" => it.base_bolts = cell.count().map(|count| count.value),
            "since" => it.life.since = cell.moment(),
            "until" => it.life.until = cell.moment(),
            "stiffness" => it.stiffness = cell.amount(),
            "lateral-stiffness" => it.lateral_stiffness = cell.amount(),
            _ => {}
        }
    }
    it.at = at?.value;
    it.name = row.arg_text(0)?.value;
    it.bolts = row.child("bolts").map(|bolts| {
        let at = |offset: Spanned<Length>| Bolt { position: it.at + *offset, hole: None, off: Length::ZERO };
        let mut bolts: Bolts = bolts.args().filter_map(SourcedEntry::amount).map(at).collect();
        bolts.sort_by_key(|bolt| bolt.position);
        bolts
    });
    Some(it)
}

/// Of two places of one rail nobody knows which is meant.
fn tracks_twice(tracks: &[Track], axis: &Axis, faults: &mut Faults) {
    for (at, track) in tracks.iter().enumerate() {
        let first = tracks[..at].iter().find(|first| first.rail.is_some() && first.rail == track.rail);
        let (Some(first), Some(rail)) = (first, track.rail) else { continue };
        let message = format!("rail `{}` runs across the carriage in two places", *axis.rails[rail].name);
        let finding = Finding::new(names::REPEATED_PART, Grade::Nonconformity, "", track.place, message);
        faults
            .found
            .push(finding.here("here again").also(first.place, "the first one").next("keep the one that is true"));
    }
}

fn carriage(row: SourcedNode, axis: &Axis, faults: &mut Faults) -> Carriage {
    let mut rail_index = |row: SourcedNode| {
        let name = row.arg_text::<Name>(0)?;
        let index = axis.rails.iter().position(|rail| *rail.name == *name);
        if index.is_none() {
            let scope = Scope { axis: Some(axis), ..Scope::default() };
            faults.unknown(Refers::Rail, name.word(), scope, axis.name.value.clone());
        }
        index
    };
    let blocks = row.named("block").filter_map(|row| {
        Some(Block {
            place: row.place(),
            rail: rail_index(row),
            at: row.length("at")?,
            kind: row.text("type"),
            length: row.size("length"),
            life: Lifetime::of(row),
        })
    });
    let (blocks, former_blocks) = blocks.partition(|block: &Block| block.life.is_now());
    let rails_at: Vec<Track> = row
        .named("track")
        .filter_map(|row| {
            let z = row.length("z").map_or(Length::ZERO, |z| z.value);
            Some(Track { place: row.place(), rail: rail_index(row), y: row.length("y")?.value, z })
        })
        .collect();
    tracks_twice(&rails_at, axis, faults);
    let place_of = |row: SourcedNode, prop| row.length(prop).map_or(Length::ZERO, |length| length.value);
    fn on<T>(row: SourcedNode, what: T) -> OnCarriage<T> {
        let at = |prop| row.length(prop).map_or(Length::ZERO, |length| length.value);
        OnCarriage { place: row.place(), what, x: at("x"), y: at("y"), z: at("z") }
    }
    let tool = |row: SourcedNode| {
        let name: Spanned<Name> = row.arg_text(0)?;
        let most = ["most-side", "most-height"].map(|prop| row.length(prop));
        Some(on(row, WorkingPoint { name, most }))
    };
    Carriage {
        place: row.place(),
        length: row.size("length"),
        mass: row.amount("mass"),
        acceleration: row.amount("acceleration"),
        blocks,
        former_blocks,
        rails_at,
        loads: row
            .named("load")
            .filter_map(|row| {
                Some(Load {
                    place: row.place(),
                    force: row.arg_amount(0)?,
                    x: place_of(row, "x"),
                    y: place_of(row, "y"),
                    z: place_of(row, "z"),
                    towards: row.word("towards").map_or(Towards::Down, |towards| towards.value),
                    share: row.amount("share"),
                    case: row.text("load-case"),
                })
            })
            .collect(),
        masses: row.named("mass").filter_map(|row| Some(on(row, row.arg_amount(0)?))).collect(),
        up: row.child("up").map(|row| on(row, ())),
        drive: row.child("drive").map(|row| on(row, ())),
        tools: row.named("tool").filter_map(tool).collect(),
        most_block_load: row.amount("most-block-load"),
    }
}
