//! Where a command's questions are answered: a terminal, or a pipe line by line.

use std::io::{self, BufRead as _, IsTerminal as _, Read as _, Write as _};

use super::CommandError;
use crate::formats::clean;
use crate::writing::entry::{PromptError, Prompter};

/// Standard input and error: questions are shown to a person only, so that a pipe's output stays clean.
pub(crate) struct StandardPrompter {
    person: bool,
    /// Something was asked and answered.
    answered: bool,
}

impl StandardPrompter {
    pub(crate) fn new() -> StandardPrompter {
        StandardPrompter { person: io::stdin().is_terminal() && io::stderr().is_terminal(), answered: false }
    }
}

impl Prompter for StandardPrompter {
    fn ask(&mut self, question: &str) -> Option<String> {
        if self.person {
            let mut screen = io::stderr();
            let _ = write!(screen, "{}: ", clean(question));
            let _ = screen.flush();
        }
        self.answered = true;
        let mut answer = String::new();
        match io::stdin().lock().read_line(&mut answer) {
            // What has no line end was cut short: nobody knows what was to come.
            Ok(_) if answer.ends_with('\n') => Some(answer.trim_end_matches(['\n', '\r']).to_string()),
            Err(why) if why.kind() == io::ErrorKind::InvalidData && self.person => {
                self.tell("that is no UTF-8 text");
                self.ask(question)
            }
            _ => {
                if self.person {
                    let _ = writeln!(io::stderr());
                }
                None
            }
        }
    }

    fn tell(&mut self, line: &str) {
        let _ = writeln!(io::stderr(), "  {}", clean(line));
    }

    fn patient(&self) -> bool {
        self.person
    }

    /// A pipe that was asked nothing may be meant for somebody else.
    fn left_over(&mut self) -> bool {
        let mut rest = String::new();
        let reads = self.answered && !io::stdin().is_terminal();
        reads && (io::stdin().lock().read_to_string(&mut rest).is_err() || !rest.trim().is_empty())
    }
}

impl From<PromptError> for CommandError {
    fn from(stop: PromptError) -> Self {
        CommandError::Said(stop.to_string())
    }
}
