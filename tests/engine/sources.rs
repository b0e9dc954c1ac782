//! Several sources of heat: who heats first, who stands in for whom, and that it is the heat that
//! counts, not how many give it.

use super::world::World;
use proptest::prelude::*;
use waystock::forecast::lives::Lives;
use waystock::forecast::passages::first_passages;
use waystock::forecast::why::per_day;
use waystock::text::caution;

/// Frost all day and night, nothing unsure about it, and no sun.
const FROST: (f64, f64, f64) = (-8.0, -8.0, 0.0);

/// Air-dry wood of 4,000 Wh/kg in a small stove at 0.6 that is tended by day, and 8,020 Wh of heat
/// from each litre of diesel. Nothing draws but 5 W in all.
fn van(sources: &str) -> World {
    World::of(&format!(
        "stocks: [(name: \"wood\", runs: down, unit: \"kg\", capacity: 60),\n\
         (name: \"diesel\", runs: down, unit: \"L\", capacity: 60, keep: 5),\n\
         (name: \"battery\", runs: down, unit: \"Wh\", capacity: 9000)],\n\
         electrics: (store: \"battery\", discharge_efficiency: 1, standing_w: 5),\n\
         heating: (sources: [{sources}], ua_w_per_k: 28, day_c: 19, night_c: 14,\n\
         night_from: 22, night_to: 7, person_w: 100, sun_gain_m2: 0),\n"
    ))
}

const STOVE: &str = "(name: \"stove\", burns: \"wood\", wh_per_unit: 4000, efficiency: 0.6, output_w: 400,\n\
     fan_w: 0, start_wh: 0, lit: by_day),";
const HEATER: &str = "(name: \"heater\", burns: \"diesel\", wh_per_unit: 10025, efficiency: 0.8,\n\
     output_w: 2000, fan_w: 0, start_wh: 0),";

/// Heat that three days of [`FROST`] want, in Wh: 15 hours of 19 degrees and 9 of 14 a day, through
/// 28 W/K, less 100 W from one person and 5 W from what draws.
const DAY_W: f64 = 28.0 * 27.0 - 105.0;
const NIGHT_W: f64 = 28.0 * 22.0 - 105.0;
const WANTED_WH: f64 = 3.0 * (15.0 * DAY_W + 9.0 * NIGHT_W);

/// What each of the two stocks lost in three days, in the first life.
fn burnt(lives: &Lives) -> [f64; 2] {
    [0, 1].map(|stock| lives.first[stock][0] - lives.third_day[stock][0])
}

fn counted(what: &str, got: [f64; 2], want: [f64; 2]) {
    for (got, want) in got.into_iter().zip(want) {
        assert!((got - want).abs() < 1e-4 * want.max(1.0), "{what}: {got}, counted {want}");
    }
}

/// Counted by hand. The stove gives 400 W in each of 15 hours a day, the heater the rest; the other
/// way round the heater, which is strong enough, gives all of it.
#[test]
fn the_first_source_heats_first_and_the_next_gives_the_rest() {
    let lives = |sources: &str| van(sources).certain(&[50.0, 55.0, 5000.0], 1.0).lives_in(FROST, 8);
    let stove_wh = 3.0 * 15.0 * 400.0;
    let stove_first = lives(&format!("{STOVE}{HEATER}"));
    let want = [stove_wh / 2400.0, (WANTED_WH - stove_wh) / 8020.0];
    counted("stove first", burnt(&stove_first), want);
    assert!(stove_first.cold_hours.iter().all(|hours| *hours == 0.0));
    counted("heater first", burnt(&lives(&format!("{HEATER}{STOVE}"))), [0.0, WANTED_WH / 8020.0]);
}

/// Mild all day: 14 degrees want 28 x 5 - 105 = 35 W by day and nothing by night.
const MILD: (f64, f64, f64) = (14.0, 14.0, 0.0);

/// Counted by hand: for 35 W a stove that gives 1 kW at the least burns for that in 15 hours a day, 6.25
/// kg, where one that could be turned down would burn 0.22 kg. Days differ by half of what is burnt
/// for nothing, 6.03 kg, so that three of them differ by 5.2 kg.
#[test]
fn a_stove_burns_on_where_little_is_wanted() {
    let stove = STOVE.replace("output_w: 400", "output_w: 3000, lowest_w: 1000");
    let three_days = |sources: &str| -> Vec<f64> {
        let lives = van(sources).certain(&[60.0, 55.0, 5000.0], 1.0).lives_in(MILD, 2048);
        lives.first[0].iter().zip(&lives.third_day[0]).map(|(now, then)| now - then).collect()
    };
    let burnt = three_days(&stove);
    let mean = burnt.iter().sum::<f64>() / burnt.len() as f64;
    let sd = (burnt.iter().map(|kg| (kg - mean).powi(2)).sum::<f64>() / burnt.len() as f64).sqrt();
    assert!((mean - 18.75).abs() < 0.2, "{mean}");
    assert!((sd - 5.2).abs() < 0.3, "{sd}");
    let turned_down = three_days(&stove.replace("lit: by_day", "lit: at_any_hour"));
    assert!(turned_down.iter().all(|kg| (kg - 3.0 * 15.0 * 35.0 / 2400.0).abs() < 1e-3));
}

/// Counted by hand: 6 kg above the limit (less a crumb) burn for 36 hours: two days of 15 and six
/// hours of the third; then the heater gives all.
#[test]
fn a_source_whose_fuel_is_out_gives_way_to_the_next() {
    let sources = format!("{STOVE}{HEATER}");
    let lives = van(&sources).certain(&[5.99, 55.0, 5000.0], 1.0).lives_in(FROST, 8);
    counted("out", burnt(&lives), [5.99, (WANTED_WH - 36.0 * 400.0) / 8020.0]);
    // The limit is met within the 36th of those hours: the third day's from 12 to 13.
    let met = lives.passages[0][0];
    assert!((met - 61.0).abs() < 0.1, "{met}");
    assert!(lives.cold_hours.iter().all(|hours| *hours == 0.0));
}

/// What is told of a usual day goes by the same: a third of what is counted above.
#[test]
fn what_a_day_takes_is_told_by_who_stands_in() {
    let told = |kg: f64| {
        let world = van(&format!("{STOVE}{HEATER}")).certain(&[kg, 55.0, 5000.0], 1.0);
        let per_day = per_day(&world.beliefs, &world.scene(Some(FROST)));
        [-per_day[0], -per_day[1]]
    };
    let stove_wh = 15.0 * 400.0;
    counted("wood", told(50.0), [stove_wh / 2400.0, (WANTED_WH / 3.0 - stove_wh) / 8020.0]);
    counted("no wood", told(0.0), [0.0, WANTED_WH / 3.0 / 8020.0]);
}

/// A stove alone leaves the night to blankets: 9 hours of each of five days are cold, and by day a
/// strong one keeps up.
#[test]
fn what_is_tended_by_day_leaves_the_night_cold() {
    let strong = STOVE.replace("output_w: 400", "output_w: 4000");
    let lives = van(&strong).certain(&[60.0, 55.0, 5000.0], 1.0).lives_in(FROST, 8);
    assert!(lives.cold_hours.iter().all(|hours| *hours == 45.0), "{:?}", lives.cold_hours);
}

/// Counted by hand: 50 L of diesel above the limit give all the heat for 50 x 8,020 / (15 x 651 + 9 x
/// 511) = 27.9 days, and the stove's wood, at its limit from the start, forces nothing before. Where
/// no heater comes behind it, or one that is lit by day or too weak, or where the wood serves for more,
/// it does.
#[test]
fn a_fuel_that_another_stands_in_for_forces_no_stop() {
    let forced = |world: World| {
        let world = world.certain(&[0.0, 55.0, 5000.0], 1.0);
        let lives = world.lives_in(FROST, 8);
        assert_eq!(lives.passages[0][0], 0.0, "its own date stays");
        first_passages(&lives.forcing(&world.scene(Some(FROST)))).0[0]
    };
    let of = |sources: &str| forced(van(sources));
    let days = of(&format!("{STOVE}{HEATER}")) / 24.0;
    assert!((days - 27.92).abs() < 0.15, "{days}");
    assert_eq!(of(&format!("{HEATER}{STOVE}")), 0.0, "none comes behind it");
    assert_eq!(of(STOVE), 0.0, "there is no other");
    let tended = HEATER.replace("fan_w: 0", "lit: by_day, fan_w: 0");
    assert_eq!(of(&format!("{STOVE}{tended}")), 0.0, "nobody tends the other by night");
    let weak = HEATER.replace("2000", "399");
    assert_eq!(of(&format!("{STOVE}{weak}")), 0.0, "the other gives less");
    let strong = STOVE.replace("output_w: 400", "output_w: 3000");
    let days = of(&format!("{strong}{HEATER}")) / 24.0;
    assert!((days - 27.92).abs() < 0.15, "what is wanted counts, not what the stove could: {days}");
    assert_eq!(of(&format!("{strong}{weak}")), 0.0, "the other gives less than is wanted");
    let cooks = World::of(
        "stocks: [(name: \"wood\", runs: down, unit: \"kg\", capacity: 60),\n\
         (name: \"diesel\", runs: down, unit: \"L\", capacity: 60, keep: 5),\n\
         (name: \"battery\", runs: down, unit: \"Wh\", capacity: 9000)],\n\
         electrics: (store: \"battery\", discharge_efficiency: 1, standing_w: 5),\n\
         base: [(name: \"kettle\", per: day, takes: [(stock: \"wood\", amount: 0.1)])],\n\
         heating: (sources: [(name: \"stove\", burns: \"wood\", wh_per_unit: 4000, output_w: 400),\n\
         (name: \"heater\", burns: \"diesel\", wh_per_unit: 10025)]),\n",
    );
    assert_eq!(forced(cooks), 0.0, "the kettle wants wood");
}

/// Every stock that burns has its caution, whatever comes first; a battery that heats has its own.
#[test]
fn each_fuel_has_its_caution() {
    let electric = "(name: \"panel\", burns: \"battery\", wh_per_unit: 1, output_w: 200),";
    let parts = van(&format!("{STOVE}{HEATER}{electric}")).rig.parts;
    let about = |stock: &str| caution::for_stock(&parts, stock).unwrap().about;
    assert_eq!(
        ["wood", "diesel", "battery"].map(about),
        ["Burning fuel", "Burning fuel", "Batteries"]
    );
    assert!(caution::for_stock(&van(HEATER).rig.parts, "wood").is_none());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Two sources of half the power in place of one burn the same, hour by hour: what is split is
    /// who gives the heat. Without fans, of which only those turn that are needed.
    #[test]
    fn half_and_half_is_one(
        output_w in 200.0..3000.0_f64, low_c in -25.0..5.0_f64, swing in 0.0..12.0_f64,
        litres in 8.0..40.0_f64,
    ) {
        let source = |name: &str, output_w: f64| {
            HEATER.replace("\"heater\"", &format!("\"{name}\""))
                .replace("2000", &output_w.to_string())
        };
        let lives = |sources: String| {
            van(&sources).certain(&[50.0, litres, 5000.0], 1.0)
                .lives_in((low_c, low_c + swing, 0.3), 4)
        };
        let one = lives(source("one", output_w));
        let two = lives(source("one", 0.5 * output_w) + &source("other", 0.5 * output_w));
        for stock in 0..3 {
            for life in 0..4 {
                let of = |lives: &Lives| (lives.third_day[stock][life], lives.passages[stock][life]);
                let ((level, met), (split, split_met)) = (of(&one), of(&two));
                prop_assert!((level - split).abs() < 1e-4 * level.max(1.0), "{level} {split}");
                let same = met == split_met || (met - split_met).abs() < 0.01;
                prop_assert!(same, "{stock}: {met} {split_met}");
            }
        }
    }
}
