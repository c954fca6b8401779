//! A signature under a release is over what the release says, and the releaser's own.

use crate::finding::{Finding, Grade, RuleName};
use crate::ledger::seal::{self, SignatureError};
use crate::ledger::{Body, Record};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("release-signature"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "A signature under a release is over what that release says, its seal among it, and was made with a key that the shop declares as the releaser's on the day of the release. Required or not, a signature that is there must hold.",
    why: "A signature that does not hold is worse than none: it says that somebody stands for what they may never have seen.",
    limits: &[],
    source: "PROTOCOL.sshsig of OpenSSH; RFC 8032 for Ed25519",
    wrong: r#"
shop { person engineer-1 { key "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIGsGceaGB/0UNkhmIei/cf7TuHwkrCyVR0ccC98MmJyc" } }
machine m { axis X { run to=1200; rail a { segment 1200 serial=K-1 } } }
release X date="2026-04-21" by=engineer-1 edition=1 seal="34c121e51b39cfc4c7d1b3fe9e44987ce71a05722893019ee1647eb269f472c8" {
    signature {
        line "U1NIU0lHAAAAAQAAADMAAAALc3NoLWVkMjU1MTkAAAAgawZx5oYH/RQ2SGYh6L9x/tO4fC"
        line "SsLJVHRxwL3wyYnJwAAAARd2F5bGVkZ2VyLXJlbGVhc2UAAAAAAAAABnNoYTUxMgAAAFMA"
        line "AAALc3NoLWVkMjU1MTkAAABA4LsLCoCOVsQMq66HAI2f+tzfj6LmkEPvvlwVJ6JVAx5l/u"
        line "+xxJhhX3QQvBnRRCgABZaVQBhb0LbiQmy5JnQ+CA=="
    }
}
"#,
    right: r#"
shop { person engineer-1 { key "ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAIGsGceaGB/0UNkhmIei/cf7TuHwkrCyVR0ccC98MmJyc" } }
machine m { axis X { run to=1200; rail a { segment 1200 serial=K-1 } } }
release X date="2026-04-20" by=engineer-1 edition=1 seal="34c121e51b39cfc4c7d1b3fe9e44987ce71a05722893019ee1647eb269f472c8" {
    signature {
        line "U1NIU0lHAAAAAQAAADMAAAALc3NoLWVkMjU1MTkAAAAgawZx5oYH/RQ2SGYh6L9x/tO4fC"
        line "SsLJVHRxwL3wyYnJwAAAARd2F5bGVkZ2VyLXJlbGVhc2UAAAAAAAAABnNoYTUxMgAAAFMA"
        line "AAALc3NoLWVkMjU1MTkAAABA4LsLCoCOVsQMq66HAI2f+tzfj6LmkEPvvlwVJ6JVAx5l/u"
        line "+xxJhhX3QQvBnRRCgABZaVQBhb0LbiQmy5JnQ+CA=="
    }
}
"#,
    never_conceded: true,
    never_stands: true,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::Release(release) = &record.body else { return Verdict::NotRequired };
    match seal::checked(case.ledger, index, release) {
        None => Verdict::NotRequired,
        Some(Ok(sound)) => Verdict::Conforms(sound.key),
        // What is at fault in the text is told already, and mended first.
        Some(Err(_)) if record.damaged => Verdict::NotJudged("the text of the release is at fault"),
        Some(Err(fault)) => {
            let place = release.signature.as_ref().map_or(record.place, |signature| signature.place);
            let axis = record.address();
            let finding = findings.finding(axis, place, "").here("this signature");
            findings.add(told(finding, &fault, record));
            Verdict::Broken
        }
    }
}

/// The finding about a fault, in words.
fn told(finding: Finding, fault: &SignatureError, record: &Record) -> Finding {
    let by = record.by.as_ref().map_or("nobody", |by| by.as_str());
    let day = record.written.map_or(String::new(), |date| date.date.to_string());
    let again = "withdraw this release and release again with `--sign`";
    let (message, next) = match fault {
        SignatureError::Unreadable => (
            "the signature cannot be read".to_owned(),
            format!("put back its lines as they were signed, from Git's history; or {again}"),
        ),
        SignatureError::Kind(kind) => (
            format!("the signature was made with a key of the kind `{kind}`, and only Ed25519 is taken"),
            format!("{again}, with a key made by `ssh-keygen -t ed25519` or `-t ed25519-sk`"),
        ),
        SignatureError::Namespace(of) => {
            (format!("the signature was made for `{of}`, not for `{}`", seal::NAMESPACE), again.to_owned())
        }
        SignatureError::Unfit => (
            format!("the signature is not over what this release of {day} by {by} says"),
            format!("put the release back as it was signed, from Git's history; or {again}"),
        ),
        SignatureError::Stranger { fingerprint } => (
            format!("the release by {by} is signed with {fingerprint}, a key of nobody in the shop"),
            format!("where it is the key of {by}, declare it in the shop file; otherwise ask {by}, and {again}"),
        ),
        SignatureError::Other { fingerprint, person, .. } => (
            format!("the release by {by} is signed with {fingerprint}, the key of {person}"),
            format!("ask {by} and {person} who released; {again} by who signs"),
        ),
        SignatureError::Outdated { fingerprint, days, .. } => (
            format!("the release of {day} is signed with {fingerprint}, which is a key of {by}{} only", days.words()),
            format!("{again}, with a key that holds on that day"),
        ),
    };
    let finding = Finding { message, ..finding }.next(next);
    match fault {
        SignatureError::Other { key, .. } | SignatureError::Outdated { key, .. } => finding.also(*key, "the key"),
        _ => finding,
    }
}
