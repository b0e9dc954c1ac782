//! A saved stop followed: ticked, left out, moved, made elsewhere; each is an entry, and undone alone.

use super::pressed;
use crate::domain::Body;
use crate::tui::State;
use crate::tui::follow::Became;

/// Marks of the first stop's things, in their order, and what the status line says.
fn became(state: &State) -> String {
    let book = state.book.as_ref().unwrap();
    let mark = |became: &Option<Became>| match became {
        Some(Became::Left(_)) => '.',
        Some(Became::Done(_)) => 'x',
        Some(Became::Skipped(_)) => '-',
        None => '?',
    };
    let marks: String = state.follow.became(book).iter().map(|(_, became)| mark(became)).collect();
    let said = state.status.as_ref().map_or("", |status| status.text.as_str());
    format!("{marks} {said}")
}

/// The invented schedule's first stop is at Fonte do Sapal, with a drive and four services; Venda da
/// Moita sells food and diesel alone. Counted by hand.
#[test]
fn a_stop_is_ticked_thing_by_thing() {
    let rows = [
        ("", "..... "),
        (" ", "x.... done: drive 1.1 h (u takes it back)"),
        ("j ", ".x... done: empty grey (u takes it back)"),
        ("j  ", "..... not done yet: empty grey (u takes it back)"),
        (
            "j u",
            "..... took back the correction of: emptied grey (planned stop: Fonte do Sapal) (U puts it back)",
        ),
        ("jn", ".-... left out: empty grey (u takes it back)"),
        ("jn ", "..... planned again: empty grey (u takes it back)"),
        ("j x", "-x--- left out: 4 things (u takes it back)"),
        ("j xn", "-x--- nothing of it is left to be done"),
        ("wtomorrow 9:00<Enter>", "..... moved to Fri 4 Sep 09:00 (u takes it back)"),
        ("w8:00<Enter>", "..... moved to Fri 4 Sep 08:00 (u takes it back)"),
        ("wsunday<Enter>", "..... moved to Sun 6 Sep 11:02 (u takes it back)"),
        ("wtomorrow 9:00<Enter>u", "..... took back your change to the plan (U puts it back)"),
        (
            "wyesterday<Enter>",
            "..... expected a day and an hour ahead: tomorrow 11:00, friday, 16:30",
        ),
        (
            "avenda<Tab><Enter>",
            ".---- at Venda da Moita instead; not to be had there: empty grey, empty liquids, \
             empty solids, fill fresh (u takes it back)",
        ),
        ("anowhere<Enter>", "..... expected a known place that offers something; Tab completes it"),
        ("jc<ClearLine>2 shower<Enter>", ".x... saved instead of the plan: 2 showers"),
    ];
    for (keys, expected) in rows {
        let (state, _) = pressed(&format!("pwy<Esc>t{keys}"));
        assert_eq!(became(&state), expected, "after {keys}");
    }
    let (state, _) = pressed("t");
    assert!(became(&state).contains("no stop is planned"));
}

#[test]
fn another_place_is_written_and_the_rest_stays_planned() {
    let (state, folder) = pressed("pwy<Esc>t");
    let planned = state.follow.left(state.book.as_ref().unwrap()).unwrap();
    let (state, _) = pressed("pwy<Esc>tavenda<Tab><Enter>");
    let left = state.follow.left(state.book.as_ref().unwrap()).unwrap();
    assert_eq!((left.place.as_deref(), left.at), (Some("Venda da Moita"), planned.at));
    let written = folder.entries.lock().unwrap().len();
    let (state, folder) = pressed("pwy<Esc>tj ");
    let all = folder.entries.lock().unwrap();
    assert_eq!(all.len(), written + 1);
    let Body::Correct { of, .. } = &all[written].body else { panic!("{:?}", all[written]) };
    assert_eq!((of, all[written].at), (&state.follow.items[1], state.now));
}
