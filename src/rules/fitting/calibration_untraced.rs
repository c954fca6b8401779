//! A calibration that readings rest on can be followed back.

use crate::finding::{Grade, Measure, RuleName, counted};
use crate::ledger::{Calibration, Instrument};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("calibration-untraced"),
    group: RuleGroup::Fitting,
    grade: Grade::Observation,
    cure: Cure::Writing,
    what: "Each calibration of an instrument that was used names its certificate, and says until when it holds. One finding an instrument.",
    why: "A calibration without a certificate's number is somebody's word: nobody can look up what was found. Without a day that it is due, the usual interval is taken for it, and whoever calibrated may have meant another.",
    limits: &[],
    source: "ISO 10012:2003, 7.1.4: records of confirmation hold the interval and the identification of certificates; from memory",
    wrong: r#"
shop { gauge DI-4 { calibrated "2026-01-12" due="2027-01-12" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { UL 0 -> 0.01 }
"#,
    right: r#"
shop { gauge DI-4 { calibrated "2026-01-12" due="2027-01-12" certificate="C-2211" } }
machine m { axis X { rail a { segment 1200; segment 1200 } } }
inspect X.a.J1 date="2026-04-15" by=inspector-1 gauge=DI-4 { UL 0 -> 0.01 }
"#,
    checks: &[Check::Instruments(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, instrument: Instrument, findings: &mut Findings) -> Verdict {
    let all = instrument.calibrations();
    let Some(latest) = all.last() else { return Verdict::NotRequired };
    let key = (matches!(instrument, Instrument::Wrench(_)), instrument.name());
    let used = || case.uses().contains_key(&key);
    let told = |of: &Calibration| of.certificate.is_some() && (of.due.is_some() || of.failed);
    let lacking: Vec<&Calibration> = all.iter().filter(|of| !told(of)).collect();
    if !used() {
        return Verdict::NotRequired;
    }
    let Some(first) = lacking.first() else { return Verdict::Conforms(latest.place) };
    let what = match (first.certificate.is_some(), first.due.is_some() || first.failed) {
        (false, false) => "names no certificate, and no day that it is due",
        (false, true) => "names no certificate",
        _ => "names no day that it is due",
    };
    let more = match lacking.len() - 1 {
        0 => String::new(),
        more => format!("; so {} of it", counted(more, "other calibration", "other calibrations")),
    };
    findings.add(
        findings
            .finding("", first.place, format!("the calibration of {} on {} {what}{more}", instrument.name(), *first.on))
            .here("this calibration")
            .found(Measure::too_large(lacking.len()))
            .next("add what stands on the certificate: certificate=… due=…"),
    );
    Verdict::Conforms(latest.place)
}
