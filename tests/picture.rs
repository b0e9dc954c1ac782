//! The screen in README is what the program draws on the demo, to the letter.
//!
//! `WAYSTOCK_WRITE_PICTURE=1 cargo test --test picture` puts the present screen there.
#![allow(clippy::disallowed_methods, reason = "a test reads and writes README")]
#![allow(missing_docs)]

use ratatui::Terminal;
use ratatui::backend::TestBackend;
use std::path::Path;
use std::sync::Arc;
use waystock::cli::Session;
use waystock::dashboard::Stage;
use waystock::domain::time::Moment;
use waystock::forecast::answer::Options;
use waystock::store::real_disk::RealDisk;
use waystock::tui::Theme;
use waystock::tui::asking::News;
use waystock::tui::host::Host;
use waystock::tui::journal_view::JournalView;
use waystock::tui::message::Message;
use waystock::tui::state::State;
use waystock::tui::update::update;
use waystock::tui::view::{Seen, view};

const BEGINS: &str = "<!-- the horizon, drawn by tests/picture.rs -->\n```text\n";
const ENDS: &str = "```\n";

#[test]
fn readme_shows_the_real_screen() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let path = root.join("README.md");
    let readme = std::fs::read_to_string(&path).unwrap();
    let from = readme.find(BEGINS).expect("README has no picture") + BEGINS.len();
    let to = from + readme[from..].find(ENDS).expect("README's picture does not end");
    let screen = horizon(root, 80, 24);
    if std::env::var_os("WAYSTOCK_WRITE_PICTURE").is_some() {
        let written = format!("{}{screen}{}", &readme[..from], &readme[to..]);
        std::fs::write(&path, written).unwrap();
        return;
    }
    assert_eq!(
        &readme[from..to],
        screen,
        "README's picture is old: WAYSTOCK_WRITE_PICTURE=1 cargo test --test picture"
    );
}

/// The first screen of the demo.
fn horizon(root: &Path, width: u16, height: u16) -> String {
    let [demo, none] = ["demo", "target/none"].map(|name| root.join(name));
    let session = Session::of(&demo, &none, Arc::new(RealDisk), Moment::default());
    let stage = Stage::new(session, Moment::default);
    let loaded = stage.load().expect("the demo can be read");
    let options = Options::at(loaded.rig.evening.expect("the demo names its evening"));
    let known = stage.learn(&loaded.rig, &loaded.entries, options.at, options.seed);
    let answer = stage.evening(&loaded.rig, &known, options, &|_| true);
    let book = Arc::new(JournalView::new(loaded, options.at));
    let mut state = State::new(options, Theme::default());
    update(&mut state, Message::Loaded(Ok(book)));
    let generation = state.evening.generation;
    let news = News::Evening(Arc::new(answer));
    update(&mut state, Message::Answered { generation, news });
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    let mut seen = Seen::default();
    terminal.draw(|frame| view(&state, &mut seen, frame)).unwrap();
    let buffer = terminal.backend().buffer().clone();
    let mut screen = String::new();
    for y in 0..height {
        let line: String = (0..width).map(|x| buffer[(x, y)].symbol()).collect();
        screen.push_str(line.trim_end());
        screen.push('\n');
    }
    screen
}
