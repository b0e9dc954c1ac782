//! Pictures of every screen without colour, in the sizes of a phone, a usual window and a wide
//! one, and a sweep over all small sizes.

use super::{Seen, view};
use crate::tui::fixture::{self, Memory, press};
use crate::tui::state::State;
use crate::tui::theme::Look;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;

const SIZES: [(u16, u16); 3] = [(40, 20), (80, 24), (160, 50)];

fn draw(state: &State, width: u16, height: u16) -> Buffer {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| view(state, &mut Seen::default(), frame)).unwrap();
    terminal.backend().buffer().clone()
}

fn text(state: &State, width: u16, height: u16) -> String {
    let buffer = draw(state, width, height);
    let mut lines = String::new();
    for y in 0..height {
        let row: String = (0..width).map(|x| buffer[(x, y)].symbol()).collect();
        lines.push_str(row.trim_end());
        lines.push('\n');
    }
    lines
}

/// Screens and situations, each with the keys that lead there.
const SCREENS: [(&str, &str); 10] = [
    ("horizon", ""),
    ("stock", "o"),
    ("stock_battery", "jjjjo"),
    ("journal", "ekk"),
    ("help", "?"),
    ("cautions", "!"),
    ("line_echo", "l2 shower"),
    ("line_misread", "l2 shower, some dishes"),
    ("line_ways", "l2 sh<Tab>"),
    ("palette", ":jo"),
];

fn shown(look: Look, keys: &str) -> State {
    let mut state = fixture::state(look);
    press(&mut state, &Memory::new(), keys);
    state
}

fn snapshots(look: Look, suffix: &str) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../../../tests/snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let _bound = settings.bind_to_scope();
    for (name, keys) in SCREENS {
        let state = shown(look, keys);
        for (width, height) in SIZES {
            let name = format!("{name}_{width}x{height}{suffix}");
            insta::assert_snapshot!(name, text(&state, width, height));
        }
    }
}

#[test]
fn every_screen_without_colour() {
    snapshots(Look { ascii: false, colour: false }, "");
}

#[test]
fn every_screen_in_7_bit_text() {
    let look = Look { ascii: true, colour: false };
    snapshots(look, "_ascii");
    for (_, keys) in SCREENS {
        for (width, height) in SIZES {
            assert!(text(&shown(look, keys), width, height).is_ascii());
        }
    }
}

#[test]
fn no_size_is_too_small() {
    let looks = [Look { ascii: true, colour: true }, Look { ascii: false, colour: true }];
    for (n, (_, keys)) in SCREENS.iter().enumerate() {
        let state = shown(looks[n % 2], keys);
        for width in (0..=30).chain((31..=120).step_by(7)) {
            for height in (0..=12).chain((13..=50).step_by(6)) {
                draw(&state, width, height);
            }
        }
    }
}

#[test]
fn a_phone_shows_the_answer_in_its_first_three_lines() {
    let state = shown(Look::default(), "");
    let picture = text(&state, 40, 20);
    let top: Vec<&str> = picture.lines().take(3).collect();
    assert_eq!(top[1], "Stop by Sat 5 Sep 14:00, 9 in 10 safe");
    assert_eq!(top[2], "likely Sun 6 Sep 05:30, grey 7 of 10");
    assert_eq!(text(&state, 24, 3).trim(), "Stop by Sat 14:00");
}
