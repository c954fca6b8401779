//! The day to judge by. A record is dated by the calendar of whoever wrote it, and a pipeline may run where that day has
//! not begun yet, so the day a clock gives comes with the day it already is where days begin first.

use jiff::civil::Date;
use jiff::tz::Offset;
use jiff::{Timestamp, ZonedDateTime};

/// The offset of the zone where days begin first (Line Islands; the tz database has no greater one).
const FIRST: Offset = Offset::constant(14);

/// A day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Day {
    /// By it is judged what is due and what has run out.
    pub date: Date,
    /// No record can have been made after it. The same day, where somebody stated the day.
    pub latest: Date,
}

impl Day {
    /// A day that somebody stated: it is what they say.
    #[must_use]
    pub fn stated(date: Date) -> Day {
        Day { date, latest: date }
    }

    /// The day by the machine's clock.
    #[must_use]
    pub fn now() -> Day {
        let now = ZonedDateTime::now();
        Day { date: now.date(), latest: Day::latest_at(now.timestamp()) }
    }

    /// The day it is, at some moment, where days begin first.
    #[must_use]
    pub fn latest_at(moment: Timestamp) -> Date {
        FIRST.to_datetime(moment).date()
    }
}

impl From<Date> for Day {
    fn from(date: Date) -> Day {
        Day::stated(date)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::tz::TimeZoneDatabase;

    /// A computer without zone data, as Windows is and a bare container, knows the day of its own zone all the same.
    #[test]
    fn zones_come_with_the_program() {
        let moment = "2026-10-31T23:30:00Z".parse::<Timestamp>().expect("a moment");
        let day = |zone: &str| {
            moment.to_zoned_datetime(TimeZoneDatabase::bundled().get(zone).expect(zone)).date().to_string()
        };
        assert_eq!(day("Europe/Berlin"), "2026-11-01");
        assert_eq!(day("America/Los_Angeles"), "2026-10-31");
        assert_eq!(day("Pacific/Kiritimati"), Day::latest_at(moment).to_string());
    }
}
