//! Findings put together for a person: what follows from one cause lies beneath the first of them.
//!
//! Nothing is counted or left out here; who prints says what lies beneath. What a finding follows from are its
//! [`causes`](Finding::causes); those of one record, and in a long list those of one rule, lie together too.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use crate::finding::{Finding, Grade, Place, SourceId};
use crate::ledger::Ledger;
use crate::rules::{self, RuleGroup};
use crate::text::Span;

/// A finding to be shown in full, with what lies beneath it.
pub(crate) struct Fold<'f> {
    pub first: &'f Finding,
    pub beneath: Vec<Beneath<'f>>,
}

/// Findings that one tie holds to the first.
pub(crate) struct Beneath<'f> {
    pub tie: Tie,
    pub findings: Vec<&'f Finding>,
}

/// What holds findings together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tie {
    /// The first one stands at what the others follow from.
    Follows,
    /// All follow from this place, at which none stands.
    Cause(Place),
    /// All are about one record.
    Record,
    /// All are of one rule.
    Rule,
}

/// A list that is no longer than this is shown as it is, but for what follows from another.
const SHORT: usize = 3;

/// So many causes are looked for: more are not shown in full.
const MOST_CAUSES: usize = 50;

/// A node of the text, by its file and where it begins.
type NodeKey = (SourceId, u32);

/// What one finding is tied to.
struct Ties<'f> {
    finding: &'f Finding,
    /// The innermost node at its place.
    stands: Option<NodeKey>,
    /// The record that it stands in.
    record: Option<NodeKey>,
    /// The node that set its limit.
    limit: Option<NodeKey>,
    /// The nodes of what it follows from, with the records around them.
    from: BTreeSet<NodeKey>,
}

/// Puts findings together, the heaviest first, causes before what was done and read, each at its place.
pub(crate) fn folded<'f>(ledger: &Ledger, findings: impl Iterator<Item = &'f Finding>) -> Vec<Fold<'f>> {
    let all: Vec<Ties> = findings.map(|finding| ties(ledger, finding)).collect();
    let mut open: Vec<bool> = vec![true; all.len()];
    let mut folds = by_cause(ledger, &all, &mut open);
    folds.extend(all.iter().zip(&open).filter(|(_, open)| **open).map(|(ties, _)| Fold::of(ties.finding)));
    folds.sort_by_cached_key(|fold| rank(ledger, fold.first));
    if folds.len() > SHORT { by_rule(folds) } else { folds }
}

/// The order in which findings are shown: the heaviest first, causes before what was done and read, each at its place.
pub(crate) fn in_order<'f>(ledger: &Ledger, findings: &'f [Finding]) -> Vec<&'f Finding> {
    let mut all: Vec<&Finding> = findings.iter().collect();
    all.sort_by_cached_key(|finding| rank(ledger, finding));
    all
}

fn rank<'f>(ledger: &Ledger, finding: &'f Finding) -> impl Ord + use<'f> {
    (weight(finding), depth(finding, ledger.record_at(finding.at.place).is_none()), finding.order())
}

/// How many of them are as heavy as the first: in a long list only these are worth more than a line.
pub(crate) fn heaviest(folds: &[Fold]) -> usize {
    let told: usize = folds.iter().map(|fold| fold.findings().count()).sum();
    let first = folds.first().map(|fold| weight(fold.first));
    if told > SHORT { folds.iter().filter(|fold| Some(weight(fold.first)) == first).count() } else { folds.len() }
}

impl<'f> Fold<'f> {
    fn of(first: &'f Finding) -> Self {
        Fold { first, beneath: Vec::new() }
    }

    /// The first, and all that lies beneath it.
    pub(crate) fn findings(&self) -> impl Iterator<Item = &'f Finding> {
        std::iter::once(self.first).chain(self.beneath.iter().flat_map(|beneath| beneath.findings.iter().copied()))
    }
}

/// What weighs more comes first; what somebody accepted or holds, and what stood before, weighs less.
fn weight(finding: &Finding) -> (bool, bool, Grade) {
    (finding.conceded.is_some(), finding.stands || finding.held.is_some(), finding.grade)
}

/// A fault of the text comes before one of the description, and that before what was done and read.
fn depth(finding: &Finding, is_described: bool) -> u8 {
    match rules::named(finding.rule.as_str()).map(|rule| rule.group) {
        Some(RuleGroup::Text) if is_described => 0,
        Some(RuleGroup::Layout) => 1,
        _ if is_described => 2,
        _ => 3,
    }
}

fn is_of_text(finding: &Finding) -> bool {
    rules::named(finding.rule.as_str()).is_some_and(|rule| rule.group == RuleGroup::Text)
}

fn node(ledger: &Ledger, place: Place) -> Option<NodeKey> {
    let node = ledger.sources.get(place.source).document.node_at(place.span.start as usize)?;
    Some((place.source, node.span().start))
}

/// A node up to its block.
fn head(ledger: &Ledger, (source, start): NodeKey) -> Place {
    let node = ledger.sources.get(source).document.node_at(start as usize);
    Place { source, span: node.map_or(Span { start, end: start }, |node| node.head()) }
}

fn record(ledger: &Ledger, place: Place) -> Option<NodeKey> {
    let whole = ledger.records[ledger.record_at(place)?].whole;
    Some((whole.source, whole.span.start))
}

fn ties<'f>(ledger: &Ledger, finding: &'f Finding) -> Ties<'f> {
    let keys = |cause: &Place| [node(ledger, *cause), record(ledger, *cause)].into_iter().flatten();
    let from = finding.causes.iter().flat_map(keys).collect();
    let place = finding.at.place;
    let limit = finding.limit.as_ref().and_then(|limit| node(ledger, limit.set_at?));
    Ties { finding, stands: node(ledger, place), record: record(ledger, place), limit, from }
}

/// Takes out of the list what hangs on one cause, the one with the most findings first.
fn by_cause<'f>(ledger: &Ledger, all: &[Ties<'f>], open: &mut [bool]) -> Vec<Fold<'f>> {
    let mut members: BTreeMap<NodeKey, BTreeSet<usize>> = BTreeMap::new();
    for (index, ties) in all.iter().enumerate() {
        let keys = ties.from.iter().chain(&ties.stands).chain(&ties.record);
        keys.for_each(|key| _ = members.entry(*key).or_default().insert(index));
    }
    members.retain(|_, members| members.len() > 1);
    let mut folds = Vec::new();
    while folds.len() < MOST_CAUSES {
        let best = members
            .iter()
            .filter_map(|(key, members)| {
                let (tie, members) = tied(ledger, all, open, *key, members)?;
                // What stands at a cause is believed before what only shares one.
                let believed = match tie {
                    Tie::Follows => 6,
                    Tie::Cause(_) => 5,
                    Tie::Record | Tie::Rule => 4,
                };
                // Of causes that all share, that which set their limit says most.
                let limits = members.iter().filter(|index| all[**index].limit == Some(*key)).count();
                Some(((believed * members.len(), limits, Reverse(*key)), tie, members))
            })
            .max_by_key(|(rank, ..)| *rank);
        let Some(((.., Reverse(key)), tie, members)) = best else { break };
        let stands_here = |index: &usize| all[*index].stands == Some(key);
        let order = |index: &usize| {
            let finding = all[*index].finding;
            let group = rules::named(finding.rule.as_str()).map(|rule| rule.group);
            (weight(finding), !stands_here(index), group, finding.order())
        };
        let Some(first) = members.iter().min_by_key(|index| order(index)).copied() else { break };
        // What is graver by itself is not hidden beneath what is not, though it stood before, is held or was accepted.
        let graver = |index: &usize| all[*index].finding.grade < all[first].finding.grade;
        let members: Vec<usize> = members.into_iter().filter(|index| !graver(index)).collect();
        members.iter().for_each(|index| open[*index] = false);
        let findings: Vec<_> =
            members.iter().filter(|index| **index != first).map(|index| all[*index].finding).collect();
        if findings.is_empty() {
            folds.push(Fold::of(all[first].finding));
            continue;
        }
        // Where a heavier one than that which stands at the cause comes first, the cause is named.
        let tie = if tie == Tie::Follows && !stands_here(&first) { Tie::Cause(head(ledger, key)) } else { tie };
        folds.push(Fold { first: all[first].finding, beneath: vec![Beneath { tie, findings }] });
    }
    folds
}

/// How the findings at a node hang together, and which of those that nothing has taken yet.
fn tied(
    ledger: &Ledger,
    all: &[Ties],
    open: &[bool],
    key: NodeKey,
    members: &BTreeSet<usize>,
) -> Option<(Tie, Vec<usize>)> {
    let open = |index: &usize| open[*index];
    let is_record = members.iter().any(|index| all[*index].record == Some(key));
    // Each fault of a text is one of its own.
    let hangs = |index: &usize| !is_of_text(all[*index].finding);
    let stands = |index: &usize| all[*index].stands == Some(key);
    let at: Vec<usize> = members.iter().copied().filter(open).filter(stands).collect();
    // In a short list two rules that find fault with one place are both shown.
    let alike = |index: &usize| {
        all.len() > SHORT || at.first().is_some_and(|first| all[*first].finding.rule == all[*index].finding.rule)
    };
    let follows = |index: &usize| hangs(index) && (stands(index) && alike(index) || all[*index].from.contains(&key));
    let following: Vec<usize> = members.iter().copied().filter(open).filter(follows).collect();
    if !at.is_empty() && !is_record && following.iter().any(|index| at[0] != *index) {
        let first_at = at.iter().copied().find(|index| !hangs(index));
        return Some((Tie::Follows, first_at.into_iter().chain(following).collect()));
    }
    if !is_record && following.len() > SHORT {
        return Some((Tie::Cause(head(ledger, key)), following));
    }
    let of_record = |index: &usize| hangs(index) && all[*index].record == Some(key) || follows(index);
    let together: Vec<usize> = members.iter().copied().filter(open).filter(of_record).collect();
    (is_record && together.len() > SHORT).then_some((Tie::Record, together))
}

/// Puts what is of one rule beneath the first of it.
fn by_rule(folds: Vec<Fold>) -> Vec<Fold> {
    let mut out: Vec<Fold> = Vec::new();
    for fold in folds {
        let same = |other: &&mut Fold| (other.first.rule, weight(other.first)) == (fold.first.rule, weight(fold.first));
        let Some(before) = out.iter_mut().find(same) else {
            out.push(fold);
            continue;
        };
        let mut more = vec![fold.first];
        more.extend(fold.beneath.into_iter().flat_map(|beneath| beneath.findings));
        match before.beneath.iter_mut().find(|beneath| beneath.tie == Tie::Rule) {
            Some(beneath) => beneath.findings.extend(more),
            None => before.beneath.push(Beneath { tie: Tie::Rule, findings: more }),
        }
    }
    out
}
