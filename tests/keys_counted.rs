//! How many keys a usual evening takes: three crews keep a journal for two weeks, and the
//! fifteenth evening is told by the round. And how many it takes from an empty folder to the first
//! forecast.

#![allow(clippy::disallowed_macros, reason = "a test may print what it counted")]

use chrono::{Datelike, Duration, Weekday};
use std::collections::VecDeque;
use std::path::Path;
use std::sync::{Arc, Mutex};
use waystock::domain::entry::{Body, Draft, Entry, EntryId, Event};
use waystock::domain::rig::Rig;
use waystock::domain::time::Moment;
use waystock::forecast::answer::Options;
use waystock::logline::{self, Vocabulary};
use waystock::setup::Machine;
use waystock::store::{rig_file, templates};
use waystock::tui::asking::{Inquiry, News};
use waystock::tui::effect::Effect;
use waystock::tui::host::{Host, Loaded};
use waystock::tui::journal_view::JournalView;
use waystock::tui::key::Key;
use waystock::tui::message::Message;
use waystock::tui::round::{self, Scale};
use waystock::tui::state::State;
use waystock::tui::theme::Theme;
use waystock::tui::update::update;

/// A folder in memory, with the program's own words and forecasts.
struct Folder {
    rig: Mutex<Option<Rig>>,
    now: Moment,
    entries: Mutex<Vec<Entry>>,
}

impl Host for Folder {
    fn now(&self) -> Moment {
        self.now
    }

    fn load(&self) -> Result<Loaded, String> {
        let rig = self.rig.lock().unwrap().clone();
        Ok(Loaded {
            rig: rig.ok_or("no rig file")?,
            rig_text: String::new(),
            entries: self.entries.lock().unwrap().clone(),
            findings: Vec::new(),
            device: "phone".into(),
            read_only: None,
            places: Vec::new(),
        })
    }

    fn missing(&self) -> Option<Machine> {
        let zone = Some("Europe/Amsterdam".to_string());
        Some(Machine { zone, today: self.now.date_naive() })
    }

    fn write_rig(&self, _: Option<&str>, rig: &str) -> Result<(), String> {
        let rig = rig_file::parse(rig, Path::new("rig.ron"));
        *self.rig.lock().unwrap() = Some(rig.map_err(|faults| format!("{faults:?}"))?);
        Ok(())
    }

    fn append(&self, drafts: &[Draft]) -> Result<Vec<Entry>, String> {
        let mut entries = self.entries.lock().unwrap();
        for draft in drafts.iter().cloned() {
            let id = EntryId { device: "phone".into(), sequence: entries.len() as u64, salt: 1 };
            let Draft { at, note, body } = draft;
            entries.push(Entry { id, at, recorded: self.now, note, body });
        }
        Ok(entries.clone())
    }
}

/// Applies a message and all that comes of it, each question answered at once.
fn send(state: &mut State, folder: &Folder, message: Message) {
    let mut waiting = VecDeque::from([message]);
    while let Some(message) = waiting.pop_front() {
        for effect in update(state, message) {
            let answer = match effect {
                Effect::Load => {
                    let view = |loaded| Arc::new(JournalView::new(loaded, folder.now));
                    Some(Message::Loaded(folder.load().map(view)))
                }
                Effect::WriteRig { before, after } => {
                    Some(Message::RigWritten(folder.write_rig(before.as_deref(), &after)))
                }
                Effect::Append { purpose, drafts } => {
                    let outcome = folder.append(&drafts).map(|written| written.len());
                    Some(Message::Appended { purpose, outcome })
                }
                Effect::Ask(job) => match &job.asked {
                    Inquiry::Evening(options) => {
                        let Loaded { rig, entries, .. } = &job.book.loaded;
                        let known = folder.learn(rig, entries, job.now, job.seed);
                        let evening = Arc::new(folder.evening(rig, &known, *options, &|_| true));
                        let (generation, news) = (job.generation, News::Evening(evening));
                        Some(Message::Answered { generation, news })
                    }
                    _ => None,
                },
                _ => None,
            };
            waiting.extend(answer);
        }
    }
}

/// What a crew does on a day, as the lines of an evening: uses, and what the gauges show.
struct Crew {
    template: &'static str,
    uses: fn(Weekday) -> &'static str,
    /// What they show so many days after the last stop.
    gauges: fn(i64) -> String,
    /// What is done at a stop, every fifth day.
    stop: &'static str,
}

const CREWS: [Crew; 3] = [
    Crew {
        template: "two-berth",
        uses: |day| match day {
            Weekday::Wed | Weekday::Sun => "2 showers, 2 dishes, cooked meal, 3 kettles, work 2 h",
            _ => "dishes, cooked meal, 3 kettles, work 4 h",
        },
        gauges: |day| format!("fresh {}%, battery {}%", 100 - 25 * (day / 2), 60 + day),
        stop: "filled fresh, emptied grey, emptied liquids, emptied solids, filled gas, \
               filled food, filled diesel",
    },
    Crew {
        template: "family",
        uses: |_| "2 showers, 2 dishes, cooked meal, 4 kettles, 3 toilet solids, work 3 h",
        gauges: |day| format!("battery {}%, grey {}%", 80 - 3 * day, 25 * (day / 2)),
        stop: "filled fresh, emptied grey, emptied liquids, emptied solids, filled food, \
               filled diesel",
    },
    Crew {
        template: "no-solar",
        uses: |_| "shower, dishes, cooked meal, 2 toilet solids",
        gauges: |day| format!("battery {}%, liquids {}%", 90 - 9 * day, 10 * day),
        stop: "filled fresh, emptied grey, emptied liquids, emptied solids, filled food, \
               filled diesel, plugged in 8 h",
    },
];

const DAYS: i64 = 15;

fn evening(rig: &Rig, day: i64) -> Moment {
    let first: Moment = "2026-05-04T21:30:00+00:00".parse().unwrap();
    rig.zone(first).here(first + Duration::days(day))
}

fn said(rig: &Rig, entries: &[Entry], line: &str, now: Moment) -> Vec<Event> {
    let words = Vocabulary::at(rig, entries, now);
    let said = logline::parse(line, &words, now).unwrap_or_else(|why| panic!("{line}: {why:?}"));
    said.into_iter().map(|said| said.event).collect()
}

impl Crew {
    fn seen(&self, day: i64) -> String {
        match day % 5 {
            0 => self.stop.to_string(),
            since => (self.gauges)(since),
        }
    }

    fn journal(&self, rig: &Rig) -> Vec<Entry> {
        let mut entries: Vec<Entry> = Vec::new();
        for day in 0..DAYS - 1 {
            let at = evening(rig, day);
            let line = format!("{}, {}", (self.uses)(at.weekday()), self.seen(day));
            for event in said(rig, &entries, &line, at) {
                let id =
                    EntryId { device: "phone".into(), sequence: entries.len() as u64, salt: 0 };
                let body = Body::Happened(event);
                entries.push(Entry { id, at, recorded: at, note: None, body });
            }
        }
        entries
    }
}

/// The keys that tell the truth: today's uses, and what the gauges show.
fn keys(asked: &round::Asked, truth: &[Event]) -> Vec<Key> {
    let used = |name: &str| {
        let counts = truth.iter().filter_map(|event| match event {
            Event::Use { activity, count } if activity == name => Some(count.amount.milli()),
            _ => None,
        });
        counts.sum::<i64>()
    };
    match asked {
        round::Asked::Plan(_) => vec![Key::Char('y')],
        round::Asked::Again(_, uses) => {
            let all = truth.iter().filter(|event| matches!(event, Event::Use { .. })).count();
            let usual = |of: &round::UsualUse| used(&of.activity) == of.usual.amount.milli();
            let same = uses.len() == all && uses.iter().all(usual);
            vec![Key::Char(if same { 'y' } else { 'n' })]
        }
        round::Asked::Use(of) => match used(&of.activity) {
            0 => vec![Key::Char('n')],
            milli if milli == of.usual.amount.milli() => vec![Key::Enter],
            milli => typed((milli / 1000) as f64),
        },
        round::Asked::Reading { stock, scale } => {
            let shown = truth.iter().find_map(|event| match event {
                Event::Level { stock: of, reading, .. } if of == stock => Some(reading),
                _ => None,
            });
            // What is asked for and was not looked at yet is looked at now.
            let percent = shown.map_or(50.0, |reading| reading.amount.value());
            match scale {
                _ if percent == 100.0 => vec![Key::Char('f')],
                Scale::Parts(parts) => typed((percent / 100.0 * f64::from(*parts)).round()),
                Scale::Percent => typed(percent),
                Scale::Lamps(_) => typed(1.0),
                Scale::Amount { .. } => typed(5.0),
            }
        }
    }
}

/// A number and Enter.
fn typed(number: f64) -> Vec<Key> {
    format!("{number:.0}").chars().map(Key::Char).chain([Key::Enter]).collect()
}

/// At most twelve keys, the one that opens the round and the one that saves it among them, and
/// every use of the day is in the journal afterwards. Counted here.
#[test]
fn a_usual_evening_takes_at_most_twelve_keys() {
    let mut asked_to_read = 0;
    for crew in &CREWS {
        let text = templates::find(crew.template).unwrap().text;
        let rig = rig_file::parse(text, Path::new("rig.ron")).unwrap();
        let (entries, now) = (crew.journal(&rig), evening(&rig, DAYS - 1));
        let line = format!("{}, {}", (crew.uses)(now.weekday()), crew.seen(DAYS - 1));
        let truth = said(&rig, &entries, &line, now);
        let before = entries.len();
        let folder = Folder { rig: Mutex::new(Some(rig)), now, entries: Mutex::new(entries) };
        let options = Options { lives: 400, ..Options::at(now) };
        let mut state = State::new(options, Theme::default());
        send(&mut state, &folder, Message::FolderChanged);

        let mut pressed = vec![Key::Char('d')];
        send(&mut state, &folder, Message::Key(Key::Char('d')));
        let mut read = 0;
        while let Some(asked) = state.round.asked().cloned() {
            read += usize::from(matches!(asked, round::Asked::Reading { .. }));
            for key in keys(&asked, &truth) {
                send(&mut state, &folder, Message::Key(key));
                pressed.push(key);
            }
        }
        send(&mut state, &folder, Message::Key(Key::Enter));
        pressed.push(Key::Enter);
        println!(
            "{}: {} keys, {read} readings, the line has {}",
            crew.template,
            pressed.len(),
            line.len()
        );
        assert!(pressed.len() <= 12, "{}: {pressed:?}", crew.template);

        let written = folder.entries.lock().unwrap()[before..].to_vec();
        let uses = |event: &&Event| matches!(event, Event::Use { .. });
        let happened: Vec<&Event> = written
            .iter()
            .filter_map(|entry| match &entry.body {
                Body::Happened(event) => Some(event),
                _ => None,
            })
            .collect();
        for event in truth.iter().filter(uses) {
            assert!(happened.contains(&event), "{}: {event:?} is missing", crew.template);
        }
        assert_eq!(
            happened.iter().copied().filter(uses).count(),
            truth.iter().filter(uses).count()
        );
        let levels = happened.iter().filter(|event| matches!(event, Event::Level { .. }));
        assert_eq!(levels.count(), read, "{}", crew.template);
        asked_to_read += read;
        assert!(state.round.before.is_some(), "the new date is shown");
    }
    assert!(asked_to_read > 0, "no crew was asked for a reading");
}

/// A crew of two somewhere else than the template's, with another tank, who look at every gauge
/// once: the questions, the file, the first readings, and a date at the end. Counted here.
#[test]
fn an_empty_folder_is_forty_keys_from_its_first_date() {
    let now: Moment = "2026-05-04T18:20:00+02:00".parse().unwrap();
    let folder = Folder { rig: Mutex::default(), now, entries: Mutex::default() };
    let options = Options { lives: 400, ..Options::at(now) };
    let mut state = State::beginning(options, Theme::default(), folder.missing());
    send(&mut state, &folder, Message::FolderChanged);
    // Like two-berth, its name and crew; the place by name and degrees; 90 L of fresh water.
    // What is left is taken as offered: Down.
    let answers = "\n\n\n\nQuay\n52,5\n\n\n90\n_\n";
    // What eight gauges show, and Enter to save it.
    let readings = "0\n3\n1\n5\n14\n9\n6\n80\n\n";
    let mut pressed = 0;
    for key in answers.chars().chain(readings.chars()) {
        let key = match key {
            '\n' => Key::Enter,
            '_' => Key::Down,
            key => Key::Char(key),
        };
        send(&mut state, &folder, Message::Key(key));
        pressed += 1;
    }
    println!("an empty folder: {pressed} keys");
    assert!(pressed <= 40, "{pressed}");
    let rig = folder.rig.lock().unwrap().clone().unwrap();
    assert_eq!((rig.home.place.as_str(), rig.home.latitude), ("Quay", 52.0));
    assert_eq!(rig.parts.stock("fresh").map(|(_, stock)| stock.capacity), Some(90.0));
    assert_eq!(rig.home.zone.unwrap().here(now).to_string(), "2026-05-04 18:20:00 +02:00");
    assert_eq!(folder.entries.lock().unwrap().len(), rig.parts.stocks.len(), "{:?}", state.round);
    let evening = state.evening.answer.unwrap();
    assert!(evening.forecast.next.by.is_some_and(|by| by > now));
    assert!(state.round.before.is_some(), "the new date is shown");
}
