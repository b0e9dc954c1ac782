//! What can be typed after `waystock`.

use crate::domain::{KINDS, Moment};
use chrono::SubsecRound;
use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Everything on one command line.
#[derive(Debug, Parser)]
#[command(
    name = "waystock",
    version,
    disable_help_subcommand = true,
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
    /// Take back this device's last line (again: the one before)
    Undo,
    /// Put back what undo took
    Redo,
    /// List the entries, newest last, with their ids; all of them, or those looked for
    Journal(JournalOptions),
    /// Correct an entry: its id, then what is right
    Correct {
        /// Its id, or how that begins, as `waystock journal` lists it
        id: String,
        /// Words, as `waystock log` takes them; one thing
        #[arg(required = true, num_args = 1.., allow_negative_numbers = true)]
        words: Vec<String>,
    },
    /// Take an entry back, whoever wrote it
    Retract {
        /// Its id, or how that begins, as `waystock journal` lists it
        id: String,
    },
    /// Put back an entry that was taken back
    Restore {
        /// Its id, or how that begins, as `waystock journal --retracted` lists it
        id: String,
    },
    /// Write a remark down
    Note {
        /// The remark
        #[arg(required = true, num_args = 1.., allow_negative_numbers = true)]
        words: Vec<String>,
    },
    /// List what is planned, and say what became of it: done, changed, dropped
    Plans {
        /// What became of one
        #[command(subcommand)]
        answer: Option<PlansAnswer>,
    },
    /// Say the next forced stop in one line
    Next(NextOptions),
    /// Say when every stock reaches its limit, and how sure
    Forecast,
    /// Say what lies behind one stock's dates
    Why {
        /// The stock's name
        #[arg(required = true, num_args = 1.., value_name = "STOCK")]
        stock: Vec<String>,
    },
    /// Say where it goes: what used up each stock, beside last week and the usual
    Use {
        /// The stock's name; else all of them, and what the trip came to
        #[arg(value_name = "STOCK")]
        stock: Vec<String>,
        /// Since when: yesterday, tuesday, "3 weeks ago", 2026-06-01; else all of the journal
        #[arg(long, value_name = "DAY")]
        since: Option<String>,
    },
    /// Say how good earlier forecasts were, judged by your own journal
    Hindsight,
    /// Say whether you can stay so many nights without a stop, what to do first, what buys time
    Stretch(StretchOptions),
    /// Say which stops, where and when, with the known places
    Stops(StopsOptions),
    /// Take an exchange file (CSV), places (GPX) or another machine's rows into the folder; a second
    /// time adds nothing
    Import(ImportOptions),
    /// Print the journal, or the stops ahead, in an exchange format
    Export(ExportOptions),
    /// Check the folder: what is wrong, by file, line and column, and where everything lies
    Check(CheckOptions),
    /// Print what a shell needs to complete words
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Print the manual page, or that of one command
    Man {
        /// The command
        command: Option<String>,
    },
    /// List the commands, or explain one; `help log` shows what a log line may say, `help json`
    /// what every JSON holds, `help places` what a places.ron may hold
    Help {
        /// The command
        command: Option<String>,
    },
}

/// Options of `journal`.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct JournalOptions {
    /// Words that all stand in the entry
    #[arg(value_name = "WORDS")]
    pub words: Vec<String>,
    /// Happened since: yesterday, tuesday, "3 days ago", 2026-06-01, or an RFC 3339 time
    #[arg(long, value_name = "DAY")]
    pub since: Option<String>,
    /// Happened until then, that day included
    #[arg(long, value_name = "DAY")]
    pub until: Option<String>,
    /// About this stock: levels, services, uses that move it
    #[arg(long, value_name = "STOCK")]
    pub stock: Option<String>,
    /// Of this kind: use, level, fill, empty, spent, drive, charge, camp, crew, day, note or outlook
    #[arg(long, value_name = "KIND", value_parser = kind)]
    pub kind: Option<String>,
    /// What was taken back, instead of what stands
    #[arg(long)]
    pub retracted: bool,
}

/// Options of `next`.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct NextOptions {
    /// In a few words, for a prompt or a status bar: "fresh by Thu 13:30"
    #[arg(long)]
    pub short: bool,
    /// Exit code 0 where a stop is needed within this time (24h, 2 days), else 1
    #[arg(long, value_name = "TIME")]
    pub within: Option<String>,
}

/// Options of `import`.
#[derive(Debug, Clone, ClapArgs)]
pub struct ImportOptions {
    /// The file; - reads standard input
    pub file: PathBuf,
    /// Another machine's rows, by the map of this name in maps.ron
    #[arg(long, value_name = "NAME")]
    pub map: Option<String>,
    /// Show what would be imported; save nothing
    #[arg(long)]
    pub dry_run: bool,
}

/// Options of `export`.
#[derive(Debug, Clone, ClapArgs)]
pub struct ExportOptions {
    /// The format
    pub format: ExportFormat,
    /// Days of stops in a calendar or on a sheet, 1 to 45
    #[arg(long, value_name = "N", default_value_t = 14,
          value_parser = clap::value_parser!(u32).range(1..=45))]
    pub days: u32,
    /// The sheet as one page of HTML, to print or to read on a phone
    #[arg(long)]
    pub html: bool,
    /// Paper of that page; else A4, or Letter for a rig in US units
    #[arg(long, value_enum)]
    pub paper: Option<PaperChoice>,
}

/// Sizes of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperChoice {
    /// 210 by 297 mm
    A4,
    /// 8.5 by 11 inches
    Letter,
}

/// Options of `check`.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct CheckOptions {
    /// Write again what this device saved and the folder has no longer
    #[arg(long, conflicts_with = "settle")]
    pub restore: bool,
    /// This device's own files are as they should be: say no more of what is missing
    #[arg(long)]
    pub settle: bool,
}

/// What became of a plan.
#[derive(Debug, Clone, Subcommand)]
pub enum PlansAnswer {
    /// It was done as planned
    Done {
        /// The id of one of its entries, as `waystock plans` lists it
        id: String,
    },
    /// Something else was done, or is planned, in its place
    Change {
        /// The id of one of its entries, as `waystock plans` lists it
        id: String,
        /// Words, as `waystock log` takes them
        #[arg(required = true, num_args = 1.., allow_negative_numbers = true)]
        words: Vec<String>,
    },
    /// It was not done, or will not be
    Drop {
        /// The id of one of its entries, as `waystock plans` lists it
        id: String,
    },
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

/// Options of `stretch`.
#[derive(Debug, Clone, ClapArgs)]
pub struct StretchOptions {
    /// Nights without service, 1 to 45
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=45))]
    pub nights: u32,
    /// When it begins: a weekday, tomorrow, 2026-06-20 (noon), or an RFC 3339 time; else now
    #[arg(long, value_name = "DAY")]
    pub from: Option<String>,
    /// Where: a place of places.ron, or LAT,LON; else where the van stands
    #[arg(long, value_name = "PLACE", allow_hyphen_values = true)]
    pub place: Option<String>,
    /// Which weather to expect
    #[arg(long, value_enum, default_value_t = WeatherChoice::Outlook)]
    pub weather: WeatherChoice,
    /// People aboard throughout, guests included; else as the journal says and plans
    #[arg(long, value_name = "N", value_parser = people, allow_negative_numbers = true)]
    pub crew: Option<f64>,
    /// As if everything were filled and emptied just before it begins
    #[arg(long)]
    pub fill_first: bool,
    /// Uses a day of all aboard together, such as showers=1; may be given more than once
    #[arg(long, value_name = "WHAT=N")]
    pub habit: Vec<String>,
    /// Tell everything: every stock, all that buys time, and how much you can afford
    #[arg(long)]
    pub all: bool,
    /// One of the things that buy time, in its words or enough of them; may be given more than once
    #[arg(long, value_name = "CHOICE")]
    pub with: Vec<String>,
    /// How sure to be, in percent, 1 to 99
    #[arg(long, visible_alias = "sure", value_name = "PERCENT", default_value_t = 90,
          value_parser = clap::value_parser!(u8).range(1..=99))]
    pub confidence: u8,
}

/// Options of `stops`.
#[derive(Debug, Clone, Default, ClapArgs)]
pub struct StopsOptions {
    /// Days ahead, 1 to 45
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=45))]
    pub days: u32,
    /// People aboard throughout, guests included; else as the journal says and plans
    #[arg(long, value_name = "N", value_parser = people, allow_negative_numbers = true)]
    pub crew: Option<f64>,
    /// How sure to be, in percent, 1 to 99
    #[arg(long, visible_alias = "sure", value_name = "PERCENT", default_value_t = 90,
          value_parser = clap::value_parser!(u8).range(1..=99))]
    pub confidence: u8,
    /// Save the stops as planned entries
    #[arg(long)]
    pub save: bool,
    /// Another plan beside this one, in a table: certainty (80 to 99 % sure), "one more" stop, a
    /// day "longer", or "without PLACE"; may be given more than once
    #[arg(long, value_name = "WHAT")]
    pub against: Vec<String>,
    /// Tell everything: what to do at each stop, where else to go, how good it is
    #[arg(long)]
    pub all: bool,
    /// Where the van camps from a day on, such as "friday=Fen lock", instead of the camps that
    /// are planned; may be given more than once
    #[arg(long, value_name = "DAY=PLACE", allow_hyphen_values = true)]
    pub camp: Vec<String>,
    /// The van stays where it is, whatever camps are planned
    #[arg(long, conflicts_with = "camp")]
    pub stay: bool,
}

/// Which weather a plan expects.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum WeatherChoice {
    /// The outlook while it lasts, then what is usual
    Outlook,
    /// What is usual for the season only
    Typical,
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
    /// iCalendar: the next forced stop, and stops planned with the known places
    Ics,
    /// To pin up: the next stop, levels, what to do before and at stops
    Sheet,
}

/// A number of people, 0 to 50.
fn people(text: &str) -> Result<f64, String> {
    let people = text.parse::<f64>().ok().filter(|n| (0.0..=50.0).contains(n));
    people.ok_or(format!("found {text:?}, expected a number of people, 0 to 50"))
}

/// An RFC 3339 time with its offset.
fn moment(text: &str) -> Result<Moment, String> {
    Moment::parse_from_rfc3339(text)
        .map(|at| at.trunc_subsecs(0))
        .map_err(|_| format!("found {text:?}, expected a time such as 2026-03-01T21:00:00+01:00"))
}

/// A kind of entries that can be asked for.
fn kind(text: &str) -> Result<String, String> {
    match KINDS.contains(&text) {
        true => Ok(text.to_string()),
        false => Err(format!("found {text:?}, expected one of {}", KINDS.join(", "))),
    }
}
