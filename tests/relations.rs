//! What may not change anything: how a journal says the same. Rigs and journals are random; a
//! battery is left out, as its ensemble draws anew for every way of writing.

use chrono::{Duration, TimeZone};
use proptest::prelude::*;
use waystock::belief::{Beliefs, learn};
use waystock::domain::entry::{After, Body, Entry, EntryId, Event};
use waystock::domain::heating::{HeatSource, Heating};
use waystock::domain::journal::standing;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::forecast::answer::Options;
use waystock::forecast::evening::evening_while;
use waystock::store::rig_file;

const STOCKS: [&str; 3] = [
    "(name: \"fresh\", runs: down, unit: \"L\", capacity: 140, keep: 6, gauge: step(0.05))",
    "(name: \"grey\", runs: up, unit: \"L\", capacity: 120, headroom: 4, gauge: step(0.25))",
    "(name: \"pantry\", runs: down, unit: \"portions\", capacity: 60)",
];

/// The rig with its stocks in that order, and perhaps one that nothing moves.
fn rig(order: [usize; 3], crew: u32, shower_l: f64, more: &str) -> Rig {
    let stocks = order.map(|index| STOCKS[index]).join(", ");
    let text = format!(
        "(format: 1, van: \"Heron\", crew: {crew},
          home: (place: \"Ford\", latitude: 55.0, longitude: -3.0, zone: \"Etc/GMT\"),
          stocks: [{stocks}{more}],
          activities: [
            (name: \"rinse\", usual: 0.6, per: person, takes: [(stock: \"fresh\",
             amount: {shower_l}, spread: 0.3)], gives: [(stock: \"grey\", share: 0.9,
             of: \"fresh\", spread: 0.05)]),
            (name: \"bake\", usual: 1.2, per: van, takes: [(stock: \"pantry\", amount: 2,
             spread: 0.2)]),
          ],
          base: [(name: \"drinking\", per: person_day,
                  takes: [(stock: \"fresh\", amount: 3, spread: 0.3)])])"
    );
    rig_file::parse(&text, std::path::Path::new("rig.ron")).expect("the rig is sound")
}

fn at(day: i64, minutes: i64) -> Moment {
    let zone = chrono::FixedOffset::east_opt(0).expect("no hours");
    let first = zone.with_ymd_and_hms(2026, 3, 2, 0, 0, 0).single().expect("a time");
    first + Duration::days(day) + Duration::minutes(minutes)
}

fn some(milli: i64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_milli(milli).expect("in range"), unit)
}

/// A day: rinses, bakes, and what fresh and grey were read at, if they were.
type Day = (u8, u8, Option<u8>, Option<u8>);

fn days() -> impl Strategy<Value = Vec<Day>> {
    let read = || proptest::option::weighted(0.6, 0..=20u8);
    proptest::collection::vec((0..4u8, 0..4u8, read(), read()), 12..30)
}

/// How a journal is written.
#[derive(Clone, Copy, PartialEq)]
enum Writing {
    Plain,
    /// Uses of more than one are two entries of the same minute.
    Split,
    /// By two devices in turn.
    TwoDevices,
    /// The last entry first.
    OtherOrder,
}

fn journal(days: &[Day], writing: Writing) -> Vec<Entry> {
    let mut all: Vec<Entry> = Vec::new();
    let mut write = |moment: Moment, event: Event| {
        let sequence = all.len() as u64 + 1;
        let second = writing == Writing::TwoDevices && sequence.is_multiple_of(2);
        let device = if second { "b" } else { "a" }.to_string();
        let id = EntryId { device, sequence, salt: 1 };
        let body = Body::Happened(event);
        all.push(Entry { id, at: moment, recorded: moment, note: None, body });
    };
    write(at(0, 300), Event::Crew(Amount::from_milli(2000).expect("2")));
    let full = || Some(After::Full);
    write(at(0, 301), Event::Fill { stock: "fresh".into(), amount: None, after: full() });
    write(at(0, 302), Event::Empty { stock: "grey".into(), amount: None, after: None });
    write(at(0, 303), Event::Fill { stock: "pantry".into(), amount: None, after: full() });
    for (day, (rinses, bakes, fresh, grey)) in days.iter().enumerate() {
        let day = day as i64;
        for (stock, read, minutes) in [("fresh", fresh, 1140), ("grey", grey, 1150)] {
            if let Some(twentieths) = read {
                let reading = some(5000 * i64::from(*twentieths), Unit::Percent);
                write(at(day, minutes), Event::Level { stock: stock.into(), reading, step: None });
            }
        }
        for (activity, times, minutes) in [("rinse", rinses, 1260), ("bake", bakes, 1261)] {
            let parts = match (writing, times) {
                (_, 0) => vec![],
                (Writing::Split, 2..) => vec![1, times - 1],
                _ => vec![*times],
            };
            for part in parts {
                let count = some(1000 * i64::from(part), Unit::Time);
                write(at(day, minutes), Event::Use { activity: activity.into(), count });
            }
        }
    }
    if writing == Writing::OtherOrder {
        all.reverse();
    }
    all
}

fn learned(rig: &Rig, days: &[Day], writing: Writing) -> Beliefs {
    let now = at(days.len() as i64, 600);
    learn(rig, &standing(&journal(days, writing), now), now, 1)
}

/// The rig with so many sources of heat, each after the other, that give `output_w` together. Without
/// fans, of which only those turn that are needed.
fn heated(sources: usize, output_w: f64) -> Rig {
    let mut rig =
        rig([0, 1, 2], 2, 7.0, ", (name: \"oil\", runs: down, unit: \"L\", capacity: 90)");
    let source = |number: usize| HeatSource {
        name: number.to_string(),
        burns: "oil".into(),
        wh_per_unit: 10_000.0,
        output_w: output_w / sources as f64,
        fan_w: 0.0,
        start_wh: 0.0,
        ..HeatSource::default()
    };
    let sources = (0..sources).map(source).collect();
    rig.parts.heating = Some(Heating { sources, ..Heating::default() });
    rig
}

/// Everything that is told, by name: levels, habits, and what days and writing are like.
fn told(beliefs: &Beliefs) -> Vec<f64> {
    let mut all = Vec::new();
    for name in ["fresh", "grey", "pantry", "oil"] {
        let Some((index, _)) = beliefs.mechanism.parts.stock(name) else { continue };
        let level = beliefs.level(index);
        all.extend([level.mean, level.sd]);
    }
    for habit in &beliefs.habits {
        let rate = habit.true_rate();
        all.extend([rate.mean, rate.sd, habit.fano.mean()]);
    }
    let manner = beliefs.manner;
    for known in [manner.unwritten, manner.at_home, manner.untold] {
        all.extend([known.mean, known.sd]);
    }
    all.push(manner.day_spread);
    all
}

fn same(a: &Beliefs, b: &Beliefs) -> Result<(), TestCaseError> {
    for (a, b) in told(a).into_iter().zip(told(b)) {
        prop_assert!((a - b).abs() <= 1e-6 * (1.0 + a.abs()), "{} {}", a, b);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// An entry in two halves, another device, rows in another order: nothing changes.
    #[test]
    fn how_it_is_written_changes_nothing(
        days in days(), crew in 1..4u32, shower_l in 3.0..12.0_f64,
    ) {
        let rig = rig([0, 1, 2], crew, shower_l, "");
        let plain = learned(&rig, &days, Writing::Plain);
        for writing in [Writing::Split, Writing::TwoDevices, Writing::OtherOrder] {
            same(&plain, &learned(&rig, &days, writing))?;
        }
    }

    /// Nor do the order of the stocks in the rig file, and a stock that nothing moves.
    #[test]
    fn where_a_stock_stands_changes_nothing(
        days in days(), crew in 1..4u32, shower_l in 3.0..12.0_f64,
    ) {
        let plain = learned(&rig([0, 1, 2], crew, shower_l, ""), &days, Writing::Plain);
        let other = rig([2, 0, 1], crew, shower_l, "");
        same(&plain, &learned(&other, &days, Writing::Plain))?;
        let idle = ", (name: \"paint\", runs: down, unit: \"L\", capacity: 5)";
        let more = rig([0, 1, 2], crew, shower_l, idle);
        same(&plain, &learned(&more, &days, Writing::Plain))?;
    }

    /// Nor does how many sources give the heat, as long as they burn the same.
    #[test]
    fn how_many_sources_heat_changes_nothing(days in days(), output_w in 100.0..3000.0_f64) {
        let [one, two, five] =
            [1, 2, 5].map(|sources| learned(&heated(sources, output_w), &days, Writing::Plain));
        // Nobody knows how much there was at first: six tenths, less what has burned since.
        let (oil, _) = one.mechanism.parts.stock("oil").expect("it is heated");
        prop_assert!(one.level(oil).mean < 0.6 * 90.0 - 5.0, "{:?}", one.level(oil));
        same(&one, &two)?;
        same(&one, &five)?;
    }
}

/// Whoever stops waiting gets what two thousand lives say, the least that are run: 64 groups of 32.
#[test]
fn what_nobody_waits_for_is_the_answer_of_fewer_lives() {
    let (rig, days) = (rig([0, 1, 2], 2, 7.0, ""), [(1, 1, Some(9), None); 12]);
    let now = at(12, 600);
    let (stands, beliefs) =
        (standing(&journal(&days, Writing::Plain), now), learned(&rig, &days, Writing::Plain));
    let of = |lives| Options { lives, ..Options::at(now) };
    let given_up = evening_while(&rig, &stands, &beliefs, of(100_000), &|_| false);
    assert_eq!(given_up.forecast.lives, 2048);
    assert_eq!(given_up, evening_while(&rig, &stands, &beliefs, of(2048), &|_| true));
}
