//! The hours of the past move stocks by what they hold: in the Gaussian replay, which sums them
//! and moves a distribution, and in the ensemble, whose members live through each of them.

#[path = "fixtures/told.rs"]
mod told;

use chrono::{Duration, TimeZone};
use told::standing;
use waystock::belief::{Beliefs, learn};
use waystock::domain::entry::{After, Event};
use waystock::domain::outlook::DayWeather;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::store::rig_file;

/// Nothing about it is uncertain, no light falls on it, and the heater never cycles.
const RIG: &str = r#"(
    format: 1, van: "Plover", crew: 2,
    home: (place: "Sluice meadow", latitude: 47.0, longitude: 5.0, zone: "Etc/GMT-1"),
    stocks: [(name: "fresh", runs: down, unit: "L", capacity: 400),
             (name: "grey", runs: up, unit: "L", capacity: 300),
             (name: "diesel", runs: down, unit: "L", capacity: 60),
             (name: "battery", runs: down, unit: "Wh", capacity: 6000)],
    activities: [(name: "wash", usual: 0.5, per: person,
                  takes: [(stock: "fresh", amount: 8, spread: 0),
                          (stock: "battery", amount: 80, spread: 0)],
                  gives: [(stock: "grey", share: 0.75, of: "fresh", spread: 0)])],
    base: [(name: "the van", per: day, takes: [(stock: "fresh", amount: 1.5, spread: 0),
                                               (stock: "battery", amount: 120, spread: 0)]),
           (name: "people", per: person_day, takes: [(stock: "fresh", amount: 2, spread: 0),
                                                     (stock: "battery", amount: 60, spread: 0)]),
           (name: "the engine", per: drive_hour, takes: [(stock: "fresh", amount: 0.5, spread: 0)],
            gives: [(stock: "battery", amount: 100, spread: 0)]),
           (name: "the road", per: drive_km, takes: [(stock: "fresh", amount: 0.02, spread: 0),
                                                     (stock: "battery", amount: 2, spread: 0)])],
    electrics: (store: "battery", volts: 12.8, chemistry: lithium,
                charge_efficiency: 1, discharge_efficiency: 1, standing_w: 0),
    heating: (burns: "diesel", wh_per_unit: 10000, efficiency: 0.8, output_w: 2000, lowest_w: 0,
              fan_w: 0, start_wh: 0, ua_w_per_k: 20, ua_spread: 0, day_c: 20, night_c: 20,
              night_from: 22, night_to: 7, person_w: 30, sun_gain_m2: 0),
)"#;

fn at(day: i64, hour: u32) -> Moment {
    let zone = chrono::FixedOffset::east_opt(3600).expect("an hour");
    zone.with_ymd_and_hms(2026, 2, 1, hour, 0, 0).single().expect("a time") + Duration::days(day)
}

fn some(count: i64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_milli(1000 * count).expect("in range"), unit)
}

/// Six days and half an hour of the seventh night, all of them told: everything full (grey empty)
/// at their start, three washes, two hours of driving, then 50 km, and 5 degrees outside all along.
fn learned(rig: &str) -> Beliefs {
    learned_also(rig, Vec::new())
}

/// The same with more told.
fn learned_also(rig: &str, more: Vec<(Moment, Event)>) -> Beliefs {
    let rig = rig_file::parse(rig, std::path::Path::new("rig.ron")).expect("the rig is sound");
    let full =
        |stock: &str| Event::Fill { stock: stock.into(), amount: None, after: Some(After::Full) };
    let mut told: Vec<(Moment, Event)> =
        ["fresh", "diesel", "battery"].map(|stock| (at(0, 0), full(stock))).into_iter().collect();
    told.push((at(0, 0), Event::Empty { stock: "grey".into(), amount: None, after: None }));
    for day in 0..7 {
        let date = at(day, 0).date_naive();
        let (low_c, high_c, sun_kwh_m2, cloud) = (Some(5.0), Some(5.0), None, None);
        let issued = at(0, 0);
        let row = DayWeather { issued, date, low_c, high_c, sun_kwh_m2, cloud, place: None };
        told.push((issued, Event::Outlook(row)));
    }
    for day in 0..6 {
        let wash = || Event::Use { activity: "wash".into(), count: some(1, Unit::Time) };
        match day {
            0 | 1 | 4 => told.push((at(day, 19), wash())),
            2 => told.push((at(day, 12), Event::Drive(some(2, Unit::Hour)))),
            3 => told.push((at(day, 12), Event::Drive(some(50, Unit::Kilometre)))),
            _ => {}
        }
        told.push((at(day, 23), Event::DayClosed));
    }
    told.extend(more);
    told.sort_by_key(|(at, _)| *at);
    learn(&rig, &standing(told), at(6, 0) + Duration::minutes(30), 1)
}

/// Half an hour after midnight, as a share of a day's base use: of the van's, which is even, and of
/// people's, who drink and wash a quarter as much in each of the eight hours of the night
/// (`mechanism::driver::person_hour_share`).
const NIGHT: (f64, f64) = (0.5 / 24.0, 0.5 * 0.25 / 18.0);

/// Counted by hand: what a full tank (six thousandths short of its brim) has lost. Where either half
/// of the replay, the sum over hours or what the sums move, forgets a term, a level is off.
#[test]
fn the_replay_moves_levels_by_what_the_hours_hold() {
    let joint = learned(RIG).joint;
    let (days, person_days) = (6.0 + NIGHT.0, 2.0 * (6.0 + NIGHT.1));
    let fresh = days * 1.5 + person_days * 2.0 + 3.0 * 8.0 + 2.0 * 0.5 + 50.0 * 0.02;
    // 20 W/K times 15 K, less 30 W from each of two; of 10,000 Wh a litre eight tenths arrive.
    let diesel = days * 24.0 * (20.0 * 15.0 - 60.0) / (10_000.0 * 0.8);
    let battery = days * 120.0 + person_days * 60.0 + 3.0 * 80.0 + 50.0 * 2.0 - 2.0 * 100.0;
    let want =
        [0.994 * 400.0 - fresh, 3.0 * 8.0 * 0.75, 0.994 * 60.0 - diesel, 0.994 * 6000.0 - battery];
    for (stock, want) in want.into_iter().enumerate() {
        let mean = joint.mean(stock);
        assert!((mean / want - 1.0).abs() < 1e-9, "stock {stock}: {mean}, counted {want}");
    }
}

/// The same battery, member by member. Each has days and uses of its own, so their mean lies within
/// four standard errors of the count; the least of the terms is twice as large.
#[test]
fn the_ensemble_lives_through_the_same_hours() {
    let beliefs = learned(RIG);
    let (days, person_days) = (6.0 + NIGHT.0, 2.0 * (6.0 + NIGHT.1));
    let taken = days * 120.0 + person_days * 60.0 + 3.0 * 80.0 + 50.0 * 2.0 - 2.0 * 100.0;
    let level = beliefs.level(beliefs.mechanism.electric.expect("a battery"));
    let error = level.sd / (beliefs.electric.len() as f64).sqrt();
    assert!(8.0 * error < 100.0, "{level:?}: too unsure to miss the 50 km");
    assert!((level.mean - (6000.0 - taken)).abs() < 4.0 * error, "{level:?}: {}", 6000.0 - taken);
}

/// What goes on in the first hour of a day has gone on for half of it: 900 Wh a day for six days and
/// half an hour, beside what [`the_ensemble_lives_through_the_same_hours`] counts. A last hour that
/// counted for a whole one, or for none, would be off by 450 Wh, a hundred times what it may be.
#[test]
fn the_hour_that_has_only_begun_counts_for_its_part() {
    let rig = RIG.replace("capacity: 6000)", "capacity: 9000)").replace(
        r#"(name: "people""#,
        r#"(name: "frost guard", per: day, hours: [(0, 1)],
            takes: [(stock: "battery", amount: 900, spread: 0)]), (name: "people""#,
    );
    let beliefs = learned(&rig);
    let (days, person_days) = (6.0 + NIGHT.0, 2.0 * (6.0 + NIGHT.1));
    let taken = days * 120.0 + person_days * 60.0 + 3.0 * 80.0 + 50.0 * 2.0 - 2.0 * 100.0;
    let want = 9000.0 - taken - 6.5 * 900.0;
    let battery = beliefs.mechanism.electric.expect("a battery");
    let level = beliefs.level(battery);
    let error = level.sd / (beliefs.electric.len() as f64).sqrt();
    assert!(4.0 * error < 225.0 && (level.mean - want).abs() < 4.0 * error, "{level:?}: {want}");
    // The other half of the replay says the same, from a store that was six thousandths short.
    let summed = beliefs.joint.mean(battery);
    assert!((summed - (want - 0.006 * 9000.0)).abs() < 1e-6, "{summed}: {want}");
}

/// `wash, fresh 60%`: whoever reads a gauge when they write reads what is left, on the hour too, in
/// the first line of a journal and at midnight. A wash that fell behind it would take 8 L again; ten
/// minutes of base use take some 0.05 L.
#[test]
fn what_was_used_before_a_reading_is_not_used_again_after_it() {
    let rig = rig_file::parse(RIG, std::path::Path::new("rig.ron")).expect("the rig is sound");
    let wash = || Event::Use { activity: "wash".into(), count: some(2, Unit::Time) };
    let read = |litres| Event::Level {
        stock: "fresh".into(),
        reading: some(litres, Unit::Litre),
        step: None,
    };
    let first = [(at(0, 21), wash()), (at(0, 21), read(240))];
    let midnight = [(at(0, 12), read(260)), (at(1, 0), wash()), (at(1, 0), read(240))];
    for told in [first.to_vec(), midnight.to_vec()] {
        let now = told[told.len() - 1].0 + Duration::minutes(10);
        let fresh = learn(&rig, &standing(told), now, 1).joint.mean(0);
        assert!((fresh - 240.0).abs() < 2.0, "{fresh} at {now}");
    }
}

/// Heat from the battery leaves it in the past as it will ahead: 20 W/K times 15 K, less 30 W from
/// each of two, for six days and half an hour.
#[test]
fn a_heater_that_burns_the_battery_draws_it_down() {
    let rig = RIG.replace("capacity: 6000)", "capacity: 60000)").replace(
        r#"burns: "diesel", wh_per_unit: 10000, efficiency: 0.8"#,
        r#"burns: "battery", wh_per_unit: 1, efficiency: 1"#,
    );
    let warmed = learned(&rig);
    let cold = learned(&rig.replace("ua_w_per_k: 20", "ua_w_per_k: 0.5"));
    let level = |of: &Beliefs| of.level(of.mechanism.electric.expect("a battery"));
    let heat = (20.0 * 15.0 - 60.0) * 24.0 * (6.0 + NIGHT.0);
    let (warm, cold) = (level(&warmed), level(&cold));
    // 0.5 W/K need nothing beside two people.
    assert!((cold.mean - warm.mean - heat).abs() < 0.01 * heat, "{cold:?} {warm:?}: {heat}");
}

const STOVE_AND_HEATER: &str = r#"heating: (sources: [
        (name: "stove", burns: "wood", wh_per_unit: 4000, efficiency: 0.5, output_w: 100,
         fan_w: 0, start_wh: 0, lit: by_day),
        (name: "heater", burns: "diesel", wh_per_unit: 10000, efficiency: 0.8, fan_w: 0,
         start_wh: 0)], ua_w_per_k: 20, ua_spread: 0, day_c: 20, night_c: 20, night_from: 22,
         night_to: 7, person_w: 30, sun_gain_m2: 0),"#;
const WOOD: &str = r#"(name: "wood", runs: down, unit: "kg", capacity: 20)"#;

/// Fails unless so much of wood and of diesel was burnt of a full store, in Wh of heat from them.
fn burnt(rig: &str, more: Vec<(Moment, Event)>, want_wh: [Option<f64>; 2]) {
    let beliefs = learned_also(rig, more);
    for ((name, per_unit), want) in [("wood", 2000.0), ("diesel", 8000.0)].into_iter().zip(want_wh)
    {
        let (stock, known) = beliefs.mechanism.parts.stock(name).expect("a stock");
        let Some(want) = want.map(|wh| 0.994 * known.capacity - wh / per_unit) else { continue };
        let got = beliefs.joint.mean(stock);
        assert!((got / want - 1.0).abs() < 1e-6, "{name}: {got}, counted {want}");
    }
}

fn wood(day: i64, hour: u32, is: Option<Quantity>) -> (Moment, Event) {
    let stock = || "wood".to_string();
    let event = match is {
        Some(reading) => Event::Level { stock: stock(), reading, step: None },
        None => Event::Fill { stock: stock(), amount: None, after: Some(After::Full) },
    };
    (at(day, hour), event)
}

/// What [`the_replay_moves_levels_by_what_the_hours_hold`] counts, in Wh.
const ALL_WH: f64 = (6.0 * 24.0 + 0.5) * 240.0;

/// A stove of 100 W that is tended from 7 to 22 gives 2,000 Wh of heat from a kilogram, the heater the
/// rest of 240 W. Once the wood is told to be out, at noon of the fourth day, the heater gives all.
#[test]
fn each_fuel_is_burnt_in_the_order_of_use_until_it_is_out() {
    let (before, heating) = RIG.split_once("heating:").expect("it heats");
    let rest = heating.split_once("sun_gain_m2: 0),").expect("the last of heating").1;
    let stocks = format!(r#"{WOOD}, (name: "diesel""#);
    let rig = before.replace(r#"(name: "diesel""#, &stocks) + STOVE_AND_HEATER + rest;
    let stove_wh = 6.0 * 15.0 * 100.0;
    burnt(&rig, vec![wood(0, 0, None)], [Some(stove_wh), Some(ALL_WH - stove_wh)]);
    let stove_wh = (3.0 * 15.0 + 5.0) * 100.0;
    let told = vec![wood(0, 0, None), wood(3, 12, Some(some(0, Unit::Kilogram)))];
    burnt(&rig, told, [None, Some(ALL_WH - stove_wh)]);
}

/// The rig with a stove from the fourth day on; the heater's fan draws so much in W.
fn with_a_stove_later(fan_w: u32) -> String {
    let fan = |text: &str| text.replace("fan_w: 0", &format!("fan_w: {fan_w}, draw_spread: 0"));
    let heating = STOVE_AND_HEATER.split_once("lit: by_day").expect("the stove comes first");
    let heating = heating.0.to_string() + "lit: by_day" + &fan(heating.1);
    let change = format!("changes: [(from: \"2026-02-04\", stocks: [{WOOD}], {heating})],\n)");
    fan(RIG.strip_suffix(')').expect("the end")) + &change
}

/// A stove that was fitted on the fourth day burned nothing before.
#[test]
fn a_source_that_joins_heats_from_its_day_on() {
    let stove_wh = 3.0 * 15.0 * 100.0;
    let told = vec![wood(3, 0, None)];
    burnt(&with_a_stove_later(0), told, [Some(stove_wh), Some(ALL_WH - stove_wh)]);
}

/// Nor did it put the heater out: its fan, of 100 W at 2,000 W, draws a twentieth of what it gives,
/// before the stove and beside it. Within four standard errors, as in [`the_ensemble_lives_through_the_same_hours`].
#[test]
fn a_fan_turns_before_a_stove_and_beside_it() {
    let beliefs = learned_also(&with_a_stove_later(100), vec![wood(3, 0, None)]);
    let (days, person_days) = (6.0 + NIGHT.0, 2.0 * (6.0 + NIGHT.1));
    let fan_wh = 0.05 * (ALL_WH - 3.0 * 15.0 * 100.0);
    let taken = days * 120.0 + fan_wh + person_days * 60.0 + 3.0 * 80.0 + 50.0 * 2.0 - 2.0 * 100.0;
    let level = beliefs.level(beliefs.mechanism.electric.expect("a battery"));
    let error = level.sd / (beliefs.electric.len() as f64).sqrt();
    assert!(8.0 * error < 100.0, "{level:?}: too unsure to miss half a day's fan");
    assert!((level.mean - (6000.0 - taken)).abs() < 4.0 * error, "{level:?}: {}", 6000.0 - taken);
}
