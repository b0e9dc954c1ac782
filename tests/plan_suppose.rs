//! What a question supposes changes what it is asked of, and nothing else.

#[path = "fixtures/plan_rig.rs"]
mod plan_rig;

use chrono::Duration;
use plan_rig::{basis, evening, now, rig};
use std::borrow::Cow;
use waystock::domain::entry::Event;
use waystock::domain::journal::Standing;
use waystock::domain::outlook::DayWeather;
use waystock::domain::place::TypicalWeather;
use waystock::domain::time::Moment;
use waystock::logline::{self, Vocabulary};
use waystock::plan::suppose::Suppose;
use waystock::plan::{Basis, Request, Stretch, stretch};

fn ask(suppose: &Suppose, nights: u32) -> Stretch {
    let (rig, known) = (rig(), evening(&rig()));
    let asked = basis(&rig, &known);
    let (standing, beliefs) = suppose.applied(&asked, now());
    let request = Request { lives: 300, ..Request::here_for(nights) };
    stretch::verdict(&Basis { standing: &standing, beliefs: &beliefs, ..asked }, &request).0
}

fn out(answer: &Stretch, stock: &str) -> f64 {
    answer.stocks.iter().find(|s| s.name == stock).unwrap().out
}

fn end(answer: &Stretch, stock: &str) -> f64 {
    answer.stocks.iter().find(|s| s.name == stock).unwrap().end
}

#[test]
fn nothing_supposed_changes_nothing() {
    let (rig, known) = (rig(), evening(&rig()));
    let (left, right) = Suppose::default().applied(&basis(&rig, &known), now());
    assert!(matches!((left, right), (Cow::Borrowed(_), Cow::Borrowed(_))));
}

#[test]
fn a_habit_is_as_often_as_it_is_said_to_be() {
    let (_, beliefs) = evening(&rig());
    let index = beliefs.mechanism.parts.activity("shower").unwrap().0;
    for wanted in [0.0, 0.4, 5.0] {
        let suppose = Suppose { habits: vec![(index, wanted)], ..Suppose::default() };
        let (rig, known) = (rig(), evening(&rig()));
        let (_, changed) = suppose.applied(&basis(&rig, &known), now());
        let daily = changed.habits[index].daily_amount(2.0);
        assert!((daily - wanted).abs() < 1e-6, "{daily} for {wanted}");
    }
    let none = Suppose { habits: vec![(index, 0.0)], ..Suppose::default() };
    let many = Suppose { habits: vec![(index, 5.0)], ..Suppose::default() };
    let (none, usual, many) = (ask(&none, 3), ask(&Suppose::default(), 3), ask(&many, 3));
    assert!(end(&none, "fresh") > end(&usual, "fresh"));
    assert!(end(&usual, "fresh") > end(&many, "fresh"));
    assert!(out(&many, "fresh") > out(&usual, "fresh"));
}

#[test]
fn guests_join_whoever_is_aboard_from_its_first_day_on() {
    let (rig, known) = (rig(), evening(&rig()));
    let from = now() + Duration::days(2);
    let suppose = Suppose { guests: 3.0, ..Suppose::default() };
    let (_, changed) = suppose.applied(&basis(&rig, &known), from);
    let aboard = |hours: i64| changed.timeline.aboard(from + Duration::hours(hours));
    assert_eq!((aboard(-1), aboard(1), aboard(400)), (2.0, 5.0, 5.0));
    assert!(end(&ask(&suppose, 3), "liquids") > end(&ask(&Suppose::default(), 3), "liquids"));
}

#[test]
fn supposed_cold_takes_more_diesel_than_supposed_warmth() {
    let weather = |low_c, high_c| Suppose {
        weather: Some(TypicalWeather { low_c, high_c, cloud: 0.5 }),
        ..Suppose::default()
    };
    let (cold, warm) = (ask(&weather(-9.0, -2.0), 4), ask(&weather(11.0, 18.0), 4));
    assert!(end(&cold, "diesel") + 2.0 < end(&warm, "diesel"));
}

/// Supposed weather stands in the place of what an outlook said of those days, and leaves what it
/// said of the days before.
#[test]
fn supposed_weather_stands_for_an_outlook() {
    let (rig, (mut standing, beliefs)) = (rig(), evening(&rig()));
    let from = now() + Duration::days(1);
    let frost = |days: i64| {
        let date = (now() + Duration::days(days)).date_naive();
        let (sun_kwh_m2, cloud, place) = (None, Some(0.2), None);
        let (issued, low_c, high_c) = (now(), Some(-20.0), Some(-9.0));
        let row = DayWeather { issued, date, low_c, high_c, sun_kwh_m2, cloud, place };
        Standing::supposed(now(), now(), Event::Outlook(row))
    };
    standing.extend([0, 1, 2].map(frost));
    let weather = Some(TypicalWeather { low_c: 12.0, high_c: 20.0, cloud: 0.5 });
    let suppose = Suppose { weather, ..Suppose::default() };
    let known = (standing, beliefs);
    let asked = basis(&rig, &known);
    let (changed, _) = suppose.applied(&asked, from);
    let told = |days: i64| -> Vec<f64> {
        let date = (now() + Duration::days(days)).date_naive();
        let rows = changed.iter().filter_map(|entry| match &entry.event {
            Event::Outlook(row) if row.date == date => row.low_c,
            _ => None,
        });
        rows.collect()
    };
    assert_eq!([0, 1, 2].map(told), [vec![-20.0], vec![12.0], vec![12.0]]);
}

#[test]
fn a_planned_camp_is_left_out_when_the_van_stays() {
    let (rig, mut known) = (rig(), evening(&rig()));
    let mut camp = known.0.last().unwrap().clone();
    camp.at = now() + Duration::days(1);
    camp.event = Event::Camp(waystock::domain::entry::Spot::Named("Adder lock".into()));
    known.0.push(camp);
    let stay = Suppose { stay: true, ..Suppose::default() };
    let (kept, changed) = stay.applied(&basis(&rig, &known), now());
    assert_eq!(kept.len() + 1, known.0.len());
    assert_eq!(changed.timeline.camp(now() + Duration::days(3)).name, "Reed bank");
}

#[test]
fn services_on_setting_out_are_plans_for_every_stock_but_nights() {
    let (rig, known) = (rig(), evening(&rig()));
    let at = now() + Duration::days(2);
    let suppose =
        Suppose { serviced: Some((at, "everything serviced".into())), ..Suppose::default() };
    let (entries, _) = suppose.applied(&basis(&rig, &known), now());
    let planned: Vec<String> = entries
        .iter()
        .filter(|entry| entry.at == at && entry.is_plan())
        .map(|entry| match &entry.event {
            Event::Fill { stock, .. } => format!("fill {stock}"),
            Event::Empty { stock, .. } => format!("empty {stock}"),
            other => format!("{other:?}"),
        })
        .collect();
    let all =
        ["fill fresh", "empty grey", "empty liquids", "fill battery", "fill diesel", "fill gas"];
    assert_eq!(planned, all);
}

/// Counted by hand from a Wednesday.
#[test]
fn days_ahead_are_named_as_people_do() {
    let now: Moment = "2026-08-05T14:00:00+02:00".parse().unwrap();
    let zone = rig().zone(now);
    let known = Vocabulary::new(&rig(), zone);
    let days = |text: &str| {
        let (begins, _) = logline::ahead(text, &known, now)?;
        Some((zone.date(begins) - zone.date(now)).num_days())
    };
    for (text, wanted) in [
        ("today", 0),
        (" Tomorrow ", 1),
        ("friday", 2),
        ("Tue", 6),
        ("wednesday", 7),
        ("2026-08-31", 26),
        ("3 days", 3),
        ("friday 15:00", 2),
    ] {
        assert_eq!(days(text), Some(wanted), "{text}");
    }
    for text in ["", "blursday", "2026-02-30"] {
        assert_eq!(days(text), None, "{text}");
    }
    let (begins, ends) = logline::ahead("friday 15:00", &known, now).unwrap();
    assert_eq!((begins, ends), (begins, begins));
}
