//! What a rule is given. What is worked out of it once is kept in its facts; other files add the questions it answers.

use std::ops::Deref;

use jiff::civil::Date;

use super::facts::Facts;
use crate::finding::{Grade, RuleName, within};
use crate::language::rulebook::Rulebook;
use crate::ledger::seal::limits_applying;
use crate::ledger::{Ledger, NotApplicable, RailId, Record};
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

    /// Whether the text about what an address names is at fault.
    pub(super) fn is_damaged(&self, address: &str) -> bool {
        let about = |id: RailId| within(address, &self.machine.rail_address(id));
        self.rails().any(|(id, _, rail)| rail.damaged && about(id))
            || self.records.iter().any(|record| record.damaged && record.rail().is_some_and(about))
    }

    /// Whether no text is at fault: else nobody is told what cannot be judged, since much of it only follows.
    pub(super) fn is_sound(&self) -> bool {
        let broken = self.text_findings.iter().any(|it| it.grade == Grade::Nonconformity);
        !self.half_described && !self.shops_at_fault && !broken
    }

    /// Who declared that a rule does not apply at an address: in the machine's own file or in one of the shop.
    pub(super) fn declared_not_applicable(&self, rule: RuleName, address: &str) -> Option<&'l NotApplicable> {
        let ledger = self.ledger;
        let all = ledger.machine.not_applicable.iter().chain(&ledger.shop.not_applicable);
        all.into_iter().find(|declared| declared.covers(rule.as_str(), address))
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
