//! Where answers come from: somebody at a terminal, a pipe, or a test.

use std::fmt::Display;

/// Asks and tells. What stands behind it decides whether a wrong answer may be given again.
pub trait Desk {
    /// The answer to a question, without its line end; nothing when no more answers come.
    fn ask(&mut self, question: &str) -> Option<String>;
    fn tell(&mut self, line: &str);
    /// Somebody sits there who can answer again.
    fn patient(&self) -> bool;
}

/// Why taking readings ended without a record. Nothing was written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Stop {
    #[error("{0}; nothing was written")]
    Wrong(String),
    #[error("no answer to `{0}`; nothing was written")]
    Ended(String),
}

/// Asks until the answer is right; a pipe gets one try.
pub fn right<T, E: Display>(
    desk: &mut dyn Desk,
    question: &str,
    check: impl Fn(&str) -> Result<T, E>,
) -> Result<T, Stop> {
    loop {
        let Some(answer) = desk.ask(question) else { return Err(Stop::Ended(question.to_string())) };
        match check(answer.trim()) {
            Ok(value) => return Ok(value),
            Err(why) if desk.patient() => desk.tell(&why.to_string()),
            Err(why) => return Err(Stop::Wrong(format!("{question}: {why}"))),
        }
    }
}

/// Like [`right`], where an empty answer or the end of the answers leaves it out.
pub fn optional<T, E: Display>(
    desk: &mut dyn Desk,
    question: &str,
    check: impl Fn(&str) -> Result<T, E>,
) -> Result<Option<T>, Stop> {
    let some = |answer: &str| if answer.is_empty() { Ok(None) } else { check(answer).map(Some) };
    match right(desk, question, some) {
        Err(Stop::Ended(_)) => Ok(None),
        other => other,
    }
}
