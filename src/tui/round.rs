//! The evening's round: what is worth saying tonight, each thing answered by one key or two, and
//! saved in one go at the end. Pure: the evening, the rig's parts and the latest uses come in.

use super::usual_uses::{Unsaid, Uses, unsaid, usually};
use crate::domain::{
    Activity, Amount, Body, Draft, Event, Gauge, Moment, Parts, Plan, PlanOutcome, Quantity, Stock,
    Unit, plans,
};
use crate::forecast::Evening;
use crate::forecast::answer::{ReadingTime, ReadingValue};
use chrono::{Duration, NaiveDate};
use std::sync::Arc;

/// What is said to a key that answers nothing.
const BY_NUMBER: &str = "choose by its number; Backspace asks again";
/// See [`BY_NUMBER`].
const A_NUMBER: &str = "type a number, or Space to leave it out";
/// See [`BY_NUMBER`].
const ONE_DIGIT: &str = "one digit says it all; Backspace clears it";
/// See [`BY_NUMBER`].
const A_SHARE: &str = "a share such as 3/4 is at most 1; Backspace clears it";
/// A reading that takes less of the next stop's band away is not asked for; 0.03 to 0.15 (our own
/// choice, no source).
const LEAST_NARROWS: f64 = 0.06;
/// Most readings that are asked for on an evening on which each stock was read before.
const MOST_READINGS: usize = 3;
/// A stock that seems to be out and was read since then is not asked for again, in hours.
const FRESH_HOURS: i64 = 6;
/// How a reading is answered.
#[derive(Debug, Clone, PartialEq)]
pub enum Scale {
    /// A number says how many of so many equal parts.
    Parts(u32),
    /// A number says how many lamps are lit; each comes on at its share of capacity.
    Lamps(Vec<f64>),
    /// A number says per cent.
    Percent,
    /// A number in the stock's unit.
    Amount {
        /// That unit.
        unit: Unit,
        /// What the stock holds when full.
        most: f64,
    },
}

impl Scale {
    fn of(stock: &Stock) -> Scale {
        let measured = matches!(
            stock.unit,
            Unit::Litre | Unit::Kilogram | Unit::WattHour | Unit::KilowattHour
        );
        match &stock.gauge {
            Gauge::Ladder(marks) if marks.len() < 10 => Scale::Lamps(marks.clone()),
            Gauge::Step(step) if (1.0 / step).round() <= 10.0 => {
                Scale::Parts((1.0 / step).round().max(1.0) as u32)
            }
            Gauge::Step(_) | Gauge::Ladder(_) => Scale::Percent,
            // A guess is good to a tenth at best.
            Gauge::None if measured => Scale::Parts(10),
            Gauge::None => Scale::Amount { unit: stock.unit.clone(), most: stock.capacity },
        }
    }

    /// The highest number that says anything.
    fn most(&self) -> f64 {
        match self {
            Scale::Parts(parts) => f64::from(*parts),
            Scale::Lamps(marks) => marks.len() as f64,
            Scale::Percent => 100.0,
            Scale::Amount { most, .. } => *most,
        }
    }

    /// What `number` says of `stock`.
    fn reading(&self, stock: &str, number: f64, now: Moment) -> Vec<Draft> {
        let share = match self {
            Scale::Parts(_) | Scale::Percent => number / self.most(),
            Scale::Lamps(marks) => (number as usize).checked_sub(1).map_or(0.0, |lamp| marks[lamp]),
            Scale::Amount { unit, .. } => {
                return level(stock, Quantity::new(whole(number), unit.clone()), now);
            }
        };
        full_to(stock, share, now)
    }
}

/// Uses that are offered together, to be said again with one key.
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
    Again(Again, Vec<(String, Quantity)>),
    /// How much of an activity there was today.
    Use {
        /// Its name.
        activity: String,
        /// What is counted.
        unit: Unit,
        /// What is usual on such a day, or since then.
        usual: Amount,
        /// The last day on which any was written, where this crew does more of it than that.
        since: Option<NaiveDate>,
    },
}

impl From<Unsaid> for Asked {
    fn from(unsaid: Unsaid) -> Asked {
        let Unsaid { activity, unit, usual, since } = unsaid;
        Asked::Use { activity, unit, usual, since: Some(since) }
    }
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
pub struct Question {
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
pub enum Said {
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
    pub questions: Vec<Question>,
    /// Index of the one that is asked; past the last one, all that is left is to save.
    pub place: usize,
    /// Digits of an answer so far.
    pub typed: String,
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
    pub fn of(evening: &Evening, parts: &Parts, uses: &Uses, today: NaiveDate) -> Round {
        let open = evening.plans.iter().filter(|plan| plan.is_open);
        let asked = open
            .map(|plan| Asked::Plan(Box::new(plan.clone())))
            .chain(readings(evening, parts))
            .chain(usual(parts, uses, today))
            .chain(unsaid(evening, parts, uses, today).into_iter().map(Asked::from));
        let questions = asked.map(|asked| Question { asked, answer: Answer::Open }).collect();
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
            if let Asked::Use { activity, .. } = &later.asked
                && again.iter().any(|(name, _)| name == activity)
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
        let apart = |draft: &&Draft| {
            let Body::Happened(Event::Use { activity: used, .. }) = &draft.body else {
                return false;
            };
            let answers = |q: &Question| match (&q.asked, &q.answer) {
                (Asked::Use { activity, .. }, Answer::Said(_)) => activity == used,
                _ => false,
            };
            self.questions.iter().any(answers)
        };
        let mut all = Vec::new();
        for Question { asked, answer } in &self.questions {
            let Answer::Said(said) = answer else { continue };
            let again = matches!(asked, Asked::Again(..));
            all.extend(said.iter().filter(|draft| !(again && apart(draft))).cloned());
        }
        all
    }

    /// Activities of which there was none.
    pub(super) fn none(&self) -> impl Iterator<Item = &String> {
        self.questions.iter().filter_map(|question| match (&question.asked, &question.answer) {
            (Asked::Use { activity, .. }, Answer::Said(said)) if said.is_empty() => Some(activity),
            _ => None,
        })
    }

    /// What `digit` says here: one more of a number, which Enter takes. Where the same again is
    /// offered, a number is for the first of its uses: they are asked one by one then.
    pub fn digit(&mut self, digit: u32) -> Said {
        let next = self.questions.get(self.place + 1);
        if matches!(self.asked(), Some(Asked::Again(..)))
            && next.is_some_and(|next| matches!(next.asked, Asked::Use { .. }))
        {
            self.answer(Answer::Skipped);
        }
        if let Some(doubt) = &self.doubt {
            let way = (digit as usize).checked_sub(1).and_then(|place| doubt.ways.get(place));
            let way = way.map(|(_, drafts)| Said::Answer(Answer::Said(drafts.clone())));
            return way.unwrap_or(Said::Nothing(BY_NUMBER));
        }
        let typed = format!("{}{digit}", self.typed);
        match self.asked() {
            Some(Asked::Reading { scale, .. }) => {
                let fits = |number: f64| number <= scale.most();
                match share(&typed) {
                    Some(_) if typed.len() <= 5 => Said::Typed(typed),
                    Some(_) => Said::Nothing("too many digits"),
                    None if typed.parse().is_ok_and(fits) => Said::Typed(typed),
                    None if scale.most() < 10.0 && typed.len() > 1 => Said::Nothing(ONE_DIGIT),
                    None => Said::Nothing("more than there can be"),
                }
            }
            Some(Asked::Use { .. }) if typed.len() <= 4 => Said::Typed(typed),
            Some(Asked::Use { .. }) => Said::Nothing("too many digits"),
            Some(_) => Said::Nothing("answer with y or n"),
            None => Said::Nothing(self.over()),
        }
    }

    /// A stroke behind digits, where a level is asked for: `3/4` says a share of the whole.
    pub fn stroke(&self) -> Option<String> {
        let digits = !self.typed.is_empty() && !self.typed.contains('/');
        let level = matches!(self.asked(), Some(Asked::Reading { .. }));
        (digits && level && self.doubt.is_none()).then(|| format!("{}/", self.typed))
    }

    /// What is said past the last question.
    pub fn over(&self) -> &'static str {
        match self.drafts().is_empty() {
            true => "that was all; Enter closes the round",
            false => "that was all; Enter saves",
        }
    }

    /// What Enter says here: what was typed, else what the question calls usual.
    pub fn enter(&self, now: Moment) -> Said {
        let typed = self.typed.parse::<f64>().ok();
        let said = match (self.asked(), typed) {
            _ if self.doubt.is_some() => return Said::Nothing(BY_NUMBER),
            (Some(Asked::Reading { stock, scale }), Some(number)) => {
                scale.reading(stock, number, now)
            }
            (Some(Asked::Reading { stock, .. }), None) if self.typed.contains('/') => {
                match share(&self.typed).flatten() {
                    Some(share) => full_to(stock, share, now),
                    None => return Said::Nothing(A_SHARE),
                }
            }
            (Some(Asked::Reading { .. }), None) => return Said::Nothing(A_NUMBER),
            (Some(Asked::Use { activity, unit, usual, .. }), typed) => {
                used(activity, unit, typed.map_or(*usual, whole), now)
            }
            (Some(Asked::Again(..)), _) => {
                return Said::Nothing("y: the same again, n: ask one by one");
            }
            _ => return Said::Nothing("answer with y, n or c; Space leaves it open"),
        };
        Said::Answer(Answer::Said(said))
    }

    /// On to the next question: with what was typed, else this one is left out.
    pub fn onward(&self, now: Moment) -> Said {
        match self.typed.is_empty() {
            true => Said::Answer(Answer::Skipped),
            false => self.enter(now),
        }
    }

    /// Yes: the plan was done, it was the same again.
    pub fn yes(&self, now: Moment) -> Said {
        let said = match self.asked() {
            Some(Asked::Plan(plan)) => plans::answer(plan, PlanOutcome::Done, now),
            Some(Asked::Again(_, uses)) => {
                let uses = uses.iter();
                uses.flat_map(|(name, q)| used(name, &q.unit, q.amount, now)).collect()
            }
            _ => return Said::Nothing(A_NUMBER),
        };
        Said::Answer(Answer::Said(said))
    }

    /// No: the plan was not done, it was not the same again, there was none.
    pub fn no(&self, now: Moment) -> Said {
        Said::Answer(match self.asked() {
            Some(Asked::Plan(plan)) => Answer::Said(plans::answer(plan, PlanOutcome::NotDone, now)),
            Some(Asked::Use { activity, unit, .. }) => {
                Answer::Said(used(activity, unit, Amount::default(), now))
            }
            Some(Asked::Reading { .. }) => return Said::Nothing(A_NUMBER),
            _ => Answer::Skipped,
        })
    }

    /// Full to the brim, where a reading is asked for.
    pub fn full(&self, now: Moment) -> Said {
        match self.asked() {
            Some(Asked::Reading { stock, .. }) => {
                Said::Answer(Answer::Said(full_to(stock, 1.0, now)))
            }
            _ => Said::Nothing("f is for a level: it says full"),
        }
    }
}

/// The share that is typed as `3/4`: none inside where it is none of a whole, and none at all where
/// there is no stroke.
fn share(typed: &str) -> Option<Option<f64>> {
    let (part, whole) = typed.split_once('/')?;
    let share = part.parse().ok().zip(whole.parse().ok()).map(|(a, b): (f64, f64)| a / b);
    Some(share.filter(|share| (0.0..=1.0).contains(share)))
}

fn whole(value: f64) -> Amount {
    Amount::from_f64(value).unwrap_or_default()
}

fn draft(at: Moment, event: Event) -> Draft {
    Draft { at, note: None, body: Body::Happened(event) }
}

fn level(stock: &str, reading: Quantity, now: Moment) -> Vec<Draft> {
    vec![draft(now, Event::Level { stock: stock.to_string(), reading, step: None })]
}

fn full_to(stock: &str, share: f64, now: Moment) -> Vec<Draft> {
    level(stock, Quantity::new(whole((share * 100.0).min(100.0)), Unit::Percent), now)
}

/// Only what happened is written down: nothing where there was none.
fn used(activity: &str, unit: &Unit, amount: Amount, now: Moment) -> Vec<Draft> {
    let count = Quantity::new(amount, unit.clone());
    let happened = (amount.milli() > 0).then(|| Event::Use { activity: activity.into(), count });
    happened.into_iter().map(|event| draft(now, event)).collect()
}

/// On the first evening every stock; later those that seem to be out, and the readings that tell
/// most.
fn readings(evening: &Evening, parts: &Parts) -> Vec<Asked> {
    let is_first = evening.history.iter().all(Vec::is_empty);
    let now = |look: &&ReadingValue| look.when == ReadingTime::Tonight;
    let telling = evening.looks.iter().filter(now).filter(|look| look.narrows >= LEAST_NARROWS);
    let fresh = evening.forecast.at - Duration::hours(FRESH_HOURS);
    let read = |at: usize| evening.history.get(at).and_then(|past| past.last());
    let out = evening.forecast.stocks.iter().enumerate().filter(|(index, stock)| {
        stock.hours.p50 == Some(0.0) && read(*index).is_none_or(|last| last.at < fresh)
    });
    let out = out.map(|(_, stock)| &stock.name);
    let telling: Vec<&String> =
        out.chain(telling.map(|look| &look.stock)).take(MOST_READINGS).collect();
    let all = parts.stocks.iter().map(|stock| &stock.name);
    let others = all.filter(|name| is_first && !telling.contains(name));
    let names = telling.iter().copied().chain(others);
    let stocks = names.filter_map(|name| parts.stock(name)).filter(|(_, s)| !s.reset_by_camp);
    stocks
        .map(|(_, stock)| Asked::Reading { stock: stock.name.clone(), scale: Scale::of(stock) })
        .collect()
}

/// What the crew usually logs on such a day and has not logged today: first all together, or else as
/// yesterday, then one by one.
fn usual(parts: &Parts, uses: &Uses, today: NaiveDate) -> Vec<Asked> {
    let on =
        |date: NaiveDate, activity: &Activity| uses.get(&(date, activity.name.clone())).copied();
    let open = parts.activities.iter().filter(|activity| on(today, activity).is_none());
    let (mut yesterday, mut usual) = (Vec::new(), Vec::new());
    for activity in open {
        let said =
            |amount| (activity.name.clone(), Quantity::new(amount, activity.counted_in.clone()));
        let before = today.pred_opt().and_then(|date| on(date, activity));
        let before = before.and_then(Amount::from_milli).filter(|amount| amount.milli() > 0);
        yesterday.extend(before.map(said));
        usual.extend(usually(activity, uses, today).map(said));
    }
    let alone = usual.iter().cloned().map(|(activity, usual)| {
        let Quantity { unit, amount: usual } = usual;
        Asked::Use { activity, unit, usual, since: None }
    });
    let alone: Vec<Asked> = alone.collect();
    let again = match usual.is_empty() || usual == yesterday {
        true => (!yesterday.is_empty()).then_some(Asked::Again(Again::Yesterday, yesterday)),
        // One thing alone takes as many keys by itself.
        false => (usual.len() > 1).then_some(Asked::Again(Again::Usual, usual)),
    };
    again.into_iter().chain(alone).collect()
}
