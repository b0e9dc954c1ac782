//! How much of a stock was used in all, where somebody tells it: `6 kg of wood today`. A level before and
//! a level after would say the same, of which neither was read; so the joint belief holds one quantity
//! more for as long as such an amount is counted.

use crate::belief::evidence::{as_written, in_unit};
use crate::belief::past::Past;
use crate::belief::practice::SPENT_SD;
use crate::domain::{Estimate, Event, Moment, Stock};
use chrono::NaiveTime;
use std::rc::Rc;

/// How much of a stock was used from one moment to another, all uses together.
pub(super) struct SpentSpan<'a> {
    pub stock: &'a str,
    pub from: Moment,
    pub until: Moment,
    pub amount: Estimate,
}

/// What is told to have been used in all up to `until`, in time order: an amount is of its civil day, or
/// of what is left of it after the one before. Of a day that began before the past nothing is told.
pub(super) fn spent<'a>(past: &Past<'a>, until: Moment) -> Vec<SpentSpan<'a>> {
    let mut spans: Vec<SpentSpan> = Vec::new();
    for entry in past.entries.iter().take_while(|entry| entry.at <= until) {
        let Event::Spent { stock, amount } = &entry.event else { continue };
        let day = past.zone.date(entry.at);
        let parts = past.rig.parts_on(day);
        let Some((_, known)) = parts.stock(stock).filter(|_| !parts.is_store(stock)) else {
            continue;
        };
        let Some(mean) = in_unit(amount, known, parts.volts()) else { continue };
        let (low, high) = as_written(known, amount, parts.volts());
        let sd = ((high - low) / 12f64.sqrt()).hypot(SPENT_SD * mean);
        match spans.iter_mut().rev().find(|span| span.stock == stock) {
            // Told twice at one moment: both together.
            Some(span) if span.until == entry.at => {
                let sd = span.amount.sd.hypot(sd);
                span.amount = Estimate { mean: span.amount.mean + mean, sd };
            }
            before => {
                let begins = past.zone.moment(day.and_time(NaiveTime::MIN));
                let from = before.map_or(begins, |span| span.until.max(begins));
                if from >= past.from {
                    let amount = Estimate { mean, sd };
                    spans.push(SpentSpan { stock, from, until: entry.at, amount });
                }
            }
        }
    }
    spans
}

/// A quantity of the joint belief that stands still while a stock is used: the stock's level plus what
/// has been used of it since a moment.
#[derive(Debug, Clone)]
pub(super) struct UseMark {
    pub stock: usize,
    /// Its place in the joint belief.
    pub place: usize,
    /// Whether it stands.
    pub set: bool,
}

impl UseMark {
    /// One for each of `stocks` of which it is ever told how much was used, in this order, the first of
    /// them at the place `first`.
    pub(super) fn of_each(spent: &[SpentSpan], stocks: &[Rc<Stock>], first: usize) -> Vec<UseMark> {
        let told = |i: &usize| spent.iter().any(|span| span.stock == stocks[*i].name);
        let told = (0..stocks.len()).filter(told).enumerate();
        told.map(|(n, stock)| UseMark { stock, place: first + n, set: false }).collect()
    }
}
