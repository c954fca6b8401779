//! The shims that the survey asks for, support by support, and what must be looked at again after them.

use super::TravelerBuilder;
use crate::facts::shim_plan::{ShimPlanRow, shim_plan};
use crate::facts::shim_words;
use crate::facts::shims::stack;
use crate::facts::survey::{Seat, length};
use crate::facts::survey_state::CurrentSurveys;
use crate::judging::foreseen;
use crate::ledger::RailId;
use crate::quantity::{Amount, Length};
use crate::views::paper::{CheckItem, Content, Table, TableCell};

impl TravelerBuilder<'_> {
    pub(super) fn shimming(&self, id: RailId) -> Option<Content> {
        let seat = Seat::for_rail(self.case.ledger, id)?;
        let address = self.case.machine.rail_address(id);
        let standing = CurrentSurveys::for_rail(self.case.ledger, id, seat.kind);
        let mut body = Content::default();
        body.heading(2, format!("Shim rail {address}"));
        let Some(record) = standing.as_fitted else {
            body.say(format!(
                "After the survey, print this traveler again: it then lists the leaves for every support. Limit: {}.",
                self.limit(seat.limit)
            ));
            return Some(body);
        };
        let done = self.case.shimmed_since(id, record);
        if self.remaining && (done || standing.verified.is_some()) {
            return None;
        }
        if done {
            body.say("Put in as recorded:");
            body.whole_table(self.recorded(id));
            return Some(body);
        }
        let plan = match shim_plan(self.case.ledger, id, self.case.today) {
            Ok(plan) => plan,
            Err(lacking) => {
                body.say(format!("No shim list: {}; {}.", lacking.what, lacking.next));
                return Some(body);
            }
        };
        let read = standing.readings(self.case.ledger, record);
        let varies = read.map_or(Length::ZERO, |readings| length(readings.range()));
        if plan.best.as_ref().is_ok_and(|best| best.shimmed == 0) {
            if self.remaining {
                return None;
            }
            body.say(format!("The readings vary by {varies}: no shim is needed."));
            return Some(body);
        }
        match &plan.best {
            Ok(best) => {
                body.say(format!(
                    "Readings vary by {varies}. One support at a time: loosen it, put the leaves in, snug, full torque, before the next one is loosened. Leaves cut: wear gloves.",
                ));
                body.say(format!(
                    "Range to expect afterwards: {}. Limit: {}.",
                    Length(best.range_nm),
                    self.limit(seat.limit)
                ));
                let broken = foreseen::of_shims(self.case.ledger, &plan, &best.stacks, self.case.today);
                if !broken.is_empty() {
                    body.say(format!("Shims alone do not do it; the lint would find: {}.", broken.join("; ")));
                }
                if let Some(unseen) = foreseen::unseen_locally(self.case.ledger, &plan) {
                    body.say(format!("{unseen}."));
                }
                let shimmed: Vec<(&ShimPlanRow, Vec<Length>)> = plan.put_in(&best.stacks).collect();
                body.whole_table(self.leaves(id, &shimmed));
                let again = self.again(id, &shimmed);
                if !again.is_empty() {
                    body.say("After shimming, inspect again: the old readings of these joints no longer count.");
                    body.checklist(again.into_iter().map(CheckItem::open).collect());
                }
                body.hold_point(format!(
                    "Verification survey of {address} after the last shim; every station within the limit."
                ));
            }
            Err(why) => body.say(format!("No shim list: {}.", shim_words::no_plan(self.case.ledger, &plan, why))),
        }
        Some(body)
    }

    fn leaves(&self, id: RailId, shimmed: &[(&ShimPlanRow, Vec<Length>)]) -> Table {
        let rail = self.case.machine.rail(id);
        let mut table = Table::new(&[
            "Support",
            "Asked for (mm)",
            "Leaves to add (mm)",
            "Then in all (mm)",
            "Leaves in",
            "Snug",
            "Full torque",
            "By",
        ]);
        for (row, leaves) in shimmed {
            let all: Length = leaves.iter().copied().sum();
            let (add, out) = (beyond(leaves, &row.there), beyond(&row.there, leaves));
            let take_out = if out.is_empty() { String::new() } else { format!("; take out {}", stack(&out)) };
            table.rows.push(vec![
                TableCell::text(rail.supports[row.support].name.as_str()),
                TableCell::Number(row.need.number()),
                TableCell::Text(stack(&add) + &take_out),
                TableCell::Number(all.number()),
                TableCell::Tick(false),
                TableCell::Tick(false),
                TableCell::Tick(false),
                TableCell::Blank,
            ]);
        }
        table
    }

    /// What lies under the rail now.
    fn recorded(&self, id: RailId) -> Table {
        let rail = self.case.machine.rail(id);
        let mut table = Table::new(&["Support", "Leaves (mm)", "Total (mm)", "Recorded on"]);
        for (support, it) in rail.supports.iter().enumerate() {
            let Some((event, row)) = self.case.shims(id, support, None) else { continue };
            let leaves: Vec<Length> = row.leaves.iter().map(|leaf| leaf.value).collect();
            table.rows.push(vec![
                TableCell::text(it.name.as_str()),
                TableCell::Text(stack(&leaves)),
                TableCell::Number(row.total().number()),
                TableCell::Text(
                    self.case.records[event.record].date.map_or(String::new(), |date| date.date.to_string()),
                ),
            ]);
        }
        table
    }

    /// The joints whose inspection these shims undo.
    fn again(&self, id: RailId, shimmed: &[(&ShimPlanRow, Vec<Length>)]) -> Vec<String> {
        let rail = self.case.machine.rail(id);
        (0..rail.joints.len())
            .filter(|joint| {
                let beside = self.case.beside_joint(id, *joint);
                shimmed.iter().any(|(row, _)| beside.contains(&row.support))
            })
            .map(|joint| format!("{}: light and all four grooves", self.case.machine.joint_address(id, joint)))
            .collect()
    }
}

/// The leaves that are in one stack and not in another.
fn beyond(leaves: &[Length], other: &[Length]) -> Vec<Length> {
    let mut other = other.to_vec();
    let is_new = |leaf: &&Length| match other.iter().position(|it| it == *leaf) {
        Some(at) => {
            other.swap_remove(at);
            false
        }
        None => true,
    };
    leaves.iter().filter(is_new).copied().collect()
}
