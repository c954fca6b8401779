//! The load ratings of a block fit together and to the forces that it is to bear, and it is as long as blocks are.

use crate::finding::{Finding, Grade, Measure, RuleName};
use crate::language::rulebook::{InForce, LimitName};
use crate::ledger::{Carriage, Spanned};
use crate::quantity::{Amount, Force, Length, Ratio};
use crate::rules::quotient::{Quotient, WHOLE};
use crate::rules::{Case, Check, Cure, Findings, Rule, RuleGroup, Verdict};

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("block-implausible"),
    group: RuleGroup::Layout,
    grade: Grade::Observation,
    cure: Cure::UntilBuilt,
    what: "The dynamic load rating C of a block is one that blocks have, its static one C0 is that or some times that, and its effective length is one that blocks have. Its preload, the loads on its carriage and the greatest load that the carriage allows are no vanishing part of C, and its preload is no more than C.",
    why: "A rating or a force in kilonewtons, written without its unit, is read as newtons. Life grows with the third power of C. A decimal point that slipped in one of the two makes it a thousandfold, and the other one shows it. A block of no length meets no joint.",
    limits: &[
        LimitName::LoadRatings,
        LimitName::BlockLength,
        LimitName::DynamicRating,
        LimitName::RatingShare,
        LimitName::BlockPreload,
    ],
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
        let of = format!("block `{}`", *block.name);
        for (rating, called) in [(block.dynamic, "C"), (block.static_, "C0")] {
            let Some(rating) = rating else { continue };
            verdict = Verdict::Conforms(rating.place);
            of_rating(case, findings, &of, called, rating);
        }
        if let Some(share) = block.preload_share {
            verdict = Verdict::Conforms(share.place);
            of_preload_share(case, findings, &of, share);
        }
        let Some(dynamic) = block.dynamic else { continue };
        if let Some(preload) = block.preload {
            let what = format!("the preload of {of}");
            of_share(case, findings, &what, preload, dynamic);
            let quotient = Quotient { of: preload.abs().0, per: dynamic.0 };
            if let Some(beyond) = quotient.beyond(case.rulebook, LimitName::BlockPreload) {
                let next = "read the maker's table again, and correct the one that slipped or its unit";
                findings.add(unfit_force(findings, &what, (preload, dynamic), beyond, next));
            }
        }
        let Some(resting) = block.static_ else { continue };
        let quotient = Quotient { of: resting.0, per: dynamic.0 };
        let Some((found, limit)) = quotient.beyond(case.rulebook, LimitName::LoadRatings) else { continue };
        let message = format!("C0 of {} does not fit C of {} at {of}", *resting, *dynamic);
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
    for carriage in case.machine.axes.iter().filter_map(|axis| axis.carriage.as_ref()) {
        of_carriage(case, findings, carriage);
    }
    verdict
}

/// A rating that only the number of kilonewtons in it explains.
fn of_rating(case: &Case, findings: &mut Findings, of: &str, called: &str, rating: Spanned<Force>) {
    let Some((_, limit)) = case.rulebook.least::<Force>(LimitName::DynamicRating).filter(|(least, _)| *rating < *least)
    else {
        return;
    };
    findings.add(
        findings
            .finding("", rating.place, format!("{called} of {} is less than any block bears, at {of}", *rating))
            .here("stated here")
            .found(Measure::too_small(rating.value))
            .limit(limit)
            .next(format!(
                "read the maker's table again; if it is in kilonewtons, write {called}={}",
                in_kilonewtons(*rating)
            )),
    );
}

/// The forces on a carriage, against the strongest of its blocks.
fn of_carriage(case: &Case, findings: &mut Findings, carriage: &Carriage) {
    let kinds = carriage.blocks.iter().filter_map(|block| case.shop.block(block.kind.as_ref()?)?.dynamic);
    let Some(dynamic) = kinds.max_by_key(|rating| rating.value) else { return };
    if let Some(most) = carriage.most_block_load {
        of_share(case, findings, "most-block-load", most, dynamic);
    }
    for load in carriage.loads.iter().filter(|load| load.force.value != Force::ZERO) {
        of_share(case, findings, "a load", load.force, dynamic);
    }
}

fn of_share(case: &Case, findings: &mut Findings, what: &str, force: Spanned<Force>, dynamic: Spanned<Force>) {
    let quotient = Quotient { of: force.abs().0, per: dynamic.0 };
    let Some((found, limit)) = quotient.beyond(case.rulebook, LimitName::RatingShare) else { return };
    let next = format!("look it up again; if it is in kilonewtons, write {}", in_kilonewtons(*force));
    findings.add(unfit_force(findings, what, (force, dynamic), (found, limit), next));
}

fn unfit_force(
    findings: &Findings,
    what: &str,
    (force, dynamic): (Spanned<Force>, Spanned<Force>),
    (found, limit): (Measure, InForce),
    next: impl Into<String>,
) -> Finding {
    findings
        .finding("", force.place, format!("{what} of {} is no force for a block of C = {}", *force, *dynamic))
        .here("stated here")
        .also(dynamic.place, "what the block bears")
        .found(found)
        .limit(limit)
        .next(next)
}

/// A preload that is stated as a share of C.
fn of_preload_share(case: &Case, findings: &mut Findings, of: &str, share: Spanned<Ratio>) {
    let quotient = Quotient { of: share.0.into(), per: WHOLE };
    let beyond = |entry| quotient.beyond(case.rulebook, entry);
    let next = match *share > Ratio::ONE {
        true => {
            format!("read the maker's table again; if it is in per cent, write preload-share=(%){}", share.number())
        }
        false => "read the maker's table again, and correct the share".to_owned(),
    };
    let Some((found, limit)) = beyond(LimitName::BlockPreload).or_else(|| beyond(LimitName::RatingShare)) else {
        return;
    };
    findings.add(
        findings
            .finding("", share.place, format!("{} of C is no preload, at {of}", share.number()))
            .here("stated here")
            .found(found)
            .limit(limit)
            .next(next),
    );
}

fn in_kilonewtons(force: Force) -> String {
    format!("(kN){}", force.number())
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
