//! A careful spreadsheet user: last known level, average use a day, and the spread of past days.
//!
//! For each stock the sheet has a line per known level: a reading (the middle of what its gauge
//! can mean), what a refill or a dump left, and, where its amount was written down, what was
//! there before it. Between two known levels with no service in between, use is their
//! difference. The average over all such intervals is the daily use; with fewer than three days
//! of them, the counts logged times the rig file's amounts stand in. Time to the limit is the
//! room left over the average. The spread is a plain normal: the scatter of the intervals about
//! the average, summed over the days to come, with the gauge's own step. The next stop is the
//! stock whose date comes first. It knows nothing of people aboard, sun, cold or tomorrow.

use super::score::{AT, Hours};
use super::van::{Role, Tank, Van};
use waystock::domain::entry::{After, Body, Entry, Event};
use waystock::domain::quantity::Quantity;
use waystock::domain::time::{Moment, hours_between};
use waystock::domain::unit::Unit;

/// What the sheet says.
pub struct Sheet {
    pub hours: Vec<Hours>,
    pub next: Hours,
    pub binding: Option<usize>,
}

/// A known level.
struct Known {
    at: Moment,
    level: f64,
    /// Half of the range that it can mean.
    half: f64,
    /// Whether it starts a new stretch: nothing can be learned from the level before it.
    fresh_start: bool,
}

/// Fills in the sheet from what was written down until `now`.
pub fn sheet(van: &Van, entries: &[Entry], now: Moment) -> Sheet {
    let past: Vec<&Entry> = entries.iter().filter(|e| e.recorded <= now && e.at <= now).collect();
    let hours: Vec<Hours> = van.tanks.iter().map(|tank| line(van, tank, &past, now)).collect();
    let first = (0..hours.len()).min_by(|a, b| hours[*a][3].total_cmp(&hours[*b][3]));
    let binding = first.filter(|s| hours[*s][3].is_finite());
    Sheet { next: binding.map_or([f64::INFINITY; 7], |s| hours[s]), binding, hours }
}

fn line(van: &Van, tank: &Tank, past: &[&Entry], now: Moment) -> Hours {
    let known = known_levels(tank, past);
    let Some(last) = known.last() else { return [f64::INFINITY; 7] };
    let sign = if tank.role.fills() { -1.0 } else { 1.0 };
    let (mut used, mut days, mut intervals) = (0.0, 0.0, Vec::new());
    for pair in known.windows(2).filter(|pair| !pair[1].fresh_start) {
        let drop = sign * (pair[0].level - pair[1].level);
        let lasted = hours_between(pair[0].at, pair[1].at) / 24.0;
        used += drop;
        days += lasted;
        intervals.push((drop, lasted));
    }
    let (rate, variance) = match days >= 3.0 {
        true => {
            let rate = used / days;
            let off = |(drop, lasted): &(f64, f64)| (drop - rate * lasted).powi(2);
            (rate, intervals.iter().map(off).sum::<f64>() / days)
        }
        false => {
            let rate = handbook(van, tank.role, past, now);
            (rate, (0.4 * rate).powi(2))
        }
    };
    if rate <= 1e-6 * tank.capacity {
        return [f64::INFINITY; 7];
    }
    let level = last.level - sign * rate * hours_between(last.at, now) / 24.0;
    let mean = (tank.room(level) / rate).max(0.0);
    let learned = variance / days.max(1.0);
    let level_variance = last.half * last.half / 3.0;
    let sd = (variance * mean + learned * mean * mean + level_variance).sqrt() / rate;
    AT.map(|a| ((mean + sd * normal_quantile(a)).max(0.0)) * 24.0)
        .map(|h| if h > 720.0 { f64::INFINITY } else { h })
}

fn known_levels(tank: &Tank, past: &[&Entry]) -> Vec<Known> {
    let mut known: Vec<Known> = Vec::new();
    let units = |q: &Quantity| match q.unit {
        Unit::Percent => q.amount.value() / 100.0 * tank.capacity,
        _ => q.amount.value(),
    };
    for entry in past {
        let Body::Happened(event) = &entry.body else { continue };
        let at = entry.at;
        let mut service = |before: Option<f64>, level: f64| {
            if let Some(level) = before {
                known.push(Known { at, level, half: 0.0, fresh_start: known.is_empty() });
            }
            known.push(Known { at, level, half: 0.0, fresh_start: true });
        };
        match event {
            Event::Level { stock, reading, .. } if stock == tank.role.name() => {
                let (low, high) = meaning(tank, units(reading) / tank.capacity);
                let (level, half) = ((low + high) / 2.0, (high - low) / 2.0);
                let (level, half) = (level * tank.capacity, half * tank.capacity);
                known.push(Known { at, level, half, fresh_start: known.is_empty() });
            }
            Event::Fill { stock, amount, after } if stock == tank.role.name() => {
                let level = match after {
                    Some(After::Level(level)) => units(level),
                    _ => tank.capacity,
                };
                service(amount.as_ref().map(|q| level - units(q)), level);
            }
            Event::Empty { stock, amount, after } if stock == tank.role.name() => {
                let level = after.as_ref().map_or(0.0, units);
                service(amount.as_ref().map(|q| level + units(q)), level);
            }
            // Charging in between says nothing of use: start a new stretch.
            Event::Charge { .. } | Event::Drive(_) if tank.role == Role::Battery => {
                if let Some(last) = known.last() {
                    let (level, half) = (last.level, last.half);
                    known.push(Known { at, level, half, fresh_start: true });
                    let gap = known.len() - 1;
                    known[gap].half = 0.2 * tank.capacity;
                }
            }
            _ => {}
        }
    }
    // The level after a charge is not known until it is read.
    if tank.role == Role::Battery {
        for i in 1..known.len() {
            let charged = known[i - 1].half > 0.15 * tank.capacity;
            known[i].fresh_start |= charged;
        }
    }
    known
}

fn meaning(tank: &Tank, share: f64) -> (f64, f64) {
    use super::van::Gauge;
    let around = |half: f64| ((share - half).max(0.0), (share + half).min(1.0));
    match tank.gauge {
        Gauge::Guess | Gauge::Blind => around(0.05),
        Gauge::Step(step) | Gauge::Said(step) => around(step / 2.0),
        Gauge::Lamps(marks) => {
            let low = marks.iter().rev().find(|m| **m <= share + 0.01).copied().unwrap_or(0.0);
            let high = marks.iter().find(|m| **m > share + 0.01).copied().unwrap_or(1.0);
            (low, high)
        }
    }
}

/// Use a day from what was logged and the rig file's amounts.
fn handbook(van: &Van, role: Role, past: &[&Entry], now: Moment) -> f64 {
    let says = &van.says;
    let days = past.first().map_or(1.0, |first| hours_between(first.at, now) / 24.0).max(1.0);
    let logged = |name: &str| {
        let counts = past.iter().filter_map(|entry| match &entry.body {
            Body::Happened(Event::Use { activity, count }) if activity == name => {
                Some(count.amount.value())
            }
            _ => None,
        });
        counts.sum::<f64>() / days
    };
    let people = van.people.len() as f64;
    let washing = logged("shower") * says.shower_l + logged("dishes") * says.dishes_l;
    match role {
        Role::Fresh => washing + people * says.base_l,
        Role::Grey => washing * says.washing_share[0] + people * says.base_l * says.base_grey,
        Role::Liquids => people * says.urine_l,
        Role::Solids => logged("toilet solids"),
        Role::Diesel => {
            0.08 * van.tanks.iter().find(|t| t.role == role).map_or(1.0, |t| t.capacity)
        }
        Role::Battery => {
            24.0 * (says.fridge_w + says.standing_w) + logged("cooked meal") * says.meal
        }
        Role::Food => people,
        Role::Gas => logged("cooked meal") * says.meal,
        Role::Clothes => 0.8 * people,
    }
}

/// Quantile of the standard normal by bisection on [`normal_share`].
pub fn normal_quantile(level: f64) -> f64 {
    let (mut low, mut high) = (-9.0, 9.0);
    for _ in 0..60 {
        let middle = (low + high) / 2.0;
        if normal_share(middle) < level { low = middle } else { high = middle }
    }
    (low + high) / 2.0
}

/// Share of a standard normal below `z`.
pub fn normal_share(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}
