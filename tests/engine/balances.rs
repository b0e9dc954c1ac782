//! What leaves one stock arrives in another, or is accounted for.

use super::world::World;
use proptest::prelude::*;
use waystock::belief::manner::Manner;
use waystock::domain::heating::Heating;
use waystock::forecast::answer::Options;
use waystock::forecast::evening::forecast;
use waystock::forecast::why::held;
use waystock::mechanism::climate::{ClimateValues, FuelsOut, Kit, LightHour, Surroundings};

fn water(amount: f64, spread: f64, share: f64, base: f64, usual: f64) -> World {
    World::of(&format!(
        "stocks: [(name: \"fresh\", runs: down, unit: \"L\", capacity: 400),\n\
         (name: \"grey\", runs: up, unit: \"L\", capacity: 400)],\n\
         activities: [(name: \"shower\", usual: {usual}, usual_spread: 0.4, per: person,\n\
         takes: [(stock: \"fresh\", amount: {amount}, spread: {spread})],\n\
         gives: [(stock: \"grey\", share: {share}, of: \"fresh\", spread: 0)])],\n\
         base: [(name: \"washing\", per: person_day,\n\
         takes: [(stock: \"fresh\", amount: {base}, spread: {spread})],\n\
         gives: [(stock: \"grey\", share: {share}, of: \"fresh\", spread: 0)])],\n"
    ))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// In every life the grey tank gains its share of what the fresh tank lost.
    #[test]
    fn water_that_is_used_arrives(
        amount in 2.0..15.0_f64, spread in 0.0..0.5_f64, share in 0.2..1.0_f64,
        base in 0.0..6.0_f64, usual in 0.1..2.0_f64, people in 1u8..4,
    ) {
        let mut world = water(amount, spread, share, base.max(0.1), usual).crew(people.into());
        let count = world.beliefs.mechanism.stocks().len();
        let coefficients = (0..world.beliefs.mechanism.coefficients.len())
            .map(|i| world.beliefs.joint.estimate(count + i));
        let exact = |mean| waystock::domain::estimate::Estimate { mean, sd: 0.0 };
        let levels = [exact(390.0), exact(5.0)].into_iter();
        let all: Vec<_> = levels.chain(coefficients).chain(Manner::PRIOR.estimates()).collect();
        world.beliefs.joint = waystock::belief::joint::Joint::independent(&all);
        let lives = world.horizon(3).lives(64);
        let mut moved = false;
        for life in 0..64 {
            let lost = lives.first[0][life] - lives.third_day[0][life];
            let gained = lives.third_day[1][life] - lives.first[1][life];
            // Full and empty tanks clamp.
            if lives.third_day[0][life] > 0.0 && lives.third_day[1][life] < 400.0 {
                moved |= lost > 0.1;
                prop_assert!((gained - share * lost).abs() < 1e-6, "{gained} {}", share * lost);
            }
        }
        prop_assert!(moved);
    }

    /// The heater's fuel, people, sun and appliances give exactly the heat that the van loses, until
    /// windows are opened: then no fuel is burnt, and it is as warm as people put up with.
    #[test]
    fn heat_in_is_heat_out(
        outside_c in -30.0..30.0_f64, clearness in 0.0..1.1_f64, people in 1u8..5,
        loss in 10.0..60.0_f64, hour in 0usize..24, clear_w_m2 in 0.0..900.0_f64,
    ) {
        let world = heated(2400.0);
        let kit: Kit<f64> = Kit::of(&world.beliefs.mechanism);
        let values = ClimateValues {
            panel_factor: 0.0, fridge_w: 20.0, standing_w: 5.0, loss_w_per_k: loss,
            heater_draw: 1.0,
            tending: 1.0,
        };
        let mut sun = LightHour::default();
        sun.clear_w_m2 = clear_w_m2;
        let people = f64::from(people);
        let (flows, burnt) = kit.alone(&kit.shared(Surroundings { hour, aboard: people, outside_c, out: FuelsOut::default() }, &sun), clearness, &values);
        let Heating { sources, person_w, sun_gain_m2, .. } =
            world.rig.parts.heating.clone().unwrap();
        let heat_w = burnt[0] * sources[0].wh_per_unit * sources[0].efficiency;
        let gains_w = people * person_w + sun_gain_m2 * clear_w_m2 * clearness + 25.0;
        let lost_w = loss * (flows.inside_c - outside_c);
        let wanted_c = world.rig.parts.heating.as_ref().unwrap().wanted_c(hour);
        // People like it no warmer than 24 degrees, or 2 above what they want, or 4 above outside.
        let aired_c = (wanted_c + 2.0).max(24.0).max(outside_c + 4.0);
        if outside_c + gains_w / loss > aired_c {
            prop_assert!(heat_w == 0.0 && (flows.inside_c - aired_c).abs() < 1e-9);
            prop_assert!(lost_w < gains_w);
            return Ok(());
        }
        prop_assert!((heat_w + gains_w - lost_w).abs() < 1e-6, "{heat_w} + {gains_w} = {lost_w}");
    }

    /// A battery's fall is what its loads took, when neither clamp is met.
    #[test]
    fn energy_that_is_used_is_gone(load in 50.0..400.0_f64, efficiency in 0.8..1.0_f64) {
        let world = World::of(&format!(
            "stocks: [(name: \"battery\", runs: down, unit: \"Wh\", capacity: 9000)],\n\
             base: [(name: \"router\", per: day,\n\
             takes: [(stock: \"battery\", amount: {load}, spread: 0.2)])],\n\
             electrics: (store: \"battery\", volts: 12.8, chemistry: lithium,\n\
             discharge_efficiency: {efficiency}, standing_w: 7, standing_spread: 0.3),\n"
        ))
        .certain(&[5000.0], 1.0);
        let lives = world.lives(4);
        let want = 3.0 * (load + 7.0 * 24.0) / efficiency;
        let lost = lives.first[0][0] - lives.third_day[0][0];
        // Single precision over 72 steps of some 5,000 Wh.
        prop_assert!((lost - want).abs() < 0.05, "{lost} {want}");
    }
}

pub fn heated(output_w: f64) -> World {
    World::of(&format!(
        "stocks: [(name: \"diesel\", runs: down, unit: \"L\", capacity: 60, keep: 5),\n\
         (name: \"battery\", runs: down, unit: \"Wh\", capacity: 5000, keep: 500)],\n\
         electrics: (store: \"battery\", volts: 12.8, chemistry: lithium,\n\
         fridge: (mean_w: 20, per_kelvin: 0.04, spread: 0.3), standing_w: 5),\n\
         heating: (burns: \"diesel\", wh_per_unit: 10025, efficiency: 0.8,\n\
         output_w: {output_w}, lowest_w: 600, fan_w: 30, start_wh: 6, ua_w_per_k: 28,\n\
         ua_spread: 0.3, day_c: 19, night_c: 14, night_from: 22, night_to: 7, person_w: 100,\n\
         sun_gain_m2: 0.4),\n"
    ))
}

/// What a day ahead holds is what is usual in a day, whatever hours that falls into.
#[test]
fn a_day_ahead_holds_a_usual_day() {
    let world = water(7.0, 0.1, 0.9, 3.0, 1.5).crew(3.0);
    let scene = world.scene(None);
    let shares = &scene.shares[0];
    assert!(shares.contains(&0.0) && shares.iter().any(|share| *share > 0.0), "{shares:?}");
    let held = held(&world.beliefs, &scene, 0..48);
    let day = world.beliefs.habits[0].daily_amount(3.0);
    let got = held.exposure.activities[0];
    assert!((got / (2.0 * day) - 1.0).abs() < 1e-9, "{got} of {day} a day");
}

/// A level that is no number is said to be unknown, whether its middle is none or its spread.
#[test]
fn a_level_that_is_no_number_is_named() {
    let world = water(7.0, 0.1, 0.9, 3.0, 1.5).horizon(2);
    let options = Options { lives: 100, ..world.options };
    let sound = forecast(&world.rig, &[], &world.beliefs, options);
    assert_eq!(sound.unknown(), None);
    for (mean, sd) in [(f64::NAN, 1.0), (10.0, f64::NAN), (10.0, f64::INFINITY)] {
        let mut broken = sound.clone();
        (broken.stocks[1].level.mean, broken.stocks[1].level.sd) = (mean, sd);
        assert_eq!(broken.unknown(), Some("grey"), "{mean} {sd}");
    }
}
