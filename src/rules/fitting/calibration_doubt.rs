//! Which records a calibration throws into doubt that found its instrument wrong by a known error: those whose result the
//! error could turn, from inside its limit to beyond it or back.
//!
//! Where a difference is judged, both of its readings may be off, each the other way: a step, a gap, a height and the
//! width of a minimum zone move by up to twice the error, a force or a torque by the error itself.

use super::window::window;
use crate::calc::exact::Ratio;
use crate::calc::step::MeanStep;
use crate::facts::steps::{Latest, mean_step};
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{Body, CalibrationError, Fasten, RailId, Stage, SurveyKind};
use crate::quantity::{Force, Length, Torque};
use crate::rules::Case;
use crate::rules::quotient::WHOLE;

/// Whether an error of its instrument could turn what a record says, by the limits that apply to it.
pub(super) fn could_turn(case: &Case, limits: &Rulebook, index: usize, error: CalibrationError) -> bool {
    let record = &case.ledger.records[index];
    match (&record.body, error) {
        (Body::Inspect(inspect), CalibrationError::Length(error)) => {
            let Some((most, _)) = limits.most::<Length>(LimitName::JointStep) else { return false };
            let mut steps =
                inspect.grooves.iter().filter_map(|what| mean_step(&Latest { record: index, inspect, what }));
            steps.any(|step| step_turns(step, most, error))
        }
        (Body::Survey(_), CalibrationError::Length(error)) => survey_turns(case, limits, index, error),
        (Body::RunningForce(run), CalibrationError::Force(error)) => {
            let Some((most, _)) = limits.most::<Force>(LimitName::RunningForce) else { return false };
            run.readings.iter().any(|(_, force)| {
                let force = force.abs();
                if force <= most { force + error > most } else { force - error <= most }
            })
        }
        (Body::Fasten(fasten), CalibrationError::Share(share)) => {
            let Some((id, stage)) = record.rail().zip(fasten.stage) else { return false };
            torques_turn(case, fasten, (id, stage.value), share.0.into())
        }
        // An error that is not of the kind that the record reads: nobody can say what it turns.
        _ => true,
    }
}

/// Whether a difference that lies on one side of its limit could lie on the other.
fn crosses(found: Ratio, most: Length, error: Length) -> bool {
    let by = 2 * i128::from(error.nm());
    let most = i128::from(most.nm());
    if found <= Ratio::whole(most) { found > Ratio::whole(most - by) } else { found <= Ratio::whole(most + by) }
}

/// The same of a step: the error is one of the reading, of which a stylus held aslant shows √2 for each 1 of the step.
fn step_turns(step: MeanStep, most: Length, error: Length) -> bool {
    let over = step.over(most.nm());
    let read = step.sum_nm.saturating_abs();
    let by = error.nm().saturating_mul(2).saturating_mul(i64::try_from(step.count).unwrap_or(i64::MAX));
    let off = if over { read.saturating_sub(by).max(0) } else { read.saturating_add(by) };
    MeanStep { sum_nm: off, ..step }.over(most.nm()) != over
}

fn survey_turns(case: &Case, limits: &Rulebook, index: usize, error: Length) -> bool {
    let Some(readings) = case.readings(index) else { return false };
    let (limit, found) = match readings.kind() {
        SurveyKind::Gap => (LimitName::GapRange, Some(readings.range())),
        SurveyKind::Height => (LimitName::HeightRange, Some(readings.range())),
        // Through two stations there is always a line.
        SurveyKind::Straightness if readings.stations.len() < 3 => return false,
        SurveyKind::Straightness => (LimitName::Straightness, readings.zone()),
    };
    let Some((most, _)) = limits.most::<Length>(limit) else { return false };
    found.is_none_or(|found| crosses(found, most, error))
}

fn torques_turn(case: &Case, fasten: &Fasten, (id, stage): (RailId, Stage), share: i128) -> bool {
    let Some((least, most, _)) = window(case, id, fasten.interface, stage) else { return false };
    let inside = |torque: i128, ends: [i128; 2]| ends[0] <= torque && torque <= ends[1];
    let turns = |torque: Torque| {
        // In units of a thousand-millionth, so that a share of a torque is whole; beyond all reason anything may turn.
        let all = [torque.0, least.0, most.0].map(|it| it.checked_mul(WHOLE));
        let ([Some(read), Some(least), Some(most)], Some(by)) = (all, torque.0.checked_mul(share)) else { return true };
        let within = inside(read, [least, most]);
        within != inside(read.saturating_sub(by), [least, most])
            || within != inside(read.saturating_add(by), [least, most])
    };
    let read = fasten.torques.iter().flatten().map(|torque| torque.value);
    let set = fasten.setting.map(|setting| setting.value);
    let nothing = read.clone().next().is_none() && set.is_none();
    nothing || read.chain(set).any(turns)
}
