//! What people say of an evening, in several moods: each line of `fixtures/lines/*.txt` is
//! understood as it was meant, or asked back with a line that would be saved. Never is it saved
//! as something else.
#![allow(clippy::disallowed_methods, reason = "it reads the demo and the lines")]
#![allow(missing_docs)]

#[path = "fixtures/said.rs"]
mod said;

use said::{Meaning, Said, is_meant, is_offered, lines};
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use waystock::domain::estimate::Estimate;
use waystock::domain::time::Moment;
use waystock::logline::{Vocabulary, echo, parse};
use waystock::store::data_folder::{Contents, DataFolder};
use waystock::store::real_disk::RealDisk;

fn demo() -> Contents {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let none = root.join("target/none");
    DataFolder::at(&root.join("demo"), &none, Arc::new(RealDisk)).load().unwrap()
}

/// The grey tank as half of these lines find it, in litres.
const HALF_FULL: Estimate = Estimate { mean: 59.0, sd: 4.0 };

/// What became of a line.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Fared {
    /// Saved as it was meant.
    Right,
    /// Rightly asked back, with what was meant among the offers.
    Offered,
    Asked,
    /// Rightly asked back, with an offer that means something else or none that means it.
    Misoffered,
    /// Asked back with no line that would be saved.
    Refused,
    Wrong,
}

fn fared(said: &Said, known: &Vocabulary) -> (Fared, String) {
    match parse(&said.line, known, said.now) {
        Ok(entries) => {
            let right = said.meanings.iter().any(|meaning| match meaning {
                Meaning::AskedBack(_) => false,
                Meaning::Entries(wanted) => is_meant(wanted, &entries, said.now),
            });
            let echo = echo(&entries, known, said.now);
            (if right { Fared::Right } else { Fared::Wrong }, echo)
        }
        Err(why) => {
            let ways: Vec<String> = why.instead.iter().map(|offer| offer.line.clone()).collect();
            let offers: Vec<_> = ways
                .iter()
                .map(|way| {
                    parse(way, known, said.now).unwrap_or_else(|why| {
                        panic!("{}: offers `{way}`, which is refused: {why}", said.line)
                    })
                })
                .collect();
            let mut asked = false;
            let wanted = said.meanings.iter().any(|meaning| match meaning {
                Meaning::AskedBack(wanted) => {
                    asked = true;
                    is_offered(wanted, &offers, said.now)
                }
                Meaning::Entries(_) => false,
            });
            let nothing = !said.line.contains(char::is_alphanumeric);
            let fared = match (ways.is_empty() && !nothing, wanted, asked) {
                (true, ..) => Fared::Refused,
                (false, true, _) => Fared::Offered,
                (false, false, true) => Fared::Misoffered,
                (false, false, false) => Fared::Asked,
            };
            (fared, format!("? {why} {ways:?}"))
        }
    }
}

/// The files of lines.
fn files() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/lines");
    let files = std::fs::read_dir(root).unwrap().map(|e| e.unwrap().path());
    let mut files: Vec<_> = files.filter(|file| !file.ends_with("README.txt")).collect();
    files.sort();
    files
}

/// The words of the demo when a line is said: nothing is planned then.
fn words(contents: &Contents, now: Moment) -> Vocabulary {
    let entries = contents.journal.entries.iter().filter(|entry| entry.at <= now);
    let known = Vocabulary::at(&contents.rig, &entries.cloned().collect::<Vec<_>>(), now);
    known.with_levels([("grey".to_string(), HALF_FULL)])
}

#[test]
fn lines_mean_what_their_speakers_meant() {
    let contents = demo();
    let zone = contents.rig.zone(Moment::default());
    let (mut count, mut told, mut rows) = ([0usize; 6], String::new(), Vec::new());
    for file in files() {
        for said in lines(&std::fs::read_to_string(&file).unwrap(), zone) {
            let known = words(&contents, said.now);
            let (fared, became) = fared(&said, &known);
            count[fared as usize] += 1;
            if !matches!(fared, Fared::Right | Fared::Offered) {
                rows.extend(file.ends_with("phrases.txt").then(|| said.line.clone()));
                told += &format!("{fared:?}: {} => {} : {became}\n", said.line, said.written);
            }
        }
    }
    let all: usize = count.iter().sum();
    told += &format!("{all} lines: saved, offered, asked, misoffered, refused, wrong: {count:?}");
    std::io::stdout().write_all(told.as_bytes()).unwrap();
    assert!(all >= 400, "only {all} lines");
    assert_eq!(count[Fared::Wrong as usize], 0, "{told}");
    assert_eq!(count[Fared::Refused as usize], 0, "{told}");
    let right = count[Fared::Right as usize] + count[Fared::Offered as usize];
    assert!(right * 20 >= all * 19, "{told}");
    assert!(rows.is_empty(), "each row of the table says what its line means: {rows:#?}");
}

/// The numbers of a text that are written in digits, an `o` among them for a nought.
fn numbers(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !(c.is_ascii_digit() || ".,:oO".contains(c)));
    let words = words.map(|word| {
        word.trim_start_matches(|c: char| !c.is_ascii_digit()).trim_end_matches(['.', ',', ':'])
    });
    let words = words.filter(|word| !word.is_empty());
    words.map(|word| word.replace(',', ".").replace(['o', 'O'], "0")).collect()
}

/// What a number comes to, an hour in hours.
fn value(number: &str) -> Option<f64> {
    match number.split_once(':') {
        Some((hour, minute)) => {
            Some(hour.parse::<f64>().ok()? + minute.parse::<f64>().ok()? / 60.0)
        }
        None => number.parse().ok(),
    }
}

/// Whether a number of a line stands in an offer, or what becomes of it there: an hour, a share of what a
/// stock holds, minutes of an hour, so many for each of three aboard, who is left of them, or what another makes of it.
fn is_kept(number: &str, line: &str, offer: &str, holds: &[f64]) -> bool {
    let digits = |text: &str| text.replace(['.', ':'], "").trim_start_matches('0').to_string();
    let offered = numbers(offer);
    let own = digits(number);
    let long = own.len() > 2 && digits(&offered.concat()).contains(&own);
    if long || offered.iter().any(|other| digits(other) == own) {
        return true;
    }
    let values = |all: &[String]| all.iter().filter_map(|w| value(w)).collect::<Vec<f64>>();
    let (all, told) = (values(&numbers(line)), values(&offered));
    let near = |value: f64| told.iter().any(|n| (n - value).abs() < 0.006 * value.abs() + 1e-9);
    let Some(number) = value(number) else { return false };
    let share = |other: &f64| number.min(*other) / number.max(*other).max(1.0);
    let people = [number * 3.0, 3.0 - number];
    let one = [number + 12.0, number.fract() * 60.0, number / 60.0, number * 1000.0];
    let of_two = |other: &f64| {
        let apart = (number - other).abs();
        let hours = [apart, 12.0 - apart, 24.0 - apart];
        let made = [number * other, number + other, share(other) * 100.0, number.trunc()];
        hours.into_iter().chain(made)
    };
    let held = |held: &f64| {
        let share = |other: &f64| share(other) * held;
        near(number / 100.0 * held) || all.iter().map(share).any(near)
    };
    one.into_iter().chain(people).chain(all.iter().flat_map(of_two)).any(near)
        || holds.iter().any(held)
}

/// Who puts a number right says that, or says that it is one or the other: the one is gone then.
const INSTEAD: &str = "no not or sorry wait oops nope between but instead";
/// Its groups of three digits are parted by blanks.
const ODOMETER: &str = "Odometer 48 212 → 48 259, all today";

#[test]
fn no_number_that_was_said_vanishes_from_an_offer() {
    let contents = demo();
    let zone = contents.rig.zone(Moment::default());
    let day = Moment::default().date_naive();
    let holds: Vec<f64> = contents.rig.parts_on(day).stocks.iter().map(|s| s.capacity).collect();
    let (mut gone, mut count) = (Vec::new(), 0);
    for said in files().iter().flat_map(|file| lines(&std::fs::read_to_string(file).unwrap(), zone))
    {
        let instead =
            |w: &str| INSTEAD.split(' ').any(|i| w.trim_matches(',').eq_ignore_ascii_case(i));
        if numbers(&said.line).is_empty()
            || said.line.split_whitespace().any(instead)
            || said.line == ODOMETER
        {
            continue;
        }
        let Err(why) = parse(&said.line, &words(&contents, said.now), said.now) else { continue };
        for offer in why.instead {
            for number in numbers(&said.line) {
                count += 1;
                if !is_kept(&number, &said.line, &offer.line, &holds) {
                    gone.push(format!("{number} of `{}` in `{}`", said.line, offer.line));
                }
            }
        }
    }
    assert!(count > 1000, "only {count} numbers");
    assert!(gone.is_empty(), "{gone:#?}");
}
