//! What cold does besides burning fuel: a van that the heater cannot keep warm, and stocks that
//! stand where they freeze.

use super::answer::{Cold, Frost};
use super::lives::{COLD_HOURS, Lives};
use super::scene::Scene;
use crate::belief::Beliefs;
use crate::belief::normal::cumulative;
use crate::domain::rig::Rig;
use crate::mechanism::climate::heater_fuel;
use crate::physics::day_cycle::temperature_c;

/// Chance from which a caution is worth a line.
pub const WORTH_SAYING: f64 = 0.1;
/// Hours below a stock's freezing limit that count: a tank does not freeze in one. Common
/// practice, no source.
const FROST_HOURS: usize = 4;
/// Nights ahead that are looked at for frost: as far as an outlook usually reaches, and two more.
const FROST_NIGHTS: usize = 7;

/// How often, and for how long, the heater leaves the van cold, for want of output or of fuel;
/// `None` without a heater.
pub fn cold(beliefs: &Beliefs, lives: &Lives, horizon_hours: usize) -> Option<Cold> {
    let fuel = heater_fuel(&beliefs.mechanism)?;
    let count = lives.cold_hours.len().max(1) as f64;
    let hours: f64 = lives.cold_hours.iter().map(|h| f64::from(*h)).sum();
    let some = lives.cold_hours.iter().filter(|h| **h > 0.0).count() as f64;
    let hours_ahead = COLD_HOURS.min(horizon_hours);
    let each = lives.cold_hours.iter().zip(&lives.passages[fuel]);
    let no_fuel = each.filter(|(cold, met)| **cold > 0.0 && **met < hours_ahead as f64).count();
    Some(Cold {
        stock: fuel,
        hours_ahead,
        share: some / count,
        hours: hours / count,
        no_fuel: no_fuel as f64 / count,
    })
}

/// Per stock that says when it freezes, the first night on which that is likelier than
/// [`WORTH_SAYING`]. A day's temperature is normal around what is expected, so no lives are
/// needed.
pub fn frosts(beliefs: &Beliefs, scene: &Scene) -> Vec<Frost> {
    let nights = 1..scene.days.len().min(FROST_NIGHTS + 1);
    let first = |(stock, limit_c): (usize, f64)| {
        nights.clone().find_map(|day| {
            let (morning, chance) = (scene.days[day].date, chance_of_frost(scene, day, limit_c));
            (chance > WORTH_SAYING).then_some(Frost { stock, morning, chance, limit_c })
        })
    };
    let stocks = beliefs.mechanism.stocks().iter().enumerate();
    stocks.filter_map(|(i, s)| Some((i, s.freezes_below_c?))).filter_map(first).collect()
}

/// Chance that it is below `limit_c` for [`FROST_HOURS`] between noon and noon.
fn chance_of_frost(scene: &Scene, morning: usize, limit_c: f64) -> f64 {
    let half = |day: usize, hours: std::ops::Range<usize>| {
        let sky = scene.days[day].sky;
        hours.map(move |hour| temperature_c(hour as f64 + 0.5, sky.low_c, sky.high_c))
    };
    let mut expected: Vec<f64> = half(morning - 1, 12..24).chain(half(morning, 0..12)).collect();
    expected.sort_by(f64::total_cmp);
    cumulative((limit_c - expected[FROST_HOURS - 1]) / scene.days[morning].temperature_sd.max(1e-3))
}

/// Hours from now after which each stock is gone for good, because a dated change of kit takes
/// it away; infinite for those that stay.
pub fn leaves(rig: &Rig, beliefs: &Beliefs, now: crate::domain::time::Moment) -> Vec<f64> {
    let zone = rig.zone(now);
    let today = zone.date(now);
    let gone = |name: &String| {
        let ahead = rig.changes.iter().filter(|change| change.from > today);
        let taken = ahead.clone().filter(|change| change.removed.contains(name));
        let first = taken.map(|change| change.from).min()?;
        // Another of the same name takes its place, at once or later: the need for it goes on.
        let again = |c: &crate::domain::rig::Change| c.parts.stocks.iter().any(|s| s.name == *name);
        if ahead.filter(|change| change.from >= first).any(again) {
            return None;
        }
        // Taken out during that day: it serves until the evening before.
        let begins = zone.moment(first.and_time(chrono::NaiveTime::MIN));
        Some(crate::domain::time::hours_between(now, begins).max(0.0))
    };
    let stocks = beliefs.mechanism.stocks().iter();
    stocks.map(|stock| gone(&stock.name).unwrap_or(f64::INFINITY)).collect()
}
