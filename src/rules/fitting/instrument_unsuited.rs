//! A gauge is of a kind that can read what it was used for, and its plus says something there.

use std::collections::BTreeMap;

use crate::finding::{Grade, Place, RuleName};
use crate::ledger::{Body, Gauge, Plus, RailId, Record, SurveyKind, Word};
use crate::rules::flaws::Flaw;
use crate::rules::{Case, Check, Cure, Findings, Group, Rule, Verdict};

pub static RULE: Rule = Rule {
    name: RuleName::new("instrument-unsuited"),
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
    checks: &[Check::Axes(axis), Check::Rails(rail)],
    ..Rule::PLAIN
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

fn axis(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    judge(case, findings, case.measured(axis, None))
}

fn rail(case: &Case, id: RailId, findings: &mut Findings) -> Verdict {
    judge(case, findings, case.measured(id.axis, Some(id)))
}

/// The records of one axis or rail.
fn judge(case: &Case, findings: &mut Findings, records: impl Iterator<Item = usize>) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    // One finding for those that a gauge is not suited for in the same way: the first of them, and how many.
    let mut groups: BTreeMap<(&str, Unsuited), (usize, usize)> = BTreeMap::new();
    for index in records {
        let record = &case.ledger.records[index];
        if Quantity::of(record).is_none() {
            continue;
        }
        let Some((at, gauge)) = record.gauge().and_then(|at| Some((at, case.ledger.shop.gauge(at)?))) else {
            verdict = Verdict::NotJudged("a record names no gauge of the shop");
            continue;
        };
        if !case.flawed(index, Flaw::Unsuited) {
            if verdict == Verdict::NotRequired {
                verdict = Verdict::Conforms(at.place);
            }
        } else if let Some(why) = unsuited(record, gauge).filter(|_| !case.covered(index)) {
            groups.entry((gauge.name.as_str(), why)).or_insert((index, 0)).1 += 1;
        }
    }
    for ((name, why), (first, count)) in groups {
        if let Some(gauge) = case.ledger.shop.gauge(name) {
            report(findings, &case.ledger.records[first], gauge, why, count);
        }
    }
    verdict
}

fn report(findings: &mut Findings, record: &Record, gauge: &Gauge, why: Unsuited, count: usize) {
    let (Some(at), name) = (record.gauge(), gauge.name.as_str()) else { return };
    let address = record.on.as_ref().map_or(String::new(), |on| on.to_string());
    let more = match count {
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
                (None, None) => return,
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
