//! What is still to be done or read, in the order of work: what a person is asked for next, and what an editor offers.

use crate::facts::shim_plan::shim_plan;
use crate::facts::steps::joint_state;
use crate::facts::survey_state::CurrentSurveys;
use crate::ledger::{EventKind, Interface, RailId, Stage, SurveyKind, SurveyStage};
use crate::quantity::Length;
use crate::rules::Case;
use crate::views::traveler::order;

/// Supports whose bolts still want a stage, in the order of work.
pub(crate) fn supports(case: &Case, id: RailId, interface: Interface, stage: Stage) -> Vec<usize> {
    let held = |support, stage| case.held(id, support, interface, stage).iter().all(Option::is_some);
    let done = |support: &usize| held(*support, stage) || stage == Stage::Snug && held(*support, Stage::Full);
    order(case.machine.rail(id)).into_iter().filter(|support| !done(support)).collect()
}

/// Joints without an inspection that still stands.
pub(crate) fn joints(case: &Case) -> Vec<(RailId, usize)> {
    let all = case.rails().flat_map(|(id, _, rail)| (0..rail.joints.len()).map(move |joint| (id, joint)));
    let open = |(id, joint): &(RailId, usize)| {
        let state = joint_state(case.ledger, *id, *joint);
        let undone = state
            .records()
            .iter()
            .any(|record| case.joint_undone(*id, *joint, *record).is_some_and(|undone| undone.distance < 2));
        undone || state.light.is_none() || state.grooves.iter().any(Option::is_none)
    };
    all.filter(open).collect()
}

/// The rails that a gap is read along: not the one that others follow, where there is one.
pub(crate) fn gap_rails(case: &Case) -> Vec<RailId> {
    let rails = || case.rails().map(|(id, _, rail)| (id, rail.follows.is_some()));
    let following: Vec<RailId> = rails().filter(|(_, follows)| *follows).map(|(id, _)| id).collect();
    let alone = |id: RailId| !following.iter().any(|other| other.axis == id.axis);
    rails().filter(|(id, follows)| *follows || alone(*id)).map(|(id, _)| id).collect()
}

/// The stage that the next survey of a rail most likely has.
pub(crate) fn survey_stage(case: &Case, id: RailId, kind: SurveyKind) -> SurveyStage {
    let Some(record) = CurrentSurveys::for_rail(case.ledger, id, kind).as_fitted else {
        return SurveyStage::AsFitted;
    };
    let mut events = case.history(id).supports.all().iter();
    let shimmed = events.any(|event| event.what == EventKind::Shimmed && case.after(event.record, record));
    if shimmed { SurveyStage::Verification } else { SurveyStage::AsFitted }
}

/// The leaves that then lie under each support of the shim plan.
pub(crate) fn shims(case: &Case, id: RailId) -> Vec<(usize, Vec<Length>)> {
    let Ok(plan) = shim_plan(case.ledger, id, case.today) else { return Vec::new() };
    let Ok(best) = &plan.best else { return Vec::new() };
    plan.put_in(&best.stacks).map(|(row, leaves)| (row.support, leaves)).collect()
}
