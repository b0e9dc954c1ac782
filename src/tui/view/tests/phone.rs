//! What a phone shows: nothing is out of reach there.

use super::{Seen, shown, text, view};
use crate::tui::fixture::{Memory, press};
use crate::tui::{State, Theme};
use ratatui::Terminal;
use ratatui::backend::TestBackend;

/// All that is read by whoever goes a page down, so many times: a page goes as far as the screen says.
fn read_on(mut state: State, pages: usize) -> String {
    let mut all = String::new();
    for _ in 0..pages {
        let mut seen = Seen::default();
        let mut terminal = Terminal::new(TestBackend::new(40, 20)).unwrap();
        terminal.draw(|frame| view(&state, &mut seen, frame)).unwrap();
        all += &text(&state, 40, 20);
        state.page = seen.page;
        press(&mut state, &Memory::new(), "]");
        state.scroll = state.scroll.min(seen.last);
    }
    all.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Keys that lead to a screen, how often one goes on, and what stands at its end.
#[test]
fn a_page_or_two_down_stands_all_that_a_phone_has_no_room_for() {
    let rows = [
        ("", 2, "v battery: may be nearly empty that night (1 chance in 10 or more)"),
        ("jjjjo", 2, "rig file 0.75 ±0.10"),
        ("bjjj<Tab>", 2, "liquids: said"),
        ("b<Tab><Tab>", 8, "How it is counted"),
    ];
    for (keys, pages, end) in rows {
        let read = read_on(shown(Theme::default(), keys), pages);
        assert!(read.contains(end), "{keys}: {read}");
    }
}

#[test]
fn a_phone_shows_every_value_of_a_stretch() {
    let screen = text(&shown(Theme::default(), "s"), 40, 20);
    let values = ["nights", "from", "fill first", "people", "guests", "place", "dishes  usual 1.2"];
    for value in values.into_iter().chain(["work    usual 3.4 h"]) {
        assert!(screen.contains(value), "{value}: {screen}");
    }
}

/// Half a phone has 19 columns: a marker, a blank before the value, and one more.
#[test]
fn a_long_name_has_the_room_of_the_word_usual() {
    let mut state = shown(Theme::default(), "s");
    state.planner.values.habits[0].plural = "toilet solids".to_string();
    let screen = text(&state, 40, 20);
    assert!(screen.contains("toilet solids 0.9"), "{screen}");
}
