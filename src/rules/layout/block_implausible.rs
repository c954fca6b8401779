//! The load ratings of a block fit together, and it is as long as blocks are.

use crate::finding::{Grade, Measure, RuleName};
use crate::language::rulebook::LimitName;
use crate::ledger::Spanned;
use crate::quantity::Length;
use crate::rules::quotient::Quotient;
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("block-implausible"),
    group: RuleGroup::Layout,
    grade: Grade::Observation,
    cure: Cure::UntilBuilt,
    what: "The static load rating C0 of a block is its dynamic one C or some times that, and its effective length is one that blocks have.",
    why: "Life grows with the third power of C. A decimal point that slipped in one of the two makes it a thousandfold, and the other one shows it. A block of no length meets no joint.",
    limits: &[LimitName::LoadRatings, LimitName::BlockLength],
    source: "from memory of makers' tables for profile rails; ISO 14728 for what the ratings mean",
    wrong: r#"
shop { block B20 C=(kN)181 C0=(kN)29.5 }
machine m { axis X { rail a { segment 1200 } } }
"#,
    right: r#"
shop { block B20 C=(kN)18.1 C0=(kN)29.5 }
machine m { axis X { rail a { segment 1200 } } }
"#,
    checks: &[Check::Machine(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, findings: &mut Findings) -> Verdict {
    let mut verdict = Verdict::NotRequired;
    let stated = case.shop.blocks.iter().filter_map(|block| Some((Some(block.name.as_str()), block.length?)));
    // A block on a carriage may state its own; else it has that of its kind.
    let own = case.machine.axes.iter().flat_map(|axis| &axis.carriage).flat_map(|carriage| &carriage.blocks);
    let own = own.filter_map(|block| {
        let kind = block.kind.as_ref().and_then(|name| case.shop.block(name)).and_then(|kind| kind.length);
        let length = block.length.filter(|own| kind.is_none_or(|kind| kind.place != own.place))?;
        Some((None, length))
    });
    for (name, length) in stated.chain(own) {
        verdict = Verdict::Conforms(length.place);
        of_length(case, findings, name, length);
    }
    for block in case.shop.blocks.iter() {
        let (Some(dynamic), Some(resting)) = (block.dynamic, block.static_) else { continue };
        verdict = Verdict::Conforms(resting.place);
        let quotient = Quotient { of: resting.0, per: dynamic.0 };
        let Some((found, limit)) = quotient.beyond(case.rulebook, LimitName::LoadRatings) else { continue };
        let message = format!("C0 of {} does not fit C of {} at block `{}`", *resting, *dynamic, *block.name);
        findings.add(
            findings
                .finding("", resting.place, message)
                .here("static")
                .also(dynamic.place, "dynamic")
                .found(found)
                .limit(limit)
                .next("read the maker's table again, and correct the one that slipped or its unit"),
        );
    }
    verdict
}

fn of_length(case: &Case, findings: &mut Findings, name: Option<&str>, length: Spanned<Length>) {
    let least = case.rulebook.least::<Length>(LimitName::BlockLength).filter(|(least, _)| *length < *least);
    let most = case.rulebook.most::<Length>(LimitName::BlockLength).filter(|(most, _)| *length > *most);
    let (found, limit) = match (least, most) {
        (Some((_, limit)), _) => (Measure::too_small(length.value), limit),
        (None, Some((_, limit))) => (Measure::too_large(length.value), limit),
        (None, None) => return,
    };
    let of = name.map_or(String::new(), |name| format!(" at block `{name}`"));
    findings.add(
        findings
            .finding("", length.place, format!("an effective length of {}{of} is none that blocks have", *length))
            .here("stated here")
            .found(found)
            .limit(limit)
            .next("read the maker's table again, and correct the length or its unit"),
    );
}
