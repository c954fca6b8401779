//! The command line: what was typed becomes a request, the request becomes an exit code. One file a command.

mod axis;
mod compare;
mod completions;
mod export;
mod hook;
mod how;
mod import;
mod language_server;
mod layout;
mod lint;
mod moment;
mod motion;
mod outcome;
mod output;
mod paper;
mod progress;
mod prompter;
mod record;
mod record_draft;
mod release;
mod release_history;
mod release_signing;
mod report;
mod rules;
mod shims;
mod source;
mod start;
mod tidy;
mod trace;
mod traveler;

use std::process::ExitCode;

use clap::{CommandFactory, Parser, Subcommand};

pub(crate) use outcome::{BROKEN, CLEAN, CommandError, FAILED};

/// A plain-text build ledger and lint for long linear axes made of butt-joined profile rails.
#[derive(Debug, Parser)]
#[command(name = "wayledger", version, max_term_width = 100, disable_help_subcommand = true)]
struct CommandLine {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Compare(compare::CompareArguments),
    Hook(hook::HookArguments),
    How(how::HowArguments),
    Layout(layout::LayoutArguments),
    Import(import::ImportArguments),
    LanguageServer(language_server::LanguageServerArguments),
    Lint(lint::LintArguments),
    Motion(motion::MotionArguments),
    Release(release::ReleaseArguments),
    Record(record::RecordArguments),
    Report(report::ReportArguments),
    Rules(rules::RulesArguments),
    Shims(shims::ShimsArguments),
    Start(start::StartArguments),
    Trace(trace::TraceArguments),
    Traveler(traveler::TravelerArguments),
    Tidy(tidy::TidyArguments),
    Export(export::ExportArguments),
    Completions(completions::Completions),
    Manual(completions::Manual),
}

/// Runs the program on its arguments.
pub fn run() -> ExitCode {
    let arguments = match CommandLine::try_parse() {
        Ok(arguments) => arguments,
        Err(error) if error.use_stderr() => {
            let _ = error.print();
            return ExitCode::from(FAILED);
        }
        // Help and version are output like any other.
        Err(asked) => match asked.print() {
            Err(why) if why.kind() != std::io::ErrorKind::BrokenPipe => return ended(Err(why.into())),
            _ => return ExitCode::from(CLEAN),
        },
    };
    let result = match arguments.command {
        Command::Compare(arguments) => compare::run(&arguments),
        Command::Hook(arguments) => hook::run(&arguments),
        Command::How(arguments) => how::run(&arguments),
        Command::Layout(arguments) => layout::run(&arguments),
        Command::Import(arguments) => import::run(&arguments),
        Command::LanguageServer(arguments) => language_server::run(&arguments),
        Command::Lint(arguments) => lint::run(&arguments),
        Command::Motion(arguments) => motion::run(&arguments),
        Command::Release(arguments) => release::run(&arguments),
        Command::Record(arguments) => record::run(&arguments),
        Command::Report(arguments) => report::run(&arguments),
        Command::Rules(arguments) => rules::run(&arguments),
        Command::Shims(arguments) => shims::run(&arguments),
        Command::Start(arguments) => start::run(&arguments),
        Command::Trace(arguments) => trace::run(&arguments),
        Command::Traveler(arguments) => traveler::run(&arguments),
        Command::Tidy(arguments) => tidy::run(&arguments),
        Command::Export(arguments) => export::run(&arguments),
        Command::Completions(arguments) => completions::completions(&arguments, CommandLine::command()),
        Command::Manual(arguments) => completions::manual(&arguments, CommandLine::command()),
    };
    ended(result)
}

/// How the program ends.
fn ended(result: Result<u8, CommandError>) -> ExitCode {
    match result {
        Ok(code) => ExitCode::from(code),
        Err(failure) => {
            output::complain(&failure.to_string());
            ExitCode::from(FAILED)
        }
    }
}
