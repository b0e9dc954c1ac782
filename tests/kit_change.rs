//! What a change of kit does to what was read and learned before it.

use proptest::prelude::*;
use waystock::belief::{Beliefs, learn};
use waystock::domain::counts::Counts;
use waystock::domain::entry::{Entry, EntryId, Event};
use waystock::domain::journal::Standing;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::forecast::answer::{Lesson, Options};
use waystock::mechanism::coefficient::Meaning;
use waystock::store::rig_file;

const RIG: &str = r#"(
    format: 1, van: "Wren", crew: 2,
    home: (place: "Ferry stage", latitude: 44.0, longitude: 8.0, zone: "Etc/GMT-1"),
    stocks: [(name: "fresh", runs: down, unit: "L", capacity: 80, keep: 5, gauge: step(0.5))],
    activities: [(name: "shower", usual: 0.5, per: person,
                  takes: [(stock: "fresh", amount: 8, spread: 0.4)])],
    changes: [(from: "2026-05-10", note: "a bigger tank, and another shower head",
               stocks: [(name: "fresh", runs: down, unit: "L", capacity: 120, keep: 5)],
               activities: [(name: "shower", usual: 0.5, per: person,
                             takes: [(stock: "fresh", amount: 5, spread: 0.4)])])],
)"#;

fn rig() -> Rig {
    rig_file::parse(RIG, std::path::Path::new("rig.ron")).expect("the rig is sound")
}

fn at(text: &str) -> Moment {
    text.parse().expect("a time")
}

fn stands(sequence: u64, when: &str, event: Event) -> Standing {
    let id = EntryId { device: "a".into(), sequence, salt: 0 };
    let moment = at(when);
    let entry = Entry {
        id: id.clone(),
        at: moment,
        recorded: moment,
        note: None,
        body: waystock::domain::entry::Body::Happened(event.clone()),
    };
    Standing {
        id: entry.id,
        at: moment,
        recorded: moment,
        note: None,
        event,
        corrected_by: None,
        counts: Counts::Fact,
    }
}

fn half(sequence: u64, when: &str) -> Standing {
    let reading = Quantity::new(Amount::from_milli(50_000).expect("in range"), Unit::Percent);
    stands(sequence, when, Event::Level { stock: "fresh".into(), reading, step: None })
}

#[test]
fn what_was_read_on_the_old_tank_keeps_its_meaning() {
    let rig = rig();
    let before = half(1, "2026-05-08T20:00:00+01:00");
    let after = half(2, "2026-05-12T20:00:00+01:00");
    let known = [before.clone(), after];
    let beliefs = learn(&rig, &known, at("2026-05-12T20:00:00+01:00"), 1);
    // Half of 80 L on a gauge of halves; then half of 120 L, written to ten per cent.
    let ranges: Vec<(f64, f64)> = beliefs.readings[0].iter().map(|r| (r.low, r.high)).collect();
    assert_eq!(ranges[0], (20.0, 60.0));
    assert!((ranges[1].0 - 54.0).abs() < 1e-9 && (ranges[1].1 - 66.0).abs() < 1e-9, "{ranges:?}");
    // Between the change and the next look, nobody knows what the new tank holds.
    let unread = learn(&rig, &[before], at("2026-05-11T20:00:00+01:00"), 1).level(0);
    assert!(unread.sd > 0.2 * 120.0, "{unread:?}");
}

#[test]
fn what_the_old_shower_taught_does_not_reach_the_new_one() {
    let rig = rig();
    let full = |n, when| {
        let after = Some(waystock::domain::entry::After::Full);
        let amount =
            Some(Quantity::new(Amount::from_milli(60_000).expect("in range"), Unit::Litre));
        stands(n, when, Event::Fill { stock: "fresh".into(), amount, after })
    };
    let shower = |n, when| {
        let count = Quantity::new(Amount::from_milli(4_000).expect("in range"), Unit::Time);
        stands(n, when, Event::Use { activity: "shower".into(), count })
    };
    // Four showers are logged. Of the two days without any, one is silent: it may hide a usual
    // day's one, or be idle. 60 L over four to five are 12 to 15 litres each, drawn towards the rig
    // file's 8 by as much as that is sure of itself.
    let known = [
        full(1, "2026-05-01T10:00:00+01:00"),
        shower(2, "2026-05-03T20:00:00+01:00"),
        full(3, "2026-05-04T10:00:00+01:00"),
    ];
    let litres = |now| learn(&rig, &known, at(now), 1).coefficient(0);
    let old = litres("2026-05-09T20:00:00+01:00");
    assert!((11.4..14.4).contains(&old.mean), "{old:?}");
    let new = litres("2026-05-11T20:00:00+01:00");
    assert!((new.mean - 5.0).abs() < 0.5 && new.sd > 1.5, "{new:?}");
}

/// A van with a battery whose kit changes on a day of May, with what is put in the place of what in
/// its kit from then on.
fn powered(change: Option<(u32, [&str; 2])>) -> Rig {
    let kit = "stocks: [(name: \"battery\", runs: down, unit: \"Wh\", capacity: 1200)],
               electrics: (store: \"battery\", volts: 12.8, chemistry: lithium,
                           panels: [(rated_w: 200, tilt: 0, factor: 0.7, factor_spread: 0.2)],
                           fridge: (mean_w: 25, per_kelvin: 0.04, spread: 0.4),
                           standing_w: 8, standing_spread: 0.5)";
    let change = change.map(|(day, [old, new])| {
        format!("changes: [(from: \"2026-05-{day:02}\", {})],", kit.replace(old, new))
    });
    let text = format!(
        "(format: 1, van: \"Wren\", crew: 2,
          home: (place: \"Ferry stage\", latitude: 44.0, longitude: 8.0, zone: \"Etc/GMT-1\"), {}
          {kit})",
        change.unwrap_or_default()
    );
    rig_file::parse(&text, std::path::Path::new("rig.ron"))
        .unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// The same, stated again.
const SAME: [&str; 2] = ["", ""];

/// The battery read each evening from the first of May on, at so many per cent.
fn read_each_evening(read: &[i64]) -> Vec<Standing> {
    let reading = |(n, percent): (usize, &i64)| {
        let amount = Amount::from_milli(1000 * percent).expect("in range");
        let reading = Quantity::new(amount, Unit::Percent);
        let event = Event::Level { stock: "battery".into(), reading, step: None };
        stands(n as u64, &format!("2026-05-{:02}T20:00:00+01:00", n + 1), event)
    };
    read.iter().enumerate().map(reading).collect()
}

/// Twice the panels: what the fridge draws, and how full the battery is, are known as before; what
/// the panels bring is not, and no reading is claimed for it.
#[test]
fn a_change_of_one_part_lets_only_that_part_start_anew() {
    let known = read_each_evening(&[62, 55, 58, 49, 52, 44, 47, 40, 45, 38, 41, 36, 40, 33]);
    let now = at("2026-05-15T00:30:00+01:00");
    let doubled = ["rated_w: 200", "rated_w: 400"];
    let rigs = [powered(None), powered(Some((15, doubled))), powered(Some((8, doubled)))];
    let [same, today, last_week] = rigs.each_ref().map(|rig| learn(rig, &known, now, 3));
    let coefficient = |of: &Beliefs, what: Meaning| {
        let place = of.mechanism.coefficients.iter().position(|c| c.what == what);
        of.coefficient(place.expect("it is there"))
    };
    for what in [Meaning::Fridge, Meaning::Standing] {
        let [a, b] = [&same, &today].map(|of| coefficient(of, what.clone()));
        // A day's wandering, a hundredth of itself in each member, is drawn anew.
        assert!(
            (a.mean / b.mean - 1.0).abs() < 0.01 && (a.sd / b.sd - 1.0).abs() < 0.1,
            "{what:?}"
        );
    }
    let [a, b] = [&same, &today].map(|of| of.level(0));
    assert!((a.mean - b.mean).abs() < 10.0 && (a.sd / b.sd - 1.0).abs() < 0.3, "{a:?} {b:?}");
    // The rig file says 0.7 give or take 0.2 of itself.
    let panels = [&same, &today].map(|of| coefficient(of, Meaning::Panels).sd);
    assert!(panels[1] > 0.12 && panels[0] < 0.9 * panels[1], "{panels:?}");
    let claimed = |rig: &Rig, what: Meaning| {
        let evening = waystock::forecast::evening::evening_while(
            rig,
            &known,
            &learn(rig, &known, now, 3),
            Options { lives: 64, ..Options::at(now) },
            &|_| true,
        );
        let found =
            evening.learned.into_iter().find(|l| l.what == Lesson::Coefficient(what.clone()));
        found.expect("it is told").readings
    };
    assert_eq!(rigs.each_ref().map(|rig| claimed(rig, Meaning::Panels)), [14, 0, 7]);
    assert_eq!(rigs.each_ref().map(|rig| claimed(rig, Meaning::Fridge)), [14, 14, 14]);
    // Readings since then have taught the new ones something.
    let panels = coefficient(&last_week, Meaning::Panels);
    assert!(panels.sd < 0.14, "{panels:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]

    /// Whoever states the same kit again forgets nothing: not a level, a coefficient or a member of
    /// the ensemble moves by a bit. Whoever changes it has another.
    #[test]
    fn a_kit_that_is_stated_again_is_the_same_kit(
        day in 2u32..20, read in proptest::collection::vec(20i64..100, 18), seed in 0u64..100,
    ) {
        let known = read_each_evening(&read);
        let believed = |rig: &Rig| {
            let beliefs = learn(rig, &known, at("2026-05-20T20:00:00+01:00"), seed);
            (beliefs.joint, beliefs.electric, beliefs.readings, beliefs.innovations)
        };
        let before = believed(&powered(None));
        prop_assert!(before == believed(&powered(Some((day, SAME)))), "restated on day {day}");
        prop_assert!(before != believed(&powered(Some((day, ["standing_w: 8", "standing_w: 9"])))), "changed on day {day}");
    }
}
