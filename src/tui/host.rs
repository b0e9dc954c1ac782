//! What the dashboard asks of the world outside: the data folder and the clock; and, so that
//! tests can stand in for them, the words and the forecast. The program's edge implements the
//! first two; tests use a folder in memory.

use crate::belief::{self, Beliefs};
use crate::domain::{Draft, Entry, Moment, Rig, Standing, standing};
use crate::forecast;
use crate::forecast::hindsight::Settings;
use crate::forecast::lives::GoOn;
use crate::forecast::{Evening, Hindsight, Options, hindsight};
use crate::logline::{self, Vocabulary};
use crate::plan;
use crate::plan::{Basis, Onward, Progress, Request, Stretch, Suppose, Trip, TripRequest};
use crate::setup::Machine;
use crate::usage::{
    BatteryDay, Forced, StockUse, Totals, UseBand, accounts, battery, begins, forced, foretold,
    totals,
};

/// The data folder as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// The rig.
    pub rig: Rig,
    /// The text of its file.
    pub rig_text: String,
    /// Entries of every device, in any order.
    pub entries: Vec<Entry>,
    /// What was skipped or looks wrong, one sentence each with file, line and column.
    pub findings: Vec<String>,
    /// This device's name, as its entries carry it.
    pub device: String,
    /// Why nothing can be saved here, if so.
    pub read_only: Option<String>,
    /// Where files lie, as `(what, where)`, for the help screen.
    pub places: Vec<(String, String)>,
}

/// A log line that was understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Understood {
    /// What would be saved.
    pub drafts: Vec<Draft>,
    /// The same in plain words, with units and day, to check before saving.
    pub echo: String,
}

/// A log line that was not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Misread {
    /// First character that was not understood, counted in characters from 0.
    pub start: usize,
    /// The character after the last one.
    pub end: usize,
    /// What is wrong, and if possible what was probably meant.
    pub message: String,
    /// Ways to mend the whole line, nearest first; none writes a number that was not said.
    pub instead: Vec<Completion>,
}

/// A way to complete a log line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Completion {
    /// Character from which the rest of the line is replaced, counted from 0.
    pub start: usize,
    /// What stands there then.
    pub word: String,
    /// Where the cursor stands then, in characters of the line from 0; `None`: at its end.
    pub cursor: Option<usize>,
}

/// What stands and what is believed, learned once for every question that is asked of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// The moment that counts as now.
    pub at: Moment,
    /// Seed of the draws.
    pub seed: u64,
    /// What stands, in time order.
    pub standing: Vec<Standing>,
    /// What is believed.
    pub beliefs: Beliefs,
}

impl Known {
    /// What a plan goes by.
    fn basis<'a>(&'a self, rig: &'a Rig) -> Basis<'a> {
        Basis { rig, standing: &self.standing, beliefs: &self.beliefs, now: self.at }
    }
}

/// A question with what it supposes.
#[derive(Debug, Clone, PartialEq)]
pub struct Asking<R> {
    /// What is asked.
    pub request: R,
    /// What is supposed.
    pub suppose: Suppose,
}

/// A stretch judged, and what its habits were compared with.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// The answer.
    pub stretch: Stretch,
    /// How often each activity happens by habit, per day for all aboard when it begins.
    pub usual: Vec<f64>,
}

/// Where every stock goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Spent {
    /// Stock by stock.
    pub stocks: Vec<StockUse>,
    /// The battery's hours, yesterday to tomorrow; empty without one.
    pub days: Vec<BatteryDay>,
    /// What was foretold of each whole week when it began, by stock.
    pub bands: Vec<Vec<UseBand>>,
    /// What all of it came to, and what forced the stops; `None` before the first entry.
    pub trip: Option<(Totals, Forced)>,
}

/// Lives behind a band of then: enough for the P10 and the P90, and quick.
const USE_LIVES: usize = 500;

/// The world outside. Methods may take long or block: `load`, `append`, `learn`, `evening`,
/// `stretch`, `stops` and `hindsight` are called on threads of their own, `understand`,
/// `complete` and `words` on every key.
pub trait Host: Send + Sync + 'static {
    /// What counts as now.
    fn now(&self) -> Moment;

    /// Reads the folder.
    ///
    /// # Errors
    /// What is wrong and what to do about it, when there is nothing to show at all.
    fn load(&self) -> Result<Loaded, String>;

    /// What the machine knows by itself, where there is no rig file yet.
    fn missing(&self) -> Option<Machine> {
        None
    }

    /// Writes the first rig file; never over one that is there.
    ///
    /// # Errors
    /// Why nothing was written.
    fn create(&self, _rig: &str) -> Result<(), String> {
        Err("this folder takes no rig file".to_string())
    }

    /// Writes `after` in place of the rig file, which must still say `before`.
    ///
    /// # Errors
    /// Why nothing was written: the file says something else by now, or cannot be written.
    fn save_rig(&self, _before: &str, _after: &str) -> Result<(), String> {
        Err("this folder's rig file cannot be changed".to_string())
    }

    /// A number that changes when the folder does (lengths and times of its files), cheap to
    /// get: asked once a minute.
    fn stamp(&self) -> u64 {
        0
    }

    /// Appends the drafts in order and returns only when they are on disk.
    ///
    /// # Errors
    /// Why nothing (or not everything) was saved.
    fn append(&self, drafts: &[Draft]) -> Result<Vec<Entry>, String>;

    /// Reads a log line.
    ///
    /// # Errors
    /// Which word is not understood.
    fn understand(
        &self,
        vocabulary: &Vocabulary,
        now: Moment,
        line: &str,
    ) -> Result<Understood, Misread> {
        let heard = logline::heard(line, vocabulary, now).map_err(misread)?;
        let mut echo = heard.echo(vocabulary, now);
        if let logline::Heard::Said(said) = &heard {
            for left in logline::consequences(said, vocabulary) {
                echo += &format!("; {left}");
            }
        }
        Ok(Understood { drafts: heard.drafts(now), echo })
    }

    /// Ways to go on from the end of `line`, best first.
    fn complete(&self, vocabulary: &Vocabulary, line: &str) -> Vec<Completion> {
        let letters: Vec<char> = line.chars().collect();
        let separates = |c: &char| c.is_whitespace() || *c == ',';
        let start = letters.iter().rposition(separates).map_or(0, |i| i + 1);
        let words = logline::complete(line, letters.len(), vocabulary);
        words.into_iter().map(|word| Completion { start, word, cursor: None }).collect()
    }

    /// What stands in the journal in the words that [`Host::understand`] reads back as the
    /// same at `now`; without a time when it happened at `now`.
    fn words(&self, vocabulary: &Vocabulary, now: Moment, entry: &Standing) -> String {
        let (at, event, note) = (entry.at, entry.event.clone(), entry.note.clone());
        logline::echo(&[logline::Understood { at, event, note }], vocabulary, now)
    }

    /// Several entries in the words of one line, which [`Host::understand`] reads back; the
    /// remark that a schedule wrote is left out.
    fn line(&self, vocabulary: &Vocabulary, now: Moment, entries: &[Standing]) -> String {
        let said = |entry: &Standing| logline::Understood {
            at: entry.at,
            event: entry.event.clone(),
            note: entry.note.clone().filter(|_| !entry.is_of_a_stop()),
        };
        let all: Vec<logline::Understood> = entries.iter().map(said).collect();
        logline::echo(&all, vocabulary, now)
    }

    /// Learns from the journal. Done once for all questions while the journal is the same.
    fn learn(&self, rig: &Rig, entries: &[Entry], now: Moment, seed: u64) -> Known {
        let standing = standing(entries, now);
        let beliefs = belief::learn(rig, &standing, now, seed);
        Known { at: now, seed, standing, beliefs }
    }

    /// What lies ahead. `options.at` and `options.seed` are those of `known`. Once `go_on` says no,
    /// with fewer lives.
    fn evening(&self, rig: &Rig, known: &Known, options: Options, go_on: GoOn) -> Evening {
        let Known { standing, beliefs, .. } = known;
        forecast::evening::evening_while(rig, standing, beliefs, options, go_on)
    }

    /// Where every stock goes.
    fn spent(&self, rig: &Rig, entries: &[Entry], known: &Known) -> Spent {
        let (standing, beliefs, at) = (&known.standing, &known.beliefs, known.at);
        let options = Options { seed: known.seed, lives: USE_LIVES, ..Options::at(at) };
        let stocks = accounts(rig, standing, beliefs, (None, at));
        let weeks = stocks.first().map_or(&[][..], |own| &own.weeks);
        let weeks: Vec<_> = weeks.iter().map(|week| (week.from, week.to)).collect();
        let trip = begins(standing, at).map(|from| {
            let totals = totals(rig, standing, beliefs, (from, at));
            let forced = forced(rig, standing, &totals.visits, options);
            (totals, forced)
        });
        Spent {
            days: battery::days(rig, standing, beliefs, options),
            bands: foretold(rig, entries, &weeks, options),
            stocks,
            trip,
        }
    }

    /// Judges a stretch. `tell` hears the verdict as soon as it is there, then what to do before
    /// leaving, then the whole answer (with `true`), and gives back whether anybody still wants to
    /// know.
    fn stretch(
        &self,
        rig: &Rig,
        known: &Known,
        asking: &Asking<Request>,
        tell: &mut dyn FnMut(Judged, bool) -> bool,
    ) {
        let request = &asking.request;
        let from = request.from.unwrap_or(known.at);
        let (standing, beliefs) = asking.suppose.applied(&known.basis(rig), from);
        let basis = Basis { rig, standing: &standing, beliefs: &beliefs, now: known.at };
        let (mut stretch, look) = plan::stretch::first_look(&basis, request);
        let habits = known.beliefs.habits.iter();
        let usual: Vec<f64> = habits.map(|habit| habit.daily_amount(stretch.aboard)).collect();
        let judged = |stretch: &Stretch| Judged { stretch: stretch.clone(), usual: usual.clone() };
        if !tell(judged(&stretch), false) {
            return;
        }
        let (case, outcome) = plan::stretch::look_closer(&mut stretch, look);
        if tell(judged(&stretch), false) {
            plan::stretch::advise(&basis, &mut stretch, &case, &outcome);
            tell(judged(&stretch), true);
        }
    }

    /// Looks for the stops of a trip. `tell` hears how far it is; `None` when it gave it up and
    /// there was nothing to settle for.
    fn stops(
        &self,
        rig: &Rig,
        known: &Known,
        asking: &Asking<TripRequest>,
        tell: &(dyn Fn(Progress) -> Onward + Sync),
    ) -> Option<Trip> {
        let (standing, beliefs) = asking.suppose.applied(&known.basis(rig), known.at);
        let basis = Basis { rig, standing: &standing, beliefs: &beliefs, now: known.at };
        plan::stops::stops_told(&basis, &asking.request, tell).ok()
    }

    /// Looks back on earlier forecasts. `go_on` hears how many evenings of how many are done, on
    /// any thread; `None` when it said that nobody wants to know any more.
    fn hindsight(
        &self,
        rig: &Rig,
        entries: &[Entry],
        settings: Settings,
        go_on: &(dyn Fn(usize, usize) -> bool + Sync),
    ) -> Option<Hindsight> {
        hindsight::told(rig, entries, settings, go_on)
    }
}

fn misread(misread: logline::Misread) -> Misread {
    let message = match misread.nearest.is_empty() {
        true => misread.message,
        false => format!("{}; near: {}", misread.message, misread.nearest.join(", ")),
    };
    let ways = misread.instead;
    let message = match ways.first().map(|way| (way, way.way(""))) {
        Some((_, Some(way))) => format!("{way} ({message})"),
        Some((way, None)) => format!("Tab: {} ({message})", way.line),
        None => message,
    };
    let typed = ways.into_iter().filter_map(|way| way.typed);
    let typed = typed.map(|(word, cursor)| Completion { start: 0, word, cursor: Some(cursor) });
    // Without their numbers, two offers may be one.
    let mut instead: Vec<Completion> = typed.collect();
    instead.dedup();
    let (start, end) = (misread.start, misread.end);
    Misread { start, end, message, instead }
}
