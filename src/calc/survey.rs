//! A survey along an axis: stations with readings, and what can be read from them exactly.
//!
//! A gap survey is relative: it is zero where its zero was set, and only differences between stations mean anything.
//! This file holds the survey itself, its widest and narrowest places, interpolation between stations, the shim each
//! support needs, repeats, and the comparison of two surveys. Lines through a survey are in `straightness`.

use super::exact::{LengthError, Ratio, in_range};

/// The greatest number of stations of one survey.
pub(crate) const MOST_STATIONS: usize = 100_000;

/// One place of a survey.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct SurveyStation {
    /// Along the axis, in nm.
    pub position_nm: i64,
    /// What was read there, in nm.
    pub reading_nm: i64,
    /// Which of those it is that the survey was made of.
    pub number: usize,
}

/// Why stations make no survey.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SurveyError {
    /// There is no station.
    #[error("a survey needs at least one station")]
    Empty,
    /// There are more than [`MOST_STATIONS`].
    #[error("{0} stations are more than one survey may hold")]
    TooMany(usize),
    /// A position or a reading is out of range.
    #[error(transparent)]
    Length(#[from] LengthError),
}

/// Stations in order of position. Some may share a place: the ends of two rails in a joint.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SurveyLine {
    stations: Vec<SurveyStation>,
}

/// What a shim between rail and support does to the reading there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ShimEffect {
    /// The gap widens: every place is brought up to the widest.
    Widens,
    /// The gap narrows: every place is brought down to the narrowest.
    Narrows,
    /// The rail rises in a height survey: every place is brought up to the highest.
    Lifts,
}

impl ShimEffect {
    /// The sign with which a shim changes the reading.
    pub const fn sign(self) -> i64 {
        match self {
            Self::Widens | Self::Lifts => 1,
            Self::Narrows => -1,
        }
    }
}

/// A value at a place, and how it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interpolated {
    /// The exact value in nm.
    pub value: Ratio,
    /// The stations it comes from: the same one twice where the place is a station.
    pub between: (SurveyStation, SurveyStation),
}

impl SurveyLine {
    /// Orders the stations by position; those at one place stay as they are.
    pub fn new(mut stations: Vec<SurveyStation>) -> Result<Self, SurveyError> {
        if stations.is_empty() {
            return Err(SurveyError::Empty);
        }
        if stations.len() > MOST_STATIONS {
            return Err(SurveyError::TooMany(stations.len()));
        }
        for station in &stations {
            in_range(station.position_nm)?;
            in_range(station.reading_nm)?;
        }
        stations.sort_by_key(|station| station.position_nm);
        Ok(Self { stations })
    }

    /// The stations in order of position; never empty.
    pub fn stations(&self) -> &[SurveyStation] {
        &self.stations
    }

    /// The station with the greatest reading, the first of equals.
    pub fn widest(&self) -> SurveyStation {
        self.best(|new, old| new > old)
    }

    /// The station with the least reading, the first of equals.
    pub fn narrowest(&self) -> SurveyStation {
        self.best(|new, old| new < old)
    }

    fn best(&self, better: impl Fn(i64, i64) -> bool) -> SurveyStation {
        let first = self.stations[0];
        self.stations
            .iter()
            .fold(first, |best, &next| if better(next.reading_nm, best.reading_nm) { next } else { best })
    }

    /// Widest minus narrowest, in nm. Noise biases it upward: the more stations, the more.
    pub fn range_nm(&self) -> i64 {
        self.widest().reading_nm - self.narrowest().reading_nm
    }

    /// The reading that counts as zero for a seat: the widest (or highest), or the narrowest where shims narrow.
    pub fn target(&self, effect: ShimEffect) -> SurveyStation {
        match effect {
            ShimEffect::Widens | ShimEffect::Lifts => self.widest(),
            ShimEffect::Narrows => self.narrowest(),
        }
    }

    /// The same survey with its zero at the target of the seat.
    #[must_use]
    pub fn zeroed(&self, effect: ShimEffect) -> Self {
        let zero = self.target(effect).reading_nm;
        let stations = self.stations.iter().map(|s| SurveyStation { reading_nm: s.reading_nm - zero, ..*s }).collect();
        Self { stations }
    }

    /// The reading at any place within the survey, linear between stations, and the first one's where several share the place;
    /// `None` outside, where nothing is known.
    pub fn at(&self, position_nm: i64) -> Option<Interpolated> {
        let after = self.stations.partition_point(|station| station.position_nm < position_nm);
        let right = *self.stations.get(after)?;
        if right.position_nm == position_nm {
            return Some(Interpolated { value: Ratio::whole(right.reading_nm.into()), between: (right, right) });
        }
        let left = *self.stations.get(after.checked_sub(1)?)?;
        let span = i128::from(right.position_nm) - i128::from(left.position_nm);
        let along = i128::from(position_nm) - i128::from(left.position_nm);
        let rise = i128::from(right.reading_nm) - i128::from(left.reading_nm);
        let value = Ratio::new(i128::from(left.reading_nm) * span + rise * along, span)?;
        Some(Interpolated { value, between: (left, right) })
    }

    /// The shim needed at a place so that it reads like the target of the seat; at least 0 and exact.
    ///
    /// `None` outside the survey. [`Ratio::ceil`] gives whole nm, rounded up.
    pub fn shim_needed(&self, position_nm: i64, effect: ShimEffect) -> Option<Interpolated> {
        let here = self.at(position_nm)?;
        let target = i128::from(self.target(effect).reading_nm);
        let (num, den) = (here.value.numerator(), here.value.denominator());
        let value = Ratio::new(i128::from(effect.sign()) * (target * den - num), den)?;
        Some(Interpolated { value, ..here })
    }

    /// How the stations they share changed from this survey to a later one.
    pub fn change_to(&self, later: &Self) -> Vec<ReadingChange> {
        let mut changes = Vec::new();
        let mut rest = later.stations.iter().peekable();
        for before in &self.stations {
            while rest.peek().is_some_and(|after| after.position_nm < before.position_nm) {
                rest.next();
            }
            if let Some(after) = rest.peek()
                && after.position_nm == before.position_nm
            {
                let change_nm = after.reading_nm - before.reading_nm;
                changes.push(ReadingChange { position_nm: before.position_nm, change_nm });
            }
        }
        changes
    }
}

/// How a reading changed at one place, in nm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ReadingChange {
    /// Where, in nm.
    pub position_nm: i64,
    /// Later minus earlier, in nm.
    pub change_nm: i64,
}
