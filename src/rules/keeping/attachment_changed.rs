//! An attached file is still the one that was attached.

use crate::finding::{Grade, RuleName};
use crate::ledger::{Attached, Body};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("attachment-changed"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Every attached file is there and has the digest that its record gives. Judged where the files can be read.",
    why: "A photo or certificate that was exchanged proves something else than it did.",
    limits: &[],
    source: "SHA-256, FIPS 180-4",
    wrong: r#"
machine m { axis X { rail a } }
attach X.a date="2026-04-15" by=inspector-1 file="photos/end.jpg" sha256="5f2c"
"#,
    right: r#"
machine m { axis X { rail a } }
attach X.a date="2026-04-15" by=inspector-1 file="photos/end.jpg" sha256="e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
"#,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Body::Attach(attach) = &record.body else { return Verdict::NotRequired };
    let (Some(file), Some(digest)) = (&attach.file, &attach.sha256) else {
        return Verdict::NotJudged("no file is named, or no digest is given");
    };
    let address = || record.address();
    let well_formed = digest.len() == 64 && digest.bytes().all(|byte| byte.is_ascii_hexdigit());
    findings.add(match case.attachments.get(file.as_str()) {
        _ if !well_formed => findings
            .finding(address(), digest.place, "this is no SHA-256: that has 64 hexadecimal digits")
            .here("no digest")
            .next(format!("`sha256sum {}` prints it", **file)),
        Some(Attached::Sha256(now)) if !now.eq_ignore_ascii_case(digest) => findings
            .finding(address(), file.place, format!("`{}` is not the file that was attached", **file))
            .here("changed")
            .also(digest.place, format!("its bytes now have the digest {now}"))
            .next("take the file back as it was, or attach the new one with a record of its own"),
        Some(Attached::Unreadable(why)) => findings
            .finding(address(), file.place, format!("`{}` cannot be compared: {why}", **file))
            .here("attached")
            .next("put the file back where the record says, from the ledger's folder"),
        Some(Attached::Sha256(_)) => return Verdict::Conforms(digest.place),
        None => return Verdict::NotJudged("attached files cannot be read here"),
    });
    Verdict::Broken
}
