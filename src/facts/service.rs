//! When something was last done again on a released axis.
//!
//! What is proven by readings is closed by those alone that count as evidence: re-torque by full torques of every bolt,
//! re-inspect by light and four grooves of every joint, re-survey by surveys. A `service` line says that somebody was there and how far the
//! carriage had travelled; it closes only what has no readings. Where an axis has nothing that could be read, the line
//! is all there is.

use crate::language::rulebook::Rulebook;
use crate::ledger::{Axis, Body, Groove, Inspect, Interface, Ledger, RailId, Service, Stage, SurveyKind, Target, Task};
use crate::quantity::Travel;

use super::survey::reference;
use super::survey_limits::is_limited;
use super::survey_state::CurrentSurveys;

/// When a task was done last.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LastService {
    /// The oldest of the records that it rests on; the release where something was never done since.
    pub record: usize,
    pub released: bool,
    /// The distance travelled by then.
    pub travelled: Travel,
    /// A later service line that says it was done, though the readings do not cover the axis.
    pub unproven: Option<usize>,
}

/// The services of an axis since a release, in order.
pub(crate) fn services(ledger: &Ledger, axis: usize, release: usize) -> Vec<(usize, &Service)> {
    let all = ledger.timeline.order.iter().copied().filter(|at| ledger.after(*at, release));
    let of_axis = all.filter(|at| ledger.records[*at].target == Some(Target::Axis(axis)));
    of_axis
        .filter_map(|at| match &ledger.records[at].body {
            Body::Service(service) => Some((at, service)),
            _ => None,
        })
        .collect()
}

/// Which records count as evidence.
pub(crate) type CountsAsEvidence<'c> = &'c dyn Fn(usize) -> bool;

/// When a task was done last on an axis that was released.
pub(crate) fn last_done(
    ledger: &Ledger,
    rulebook: &Rulebook,
    axis: usize,
    release: usize,
    task: Task,
    counts: CountsAsEvidence,
) -> LastService {
    let services = services(ledger, axis, release);
    let of_task = |(_, service): &&(usize, &Service)| service.task.is_some_and(|of| *of == task);
    let line = services.iter().rev().find(of_task).map(|(at, _)| *at);
    let rank = |at: &usize| ledger.timeline.rank[*at];
    let since = |at: Option<usize>| at.filter(|at| ledger.after(*at, release)).unwrap_or(release);
    let proofs: Vec<usize> = match proofs(ledger, rulebook, axis, task, counts) {
        none if none.is_empty() => vec![since(line)],
        all => all.into_iter().map(since).collect(),
    };
    let oldest = proofs.iter().copied().min_by_key(rank).unwrap_or(release);
    let newest = proofs.into_iter().max_by_key(rank).unwrap_or(release);
    let released = oldest == release;
    LastService {
        record: oldest,
        released,
        travelled: if released { Travel::ZERO } else { travelled(ledger, &services, oldest, newest) },
        unproven: line.filter(|line| ledger.after(*line, oldest)),
    }
}

/// The distance travelled when work was done that took from one record to another: as first read on one of these days,
/// else as read last before.
fn travelled(ledger: &Ledger, services: &[(usize, &Service)], oldest: usize, newest: usize) -> Travel {
    let day = |at: usize| ledger.records[at].date.map(|date| date.date);
    let read = || services.iter().filter_map(|(at, service)| Some((day(*at), service.travelled?.value)));
    let during = read().find(|(on, _)| *on >= day(oldest) && *on <= day(newest));
    let before = || read().take_while(|(on, _)| *on < day(oldest)).last();
    during.or_else(before).map_or(Travel::ZERO, |(_, travelled)| travelled)
}

/// For all that a task reads on an axis, the latest record of each; empty where there is nothing to read.
fn proofs(
    ledger: &Ledger,
    rulebook: &Rulebook,
    index: usize,
    task: Task,
    counts: CountsAsEvidence,
) -> Vec<Option<usize>> {
    let axis = &ledger.machine.axes[index];
    let rails = (0..axis.rails.len()).map(|rail| RailId { axis: index, rail });
    match task {
        Task::ReTorque => rails.flat_map(|id| torques(ledger, id, counts)).collect(),
        Task::ReInspect => rails.flat_map(|id| inspections(ledger, id, counts)).collect(),
        Task::ReSurvey => rails.flat_map(|id| surveys(ledger, rulebook, axis, id, counts)).collect(),
        Task::Lubricate | Task::Reading => Vec::new(),
    }
}

fn torques(ledger: &Ledger, id: RailId, counts: CountsAsEvidence) -> Vec<Option<usize>> {
    let mut all = Vec::new();
    for (support, it) in ledger.machine.rail(id).supports.iter().enumerate() {
        let base = it.base_bolts.is_some().then_some(Interface::Base);
        for interface in [Some(Interface::Rail), base].into_iter().flatten() {
            let held = ledger.held_where(id, support, interface, Stage::Full, counts);
            all.extend(held.into_iter().map(|held| held.map(|held| held.record)));
        }
    }
    all
}

fn inspections(ledger: &Ledger, id: RailId, counts: CountsAsEvidence) -> Vec<Option<usize>> {
    let mut all = Vec::new();
    for joint in 0..ledger.machine.rail(id).joints.len() {
        let latest = |says: &dyn Fn(&Inspect) -> bool| {
            let records = ledger.history(id).inspections[joint].iter().rev().copied();
            let says = |record: &usize| matches!(&ledger.records[*record].body, Body::Inspect(it) if says(it));
            records.filter(says).find(|record| counts(*record))
        };
        for groove in Groove::ALL {
            all.push(latest(&|it| it.grooves.iter().any(|reading| reading.groove == groove)));
        }
        all.push(latest(&|it| it.light.is_some()));
    }
    all
}

/// The gap of a rail that follows another; height and straightness where a limit is stated; the straightness of a rail
/// alone where that is what was surveyed. Of surveys that are tied to each other the oldest one counts.
fn surveys(
    ledger: &Ledger,
    rulebook: &Rulebook,
    axis: &Axis,
    id: RailId,
    counts: CountsAsEvidence,
) -> Vec<Option<usize>> {
    let oldest = |of: &CurrentSurveys| {
        let records = of.records(of.latest().into_iter());
        let all_count = records.iter().all(|record| counts(*record));
        records.into_iter().filter(|_| all_count).min_by_key(|record| ledger.timeline.rank[*record])
    };
    let latest = |kind| oldest(&CurrentSurveys::for_rail(ledger, id, kind));
    let others = || (0..axis.rails.len()).map(|rail| RailId { axis: id.axis, rail });
    let mut all = Vec::new();
    if reference(ledger, id).is_some() {
        all.push(latest(SurveyKind::Gap));
        if is_limited(rulebook, SurveyKind::Height) {
            all.push(latest(SurveyKind::Height));
        }
    }
    let follows_none = others().all(|other| reference(ledger, other).is_none());
    let followed = others().any(|other| reference(ledger, other) == Some(id));
    let planes = CurrentSurveys::planes(ledger, id, SurveyKind::Straightness).into_iter().map(|plane| oldest(&plane));
    if is_limited(rulebook, SurveyKind::Straightness) && (followed || follows_none)
        || follows_none && planes.clone().any(|it| it.is_some())
    {
        all.extend(planes);
    }
    all
}
