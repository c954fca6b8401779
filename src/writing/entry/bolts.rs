//! Bolts tightened: support by support in the order of tightening, each torque held against its window at once.

use super::value::{TypedNumber, number};
use super::{AskedReading, EntrySession, PromptError, RecordDraft, outstanding, right};
use crate::facts::torque_window::{WindowSource, shown, window};
use crate::finding::counted;
use crate::ledger::{Interface, Keyword, NodeDraft, RailId, SpeltValue, Stage, WrenchKind};
use crate::quantity::Torque;
use crate::views::traveler::{holes, order};

impl EntrySession<'_, '_> {
    pub(super) fn fasten(&mut self) -> Result<RecordDraft, PromptError> {
        let (on, id) = self.rail()?;
        let interface = match &self.given.interface {
            Some(word) => Interface::from_word(word)
                .ok_or_else(|| PromptError::Wrong(format!("`{word}` is neither rail nor base")))?,
            None => Interface::Rail,
        };
        let snug_left = !outstanding::supports(&self.case, id, interface, Stage::Snug).is_empty();
        let usual = if snug_left { Stage::Snug } else { Stage::Full };
        let stage = self.one_of("Stage", self.given.stage.as_ref(), Some(usual))?;
        let known = self.case.shop.wrenches.iter().map(|wrench| wrench.name.to_string()).collect();
        let wrench = self.instrument("wrench", self.given.wrench.as_ref(), known)?;
        let mut draft = RecordDraft::new(NodeDraft::new("fasten").value(&on));
        if let Some(wrench) = &wrench {
            draft.set("wrench", wrench);
        }
        draft.set("stage", stage.word());
        if interface == Interface::Base {
            draft.set("interface", interface.word());
        }
        let it = wrench.and_then(|name| self.case.ledger.shop.wrench(&name));
        let reads = it.and_then(|it| it.kind).is_some_and(|kind| *kind == WrenchKind::Indicating);
        let limits = window(self.case.ledger, self.case.limits(id.axis), id, interface, stage);
        if let Some(said) = &self.given.setting {
            draft.set("setting", SpeltValue::typed(&number::<Torque>(said).map_err(PromptError::Wrong)?.text));
        } else if !reads && self.given.rows.is_empty() {
            let question = "What was the wrench set to, in N·m?".to_string();
            let (typed, confirmed) = loop {
                let typed = right(self.prompter, &question, number::<Torque>)?;
                match off(&typed, limits, None) {
                    Some(warning) if !self.keep("setting", &question, &warning)? => {}
                    odd => break (typed, odd.is_some()),
                }
            };
            draft.set("setting", SpeltValue::typed(&typed.text));
            draft.asked.insert(None, AskedReading { question, confirmed });
        }
        self.temperature(&mut draft)?;
        if !self.rows_given(&mut draft) {
            let mut open = outstanding::supports(&self.case, id, interface, stage);
            if open.is_empty() {
                // A pass over bolts that hold already, as a service asks for.
                self.prompter.tell("All of them hold this already: what is read now of each, in the order of work.");
                open = order(self.case.machine.rail(id));
            }
            if reads {
                let graduation = it.and_then(|it| it.graduation).map(|graduation| graduation.value);
                self.torques(&mut draft, id, interface, &open, (limits, graduation))?;
            } else {
                let (done, question) = self.ranges(id, "Supports that clicked, in their order", &open)?;
                draft.answered(NodeDraft::new("clicked").values(&done), AskedReading { question, confirmed: false });
            }
        }
        Ok(draft)
    }

    fn torques(
        &mut self,
        draft: &mut RecordDraft,
        id: RailId,
        interface: Interface,
        open: &[usize],
        (limits, graduation): (Option<TorqueLimits>, Option<Torque>),
    ) -> Result<(), PromptError> {
        let rail = self.case.ledger.machine.rail(id);
        self.prompter.tell(
            "One torque a bolt along increasing position; - for one not done; Enter passes a support over; . ends.",
        );
        for &support in open {
            let it = &rail.supports[support];
            let count = it.bolt_count(interface);
            let holes = if interface == Interface::Rail { holes(rail, support) } else { String::new() };
            let bolts = count.map_or(String::new(), |count| format!(", {}", counted(count, "bolt", "bolts")));
            let holes = if holes.is_empty() { String::new() } else { format!(" ({holes})") };
            let question = format!("{}{bolts}{holes}", it.name);
            let check = |answer: &str| -> Result<BoltAnswer, String> {
                match answer {
                    "" => return Ok(BoltAnswer::Pass),
                    "." => return Ok(BoltAnswer::End),
                    _ => {}
                }
                let words: Vec<&str> = answer.split_whitespace().collect();
                if let Some(count) = count
                    && words.len() != count
                {
                    return Err(format!(
                        "{} has {count} bolts, and these are {}; write - for one not done",
                        it.name,
                        words.len()
                    ));
                }
                let read: Vec<_> =
                    words.iter().filter(|word| **word != "-").map(|word| number(word)).collect::<Result<_, _>>()?;
                let spelt = |word: &&str| if *word == "-" { SpeltValue::blank() } else { SpeltValue::typed(word) };
                let row = NodeDraft::new("at").value(it.name.as_str()).values(words.iter().map(spelt));
                Ok(BoltAnswer::Read(row, read))
            };
            loop {
                match right(self.prompter, &question, check)? {
                    BoltAnswer::Read(row, read) => {
                        let warnings: Vec<String> =
                            read.iter().filter_map(|typed| off(typed, limits, graduation)).collect();
                        let confirmed = !warnings.is_empty();
                        if confirmed && !self.keep(&it.name, &question, &warnings.join("\n"))? {
                            continue;
                        }
                        draft.answered(row, AskedReading { question, confirmed });
                    }
                    BoltAnswer::Pass => {}
                    BoltAnswer::End => return Ok(()),
                }
                break;
            }
        }
        Ok(())
    }
}

enum BoltAnswer {
    Read(NodeDraft, Vec<TypedNumber<Torque>>),
    Pass,
    End,
}

type TorqueLimits<'l> = (Torque, Torque, WindowSource<'l>);

/// What is odd about a torque.
fn off(typed: &TypedNumber<Torque>, limits: Option<TorqueLimits>, graduation: Option<Torque>) -> Option<String> {
    if let Some((least, most, limit)) = limits {
        let by = if typed.value < least {
            Some((least - typed.value, "under"))
        } else if typed.value > most {
            Some((typed.value - most, "over"))
        } else {
            None
        };
        if let Some((by, way)) = by {
            return Some(format!(
                "{}: {} {way} {} ({})",
                shown(typed.value),
                shown(by),
                limit.text(),
                limit.words().source
            ));
        }
    }
    let graduation = graduation.filter(|graduation| graduation.0 > 0)?;
    (typed.value.0 % graduation.0 != 0)
        .then(|| format!("{}: the wrench shows steps of {}", shown(typed.value), shown(graduation)))
}
