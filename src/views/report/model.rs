//! The shape of a report. Numbers are exact decimals; in JSON they are strings in the plain unit of the trade: mm, N·m,
//! N, km, °C. What is not known is null.

use schemars::JsonSchema;
use serde::Serialize;

use super::state::State;
use crate::quantity::{Force, Length, Ratio, Temperature, Torque, Travel};
use crate::views::remarks::Remark;
use crate::world::shown_path;

/// The shape of the JSON, counted up when it changes.
pub(crate) const FORMAT: &str = "wayledger-report-4";

/// A report on one ledger.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Report {
    #[schemars(extend("const" = FORMAT))]
    pub(crate) format: &'static str,
    /// The ledger's folder.
    pub path: String,
    pub(crate) name: Option<String>,
    pub(crate) title: Option<String>,
    /// The design that it is built to; nothing where it is described on its own.
    #[serde(rename = "built_to")]
    pub(crate) design: Option<DesignReport>,
    /// The day it was judged by.
    pub judged_on: String,
    pub(crate) state: State,
    pub(crate) counts: FindingCounts,
    pub(crate) axes: Vec<AxisReport>,
    pub(crate) instruments: Vec<InstrumentReport>,
    pub(crate) limits: Vec<LimitInForce>,
    pub(crate) concessions: Vec<ConcessionReport>,
    pub(crate) holds: Vec<HoldReport>,
    pub(crate) remarks: Vec<Remark>,
    /// What is overdue, on hold or due within the horizon: services, calibrations, ends of concessions.
    pub(crate) dues: Vec<Deadline>,
    /// What each rule judged.
    pub(crate) judged: Vec<JudgedRule>,
    /// What the rules say, by place.
    pub findings: Vec<ReportedFinding>,
}

impl Report {
    /// What the machine is called: its title, else its name, else its folder.
    pub fn called(&self) -> &str {
        self.title.as_deref().or(self.name.as_deref()).unwrap_or(shown_path(&self.path))
    }
}

/// The design that a machine is built to.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Design")]
pub(crate) struct DesignReport {
    #[serde(rename = "design")]
    pub name: String,
    pub revision: u32,
    /// The day it was taken over; nothing for the first.
    #[serde(rename = "taken_over")]
    pub since: Option<String>,
    /// Where the machine departs from it.
    pub deviations: Vec<DeviationReport>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Deviation")]
pub(crate) struct DeviationReport {
    pub on: Option<String>,
    /// `at 2900 (designed: 2880)`
    pub departs: String,
    #[serde(flatten)]
    pub signed: Signed,
    pub reason: Option<String>,
}

impl DesignReport {
    /// `slip-bridge, revision 2`
    pub(crate) fn called(&self) -> String {
        format!("{}, revision {}", self.name, self.revision)
    }
}

/// How many findings there are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "Counted")]
pub(crate) struct FindingCounts {
    pub nonconformities: usize,
    pub outstanding: usize,
    /// Rules that cannot judge, by rule and axis.
    #[serde(rename = "rules_not_judged")]
    pub not_judged: usize,
    /// Those of them that are declared not applicable, in no other count.
    #[serde(rename = "rules_not_applicable")]
    pub not_applicable: usize,
    pub observations: usize,
    #[serde(rename = "by_concession")]
    pub conceded: usize,
    /// How many of the nonconformities a hold lets in.
    #[serde(rename = "on_hold")]
    pub held: usize,
}

/// What one rule says of the subjects on one axis.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct JudgedRule {
    /// The axis; null for what lies on none, as an instrument.
    pub axis: Option<String>,
    pub rule: &'static str,
    /// The worst that it says: `broken`, `outstanding`, `not judged`, `not applicable`, `conforms`, `not required`.
    pub verdict: &'static str,
    /// How many subjects there are.
    pub subjects: usize,
    pub conforms: usize,
    pub broken: usize,
    pub outstanding: usize,
    #[serde(rename = "subjects_not_judged")]
    pub not_judged: usize,
    pub not_required: usize,
    /// What *conforms* rests on: the description, or so many records of a kind and the day of the last.
    pub rests_on: Vec<String>,
    /// What is lacking, where it is not judged.
    pub lacking: Option<String>,
}

/// What is or was held; what is keeps its axis from release.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "OnHold")]
pub(crate) struct HoldReport {
    pub on: Option<String>,
    /// How it stands now.
    pub state: State,
    /// Since when, and who put it on hold.
    #[serde(flatten)]
    pub signed: Signed,
    /// A release was withdrawn.
    pub withdrawn: bool,
    pub reason: Option<String>,
    /// Nobody lifted it yet, or only to scrap or regrade the part.
    pub in_force: bool,
    /// What was done about it.
    pub lift: Option<LiftReport>,
}

/// What was done about something that was held.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Lifted")]
pub(crate) struct LiftReport {
    #[serde(flatten)]
    pub signed: Signed,
    /// In the words of ISO 9000.
    pub disposition: Option<String>,
    pub reason: Option<String>,
}

/// Who made a record and when.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct Signed {
    pub date: Option<String>,
    pub by: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[schemars(rename = "Stretch")]
pub(crate) struct StretchReport {
    pub from: Length,
    pub to: Length,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Axis")]
pub(crate) struct AxisReport {
    pub name: String,
    pub state: State,
    pub release: Option<ReleaseReport>,
    pub run: Option<StretchReport>,
    pub stroke: Option<StretchReport>,
    pub beams: Vec<BeamReport>,
    pub rails: Vec<RailReport>,
    pub carriage: Option<CarriageReport>,
    pub running_force: Option<RunningForceReport>,
    pub life: Option<LifeReport>,
    pub dues: Vec<Due>,
}

/// The last release of an axis.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Release")]
pub(crate) struct ReleaseReport {
    #[serde(flatten)]
    pub signed: Signed,
    /// SHA-256 over what it rests on.
    pub seal: Option<String>,
    /// How it is signed, where it is.
    pub signature: Option<SignatureReport>,
}

/// The signature under a release.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Signature")]
pub(crate) struct SignatureReport {
    /// It is over what the release says, by a key that the shop declares for who releases, on that day.
    pub valid: bool,
    /// The key that it was made with, as OpenSSH prints it: `SHA256:…`; null where the signature is over another text or is none.
    pub key: Option<String>,
    /// Whose key that is, in the shop's file.
    pub person: Option<String>,
    /// What is signed, so that anybody can hold the signature against it: `ssh-keygen -Y verify -n wayledger-release`.
    pub text: String,
    /// The signature as OpenSSH writes it.
    pub armoured: String,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Beam")]
pub(crate) struct BeamReport {
    pub name: String,
    pub from: Length,
    pub to: Length,
    pub seams: Vec<Length>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Rail")]
pub(crate) struct RailReport {
    pub address: String,
    pub name: String,
    pub state: State,
    pub beam: Option<String>,
    pub profile: Option<String>,
    pub follows: Option<String>,
    pub from: Length,
    pub to: Length,
    pub segments: Vec<SegmentReport>,
    pub supports: Vec<SupportReport>,
    pub joints: Vec<JointReport>,
    pub torques: Vec<TorquesReport>,
    pub surveys: Vec<Straightness>,
    pub gap: Option<Gap>,
    /// Of gap and height the one that the shims of the rail do not move, where it was surveyed.
    pub unmoved: Option<Gap>,
    pub shims: Vec<Shimmed>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Segment")]
pub(crate) struct SegmentReport {
    pub from: Length,
    pub to: Length,
    pub serial: Option<String>,
    pub lot: Option<String>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Support")]
pub(crate) struct SupportReport {
    pub name: String,
    #[serde(rename = "position")]
    pub at: Length,
    pub covers: Option<Length>,
    pub state: State,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Joint")]
pub(crate) struct JointReport {
    pub address: String,
    pub name: String,
    #[serde(rename = "position")]
    pub at: Length,
    pub state: State,
    /// The latest inspection.
    pub inspected: Option<Signed>,
    pub gauge: Option<String>,
    /// UL, UR, LL, LR.
    pub steps: Vec<GrooveStepReport>,
    pub most_step: Option<Length>,
    /// Whether light was seen; null where nobody looked.
    pub light: Option<bool>,
    pub feeler: Option<Length>,
    pub patterns: Option<PatternsReport>,
    /// What stands out in the steps, where that is worth a word, and its cure.
    pub cause: Option<String>,
    pub cure: Option<String>,
    /// Why it must be inspected again.
    pub stale: Option<String>,
}

/// The step of one groove: after minus before.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Step")]
pub(crate) struct GrooveStepReport {
    pub groove: &'static str,
    /// Rounded away from zero; positive where the far rail's groove stands proud, as far as the gauge's sense is known.
    pub step: Option<Length>,
    pub over: bool,
}

/// What four steps split into: straight offsets of the far rail for height and side, groove steps for twist and size.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Patterns")]
pub(crate) struct PatternsReport {
    /// Of the far rail against the near one.
    pub height_offset: Length,
    pub side_offset: Length,
    /// As groove steps.
    pub twist_pattern: Length,
    pub size_pattern: Length,
    /// Which way is plus is known.
    pub signed: bool,
}

/// The torques of one interface of a rail.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Torques")]
pub(crate) struct TorquesReport {
    /// `rail` or `base`.
    pub interface: &'static str,
    pub fastener: Option<String>,
    pub least: Option<Torque>,
    pub most: Option<Torque>,
    pub window_source: Option<String>,
    /// Of one bolt, in N.
    pub proof_load: Option<i64>,
    /// Why no preload is given.
    pub without_preload: Option<String>,
    pub supports: Vec<SupportTorque>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct SupportTorque {
    pub support: String,
    #[serde(rename = "position")]
    pub at: Length,
    pub state: State,
    pub bolts: Vec<BoltTorque>,
    /// Least and greatest preload over its bolts, friction and wrench error, in N.
    pub preload: Option<(i64, i64)>,
    /// The same as a share of the proof load, in percent.
    pub proof_share: Option<(i64, i64)>,
    #[serde(flatten)]
    pub signed: Signed,
    pub wrench: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct BoltTorque {
    /// What it was read at, or what the wrench that clicked was set to; null where it is not recorded.
    pub torque: Option<Torque>,
    pub clicked: bool,
    /// It has its full torque.
    #[serde(rename = "has_full_torque")]
    pub held: bool,
    /// `under`, `over`, or nothing.
    pub off: Option<&'static str>,
}

/// A survey that counts.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct SurveyHead {
    pub stage: Option<&'static str>,
    #[serde(flatten)]
    pub signed: Signed,
    pub gauge: Option<String>,
    pub temperature: Option<Temperature>,
    /// The change of the station that was read again at the end.
    pub closure: Option<Length>,
    /// Where a survey of some stations was tied to what was read before it; empty where it needs no other one.
    pub tied_at: Vec<String>,
}

/// A straightness survey of a rail.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct Straightness {
    pub head: SurveyHead,
    /// It was read up and down, and plus is up; else sideways, and plus is to the left.
    pub is_upright: bool,
    /// The minimum zone, rounded up.
    pub zone: Option<Length>,
    pub most: Option<Length>,
    /// By the local limit, where one is stated.
    pub local: Option<LocalReport>,
    /// Where angles were read: how the heights came about, of each survey that is tied to the others.
    pub summed: Vec<SummedAngles>,
    pub stations: Vec<StationReport>,
}

/// How the heights of a survey of angles were added up.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct SummedAngles {
    #[serde(flatten)]
    pub signed: Signed,
    /// How long each step is.
    pub base: Length,
    /// How many follow each other.
    #[serde(rename = "step_count")]
    pub steps: usize,
    /// The curvature of the earth that was taken off, in the middle of the span; of a level alone.
    pub curvature: Option<Length>,
}

/// What a survey shows within each stretch of a length.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "WithinLength")]
pub(crate) struct LocalReport {
    pub most: Length,
    /// The length of a stretch.
    #[serde(rename = "within_length")]
    pub over: Length,
    /// What the worst stretch shows, rounded up; nothing where no two stations lie so near.
    pub worst: Option<Length>,
    #[serde(rename = "first_station")]
    pub from: Option<String>,
    #[serde(rename = "last_station")]
    pub to: Option<String>,
    /// Why it is not judged: not every stretch could be looked at, or shims were put in since. Nothing where it is.
    #[serde(rename = "unseen_because")]
    pub not_judged: Option<&'static str>,
}

/// What a straightness survey reads at a station.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "StationReading")]
pub(crate) struct StationReport {
    pub name: String,
    #[serde(rename = "position")]
    pub at: Length,
    pub reading: Length,
    /// How far it lies off the line of the minimum zone; for the picture.
    #[serde(skip)]
    pub off_zone: Option<Length>,
}

/// The gap to the rail that this one follows, or their difference in height where shims lift.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct Gap {
    /// `gap` or `height`.
    pub kind: &'static str,
    pub follows: Option<String>,
    /// What each survey is counted from: `widest`, `narrowest` or `highest` place.
    pub zero: &'static str,
    pub most: Option<Length>,
    pub limit_source: Option<String>,
    #[serde(rename = "survey_before")]
    pub before: Option<SurveyHead>,
    #[serde(rename = "survey_after")]
    pub after: Option<SurveyHead>,
    pub range_before: Option<Length>,
    pub range_predicted: Option<Length>,
    pub range_after: Option<Length>,
    /// Of the last of the two surveys, by the local limit, where one is stated.
    pub local: Option<LocalReport>,
    pub stations: Vec<GapStation>,
}

/// One station; each value is counted from its own survey's zero.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct GapStation {
    pub name: String,
    #[serde(rename = "position")]
    pub at: Length,
    pub before: Option<Length>,
    /// What the shims put in since change here.
    pub shim: Option<Length>,
    pub predicted: Option<Length>,
    pub after: Option<Length>,
}

/// The shims that lie under a support now.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct Shimmed {
    pub support: String,
    #[serde(rename = "position")]
    pub at: Length,
    pub leaves: Vec<Length>,
    pub total: Length,
    #[serde(flatten)]
    pub signed: Signed,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Carriage")]
pub(crate) struct CarriageReport {
    pub length: Option<Length>,
    pub blocks: Vec<BlockReport>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Block")]
pub(crate) struct BlockReport {
    pub rail: String,
    /// From the carriage's middle.
    #[serde(rename = "position")]
    pub at: Length,
    pub length: Option<Length>,
    pub kind: Option<String>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "RunningForce")]
pub(crate) struct RunningForceReport {
    #[serde(flatten)]
    pub signed: Signed,
    pub gauge: Option<String>,
    pub most: Option<Force>,
    /// Of the latest readings at all places.
    pub greatest_running_force: Option<Force>,
    /// What preload and seals of the blocks take by their makers; the weight, the drive and the grease come on top.
    pub expected_running_force: Option<Force>,
    /// By how much the least-squares line through the latest readings grows over a metre.
    pub running_force_slope: Option<Force>,
    /// What was read with the carriage at joints.
    pub at_joints: Vec<JointForce>,
    /// The latest at each place.
    pub readings: Vec<ForceReading>,
}

/// A running force with the carriage at a joint.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct JointForce {
    /// As `X.port.J1`.
    pub joint: String,
    #[serde(rename = "position")]
    pub at: Length,
    /// Above the least-squares line through all readings.
    pub force_above_line: Force,
}

/// A running force at a place.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub(crate) struct ForceReading {
    #[serde(rename = "position")]
    pub at: Length,
    /// Its size; of repeats their mean.
    pub force: Force,
    /// As it was read: more than one are repeats.
    pub read: Vec<Force>,
    pub date: Option<String>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Life")]
pub(crate) struct LifeReport {
    pub required: Option<Travel>,
    /// In percent.
    pub reliability: Option<Ratio>,
    /// How the loads of blocks and the cost of rails as measured are computed.
    pub model: &'static str,
    /// How many joints are in it.
    #[serde(rename = "joints_measured")]
    pub joints: usize,
    /// Rails yield between their supports; else they are taken as stiff, and loads from rails that lie wrong are upper bounds.
    pub rails_yield: bool,
    /// Why figures as measured are held against no limit; nothing where they are.
    pub held_against_nothing: Option<String>,
    /// Of all blocks together, rounded down to a kilometre.
    pub life_together_nominal: Option<Travel>,
    pub life_together_as_measured: Option<Travel>,
    pub blocks: Vec<BlockLifeReport>,
    /// How true the carriage moves on the rails as measured; none where they were not.
    pub motion: Vec<ErrorReport>,
    /// The readings that cost most of the life.
    pub costs: Vec<CostReport>,
    /// What is missing, where nothing can be computed.
    pub lacking: Option<String>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "BlockLife")]
pub(crate) struct BlockLifeReport {
    pub rail: String,
    #[serde(rename = "position")]
    pub at: Length,
    /// Mean loads in N, rounded up: on rails that lie where they should, and on the rails as measured, where these play a part.
    pub mean_load_nominal: i64,
    pub mean_load_as_measured: Option<i64>,
    /// The most that the rails as measured add to it, in N, rounded up, and the standard uncertainty of that by the scatter of
    /// the readings, in N; below twice that it is not resolved.
    pub forced_load: Option<i64>,
    pub forced_load_uncertainty: Option<i64>,
    /// Rounded down to a kilometre.
    pub life_nominal: Option<Travel>,
    pub life_as_measured: Option<Travel>,
    /// Static rating over the greatest load, rounded down.
    pub static_safety_nominal: Option<Ratio>,
    pub static_safety_as_measured: Option<Ratio>,
}

/// A motion error over the stroke.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "MotionError")]
pub(crate) struct ErrorReport {
    /// By ISO 230-1, or in plain words.
    pub name: String,
    pub what: String,
    /// It is an angle, whether or not it was surveyed.
    #[serde(skip)]
    pub is_turn: bool,
    /// Which way is plus.
    pub plus: &'static str,
    /// The zone about the least-squares line over the stroke, rounded up. Neither zone nor angle where a plane that it hangs on
    /// was not surveyed.
    pub zone: Option<Length>,
    /// The greatest less the least angle over the stroke, in µrad, rounded up.
    pub angle: Option<i64>,
    /// The standard uncertainty of either by the scatter of the readings, in mm or µrad.
    pub uncertainty: Option<String>,
    /// It is at least twice that.
    pub resolved: Option<bool>,
}

/// What one reading costs.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "ReadingCost")]
pub(crate) struct CostReport {
    pub rail: String,
    /// The name of the support, or the position.
    pub station: String,
    /// By how much, and which way, it would have to read otherwise to change the life by this much, at the tangent.
    pub by: Length,
    /// In percent of the life of all blocks together.
    pub life_gained: i64,
}

/// Something that has to be done by a day.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub(crate) struct Due {
    pub due: Option<String>,
    /// The axis or the instrument.
    pub of: String,
    pub task: String,
    pub last: Option<String>,
    pub standing: DueState,
    /// By distance, where that is agreed: so far, and when it is due.
    pub travelled: Option<Travel>,
    pub due_travelled: Option<Travel>,
}

/// Something that has to be done, by when and for which machines.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub(crate) struct Deadline {
    pub standing: DueState,
    /// The day; of a hold the one since when.
    pub due: Option<String>,
    pub task: String,
    /// The instrument, the axis, or what is conceded or held.
    pub of: String,
    /// The machines that need it.
    #[serde(rename = "needed_by")]
    pub machines: Vec<String>,
    /// It is done once for all machines.
    #[serde(skip)]
    pub(super) of_instrument: bool,
    /// A concession ends.
    #[serde(skip)]
    pub(super) of_concession: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum DueState {
    Overdue,
    /// It is held since that day.
    OnHold,
    Soon,
    Later,
    /// It starts with the release.
    NotStarted,
}

impl DueState {
    pub(crate) fn word(self) -> &'static str {
        match self {
            DueState::Overdue => "overdue",
            DueState::OnHold => "on hold since",
            DueState::Soon => "due soon",
            DueState::Later => "later",
            DueState::NotStarted => "starts with the release",
        }
    }
}

/// A gauge or wrench that records name.
#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Instrument")]
pub(crate) struct InstrumentReport {
    pub name: String,
    /// `gauge` or `wrench`.
    pub what: &'static str,
    pub kind: Option<String>,
    pub known: bool,
    pub graduation: Option<String>,
    pub permissible_error: Option<String>,
    pub uses: usize,
    pub first_use: Option<String>,
    pub last_use: Option<String>,
    /// The latest calibration.
    pub calibrated: Option<String>,
    pub due: Option<String>,
    pub certificate: Option<String>,
    /// Who calibrated it.
    pub laboratory: Option<String>,
    /// The days it was used on without a calibration that held.
    pub uncalibrated_uses: Vec<String>,
    pub standing: Option<DueState>,
    /// What was said against it.
    pub doubts: Vec<DoubtReport>,
}

/// That an instrument was wrong for a time.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct DoubtReport {
    /// The first day in doubt.
    #[serde(rename = "in_doubt_from")]
    pub from: String,
    /// The last one; null where it lasts until a calibration.
    #[serde(rename = "in_doubt_to")]
    pub to: Option<String>,
    /// By how much it was off at most.
    #[serde(rename = "error_text")]
    pub error: Option<String>,
    /// Who says so, when and why.
    pub said: String,
    /// Who took it back, when and why.
    pub taken_back: Option<String>,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
pub(crate) struct LimitInForce {
    pub entry: String,
    /// The released axis that is judged by it, where its seal holds another limit than today's.
    pub axis: Option<String>,
    pub what: String,
    /// As printed, or `none`.
    #[serde(rename = "limit_text")]
    pub limit: String,
    #[serde(rename = "limit_source")]
    pub source: String,
    /// The shop or the machine changed it, or a seal holds what was in force then.
    #[serde(rename = "is_changed")]
    pub changed: bool,
    /// Nobody states it: it follows from what is described.
    #[serde(skip)]
    pub derived: bool,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Concession")]
pub(crate) struct ConcessionReport {
    pub rule: Option<String>,
    pub on: Option<String>,
    #[serde(flatten)]
    pub signed: Signed,
    pub accepts: Option<String>,
    pub until: Option<String>,
    pub reason: Option<String>,
    pub expired: bool,
    /// How many findings it covers now.
    #[serde(rename = "covers_findings")]
    pub covers: usize,
}

#[derive(Clone, Debug, Serialize, JsonSchema)]
#[schemars(rename = "Found")]
pub struct ReportedFinding {
    pub rule: &'static str,
    pub grade: &'static str,
    pub address: String,
    pub message: String,
    #[serde(rename = "limit_text")]
    pub limit: Option<String>,
    pub limit_source: Option<String>,
    pub next: String,
    pub file: String,
    pub line: u32,
    pub conceded_by: Option<String>,
    /// A hold keeps its axis from release until it is dealt with.
    pub is_held: bool,
}
