//! Where a shop says whose word counts, every record is by one of them.

use jiff::civil::Date;

use crate::finding::{Grade, RuleName};
use crate::language::schema::nearest;
use crate::ledger::{Person, same_person};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("person-unknown"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Where the shop declares persons, every `by` of a record names one of them, on a day on which they are one. A shop that declares none is not judged.",
    why: "A name that nobody bears hides who did it, and the rules about whose word counts would take two spellings for two people.",
    limits: &[],
    source: "the persons that the shop declares",
    wrong: r#"
shop { person fitter-2; person inspector-1 }
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
loosen X.a date="2026-05-02" by=fiter-2 reason="seat cleaned" { at S2 }
"#,
    right: r#"
shop { person fitter-2; person inspector-1 }
machine m { axis X { rail a { segment 1200; supports S first=240 pitch=240 count=4 } } }
loosen X.a date="2026-05-02" by=fitter-2 reason="seat cleaned" { at S2 }
"#,
    never_conceded: true,
    checks: &[Check::Records(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let persons = &case.shop.persons;
    if persons.is_empty() {
        return Verdict::NotRequired;
    }
    let record = &case.records[index];
    let Some(by) = &record.by else { return Verdict::NotJudged("it does not say by whom") };
    if let Some(person) = persons.get(by) {
        return match record.written.filter(|day| !person.days.hold(day.date)) {
            Some(day) => ended(case, findings, index, person, day.date),
            None => Verdict::Conforms(by.place),
        };
    }
    // Of the names that look alike one is meant; a name that only looks like a declared one is none.
    let alike = persons.iter().find(|person| same_person(person.as_str(), by));
    let near = || nearest(by, persons.iter().map(|person| person.as_str())).and_then(|name| persons.get(name));
    let near = alike.or_else(near);
    let finding = findings
        .finding(
            record.on.as_ref().map_or("", |on| on.as_str()),
            by.place,
            format!("the shop has no person `{}`", **by),
        )
        .here("not declared");
    findings.add(match near {
        Some(near) if alike.is_some() => finding
            .also(near.name.place, "declared here")
            .next(format!("write `{}`: the two spellings are taken for one person", near.as_str())),
        Some(near) => finding.next(format!(
            "`{}` may be meant; otherwise declare `person {}` in the shop file",
            near.as_str(),
            **by
        )),
        None => finding.next(format!("correct the name, or declare `person {}` in the shop file", **by)),
    });
    Verdict::Broken
}

/// A record under the name of somebody who is one of the shop on other days only.
fn ended(case: &Case, findings: &mut Findings, index: usize, person: &Person, day: Date) -> Verdict {
    let record = &case.records[index];
    let place = record.by.as_ref().map_or(record.place, |by| by.place);
    let next = match &person.successor {
        Some(successor) => format!("where `{}` did it, write that name; else correct the date", **successor),
        None => "write who did it, or correct the date".into(),
    };
    findings.add(
        findings
            .finding(
                record.on.as_ref().map_or("", |on| on.as_str()),
                place,
                format!("`{}` signs on {day}, and is one of the shop{}", person.as_str(), person.days.words()),
            )
            .here("not on that day")
            .also(person.name.place, "declared here")
            .next(next),
    );
    Verdict::Broken
}
