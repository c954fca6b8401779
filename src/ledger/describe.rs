//! Reads the machine from its file: what is written, before anything is derived.

use std::collections::BTreeSet;

use super::damage::Damage;
use super::given::{Given, Row, amount, text};
use super::machine::*;
use crate::finding::{Finding, Grade};
use crate::quantity::Length;

/// A machine may not describe more supports than this on one rail: no rail has them, and a slip of the finger in a
/// count must not fill the memory.
pub const MOST_SUPPORTS: u32 = 100_000;

/// What reading a description found at fault: names twice, names unknown.
#[derive(Default)]
pub(super) struct Faults {
    pub found: Vec<Finding>,
    /// Where the text itself is at fault.
    pub damage: Damage,
    /// Names that nodes unknown at their place may describe: to cite one of them is no second mistake.
    pub half_told: BTreeSet<String>,
    /// How many names were compared with unknown ones so far.
    compared: usize,
}

/// More comparisons than this are not made: a text with that many unknown names is no slip of the finger, and comparing
/// each with every known one would take the square of their number.
const MOST_COMPARED: usize = 100_000;

impl Faults {
    /// Whether it may still be asked which known name an unknown one means.
    pub fn may_compare(&self) -> bool {
        self.compared < MOST_COMPARED
    }

    pub fn duplicate(&mut self, what: &str, name: &Given<String>, first: crate::finding::Place) {
        self.found.push(
            Finding::new(
                "duplicate-name",
                Grade::Nonconformity,
                "",
                name.place,
                format!("two {what} are called `{}`", **name),
            )
            .here("the second one")
            .also(first, "the first one")
            .next("give one of them another name; records that mean it must follow"),
        );
    }

    pub fn unknown<'n>(
        &mut self,
        what: &str,
        name: Given<&str>,
        known: impl IntoIterator<Item = &'n str>,
        address: impl core::convert::Into<String>,
    ) {
        // A word that cannot be read is no unknown name.
        if self.damage.hits(name.place) || self.half_told.contains(*name) {
            return;
        }
        let known: Vec<&str> = if self.may_compare() { known.into_iter().collect() } else { Vec::new() };
        self.compared += known.len();
        let next = match crate::schema::nearest(&name, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if !self.may_compare() => format!("see what {what} is described, and mend the names above first"),
            None if known.is_empty() => format!("describe it first: there is no {what} yet"),
            None if known.len() <= 12 => format!("known here: {}", known.join(", ")),
            None => format!("known here: {} … {}", known[..3].join(", "), known[known.len() - 1]),
        };
        let message = format!("there is no {what} `{}`", *name);
        self.found.push(
            Finding::new("unknown-reference", Grade::Nonconformity, address, name.place, message)
                .here("not described anywhere")
                .next(next),
        );
    }
}

pub(super) fn machine(node: Row, faults: &mut Faults) -> Machine {
    let mut machine = Machine {
        name: node.arg_text(0),
        title: node.child("title").and_then(|title| title.arg_text(0)),
        axes: Vec::new(),
    };
    for row in node.named("axis") {
        let Some(name) = row.arg_text(0) else { continue };
        if let Some(first) = machine.axes.iter().find(|axis| *axis.name == *name) {
            faults.duplicate("axes", &name, first.name.place);
            continue;
        }
        machine.axes.push(axis(row, name, faults));
    }
    machine
}

fn axis(row: Row, name: Given<String>, faults: &mut Faults) -> Axis {
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
        intervals: row.named("service-interval").filter_map(interval).collect(),
    };
    for row in row.named("beam") {
        let Some(name) = row.arg_text(0) else { continue };
        match axis.beams.iter().find(|beam| *beam.name == *name) {
            Some(first) => faults.duplicate("beams", &name, first.name.place),
            None => axis.beams.push(beam(row, name, faults)),
        }
    }
    let from = run.map_or(Length::ZERO, |run| run.from);
    let run_damaged = row.child("run").is_some_and(|run| faults.damage.hits(run.place()));
    for row in row.named("rail") {
        let Some(name) = row.arg_text(0) else { continue };
        match axis.rails.iter().find(|rail| *rail.name == *name) {
            Some(first) => faults.duplicate("rails", &name, first.name.place),
            None => axis.rails.push(rail(row, name, from, faults)),
        }
    }
    if run_damaged {
        // Nobody knows where they begin.
        axis.rails.iter_mut().for_each(|rail| rail.damaged = true);
    }
    // A carriage with a fault would be judged for blocks or loads that it does not have.
    let whole = row.child("carriage").filter(|row| !faults.damage.hits(row.at(row.node.span())));
    axis.carriage = whole.map(|row| carriage(row, &axis, faults));
    axis
}

fn stroke(row: Row) -> Option<Stroke> {
    Some(Stroke {
        place: row.place(),
        from: row.length("from")?,
        to: row.length("to")?,
        overtravel: row.length("overtravel"),
    })
}

fn temperature(row: Row) -> Option<TemperatureSpan> {
    Some(TemperatureSpan {
        place: row.place(),
        least: row.amount("least")?,
        most: row.amount("most")?,
        fitted: row.amount("fitted"),
    })
}

fn interval(row: Row) -> Option<Interval> {
    let entry = row.arg(0)?;
    let task = <Task as super::Word>::of(&text(entry)?)?;
    Some(Interval {
        place: row.place(),
        task: Given { value: task, place: row.at(entry.span()) },
        months: row.count("months"),
        travelled: row.amount("travelled"),
    })
}

fn beam(row: Row, name: Given<String>, faults: &Faults) -> Beam {
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
            .filter_map(|piece| Some(Given { value: piece.arg_amount(0)?.value, place: piece.place() }))
            .collect(),
        seams: Vec::new(),
    }
}

fn rail(row: Row, name: Given<String>, run_from: Length, faults: &mut Faults) -> Rail {
    let mut rail = Rail {
        name,
        place: row.place(),
        whole: row.at(row.node.span()),
        damaged: faults.damage.hits(row.at(row.node.span())),
        beam: row.text("beam"),
        profile: row.text("profile"),
        from: row.length("from").map_or(run_from, |from| from.value),
        datum: row.word("datum"),
        follows: row.text("follows"),
        shims: row.word("shims"),
        rail_bolt: row.text("rail-bolt"),
        base_bolt: row.text("base-bolt"),
        segments: Vec::new(),
        joints: Vec::new(),
        supports: Vec::new(),
        by_name: Vec::new(),
    };
    for row in row.children() {
        match row.name() {
            "segment" => rail.segments.extend(segment(row)),
            "supports" => row_of_supports(row, &mut rail.supports, faults),
            "support" => rail.supports.extend(support(row, "support")),
            "joint-support" => rail.supports.extend(support(row, "joint-support")),
            _ => {}
        }
    }
    rail
}

fn segment(row: Row) -> Option<Segment> {
    let mark = row.text("mark");
    Some(Segment {
        place: row.place(),
        length: row.arg_amount(0)?,
        from: Length::ZERO,
        to: Length::ZERO,
        serial: row.text("serial"),
        lot: row.text("lot"),
        near_mark: row.text("near-mark").or_else(|| mark.clone()),
        far_mark: row.text("far-mark").or(mark),
        near_distance: row.size("near-distance"),
        far_distance: row.size("far-distance"),
        near_end: row.word("near-end"),
        far_end: row.word("far-end"),
        owned: row.flag("owned").is_some_and(|owned| *owned),
        since: row.moment("since"),
        holes: Vec::new(),
    })
}

fn row_of_supports(row: Row, supports: &mut Vec<Support>, faults: &mut Faults) {
    let (Some(prefix), Some(first), Some(count)) = (row.arg_text(0), row.length("first"), row.count("count")) else {
        return;
    };
    let pitch = row.size("pitch").map(|pitch| pitch.value);
    if *count > 1 && pitch.is_none() || *count > MOST_SUPPORTS {
        let (message, next) = match pitch {
            None => ("`supports` with more than one place does not say `pitch`".to_string(), "add pitch=…".to_string()),
            Some(_) => (format!("{} supports in one row", *count), format!("at most {MOST_SUPPORTS} can be held")),
        };
        let rule = if pitch.is_none() { "missing-part" } else { "wrong-value" };
        faults
            .found
            .push(Finding::new(rule, Grade::Nonconformity, "", row.place(), message).here("this row").next(next));
        return;
    }
    let last = i128::from(first.0) + i128::from(pitch.unwrap_or_default().0) * i128::from(*count);
    if i64::try_from(last * 4).is_err() {
        let message = "the row runs beyond any position a ledger holds".to_string();
        faults.found.push(
            Finding::new("wrong-value", Grade::Nonconformity, "", row.place(), message)
                .here("this row")
                .next("check first, pitch and count"),
        );
        return;
    }
    let name = |number: u32| format!("{}{number}", *prefix);
    let mut omitted: Vec<u32> = Vec::new();
    for omit in row.named("omit") {
        for entry in omit.node.args() {
            let Some(word) = text(entry) else { continue };
            let number = word.strip_prefix(prefix.as_str()).and_then(|number| number.parse::<u32>().ok());
            let number = number.filter(|number| (1..=*count).contains(number) && name(*number) == word);
            if let Some(number) = number {
                omitted.push(number);
            } else {
                let known = Given { value: word, place: omit.at(entry.span()) };
                let ends = [name(1), name(*count)];
                faults.unknown("place of this row", known.word(), ends.iter().map(String::as_str), "");
            }
        }
    }
    omitted.sort_unstable();
    let (covers, base_bolts, since) = (row.size("covers"), row.count("base-bolts"), row.moment("since"));
    supports.extend((1..=*count).filter(|number| omitted.binary_search(number).is_err()).map(|number| Support {
        name: name(number),
        place: row.place(),
        at: Length(first.0 + pitch.unwrap_or_default().0 * i64::from(number - 1)),
        covers: covers.map(|covers| covers.value),
        joint: None,
        bolts: None,
        base_bolts: base_bolts.map(|count| count.value),
        since,
    }));
}

fn support(row: Row, kind: &str) -> Option<Support> {
    let bolts = row.child("bolts").map(|bolts| {
        let mut offsets: Vec<Length> = bolts.node.args().filter_map(amount).collect();
        offsets.sort();
        offsets
    });
    let at = row.length("at")?.value;
    Some(Support {
        name: row.arg_text(0)?.value,
        place: row.place(),
        at,
        covers: row.size("covers").map(|covers| covers.value),
        joint: (kind == "joint-support").then_some(None),
        bolts: bolts.map(|offsets| {
            offsets.iter().map(|offset| Bolt { position: at + *offset, hole: None, off: Length::ZERO }).collect()
        }),
        base_bolts: row.count("base-bolts").map(|count| count.value),
        since: row.moment("since"),
    })
}

fn carriage(row: Row, axis: &Axis, faults: &mut Faults) -> Carriage {
    let mut rail_index = |row: Row| {
        let name = row.arg_text(0)?;
        let index = axis.rails.iter().position(|rail| *rail.name == *name);
        if index.is_none() {
            faults.unknown(
                "rail",
                name.word(),
                axis.rails.iter().map(|rail| rail.name.as_str()),
                axis.name.value.clone(),
            );
        }
        index
    };
    let blocks = row
        .named("block")
        .filter_map(|row| {
            Some(Block {
                place: row.place(),
                rail: rail_index(row),
                at: row.length("at")?,
                kind: row.text("type"),
                length: row.size("length"),
            })
        })
        .collect();
    let rails_at = row
        .named("rail-at")
        .filter_map(|row| {
            let z = row.length("z").map_or(Length::ZERO, |z| z.value);
            Some(RailAt { place: row.place(), rail: rail_index(row), y: row.length("y")?.value, z })
        })
        .collect();
    let place_of = |row: Row, prop| row.length(prop).map_or(Length::ZERO, |length| length.value);
    Carriage {
        place: row.place(),
        length: row.size("length"),
        mass: row.amount("mass"),
        acceleration: row.amount("acceleration"),
        blocks,
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
                    case: row.text("case"),
                })
            })
            .collect(),
    }
}
