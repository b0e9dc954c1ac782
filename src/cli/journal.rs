//! `waystock journal`: what stands, newest last, with ids.

use super::context::{Context, vocabulary};
use super::failure::Failure;
use super::json;
use super::output::Output;
use crate::domain::counts::Counts;
use crate::domain::journal::{Standing, possible_twins, standing};
use crate::domain::time::Moment;
use crate::logline::{self, Understood};
use crate::text::when::{self, Form};
use serde_json::json;

/// Prints the entries that happened at or after `since`.
pub fn run(since: Option<Moment>, context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load_without_places()?;
    let now = context.now(&contents.rig);
    let zone = contents.rig.zone(now);
    let known = vocabulary(&contents, now);
    let all = standing(&contents.journal.entries, now);
    let twins = possible_twins(&all);
    let words = |entry: &Standing| {
        let thing = Understood { at: now, event: entry.event.clone(), note: entry.note.clone() };
        logline::echo(&[thing], &known, now)
    };
    let shown = all.iter().enumerate().filter(|(_, e)| since.is_none_or(|since| e.at >= since));
    if context.common.json {
        let entries: Vec<_> = shown
            .map(|(index, entry)| {
                json!({
                    "id": entry.id.to_string(),
                    "at": json::moment(Some(entry.at)),
                    "recorded": json::moment(Some(entry.recorded)),
                    "plan": entry.at > now,
                    "open": entry.counts == Counts::Open,
                    "words": words(entry),
                    "corrected_by": entry.corrected_by.as_ref().map(ToString::to_string),
                    "possible_twin": twins.iter().any(|(a, b)| *a == index || *b == index),
                })
            })
            .collect();
        let value = json!({ "schema": "waystock.journal/1", "entries": entries });
        out.raw(json::text(&value).as_bytes());
        return Ok(0);
    }
    for (index, entry) in shown {
        let mut marks = Vec::new();
        match entry.counts {
            Counts::Fact => {}
            Counts::Ahead => marks.push("plan"),
            Counts::Open => marks.push("plan: was it done?"),
            Counts::Superseded => marks.push("plan: written down since"),
        }
        if entry.corrected_by.is_some() {
            marks.push("corrected");
        }
        if twins.iter().any(|(a, b)| *a == index || *b == index) {
            marks.push("possible twin");
        }
        let marks = match marks.is_empty() {
            true => String::new(),
            false => format!("  [{}]", marks.join(", ")),
        };
        let at = when::date_time(zone.here(entry.at), Form::Short);
        out.line(&format!("{at}  {}{marks}  {}", words(entry), entry.id));
    }
    for finding in contents.journal.findings.iter().filter(|finding| finding.is_news()) {
        out.say(&crate::store::data_folder::describe(finding));
    }
    Ok(0)
}
