//! The journal searched, put back and remarked on; the line's memory; the rig changed.

use super::pressed;
use crate::tui::fixture::{press, send};
use crate::tui::update::update;
use crate::tui::{Effect, Host, Key, Message};
use std::sync::Arc;

/// Words, kinds, devices, days and what was taken back; counted by hand in the fixture's journal:
/// two emptyings 30 h before Thursday evening, on Wednesday, and two uses, the last on Thursday.
#[test]
fn the_journal_shows_what_is_searched_for() {
    let rows = [
        ("", 4),
        ("grey", 2),
        ("use", 2),
        ("empty phone", 1),
        ("dishes shower", 0),
        ("today", 1),
        ("yesterday", 3),
        ("since today", 1),
        ("until yesterday", 3),
        ("2 shower", 1),
        ("corrected", 0),
        ("twin?", 2),
        ("gone", 0),
        // By any name that the line knows, a day in the middle.
        ("gray water", 2),
        ("dirty water yesterday phone", 1),
        ("wash-up since today", 1),
        ("showered", 1),
    ];
    for (wanted, count) in rows {
        let (state, _) = pressed(&format!("e/{wanted}"));
        assert_eq!(state.listed.len(), count, "{wanted}");
    }
    let (mut state, folder) = pressed("e/shower<Enter>xx<Esc>/shower<Enter>");
    assert_eq!(state.listed.len(), 0);
    press(&mut state, &folder, "<Esc>/gone shower<Enter>");
    assert_eq!((state.listed.len(), state.chosen_row().unwrap().gone), (1, true));
    press(&mut state, &folder, "xx<Esc>");
    assert_eq!((state.listed.len(), state.rows().len()), (4, 4));
    press(&mut state, &folder, "/dishes<Enter>nwith Rita<Enter>");
    let said = folder.entries.lock().unwrap().last().unwrap().clone();
    assert_eq!(said.note.as_deref(), Some("with Rita"));
    assert_eq!(state.rows().len(), 4);
}

/// What is taken back stays in a searched list, under the cursor, so that `x` again puts it back and
/// nothing else; another search goes by what stands. The two showers stand between an emptying and the
/// dishes; the list of uses begins with them.
#[test]
fn what_is_taken_back_stays_under_the_cursor() {
    let (mut state, folder) = pressed("e/use<Enter>k");
    let chosen = |state: &crate::tui::State| {
        let row = state.chosen_row().unwrap();
        (row.words.clone(), row.gone, state.listed.len())
    };
    for (keys, gone) in [("xx", true), ("xx", false), ("xx", true), ("u", false)] {
        press(&mut state, &folder, keys);
        assert_eq!(chosen(&state), ("2 showers".to_string(), gone, 2), "after {keys}");
    }
    press(&mut state, &folder, "xx<Esc>/use<Enter>");
    assert_eq!(chosen(&state), ("dishes".to_string(), false, 1));
    press(&mut state, &folder, "/gone<Enter>xx");
    assert_eq!(chosen(&state), ("2 showers".to_string(), false, 1));
}

/// The first press asks. The third comes while the second is being written, and goes by what stands then. Two
/// lines are on top of the fixture's four entries; counted by hand.
#[test]
fn undo_pressed_again_at_once_takes_two_lines_back() {
    let (mut state, folder) = pressed("l3 dishes<Enter>lwork 1 h<Enter>");
    assert_eq!(state.rows().len(), 6);
    let mut press = || update(&mut state, Message::Key(Key::Char('u')));
    let [asks, first, second] = [press(), press(), press()];
    assert!(asks.is_empty() && second.is_empty(), "{asks:?} {second:?}");
    let [Effect::Append { purpose, drafts }] = &first[..] else { panic!("{first:?}") };
    let outcome = folder.append(drafts).map(|written| written.len());
    send(&mut state, &folder, Message::Appended { purpose: purpose.clone(), outcome });
    assert_eq!(state.rows().len(), 4);
}

#[test]
fn the_line_remembers_what_was_said() {
    let (mut state, folder) = pressed("l3 dishes<Enter>lwork 1 h<Enter>l");
    for (keys, text) in [
        ("<Up>", "work 1 h"),
        ("<Up>", "3 dishes"),
        ("<Down>", "work 1 h"),
        ("<Down>", ""),
        ("2 shower now", "2 shower now"),
        ("<EraseWord>", "2 shower "),
        ("<WordLeft>x", "2 xshower "),
    ] {
        press(&mut state, &folder, keys);
        assert_eq!(state.line.input.value(), text, "after {keys}");
    }
}

/// A change is foretold, taken back, kept on the way out, and never written over what somebody
/// else wrote meanwhile.
#[test]
fn the_rig_is_changed_on_screen_and_a_conflict_is_shown() {
    let (mut state, folder) = pressed("vasecond liquids<Enter>");
    assert!(state.rig.is_changed() && state.rig.after.is_some() && !state.evening.working);
    assert_eq!(state.rig.changes, ["stocks/liquids/capacity"]);
    let before = state.evening.answer.clone();
    press(&mut state, &folder, "<Backspace>");
    assert!(!state.rig.is_changed());
    press(&mut state, &folder, "astock firewood down 20 kg<Enter><Esc>v");
    assert!(state.rig.is_changed());
    assert_eq!(state.evening.answer, before, "what is not saved moves no other screen");

    let mut book = (*state.book.clone().unwrap()).clone();
    book.loaded.rig_text = state.rig.base.replace("two", "2");
    send(&mut state, &folder, Message::Loaded(Ok(Arc::new(book.clone()))));
    assert!(state.rig.elsewhere.is_some());
    let effects = send(&mut state, &folder, Message::Key(crate::tui::key::Key::Char('w')));
    assert!(!effects.iter().any(|effect| matches!(effect, Effect::WriteRig { .. })));
    press(&mut state, &folder, "<Backspace>");
    assert_eq!((state.rig.text.clone(), state.rig.is_changed()), (book.loaded.rig_text, false));
    press(&mut state, &folder, "<Enter><ClearLine>1x<Enter>");
    assert!(!state.rig.is_changed(), "what cannot be read is not taken");
}

/// What a person changes first stands first, words find the rest, and what is added is in sight.
#[test]
fn values_of_the_van_are_found_by_words() {
    let paths = |keys: &str| -> Vec<String> {
        pressed(keys).0.rig.fields.into_iter().map(|field| field.path).collect()
    };
    let all = paths("v");
    assert_eq!(all[..3], ["van", "crew", "show"]);
    assert_eq!(paths("v/grey gauge<Enter>"), ["stocks/grey/gauge"]);
    assert_eq!(paths("v/grey gauge<Enter><Esc>"), all);
    // A search begins anew, and a number that is typed takes the place of the one that is shown.
    assert_eq!(paths("v/grey gauge<Enter>/fresh capacity<Enter>"), ["stocks/fresh/capacity"]);
    let rig = pressed("v/fresh capacity<Enter>61<Enter>").0.rig;
    assert_eq!((rig.fields[0].value.as_str(), rig.changes.len()), ("61", 1));
    let with_stove = paths("v/grey gauge<Enter>aheat wood<Enter>");
    assert!(with_stove.contains(&"heating/sources/wood/burns".to_string()), "{with_stove:?}");
}
