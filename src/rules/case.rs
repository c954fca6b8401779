//! What a rule is given, and where it puts what it finds.

use std::ops::Deref;

use jiff::civil::Date;

use super::facts::Facts;
use super::{Group, Rule, keeping};
use crate::finding::{Finding, Grade, MOST_FINDINGS, Place, RuleName, within};
use crate::language::rulebook::Rulebook;
use crate::ledger::seal::limits_applying;
use crate::ledger::{Ledger, RailId, Record};
use crate::world::Day;

/// A ledger to be judged on a day, by some limits.
pub struct Case<'l> {
    /// What is judged.
    pub ledger: &'l Ledger,
    /// The day that it is judged on.
    pub today: Date,
    /// No record can have been made after this day: the one it is already where days begin first.
    pub latest: Date,
    /// The limits in force; for a released axis those of its seal.
    pub rulebook: &'l Rulebook,
    /// It is asked what a new release would rest on: an earlier one sets no limits.
    pub(super) anew: bool,
    pub(super) facts: Facts<'l>,
}

impl Deref for Case<'_> {
    type Target = Ledger;

    fn deref(&self) -> &Ledger {
        self.ledger
    }
}

impl<'l> Case<'l> {
    /// A ledger judged by today's limits.
    pub fn new(ledger: &'l Ledger, day: impl Into<Day>) -> Case<'l> {
        let Day { date: today, latest } = day.into();
        Case { ledger, today, latest, rulebook: &ledger.rulebook, anew: false, facts: Facts::default() }
    }

    /// A ledger judged by the limits that apply to one of its axes.
    pub fn of_axis(ledger: &'l Ledger, day: impl Into<Day>, axis: usize) -> Case<'l> {
        Case { rulebook: limits_applying(ledger, axis), ..Case::new(ledger, day) }
    }

    /// The limits that apply to an axis, whichever the case is judged by as a whole.
    pub fn limits(&self, axis: usize) -> &'l Rulebook {
        if self.anew { &self.ledger.rulebook } else { limits_applying(self.ledger, axis) }
    }

    /// The day it is judged on.
    pub fn day(&self) -> Day {
        Day { date: self.today, latest: self.latest }
    }

    /// The records that count, in the order of the timeline.
    pub fn in_order(&self) -> impl Iterator<Item = (usize, &'l Record)> {
        let ledger = self.ledger;
        ledger.timeline.order.iter().map(move |index| (*index, &ledger.records[*index]))
    }

    /// The rails with their addresses.
    pub fn rails(&self) -> impl Iterator<Item = (RailId, &'l crate::ledger::Axis, &'l crate::ledger::Rail)> {
        self.ledger.machine.rails()
    }

    /// Whether a finding only follows from a fault in the text, which has a finding of its own.
    ///
    /// Where the description of a rail is damaged, nothing derived from it is judged; where a record is damaged or
    /// lost, no rule that reasons from what is not there; and where either is, nothing is called outstanding.
    pub(super) fn follows_from_damage(&self, finding: &Finding) -> bool {
        let rule = super::rule(finding.rule);
        let layout = rule.is_some_and(|rule| rule.group == Group::Layout);
        // That something is held is said, not reasoned from what is not there.
        let outstanding = finding.grade == Grade::Outstanding && finding.rule != keeping::hold_in_force::RULE.name;
        if self.half_described && layout && outstanding {
            return true;
        }
        let kinds = rule.map_or(&[][..], |rule| rule.reasons_from);
        if self.lost.iter().any(|lost| {
            let there = lost.rail.is_none_or(|id| within(&finding.address, &self.machine.rail_address(id)));
            there && (outstanding || kinds.contains(&lost.kind))
        }) {
            return true;
        }
        if !layout && !outstanding && kinds.is_empty() && finding.rule != keeping::described_after::RULE.name {
            return false;
        }
        let mut damaged = self.rails().filter(|(_, _, rail)| rail.damaged);
        let inside = |whole: Place, place: Place| {
            whole.source == place.source && whole.span.start <= place.span.start && place.span.end <= whole.span.end
        };
        let touches = |whole: Place| {
            inside(whole, finding.at.place) || finding.also.iter().any(|label| inside(whole, label.place))
        };
        damaged.any(|(id, _, rail)| touches(rail.whole) || within(&finding.address, &self.machine.rail_address(id)))
    }

    /// Whether the text about what an address names is at fault.
    pub(super) fn is_damaged(&self, address: &str) -> bool {
        let about = |id: RailId| within(address, &self.machine.rail_address(id));
        self.rails().any(|(id, _, rail)| rail.damaged && about(id))
            || self.records.iter().any(|record| record.damaged && record.rail().is_some_and(about))
    }

    /// Names a stretch of supports as people write it: `S1..S9, J1, S11`.
    pub fn ranges(&self, id: RailId, supports: &[usize]) -> String {
        let rail = self.machine.rail(id);
        let mut parts: Vec<String> = Vec::new();
        let mut at = 0;
        while at < supports.len() {
            let mut end = at;
            while end + 1 < supports.len() && supports[end + 1] == supports[end] + 1 {
                end += 1;
            }
            let (first, last) = (&rail.supports[supports[at]].name, &rail.supports[supports[end]].name);
            parts.push(match end - at {
                0 => first.to_string(),
                1 => format!("{first}, {last}"),
                _ => format!("{first}..{last}"),
            });
            at = end + 1;
        }
        parts.join(", ")
    }
}

/// Findings as they are made. The rule that is running is known, so a check never names itself.
#[derive(Default)]
pub struct Findings {
    pub(super) rule: Option<&'static Rule>,
    pub(super) all: Vec<Finding>,
    /// There were more than are told.
    pub(super) capped: bool,
    /// The worst grade of what was found of the subject that is asked about, told or not.
    pub(super) worst: Option<Grade>,
}

impl Findings {
    /// Starts a finding of the running rule, with the rule's own grade.
    pub fn finding(&self, address: impl Into<String>, at: Place, message: impl Into<String>) -> Finding {
        let (name, grade) = self.rule.map_or((RuleName::NONE, Grade::Nonconformity), |rule| (rule.name, rule.grade));
        Finding::new(name, grade, address, at, message)
    }

    /// Takes a finding. Beyond what anybody is told, it only takes note that there was one more.
    pub fn add(&mut self, finding: Finding) {
        self.worst = Some(self.worst.map_or(finding.grade, |worst| worst.min(finding.grade)));
        if self.all.len() < MOST_FINDINGS { self.all.push(finding) } else { self.capped = true }
    }
}
