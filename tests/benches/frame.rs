//! How long a key takes until it is on the screen, with a journal of 60,000 entries (eight years at
//! twenty a day): the line is read anew at every letter. One thread, 120 by 40; a frame of a 60 Hz
//! screen is 16.7 ms.
//!
//! `cargo bench --bench frame`; what it prints first are the middle and the 99th percentile.

#![allow(missing_docs, reason = "criterion's macros make public items")]
#![allow(clippy::disallowed_macros, reason = "a bench prints what it measured")]
#![allow(clippy::disallowed_methods, reason = "a bench measures time")]

use chrono::Duration;
use criterion::{Criterion, criterion_group, criterion_main};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use std::path::Path;
use std::sync::Arc;
use std::time::Instant;
use waystock::domain::entry::{Body, Draft, Entry, EntryId, Event};
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;
use waystock::forecast::answer::Options;
use waystock::store::{rig_file, templates};
use waystock::tui::asking::News;
use waystock::tui::host::{Host, Loaded};
use waystock::tui::journal_view::JournalView;
use waystock::tui::key::Key;
use waystock::tui::message::Message;
use waystock::tui::state::State;
use waystock::tui::theme::Theme;
use waystock::tui::update::update;
use waystock::tui::view::{Seen, view};

const ENTRIES: u64 = 60_000;

/// A folder with eight years of journal.
struct Long {
    now: Moment,
}

impl Host for Long {
    fn now(&self) -> Moment {
        self.now
    }

    fn load(&self) -> Result<Loaded, String> {
        let text = templates::find("two-berth").ok_or("no such template")?.text;
        let rig = rig_file::parse(text, Path::new("rig.ron")).map_err(|f| format!("{f:?}"))?;
        let amount =
            |milli, unit| Quantity::new(Amount::from_milli(milli).unwrap_or_default(), unit);
        let entry = |n: u64| {
            let at = self.now - Duration::minutes(72 * (ENTRIES - n) as i64);
            let event = match n % 4 {
                0 => Event::Fill { stock: "fresh".into(), amount: None, after: None },
                1 => Event::Use { activity: "dishes".into(), count: amount(1000, Unit::Time) },
                _ => Event::Use { activity: "shower".into(), count: amount(1000, Unit::Time) },
            };
            let id = EntryId { device: "phone".into(), sequence: n, salt: n as u32 };
            Entry { id, at, recorded: at, note: None, body: Body::Happened(event) }
        };
        Ok(Loaded {
            rig,
            rig_text: text.to_string(),
            entries: (0..ENTRIES).map(entry).collect(),
            findings: Vec::new(),
            device: "phone".into(),
            read_only: None,
            places: Vec::new(),
        })
    }

    fn append(&self, _: &[Draft]) -> Result<Vec<Entry>, String> {
        Err("nothing is kept here".into())
    }
}

struct Typing {
    state: State,
    seen: Seen,
    terminal: Terminal<TestBackend>,
}

impl Typing {
    fn begin() -> Typing {
        let host = Long { now: "2026-05-04T21:30:00+02:00".parse().expect("a valid time") };
        let options = Options { lives: 400, ..Options::at(host.now) };
        let loaded = host.load().expect("the template can be read");
        // What is learned of so long a past takes its time, and is no part of typing.
        let recent = &loaded.entries[loaded.entries.len() - 400..];
        let known = host.learn(&loaded.rig, recent, host.now, options.seed);
        let evening = Arc::new(host.evening(&loaded.rig, &known, options, &|_| true));
        let book = Arc::new(JournalView::new(loaded, host.now));
        let mut state = State::new(options, Theme::default());
        update(&mut state, Message::Loaded(Ok(book)));
        let generation = state.evening.generation;
        let news = News::Evening(evening);
        update(&mut state, Message::Answered { generation, news });
        let terminal = Terminal::new(TestBackend::new(120, 40)).expect("a screen in memory");
        Typing { state, seen: Seen::default(), terminal }
    }

    /// A key, and the screen drawn anew.
    fn press(&mut self, key: Key) {
        update(&mut self.state, Message::Key(key));
        let (state, seen) = (&self.state, &mut self.seen);
        self.terminal.draw(|frame| view(state, seen, frame)).expect("a screen in memory");
    }
}

/// A line of words that are known.
const PLAIN: &str = "yesterday 18:00: emptied grey, filled fresh 40 L, 2 showers, drove 2 h";
/// A line that is asked back at nearly every letter.
const TOLD: &str = "We had two showers after the walk and then a small wash of the dishes, water says \
    about 64 I think, Nell had hers too, so grey must be near the top and tomorrow we look for a drain";

/// Opens the line, types, and clears it.
fn keys(text: &'static str) -> impl Iterator<Item = Key> + Clone {
    std::iter::once(Key::Char('l')).chain(text.chars().map(Key::Char)).chain([Key::ClearLine])
}

fn frame(c: &mut Criterion) {
    let mut typing = Typing::begin();
    let screens = [
        ("the first screen", None, PLAIN),
        ("the first screen, in a long line that is asked back", None, TOLD),
        ("the journal", Some('e'), PLAIN),
    ];
    for (screen, key, text) in screens {
        key.into_iter().for_each(|key| typing.press(Key::Char(key)));
        let mut took: Vec<f64> = Vec::new();
        for key in keys(text).cycle().take(3000) {
            let begun = Instant::now();
            typing.press(key);
            took.push(begun.elapsed().as_secs_f64() * 1e3);
        }
        took.sort_by(f64::total_cmp);
        let at = |share: f64| took[(share * (took.len() - 1) as f64) as usize];
        println!("{screen}: middle {:.2} ms, p99 {:.2} ms", at(0.5), at(0.99));
        typing.press(Key::Esc);
        let mut next = keys(text).cycle();
        c.bench_function(&format!("a key on {screen}"), |b| {
            b.iter(|| next.next().into_iter().for_each(|key| typing.press(key)));
        });
        typing.press(Key::Esc);
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(50);
    targets = frame
}
criterion_main!(benches);
