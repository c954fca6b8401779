//! Where a shop says who may do a thing, nobody else does.

use crate::finding::{Grade, Place, RuleName};
use crate::ledger::{Body, Name, Permission, Spanned};
use crate::quantity::Moment;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("person-unpermitted"),
    group: RuleGroup::Keeping,
    grade: Grade::Nonconformity,
    cure: Cure::Writing,
    what: "Where the shop says of somebody that they may release, withdraw a release, concede, lift or void a hold, or declare what does not apply, only who may on that day does it, from the first day on which anybody may. Each of the five stands for itself; what nobody is said to do is open to everybody.",
    why: "A release is as good as the person behind it. Who may do what is agreed before the work and not found out afterwards.",
    limits: &[],
    source: "the persons that the shop declares",
    wrong: r#"
shop { person engineer-1 { may release }; person planner-1 }
machine m { axis X { rail a { support S1 at=240 } } }
release X date="2026-04-20" by=planner-1
"#,
    right: r#"
shop { person engineer-1 { may release }; person planner-1 }
machine m { axis X { rail a { support S1 at=240 } } }
release X date="2026-04-20" by=engineer-1
"#,
    never_conceded: true,
    never_stands: true,
    checks: &[Check::Records(of_record), Check::Machine(of_declarations)],
    ..Rule::PLAIN
};

fn of_record(case: &Case, index: usize, findings: &mut Findings) -> Verdict {
    let record = &case.records[index];
    let Some(what) = asked(case, index) else { return Verdict::NotRequired };
    // That the shop does not know them at all is told by another rule.
    if record.by.as_ref().is_some_and(|by| !case.shop.persons.is_empty() && case.shop.persons.get(by).is_none()) {
        return Verdict::NotRequired;
    }
    let on = record.on.as_ref().map_or("", |on| on.as_str());
    permitted(case, findings, what, on, (record.by.as_ref(), record.written))
}

/// What a record must be permitted as.
fn asked(case: &Case, index: usize) -> Option<Permission> {
    match &case.records[index].body {
        Body::Release(_) => Some(Permission::Release),
        Body::Concession(_) => Some(Permission::Concede),
        Body::Lift(_) => Some(Permission::Lift),
        Body::Void(void) => {
            // A void of a void puts back what it withdrew, and decides as much. None withdraws itself, so this ends.
            let mut withdrawn = void.withdraws?;
            while let Body::Void(of) = &case.records[withdrawn].body {
                withdrawn = of.withdraws?;
            }
            match &case.records[withdrawn].body {
                Body::Release(_) => Some(Permission::VoidRelease),
                Body::Hold(_) => Some(Permission::Lift),
                _ => None,
            }
        }
        _ => None,
    }
}

fn of_declarations(case: &Case, findings: &mut Findings) -> Verdict {
    let all = case.machine.not_applicable.iter().chain(&case.shop.not_applicable);
    all.fold(Verdict::NotRequired, |verdict, declared| {
        let on = declared.on.as_ref().map_or("", |on| on.as_str());
        let by = (declared.by.as_ref(), declared.date);
        verdict.and(permitted(case, findings, Permission::NotApplicable, on, by))
    })
}

fn permitted(
    case: &Case,
    findings: &mut Findings,
    what: Permission,
    on: &str,
    (by, date): (Option<&Spanned<Name>>, Option<Spanned<Moment>>),
) -> Verdict {
    let Some(from) = case.shop.restricted_from(what) else { return Verdict::NotRequired };
    let (Some(by), Some(day)) = (by, date.map(|date| date.date)) else {
        return Verdict::NotJudged("nothing says who did it, or when");
    };
    if day < from {
        return Verdict::NotRequired;
    }
    let person = case.shop.persons.get(by);
    if let Some(place) = case.shop.may(by, what, day) {
        return Verdict::Conforms(place);
    }
    let may: Vec<&str> = case
        .shop
        .persons
        .iter()
        .map(|it| it.as_str())
        .filter(|name| case.shop.may(name, what, day).is_some())
        .collect();
    let might: Option<Place> = person.and_then(|it| it.may.iter().find(|(of, _)| **of == what)).map(|(of, _)| of.place);
    let next = match &may[..] {
        [] => {
            format!("nobody may on {day}; where somebody may, add `may {}` to their row of the shop file", what.spelt())
        }
        all => format!(
            "let one of them do it, under their own name: {}; where {} might too, add `may {}` to their row of the shop file",
            all.join(", "),
            **by,
            what.spelt()
        ),
    };
    let mut finding = findings
        .finding(on, by.place, format!("`{}` may not {} on {day}", **by, what.words()))
        .here("not permitted")
        .next(next);
    if let Some(place) = might {
        finding = finding.also(place, "on other days they may");
    }
    findings.add(finding);
    Verdict::Broken
}
