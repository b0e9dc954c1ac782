//! What the dashboard asks of the world outside: the data folder and the clock; and, so that
//! tests can stand in for it, the forecast. The program's edge implements the first two; tests
//! use a folder in memory.

use crate::belief::{self, Beliefs};
use crate::domain::{Draft, Entry, Moment, Rig, Standing, standing};
use crate::forecast;
use crate::forecast::hindsight::Settings;
use crate::forecast::lives::GoOn;
use crate::forecast::{Evening, Hindsight, Options, hindsight};
use crate::plan;
use crate::plan::{Basis, Onward, Progress, Request, Stretch, Suppose, Trip, TripRequest};
use crate::setup::Machine;
use crate::usage::Spent;
use crate::usage::spent::{LIVES, SpentRequest};

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

/// The world outside. Methods may take long or block: `load`, `append`, `learn`, `evening`,
/// `stretch`, `stops` and `hindsight` are called on threads of their own.
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

    /// Writes `after` in place of the rig file, which must still say `before`; `None`: never over
    /// one that is there.
    ///
    /// # Errors
    /// Why nothing was written: the file says something else by now, or cannot be written.
    fn write_rig(&self, _before: Option<&str>, _after: &str) -> Result<(), String> {
        Err("this folder's rig file cannot be written".to_string())
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
        let options = Options { seed: known.seed, lives: LIVES, ..Options::at(known.at) };
        let asked = SpentRequest { since: None, stock: None, with_bands: true, options };
        Spent::of(&known.basis(rig), entries, &asked)
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
        plan::stops::stops(&basis, &asking.request, tell).ok()
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
