//! What is stated of a gauge or a wrench fits together.

use std::fmt::Display;

use super::shown;
use crate::finding::{Finding, Grade, Place, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::{Gauge, Instrument, Spanned, Wrench};
use crate::quantity::{Angle, Length};
use crate::rules::quotient::{Quotient, WHOLE};
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

/// Holds the values of one instrument against each other.
struct Sheet<'c, 'l> {
    case: &'c Case<'l>,
    findings: &'c mut Findings,
    name: &'c str,
    /// The last value that was held against another one, or by itself.
    held: Verdict,
}

impl Sheet<'_, '_> {
    /// Tells of a quotient that its entry does not allow; `beside` is the other value, where it is stated too.
    fn hold(
        &mut self,
        entry: LimitName,
        quotient: Quotient,
        (at, beside): (Place, Option<Place>),
        message: impl FnOnce() -> String,
    ) {
        self.held = Verdict::Conforms(at);
        let Some((found, limit)) = quotient.beyond(self.case.rulebook, entry) else { return };
        let mut finding: Finding = self
            .findings
            .finding("", at, format!("of {}, {}", self.name, message()))
            .here("stated here")
            .found(found)
            .limit(limit)
            .next("read the maker's sheet or the certificate again, and correct the number or its unit; where it is right, state the limit in the rulebook with a reason");
        if let Some(beside) = beside {
            finding = finding.also(beside, "held against this");
        }
        self.findings.add(finding);
    }

    /// An error against the graduation that it belongs to, whatever both measure.
    fn error<A: Display>(&mut self, error: (A, Place), graduation: (A, Place), quotient: Quotient) {
        self.hold(LimitName::ErrorGraduations, quotient, (error.1, Some(graduation.1)), || {
            format!("the permissible error of {} does not fit a graduation of {}", error.0, graduation.0)
        });
    }

    /// A range against the graduation that it is read in, whatever both measure.
    fn range<A: Display>(&mut self, range: (A, Place), graduation: (A, Place), quotient: Quotient) {
        self.hold(LimitName::RangeGraduations, quotient, (range.1, Some(graduation.1)), || {
            format!("a range of {} holds few graduations of {}", range.0, graduation.0)
        });
    }
}

fn of_nm(of: Spanned<Length>, per: Spanned<Length>) -> Quotient {
    Quotient { of: of.nm().into(), per: per.nm().into() }
}

fn of_angles(of: Spanned<Angle>, per: Spanned<Angle>) -> Quotient {
    Quotient { of: of.picoradians().into(), per: per.picoradians().into() }
}

fn of_gauge(case: &Case, gauge: &Gauge, findings: &mut Findings) -> Verdict {
    let mut sheet = Sheet { case, findings, name: gauge.name.as_str(), held: Verdict::NotRequired };
    // A force gauge states its own figures as forces, a level and the like as angles.
    if let (Some(error), Some(graduation)) = (gauge.forces.permissible_error, gauge.forces.graduation) {
        let quotient = Quotient { of: error.0, per: graduation.0 };
        sheet.error((*error, error.place), (*graduation, graduation.place), quotient);
    }
    if let (Some(range), Some(graduation)) = (gauge.forces.range, gauge.forces.graduation) {
        let quotient = Quotient { of: range.0, per: graduation.0 };
        sheet.range((*range, range.place), (*graduation, graduation.place), quotient);
    }
    if let (Some(error), Some(graduation)) = (gauge.angles.permissible_error, gauge.angles.graduation) {
        sheet.error((*error, error.place), (*graduation, graduation.place), of_angles(error, graduation));
    }
    if let (Some(range), Some(graduation)) = (gauge.angles.range, gauge.angles.graduation) {
        sheet.range((*range, range.place), (*graduation, graduation.place), of_angles(range, graduation));
    }
    if let (Some(error), Some(graduation)) = (gauge.permissible_error, gauge.graduation) {
        sheet.error((*error, error.place), (*graduation, graduation.place), of_nm(error, graduation));
    }
    if let (Some(local), Some(error)) = (gauge.local_error, gauge.permissible_error) {
        sheet.hold(LimitName::LocalErrorShare, of_nm(local, error), (local.place, Some(error.place)), || {
            format!("the local error of {} does not fit one of {} over the whole range", *local, *error)
        });
    }
    if let (Some(range), Some(graduation)) = (gauge.range, gauge.graduation) {
        let (quotient, places) = (of_nm(range, graduation), (range.place, Some(graduation.place)));
        sheet.range((*range, range.place), (*graduation, graduation.place), quotient);
        let dials = ["dial-indicator", "lever-indicator"];
        if gauge.kind.as_ref().is_some_and(|kind| dials.contains(&kind.as_str())) {
            sheet.hold(LimitName::DialGraduations, quotient, places, || {
                format!("a dial with a range of {} and a graduation of {} is seldom made", *range, *graduation)
            });
        }
    }
    sheet.held
}

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
    half_told(wrench, findings);
    let mut sheet = Sheet { case, findings, name: wrench.name.as_str(), held: Verdict::NotRequired };
    if let (Some(error), Some(graduation), Some(most)) = (wrench.permissible_error, wrench.graduation, wrench.most) {
        // The deviation at the upper end, as a torque.
        let of = i128::from(error.0).checked_mul(most.0 / WHOLE).unwrap_or(-1);
        sheet.hold(
            LimitName::ErrorGraduations,
            Quotient { of, per: graduation.0 },
            (graduation.place, Some(error.place)),
            || format!("a graduation of {} does not fit its deviation at {}", shown(*graduation), shown(*most)),
        );
    }
    if let Some(error) = wrench.permissible_error {
        sheet.hold(LimitName::WrenchError, Quotient { of: error.0.into(), per: WHOLE }, (error.place, None), || {
            format!("a permissible deviation of {} % is none that such tools are made to", error.percent())
        });
    }
    if let (Some(least), Some(most)) = (wrench.least, wrench.most) {
        let quotient = Quotient { of: most.0, per: least.0 };
        sheet.hold(LimitName::WrenchSpan, quotient, (most.place, Some(least.place)), || {
            format!("a range from {} to {} is wider than such tools have", shown(*least), shown(*most))
        });
    }
    sheet.held
}
