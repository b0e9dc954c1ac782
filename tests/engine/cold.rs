//! What the forecast says of cold: a heater that cannot keep up, stocks that freeze, and stocks
//! that are gone.

use super::balances::heated;
use super::world::World;
use waystock::domain::place::TypicalWeather;
use waystock::domain::unit::UnitSystem::{self, Metric};
use waystock::forecast::answer::Forecast;
use waystock::forecast::evening::forecast;
use waystock::forecast::lives::run_variants;
use waystock::forecast::notices::WORTH_SAYING;
use waystock::forecast::notices::of_cold;
use waystock::forecast::variants::Variant;
use waystock::text::notice::said;

fn in_weather(mut world: World, low_c: f64, high_c: f64) -> Forecast {
    world.rig.home.typical = Some(TypicalWeather { low_c, high_c, cloud: 0.5 });
    world.options.lives = 400;
    forecast(&world.rig, &[], &world.beliefs, world.options)
}

/// What is said of cold first.
fn first_said(forecast: &Forecast, show: UnitSystem) -> String {
    said(&of_cold(forecast)[0], show)
}

#[test]
fn a_heater_that_cannot_keep_up_is_said() {
    // With fuel enough, so that it is only the heater that counts.
    let ahead = |output_w, low_c| {
        let full = heated(output_w).crew(2.0).certain(&[59.0, 5000.0], 1.0);
        in_weather(full, low_c, low_c + 8.0)
    };
    let (frozen, warm) = (ahead(700.0, -20.0), ahead(700.0, 12.0));
    let (weak, strong, mild) =
        (frozen.cold.unwrap(), ahead(4000.0, -20.0).cold.unwrap(), warm.cold.unwrap());
    assert_eq!((frozen.stocks[weak.stock].name.as_str(), weak.hours_ahead), ("diesel", 120));
    assert!(weak.share > 0.5 && weak.hours > 24.0, "{weak:?}");
    assert!(strong.share < 0.05 && strong.hours < 1.0, "{strong:?}");
    assert_eq!((mild.share, mild.hours), (0.0, 0.0));
    let notices = of_cold(&frozen);
    assert_eq!(notices.len(), 1);
    assert_eq!(notices[0].stock.as_deref(), Some("diesel"));
    assert!(first_said(&frozen, Metric).contains("the van stays cold"), "{notices:?}");
    assert!(of_cold(&warm).is_empty());
}

/// With 1 L above the reserve, frost outside and a heater that is strong enough, the van is warm
/// for that litre's heat and cold from then on; with plenty of fuel it never is. A heater that
/// burns 1 L gives 8.02 kWh (10 025 Wh/L at 0.8).
#[test]
fn a_heater_without_fuel_leaves_the_van_cold() {
    let frost = (-8.0, -8.0, 0.0);
    let lives = |litres: f64| heated(4000.0).certain(&[litres, 5000.0], 1.0).lives_in(frost, 8);
    let (little, plenty) = (lives(6.0), lives(55.0));
    assert!(plenty.cold_hours.iter().all(|hours| *hours == 0.0), "{:?}", plenty.cold_hours);
    for (cold, met) in little.cold_hours.iter().zip(&little.passages[0]) {
        // Every hour from the limit on wants heat.
        assert_eq!(f64::from(*cold), 120.0 - met.ceil(), "{met}");
        // UA 28 W/K by 22 to 27 K, less 125 W or so from a person, a fridge and a standing draw.
        let lasts_h = 8020.0 / (28.0 * 24.5 - 125.0);
        assert!((met / lasts_h - 1.0).abs() < 0.25, "{met} {lasts_h}");
    }
    // Nobody heats an empty van, and in summer nobody wants it.
    let mild = heated(4000.0).certain(&[5.0, 5000.0], 1.0).lives_in((19.0, 24.0, 0.5), 8);
    assert!(mild.cold_hours.iter().all(|hours| *hours == 0.0), "{:?}", mild.cold_hours);
    let away = heated(4000.0).crew(0.0).certain(&[5.0, 5000.0], 1.0).lives_in(frost, 8);
    assert!(away.cold_hours.iter().all(|hours| *hours == 0.0), "{:?}", away.cold_hours);
}

/// The note says which of the two it is.
#[test]
fn a_note_tells_want_of_fuel_from_want_of_output() {
    let ahead = |output_w: f64, litres: f64| {
        let world = heated(output_w).crew(2.0).certain(&[litres, 5000.0], 1.0);
        let ahead = in_weather(world, -26.0, -18.0);
        (ahead.cold.unwrap(), first_said(&ahead, Metric))
    };
    let (dry, said) = ahead(3000.0, 7.0);
    assert!(dry.no_fuel > 0.9 && dry.share > 0.9 && dry.hours > 48.0, "{dry:?}");
    assert!(said.starts_with("diesel may not last: in 10 of 10 futures"), "{said}");
    let (weak, said) = ahead(700.0, 59.0);
    assert!(weak.no_fuel < 0.1 && weak.share > 0.9, "{weak:?}");
    assert!(said.starts_with("the heater may not keep up"), "{said}");
}

#[test]
fn a_van_without_a_heater_is_not_judged() {
    let world = World::of(
        "stocks: [(name: \"fresh\", runs: down, unit: \"L\", capacity: 50)],\n\
         heating: (ua_w_per_k: 30),\n",
    );
    assert!(in_weather(world, -20.0, -10.0).cold.is_none());
}

fn outside(limit_c: f64) -> World {
    World::of(&format!(
        "stocks: [(name: \"fresh\", runs: down, unit: \"L\", capacity: 50),\n\
         (name: \"grey\", runs: up, unit: \"L\", capacity: 60, freezes_below_c: {limit_c})],\n"
    ))
}

/// The colder the place, the likelier and the nearer the night; a tank indoors is not spoken of.
#[test]
fn a_tank_outside_freezes_in_frost_and_not_in_summer() {
    let ahead = |low_c| in_weather(outside(-2.0), low_c, low_c + 7.0);
    assert!(ahead(14.0).frosts.is_empty());
    let forecast = ahead(-12.0);
    let hard = &forecast.frosts;
    assert_eq!(hard.len(), 1);
    assert_eq!((forecast.stocks[hard[0].stock].name.as_str(), hard[0].limit_c), ("grey", -2.0));
    assert_eq!(hard[0].morning.to_string(), "2026-02-12", "the first night is cold enough");
    assert!(hard[0].chance > 0.9, "{hard:?}");
    let near = ahead(0.0).frosts;
    assert!(near[0].chance > WORTH_SAYING && near[0].chance < 0.5, "{near:?}");
    let frost = |limit_c, show| {
        let hard = Forecast { cold: None, ..in_weather(outside(limit_c), -30.0, -22.0) };
        first_said(&hard, show)
    };
    assert!(frost(0.0, Metric).contains("below 0 C"));
    assert!(frost(-0.3, Metric).contains("below 0 C"));
    assert!(frost(-18.0, UnitSystem::Us).contains("below 0 F"));
    let words = first_said(&forecast, Metric);
    assert!(words.starts_with("grey may freeze in the night to Thursday 12 February"), "{words}");
    assert!(words.contains("below -2 C"), "{words}");
    assert!(first_said(&forecast, UnitSystem::Us).contains("below 28 F"));
}

/// A stock that a dated change takes away binds until then and no longer.
#[test]
fn a_stock_that_is_gone_no_longer_binds() {
    let rig = |change: &str| {
        World::of(&format!(
            "stocks: [(name: \"hay\", runs: down, unit: \"kg\", capacity: 20),\n\
             (name: \"straw\", runs: down, unit: \"kg\", capacity: 20)],\n\
             base: [(name: \"goat\", per: day, takes: [(stock: \"hay\", amount: 4, spread: 0)]),\n\
             (name: \"hen\", per: day, takes: [(stock: \"straw\", amount: 1, spread: 0)])],\n{change}"
        ))
        .certain(&[20.0, 20.0], 1.0)
    };
    let gone = |from: &str| {
        let change = format!("changes: [(from: \"{from}\", removed: [\"hay\", \"goat\"])],\n");
        rig(&change).lives(4)
    };
    assert_eq!(rig("").lives(4).passages[0], vec![120.0; 4]);
    // Hay lasts until the night of the 16th; it leaves before that, or after.
    assert_eq!(gone("2026-02-14").passages[0], vec![f64::INFINITY; 4]);
    assert_eq!(gone("2026-02-20").passages[0], vec![120.0; 4]);
    assert_eq!(gone("2026-02-14").passages[1], vec![480.0; 4]);
}

/// The same on tracks, which plans are made of: what is gone is never short.
#[test]
fn a_stock_that_is_gone_is_never_short_in_a_plan() {
    let short = |from: &str| {
        let world = World::of(&format!(
            "stocks: [(name: \"hay\", runs: down, unit: \"kg\", capacity: 20)],\n\
             base: [(name: \"goat\", per: day, takes: [(stock: \"hay\", amount: 4, spread: 0)])],\n\
             changes: [(from: \"{from}\", removed: [\"hay\", \"goat\"],\n\
             stocks: [(name: \"straw\", runs: down, unit: \"kg\", capacity: 9)])],\n"
        ))
        .horizon(10)
        .certain(&[20.0], 1.0);
        let (scene, track) = (world.scene(None), Variant::default());
        let lives = run_variants(&world.beliefs, &scene, 1, 2, &[track]);
        (lives[0].passages[0][0], lives[0].room[0][0])
    };
    let (passage, room) = short("2026-02-14");
    assert!(passage.is_infinite() && (room - 8.0).abs() < 1e-9, "{passage} {room}");
    let (passage, room) = short("2026-02-20");
    assert!((passage - 120.0).abs() < 1e-6 && room < -10.0, "{passage} {room}");
}
