//! The names that may be written at a place, the likeliest first.

use super::context::WritingPlace;
use super::instruments::{OfferedInstrument, gauges, wrenches};
use crate::language::rulebook::ENTRIES;
use crate::language::schema::{EntryShape, Refers, Type};
use crate::ledger::{GaugedQuantity, Interface, Keyword, Ledger, RailId, Stage, SurveyKind, Target};
use crate::quantity::Moment;
use crate::rules::{self, Case};
use crate::writing::entry::{RecordKind, outstanding};

/// A name that may be written.
pub(super) struct OfferedName {
    pub name: String,
    pub detail: String,
}

fn offered(name: impl Into<String>, detail: impl Into<String>) -> OfferedName {
    OfferedName { name: name.into(), detail: detail.into() }
}

/// What a record says that it is about.
pub(super) fn target(case: &Case, place: &WritingPlace) -> Option<Target> {
    Target::find(&case.machine, place.said("on")?).ok()
}

/// The day that a record says, or the one that it will most likely have.
pub(super) fn day(place: &WritingPlace, usual: jiff::civil::Date) -> jiff::civil::Date {
    place.said("date").and_then(Moment::read).map_or(usual, |moment| moment.date)
}

/// What the bolts of a fastening record are tightened to.
pub(super) fn stage(place: &WritingPlace) -> Option<(Interface, Stage)> {
    let interface = place.said("interface").and_then(Interface::from_word).unwrap_or(Interface::Rail);
    Some((interface, place.said("stage").and_then(Stage::from_word)?))
}

/// What the gauge of a record reads.
fn reads(place: &WritingPlace) -> Vec<GaugedQuantity> {
    match place.shapes.first().map(|shape| shape.name.as_str()) {
        Some("inspect") => vec![GaugedQuantity::Groove],
        Some("survey") => match place.said("kind").and_then(SurveyKind::from_word) {
            Some(SurveyKind::Straightness) => vec![GaugedQuantity::Straightness, GaugedQuantity::Angle],
            kind => kind.map(GaugedQuantity::of_survey).into_iter().collect(),
        },
        Some(kind) if kind == RecordKind::RunningForce.word() => vec![GaugedQuantity::Force],
        _ => Vec::new(),
    }
}

/// The names for a part of a node.
pub(super) fn names(
    case: &Case,
    place: &WritingPlace,
    part: &EntryShape,
    usual: jiff::civil::Date,
) -> Vec<OfferedName> {
    let Some(refers) = part.refers else { return unreferred(case.ledger, place, part, usual) };
    let ledger = case.ledger;
    let shop = &ledger.shop;
    let on_day = day(place, usual);
    match refers {
        Refers::Gauge => instruments(gauges(shop, case.rulebook, &reads(place), on_day)),
        Refers::Wrench => {
            let rail = target(case, place).and_then(Target::rail);
            let job = rail.zip(stage(place)).map(|(id, (interface, stage))| (id, interface, stage));
            instruments(wrenches(case, job, on_day))
        }
        Refers::Instrument => shop.instruments().map(|it| offered(it.name(), "instrument")).collect(),
        Refers::Profile => shop.profiles.iter().map(|it| offered(it.name.as_str(), "profile")).collect(),
        Refers::Fastener => shop.fasteners.iter().map(|it| offered(it.name.as_str(), "fastener")).collect(),
        Refers::Block => shop.blocks.iter().map(|it| offered(it.name.as_str(), "block")).collect(),
        Refers::Rule => rules::all().map(|rule| offered(rule.name.as_str(), rule.what)).collect(),
        Refers::Hold => {
            let held = ledger.holds.iter().filter(|hold| hold.in_force());
            let held = held.filter_map(|hold| ledger.records[hold.record].on.as_ref());
            held.map(|on| offered(on.as_str(), "on hold")).collect()
        }
        Refers::Record => {
            let mut all: Vec<OfferedName> = Vec::new();
            let kind = place.said("kind");
            for record in ledger.records.iter().rev().filter(|record| kind.is_none_or(|kind| record.kind == kind)) {
                let (Some(on), Some(date)) = (&record.on, record.written) else { continue };
                if all.iter().all(|it| it.name != on.as_str()) {
                    all.push(offered(on.as_str(), format!("{} of {}", record.kind, date.value)));
                }
            }
            all
        }
        _ if part.ty == Type::Address => addresses(case, refers),
        Refers::Axis => ledger.machine.axes.iter().map(|it| offered(it.name.as_str(), "axis")).collect(),
        Refers::Beam => axis(ledger, place)
            .map_or(Vec::new(), |axis| axis.beams.iter().map(|it| offered(it.name.as_str(), "beam")).collect()),
        Refers::Rail | Refers::OtherRail => axis(ledger, place).map_or(Vec::new(), |axis| {
            let own = place.around("rail").filter(|_| refers == Refers::OtherRail);
            let others = axis.rails.iter().filter(|it| Some(it.name.as_str()) != own);
            others.map(|it| offered(it.name.as_str(), "rail")).collect()
        }),
        Refers::Joint | Refers::Support | Refers::RowPlace | Refers::Part | Refers::Address => {
            on_rail(case, place, refers)
        }
        Refers::Design => {
            let mut all: Vec<OfferedName> = Vec::new();
            for (name, revision) in designs(ledger) {
                if all.iter().all(|it| it.name != name) {
                    all.push(offered(name, format!("design, revision {revision}")));
                }
            }
            all
        }
        Refers::Revision => {
            let design = place.around("built-to");
            let of_it = designs(ledger).into_iter().filter(|(name, _)| Some(name.as_str()) == design);
            of_it.map(|(name, revision)| offered(revision, format!("revision of {name}"))).collect()
        }
    }
}

/// Name and revision of the designs that the ledger could be built to, the last described first.
fn designs(ledger: &Ledger) -> Vec<(String, String)> {
    let nodes = ledger.sources.iter().flat_map(|(_, source)| source.document.nodes().filter(|node| node.is("design")));
    let designs = nodes.filter_map(|node| {
        let (name, revision) = (node.args().next()?.word()?, node.prop("revision")?.raw());
        Some((name.to_owned(), revision.to_owned()))
    });
    let mut all: Vec<(String, String)> = designs.collect();
    all.reverse();
    all
}

fn instruments(all: Vec<OfferedInstrument>) -> Vec<OfferedName> {
    let detail = |it: &OfferedInstrument| it.against.clone().unwrap_or_else(|| "suited, in calibration".to_owned());
    all.iter().map(|it| offered(it.instrument.name(), detail(it))).collect()
}

/// The axis that is described around a place.
fn axis<'l>(ledger: &'l Ledger, place: &WritingPlace) -> Option<&'l crate::ledger::Axis> {
    let name = place.around("axis")?;
    ledger.machine.axes.iter().find(|axis| axis.name.as_str() == name)
}

/// The rail that a record is about, or that is described around a place.
fn rail(case: &Case, place: &WritingPlace) -> Option<RailId> {
    if let Some(id) = target(case, place).and_then(Target::rail) {
        return Some(id);
    }
    let (axis, rail) = (place.around("axis")?, place.around("rail")?);
    Target::find(&case.machine, &format!("{axis}.{rail}")).ok()?.rail()
}

/// Joints and supports of a rail; those that are outstanding first.
fn on_rail(case: &Case, place: &WritingPlace, refers: Refers) -> Vec<OfferedName> {
    let Some(id) = rail(case, place) else { return Vec::new() };
    let rail = case.machine.rail(id);
    if refers == Refers::Joint {
        return rail.joints.iter().map(|it| offered(it.name.as_str(), format!("joint at {}", it.position))).collect();
    }
    let first: Vec<usize> = match place.shapes.first().map(|shape| shape.name.as_str()) {
        Some("fasten") => {
            stage(place).map_or(Vec::new(), |(interface, stage)| outstanding::supports(case, id, interface, stage))
        }
        Some("shim") => outstanding::shims(case, id).into_iter().map(|(support, _)| support).collect(),
        _ => Vec::new(),
    };
    let is_survey = place.shapes.first().is_some_and(|shape| shape.name == "survey");
    let ends = || rail.joint_ends().map(|name| offered(name, "end in a joint"));
    let rest = (0..rail.supports.len()).filter(|support| !first.contains(support));
    let all: Vec<usize> = first.iter().copied().chain(rest).collect();
    let detail = |support: usize| {
        let what = if first.contains(&support) { "outstanding, at" } else { "support at" };
        format!("{what} {}", rail.supports[support].at)
    };
    let supports = all.into_iter().map(|it| offered(rail.supports[it].name.as_str(), detail(it)));
    supports.chain(is_survey.then(ends).into_iter().flatten()).collect()
}

/// Addresses of some sort.
fn addresses(case: &Case, refers: Refers) -> Vec<OfferedName> {
    let machine = &case.machine;
    let axes = || machine.axes.iter().map(|it| offered(it.name.as_str(), "axis"));
    let rails = || machine.rails().map(|(id, ..)| offered(machine.rail_address(id), "rail"));
    let joints = || {
        let open = outstanding::joints(case);
        let all = machine.rails().flat_map(|(id, _, rail)| (0..rail.joints.len()).map(move |joint| (id, joint)));
        let rest: Vec<(RailId, usize)> = all.filter(|joint| !open.contains(joint)).collect();
        let count = open.len();
        let all: Vec<(RailId, usize)> = open.into_iter().chain(rest).collect();
        all.into_iter().enumerate().map(move |(at, (id, joint))| {
            offered(machine.joint_address(id, joint), if at < count { "joint, outstanding" } else { "joint" })
        })
    };
    let parts = || {
        machine.rails().flat_map(|(id, _, rail)| {
            let segments = (0..rail.segments.len()).map(move |at| offered(machine.segment_address(id, at), "segment"));
            let supports = (0..rail.supports.len()).map(move |at| offered(machine.support_address(id, at), "support"));
            segments.chain(supports)
        })
    };
    match refers {
        Refers::Axis => axes().collect(),
        Refers::Rail => rails().collect(),
        Refers::Joint => joints().collect(),
        Refers::Part => rails().chain(parts()).collect(),
        _ => axes().chain(rails()).chain(joints()).chain(parts()).collect(),
    }
}

/// What is written in parts that refer to nothing that is described: persons, days, serial numbers and lots.
fn unreferred(ledger: &Ledger, place: &WritingPlace, part: &EntryShape, usual: jiff::civil::Date) -> Vec<OfferedName> {
    let segments = || ledger.machine.rails().flat_map(|(.., rail)| &rail.segments);
    let mut all: Vec<OfferedName> = match (part.name.as_str(), part.ty) {
        ("by" | "successor", _) => {
            let known = ledger.shop.persons.iter().map(|it| offered(it.name.as_str(), "person of the shop"));
            let wrote = ledger.records.iter().rev().filter_map(|record| record.by.as_ref());
            known.chain(wrote.map(|by| offered(by.as_str(), "wrote a record"))).collect()
        }
        ("serial", _) => {
            segments().filter_map(|it| it.serial.as_ref()).map(|it| offered(it.as_str(), "segment")).collect()
        }
        ("lot", _) => segments().filter_map(|it| it.lot.as_ref()).map(|it| offered(it.as_str(), "lot")).collect(),
        ("of" | "replaces" | "supersedes", _) => {
            let kind = place.said("kind").or(place.shapes.first().map(|shape| shape.name.as_str()));
            let on = place.said("on");
            let meant = ledger.records.iter().rev().filter(|record| {
                kind.is_none_or(|kind| kind == record.kind)
                    && on.is_none_or(|on| record.on.as_ref().is_some_and(|it| it.as_str() == on))
            });
            let moments = meant.filter_map(|record| Some((record.written?.value, record)));
            moments
                .map(|(moment, record)| {
                    let on = record.address();
                    offered(moment.to_string(), format!("{} {on}", record.kind))
                })
                .collect()
        }
        (_, Type::Date | Type::Moment) => vec![offered(usual.to_string(), "the day of this file, or today")],
        _ => Vec::new(),
    };
    let mut known: Vec<String> = Vec::new();
    all.retain(|it| {
        !known.contains(&it.name) && {
            known.push(it.name.clone());
            true
        }
    });
    all
}

/// What a limit of the rulebook is, by its name.
pub(super) fn limit(name: &str) -> Option<&'static crate::language::rulebook::LimitEntry> {
    ENTRIES.iter().find(|entry| entry.name == name)
}
