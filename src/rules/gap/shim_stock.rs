//! Shims are made of leaves that the shop has.

use crate::finding::{Finding, Grade, Limit, Measure, Place, RuleName, counted};
use crate::ledger::{Absent, Leaf, RailId, Spanned};
use crate::quantity::{Amount, Length};
use crate::rules::facts::InUse;
use crate::rules::{Case, Check, Cure, Findings, Ground, ReadingKind, Rule, RuleGroup, Verdict};
use crate::world::Path;

pub(crate) static RULE: Rule = Rule {
    name: RuleName::new("shim-stock"),
    group: RuleGroup::Gap,
    grade: Grade::Nonconformity,
    cure: Cure::AtMachine,
    what: "Every leaf recorded under a support is of a thickness the shop has, put in while it was to be had (`since`, `until`), and no more of them lie in the machine, and in the machines of the shop judged before it in the order of their folders, than the shop had. A shop that describes no shim stock is not judged.",
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
    follows_from: &[Ground::Described],
    checks: &[Check::Supports(check)],
    ..Rule::PLAIN
};

/// The same in the order they were put in; [`Case::leaves_in_use`] keeps them.
pub(in crate::rules) fn in_use(case: &Case) -> InUse {
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
    for leaves in used.values_mut() {
        leaves.sort_by_key(|(when, id, support, leaf)| (*when, *id, *support, leaf.place));
    }
    used
}

/// The leaves that lie in the machine, of each thickness of which the shop counts how many it has, with the place of that.
pub(crate) fn leaves_used(case: &Case) -> Vec<(Length, Place, usize)> {
    let counted = case.shop.shim_stock.iter().flat_map(|stock| &stock.leaves).filter(|kind| kind.count.is_some());
    let used = counted.map(|kind| {
        let used = case.leaves_in_use().get(&kind.thickness).map_or(0, Vec::len);
        (*kind.thickness, kind.thickness.place, used)
    });
    let mut used: Vec<_> = used.collect();
    used.sort_unstable();
    used.dedup_by_key(|(thickness, ..)| *thickness);
    used
}

fn check(case: &Case, id: RailId, support: usize, findings: &mut Findings) -> Verdict {
    let shims = case.last_shimmed(id).and_then(|_| case.shims(id, support, None));
    let Some((event, row)) = shims.filter(|(_, row)| !row.leaves.is_empty()) else { return Verdict::NotRequired };
    let Some(stock) = &case.shop.shim_stock else { return Verdict::NotJudged("no shim stock is described") };
    let day = case.records[event.record].date.map(|date| date.date);
    let mut unsure = false;
    for (at, leaf) in row.leaves.iter().enumerate() {
        let absent = |kind: &Leaf| day.and_then(|day| kind.absent_on(day));
        let of_it = || stock.leaves.iter().filter(|kind| *kind.thickness == leaf.value);
        let all_absent = || of_it().map(absent).collect::<Option<Vec<Absent>>>();
        // Of several that of the latest day.
        if let Some(end) = all_absent().and_then(|ends| ends.into_iter().max_by_key(|it| it.end().value)) {
            findings.add(not_to_be_had(case, findings, (id, support), leaf, end));
            continue;
        }
        let mut kinds = stock.leaves.iter().filter(|kind| *kind.thickness == leaf.value);
        let Some(kind) = kinds.clone().next() else {
            findings.add(unknown(case, findings, id, support, leaf));
            continue;
        };
        // The leaves of a thickness are counted over the whole machine, and told of once.
        let again = row.leaves[..at].iter().any(|other| other.value == leaf.value);
        let Some(count) = kinds.try_fold(0, |sum, kind| Some(sum + *kind.count? as usize)).filter(|_| !again) else {
            continue;
        };
        let leaves = case.leaves_in_use().get(&leaf.value).map_or(&[][..], Vec::as_slice);
        let other = case.elsewhere.leaves.get(&leaf.value).copied().unwrap_or(0);
        let left = count.saturating_sub(other);
        // What others took is told only where they left less than lies here, and what lies here is told by itself.
        let count = if leaves.len() > count { count } else { left };
        if let Some((.., beyond)) = leaves.get(count).filter(|(_, rail, at, _)| (*rail, *at) == (id, support)) {
            findings.add(too_many(case, findings, (id, support), beyond, (leaves.len(), other), kind));
        }
        // Where there are too few even so, that is told.
        let first = leaves.first().is_some_and(|(_, rail, at, _)| (*rail, *at) == (id, support));
        if let (Some(folder), true) = (&case.elsewhere.unjudged, first && leaves.len() <= count) {
            findings.add(unknown_elsewhere(case, findings, (id, support), leaf, kind, folder));
            unsure = true;
        }
    }
    if unsure { Verdict::Outstanding } else { Verdict::Conforms(row.place) }
}

/// Another ledger of the shop is not judged: nobody knows which leaves lie there.
fn unknown_elsewhere(
    case: &Case,
    findings: &Findings,
    (id, support): (RailId, usize),
    leaf: &Spanned<Length>,
    kind: &Leaf,
    folder: &Path,
) -> Finding {
    let message = format!(
        "the ledger {folder} of the same shop is not judged: nobody knows how many leaves of {} were left",
        leaf.value
    );
    let mut finding = findings
        .finding(case.machine.support_address(id, support), leaf.place, message)
        .here("the first of them here")
        .also(kind.thickness.place, "counted here")
        .next("put right what is told of that ledger, and judge both together");
    finding.grade = Grade::Outstanding;
    finding
}

/// It was put in when it was not to be had.
fn not_to_be_had(
    case: &Case,
    findings: &Findings,
    (id, support): (RailId, usize),
    leaf: &Spanned<Length>,
    end: Absent,
) -> Finding {
    let message = format!("a leaf of {} was put in, and was {end}", leaf.value);
    let (here, label) = match end {
        Absent::NotYet(_) => ("put in before", "the first day"),
        Absent::NoMore(_) => ("put in later", "the last day"),
    };
    findings
        .finding(case.machine.support_address(id, support), leaf.place, message)
        .here(here)
        .also(end.end().place, label)
        .next("correct the leaf or the date; where there was one, say in the stock from when until when")
}

fn too_many(
    case: &Case,
    findings: &Findings,
    (id, support): (RailId, usize),
    leaf: &Spanned<Length>,
    (lying, other): (usize, usize),
    kind: &Leaf,
) -> Finding {
    let of_kind = case.shop.shim_stock.iter().flat_map(|stock| &stock.leaves);
    let count: usize = of_kind
        .filter(|kind| *kind.thickness == leaf.value)
        .filter_map(|kind| kind.count)
        .map(|count| *count as usize)
        .sum();
    let lie = if lying == 1 { "lies" } else { "lie" };
    let lie = format!("{} of {} {lie} in this machine", counted(lying, "leaf", "leaves"), leaf.value);
    let were = if count == 1 { "was" } else { "were" };
    let (message, lying) = match lying > count {
        true => (format!("{lie}, {count} {were} in stock"), lying),
        false => (format!("{lie} and {other} in others, {count} {were} in stock"), lying + other),
    };
    findings
        .finding(case.machine.support_address(id, support), leaf.place, message)
        .here("one more than there were")
        .also(kind.thickness.place, format!("{count} in stock"))
        .found(Measure::too_large(lying))
        .limit(Limit {
            entry: None,
            text: format!("at most {count}"),
            source: RULE.source.into(),
            set_at: Some(kind.thickness.place),
        })
        .next("check the leaves that are recorded, or the count in stock")
}

fn unknown(case: &Case, findings: &Findings, id: RailId, support: usize, leaf: &Spanned<Length>) -> Finding {
    let stock = case.shop.shim_stock.as_ref();
    let mut known: Vec<Length> =
        stock.into_iter().flat_map(|stock| &stock.leaves).map(|kind| *kind.thickness).collect();
    known.sort_unstable();
    known.dedup();
    let names: Vec<String> = known.iter().map(|thickness| thickness.number()).collect();
    let next = match names.is_empty() {
        true => "describe the leaves in the shop's shim-stock".to_string(),
        false => format!("in stock are {} mm: correct the leaf, or add it to the stock", names.join(", ")),
    };
    let finding = findings
        .finding(
            case.machine.support_address(id, support),
            leaf.place,
            format!("there is no leaf of {} in stock", leaf.value),
        )
        .here("not in stock")
        .next(next);
    match stock {
        Some(stock) => finding.also(stock.place, "the stock"),
        None => finding,
    }
}
