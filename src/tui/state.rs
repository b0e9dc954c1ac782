//! What the dashboard shows and is in the middle of. Only [`super::update`] changes it.

use super::filter::JournalRow;
use super::follow::Follow;
use super::hearing::{Completion, LineMisread, LineUnderstood};
use super::lookback::LookBack;
use super::rig::RigEdit;
use super::round::Round;
use super::stops::TripPlanner;
use super::stretch::StretchPlanner;
use super::{Action, Context, Effect, JournalView, Pending, SavePurpose, Theme};
use crate::domain::{Draft, EntryId, Moment, Plan, UnitSystem, Zone};
use crate::forecast::{Evening, Options, StockForecast};
use crate::logline::Vocabulary;
use crate::setup::{Machine, Setup};
use crate::usage::Spent;
use chrono::NaiveDate;
use std::collections::{BTreeSet, VecDeque};
use std::sync::Arc;
use tui_input::Input;

/// What a submitted line does.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Purpose {
    /// It is logged.
    #[default]
    Log,
    /// It takes the place of this entry.
    Correct(EntryId),
    /// It says what was done instead of the plan that this entry is of.
    Answer(EntryId),
    /// It names an action.
    Palette,
    /// It is the chosen value of the stretch or of the trip.
    Value,
    /// It answers a question about a new van.
    Setup,
    /// It says what the journal is searched for.
    Search,
    /// It is a remark on this entry.
    Note(EntryId),
    /// It is another time for what is left of a stop.
    MoveStop,
    /// It is another place for that.
    Elsewhere,
    /// It is the value at this place of the rig file.
    RigValue(String),
    /// It says what is added to the rig.
    RigAdd,
    /// It is the day from which changes of the rig hold.
    RigDate,
}

/// Something to write that a person has to agree to first.
#[derive(Debug, Clone, PartialEq)]
pub struct ToConfirm {
    /// What it is, in a line.
    pub title: String,
    /// What would be written, in words, one entry a line.
    pub lines: Vec<String>,
    /// The same as drafts.
    pub drafts: Vec<Draft>,
    /// What for.
    pub purpose: SavePurpose,
}

/// The line at the bottom, open or closed with a draft in it.
#[derive(Debug, Clone, Default)]
pub struct InputLine {
    /// Whether keys go into it.
    pub open: bool,
    /// What it is for.
    pub purpose: Purpose,
    /// Text and cursor.
    pub input: Input,
    /// What the text is understood as; `None` where it says nothing for the journal.
    pub reading: Option<Result<LineUnderstood, LineMisread>>,
    /// Ways to complete it, and which one stands there now.
    pub ways: Vec<Completion>,
    /// Index into `ways` of the one inserted last.
    pub way: Option<usize>,
}

/// How a status line came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Just so.
    Plain,
    /// Done.
    Good,
    /// Not done.
    Bad,
}

/// What the status line says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Status {
    /// How it came about.
    pub tone: Tone,
    /// In words.
    pub text: String,
}

/// A letter where no line is open, which may begin a word.
#[derive(Debug, Clone)]
pub(super) struct Begun {
    /// The letter.
    pub letter: char,
    /// Whether it answers a question.
    pub asks: bool,
    /// All as it was before.
    pub before: Box<State>,
}

/// Everything.
#[derive(Debug, Clone, Default)]
pub struct State {
    /// The clock.
    pub now: Moment,
    /// The folder, once it is read.
    pub book: Option<Arc<JournalView>>,
    /// Why the folder could not be read.
    pub unreadable: Option<String>,
    /// The questions about a new van, while there is no rig file.
    pub first_run: Option<Setup>,
    /// Whether the first round was offered to a van that has just been set up.
    pub greeted: bool,
    /// Lines that were saved since the program began, the latest last.
    pub said: Vec<String>,
    /// Where in these lines, and the journal's before them, the line was fetched from; counted
    /// back from the latest.
    pub recalled: Option<usize>,
    /// What lies ahead; it may be older than the book. It tells how far it is only where there are so
    /// many lives that it takes a while.
    pub evening: Pending<Evening>,
    /// Seed, lives and horizon of forecasts; `at` is replaced by the clock.
    pub options: Options,
    /// Screens above the horizon.
    pub screens: Vec<Context>,
    /// Name of the selected stock; `None` = the most urgent one.
    pub stock: Option<String>,
    /// What the journal is searched for; empty = nothing.
    pub filter: String,
    /// Numbers of the journal's rows that are listed, in order.
    pub listed: Vec<usize>,
    /// Selected one of these.
    pub row: usize,
    /// First line shown of a text to read.
    pub scroll: usize,
    /// Lines of it that are in sight at once; 0 where that is not known.
    pub page: usize,
    /// Where every stock goes.
    pub spent: Pending<Spent>,
    /// The rig file while it is changed.
    pub rig: RigEdit,
    /// The evening's round.
    pub round: Round,
    /// Activities of which there was none, by the day on which that was said.
    pub none: BTreeSet<(NaiveDate, String)>,
    /// The stop that is followed.
    pub follow: Follow,
    /// The stretch planner.
    pub planner: StretchPlanner,
    /// The planner of stops.
    pub trip: TripPlanner,
    /// The look back.
    pub lookback: LookBack,
    /// What is about to be written, while a person is asked.
    pub proposal: Option<ToConfirm>,
    /// The line.
    pub line: InputLine,
    /// The status line.
    pub status: Option<Status>,
    /// Whether an append is under way.
    pub saving: bool,
    /// Whether something was written that was not read again yet.
    pub stale: bool,
    /// Taking back and putting back that wait for what is being written: they go by what stands.
    pub waiting: VecDeque<Action>,
    /// What was taken back by choosing it, and nothing since: undo puts it back.
    pub just_taken: Vec<EntryId>,
    /// What was taken back or put back in the list as it is searched: it stays in sight.
    pub changed: Vec<EntryId>,
    /// What was asked about, or done after that, and no other key pressed since: once more does it.
    pub sure: Option<Action>,
    /// Letters pressed one after another that may turn out to be words.
    pub(super) begun: VecDeque<Begun>,
    /// What the message under way asks of the outside.
    pub effects: Vec<Effect>,
    /// Whether the mouse is on.
    pub mouse: bool,
    /// Looks.
    pub look: Theme,
}

impl State {
    /// Before anything is read.
    pub fn new(options: Options, look: Theme) -> State {
        let (now, options) = (options.at, Options { with_fans: true, ..options });
        State { now, options, look, greeted: true, ..State::default() }
    }

    /// The same, with the questions about a new van where there is no rig file.
    pub fn beginning(options: Options, look: Theme, missing: Option<Machine>) -> State {
        let first_run = missing.and_then(|machine| Setup::new(machine).ok());
        let mut state = State { first_run, ..State::new(options, look) };
        if state.first_run.is_some() {
            state.line = InputLine { open: true, purpose: Purpose::Setup, ..InputLine::default() };
        }
        state
    }

    /// The topmost screen; `None` = the horizon.
    pub fn screen(&self) -> Option<Context> {
        self.screens.last().copied()
    }

    /// Opens a screen above the others; one that is open already is not opened twice.
    pub(super) fn open(&mut self, screen: Context) {
        self.screens.retain(|s| *s != screen);
        self.screens.push(screen);
        self.scroll = 0;
    }

    /// Which keys hold.
    pub(super) fn context(&self) -> Context {
        if self.line.open { Context::Line } else { self.context_below_line() }
    }

    /// Which keys would hold with the line closed.
    pub(super) fn context_below_line(&self) -> Context {
        self.or_horizon(self.screen())
    }

    /// That screen, or the one below all of them.
    pub(super) fn or_horizon(&self, screen: Option<Context>) -> Context {
        let bottom = if self.first_run.is_some() { Context::Setup } else { Context::Horizon };
        screen.unwrap_or(bottom)
    }

    /// Zone of the van's clocks.
    pub fn zone(&self) -> Zone {
        match &self.book {
            Some(book) => book.loaded.rig.zone(self.now),
            None => Zone::Fixed(*self.now.offset()),
        }
    }

    /// Units to show.
    pub fn units(&self) -> UnitSystem {
        self.book.as_ref().map(|b| b.loaded.rig.show).unwrap_or_default()
    }

    /// Stocks in order of urgency.
    pub fn stocks(&self) -> Vec<&StockForecast> {
        let Some(evening) = &self.evening.answer else { return Vec::new() };
        let forecast = &evening.forecast;
        forecast.by_urgency().into_iter().map(|i| &forecast.stocks[i]).collect()
    }

    /// Place of the selected stock in [`State::stocks`].
    pub(super) fn selected(&self) -> usize {
        self.stocks().iter().position(|s| Some(&s.name) == self.stock.as_ref()).unwrap_or(0)
    }

    /// The selected one.
    pub(super) fn chosen_stock(&self) -> Option<&StockForecast> {
        self.stocks().get(self.selected()).copied()
    }

    /// Plans that wait for an answer, the oldest first, without what was answered since the forecast
    /// was made.
    pub fn open_plans(&self) -> Vec<Plan> {
        let of_book = self.book.iter().flat_map(|book| &book.plans);
        let stands = |id: &EntryId| of_book.clone().any(|plan| plan.holds(id));
        // Before the first evening is known, the book tells of them.
        let of_evening = self.evening.answer.as_ref().map(|evening| &evening.plans);
        let plans = of_evening.or(self.book.as_ref().map(|book| &book.plans));
        let open = plans.into_iter().flatten().filter(|plan| plan.is_open);
        open.filter_map(|plan| plan.only(|entry| stands(&entry.id))).collect()
    }

    /// The words that a line is read with, with what the stocks hold as last answered.
    pub fn vocabulary(&self) -> Option<Vocabulary> {
        let words = self.book.as_ref()?.vocabulary.clone();
        let stocks = self.evening.answer.iter().flat_map(|evening| &evening.forecast.stocks);
        let words = words.with_levels(stocks.map(|stock| (stock.name.clone(), stock.level)));
        let Purpose::Answer(of) = &self.line.purpose else { return Some(words) };
        // What was done in place of a plan was done at its time, unless the words name another.
        let plan = self.open_plans().into_iter().find(|plan| plan.holds(of));
        Some(match plan {
            Some(plan) => words.about(plan.at),
            None => words,
        })
    }

    /// Rows of the journal.
    pub fn rows(&self) -> &[JournalRow] {
        self.book.as_ref().map_or(&[], |b| &b.rows)
    }

    /// Searches the journal for other words.
    pub(super) fn search(&mut self, words: &str) {
        self.filter = words.to_string();
        self.changed.clear();
        self.list();
    }

    /// Lists what the journal is searched for, the newest selected.
    pub(super) fn list(&mut self) {
        let book = self.book.as_ref();
        self.listed =
            book.map_or_else(Vec::new, |book| book.listed(&self.filter, &self.changed, self.now));
        self.row = self.newest();
    }

    /// Place of the newest that happened among the listed rows; what is only planned stands below it.
    pub(super) fn newest(&self) -> usize {
        let row = |place: &usize| self.book.as_ref()?.row(*place);
        let happened = |place: &usize| row(place).is_some_and(|row| !row.entry.is_plan());
        let last = self.listed.len().saturating_sub(1);
        self.listed.iter().rposition(happened).unwrap_or(last)
    }

    /// The selected row of the journal.
    pub(super) fn chosen_row(&self) -> Option<&JournalRow> {
        self.book.as_ref()?.row(*self.listed.get(self.row)?)
    }

    /// Whether somebody who was asked about an action chose it once more; else asks. A letter that
    /// begins a word, where no line is open, changes nothing.
    pub(super) fn is_sure(&mut self, action: Action, ask: impl FnOnce() -> String) -> bool {
        let sure = self.sure.replace(action) == Some(action);
        if !sure {
            self.say(ask());
        }
        sure
    }

    /// The same of what is done once: it is asked about anew the next time.
    pub(super) fn is_sure_once(&mut self, action: Action, ask: impl FnOnce() -> String) -> bool {
        let sure = self.is_sure(action, ask);
        if sure {
            self.sure = None;
        }
        sure
    }

    /// Sets the status line.
    pub fn say(&mut self, text: impl Into<String>) {
        self.status = Some(Status { tone: Tone::Plain, text: text.into() });
    }

    /// The same of something that went well.
    pub(super) fn done(&mut self, text: impl Into<String>) {
        self.status = Some(Status { tone: Tone::Good, text: text.into() });
    }

    /// The same of something that went wrong.
    pub(super) fn warn(&mut self, text: impl Into<String>) {
        self.status = Some(Status { tone: Tone::Bad, text: text.into() });
    }

    /// Asks something of the outside, once the message is taken in.
    pub(super) fn want(&mut self, effect: Effect) {
        self.effects.push(effect);
    }
}
