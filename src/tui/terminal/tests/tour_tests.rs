//! A tour of the whole program with real keys, from an empty folder on: what a household does in its
//! first days, on one terminal. The folder and all answers are the real ones; the clock stands.

use super::{PATIENCE, Stage};
use crate::domain::Moment;
use crate::start::{Environment, run};
use chrono::Duration as Days;
use clap::Parser;
use portable_pty::{CommandBuilder, PtySize};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

static DIR: OnceLock<PathBuf> = OnceLock::new();

/// In the folder of the tour: the next evening has come.
const LATER: &str = "later";

/// The first evening, or a little later on the next.
fn clock() -> Moment {
    let is_later = DIR.get().is_some_and(|dir| dir.join(LATER).exists());
    let hours = if is_later { 26 } else { 0 };
    let first: Moment = "2026-09-03T20:20:00+01:00".parse().expect("a valid time");
    first + Days::hours(hours)
}

/// What this machine remembers of the folder goes with it.
pub fn move_home(kind: &str, command: &mut CommandBuilder) {
    if let Some(dir) = kind.strip_prefix("tour ") {
        command.env("HOME", dir);
        command.env("XDG_STATE_HOME", format!("{dir}/state"));
    }
}

/// The program on the folder; run in a process of its own.
pub fn child(dir: &Path) -> u8 {
    DIR.get_or_init(|| dir.to_path_buf());
    let environment = Environment {
        clock,
        dir: Some(dir.join("van")),
        no_color: Some("1".into()),
        term: None,
        locale: None,
        at_terminal: true,
        zone: || Some("Europe/Lisbon".into()),
    };
    run(Parser::parse_from(["waystock", "--lives", "200"]), environment)
}

impl Stage {
    /// Lets the clock go on, and has the folder read again.
    fn later(&mut self, dir: &Path) {
        let mark = tempfile::Builder::new().prefix(LATER).rand_bytes(0).tempdir_in(dir);
        _ = mark.unwrap().keep();
        self.press("r");
    }

    /// The screen, once nothing has been drawn for a while.
    fn settled(&self) -> String {
        let drawn = || self.heard.lock().unwrap().bytes.len();
        loop {
            let before = drawn();
            std::thread::sleep(Duration::from_millis(150));
            if drawn() == before {
                return self.screen();
            }
        }
    }

    /// One key after the other, each once the one before is on the screen.
    fn types(&mut self, keys: &str) {
        for key in keys.chars() {
            let before = self.settled();
            self.press(&key.to_string());
            let until = Instant::now() + PATIENCE;
            while self.screen() == before {
                assert!(Instant::now() < until, "{key:?} does nothing on\n{before}");
                std::thread::sleep(Duration::from_millis(5));
            }
        }
    }

    /// The last line taken back: the first press says what that is, and a held key is no second one.
    fn undoes(&mut self) {
        self.twice("u");
    }

    /// A letter that writes: the first press asks.
    fn twice(&mut self, key: &str) {
        self.press(key);
        self.sees(&format!("{key} again "));
        std::thread::sleep(Duration::from_millis(800));
        self.press(key);
    }

    /// A line, read back before it is saved.
    fn logs(&mut self, line: &str) {
        self.press(&format!("l{line}"));
        self.sees("means: ");
        self.press("\r");
        self.sees("saved: ");
    }

    /// Back with Esc, once the screen shows no `above` any more.
    fn leaves(&mut self, above: &str) {
        self.press("\x1b");
        self.is_back(above, "Right open");
    }
}

/// Numbers that jump about, the same in every run (xorshift).
fn random(seed: &mut u64, below: u64) -> u16 {
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    (*seed % below) as u16
}

/// The questions as offered but for the crew, what the gauges show, and the first date.
fn settles_in(stage: &mut Stage) {
    stage.sees("Which of these is most like your van?");
    stage.types("\r\r3\r");
    while !stage.settled().contains("Enter writes rig.ron") {
        stage.types("\r");
    }
    stage.press("\r");
    stage.sees("Tonight 1 of");
    loop {
        let screen = stage.settled();
        if !screen.contains("Tonight ") {
            break;
        }
        let question = screen.lines().nth(1).unwrap_or_default();
        stage.types(match question {
            _ if screen.contains("per cent") => "80\r",
            lamps if lamps.contains("lamps") => "2\r",
            many if many.contains("how many") => "9\r",
            _ => "2\r",
        });
    }
    stage.sees("That was all");
    stage.types("\r");
    stage.sees("Enter closes the round");
    stage.types("\r");
    stage.sees("Go to a stop now");
}

/// The van, a number of it changed, foretold and saved; a line, taken back, and put back.
fn looks_around(stage: &mut Stage) {
    stage.press("v");
    stage.sees("stocks fresh capacity");
    while !stage.settled().contains("what it holds when full, in its unit; above 0") {
        stage.types("j");
    }
    stage.press("\r");
    stage.sees("value > ");
    stage.press("\x15");
    stage.types("131\r");
    stage.sees("1 change not saved");
    stage.sees("With these changes");
    stage.twice("w");
    stage.sees("saved: rig.ron, comments and all");
    stage.leaves("change  w save");
    stage.press("rv");
    stage.sees("131 L, line");
    assert!(!stage.screen().contains("not saved"), "{}", stage.screen());
    stage.leaves("change  w save");
    stage.logs("2 showers, dishes");
    stage.undoes();
    stage.sees("took back: ");
    stage.twice("U");
    stage.settled();
    stage.sees("put back: ");
}

/// A plan whose time passes is asked about, and answered in three ways, each undone but the last.
fn answers_a_plan(stage: &mut Stage, dir: &Path) {
    stage.logs("tomorrow 10:00: emptied grey");
    stage.later(dir);
    for key in ["y", "n"] {
        stage.sees("Was it done?");
        stage.settled();
        stage.twice(key);
        stage.sees("(u takes it back)");
        stage.settled();
        stage.undoes();
        // Until it is read again, the screen asks as before.
        stage.sees("took back ");
    }
    stage.sees("Was it done?");
    stage.settled();
    stage.press("c");
    stage.sees("means: ");
    stage.press("\r");
    stage.sees("saved instead of the plan");
}

/// The next evening's round, a stretch, the stops, each opened and left.
fn asks(stage: &mut Stage) {
    for (key, shown, above) in [
        ("d", "Tonight 1 of", "Tonight 1 of"),
        ("s", "To spare on the last morning", "Stretch without service"),
        ("p", "No place with services is known yet", "Stops of a trip"),
        ("i", "Where ", "By cause"),
    ] {
        stage.press(key);
        stage.sees(shown);
        stage.leaves(above);
    }
}

/// Any size, and back to the first.
fn is_resized(stage: &mut Stage) {
    let mut seed = 7011;
    let size = |rows, cols| {
        stage.master.resize(PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }).unwrap();
    };
    (0..500).for_each(|_| size(random(&mut seed, 70), random(&mut seed, 240)));
    size(24, 80);
    stage.press("?");
    stage.sees("On this screen");
    stage.leaves("On this screen");
}

#[test]
fn a_household_finds_its_way_and_leaves_the_terminal_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let mut stage = Stage::open(&format!("tour {}", dir.path().display()));
    settles_in(&mut stage);
    looks_around(&mut stage);
    answers_a_plan(&mut stage, dir.path());
    asks(&mut stage);
    is_resized(&mut stage);
    stage.press("\x1a");
    std::thread::sleep(Duration::from_millis(100));
    stage.goes_on();
    // Nothing happens, so nothing is written.
    while stage.settled().contains("working") {}
    std::thread::sleep(Duration::from_millis(1500));
    let before = stage.heard.lock().unwrap().bytes.len();
    std::thread::sleep(Duration::from_millis(1500));
    let after = stage.heard.lock().unwrap().bytes.len();
    assert_eq!(after, before, "an idle screen writes nothing");
    stage.press("q");
    stage.ends(0);
}
