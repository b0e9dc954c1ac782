//! An invented evening for the tests of this front: a van on a quay in early September.

mod keys;
mod lookback;
mod rig;
mod stops;
mod stretch;

pub use keys::keys_of;
pub use rig::{RIG_TEXT, new_van, rig};

use crate::domain::{
    Amount, Body, Direction, Draft, Entry, EntryId, Event, Moment, Per, Quantity, Rig, Stock, Unit,
    Zone, after_hours,
};
use crate::forecast::Hindsight;
use crate::forecast::answer::*;
use crate::forecast::hindsight::Settings;
use crate::forecast::lives::GoOn;
use crate::mechanism::coefficient::Meaning;
use crate::plan::{Onward, Progress, Request, Trip, TripRequest};
use crate::tui::asking::{Job, News};
use crate::tui::host::{Asking, Judged, Known, Loaded};
use crate::tui::terminal::{answer, kept};
use crate::tui::update::update;
use crate::tui::{Context, Effect, Host, JournalView, Message, State, theme};
use std::sync::{Arc, Mutex, OnceLock};

pub fn zone() -> Zone {
    Zone::Named(chrono_tz::Europe::Lisbon)
}

pub fn now() -> Moment {
    "2026-09-03T20:20:00+01:00".parse().unwrap()
}

/// What is invented of one stock of the van.
struct Given {
    stock: Stock,
    level: Estimate,
    hours: [Option<f64>; 3],
    binding: f64,
}

fn given() -> Vec<Given> {
    let all = |a, b, c| [Some(a), Some(b), Some(c)];
    let rows = [
        ((52.0, 3.1), all(57.0, 71.0, 88.0), 0.22),
        ((31.0, 4.6), all(43.5, 61.0, 79.0), 0.66),
        ((3.2, 0.5), all(66.0, 84.0, 110.0), 0.12),
        ((11.0, 1.0), all(300.0, 380.0, 470.0), 0.0),
        ((22.0, 1.0), [Some(610.0), None, None], 0.0),
        ((1810.0, 60.0), [Some(154.0), Some(390.0), None], 0.0),
        ((12.5, 1.0), all(121.0, 143.0, 160.0), 0.0),
        ((4.1, 0.3), [None, None, None], 0.0),
    ];
    let given = |(stock, ((mean, sd), hours, binding))| Given {
        stock,
        level: Estimate { mean, sd },
        hours,
        binding,
    };
    rig().parts.stocks.into_iter().zip(rows).map(given).collect()
}

fn forecast_of(given: &Given) -> StockForecast {
    let Given { stock, level, hours: [p10, p50, p90], binding } = given;
    let limit = stock.limit();
    let reach = |h: &Option<f64>, by: f64| h.map(|h| h * by);
    let between = |a: &Option<f64>, b: &Option<f64>| a.zip(*b).map(|(a, b)| 0.5 * (a + b));
    let sign = if stock.runs == Direction::Down { -1.0 } else { 1.0 };
    let room = (limit - level.mean).abs();
    let per_day = p50.map_or(room / 40.0, |h| if h > 0.0 { room / (h / 24.0) } else { room });
    StockForecast {
        name: stock.name.clone(),
        unit: stock.unit.clone(),
        runs: stock.runs,
        capacity: stock.capacity,
        limit,
        level: *level,
        hours: Quantiles {
            p05: reach(p10, 0.94),
            p10: *p10,
            p25: between(p10, p50),
            p50: *p50,
            p75: between(p50, p90),
            p90: *p90,
            p95: reach(p90, 1.05),
        },
        beyond_horizon: if p50.is_none() { 0.8 } else { 0.0 },
        binding: *binding,
        stood_in_by: None,
        per_day: sign * per_day,
        dips: vec![],
        fan: vec![],
    }
}

pub fn evening() -> Evening {
    let at = now();
    let mut stocks: Vec<StockForecast> = given().iter().map(forecast_of).collect();
    stocks[5].dips = (0..5)
        .map(|n| Dip { hour: 10.2 + 24.0 * f64::from(n), out: 0.03 * f64::from(n), room: 0.1 })
        .collect();
    let hours = Quantiles {
        p05: Some(39.0),
        p10: Some(42.1),
        p25: Some(49.0),
        p50: Some(57.2),
        p75: Some(66.0),
        p90: Some(74.0),
        p95: Some(80.0),
    };
    let next = NextStop {
        hours,
        by: after_hours(at, 42.1),
        likely: after_hours(at, 57.2),
        binding: Some(1),
        chance: 0.97,
    };
    // All but the last stock were read lately.
    let read = |stock: &StockForecast| PastReading {
        at: after_hours(at, -30.0).unwrap(),
        low: stock.level.mean,
        high: stock.level.mean,
        service: true,
    };
    let mut history: Vec<Vec<PastReading>> = stocks.iter().map(|s| vec![read(s)]).collect();
    history[7].clear();
    let (stock, process) = ("fresh".to_string(), "shower".to_string());
    let shower_amount = Lesson::Coefficient(Meaning::Amount { stock, process });
    let showers = Lesson::Habit { plural: "showers".into(), per: Per::Person };
    let panels = Lesson::Coefficient(Meaning::Panels);
    let panels = learned(panels, "", &["battery"], [(0.75, 0.1), (0.69, 0.03)]);
    Evening {
        forecast: Forecast {
            at,
            horizon_hours: 720,
            lives: 2000,
            seed: 1,
            stocks,
            next,
            cold: None,
            frosts: vec![],
        },
        place: "Moinho quay".into(),
        nights_here: 3,
        aboard: 2.0,
        learned: vec![
            learned(shower_amount, "L", &["fresh", "grey"], [(8.0, 3.0), (6.4, 0.5)]),
            learned(showers, "times", &["fresh", "grey"], [(0.5, 0.2), (0.44, 0.06)]),
            LearnedValue { occurrences: 16.0, readings: 31, ..panels },
        ],
        notices: vec![Notice::new(
            Some("fresh".into()),
            Matter::Misfit {
                at: after_hours(at, -48.0).unwrap_or(at),
                before: after_hours(at, -96.0),
                read: (34.0, 45.0),
                expected: Estimate { mean: 58.0, sd: 4.0 },
                unit: Unit::Litre,
                capacity: 90.0,
                runs: Direction::Down,
                holds: Holds::Other,
            },
        )],
        looks: vec![ReadingValue {
            stock: "grey".into(),
            gauge: true,
            when: ReadingTime::Tonight,
            narrows: 0.3,
        }],
        plans: Vec::new(),
        if_done: None,
        odd_season: None,
        history,
    }
}

fn learned(what: Lesson, unit: &str, stocks: &[&str], known: [(f64, f64); 2]) -> LearnedValue {
    let estimate = |(mean, sd)| Estimate { mean, sd };
    LearnedValue {
        what,
        unit: unit.into(),
        stocks: stocks.iter().map(|s| s.to_string()).collect(),
        reference: estimate(known[0]),
        learned: estimate(known[1]),
        occurrences: 11.0,
        readings: 9,
    }
}

/// The evening with what the stock screen wants: fans, and past readings of fresh and battery.
pub fn evening_with_fans() -> Evening {
    let mut evening = evening();
    let at = evening.forecast.at;
    for stock in &mut evening.forecast.stocks {
        stock.fan = (0..=120).map(|n| fan_point(stock, f64::from(n) * 6.0)).collect();
    }
    let past = |hours: f64, low, high, service| PastReading {
        at: after_hours(at, -hours).unwrap(),
        low,
        high,
        service,
    };
    evening.history[0] = vec![
        past(140.0, 34.0, 56.0, false),
        past(101.0, 11.0, 34.0, false),
        past(76.0, 90.0, 90.0, true),
        past(50.0, 56.0, 79.0, false),
        past(5.0, 45.0, 60.0, false),
    ];
    evening.history[5] = (0..12)
        .map(|n| {
            let level = 1700.0 - 500.0 * f64::from(n % 2);
            past(f64::from(12 - n) * 12.0, level, level + 26.0, false)
        })
        .collect();
    evening
}

fn fan_point(stock: &StockForecast, hour: f64) -> FanPoint {
    let middle = stock.level.mean + stock.per_day * hour / 24.0;
    let spread = 1.3 * stock.level.sd + 0.1 * (stock.per_day * hour / 24.0).abs();
    let within = |level: f64| level.clamp(0.0, stock.capacity);
    FanPoint {
        hour,
        p10: within(middle - spread),
        p50: within(middle),
        p90: within(middle + spread),
    }
}

pub fn entry(device: &str, sequence: u64, hours_ago: f64, body: Body) -> Entry {
    let at = after_hours(now(), -hours_ago).unwrap();
    let id = EntryId { device: device.into(), sequence, salt: 7 };
    Entry { id, at, recorded: at, note: None, body }
}

pub fn used(activity: &str, times: i64) -> Event {
    let amount = Amount::from_milli(times * 1000).unwrap();
    Event::Use { activity: activity.into(), count: Quantity::new(amount, Unit::Time) }
}

pub fn entries() -> Vec<Entry> {
    let emptied = || Event::Empty { stock: "grey".into(), amount: None, after: None };
    vec![
        entry("phone", 1, 30.0, Body::Happened(emptied())),
        entry("tablet", 1, 29.5, Body::Happened(emptied())),
        entry("phone", 2, 26.0, Body::Happened(used("shower", 2))),
        entry("phone", 3, 4.0, Body::Happened(used("dishes", 1))),
    ]
}

pub fn loaded() -> Loaded {
    Loaded {
        rig: rig(),
        rig_text: RIG_TEXT.to_string(),
        entries: entries(),
        findings: vec!["journal/tablet.ron, line 4: damaged, skipped".into()],
        device: "phone".into(),
        read_only: None,
        places: vec![("journal".into(), "/home/crew/van/journal".into())],
    }
}

/// A folder in memory.
pub struct Memory {
    pub entries: Mutex<Vec<Entry>>,
    pub failing: Mutex<Option<String>>,
}

impl Memory {
    pub fn new() -> Memory {
        Memory { entries: Mutex::new(entries()), failing: Mutex::new(None) }
    }
}

impl Host for Memory {
    fn now(&self) -> Moment {
        now()
    }

    fn load(&self) -> Result<Loaded, String> {
        Ok(Loaded { entries: self.entries.lock().unwrap().clone(), ..loaded() })
    }

    fn append(&self, drafts: &[Draft]) -> Result<Vec<Entry>, String> {
        if let Some(reason) = self.failing.lock().unwrap().clone() {
            return Err(reason);
        }
        let mut entries = self.entries.lock().unwrap();
        let mut written = Vec::new();
        let salt = 100 + entries.len() as u32;
        for draft in drafts {
            let sequence = entries.len() as u64 + 1;
            let id = EntryId { device: "phone".into(), sequence, salt };
            let new = Entry {
                id,
                at: draft.at,
                recorded: now(),
                note: draft.note.clone(),
                body: draft.body.clone(),
            };
            entries.push(new.clone());
            written.push(new);
        }
        Ok(written)
    }

    fn learn(&self, rig: &Rig, entries: &[Entry], now: Moment, seed: u64) -> Known {
        // Nothing here looks at it, and learning takes its time.
        static LEARNED: OnceLock<Known> = OnceLock::new();
        let learn = || {
            let standing = crate::domain::journal::standing(entries, now);
            let beliefs = crate::belief::learn(rig, &standing, now, seed);
            Known { at: now, seed, standing, beliefs }
        };
        LEARNED.get_or_init(learn).clone()
    }

    fn evening(&self, _: &Rig, _: &Known, options: Options, _: GoOn) -> Evening {
        if options.with_fans { evening_with_fans() } else { evening() }
    }

    fn stretch(
        &self,
        _: &Rig,
        _: &Known,
        asking: &Asking<Request>,
        tell: &mut dyn FnMut(Judged, bool) -> bool,
    ) {
        let stretch = stretch::answer(now(), &asking.request);
        tell(Judged { stretch, usual: vec![0.9, 1.2, 3.4] }, true);
    }

    fn stops(
        &self,
        _: &Rig,
        _: &Known,
        asking: &Asking<TripRequest>,
        _: &(dyn Fn(Progress) -> Onward + Sync),
    ) -> Option<Trip> {
        Some(stops::answer(now(), &asking.request))
    }

    fn hindsight(
        &self,
        _: &Rig,
        _: &[Entry],
        settings: Settings,
        _: &(dyn Fn(usize, usize) -> bool + Sync),
    ) -> Option<Hindsight> {
        Some(lookback::answer(settings.now))
    }
}

/// The dashboard with everything read and foretold, as on most evenings.
pub fn state(look: theme::Theme) -> State {
    let mut state = State::new(Options::at(now()), look);
    let book = JournalView::new(loaded(), now());
    update(&mut state, Message::Loaded(Ok(Arc::new(book))));
    (state.evening.generation, state.row) = (0, 0);
    let news = News::Evening(Arc::new(evening_with_fans()));
    update(&mut state, Message::Answered { generation: 0, news });
    state
}

/// Presses keys (`<Enter>` and the like, or characters) and lets the folder in memory carry out
/// what they ask for, at once.
pub fn press(state: &mut State, folder: &Memory, keys: &str) {
    for key in keys_of(keys) {
        send(state, folder, Message::Key(key));
    }
}

/// Applies a message, and every message that comes of it.
pub fn send(state: &mut State, folder: &Memory, message: Message) -> Vec<Effect> {
    let mut waiting = std::collections::VecDeque::from([message]);
    let mut seen = Vec::new();
    while let Some(message) = waiting.pop_front() {
        for effect in update(state, message) {
            seen.push(effect.clone());
            waiting.extend(outcome(folder, state, effect));
        }
    }
    seen
}

fn outcome(folder: &Memory, state: &State, effect: Effect) -> Vec<Message> {
    let told = match effect {
        Effect::Load => {
            let book = |loaded| Arc::new(JournalView::new(loaded, state.now));
            Some(Message::Loaded(folder.load().map(book)))
        }
        Effect::Ask(job) => return answers(folder, &job),
        effect => kept(folder, effect),
    };
    told.into_iter().collect()
}

fn answers(folder: &Memory, job: &Job) -> Vec<Message> {
    let loaded = &job.book.loaded;
    let known = folder.learn(&loaded.rig, &loaded.entries, job.now, job.seed);
    let (told, generation) = (Mutex::new(Vec::new()), job.generation);
    answer(folder, Some(&known), job, &|news| {
        let message = news.map(|news| Message::Answered { generation, news });
        told.lock().unwrap().extend(message);
        Onward::GoOn
    });
    told.into_inner().unwrap()
}

/// Which questions are asked.
pub fn questions(effects: &[Effect]) -> Vec<Context> {
    let asked = effects.iter().filter_map(|effect| match effect {
        Effect::Ask(job) => Some(job.asked.screen()),
        _ => None,
    });
    asked.collect()
}
