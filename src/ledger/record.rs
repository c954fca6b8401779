//! What was done and read: one struct a kind of record, each fact with its place.

use smallvec::SmallVec;

use super::address::Target;
use super::joint_end::JointEnd;
use super::machine::{Interface, RailId, Task};
use super::shop::PlusDirection;
use super::spanned::{Name, Spanned, words};
use crate::calc::exact::Ratio;
use crate::finding::Place;
use crate::quantity::{Angle, Force, Length, Moment, Temperature, Torque, Travel};

words!(
    /// The two stages of tightening.
    Stage { Snug = "snug", Full = "full" }
);
words!(
    /// How the stylus stands at the groove.
    Stylus { Normal = "normal", Horizontal = "horizontal", Vertical = "vertical" }
);
words!(
    /// What a survey read.
    SurveyKind { Gap = "gap", Straightness = "straightness", Height = "height" }
);
words!(
    /// When a survey was made.
    SurveyStage {
        AsFitted = "as-fitted",
        Verification = "verification",
        Service = "service",
        /// Read at snug torque while the rail is set: kept and shown, and never judged.
        Aligning = "aligning",
    }
);
words!(
    /// When a joint was read that is not judged.
    InspectStage {
        /// At snug torque while the rail is set: kept and shown, and never judged.
        Aligning = "aligning",
    }
);
words!(
    /// What was done about something that was held, in the words of ISO 9000:2015, 3.12.
    Disposition { Rework = "rework", Repair = "repair", Concession = "concession", Regrade = "regrade", Scrap = "scrap" }
);
words!(
    /// The four grooves as seen along increasing axis position.
    Groove { UL = "UL", UR = "UR", LL = "LL", LR = "LR" }
);

impl SurveyKind {
    pub const ALL: [SurveyKind; 3] = [SurveyKind::Gap, SurveyKind::Straightness, SurveyKind::Height];
}

impl Groove {
    pub const ALL: [Groove; 4] = [Groove::UL, Groove::UR, Groove::LL, Groove::LR];
}

/// One record.
#[derive(Clone, Debug)]
pub struct Record {
    /// The word it is written with: `fasten`.
    pub kind: &'static str,
    /// Its head.
    pub place: Place,
    /// The whole node, block included.
    pub whole: Place,
    /// Its text has a fault: something it says may be missing here.
    pub damaged: bool,
    /// What it is about, as written.
    pub on: Option<Spanned<Name>>,
    pub target: Option<Target>,
    /// What it is about went or was changed since.
    pub history: bool,
    /// When it was done: its own date; a correction's is that of the record it stands for.
    pub date: Option<Spanned<Moment>>,
    /// Its date as it is written there.
    pub written: Option<Spanned<Moment>>,
    /// The moment of the record that it replaces.
    pub replaces: Option<Spanned<Moment>>,
    /// The index of the record whose place it takes.
    pub stands_for: Option<usize>,
    pub by: Option<Spanned<Name>>,
    pub notes: Vec<Spanned<Name>>,
    pub body: Body,
    /// The index of the void that withdrew it, or of the correction that took its place.
    pub void: Option<usize>,
}

#[derive(Clone, Debug)]
pub enum Body {
    Fasten(Fasten),
    Inspect(Inspect),
    Survey(Survey),
    Loosen(Loosen),
    Shim(Shim),
    Receive(Receive),
    RunningForce(RunningForce),
    Attach(Attach),
    Void(Void),
    Concession(Concession),
    Release(Release),
    Service(Service),
    Hold(Hold),
    Lift(Lift),
}

#[derive(Clone, Debug)]
pub struct Fasten {
    pub stage: Option<Spanned<Stage>>,
    pub interface: Interface,
    pub wrench: Option<Spanned<Name>>,
    pub setting: Option<Spanned<Torque>>,
    pub temperature: Option<Spanned<Temperature>>,
    /// Support by support in the order they were done.
    pub rows: Vec<FastenRow>,
    /// The torques of all rows, blanks among them; each row's own lie together.
    pub torques: Vec<Option<Spanned<Torque>>>,
    /// Bolts that did not click: support, bolt counted from 0; in that order.
    pub missed: Vec<Spanned<(usize, usize)>>,
    /// Bolts that turned before they held, in the same way.
    pub turned: Vec<Spanned<(usize, usize)>>,
    /// What was read at supports that were moved or went since.
    pub former: Vec<FormerRow<Torque>>,
    /// Some of what it names went since, and stands in no row.
    pub went: bool,
}

/// A row at a support that was moved or went since: where it stood on the day, and no part of what is there now.
#[derive(Clone, Debug)]
pub struct FormerRow<A> {
    pub place: Place,
    pub name: Name,
    pub position: Length,
    /// What was read, blanks among it.
    pub values: SmallVec<[Option<Spanned<A>>; 2]>,
}

impl Fasten {
    /// The torques of one of its rows, nothing where a bolt is still to be done; none where they clicked.
    #[inline]
    pub fn torques_of(&self, row: &FastenRow) -> &[Option<Spanned<Torque>>] {
        match row.what {
            TorqueReading::Clicked => &[],
            TorqueReading::Read { first, last } => self.torques.get(first as usize..last as usize).unwrap_or_default(),
        }
    }
}

#[derive(Clone, Debug)]
pub struct FastenRow {
    pub support: usize,
    pub place: Place,
    pub what: TorqueReading,
}

impl FastenRow {
    /// How many torques it has, blanks counted; none where it clicked.
    pub fn readings(&self) -> usize {
        match self.what {
            TorqueReading::Clicked => 0,
            TorqueReading::Read { first, last } => (last - first) as usize,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TorqueReading {
    /// All bolts clicked at the setting.
    Clicked,
    /// One torque a bolt was read: which ones of the record, see [`Fasten::torques_of`].
    Read { first: u32, last: u32 },
}

#[derive(Clone, Debug, Default)]
pub struct Inspect {
    pub stage: Option<Spanned<InspectStage>>,
    pub gauge: Option<Spanned<Name>>,
    pub temperature: Option<Spanned<Temperature>>,
    pub plus: Option<Spanned<PlusDirection>>,
    pub stylus: Option<Spanned<Stylus>>,
    pub position: Option<Spanned<Length>>,
    pub reach: Option<Spanned<Length>>,
    pub travel: Option<Spanned<Length>>,
    /// Whether light was seen.
    pub light: Option<Spanned<bool>>,
    pub feeler: Option<Spanned<Length>>,
    pub grooves: Vec<GrooveReading>,
}

#[derive(Clone, Debug)]
pub struct GrooveReading {
    pub groove: Groove,
    pub place: Place,
    /// One reading on either side of the joint, the one before it first; more than one pair are repeats; none where the row
    /// cannot be read.
    pub pairs: SmallVec<[(Spanned<Length>, Spanned<Length>); 1]>,
}

impl GrooveReading {
    /// The sum of all steps and their number: the mean step is their quotient.
    pub fn steps(&self) -> (Length, usize) {
        (self.pairs.iter().map(|(before, after)| after.value - before.value).sum(), self.pairs.len())
    }
}

#[derive(Clone, Debug)]
pub struct Survey {
    pub kind: Option<Spanned<SurveyKind>>,
    pub stage: Option<Spanned<SurveyStage>>,
    pub gauge: Option<Spanned<Name>>,
    pub temperature: Option<Spanned<Temperature>>,
    pub plus: Option<Spanned<PlusDirection>>,
    /// What was read are angles from station to station, and not how far each lies.
    pub angles: Option<Box<AngleSteps>>,
    /// In the order they were read.
    pub stations: Vec<StationReading>,
    /// Those at supports that were moved or went since, or of rails that went: where they lay on the day, and no part of how
    /// the rail lies now.
    pub former: Vec<StationReading>,
    pub closure: Option<StationReading>,
    /// The same, where what lay there is there no more.
    pub former_closure: Option<StationReading>,
}

/// How the steps lie whose angles a survey reads: each station is where a step ends.
#[derive(Clone, Debug)]
pub struct AngleSteps {
    pub place: Place,
    /// Where the first step begins. Nothing is read there.
    pub from: StationReading,
    /// What lay there is there still.
    pub from_stands: bool,
    /// How long each step is.
    pub base: Spanned<Length>,
}

#[derive(Clone, Debug)]
pub struct StationReading {
    pub place: Place,
    /// The support it is at, where it is one; of an end in a joint the one under the joint.
    pub support: Option<usize>,
    pub position: Length,
    /// The end in a joint that it names.
    pub end: Option<JointEnd>,
    /// As people say it: `S4`, `J1-`, or the position.
    pub name: Name,
    /// The readings with their places; blanks are left out.
    pub readings: SmallVec<[Spanned<Length>; 1]>,
    /// The same where angles were read: how the step that ends here leans.
    pub angles: SmallVec<[Spanned<Angle>; 1]>,
    /// It has a blank.
    pub blank: bool,
}

impl StationReading {
    /// A length or an angle was read there.
    pub fn is_read(&self) -> bool {
        !self.readings.is_empty() || !self.angles.is_empty()
    }

    /// The mean of the repeats as a sum and a count; nothing where there is no reading.
    pub fn mean(&self) -> Option<(Length, usize)> {
        (!self.readings.is_empty())
            .then(|| (self.readings.iter().map(|reading| reading.value).sum(), self.readings.len()))
    }
}

#[derive(Clone, Debug)]
pub struct Loosen {
    pub reason: Option<Spanned<Name>>,
    /// Which bolts; nothing means both.
    pub interface: Option<Interface>,
    pub supports: Vec<Spanned<usize>>,
}

#[derive(Clone, Debug)]
pub struct Shim {
    pub rows: Vec<ShimRow>,
    /// What was put under supports that were moved or went since.
    pub former: Vec<FormerRow<Length>>,
}

#[derive(Clone, Debug)]
pub struct ShimRow {
    pub support: usize,
    pub place: Place,
    /// The leaves that lie there now, those of zero left out.
    pub leaves: SmallVec<[Spanned<Length>; 2]>,
}

impl ShimRow {
    pub fn total(&self) -> Length {
        self.leaves.iter().map(|leaf| leaf.value).sum()
    }
}

#[derive(Clone, Debug)]
pub struct Receive {
    /// The number on the delivery note.
    pub delivery: Option<Spanned<Name>>,
    pub parts: Vec<ReceivedPart>,
}

#[derive(Clone, Debug, Default)]
pub struct ReceivedPart {
    pub place: Place,
    pub serial: Option<Spanned<Name>>,
    pub lot: Option<Spanned<Name>>,
    pub near_mark: Option<Spanned<Name>>,
    pub far_mark: Option<Spanned<Name>>,
    pub profile: Option<Spanned<Name>>,
    pub length: Option<Spanned<Length>>,
    pub rejected: bool,
}

#[derive(Clone, Debug)]
pub struct RunningForce {
    pub gauge: Option<Spanned<Name>>,
    /// Place by place, each with at least one reading.
    pub rows: Vec<ForceRow>,
}

impl RunningForce {
    /// All that was read, place by place.
    pub fn forces(&self) -> impl Iterator<Item = &Spanned<Force>> + Clone {
        self.rows.iter().flat_map(|row| &row.forces)
    }
}

/// What it took to push the carriage at one place.
#[derive(Clone, Debug)]
pub struct ForceRow {
    pub place: Place,
    pub position: Spanned<Length>,
    /// More than one are repeats.
    pub forces: SmallVec<[Spanned<Force>; 1]>,
}

impl ForceRow {
    /// Its size as it is told: of repeats rounded up to a millionth of a newton.
    pub fn told(&self) -> Force {
        let size = self.size();
        if self.forces.len() > 1 { Force::of_micronewtons(size.micronewtons()) } else { size }
    }

    /// The mean size of its readings, whichever way each pulls. It is rounded up to the smallest unit, so that it is over a
    /// limit just where the mean is.
    pub fn size(&self) -> Force {
        let sum: i128 = self.forces.iter().map(|force| force.abs().0).fold(0, i128::saturating_add);
        Force(Ratio::new(sum, self.forces.len().max(1) as i128).map_or(sum, Ratio::away_from_zero))
    }
}

#[derive(Clone, Debug)]
pub struct Attach {
    pub file: Option<Spanned<Name>>,
    pub sha256: Option<Spanned<Name>>,
}

#[derive(Clone, Debug)]
pub struct Void {
    pub kind: Option<Spanned<Name>>,
    pub of: Option<Spanned<Moment>>,
    pub reason: Option<Spanned<Name>>,
    /// What else it says of the record, where kind, subject and moment could mean several.
    pub stage: Option<Spanned<Name>>,
    pub interface: Option<Spanned<Name>>,
    pub survey: Option<Spanned<Name>>,
    pub rule: Option<Spanned<Name>>,
    pub task: Option<Spanned<Name>>,
    /// The file it stands in.
    pub file: Option<Spanned<Name>>,
    /// Which of those that are alike, counted from 1.
    pub nth: Option<Spanned<u32>>,
    /// The record it means; nothing where that is not certain.
    pub withdraws: Option<usize>,
}

#[derive(Clone, Debug)]
pub struct Concession {
    pub rule: Option<Spanned<Name>>,
    /// The value accepted: as spelt, with its unit.
    pub accepts: Option<Spanned<(String, Option<String>)>>,
    pub until: Option<Spanned<Moment>>,
    pub reason: Option<Spanned<Name>>,
}

#[derive(Clone, Debug)]
pub struct Release {
    pub seal: Option<Spanned<Name>>,
    /// The edition of its seal.
    pub edition: Option<Spanned<u32>>,
    /// The release that it replaces.
    pub supersedes: Option<Spanned<Moment>>,
    pub signature: Option<Signature>,
    /// The rules that were asked when it was written, by name; none where the release does not say.
    pub asked: Vec<AskedRule>,
    pub groups: Vec<SealedGroup>,
}

/// What stands under a release that was signed.
#[derive(Clone, Debug)]
pub struct Signature {
    pub place: Place,
    /// In base64.
    pub lines: Vec<String>,
}

/// A rule that was asked when an axis was released.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct AskedRule {
    pub rule: Name,
    /// Whether it judged all that it had to judge; not where it had nothing to judge.
    pub judged_all: bool,
}

impl Release {
    /// What the release says of a rule; nothing where the rule came later, or the release does not say.
    pub fn asked(&self, rule: &str) -> Option<&AskedRule> {
        let at = self.asked.binary_search_by(|of| of.rule.as_str().cmp(rule)).ok()?;
        Some(&self.asked[at])
    }
}

#[derive(Clone, Debug)]
pub struct SealedGroup {
    pub place: Place,
    pub name: String,
    pub digest: String,
    pub facts: Vec<(String, String, Place)>,
}

#[derive(Clone, Debug)]
pub struct Service {
    pub task: Option<Spanned<Task>>,
    pub travelled: Option<Spanned<Travel>>,
}

/// Something that keeps its axis from release. Whether it was lifted, [`super::Ledger::holds`] says.
#[derive(Clone, Debug)]
pub struct Hold {
    pub reason: Option<Spanned<Name>>,
}

#[derive(Clone, Debug)]
pub struct Lift {
    pub disposition: Option<Spanned<Disposition>>,
    pub reason: Option<Spanned<Name>>,
}

impl Lift {
    /// What was held stays where it is: it was neither scrapped nor given another requirement.
    pub fn leaves_it_there(&self) -> bool {
        !self.disposition.is_some_and(|of| matches!(*of, Disposition::Scrap | Disposition::Regrade))
    }

    /// Something was done to what was held.
    pub fn is_work(&self) -> bool {
        self.disposition.is_some_and(|of| matches!(*of, Disposition::Rework | Disposition::Repair))
    }
}

impl Record {
    /// What it is about, as it says; nothing where it does not say.
    pub fn address(&self) -> &str {
        self.on.as_ref().map_or("", |on| on.as_str())
    }

    /// The rail it is about.
    pub fn rail(&self) -> Option<RailId> {
        self.target.and_then(Target::rail)
    }

    /// The gauge it names.
    pub fn gauge(&self) -> Option<&Spanned<Name>> {
        match &self.body {
            Body::Inspect(inspect) => inspect.gauge.as_ref(),
            Body::Survey(survey) => survey.gauge.as_ref(),
            Body::RunningForce(run) => run.gauge.as_ref(),
            _ => None,
        }
    }

    /// The gauge or wrench it names.
    pub fn instrument(&self) -> Option<&Spanned<Name>> {
        match &self.body {
            Body::Fasten(fasten) => fasten.wrench.as_ref(),
            _ => self.gauge(),
        }
    }

    /// It was read while the rail was set: nothing is judged by it.
    pub fn is_aligning(&self) -> bool {
        match &self.body {
            Body::Inspect(inspect) => inspect.stage.is_some_and(|stage| stage.value == InspectStage::Aligning),
            Body::Survey(survey) => survey.stage.is_some_and(|stage| stage.value == SurveyStage::Aligning),
            _ => false,
        }
    }

    /// It was not withdrawn.
    pub fn counts(&self) -> bool {
        self.void.is_none()
    }
}
