//! What is stated of a gauge or a wrench fits together.

use super::shown;
use crate::finding::{Finding, Grade, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Gauge, Instrument, Spanned, Wrench};
use crate::quantity::{Amount, Length, Ratio};
use crate::rules::quotient::Quotient;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("instrument-implausible"),
    group: RuleGroup::Fitting,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "What the shop states of an instrument fits together. A gauge's permissible error is some of its graduations, its error over a short stretch a part of that, and its range holds enough graduations to be read, and of a dial no more than its pointer goes round for. Of a wrench's range both ends are stated, its graduation is a part of its deviation, its permissible deviation is one that such tools are made to, and its most torque not too many times its least.",
    why: "How sure a reading is comes from these numbers alone. A slipped decimal point in one of them makes every reading ten times surer than it is, or ten times less sure, and nobody sees it on the reading.",
    limits: &[
        LimitName::ErrorGraduations,
        LimitName::DialGraduations,
        LimitName::LocalErrorShare,
        LimitName::RangeGraduations,
        LimitName::WrenchError,
        LimitName::WrenchSpan,
    ],
    source: "common practice, no source; ISO 6789-1 for wrenches, from memory",
    wrong: r#"
shop { gauge DI-4 graduation=0.002 permissible-error=0.05 }
machine m { axis X { rail a { segment 1200 } } }
"#,
    right: r#"
shop { gauge DI-4 graduation=0.002 permissible-error=0.005 }
machine m { axis X { rail a { segment 1200 } } }
"#,
    checks: &[Check::Instruments(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, instrument: Instrument, findings: &mut Findings) -> Verdict {
    match instrument {
        Instrument::Gauge(gauge) => of_gauge(case, gauge, findings),
        Instrument::Wrench(wrench) => of_wrench(case, wrench, findings),
    }
}

/// Two values of an instrument, what their quotient is called, and the entry it is held against.
struct StatedValue<'i> {
    name: &'i str,
    quotient: Quotient,
    entry: LimitName,
    message: &'i dyn Fn() -> String,
    at: Place,
    beside: Option<Place>,
}

/// Tells of a quotient that its entry does not allow.
fn hold(case: &Case, findings: &mut Findings, stated: &StatedValue) {
    let Some((found, limit)) = stated.quotient.beyond(case.rulebook, stated.entry) else { return };
    let mut finding: Finding = findings
        .finding("", stated.at, format!("of {}, {}", stated.name, (stated.message)()))
        .here("stated here")
        .found(found)
        .limit(limit)
        .next("read the maker's sheet or the certificate again, and correct the number or its unit; where it is right, state the limit in the rulebook with a reason");
    if let Some(beside) = stated.beside {
        finding = finding.also(beside, "held against this");
    }
    findings.add(finding);
}

fn nm(length: Spanned<Length>) -> i128 {
    i128::from(length.nm())
}

fn of_gauge(case: &Case, gauge: &Gauge, findings: &mut Findings) -> Verdict {
    let name = gauge.name.as_str();
    let mut verdict = Verdict::NotRequired;
    // A force gauge states its own figures as forces.
    let forces = &gauge.forces;
    if let (Some(error), Some(graduation)) = (forces.permissible_error, forces.graduation) {
        verdict = Verdict::Conforms(error.place);
        hold(
            case,
            findings,
            &StatedValue {
                name,
                quotient: Quotient { of: error.0, per: graduation.0 },
                entry: LimitName::ErrorGraduations,
                message: &|| {
                    format!("the permissible error of {} does not fit a graduation of {}", *error, *graduation)
                },
                at: error.place,
                beside: Some(graduation.place),
            },
        );
    }
    if let (Some(error), Some(graduation)) = (gauge.permissible_error, gauge.graduation) {
        verdict = Verdict::Conforms(error.place);
        hold(
            case,
            findings,
            &StatedValue {
                name,
                quotient: Quotient { of: nm(error), per: nm(graduation) },
                entry: LimitName::ErrorGraduations,
                message: &|| {
                    format!("the permissible error of {} does not fit a graduation of {}", *error, *graduation)
                },
                at: error.place,
                beside: Some(graduation.place),
            },
        );
    }
    if let (Some(local), Some(error)) = (gauge.local_error, gauge.permissible_error) {
        verdict = Verdict::Conforms(local.place);
        hold(
            case,
            findings,
            &StatedValue {
                name,
                quotient: Quotient { of: nm(local), per: nm(error) },
                entry: LimitName::LocalErrorShare,
                message: &|| {
                    format!("the local error of {} does not fit one of {} over the whole range", *local, *error)
                },
                at: local.place,
                beside: Some(error.place),
            },
        );
    }
    if let (Some(range), Some(graduation)) = (gauge.range, gauge.graduation) {
        verdict = Verdict::Conforms(range.place);
        hold(
            case,
            findings,
            &StatedValue {
                name,
                quotient: Quotient { of: nm(range), per: nm(graduation) },
                entry: LimitName::RangeGraduations,
                message: &|| format!("a range of {} holds few graduations of {}", *range, *graduation),
                at: range.place,
                beside: Some(graduation.place),
            },
        );
    }
    let is_dial =
        gauge.kind.as_ref().is_some_and(|kind| ["dial-indicator", "lever-indicator"].contains(&kind.as_str()));
    if let (Some(range), Some(graduation), true) = (gauge.range, gauge.graduation, is_dial) {
        hold(
            case,
            findings,
            &StatedValue {
                name,
                quotient: Quotient { of: nm(range), per: nm(graduation) },
                entry: LimitName::DialGraduations,
                message: &|| {
                    format!("a dial with a range of {} and a graduation of {} is seldom made", *range, *graduation)
                },
                at: range.place,
                beside: Some(graduation.place),
            },
        );
    }
    verdict
}

/// A ratio of 1, as it is stored.
const WHOLE: i128 = 1_000_000_000;

/// One end of a range says nothing of what lies at the other.
fn half_told(wrench: &Wrench, findings: &mut Findings) {
    let (told, end) = match (wrench.least, wrench.most) {
        (Some(least), None) => (least, "upper"),
        (None, Some(most)) => (most, "lower"),
        _ => return,
    };
    findings.add(
        findings
            .finding("", told.place, format!("of {}, the {end} end of the range is not stated", *wrench.name))
            .here("the other end")
            .next("add it from the maker's sheet: least=… most=…"),
    );
}

fn of_wrench(case: &Case, wrench: &Wrench, findings: &mut Findings) -> Verdict {
    let name = wrench.name.as_str();
    let mut verdict = Verdict::NotRequired;
    if let Some(error) = wrench.permissible_error {
        verdict = Verdict::Conforms(error.place);
        let percent = || Ratio(error.0.saturating_mul(100)).number();
        hold(
            case,
            findings,
            &StatedValue {
                name,
                quotient: Quotient { of: error.0.into(), per: WHOLE },
                entry: LimitName::WrenchError,
                message: &|| format!("a permissible deviation of {} % is none that such tools are made to", percent()),
                at: error.place,
                beside: None,
            },
        );
    }
    if let (Some(error), Some(graduation), Some(most)) = (wrench.permissible_error, wrench.graduation, wrench.most) {
        // The deviation at the upper end, as a torque.
        let of = i128::from(error.0).checked_mul(most.0 / WHOLE);
        let at_most =
            || format!("a graduation of {} does not fit its deviation at {}", shown(*graduation), shown(*most));
        hold(
            case,
            findings,
            &StatedValue {
                name,
                quotient: Quotient { of: of.unwrap_or(-1), per: graduation.0 },
                entry: LimitName::ErrorGraduations,
                message: &at_most,
                at: graduation.place,
                beside: Some(error.place),
            },
        );
    }
    half_told(wrench, findings);
    if let (Some(least), Some(most)) = (wrench.least, wrench.most) {
        verdict = Verdict::Conforms(most.place);
        hold(
            case,
            findings,
            &StatedValue {
                name,
                quotient: Quotient { of: most.0, per: least.0 },
                entry: LimitName::WrenchSpan,
                message: &|| {
                    format!("a range from {} to {} is wider than such tools have", shown(*least), shown(*most))
                },
                at: most.place,
                beside: Some(least.place),
            },
        );
    }
    verdict
}
