//! Two months of another program's rows, in and out again.

use crate::place::Place;

/// Sixty days of a couple's diary: whole days, so that every row is written the same way twice.
fn sixty_days() -> (String, usize) {
    let start =
        "2026-05-01T00:00:00+02:00".parse::<chrono::DateTime<chrono::FixedOffset>>().unwrap();
    let mut rows = vec!["at,kind,what,amount,unit,step,after,note,recorded".to_string()];
    let mut say = |day: i64, hour: i64, rest: String| {
        let at = start + chrono::Duration::hours(day * 24 + hour);
        rows.push(format!("{},{rest}", at.to_rfc3339()));
    };
    for day in 0..60 {
        if day % 5 == 0 {
            say(day, 9, "fill,fresh,,,,full,,".into());
            say(day, 9, "empty,grey,,,,,,".into());
            say(day, 9, "empty,liquids,,,,,,".into());
            say(day, 10, format!("drive,distance,{},km,,,,", 20 + day));
            say(day, 11, format!("camp,\"{}, {}\",,,,,,", 46.0 + 0.01 * day as f64, 8.5));
        }
        say(day, 13, "use,dishes,1,times,,,,".into());
        // Two showers at one moment stay two.
        say(day, 20, "use,shower,1,times,,,,".into());
        say(day, 20, "use,shower,1,times,,,,".into());
        say(day, 21, format!("level,fresh,{},%,0.25,,,", [100, 75, 75, 50, 25][day as usize % 5]));
        say(day, 21, format!("level,battery,{},%,,,,", 60 + (day * 7) % 40));
        say(day, 22, "day,closed,,,,,,".into());
    }
    let count = rows.len() - 1;
    (rows.join("\n") + "\n", count)
}

const AFTER: &str = "2026-06-29T23:00:00+02:00";

#[test]
fn sixty_days_come_in_once() {
    let place = Place::fresh("two-berth");
    let (text, rows) = sixty_days();
    let file = place.write("diary.csv", &text);
    let first = place.done(&["import", &file, "--at", AFTER]);
    assert_eq!(first, format!("imported {rows} of {rows} rows; 0 were there already\n"));
    let before = place.files();
    let second = place.done(&["import", &file, "--at", AFTER]);
    assert_eq!(second, format!("imported 0 of {rows} rows; {rows} were there already\n"));
    let piped = place.fed(&["import", "-", "--at", AFTER], &text);
    assert_eq!((piped.code, piped.out), (0, second));
    assert_eq!(place.files(), before, "twice adds nothing");
    let journal = place.run(&["journal", "--json", "--at", AFTER]).json();
    assert_eq!(journal["entries"].as_array().unwrap().len(), rows);
    assert_eq!(place.run(&["check"]).code, 0);
}

#[test]
fn what_goes_out_comes_in_elsewhere_with_the_same_forecast() {
    let place = Place::fresh("two-berth");
    let file = place.write("diary.csv", &sixty_days().0);
    place.done(&["import", &file, "--at", AFTER]);
    place.done(&["log", "3 showers, grey 60%", "--at", AFTER]);
    let out = place.done(&["export", "csv", "--at", AFTER]);
    let other = Place::fresh("two-berth");
    let copy = other.write("copy.csv", &out);
    other.done(&["import", &copy, "--at", AFTER]);
    assert_eq!(other.done(&["export", "csv", "--at", AFTER]), out);
    let ask = ["forecast", "--json", "--at", AFTER];
    assert_eq!(other.done(&ask), place.done(&ask));
}

#[test]
fn the_journal_teaches() {
    let place = Place::fresh("two-berth");
    let file = place.write("diary.csv", &sixty_days().0);
    place.done(&["import", &file, "--at", AFTER]);
    let why = place.run(&["why", "fresh", "--json", "--at", AFTER]).json();
    let learned = why["learned"].as_array().unwrap();
    let showers = learned.iter().find(|l| l["what"] == "showers per person-day").unwrap();
    let of = |side: &str, field: &str| showers[side][field].as_f64().unwrap();
    // Two a day for two people, whatever the rig file supposed.
    assert!((of("learned", "mean") - 1.0).abs() < 0.1, "{showers}");
    assert!(of("learned", "sd") < of("reference", "sd"), "{showers}");
    assert_eq!(showers["occurrences"], 120.0);
}

#[test]
fn an_outlook_comes_in_and_goes_out() {
    let place = Place::fresh("two-berth");
    let rows = "issued,date,low_c,high_c,sun_kwh_m2,cloud,place\n\
                2026-06-29T18:00:00+02:00,2026-06-30,11,19,4.5,0.4,\n\
                2026-06-29T18:00:00+02:00,2026-07-01,12,23,6.25,0.1,\n";
    let run = place.fed(&["import", "-", "--at", AFTER], rows);
    assert_eq!((run.code, run.err.as_str()), (0, ""), "{run:?}");
    assert_eq!(place.done(&["export", "outlook", "--at", AFTER]).lines().count(), 3);
    let csv = place.done(&["export", "csv", "--at", AFTER]);
    assert_eq!(csv.lines().count(), 1, "weather is a file of its own: {csv}");
}

#[test]
fn unknown_columns_are_told_and_ignored() {
    let place = Place::fresh("two-berth");
    let rows = "at,kind,what,amount,unit,mood\n2026-06-29T18:00:00+02:00,use,shower,1,times,fine\n";
    let run = place.fed(&["import", "-", "--at", AFTER], rows);
    assert_eq!(run.code, 0, "{run:?}");
    assert!(run.err.contains("mood"), "{run:?}");
    assert!(run.out.starts_with("imported 1 of 1 row"), "{run:?}");
}

#[test]
fn every_line_of_jsonl_is_an_object() {
    let place = Place::demo();
    for line in place.done(&["export", "jsonl"]).lines() {
        let value: serde_json::Value = serde_json::from_str(line).unwrap();
        assert!(value.is_object(), "{line}");
    }
}

/// Three evenings of a monitor, by its map: shown first, then taken once. A map that is wrong is a
/// fault of the folder.
#[test]
fn a_monitors_rows_come_in_by_a_map() {
    let place = Place::fresh("two-berth");
    let maps = "(format: 1, maps: [(name: \"monitor\", form: csv, at: \"t\", time: \"rfc3339\",
        readings: [(stock: \"battery\", from: \"soc\", unit: \"%\")])])";
    let file = place.data().join("maps.ron");
    std::fs::write(&file, maps).unwrap();
    assert_eq!(place.run(&["check"]).code, 0);
    let rows = "t,soc\n2026-06-27T21:00:00+02:00,70\n2026-06-28T21:00:00+02:00,55\n\
                2026-06-29T21:00:00+02:00,\n";
    let import = |more: &[&str]| {
        place.fed(&[&["import", "-", "--map", "monitor", "--at", AFTER], more].concat(), rows)
    };
    let before = place.files();
    let dry = import(&["--dry-run"]).out;
    assert!(dry.contains("  line 2: Sat 27 Jun 21:00  battery 70%\n"), "{dry}");
    assert!(dry.ends_with(
        "would import 2 readings of the 2 in 3 rows: 2 of them tell something, 0 were there \
         already\n"
    ));
    assert_eq!(place.files(), before, "a dry run saves nothing");
    assert!(import(&[]).out.starts_with("imported 2 readings of the 2 in 3 rows"));
    let again = import(&["--json"]).json();
    assert_eq!((&again["added"], &again["already_there"]), (&0.into(), &2.into()));
    assert_eq!(place.fed(&["import", "-", "--map", "other"], rows).code, 66);
    std::fs::write(&file, maps.replace("soc", "soc\", unit: \"gal\", from: \"")).unwrap();
    let check = place.run(&["check"]);
    assert_eq!(check.code, 1);
    assert!(check.out.contains("maps.ron:2:"), "{}", check.out);
    assert_eq!(import(&[]).code, 65);
}
