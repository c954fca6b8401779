//! A reason says something.

use crate::finding::{Grade, Place, RuleName};
use crate::language::rulebook::ENTRIES;
use crate::ledger::{Body, Name, Spanned};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("reason-wordless"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every reason has a word in it: of a limit that shop or machine changed, of a fastener's own window, of bolts slackened, of a void, a hold, a lift. A word is two letters that follow each other, or one of a script that writes words so. What a concession says is judged by a rule of its own.",
    why: "A sign put there to satisfy the form tells nobody whether the reason still holds.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
loosen X.a date="2026-05-02" by=fitter-2 reason="-" { at S2 }
"#,
    right: r#"
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
loosen X.a date="2026-05-02" by=fitter-2 reason="seat cleaned" { at S2 }
"#,
    never_conceded: true,
    checks: &[Check::Records(of_record), Check::Machine(described)],
    ..Rule::PLAIN
};

/// Whether a text has a word in it.
pub(crate) fn has_word(text: &str) -> bool {
    let mut before = false;
    text.chars().any(|c| {
        let letter = c.is_alphabetic();
        let whole = letter && !c.is_lowercase() && !c.is_uppercase();
        let word = whole || letter && before;
        before = letter;
        word
    })
}

fn of_record(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let reason: Option<&Spanned<Name>> = match &record.body {
        Body::Loosen(loosen) => loosen.reason.as_ref(),
        Body::Void(void) => void.reason.as_ref(),
        Body::Hold(hold) => hold.reason.as_ref(),
        Body::Lift(lift) => lift.reason.as_ref(),
        _ => None,
    };
    let Some(reason) = reason else { return Verdict::NotRequired };
    if has_word(reason) {
        return Verdict::Conforms(reason.place);
    }
    let address = record.address();
    report(findings, address, reason.place, &format!("the reason of this `{}` has no word in it", record.kind));
    Verdict::Broken
}

/// The reasons of limits and windows that are not the default ones.
fn described(case: &Case, findings: &mut Findings) -> Verdict {
    let changes = ENTRIES.iter().filter_map(|entry| case.ledger.rulebook.change(entry.limit));
    let limits = changes.map(|change| (change.reason.as_str(), change.place, change.entry.name.to_string()));
    let windows = case.shop.fasteners.iter().flat_map(|fastener| {
        let both = [("full", &fastener.full), ("snug", &fastener.snug)].into_iter();
        both.filter_map(|(stage, window)| {
            let window = window.as_ref()?;
            Some((window.reason.as_str(), window.place, format!("{stage} window of `{}`", *fastener.name)))
        })
    });
    let doubts = case.shop.instruments().flat_map(|instrument| {
        let all = instrument.doubts().iter().flat_map(|doubt| [Some(&doubt.said), doubt.void.as_ref()]);
        all.flatten().filter_map(move |said| {
            let reason = said.reason.as_ref()?;
            Some((reason.as_str(), reason.place, format!("the doubt about {}", instrument.name())))
        })
    });
    let mut verdict = Verdict::NotRequired;
    for (reason, place, of) in limits.chain(windows).chain(doubts) {
        if has_word(reason) {
            verdict = verdict.and(Verdict::Conforms(place));
        } else {
            report(findings, "", place, &format!("the reason of {of} has no word in it"));
            verdict = Verdict::Broken;
        }
    }
    verdict
}

fn report(findings: &mut Findings, address: &str, place: Place, message: &str) {
    findings.add(
        findings.finding(address, place, message).here("says nothing").next("say in a few words why: reason=\"…\""),
    );
}
