//! Rows that have no name of their own (segments, pieces, leaves) are numbered, so one that is put in or taken out
//! renumbers all behind it. Here such rows are matched by what they say instead: only what came and went is told.

use super::fact::{FactChange, without_label};
use crate::ledger::seal::FactGroup;

/// Beyond so many pairs of rows, matching them would cost more than it tells.
const MOST: usize = 4_000_000;

/// The label of a numbered row without its number: `leaf` for `leaf` and for `leaf #3`.
fn base(label: &str) -> &str {
    match label.rsplit_once(" #") {
        Some((base, number)) if !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit()) => base,
        _ => label,
    }
}

/// The changes of one group, those of numbered rows told as a person would.
pub(super) fn told(facts: Vec<FactChange>, old: &FactGroup, new: &FactGroup) -> Vec<FactChange> {
    let mut all: Vec<FactChange> = Vec::new();
    let mut done: Vec<String> = Vec::new();
    for fact in &facts {
        let base = base(&fact.fact).to_owned();
        if done.contains(&base) {
            continue;
        }
        let many = facts.iter().filter(|other| self::base(&other.fact) == base).count() > 1;
        if !many {
            all.push(FactChange { fact: fact.fact.clone(), was: fact.was.clone(), now: fact.now.clone() });
            continue;
        }
        let values = |group: &FactGroup| -> Vec<(String, String)> {
            let rows = group.facts.iter().filter(|fact| self::base(&fact.address) == base);
            rows.map(|fact| (fact.address.clone(), without_label(&fact.address, &fact.value))).collect()
        };
        let (old, new) = (values(old), values(new));
        if old.len().saturating_mul(new.len()) > MOST {
            return facts;
        }
        all.extend(steps(&old, &new));
        done.push(base);
    }
    all
}

/// What leads from one list of rows to the other with the fewest changes.
fn steps(old: &[(String, String)], new: &[(String, String)]) -> Vec<FactChange> {
    // How many rows are common to what is left of both lists.
    let mut common = vec![vec![0_u32; new.len() + 1]; old.len() + 1];
    for i in (0..old.len()).rev() {
        for j in (0..new.len()).rev() {
            common[i][j] =
                if old[i].1 == new[j].1 { common[i + 1][j + 1] + 1 } else { common[i + 1][j].max(common[i][j + 1]) };
        }
    }
    let (mut i, mut j) = (0, 0);
    let mut all = Vec::new();
    while i < old.len() || j < new.len() {
        let (mut gone, mut come) = (Vec::new(), Vec::new());
        while (i < old.len() || j < new.len()) && !(i < old.len() && j < new.len() && old[i].1 == new[j].1) {
            if j == new.len() || (i < old.len() && common[i + 1][j] >= common[i][j + 1]) {
                gone.push(&old[i]);
                i += 1;
            } else {
                come.push(&new[j]);
                j += 1;
            }
        }
        // Between two rows that stayed, what went and what came is one row changed, as far as there are both.
        let both = gone.len().min(come.len());
        for (was, now) in gone.iter().zip(&come) {
            all.push(FactChange { fact: now.0.clone(), was: Some(was.1.clone()), now: Some(now.1.clone()) });
        }
        for was in &gone[both..] {
            all.push(FactChange { fact: was.0.clone(), was: Some(was.1.clone()), now: None });
        }
        for now in &come[both..] {
            all.push(FactChange { fact: now.0.clone(), was: None, now: Some(now.1.clone()) });
        }
        (i, j) = (i + 1, j + 1);
    }
    all
}
