//! When a record was made: a date, and a time of day where the order inside a day matters.

use std::fmt;

use jiff::civil::Date;

/// A date with an optional time of day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment {
    /// The day.
    pub date: Date,
    /// Minutes since midnight.
    pub minute: Option<u16>,
}

impl Moment {
    /// `YYYY-MM-DD` or `YYYY-MM-DDTHH:MM`, and nothing else.
    pub fn read(text: &str) -> Option<Moment> {
        let [y0, y1, y2, y3, b'-', m0, m1, b'-', d0, d1, time @ ..] = text.as_bytes() else { return None };
        let minute = match time {
            [] => None,
            [b'T', h0, h1, b':', m0, m1] => {
                let (hour, minute) = (number([h0, h1])?, number([m0, m1])?);
                Some((hour < 24 && minute < 60).then_some(hour * 60 + minute)? as u16)
            }
            _ => return None,
        };
        let (year, month, day) = (number([y0, y1, y2, y3])?, number([m0, m1])?, number([d0, d1])?);
        Some(Moment { date: Date::new(year, month as i8, day as i8).ok()?, minute })
    }

    /// Whether a moment that somebody names means this one: without a time it means any of that day.
    pub fn is_meant_by(self, named: Moment) -> bool {
        self == named || named.minute.is_none() && self.date == named.date
    }
}

/// Some digits and nothing else.
fn number<const DIGITS: usize>(text: [&u8; DIGITS]) -> Option<i16> {
    text.into_iter().try_fold(0, |value, byte| byte.is_ascii_digit().then(|| value * 10 + i16::from(byte - b'0')))
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.date)?;
        match self.minute {
            Some(minute) => write!(f, "T{:02}:{:02}", minute / 60, minute % 60),
            None => Ok(()),
        }
    }
}

/// A span of calendar months.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Months(pub u32);

impl Months {
    /// The same day that many months later, or the month's last day.
    pub fn after(self, date: Date) -> Option<Date> {
        date.checked_add(jiff::Span::new().try_months(i64::from(self.0)).ok()?).ok()
    }
}

impl fmt::Display for Months {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.0, if self.0 == 1 { "month" } else { "months" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_alone_means_any_time_of_it() {
        let at = |text| Moment::read(text).expect("a moment");
        let (ten, day) = (at("2026-04-14T10:00"), at("2026-04-14"));
        assert!(ten.is_meant_by(ten) && ten.is_meant_by(day) && day.is_meant_by(day));
        assert!(
            !ten.is_meant_by(at("2026-04-14T10:01")) && !day.is_meant_by(ten) && !ten.is_meant_by(at("2026-04-15"))
        );
    }

    #[test]
    fn only_the_two_shapes_are_moments() {
        let print = |text| Moment::read(text).map(|m| m.to_string());
        assert_eq!(print("2026-04-14"), Some("2026-04-14".into()));
        assert_eq!(print("2026-04-14T08:10"), Some("2026-04-14T08:10".into()));
        for wrong in [
            "2026-4-14",
            "14.04.2026",
            "2026-02-30",
            "2026-04-14T24:00",
            "2026-04-14 08:10",
            "2026-04-14T8:10",
            "",
            "2026-04-1ö",
        ] {
            assert_eq!(print(wrong), None, "{wrong}");
        }
    }
}
