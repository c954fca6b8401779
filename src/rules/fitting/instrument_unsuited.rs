//! A gauge is of a kind that can read what it was used for, and its plus says something there.

use std::collections::BTreeMap;

use crate::finding::{Grade, Place};
use crate::ledger::{Body, Gauge, Plus, RailId, Record, SurveyKind, Target, Word};
use crate::rules::evidence::Flaw;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule};

pub static RULE: Rule = Rule {
    name: "instrument-unsuited",
    group: Group::Fitting,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "A gauge is of a kind that reads what it was used for: a groove is read by an indicator or a laser, the running force by a force gauge, a gap, straightness or a height by no force gauge, and a gap or a height by no autocollimator nor a gap by a level. Its plus, or the record's own, is one of that reading: outward or inward at a groove, wider or narrower at a gap, up or down at a height, left, right, up or down at a straightness. A record that breaks this does not count until a later one that does covers the same.",
    why: "What a gauge cannot read was not read with it: its name was mistaken, or the number was. A plus that points another way leaves open which rail end stands proud, and which way a shim must go.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
shop { gauge FG-1 kind=force-gauge { calibrated "2026-02-02" due="2027-02-02" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=FG-1 { light none; UL 0 -> 0.01 }
"#,
    right: r#"
shop { gauge DI-4 kind=dial-indicator plus=outward { calibrated "2026-01-12" due="2027-01-12" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { light none; UL 0 -> 0.01 }
"#,
    check: Check::Ledger(check),
};

/// What a gauge reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::rules) enum Quantity {
    Groove,
    Gap,
    Straightness,
    Height,
    Force,
}

impl Quantity {
    /// What the gauge of a record read.
    fn of(record: &Record) -> Option<Quantity> {
        match &record.body {
            Body::Inspect(_) => Some(Quantity::Groove),
            Body::Survey(survey) => Some(match survey.kind?.value {
                SurveyKind::Gap => Quantity::Gap,
                SurveyKind::Straightness => Quantity::Straightness,
                SurveyKind::Height => Quantity::Height,
            }),
            Body::RunningForce(_) => Some(Quantity::Force),
            _ => None,
        }
    }

    /// How people call it.
    fn words(self) -> &'static str {
        match self {
            Quantity::Groove => "a groove",
            Quantity::Gap => "a gap",
            Quantity::Straightness => "straightness",
            Quantity::Height => "a height",
            Quantity::Force => "a force",
        }
    }

    /// The kinds of gauge that read it. One of a kind of its own, or of which no kind is stated, is taken at its word.
    fn kinds(self) -> &'static [&'static str] {
        match self {
            Quantity::Groove => &["dial-indicator", "lever-indicator", "electronic-indicator", "laser"],
            Quantity::Gap => {
                &["dial-indicator", "lever-indicator", "electronic-indicator", "micrometer", "feeler", "laser"]
            }
            Quantity::Straightness => &[
                "dial-indicator",
                "lever-indicator",
                "electronic-indicator",
                "micrometer",
                "feeler",
                "laser",
                "level",
                "autocollimator",
            ],
            Quantity::Height => {
                &["dial-indicator", "lever-indicator", "electronic-indicator", "micrometer", "feeler", "laser", "level"]
            }
            Quantity::Force => &["force-gauge"],
        }
    }

    /// The ways in which it can grow.
    fn ways(self) -> &'static [Plus] {
        match self {
            Quantity::Groove => &[Plus::Outward, Plus::Inward],
            Quantity::Gap => &[Plus::Wider, Plus::Narrower],
            Quantity::Straightness => &[Plus::Left, Plus::Right, Plus::Up, Plus::Down],
            Quantity::Height => &[Plus::Up, Plus::Down],
            Quantity::Force => &[],
        }
    }
}

/// Why a gauge is not suited.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::rules) enum Unsuited {
    Kind(Quantity),
    Way(Quantity),
}

/// What speaks against the gauge of a record, if anything does.
pub(in crate::rules) fn unsuited(record: &Record, gauge: &Gauge) -> Option<Unsuited> {
    let quantity = Quantity::of(record)?;
    if let Some(kind) = gauge.kind.as_ref().filter(|kind| kind.as_str() != "other")
        && !quantity.kinds().contains(&kind.as_str())
    {
        return Some(Unsuited::Kind(quantity));
    }
    if quantity == Quantity::Force {
        return None;
    }
    let plus = own_plus(record).or(gauge.plus.map(|plus| (plus.value, plus.place)))?.0;
    (!quantity.ways().contains(&plus)).then_some(Unsuited::Way(quantity))
}

/// Which way the record itself says a growing reading points.
fn own_plus(record: &Record) -> Option<(Plus, Place)> {
    let plus = match &record.body {
        Body::Inspect(inspect) => inspect.plus,
        Body::Survey(survey) => survey.plus,
        _ => None,
    }?;
    Some((plus.value, plus.place))
}

fn check(case: &Case, findings: &mut Findings) {
    // One finding for the records of a rail, or of an axis, that a gauge is not suited for in the same way.
    let mut groups: BTreeMap<(usize, Option<RailId>, &str, Unsuited), Vec<usize>> = BTreeMap::new();
    for index in case.wanting(Flaw::Unsuited) {
        let record = &case.ledger.records[index];
        let axis = match (record.target, record.rail()) {
            (_, Some(id)) => id.axis,
            (Some(Target::Axis(axis)), None) => axis,
            _ => continue,
        };
        let Some(gauge) = record.gauge().and_then(|name| case.ledger.shop.gauge(name)) else { continue };
        let Some(why) = unsuited(record, gauge) else { continue };
        groups.entry((axis, record.rail(), gauge.name.as_str(), why)).or_default().push(index);
    }
    for ((_, _, name, why), records) in groups {
        let (Some(&first), Some(gauge)) = (records.first(), case.ledger.shop.gauge(name)) else { continue };
        let record = &case.ledger.records[first];
        let Some(at) = record.gauge() else { continue };
        let address = record.on.as_ref().map_or(String::new(), |on| on.to_string());
        let more = match records.len() {
            1 => String::new(),
            2 => ", nor in 1 more".to_string(),
            n => format!(", nor in {} more", n - 1),
        };
        let finding = match why {
            Unsuited::Kind(quantity) => {
                let kind = gauge.kind.as_ref().map_or("", |kind| kind.as_str());
                let mut finding = findings
                    .finding(
                        address,
                        at.place,
                        format!("{name}, a {kind}, cannot read {}: this record does not count{more}", quantity.words()),
                    )
                    .here("this gauge")
                    .next(format!(
                        "correct the gauge's name, or read again with one of these: {}",
                        quantity.kinds().join(", ")
                    ));
                if let Some(kind) = &gauge.kind {
                    finding = finding.also(kind.place, "its kind");
                }
                finding
            }
            Unsuited::Way(quantity) => {
                let own = own_plus(record);
                let (plus, place) = match (own, gauge.plus) {
                    (Some(own), _) => own,
                    (None, Some(plus)) => (plus.value, plus.place),
                    (None, None) => continue,
                };
                let of = if own.is_some() { "this record" } else { name };
                let ways: Vec<String> = quantity.ways().iter().map(|way| format!("plus={}", way.word())).collect();
                findings
                    .finding(
                        address,
                        at.place,
                        format!(
                            "{of} takes {} for plus, which says nothing of {}: this record does not count{more}",
                            plus.word(),
                            quantity.words()
                        ),
                    )
                    .here("this gauge")
                    .also(place, "its plus")
                    .next(format!(
                        "state in the record which way a growing reading pointed: {}; or correct the gauge's name",
                        ways.join(" or ")
                    ))
            }
        };
        findings.add(finding);
    }
}
