//! Where it goes, on a journal whose every amount is known: all rates are exact, every day is
//! closed. Expected values are counted by hand from the rig and the entries.

use chrono::{Duration, TimeZone};
use std::path::Path;
use waystock::belief::{Basis, Beliefs, learn};
use waystock::domain::entry::{Body, Entry, EntryId, Event, Spot};
use waystock::domain::journal::Standing;
use waystock::domain::place::Place;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::rig::Rig;
use waystock::domain::stock::Direction;
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::forecast::answer::Options;
use waystock::logline::{Vocabulary, span};
use waystock::mechanism::held::Moves;
use waystock::store::rig_file;
use waystock::usage::account::{StockUse, accounts};
use waystock::usage::foretold::foretold;
use waystock::usage::trip::{forced, totals};
use waystock::usage::{account, battery};

/// Three people; a shower takes 8 L, from 9 May on 5 L; drinking takes 3 L a person and day, of
/// which nothing reaches grey; of a shower 0.9 does.
const RIG: &str = r#"(
    format: 1, van: "Sedge", crew: 3,
    home: (place: "Weir field", latitude: 46.0, longitude: 4.0, zone: "Europe/Oslo"),
    stocks: [(name: "fresh", runs: down, unit: "L", capacity: 120, keep: 10),
             (name: "grey", runs: up, unit: "L", capacity: 90, headroom: 5),
             (name: "battery", runs: down, unit: "Wh", capacity: 9000, keep: 400)],
    activities: [(name: "shower", usual: 1, per: van,
                  takes: [(stock: "fresh", amount: 8, spread: 0)],
                  gives: [(stock: "grey", of: "fresh", share: 0.9, spread: 0)])],
    base: [(name: "drinking", per: person_day, takes: [(stock: "fresh", amount: 3, spread: 0)])],
    electrics: (store: "battery", volts: 12.8, chemistry: lithium, standing_w: 20,
                standing_spread: 0),
    changes: [(from: "2026-05-09", note: "another shower head",
               activities: [(name: "shower", usual: 1, per: van,
                             takes: [(stock: "fresh", amount: 5, spread: 0)],
                             gives: [(stock: "grey", of: "fresh", share: 0.9, spread: 0)])])],
)"#;

fn rig() -> Rig {
    let mut rig = rig_file::parse(RIG, Path::new("rig.ron")).unwrap_or_else(|faults| {
        panic!("{}", faults.iter().map(ToString::to_string).collect::<String>())
    });
    rig.places = vec![Place {
        name: "Coal quay".into(),
        latitude: 46.2,
        longitude: 4.1,
        services: vec!["water".into(), "grey".into()],
        cost: Some(4.0),
        prices: vec![("fresh".into(), 0.05)],
        ..Place::default()
    }];
    rig
}

fn at(day: i64, hour: u32) -> Moment {
    let zone = chrono::FixedOffset::east_opt(7200).expect("two hours");
    zone.with_ymd_and_hms(2026, 5, 1, hour, 0, 0).single().expect("a time") + Duration::days(day)
}

fn some(count: i64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_milli(1000 * count).expect("in range"), unit)
}

/// Sixteen days from 1 May: a shower every evening, every day closed. On the tenth and on the
/// fifteenth day the tank is filled and grey emptied at the quay, 60 km from the camp before; the
/// tank was nearly empty the first time.
fn journal() -> Vec<Entry> {
    let mut all: Vec<(Moment, Event)> = vec![
        (at(0, 6), Event::Fill { stock: "fresh".into(), amount: None, after: None }),
        (at(0, 6), Event::Empty { stock: "grey".into(), amount: None, after: None }),
        (at(0, 7), Event::Camp(Spot::Named("Weir field".into()))),
        (
            at(13, 23),
            Event::Level { stock: "battery".into(), reading: some(90, Unit::Percent), step: None },
        ),
    ];
    for day in 0..16 {
        if day == 9 || day == 14 {
            let amount = (day == 14).then(|| some(70, Unit::Litre));
            all.push((at(day, 2), Event::Drive(some(60, Unit::Kilometre))));
            all.push((at(day, 3), Event::Camp(Spot::Named("Coal quay".into()))));
            all.push((at(day, 4), Event::Fill { stock: "fresh".into(), amount, after: None }));
            all.push((
                at(day, 5),
                Event::Empty { stock: "grey".into(), amount: None, after: None },
            ));
        }
        let count = some(1, Unit::Time);
        all.push((at(day, 19), Event::Use { activity: "shower".into(), count }));
        all.push((at(day, 22), Event::DayClosed));
    }
    let entry = |(n, (at, event)): (usize, (Moment, Event))| Entry {
        id: EntryId { device: "a".into(), sequence: n as u64 + 1, salt: 0 },
        at,
        recorded: at,
        note: None,
        body: Body::Happened(event),
    };
    all.sort_by_key(|(at, _)| *at);
    all.into_iter().enumerate().map(entry).collect()
}

fn standing() -> Vec<Standing> {
    waystock::domain::journal::standing(&journal(), now())
}

/// The end of the sixteenth day.
fn now() -> Moment {
    at(15, 23) + Duration::hours(1)
}

fn told() -> (Beliefs, Vec<StockUse>) {
    let beliefs = learn(&rig(), &standing(), now(), 1);
    let stocks = accounts(&basis(&rig(), &standing(), &beliefs), None);
    (beliefs, stocks)
}

fn basis<'a>(rig: &'a Rig, standing: &'a [Standing], beliefs: &'a Beliefs) -> Basis<'a> {
    Basis { rig, standing, beliefs, now: now() }
}

fn near(found: f64, expected: f64, by: f64) {
    assert!((found - expected).abs() <= by, "{found}, not {expected} to within {by}");
}

#[test]
fn what_used_the_water_since_the_last_fill_and_week_by_week() {
    let (_, stocks) = told();
    let names: Vec<&str> = stocks.iter().map(|own| own.stock.name.as_str()).collect();
    assert_eq!(names, ["fresh", "grey", "battery"]);
    let fresh = &stocks[0];
    let since = fresh.since_service.as_ref().expect("it was filled");
    assert_eq!(since.account.from, at(14, 4));
    // Two showers of 5 L, and two days of three people, 3 L each, but for what they drink before
    // four in the morning, which is little.
    let parts = since.account.parts(Direction::Down);
    assert_eq!(*parts[0].what, Moves::Named("drinking".into()));
    assert_eq!(*parts[1].what, Moves::Named("showers".into()));
    near(parts[1].amount, 10.0, 1e-6);
    assert!((17.0..18.0).contains(&parts[0].amount), "{parts:?}");
    near(parts.iter().map(|part| part.share).sum::<f64>(), 1.0, 1e-12);
    near(since.unexplained.expect("between empty and full"), 0.0, 0.5);
    // Two whole weeks; 16 days have no third. In the last one all showers took 5 L, in the one
    // before it two of them still took 8 (the evenings of 3 to 8 May are days 2 to 7: six).
    assert_eq!(fresh.weeks.len(), 2);
    near(fresh.weeks[1].amount(Direction::Down), 7.0 * (9.0 + 5.0), 1e-6);
    // The second before a change of kit belongs to neither.
    near(fresh.weeks[0].amount(Direction::Down), 7.0 * 9.0 + 6.0 * 8.0 + 5.0, 1e-3);
    assert_eq!(fresh.usual_week(), None, "one week before this one does not tell what is usual");
    // Eight showers of 8 L and eight of 5 L; the base from 6:00 of the first day on.
    near(fresh.whole.parts(Direction::Down)[1].amount, 8.0 * 8.0 + 8.0 * 5.0, 1e-6);
    assert_eq!(fresh.months.len(), 1);
    // Grey gets nine tenths of the showers and nothing of what is drunk.
    let grey = &stocks[1];
    near(grey.whole.amount(Direction::Up), 0.9 * (8.0 * 8.0 + 8.0 * 5.0), 1e-6);
    assert_eq!(grey.whole.amount(Direction::Down), 0.0);
}

#[test]
fn what_was_asked_since_a_day_begins_there() {
    let beliefs = learn(&rig(), &standing(), now(), 1);
    let stocks = accounts(&basis(&rig(), &standing(), &beliefs), Some(at(14, 0)));
    near(stocks[0].whole.amount(Direction::Down), 2.0 * (9.0 + 5.0), 1e-6);
    assert!(stocks[0].weeks.is_empty());
    assert!(accounts(&basis(&rig(), &[], &beliefs), None).is_empty(), "nothing happened yet");
    assert_eq!(account::begins(&standing(), now()), Some(at(0, 6)));
}

/// Nothing of what is foretold here is a matter of chance but the showers: one a day as long as the
/// habit holds, so that drinking alone is the least.
#[test]
fn a_band_of_then_holds_what_was_sure() {
    let options = Options { lives: 500, ..Options::at(now()) };
    let week = (now() - Duration::days(7), now());
    let bands = foretold(&rig(), &journal(), week, options);
    let names: Vec<&str> = bands.iter().map(|band| band.stock.as_str()).collect();
    assert_eq!(names, ["fresh", "grey"], "a battery has no one sum");
    let fresh = &bands[0];
    assert!(fresh.p10 >= 63.0 && fresh.p10 <= fresh.p50 && fresh.p50 <= fresh.p90, "{fresh:?}");
    // More than the tank holds is not cut off: seven days of 14 L are 98 L.
    assert!(fresh.p10 <= 98.0 && 98.0 <= fresh.p90, "{fresh:?}");
    // A span that is shorter than a step of the fans tells nothing.
    assert!(foretold(&rig(), &journal(), (now(), now()), options).is_empty());
}

#[test]
fn what_the_trip_came_to() {
    let (beliefs, _) = told();
    let all = totals(&basis(&rig(), &standing(), &beliefs), at(0, 6));
    assert_eq!((all.nights, all.km, all.drive_hours), (16, 120.0, 0.0));
    let places: Vec<_> = all.visits.iter().map(|visit| visit.places.join(", ")).collect();
    assert_eq!(places, ["", "Coal quay", "Coal quay"]);
    assert_eq!(all.visits[1].stocks, ["fresh", "grey"]);
    // Two visits of 4, and 70 L at 0.05; the first fill has no amount to be paid for.
    assert_eq!(all.money(), Some(4.0 + 4.0 + 70.0 * 0.05));
    assert_eq!(all.visits.iter().map(|visit| visit.unpriced).sum::<usize>(), 1);
    // On the tenth day 120 L less nine days of 9 L and nine showers of 8 or 5 L are gone: it is
    // empty. On the fifteenth, five days of 14 L leave 50 L, which last 40 / 14 = 2.9 days more.
    let options = Options { lives: 500, ..Options::at(now()) };
    let forced = forced(&rig(), &standing(), &all.visits, options);
    assert_eq!(forced.looked_at, 3);
    assert_eq!(forced.by, [("fresh".to_string(), 2)]);
}

/// A saved stop at two places in one drive, an hour and a half apart, is one stop; another drive on the
/// same day is another.
#[test]
fn the_places_of_one_drive_are_one_stop() {
    let [grey, fresh] = [
        Event::Empty { stock: "grey".into(), amount: None, after: None },
        Event::Fill { stock: "fresh".into(), amount: None, after: None },
    ];
    let stop = |n: u64, (day, hour): (i64, u32), place: &str, event: &Event| Entry {
        id: EntryId { device: "b".into(), sequence: n, salt: 0 },
        at: at(day, hour),
        recorded: at(day, hour),
        note: Some(format!("planned stop: {place}")),
        body: Body::Happened(event.clone()),
    };
    let entries = [
        stop(1, (2, 8), "Coal quay", &grey),
        stop(2, (2, 10), "Tide market", &fresh),
        stop(3, (2, 19), "Coal quay", &grey),
    ];
    let standing =
        waystock::domain::journal::standing(&[journal(), entries.to_vec()].concat(), now());
    let beliefs = learn(&rig(), &standing, now(), 1);
    let all = totals(&basis(&rig(), &standing, &beliefs), at(1, 0));
    let places: Vec<_> = all.visits.iter().take(2).map(|visit| visit.places.join(", ")).collect();
    assert_eq!(places, ["Coal quay, Tide market", "Coal quay"]);
    assert_eq!(all.visits[0].cost, Some(4.0), "what the quay says");
}

/// Twenty watts that never rest, and nothing else: 480 Wh a day before losses.
#[test]
fn the_batterys_days_are_told_by_the_hour() {
    let (beliefs, _) = told();
    let (rig, options) = (rig(), Options::at(at(15, 12) + Duration::minutes(20)));
    let standing = waystock::domain::journal::standing(&journal(), options.at);
    let beliefs = learn(&rig, &standing, options.at, beliefs.readings.len() as u64);
    let basis = Basis { now: options.at, ..basis(&rig, &standing, &beliefs) };
    let days = battery::days(&basis, options);
    let dates: Vec<String> = days.iter().map(|day| day.date.to_string()).collect();
    assert_eq!(dates, ["2026-05-15", "2026-05-16", "2026-05-17"]);
    for day in &days {
        let hours: Vec<u32> = day.hours.iter().map(|hour| hour.hour).collect();
        assert_eq!(hours, (0..24).collect::<Vec<u32>>(), "{}", day.date);
        assert_eq!(day.sum(|hour| hour.sun_wh + hour.charged_wh), 0.0);
    }
    let ahead = |day: usize| days[day].hours.iter().filter(|hour| hour.is_ahead).count();
    assert_eq!((ahead(0), ahead(1), ahead(2)), (0, 12, 24));
    let used = days[0].sum(|hour| hour.used_wh);
    assert!((480.0..560.0).contains(&used), "{used}");
    let (low, high) = days[2].extremes().expect("it has hours");
    assert!(low.level_wh <= high.level_wh && low.hour == 23, "{low:?} {high:?}");
}

/// Clocks in Oslo go forward on 29 March 2026 (IANA tzdata): that day has 23 hours. The rest is
/// counted on a calendar.
#[test]
fn a_day_that_is_asked_for_is_all_of_it() {
    let now: Moment = "2026-03-31T19:30:00+02:00".parse().expect("a time");
    let known = Vocabulary::new(&rig(), rig().zone(now));
    let rows = [
        ("yesterday", "2026-03-30T00:00:00+02:00", "2026-03-30T23:59:59+02:00"),
        ("sunday", "2026-03-29T00:00:00+01:00", "2026-03-29T23:59:59+02:00"),
        (" 29 march ", "2026-03-29T00:00:00+01:00", "2026-03-29T23:59:59+02:00"),
        ("2026-03-01", "2026-03-01T00:00:00+01:00", "2026-03-01T23:59:59+01:00"),
        ("today", "2026-03-31T00:00:00+02:00", "2026-03-31T23:59:59+02:00"),
        ("yesterday 18:00", "2026-03-30T18:00:00+02:00", "2026-03-30T18:00:00+02:00"),
        ("2 h ago", "2026-03-31T17:30:00+02:00", "2026-03-31T17:30:00+02:00"),
        ("3 weeks", "2026-03-10T19:30:00+01:00", "2026-03-10T19:30:00+01:00"),
        ("2026-03-01T08:00:00Z", "2026-03-01T09:00:00+01:00", "2026-03-01T09:00:00+01:00"),
    ];
    for (text, begins, ends) in rows {
        let (from, to) = span(text, &known, now).unwrap_or_else(|| panic!("{text}"));
        assert_eq!((from.to_rfc3339(), to.to_rfc3339()), (begins.into(), ends.into()), "{text}");
    }
    for text in ["", "fresh", "yesterday, today", "blursday", "30 february", "99999 weeks"] {
        assert_eq!(span(text, &known, now), None, "{text}");
    }
}

/// Counted by hand: 12 L are spilled on the evening after the last fill. It is no service and no visit; what
/// is gone since the fill is the showers, what was drunk, and that; nothing is left unexplained.
#[test]
fn what_was_spilled_has_its_own_line() {
    let mut entries = journal();
    let out = Some(some(12, Unit::Litre));
    entries.push(Entry {
        id: EntryId { device: "b".into(), sequence: 1, salt: 0 },
        at: at(14, 20),
        recorded: at(14, 20),
        note: None,
        body: Body::Happened(Event::Empty { stock: "fresh".into(), amount: out, after: None }),
    });
    let standing = waystock::domain::journal::standing(&entries, now());
    let beliefs = learn(&rig(), &standing, now(), 1);
    let rig = rig();
    let basis = basis(&rig, &standing, &beliefs);
    let since = accounts(&basis, None)[0].since_service.clone().expect("it was filled");
    assert_eq!(since.account.from, at(14, 4));
    let parts = since.account.parts(Direction::Down);
    let spilled = parts.iter().find(|part| *part.what == Moves::Lost).expect("a part of its own");
    near(spilled.amount, 12.0, 1e-9);
    near(since.unexplained.expect("between empty and full"), 0.0, 0.5);
    assert_eq!(totals(&basis, at(0, 6)).visits.len(), 3);
}
