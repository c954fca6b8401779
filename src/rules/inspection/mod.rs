//! Rules about the inspection of joints: light, the four grooves, and what makes them stale.

pub mod groove_missing;
pub mod inspection_stale;
pub mod joint_step;
pub mod light_missing;

use crate::calc::step::MeanStep;
use crate::ledger::{Body, Groove, GrooveReading, Inspect, Ledger, RailId, Stylus};

/// The inspection record that counts for one groove or the light of a joint.
#[derive(Clone, Copy)]
pub(super) struct Latest<'l, T> {
    /// The index of the record.
    pub record: usize,
    pub inspect: &'l Inspect,
    pub what: T,
}

/// What is on record about a joint now: of each groove and of the light the latest word.
pub(super) struct JointState<'l> {
    pub grooves: [Option<Latest<'l, &'l GrooveReading>>; 4],
    /// Whether light was seen.
    pub light: Option<Latest<'l, bool>>,
    /// The latest inspection of any kind.
    pub last: Option<usize>,
}

impl JointState<'_> {
    /// The records that something of it rests on, each once.
    pub fn records(&self) -> Vec<usize> {
        let grooves = self.grooves.iter().flatten().map(|latest| latest.record);
        let mut all: Vec<usize> = grooves.chain(self.light.map(|latest| latest.record)).collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

pub(super) fn joint_state(ledger: &Ledger, id: RailId, joint: usize) -> JointState<'_> {
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
pub(super) fn mean_step(reading: &Latest<&GrooveReading>) -> Option<MeanStep> {
    let (sum, count) = reading.what.steps();
    let slanted = reading.inspect.stylus.is_some_and(|stylus| *stylus != Stylus::Square);
    (count > 0).then_some(MeanStep { sum_nm: sum.nm(), count, slanted })
}
use crate::ledger::Groove;

/// `UL, UR and LR`.
pub(super) fn named(grooves: &[Groove]) -> String {
    use crate::ledger::Word;
    let words: Vec<&str> = grooves.iter().map(|groove| groove.word()).collect();
    match words.split_last() {
        None => String::new(),
        Some((last, [])) => (*last).to_string(),
        Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
    }
}
