//! A joint as it stands: its steps, what they split into, their cause and cure.

use super::gather::{ReportBuilder, signed, text};
use super::model::{GrooveStepReport, JointReport, PatternsReport};
use crate::facts::steps::{four_steps, joint_state, mean_step, nearest, signed_step};
use crate::finding::Grade;
use crate::language::rulebook::LimitName;
use crate::ledger::{Body, Groove, Keyword, RailId};
use crate::quantity::Length;
use crate::rules::{Rule, inspection};

impl ReportBuilder<'_> {
    pub(super) fn joint(&self, id: RailId, joint: usize) -> JointReport {
        let ledger = self.case.ledger;
        let it = &ledger.machine.rail(id).joints[joint];
        let address = ledger.machine.joint_address(id, joint);
        let state = joint_state(ledger, id, joint);
        let most = self.case.rulebook.most::<Length>(LimitName::JointStep).map(|(most, _)| most);
        let step = |groove: Groove| {
            let mean = state.grooves[groove as usize].as_ref().and_then(|reading| Some((reading, mean_step(reading)?)));
            GrooveStepReport {
                groove: groove.word(),
                step: mean.as_ref().and_then(|(reading, _)| signed_step(ledger, reading)),
                over: mean.zip(most).is_some_and(|((_, mean), most)| mean.over(most.nm())),
            }
        };
        let four = four_steps(ledger, id, joint);
        let patterns = four.as_ref().map(|four| {
            let patterns = four.steps.patterns(four.contact_or_outward());
            PatternsReport {
                height_offset: nearest(patterns.height_offset()),
                side_offset: nearest(patterns.side_offset()),
                twist_pattern: nearest(patterns.twist),
                size_pattern: nearest(patterns.size),
                signed: four.signed,
            }
        });
        let finding =
            |rule: &Rule| self.findings.iter().find(|found| found.rule == rule.name && found.address == address);
        let cause = finding(&inspection::joint_step_cause::RULE);
        let stale = finding(&inspection::inspection_stale::RULE).filter(|found| found.grade != Grade::Observation);
        let last = state.last.map(|record| &ledger.records[record]);
        let inspect = last.and_then(|record| match &record.body {
            Body::Inspect(inspect) => Some(inspect),
            _ => None,
        });
        JointReport {
            name: it.name.to_string(),
            at: it.position,
            state: self.state(&address),
            inspected: last.map(signed),
            gauge: inspect.and_then(|inspect| text(&inspect.gauge)),
            steps: Groove::ALL.into_iter().map(step).collect(),
            most_step: most,
            light: state.light.map(|light| light.what),
            feeler: inspect.and_then(|inspect| inspect.feeler).map(|feeler| *feeler),
            patterns,
            cause: cause.map(|found| found.message.clone()),
            cure: cause.map(|found| found.next.clone()),
            stale: stale.map(|found| found.message.clone()),
            address,
        }
    }
}
