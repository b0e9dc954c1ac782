//! The command line: plain sentences for people and screen readers, JSON for scripts.
//!
//! One file per command. Commands read the folder through `store`, ask the pure modules, and
//! write through [`output::Output`]; none computes, and none waits for a key (but `init` on a
//! terminal).

mod amend;
pub mod args;
pub mod check;
pub mod export;
pub mod failure;
pub mod forecast;
pub mod gaps;
pub mod help;
pub mod hindsight;
pub mod import;
pub mod init;
pub mod journal;
pub mod json;
pub mod json_help;
pub mod log;
pub mod next;
pub mod output;
pub mod plan_words;
pub mod plans;
pub mod progress_line;
pub mod questions;
pub mod session;
mod shell;
pub mod stops;
pub mod stretch;
pub mod undo;
pub mod usage;
pub mod why;

// The face of this folder: what is named most often, by its short path.
pub use failure::{CommandResult, Failure};
pub(in crate::cli) use json::{AsJson, Rounded, list, object};
pub use output::Output;
pub use session::Session;
pub(in crate::cli) use session::vocabulary;

use crate::text::safe;
use args::Command;
use std::io::Write;

/// Runs one command and returns the exit code. The dashboard is not a command: `main` opens it.
pub fn run(command: Command, session: &mut Session, out: &mut Output) -> u8 {
    let done = match command {
        Command::Init(options) => init::run(&options, session, out),
        Command::Log { words } => log::run(&words, session, out),
        Command::Undo => undo::run(undo::Which::Undo, session, out),
        Command::Redo => undo::run(undo::Which::Redo, session, out),
        Command::Journal(options) => journal::run(&options, session, out),
        Command::Correct { id, words } => {
            amend::run(&id, amend::Amend::Correct(&words), session, out)
        }
        Command::Retract { id } => amend::run(&id, amend::Amend::Retract, session, out),
        Command::Restore { id } => amend::run(&id, amend::Amend::Restore, session, out),
        Command::Note { words } => amend::note(&words, session, out),
        Command::Next(options) => next::run(&options, session, out),
        Command::Plans { answer } => plans::run(answer.as_ref(), session, out),
        Command::Forecast => forecast::run(session, out),
        Command::Hindsight => hindsight::run(session, out),
        Command::Use { stock, since } => {
            usage::run(&stock.join(" "), since.as_deref(), session, out)
        }
        Command::Why { stock } => why::run(&stock.join(" "), session, out),
        Command::Stretch(options) => stretch::run(&options, session, out),
        Command::Stops(options) => stops::run(&options, session, out),
        Command::Import(options) => import::run(&options, session, out),
        Command::Export(options) => export::run(&options, session, out),
        Command::Check(options) => check::run(&options, session, out),
        Command::Completions { shell } => shell::completions(shell, out),
        Command::Man { command } => shell::man(command.as_deref(), out),
        Command::Help { command } => help::run(command.as_deref(), session, out),
        Command::Demo => Ok(0),
    };
    let finished = done.and_then(|code| out.finish().map(|()| code));
    finished.unwrap_or_else(|failure| report(&failure, out))
}

/// Prints help, the version, or why the arguments are not understood, and returns the exit code.
/// What was typed is quoted back in it, so nothing in it reaches the terminal as it came.
pub fn explain(error: &clap::Error) -> u8 {
    if !error.use_stderr() {
        return u8::from(error.print().is_err()) * 74;
    }
    let mut err = std::io::stderr();
    let columns = output::columns_of_messages();
    for line in error.render().to_string().lines() {
        for part in output::broken(&safe(line), columns) {
            let _ = writeln!(err, "{part}");
        }
    }
    2
}

/// Writes a failure to standard error and returns its exit code.
pub fn report(failure: &Failure, out: &mut Output) -> u8 {
    for message in &failure.messages {
        out.say(&format!("waystock: {message}"));
    }
    for line in &failure.excerpt {
        out.say_whole(&format!("  {line}"));
    }
    if let Some(hint) = &failure.hint {
        out.say(hint);
    }
    failure.code
}
