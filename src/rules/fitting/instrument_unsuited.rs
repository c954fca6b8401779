//! A gauge is of a kind that can read what it was used for, and its plus says something there.

use std::collections::BTreeMap;

use crate::facts::gauged::Unsuited;
use crate::finding::{Grade, Place, RuleName};
use crate::ledger::{Body, Gauge, GaugedQuantity, Keyword, PlusDirection, RailId, Record};
use crate::rules::flaws::Flaw;
use crate::rules::{Case, Check, Cure, Findings, Ground, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("instrument-unsuited"),
    group: RuleGroup::Fitting,
    grade: Grade::Outstanding,
    cure: Cure::AtMachine,
    what: "A gauge is of a kind that reads what it was used for: a groove is read by an indicator or a laser, the running force by a force gauge, a gap, straightness or a height by no force gauge. Angles, which a survey adds up to straightness, are read by a level, an autocollimator or a laser for angles, and these read nothing else; a level follows gravity, and so reads up and down alone. One of kind `other` reads what its shop file says. Its plus, or the record's own, is one of that reading: outward or inward at a groove, wider or narrower at a gap, up or down at a height, left, right, up or down at a straightness, and at the end of a step whose angle is read. A record that breaks this does not count until a later one that does covers the same.",
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
    follows_from: &[Ground::Described, Ground::Instrument],
    checks: &[Check::Axes(axis), Check::Rails(rail)],
    ..Rule::PLAIN
};

/// What speaks against the gauge of a record, if anything does.
pub(in crate::rules) fn unsuited(record: &Record, gauge: &Gauge) -> Option<Unsuited> {
    GaugedQuantity::for_record(record)?.against(gauge, own_plus(record).map(|(plus, _)| plus))
}

/// What would have to be known of a gauge to tell whether it suits a record.
fn unknown(record: &Record, gauge: &Gauge) -> Option<&'static str> {
    let quantity = GaugedQuantity::for_record(record)?;
    if gauge.kind.is_none() {
        return Some("the kind of its gauge is not stated");
    }
    if gauge.is_of_own_kind() && gauge.reads.is_empty() {
        return Some("what its gauge of kind other reads is not stated");
    }
    let says_way = gauge.plus.is_some() || own_plus(record).is_some() || quantity.ways().is_empty();
    (!says_way).then_some("which way a growing reading of its gauge points is not stated")
}

/// Which way the record itself says a growing reading points.
fn own_plus(record: &Record) -> Option<(PlusDirection, Place)> {
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
        if GaugedQuantity::for_record(record).is_none() {
            continue;
        }
        let Some((at, gauge)) = record.gauge().and_then(|at| Some((at, case.ledger.shop.gauge(at)?))) else {
            verdict = Verdict::Awaits("a record names no gauge of the shop");
            continue;
        };
        if !case.flawed(index, Flaw::Unsuited) {
            verdict = verdict.and(match unknown(record, gauge) {
                Some(lacking) => Verdict::NotJudged(lacking),
                None if verdict == Verdict::NotRequired => Verdict::Conforms(at.place),
                None => verdict,
            });
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
    let address = record.address();
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
                    match gauge.is_of_own_kind() {
                        true => {
                            format!("{name} is not said to read {}: this record does not count{more}", quantity.words())
                        }
                        false => format!(
                            "{name}, a {kind}, cannot read {}: this record does not count{more}",
                            quantity.words()
                        ),
                    },
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
        Unsuited::Gravity => {
            let place = own_plus(record).map(|(_, place)| place).or(gauge.plus.map(|plus| plus.place));
            let finding = findings
                .finding(
                    address,
                    at.place,
                    format!("{name}, a level, follows gravity and tells nothing of left and right: this record does not count{more}"),
                )
                .here("this gauge")
                .next("read the side with an autocollimator or a laser, or along a wire; where up and down were read, correct the plus: plus=up or plus=down");
            match place {
                Some(place) => finding.also(place, "its plus"),
                None => finding,
            }
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
