//! How good earlier forecasts were, on this very journal: each past evening's forecast, made
//! from what was known that evening, beside what happened until the next service.
//!
//! Two questions are asked of every evening. Was the level at the stock's next reading inside
//! the foretold band? That is never cut short. And did the limit come inside the band of dates?
//! That often is: a crew that services a stock in time never learns when it would have run out.
//! Such an evening counts by its chance, see [`Tally`]. `happened` looks up what came after an
//! evening, `judge` compares.

pub mod happened;
pub mod judge;
mod lean;
mod luck;

use super::lives::{FAN_STEP, Lives};
use super::practice::{AFTER_HOURS, STANDS_OUT};
use super::scene::Scene;
use super::{Options, Quantiles, lives, passages};
use crate::belief;
use crate::belief::practice::GAUGE_SD;
use crate::domain::{Body, Entry, Event, Moment, Rig, Standing, Stock, Unit, journal};
use chrono::{Duration, NaiveDate, NaiveTime};
use happened::{Aftermath, Sighting, span};
use judge::{Verdict, Zones};
use rayon::prelude::*;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

pub use super::practice::HISTORY_DAYS;
pub use happened::Span;
pub use judge::{BandSide, Tally};
pub use lean::Lean;
pub use luck::{Luck, SafeDates};

/// What to look back on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// The moment that counts as now; what was written later does not exist.
    pub now: Moment,
    /// At most so many evenings, the latest ones.
    pub evenings: usize,
    /// Lives per evening.
    pub lives: usize,
    /// Seed of every draw.
    pub seed: u64,
    /// Hours that each evening looks ahead.
    pub horizon_hours: usize,
}

impl Settings {
    /// The usual look back: 40 evenings of 500 lives over 30 days, seed 1.
    pub fn at(now: Moment) -> Settings {
        Settings { now, evenings: 40, lives: 500, seed: 1, horizon_hours: 720 }
    }
}

/// Why evenings could not be judged, counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Unjudged {
    /// The stock was out that evening already.
    pub out_already: usize,
    /// The forecast saw no limit within its horizon.
    pub beyond_horizon: usize,
    /// Nothing that was written later tells.
    pub nothing_told: usize,
}

impl Unjudged {
    /// All of them.
    pub fn all(&self) -> usize {
        self.out_already + self.beyond_horizon + self.nothing_told
    }
}

/// How foretold bands fared.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TrackRecord {
    /// Inside, sooner, later.
    pub tally: Tally,
    /// Median distance between what was foretold as likely and what happened, over `errors`
    /// cases in which both are known. For dates in days; for levels in the stock's unit, beyond
    /// what the gauge leaves open.
    pub typical_error: Option<f64>,
    /// Number of cases behind it.
    pub errors: usize,
    /// What could not be judged, and why.
    pub unjudged: Unjudged,
    /// For dates: how often a limit was seen met before the next service.
    pub met: usize,
}

/// One stock's record.
#[derive(Debug, Clone, PartialEq)]
pub struct StockRecord {
    /// Name, as in the rig now.
    pub name: String,
    /// Unit of levels.
    pub unit: Unit,
    /// What it holds now.
    pub capacity: f64,
    /// The level at its next reading, against the foretold band.
    pub levels: TrackRecord,
    /// The date of its limit, against the foretold band.
    pub dates: TrackRecord,
}

/// What was said of a stock's next reading, and what was read.
#[derive(Debug, Clone, PartialEq)]
pub struct NextReading {
    /// The stock, as in the rig then.
    pub stock: String,
    /// Hours from the evening to the reading.
    pub hours: f64,
    /// The level foretold for then: P10, P50 and P90, in the stock's unit.
    pub said: [f64; 3],
    /// Between which levels it was read.
    pub read: (f64, f64),
    /// How that compares.
    pub verdict: Verdict,
}

/// One past evening: what was said of the next stop, and what came.
#[derive(Debug, Clone, PartialEq)]
pub struct PastEvening {
    /// When.
    pub at: Moment,
    /// What the forecast said of the next stop, in hours.
    pub said: Quantiles,
    /// Between which hours the first limit was truly met.
    pub came: Span,
    /// How that compares; `None` where it cannot be judged.
    pub verdict: Option<Verdict>,
    /// The next reading of each stock that was read before its next service.
    pub readings: Vec<NextReading>,
}

/// The stock that was misjudged most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misjudged {
    /// Index into [`Hindsight::stocks`].
    pub stock: usize,
    /// Which way, mostly.
    pub way: BandSide,
}

/// The look back.
#[derive(Debug, Clone, PartialEq)]
pub struct Hindsight {
    /// The evenings, oldest first.
    pub evenings: Vec<PastEvening>,
    /// The next stop.
    pub next: TrackRecord,
    /// Each stock, in the order of the rig now.
    pub stocks: Vec<StockRecord>,
    /// The stock whose levels missed their bands clearly more often than chance would have it.
    pub misjudged: Option<Misjudged>,
}

/// Looks back. `None` when `cancelled` became true before it was done. The same inputs give the
/// same answer on any number of threads.
pub fn hindsight(
    rig: &Rig,
    entries: &[Entry],
    settings: Settings,
    cancelled: &AtomicBool,
) -> Option<Hindsight> {
    told(rig, entries, settings, &|_, _| !cancelled.load(Ordering::Relaxed))
}

/// The same for somebody who waits: `go_on` hears how many evenings of how many are done, on any
/// thread, and says whether anybody still wants to know.
pub fn told(
    rig: &Rig,
    entries: &[Entry],
    settings: Settings,
    go_on: &(dyn Fn(usize, usize) -> bool + Sync),
) -> Option<Hindsight> {
    let mut truth = journal::standing(entries, settings.now);
    truth.retain(journal::Standing::is_fact);
    let mut moments = evenings(rig, entries, settings);
    moments.retain(|at| *at <= last_word(&truth, settings.now));
    let (all, done) = (moments.len(), AtomicUsize::new(0));
    let seen: Option<Vec<EveningSeen>> = moments
        .into_par_iter()
        .map(|at| {
            go_on(done.load(Ordering::Relaxed), all).then(|| {
                let seen = look(rig, entries, &truth, at, settings);
                go_on(done.fetch_add(1, Ordering::Relaxed) + 1, all);
                seen
            })
        })
        .collect();
    seen.map(|seen| gather(rig, seen, settings.now))
}

/// Until when the journal says what came: behind its last word not even that nothing was out.
fn last_word(truth: &[Standing], now: Moment) -> Moment {
    truth.last().map_or(now, |entry| entry.at.min(now))
}

/// The evenings to judge: 21:00 of each civil day, or the day's last entry where people wrote
/// later than that.
fn evenings(rig: &Rig, entries: &[Entry], settings: Settings) -> Vec<Moment> {
    let (now, zone) = (settings.now, rig.zone(settings.now));
    let history = Duration::days(HISTORY_DAYS);
    let speaks = |e: &&Entry| match &e.body {
        Body::Happened(event) => !matches!(event, Event::Outlook(_) | Event::Note(_)),
        _ => false,
    };
    let known = entries.iter().filter(speaks).map(|e| e.recorded.max(e.at + history));
    let Some(first) = known.min() else { return Vec::new() };
    let usual = NaiveTime::from_hms_opt(21, 0, 0).unwrap_or_default();
    // However old the journal, only its last days are looked at: today's evening and perhaps
    // yesterday's are too young to be judged.
    let today = zone.date(now);
    let oldest = today - Duration::days(settings.evenings as i64 + 2);
    let mut latest: BTreeMap<NaiveDate, Moment> = BTreeMap::new();
    for at in entries.iter().map(|e| zone.here(e.recorded)).filter(|at| zone.date(*at) >= oldest) {
        latest.entry(zone.date(at)).and_modify(|known| *known = at.max(*known)).or_insert(at);
    }
    let evening = |day: NaiveDate| {
        let usual = zone.moment(day.and_time(usual));
        latest.get(&day).map_or(usual, |at| usual.max(*at))
    };
    let old_enough = |at: &Moment| *at >= first && *at + Duration::hours(AFTER_HOURS) <= now;
    let days = std::iter::successors(Some(today), |day| day.pred_opt());
    let mut moments: Vec<Moment> =
        days.take_while(|day| *day >= oldest).map(evening).filter(old_enough).collect();
    moments.truncate(settings.evenings);
    moments.reverse();
    moments
}

/// What one evening comes to.
struct EveningSeen {
    at: Moment,
    said: Quantiles,
    came: Span,
    next: Comparison,
    /// By stock name.
    stocks: Vec<(String, Comparison, Comparison)>,
    readings: Vec<NextReading>,
}

/// One comparison: a verdict with the error where both sides are known, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Comparison {
    /// Verdict; error where it is known; for dates, whether the limit was met.
    Judged(Verdict, Option<f64>, bool),
    OutAlready,
    BeyondHorizon,
    NothingTold,
}

fn look(
    rig: &Rig,
    entries: &[Entry],
    truth: &[Standing],
    at: Moment,
    settings: Settings,
) -> EveningSeen {
    let known = journal::standing(entries, at);
    let options = Options {
        at,
        seed: settings.seed,
        lives: settings.lives,
        horizon_hours: settings.horizon_hours,
        with_fans: true,
    };
    let beliefs = belief::learn(rig, &known, at, settings.seed);
    let scene = Scene::of(rig, &known, &beliefs, &options);
    let lives = lives::run_with_fans(&beliefs, &scene, settings.seed, settings.lives);
    let (first, _) = passages::first_passages(&lives.forcing(&scene));
    let said = passages::quantiles(&first);
    let mechanism = &beliefs.mechanism;
    let after = Aftermath { rig, truth, at, now: last_word(truth, settings.now), mechanism };
    let mut came = Span { from: f64::INFINITY, to: f64::INFINITY };
    let (mut stocks, mut readings) = (Vec::new(), Vec::new());
    for (index, stock) in mechanism.stocks().iter().enumerate() {
        let told = after.told(index);
        let span = match stock.reset_by_camp {
            // A count of nights is never read, and certain: it comes as said, if it comes.
            true => counted(&lives.passages[index], span(stock, &told, after.hours())),
            false => span(stock, &told, after.hours()),
        };
        if !scene.stood_in[index] {
            came = Span { from: came.from.min(span.from), to: came.to.min(span.to) };
        }
        if !stock.reset_by_camp {
            let dates = date_case(&lives.passages[index], span);
            let (levels, reading) = level_case(stock, &lives, index, &told);
            stocks.push((stock.name.clone(), levels, dates));
            readings.extend(reading);
        }
    }
    EveningSeen { at, said, came, next: date_case(&first, came), stocks, readings }
}

fn counted(passages: &[f64], span: Span) -> Span {
    let comes = passages::quantiles(passages).p50.unwrap_or(f64::INFINITY);
    if comes <= span.from { Span { from: comes, to: comes } } else { span }
}

fn date_case(passages: &[f64], came: Span) -> Comparison {
    let said = passages::quantiles(passages);
    if said.is_reached() {
        return Comparison::OutAlready;
    }
    let Some(zones) = Zones::of(passages) else { return Comparison::BeyondHorizon };
    if came.from <= 0.0 && came.to.is_infinite() || came.from.is_infinite() {
        return Comparison::NothingTold;
    }
    let verdict = zones.judge(passages.iter().copied(), came, BandSide::Sooner);
    let middle = 0.5 * (came.from + came.to);
    let error = said.p50.filter(|_| middle.is_finite()).map(|p50| (p50 - middle).abs() / 24.0);
    Comparison::Judged(verdict, error, came.to.is_finite())
}

fn level_case(
    stock: &Stock,
    lives: &Lives,
    index: usize,
    told: &[(f64, Sighting)],
) -> (Comparison, Option<NextReading>) {
    let read = told.iter().find_map(|(hours, told)| told.levels().map(|levels| (*hours, levels)));
    let Some((hours, (low, high))) = read else { return (Comparison::NothingTold, None) };
    let levels = levels_at(lives, index, hours);
    let Some(zones) = Zones::of(&levels) else { return (Comparison::BeyondHorizon, None) };
    let noise = GAUGE_SD * stock.capacity;
    let came = Span { from: low - noise, to: high + noise };
    let low_is = match stock.runs {
        crate::domain::stock::Direction::Down => BandSide::Sooner,
        crate::domain::stock::Direction::Up => BandSide::Later,
    };
    let error = (zones.middle - zones.middle.clamp(low, high)).abs();
    let verdict = zones.judge(levels.iter().copied(), came, low_is);
    let reading = NextReading {
        stock: stock.name.clone(),
        hours,
        said: [zones.low, zones.middle, zones.high],
        read: (low, high),
        verdict,
    };
    (Comparison::Judged(verdict, Some(error), false), Some(reading))
}

/// The lives' levels `hours` ahead, between the points of their fans; empty past the horizon.
fn levels_at(lives: &Lives, stock: usize, hours: f64) -> Vec<f64> {
    let place = hours / FAN_STEP as f64;
    let (before, part) = (place as usize, place.fract());
    if before >= lives.fans.points() {
        return Vec::new();
    }
    let level = |life: usize| match before.checked_sub(1) {
        Some(earlier) => lives.fans.level(earlier, stock, life),
        None => lives.first[stock][life],
    };
    let later = lives.fans.levels(before, stock).enumerate();
    later.map(|(life, to)| level(life) + part * (f64::from(to) - level(life))).collect()
}

fn gather(rig: &Rig, seen: Vec<EveningSeen>, now: Moment) -> Hindsight {
    let parts = rig.parts_on(rig.zone(now).date(now));
    let kept = parts.stocks.iter().filter(|stock| !stock.reset_by_camp);
    let stocks: Vec<StockRecord> = kept
        .map(|stock| {
            let of = |pick: fn(&(String, Comparison, Comparison)) -> Comparison| {
                let same = |s: &EveningSeen| s.stocks.iter().find(|c| c.0 == stock.name).map(pick);
                record(seen.iter().filter_map(same))
            };
            StockRecord {
                name: stock.name.clone(),
                unit: stock.unit.clone(),
                capacity: stock.capacity,
                levels: of(|case| case.1),
                dates: of(|case| case.2),
            }
        })
        .collect();
    Hindsight {
        next: record(seen.iter().map(|s| s.next)),
        misjudged: misjudged(&stocks),
        stocks,
        evenings: seen.into_iter().map(past_evening).collect(),
    }
}

fn past_evening(seen: EveningSeen) -> PastEvening {
    let verdict = match seen.next {
        Comparison::Judged(verdict, ..) => Some(verdict),
        _ => None,
    };
    let EveningSeen { at, said, came, readings, .. } = seen;
    PastEvening { at, said, came, verdict, readings }
}

fn record(cases: impl Iterator<Item = Comparison>) -> TrackRecord {
    let (mut record, mut errors) = (TrackRecord::default(), Vec::new());
    for case in cases {
        match case {
            Comparison::Judged(verdict, error, met) => {
                record.tally.add(verdict);
                record.met += usize::from(met);
                errors.extend(error);
            }
            Comparison::OutAlready => record.unjudged.out_already += 1,
            Comparison::BeyondHorizon => record.unjudged.beyond_horizon += 1,
            Comparison::NothingTold => record.unjudged.nothing_told += 1,
        }
    }
    record.errors = errors.len();
    record.typical_error = passages::quantile(&passages::sorted(errors), 0.5);
    record
}

/// Bands are missed one time in five by chance: the stock with clearly more misses than that.
fn misjudged(stocks: &[StockRecord]) -> Option<Misjudged> {
    let excess = |stock: &StockRecord| stock.levels.tally.excess();
    let worst =
        (0..stocks.len()).max_by(|a, b| excess(&stocks[*a]).total_cmp(&excess(&stocks[*b])));
    worst
        .filter(|i| excess(&stocks[*i]) > STANDS_OUT)
        .map(|stock| Misjudged { stock, way: stocks[stock].levels.tally.mostly() })
}
