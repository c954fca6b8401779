//! Where releases are to be signed, each is.

use crate::finding::{Grade, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::seal::release_of;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("release-unsigned"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Where the rulebook says `signed-release is=required`, the release in force of each axis carries a signature, from the first day on which the shop knows a key of anybody. Today's rulebook decides, whatever a seal holds.",
    why: "A seal shows that something was changed. Whoever has the tool can write a whole release anew with a seal that fits; a signature only who holds the key.",
    limits: &[LimitName::SignedRelease],
    source: "our own choice",
    wrong: r#"
shop {
    person engineer-1 { key "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea" from="2026-01-05" }
    rulebook { signed-release is=required reason="releases go to the customer" }
}
machine m { axis X { rail a { support S1 at=240 } } }
release X date="2026-04-20" by=engineer-1
"#,
    right: r#"
shop {
    person engineer-1 { key "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAINdamAGCsQq31Uv+08lkBzoO4XLz2qYjJa8CGmj3B1Ea" from="2026-01-05" }
    rulebook { signed-release is=required reason="releases go to the customer" }
}
machine m { axis X { rail a { support S1 at=240 } } }
release X date="2026-04-20" by=engineer-1 {
    signature { line "U1NIU0lHAAAAAQ" }
}
"#,
    never_conceded: true,
    never_stands: true,
    checks: &[Check::Axes(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, axis: usize, findings: &mut Findings) -> Verdict {
    let Some((index, release)) = release_of(case.ledger, axis) else { return Verdict::NotRequired };
    let record = &case.records[index];
    let book = &case.ledger.rulebook;
    if book.choice(LimitName::SignedRelease) != "required" {
        return Verdict::NotRequired;
    }
    // Before anybody had a key nobody could sign.
    let Some(day) = record.written.map(|date| date.date) else {
        return Verdict::NotJudged("nothing says when it was released");
    };
    if case.shop.signed_from().is_some_and(|from| day < from) {
        return Verdict::NotRequired;
    }
    if let Some(signature) = &release.signature {
        return Verdict::Conforms(signature.place);
    }
    let axis = record.address();
    let mut finding = findings
        .finding(axis, record.place, format!("the release of {axis} is not signed"))
        .here("no signature")
        .next(format!(
            "let somebody release it signed: `wayledger release {axis} --by … --sign`, in place of this one by --supersedes; a shop without keys first declares one under their person"
        ));
    if let Some(change) = book.change(LimitName::SignedRelease) {
        finding = finding.also(change.place, "signatures are required");
    }
    findings.add(finding);
    Verdict::Broken
}
