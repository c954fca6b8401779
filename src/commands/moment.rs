//! When a record was made: to the minute, since the order of records decides what counts. One way for all commands that
//! write one.

use jiff::civil::Date;

use super::CommandError;
use crate::quantity::Moment;
use crate::writing::entry::{self, Prompter};

/// Now, by the machine's clock.
pub(crate) fn now() -> Moment {
    let now = jiff::ZonedDateTime::now();
    let minute = i16::from(now.hour()) * 60 + i16::from(now.minute());
    Moment { date: now.date(), minute: u16::try_from(minute).ok() }
}

/// A moment as an option; a day alone is one too.
pub(crate) fn option(text: &str) -> Result<Moment, String> {
    Moment::read(text).ok_or_else(|| format!("`{text}` is no date; write it as 2026-04-14 or 2026-04-14T08:10"))
}

/// The moment of a record: as it was said; now, where no day is said. Of a day alone the time is asked for.
pub(crate) fn asked(
    said: Option<Moment>,
    today: Option<Date>,
    begun: Moment,
    prompter: &mut dyn Prompter,
) -> Result<Moment, CommandError> {
    let (day, usual) = match (said, today) {
        (Some(said), _) if said.minute.is_some() => return Ok(said),
        (Some(said), _) => (said.date, (said.date == begun.date).then_some(begun)),
        (None, Some(today)) => (today, Some(begun)),
        (None, None) => return Ok(begun),
    };
    // Only a person can mean now by saying nothing.
    let usual = usual.filter(|_| prompter.patient()).map(|now| now.to_string()[11..].to_string());
    let enter = usual.as_ref().map_or(String::new(), |now| format!(" (Enter for {now})"));
    let question = format!("At what time on {day}, as 08:10?{enter}");
    Ok(entry::right(prompter, &question, |time| {
        let time = usual.as_deref().filter(|_| time.is_empty()).unwrap_or(time);
        Moment::read(&format!("{day}T{time}"))
            .filter(|moment| moment.minute.is_some())
            .ok_or_else(|| format!("`{time}` is no time of day; write it as 08:10, or give --date {day}T08:10"))
    })?)
}

/// The same for a command that reads no answers from a pipe: there a day that was said stays a day, unless it is today.
pub(crate) fn settled(
    said: Option<Moment>,
    today: Option<Date>,
    prompter: &mut dyn Prompter,
) -> Result<Moment, CommandError> {
    let now = now();
    let day = said.or(today.map(|date| Moment { date, minute: None }));
    match day.filter(|_| !prompter.patient()) {
        Some(day) if day.minute.is_none() && day.date == now.date => Ok(now),
        Some(day) => Ok(day),
        None => asked(said, today, now, prompter),
    }
}
