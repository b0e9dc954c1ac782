//! The program: reads clock, arguments and environment, and picks a front.

use chrono::{Local, SubsecRound};
use clap::Parser;
use std::io::IsTerminal;
use std::path::PathBuf;
use std::process::ExitCode;
use waystock::cli::args::Args;
use waystock::domain::time::Moment;
use waystock::start::{self, Environment};

fn main() -> ExitCode {
    let environment = Environment {
        clock,
        dir: folder("WAYSTOCK_DIR"),
        no_color: variable("NO_COLOR"),
        term: variable("TERM"),
        locale: variable("LC_ALL").or(variable("LC_CTYPE")).or(variable("LANG")),
        zone: machine_zone,
        at_terminal: std::io::stdin().is_terminal() && std::io::stdout().is_terminal(),
    };
    match Args::try_parse() {
        Ok(args) => ExitCode::from(start::run(args, environment)),
        Err(error) => ExitCode::from(waystock::cli::explain(&error)),
    }
}

#[allow(clippy::disallowed_methods, reason = "the one place that reads the clock")]
fn clock() -> Moment {
    // Whole seconds: entries are echoed and compared as people read them.
    Local::now().trunc_subsecs(0).fixed_offset()
}

/// The machine's time zone by name: that of TZ, else of the system.
fn machine_zone() -> Option<String> {
    let own = variable("TZ").map(|zone| zone.trim_start_matches(':').to_string());
    own.or_else(|| iana_time_zone::get_timezone().ok())
}

/// A folder that a variable names, in whatever bytes the system writes names.
#[allow(clippy::disallowed_methods, reason = "the one place that reads the environment")]
fn folder(name: &str) -> Option<PathBuf> {
    std::env::var_os(name).filter(|value| !value.is_empty()).map(PathBuf::from)
}

/// A variable that is set to something.
#[allow(clippy::disallowed_methods, reason = "the one place that reads the environment")]
fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|value| !value.is_empty())
}
