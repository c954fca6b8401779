//! What a gauge reads, and whether one of its kind can.

use crate::ledger::{Body, Gauge, GaugedQuantity, PlusDirection, Record, SurveyKind};

impl GaugedQuantity {
    /// What the gauge of a record read.
    pub(crate) fn for_record(record: &Record) -> Option<GaugedQuantity> {
        match &record.body {
            Body::Inspect(_) => Some(GaugedQuantity::Groove),
            Body::Survey(survey) if survey.angles.is_some() => Some(GaugedQuantity::Angle),
            Body::Survey(survey) => Some(GaugedQuantity::of_survey(survey.kind?.value)),
            Body::RunningForce(_) => Some(GaugedQuantity::Force),
            _ => None,
        }
    }

    /// What a survey of some kind reads that reads lengths.
    pub(crate) fn of_survey(kind: SurveyKind) -> GaugedQuantity {
        match kind {
            SurveyKind::Gap => GaugedQuantity::Gap,
            SurveyKind::Straightness => GaugedQuantity::Straightness,
            SurveyKind::Height => GaugedQuantity::Height,
        }
    }

    /// Whether nothing speaks against reading it with a gauge, whose own plus counts.
    pub(crate) fn suits(self, gauge: &Gauge) -> bool {
        self.against(gauge, None).is_none()
    }

    /// What speaks against reading it with a gauge, if anything does. `plus` is the record's own.
    pub(crate) fn against(self, gauge: &Gauge, plus: Option<PlusDirection>) -> Option<Unsuited> {
        let reads = match &gauge.kind {
            Some(_) if gauge.is_of_own_kind() => gauge.reads.is_empty() || gauge.reads.contains(&self),
            Some(kind) => self.kinds().contains(&kind.as_str()),
            None => true,
        };
        if !reads {
            return Some(Unsuited::Kind(self));
        }
        if self == GaugedQuantity::Force {
            return None;
        }
        let plus = plus.or(gauge.plus.map(|plus| plus.value))?;
        if self == GaugedQuantity::Angle
            && gauge.follows_gravity()
            && matches!(plus, PlusDirection::Left | PlusDirection::Right)
        {
            return Some(Unsuited::Gravity);
        }
        (!self.ways().contains(&plus)).then_some(Unsuited::Way(self))
    }

    /// How people call it.
    pub(crate) fn words(self) -> &'static str {
        match self {
            GaugedQuantity::Groove => "a groove",
            GaugedQuantity::Gap => "a gap",
            GaugedQuantity::Straightness => "straightness",
            GaugedQuantity::Height => "a height",
            GaugedQuantity::Force => "a force",
            GaugedQuantity::Angle => "angles",
        }
    }

    /// The kinds of gauge that read it. One of a kind of its own says itself what it reads.
    pub(crate) fn kinds(self) -> &'static [&'static str] {
        match self {
            GaugedQuantity::Groove => &["dial-indicator", "lever-indicator", "electronic-indicator", "laser"],
            GaugedQuantity::Gap | GaugedQuantity::Straightness | GaugedQuantity::Height => {
                &["dial-indicator", "lever-indicator", "electronic-indicator", "micrometer", "feeler", "laser"]
            }
            GaugedQuantity::Force => &["force-gauge"],
            GaugedQuantity::Angle => &["level", "autocollimator", "laser-angle"],
        }
    }

    /// The ways in which it can grow.
    pub(crate) fn ways(self) -> &'static [PlusDirection] {
        match self {
            GaugedQuantity::Groove => &[PlusDirection::Outward, PlusDirection::Inward],
            GaugedQuantity::Gap => &[PlusDirection::Wider, PlusDirection::Narrower],
            GaugedQuantity::Straightness | GaugedQuantity::Angle => {
                &[PlusDirection::Left, PlusDirection::Right, PlusDirection::Up, PlusDirection::Down]
            }
            GaugedQuantity::Height => &[PlusDirection::Up, PlusDirection::Down],
            GaugedQuantity::Force => &[],
        }
    }
}

/// Why a gauge is not suited.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Unsuited {
    Kind(GaugedQuantity),
    Way(GaugedQuantity),
    /// It follows gravity, which tells nothing of left and right.
    Gravity,
}
