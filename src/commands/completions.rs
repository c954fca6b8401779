//! `wayledger completions` and `wayledger manual`: both made from the command line's own definition, so that they
//! cannot differ from it.

use std::io::Write as _;

use clap_complete::Shell;

use super::{CLEAN, CommandError, output};

/// Prints a script that completes commands and options in a shell.
///
/// Bash: wayledger completions bash > ~/.local/share/bash-completion/completions/wayledger
#[derive(Debug, clap::Args)]
pub(crate) struct Completions {
    /// The shell.
    shell: Shell,
}

/// Prints the manual page, for man: wayledger manual > wayledger.1
#[derive(Debug, clap::Args)]
pub(crate) struct Manual {
    /// The command whose page is wanted; without it, the page of the program.
    command: Option<String>,
}

pub(crate) fn completions(arguments: &Completions, mut program: clap::Command) -> Result<u8, CommandError> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut program, "wayledger", &mut script);
    print(&script)
}

pub(crate) fn manual(arguments: &Manual, mut program: clap::Command) -> Result<u8, CommandError> {
    // Gives every command its full name and the options all share.
    program.build();
    let page = match &arguments.command {
        None => program,
        Some(name) => {
            let Some(command) = program.find_subcommand(name) else {
                let known = program.get_subcommands().map(|command| command.get_name().to_owned());
                let near = crate::language::schema::nearest(name, known.collect::<Vec<_>>().iter().map(String::as_str))
                    .map_or("`wayledger --help` lists them".into(), |near| format!("did you mean `{near}`?"));
                return Err(CommandError::Said(format!("there is no command `{name}`; {near}")));
            };
            command.clone()
        }
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(page).render(&mut text)?;
    print(&text)
}

fn print(text: &[u8]) -> Result<u8, CommandError> {
    let mut out = output::standard();
    out.write_all(text)?;
    out.flush()?;
    Ok(CLEAN)
}
