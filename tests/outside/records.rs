//! Two records of one thing.

use super::van::Van;
use chrono::Duration;
use waystock::domain::entry::{Body, Entry, EntryId, Event};
use waystock::domain::outlook::DayWeather;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::forecast::answer::Options;

const NOW: &str = "2026-06-04T20:00:00Z";
const HOME: &str =
    "latitude: 52.1, longitude: 5.2, zone: \"UTC\", typical: (low_c: 12, high_c: 20, cloud: 0.5)";

fn entry(device: &str, sequence: u64, recorded: &str, body: Body) -> Entry {
    let recorded: Moment = recorded.parse().expect("a moment");
    let at = NOW.parse().expect("a moment");
    Entry {
        id: EntryId { device: device.into(), sequence, salt: 1 },
        at,
        recorded,
        note: None,
        body,
    }
}

fn reading(percent: i64) -> Event {
    let reading =
        Quantity::new(Amount::from_milli(1000 * percent).expect("in range"), Unit::Percent);
    Event::Level { stock: "rice".into(), reading, step: Some(0.02) }
}

/// Two people put a slip right, each on a device of their own and not knowing of the other: what
/// was written later stands, whatever the devices are called and whichever file is read first. At
/// a kilo an hour, 30 % of 100 kg last 30 hours and 70 % last 70, give or take a reading's half.
#[test]
fn the_later_of_two_corrections_stands() {
    let parts = "stocks: [(name: \"rice\", runs: down, unit: \"kg\", capacity: 100)],\nbase: \
                 [(name: \"eating\", per: day, takes: [(stock: \"rice\", amount: 24, spread: \
                 0.001)])],\n";
    for (early, late) in [("alder", "zinnia"), ("zinnia", "alder")] {
        let first = entry("moss", 1, "2026-06-04T20:00:00Z", Body::Happened(reading(50)));
        let put_right = |device: &str, recorded: &str, percent: i64| {
            let body = Body::Correct { of: first.id.clone(), event: reading(percent) };
            entry(device, 1, recorded, body)
        };
        let all = [
            first.clone(),
            put_right(early, "2026-06-04T20:10:00Z", 70),
            put_right(late, "2026-06-04T20:20:00Z", 30),
        ];
        let lasts = |at: &str| Van::of(HOME, parts, at).with_journal(&all).hours("rice", "p50");
        // As known at half past eight, half an hour after the reading.
        assert!((lasts("2026-06-04T20:30:00Z") - 29.5).abs() < 1.5, "{early} {late}");
        // As known at a quarter past, when the later one did not exist.
        assert!((lasts("2026-06-04T20:15:00Z") - 69.75).abs() < 1.5, "{early} {late}");
    }
}

/// A stove and its diesel, two outlooks for the same days: what was issued later counts, in
/// whichever order their files came in. Frost burns far more than mild days (heat lost is in
/// proportion to the difference in temperature: 20 K against 4 K or none).
#[test]
fn the_outlook_issued_later_counts() {
    let outlook = |issued: &str, low: i32, high: i32| {
        let rows = (5..=9).map(|day| format!("{issued},2026-06-{day:02},{low},{high},,0.5\n"));
        format!("issued,date,low_c,high_c,sun_kwh_m2,cloud\n{}", rows.collect::<String>())
    };
    let frost = |issued: &str| outlook(issued, -5, 1);
    let mild = |issued: &str| outlook(issued, 14, 19);
    let (early, late) = ("2026-06-04T06:00:00Z", "2026-06-04T18:00:00Z");
    let lasts = |files: [&str; 2]| {
        let full =
            "at,kind,what,amount,unit,step,after\n2026-06-04T19:00:00Z,fill,diesel,,,,full\n";
        let van = Van::of(HOME, super::weather::STOVE, NOW).with_files(&[full, files[0], files[1]]);
        van.hours("diesel", "p50")
    };
    let (cold, warm) = (lasts([&mild(early), &frost(late)]), lasts([&frost(early), &mild(late)]));
    assert!(warm > 2.0 * cold, "{warm} h in mild days, {cold} h in frost");
    assert_eq!(lasts([&frost(late), &mild(early)]), cold, "the order of files counts");
    assert_eq!(lasts([&mild(late), &frost(early)]), warm, "the order of files counts");
}

/// What is issued tomorrow says nothing today: by an exchange file, and in the journal of a device
/// that wrote the row down before the hour that it names (a clock put right in between).
#[test]
fn an_outlook_does_not_count_before_it_was_issued() {
    let full = "at,kind,what,amount,unit,step,after\n2026-06-04T19:00:00Z,fill,diesel,,,,full\n";
    let issued = "2026-06-05T06:00:00Z";
    let rows = format!(
        "issued,date,low_c,high_c,sun_kwh_m2,cloud\n{issued},2026-06-05,-9,-3,,0.5\n\
         {issued},2026-06-06,-9,-3,,0.5\n"
    );
    let hours_at = |files: &[&str], at: &str| {
        Van::of(HOME, super::weather::STOVE, at).with_files(files).hours("diesel", "p50")
    };
    let without = hours_at(&[full], NOW);
    assert_eq!(hours_at(&[full, &rows], NOW), without);
    let tomorrow = "2026-06-05T07:00:00Z";
    assert!(hours_at(&[full, &rows], tomorrow) < hours_at(&[full], tomorrow) - 6.0);

    let rig = super::weather::rig(HOME);
    let written = |issued: &str| {
        let row = |days: i64| {
            let issued: Moment = issued.parse().expect("a moment");
            let day = DayWeather {
                issued,
                date: issued.date_naive() + Duration::days(days),
                low_c: Some(-9.0),
                high_c: Some(-3.0),
                sun_kwh_m2: None,
                cloud: Some(0.5),
                place: None,
            };
            let body = Body::Happened(Event::Outlook(day));
            entry("moss", days as u64 + 1, "2026-06-04T19:30:00Z", body)
        };
        let entries: Vec<Entry> = (0..4).map(row).collect();
        let options = Options::at(NOW.parse().expect("a moment"));
        waystock::forecast::evening(&rig, &entries, options).forecast
    };
    let none = {
        let options = Options::at(NOW.parse().expect("a moment"));
        waystock::forecast::evening(&rig, &[], options).forecast
    };
    assert_eq!(written(issued).next.hours, none.next.hours);
    assert!(written("2026-06-04T19:00:00Z").next.hours.p50 < none.next.hours.p50);
}
