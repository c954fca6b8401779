//! A survey of angles: step by step along the rail, each as long as the base.

use super::value::{TypedNumber, number};
use super::{AskedReading, EntrySession, PromptError, RecordDraft, right};
use crate::ledger::{GaugedQuantity, NodeDraft, Rail, RailId, SpeltValue};
use crate::quantity::{Angle, Dimension, Length, units_of};

/// What is asked of one step.
struct StepQuestion<'q> {
    question: &'q str,
    unit: &'q str,
    range: Option<&'q (String, Angle)>,
}

impl EntrySession<'_, '_> {
    /// A gauge that reads angles alone.
    pub(super) fn reads_angles(&self, gauge: Option<&String>) -> bool {
        let gauge = gauge.and_then(|name| self.case.ledger.shop.gauge(name)).filter(|gauge| gauge.kind.is_some());
        gauge.is_some_and(|gauge| GaugedQuantity::Angle.suits(gauge) && !GaugedQuantity::Straightness.suits(gauge))
    }

    pub(super) fn steps(&mut self, draft: &mut RecordDraft, id: RailId) -> Result<(), PromptError> {
        let rail = self.case.ledger.machine.rail(id);
        let base = right(self.prompter, "How long is each step, in mm?", |answer| {
            let typed = number::<Length>(answer)?;
            if typed.value > Length::ZERO { Ok(typed) } else { Err("a step is longer than 0".to_string()) }
        })?;
        let from = right(self.prompter, "Where does the first step begin? (a support or a position)", |answer| {
            begins(rail, answer)
        })?;
        // As they can be written into the record: a name with a `/` needs quotes there, and has another spelling.
        let units = units_of(Dimension::Angle).map(|unit| unit.name);
        let units: Vec<&str> = units.filter(|unit| !unit.contains('/')).collect();
        let question = format!("In which unit are the angles? ({})", units.join(", "));
        let unit = right(self.prompter, &question, |answer| match units.iter().find(|unit| **unit == answer) {
            Some(unit) => Ok(*unit),
            None => Err(format!("`{answer}` is none of {}", units.join(", "))),
        })?;
        let range = draft.gauge.as_ref().and_then(|name| self.case.ledger.shop.gauge(name));
        let range = range.and_then(|gauge| Some((gauge.name.to_string(), gauge.angles.range?.value)));
        let range = range.filter(|_| self.prompter.patient());
        self.prompter.tell("What the gauge shows at each step, named by where it ends; Enter or . ends.");
        let last = rail.supports.last().map_or(Length::ZERO, |support| support.at).max(rail.to());
        let mut end = from + base.value;
        let mut first: Option<(SpeltValue, String)> = None;
        while end <= last && end > from {
            let at = rail.supports.iter().find(|support| support.at == end);
            let (place, name) = match at {
                Some(support) => (SpeltValue::from(support.name.as_str()), support.name.to_string()),
                None => (SpeltValue::from(end), end.to_string()),
            };
            let question = format!("Step to {name}");
            let asked = StepQuestion { question: &question, unit, range: range.as_ref() };
            let typed = self.step(&asked)?;
            if typed.is_empty() {
                break;
            }
            if first.is_none() {
                let begins = NodeDraft::new("angles").property("from", SpeltValue::from(from));
                draft.push(begins.property("base", SpeltValue::typed(&base.text)));
                first = Some((place.clone(), name));
            }
            let row = NodeDraft::new("at").value(place).values(typed);
            draft.answered(row, AskedReading { question, confirmed: false });
            end = end + base.value;
        }
        if let Some((place, name)) = first {
            let question = format!("Step to {name} again");
            let again = self.step(&StepQuestion { question: &question, unit, range: range.as_ref() })?;
            if let Some(again) = again.first() {
                let row = NodeDraft::new("closure").value(place).value(again.clone());
                draft.answered(row, AskedReading { question, confirmed: false });
            }
            self.prompter.tell("The angles are added up to straightness; still to be judged by `wayledger lint`.");
        }
        Ok(())
    }

    /// The angles of one step, repeats included; none at the end.
    fn step(&mut self, asked: &StepQuestion) -> Result<Vec<SpeltValue>, PromptError> {
        right(self.prompter, asked.question, |answer| {
            if answer == "." {
                return Ok(Vec::new());
            }
            let all = answer.split_whitespace().map(|typed| angle(typed, asked.unit));
            let all: Vec<TypedNumber<Angle>> = all.collect::<Result<_, String>>()?;
            for typed in &all {
                if let Some((gauge, range)) = asked.range.filter(|(_, range)| typed.value.abs() > *range) {
                    return Err(format!(
                        "{gauge} has a range of {range} and cannot show {}: look at the unit and the decimal point",
                        typed.value
                    ));
                }
            }
            Ok(all.iter().map(|typed| SpeltValue::typed(&typed.text)).collect())
        })
    }
}

/// Where a step begins, by a support of the rail or a position.
fn begins(rail: &Rail, answer: &str) -> Result<Length, String> {
    match rail.support(answer) {
        Some(support) => Ok(rail.supports[support].at),
        None => number::<Length>(answer)
            .map(|typed| typed.value)
            .map_err(|why| format!("the rail has no support `{answer}`, and as a position: {why}")),
    }
}

/// An angle as typed, in the unit that was said unless it has its own.
fn angle(typed: &str, unit: &str) -> Result<TypedNumber<Angle>, String> {
    if typed.starts_with('(') {
        return number(typed);
    }
    number(&SpeltValue::typed_in(Some(unit), typed).to_string())
}
