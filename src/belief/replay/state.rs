//! The running state of a replay: the stocks as they are at the moment reached, what is believed
//! of them, and what their readings said.

use super::hypotheses::Hypotheses;
use super::spent::{SpentSpan, UseMark};
use super::sums::{Flows, Sums};
use crate::belief::evidence::{Innovation, Outlier};
use crate::belief::joint::Joint;
use crate::belief::kit::starting_anew;
use crate::belief::manner::DaySpread;
use crate::belief::past::{Day, Past};
use crate::belief::unlogged::Unlogged;
use crate::domain::estimate::PastReading;
use crate::domain::{Direction, Estimate, Event, Moment, Parts, Standing, Stock};
use crate::mechanism::Mechanism;
use crate::mechanism::coefficient::Coefficient;
use chrono::{NaiveDate, NaiveTime};
use std::rc::Rc;

/// Something at a moment that levels are brought up to before it.
#[derive(Debug, Clone, Copy)]
pub(super) enum Happening<'a> {
    /// The kit changes, with the day.
    Kit(NaiveDate),
    /// An entry.
    Entry(&'a Standing),
    /// From here on it is told how much of a stock is used.
    Since(&'a str),
    /// Up to here.
    Spent(&'a str, Estimate),
}

/// Everything that happened in a past up to `until`, with what was used in all by then, in time order;
/// a change of kit comes first on its day. A kit that is only stated again is no change: levels are not brought up to it either.
pub(super) fn happenings<'a>(
    past: &Past<'a>,
    until: Moment,
    spent: &[SpentSpan<'a>],
) -> Vec<(Moment, Happening<'a>)> {
    let (first, last) = (past.zone.date(past.from), past.zone.date(until));
    let changes = past.rig.days_changed(Parts::clone).into_iter();
    let changes = changes.filter(|from| *from > first && *from <= last);
    let kit =
        |day: NaiveDate| (past.zone.moment(day.and_time(NaiveTime::MIN)), Happening::Kit(day));
    let mut all: Vec<(Moment, Happening)> = changes.map(kit).collect();
    let told = past.entries.iter().take_while(|entry| entry.at <= until);
    // What begins where the one before it ends comes after that.
    let ends = spent.iter().map(|span| (span.until, Happening::Spent(span.stock, span.amount)));
    let begins = spent.iter().map(|span| (span.from, Happening::Since(span.stock)));
    let other = told.filter(|entry| !matches!(entry.event, Event::Spent { .. }));
    all.extend(other.map(|entry| (entry.at, Happening::Entry(entry))).chain(ends).chain(begins));
    all.sort_by_key(|(at, _)| *at);
    all
}

/// Whether a stop tells that something was short.
#[derive(Debug, Clone)]
pub(super) enum Stops {
    /// It does: when the last one began, and per stock the chance that so little was left of it that
    /// the stop was made for it.
    Heard(Option<(Moment, Vec<f64>)>),
    /// It does not: where only some of the stocks are replayed, it may have been made for another.
    Unheard,
}

/// The running state of a replay.
pub(super) struct Replay<'a> {
    pub past: &'a Past<'a>,
    pub unlogged: &'a Unlogged<'a>,
    pub mechanism: &'a Mechanism,
    flows: Flows<'a>,
    pub hypotheses: Hypotheses,
    /// How much one day differs from the next.
    pub days: DaySpread,
    /// Stocks as they were at the moment reached, in the present rig's order.
    pub stocks: Vec<Rc<Stock>>,
    /// What has been summed since the levels were last moved.
    pub sums: Sums,
    /// What services of which no amount is told say of the levels.
    pub stops: Stops,
    /// By stock, where the joint belief holds the level and what was used of it together, since a
    /// moment from which on that is told.
    pub marks: Vec<UseMark>,
    pub readings: Vec<Vec<PastReading>>,
    pub outliers: Vec<Outlier>,
    pub innovations: Vec<Vec<Innovation>>,
}

impl<'a> Replay<'a> {
    /// Before anything was written down, with each kind of crew that it may be, where so much will be
    /// told to have been used in all.
    pub fn begin(
        past: &'a Past<'a>,
        unlogged: &'a Unlogged<'a>,
        mechanism: &'a Mechanism,
        spent: &[SpentSpan],
    ) -> Replay<'a> {
        let stocks: Vec<Rc<Stock>> = mechanism.stocks().iter().cloned().map(Rc::new).collect();
        let mut estimates: Vec<Estimate> = mechanism.stocks().iter().map(unknown_level).collect();
        estimates.extend(mechanism.coefficients.iter().map(Coefficient::prior));
        let marks = UseMark::of_each(spent, &stocks, estimates.len());
        estimates.extend(marks.iter().map(|_| Estimate { mean: 0.0, sd: 0.0 }));
        estimates.extend(unlogged.manner().estimates());
        let main = Joint::independent(&estimates);
        let mut replay = Replay {
            past,
            unlogged,
            mechanism,
            flows: Flows::of(mechanism),
            hypotheses: Hypotheses { main, alternatives: Vec::new() },
            days: DaySpread::unread(stocks.len()),
            stops: Stops::Heard(None),
            marks,
            readings: vec![Vec::new(); stocks.len()],
            innovations: vec![Vec::new(); stocks.len()],
            stocks,
            sums: Sums::none(mechanism),
            outliers: Vec::new(),
        };
        replay.put_kit_of(past.zone.date(past.from));
        // What is still to be written may yet be told.
        let untold = |day: &Day| day.untold * (1.0 - day.late);
        replay.hypotheses.suppose(past.days.each.values().map(untold).sum());
        replay
    }

    /// Moves the levels by what has been summed.
    pub fn apply(&mut self) {
        let moved = (&mut self.hypotheses, &mut self.days);
        self.sums.move_levels(&self.flows, self.unlogged, &self.stocks, moved);
        self.sums.clear();
    }

    /// Takes the stocks as they were on `date`; a replaced one starts unknown, and a coefficient
    /// whose reference value changed starts afresh.
    pub(super) fn put_kit_of(&mut self, date: NaiveDate) {
        let parts = self.past.rig.parts_on(date);
        for i in 0..self.stocks.len() {
            let Some((_, then)) = parts.stock(&self.stocks[i].name) else { continue };
            if *then != *self.stocks[i] {
                let same =
                    then.capacity == self.stocks[i].capacity && then.unit == self.stocks[i].unit;
                self.stocks[i] = Rc::new(then.clone());
                if !same {
                    self.marks.iter_mut().filter(|m| m.stock == i).for_each(|m| m.set = false);
                    self.hypotheses.each(|joint| joint.reset(i, unknown_level(then)));
                }
            }
        }
        for index in starting_anew(self.past.rig, date, self.mechanism) {
            let place = self.stocks.len() + index;
            let prior = self.mechanism.coefficients[index].prior();
            self.hypotheses.each(|joint| joint.reset(place, prior));
        }
    }
}

/// A level nobody has ever read: anywhere between empty and full. A count of nights starts at
/// its service level instead.
fn unknown_level(stock: &Stock) -> Estimate {
    if stock.reset_by_camp {
        return Estimate { mean: stock.serviced_level(), sd: 0.0 };
    }
    let lean = match stock.runs {
        Direction::Down => 0.6,
        Direction::Up => 0.4,
    };
    Estimate { mean: lean * stock.capacity, sd: 0.29 * stock.capacity }
}
