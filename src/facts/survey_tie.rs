//! A survey of some stations tied to what was known before it, by the stations of both that did not move in between.

use crate::calc::exact::Ratio;
use crate::calc::tie::{Fit, Free, Shared, fine};
use crate::calc::uncertainty::Uncertainty;
use crate::ledger::seal::limits_applying;
use crate::ledger::{Ledger, RailId, StationReading, SurveyKind};
use crate::quantity::Length;

use super::joined_doubt::JoinedDoubt;
use super::survey::{ReadStation, SurveyReadings, TiedSurvey, length, minus, reference, survey_at};
use super::survey_doubt::Doubt;

/// Why a survey of some stations is not tied to what was known before it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum TieError<'l> {
    /// Fewer stations of both stayed where they were than the fit needs.
    TooFew { ties: usize, needed: usize },
    /// The rail goes on beyond this station, and nothing beyond it ties.
    OneSided { end: &'l StationReading, before: bool },
    /// A station of both lies off the fit by more than both surveys leave open.
    Misfit { by: Length, within: Length, at: &'l StationReading, was: &'l StationReading },
    /// Its numbers are too great to be reckoned with.
    BeyondReckoning,
}

impl TieError<'_> {
    /// Behind `it is not tied to the one before:`.
    pub(crate) fn words(&self) -> String {
        match self {
            TieError::TooFew { ties, needed } => {
                let stations = if *ties == 1 { "station" } else { "stations" };
                format!("{ties} {stations} of both did not move in between, and {needed} are needed")
            }
            TieError::OneSided { end, before } => {
                let side = if *before { "before" } else { "beyond" };
                format!(
                    "no station {side} {} is of both and did not move in between, and the rail goes on there",
                    end.name
                )
            }
            TieError::Misfit { by, within, at, .. } => {
                format!("{} misfits by {by}, beyond U = {within} of the difference", at.name)
            }
            TieError::BeyondReckoning => "its numbers are beyond reckoning".into(),
        }
    }

    /// What would tie it.
    pub(crate) fn cure(&self) -> String {
        match self {
            TieError::TooFew { needed, .. } => format!(
                "read also stations that did not move since, on both sides of those that did: {needed} at least"
            ),
            TieError::OneSided { end, before: true } => {
                format!("read also a station before {} that did not move", end.name)
            }
            TieError::OneSided { end, before: false } => {
                format!("read also a station beyond {} that did not move", end.name)
            }
            TieError::Misfit { at, .. } => format!(
                "see to the gauge and its holder and read {} once more; where the rail was moved there, record what was loosened before this survey",
                at.name
            ),
            TieError::BeyondReckoning => "look for a reading in a wrong unit".into(),
        }
    }
}

/// What the method of a survey leaves free. A gap, and a height read from rail to rail, have no free slope; a straightness
/// has one, and so has a height read from a line of sight.
pub(super) fn free(ledger: &Ledger, kind: SurveyKind, surveys: &[&SurveyReadings]) -> Free {
    let sighted = |readings: &&SurveyReadings| {
        let gauge = readings.survey.gauge.as_ref().and_then(|name| ledger.shop.gauge(name));
        gauge.and_then(|gauge| gauge.kind.as_ref()).is_some_and(|kind| kind.as_str() == "laser")
    };
    match kind {
        SurveyKind::Gap => Free::Offset,
        SurveyKind::Height if !surveys.iter().any(sighted) => Free::Offset,
        SurveyKind::Height | SurveyKind::Straightness => Free::Line,
    }
}

/// The rails that a survey of a rail rests on.
fn rails_read(ledger: &Ledger, id: RailId, kind: SurveyKind) -> impl Iterator<Item = RailId> + use<> {
    let other = (kind != SurveyKind::Straightness).then(|| reference(ledger, id)).flatten();
    std::iter::once(id).chain(other)
}

/// Whether the rails lay at a place as before when it was read again: nothing beside it was loosened or shimmed in between,
/// and nothing that holds it got its first full torque.
fn unmoved(ledger: &Ledger, id: RailId, kind: SurveyKind, at: Length, (earlier, later): (usize, usize)) -> bool {
    rails_read(ledger, id, kind).all(|rail| {
        let loosened = |support: usize| {
            let mut events = ledger.history(rail).supports[support].iter();
            events.any(|it| it.undoes() && ledger.after(it.record, earlier) && ledger.after(later, it.record))
        };
        let tightened =
            |support: usize| ledger.tight(rail, support, Some(later)) && !ledger.tight(rail, support, Some(earlier));
        !ledger.adjoining(rail, at).any(loosened) && !ledger.holding(rail, at).any(tightened)
    })
}

/// What a survey of some stations makes of what was known before it: its stations moved by what the method leaves free, and
/// those of before that `left` says it did not read again.
pub(crate) fn tied<'l>(
    ledger: &'l Ledger,
    id: RailId,
    before: &SurveyReadings<'l>,
    later: &SurveyReadings<'l>,
    left: impl Fn(&ReadStation<'l>) -> bool,
) -> Result<SurveyReadings<'l>, TieError<'l>> {
    let kind = later.kind();
    let free = free(ledger, kind, &[before, later]);
    let known = |station: &ReadStation| before.at(station.row.position).copied();
    let shared: Vec<(ReadStation, ReadStation)> = later
        .stations
        .iter()
        .filter_map(|now| Some((known(now)?, *now)))
        .filter(|(was, now)| unmoved(ledger, id, kind, now.row.position, (was.record, later.record)))
        .collect();
    let needed = free.parameters() + 1;
    if shared.len() < needed {
        return Err(TieError::TooFew { ties: shared.len(), needed });
    }
    let changes: Vec<Shared> = shared
        .iter()
        .map(|(was, now)| Shared { position_nm: now.row.position.nm(), change: minus(now.value, was.value) })
        .collect();
    let fit = Fit::new(free, &changes).ok_or(TieError::BeyondReckoning)?;
    let (shared_doubt, reading) = agree(ledger, id, before, later, &shared, &fit)?;
    both_sides(before, later, &shared)?;
    let mut stations: Vec<ReadStation<'l>> = before.stations.iter().filter(|station| left(station)).copied().collect();
    for now in &later.stations {
        let moved = fit.at(now.row.position.nm()).and_then(|off| fine(now.value.minus(off)?));
        stations.push(ReadStation { value: moved.ok_or(TieError::BeyondReckoning)?, ..*now });
    }
    stations.sort_by_key(|station| station.row.position);
    let at = shared.iter().map(|(was, now)| (was.row, now.row)).collect();
    let tie = TiedSurvey { record: later.record, at, fit, shared: shared_doubt, reading };
    before.with_tied(later, tie, stations).ok_or(TieError::BeyondReckoning)
}

/// There are ties before the first and behind the last station that may have moved, wherever more is known of the rail
/// there. Where none has moved, all that was read is held against what was known.
fn both_sides<'l>(
    before: &SurveyReadings<'l>,
    later: &SurveyReadings<'l>,
    shared: &[(ReadStation<'l>, ReadStation<'l>)],
) -> Result<(), TieError<'l>> {
    let is_tie = |it: &&ReadStation| shared.iter().any(|(_, now)| now.row.position == it.row.position);
    let mut moved = later.stations.iter().filter(|it| !is_tie(it));
    let first = moved.next().or(later.stations.first());
    let last = moved.next_back().or(first.filter(|it| !is_tie(it))).or(later.stations.last());
    let (Some(first), Some(last)) = (first, last) else { return Err(TieError::BeyondReckoning) };
    let (from, to) = (first.row.position, last.row.position);
    let goes_on = |beyond: &dyn Fn(Length) -> bool| before.stations.iter().any(|it| beyond(it.row.position));
    let tied = |beyond: &dyn Fn(Length) -> bool| shared.iter().any(|(_, now)| beyond(now.row.position));
    if goes_on(&|at| at < from) && !tied(&|at| at < from) {
        return Err(TieError::OneSided { end: first.row, before: true });
    }
    if goes_on(&|at| at > to) && !tied(&|at| at > to) {
        return Err(TieError::OneSided { end: last.row, before: false });
    }
    Ok(())
}

/// The ties agree within U of the difference; then what all tied stations have in common, and what each has by itself.
fn agree<'l>(
    ledger: &'l Ledger,
    id: RailId,
    before: &SurveyReadings<'l>,
    later: &SurveyReadings<'l>,
    shared: &[(ReadStation<'l>, ReadStation<'l>)],
    fit: &Fit,
) -> Result<(JoinedDoubt<'l>, JoinedDoubt<'l>), TieError<'l>> {
    let rulebook = limits_applying(ledger, id.axis);
    let of_later = Doubt::for_survey(ledger, rulebook, later.survey);
    let (mut common, mut single) = (JoinedDoubt::default(), JoinedDoubt::default());
    let mut worst: Option<(Ratio, Length, &ReadStation<'l>, &ReadStation<'l>)> = None;
    // Mostly all ties are of one survey.
    let mut known: Option<(usize, Doubt<'l>)> = None;
    for (was, now) in shared {
        let of_before = match known {
            Some((record, doubt)) if record == was.record => doubt,
            _ => {
                let survey = survey_at(ledger, was.record).ok_or(TieError::BeyondReckoning)?;
                let doubt = Doubt::for_survey(ledger, rulebook, survey);
                known = Some((was.record, doubt));
                single = single.or_less_sure(doubt.reading());
                doubt
            }
        };
        let earlier = of_before.shared().and(&before.tie_doubt(was));
        // A difference from the other ties in both surveys: the shared part once, each reading by itself.
        let scatter = of_before.reading().and(&of_later.reading());
        let all = earlier.clone().and(&of_later.shared()).and(&scatter).and(&scatter);
        common = common.or_less_sure(earlier);
        // With k = 2: a scatter that is poorly known lets no worse misfit pass.
        let within = Length(Uncertainty::known(all.total().variance()).expanded());
        let off = fit.at(now.row.position.nm()).ok_or(TieError::BeyondReckoning)?;
        let by = minus(minus(now.value, was.value), off).abs();
        let beyond = by > Ratio::whole(within.nm().into());
        if beyond && worst.is_none_or(|(most, ..)| by > most) {
            worst = Some((by, within, was, now));
        }
    }
    match worst {
        Some((by, within, was, now)) => Err(TieError::Misfit { by: length(by), within, at: now.row, was: was.row }),
        None => Ok((common, single.and(&of_later.reading()))),
    }
}
