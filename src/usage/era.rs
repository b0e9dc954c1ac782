//! The past by kit: between two changes of the rig, what happened is summed with the parts of then.

use crate::belief::evidence::{at_once, in_unit};
use crate::belief::habit::{self, Habit};
use crate::belief::manner::Manner;
use crate::belief::past::Past;
use crate::belief::unlogged::Unlogged;
use crate::belief::{Basis, Beliefs};
use crate::domain::{Direction, Event, Moment, Standing, hours_between};
use crate::mechanism::Mechanism;
use crate::mechanism::climate::{ClimateValues, Kit};
use crate::mechanism::coefficient::Coefficient;
use crate::mechanism::held::{Held, Moved, moved};
use chrono::{Duration, NaiveDate, NaiveTime};

/// A stretch of the past in which the rig stayed the same.
pub(super) struct Era<'a> {
    past: Past<'a>,
    mechanism: Mechanism,
    habits: Vec<Habit>,
    manner: Manner,
    /// Per coefficient: what is believed of it now or, where the rig file of then had another number,
    /// that one.
    values: Vec<f64>,
}

/// The eras from `since` up to the moment of the beliefs, oldest first.
pub(super) fn eras<'a>(basis: &Basis<'a>, since: Moment) -> Vec<Era<'a>> {
    let (Basis { rig, standing, beliefs, now }, zone) = (*basis, basis.zone());
    let begins = |day: NaiveDate| zone.moment(day.and_time(NaiveTime::MIN));
    let changes = rig.changes.iter().map(|change| begins(change.from));
    let mut ends: Vec<Moment> = changes.filter(|at| *at > since && *at < now).collect();
    ends.sort_unstable();
    ends.dedup();
    ends.push(now);
    let mut from = since;
    let mut eras = Vec::new();
    for end in ends {
        // A second before it, the parts of then still hold.
        let until = if end == now { end } else { end - Duration::seconds(1) };
        eras.push(Era::of(Past::after(rig, standing, from, until), beliefs));
        from = end;
    }
    eras
}

impl<'a> Era<'a> {
    /// The era that a past lies in.
    pub(super) fn of(past: Past<'a>, beliefs: &Beliefs) -> Era<'a> {
        let mechanism = Mechanism::of(&past.parts);
        let known = &beliefs.mechanism.coefficients;
        let same = |c: &Coefficient, own: &Coefficient| c.what == own.what && c.mean == own.mean;
        let value = |own: &Coefficient| match known.iter().position(|c| same(c, own)) {
            Some(index) => beliefs.coefficient(index).mean,
            None => own.prior().mean,
        };
        let values = mechanism.coefficients.iter().map(value).collect();
        Era { habits: habit::count(&past), manner: beliefs.manner, past, mechanism, values }
    }

    /// Adds to `all`, which holds a list for each of the stocks named, what this era's part of a
    /// span moved them by.
    pub(super) fn add_moved(&self, span: (Moment, Moment), names: &[&str], all: &mut [Vec<Moved>]) {
        let (from, to) = (span.0.max(self.past.from), span.1.min(self.past.now));
        if to <= from {
            return;
        }
        let held = self.held(from, to);
        for (name, sums) in names.iter().zip(all) {
            let Some((stock, _)) = self.mechanism.parts.stock(name) else { continue };
            join(sums, &moved(&self.mechanism, &held, |index| self.values[index], stock));
        }
    }

    /// What a span within it held.
    fn held(&self, from: Moment, to: Moment) -> Held {
        let past = &self.past;
        let unlogged = Unlogged::of(&self.mechanism, &self.habits, self.manner);
        let kit: Kit<f64> = Kit::of(&self.mechanism);
        let values = ClimateValues::of(&self.mechanism, |index| self.values[index]);
        let mut held = Held::none(&self.mechanism);
        let (begins, ends) = (hours_between(past.from, from), hours_between(past.from, to));
        for index in begins as usize..(ends.ceil() as usize).min(past.hours.len()) {
            let within = |at: f64| (at - index as f64).clamp(0.0, 1.0);
            let (from, to) = (within(begins), within(ends));
            unlogged.add_hour(past, index, (from, to), &mut held.exposure);
            let hour = &past.hours[index];
            let shared = kit.shared(hour.surroundings(), &hour.sun);
            let (flows, burnt) = kit.alone(&shared, hour.weather.clearness, &values);
            held.add_climate(&kit, (&flows, &burnt), (to - from, unlogged.lived(hour)));
        }
        let after = past.entries.partition_point(|entry| entry.at <= from);
        for entry in past.entries[after..].iter().take_while(|entry| entry.at <= to) {
            self.add_at_once(entry, &mut held);
        }
        held
    }

    /// The last hours of the past, as many as that: when each begins, and what it moved a stock by.
    pub(super) fn last_hours(&self, count: usize, stock: usize) -> Vec<(Moment, Vec<Moved>)> {
        let first = self.past.hours.len().saturating_sub(count);
        let hour = |index: usize| {
            let begins = self.past.from + Duration::hours(index as i64);
            let held = self.held(begins, (begins + Duration::hours(1)).min(self.past.now));
            (begins, moved(&self.mechanism, &held, |index| self.values[index], stock))
        };
        (first..self.past.hours.len()).map(hour).collect()
    }

    /// Adds what an entry moves at its own moment.
    fn add_at_once(&self, entry: &Standing, held: &mut Held) {
        let parts = &self.past.parts;
        if let Some((source, amount)) = at_once(&entry.event, parts) {
            held.exposure.put(source, amount);
        }
        let store = self.mechanism.electric.map(|index| &parts.stocks[index]);
        if let (Event::Charge { amount, .. }, Some(store)) = (&entry.event, store) {
            held.charged_wh += in_unit(amount, store, parts.volts()).unwrap_or(0.0);
        }
        if let Event::Empty { stock, amount: Some(amount), .. } = &entry.event
            && let Some((index, stock)) = parts.stock(stock)
            && stock.runs == Direction::Down
        {
            held.lost[index] += in_unit(amount, stock, parts.volts()).unwrap_or(0.0);
        }
    }
}

/// Adds causes to others, like to like.
pub(super) fn join(sums: &mut Vec<Moved>, more: &[Moved]) {
    for part in more {
        match sums.iter_mut().find(|sum| sum.what == part.what) {
            Some(sum) => sum.amount += part.amount,
            None => sums.push(part.clone()),
        }
    }
}
