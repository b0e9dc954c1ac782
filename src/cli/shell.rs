//! `waystock completions SHELL` and `waystock man [COMMAND]`: what a shell and a manual page know,
//! from the same table as the help.

use super::args::Args;
use super::{CommandResult, Failure, Output};
use clap::{Command, CommandFactory};
use clap_complete::Shell;

/// Prints the script that a shell completes words by.
pub(super) fn completions(shell: Shell, out: &mut Output) -> CommandResult {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Args::command(), "waystock", &mut script);
    out.raw(&script);
    Ok(0)
}

/// Prints the manual page of the program, or of one of its commands.
pub(super) fn man(command: Option<&str>, out: &mut Output) -> CommandResult {
    let mut all = Args::command();
    all.build();
    let named = match command {
        None => all,
        Some(name) => find(&mut all, name)?.clone(),
    };
    let mut page = Vec::new();
    clap_mangen::Man::new(named)
        .render(&mut page)
        .map_err(|error| Failure::new(74, format!("cannot write the page: {error}")))?;
    out.raw(&page);
    Ok(0)
}

/// The command of that name.
///
/// # Errors
/// Where there is none.
pub(super) fn find<'c>(all: &'c mut Command, name: &str) -> Result<&'c mut Command, Failure> {
    all.find_subcommand_mut(name).ok_or_else(|| {
        Failure::new(2, format!("no command is called {name}"))
            .hint("`waystock help` lists the commands.")
    })
}
