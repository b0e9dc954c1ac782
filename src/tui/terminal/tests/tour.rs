//! A tour of the whole program with real keys, from an empty folder on: what a household does in its
//! first days, on one terminal. The folder and all answers are the real ones; the clock stands where
//! a file says.

use super::Stage;
use crate::domain::time::Moment;
use crate::start::{Surroundings, run};
use chrono::Duration as Days;
use clap::Parser;
use portable_pty::PtySize;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::Duration;

static CLOCK: OnceLock<PathBuf> = OnceLock::new();

/// So many hours after the first evening as the file says.
fn clock() -> Moment {
    let text = CLOCK.get().and_then(|path| std::fs::read_to_string(path).ok());
    let hours = text.and_then(|text| text.trim().parse().ok()).unwrap_or(0);
    let first: Moment = "2026-09-03T20:20:00+01:00".parse().expect("a valid time");
    first + Days::hours(hours)
}

/// The program on the folder; run in a process of its own.
pub fn child(dir: &Path) -> u8 {
    CLOCK.get_or_init(|| dir.join("clock"));
    let surroundings = Surroundings {
        clock,
        dir: Some(dir.join("van")),
        no_color: Some("1".into()),
        term: None,
        locale: None,
        at_terminal: true,
        zone: || Some("Europe/Lisbon".into()),
    };
    run(Parser::parse_from(["waystock", "--lives", "200"]), surroundings)
}

impl Stage {
    /// Lets the clock go on, and has the folder read again.
    fn later(&mut self, dir: &Path, hours: i64) {
        std::fs::write(dir.join("clock"), hours.to_string()).unwrap();
        self.press("r");
    }

    /// One key after the other, each by itself.
    fn types(&mut self, keys: &str) {
        for key in keys.chars() {
            self.press(&key.to_string());
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Back with Esc, once the screen shows no `above` any more.
    fn leaves(&mut self, above: &str) {
        self.press("\x1b");
        self.is_back(above, "Be at a stop by");
    }
}

/// Numbers that jump about, the same in every run (xorshift).
fn random(seed: &mut u64, below: u64) -> u16 {
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    (*seed % below) as u16
}

#[test]
fn a_household_finds_its_way_and_leaves_the_terminal_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let mut stage = Stage::open(&format!("tour {}", dir.path().display()));
    // The questions, all as offered but for the crew; then a first reading.
    stage.sees("Which of these is most like your van?");
    stage.types("\r\r3\r");
    stage.types(&"\r".repeat(11));
    stage.sees("How full is");
    stage.types("3");
    stage.leaves("Tonight 2 of");
    // The van: a number changed, what it would do, taken back.
    stage.types("v");
    stage.sees("stocks fresh capacity");
    stage.types("]\r\x15120\r");
    stage.types("\x7f");
    stage.leaves("stocks fresh");
    stage.types("l2 showers, dishes, fresh 60%\r");
    stage.sees("saved: ");
    stage.types("u");
    stage.sees("took back: ");
    stage.types("U");
    stage.sees("put back: ");
    // A plan whose time passes is asked about, and answered in three ways.
    stage.types("ltomorrow 10:00: emptied grey\r");
    stage.sees("saved: ");
    stage.later(dir.path(), 26);
    stage.sees("Was it done?");
    stage.types("y");
    stage.sees("done as planned");
    stage.types("u");
    stage.sees("Was it done?");
    stage.types("n");
    stage.sees("not done: ");
    stage.types("u");
    stage.sees("Was it done?");
    stage.types("c");
    stage.sees("instead > ");
    stage.types("\r");
    stage.sees("saved instead of the plan");
    // The next evening's round, a stretch, the stops.
    stage.types("d");
    stage.sees("Tonight 1 of");
    stage.leaves("Tonight 1 of");
    stage.types("s");
    stage.sees("To spare on the last morning");
    stage.leaves("Stretch without service");
    stage.types("p");
    stage.sees("No place with services is known yet");
    stage.leaves("Stops of a trip");
    // Any size, and back to the first.
    let mut seed = 7011;
    for _ in 0..500 {
        let (rows, cols) = (random(&mut seed, 70), random(&mut seed, 240));
        stage.master.resize(PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }).unwrap();
    }
    stage.master.resize(PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 }).unwrap();
    stage.types("?");
    stage.sees("On this screen");
    stage.leaves("On this screen");
    // Stopped, and gone on with.
    stage.press("\x1a");
    std::thread::sleep(Duration::from_millis(100));
    stage.goes_on();
    // Nothing happens, so nothing is written.
    std::thread::sleep(Duration::from_millis(1500));
    let before = stage.heard.lock().unwrap().bytes.len();
    std::thread::sleep(Duration::from_millis(1500));
    let after = stage.heard.lock().unwrap().bytes.len();
    assert_eq!(after, before, "an idle screen writes nothing");
    stage.types("q");
    stage.ends(0);
}
