//! Puts the program, the spreadsheet and the oracle to the same evenings of one trip.

use super::dice::Dice;
use super::front_door::Door;
use super::score::{Hours, quantiles};
use super::spreadsheet;
use super::trip::{HORIZON, Origin, Trip};
use super::van::Role;
use waystock::domain::entry::{Body, Entry, Event};
use waystock::domain::time::Moment;
use waystock::forecast::answer::{Evening, LearnedValue, Options, Quantiles};

/// What is left out of the program's knowledge, to see what it is worth.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Without {
    Nothing,
    /// Only the last known level of each stock, and what was logged since.
    Learning,
    Outlook,
    /// Readings are taken for exact.
    Steps,
    /// No gauge readings but the battery's.
    Gauges,
}

/// One forecaster's answer at one evening.
#[derive(Clone, Debug)]
pub struct Answer {
    pub stocks: Vec<Hours>,
    pub next: Hours,
    pub binding: Option<usize>,
}

/// All answers at one evening, and the truth.
pub struct Trial {
    pub seed: u64,
    pub hour: usize,
    pub roles: Vec<Role>,
    pub truth: Vec<f64>,
    pub levels: Vec<f64>,
    pub capacities: Vec<f64>,
    pub believed: Vec<(f64, f64)>,
    pub ours: Answer,
    pub sheet: Answer,
    pub oracle: Option<Answer>,
    pub learned: Vec<LearnedValue>,
    pub kinds: Vec<String>,
}

impl Trial {
    pub fn next_truth(&self) -> f64 {
        self.truth.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// Whether a stock is the first to meet its limit, or within half an hour of it.
    pub fn binds(&self, stock: usize) -> bool {
        let first = self.next_truth();
        first < HORIZON as f64 && self.truth[stock] <= first + 0.5
    }
}

/// How much work a run may do.
#[derive(Clone, Copy)]
pub struct Effort {
    /// Whether the program is asked through its exchange files and its JSON.
    pub front_door: bool,
    pub lives: usize,
    pub oracle_lives: usize,
    pub origins: usize,
}

/// All evenings of a trip.
pub fn trials(trip: &Trip, effort: Effort, without: Without) -> Vec<Trial> {
    let origins = trip.origins.iter().take(effort.origins);
    let mut trials: Vec<Trial> =
        origins.clone().map(|origin| trial(trip, origin, effort, without)).collect();
    if effort.front_door {
        let door = Door::of(trip);
        let names: Vec<&str> = trip.van.tanks.iter().map(|tank| tank.role.name()).collect();
        for (trial, origin) in trials.iter_mut().zip(origins) {
            trial.ours = door.forecast(origin.at, effort.lives, &names);
        }
    }
    trials
}

fn trial(trip: &Trip, origin: &Origin, effort: Effort, without: Without) -> Trial {
    let entries = stripped(&trip.entries, origin.at, without);
    let options = Options { lives: effort.lives, ..Options::at(origin.at) };
    let evening = waystock::forecast::evening(&trip.rig, &entries, options);
    let sheet = spreadsheet::sheet(&trip.van, &trip.entries, origin.at);
    Trial {
        seed: trip.seed,
        hour: origin.hour,
        roles: trip.van.tanks.iter().map(|tank| tank.role).collect(),
        truth: origin.truth.clone(),
        levels: origin.state.levels.clone(),
        capacities: trip.van.tanks.iter().map(|tank| tank.capacity).collect(),
        believed: evening.forecast.stocks.iter().map(|s| (s.level.mean, s.level.sd)).collect(),
        ours: ours(&evening),
        sheet: Answer { stocks: sheet.hours, next: sheet.next, binding: sheet.binding },
        oracle: (effort.oracle_lives > 0).then(|| oracle(trip, origin, effort.oracle_lives)),
        learned: evening.learned,
        kinds: kinds(trip),
    }
}

/// What kind of van, crew and diary it is, for the breakdown.
pub fn kinds(trip: &Trip) -> Vec<String> {
    let (van, manner) = (&trip.van, &trip.manner);
    let usual_c = (trip.sky.usual.0 + trip.sky.usual.1) / 2.0;
    let warmth = match usual_c {
        c if c < 5.0 => "below 5 C",
        c if c < 14.0 => "5 to 14 C",
        _ => "above 14 C",
    };
    let outlook = match manner.outlook_every {
        0 => "never",
        1 => "daily",
        _ => "every 2-3 days",
    };
    let gauge = van.place(Role::Fresh).map(|i| van.tanks[i].gauge);
    vec![
        format!("crew {}", van.people.len()),
        format!("amounts measured {}", manner.measures > 0.4),
        format!("grey gauge {:?}", van.place(Role::Grey).map(|i| van.tanks[i].gauge)),
        format!("season {warmth}"),
        format!("panels {}", if van.panel_w > 0.0 { "yes" } else { "no" }),
        format!("cooking on {:?}", van.cooking),
        format!("heating with {:?}", van.heating),
        format!("outlook {outlook}, form {}", manner.outlook_form),
        format!("diary {}", if manner.in_one_go { "in the evening" } else { "at once" }),
        format!("days closed {}", manner.closes > 0.0),
        format!("fresh gauge {gauge:?}"),
        format!("gauges looked at {}", if manner.looks > 0.6 { "often" } else { "seldom" }),
        format!("mood {}", if van.mood_swing > 0.2 { "swings" } else { "even" }),
    ]
}

/// The program's answer.
pub fn ours(evening: &Evening) -> Answer {
    let forecast = &evening.forecast;
    Answer {
        stocks: forecast.stocks.iter().map(|stock| hours(&stock.hours)).collect(),
        next: hours(&forecast.next.hours),
        binding: forecast.next.binding,
    }
}

fn hours(q: &Quantiles) -> Hours {
    [q.p05, q.p10, q.p25, q.p50, q.p75, q.p90, q.p95].map(|q| q.unwrap_or(f64::INFINITY))
}

/// Knows the van, the crew, the levels and the weather; lacks only the dice.
pub fn oracle(trip: &Trip, origin: &Origin, lives: usize) -> Answer {
    let stocks = trip.van.tanks.len();
    let mut passages = vec![Vec::with_capacity(lives); stocks];
    let (mut first, mut binds) = (Vec::with_capacity(lives), vec![0usize; stocks]);
    for life in 0..lives {
        let mut dice = Dice::new(trip.seed, 1_000_000 + (origin.hour * 1000 + life) as u64);
        let met = trip.continuation(&origin.state, &mut dice);
        let soonest = (0..stocks).min_by(|a, b| met[*a].total_cmp(&met[*b])).expect("a stock");
        first.push(met[soonest]);
        binds[soonest] += usize::from(met[soonest].is_finite());
        for (all, hours) in passages.iter_mut().zip(met) {
            all.push(hours);
        }
    }
    let most = (0..stocks).max_by_key(|s| binds[*s]).filter(|s| binds[*s] > 0);
    Answer {
        stocks: passages.into_iter().map(quantiles).collect(),
        next: quantiles(first),
        binding: most,
    }
}

/// The entries with something left out.
fn stripped(entries: &[Entry], now: Moment, without: Without) -> Vec<Entry> {
    let mut kept = entries.to_vec();
    match without {
        Without::Nothing => {}
        Without::Outlook => kept.retain(|e| !matches!(happened(e), Some(Event::Outlook(_)))),
        Without::Steps => {
            for entry in &mut kept {
                if let Body::Happened(Event::Level { step, .. }) = &mut entry.body {
                    *step = Some(0.002);
                }
            }
        }
        Without::Gauges => kept.retain(|e| match happened(e) {
            Some(Event::Level { stock, .. }) => stock == "battery",
            _ => true,
        }),
        Without::Learning => kept = last_levels_only(&kept, now),
    }
    kept
}

fn happened(entry: &Entry) -> Option<&Event> {
    match &entry.body {
        Body::Happened(event) => Some(event),
        _ => None,
    }
}

/// Keeps each stock's last service and the last reading after it, and the uses since the oldest
/// of these; crew, camps, plans and outlooks stay.
fn last_levels_only(entries: &[Entry], now: Moment) -> Vec<Entry> {
    let stock_of = |entry: &Entry| match happened(entry) {
        Some(
            Event::Level { stock, .. } | Event::Fill { stock, .. } | Event::Empty { stock, .. },
        ) => Some(stock.clone()),
        _ => None,
    };
    let mut last: std::collections::BTreeMap<String, usize> = Default::default();
    for (index, entry) in entries.iter().enumerate().filter(|(_, e)| e.at <= now) {
        if let Some(stock) = stock_of(entry) {
            last.insert(stock, index);
        }
    }
    let since = last.values().map(|index| entries[*index].at).min().unwrap_or(now);
    let keep = |(index, entry): (usize, &Entry)| match happened(entry) {
        Some(Event::Level { .. } | Event::Fill { .. } | Event::Empty { .. }) => {
            last.values().any(|kept| *kept == index)
        }
        Some(Event::Use { .. } | Event::DayClosed) => entry.at >= since,
        _ => true,
    };
    entries.iter().enumerate().filter(|pair| keep(*pair)).map(|(_, entry)| entry.clone()).collect()
}
