//! What a trip came to: kilometres, nights, stops, money, and which stock forced each stop.

use crate::belief::{self, Basis, Beliefs};
use crate::domain::journal::PLANNED_STOP;
use crate::domain::plans::ONE_DRIVE_H;
use crate::domain::{ChargeSource, Event, Moment, Place, Quantity, Rig, Standing, Unit};
use crate::forecast::{Options, evening};
use chrono::{Duration, NaiveTime};
use rayon::prelude::*;

/// Services at most so many hours apart, at one camp, are one stop. Common practice, no source.
const ONE_STOP_H: i64 = 8;
/// A stop is forced where a stock that it sees to would have met its limit within so many hours,
/// as likely as not. Common practice, no source.
const FORCED_H: f64 = 72.0;
/// The latest stops that are looked at for what forced them: each takes a look back.
const MOST_LOOKED_AT: usize = 40;

/// One visit at which stocks were filled, emptied, or charged from a hook-up.
#[derive(Debug, Clone, PartialEq)]
pub struct PastVisit {
    /// When the first thing was done.
    pub at: Moment,
    /// When the last one was.
    pub until: Moment,
    /// Where: the places of the saved stop, in one drive, or a camp that offers something. None where
    /// nobody said.
    pub places: Vec<String>,
    /// Whether it was saved before as a stop.
    is_saved: bool,
    /// The stocks that were seen to, by name, each once.
    pub stocks: Vec<String>,
    /// What it cost, where its place states a price; in the owner's currency.
    pub cost: Option<f64>,
    /// Amounts that have a price there, but were not written down.
    pub unpriced: usize,
}

/// What a trip came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Totals {
    /// From when.
    pub from: Moment,
    /// Until when.
    pub to: Moment,
    /// Nights with anybody aboard.
    pub nights: usize,
    /// Distance that was told, in km.
    pub km: f64,
    /// Hours of driving that were told, where no distance was.
    pub drive_hours: f64,
    /// The stops, in order of time.
    pub visits: Vec<PastVisit>,
}

impl Totals {
    /// Money spent at the visits whose place states a price; `None` where none does.
    pub fn money(&self) -> Option<f64> {
        let costs = self.visits.iter().filter_map(|visit| visit.cost);
        costs.fold(None, |sum, cost| Some(sum.unwrap_or(0.0) + cost))
    }
}

/// What happened from a moment up to now came to.
pub fn totals(basis: &Basis, from: Moment) -> Totals {
    let (Basis { standing, beliefs, now: to, .. }, zone) = (*basis, basis.zone());
    let days = (zone.date(to) - zone.date(from)).num_days().max(0);
    // Who is aboard late in the evening stays the night.
    let late = |day: i64| {
        let day = zone.date(from) + Duration::days(day);
        zone.moment(day.and_time(NaiveTime::MIN)) + Duration::hours(23)
    };
    let nights = (0..days).filter(|day| beliefs.timeline.aboard(late(*day)) > 0.0);
    let facts =
        || standing.iter().filter(|entry| entry.is_fact() && entry.at >= from && entry.at <= to);
    let driven = |unit: &Unit| -> f64 {
        let drives = facts().filter_map(|entry| match &entry.event {
            Event::Drive(driven) => in_unit(driven, unit),
            _ => None,
        });
        drives.sum()
    };
    Totals {
        from,
        to,
        nights: nights.count(),
        km: driven(&Unit::Kilometre),
        drive_hours: driven(&Unit::Hour),
        visits: visits(basis, facts()),
    }
}

fn in_unit(quantity: &Quantity, unit: &Unit) -> Option<f64> {
    quantity.unit.factor_to(unit, None).map(|factor| quantity.amount.value() * factor)
}

/// Services, those close together as one visit.
fn visits<'a>(basis: &Basis, facts: impl Iterator<Item = &'a Standing>) -> Vec<PastVisit> {
    let Basis { rig, beliefs, .. } = *basis;
    let mut visits: Vec<PastVisit> = Vec::new();
    for entry in facts {
        let Some(stock) = serviced(entry, beliefs) else { continue };
        let planned = entry.note.as_deref().and_then(|note| note.strip_prefix(PLANNED_STOP));
        let camp = beliefs.timeline.camp(entry.at).name.as_str();
        let named = |name: &str| rig.place_named(name);
        // A crew may drive to a stop without a word of it; a camp that offers nothing was none.
        let place = planned.or_else(|| named(camp)?.offers_anything().then_some(camp));
        let known = place.and_then(named);
        let near = |visit: &&mut PastVisit| {
            let since = entry.at - visit.until;
            let last = visit.places.last().map(String::as_str);
            let is_same = since <= Duration::hours(ONE_STOP_H) && last == place;
            is_same || planned.is_some() && visit.is_saved && since <= Duration::hours(ONE_DRIVE_H)
        };
        if visits.last_mut().filter(near).is_none() {
            let (at, until, is_saved) = (entry.at, entry.at, planned.is_some());
            let (places, stocks) = (Vec::new(), Vec::new());
            let (cost, unpriced) = (None, 0);
            visits.push(PastVisit { at, until, is_saved, places, stocks, cost, unpriced });
        }
        let last = visits.len() - 1;
        let visit = &mut visits[last];
        // Each place of a drive costs what it says.
        if let Some(place) = place.filter(|place| visit.places.last().is_none_or(|l| l != place)) {
            visit.places.push(place.to_string());
            let cost = known.and_then(|place| place.cost);
            visit.cost = visit.cost.into_iter().chain(cost).reduce(|sum, more| sum + more);
        }
        visit.until = entry.at;
        if !visit.stocks.contains(&stock) {
            visit.stocks.push(stock.clone());
        }
        if let Some(place) = known {
            visit.pay(place, &stock, entry, beliefs);
        }
    }
    visits
}

/// The stock that an entry sees to, if it is a service.
fn serviced(entry: &Standing, beliefs: &Beliefs) -> Option<String> {
    match &entry.event {
        Event::Charge { source: ChargeSource::Shore, .. } => {
            let store = beliefs.mechanism.electric?;
            Some(beliefs.mechanism.stocks()[store].name.clone())
        }
        event => beliefs.mechanism.parts.serviced(event).map(String::from),
    }
}

impl PastVisit {
    fn pay(&mut self, place: &Place, stock: &str, entry: &Standing, beliefs: &Beliefs) {
        let Some((_, price)) = place.prices.iter().find(|(name, _)| name == stock) else { return };
        let parts = &beliefs.mechanism.parts;
        let amount = parts.serviced(&entry.event).and(entry.event.amount());
        let amount = parts.stock(stock).zip(amount).and_then(|((_, stock), amount)| {
            belief::evidence::in_unit(amount, stock, parts.volts())
        });
        match amount {
            Some(amount) => self.cost = Some(self.cost.unwrap_or(0.0) + price * amount),
            None => self.unpriced += 1,
        }
    }
}

/// What forced the stops of a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct Forced {
    /// Stops that were looked at: the latest ones.
    pub looked_at: usize,
    /// By stock, how many of them it forced; the most first. What is left was in good time.
    pub by: Vec<(String, usize)>,
}

/// Which stock forced each of some visits: of those that it saw to, the one that would have met
/// its limit first by what was known just before, if that was within three days as likely as not.
/// `options` are the moment that counts as now, the seed, and how many lives. Takes some
/// milliseconds for each visit.
pub fn forced(rig: &Rig, standing: &[Standing], visits: &[PastVisit], options: Options) -> Forced {
    let latest = &visits[visits.len().saturating_sub(MOST_LOOKED_AT)..];
    let names: Vec<String> =
        latest.par_iter().filter_map(|visit| force(rig, standing, visit, options)).collect();
    let mut by: Vec<(String, usize)> = Vec::new();
    for name in names {
        match by.iter_mut().find(|(known, _)| *known == name) {
            Some((_, count)) => *count += 1,
            None => by.push((name, 1)),
        }
    }
    by.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    Forced { looked_at: latest.len(), by }
}

fn force(rig: &Rig, standing: &[Standing], visit: &PastVisit, options: Options) -> Option<String> {
    let at = visit.at - Duration::minutes(1);
    let before: Vec<Standing> =
        standing.iter().filter(|entry| entry.is_fact() && entry.at <= at).cloned().collect();
    let beliefs = belief::learn(rig, &before, at, options.seed);
    let options = Options { at, horizon_hours: 168, with_fans: false, ..options };
    let forecast = evening::forecast(rig, &before, &beliefs, options);
    let own = forecast.stocks.iter().filter(|stock| visit.stocks.contains(&stock.name));
    let due = own.filter_map(|stock| Some((stock, stock.hours.p50?)));
    let first = due.min_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, hours)| *hours <= FORCED_H)?;
    Some(first.0.name.clone())
}
