//! Days that tell everything, something, or nothing of what was used on them.

use chrono::{Duration, TimeZone};
use waystock::belief::learn;
use waystock::belief::past::Past;
use waystock::domain::counts::Counts;
use waystock::domain::entry::{After, EntryId, Event};
use waystock::domain::journal::Standing;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::forecast::answer::Options;
use waystock::forecast::scene::Scene;
use waystock::store::rig_file;
use waystock::text::reasons::coefficient;

const RIG: &str = r#"(
    format: 1, van: "Teal", crew: 3,
    home: (place: "Sluice meadow", latitude: 47.0, longitude: 5.0, zone: "Etc/GMT-1"),
    stocks: [(name: "fresh", runs: down, unit: "L", capacity: 150, keep: 5)],
    activities: [(name: "shower", usual: 0.5, per: person,
                  takes: [(stock: "fresh", amount: 8, spread: 0.4)])],
)"#;

fn rig() -> Rig {
    rig_file::parse(RIG, std::path::Path::new("rig.ron")).expect("the rig is sound")
}

fn at(day: i64, hour: u32) -> Moment {
    let zone = chrono::FixedOffset::east_opt(3600).expect("an hour");
    zone.with_ymd_and_hms(2026, 6, 1, hour, 0, 0).single().expect("a time") + Duration::days(day)
}

fn stands(moment: Moment, sequence: u64, event: Event) -> Standing {
    let id = EntryId { device: "a".into(), sequence, salt: 0 };
    Standing {
        id,
        at: moment,
        recorded: moment,
        note: None,
        event,
        corrected_by: None,
        counts: Counts::Fact,
    }
}

fn some(count: i64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_milli(1000 * count).expect("in range"), unit)
}

/// Ten days with four showers each, one by one; `closed` days are declared complete. The tank is
/// filled every other morning, long before it could run dry, which would tell something, too.
fn ten_days(closed: bool) -> Vec<Standing> {
    let mut all = vec![stands(at(0, 6), 1, Event::Crew(Amount::from_milli(3000).expect("3")))];
    let filled = || Event::Fill { stock: "fresh".into(), amount: None, after: Some(After::Full) };
    for day in 0..10 {
        if day % 2 == 0 {
            all.push(stands(at(day, 7), all.len() as u64 + 1, filled()));
        }
        for hour in [8, 12, 18, 20] {
            let count = some(1, Unit::Time);
            let event = Event::Use { activity: "shower".into(), count };
            all.push(stands(at(day, hour), all.len() as u64 + 1, event));
        }
        if closed {
            all.push(stands(at(day, 22), all.len() as u64 + 1, Event::DayClosed));
        }
    }
    all.push(stands(at(10, 0), all.len() as u64 + 1, filled()));
    all
}

/// What was used between two hours of the first day, of a past that begins at six.
fn used_between(past: &Past, from: usize, to: usize) -> f64 {
    past.uses.by_hour[from - 6..to - 6].iter().flatten().map(|part| part.amount).sum()
}

/// What is logged of a usual day is a little less than what happens; of a closed day it is all.
#[test]
fn a_closed_day_hides_nothing() {
    let daily = |closed| {
        let beliefs = learn(&rig(), &ten_days(closed), at(10, 1), 1);
        beliefs.habits[0].daily_amount(3.0)
    };
    let (kept, closed) = (daily(false), daily(true));
    assert!(closed < 0.97 * kept, "{closed} of {kept}");
    assert!((3.4..4.1).contains(&closed), "{closed} showers a day");
}

/// A crew that writes four showers a day and wrote none today has not stopped washing: by the
/// evening about as much is thought gone as on other days, and not for certain. A crew that closes
/// the day has used nothing.
#[test]
fn a_day_without_any_use_is_not_a_day_without_use() {
    let level = |last: Option<Event>| {
        let mut known = ten_days(false);
        known.extend(last.map(|event| stands(at(10, 22), 900, event)));
        learn(&rig(), &known, at(10, 22), 1).level(0)
    };
    let (untold, idle) = (level(None), level(Some(Event::DayClosed)));
    assert!(idle.mean > 147.0, "{idle:?}");
    assert!((15.0..40.0).contains(&(idle.mean - untold.mean)), "{untold:?} {idle:?}");
    assert!(untold.sd > 2.0 * idle.sd, "{untold:?} {idle:?}");
}

/// A crew that writes one line a day, at nine in the evening, has not yet told of today at seven;
/// one that writes it at eight in the morning has, and a day without it was most likely idle until
/// then. Either has by eleven at night.
#[test]
fn what_is_usually_written_later_is_still_to_come() {
    let gone = |writes: u32, looks: u32| {
        let mut known = vec![stands(at(0, 6), 1, Event::Crew(Amount::from_milli(3000).unwrap()))];
        for day in 0..12 {
            let event = Event::Use { activity: "shower".into(), count: some(3, Unit::Time) };
            known.push(stands(at(day, writes), day as u64 + 2, event));
        }
        let event = Event::Fill { stock: "fresh".into(), amount: None, after: Some(After::Full) };
        known.push(stands(at(12, 5), 900, event));
        150.0 - learn(&rig(), &known, at(12, looks), 1).level(0).mean
    };
    let (evening, morning) = (gone(21, 19), gone(8, 19));
    assert!(evening > 10.0, "{evening} L of a usual day's 24");
    assert!(morning < 5.0, "{morning} L");
    assert!(gone(21, 23) < 5.0, "{} L", gone(21, 23));
}

/// Who writes several times a day writes things down as they happen.
#[test]
fn what_a_prompt_crew_writes_has_just_been_done() {
    let known = ten_days(false);
    let rig = rig();
    let past = Past::of(&rig, &known, at(1, 0));
    let between = |from: usize, to: usize| used_between(&past, from, to);
    assert!((between(18, 20) - 1.0).abs() < 1e-9, "the last one before eight in the evening");
    assert!(between(12, 16) < 1e-9 && between(16, 18) > 0.99, "not since noon");
}

/// What is done between ten and eleven is used after a gauge that was read at five past ten, not
/// forgotten with it.
#[test]
fn what_follows_a_reading_within_the_hour_is_used_after_it() {
    let rig = rig_file::parse(
        r#"(
    format: 1, van: "Teal", crew: 1,
    home: (place: "Sluice meadow", latitude: 47.0, longitude: 5.0, zone: "Etc/GMT-1"),
    stocks: [(name: "battery", runs: down, unit: "Wh", capacity: 2000, gauge: step(0.01))],
    activities: [(name: "kettle", usual: 1, per: van,
                  takes: [(stock: "battery", amount: 200, spread: 0.02)])],
    electrics: (store: "battery", volts: 12.8, chemistry: lithium, standing_w: 1),
)"#,
        std::path::Path::new("rig.ron"),
    )
    .expect("the rig is sound");
    let event = |minutes: i64, sequence: u64, event: Event| {
        stands(at(0, 9) + Duration::minutes(minutes), sequence, event)
    };
    let percent = Quantity::new(Amount::from_milli(80_000).unwrap(), Unit::Percent);
    let reading = Event::Level { stock: "battery".into(), reading: percent, step: None };
    let boiled = Event::Use { activity: "kettle".into(), count: some(1, Unit::Time) };
    let known = [
        event(0, 1, Event::Crew(Amount::from_milli(1000).unwrap())),
        event(60, 2, boiled.clone()),
        event(65, 3, reading),
        event(110, 4, boiled),
    ];
    let level = learn(&rig, &known, at(0, 11), 1).level(0).mean;
    // 1600 Wh at five past ten; the second kettle was boiled after ten, so hardly before that.
    assert!((1380.0..1450.0).contains(&level), "{level} Wh");
}

/// What was written in the evening may have been done at any time since the last writing; what was
/// written in between lies between.
#[test]
fn a_use_lies_between_two_sittings() {
    let mut known = vec![stands(at(0, 6), 1, Event::Crew(Amount::from_milli(3000).expect("3")))];
    for (sequence, hour) in [(2, 9), (3, 19), (4, 19)] {
        let event = Event::Use { activity: "shower".into(), count: some(1, Unit::Time) };
        known.push(stands(at(0, hour), sequence, event));
    }
    let rig = rig();
    let past = Past::of(&rig, &known, at(1, 0));
    let between = |from: usize, to: usize| used_between(&past, from, to);
    assert!((between(6, 9) - 1.0).abs() < 1e-9, "the first before nine");
    assert!((between(9, 19) - 2.0).abs() < 1e-9, "the two of one sitting after it");
    assert!(between(9, 14) > 0.3, "neither of them has to follow the other");
}

/// A battery that is read full at six, minutes before the day's meals are written down, does not
/// say that meals cost nothing: they may still be to come, or the sun has made up for them.
#[test]
fn a_full_battery_before_the_writing_does_not_make_meals_cheap() {
    let rig = rig_file::parse(
        r#"(
    format: 1, van: "Teal", crew: 2,
    home: (place: "Sluice meadow", latitude: 47.0, longitude: 5.0, zone: "Etc/GMT-1",
           typical: (low_c: 14, high_c: 24, cloud: 0.3)),
    stocks: [(name: "battery", runs: down, unit: "Wh", capacity: 3600, keep: 400)],
    activities: [(name: "cooked meal", usual: 1, per: van, hours: [(12, 1.0), (18, 2.0)],
                  takes: [(stock: "battery", amount: 340, spread: 0.5)])],
    electrics: (store: "battery", volts: 12.8, chemistry: lithium, standing_w: 5,
                panels: [(rated_w: 600, tilt: 0, facing: 180, factor: 0.75,
                          factor_spread: 0.12)]),
)"#,
        std::path::Path::new("rig.ron"),
    )
    .expect("the rig is sound");
    let mut known = vec![stands(at(0, 6), 1, Event::Crew(Amount::from_milli(2000).expect("2")))];
    for day in 0..30 {
        let percent =
            |share: i64| Quantity::new(Amount::from_milli(1000 * share).unwrap(), Unit::Percent);
        let reading = Event::Level { stock: "battery".into(), reading: percent(100), step: None };
        known.push(stands(at(day, 19), 100 + 2 * day as u64, reading));
        let event = Event::Use { activity: "cooked meal".into(), count: some(1, Unit::Time) };
        known.push(stands(at(day, 21), 101 + 2 * day as u64, event));
    }
    let beliefs = learn(&rig, &known, at(30, 12), 1);
    let meal = beliefs
        .mechanism
        .coefficients
        .iter()
        .position(|c| coefficient(&c.what).contains("cooked meal"));
    let learned = beliefs.coefficient(meal.expect("a meal's energy"));
    assert!(learned.mean > 0.8 * 340.0, "{learned:?}");
    assert!(learned.sd > 0.15 * 340.0, "{learned:?}");
}

/// Whoever showers once a day, every day, never lets the gauge see base use and showers apart: it
/// is said, and each stays as uncertain as it was, nearly. Days without a shower tell them apart.
#[test]
fn what_always_comes_together_cannot_be_told_apart() {
    let base = "base: [(name: \"washing\", per: person_day,
                       takes: [(stock: \"fresh\", amount: 4, spread: 0.4)])],";
    let text = RIG.replace("activities:", &format!("{base}\n    activities:"));
    let rig = rig_file::parse(&text, std::path::Path::new("rig.ron")).expect("the rig is sound");
    let learned = |every_day: bool| {
        let crew = Event::Crew(Amount::from_milli(3000).expect("3"));
        let mut all = vec![stands(at(0, 1), 1, crew)];
        for day in 0..24 {
            let sequence = 10 * day as u64;
            let full = Event::Fill {
                stock: "fresh".into(),
                amount: Some(some(if every_day || day % 4 > 1 { 36 } else { 12 }, Unit::Litre)),
                after: Some(After::Full),
            };
            all.push(stands(at(day, 2), sequence + 2, full));
            if every_day || day % 4 > 0 && day % 4 < 3 {
                let event = Event::Use { activity: "shower".into(), count: some(3, Unit::Time) };
                all.push(stands(at(day, 9), sequence + 3, event));
            }
            all.push(stands(at(day, 22), sequence + 4, Event::DayClosed));
        }
        learn(&rig, &all, at(24, 1), 1)
    };
    let (always, sometimes) = (learned(true), learned(false));
    assert_eq!(always.inseparable(0).len(), 1, "{:?}", always.inseparable(0));
    assert!(sometimes.inseparable(0).is_empty());
    let spread = |beliefs: &waystock::belief::Beliefs| beliefs.coefficient(0).sd;
    assert!(spread(&always) > 2.0 * spread(&sometimes));
    assert!(spread(&always) > 0.15 * 8.0, "{}", spread(&always));
}

/// Whether the evening's line comes ten minutes before midnight or ten after it, it is of the same
/// evening: as many showers a day, as regular, on days that are as closed.
#[test]
fn a_line_past_midnight_is_of_the_evening_that_has_gone() {
    let learned = |late: fn(i64) -> bool| {
        let mut all = vec![stands(at(0, 6), 1, Event::Crew(Amount::from_milli(3000).expect("3")))];
        for day in 0..12 {
            let minutes = if late(day) { 10 } else { -10 };
            let moment = at(day + 1, 0) + Duration::minutes(minutes);
            let count = some(2, Unit::Time);
            let event = Event::Use { activity: "shower".into(), count };
            all.push(stands(moment, all.len() as u64 + 1, event));
            all.push(stands(moment, all.len() as u64 + 1, Event::DayClosed));
        }
        learn(&rig(), &all, at(12, 9), 1).habits.remove(0)
    };
    let usual = learned(|_| false);
    for late in [(|_| true) as fn(i64) -> bool, |day| day % 2 == 0, |day| day % 3 == 0] {
        assert_eq!(learned(late), usual);
    }
}

/// Two who shower at such an hour and write it down at nine in the evening, when they also read the
/// gauge; every fourth day the tank is filled at eleven. What they use in a day is then told by every
/// other day, whatever the rig supposes of their hours. Litres a day, learned over used; `later` is
/// what is believed of their hours.
fn learned_over_used(shower_hour: u32) -> (f64, f64) {
    const RIG: &str = r#"(
        format: 1, van: "Teal", crew: 2,
        home: (place: "Sluice meadow", latitude: 47.0, longitude: 5.0, zone: "Etc/GMT-1"),
        stocks: [(name: "fresh", runs: down, unit: "L", capacity: 120, gauge: step(0.01))],
        activities: [(name: "shower", usual: 1, per: person, hours: [(7, 2), (20, 3)],
                      takes: [(stock: "fresh", amount: 8, spread: 0.4)])],
        base: [(name: "drinking", per: person_day,
                takes: [(stock: "fresh", amount: 4.4, spread: 0.3)])],
    )"#;
    let rig = rig_file::parse(RIG, std::path::Path::new("rig.ron")).expect("the rig is sound");
    let (base, shower, full): (f64, f64, f64) = (2.0 * 5.5, 2.0 * 8.0, 120.0);
    // As waking hours: a quarter as much in each hour of the night.
    let share = |hour: u32| if (7..23).contains(&hour) { 1.0 / 18.0 } else { 0.25 / 18.0 };
    let (mut level, mut all): (f64, _) = (full, Vec::new());
    let mut tell = |at: Moment, event: Event| {
        let number = all.len() as u64 + 1;
        all.push(stands(at, number, event));
    };
    let filled = || Event::Fill { stock: "fresh".into(), amount: None, after: Some(After::Full) };
    tell(at(0, 0), filled());
    for day in 0..40 {
        for hour in 0..24 {
            if hour == 11 && day % 4 == 3 {
                level = full;
                tell(at(day, 11), filled());
            }
            level -= base * share(hour) + if hour == shower_hour { shower } else { 0.0 };
            if hour == 20 {
                let count = some(2, Unit::Time);
                tell(at(day, 21), Event::Use { activity: "shower".into(), count });
                let reading = some((100.0 * level / full).round() as i64, Unit::Percent);
                tell(at(day, 21), Event::Level { stock: "fresh".into(), reading, step: None });
            }
        }
    }
    let beliefs = learn(&rig, &all, at(39, 22), 1);
    let [taken, drunk] = [1, 2].map(|quantity| beliefs.joint.mean(quantity));
    let unwritten = beliefs.manner.unwritten.mean;
    let learned = 2.0 * drunk + 2.0 * taken * (1.0 + unwritten);
    (learned / (base + shower), beliefs.manner.later.mean)
}

/// Counted by hand: 27 L a day. Taken at the rig's hours for certain, morning showers looked like
/// less water: on each day of a service most of it had run before the tank was full.
#[test]
fn who_showers_early_does_not_use_less() {
    let (early, morning) = learned_over_used(8);
    let (late, evening) = learned_over_used(20);
    for ratio in [early, late] {
        assert!((ratio - 1.0).abs() < 0.03, "{early} {late}");
    }
    assert!(morning < -0.5 && evening > morning + 0.8, "{morning} {evening}");
}

/// A grey tank that runs out under the van, and of which nobody ever writes a word, has not made
/// showers cheap: somebody empties it. A gauge that shows litres says that 27 L a day are used; how
/// they are shared stays about as the rig says, within its own spread of 3.2 L. Heard every evening
/// anew, the tank that never overflows took a shower to 0.2 L.
#[test]
fn a_tank_that_nobody_writes_about_teaches_no_thrift() {
    const RIG: &str = r#"(
        format: 1, van: "Teal", crew: 2,
        home: (place: "Sluice meadow", latitude: 47.0, longitude: 5.0, zone: "Etc/GMT-1"),
        stocks: [(name: "fresh", runs: down, unit: "L", capacity: 120, gauge: step(0.01)),
                 (name: "grey", runs: up, unit: "L", capacity: 200)],
        activities: [(name: "shower", usual: 1, per: person,
                      takes: [(stock: "fresh", amount: 8, spread: 0.4)],
                      gives: [(stock: "grey", share: 0.95, of: "fresh", spread: 0.03)])],
        base: [(name: "drinking", per: person_day,
                takes: [(stock: "fresh", amount: 5.5, spread: 0.3)],
                gives: [(stock: "grey", share: 0.43, of: "fresh", spread: 0.08)])],
    )"#;
    let rig = rig_file::parse(RIG, std::path::Path::new("rig.ron")).expect("the rig is sound");
    let filled = || Event::Fill { stock: "fresh".into(), amount: None, after: Some(After::Full) };
    let mut all = vec![
        stands(at(0, 21), 1, filled()),
        stands(at(0, 21), 2, Event::Empty { stock: "grey".into(), amount: None, after: None }),
    ];
    for day in 1..60 {
        let used = 27 * ((day - 1) % 4 + 1);
        let reading = some(120 - used, Unit::Litre);
        let count = some(2, Unit::Time);
        let told = [
            Event::Use { activity: "shower".into(), count },
            Event::Level { stock: "fresh".into(), reading, step: None },
        ];
        for event in told.into_iter().chain((day % 4 == 0).then(filled)) {
            all.push(stands(at(day, 21), all.len() as u64 + 1, event));
        }
    }
    let beliefs = learn(&rig, &all, at(59, 22), 1);
    let [taken, drunk] = [2, 4].map(|quantity| beliefs.joint.estimate(quantity));
    assert!((taken.mean - 8.0).abs() < 3.2 && taken.sd > 0.8, "{taken:?} {drunk:?}");
    assert!((2.0 * (taken.mean + drunk.mean) / 27.0 - 1.0).abs() < 0.05, "{taken:?} {drunk:?}");
}

/// A new crew that filled its tank in the morning and has written no use by nine in the evening has
/// not gone without: 1.5 showers of 8 L are usual of three people's day, most of them by then, and
/// most crews write them later. By midnight it has most likely had none.
#[test]
fn a_first_evening_is_not_idle_for_what_is_not_written_yet() {
    let gone = |hour: i64, closed: bool| {
        let full = Some(After::Full);
        let filled = Event::Fill { stock: "fresh".into(), amount: None, after: full };
        let mut known = vec![stands(at(0, 7), 1, filled)];
        let now = at(0, 0) + Duration::hours(hour);
        known.extend(closed.then(|| stands(now, 2, Event::DayClosed)));
        149.0 - learn(&rig(), &known, now, 1).level(0).mean
    };
    let (open, told) = (gone(21, false), gone(21, true));
    assert!(told < 1.0, "{told}");
    assert!((5.0..12.0).contains(&open), "{open}");
    assert!(gone(24, false) < 0.5 * open, "{} after {open}", gone(24, false));
}

/// A first evening: the gauge is read, and five minutes later the day's uses are written. The gauge had
/// seen them: 75 L are left, and not what four showers of 8 L leave of them. What a crew writes an
/// hour after is used after the reading.
#[test]
fn what_a_first_evening_writes_is_of_its_day() {
    let level = |minutes: i64| {
        let reading =
            Event::Level { stock: "fresh".into(), reading: some(75, Unit::Litre), step: None };
        let used = Event::Use { activity: "shower".into(), count: some(4, Unit::Time) };
        let then = at(0, 21) + Duration::minutes(minutes);
        let known = [stands(at(0, 21), 1, reading), stands(then, 2, used)];
        learn(&rig(), &known, then + Duration::minutes(1), 1).level(0).mean
    };
    assert!((level(5) - 75.0).abs() < 3.0, "{}", level(5));
    assert!(level(90) < 55.0, "{}", level(90));
}

/// A day that is declared complete in the evening holds no more showers: none until its night ends
/// at five, and a whole day's of three people in the 24 hours after that. By hand.
#[test]
fn nothing_more_is_to_come_of_a_day_that_is_closed() {
    let (rig, now) = (rig(), at(10, 19));
    let hours = |standing: &[Standing]| {
        let beliefs = learn(&rig, standing, now, 7);
        let scene = Scene::of(&rig, standing, &beliefs, &Options::at(now));
        let habit = &beliefs.habits[0];
        let each = scene.hours.iter().map(|hour| scene.exposure(0, habit, hour));
        let each: Vec<f64> = each.collect();
        (each[..10].iter().sum::<f64>(), each[10..34].iter().sum::<f64>())
    };
    let mut standing = ten_days(false);
    let (evening, next) = hours(&standing);
    assert!(evening > 0.5 && (next - 3.0).abs() < 1e-9, "{evening}, {next}");
    // Yesterday's says nothing of today.
    standing.push(stands(at(9, 22), 900, Event::DayClosed));
    assert_eq!(hours(&standing), (evening, next));
    standing.push(stands(at(10, 19), 901, Event::DayClosed));
    let (evening, next) = hours(&standing);
    assert!(evening == 0.0 && (next - 3.0).abs() < 1e-9, "{evening}, {next}");
}
