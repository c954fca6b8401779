//! A stack of shims has no more leaves than its total needs.

use std::collections::BTreeMap;

use crate::calc::shims::{LeafStock, fewest_leaves};
use crate::finding::{Finding, Grade, Limit, Measure, RuleName};
use crate::ledger::{RailId, ShimRow};
use crate::quantity::{Amount, Length};
use crate::rules::facts::TooMany;
use crate::rules::{Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};

use super::needs;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("shim-leaves"),
    group: RuleGroup::Gap,
    grade: Grade::Observation,
    cure: Cure::AtMachine,
    what: "The leaves under a support are as few as its total needs with the leaves that the shop has, those under other supports left out.",
    why: "Every leaf more is one more place for dirt, and a thick stack of thin leaves gives way like a spring.",
    limits: &[],
    source: "common practice, no source",
    wrong: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m { axis X { rail a { supports S first=100 pitch=240 count=2 } } }
shim X.a date="2026-04-17" by=fitter-2 { at S2 0.02 0.02 0.02 0.02 0.02 }
"#,
    right: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 } }
machine m { axis X { rail a { supports S first=100 pitch=240 count=2 } } }
shim X.a date="2026-04-17" by=fitter-2 { at S2 0.05 0.05 }
"#,
    judges: &[ReadingKind::Shims],
    follows_from: &[Ground::ShimStock],
    checks: &[Check::Supports(check)],
    ..Rule::PLAIN
};

fn check(case: &Case, id: RailId, support: usize, findings: &mut Findings) -> Verdict {
    let shims = case.last_shimmed(id).and_then(|_| case.shims(id, support, None));
    let Some((_, row)) = shims.filter(|(_, row)| !row.leaves.is_empty()) else { return Verdict::NotRequired };
    match case.fewer_leaves(id, support) {
        Err(lacking) => return Verdict::NotJudged(lacking),
        Ok(Some(better)) => findings.add(too_thick(case, findings, id, support, row, better)),
        Ok(None) => {}
    }
    Verdict::Conforms(row.place)
}

fn too_thick(
    case: &Case,
    findings: &Findings,
    id: RailId,
    support: usize,
    row: &ShimRow,
    better: &[Length],
) -> Finding {
    let (own, fewest, total) = (row.leaves.len(), better.len(), row.total());
    let better = better.iter().map(|leaf| leaf.number()).collect::<Vec<_>>().join(" + ");
    let mut finding = findings
        .finding(
            case.machine.support_address(id, support),
            row.place,
            format!("{own} leaves make {total} where {fewest} would do"),
        )
        .here(format!("{own} leaves"))
        .found(Measure::too_large(own))
        .limit(Limit { entry: None, text: format!("at most {fewest}"), source: RULE.source.into(), set_at: None })
        .next(format!("when this support is loosened again: {better}"));
    // Some may be to be had no more.
    finding.by_date = case.shop.shim_stock.iter().flat_map(|stock| &stock.leaves).any(|leaf| leaf.until.is_some());
    finding
}

/// The supports that have more leaves than the shop's stock would need, in their order, each with the fewest that would
/// do; nothing where the stock cannot make their total. [`Case::fewer_leaves`] keeps them. What is lacking where there is no
/// stock to tell by.
pub(in crate::rules) fn too_many(case: &Case) -> Result<TooMany, &'static str> {
    let stock = needs::stock(case, case.today).map_err(|why| needs::unfit(case, why).0)?;
    let stock = stock.ok_or("no shim stock is described")?;
    let mut all = TooMany::new();
    // What is advised must be there: a leaf under another support is not.
    let counted = stock.kinds().iter().any(|kind| kind.count.is_some());
    let lying = if counted { needs::lying(case) } else { needs::Leaves::new() };
    let mut known: BTreeMap<(Length, Vec<Length>), Option<Vec<Length>>> = BTreeMap::new();
    for (id, _, rail) in case.shimmed_rails() {
        for support in 0..rail.supports.len() {
            let Some((_, row)) = case.shims(id, support, None) else { continue };
            let total = row.total();
            if row.leaves.len() <= at_least(total, &stock) {
                continue;
            }
            let own = if counted { needs::under(case, id, support) } else { Vec::new() };
            let had = || match counted {
                true => needs::without(&stock, &beside(&lying, &own)),
                false => Some(stock.clone()),
            };
            let fewest = known.entry((total, own.clone())).or_insert_with(|| fewest(total, &had()?));
            if fewest.as_ref().is_none_or(|fewest| row.leaves.len() > fewest.len()) {
                all.push(((id, support), fewest.clone()));
            }
        }
    }
    Ok(all)
}

/// The leaves in the machine without those of one support.
fn beside(lying: &needs::Leaves, own: &[Length]) -> needs::Leaves {
    let mut lying = lying.clone();
    for leaf in own {
        lying.entry(*leaf).and_modify(|count| *count = count.saturating_sub(1));
    }
    lying
}

/// No stack that makes a total has fewer leaves than this.
fn at_least(total: Length, stock: &LeafStock) -> usize {
    let thicknesses = || stock.kinds().iter().map(|kind| kind.thickness_nm);
    match thicknesses().max() {
        Some(thickest) if total > Length::ZERO && thickest > 0 && !thicknesses().any(|one| one == total.nm()) => {
            usize::try_from((total.nm() - 1) / thickest + 1).map_or(0, |leaves| leaves.max(2))
        }
        _ => usize::from(total > Length::ZERO),
    }
}

/// The fewest leaves that make a total, thick ones first.
fn fewest(total: Length, stock: &LeafStock) -> Option<Vec<Length>> {
    let counts = fewest_leaves(total.nm(), stock).ok()??;
    let mut leaves: Vec<Length> = stock
        .kinds()
        .iter()
        .zip(counts)
        .flat_map(|(kind, count)| std::iter::repeat_n(Length(kind.thickness_nm), count as usize))
        .collect();
    leaves.sort_by(|a, b| b.cmp(a));
    Some(leaves)
}
