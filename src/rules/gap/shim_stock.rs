//! Shims are made of leaves that the shop has.

use std::collections::BTreeMap;

use crate::finding::{Grade, Limit, Measure, RuleName};
use crate::ledger::{Given, RailId};
use crate::quantity::{Amount, Length};
use crate::rules::{Case, Check, Cure, Findings, Group, ReadingKind, Rule};

pub static RULE: Rule = Rule {
    name: RuleName::new("shim-stock"),
    group: Group::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Every leaf recorded under a support is of a thickness the shop has, and no more of them lie in the machine than the shop had. A shop that describes no shim stock is not judged.",
    why: "A thickness that nobody stocks is a misreading or a slip of the pen.",
    limits: &[],
    source: "the shop's shim stock",
    wrong: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 count=1 } }
machine m {
    axis X { rail a { supports S first=100 pitch=240 count=3 } }
}
shim X.a date="2026-04-17" by=fitter-2 { at S1 0.05; at S2 0.05; at S3 0.03 }
"#,
    right: r#"
shop { shim-stock { leaf 0.02; leaf 0.05 count=1 } }
machine m {
    axis X { rail a { supports S first=100 pitch=240 count=3 } }
}
shim X.a date="2026-04-17" by=fitter-2 { at S1 0.05; at S2 0.02 0.02; at S3 0.02 }
"#,
    judges: &[ReadingKind::Shims],
    checks: &[Check::Ledger(check)],
    ..Rule::PLAIN
};

/// The leaves of one thickness that lie in the machine: when they were put in, where, and their place in the text.
type InUse = BTreeMap<Length, Vec<(Option<usize>, RailId, usize, Given<Length>)>>;

fn check(case: &Case, findings: &mut Findings) {
    let Some(stock) = &case.shop.shim_stock else { return };
    let mut used = InUse::new();
    for (id, _, rail) in case.shimmed_rails() {
        for support in 0..rail.supports.len() {
            let Some((event, row)) = case.shims(id, support, None) else { continue };
            for leaf in &row.leaves {
                let when = case.timeline.rank[event.record];
                used.entry(leaf.value).or_default().push((when, id, support, *leaf));
            }
        }
    }
    for (thickness, mut leaves) in used {
        leaves.sort_by_key(|(when, id, support, leaf)| (*when, *id, *support, leaf.place));
        let kinds: Vec<_> = stock.leaves.iter().filter(|kind| *kind.thickness == thickness).collect();
        if kinds.is_empty() {
            for (_, id, support, leaf) in &leaves {
                unknown(case, findings, *id, *support, leaf);
            }
            continue;
        }
        let counts: Option<Vec<u32>> = kinds.iter().map(|kind| kind.count.map(|count| *count)).collect();
        let Some(count) = counts.map(|counts| counts.iter().map(|count| *count as usize).sum::<usize>()) else {
            continue;
        };
        if let Some((_, id, support, leaf)) = leaves.get(count) {
            findings.add(
                findings
                    .finding(
                        case.machine.support_address(*id, *support),
                        leaf.place,
                        format!("{} leaves of {thickness} lie in this machine, {count} were in stock", leaves.len()),
                    )
                    .here(format!("leaf number {}", count + 1))
                    .also(kinds[0].thickness.place, format!("{count} in stock"))
                    .found(Measure::too_large(leaves.len()))
                    .limit(Limit {
                        entry: None,
                        text: format!("at most {count}"),
                        source: RULE.source.into(),
                        set_at: Some(kinds[0].thickness.place),
                    })
                    .next("check the leaves that are recorded, or the count in stock"),
            );
        }
    }
}

fn unknown(case: &Case, findings: &mut Findings, id: RailId, support: usize, leaf: &Given<Length>) {
    let Some(stock) = &case.shop.shim_stock else { return };
    let mut known: Vec<Length> = stock.leaves.iter().map(|kind| *kind.thickness).collect();
    known.sort_unstable();
    known.dedup();
    let names: Vec<String> = known.iter().map(|thickness| thickness.number()).collect();
    let next = match names.is_empty() {
        true => "describe the leaves in the shop's shim-stock".to_string(),
        false => format!("in stock are {} mm: correct the leaf, or add it to the stock", names.join(", ")),
    };
    findings.add(
        findings
            .finding(
                case.machine.support_address(id, support),
                leaf.place,
                format!("there is no leaf of {} in stock", leaf.value),
            )
            .here("not in stock")
            .also(stock.place, "the stock")
            .next(next),
    );
}
