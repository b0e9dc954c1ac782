//! Log lines as a table: what each means, written out by its echo, or which word is refused and
//! with what message. Adding a case is adding a line.

#[path = "fixtures/lines_refused.rs"]
mod lines_refused;
#[path = "fixtures/lines_understood.rs"]
mod lines_understood;
#[path = "fixtures/words_rig.rs"]
mod words_rig;

use chrono::Duration;
use lines_refused::REFUSED;
use lines_understood::UNDERSTOOD;
use proptest::prelude::*;
use waystock::domain::entry::{After, Body, ChargeSource, Entry, EntryId, Event, Spot};
use waystock::domain::estimate::Estimate;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::logline::{Misread, Understood, Vocabulary, complete, consequences, echo, parse};
use words_rig::{moment, now};

/// The words of the rig, with 31 L in the grey tank of 62.
fn vocabulary() -> Vocabulary {
    let half_full = Estimate { mean: 31.0, sd: 3.0 };
    let words = Vocabulary::new(&words_rig::rig(), words_rig::zone());
    words.with_levels([("grey".to_string(), half_full)])
}

#[test]
fn lines_that_are_understood() {
    let known = vocabulary();
    let mut other = Vec::new();
    for (line, expected) in UNDERSTOOD {
        match parse(line, &known, now()) {
            Err(why) => other.push(format!("{line}: {why}")),
            Ok(said) => {
                let echo = echo(&said, &known, now());
                if echo != *expected {
                    other.push(format!("{line}: {echo}\n    not {expected}"));
                }
                echoes(&said, &known);
            }
        }
    }
    assert!(other.is_empty(), "{}", other.join("\n"));
}

/// More than fits is asked about, as far as the level is known: of 88 L some 80 are there, so that 8
/// fit, with two standard deviations of 2 L and a fiftieth of the tank as tolerance: 13.8 L.
#[test]
fn more_than_fits_is_asked_about() {
    let words = Vocabulary::new(&words_rig::rig(), words_rig::zone());
    let known = words.clone().with_levels([("fresh".into(), Estimate { mean: 80.0, sd: 2.0 })]);
    let why = parse("filled fresh 14 L", &known, now()).expect_err("it cannot fit");
    let offers: Vec<&str> = why.instead.iter().map(|offer| offer.line.as_str()).collect();
    // What was put in is noted where the offer does not tell it.
    let all = ["filled fresh, note filled fresh 14 L", "filled fresh 14 L to 100%"];
    assert_eq!(offers, all, "{why}");
    // Yesterday it held as much or more, and nothing was told of it since. The remark that a plan
    // was written with says nothing of what was done instead.
    for line in ["filled fresh 24 L yesterday", "filled fresh 24 L (planned stop: Quay)"] {
        assert!(parse(line, &known, now()).is_err(), "{line}");
    }
    let since = Vocabulary::at(&words_rig::rig(), &[read(1, Unit::Percent)], now());
    let since = since.with_levels([("fresh".into(), Estimate { mean: 80.0, sd: 2.0 })]);
    let before = "filled fresh 24 L 3 days ago";
    assert!(parse(before, &since, now()).is_ok() && parse(before, &known, now()).is_err());
    let fits = [
        "filled fresh 13 L",
        "filled fresh 24 L (I looked twice)",
        "filled fresh 24 L to 100%",
        "fresh 10%, filled fresh 24 L",
    ];
    for line in fits {
        assert!(parse(line, &known, now()).is_ok(), "{line}");
    }
    assert!(parse("filled fresh 24 L", &words, now()).is_ok(), "nobody knows the level");
}

#[test]
fn lines_that_are_refused() {
    let known = vocabulary();
    let mut other = Vec::new();
    for (line, start, end, expected) in REFUSED {
        match parse(line, &known, now()) {
            Ok(said) => other.push(format!("{line}: saved as {}", echo(&said, &known, now()))),
            Err(why) => {
                if (why.start, why.end, why.to_string().as_str()) != (*start, *end, *expected) {
                    other.push(format!("{line} | {} {} | {why}", why.start, why.end));
                }
                way_out(line, &why, &known);
            }
        }
    }
    assert!(other.is_empty(), "{}", other.join("\n"));
}

/// Where anything is written, a refusal offers lines, and each of them would be saved.
fn way_out(line: &str, why: &Misread, known: &Vocabulary) {
    for offer in &why.instead {
        let said = parse(&offer.line, known, now());
        assert!(said.is_ok(), "{line}: {offer:?}: {}", said.unwrap_err());
        let Some((typed, cursor)) = &offer.typed else { continue };
        assert!(*cursor <= typed.chars().count(), "{line}: {offer:?}");
        let kept = parse(typed, known, now()).is_ok();
        assert_eq!(kept, offer.is_whole(), "{line}: {offer:?}");
    }
    let readable = line.contains(char::is_alphanumeric) && !line.contains(char::is_control);
    assert!(!why.instead.is_empty() || !readable, "{line}: {why}: no way out");
}

/// A number that nobody said is an example: a key writes the offer without it (counted by hand).
#[test]
fn no_key_writes_a_number_that_was_not_said() {
    let known = vocabulary();
    for (line, first, typed, cursor) in [
        ("fresh", "fresh 60%", "fresh ", 6),
        ("drove", "drove 2 h", "drove ", 6),
        ("shower, fresh", "shower, fresh 60%", "shower, fresh ", 14),
        ("plugged in yesterday", "shore 2 h yesterday", "shore  yesterday", 6),
        ("guests until sunday", "2 guests until sunday", " guests until sunday", 0),
        ("filled fresh 3/4", "filled fresh to 75%", "filled fresh to 75%", 19),
        ("drove 3", "drove 3 h", "drove 3 h", 9),
        ("twenty L diesel", "diesel 20 L", "diesel 20 L", 11),
    ] {
        let why = parse(line, &known, now()).unwrap_err();
        let offer = &why.instead[0];
        assert_eq!(offer.line, first, "{line}: {why}");
        assert_eq!(offer.typed, Some((typed.to_string(), cursor)), "{line}");
        assert_eq!(offer.is_whole(), typed == first, "{line}");
    }
}

/// The echo typed again gives the same entries, now and later that day (what happened "now"
/// happens at the later now); a plan whose hour has come is no longer taken for one.
fn echoes(said: &[Understood], known: &Vocabulary) {
    let line = echo(said, known, now());
    for later in [0, 45, 60 * 5 + 7].map(Duration::minutes) {
        let due = |said: &&Understood| said.at > now() && said.at <= now() + later;
        if let Some(plan) = said.iter().find(due) {
            let why = parse(&line, known, now() + later).expect_err(&line);
            assert!(why.message.contains("leave `planned` out"), "{line}: {why}: {plan:?}");
            continue;
        }
        let again = parse(&line, known, now() + later).unwrap_or_else(|why| {
            panic!("the echo `{line}` is refused at {}: {why}", now() + later)
        });
        let moved = said.iter().map(|said| moved(said.clone(), later)).collect::<Vec<_>>();
        assert_eq!(again, moved, "{line}");
    }
}

fn moved(mut said: Understood, later: Duration) -> Understood {
    if said.at == now() {
        said.at += later;
        if let Event::Outlook(row) = &mut said.event {
            row.issued += later;
        }
    }
    said
}

fn one(line: &str) -> Understood {
    let mut said = parse(line, &vocabulary(), now()).unwrap();
    assert_eq!(said.len(), 1, "{line}");
    said.remove(0)
}

fn quantity(milli: i64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_milli(milli).unwrap(), unit)
}

/// The entries themselves, so that the echo cannot hide what it leaves out.
#[test]
fn what_lines_become() {
    let litres = |milli| quantity(milli, Unit::Litre);
    let percent = |milli| quantity(milli, Unit::Percent);
    let used = |activity: &str, count| Event::Use { activity: activity.into(), count };
    let level = |stock: &str, reading, step| Event::Level { stock: stock.into(), reading, step };
    let rows = [
        ("2 rinses", used("shower", quantity(2000, Unit::Time))),
        ("work 90 min", used("work", quantity(90_000, Unit::Minute))),
        ("loo", used("toilet solids", quantity(1000, Unit::Use))),
        ("waste water 33.5 L", level("grey", litres(33_500), None)),
        ("fresh 3/4", level("fresh", percent(75_000), None)),
        ("liquids 3/4", level("liquids", percent(75_000), Some(0.25))),
        ("liquids half", level("liquids", percent(50_000), Some(0.25))),
        ("liquids full", level("liquids", percent(100_000), None)),
        ("grey 50% in steps of 5%", level("grey", percent(50_000), Some(0.05))),
        ("clean clothes 5", level("clean clothes", quantity(5000, Unit::Own("sets".into())), None)),
        (
            "filled diesel 20 L to full",
            Event::Fill {
                stock: "diesel".into(),
                amount: Some(litres(20_000)),
                after: Some(After::Full),
            },
        ),
        (
            "filled water to 4/5",
            Event::Fill {
                stock: "fresh".into(),
                amount: None,
                after: Some(After::Level(percent(80_000))),
            },
        ),
        ("filled fresh", Event::Fill { stock: "fresh".into(), amount: None, after: None }),
        (
            "emptied liquids to 10%",
            Event::Empty { stock: "liquids".into(), amount: None, after: Some(percent(10_000)) },
        ),
        ("drove 1 h 30 min", Event::Drive(quantity(1500, Unit::Hour))),
        (
            "charged from generator 0.8 kWh",
            Event::Charge {
                source: ChargeSource::Generator,
                amount: quantity(800, Unit::KilowattHour),
            },
        ),
        ("camp heron SPIT", Event::Camp(Spot::Named("Heron spit".into()))),
        ("camp at 55.1, -3.2", Event::Camp(Spot::At { latitude: 55.1, longitude: -3.2 })),
        ("day closed", Event::DayClosed),
        ("note a, b and (c)", Event::Note("a, b and (c)".into())),
    ];
    for (line, event) in rows {
        assert_eq!(one(line), Understood { at: now(), event, note: None }, "{line}");
    }
    let half = one("emptied grey about half");
    assert_eq!(half.note.as_deref(), Some("about half"));
    // Half of what was there, not half of the tank: 31 L / 2.
    let event = Event::Empty { stock: "grey".into(), amount: Some(litres(15_500)), after: None };
    assert_eq!(half.event, event);
}

#[test]
fn an_outlook_row_keeps_its_issue() {
    let Event::Outlook(row) = one("08:00, outlook friday 38 to 52 F, cloud 3/4, sun 1.2 kWh").event
    else {
        panic!("not an outlook")
    };
    assert_eq!(row.issued, moment("2026-05-13T08:00:00+02:00"));
    assert_eq!(row.date.to_string(), "2026-05-15");
    // (F - 32) / 1.8, to the tenth: 38 -> 3.3, 52 -> 11.1.
    assert_eq!((row.low_c, row.high_c), (Some(3.3), Some(11.1)));
    assert_eq!((row.cloud, row.sun_kwh_m2, row.place), (Some(0.75), Some(1.2), None));
}

/// `fresh 60` is in the unit of nearly every reading so far; where they differ, it is asked back.
#[test]
fn a_bare_level_is_in_the_unit_that_the_stock_is_read_in() {
    let bare = |litres: u64, percent: u64| {
        let units = (0..litres).map(|_| Unit::Litre).chain((0..percent).map(|_| Unit::Percent));
        let entries: Vec<Entry> = (1..).zip(units).map(|(n, unit)| read(n, unit)).collect();
        let known = Vocabulary::at(&words_rig::rig(), &entries, now());
        parse("fresh 60", &known, now()).map(|said| echo(&said, &known, now())).ok()
    };
    let said = |line: &str| Some(line.to_string());
    assert_eq!(bare(3, 0), said("fresh 60 L"));
    assert_eq!(bare(0, 1), said("fresh 60%"));
    assert_eq!(bare(1, 4), said("fresh 60%"));
    assert_eq!([bare(1, 3), bare(2, 2), bare(0, 0)], [None, None, None]);
}

/// The reading of half the tank that was written so many days ago.
fn read(days: u64, unit: Unit) -> Entry {
    let at = now() - Duration::days(days as i64);
    let half = if unit == Unit::Percent { 50_000 } else { 44_000 };
    let reading = quantity(half, unit);
    let event = Event::Level { stock: "fresh".into(), reading, step: None };
    Entry {
        id: EntryId { device: "a".into(), sequence: days, salt: 0 },
        at,
        recorded: at,
        note: None,
        body: Body::Happened(event),
    }
}

#[test]
fn guests_come_on_top_of_who_is_aboard() {
    let known = vocabulary().with_aboard(Amount::from_milli(3000).unwrap());
    let said = parse("2 guests until sunday", &known, now()).unwrap();
    let crew = |people: i64| Event::Crew(Amount::from_milli(people * 1000).unwrap());
    let noon = moment("2026-05-17T12:00:00+02:00");
    assert_eq!(said[0], Understood { at: now(), event: crew(5), note: None });
    assert_eq!(said[1], Understood { at: noon, event: crew(3), note: None });
}

/// Three are planned for the day after tomorrow where two live: the guest may be that one, and may be
/// another where the line says so. A guest of other days is one more.
#[test]
fn a_guest_who_is_planned_is_not_planned_twice() {
    let people = |days: i64, milli: i64| {
        let at = now() + Duration::days(days);
        let event = Event::Crew(Amount::from_milli(milli).unwrap());
        let id = EntryId { device: "a".into(), sequence: days.unsigned_abs(), salt: 0 };
        Entry { id, at, recorded: now(), note: None, body: Body::Happened(event) }
    };
    let known = Vocabulary::at(&words_rig::rig(), &[people(2, 3000), people(4, 2000)], now());
    let day = |days: i64| (now() + Duration::days(days)).format("%A").to_string().to_lowercase();
    let stay = format!("from {} until {}", day(1), day(4));
    let why = parse(&format!("1 guest {stay}"), &known, now()).expect_err("that one?");
    let offers: Vec<&str> = why.instead.iter().map(|offer| offer.line.as_str()).collect();
    assert_eq!(offers[0], format!("1 more guest {stay}"), "{why}");
    let said = parse(offers[0], &known, now()).unwrap();
    assert!(said.iter().any(|said| said.event == Event::Crew(Amount::from_milli(4000).unwrap())));
    let after = format!("1 guest from {} until {}", day(5), day(6));
    assert!(parse(&after, &known, now()).is_ok(), "{after}");
}

/// Two guests until Friday noon, then another count until Sunday: who has left does not come back,
/// and what was planned for Friday does not end it. Counted by hand: two live aboard.
#[test]
fn who_has_left_does_not_come_back() {
    let people = |day: i64, milli: i64| {
        let at = now() + Duration::days(day) - Duration::hours(6);
        let event = Event::Crew(Amount::from_milli(milli).unwrap());
        let id = EntryId { device: "a".into(), sequence: day.unsigned_abs(), salt: 0 };
        let recorded = now() - Duration::hours(6);
        Entry { id, at, recorded, note: None, body: Body::Happened(event) }
    };
    let known = Vocabulary::at(&words_rig::rig(), &[people(0, 4000), people(2, 2000)], now());
    let said = |line: &str| echo(&parse(line, &known, now()).unwrap(), &known, now());
    let friday = "planned friday 15 may 12:00";
    let sunday = "planned sunday 17 may 12:00";
    assert_eq!(
        said("aboard 1 until sunday"),
        format!("aboard 1, aboard 1 {friday}, aboard 2 {sunday}")
    );
    assert_eq!(
        said("a guest until sunday"),
        format!("aboard 5, aboard 3 {friday}, aboard 2 {sunday}")
    );
    assert_eq!(said("2 guests from saturday until sunday 18:00"), {
        let saturday = "aboard 4 planned saturday 16 may 12:00";
        format!("{saturday}, aboard 2 planned sunday 17 may 18:00")
    });
}

/// Europe/Stockholm: clocks went from 02:00 to 03:00 on 29 March 2026 and from 03:00 to 02:00 on
/// 26 October 2025 (IANA tzdata). A repeated hour is the first one unless its offset is written.
#[test]
fn repeated_and_skipped_hours() {
    let known = vocabulary();
    let rows = [
        ("shower 2026-03-29 02:30", "2026-03-29T03:30:00+02:00"),
        ("shower 2025-10-26 02:30", "2025-10-26T02:30:00+02:00"),
        ("shower 2025-10-26T02:30:00+01:00", "2025-10-26T02:30:00+01:00"),
    ];
    for (line, at) in rows {
        assert_eq!(one(line).at, moment(at), "{line}");
        echoes(&[one(line)], &known);
    }
    // An hour ago, just after the clocks went back, is the second half past two.
    let after = moment("2025-10-26T03:30:00+01:00");
    let said = parse("shower 1 h ago", &known, after).unwrap();
    assert_eq!(said[0].at, moment("2025-10-26T02:30:00+01:00"));
    assert_eq!(parse(&echo(&said, &known, after), &known, after).unwrap(), said);
}

/// After midnight, an hour of the evening before needs no day.
#[test]
fn a_bare_hour_is_the_last_one_within_half_a_day() {
    let known = vocabulary();
    let night = moment("2026-05-14T00:20:00+02:00");
    let said = parse("dishes 22:15", &known, night).unwrap();
    assert_eq!(said[0].at, moment("2026-05-13T22:15:00+02:00"));
    let why = parse("dishes 08:00", &known, night).unwrap_err();
    assert_eq!((why.start, why.end), (7, 12));
}

/// Gallons follow the rig's units, and a rig in US units types its outlook in Fahrenheit.
#[test]
fn units_follow_the_rig() {
    use waystock::domain::unit::UnitSystem;
    let rig = |show| waystock::domain::rig::Rig { show, ..words_rig::rig() };
    let imperial = Vocabulary::new(&rig(UnitSystem::Imperial), words_rig::zone());
    let said = parse("fresh 10 gal", &imperial, now()).unwrap();
    assert_eq!(echo(&said, &imperial, now()), "fresh 10 impgal");
    let us = Vocabulary::new(&rig(UnitSystem::Us), words_rig::zone());
    let said = parse("outlook tomorrow 41 to 50", &us, now()).unwrap();
    assert_eq!(echo(&said, &us, now()), "outlook 2026-05-14 41 to 50 F");
    // 80 F are 26.7 C to the tenth: what reads back as that, and no other number, is echoed.
    let said = parse("outlook tomorrow 50 to 80", &us, now()).unwrap();
    let echoed = echo(&said, &us, now());
    assert_eq!(echoed, "outlook 2026-05-14 50 to 80 F");
    assert_eq!(parse(&echoed, &us, now()).unwrap(), said);
    // By hand: 31 L less 18.93 L are 12.07 L, 3.19 gallons of 3.785 L.
    let half_full = Estimate { mean: 31.0, sd: 3.0 };
    let us = us.with_levels([("grey".to_string(), half_full)]);
    let said = parse("emptied grey 5 gal", &us, now()).unwrap();
    let told = consequences(("emptied grey 5 gal", now()), &said, &us);
    assert!(told[0].contains("5 gal out, about 3 gal left"), "{told:?}");
    let help = waystock::logline::help(&us).join("\n");
    assert!(help.contains("75 mi") && !help.contains("120 km"), "{help}");
}

#[test]
fn completion_offers_what_fits() {
    let known = vocabulary();
    let rows: [(&str, &[&str]); 13] = [
        ("sho", &["shower", "shore"]),
        ("2 sho", &["showers", "shower"]),
        ("filled ", &["fresh", "diesel", "battery"]),
        ("filled fresh t", &["to full", "to", "today", "tomorrow"]),
        ("emptied gr", &["grey"]),
        ("emptied was", &["waste water"]),
        ("emptied waste w", &["water"]),
        ("dishes, fr", &["fresh"]),
        ("camp he", &["Heron spit"]),
        ("camp heron s", &["spit"]),
        ("charged 2 h from ", &["shore", "generator"]),
        ("note sho", &[]),
        ("zzz", &[]),
    ];
    for (line, first) in rows {
        let offered = complete(line, line.chars().count(), &known);
        let begins = offered.iter().map(String::as_str).take(first.len()).collect::<Vec<_>>();
        assert_eq!(begins, *first, "{line}: {offered:?}");
        assert!(!first.is_empty() || offered.is_empty(), "{line}: {offered:?}");
    }
    // Only what stands before the cursor counts.
    assert_eq!(complete("fre, dishes", 3, &known), ["fresh"]);
}

/// Words of the grammar, of the rig, and of nothing.
const SOUP: &[&str] = &[
    "2",
    "3/4",
    "60%",
    "20 L",
    "4 min",
    "-1",
    "1,5",
    "1e9",
    "shower",
    "showers",
    "dishes",
    "fresh",
    "grey",
    "waste water",
    "work",
    "solids",
    "food",
    "filled",
    "emptied",
    "about",
    "half",
    "full",
    "empty",
    "to",
    "of",
    "drove",
    "2 h",
    "30 min",
    "120 km",
    "shore",
    "generator",
    "charged",
    "from",
    "camp",
    "Alder flats",
    "at",
    "55.1,-3.2",
    "\"a, b\"",
    "(slow)",
    "aboard",
    "4",
    "guests",
    "until",
    "sunday",
    "away",
    "day closed",
    "note",
    "outlook",
    "tomorrow",
    "3 to 11 C",
    "cloud",
    "sun",
    "2.4 kWh",
    "yesterday",
    "21:00",
    "08:15",
    "2026-05-02 09:30",
    "14 april",
    "2 h ago",
    "in",
    "quarters",
    "on friday",
    "next",
    "last",
    "monday",
    "this morning",
    "now",
    "and",
    ",",
    ",",
    ",",
    "ü",
    "½",
    "nights here",
    "in steps of 5%",
    "until 20 may 10:00",
    "2026-05-01T00:00:30Z",
];

fn no_panic(line: &str, known: &Vocabulary, at: Moment) -> Option<Vec<Understood>> {
    let characters = line.chars().count();
    complete(line, characters / 2, known);
    match parse(line, known, at) {
        Ok(said) => Some(said),
        Err(why) => {
            assert!(why.start <= why.end && why.end <= characters, "{line:?}: {why:?}");
            assert!(!why.message.is_empty());
            None
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { max_global_rejects: 9000, ..ProptestConfig::with_cases(2000) })]

    #[test]
    fn any_text_is_understood_or_refused(line in any::<String>(), byte in 0usize..40) {
        let known = vocabulary();
        no_panic(&line, &known, now());
        let opened = format!("{} {line}", SOUP[byte]);
        if let Some(said) = no_panic(&opened, &known, now()) {
            echoes(&said, &known);
        }
    }

    #[test]
    fn any_words_are_understood_or_refused(
        words in prop::collection::vec(prop::sample::select(SOUP), 1..9),
    ) {
        let known = vocabulary();
        if let Some(said) = no_panic(&words.join(" "), &known, now()) {
            echoes(&said, &known);
        }
    }

    /// What every row of the table says, one or two of them around an amount and a name, or none.
    #[test]
    fn any_words_of_the_table_are_understood_or_refused(
        drawn in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 1..3),
        amount in prop::sample::select(&["2", "60%", "20 L", "9 days", "2 h"][..]),
        name in prop::sample::select(&["", "", "fresh", "showers"][..]),
        at in 0usize..3,
    ) {
        let says = |row: &str| ["say ", "plan ", "hedge ", "ask "].iter().any(|head| row.starts_with(head));
        let rows = include_str!("../assets/words.txt").lines().filter(|row| says(row));
        let rows = rows.filter_map(|row| Some(row.split_once(": ")?.1.split(", ").collect()));
        let rows: Vec<Vec<&str>> = rows.collect();
        let mut words: Vec<&str> = drawn
            .iter()
            .map(|(row, word)| {
                let row = row.get(&rows);
                row[word.index(row.len())]
            })
            .collect();
        words.insert(at.min(words.len()), amount);
        words.push(name);
        let known = vocabulary();
        if let Some(said) = no_panic(words.join(" ").trim(), &known, now()) {
            echoes(&said, &known);
        }
    }

    /// Lines built to make sense, joined in every way.
    #[test]
    fn what_is_understood_echoes(
        things in prop::collection::vec(
            (0..UNDERSTOOD.len(), prop::sample::select(&["", "", " 08:15", " yesterday"][..])),
            1..5,
        ),
    ) {
        let known = vocabulary();
        let line = things.iter().map(|(at, time)| format!("{}{time}", UNDERSTOOD[*at].0));
        let line = line.collect::<Vec<_>>().join(", ");
        if let Some(said) = no_panic(&line, &known, now()) {
            echoes(&said, &known);
        }
    }

    /// What a thing means does not depend on what stands beside it: two lines in one are both of
    /// them, or asked back. (A time in front holds for the line, a note runs to its end, and the drive to
    /// a camp is of its time.)
    #[test]
    fn two_lines_in_one_mean_what_each_means(one in 0..UNDERSTOOD.len(), other in 0..UNDERSTOOD.len()) {
        let known = vocabulary();
        let said = |line: &str| parse(line, &known, now()).unwrap();
        let (one, other) = (UNDERSTOOD[one].0, UNDERSTOOD[other].0);
        let (first, second) = (said(one), said(other));
        let free = |said: &Understood| {
            said.at == now() && !matches!(said.event, Event::Note(_) | Event::Outlook(_))
        };
        prop_assume!(first.iter().all(free) && !one.contains(':'));
        prop_assume!(second.len() == 1 || second.iter().all(free));
        let to_camp = first.iter().any(|said| matches!(said.event, Event::Drive(_)))
            && second.iter().any(|said| matches!(said.event, Event::Camp(_)) && !free(said));
        prop_assume!(!to_camp);
        if let Ok(both) = parse(&format!("{one}, {other}"), &known, now()) {
            prop_assert_eq!(both, [first, second].concat(), "{}, {}", one, other);
        }
    }

    /// No moment of the clock breaks a line, however far off.
    #[test]
    fn any_clock_will_do(seconds in -400_000_000_000i64..400_000_000_000) {
        let at = chrono::DateTime::from_timestamp(seconds, 0).unwrap().fixed_offset();
        let known = vocabulary();
        for line in ["shower yesterday 21:00", "2 guests until 29 february", "dishes 2 h ago"] {
            no_panic(line, &known, at);
        }
    }
}

/// What is put right: the lines logged an hour before, each as one, then the line, and its echo;
/// `?` begins the first offer of what is asked back. Meanings counted by hand.
const MENDED: &[(&str, &str, &str)] = &[
    // How long is put right by how long, how far by how far.
    ("drove 20 km 35 min at noon", "no, drove 25 km", "correction: drove 25 km"),
    ("drove 20 km 35 min at noon", "no, drove 20 km at 2pm", "?drove 20 km at 2pm"),
    // A number far from what stands may be of a line that was refused since.
    ("2 showers", "no it was 5", "?correction: 5 showers"),
    ("grey 60%", "no, it was 40", "correction: grey 40% today 17:00 (was grey 60% today 17:00)"),
    (
        "fresh 60%",
        "sorry i meant grey not fresh",
        "correction: grey 60% today 17:00 (was fresh 60% today 17:00)",
    ),
    ("2 showers", "no, 3 showers", "correction: 3 showers today 17:00 (was 2 showers today 17:00)"),
    (
        "2 showers, dishes",
        "make that 3 showers",
        "correction: 3 showers today 17:00 (was 2 showers today 17:00)",
    ),
    (
        "grey 60%, fresh 50%",
        "not 60 but 40",
        "correction: grey 40% today 17:00 (was grey 60% today 17:00)",
    ),
    (
        "grey 60%, fresh 50%",
        "correction: grey 40%",
        "correction: grey 40% today 17:00 (was grey 60% today 17:00)",
    ),
    (
        "drove 3 h",
        "it was 2 h not 3 h",
        "correction: drove 2 h today 17:00 (was drove 3 h today 17:00)",
    ),
    ("2 showers, dishes", "scrap that", "taken back: today 17:00: 2 showers, dishes"),
    ("2 showers, dishes", "scrap the shower", "taken back: 2 showers today 17:00"),
    (
        "2 showers, dishes",
        "sorry, that was yesterday",
        "correction: yesterday 17:00: 2 showers, dishes (was today 17:00: 2 showers, dishes)",
    ),
    ("grey 60%, fresh 60%", "40 not 60", "?correction: grey 40%"),
    ("2 showers", "forget the shower", "?scrap: 2 showers"),
    ("fresh 60%", "sorry, grey 40%", "?grey 40%"),
    ("fresh 60%", "no showers today", "note no showers today"),
    ("fresh 60%", "actually fresh 50%", "fresh 50%"),
    ("fresh 60%", "oh and grey 40%", "grey 40%"),
    ("drove 120 km", "150 km not 120", "correction: drove 150 km today 17:00"),
    ("dishes", "no, shower", "correction: shower today 17:00"),
    ("dishes", "not dishes but shower", "correction: shower today 17:00"),
    ("fresh 60%", "no, 60 L", "correction: fresh 60 L today 17:00"),
    ("fresh 3/4", "no, half", "correction: fresh 50% today 17:00"),
    ("work 3 h", "no, 90 min", "correction: work 90 min today 17:00"),
    ("2 showers, 3 dishes", "not 3 but 2", "correction: 2 wash-ups today 17:00"),
    ("2 showers, 2 dishes", "no, 3", "?correction: 3 showers today 17:00"),
    ("fresh 60%, grey 40%", "make that 50", "?correction: fresh 50% today 17:00"),
    (
        "fresh 60%, 2 showers",
        "correction: fresh 50%, 3 showers",
        "correction: today 17:00: fresh 50%, 3 showers",
    ),
    ("2 showers", "no, only 1", "correction: shower today 17:00"),
    ("2 showers", "just 1", "correction: shower today 17:00"),
    ("fresh 60%", "90 not 60 for the water", "correction: fresh 90% today 17:00"),
    ("fresh 60%", "no it was liquids", "correction: liquids 60% today 17:00"),
    (
        "2 showers yesterday",
        "no, that was monday",
        "correction: 2 showers monday 11 may 21:00 (was 2 showers yesterday 21:00)",
    ),
    ("camp Alder flats", "that was yesterday", "correction: camp Alder flats yesterday 17:00"),
    ("fresh 60%", "scrap fresh 60%", "taken back: fresh 60% today 17:00"),
    ("2 showers, grey 50%", "scrap the grey", "taken back: grey 50% today 17:00"),
    ("2 showers yesterday", "scrap the shower from yesterday", "taken back: 2 showers yesterday"),
    ("2 showers, dishes", "forget that", "?scrap: 2 showers today 17:00"),
    ("fresh 60%", "no", "?note no"),
    ("2 showers", "it was tomorrow", "?note it was tomorrow"),
    ("2 showers", "oops 3 shwrs not 2", "correction: 3 showers"),
    ("dishes", "oops 3 showers not 2", "?3 showers"),
    // An hour that is said holds, too.
    (
        "drove 30 km",
        "no, drove 45 km at 2pm",
        "correction: drove 45 km today 14:00 (was drove 30 km today 17:00)",
    ),
    ("dishes 4", "dishes only 3 times", "?correction: 3 wash-ups"),
    ("battery 84", "48 and not 84", "correction: battery 48%"),
    ("battery 84", "48, not 84", "correction: battery 48%"),
    // Nothing was saved that it could be said of.
    ("fresh 60%", "sorry that was 40 km", "?drove 40 km"),
];

/// The record that a line writes at `at`, as the one of so many.
fn record(sequence: u64, at: Moment, body: Body) -> Entry {
    let id = EntryId { device: "a".into(), sequence, salt: sequence as u32 };
    Entry { id, at, recorded: at, note: None, body }
}

/// A correction that is scrapped leaves what it corrected, as `undo` does.
#[test]
fn a_correction_is_taken_back_as_one_line() {
    use waystock::logline::heard;
    let at = now() - Duration::minutes(10);
    let drove = |km: i64| Event::Drive(quantity(km * 1000, Unit::Kilometre));
    let first = record(1, at, Body::Happened(drove(30)));
    let of = first.id.clone();
    let second = record(2, at, Body::Correct { of, event: drove(35) });
    let known = vocabulary().after(&[first, second.clone()], "a", now());
    let heard = heard("scrap that", &known, now()).unwrap();
    let drafts = heard.drafts(now());
    assert_eq!(drafts.len(), 1);
    assert_eq!(drafts[0].body, Body::Retract { of: second.id });
    let echo = heard.echo(&known, now());
    assert_eq!(echo, "taken back: drove 35 km today 17:50; again: drove 30 km today 17:50");
}

/// What was written a moment ago in the same words may be one line sent twice; a while later it is not.
#[test]
fn the_same_line_a_moment_later_is_pointed_at() {
    use waystock::logline::consequences;
    for (line, minutes, told) in
        [("2 showers", 1, true), ("2 showers", 9, false), ("fresh 60%", 1, false)]
    {
        let at = now() - Duration::minutes(minutes);
        let said = parse(line, &vocabulary(), at).unwrap();
        let entry = record(1, at, Body::Happened(said[0].event.clone()));
        let known = vocabulary().after(&[entry], "a", now());
        let again = parse(line, &known, now()).unwrap();
        let tells = consequences((line, now()), &again, &known);
        assert_eq!(
            tells.iter().any(|t| t.starts_with("already noted at 17:59")),
            told,
            "{tells:?}"
        );
    }
}

/// `at 5`, said of what was planned for half past four in the afternoon, is at five in the afternoon,
/// unless that is still to come.
#[test]
fn an_hour_told_of_a_plan_is_of_its_half_of_the_day() {
    let hour = |plan: &str, now: &str| {
        let known = vocabulary().about(moment(plan));
        parse("drove 19 mi at 5", &known, moment(now)).map(|said| said[0].at)
    };
    let plan = "2026-05-14T16:30:00+02:00";
    let told = hour(plan, "2026-05-14T18:00:00+02:00");
    assert_eq!(told, Ok(moment("2026-05-14T17:00:00+02:00")));
    let early = hour("2026-05-14T06:00:00+02:00", "2026-05-14T18:00:00+02:00");
    assert_eq!(early, Ok(moment("2026-05-14T05:00:00+02:00")));
    let open = hour(plan, "2026-05-14T16:45:00+02:00").unwrap_err();
    assert!(!open.instead.is_empty(), "{open}");
}

#[test]
fn the_next_line_puts_right_what_was_said_wrong() {
    use waystock::logline::{Heard, heard};
    let mut other = Vec::new();
    for (before, line, expected) in MENDED {
        let at = now() - Duration::hours(1);
        let said = parse(before, &vocabulary(), at).unwrap();
        let entry = |(n, said): (usize, Understood)| Entry {
            id: EntryId { device: "a".into(), sequence: n as u64, salt: 7 },
            at: said.at,
            recorded: at,
            note: said.note,
            body: Body::Happened(said.event),
        };
        let entries: Vec<Entry> = said.into_iter().enumerate().map(entry).collect();
        let known = vocabulary().after(&entries, "a", now());
        let became = match heard(line, &known, now()) {
            Ok(heard) => {
                let echo = heard.echo(&known, now());
                // The echo typed again does the same, while the journal is the same.
                if matches!(heard, Heard::Mended(_)) {
                    let again = waystock::logline::heard(&echo, &known, now());
                    assert_eq!(again.map(|h| h.drafts(now())), Ok(heard.drafts(now())), "{echo}");
                }
                echo
            }
            Err(why) => format!("?{}", why.instead[0].line),
        };
        if !became.starts_with(expected) {
            other.push(format!("{before} / {line}: {became}\n    not {expected}"));
        }
        // What another device wrote is never put right by such a line.
        let elsewhere = vocabulary().after(&entries, "b", now());
        let theirs = heard(line, &elsewhere, now());
        assert!(!matches!(theirs, Ok(Heard::Mended(_))), "{line}: {theirs:?}");
    }
    assert!(other.is_empty(), "{}", other.join("\n"));
}
