//! `waystock journal`: what stands, newest last, with ids; all of it, or what is looked for.

use super::args::JournalOptions;
use super::session::find_stock;
use super::{CommandResult, Failure, Output, Session, list, object, plan_words, vocabulary};
use crate::domain::journal::{gone, possible_twins};
use crate::domain::search::Wanted;
use crate::domain::{Counts, Moment, Standing, standing};
use crate::logline::{self, Understood, Vocabulary};
use crate::store::data_folder::Contents;
use crate::text::{Form, plans, when};
use serde_json::Value;

/// An entry to be listed.
struct ListedEntry {
    entry: Standing,
    words: String,
    possible_twin: bool,
}

/// Prints the entries that are looked for.
pub fn run(options: &JournalOptions, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_without_places()?;
    let now = session.now(&contents.rig);
    let zone = contents.rig.zone(now);
    let known = vocabulary(&contents, now);
    let wanted = wanted(options, &contents, &known, now)?;
    let entries = &contents.journal.entries;
    let retracted = options.retracted || wanted.gone;
    let all = if retracted { gone(entries, now) } else { standing(entries, now) };
    let twins = if retracted { Vec::new() } else { possible_twins(&all) };
    let row = |(index, entry): (usize, Standing)| {
        let thing = Understood { at: now, event: entry.event.clone(), note: entry.note.clone() };
        let words = logline::echo(&[thing], &known, now);
        let possible_twin = twins.iter().any(|(a, b)| *a == index || *b == index);
        ListedEntry { entry, words, possible_twin }
    };
    let mut rows: Vec<ListedEntry> = all.into_iter().enumerate().map(row).collect();
    rows.retain(|row| wanted.finds(&row.entry, &contents.rig.parts, &row.words));
    if session.common.json {
        let entries = list(&rows, |row| in_json(row, retracted, now));
        out.json(&object!(rows; schema = "waystock.journal/1", entries = entries));
        return Ok(0);
    }
    for row in &rows {
        let at = when::date_time(zone.here(row.entry.at), Form::Short);
        out.line(&format!("{at}  {}{}  {}", row.words, marks(row, retracted), row.entry.id));
    }
    if rows.is_empty() && wanted != Wanted::default() {
        out.say("no entry fits that");
    }
    for finding in contents.journal.findings.iter().filter(|finding| finding.is_news()) {
        out.say(&crate::store::data_folder::describe(finding));
    }
    Ok(0)
}

fn wanted(
    options: &JournalOptions,
    contents: &Contents,
    known: &Vocabulary,
    now: Moment,
) -> Result<Wanted, Failure> {
    let span = |option: &str, text: &Option<String>| {
        text.as_deref().map(|text| plan_words::span(option, text, known, now)).transpose()
    };
    let names: Vec<&str> = contents.rig.parts.stocks.iter().map(|s| s.name.as_str()).collect();
    let stock = options.stock.as_deref().map(|name| find_stock(known, &names, name));
    let stock = stock.transpose()?.map(|index| names[index].to_string());
    let words = logline::sought(&options.words.join(" "), known, now);
    Ok(Wanted {
        from: span("--since", &options.since)?.map(|(from, _)| from).or(words.from),
        to: span("--until", &options.until)?.map(|(_, to)| to).or(words.to),
        stock,
        kind: options.kind.clone(),
        ..words
    })
}

/// "  [plan, changed]"
fn marks(row: &ListedEntry, retracted: bool) -> String {
    let mut marks = Vec::new();
    match (retracted, row.entry.counts) {
        (true, _) => marks.push("taken back"),
        (_, Counts::Fact) => {}
        (_, Counts::Ahead) => marks.push("plan"),
        (_, Counts::Open) => marks.push("plan: was it done?"),
        (_, Counts::Superseded) => marks.push("plan: written down since"),
        (_, Counts::Again) => marks.push("still there: no arrival"),
    }
    marks.extend(plans::changed(&row.entry));
    if row.possible_twin {
        marks.push("possible twin");
    }
    if marks.is_empty() { String::new() } else { format!("  [{}]", marks.join(", ")) }
}

fn in_json(row: &ListedEntry, retracted: bool, now: Moment) -> Value {
    let entry = &row.entry;
    let mut value = object!(entry;
        id, at, recorded, plan = entry.at > now, open = entry.counts == Counts::Open,
        words = row.words, corrected_by, possible_twin = row.possible_twin);
    if retracted {
        value["retracted"] = true.into();
    }
    value
}
