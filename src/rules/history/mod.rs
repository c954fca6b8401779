//! Rules about what became of what others have: a ledger is held against an earlier state, which no check of one state can
//! see. They are found in `judging::stops`; here are their pages and examples. An example that begins with `// file:` lies in
//! a file of that name.

use crate::rules::Rule;

mod design_altered;
mod instrument_altered;
mod ledger_gone;
mod part_altered;
mod person_altered;
mod record_altered;
mod record_gone;
mod release_gone;

/// In the order of the catalogue.
pub(crate) static RULES: &[&Rule] = &[
    &record_altered::RULE,
    &record_gone::RULE,
    &release_gone::RULE,
    &ledger_gone::RULE,
    &part_altered::RULE,
    &design_altered::RULE,
    &person_altered::RULE,
    &instrument_altered::RULE,
];
