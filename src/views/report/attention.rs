//! What of a fleet needs a person now: counts for the first screen.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

use super::State;
use super::model::{Deadline, DueState};

/// How much needs a person, and how soon. What one instrument needs is one, however many machines name it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct Attention {
    #[serde(rename = "machines_nonconforming")]
    pub nonconforming: usize,
    #[serde(rename = "machines_not_judged")]
    pub not_judged: usize,
    #[serde(rename = "deadlines_overdue")]
    pub overdue: usize,
    #[serde(rename = "holds_in_force")]
    pub on_hold: usize,
    #[serde(rename = "due_within_30_days")]
    pub within_30: usize,
    /// Those within 30 days among them.
    #[serde(rename = "due_within_90_days")]
    pub within_90: usize,
    /// Those of them that are ends of concessions.
    #[serde(rename = "concessions_ending_within_90_days")]
    pub concessions: usize,
    /// How much falls due in which month, as `2026-11`, however far ahead; for the picture.
    #[serde(skip)]
    pub months: BTreeMap<String, usize>,
    /// What was counted of instruments.
    #[serde(skip)]
    seen: BTreeSet<(Option<String>, String, String)>,
}

impl Attention {
    /// Takes up one machine with all that it has to be done by a day.
    pub(super) fn add(&mut self, state: State, dues: &[Deadline], today: Date) {
        self.nonconforming += usize::from(state == State::Nonconforming);
        self.not_judged += usize::from(state == State::NotJudged);
        for due in dues {
            let key = || (due.due.clone(), due.task.clone(), due.of.clone());
            if due.of_instrument && !self.seen.insert(key()) {
                continue;
            }
            match due.standing {
                DueState::Overdue => self.overdue += 1,
                DueState::OnHold => self.on_hold += 1,
                DueState::Soon | DueState::Later => {
                    let day = due.due.as_ref().and_then(|day| day.parse::<Date>().ok());
                    let left = day.and_then(|day| today.until(day).ok()).map(|span| span.get_days());
                    if let Some(day) = day {
                        *self.months.entry(day.strftime("%Y-%m").to_string()).or_default() += 1;
                    }
                    let within = |days| left.is_some_and(|left| left <= days);
                    self.within_30 += usize::from(within(30));
                    self.within_90 += usize::from(within(90));
                    self.concessions += usize::from(within(90) && due.of_concession);
                }
                DueState::NotStarted => {}
            }
        }
    }
}
