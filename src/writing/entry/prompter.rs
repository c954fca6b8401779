//! Where answers come from: somebody at a terminal, a pipe, or a test.

use std::fmt::Display;

/// Asks and tells. What stands behind it decides whether a wrong answer may be given again.
pub(crate) trait Prompter {
    /// The answer to a question, without its line end; nothing when no more answers come.
    fn ask(&mut self, question: &str) -> Option<String>;
    fn tell(&mut self, line: &str);
    /// Somebody sits there who can answer again.
    fn patient(&self) -> bool;
    /// More was answered than asked: which of it belongs to which question nobody knows.
    fn left_over(&mut self) -> bool {
        false
    }
    /// What the record is about is known from now on.
    fn about(&mut self, _address: &str) {}
    /// The last answer to this question does not count, nor does a yes or no about it: it will be asked again.
    fn forget(&mut self, _question: &str) {}
}

/// Why taking readings ended without a record. Nothing was written.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub(crate) enum PromptError {
    /// What was said cannot be taken as an answer, or does not go together.
    #[error("{0}; nothing was written")]
    Wrong(String),
    /// The answers end before this question.
    #[error("no answer to `{0}`; nothing was written")]
    Ended(String),
}

/// Asks until the answer is right; a pipe gets one try.
pub(crate) fn right<T, E: Display>(
    prompter: &mut dyn Prompter,
    question: &str,
    check: impl Fn(&str) -> Result<T, E>,
) -> Result<T, PromptError> {
    loop {
        let Some(answer) = prompter.ask(question) else { return Err(PromptError::Ended(question.to_string())) };
        match check(answer.trim()) {
            Ok(value) => return Ok(value),
            Err(why) if prompter.patient() => {
                prompter.forget(question);
                prompter.tell(&why.to_string());
            }
            Err(why) => return Err(PromptError::Wrong(format!("{question}: {why}"))),
        }
    }
}

/// Like [`right`], where an empty answer leaves it out. That no answer comes is no answer: a pipe that ends early has not
/// said that the rest may be left out.
pub(crate) fn optional<T, E: Display>(
    prompter: &mut dyn Prompter,
    question: &str,
    check: impl Fn(&str) -> Result<T, E>,
) -> Result<Option<T>, PromptError> {
    right(prompter, question, |answer| if answer.is_empty() { Ok(None) } else { check(answer).map(Some) })
}

/// Asks until the answer is y or n. Every question of the program that wants yes or no is asked here.
pub(crate) fn yes_no(prompter: &mut dyn Prompter, question: &str) -> Result<bool, PromptError> {
    right(prompter, &for_yes_no(question), yes_or_no)
}

/// What an answer to a question for yes or no means.
pub(super) fn yes_or_no(answer: &str) -> Result<bool, &'static str> {
    match answer {
        "y" | "Y" => Ok(true),
        "n" | "N" => Ok(false),
        _ => Err("answer y or n"),
    }
}

const YES_NO: &str = " [y/n]";

/// The question as it is asked.
pub(super) fn for_yes_no(question: &str) -> String {
    format!("{question}{YES_NO}")
}

pub(super) fn is_yes_no(question: &str) -> bool {
    question.ends_with(YES_NO)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Somebody, or a pipe, with answers in a row.
    struct Answers(Vec<&'static str>, bool, Vec<String>);

    impl Prompter for Answers {
        fn ask(&mut self, _: &str) -> Option<String> {
            (!self.0.is_empty()).then(|| self.0.remove(0).to_string())
        }

        fn tell(&mut self, line: &str) {
            self.2.push(line.to_string());
        }

        fn patient(&self) -> bool {
            self.1
        }
    }

    #[test]
    fn yes_and_no_are_y_and_n() {
        for (answer, meant) in [("y", true), ("Y", true), ("n", false), ("N", false), (" n ", false)] {
            for patient in [true, false] {
                assert_eq!(yes_no(&mut Answers(vec![answer], patient, vec![]), "So?"), Ok(meant));
            }
        }
        for other in ["", "yes", "no", "ja", "0", "y n", "\u{ff59}"] {
            // A person is asked again until it is one of them; a pipe has said nothing that counts.
            let mut person = Answers(vec![other, other, "n"], true, vec![]);
            assert_eq!(yes_no(&mut person, "So?"), Ok(false), "{other}");
            assert_eq!(person.2, ["answer y or n", "answer y or n"]);
            let pipe = yes_no(&mut Answers(vec![other, "y"], false, vec![]), "So?");
            assert_eq!(pipe, Err(PromptError::Wrong("So? [y/n]: answer y or n".into())), "{other}");
        }
        for patient in [true, false] {
            let ended = yes_no(&mut Answers(vec![], patient, vec![]), "So?");
            assert_eq!(ended, Err(PromptError::Ended("So? [y/n]".into())));
        }
    }
}
