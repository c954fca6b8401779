//! How every axis and joint stood before and stands after.

use schemars::JsonSchema;
use serde::Serialize;

use crate::facts::steps::{joint_state, mean_step};
use crate::judging::lint::Judged;
use crate::ledger::RailId;
use crate::ledger::seal::release_of;
use crate::quantity::Length;
use crate::views::report::State;

/// One axis or joint; nothing where it is not there.
#[derive(Debug, Serialize, JsonSchema)]
pub struct StateChange {
    /// The joint or the support.
    pub address: String,
    /// The state before.
    #[serde(rename = "stood")]
    pub was: Option<ComparedState>,
    /// The state now.
    #[serde(rename = "stands")]
    pub now: Option<ComparedState>,
}

#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "Standing")]
pub struct ComparedState {
    pub state: State,
    /// The day an axis was released.
    #[serde(rename = "released_on")]
    pub released: Option<String>,
    /// The largest step of a joint's grooves.
    pub largest_step: Option<String>,
}

impl ComparedState {
    /// `conforming, largest step 0.012 mm`.
    pub fn line(&self) -> String {
        let released = self.released.as_ref().map(|day| format!(", released {day}"));
        let step = self.largest_step.as_ref().map(|step| format!(", largest step {step}"));
        format!("{}{}{}", self.state.word(), released.unwrap_or_default(), step.unwrap_or_default())
    }
}

pub(super) fn changes(before: Option<&Judged>, after: Option<&Judged>) -> Vec<StateChange> {
    let mut was = before.map(standings).unwrap_or_default();
    let mut all: Vec<StateChange> = Vec::new();
    for (address, now) in after.map(standings).unwrap_or_default() {
        let old = was.iter().position(|(known, _)| *known == address).map(|at| was.remove(at).1);
        all.push(StateChange { address, was: old, now: Some(now) });
    }
    all.extend(was.into_iter().map(|(address, old)| StateChange { address, was: Some(old), now: None }));
    all
}

/// Axes, each with its joints behind it.
fn standings(judged: &Judged) -> Vec<(String, ComparedState)> {
    let ledger = &judged.ledger;
    let machine = &ledger.machine;
    let mut all = Vec::new();
    for (index, axis) in machine.axes.iter().enumerate() {
        let release = release_of(ledger, index).and_then(|(record, _)| ledger.records[record].date);
        let standing = ComparedState {
            state: state(judged, &axis.name),
            released: release.map(|date| date.value.to_string()),
            largest_step: None,
        };
        all.push((axis.name.to_string(), standing));
        for rail in 0..axis.rails.len() {
            let id = RailId { axis: index, rail };
            for joint in 0..machine.rail(id).joints.len() {
                let address = machine.joint_address(id, joint);
                let steps = joint_state(ledger, id, joint).grooves;
                let steps = steps.iter().flatten().filter_map(mean_step).map(|step| step.magnitude_nm());
                let standing = ComparedState {
                    state: state(judged, &address),
                    released: None,
                    largest_step: steps.max().map(|step| Length(step).to_string()),
                };
                all.push((address, standing));
            }
        }
    }
    all
}

fn state(judged: &Judged, address: &str) -> State {
    State::at(&judged.ledger, &judged.findings, address)
}
