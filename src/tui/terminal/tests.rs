//! The dashboard on a pseudo-terminal: this very test program runs it in a child process, so
//! that modes, signals and panics are the real ones.
#![allow(clippy::disallowed_methods, reason = "the child is told by its environment")]

mod tour_tests;

use crate::domain::{Draft, Entry, Moment, Rig};
use crate::forecast::hindsight::Settings;
use crate::forecast::lives::GoOn;
use crate::forecast::{Evening, Hindsight, Options};
use crate::plan::stops::Phase;
use crate::plan::{Onward, Progress, Trip, TripRequest};
use crate::start::Environment;
use crate::tui::fixture::Memory;
use crate::tui::host::{Asking, Known, Loaded};
use crate::tui::{Host, Theme, fixture};
use clap::Parser;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock};
use std::thread::ThreadId;
use std::time::{Duration, Instant};

const CHILD: &str = "WAYSTOCK_TEST_CHILD";

/// Run by the parent test below in a child process; by itself it does nothing.
#[test]
fn child() {
    let Ok(kind) = std::env::var(CHILD) else { return };
    if let Some(dir) = kind.strip_prefix("tour ") {
        std::process::exit(i32::from(tour_tests::child(Path::new(dir))));
    }
    if kind == "front door" {
        std::process::exit(i32::from(through_the_front_door()));
    }
    let folder =
        Slow { inner: Memory::new(), panics: kind == "panics", asked: AtomicUsize::new(0) };
    let options = Options::at(fixture::now());
    let look = Theme { ascii: true, colour: false, ..Theme::default() };
    let outcome = super::run(Arc::new(folder), options, look);
    // The exit code is all that the parent sees of it.
    std::process::exit(if outcome.is_ok() { 0 } else { 74 });
}

/// The program as `main` starts it, with a clock that fails on any thread but this one. It is read
/// by the thread that keeps the folder.
fn through_the_front_door() -> u8 {
    static MAIN: OnceLock<ThreadId> = OnceLock::new();
    MAIN.get_or_init(|| std::thread::current().id());
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    let environment = Environment {
        clock: || {
            assert_eq!(Some(&std::thread::current().id()), MAIN.get(), "a clock that fails");
            fixture::now()
        },
        dir: Some(demo),
        no_color: None,
        term: None,
        locale: None,
        at_terminal: true,
        zone: || None,
    };
    crate::start::run(Parser::parse_from(["waystock"]), environment)
}

/// The folder in memory, with forecasts that take their time, and a first search for stops and a
/// first look back that go on until nobody waits for them any more.
struct Slow {
    inner: Memory,
    panics: bool,
    asked: AtomicUsize,
}

impl Slow {
    /// Works for as long as somebody waits, the first time it is asked.
    fn work(&self, mut go_on: impl FnMut(usize) -> bool) -> bool {
        let first = self.asked.fetch_add(1, Ordering::Relaxed) == 0;
        let mut step = 0;
        while first && go_on(step) {
            std::thread::sleep(Duration::from_millis(5));
            step += 1;
        }
        !first
    }
}

impl Host for Slow {
    fn now(&self) -> Moment {
        self.inner.now()
    }
    fn load(&self) -> Result<Loaded, String> {
        self.inner.load()
    }
    fn append(&self, drafts: &[Draft]) -> Result<Vec<Entry>, String> {
        self.inner.append(drafts)
    }
    fn learn(&self, rig: &Rig, entries: &[Entry], now: Moment, seed: u64) -> Known {
        self.inner.learn(rig, entries, now, seed)
    }
    fn evening(&self, rig: &Rig, known: &Known, options: Options, go_on: GoOn) -> Evening {
        std::thread::sleep(Duration::from_millis(300));
        assert!(!self.panics, "a forecaster that fails");
        self.inner.evening(rig, known, options, go_on)
    }
    fn stops(
        &self,
        rig: &Rig,
        known: &Known,
        asking: &Asking<TripRequest>,
        tell: &(dyn Fn(Progress) -> Onward + Sync),
    ) -> Option<Trip> {
        let progress =
            Progress { step: Phase::Choosing, found: Some(9), least: Some(7), beside: None };
        let mut onward = Onward::GoOn;
        let done = self.work(|_| {
            onward = tell(progress);
            onward == Onward::GoOn
        });
        // Given up by a person, it settles for what there is.
        let trip = self.inner.stops(rig, known, asking, tell)?;
        let stopped = onward == Onward::Settle;
        (done || stopped).then_some(Trip { stopped, ..trip })
    }
    fn hindsight(
        &self,
        rig: &Rig,
        entries: &[Entry],
        settings: Settings,
        go_on: &(dyn Fn(usize, usize) -> bool + Sync),
    ) -> Option<Hindsight> {
        let done = self.work(|step| go_on(step.min(39), 40));
        done.then(|| self.inner.hindsight(rig, entries, settings, go_on)).flatten()
    }
}

/// A child on a terminal of 80 by 24.
struct Stage {
    master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    heard: Arc<Mutex<Heard>>,
    /// Number of screens that were there when something was last seen.
    seen: usize,
    before: String,
}

/// How long a slow and busy machine may take over a step; a fast one never waits so long.
const PATIENCE: Duration = Duration::from_secs(60);

/// Keys that follow others sooner count with them as pasted.
const PAUSE: Duration = Duration::from_millis(80);

/// What came from the child, and every screen that a terminal made of it on the way: a busy
/// machine may look away while one comes and goes.
struct Heard {
    bytes: Vec<u8>,
    terminal: vt100::Parser,
    screens: Vec<String>,
}

impl Heard {
    fn nothing() -> Heard {
        let cells = |count: u16| count.try_into().expect("not zero");
        let terminal = vt100::Parser::new(cells(24), cells(80), 0);
        Heard { bytes: Vec::new(), terminal, screens: Vec::new() }
    }

    fn take(&mut self, bytes: &[u8]) {
        self.bytes.extend_from_slice(bytes);
        for part in bytes.chunks(128) {
            self.terminal.process(part);
            self.screens.push(self.terminal.screen().contents());
        }
    }
}

/// This very test program, as a child of the given kind.
fn command(kind: &str) -> CommandBuilder {
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args(["--exact", "tui::terminal::tests::child", "--nocapture"]);
    command.env(CHILD, kind);
    command.env("TERM", "xterm");
    command.env("RUST_BACKTRACE", "0");
    tour_tests::move_home(kind, &mut command);
    command
}

impl Stage {
    fn open(kind: &str) -> Stage {
        let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let before = modes(&*pair.master);
        let child = pair.slave.spawn_command(command(kind)).unwrap();
        drop(pair.slave);
        let heard = Arc::new(Mutex::new(Heard::nothing()));
        let (mut reader, ears) = (pair.master.try_clone_reader().unwrap(), heard.clone());
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut bytes) {
                ears.lock().unwrap().take(&bytes[..count]);
            }
        });
        let keys = pair.master.take_writer().unwrap();
        Stage { master: pair.master, keys, child, heard, seen: 0, before }
    }

    /// As a hand does, which pauses before it goes on.
    fn press(&mut self, keys: &str) {
        std::thread::sleep(PAUSE);
        self.sends(keys);
    }

    fn sends(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    /// What a terminal would show now.
    fn screen(&self) -> String {
        self.heard.lock().unwrap().terminal.screen().contents()
    }

    /// Waits until the words are on the screen, or finds that they were since the last look.
    fn sees(&mut self, words: &str) {
        let until = Instant::now() + PATIENCE;
        loop {
            let heard = self.heard.lock().unwrap();
            let shown = heard.terminal.screen().contents();
            if shown.contains(words) || heard.screens[self.seen..].iter().any(|s| s.contains(words))
            {
                self.seen = heard.screens.len();
                return;
            }
            drop(heard);
            assert!(Instant::now() < until, "no '{words}' on\n{shown}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Waits until the screen has the words and no longer those of the one above it: two presses
    /// of Esc that arrive together would be one key.
    fn is_back(&mut self, above: &str, words: &str) {
        let until = Instant::now() + PATIENCE;
        loop {
            let shown = self.screen();
            if shown.contains(words) && !shown.contains(above) {
                self.seen = self.heard.lock().unwrap().screens.len();
                return;
            }
            assert!(Instant::now() < until, "no way back on\n{shown}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    fn signal(&self, name: &str) {
        let id = self.child.process_id().unwrap().to_string();
        let sent = std::process::Command::new("kill").args([&format!("-{name}"), &id]).status();
        assert!(sent.unwrap().success());
    }

    /// Sends the signal to go on until the screen is drawn anew: one that comes before the child
    /// has stopped is lost.
    fn goes_on(&mut self) {
        let until = Instant::now() + PATIENCE;
        let drawn = self.heard.lock().unwrap().screens.len();
        loop {
            self.signal("CONT");
            std::thread::sleep(Duration::from_millis(20));
            let heard = self.heard.lock().unwrap();
            if heard.screens[drawn..].iter().any(|screen| {
                ["Be at a stop ", "Go to a stop now"].iter().any(|head| screen.contains(head))
            }) {
                self.seen = heard.screens.len();
                return;
            }
            drop(heard);
            assert!(Instant::now() < until, "it does not go on:\n{}", self.screen());
        }
    }

    /// Waits for the end, and checks that nothing of ours is left switched on.
    fn ends(mut self, code: u32) -> String {
        let until = Instant::now() + PATIENCE;
        let status = loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                break status;
            }
            assert!(Instant::now() < until, "it does not end:\n{}", self.screen());
            std::thread::sleep(Duration::from_millis(10));
        };
        // The child has ended, but its last words may still be on their way to us.
        let left_on = |heard: &str| {
            let pairs = [("[?1049h", "[?1049l"), ("[?2004h", "[?2004l"), ("[?25l", "[?25h")];
            pairs.into_iter().find(|(on, off)| heard.rfind(off) <= heard.rfind(on))
        };
        let heard = loop {
            let heard = String::from_utf8_lossy(&self.heard.lock().unwrap().bytes).into_owned();
            if left_on(&heard).is_none() || Instant::now() >= until {
                break heard;
            }
            std::thread::sleep(Duration::from_millis(10));
        };
        assert_eq!(status.exit_code(), code, "{heard}");
        assert_eq!(left_on(&heard), None, "is left on");
        assert_eq!(modes(&*self.master), self.before, "modes differ");
        heard
    }
}

fn modes(master: &dyn MasterPty) -> String {
    format!("{:?}", master.get_termios().map(|t| (t.input_flags, t.output_flags, t.local_flags)))
}

#[test]
fn keys_are_heard_while_a_forecast_runs_and_a_save_is_confirmed() {
    let mut stage = Stage::open("slow");
    stage.sees("Working out the first forecast");
    stage.press("l2 shower");
    stage.sees("means: 2 shower");
    stage.press("\r");
    stage.sees("saved: 2 shower");
    stage.sees("Be at a stop by");
    stage.press("e");
    stage.sees("5 of 5");
    stage.press("\x1bq");
    // Esc alone and a key after it come apart only with a pause; q quits either way or is
    // taken for a chord, which does nothing.
    std::thread::sleep(Duration::from_millis(50));
    stage.press("q");
    let heard = stage.ends(0);
    for mouse in ["\x1b[?1000h", "\x1b[?1002h", "\x1b[?1003h", "\x1b[38;2", "\x1b[48;"] {
        assert!(!heard.contains(mouse), "{mouse:?}");
    }
}

/// The first search never ends by itself, so that an answer to the second one shows that the
/// first was given up.
#[test]
fn keys_are_heard_during_a_long_question_and_esc_gives_it_up() {
    for (key, busy, stopped, answer) in [
        ("p", "searching", "the best found until then", "2 stops carry you through 14 days"),
        ("b", "of 40 evenings", "stopped; r asks again", "inside the"),
    ] {
        let mut stage = Stage::open("slow");
        stage.sees("Be at a stop by");
        stage.press(key);
        stage.sees(busy);
        stage.press("l2 shower");
        stage.sees("means: 2 shower");
        stage.press("\x15\r");
        stage.press("?");
        stage.sees("On this screen");
        stage.press("\x1b");
        stage.is_back("On this screen", busy);
        stage.press("\x1b");
        stage.sees(stopped);
        stage.press("r");
        stage.sees(answer);
        stage.press("q");
        stage.ends(0);
    }
}

#[test]
fn a_changed_value_gives_up_the_search_before() {
    let mut stage = Stage::open("slow");
    stage.sees("Be at a stop by");
    stage.press("p");
    stage.sees("searching");
    stage.press("7");
    stage.sees("2 stops carry you through 7 days");
    stage.press("q");
    stage.ends(0);
}

#[test]
fn pasted_letters_are_no_keys() {
    let mut stage = Stage::open("slow");
    stage.sees("Be at a stop by");
    stage.press("\x1b[200~quxeUt\rq\x1b[201~");
    stage.sees("pasted text is ignored");
    stage.press("\x03");
    stage.ends(0);
}

/// A terminal that does not mark what is pasted sends it as keys, all at once.
#[test]
fn keys_that_come_all_at_once_save_nothing() {
    let mut stage = Stage::open("slow");
    stage.sees("Be at a stop by");
    stage.press("l2 shower\r1 dishes\ru");
    stage.sees("nothing is saved");
    stage.sees("2 shower, 1 dishes, u");
    stage.press("\x15");
    stage.press("\x1b");
    stage.press("e");
    stage.sees("4 of 4");
    stage.press("uUxq");
    stage.press("?");
    stage.sees("On this screen");
    stage.press("\x03");
    stage.ends(0);
}

#[test]
fn whatever_ends_it_the_terminal_comes_back() {
    for signal in ["TERM", "INT", "HUP"] {
        let mut stage = Stage::open("slow");
        stage.sees("Working out");
        stage.signal(signal);
        stage.ends(0);
    }
}

#[test]
fn a_panic_on_any_thread_gives_the_terminal_back_and_ends_the_program() {
    for kind in ["panics", "front door"] {
        let stage = Stage::open(kind);
        let heard = stage.ends(70);
        assert!(heard.contains("every entry that it called saved is in the folder"), "{heard}");
    }
}

/// Mouse reports and an answer about the cursor that count columns from 0 instead of 1, as no
/// terminal should: two of the mouse in the form of SGR, X10 and urxvt each.
#[test]
fn reports_that_count_from_0_harm_nothing() {
    let mut stage = Stage::open("slow");
    stage.sees("Be at a stop by");
    for bytes in ["\x1b[<0;0;0M", "\x1b[M   ", "\x1b[32;0;0M", "\x1b[0;0R"] {
        stage.press(bytes);
        stage.press("e");
        stage.sees("4 of 4");
        stage.press("\x1b");
        stage.is_back("4 of 4", "Be at a stop by");
    }
    stage.press("q");
    stage.ends(0);
}

/// A terminal that is closed sends a signal, and then takes nothing any more.
#[test]
fn a_closed_terminal_is_no_panic() {
    let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size).unwrap();
    let mut child = pair.slave.spawn_command(command("slow")).unwrap();
    drop(pair.slave);
    let mut reader = pair.master.try_clone_reader().unwrap();
    let (mut heard, mut bytes) = (Heard::nothing(), [0; 4096]);
    while !heard.terminal.screen().contents().contains("Be at a stop by") {
        let count = reader.read(&mut bytes).unwrap();
        heard.take(&bytes[..count]);
    }
    drop((reader, pair.master));
    let until = Instant::now() + PATIENCE;
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        assert!(Instant::now() < until, "it does not end");
        std::thread::sleep(Duration::from_millis(10));
    };
    // The signal may come first, or the news that nothing can be drawn any more.
    assert!([0, 74].contains(&status.exit_code()), "{status:?}");
}

#[test]
fn it_pauses_and_goes_on() {
    let mut stage = Stage::open("slow");
    stage.sees("Be at a stop by");
    for _ in 0..3 {
        stage.press("\x1a");
        let until = Instant::now() + PATIENCE;
        while modes(&*stage.master) != stage.before {
            assert!(Instant::now() < until, "still raw while paused");
            std::thread::sleep(Duration::from_millis(5));
        }
        stage.goes_on();
    }
    stage.signal("TSTP");
    std::thread::sleep(Duration::from_millis(50));
    stage.goes_on();
    stage.press("q");
    stage.ends(0);
}
