//! Whole records to be completed: with the rows that are outstanding, in the order of work.

use super::instruments::{OfferedInstrument, gauges, wrenches};
use super::snippet::{gap, quoted_gap};
use crate::facts::survey_state::CurrentSurveys;
use crate::finding::counted;
use crate::ledger::{
    GaugedQuantity, Groove, Instrument, Interface, Keyword, NodeDraft, RailId, SpeltValue, Stage, SurveyKind,
    WrenchKind,
};
use crate::rules::Case;
use crate::world::Path;
use crate::writing::entry::{in_words, outstanding};

/// A record that may come next.
pub(super) struct NewRecord {
    /// What it is called in a list: the words that one would begin to type.
    pub label: String,
    pub detail: String,
    pub draft: NodeDraft,
    /// Something is outstanding that it would say.
    pub wanted: bool,
}

/// When a record is written and by whom, as far as that is known.
pub(super) struct Signing {
    pub date: jiff::civil::Date,
    pub by: String,
}

impl Signing {
    /// A day's file of one person says both; else it is today, and the last person who wrote a record.
    pub(super) fn for_file(case: &Case, path: &Path) -> Signing {
        let name = path.name().strip_suffix(".kdl").unwrap_or_default();
        let of_file = name.get(..10).zip(name.get(11..)).and_then(|(date, by)| Some((date.parse().ok()?, by)));
        if let Some((date, by)) = of_file.filter(|(_, by)| !by.is_empty()) {
            return Signing { date, by: by.to_owned() };
        }
        let last = case.in_order().filter_map(|(_, record)| record.by.as_ref()).last();
        Signing { date: case.today, by: last.map_or(String::new(), |by| by.to_string()) }
    }

    fn sign(&self, draft: NodeDraft) -> NodeDraft {
        let by = match self.by.as_str() {
            "" => gap("…"),
            by => gap(&crate::text::quote(by)),
        };
        draft.property("date", quoted_gap(&self.date.to_string())).property("by", by)
    }
}

/// The records that may come next, those first that say something outstanding.
pub(super) fn new_records(case: &Case, signed: &Signing) -> Vec<NewRecord> {
    let mut all = Vec::new();
    for (id, _, _) in case.rails() {
        for interface in [Interface::Rail, Interface::Base] {
            all.extend(
                [Stage::Snug, Stage::Full].into_iter().filter_map(|stage| fasten(case, id, interface, stage, signed)),
            );
        }
    }
    all.extend(outstanding::joints(case).into_iter().map(|(id, joint)| inspect(case, id, joint, signed)));
    for id in outstanding::gap_rails(case) {
        all.push(survey(case, id, SurveyKind::Gap, signed));
    }
    for (id, _, rail) in case.rails() {
        if rail.follows.is_none() {
            all.push(survey(case, id, SurveyKind::Straightness, signed));
        }
        all.extend(shim(case, id, signed));
    }
    all.sort_by_key(|record| !record.wanted);
    all
}

fn best<'l>(all: Vec<OfferedInstrument<'l>>) -> Option<Instrument<'l>> {
    all.into_iter().find(|it| it.against.is_none()).map(|it| it.instrument)
}

fn named(draft: NodeDraft, what: &'static str, instrument: Option<Instrument>) -> NodeDraft {
    match instrument {
        Some(it) => draft.property(what, gap(&crate::text::quote(it.name()))),
        None => draft,
    }
}

fn fasten(case: &Case, id: RailId, interface: Interface, stage: Stage, signed: &Signing) -> Option<NewRecord> {
    let rail = case.machine.rail(id);
    if interface == Interface::Base && !rail.supports.iter().any(|support| support.base_bolts.is_some()) {
        return None;
    }
    let open = outstanding::supports(case, id, interface, stage);
    if open.is_empty() {
        return None;
    }
    let address = case.machine.rail_address(id);
    let wrench = best(wrenches(case, Some((id, interface, stage)), signed.date));
    let clicks =
        matches!(wrench, Some(Instrument::Wrench(it)) if it.kind.is_some_and(|kind| *kind == WrenchKind::Setting));
    let mut draft = named(signed.sign(NodeDraft::new("fasten").value(&address)), "wrench", wrench);
    draft.set("stage", stage.word());
    if interface == Interface::Base {
        draft.set("interface", interface.word());
    }
    if clicks {
        draft.set("setting", gap("0"));
        let words = in_words(rail, &open);
        draft.push(NodeDraft::new("clicked").values(words.split(' ')));
    } else {
        open.iter().for_each(|support| draft.push(torques(case, id, interface, *support)));
    }
    let of = if interface == Interface::Base { "base bolts, " } else { "" };
    Some(NewRecord {
        label: format!("fasten {address} {}{}", if interface == Interface::Base { "base " } else { "" }, stage.word()),
        detail: format!("{of}{} outstanding", counted(open.len(), "support", "supports")),
        draft,
        wanted: true,
    })
}

/// The row of a support, with a blank for each bolt.
pub(super) fn torques(case: &Case, id: RailId, interface: Interface, support: usize) -> NodeDraft {
    let support = &case.machine.rail(id).supports[support];
    let count = support.bolt_count(interface).unwrap_or(2);
    NodeDraft::new("at").value(support.name.as_str()).values(std::iter::repeat_n(gap("#null"), count))
}

/// The row of a groove.
pub(super) fn groove(groove: Groove) -> NodeDraft {
    NodeDraft::new(groove.word()).value(gap("before")).value("->").value(gap("after"))
}

/// The row of a station.
pub(super) fn station(case: &Case, id: RailId, support: usize) -> NodeDraft {
    NodeDraft::new("at").value(case.machine.rail(id).supports[support].name.as_str()).value(gap("#null"))
}

fn inspect(case: &Case, id: RailId, joint: usize, signed: &Signing) -> NewRecord {
    let address = case.machine.joint_address(id, joint);
    let gauge = best(gauges(&case.ledger.shop, case.limits(id.axis), &[GaugedQuantity::Groove], signed.date));
    let mut draft = named(signed.sign(NodeDraft::new("inspect").value(&address)), "gauge", gauge);
    draft.push(NodeDraft::new("carrier").property("reach", gap("reach")).property("travel", gap("travel")));
    draft.push(NodeDraft::new("light").value(gap("seen")));
    Groove::ALL.into_iter().for_each(|it| draft.push(groove(it)));
    let detail = "light and four grooves".to_owned();
    NewRecord { label: format!("inspect {address}"), detail, draft, wanted: true }
}

fn survey(case: &Case, id: RailId, kind: SurveyKind, signed: &Signing) -> NewRecord {
    let rail = case.machine.rail(id);
    let address = case.machine.rail_address(id);
    let reads = GaugedQuantity::of_survey(kind);
    let gauge = best(gauges(&case.ledger.shop, case.limits(id.axis), &[reads], signed.date));
    let stage = outstanding::survey_stage(case, id, kind);
    let mut draft = named(signed.sign(NodeDraft::new("survey").value(kind.word()).value(&address)), "gauge", gauge);
    draft.set("stage", gap(stage.word()));
    (0..rail.supports.len()).for_each(|support| draft.push(station(case, id, support)));
    if let Some(first) = rail.supports.first() {
        draft.push(NodeDraft::new("closure").value(first.name.as_str()).value(gap("reading")));
    }
    NewRecord {
        label: format!("survey {} {address} {}", kind.word(), stage.word()),
        detail: counted(rail.supports.len(), "station", "stations"),
        draft,
        wanted: CurrentSurveys::for_rail(case.ledger, id, kind).latest().is_none(),
    }
}

fn shim(case: &Case, id: RailId, signed: &Signing) -> Option<NewRecord> {
    let planned = outstanding::shims(case, id);
    if planned.is_empty() {
        return None;
    }
    let rail = case.machine.rail(id);
    let address = case.machine.rail_address(id);
    let mut draft = signed.sign(NodeDraft::new("shim").value(&address));
    for (support, leaves) in &planned {
        let leaves: Vec<SpeltValue> = match leaves.is_empty() {
            true => vec![SpeltValue::count(0)],
            false => leaves.iter().map(|leaf| SpeltValue::from(*leaf)).collect(),
        };
        draft.push(NodeDraft::new("at").value(rail.supports[*support].name.as_str()).values(leaves));
    }
    let detail = format!("the plan for {}", counted(planned.len(), "support", "supports"));
    Some(NewRecord { label: format!("shim {address}"), detail, draft, wanted: true })
}
