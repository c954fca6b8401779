//! Where output goes, and whether it may have colour.
//!
//! That standard output was closed (`>&-`) cannot be told: before `main` Rust opens `/dev/null` in its place, to read and to
//! write, and so do programs that mean to throw the output away, as Python's `subprocess.DEVNULL`. The exit code is right
//! either way, and a job goes by that.

use std::io::{self, IsTerminal, Write};
use std::path::Path;

use clap::ValueEnum;

use super::CommandError;
use crate::formats::{Style, is_ours};
use crate::writing::files::{WriteError, earlier_paper, may_replace, replace_paper};

/// When output has colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Colour {
    /// Where a terminal shows it and NO_COLOR is not set.
    #[default]
    Auto,
    Always,
    Never,
}

/// How findings are drawn on standard output.
pub(crate) fn style(colour: Colour) -> Style {
    let terminal = io::stdout().is_terminal();
    let colour = match colour {
        Colour::Always => true,
        Colour::Never => false,
        Colour::Auto => {
            terminal
                && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
                && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
        }
    };
    // A pipe has no width: the same bytes must come out everywhere.
    let width = if terminal { terminal_width().clamp(60, 140) } else { 100 };
    Style { colour, width }
}

fn terminal_width() -> usize {
    std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok()).unwrap_or(100)
}

/// Standard output, buffered and locked.
pub(crate) fn standard() -> io::BufWriter<StandardOutput> {
    io::BufWriter::new(StandardOutput { to: io::stdout().lock(), gone: false })
}

/// Standard output. Whoever reads it may stop reading, as `head` does: that is no fault, nobody is told, and the command
/// does its work and comes to its verdict all the same.
pub(crate) struct StandardOutput {
    to: io::StdoutLock<'static>,
    gone: bool,
}

impl StandardOutput {
    fn unless_gone<T>(&mut self, nothing: T, written: impl FnOnce(&mut Self) -> io::Result<T>) -> io::Result<T> {
        if self.gone {
            return Ok(nothing);
        }
        match written(self) {
            Err(why) if why.kind() == io::ErrorKind::BrokenPipe => {
                self.gone = true;
                Ok(nothing)
            }
            other => other,
        }
    }
}

impl Write for StandardOutput {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.unless_gone(bytes.len(), |out| out.to.write(bytes))
    }

    fn flush(&mut self) -> io::Result<()> {
        self.unless_gone((), |out| out.to.flush())
    }
}

/// Whether a paper of a set may be handed over to a file: nothing stands there, or an earlier paper of ours, no link.
pub(crate) fn may_deliver(file: &Path) -> Result<(), WriteError> {
    may_replace(file, is_ours)
}

/// Whether a file holds an earlier paper of ours.
pub(crate) fn is_earlier(file: &Path) -> bool {
    matches!(earlier_paper(file, is_ours), Ok(Some(_)))
}

/// Hands a paper over: to a file where one is named, else to standard output.
pub(crate) fn deliver(file: Option<&Path>, text: &str) -> Result<(), CommandError> {
    match file {
        Some(file) => replace_paper(file, text, is_ours).map_err(|why| CommandError::Said(why.to_string())),
        None => {
            let mut out = standard();
            out.write_all(text.as_bytes())?;
            Ok(out.flush()?)
        }
    }
}

/// Says on standard error why the job could not be done.
pub(crate) fn complain(message: &str) {
    let _ = writeln!(io::stderr(), "wayledger: {}", crate::formats::clean(message));
}
