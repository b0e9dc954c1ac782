//! What people say of an evening, in several moods: each line of `fixtures/lines/*.txt` is
//! understood as it was meant, or asked back with a line that would be saved. Never is it saved
//! as something else.
#![allow(clippy::disallowed_methods, reason = "it reads the demo and the lines")]
#![allow(missing_docs)]

#[path = "fixtures/said.rs"]
mod said;

use said::{Meaning, Said, is_meant, is_offered, lines};
use std::io::Write as _;
use std::path::Path;
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

#[test]
fn lines_mean_what_their_speakers_meant() {
    let contents = demo();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/lines");
    let mut files: Vec<_> = std::fs::read_dir(root).unwrap().map(|e| e.unwrap().path()).collect();
    files.sort();
    let zone = contents.rig.zone(Moment::default());
    let (mut count, mut told, mut rows) = ([0usize; 6], String::new(), Vec::new());
    for file in files.iter().filter(|f| !f.ends_with("README.txt")) {
        for said in lines(&std::fs::read_to_string(file).unwrap(), zone) {
            // Nothing is planned when a line is said.
            let entries = contents.journal.entries.iter().filter(|entry| entry.at <= said.now);
            let entries: Vec<_> = entries.cloned().collect();
            let known = Vocabulary::at(&contents.rig, &entries, said.now);
            let known = known.with_levels([("grey".to_string(), HALF_FULL)]);
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
