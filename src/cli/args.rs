//! What can be typed after `waystock`.

use crate::domain::time::Moment;
use chrono::SubsecRound;
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Everything on one command line.
#[derive(Debug, Parser)]
#[command(
    name = "waystock",
    version,
    about = "Which stock of your van forces the next stop, by when, and how sure",
    after_help = "Without a command, the dashboard opens on the data folder.\n\n\
        Exit codes: 0 done; 1 the answer is no; 2 not understood; 65 bad data; 66 no such input, \
        or no rig yet; 73 cannot create; 74 cannot read or write, disk full, failed sync; 75 \
        busy, try again; 76 written by a newer version; 77 no permission.\n\n\
        Forecasts are estimates: leave earlier when weather, roads or people say so."
)]
pub struct Args {
    /// Options on every command.
    #[command(flatten)]
    pub common: Common,
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// Options on every command.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct Common {
    /// Data folder (else WAYSTOCK_DIR, else the platform's data folder)
    #[arg(long, global = true, value_name = "DIR")]
    pub dir: Option<PathBuf>,
    /// Pretend that it is now this time (RFC 3339, with offset)
    #[arg(long, global = true, value_name = "TIME", value_parser = moment)]
    pub at: Option<Moment>,
    /// Seed of the simulated lives
    #[arg(long, global = true, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// Number of simulated lives, 100 to 1000000
    #[arg(long, global = true, value_name = "N", default_value_t = 2000,
          value_parser = clap::value_parser!(u32).range(100..=1_000_000))]
    pub lives: u32,
    /// Print JSON where there is a result to read
    #[arg(long, global = true)]
    pub json: bool,
    /// Draw the dashboard in plain ASCII
    #[arg(long, global = true)]
    pub ascii: bool,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Open the dashboard on a throw-away copy of the demo
    Demo,
    /// Write a starter rig: asks on a terminal, or takes a template
    Init(InitOptions),
    /// Record what happened: 2 showers, dishes, fresh 60%
    Log {
        /// Words, as you would say them
        #[arg(required = true, num_args = 1.., allow_negative_numbers = true)]
        words: Vec<String>,
    },
    /// Take back this device's last entry (again: the one before)
    Undo,
    /// Put back what undo took
    Redo,
    /// List the entries, newest last, with their ids
    Journal {
        /// Only entries that happened at or after this time (RFC 3339)
        #[arg(long, value_name = "TIME", value_parser = moment)]
        since: Option<Moment>,
    },
    /// Say the next forced stop in one line
    Next,
    /// Say when every stock reaches its limit, and how sure
    Forecast,
    /// Say what lies behind one stock's dates
    Why {
        /// The stock's name
        #[arg(required = true, num_args = 1.., value_name = "STOCK")]
        stock: Vec<String>,
    },
    /// Say how good earlier forecasts were, on this very journal
    Hindsight,
    /// Take an exchange file (CSV) into the folder; twice adds nothing
    Import {
        /// The file; - reads standard input
        file: PathBuf,
    },
    /// Print the journal in an exchange format
    Export {
        /// The format
        format: ExportFormat,
    },
    /// Validate the folder, name file, line and column, and say where everything lies
    Check,
}

/// Options of `init`.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct InitOptions {
    /// Start from this template instead of asking
    #[arg(long, value_name = "NAME")]
    pub from_template: Option<String>,
    /// List the templates
    #[arg(long)]
    pub list_templates: bool,
}

/// Formats of `export`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ExportFormat {
    /// Exchange CSV: what stands after corrections
    Csv,
    /// Outlook CSV: the weather rows, which the exchange CSV does not hold
    Outlook,
    /// JSON Lines: every record
    Jsonl,
}

/// An RFC 3339 time with its offset.
fn moment(text: &str) -> Result<Moment, String> {
    Moment::parse_from_rfc3339(text)
        .map(|at| at.trunc_subsecs(0))
        .map_err(|_| format!("found {text:?}, expected a time such as 2026-03-01T21:00:00+01:00"))
}
