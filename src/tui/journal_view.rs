//! The folder as the screens want it: what was read, and the journal as rows of words.

use super::filter::{JournalRow, takes};
use super::host::Loaded;
use super::usual_uses::{LoggedUses, add_none, recent_uses};
use crate::domain::journal::{is_of_a_stop, possible_twins};
use crate::domain::lines::{is_answer, line_to_redo, line_to_undo};
use crate::domain::time::to_the_minute;
use crate::domain::{
    Body, DayWeather, Entry, EntryId, Event, Moment, Often, Plan, Standing, UnitSystem, journal,
    standing,
};
use crate::logline::{self, Vocabulary};
use crate::text::{commas, plans, quantity, safe};

/// What was read, and the journal's rows, oldest first.
#[derive(Debug, Clone)]
pub struct JournalView {
    /// What was read.
    pub loaded: Loaded,
    /// The words that the rig knows, for the people aboard now.
    pub vocabulary: Vocabulary,
    /// What stands, in time order; the days of one outlook are one row.
    pub rows: Vec<JournalRow>,
    /// What was taken back, in time order.
    pub gone: Vec<JournalRow>,
    /// Plans that nobody has said a word about.
    pub plans: Vec<Plan>,
    /// The record that stands for each, and its words with their time, to be changed.
    pub plan_lines: Vec<(EntryId, String)>,
    /// What was logged of every activity lately, day by day.
    pub uses: LoggedUses,
    /// What this crew does in a day at most.
    pub often: Often,
    /// The line that undo would take back, and its words; none where nothing is left.
    pub undo: (Vec<EntryId>, String),
    /// The same of the line that redo would put back.
    pub redo: (Vec<EntryId>, String),
}

impl PartialEq for JournalView {
    /// All the rest follows from what was read, and when.
    fn eq(&self, other: &JournalView) -> bool {
        self.loaded == other.loaded && self.rows == other.rows
    }
}

impl JournalView {
    /// The row of that number: what stands first, then what was taken back.
    pub fn row(&self, place: usize) -> Option<&JournalRow> {
        let gone = || self.gone.get(place.checked_sub(self.rows.len())?);
        self.rows.get(place).or_else(gone)
    }

    /// Numbers of the rows that `text` asks for, in time order: every word must be found in what
    /// a row says, its kind, device or day, or be a name of what it is about; `gone` asks for what was taken back, `since` and `until`
    /// go before a day as people say it. What was `changed` stays, whether or not it stands now.
    pub fn listed(&self, text: &str, changed: &[EntryId], now: Moment) -> Vec<usize> {
        let wanted = logline::sought(text, &self.vocabulary, now);
        let row = |place: usize| self.row(place).map(|row| (place, row));
        let is_listed = |row: &JournalRow| {
            (row.gone == wanted.gone || changed.contains(&row.entry.id)) && takes(&wanted, row)
        };
        let all = (0..self.rows.len() + self.gone.len()).filter_map(row);
        let mut listed: Vec<(usize, &JournalRow)> = all.filter(|(_, row)| is_listed(row)).collect();
        if !changed.is_empty() {
            listed.sort_by_key(|(_, row)| (row.entry.at, &row.entry.id));
        }
        listed.into_iter().map(|(place, _)| place).collect()
    }

    /// Makes rows of what stands at `now`.
    pub fn new(loaded: Loaded, now: Moment) -> JournalView {
        let stands = standing(&loaded.entries, now);
        let vocabulary = Vocabulary::at(&loaded.rig, &loaded.entries, now);
        let vocabulary = vocabulary.after(&loaded.entries, &loaded.device, now);
        let thing = |s: &Standing, note: Option<String>| logline::Understood {
            at: s.at,
            event: s.event.clone(),
            note,
        };
        let words =
            |s: &Standing, at| safe(&logline::echo(&[thing(s, s.note.clone())], &vocabulary, at));
        let row = |s: &Standing| JournalRow {
            entry: s.clone(),
            words: words(s, s.at),
            line: words(s, now),
            twin: None,
            more: Vec::new(),
            gone: false,
        };
        let (mut rows, places) = folded(&stands, loaded.rig.show, row);
        for (first, second) in possible_twins(&stands) {
            rows[places[first]].twin = Some(places[second]);
            rows[places[second]].twin = Some(places[first]);
        }
        let gone = journal::gone(&loaded.entries, now);
        let gone: Vec<JournalRow> =
            gone.iter().map(|s| JournalRow { gone: true, ..row(s) }).collect();
        let line = |line: Vec<&Entry>| {
            let words = in_words(&line, (&rows, &gone), &|s| words(s, s.at));
            (line.into_iter().map(|entry| entry.id.clone()).collect(), words)
        };
        let undo = line(line_to_undo(&loaded.entries, &loaded.device));
        let again = line_to_redo(&loaded.entries, &loaded.device);
        let redo = line(loaded.entries.iter().filter(|e| again.contains(&&e.id)).collect());
        let plans = crate::domain::plans::plans(&stands);
        // The remark that a schedule wrote is no word of the line.
        let own = |s: &Standing| {
            let note = s.note.clone().filter(|_| !s.is_of_a_stop());
            // Seconds would make a timestamp of it.
            logline::Understood { at: to_the_minute(s.at), ..thing(s, note) }
        };
        let plan_line = |plan: &Plan| {
            let all: Vec<_> = plan.entries.iter().map(own).collect();
            (plan.id().clone(), safe(&logline::echo(&all, &vocabulary, now)))
        };
        let plan_lines = plans.iter().map(plan_line).collect();
        let zone = loaded.rig.zone(now);
        let mut uses = recent_uses(&stands, zone, now, &loaded.rig.parts_on(zone.date(now)));
        add_none(&mut uses, &stands, (&vocabulary, zone), now);
        let often = Often::of(&loaded.rig, &stands, now);
        JournalView { loaded, vocabulary, rows, gone, plans, plan_lines, uses, often, undo, redo }
    }
}

/// A line that is taken back or put back, behind that it was: ": 2 showers", " 5 planned entries".
fn in_words(
    line: &[&Entry],
    (rows, gone): (&[JournalRow], &[JournalRow]),
    words: &dyn Fn(&Standing) -> String,
) -> String {
    match line {
        [_, _, ..] if line.iter().all(|entry| is_of_a_stop(entry.note.as_deref())) => {
            format!(" {} planned entries", line.len())
        }
        _ if is_answer(line) => " your change to the plan".to_string(),
        [Entry { body: Body::Correct { of, .. }, .. }] => {
            let row = rows.iter().find(|row| row.entry.id == *of);
            let done = row.is_some_and(|row| plans::changed(&row.entry) == Some("done"));
            let what = if done { "that it was done" } else { "the change" };
            format!(" {what}: {}", row.map_or_else(|| of.to_string(), |row| row.words.clone()))
        }
        _ => {
            let written = |entry| Standing::as_written(entry).map(|said| words(&said));
            let said = line.iter().filter_map(|entry| {
                let row = rows.iter().chain(gone).find(|row| row.entry.id == entry.id);
                row.map(|row| row.words.clone()).or_else(|| written(entry))
            });
            format!(": {}", commas(said))
        }
    }
}

/// Rows of what stands, the days of one outlook in one; and in which row each of it is.
fn folded(
    stands: &[Standing],
    show: UnitSystem,
    row: impl Fn(&Standing) -> JournalRow,
) -> (Vec<JournalRow>, Vec<usize>) {
    let mut rows: Vec<JournalRow> = Vec::with_capacity(stands.len());
    let mut places = Vec::with_capacity(stands.len());
    let mut begun: Option<(&Standing, Vec<&DayWeather>)> = None;
    for entry in stands {
        let Event::Outlook(day) = &entry.event else {
            begun = None;
            rows.push(row(entry));
            places.push(rows.len() - 1);
            continue;
        };
        match (&mut begun, rows.last_mut()) {
            (Some((first, days)), Some(last))
                if first.at == entry.at && first.id.device == entry.id.device =>
            {
                days.push(day);
                last.more.push(entry.id.clone());
                last.words = safe(&of_days(days, show));
            }
            _ => {
                begun = Some((entry, vec![day]));
                rows.push(row(entry));
            }
        }
        places.push(rows.len() - 1);
    }
    (rows, places)
}

/// "outlook of 6 days, 20 Oct to 25 Oct, 0 C to 12 C".
fn of_days(days: &[&DayWeather], show: UnitSystem) -> String {
    let told = || days.iter().flat_map(|day| [day.low_c, day.high_c]).flatten();
    let (low, high) = (told().reduce(f64::min), told().reduce(f64::max));
    let date = |day: Option<&&DayWeather>| {
        day.map_or_else(String::new, |day| day.date.format("%-d %b").to_string())
    };
    let (from, to) = (date(days.first()), date(days.last()));
    let temperatures = low.zip(high).map_or_else(String::new, |(low, high)| {
        let [low, high] = [low, high].map(|celsius| quantity::temperature(celsius, show));
        format!(", {low} to {high}")
    });
    format!("outlook of {} days, {from} to {to}{temperatures}", days.len())
}
