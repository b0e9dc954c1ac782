//! Of a coming day often one temperature is told, or the sky alone. Figures are by hand.

#[path = "fixtures/plan_rig.rs"]
#[allow(dead_code, reason = "each file of tests uses what it needs")]
mod plan_rig;

use chrono::Duration;
use plan_rig::{now, rig};
use waystock::domain::entry::Event;
use waystock::domain::journal::Standing;
use waystock::domain::outlook::DayWeather;
use waystock::domain::time::Moment;
use waystock::domain::timeline::Timeline;
use waystock::logline::{self, Vocabulary};
use waystock::weather::KnownDays;
use waystock::weather::ahead::{DayAhead, days};

/// A row of tomorrow, issued so many hours ago.
fn row(hours_ago: i64, ends: (Option<f64>, Option<f64>), cloud: Option<f64>) -> Standing {
    let issued = now() - Duration::hours(hours_ago);
    let date = now().date_naive() + Duration::days(1);
    let (low_c, high_c) = ends;
    let row = DayWeather { issued, date, low_c, high_c, sun_kwh_m2: None, cloud, place: None };
    Standing::supposed(issued, issued, Event::Outlook(row))
}

/// Tomorrow as it is then expected. The rig's season is 3 to 9 degrees.
fn tomorrow(written: &[Standing]) -> DayAhead {
    let (rig, at): (_, Moment) = (rig(), now());
    let timeline = Timeline::of(&rig, written);
    days(&rig, &KnownDays::of(written, at), &timeline, at, 2)[1]
}

fn ends(day: &DayAhead) -> (f64, f64) {
    let rounded = |degrees: f64| (degrees * 1e6).round() / 1e6;
    (rounded(day.sky.low_c), rounded(day.sky.high_c))
}

/// The other end lies as far off as it usually does, and is less sure; it says what it says.
#[test]
fn of_one_temperature_the_other_follows() {
    let usual = tomorrow(&[]);
    let apart = usual.sky.high_c - usual.sky.low_c;
    assert!((apart - 6.0).abs() < 1e-9, "{usual:?}");
    let [cold, warm] =
        [(Some(-4.0), None), (None, Some(12.0))].map(|e| tomorrow(&[row(3, e, None)]));
    assert_eq!((ends(&cold), ends(&warm)), ((-4.0, 2.0), (6.0, 12.0)));
    let both = tomorrow(&[row(3, (Some(-4.0), Some(2.0)), None)]);
    assert!(both.temperature_sd < cold.temperature_sd);
    assert!(cold.temperature_sd < usual.temperature_sd);
}

/// The sky alone leaves the temperatures and their spread as they were.
#[test]
fn of_the_sky_alone_no_temperature_follows() {
    let (usual, dull) = (tomorrow(&[]), tomorrow(&[row(3, (None, None), Some(1.0))]));
    assert_eq!((ends(&dull), dull.temperature_sd), (ends(&usual), usual.temperature_sd));
    assert!(dull.sky.clearness < usual.sky.clearness && !dull.sky.known);
}

/// A low that was told in the afternoon and a high in the evening are of one day; a newer row that says
/// all stands alone, and so does one that cannot hold beside the older.
#[test]
fn what_is_told_bit_by_bit_is_put_together() {
    let low = row(6, (Some(-4.0), None), Some(0.9));
    let high = row(1, (None, Some(3.0)), None);
    let day = tomorrow(&[low.clone(), high.clone()]);
    assert_eq!(ends(&day), (-4.0, 3.0));
    assert!(day.sky.sun_known, "the older row's sky is kept");
    // Whatever the order in which they stand.
    assert_eq!(ends(&tomorrow(&[high, low.clone()])), (-4.0, 3.0));
    let whole = row(1, (Some(1.0), Some(5.0)), None);
    assert_eq!(ends(&tomorrow(&[low.clone(), whole])), (1.0, 5.0));
    assert_eq!(ends(&tomorrow(&[low, row(1, (None, Some(-7.0)), None)])), (-13.0, -7.0));
}

/// Words for the sky count as the cloud that they mean, wherever they stand; what means two things of
/// one day, and how windy it is, adds no cloud.
#[test]
fn words_for_the_sky_are_cloud() {
    let rig = rig();
    let known = Vocabulary::at(&rig, &[], now());
    let cloud = |line: &str| {
        let said =
            logline::parse(line, &known, now()).unwrap_or_else(|no| panic!("{line}: {no:?}"));
        said.into_iter().find_map(|said| match said.event {
            Event::Outlook(row) => Some(row.cloud),
            _ => None,
        })
    };
    for (line, meant) in [
        ("tomorrow rain, 2 to 9 degrees", Some(0.95)),
        ("tomorrow minus 4 to 1, overcast", Some(0.95)),
        ("tomorrow sunny, high 16", Some(0.1)),
        ("clear tomorrow, low -7", Some(0.1)),
        ("tomorrow windy, 3 to 9", None),
    ] {
        assert_eq!(cloud(line), Some(meant), "{line}");
    }
    let offered = |line: &str| {
        let asked = logline::parse(line, &known, now()).err();
        asked.and_then(|asked| Some(asked.instead.first()?.line.clone()))
    };
    assert_eq!(offered("tomorrow sunny").as_deref(), Some("outlook tomorrow cloud 10%"));
    let both = offered("tomorrow sunny then rain, 3 to 9").unwrap();
    assert!(both.starts_with("outlook tomorrow 3 to 9, note"), "{both}");
}
