//! All integration tests link into this one binary, so that building them stays cheap.

mod calc_bolts;
mod calc_grooves;
mod calc_layout;
mod calc_life;
mod calc_shims;
mod calc_survey;
mod calc_uncertainty;
mod common;
mod faults;
mod gap_rules;
mod generated;
mod kdl_differential;
mod kdl_edit;
mod kdl_hostile;
mod kdl_mistakes;
mod kdl_suite;
mod readme;
mod registry;
mod rules_fitting;
mod rules_inspection;
mod rules_layout;
mod staleness;
mod world_disk;
mod world_git;
mod world_ledgers;
mod writing;
