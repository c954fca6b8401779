//! The four steps of a joint as they are known now, and what `calc` says of them.

use smallvec::SmallVec;

use crate::calc::exact::Surd;
use crate::calc::grooves::{FlankSide, GaugePlus, GrooveFacing, GrooveSteps, Patterns, StylusDirection};
use crate::calc::step::MeanStep;
use crate::ledger::{self, Body, Groove, GrooveReading, Inspect, Ledger, PlusDirection, RailId};
use crate::quantity::Length;

/// The inspection record that counts for one groove or the light of a joint.
#[derive(Clone, Copy)]
pub struct Latest<'l, T> {
    /// The index of the record.
    pub record: usize,
    pub inspect: &'l Inspect,
    pub what: T,
}

/// What is on record about a joint now: of each groove and of the light the latest word.
pub struct JointState<'l> {
    pub grooves: [Option<Latest<'l, &'l GrooveReading>>; 4],
    /// Whether light was seen.
    pub light: Option<Latest<'l, bool>>,
    /// The latest inspection of any kind.
    pub last: Option<usize>,
}

impl JointState<'_> {
    /// The records that something of it rests on, each once.
    pub fn records(&self) -> SmallVec<[usize; 5]> {
        let grooves = self.grooves.iter().flatten().map(|latest| latest.record);
        let mut all: SmallVec<[usize; 5]> = grooves.chain(self.light.map(|latest| latest.record)).collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

pub(crate) fn joint_state(ledger: &Ledger, id: RailId, joint: usize) -> JointState<'_> {
    let mut state = JointState { grooves: [None; 4], light: None, last: None };
    for &record in &ledger.history(id).inspections[joint] {
        let Body::Inspect(inspect) = &ledger.records[record].body else { continue };
        state.last = Some(record);
        for what in &inspect.grooves {
            state.grooves[what.groove as usize] = Some(Latest { record, inspect, what });
        }
        if let Some(light) = inspect.light {
            state.light = Some(Latest { record, inspect, what: light.value });
        }
    }
    state
}

/// The mean step that a groove's readings give; nothing where the row could not be read.
pub(crate) fn mean_step(reading: &Latest<&GrooveReading>) -> Option<MeanStep> {
    let (sum, count) = reading.what.steps();
    (count > 0).then_some(MeanStep { sum_nm: sum.nm(), count, slanted: is_slanted(reading.inspect) })
}

/// Whether the stylus stood across the groove's flank.
pub(crate) fn is_slanted(inspect: &Inspect) -> bool {
    inspect.stylus.is_some_and(|stylus| *stylus != ledger::Stylus::Normal)
}

/// The step of a groove with its sign: plus where the far rail's groove stands proud. Where nothing says which way the
/// gauge counts, outward is taken. What is held against the limit is its size.
pub(crate) fn signed_step(ledger: &Ledger, reading: &Latest<&GrooveReading>) -> Option<Length> {
    let mean = mean_step(reading)?;
    let inward = plus(ledger, reading.inspect) == Some(GaugePlus::Inward);
    let size = Length(mean.magnitude_nm());
    Some(if (mean.sum_nm < 0) == inward { size } else { -size })
}

/// A pattern or an offset to the nearest tenth of a micrometre: patterns are told, not judged, and √2 has no last digit.
pub(crate) fn nearest(surd: Surd) -> Length {
    Length((surd.to_f64() / 100.0).round() as i64 * 100)
}

/// Which way the gauge of an inspection counts, where it or the record says so.
pub(crate) fn plus(ledger: &Ledger, inspect: &Inspect) -> Option<GaugePlus> {
    let own = inspect.plus.map(|plus| plus.value);
    match own.or_else(|| ledger.shop.gauge(inspect.gauge.as_ref()?)?.plus.map(|plus| plus.value))? {
        PlusDirection::Outward => Some(GaugePlus::Outward),
        PlusDirection::Inward => Some(GaugePlus::Inward),
        _ => None,
    }
}

/// All four steps of a joint, as one set.
pub(crate) struct FourSteps<'l> {
    pub steps: GrooveSteps,
    /// What was read of each groove.
    pub readings: [Latest<'l, &'l GrooveReading>; 4],
    /// It is known which way the gauge counts, so that high and low, left and right can be told.
    pub signed: bool,
    /// The way the contact lines cross is stated; else outward is taken.
    pub contact: Option<GrooveFacing>,
    plus: GaugePlus,
    stylus: StylusDirection,
}

impl FourSteps<'_> {
    pub(crate) fn contact_or_outward(&self) -> GrooveFacing {
        self.contact.unwrap_or(GrooveFacing::Outward)
    }

    /// What a millimetre read of one groove alone does: all of it is linear.
    pub(crate) fn of_a_millimetre(&self, groove: Groove) -> Option<Patterns> {
        let mut one = [0; 4];
        one[groove as usize] = 1_000_000;
        let steps = GrooveSteps::new(one, self.plus, self.stylus).ok()?;
        Some(steps.patterns(self.contact_or_outward()))
    }
}

/// The four steps of a joint; nothing unless all four are read with one stylus and one sense of the gauge.
pub(crate) fn four_steps(ledger: &Ledger, id: RailId, joint: usize) -> Option<FourSteps<'_>> {
    let [Some(ul), Some(ur), Some(ll), Some(lr)] = joint_state(ledger, id, joint).grooves else { return None };
    let readings = [ul, ur, ll, lr];
    let mut differences = [0; 4];
    let mut how = None;
    for groove in Groove::ALL {
        let reading = readings[groove as usize];
        let mean = mean_step(&reading)?;
        let own = (plus(ledger, reading.inspect), reading.inspect.stylus.map_or(ledger::Stylus::Normal, |s| s.value));
        if *how.get_or_insert(own) != own {
            return None;
        }
        // To the next nanometre: the cause of a step is told, nothing is judged by it.
        differences[groove as usize] = mean.sum_nm / i64::try_from(mean.count).ok()?;
    }
    let (stated, stylus) = how?;
    let plus = stated.unwrap_or(GaugePlus::Outward);
    let stylus = match stylus {
        ledger::Stylus::Normal => StylusDirection::Square,
        ledger::Stylus::Horizontal => StylusDirection::Horizontal,
        ledger::Stylus::Vertical => StylusDirection::Vertical,
    };
    let steps = GrooveSteps::new(differences, plus, stylus).ok()?;
    let profile = ledger.machine.rail(id).profile.as_ref().and_then(|name| ledger.shop.profile(name));
    let contact = profile.and_then(|profile| profile.contact).map(|contact| match *contact {
        ledger::Contact::Outward => GrooveFacing::Outward,
        ledger::Contact::Inward => GrooveFacing::Inward,
    });
    Some(FourSteps { steps, readings, signed: stated.is_some(), contact, plus, stylus })
}

/// The side of a rail's datum face.
pub(crate) fn datum(ledger: &Ledger, id: RailId) -> Option<FlankSide> {
    ledger.machine.rail(id).datum.map(|side| match *side {
        ledger::Side::Left => FlankSide::Left,
        ledger::Side::Right => FlankSide::Right,
    })
}
