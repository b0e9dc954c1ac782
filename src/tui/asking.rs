//! Questions that take a while: what is asked, and what comes of it. A thread answers each kind.

use super::host::{Asking, Judged};
use super::pending::DoneOf;
use super::stops::SoFar;
use super::{Context, Extent, JournalView};
use crate::domain::Moment;
use crate::forecast::hindsight::Settings;
use crate::forecast::{Evening, Hindsight, Options};
use crate::plan::{Request, Trip, TripRequest};
use crate::usage::Spent;
use std::sync::Arc;

/// A question to one of the threads.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// The number it is asked under, counting up; answers with an older one are dropped.
    pub generation: u64,
    /// From what.
    pub book: Arc<JournalView>,
    /// What counts as now.
    pub now: Moment,
    /// Seed of the draws.
    pub seed: u64,
    /// What is asked; what of its kind is worked out already is stale.
    pub asked: Inquiry,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Inquiry {
    /// What lies ahead.
    Evening(Options),
    /// Will a stretch work.
    Stretch(Box<Asking<Request>>),
    /// Which stops a trip needs.
    Stops(Box<Asking<TripRequest>>),
    /// Where every stock goes.
    Spent,
    /// How good earlier forecasts were: how far back, and with how many lives.
    LookBack(Settings),
}

impl Inquiry {
    /// The screen that shows what comes of it.
    pub fn screen(&self) -> Context {
        match self {
            Inquiry::Evening(_) => Context::Horizon,
            Inquiry::Stretch(_) => Context::Stretch,
            Inquiry::Stops(_) => Context::Stops,
            Inquiry::Spent => Context::Spent,
            Inquiry::LookBack(_) => Context::LookBack,
        }
    }
}

/// What comes of a question.
#[derive(Debug, Clone, PartialEq)]
pub enum News {
    /// So many lives of so many are run.
    Lives(DoneOf),
    /// What lies ahead.
    Evening(Arc<Evening>),
    /// A stretch is judged: the verdict, and all the rest once it is whole.
    Stretch(Arc<Judged>, Extent),
    /// The search for the stops of a trip got further.
    SoFar(SoFar),
    /// The stops of a trip are found, or the best there are.
    Stops(Arc<Trip>),
    /// Where every stock goes.
    Spent(Arc<Spent>),
    /// So many evenings of so many are looked back on.
    Evenings(DoneOf),
    /// Earlier forecasts are judged.
    LookBack(Arc<Hindsight>),
}
