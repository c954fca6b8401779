//! The table of limits. A limit is never written into a rule: it is an entry here, with its default and its source.

use std::fmt;

use crate::quantity::Dimension;

/// The limits by name, in the order in which they are listed to people.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LimitName {
    JointStep,
    GapRange,
    Straightness,
    HeightRange,
    GapLocal,
    StraightnessLocal,
    HeightLocal,
    ToeIn,
    FullTorque,
    SnugTorque,
    JointBolts,
    JointSupportOffset,
    Stagger,
    MeetingMargin,
    SeamClearance,
    HolePitchTolerance,
    BoltHoleOffset,
    LightGap,
    Feeler,
    SurveyClosure,
    SurveyTemperature,
    GaugeGraduation,
    CalibrationMonths,
    CalibrationCycles,
    DueSoon,
    SupportSpacing,
    SegmentLength,
    StaticSafety,
    ReceivedLength,
    Expansion,
    ProofLoadShare,
    RunningForce,
    Proof,
    ProofOfStep,
    ProofOfGap,
    ProofOfStraightness,
    ProofOfHeight,
    ProofOfRunningForce,
    ProofOfTorque,
    GuardBand,
    SawnEnds,
    SelfRelease,
    SignedRelease,
    RecordTemperature,
    LimitLoosening,
    ErrorGraduations,
    LocalErrorShare,
    RangeGraduations,
    WrenchError,
    WrenchSpan,
    CarrierTravel,
    CarrierReach,
    TemperatureJump,
    ForceJump,
    RepeatSpread,
    LeafThickness,
    WindowSpan,
    BoltFriction,
    BeamShare,
    DialGraduations,
    LoadRatings,
    BlockLength,
    DynamicRating,
    RatingShare,
    BlockPreload,
}

impl LimitName {
    /// As it is written in a rulebook.
    pub fn word(self) -> &'static str {
        self.entry().name
    }

    /// All that the table says of it.
    pub fn entry(self) -> &'static LimitEntry {
        &ENTRIES[self as usize]
    }
}

impl fmt::Display for LimitName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One limit that rules judge by.
#[derive(Debug, PartialEq, Eq)]
pub struct LimitEntry {
    /// By what rules ask for it.
    pub limit: LimitName,
    /// As it is written in a rulebook.
    pub name: &'static str,
    /// What it holds.
    pub holds: LimitType,
    /// The default lower limit, as spelt in the plain unit.
    pub least: Option<&'static str>,
    /// The default upper limit, as spelt in the plain unit.
    pub most: Option<&'static str>,
    /// What lets more pass.
    pub looser: Looser,
    /// What is limited.
    pub what: &'static str,
    /// Where the default comes from, or what holds where there is none.
    pub source: &'static str,
}

impl LimitEntry {
    /// The unit of its numbers where none is written; empty where they have none.
    pub fn unit(&self) -> &'static str {
        match self.holds {
            LimitType::Amount(dimension) => dimension.plain_unit(),
            LimitType::Count | LimitType::Choice(_) => "",
        }
    }

    /// Whether it has that end, `least` or `most`: rules ask for those that its default has, and where there is none, for
    /// the one that makes a limit of it.
    pub fn takes(&self, end: &str) -> bool {
        let is_least = matches!(
            self.limit,
            LimitName::Stagger | LimitName::SeamClearance | LimitName::SegmentLength | LimitName::StaticSafety
        );
        match (self.least, self.most) {
            (None, None) => (end == "least") == is_least,
            (least, most) => {
                if end == "least" {
                    least.is_some()
                } else {
                    most.is_some()
                }
            }
        }
    }

    /// It holds within each stretch of a length, which is stated with it.
    pub fn is_local(&self) -> bool {
        matches!(self.limit, LimitName::GapLocal | LimitName::StraightnessLocal | LimitName::HeightLocal)
    }

    /// It is a part of a whole: more than all of it means nothing.
    pub fn is_part(&self) -> bool {
        matches!(self.limit, LimitName::ProofLoadShare | LimitName::GaugeGraduation | LimitName::BeamShare)
    }

    /// It limits nothing that is built or read, but how far ahead of a day something is mentioned, or what a release must
    /// carry, of which its own seal cannot be the judge: that of today holds, whatever was in force when an axis was released.
    pub fn is_of_today(&self) -> bool {
        matches!(self.limit, LimitName::DueSoon | LimitName::SignedRelease)
    }
}

/// What an entry holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitType {
    /// An amount.
    Amount(Dimension),
    /// A whole number.
    Count,
    /// One of some words; the first is the default.
    Choice(&'static [&'static str]),
}

/// Which way a limit lets more pass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Looser {
    /// The further its ends lie apart, or the further its one end lies from what is wanted.
    FurtherOut,
    /// The nearer its end lies: of what is kept away from a limit, or done ahead of a day.
    FurtherIn,
    /// By its word: the strictest first.
    Word(&'static [&'static str]),
}

const PRACTICE: &str = "common practice, no source";
const MEMORY: &str = "from memory, no source";
const STATED: &str = "none until the shop or machine states one";

const fn length(
    limit: LimitName,
    name: &'static str,
    most: Option<&'static str>,
    what: &'static str,
    source: &'static str,
) -> LimitEntry {
    LimitEntry {
        limit,
        name,
        holds: LimitType::Amount(Dimension::Length),
        least: None,
        most,
        looser: Looser::FurtherOut,
        what,
        source,
    }
}

const fn least_length(
    limit: LimitName,
    name: &'static str,
    least: Option<&'static str>,
    what: &'static str,
    source: &'static str,
) -> LimitEntry {
    LimitEntry {
        limit,
        name,
        holds: LimitType::Amount(Dimension::Length),
        least,
        most: None,
        looser: Looser::FurtherOut,
        what,
        source,
    }
}

/// The word of an entry on the proof of one quantity that leaves it to the entry on all of them.
pub(crate) const AS_PROOF: &str = "as-proof";

/// Whether one quantity must be proven, where that is stated otherwise than for all.
const fn proof_of(limit: LimitName, name: &'static str, what: &'static str) -> LimitEntry {
    LimitEntry {
        limit,
        name,
        holds: LimitType::Choice(&[AS_PROOF, "observed", "required"]),
        least: None,
        most: None,
        looser: Looser::Word(&["required", "observed"]),
        what,
        source: "what `proof` says",
    }
}

/// Every entry, in the order in which they are listed to people.
pub static ENTRIES: &[LimitEntry] = &[
    length(LimitName::JointStep, "joint-step", Some("0.02"), "the step of each groove across a joint", PRACTICE),
    length(
        LimitName::GapRange,
        "gap-range",
        Some("0.05"),
        "the range of the gap along the axis after shimming",
        PRACTICE,
    ),
    length(
        LimitName::Straightness,
        "straightness",
        None,
        "the straightness of a reference rail, as minimum zone (ISO 12780-1)",
        STATED,
    ),
    length(LimitName::HeightRange, "height-range", None, "the range of the height between two rails", STATED),
    length(
        LimitName::GapLocal,
        "gap-local",
        None,
        "the difference of the gap between two stations no farther apart than a length",
        STATED,
    ),
    length(
        LimitName::StraightnessLocal,
        "straightness-local",
        None,
        "the straightness of a rail within each stretch of a length, as minimum zone (ISO 12780-1)",
        STATED,
    ),
    length(
        LimitName::HeightLocal,
        "height-local",
        None,
        "the difference of the height between two stations no farther apart than a length",
        STATED,
    ),
    length(
        LimitName::ToeIn,
        "toe-in",
        None,
        "the part of the gap's range that grows linearly along the axis",
        "the gap-range entry where nothing is stated",
    ),
    LimitEntry {
        limit: LimitName::FullTorque,
        name: "full-torque",
        holds: LimitType::Amount(Dimension::Torque),
        least: Some("10"),
        most: Some("11"),
        looser: Looser::FurtherOut,
        what: "the full torque of a support's bolts; the default holds for M6 of class 10.9 or 12.9 into steel alone",
        source: PRACTICE,
    },
    LimitEntry {
        limit: LimitName::SnugTorque,
        name: "snug-torque",
        holds: LimitType::Amount(Dimension::Torque),
        least: Some("1"),
        most: Some("2"),
        looser: Looser::FurtherOut,
        what: "the snug torque that pulls a rail against its datum faces; the default holds for M6 of class 10.9 or 12.9 into steel alone",
        source: PRACTICE,
    },
    LimitEntry {
        limit: LimitName::JointBolts,
        name: "joint-bolts",
        holds: LimitType::Count,
        least: Some("2"),
        most: None,
        looser: Looser::FurtherOut,
        what: "the bolts of each rail end that a joint support holds",
        source: PRACTICE,
    },
    length(
        LimitName::JointSupportOffset,
        "joint-support-offset",
        Some("5"),
        "how far the middle of a joint support lies off its joint",
        MEMORY,
    ),
    least_length(
        LimitName::Stagger,
        "stagger",
        None,
        "the distance between joints of parallel rails",
        "the longer of one hole pitch and the block's effective length; from memory, no source",
    ),
    least_length(
        LimitName::MeetingMargin,
        "meeting-margin",
        Some("0"),
        "the clearance between two meetings of blocks with joints, beyond touching",
        "geometry: blocks that just do not meet joints together",
    ),
    least_length(
        LimitName::SeamClearance,
        "seam-clearance",
        None,
        "the distance of a joint from a beam seam",
        "half the length the joint support covers, so that no support straddles both; from memory, no source",
    ),
    length(
        LimitName::HolePitchTolerance,
        "hole-pitch-tolerance",
        Some("0.5"),
        "how far the hole pitch across a joint is off",
        "geometry; tolerance from memory, no source",
    ),
    length(
        LimitName::BoltHoleOffset,
        "bolt-hole-offset",
        Some("0.5"),
        "how far a support's bolt lies off the rail's hole",
        "from memory, no source",
    ),
    length(
        LimitName::LightGap,
        "light-gap",
        Some("0"),
        "the gap at a joint that light may show through; 0: no light",
        PRACTICE,
    ),
    length(LimitName::Feeler, "feeler", Some("0.05"), "the feeler that goes into a joint", MEMORY),
    length(
        LimitName::SurveyClosure,
        "survey-closure",
        None,
        "the change of the first station read again at the end of a survey",
        "the greater of one graduation of the gauge and a tenth of the limit of what is surveyed; from memory, no source",
    ),
    LimitEntry {
        limit: LimitName::SurveyTemperature,
        name: "survey-temperature",
        holds: LimitType::Amount(Dimension::TemperatureDifference),
        least: None,
        most: Some("2"),
        looser: Looser::FurtherOut,
        what: "the difference in temperature between two surveys that are compared",
        source: MEMORY,
    },
    LimitEntry {
        limit: LimitName::GaugeGraduation,
        name: "gauge-graduation",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("0.5"),
        looser: Looser::FurtherOut,
        what: "a gauge's graduation as a share of the limit it is used for",
        source: "from memory of the 10:1 rule",
    },
    LimitEntry {
        limit: LimitName::CalibrationMonths,
        name: "calibration-months",
        holds: LimitType::Count,
        least: None,
        most: Some("12"),
        looser: Looser::FurtherOut,
        what: "the months a calibration is good for, where its record does not say",
        source: "ISO 6789 (2003 edition) for torque wrenches; taken over for gauges, no source",
    },
    LimitEntry {
        limit: LimitName::CalibrationCycles,
        name: "calibration-cycles",
        holds: LimitType::Count,
        least: None,
        most: Some("5000"),
        looser: Looser::FurtherOut,
        what: "the cycles a torque wrench's calibration is good for",
        source: "ISO 6789 (2003 edition)",
    },
    LimitEntry {
        limit: LimitName::DueSoon,
        name: "due-soon",
        holds: LimitType::Count,
        least: None,
        most: Some("30"),
        looser: Looser::FurtherIn,
        what: "the days before a due date from which it is mentioned; today's count, under a seal too",
        source: "our own choice",
    },
    LimitEntry {
        limit: LimitName::SupportSpacing,
        name: "support-spacing",
        holds: LimitType::Amount(Dimension::Length),
        least: None,
        most: None,
        looser: Looser::FurtherOut,
        what: "the distance from one support to the next",
        source: STATED,
    },
    least_length(
        LimitName::SegmentLength,
        "segment-length",
        None,
        "the length of a segment",
        "the profile's least-segment; none until the shop or machine states one",
    ),
    LimitEntry {
        limit: LimitName::StaticSafety,
        name: "static-safety",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: None,
        looser: Looser::FurtherOut,
        what: "the static safety C0/P0 of each block",
        source: "none until the shop or machine states one; ISO 14728-2 for what it means",
    },
    length(
        LimitName::ReceivedLength,
        "received-length",
        Some("1"),
        "how far a segment's length is off the one measured when it came in",
        MEMORY,
    ),
    length(
        LimitName::Expansion,
        "expansion",
        None,
        "the difference in expansion between a rail and its beam over the temperature span",
        STATED,
    ),
    LimitEntry {
        limit: LimitName::ProofLoadShare,
        name: "proof-load-share",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("0.9"),
        looser: Looser::FurtherOut,
        what: "the share of a bolt's yield point that tightening may use",
        source: "VDI 2230, usual utilisation",
    },
    LimitEntry {
        limit: LimitName::RunningForce,
        name: "running-force",
        holds: LimitType::Amount(Dimension::Force),
        least: None,
        most: None,
        looser: Looser::FurtherOut,
        what: "the force it takes to push the carriage",
        source: STATED,
    },
    LimitEntry {
        limit: LimitName::Proof,
        name: "proof",
        holds: LimitType::Choice(&["observed", "required"]),
        least: None,
        most: None,
        looser: Looser::Word(&["required", "observed"]),
        what: "whether step, straightness, height, final gap and running force must be proven inside their limits despite the measuring uncertainty",
        source: "ILAC-G8:09/2019: the decision rule is agreed between the parties",
    },
    proof_of(LimitName::ProofOfStep, "proof-of-step", "whether the step of a groove must be proven inside its limit"),
    proof_of(
        LimitName::ProofOfGap,
        "proof-of-gap",
        "whether the final gap must be proven inside its limit: as verified, or as fitted where no shim follows",
    ),
    proof_of(
        LimitName::ProofOfStraightness,
        "proof-of-straightness",
        "whether the straightness of a rail must be proven inside its limit",
    ),
    proof_of(
        LimitName::ProofOfHeight,
        "proof-of-height",
        "whether the height between two rails must be proven inside its limit",
    ),
    proof_of(
        LimitName::ProofOfRunningForce,
        "proof-of-running-force",
        "whether the running force must be proven inside its limit",
    ),
    LimitEntry {
        limit: LimitName::ProofOfTorque,
        name: "proof-of-torque",
        holds: LimitType::Choice(&["observed", "required"]),
        least: None,
        most: None,
        looser: Looser::Word(&["required", "observed"]),
        what: "whether a torque must lie in its window by the wrench's permissible deviation; `proof` does not cover it",
        source: "a window is for indicated torque; the scatter of the tool belongs to the tightening factor of VDI 2230",
    },
    LimitEntry {
        limit: LimitName::GuardBand,
        name: "guard-band",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("1"),
        looser: Looser::FurtherIn,
        what: "the guard band as a share of the expanded uncertainty U",
        source: "ILAC-G8:09/2019: w = U, there 2u, keeps false acceptance under 2.5 %; ISO 14253-1:2017 asks for 95 % by default; from memory: w = U by its 2013 edition, and none set by JCGM 106:2012",
    },
    LimitEntry {
        limit: LimitName::SawnEnds,
        name: "sawn-ends",
        holds: LimitType::Choice(&["forbidden", "allowed"]),
        least: None,
        most: None,
        looser: Looser::Word(&["forbidden", "allowed"]),
        what: "whether a sawn end may lie in a joint",
        source: "judgement: a sawn end's edge and squareness are not the maker's",
    },
    LimitEntry {
        limit: LimitName::SelfRelease,
        name: "self-release",
        holds: LimitType::Choice(&["forbidden", "allowed"]),
        least: None,
        most: None,
        looser: Looser::Word(&["forbidden", "allowed"]),
        what: "whether who fitted or inspected may release or concede",
        source: PRACTICE,
    },
    LimitEntry {
        limit: LimitName::SignedRelease,
        name: "signed-release",
        holds: LimitType::Choice(&["optional", "required"]),
        least: None,
        most: None,
        looser: Looser::Word(&["required", "optional"]),
        what: "whether a release must be signed, from the first day on which the shop knows a key; today's word, under a seal too",
        source: "our own choice: a signature needs keys",
    },
    LimitEntry {
        limit: LimitName::RecordTemperature,
        name: "record-temperature",
        holds: LimitType::Amount(Dimension::Temperature),
        least: Some("-15"),
        most: Some("45"),
        looser: Looser::FurtherOut,
        what: "the temperature of the rails as a record states it",
        source: "our own choice: people fit and read rails in no other",
    },
    LimitEntry {
        limit: LimitName::LimitLoosening,
        name: "limit-loosening",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("10"),
        looser: Looser::FurtherOut,
        what: "how many times wider than its default a limit may be stated",
        source: "our own choice: a slip of three digits lies far beyond, a requirement of another machine seldom",
    },
    LimitEntry {
        limit: LimitName::ErrorGraduations,
        name: "error-graduations",
        holds: LimitType::Amount(Dimension::Ratio),
        least: Some("1"),
        most: Some("10"),
        looser: Looser::FurtherOut,
        what: "a gauge's permissible error, in graduations",
        source: "common practice, no source: an indicator's error is a few of its marks",
    },
    LimitEntry {
        limit: LimitName::LocalErrorShare,
        name: "local-error-share",
        holds: LimitType::Amount(Dimension::Ratio),
        least: Some("0.1"),
        most: Some("1"),
        looser: Looser::FurtherOut,
        what: "a gauge's error over a short stretch, as a share of that over its whole range",
        source: "geometry for the upper end; the lower is common practice, no source",
    },
    LimitEntry {
        limit: LimitName::RangeGraduations,
        name: "range-graduations",
        holds: LimitType::Amount(Dimension::Ratio),
        least: Some("100"),
        most: None,
        looser: Looser::FurtherOut,
        what: "a gauge's range, in graduations",
        source: PRACTICE,
    },
    LimitEntry {
        limit: LimitName::WrenchError,
        name: "wrench-error",
        holds: LimitType::Amount(Dimension::Ratio),
        least: Some("0.01"),
        most: Some("0.06"),
        looser: Looser::FurtherOut,
        what: "a wrench's permissible deviation",
        source: "ISO 6789-1 permits 4 % or 6 % by type and range, from memory; the lower end is common practice, no source",
    },
    LimitEntry {
        limit: LimitName::WrenchSpan,
        name: "wrench-span",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("20"),
        looser: Looser::FurtherOut,
        what: "the most torque of a wrench, over its least",
        source: "common practice, no source: few tools are calibrated below a twentieth of their range",
    },
    LimitEntry {
        limit: LimitName::CarrierTravel,
        name: "carrier-travel",
        holds: LimitType::Amount(Dimension::Length),
        least: Some("5"),
        most: None,
        looser: Looser::FurtherOut,
        what: "how far the carrier of the gauge travels over a joint",
        source: PRACTICE,
    },
    LimitEntry {
        limit: LimitName::CarrierReach,
        name: "carrier-reach",
        holds: LimitType::Amount(Dimension::Length),
        least: None,
        most: Some("200"),
        looser: Looser::FurtherOut,
        what: "how far the stylus reaches ahead of the block that carries it",
        source: "common practice, no source: a longer arm bends by what it measures",
    },
    LimitEntry {
        limit: LimitName::TemperatureJump,
        name: "temperature-jump",
        holds: LimitType::Amount(Dimension::TemperatureDifference),
        least: None,
        most: Some("10"),
        looser: Looser::FurtherOut,
        what: "the difference in temperature between two records of an axis within a day",
        source: "our own choice: a hall changes less from one day to the next",
    },
    LimitEntry {
        limit: LimitName::ForceJump,
        name: "force-jump",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("3"),
        looser: Looser::FurtherOut,
        what: "a running force, over the middle one of its record or under it",
        source: "our own choice: a joint that is felt adds a part of the force, a slipped decimal point nine times it",
    },
    LimitEntry {
        limit: LimitName::RepeatSpread,
        name: "repeat-spread",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("5"),
        looser: Looser::FurtherOut,
        what: "how far repeats of one reading lie apart, over the repeatability of their gauge or its graduation",
        source: "ISO 5725-6, critical range: 2.8 to 4.5 times for two to ten repeats at 95 %, from memory; wider, so that hardly a sound one of hundreds is told",
    },
    LimitEntry {
        limit: LimitName::LeafThickness,
        name: "leaf-thickness",
        holds: LimitType::Amount(Dimension::Length),
        least: Some("0.01"),
        most: Some("1"),
        looser: Looser::FurtherOut,
        what: "the thickness of a leaf in stock",
        source: "common practice, no source: foil is sold from about 0.01 mm, and above 1 mm it is plate",
    },
    LimitEntry {
        limit: LimitName::WindowSpan,
        name: "window-span",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("3"),
        looser: Looser::FurtherOut,
        what: "the upper end of a fastener's torque window, over its lower",
        source: "our own choice: a wider window holds nothing",
    },
    LimitEntry {
        limit: LimitName::BoltFriction,
        name: "bolt-friction",
        holds: LimitType::Amount(Dimension::Ratio),
        least: Some("0.04"),
        most: Some("0.35"),
        looser: Looser::FurtherOut,
        what: "a friction coefficient of thread or head",
        source: "VDI 2230-1, friction classes A to E, from memory",
    },
    LimitEntry {
        limit: LimitName::BeamShare,
        name: "beam-share",
        holds: LimitType::Amount(Dimension::Ratio),
        least: Some("0.3"),
        most: None,
        looser: Looser::FurtherOut,
        what: "the share of a beam's piece that lies under rails",
        source: "our own choice: a piece that stands over by more is a length that slipped",
    },
    LimitEntry {
        limit: LimitName::DialGraduations,
        name: "dial-graduations",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("3000"),
        looser: Looser::FurtherOut,
        what: "the range of a gauge with a dial, in graduations",
        source: "common practice, no source: some thirty turns of the pointer",
    },
    LimitEntry {
        limit: LimitName::LoadRatings,
        name: "load-ratings",
        holds: LimitType::Amount(Dimension::Ratio),
        least: Some("1"),
        most: Some("4"),
        looser: Looser::FurtherOut,
        what: "a block's static load rating C0 over its dynamic one C",
        source: "from memory of makers' tables for profile rails, no source",
    },
    LimitEntry {
        limit: LimitName::BlockLength,
        name: "block-length",
        holds: LimitType::Amount(Dimension::Length),
        least: Some("5"),
        most: Some("500"),
        looser: Looser::FurtherOut,
        what: "the effective length of a block",
        source: "from memory of makers' tables, the smallest miniature block to the longest of the heaviest rails, no source",
    },
    LimitEntry {
        limit: LimitName::DynamicRating,
        name: "dynamic-rating",
        holds: LimitType::Amount(Dimension::Force),
        least: Some("100"),
        most: None,
        looser: Looser::FurtherOut,
        what: "the dynamic load rating C of a block",
        source: "from memory of makers' tables: the smallest miniature blocks bear some hundred newtons, no source",
    },
    LimitEntry {
        limit: LimitName::RatingShare,
        name: "rating-share",
        holds: LimitType::Amount(Dimension::Ratio),
        least: Some("0.0003"),
        most: None,
        looser: Looser::FurtherOut,
        what: "a preload, a load or the greatest allowed load, over the dynamic rating C of the block that bears it",
        source: "our own choice: no block feels less, and a number in kilonewtons that is read as newtons is a thousandth",
    },
    LimitEntry {
        limit: LimitName::BlockPreload,
        name: "block-preload",
        holds: LimitType::Amount(Dimension::Ratio),
        least: None,
        most: Some("1"),
        looser: Looser::FurtherOut,
        what: "the preload of a block, over its dynamic rating C",
        source: "common practice, no source: the heaviest preload is a small part of C, and (%)5 without its unit is 5",
    },
];
