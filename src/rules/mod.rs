//! The rules of the trade, one file a rule, listed in one static table.
//!
//! To add a rule: write its file beside its kin, with its page, its two examples and its check, and name it in
//! [`RULES`]. The registry test runs both examples of every rule.

mod case;
mod concede;
mod evidence;
mod facts;
pub(crate) mod fitting;
pub(crate) mod gap;
mod held;
mod inspection;
mod keeping;
pub(crate) mod layout;
pub mod pages;
mod resting;
use crate::facts::proof;
mod text;

pub use case::{Case, Findings};
pub use held::{hold_record, settle, to_hold};

use std::collections::BTreeSet;

pub use crate::finding::Cure;
use crate::finding::{Finding, Grade, Place, within};
use crate::ledger::seal::sealed_limits;
use crate::ledger::{TOO_MUCH, too_many_findings};

/// One rule: its page and its check.
#[derive(Debug)]
pub struct Rule {
    pub name: &'static str,
    pub group: Group,
    pub grade: Grade,
    /// How what it finds is put right.
    pub cure: Cure,
    /// What is checked, in one sentence.
    pub what: &'static str,
    /// Why it matters.
    pub why: &'static str,
    /// The rulebook entries it judges by.
    pub limits: &'static [&'static str],
    /// Where the rule itself comes from.
    pub source: &'static str,
    /// A ledger fragment that the rule finds fault with.
    pub wrong: &'static str,
    /// The same, put right.
    pub right: &'static str,
    pub check: Check,
}

/// Where a rule is judged.
#[derive(Clone, Copy, Debug)]
pub enum Check {
    /// While the text is read: the reader, the schema and the resolving of names find it.
    Reading,
    /// Over the whole ledger.
    Ledger(fn(&Case, &mut Findings)),
    /// Over what the other rules found, once concessions are taken into account.
    Afterwards(fn(&Case, &mut Findings)),
}

/// What a rule is about; the catalogue's chapters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    Text,
    Layout,
    Fitting,
    Inspection,
    Gap,
    Keeping,
}

impl Group {
    pub const ALL: [Group; 6] =
        [Group::Text, Group::Layout, Group::Fitting, Group::Inspection, Group::Gap, Group::Keeping];

    pub fn title(self) -> &'static str {
        match self {
            Group::Text => "Text",
            Group::Layout => "Layout",
            Group::Fitting => "Fitting",
            Group::Inspection => "Inspection",
            Group::Gap => "Gap and shims",
            Group::Keeping => "Keeping",
        }
    }
}

/// All rules, in the order of the catalogue.
pub static RULES: &[&Rule] = &[
    &text::unreadable::RULE,
    &text::unknown_edition::RULE,
    &text::unknown_node::RULE,
    &text::unknown_property::RULE,
    &text::wrong_value::RULE,
    &text::wrong_unit::RULE,
    &text::missing_part::RULE,
    &text::repeated_part::RULE,
    &text::repeated_row::RULE,
    &text::joined_punctuation::RULE,
    &text::unknown_reference::RULE,
    &text::duplicate_name::RULE,
    &text::too_much::RULE,
    &layout::not_described::RULE,
    &layout::run_length::RULE,
    &layout::joint_stagger::RULE,
    &layout::joint_meeting::RULE,
    &layout::joint_over_seam::RULE,
    &layout::joint_support::RULE,
    &layout::support_overlap::RULE,
    &layout::hole_pitch_break::RULE,
    &layout::bolt_off_hole::RULE,
    &layout::overtravel::RULE,
    &layout::segment_stock::RULE,
    &layout::segment_short::RULE,
    &layout::joint_needless::RULE,
    &layout::joint_end::RULE,
    &layout::support_spacing::RULE,
    &layout::expansion::RULE,
    &layout::torque_window_fit::RULE,
    &layout::static_safety::RULE,
    &layout::rated_life::RULE,
    &fitting::torque_window::RULE,
    &fitting::torque_missing::RULE,
    &fitting::snug_window::RULE,
    &fitting::snug_before_full::RULE,
    &fitting::torque_order::RULE,
    &fitting::light_through_joint::RULE,
    &fitting::instrument_missing::RULE,
    &fitting::instrument_unsuited::RULE,
    &fitting::wrench_range::RULE,
    &fitting::gauge_range::RULE,
    &fitting::gauge_calibration::RULE,
    &fitting::gauge_graduation::RULE,
    &fitting::parts_mixed::RULE,
    &inspection::groove_missing::RULE,
    &inspection::light_missing::RULE,
    &inspection::joint_step::RULE,
    &inspection::inspection_stale::RULE,
    &inspection::reading_early::RULE,
    &inspection::joint_step_unproven::RULE,
    &inspection::joint_step_cause::RULE,
    &inspection::step_carrier::RULE,
    &inspection::readings_copied::RULE,
    &inspection::limit_unread::RULE,
    &inspection::running_force::RULE,
    &gap::station_missing::RULE,
    &gap::survey_stale::RULE,
    &gap::gap_zero::RULE,
    &gap::survey_closure::RULE,
    &gap::survey_temperature::RULE,
    &gap::toe_in::RULE,
    &gap::straightness_range::RULE,
    &gap::height_range::RULE,
    &gap::shim_missing::RULE,
    &gap::shim_total::RULE,
    &gap::shim_stock::RULE,
    &gap::shim_leaves::RULE,
    &gap::shim_at_widest::RULE,
    &gap::shim_unverified::RULE,
    &gap::torque_after_shim::RULE,
    &gap::shim_not_seated::RULE,
    &gap::gap_range::RULE,
    &gap::gap_range_unproven::RULE,
    &keeping::date_order::RULE,
    &keeping::void_self::RULE,
    &keeping::described_after::RULE,
    &keeping::attachment_changed::RULE,
    &keeping::concession_expired::RULE,
    &keeping::concession_idle::RULE,
    &keeping::concession_unreasoned::RULE,
    &keeping::concession_self::RULE,
    &keeping::release_incomplete::RULE,
    &keeping::release_altered::RULE,
    &keeping::release_self::RULE,
    &keeping::service_due::RULE,
    &keeping::hold_in_force::RULE,
    &keeping::hold_idle::RULE,
    &keeping::lift_idle::RULE,
    &keeping::lift_self::RULE,
];

/// The rule of that name.
pub fn rule(name: &str) -> Option<&'static Rule> {
    RULES.iter().find(|rule| rule.name == name).copied()
}

/// Runs every rule over a ledger. Findings about its text come first; the caller orders them.
pub fn judge(case: &Case) -> Vec<Finding> {
    let mut findings = Findings { all: found(case), ..Findings::default() };
    for rule in RULES {
        if let Check::Afterwards(check) = rule.check {
            findings.rule = Some(rule);
            check(case, &mut findings);
        }
    }
    findings.all
}

/// What the rules that are judged over the ledger find, each axis by its limits, concessions taken into account.
fn found(case: &Case) -> Vec<Finding> {
    let mut findings = run(case);
    // A released axis is judged by the limits of its seal, whatever they are today.
    for (index, axis) in case.ledger.machine.axes.iter().enumerate() {
        if sealed_limits(case.ledger, index).is_some() {
            let own = |finding: &Finding| within(&finding.address, &axis.name);
            findings.retain(|finding| !own(finding));
            findings.extend(run(&Case::of_axis(case.ledger, case.day(), index)).into_iter().filter(own));
        }
    }
    concede::concede(case, &mut findings);
    findings
}

/// What the rules that are judged over the ledger find by one rulebook.
fn run(case: &Case) -> Vec<Finding> {
    let mut findings = Findings::default();
    for rule in RULES {
        if let Check::Ledger(check) = rule.check {
            findings.rule = Some(rule);
            check(case, &mut findings);
        }
    }
    // What is wrong with a value as it is written is said already; that it differs from what was sealed is not.
    let said: BTreeSet<Place> = case.text_findings.iter().map(|finding| finding.at.place).collect();
    let keeping = |finding: &Finding| rule(finding.rule).is_some_and(|rule| rule.group == Group::Keeping);
    let again = |finding: &Finding| said.contains(&finding.at.place) && !keeping(finding);
    let last = findings.all.last().map(|finding| finding.at.place).filter(|_| findings.capped);
    findings.all.retain(|finding| !again(finding) && !case.follows_from_damage(finding));
    findings.all.extend(last.map(too_many_findings));
    findings.all
}

/// What stands in the way of releasing an axis under somebody's name: all that is broken or outstanding by the limits of
/// today, concessions taken into account, their own work where the rulebook forbids to release it, and whatever was altered
/// under the seal of an earlier release. Other findings about an earlier release are what a new one cures.
pub fn before_release(case: &Case, axis: usize, by: &str) -> Vec<Finding> {
    let anew = Case { anew: true, ..Case::new(case.ledger, case.today) };
    let case = &anew;
    let mut findings = Findings { all: run(case), ..Findings::default() };
    concede::concede(case, &mut findings.all);
    let before = |rule: &&&Rule| rule.name.starts_with("concession-") || rule.name == keeping::void_self::RULE.name;
    for rule in RULES.iter().filter(before) {
        if let Check::Afterwards(check) = rule.check {
            findings.rule = Some(rule);
            check(case, &mut findings);
        }
    }
    let name = case.ledger.machine.axes[axis].name.as_str();
    let earlier =
        |finding: &Finding| finding.rule.starts_with("release-") || finding.rule == keeping::service_due::RULE.name;
    findings.all.retain(|finding| {
        let stands = finding.grade != Grade::Observation && finding.conceded.is_none();
        let of_it = within(&finding.address, name) || finding.rule == TOO_MUCH;
        stands && of_it && !earlier(finding)
    });
    findings.all.extend(keeping::release_self::own_work(case, axis, by));
    // What was altered under a seal is no cure's business: it is put back, or that release is withdrawn first.
    findings.all.extend(keeping::release_altered::against(case, axis));
    findings.all.extend(keeping::release_self::withdrawn_by_workers(case, axis));
    findings.all.sort_by(|a, b| a.order().cmp(&b.order()));
    findings.all
}
