//! Supports loosened and shimmed, and stretches of supports as people write them.

use super::value::{number, numbers};
use super::{AddressMeaning, AskedReading, EntrySession, PromptError, RecordDraft, optional, outstanding, right};
use crate::ledger::{NodeDraft, Rail, RailId, SpeltValue, Target};
use crate::quantity::{Amount, Length};

impl EntrySession<'_, '_> {
    pub(super) fn loosen(&mut self) -> Result<RecordDraft, PromptError> {
        let known: Vec<String> = self.case.rails().map(|(id, ..)| self.case.machine.rail_address(id)).collect();
        let meant: AddressMeaning<(RailId, bool)> = |target| match target {
            Target::Rail(id) => Some((id, true)),
            Target::Segment(id, _) | Target::Support(id, _) => Some((id, false)),
            _ => None,
        };
        let (on, (id, whole)) = self.target("rail", &known, meant)?;
        let mut draft = RecordDraft::new(NodeDraft::new("loosen").value(&on));
        let reason = match &self.given.reason {
            Some(reason) => Some(reason.clone()),
            None if !self.given.rows.is_empty() => None,
            None => optional(self.prompter, "Why? (Enter leaves it out)", |text| Ok::<_, String>(text.to_string()))?,
        };
        if let Some(reason) = reason {
            draft.set("reason", &reason);
        }
        if let Some(interface) = &self.given.interface {
            draft.set("interface", interface);
        }
        if !self.rows_given(&mut draft) && whole {
            let (supports, question) = self.ranges(id, "Which supports, as S9 J1 S11?", &[])?;
            draft.answered(NodeDraft::new("at").values(&supports), AskedReading { question, confirmed: false });
        }
        Ok(draft)
    }

    pub(super) fn shim(&mut self) -> Result<RecordDraft, PromptError> {
        let known: Vec<String> = self
            .case
            .rails()
            .filter(|(_, _, rail)| rail.follows.is_some())
            .map(|(id, ..)| self.case.machine.rail_address(id))
            .collect();
        let meant: AddressMeaning<RailId> = |target| match target {
            Target::Rail(id) => Some(id),
            _ => None,
        };
        let (on, id) = self.target("rail", &known, meant)?;
        let mut draft = RecordDraft::new(NodeDraft::new("shim").value(&on));
        if self.rows_given(&mut draft) {
            return Ok(draft);
        }
        let rail = self.case.ledger.machine.rail(id);
        let planned = outstanding::shims(&self.case, id);
        if planned.is_empty() {
            self.prompter.tell("No shim list: support and leaves row by row, as `S2 0.05 0.02`; 0 where they were taken out; Enter ends.");
            loop {
                // Each question is another one, so that each can be asked again.
                let question = format!("Support and its leaves, row {}", draft.row_count() + 1);
                let Some(row) = optional(self.prompter, &question, |answer| leaves(rail, answer))? else { break };
                draft.answered(row, AskedReading { question, confirmed: false });
            }
            return Ok(draft);
        }
        self.prompter
            .tell("What lies under each support now. Enter takes the planned leaves; - passes a support over; . ends.");
        for (support, leaves) in planned {
            let name = &rail.supports[support].name;
            let plan: Vec<String> = leaves.iter().map(|leaf| leaf.number()).collect();
            let shown = plan.join(" ");
            let question = format!("{name}: leaves in mm (Enter for {shown})");
            let answer = right(self.prompter, &question, |answer| match answer {
                "" => Ok(SupportAnswer::Lie(plan.clone())),
                "-" => Ok(SupportAnswer::Pass),
                "." => Ok(SupportAnswer::End),
                _ => numbers::<Length>(answer)
                    .map(|all| SupportAnswer::Lie(all.into_iter().map(|typed| typed.text).collect())),
            });
            match answer? {
                SupportAnswer::Pass => {}
                SupportAnswer::End => break,
                SupportAnswer::Lie(leaves) => {
                    draft.answered(row(name, &leaves), AskedReading { question, confirmed: false })
                }
            }
        }
        Ok(draft)
    }

    /// Asks until a range of supports is understood; the answer as the ledger writes it, and the question.
    pub(super) fn ranges(
        &mut self,
        id: RailId,
        what: &str,
        usual: &[usize],
    ) -> Result<(Vec<String>, String), PromptError> {
        let rail = self.case.ledger.machine.rail(id);
        let all = in_words(rail, usual);
        let check = |answer: &str| -> Result<Vec<String>, String> {
            let answer = if answer.is_empty() { all.as_str() } else { answer };
            if answer.is_empty() {
                return Err("name at least one support".into());
            }
            let unknown = answer
                .split_whitespace()
                .flat_map(|word| word.split("..").collect::<Vec<_>>())
                .find(|name| rail.support(name).is_none());
            match unknown {
                Some(name) => Err(format!("there is no support `{name}`; write them as S9..S1 J1")),
                None => Ok(answer.split_whitespace().map(str::to_owned).collect()),
            }
        };
        let enter = if all.is_empty() { String::new() } else { format!(" (Enter for {all})") };
        let question = format!("{what}{enter}");
        Ok((right(self.prompter, &question, check)?, question))
    }
}

/// What lies under a support, as it was answered.
enum SupportAnswer {
    Lie(Vec<String>),
    Pass,
    End,
}

/// A support and its leaves.
fn row(support: &str, leaves: &[String]) -> NodeDraft {
    NodeDraft::new("at").value(support).values(leaves.iter().map(|leaf| SpeltValue::typed(leaf)))
}

/// `S2 0.05 0.02` as a row.
fn leaves(rail: &Rail, answer: &str) -> Result<NodeDraft, String> {
    let (name, rest) = answer.split_once(char::is_whitespace).ok_or("a support and its leaves, as S2 0.05 0.02")?;
    if rail.support(name).is_none() {
        return Err(format!("there is no support `{name}`"));
    }
    let leaves: Vec<String> =
        rest.split_whitespace().map(|word| number::<Length>(word).map(|typed| typed.text)).collect::<Result<_, _>>()?;
    Ok(row(name, &leaves))
}

/// Supports in their order as the ledger writes them: `J1 S9..S1 S11..S14`.
pub(crate) fn in_words(rail: &Rail, supports: &[usize]) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut at = 0;
    while at < supports.len() {
        // A joint support is named by itself: it is where the work begins.
        let alone = |at: usize| rail.supports[supports[at]].joint.is_some();
        let stretch = |step: i64| {
            let mut end = at;
            while end + 1 < supports.len()
                && !alone(end)
                && !alone(end + 1)
                && supports[end + 1] as i64 == supports[end] as i64 + step
            {
                end += 1;
            }
            end
        };
        let end = stretch(1).max(stretch(-1));
        let name = |support: usize| rail.supports[support].name.to_string();
        parts.push(if end == at {
            name(supports[at])
        } else {
            format!("{}..{}", rail.supports[supports[at]].name, rail.supports[supports[end]].name)
        });
        at = end + 1;
    }
    parts.join(" ")
}
