//! Pictures of every screen in the sizes of a phone, a usual window and two wide ones: drawn, in
//! 7-bit text, and where the colours stand; and a sweep over all small sizes.

use super::{Seen, view};
use crate::domain::Rig;
use crate::forecast::{Evening, NextStop, Quantiles};
use crate::plan::stops::Phase;
use crate::plan::{Progress, Trip};
use crate::text::answer::where_to;
use crate::text::looks::{Hours, Looks};
use crate::text::stops::closed_now;
use crate::text::stretch;
use crate::tui::asking::News;
use crate::tui::fixture::{Memory, press};
use crate::tui::stops::SoFar;
use crate::tui::update::update;
use crate::tui::{Key, Message, State, Theme, fixture};
use chrono::{NaiveTime, Weekday};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use std::sync::Arc;

mod phone;
mod stops;

const SIZES: [(u16, u16); 4] = [(40, 20), (80, 24), (120, 40), (200, 60)];

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
const SCREENS: [(&str, &str); 34] = [
    ("first_run", "new <Tab>"),
    (
        "first_run_end",
        "new <Enter><Enter>3<Enter><Enter>Moinho<Enter>38.6,-9.1<Enter><Enter><Enter>\
         <Enter>3 lamps<Enter><Enter><Enter><Enter><Enter><Enter><Enter><Enter><Enter><Enter>",
    ),
    ("horizon", ""),
    ("stock", "o"),
    ("stock_battery", "jjjjo"),
    ("round", "d4<Enter>"),
    ("round_typed", "d4"),
    ("round_end", "d4<Enter>y"),
    ("round_saved", "d4<Enter>y<Enter>"),
    ("follow", "pwy<Esc>tj jnnj"),
    ("spent", "jjjji"),
    ("rig", "vjjjj"),
    ("rig_changed", "vjjj<Enter>120<Enter>"),
    ("rig_add", "vasecond"),
    ("journal", "ekk"),
    ("journal_search", "e/grey<Enter>"),
    ("journal_gone", "exx/gone"),
    ("journal_remark", "ensome dish"),
    ("stretch", "s"),
    ("stretch_works", "s2jj3"),
    ("stretch_values", "sjjjjjjj2jt-4<Enter>jjj+"),
    ("stops", "p"),
    ("stops_none", "p21jj99"),
    ("stops_confirm", "pw"),
    ("lookback", "bjjj"),
    ("lookback_evening", "bjjj<Tab>"),
    ("lookback_stocks", "b<Tab><Tab>"),
    ("help", "?"),
    ("help_stops", "p?"),
    ("cautions", "!"),
    ("line_echo", "l2 shower"),
    ("line_misread", "l2 shower, some dishes"),
    ("line_ways", "l2 sh<Tab>"),
    ("palette", ":jo"),
];

fn shown(look: Theme, keys: &str) -> State {
    let (mut state, keys) = match keys.strip_prefix("new ") {
        Some(keys) => (fixture::new_van(look), keys),
        None => (fixture::state(look), keys),
    };
    press(&mut state, &Memory::new(), keys);
    state
}

/// Where colours and styles stand, a letter for each cell that has one: a colour's first letter, a
/// capital where it is bold or reversed; of the terminal's own colour `B` bold, `R` reversed, `D`
/// dim, `U` underlined. Rows without any are left out.
fn colours(state: &State, width: u16, height: u16) -> String {
    use ratatui::style::{Color, Modifier};
    const STYLES: [(Modifier, char); 4] = [
        (Modifier::REVERSED, 'R'),
        (Modifier::BOLD, 'B'),
        (Modifier::DIM, 'D'),
        (Modifier::UNDERLINED, 'U'),
    ];
    let buffer = draw(state, width, height);
    let letter = |x, y| {
        let cell = &buffer[(x, y)];
        let style = STYLES.iter().find(|(style, _)| cell.modifier.contains(*style));
        let first = cell.fg.to_string().to_lowercase().chars().next().unwrap_or('?');
        match (cell.fg, style) {
            (Color::Reset, None) => ' ',
            (Color::Reset, Some((_, letter))) => *letter,
            (_, Some((_, 'R' | 'B'))) => first.to_ascii_uppercase(),
            _ => first,
        }
    };
    let rows = (0..height).map(|y| (0..width).map(|x| letter(x, y)).collect::<String>());
    let rows = rows.enumerate().map(|(y, row)| format!("{y:2} {}\n", row.trim_end()));
    rows.filter(|row| row.len() > 4).collect()
}

/// One file for each screen and look, with a picture for each size.
fn snapshots(look: Theme, suffix: &str, of: fn(&State, u16, u16) -> String) {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("../../../tests/snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let _bound = settings.bind_to_scope();
    for (name, keys) in SCREENS {
        let state = shown(look, keys);
        let one = |(width, height): &(u16, u16)| {
            format!("{width} x {height}\n{}", of(&state, *width, *height))
        };
        let pictures: Vec<String> = SIZES.iter().map(one).collect();
        insta::assert_snapshot!(format!("{name}{suffix}"), pictures.join("\n"));
    }
}

#[test]
fn every_screen_without_colour() {
    snapshots(Theme { ascii: false, colour: false, ..Theme::default() }, "", text);
}

#[test]
fn every_screen_in_7_bit_text() {
    let look = Theme { ascii: true, colour: false, ..Theme::default() };
    snapshots(look, "_ascii", text);
    for (_, keys) in SCREENS {
        for (width, height) in SIZES {
            assert!(text(&shown(look, keys), width, height).is_ascii());
        }
    }
}

/// Colour changes no character, so that nothing rests on it.
#[test]
fn every_screen_in_colour_says_the_same() {
    snapshots(Theme::default(), "_colour", colours);
    for (name, keys) in SCREENS {
        let plain = shown(Theme { ascii: false, colour: false, ..Theme::default() }, keys);
        let coloured = shown(Theme::default(), keys);
        for (width, height) in SIZES {
            let same = text(&plain, width, height) == text(&coloured, width, height);
            assert!(same, "{name} at {width} x {height}");
        }
    }
}

#[test]
fn no_size_is_too_small() {
    let looks = [
        Theme { ascii: true, colour: true, ..Theme::default() },
        Theme { ascii: false, colour: true, ..Theme::default() },
    ];
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
fn the_selected_row_has_a_marker_and_reverse_video() {
    use ratatui::style::Modifier;
    let buffer =
        draw(&shown(Theme { ascii: true, colour: false, ..Theme::default() }, "j"), 80, 24);
    let reversed: Vec<u16> = (0..24)
        .filter(|y| (0..80).any(|x| buffer[(x, *y)].modifier.contains(Modifier::REVERSED)))
        .collect();
    let marked: Vec<u16> = (5..20).filter(|y| buffer[(0, *y)].symbol() == ">").collect();
    assert_eq!((reversed.clone(), marked), (vec![6], vec![6]));
}

#[test]
fn default_colours_are_the_named_sixteen_on_the_terminals_background() {
    use ratatui::style::Color;
    for (_, keys) in SCREENS {
        for cell in &draw(&shown(Theme::default(), keys), 80, 24).content {
            assert_eq!(cell.bg, Color::Reset);
            assert!(!matches!(cell.fg, Color::Rgb(..) | Color::Indexed(_)));
        }
    }
}

/// On a first evening nothing is known, so that no date is said before what is to be done.
#[test]
fn before_anything_is_read_the_answer_is_what_to_do_first() {
    let mut state = shown(Theme { ascii: true, colour: false, ..Theme::default() }, "");
    let mut evening = fixture::evening();
    evening.history.iter_mut().for_each(Vec::clear);
    state.evening.answer = Some(Arc::new(evening));
    for (columns, first, then) in [
        (
            80,
            "No level is known yet: press d, it asks what each gauge shows",
            "Until then every level and date below is a guess",
        ),
        (40, "Press d: say what is in each tank", "Until then all below is a guess"),
    ] {
        let picture = text(&state, columns, 20);
        let lines: Vec<&str> = picture.lines().map(str::trim_end).collect();
        assert_eq!(lines[1..3], [first, then]);
    }
}

/// An evening on which grey is out, and one on which nothing ends within the horizon.
#[test]
fn the_answer_says_what_is_out_and_what_is_not() {
    let mut state = shown(Theme { ascii: true, colour: false, ..Theme::default() }, "");
    let mut evening = fixture::evening();
    let out = Some(0.0);
    evening.forecast.stocks[1].hours =
        Quantiles { p10: out, p50: out, p90: out, ..Quantiles::default() };
    evening.forecast.next.hours = evening.forecast.stocks[1].hours;
    evening.forecast.next.by = Some(fixture::now());
    state.evening.answer = Some(Arc::new(evening.clone()));
    let picture = text(&state, 80, 24);
    let lines: Vec<&str> = picture.lines().collect();
    assert_eq!(lines[1], "Now: grey full. Go to a stop now");
    assert_eq!(lines[2], "then by           Sunday 6 September, 05:00   fresh (nine in ten safe)");
    assert_eq!(&lines[5][..15], ">grey    !!now ");
    assert!(lines[5].contains("full now"));
    // What keeps a reserve is not out at it, and says what is left.
    let mut low = evening.clone();
    low.forecast.stocks[0].hours = evening.forecast.stocks[1].hours;
    state.evening.answer = Some(Arc::new(low));
    let kept = "fresh down to its reserve of 8 L and grey full";
    assert!(text(&state, 80, 24).contains(&format!("Now: {kept}. Go to a stop now")));
    let narrow = text(&state, 40, 20);
    assert!(narrow.contains("Now: fresh at its reserve and grey full"), "{narrow}");

    for stock in &mut evening.forecast.stocks {
        stock.hours = Quantiles::default();
        stock.binding = 0.0;
    }
    evening.forecast.stocks[6].binding = 0.04;
    evening.forecast.next = NextStop {
        hours: Quantiles::default(),
        by: None,
        likely: None,
        binding: None,
        chance: 0.0,
    };
    state.evening.answer = Some(Arc::new(evening));
    let picture = text(&state, 80, 24);
    let lines: Vec<&str> = picture.lines().collect();
    assert_eq!(lines[1], "Nothing forces a stop within 30 days (nine in ten safe)");
    assert_eq!(lines[2], "if anything does, food runs out first (in under 1 in 20 futures)");
}

/// Each of several that nobody read may be out, and each with a small chance only.
#[test]
fn where_no_stock_is_near_but_one_may_be_out_it_asks_for_readings() {
    let mut state = shown(Theme::default(), "");
    let mut evening = fixture::evening();
    evening.forecast.next.by = Some(fixture::now());
    let second = |evening: &Evening, state: &mut State, columns| {
        state.evening.answer = Some(Arc::new(evening.clone()));
        text(state, columns, 24).lines().nth(1).unwrap_or_default().to_string()
    };
    let asks = "Read every level, or be at a stop now: one of them may be out (1 in 10)";
    assert_eq!(second(&evening, &mut state, 80), asks);
    assert_eq!(second(&evening, &mut state, 40), "Read all levels: one may be out, 1 in 10");
    evening.forecast.stocks[0].hours.p10 = Some(1.0);
    let due = "Go to a stop now: something may run out within the half hour (1 in 10)";
    assert_eq!(second(&evening, &mut state, 80), due);
}

#[test]
fn a_phone_shows_the_answer_in_its_first_three_lines() {
    let state = shown(Theme::default(), "");
    let picture = text(&state, 40, 20);
    let top: Vec<&str> = picture.lines().take(3).collect();
    assert_eq!(top[1], "Stop by Sat 5 Sep 14:00, 9 in 10 safe");
    assert_eq!(top[2], "50:50 by Sun 6 Sep 05:30, grey 7 of 10");
    assert_eq!(text(&state, 24, 3).trim(), "Stop by Sat 14:00");
}

#[test]
fn a_low_window_says_how_many_rows_it_hides_and_cuts_no_number() {
    let state = shown(Theme { ascii: true, colour: false, ..Theme::default() }, "");
    let picture = text(&state, 20, 8);
    let lines: Vec<&str> = picture.lines().collect();
    assert_eq!(lines[3..6], [">grey    ok     44 %", " fresh   ok     58 %", " 6 more below"]);
    let state = shown(Theme { ascii: true, colour: false, ..Theme::default() }, "jjj");
    let picture = text(&state, 40, 9);
    let lines: Vec<&str> = picture.lines().collect();
    assert!(lines[4].starts_with(" liquids ok     36 %"), "{picture}");
    assert!(lines[5].starts_with(">food    ok     62 %"), "{picture}");
    assert_eq!(lines[6], " 2 more above, 4 more below");
}

#[test]
fn a_long_name_of_a_place_gives_way_to_the_date_and_the_crew() {
    let mut state = shown(Theme::default(), "");
    let mut evening = fixture::evening();
    evening.place = "Parque de merendas da ribeira de Alfusqueiro, terceiro terreiro".into();
    state.evening.answer = Some(Arc::new(evening));
    let first = |columns| text(&state, columns, 20).lines().next().unwrap().to_string();
    assert_eq!(first(28), "Thu 3 Sep 20:20 2 aboard");
    assert_eq!(first(40), "Thu 3 Sep 20:20 Parque de mere~ 2 aboard");
    let wide = first(80);
    assert!(wide.starts_with("Thursday 3 September, 20:20  Parque de meren"), "{wide}");
    assert!(wide.ends_with("~  2 aboard  night 3 here"), "{wide}");
}

#[test]
fn long_messages_take_more_rows_and_say_all() {
    let mut state = shown(Theme::default(), "");
    let said = "saved: shower for 2 people, dishes, fresh filled to 90 L, grey emptied, 31 km driven today at 20:20";
    state.done(said);
    for (width, height) in [(40, 20), (80, 24)] {
        let picture = text(&state, width, height);
        let words: Vec<&str> = picture.split_whitespace().collect();
        assert!(words.join(" ").contains(said), "{picture}");
    }
}

#[test]
fn a_search_shows_how_far_it_is_and_what_was_settled_for() {
    let mut state = fixture::state(Theme::default());
    update(&mut state, Message::Key(Key::Char('p')));
    let progress = Progress { step: Phase::Choosing, found: Some(9), least: Some(7), beside: None };
    let so_far = SoFar { seconds: 3, progress };
    update(&mut state, Message::Answered { generation: 1, news: News::SoFar(so_far) });
    for (width, height) in SIZES {
        let screen = text(&state, width, height);
        assert!(screen.contains("searching, 3 s"), "{screen}");
        assert!(screen.contains("best found"), "{screen}");
        assert!(screen.contains("So far: found 9 stops"), "{screen}");
    }
    update(&mut state, Message::Key(Key::Esc));
    let found = shown(Theme::default(), "p").trip.asked.answer.unwrap();
    let answer = Arc::new(Trip { stopped: true, ..(*found).clone() });
    update(&mut state, Message::Answered { generation: 1, news: News::Stops(answer) });
    let screen = text(&state, 160, 50);
    assert!(screen.contains("The best found until it was given up."), "{screen}");
}

/// The fixture's schedule serves grey, fresh and more at its first stop; nothing runs out here.
#[test]
fn the_screen_of_stops_says_which_saved_one_nothing_needs() {
    let mut state = shown(Theme::default(), "pwy");
    assert!(!text(&state, 200, 60).contains("Saved stop:"));
    let mut evening = fixture::evening();
    evening.forecast.stocks.iter_mut().for_each(|stock| stock.hours = Quantiles::default());
    state.evening.answer = Some(Arc::new(evening));
    let screen = text(&state, 200, 60);
    assert!(screen.contains("Saved stop: Sat 5 Sep"), "{screen}");
}

/// A time of day by twelve hours is longer than by twenty-four: nothing of the first row is cut.
#[test]
fn the_first_row_has_room_for_hours_by_twelve() {
    let own = Looks { hours: Hours::HalfDay, ..Looks::default() };
    let state = shown(Theme { own, ..Theme::default() }, "");
    for columns in [60, 80, 110] {
        let screen = text(&state, columns, 40);
        let first = screen.lines().next().unwrap();
        assert!(first.contains("pm") && !first.contains('~'), "{first}");
    }
}

/// A stock that no service sees to is named with the words that a place writes for it.
#[test]
fn the_screen_of_stops_names_stocks_that_no_service_sees_to() {
    let mut state = shown(Theme::default(), "p");
    let mut book = (**state.book.as_ref().unwrap()).clone();
    book.loaded.rig.places.clear();
    state.book = Some(Arc::new(book));
    let screen = text(&state, 110, 40);
    assert!(screen.contains("stocks: [\"gas\"]"), "{screen}");
}

/// Where the places cannot be read, that is said, and not that there are none.
#[test]
fn the_screen_of_stops_says_what_is_wrong_with_the_places() {
    let mut state = shown(Theme::default(), "p");
    let mut book = (**state.book.as_ref().unwrap()).clone();
    book.loaded.rig.places.clear();
    state.book = Some(Arc::new(book.clone()));
    assert!(text(&state, 80, 40).contains("No place with services is known yet."));
    book.loaded.findings.push("places.ron, line 3: services: found \"wotter\"".into());
    state.book = Some(Arc::new(book));
    let screen = text(&state, 80, 40);
    assert!(
        screen.contains("places.ron cannot be read") && screen.contains("\"wotter\""),
        "{screen}"
    );
    assert!(!screen.contains("known yet"), "{screen}");
}

/// By hand: it is Thursday, 20:20. Fonte do Sapal alone sees to grey, by day and not on Fridays.
#[test]
fn what_is_closed_says_when_it_opens() {
    let mut rig = fixture::rig();
    let closed = |rig: &Rig, stock: &str| closed_now(rig, &[stock], fixture::now());
    assert_eq!(closed(&rig, "grey"), None, "it is open at any hour");
    rig.places[0].opens = NaiveTime::from_hms_opt(8, 30, 0);
    rig.places[0].closes = NaiveTime::from_hms_opt(17, 0, 0);
    rig.places[0].closed = vec![Weekday::Fri];
    let opens = "Closed now: Fonte do Sapal opens Sat 5 Sep 08:30";
    assert_eq!(closed(&rig, "grey").as_deref(), Some(opens));
    assert_eq!(closed(&rig, "gas"), None, "nobody sees to it");
    // It is said where a stop is due before then.
    let mut evening = fixture::evening();
    assert_eq!(where_to(&rig, &evening), None);
    evening.forecast.next.by = Some(fixture::now());
    assert_eq!(where_to(&rig, &evening).as_deref(), Some(opens));
    // Who stands where it can be done need not drive for it.
    (rig.places[0].opens, rig.places[0].closes) = (None, None);
    rig.places[0].closed.clear();
    evening.place.clone_from(&rig.places[0].name);
    let here = where_to(&rig, &evening).unwrap();
    assert_eq!(here, "You stand at Fonte do Sapal, which sees to fresh, grey and liquids");
}

/// A line of two or more rows is all in sight, with the cursor where it is in the text; what is longer
/// still shows the prompt and the rows around the cursor. Counted by hand: 6 columns of prompt, 40 a row.
#[test]
fn a_long_line_takes_as_many_rows_as_it_needs() {
    let words = "2 showers, dishes, fresh 60%, grey 25%, battery 71%, emptied liquids";
    let mut terminal = Terminal::new(TestBackend::new(40, 20)).unwrap();
    let mut cursor = |keys: &str| {
        let state = shown(Theme::default(), &format!("l{keys}"));
        terminal.draw(|frame| view(&state, &mut Seen::default(), frame)).unwrap();
        let at = terminal.get_cursor_position().unwrap();
        let screen = text(&state, 40, 20);
        let top = screen.lines().position(|row| row.starts_with("log > ")).unwrap_or(99);
        (at.x, usize::from(at.y).wrapping_sub(top), screen)
    };
    let (x, y, screen) = cursor(words);
    assert_eq!((x, y), (((6 + words.len()) % 40) as u16, 1), "{screen}");
    let rows: String =
        screen.lines().skip_while(|row| !row.starts_with("log > ")).take(2).collect();
    assert_eq!(rows, format!("log > {words}"));
    let (x, y, _) = cursor(&format!("{words}<Home>"));
    assert_eq!((x, y), (6, 0));
    let long = format!("{words}, {words}, {words}");
    let (_, y, screen) = cursor(&long);
    assert!(screen.contains("emptied liquids") && y == 3, "the prompt stays in sight: {screen}");
}

/// By hand, from what the fixture's habits are.
#[test]
fn habits_that_were_asked_for_are_said_beside_the_usual_ones() {
    let activities = fixture::rig().parts.activities;
    let said = |asked: &[(usize, f64)]| stretch::habits(asked, &activities, &[1.37, 2.0, 3.4]);
    assert_eq!(said(&[]), None);
    let both = said(&[(0, 0.5), (2, 1.0)]).unwrap();
    assert_eq!(
        both,
        "counted with: showers 0.5 a day instead of 1.4, work 1 h a day instead of 3.4"
    );
}
