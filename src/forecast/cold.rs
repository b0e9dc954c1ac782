//! What cold does besides burning fuel: a van that its heat cannot keep warm, and stocks that
//! stand where they freeze.

use super::answer::{Cold, Frost};
use super::lives::{COLD_HOURS, Lives};
use super::passages::sorted;
use super::practice::{FROST_HOURS, FROST_NIGHTS, WORTH_SAYING};
use super::scene::Scene;
use crate::belief::Beliefs;
use crate::belief::normal::cumulative;
use crate::physics::day_cycle::temperature_c;

/// How often, and for how long, the sources of heat leave the van cold, for want of output or of fuel;
/// `None` without any. Of several fuels the one is told that lacks in most of the cold lives.
pub(super) fn cold(beliefs: &Beliefs, scene: &Scene, lives: &Lives) -> Option<Cold> {
    let count = lives.cold_hours.len().max(1) as f64;
    let hours: f64 = lives.cold_hours.iter().map(|h| f64::from(*h)).sum();
    let some = lives.cold_hours.iter().filter(|h| **h > 0.0).count() as f64;
    let hours_ahead = COLD_HOURS.min(scene.hours.len());
    let lacking = |fuel: usize| {
        let each = lives.cold_hours.iter().zip(&lives.passages[fuel]);
        each.filter(|(cold, met)| **cold > 0.0 && **met < hours_ahead as f64).count()
    };
    // Of equals the last is taken: the order of use counts, behind what another cannot stand in for.
    let fuels = beliefs.mechanism.heat_fuels().into_iter().flatten().rev();
    let each = fuels.map(|fuel| (!scene.stood_in[fuel], lacking(fuel), fuel));
    let (_, no_fuel, stock) = each.max_by_key(|of| (of.0, of.1))?;
    Some(Cold {
        stock,
        hours_ahead,
        share: some / count,
        hours: hours / count,
        no_fuel: no_fuel as f64 / count,
    })
}

/// Per stock that says when it freezes, the first night on which that is likelier than
/// [`WORTH_SAYING`]. A day's temperature is normal around what is expected, so no lives are
/// needed.
pub(super) fn frosts(beliefs: &Beliefs, scene: &Scene) -> Vec<Frost> {
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
    let expected = sorted(half(morning - 1, 12..24).chain(half(morning, 0..12)));
    cumulative((limit_c - expected[FROST_HOURS - 1]) / scene.days[morning].temperature_sd.max(1e-3))
}
