//! What people who live in vans take for granted. Every figure here is common practice and has
//! no source; tolerances are as wide as such figures are, and argued.

use super::balances::heated;
use super::world::{World, mean, quantile};

/// A pair that showers every second day on some 120 L each of fresh and grey water comes to
/// about four days between services. Usable are 110 L; people differ by a good third in what
/// they use, so the median may lie between three and a half and five and a half days, and the
/// cautious answer (one in ten) must not lie beyond four.
#[test]
fn water_for_two_lasts_about_four_days() {
    let world = World::of(
        "stocks: [(name: \"fresh\", runs: down, unit: \"L\", capacity: 120, keep: 10),\n\
         (name: \"grey\", runs: up, unit: \"L\", capacity: 120, headroom: 5)],\n\
         activities: [(name: \"shower\", usual: 0.5, usual_spread: 0.3, per: person,\n\
         takes: [(stock: \"fresh\", amount: 8, spread: 0.4)],\n\
         gives: [(stock: \"grey\", share: 0.95, of: \"fresh\", spread: 0.03)]),\n\
         (name: \"dishes\", usual: 1.5, usual_spread: 0.3, per: van,\n\
         takes: [(stock: \"fresh\", amount: 4, spread: 0.4)],\n\
         gives: [(stock: \"grey\", share: 0.95, of: \"fresh\", spread: 0.03)])],\n\
         base: [(name: \"drinking and washing\", per: person_day,\n\
         takes: [(stock: \"fresh\", amount: 4.4, spread: 0.3)],\n\
         gives: [(stock: \"grey\", share: 0.45, of: \"fresh\", spread: 0.08)])],\n",
    )
    .crew(2.0);
    let mut world = world;
    start_at(&mut world, &[120.0, 0.0]);
    let lives = world.lives(2000);
    let days: Vec<f64> = lives.passages[0].iter().map(|hours| hours / 24.0).collect();
    let (cautious, likely) = (quantile(&days, 0.1), quantile(&days, 0.5));
    assert!((3.5..5.5).contains(&likely), "{likely}");
    assert!((2.5..4.0).contains(&cautious), "{cautious}");
}

/// A separating toilet's container of 7 to 9 L serves a pair for two to three days. Half a day
/// more is allowed at the upper end, for a pair that is out a good part of the day.
#[test]
fn a_toilet_container_serves_two_for_two_to_three_days() {
    for capacity in [7.0, 9.0] {
        let mut world = World::of(&format!(
            "stocks: [(name: \"liquids\", runs: up, unit: \"L\", capacity: {capacity})],\n\
             base: [(name: \"toilet liquids\", per: person_day,\n\
             gives: [(stock: \"liquids\", amount: 1.4, spread: 0.25)])],\n"
        ))
        .crew(2.0);
        start_at(&mut world, &[0.0]);
        let lives = world.lives(2000);
        let days = quantile(&lives.passages[0], 0.5) / 24.0;
        assert!((2.0..3.5).contains(&days), "{capacity}: {days}");
    }
}

/// 5 to 6 kWh of lithium carry an all-electric kitchen for about three days without sun:
/// two and a half to four, as people cook differently.
#[test]
fn an_electric_kitchen_empties_the_battery_in_three_days() {
    let mut world = World::of(
        "stocks: [(name: \"battery\", runs: down, unit: \"Wh\", capacity: 5500, keep: 550)],\n\
         activities: [(name: \"cooked meal\", usual: 1.5, usual_spread: 0.3, per: van,\n\
         takes: [(stock: \"battery\", amount: 350, spread: 0.4, through_inverter: true)]),\n\
         (name: \"kettle\", usual: 3, usual_spread: 0.3, per: van,\n\
         takes: [(stock: \"battery\", amount: 115, spread: 0.15, through_inverter: true)])],\n\
         base: [(name: \"lights and phones\", per: person_day,\n\
         takes: [(stock: \"battery\", amount: 50, spread: 0.4)])],\n\
         electrics: (store: \"battery\", volts: 25.6, chemistry: lithium,\n\
         inverter: (efficiency: 0.9, idle_w: 10, always_on: false),\n\
         fridge: (mean_w: 22, per_kelvin: 0.04, spread: 0.35), standing_w: 5),\n",
    )
    .crew(2.0);
    let at = [5500.0];
    start_at(&mut world, &at);
    for draw in &mut world.beliefs.electric {
        draw.level_wh = at[0];
    }
    let lives = world.lives(2000);
    let days = quantile(&lives.passages[0], 0.5) / 24.0;
    assert!((2.5..4.0).contains(&days), "{days}");
}

/// A heater that is well used in deep cold (a mean of -18 degrees Celsius and some wind) burns
/// 2.5 to 3.5 L of diesel a day, which is about 1 kW of heat on average. The van here loses
/// 55 W/K and two people and the sun warm it, so half a litre less is allowed: it comes to 2.2 L.
#[test]
fn deep_cold_costs_about_three_litres_a_day() {
    let world = heated(2400.0).crew(2.0).certain(&[55.0, 4000.0], 1.0);
    let lives = world.lives_in((-23.0, -13.0, 0.5), 64);
    let diesel = world.stock("diesel");
    let burnt = (mean(&lives.first[diesel]) - mean(&lives.third_day[diesel])) / 3.0;
    assert!((2.0..3.5).contains(&burnt), "{burnt}");
    let heat_w = burnt * 10_025.0 * 0.8 / 24.0;
    assert!((700.0..1200.0).contains(&heat_w), "{heat_w}");
    assert!(lives.cold_hours.iter().all(|hours| *hours == 0.0));
}

/// Half the heater in the same cold cannot keep up, and every life says so.
#[test]
fn a_small_heater_in_deep_cold_leaves_the_van_cold() {
    let world = heated(700.0).crew(2.0).certain(&[55.0, 4000.0], 1.0);
    let lives = world.lives_in((-23.0, -13.0, 0.5), 64);
    assert!(lives.cold_hours.iter().all(|hours| *hours > 24.0), "{:?}", lives.cold_hours);
}

/// A heater's glow and fan together draw near 200 W for some minutes at a start. The energy of
/// one start, spread over two and a half minutes, with the fan: within a third of that.
#[test]
fn a_start_of_the_heater_draws_near_200_w() {
    let world = heated(2400.0);
    let heating = world.rig.parts.heating.unwrap();
    let peak_w = heating.start_wh / (2.5 / 60.0) + heating.fan_w;
    assert!((135.0..265.0).contains(&peak_w), "{peak_w}");
}

/// A fridge of 90 to 100 L draws some 32 W on average and peaks near 80 W, which is what it
/// draws in a van so hot that its compressor never stops.
#[test]
fn a_fridge_peaks_near_80_w() {
    let peak_w = waystock::physics::fridge::mean_draw_w(32.0, 0.04, 70.0);
    assert!((70.0..90.0).contains(&peak_w), "{peak_w}");
}

/// Puts the levels where they are known to be, and leaves everything else as unsure as it is.
fn start_at(world: &mut World, levels: &[f64]) {
    let joint = &mut world.beliefs.joint;
    for (stock, level) in levels.iter().enumerate() {
        joint.reset(stock, waystock::domain::estimate::Estimate { mean: *level, sd: 0.0 });
    }
}
