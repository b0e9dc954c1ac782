//! Amounts that are gone: what was used in all on a day teaches rates and levels, what was spilled or
//! given away takes from the level and teaches no rate.

#[path = "fixtures/told.rs"]
mod told;

use chrono::{Duration, TimeZone};
use told::standing;
use waystock::belief::{Beliefs, learn};
use waystock::domain::entry::{After, Event};
use waystock::domain::outlook::DayWeather;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::store::rig_file;

/// Three people of whom each is thought to use 10 L a day, give or take half of that.
const RIG: &str = r#"(
    format: 1, van: "Teal", crew: 3,
    home: (place: "Sluice meadow", latitude: 47.0, longitude: 5.0, zone: "Etc/GMT-1"),
    stocks: [(name: "fresh", runs: down, unit: "L", capacity: 200)],
    base: [(name: "washing", per: person_day, takes: [(stock: "fresh", amount: 10, spread: 0.5)])],
)"#;

/// One person and a stove.
const STOVE: &str = r#"(
    format: 1, van: "Teal", crew: 1,
    home: (place: "Sluice meadow", latitude: 47.0, longitude: 5.0, zone: "Etc/GMT-1"),
    stocks: [(name: "wood", runs: down, unit: "kg", capacity: 400)],
    heating: (sources: [(name: "stove", burns: "wood", wh_per_unit: 4000, efficiency: 0.6,
              output_w: 3000, lowest_w: 1000, fan_w: 0, start_wh: 0, lit: by_day)],
              ua_w_per_k: 28, day_c: 19, night_c: 14, night_from: 22, night_to: 7,
              person_w: 100, sun_gain_m2: 0),
)"#;

/// A day of 14 degrees throughout, without sun.
fn mild(day: i64) -> Event {
    Event::Outlook(DayWeather {
        issued: at(day, 0),
        date: at(day, 12).date_naive(),
        low_c: Some(14.0),
        high_c: Some(14.0),
        sun_kwh_m2: Some(0.0),
        cloud: None,
        place: None,
    })
}

fn filled_with(stock: &str) -> (Moment, Event) {
    let full = Some(After::Full);
    (at(0, 0), Event::Fill { stock: stock.into(), amount: None, after: full })
}

fn rig() -> Rig {
    rig_file::parse(RIG, std::path::Path::new("rig.ron")).expect("the rig is sound")
}

fn at(day: i64, hour: u32) -> Moment {
    let zone = chrono::FixedOffset::east_opt(3600).expect("an hour");
    zone.with_ymd_and_hms(2026, 6, 1, hour, 0, 0).single().expect("a time") + Duration::days(day)
}

fn litres(count: f64) -> Quantity {
    Quantity::new(Amount::from_f64(count).expect("in range"), Unit::Litre)
}

fn spent(count: f64) -> Event {
    Event::Spent { stock: "fresh".into(), amount: litres(count) }
}

fn lost(count: f64) -> Event {
    Event::Empty { stock: "fresh".into(), amount: Some(litres(count)), after: None }
}

fn filled() -> Event {
    filled_with("fresh").1
}

/// What is believed at the end of a day of these things.
fn believed(told: Vec<(Moment, Event)>, day: i64) -> Beliefs {
    learn(&rig(), &standing(told), at(day + 1, 0), 1)
}

/// Litres that each person is thought to use in a day.
fn rate(beliefs: &Beliefs) -> (f64, f64) {
    let known = beliefs.coefficient(0);
    (known.mean, known.sd)
}

/// Twenty days of a filled tank, of which 45 L are told each midnight: 15 for each. Nothing was ever
/// read, and fills at noon, in the middle of what is told, change nothing of it.
#[test]
fn what_was_used_in_all_teaches_the_rate() {
    let days = |fills: bool| {
        let mut told = vec![(at(0, 0), filled())];
        for day in 0..20 {
            told.extend((fills && day % 3 == 0).then(|| (at(day, 12), filled())));
            told.push((at(day, 23) + Duration::minutes(59), spent(45.0)));
            told.extend((day % 3 == 2).then(|| (at(day + 1, 0), filled())));
        }
        rate(&believed(told, 19))
    };
    for (mean, sd) in [days(false), days(true)] {
        assert!((mean - 15.0).abs() < 0.4, "{mean}");
        assert!(sd < 0.8, "{sd}");
    }
}

/// One day, by the rule for two normal laws (hand count): from midnight to nine in the evening the rig
/// expects 10 L of each as likely as not, that is N(m, 30 s) of all three with some day-to-day spread;
/// 45 L are told give or take a tenth. The level is what was filled less about as much as was told, and
/// level and rate are learned by the same share of what was not expected.
#[test]
fn one_day_moves_level_and_rate_alike() {
    let none = believed(vec![(at(0, 0), filled())], 0);
    let told =
        believed(vec![(at(0, 0), filled()), (at(0, 23) + Duration::minutes(59), spent(45.0))], 0);
    let (before, after) = (none.level(0), told.level(0));
    let used = |level: f64| 198.8 - level;
    assert!((used(before.mean) - 34.0).abs() < 1.5, "{before:?}");
    assert!((used(after.mean) - 44.0).abs() < 2.0, "{after:?}");
    assert!(after.sd < 0.45 * before.sd, "{after:?} {before:?}");
    let ((prior, wide), (mean, sd)) = (rate(&none), rate(&told));
    let shares = [
        (mean - prior) / (45.0 / 3.0 - prior),
        (before.mean - after.mean) / (45.0 - used(before.mean)),
    ];
    assert!((shares[0] - shares[1]).abs() < 0.2 && shares[0] > 0.6, "{shares:?}");
    assert!(sd < 0.6 * wide, "{sd} {wide}");
}

/// Told twice on one day, each amount is of its own part of it.
#[test]
fn a_second_amount_is_of_the_rest_of_the_day() {
    let mut twice = vec![(at(0, 0), filled())];
    let mut once = twice.clone();
    for day in 0..9 {
        twice.push((at(day, 14), spent(20.0)));
        twice.push((at(day, 23) + Duration::minutes(59), spent(25.0)));
        once.push((at(day, 23) + Duration::minutes(59), spent(45.0)));
        if day % 3 == 2 {
            twice.push((at(day + 1, 0), filled()));
            once.push((at(day + 1, 0), filled()));
        }
    }
    let (twice, once) = (rate(&believed(twice, 8)), rate(&believed(once, 8)));
    assert!((twice.0 - once.0).abs() < 0.5, "{twice:?} {once:?}");
}

/// A spill takes what it took, and nobody is thought to use more for it.
#[test]
fn what_was_spilled_teaches_no_rate() {
    let days = |spill: Option<f64>| {
        let mut told = vec![(at(0, 0), filled())];
        told.extend(spill.map(|amount| (at(0, 15), lost(amount))));
        believed(told, 0)
    };
    let (none, spilled) = (days(None), days(Some(40.0)));
    let gone = none.level(0).mean - spilled.level(0).mean;
    assert!((gone - 40.0).abs() < 2.0, "{gone}");
    let ((usual, _), (rate, _)) = (rate(&none), rate(&spilled));
    assert!((rate - usual).abs() < 0.02 * usual, "{rate} {usual}");
    assert!(spilled.outliers.is_empty());
}

/// All let out is nothing left, whatever was there, and no sign that more was used.
#[test]
fn a_tank_let_out_is_empty() {
    let all = Event::Empty { stock: "fresh".into(), amount: None, after: None };
    let beliefs = believed(vec![(at(0, 0), filled()), (at(0, 23) + Duration::minutes(59), all)], 0);
    assert!(beliefs.level(0).mean < 4.0, "{:?}", beliefs.level(0));
    let ((mean, _), (usual, _)) = (rate(&beliefs), rate(&believed(vec![(at(0, 0), filled())], 0)));
    assert!((mean - usual).abs() < 0.02 * usual, "{mean} {usual}");
}

/// A stove that gives 1 kW at the least, in mild weather: 15 hours a day at 1000 / (4000 x 0.6) kg, 6.25 kg,
/// nearly all of it beyond what is wanted. A crew that keeps it twice as high tells 12.5 kg on each
/// of ten evenings: that is what it is thought to burn from then on, and what its wood is counted by.
#[test]
fn how_high_a_fire_is_kept_is_learned() {
    let rig = rig_file::parse(STOVE, std::path::Path::new("rig.ron")).expect("the rig is sound");
    let tell = |amount: Option<f64>| {
        let mut told = vec![filled_with("wood")];
        for day in 0..10 {
            told.push((at(day, 0), mild(day)));
            let event = amount.map(|kg| Event::Spent {
                stock: "wood".into(),
                amount: Quantity::new(Amount::from_f64(kg).expect("in range"), Unit::Kilogram),
            });
            told.extend(event.map(|event| (at(day, 23) + Duration::minutes(59), event)));
        }
        learn(&rig, &standing(told), at(10, 0), 1)
    };
    let tending = |beliefs: &Beliefs| {
        let index = beliefs.mechanism.factors.tending.expect("a fire is tended");
        beliefs.coefficient(index)
    };
    let (silent, told) = (tell(None), tell(Some(12.5)));
    let (before, after) = (tending(&silent), tending(&told));
    assert!((0.9..1.3).contains(&before.mean), "{before:?}");
    assert!((after.mean - 2.0).abs() < 0.25 && after.sd < 0.6 * before.sd, "{after:?}");
    let burnt = |beliefs: &Beliefs| 398.0 - beliefs.level(0).mean;
    assert!((burnt(&silent) - 62.5).abs() < 12.0, "{}", burnt(&silent));
    assert!((burnt(&told) - 125.0).abs() < 8.0, "{}", burnt(&told));
}

/// Of 200 L, 120 are read, and then 130, 170 or 210 are said to have gone in, which is more than fits:
/// what went in is there, and no more than the tank holds.
#[test]
fn more_than_fits_leaves_no_less_than_went_in() {
    for amount in [130.0, 170.0, 210.0] {
        let read = Event::Level { stock: "fresh".into(), reading: litres(120.0), step: None };
        let put = Event::Fill { stock: "fresh".into(), amount: Some(litres(amount)), after: None };
        let told = vec![filled_with("fresh"), (at(2, 20), read), (at(2, 21), put)];
        let level = learn(&rig(), &standing(told), at(2, 22), 1).level(0);
        assert!(level.mean > amount.min(190.0) - 3.0 && level.mean < 200.0, "{amount}: {level:?}");
        assert!(level.sd < 25.0, "{amount}: {level:?}");
    }
}
