//! Reads records, and finds what they are about in the machine.

use super::address::{AddressError, Target};
use super::faults::Faults;
use super::former::{self, MeantPart};
use super::machine::Machine;
use super::record::*;
use super::references::Scope;
use super::rows::RowReader;
use super::shop::Shop;
use super::spanned::{Name, SourcedNode, Spanned};
use super::totals::CountedPart;
use crate::finding::{Finding, Grade};
use crate::finding::{names, within};
use crate::language::schema::{Refers, language};

/// The names of all record nodes.
pub(crate) const KINDS: [&str; 14] = [
    "fasten",
    "inspect",
    "survey",
    "loosen",
    "shim",
    "receive",
    "running-force",
    "attach",
    "void",
    "concession",
    "release",
    "service",
    "hold",
    "lift",
];

/// What records may cite: the machine, and the instruments of the shop unless its text is too damaged to know them.
#[derive(Clone, Copy)]
pub(super) struct Citable<'l> {
    pub machine: &'l Machine,
    pub shop: Option<&'l Shop>,
}

pub(super) fn record(row: SourcedNode, known: Citable, faults: &mut Faults) -> Option<Record> {
    let machine = known.machine;
    let name = row.name();
    let kind = *KINDS.iter().find(|kind| **kind == name)?;
    let corrects = kind != "release" && row.prop("replaces").is_some();
    let looks_up = usize::from(corrects || matches!(kind, "void" | "concession"));
    let few =
        faults.take(CountedPart::Records, 1, row.place()) && faults.take(CountedPart::Lookups, looks_up, row.place());
    if !few {
        return None;
    }
    let listed = if matches!(kind, "running-force" | "receive") { row.children().count() } else { 0 };
    if !faults.take(CountedPart::Rows, listed, row.place()) {
        return None;
    }
    let shape = language().node(kind)?;
    let on_index = shape.args.iter().position(|part| part.name == "on");
    let refers = on_index.and_then(|index| shape.args[index].refers);
    let on: Option<Spanned<Name>> = on_index.and_then(|index| row.arg_text(index));
    // What a void or a lift is about may be gone from the description: those look for their records.
    let day = row.moment("replaces").filter(|_| corrects).or(row.moment("date")).map(|moment| moment.date);
    let (mut went, mut went_whole) = (None, false);
    let target = on.as_ref().and_then(|on| match former::meant(machine, on, day) {
        MeantPart::There(target) => Some(target),
        MeantPart::Gone(rail) => {
            went = Some(rail);
            // What keeps an axis from release keeps it, whatever part it was put on.
            (kind == "hold").then_some(Target::Rail(rail))
        }
        MeantPart::Unknown(lost) => {
            let damaged = matches!(lost, AddressError::Part(id, _) if machine.rail(id).damaged);
            // A later revision of the design has the whole rail no more.
            went_whole = machine.is_on_gone(on, day);
            if !matches!(refers, Some(Refers::Record | Refers::Hold)) && !damaged && !went_whole {
                report(lost, on, machine, faults);
            }
            // Nor does a hold end with its rail: it stays on the axis.
            let axis = || machine.axes.iter().position(|axis| within(on, &axis.name));
            if kind == "hold" && went_whole { axis().map(Target::Axis) } else { None }
        }
    });
    let scope = Scope { shop: known.shop, machine: Some(machine), ..Scope::default() };
    faults.cited(row, shape, scope, || on.as_ref().map_or(String::new(), |on| on.value.to_string()));
    let lost = on.is_some() && target.is_none() && went.is_none() && kind != "void";
    let rail = target.and_then(Target::rail).or(went).map(|id| (id, machine.rail(id)));
    let mut reading = RowReader::new(machine, faults, rail, day, lost);
    let body = match kind {
        "fasten" => Body::Fasten(reading.fasten(row)),
        "inspect" => Body::Inspect(reading.inspect(row)),
        "survey" => Body::Survey(reading.survey(row)),
        "loosen" => Body::Loosen(reading.loosen(row, target)),
        "shim" => Body::Shim(reading.shim(row)),
        "receive" => Body::Receive(receive(row)),
        "running-force" => Body::RunningForce(reading.running_force(row)),
        "attach" => Body::Attach(Attach { file: row.text("file"), sha256: row.text("sha256") }),
        "void" => Body::Void(Void {
            kind: row.arg_text(0),
            of: row.moment("of"),
            reason: row.text("reason"),
            stage: row.text("stage"),
            interface: row.text("interface"),
            survey: row.text("survey"),
            rule: row.text("rule"),
            task: row.text("task"),
            file: row.text("in"),
            nth: row.count("nth").filter(|nth| **nth > 0),
            withdraws: None,
        }),
        "concession" => Body::Concession(concession(row)),
        "release" => Body::Release(Release {
            seal: row.text("seal"),
            edition: row.count("edition"),
            supersedes: row.moment("supersedes"),
            signature: row.child("signature").map(signature),
            asked: asked(row),
            groups: row.named("sealed").filter_map(sealed).collect(),
        }),
        "hold" => Body::Hold(Hold { reason: row.text("reason") }),
        "lift" => Body::Lift(Lift { disposition: row.word("disposition"), reason: row.text("reason") }),
        _ => Body::Service(Service { task: row.word("task"), travelled: row.amount("travelled") }),
    };
    if went.is_none() && !went_whole && !rail.is_some_and(|(_, rail)| rail.damaged) {
        check_target(kind, refers, on.as_ref(), target, reading.faults);
    }
    if !matches!(kind, "fasten" | "inspect" | "survey") {
        row.children().for_each(|row| reading.note(row));
    }
    let (mut date, mut by, mut replaces) = (None, None, None);
    for (name, cell) in row.props() {
        match name {
            "date" => date = cell.moment(),
            "by" => by = cell.text(),
            "replaces" if kind != "release" => replaces = cell.moment(),
            _ => {}
        }
    }
    Some(Record {
        kind,
        place: row.place(),
        whole: row.at(row.node.span()),
        damaged: !went_whole && reading.lost || reading.faults.damage.hits(row.at(row.node.span())),
        on,
        target,
        history: went.is_some() || went_whole,
        date,
        written: date,
        replaces,
        stands_for: None,
        by,
        notes: reading.notes,
        body,
        void: None,
    })
}

/// Parts that are said to have been described wrong, and are not described.
pub(super) fn corrected_parts(machine: &Machine, faults: &mut Faults) {
    for corrected in &machine.corrected {
        if let Err(lost) = Target::find(machine, &corrected.on) {
            report(lost, &corrected.on, machine, faults);
        }
    }
}

/// What the record is about is not described.
fn report(lost: AddressError, on: &Spanned<Name>, machine: &Machine, faults: &mut Faults) {
    let (refers, name, scope) = match lost {
        AddressError::Axis(name) => (Refers::Axis, name, Scope { machine: Some(machine), ..Scope::default() }),
        AddressError::Rail(axis, name) => {
            (Refers::Rail, name, Scope { axis: machine.axes.get(axis), ..Scope::default() })
        }
        AddressError::Part(id, name) => {
            (Refers::Part, name, Scope { rail: Some(machine.rail(id)), ..Scope::default() })
        }
        AddressError::TooLong => (Refers::Address, on.as_str(), Scope::default()),
    };
    faults.unknown(refers, Spanned { value: name, place: on.place }, scope, on.value.clone());
}

/// A record about the wrong sort of thing: an inspection of a rail, a fastening of a joint.
fn check_target(
    kind: &str,
    refers: Option<Refers>,
    on: Option<&Spanned<Name>>,
    target: Option<Target>,
    faults: &mut Faults,
) {
    let (Some(on), Some(target), Some(refers)) = (on, target, refers) else { return };
    let right = match refers {
        Refers::Rail => matches!(target, Target::Rail(_)),
        Refers::Joint => matches!(target, Target::Joint(..)),
        Refers::Part => !matches!(target, Target::Axis(_)),
        Refers::Axis => matches!(target, Target::Axis(_)),
        _ => true,
    };
    if let (false, Some(wants)) = (right, refers.wanted()) {
        let is = match target {
            Target::Axis(_) => "an axis",
            Target::Rail(_) => "a rail",
            Target::Segment(..) => "a segment",
            Target::Joint(..) => "a joint",
            Target::Support(..) if refers == Refers::Joint => "a support that lies under no joint",
            Target::Support(..) => "a support",
        };
        let message = format!("`{kind}` is about {wants}; `{}` is {is}", **on);
        faults.found.push(
            Finding::new(names::WRONG_VALUE, Grade::Nonconformity, on.value.clone(), on.place, message)
                .here(format!("names {is}"))
                .next(format!("write {wants}")),
        );
    }
}

fn receive(row: SourcedNode) -> Receive {
    let mut parts = Vec::with_capacity(row.size_hint());
    parts.extend(row.named("part").map(received_part));
    Receive { delivery: row.text("delivery"), parts }
}

fn received_part(row: SourcedNode) -> ReceivedPart {
    let mut part = ReceivedPart { place: row.place(), ..ReceivedPart::default() };
    let mut mark = None;
    for (name, cell) in row.props() {
        match name {
            "serial" => part.serial = cell.text(),
            "lot" => part.lot = cell.text(),
            "mark" => mark = cell.text(),
            "near-mark" => part.near_mark = cell.text(),
            "far-mark" => part.far_mark = cell.text(),
            "profile" => part.profile = cell.text(),
            "length" => part.length = cell.amount(),
            "state" => part.rejected = cell.text::<&str>().is_some_and(|state| *state == "rejected"),
            _ => {}
        }
    }
    part.near_mark = part.near_mark.or_else(|| mark.clone());
    part.far_mark = part.far_mark.or(mark);
    part
}

fn concession(row: SourcedNode) -> Concession {
    let accepts = row.node.prop("accepts").map(|entry| Spanned {
        value: (entry.raw().to_string(), entry.ty().map(|(unit, _)| unit.to_string())),
        place: row.at(entry.span()),
    });
    Concession { rule: row.arg_text(0), accepts, until: row.moment("until"), reason: row.text("reason") }
}

/// The rules that a release names, whether they had something to judge or not.
fn asked(row: SourcedNode) -> Vec<AskedRule> {
    let judged = row.named("judged").filter_map(|row| {
        let open = row.count("not-applicable").is_some_and(|count| *count > 0);
        Some(AskedRule { rule: row.arg_text(0)?.value, judged_all: !open })
    });
    let idle = row.named("idle").flat_map(|row| {
        let rules = (0..row.node.args().count()).filter_map(move |at| row.arg_text(at));
        rules.map(|rule| AskedRule { rule: rule.value, judged_all: false })
    });
    let mut all: Vec<AskedRule> = judged.chain(idle).collect();
    all.sort_unstable();
    all
}

fn signature(row: SourcedNode) -> Signature {
    let lines = row.named("line").filter_map(|line| Some(line.arg_text::<String>(0)?.value));
    Signature { place: row.place(), lines: lines.collect() }
}

fn sealed(row: SourcedNode) -> Option<SealedGroup> {
    let facts =
        row.named("fact").filter_map(|fact| Some((fact.arg_text(0)?.value, fact.arg_text(1)?.value, fact.place())));
    Some(SealedGroup {
        place: row.place(),
        name: row.arg_text(0)?.value,
        digest: row.text("digest")?.value,
        facts: facts.collect(),
    })
}
