//! What a note says was not done.

use crate::domain::{Body, Event};
use crate::tui::fixture::{Memory, entry, press, send};
use crate::tui::round::Asked;
use crate::tui::{Message, Theme, fixture};

/// `no showers today` was said: how many there were is not asked any more that evening.
#[test]
fn what_a_note_says_there_was_none_of_is_not_asked() {
    for (note, asks) in [("sunny", true), ("no showers today", false)] {
        let folder = Memory::new();
        let note = Body::Happened(Event::Note(note.into()));
        folder.entries.lock().unwrap().push(entry("phone", 9, 1.0, note));
        let mut state = fixture::state(Theme::default());
        send(&mut state, &folder, Message::FolderChanged);
        press(&mut state, &folder, "d");
        let of_showers = |asked: &Asked| match asked {
            Asked::Use(of) => of.activity == "shower",
            Asked::Again(_, uses) => uses.iter().any(|of| of.activity == "shower"),
            _ => false,
        };
        let all = &state.round.questions;
        assert_eq!(all.iter().any(|q| of_showers(&q.asked)), asks, "{all:?}");
    }
}
