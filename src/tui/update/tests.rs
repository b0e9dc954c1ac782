//! `(state, keys, what a person would notice)`, with the folder in memory answering at once.

mod asking;
mod follow;
mod journal;
mod questions;
mod round;
mod undone;
mod words;

use super::*;

use crate::forecast::Options;
use crate::tui::asking::{Inquiry, News};
use crate::tui::fixture::{Memory, press, questions, send};
use crate::tui::hearing::{Completion, complete, understand};
use crate::tui::values::Field;
use crate::tui::{Context, Extent, JournalView, Purpose, Theme, fixture};
use std::sync::Arc;

/// What a person would notice, in a line.
fn noticed(state: &State) -> String {
    let screen = state.screen().map_or("Horizon".to_string(), |s| format!("{s:?}"));
    let stock = state.stocks()[state.selected()].name.clone();
    let line = match (state.line.open, state.line.input.value()) {
        (false, "") => String::new(),
        (false, draft) => format!(" draft:{draft}"),
        (true, text) => format!(" line:{text}|{}", state.line.input.cursor()),
    };
    let status = state.status.as_ref().map_or(String::new(), |s| format!(" says:{}", s.text));
    let asks = match state.screen() {
        Some(Context::Stretch) => stretch_asked(state),
        Some(Context::Stops | Context::Confirm) => trip_asked(state),
        Some(Context::LookBack) => {
            let page = state.lookback.page;
            format!(" {page:?} {} of {}", state.lookback.row + 1, state.lookback.evenings())
        }
        _ => String::new(),
    };
    format!("{screen} {stock} row{}{asks}{line}{status}", state.row)
}

fn stretch_asked(state: &State) -> String {
    use Field::*;
    let Some(answer) = &state.planner.asked.answer else { return String::new() };
    let values =
        [Nights, From, People, FillFirst, Sure].map(|f| state.planner.values.value(f).to_string());
    let verdict = crate::text::stretch::verdict(&answer.stretch);
    let verdict = verdict.split(" work").next().unwrap().replace(" do not", "");
    let asking = state.planner.asking(state.now, state.zone(), &state.options);
    let mut more = String::new();
    if let Some(place) = asking.request.place {
        more.push_str(&format!(" {place:?}"));
    }
    if asking.suppose != Default::default() {
        more.push_str(&format!(" {:?}", asking.suppose));
    }
    format!(" asks:{} {verdict}{more}", values.join(","))
}

fn trip_asked(state: &State) -> String {
    let Some(trip) = &state.trip.asked.answer else { return String::new() };
    let values = &state.trip.values;
    let values: Vec<String> =
        values.fields().iter().map(|f| values.value(*f).to_string()).collect();
    let values = values.join(",");
    let verdict = crate::text::stops::verdict(trip);
    format!(" asks:{values} {}", verdict.split(':').next().unwrap())
}

fn pressed(keys: &str) -> (State, Memory) {
    let mut state = fixture::state(Theme::default());
    let folder = Memory::new();
    press(&mut state, &folder, keys);
    (state, folder)
}

#[test]
fn keys_do_what_the_table_says() {
    let rows = [
        ("", "Horizon grey row0"),
        ("jj", "Horizon liquids row0"),
        ("jjk<Down><Up>", "Horizon fresh row0"),
        ("kkkk", "Horizon grey row0"),
        ("jjjjjjjjjjjjjj", "Horizon gas row0"),
        ("o", "Stock grey row0"),
        ("<Right>jj", "Stock liquids row0"),
        ("o<Esc>", "Horizon grey row0"),
        ("e", "Journal grey row3"),
        ("ek<Up>", "Journal grey row1"),
        ("eg", "Journal grey row0"),
        ("egG", "Journal grey row3"),
        ("e<PageUp>", "Journal grey row0"),
        ("o?<Esc>", "Stock grey row0"),
        ("oe?!<Esc><Esc><Esc><Esc><Esc>", "Horizon grey row3"),
        ("z", "Horizon grey row0 says:z does nothing here; ? lists the keys"),
        ("m", "Horizon grey row0 says:mouse on"),
        ("mm", "Horizon grey row0 says:mouse off"),
        // The line takes letters before anything else does.
        ("l2 quxe?", "Horizon grey row0 line:2 quxe?|7"),
        ("<Enter>1 x<Left><Backspace>", "Horizon grey row0 line:1x|1"),
        ("l2 sho<ClearLine>3", "Horizon grey row0 line:3|1"),
        ("lab<Home><Delete>c<End>d", "Horizon grey row0 line:cbd|3"),
        ("l2 sh<Tab>", "Horizon grey row0 line:2 showers|9"),
        ("l2 sh<Tab><Tab>", "Horizon grey row0 line:2 shower|8"),
        ("l2 sh<Tab><Tab><Tab>", "Horizon grey row0 line:2 showers|9"),
        ("l2 q<Tab>", "Horizon grey row0 line:note 2 q|8"),
        // Leaving empties the line; the words come back where they are wanted.
        ("l2 sho<Esc>", "Horizon grey row0 says:not saved; Up in the line brings the words back"),
        ("l2 sho<Esc>elw", "Journal grey row3 line:w|1"),
        ("l2 sho<Esc>el<Up>w", "Journal grey row3 line:2 show|6"),
        ("l<Esc>", "Horizon grey row0"),
        ("l<Enter>", "Horizon grey row0"),
        // What is not understood is not saved.
        (
            "lsome<Enter>",
            "Horizon grey row0 line:some|4 says:nothing saved: Tab: note some (not clear if this was done: write only what was done)",
        ),
        ("l2 shower<Enter>", "Horizon grey row0 says:saved: 2 showers"),
        // The palette.
        (":journal<Enter>", "Journal grey row3"),
        (":jou<Tab>", "Horizon grey row0 line:journal|7"),
        (":<Esc>", "Horizon grey row0"),
        (":<Enter>", "Horizon grey row0"),
        (":xyzzy<Enter>", "Horizon grey row0 line:xyzzy|5 says:no action is called xyzzy"),
        (":log 2 shower<Enter>", "Horizon grey row0 line:2 shower|8"),
        (":undo<Enter>", "Horizon grey row0 says:took back: dishes (U puts it back)"),
        // The planner.
        ("s", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights"),
        ("s-", "Stretch grey row0 asks:2,0,0,0,90 Yes, 2 nights"),
        ("s<Left><Left><Left><Right>", "Stretch grey row0 asks:2,0,0,0,90 Yes, 2 nights"),
        ("s12", "Stretch grey row0 asks:12,0,0,0,90 No, 12 nights"),
        ("sj2j95j+j3", "Stretch grey row0 asks:3,2,3,1,95 No, 3 nights"),
        ("s<Down><Down>-j+", "Stretch grey row0 asks:3,0,0,1,85 No, 3 nights"),
        ("s12<Backspace>", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights"),
        ("sjjjjjj+", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights Named(\"Fonte do Sapal\")"),
        (
            "sjjjjjjtven<Tab><Enter>",
            "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights Named(\"Venda da Moita\")",
        ),
        (
            "sjjjjjjt37.1, -8<Enter>",
            "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights At { latitude: 37.1, longitude: -8.0 }",
        ),
        (
            "sjjjjjjtAtlantis<Enter>",
            "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights line:Atlantis|8 says:expected a known place, or degrees north and east: 55.1, -3.2",
        ),
        ("st<Esc>", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights"),
        (
            "sjjjjjjj2jt-4<Enter>",
            "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights Suppose { weather: Some(TypicalWeather { low_c: -4.0, high_c: 12.0, cloud: 0.5 }), guests: 0.0, habits: [], stay: false, camps: [], serviced: None }",
        ),
        (
            "sjjjjj2jjjj-j0",
            "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights Suppose { weather: None, guests: 2.0, habits: [(1, 1.0), (2, 0.0)], stay: false, camps: [], serviced: None }",
        ),
        // The stops of a trip.
        ("p", "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days"),
        ("p7", "Stops grey row0 asks:7,0,90,0,0,0 2 stops carry you through 7 days"),
        ("p5<Esc>p7", "Stops grey row0 asks:7,0,90,0,0,0 2 stops carry you through 7 days"),
        (
            "p14j7j-j+jj2",
            "Stops grey row0 asks:14,7,85,1,0,2 No schedule is sure enough for 21 days; the best found",
        ),
        (
            "pt30<Enter><Backspace>",
            "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days",
        ),
        (
            "pt99<Enter>",
            "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days line:99|2 says:expected a number from 1 to 45",
        ),
        ("pw", "Confirm grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days"),
        (
            "pwq",
            "Confirm grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days says:q does nothing here; y or Esc",
        ),
        ("pwn", "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days"),
        ("pw<Esc><Esc>", "Horizon grey row0"),
        (
            "pwy",
            "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days says:saved: 9 planned entries (u takes all of them back)",
        ),
        (
            "pwyy",
            "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days says:y does nothing here; ? lists the keys",
        ),
        (
            "p21w",
            "Stops grey row0 asks:21,0,90,0,0,0 No schedule is sure enough for 21 days; the best found says:not saved: no schedule is sure enough for 21 days; ask for 20 days",
        ),
        (
            "px",
            "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days says:no schedule that was saved lies ahead",
        ),
        // The look back.
        ("b", "LookBack grey row0 Evenings 1 of 30"),
        ("bjjk", "LookBack grey row0 Evenings 2 of 30"),
        ("bG", "LookBack grey row0 Evenings 30 of 30"),
        ("b<PageDown><Tab>j", "LookBack grey row0 Evening 12 of 30"),
        ("b<PageDown><Tab><Tab>j", "LookBack grey row0 Stocks 11 of 30"),
        ("b<Right><Right><Left>", "Horizon grey row0"),
        ("bs<Esc><Esc>", "Horizon grey row0"),
        ("s2<Esc>", "Horizon grey row0"),
        ("os1<Esc>", "Stock grey row0"),
        (":stretch<Enter>", "Stretch grey row0 asks:3,0,0,0,90 No, 3 nights"),
        ("1", "Horizon grey row0 line:1|1"),
        // Undo, redo, taking back, correcting, twins.
        ("u", "Horizon grey row0 says:take back: dishes? u again does it"),
        // Words that were begun without the line.
        ("fzu", "Horizon grey row0 says:take back: dishes? u again does it"),
        ("ufu", "Horizon grey row0 says:take back: dishes? u again does it"),
        ("uu", "Horizon grey row0 says:took back: dishes (U puts it back)"),
        ("uuu", "Horizon grey row0 says:took back: 2 showers (U puts it back)"),
        ("uuUU", "Horizon grey row0 says:put back: dishes"),
        ("uuuUUU", "Horizon grey row0 says:put back: dishes"),
        ("uuuuu", "Horizon grey row0 says:this device has nothing to take back"),
        ("U", "Horizon grey row0 says:nothing to put back"),
        ("ekxx", "Journal grey row2 says:took back: 2 showers (u puts it back)"),
        ("ekxxx", "Journal grey row2 says:put back: 2 showers? x again does it"),
        ("ekxxxx", "Journal grey row2 says:put back: 2 showers"),
        ("ekxxu", "Journal grey row2 says:put back: 2 showers"),
        ("ekxxuu", "Journal grey row2 says:take back: dishes? u again does it"),
        ("ekxxuuu", "Journal grey row2 says:took back: dishes (U puts it back)"),
        ("ekxxUU", "Journal grey row2 says:put back: 2 showers"),
        ("ec", "Journal grey row3 line:dishes today 16:20|18"),
        ("ec<Esc>", "Journal grey row3"),
        ("ec<ClearLine>3 dishes<Enter>", "Journal grey row3 says:corrected: 3 dishes"),
        (
            "ec, 2 shower<Enter>",
            "Journal grey row3 line:dishes today 16:20, 2 shower|28 says:nothing saved: a correction is one thing; log the rest apart",
        ),
        // A letter that begins a word changes nothing: it asks, as undo does.
        ("ekx", "Journal grey row2 says:take back: 2 showers? x again does it"),
        ("ekxkx", "Journal grey row1 says:take back: emptied grey? x again does it"),
        ("uuU", "Horizon grey row0 says:put back: dishes? U again does it"),
        (
            "egt",
            "Journal grey row0 says:keep the one from phone, take back the one from tablet? t again does it",
        ),
        (
            "pwyx",
            "Stops grey row0 asks:14,0,90,0,0,0 2 stops carry you through 14 days says:take back 9 planned entries? x again does it",
        ),
        ("et", "Journal grey row3 says:no other entry looks like this one"),
        ("egtt", "Journal grey row0 says:kept the one from phone, took back the one from tablet"),
        ("egjtt", "Journal grey row0 says:kept the one from tablet, took back the one from phone"),
    ];
    for (keys, expected) in rows {
        assert_eq!(noticed(&pressed(keys).0), expected, "after {keys}");
    }
}

/// The last entry of the invented schedule, in words.
const LAST: &str = "drove 0.5 h (planned stop: Venda da Moita)";

#[test]
fn what_was_done_is_in_the_journal() {
    let rows = [
        ("", 4, "dishes"),
        ("l2 shower<Enter>", 5, "2 showers"),
        ("l2 shower, 1 dishes<Enter>", 6, "dishes"),
        ("l2 shower<Enter>uu", 4, "dishes"),
        ("l2 shower<Enter>uuUU", 5, "2 showers"),
        ("ekxx", 3, "dishes"),
        ("egtt", 3, "dishes"),
        ("ec<ClearLine>3 dishes<Enter>", 4, "3 dishes"),
        ("ec<ClearLine>3 dishes<Enter>uu", 4, "dishes"),
        ("pwn", 4, "dishes"),
        ("pwy", 13, LAST),
        ("pwyuu", 4, "dishes"),
        ("pwyuuu", 3, "2 showers"),
        ("pwyuuUU", 13, LAST),
        ("pwyuuUUuu", 4, "dishes"),
        ("pwyxx", 4, "dishes"),
        ("pwyxxUU", 13, LAST),
        ("pwywy", 22, LAST),
    ];
    for (keys, count, last) in rows {
        let (state, _) = pressed(keys);
        assert_eq!(state.rows().len(), count, "after {keys}");
        assert_eq!(state.rows().last().unwrap().words, last, "after {keys}");
    }
}

#[test]
fn a_failed_save_says_so_and_keeps_the_line() {
    let mut state = fixture::state(Theme::default());
    let folder = Memory::new();
    *folder.failing.lock().unwrap() = Some("disk full".into());
    press(&mut state, &folder, "l2 shower<Enter>");
    assert_eq!(
        noticed(&state),
        "Horizon grey row0 line:2 shower|8 says:NOT SAVED: disk full; the line is kept"
    );
    *folder.failing.lock().unwrap() = None;
    press(&mut state, &folder, "<Enter>");
    assert_eq!(noticed(&state), "Horizon grey row0 says:saved: 2 showers");
    *folder.failing.lock().unwrap() = Some("disk full".into());
    press(&mut state, &folder, "uu");
    assert_eq!(noticed(&state), "Horizon grey row0 says:NOT SAVED: disk full");
}

#[test]
fn nothing_is_called_saved_before_the_store_said_so() {
    let mut state = fixture::state(Theme::default());
    let folder = Memory::new();
    press(&mut state, &folder, "l2 shower");
    let effects = update(&mut state, Message::Key(Key::Enter));
    assert!(matches!(&effects[..], [Effect::Append { .. }]));
    assert!(state.saving && state.line.open);
    assert_eq!(state.status.as_ref().unwrap().text, "saving");
    // A second Enter meanwhile does not save twice.
    assert_eq!(update(&mut state, Message::Key(Key::Enter)), vec![]);
    assert_eq!(update(&mut state, Message::Act(Action::Undo)), vec![]);
}

#[test]
fn what_was_saved_is_said_before_what_went_wrong_after_it() {
    let mut state = fixture::state(Theme::default());
    press(&mut state, &Memory::new(), "l2 shower<Enter>");
    update(&mut state, Message::Loaded(Err("rig.ron, line 3: expected a number".into())));
    let said = "saved: 2 showers. But not read again: rig.ron, line 3: expected a number";
    assert_eq!(state.status.as_ref().unwrap().text, said);
    // For the reason that a line was not saved nothing is read either.
    state.warn("NOT SAVED: rig.ron: newer; the line is kept");
    update(&mut state, Message::Loaded(Err("rig.ron: newer".into())));
    assert_eq!(state.status.as_ref().unwrap().text, "NOT SAVED: rig.ron: newer; the line is kept");
    update(&mut state, Message::Act(Action::Step(1)));
    update(&mut state, Message::Loaded(Err("rig.ron".into())));
    assert_eq!(state.status.as_ref().unwrap().text, "not read again: rig.ron");
}

#[test]
fn a_read_only_folder_refuses_before_trying() {
    let mut state = fixture::state(Theme::default());
    let mut loaded = fixture::loaded();
    loaded.read_only = Some("no permission".into());
    state.book = Some(Arc::new(JournalView::new(loaded, fixture::now())));
    for _ in 0..2 {
        assert_eq!(update(&mut state, Message::Act(Action::Undo)), vec![]);
    }
    let status = state.status.unwrap();
    assert!(status.text.starts_with("NOT SAVED") && status.tone == Tone::Bad);
}

#[test]
fn an_answer_to_an_older_question_is_dropped() {
    let mut state = fixture::state(Theme::default());
    let book = state.book.clone().unwrap();
    update(&mut state, Message::Loaded(Ok(book.clone())));
    update(&mut state, Message::Loaded(Ok(book)));
    assert_eq!(state.evening.generation, 2);
    let mut other = fixture::evening();
    other.place = "elsewhere".into();
    let news = News::Evening(Arc::new(other));
    let answer = |generation| Message::Answered { generation, news: news.clone() };
    update(&mut state, answer(1));
    assert!(state.evening.working && state.evening.answer.as_ref().unwrap().place != "elsewhere");
    update(&mut state, answer(2));
    assert!(!state.evening.working && state.evening.answer.as_ref().unwrap().place == "elsewhere");
}

/// An answer for so many nights.
fn judged(nights: u32) -> Arc<crate::tui::host::Judged> {
    let (mut state, folder) = pressed("s");
    press(&mut state, &folder, &format!("{nights}"));
    state.planner.asked.answer.unwrap()
}

#[test]
fn the_planner_shows_the_newest_question_only() {
    let mut state = fixture::state(Theme::default());
    let asked = |effects: &[Effect]| match effects {
        [Effect::Ask(job)] => match &job.asked {
            Inquiry::Stretch(asking) => (job.generation, asking.request.nights),
            other => panic!("{other:?}"),
        },
        other => panic!("{other:?}"),
    };
    let first = asked(&update(&mut state, Message::Key(Key::Char('s'))));
    let second = asked(&update(&mut state, Message::Key(Key::Char('+'))));
    assert_eq!((first, second), ((1, 3), (2, 4)));
    let answer = |nights, generation, extent| Message::Answered {
        generation,
        news: News::Stretch(judged(nights), extent),
    };
    update(&mut state, answer(3, 1, Extent::Whole));
    assert!(state.planner.asked.answer.is_none() && state.planner.asked.working);
    update(&mut state, answer(4, 2, Extent::Part));
    assert!(state.planner.asked.current && state.planner.asked.working);
    update(&mut state, answer(4, 2, Extent::Whole));
    assert!(!state.planner.asked.working);
    update(&mut state, Message::Key(Key::Char('+')));
    assert!(!state.planner.asked.current && state.planner.asked.answer.is_some());
    // What is aboard changed, so it is asked again.
    let book = state.book.clone().unwrap();
    let effects = update(&mut state, Message::Loaded(Ok(book)));
    assert_eq!(questions(&effects), [Context::Horizon, Context::Stretch]);
}

#[test]
fn an_old_forecast_is_made_anew_but_not_every_minute() {
    let mut state = fixture::state(Theme::default());
    let later = |minutes| Message::Tick(fixture::now() + chrono::Duration::minutes(minutes));
    assert_eq!(update(&mut state, later(3)), vec![]);
    assert_eq!(questions(&update(&mut state, later(16))), [Context::Horizon]);
    assert_eq!(update(&mut state, later(17)), vec![]);
}

#[test]
fn pasted_text_goes_into_the_line_or_nowhere() {
    let mut state = fixture::state(Theme::default());
    let folder = Memory::new();
    send(&mut state, &folder, Message::Paste("quxe\nU".into()));
    assert_eq!(
        noticed(&state),
        "Horizon grey row0 says:pasted text is ignored here; open the line first"
    );
    press(&mut state, &folder, "l");
    send(&mut state, &folder, Message::Paste("2 shower,\r\n\n1 dishes\n".into()));
    assert_eq!(noticed(&state), "Horizon grey row0 line:2 shower, 1 dishes|18");
    send(&mut state, &folder, Message::Paste("x".repeat(9000)));
    assert_eq!(state.line.input.value().len(), 4096);
    assert_eq!(state.rows().len(), 4);
}

#[test]
fn without_a_folder_nothing_can_be_logged_but_one_can_leave() {
    let mut state = State::new(Options::at(fixture::now()), Theme::default());
    update(&mut state, Message::Loaded(Err("no rig here yet".into())));
    assert_eq!(state.unreadable.as_deref(), Some("no rig here yet"));
    for key in "loeuUxct:!?jk".chars() {
        update(&mut state, Message::Key(Key::Char(key)));
        update(&mut state, Message::Key(Key::Esc));
    }
    assert_eq!(update(&mut state, Message::Key(Key::Char('q'))), vec![Effect::Quit]);
}

#[test]
fn three_times_esc_and_q_leave_from_anywhere() {
    for keys in ["", "o", "e", "s", "?", "!", "o?", "eo", "ose", "l2 sh", "ec", ":jo", "oe?"] {
        let (mut state, folder) = pressed(keys);
        press(&mut state, &folder, "<Esc><Esc><Esc>");
        let effects = send(&mut state, &folder, Message::Key(Key::Char('q')));
        assert_eq!(effects, vec![Effect::Quit], "after {keys}");
    }
}

#[test]
fn every_forecast_has_what_the_pictures_need() {
    let mut state = fixture::state(Theme::default());
    let effects = update(&mut state, Message::FolderChanged);
    assert_eq!(effects, vec![Effect::Load]);
    let book = state.book.clone().unwrap();
    let effects = update(&mut state, Message::Loaded(Ok(book)));
    let Effect::Ask(job) = &effects[0] else { panic!("{effects:?}") };
    assert!(matches!(job.asked, Inquiry::Evening(options) if options.with_fans));
    update(&mut state, Message::Key(Key::Right));
    assert_eq!(state.screen(), Some(Context::Stock));
    assert_eq!(state.line.purpose, Purpose::Log);
}

#[test]
fn what_a_row_says_reads_back_as_the_same_entry() {
    let now = fixture::now();
    let book = JournalView::new(fixture::loaded(), now);
    assert_eq!(book.rows.len(), 4);
    for row in &book.rows {
        let read = understand(&book.vocabulary, now, &row.line).unwrap();
        let written = book.loaded.entries.iter().find(|e| e.id == row.entry.id).unwrap();
        assert_eq!((read.drafts[0].at, &read.drafts[0].body), (written.at, &written.body));
        assert!(row.line.contains(&row.words) && row.line != row.words);
    }
}

#[test]
fn the_grammar_points_at_the_word_and_completes_it() {
    let book = JournalView::new(fixture::loaded(), fixture::now());
    let read = |line: &str| understand(&book.vocabulary, fixture::now(), line);
    let line = "fresh 60%, emptoed grey";
    let misread = read(line).unwrap_err();
    let word: String = line.chars().take(misread.end).skip(misread.start).collect();
    assert!(word.starts_with("emptoed") && misread.message.contains("emptied"), "{misread:?}");
    let ways = complete(&book.vocabulary, "fresh 60%, emptied gr");
    assert_eq!(ways[0], Completion { start: 19, word: "grey".into(), cursor: None });
    assert_eq!(read("fresh 60%, emptied grey").unwrap().drafts.len(), 2);
}
