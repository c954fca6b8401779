//! The numbers that a record is judged by, each beside its limit: how much is left, and whether an error of the instrument
//! could turn the result from inside its limit to beyond it or back.
//!
//! Where a difference is judged, both of its readings may be off, each the other way: a step, a gap, a height and the
//! width of a minimum zone move by up to twice the error, a force or a torque by the error itself. Where angles are added up
//! it may be in each step: with n steps of a base b the zone moves by up to error × b × n/2. Where surveys are tied to each other
//! it is what they say together that is judged, and the error may be in each of them.

use crate::calc::exact::Ratio;
use crate::calc::step::MeanStep;
use crate::facts::local_limit::{HeldLocally, UnseenStretch, held_locally};
use crate::facts::proof::rise_of;
use crate::facts::steps::{Latest, mean_step};
use crate::facts::survey::{SurveyReadings, span_of_angles, survey_at};
use crate::facts::survey_limits::range_limit;
use crate::facts::torque_window::{shown, window};
use crate::language::rulebook::{LimitName, Rulebook};
use crate::ledger::{Body, CalibrationError, Fasten, Groove, Keyword as _, RailId, Stage, SurveyKind};
use crate::quantity::{Force, Length, Torque};
use crate::rules::Case;
use crate::rules::quotient::WHOLE;

/// One number of a record that a limit judges.
pub(crate) struct JudgedNumber {
    of: NumberOf,
    found: FoundNumber,
}

/// What is judged.
enum NumberOf {
    Step(Groove),
    Survey(SurveyKind),
    /// Within each stretch of a length.
    Local(SurveyKind, Length),
    ForceAt(Length),
    Bolt(String, usize),
    Setting,
}

/// A number beside its limit.
enum FoundNumber {
    Step {
        step: MeanStep,
        most: Length,
    },
    /// In nanometres.
    Length {
        found: Ratio,
        most: Length,
    },
    Force {
        found: Force,
        most: Force,
    },
    Torque {
        found: Torque,
        least: Torque,
        most: Torque,
    },
}

impl JudgedNumber {
    /// Whether it could lie on the other side of its limit.
    fn turns(&self, error: CalibrationError) -> bool {
        match (&self.found, error) {
            (FoundNumber::Step { step, most }, CalibrationError::Length(error)) => step_turns(*step, *most, error),
            (FoundNumber::Length { found, most }, CalibrationError::Length(error)) => crosses(*found, *most, error),
            (FoundNumber::Force { found, most }, CalibrationError::Force(error)) => {
                if found <= most {
                    *found + error > *most
                } else {
                    *found - error <= *most
                }
            }
            (FoundNumber::Torque { found, least, most }, CalibrationError::Share(share)) => {
                torque_turns(*found, [*least, *most], share.0.into())
            }
            // An error that is not of the kind that the record reads: nobody can say what it turns.
            _ => true,
        }
    }

    /// How far it is from the nearer end of its limit, in the small unit that it is kept in, and whether it lies inside.
    fn left(&self) -> (Ratio, bool) {
        match &self.found {
            FoundNumber::Step { step, most } => {
                let left = most.nm().saturating_sub(step.magnitude_nm()).saturating_abs();
                (Ratio::whole(left.into()), !step.over(most.nm()))
            }
            FoundNumber::Length { found, most } => {
                let most = Ratio::whole(most.nm().into());
                let left = most.minus(*found).map_or(Ratio::whole(i128::MAX), Ratio::abs);
                (left, *found <= most)
            }
            FoundNumber::Force { found, most } => (Ratio::whole((most.0 - found.0).abs()), found <= most),
            FoundNumber::Torque { found, least, most } => {
                let left = (found.0 - least.0).abs().min((most.0 - found.0).abs());
                (Ratio::whole(left), least <= found && found <= most)
            }
        }
    }

    /// As people say it: `step UL 0.018 mm, 0.002 mm inside at most 0.02 mm`.
    pub(crate) fn words(&self) -> String {
        let (left, inside) = self.left();
        let of = match &self.of {
            NumberOf::Step(groove) => format!("step {}", groove.word()),
            NumberOf::Survey(kind) => kind.word().to_string(),
            NumberOf::Local(kind, over) => format!("{} over {over}", kind.word()),
            NumberOf::ForceAt(at) => format!("force at {at}"),
            NumberOf::Bolt(support, bolt) => format!("bolt {} of {support}", bolt + 1),
            NumberOf::Setting => "set to".to_string(),
        };
        let whole = left.floor();
        let small = i64::try_from(whole).unwrap_or(i64::MAX);
        let (found, left, limit) = match &self.found {
            FoundNumber::Step { step, most } => {
                (Length(step.magnitude_nm()).to_string(), Length(small).to_string(), format!("at most {most}"))
            }
            FoundNumber::Length { found, most } => {
                let found = Length(i64::try_from(found.away_from_zero()).unwrap_or(i64::MAX));
                (found.to_string(), Length(small).to_string(), format!("at most {most}"))
            }
            FoundNumber::Force { found, most } => {
                (found.to_string(), Force(whole).to_string(), format!("at most {most}"))
            }
            FoundNumber::Torque { found, least, most } => {
                (shown(*found), shown(Torque(whole)), format!("{} to {}", shown(*least), shown(*most)))
            }
        };
        format!("{of} {found}, {left} {} {limit}", if inside { "inside" } else { "beyond" })
    }
}

/// The numbers that a record is judged by, by the limits that apply to it: none where nothing limits them. Nothing where one
/// cannot be worked out, so that nobody can say how it stands.
fn numbers(case: &Case, limits: &Rulebook, index: usize) -> Option<Vec<JudgedNumber>> {
    let record = &case.ledger.records[index];
    let mut all = Vec::new();
    match &record.body {
        Body::Inspect(inspect) => {
            let Some((most, _)) = limits.most::<Length>(LimitName::JointStep) else { return Some(all) };
            for what in &inspect.grooves {
                let Some(step) = mean_step(&Latest { record: index, inspect, what }) else { continue };
                all.push(JudgedNumber { of: NumberOf::Step(what.groove), found: FoundNumber::Step { step, most } });
            }
        }
        Body::Survey(_) => {
            for readings in states_with(case, index) {
                all.extend(survey_numbers(limits, readings)?);
            }
        }
        Body::RunningForce(run) => {
            let Some((most, _)) = limits.most::<Force>(LimitName::RunningForce) else { return Some(all) };
            all.extend(run.rows.iter().map(|row| JudgedNumber {
                of: NumberOf::ForceAt(*row.position),
                found: FoundNumber::Force { found: row.size(), most },
            }));
        }
        Body::Fasten(fasten) => {
            let Some((id, stage)) = record.rail().zip(fasten.stage) else { return Some(all) };
            return torques(case, limits, fasten, (id, stage.value));
        }
        _ => {}
    }
    Some(all)
}

/// What a survey is judged by: itself, together with those that it is tied to; and where later ones are tied to it, what they say
/// with it.
fn states_with<'c, 'l>(case: &'c Case<'l>, index: usize) -> Vec<&'c SurveyReadings<'l>> {
    let mut states: Vec<_> = case.state(index).into_iter().collect();
    let Some((id, kind)) = case.records[index].rail().zip(states.first().map(|own| own.kind())) else { return states };
    for plane in case.planes(id, kind) {
        let tied = plane.all().filter(|record| *record != index).filter_map(|record| plane.tied(record));
        states.extend(tied.filter(|state| state.records().contains(&index)));
    }
    states
}

/// The numbers that surveys are judged by together; nothing where one cannot be worked out.
fn survey_numbers(limits: &Rulebook, readings: &SurveyReadings) -> Option<Vec<JudgedNumber>> {
    let (mut all, kind) = (Vec::new(), readings.kind());
    let found = match kind {
        SurveyKind::Gap | SurveyKind::Height => Some(readings.range()),
        // Through two stations there is always a line.
        SurveyKind::Straightness if readings.stations.len() < 3 => return Some(all),
        SurveyKind::Straightness => readings.zone(),
    };
    if let Some((most, _)) = limits.most::<Length>(range_limit(kind)) {
        all.push(JudgedNumber { of: NumberOf::Survey(kind), found: FoundNumber::Length { found: found?, most } });
    }
    if let Some(HeldLocally { most, over, seen }) = held_locally(limits, readings) {
        if seen.passed_over == Some(UnseenStretch::Stretches) {
            return None;
        }
        all.extend(seen.worst.map(|worst| {
            let found = FoundNumber::Length { found: worst.width, most };
            JudgedNumber { of: NumberOf::Local(kind, over), found }
        }));
    }
    Some(all)
}

/// How far an error of the gauge of one survey may move each station of all that are tied to each other, of whose differences it
/// moves twice as much. Nothing where nobody can say.
///
/// It may be in each survey that this gauge read, and each tie hands on what is wrong in both of its surveys: a line that is fitted
/// to n errors is off by no more than √n times the root of its leverage (by Cauchy and Schwarz).
fn moved_by(case: &Case, readings: &SurveyReadings, index: usize, error: CalibrationError) -> Option<Length> {
    let gauge = survey_at(case.ledger, index)?.gauge.as_ref()?;
    let own = |record: usize| {
        let survey = survey_at(case.ledger, record)?;
        match error {
            _ if survey.gauge.as_ref().is_none_or(|of| **of != **gauge) => Some(0.0),
            CalibrationError::Length(error) if survey.angles.is_none() => Some(error.nm() as f64),
            // Leaning to the worse side in each step it bends the line by a half of it over the span, a quarter either way.
            CalibrationError::Angle(error) if survey.angles.is_some() => {
                Some(rise_of(error, span_of_angles(survey)?).nm() as f64 / 4.0)
            }
            _ => None,
        }
    };
    let mut known = 0.0_f64;
    for record in readings.records() {
        let own = own(record)?;
        let Some(tie) = readings.ties.iter().find(|tie| tie.record == record) else {
            known = known.max(own);
            continue;
        };
        let mut most = 0.0_f64;
        for station in readings.stations.iter().filter(|station| station.record == record) {
            most = most.max(tie.fit.leverage(station.row.position.nm())?.to_f64());
        }
        let handed_on = (tie.at.len() as f64 * most).sqrt();
        known = known.max(own + handed_on * (own + known));
    }
    // Whole nanometres as they are, in spite of floats; else up.
    Some(Length((known - 1e-6).ceil() as i64))
}

fn torques(case: &Case, limits: &Rulebook, fasten: &Fasten, (id, stage): (RailId, Stage)) -> Option<Vec<JudgedNumber>> {
    let Some((least, most, _)) = window(case.ledger, limits, id, fasten.interface, stage) else {
        return Some(Vec::new());
    };
    let found = |found: Torque| FoundNumber::Torque { found, least, most };
    let of_row = |row: &crate::ledger::FastenRow| {
        let name = &case.machine.rail(id).supports[row.support].name;
        let read = fasten.torques_of(row).iter().enumerate();
        let read = read.filter_map(|(bolt, torque)| Some((bolt, torque.as_ref()?.value)));
        let number = |(bolt, torque)| JudgedNumber { of: NumberOf::Bolt(name.to_string(), bolt), found: found(torque) };
        read.map(number).collect::<Vec<_>>()
    };
    let mut all: Vec<JudgedNumber> = fasten.rows.iter().flat_map(of_row).collect();
    all.extend(fasten.setting.map(|set| JudgedNumber { of: NumberOf::Setting, found: found(set.value) }));
    (!all.is_empty()).then_some(all)
}

/// Whether an error of its instrument could turn what a record says, by the limits that apply to it.
pub(super) fn could_turn(case: &Case, limits: &Rulebook, index: usize, error: CalibrationError) -> bool {
    let body = &case.ledger.records[index].body;
    if let Body::Survey(_) = body {
        let turns = |readings: &SurveyReadings| {
            let moved = moved_by(case, readings, index, error).map(CalibrationError::Length);
            let numbers = moved.zip(survey_numbers(limits, readings));
            numbers.is_none_or(|(moved, all)| all.iter().any(|number| number.turns(moved)))
        };
        return states_with(case, index).into_iter().any(turns);
    }
    let counted = matches!(
        (body, error),
        (Body::Inspect(_), CalibrationError::Length(_))
            | (Body::RunningForce(_), CalibrationError::Force(_))
            | (Body::Fasten(_), CalibrationError::Share(_))
    );
    !counted || numbers(case, limits, index).is_none_or(|all| all.iter().any(|number| number.turns(error)))
}

impl Case<'_> {
    /// The number of a record that lies nearest its limit; nothing where no limit judges it, or it cannot be worked out.
    pub(crate) fn nearest_limit(&self, index: usize) -> Option<JudgedNumber> {
        let limits = match self.ledger.records[index].target {
            Some(target) => self.limits(target.axis()),
            None => &self.ledger.rulebook,
        };
        let all = numbers(self, limits, index)?;
        // Of several that are beyond it the farthest one.
        all.into_iter().min_by_key(|number| {
            let (left, inside) = number.left();
            if inside { (true, left) } else { (false, Ratio::whole(0).minus(left).unwrap_or(left)) }
        })
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

fn torque_turns(torque: Torque, [least, most]: [Torque; 2], share: i128) -> bool {
    let inside = |torque: i128, ends: [i128; 2]| ends[0] <= torque && torque <= ends[1];
    // In units of a thousand-millionth, so that a share of a torque is whole; beyond all reason anything may turn.
    let all = [torque.0, least.0, most.0].map(|it| it.checked_mul(WHOLE));
    let ([Some(read), Some(least), Some(most)], Some(by)) = (all, torque.0.checked_mul(share)) else { return true };
    let within = inside(read, [least, most]);
    within != inside(read.saturating_sub(by), [least, most]) || within != inside(read.saturating_add(by), [least, most])
}
