//! All that is told of where it goes, in one answer for every front.

use super::account::begins;
use super::foretold::foretold;
use super::trip::{forced, totals};
use super::{Account, BatteryDay, Forced, StockUse, Totals, UseBand, accounts, battery};
use crate::belief::Basis;
use crate::domain::{Entry, Moment};
use crate::forecast::Options;
use rayon::prelude::*;

/// Lives behind a band of then: enough for the P10 and the P90, and quick.
pub const LIVES: usize = 500;

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct SpentRequest<'a> {
    /// From when on; `None`: from the first entry.
    pub since: Option<Moment>,
    /// The one stock that is asked about; without it, all of them and the trip are.
    pub stock: Option<&'a str>,
    /// Whether past weeks are to be foretold again, which takes longest.
    pub with_bands: bool,
    /// Until when, and the draws of what is foretold.
    pub options: Options,
}

/// Where the stocks go.
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

impl Spent {
    /// Adds up what moved every stock, and what a trip came to.
    pub fn of(basis: &Basis, entries: &[Entry], asked: &SpentRequest) -> Spent {
        let (Basis { rig, standing, now, .. }, options) = (*basis, asked.options);
        let mut stocks = accounts(basis, asked.since);
        stocks.retain(|own| asked.stock.is_none_or(|name| name == own.stock.name));
        let weeks = stocks.first().filter(|_| asked.with_bands);
        let weeks = weeks.map_or(&[][..], |own| &own.weeks);
        let band = |week: &Account| foretold(rig, entries, (week.from, week.to), options);
        let first = begins(standing, now).filter(|_| asked.stock.is_none());
        let trip = first.map(|first| {
            let from = asked.since.map_or(first, |since| since.clamp(first, now));
            let totals = totals(basis, from);
            let forced = forced(rig, standing, &totals.visits, options);
            (totals, forced)
        });
        let days = match stocks.iter().any(|own| own.is_electric) {
            true => battery::days(basis, options),
            false => Vec::new(),
        };
        Spent { days, bands: weeks.par_iter().map(band).collect(), trip, stocks }
    }

    /// What is told of a stock.
    pub fn stock(&self, name: &str) -> Option<&StockUse> {
        self.stocks.iter().find(|own| own.stock.name == name)
    }

    /// Each whole week of a stock, with what was foretold of it when it began.
    pub fn weeks<'a>(
        &'a self,
        own: &'a StockUse,
    ) -> impl Iterator<Item = (&'a Account, Option<&'a UseBand>)> {
        own.weeks.iter().enumerate().map(|(place, week)| {
            let mut bands = self.bands.get(place).into_iter().flatten();
            (week, bands.find(|band| band.stock == own.stock.name))
        })
    }
}
