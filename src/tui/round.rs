//! The evening's round: what is worth saying tonight, each thing answered by one key or two, and
//! saved in one go at the end. Pure: the evening, the rig's parts and the latest uses come in.

mod drafts;
mod scale;
mod typed;

use super::Action;
pub use super::usual_uses::UsualUse;
use super::usual_uses::{LoggedUses, at_first, unsaid, usually};
use crate::domain::{
    Activity, Amount, Body, Draft, Event, Gauge, Moment, Parts, Plan, PlanOutcome, once_each, plans,
};
use crate::forecast::answer::{ReadingTime, ReadingValue};
use crate::forecast::{Evening, StockForecast};
use crate::logline::answers;
use chrono::{Duration, NaiveDate};
use drafts::{full_to, over_days, used};
pub(super) use scale::NONE_LIT;
pub use scale::Scale;
use std::sync::Arc;
pub use typed::{AnswerReader, number};

/// What is said where nothing that was typed answers.
const BY_NUMBER: &str = "choose by its number; Backspace asks again";
/// See [`BY_NUMBER`].
const A_NUMBER: &str = "type a number, or Space to leave it out";
/// See [`BY_NUMBER`].
const AGAIN: &str = "y: the same again, n: ask one by one";
/// See [`BY_NUMBER`].
const OF_A_PLAN: &str = "answer with y, n or c; Space leaves it open";
/// Longest answer, in characters.
const LONGEST: usize = 40;
/// A reading that takes less of the next stop's band away is not asked for; 0.03 to 0.15 (our own
/// choice, no source).
const LEAST_NARROWS: f64 = 0.06;
/// Most readings that are asked for on an evening that is not the first.
const MOST_READINGS: usize = 2;
/// A level that is unsure by so many days of its use, and by such a share of the days that it lasts,
/// moves its own date: 0.5 to 2, and 0.15 to 0.4 (our own choice, no source).
const UNSURE_DAYS: f64 = 1.0;
/// See [`UNSURE_DAYS`].
const UNSURE_SHARE: f64 = 0.25;
/// What a look without a gauge leaves open, as a share of the whole; 0.05 to 0.2 (our own choice, no
/// source).
const BY_EYE: f64 = 0.1;
/// A stock that seems to be out and was read since then is not asked for again, in hours.
const FRESH_HOURS: i64 = 6;
/// LoggedUses that are offered together, to be said again with one key.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Again {
    /// Those of yesterday.
    Yesterday,
    /// What is usual on such a day.
    Usual,
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Asked {
    /// Whether a plan was done.
    Plan(Box<Plan>),
    /// How full a stock is.
    Reading {
        /// Its name.
        stock: String,
        /// How it is answered.
        scale: Scale,
    },
    /// Whether today's uses were these.
    Again(Again, Vec<UsualUse>),
    /// How much of an activity there was today.
    Use(UsualUse),
}

/// What was answered.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// Nothing yet.
    Open,
    /// It was left out.
    Skipped,
    /// This is to be saved; nothing where there was none.
    Said(Vec<Draft>),
}

/// A question and its answer.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundQuestion {
    /// What is asked.
    pub asked: Asked,
    /// What was answered.
    pub answer: Answer,
}

/// An answer that cannot be true unless something was forgotten.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// What is doubted, in words.
    pub why: String,
    /// What can be meant: in the words of a line, and what that saves.
    pub ways: Vec<(String, Vec<Draft>)>,
}

/// What a key says to a question.
#[derive(Debug, Clone, PartialEq)]
pub enum Reply {
    /// This answer.
    Answer(Answer),
    /// A part of one: what is typed so far.
    Typed(String),
    /// Nothing; what would.
    Nothing(&'static str),
}

/// The round.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Round {
    /// The questions, most telling first.
    pub questions: Vec<RoundQuestion>,
    /// Index of the one that is asked; past the last one, all that is left is to save.
    pub place: usize,
    /// What is typed of an answer so far.
    pub typed: String,
    /// Whether that was not taken: it stays to be seen, and goes with the next key.
    pub stale: bool,
    /// The key that answered just now, and the round before it: it may have begun a word.
    pub begun: Option<Box<(char, Round)>>,
    /// What is doubted of the answer that was given, until that is settled.
    pub doubt: Option<Doubt>,
    /// Whether the day is closed when the round is saved.
    pub closes: bool,
    /// The evening as it was before anything was saved, once it was.
    pub before: Option<Arc<Evening>>,
}

impl Round {
    /// The round of this evening: open plans, which whole dates hang on, then the readings that
    /// sharpen the next stop most, then what the crew usually logs on such a day.
    pub fn of(evening: &Evening, parts: &Parts, uses: &LoggedUses, today: NaiveDate) -> Round {
        let open = evening.plans.iter().filter(|plan| plan.is_open);
        let asked = open
            .map(|plan| Asked::Plan(Box::new(plan.clone())))
            .chain(readings(evening, parts))
            .chain(usual(parts, uses, today))
            .chain(at_first(evening, parts, uses, today).into_iter().map(Asked::Use))
            .chain(unsaid(evening, parts, uses, today).into_iter().map(Asked::Use));
        let questions = asked.map(|asked| RoundQuestion { asked, answer: Answer::Open }).collect();
        Round { questions, ..Round::default() }
    }

    /// Whether anything was answered that is not saved.
    pub(super) fn is_begun(&self) -> bool {
        self.before.is_none() && self.questions.iter().any(|q| q.answer != Answer::Open)
    }

    /// What is asked now.
    pub fn asked(&self) -> Option<&Asked> {
        self.questions.get(self.place).map(|question| &question.asked)
    }

    /// Answers what is asked, and goes on to the next question that is still open.
    pub fn answer(&mut self, answer: Answer) {
        self.typed.clear();
        self.doubt = None;
        let Some(question) = self.questions.get_mut(self.place) else { return };
        // The same again answers what it names, and nothing else that is asked about uses.
        let again = match (&question.asked, &answer) {
            (Asked::Again(_, uses), Answer::Said(_)) => uses.clone(),
            _ => Vec::new(),
        };
        question.answer = answer;
        for later in self.questions.iter_mut().skip(self.place + 1) {
            if let Asked::Use(of) = &later.asked
                && again.iter().any(|each| each.activity == of.activity)
            {
                later.answer = Answer::Skipped;
            }
        }
        self.place += 1;
        while self.questions.get(self.place).is_some_and(|q| q.answer != Answer::Open) {
            self.place += 1;
        }
    }

    /// One question back, to answer it anew; what is typed or doubted is dropped first.
    pub fn back(&mut self) {
        let typed = std::mem::take(&mut self.typed);
        if self.doubt.take().is_none() && typed.is_empty() && self.place > 0 {
            self.place -= 1;
            self.questions[self.place].answer = Answer::Open;
            if matches!(self.questions[self.place].asked, Asked::Again(..)) {
                let later = self.questions.iter_mut().skip(self.place + 1);
                later.for_each(|q| q.answer = Answer::Open);
            }
        }
    }

    /// All that is to be saved.
    pub fn drafts(&self) -> Vec<Draft> {
        // What was answered by itself is not the same again.
        let apart = |draft: &&Draft| match &draft.body {
            Body::Happened(Event::Use { activity, .. }) => {
                self.by_itself().any(|(own, _)| own == activity)
            }
            _ => false,
        };
        let mut all = Vec::new();
        for RoundQuestion { asked, answer } in &self.questions {
            let Answer::Said(said) = answer else { continue };
            let again = matches!(asked, Asked::Again(..));
            all.extend(said.iter().filter(|draft| !(again && apart(draft))).cloned());
        }
        all
    }

    /// Activities that were answered by themselves, each with what was said of it.
    fn by_itself(&self) -> impl Iterator<Item = (&String, &Vec<Draft>)> {
        self.questions.iter().filter_map(|question| match (&question.asked, &question.answer) {
            (Asked::Use(of), Answer::Said(said)) => Some((&of.activity, said)),
            _ => None,
        })
    }

    /// Activities of which there was none.
    pub(super) fn none(&self) -> impl Iterator<Item = &String> {
        self.by_itself().filter(|(_, said)| said.is_empty()).map(|(activity, _)| activity)
    }

    /// What one more character says here; Enter takes what is typed. Where the same again is offered,
    /// a number is for the first of its uses: they are asked one by one then.
    pub(super) fn typed_on(&mut self, c: char) -> Reply {
        if let Some(doubt) = &self.doubt {
            let place = c.to_digit(10).and_then(|digit| (digit as usize).checked_sub(1));
            let way = place.and_then(|place| doubt.ways.get(place));
            let way = way.map(|(_, drafts)| Reply::Answer(Answer::Said(drafts.clone())));
            return way.unwrap_or(Reply::Nothing(BY_NUMBER));
        }
        let next = self.questions.get(self.place + 1);
        if matches!(self.asked(), Some(Asked::Again(..)))
            && next.is_some_and(|next| matches!(next.asked, Asked::Use(_)))
            && c.is_ascii_digit()
        {
            self.answer(Answer::Skipped);
        }
        let typed = format!("{}{c}", self.typed);
        match self.asked() {
            Some(_) if typed.chars().count() <= LONGEST => Reply::Typed(typed),
            Some(_) => Reply::Nothing("too long for an answer"),
            None => Reply::Nothing(self.over()),
        }
    }

    /// Whether the key before said no, and how much there was of something is asked now: who confirms
    /// that with Enter has not said yes to this.
    pub(super) fn was_refused(&self) -> bool {
        let key = self.begun.as_ref().map(|begun| begun.0.to_string());
        let asks = matches!(self.asked(), Some(Asked::Use(_))) && self.typed.is_empty();
        asks && self.doubt.is_none() && key.is_some_and(|key| answers::is_of("none", &key))
    }

    /// Whether a key of the round answers what is asked at once.
    pub(super) fn is_answered_by(&self, action: Action) -> bool {
        use Action::{CloseDay, Full, No, PlanOtherwise, Yes};
        match self.asked() {
            Some(Asked::Plan(_)) => matches!(action, Yes | No | PlanOtherwise),
            Some(Asked::Again(..)) => matches!(action, Yes | No | CloseDay),
            Some(Asked::Use(_)) => matches!(action, No | CloseDay),
            Some(Asked::Reading { .. }) => matches!(action, Full | CloseDay),
            None => action == CloseDay,
        }
    }

    /// What is said past the last question.
    pub fn over(&self) -> &'static str {
        match self.drafts().is_empty() || self.before.is_some() {
            true => "that was all; Enter closes the round",
            false => "that was all; Enter saves",
        }
    }

    /// What Enter says here: what was typed, else what the question calls usual.
    pub fn enter(&self, reader: &AnswerReader) -> Reply {
        let now = reader.now;
        let typed = self.typed.trim().to_lowercase();
        let (yes, none) = (answers::is_of("yes", &typed), answers::is_of("none", &typed));
        let said = match self.asked() {
            None => Err(self.over()),
            Some(_) if self.doubt.is_some() => Err(BY_NUMBER),
            Some(Asked::Plan(_) | Asked::Again(..)) if yes => return self.yes(now),
            Some(Asked::Plan(_) | Asked::Again(..) | Asked::Use(_)) if none => {
                return self.no(now);
            }
            Some(Asked::Plan(_)) => Err(OF_A_PLAN),
            Some(Asked::Again(..)) => Err(AGAIN),
            Some(Asked::Reading { .. }) if typed.is_empty() => Err(A_NUMBER),
            Some(Asked::Reading { stock, scale }) => reader.level(stock, scale, &typed),
            Some(Asked::Use(UsualUse { activity, usual, since })) => {
                let said = match yes || typed.is_empty() {
                    true => Ok(used(activity, usual.clone(), now)),
                    false => reader.used(activity, &usual.unit, &typed),
                };
                said.map(|drafts| since.map_or(drafts.clone(), |since| over_days(&drafts, since)))
            }
        };
        said.map_or_else(Reply::Nothing, |drafts| Reply::Answer(Answer::Said(drafts)))
    }

    /// On to the next question: with what was typed, else this one is left out.
    pub fn onward(&self, reader: &AnswerReader) -> Reply {
        match self.typed.is_empty() {
            true => Reply::Answer(Answer::Skipped),
            false => self.enter(reader),
        }
    }

    /// Yes: the plan was done, it was the same again.
    pub fn yes(&self, now: Moment) -> Reply {
        let said = match self.asked() {
            Some(Asked::Plan(plan)) => plans::answer(plan, PlanOutcome::Done, now),
            Some(Asked::Again(_, uses)) => {
                uses.iter().flat_map(|of| used(&of.activity, of.usual.clone(), now)).collect()
            }
            _ => return Reply::Nothing(A_NUMBER),
        };
        Reply::Answer(Answer::Said(said))
    }

    /// No: the plan was not done, it was not the same again, there was none.
    pub fn no(&self, now: Moment) -> Reply {
        Reply::Answer(match self.asked() {
            Some(Asked::Plan(plan)) => Answer::Said(plans::answer(plan, PlanOutcome::NotDone, now)),
            Some(Asked::Use(_)) => Answer::Said(Vec::new()),
            Some(Asked::Reading { .. }) => return Reply::Nothing(A_NUMBER),
            _ => Answer::Skipped,
        })
    }

    /// Full to the brim, where a reading is asked for.
    pub fn full(&self, now: Moment) -> Reply {
        match self.asked() {
            Some(Asked::Reading { stock, .. }) => {
                Reply::Answer(Answer::Said(full_to(stock, 1.0, now)))
            }
            _ => Reply::Nothing("f is for a level: it says full"),
        }
    }
}

/// On the first evening every stock; later those that seem to be out, the readings that tell most of
/// the next stop, and those of stocks that have grown so unsure that it moves their own dates.
fn readings(evening: &Evening, parts: &Parts) -> Vec<Asked> {
    let is_first = evening.history.iter().all(Vec::is_empty);
    let now = |look: &&ReadingValue| look.when == ReadingTime::Tonight;
    let telling = evening.looks.iter().filter(now).filter(|look| look.narrows >= LEAST_NARROWS);
    let fresh = evening.forecast.at - Duration::hours(FRESH_HOURS);
    let unread = |stock: &StockForecast| {
        evening.readings(&stock.name).last().is_none_or(|last| last.at < fresh)
    };
    let out = evening.forecast.stocks.iter();
    let out = out.filter(|stock| stock.hours.is_reached() && unread(stock));
    let out = out.map(|stock| &stock.name);
    // On the first evening all are asked, and all are unsure.
    let unsure = unsure(evening, parts).into_iter().filter(|_| !is_first);
    let mut telling = once_each(out.chain(telling.map(|look| &look.stock)).chain(unsure));
    telling.truncate(MOST_READINGS);
    let all = parts.stocks.iter().map(|stock| &stock.name);
    let others = all.filter(|name| is_first && !telling.contains(name));
    let names = telling.iter().copied().chain(others);
    let stocks = names.filter_map(|name| parts.stock(name)).filter(|(_, s)| !s.reset_by_camp);
    stocks
        .map(|(_, stock)| Asked::Reading { stock: stock.name.clone(), scale: Scale::of(stock) })
        .collect()
}

/// Stocks whose level is unsure by so much that a look would move their own dates, the most unsure
/// first. What recovers by itself is no such stock, nor one that was looked at in the last day.
fn unsure<'e>(evening: &'e Evening, parts: &Parts) -> Vec<&'e String> {
    let forecast = &evening.forecast;
    let lately = forecast.at - Duration::days(1);
    let doubt = |stock: &'e StockForecast| {
        let (_, known) = parts.stock(&stock.name)?;
        let last = evening.readings(&stock.name).last();
        let step = match &known.gauge {
            Gauge::Step(step) => *step,
            Gauge::Ladder(marks) => 1.0 / marks.len().max(1) as f64,
            Gauge::None => BY_EYE,
        };
        // A look leaves a level anywhere within a step.
        let left = step * stock.capacity / 12f64.sqrt();
        let days = stock.level.sd / stock.per_day.abs().max(1e-9);
        let lasts = stock.hours.p50.unwrap_or(forecast.horizon_hours as f64) / 24.0;
        let is_unsure = stock.level.sd > 2.0 * left
            && days > UNSURE_DAYS
            && days > UNSURE_SHARE * lasts
            && stock.dips.is_empty()
            && last.is_none_or(|last| last.at < lately);
        is_unsure.then(|| (days / lasts.max(0.1), &stock.name))
    };
    let mut all: Vec<_> = forecast.stocks.iter().filter_map(doubt).collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    all.into_iter().map(|(_, name)| name).collect()
}

/// What the crew usually logs on such a day and has not logged today: first all together, or else as
/// yesterday, then one by one.
fn usual(parts: &Parts, uses: &LoggedUses, today: NaiveDate) -> Vec<Asked> {
    let on =
        |date: NaiveDate, activity: &Activity| uses.get(&(date, activity.name.clone())).copied();
    let open = parts.activities.iter().filter(|activity| on(today, activity).is_none());
    let (mut yesterday, mut usual) = (Vec::new(), Vec::new());
    for activity in open {
        let said = |amount| UsualUse::of(activity, amount);
        let before = today.pred_opt().and_then(|date| on(date, activity));
        let before = before.and_then(Amount::from_milli).filter(|amount| amount.milli() > 0);
        yesterday.extend(before.map(said));
        usual.extend(usually(activity, uses, today).map(said));
    }
    let alone: Vec<Asked> = usual.iter().cloned().map(Asked::Use).collect();
    let again = match usual.is_empty() || usual == yesterday {
        true => (!yesterday.is_empty()).then_some(Asked::Again(Again::Yesterday, yesterday)),
        // One thing alone takes as many keys by itself.
        false => (usual.len() > 1).then_some(Asked::Again(Again::Usual, usual)),
    };
    again.into_iter().chain(alone).collect()
}
