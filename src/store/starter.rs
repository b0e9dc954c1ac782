//! Writes the first `rig.ron`: a template with a few answers filled in, comments kept.
//!
//! Pure text: asking the questions and writing the file are up to the caller.

use super::reference;
use super::rig_edit::{append, get, set};
use std::collections::BTreeMap;

/// What somebody knows about their van on the first evening: places of the rig file, such as
/// `home/zone` or `stocks/fresh/capacity`, with what is written there. What is not named keeps the
/// template's value. Under `electrics/panels` are the watts of all panels together, 0 for none.
pub type Answers = BTreeMap<String, String>;

const PANELS: &str = "electrics/panels";

/// The text of `rig.ron` for these answers: the template's, with each answer in its place.
/// What is kept back or left free is scaled with its tank, and never less than a day's drinking
/// water for the crew. Values are not checked here; `rig_file::parse` of the result names any
/// that cannot be, with line and column.
///
/// # Errors
/// If the template lacks the place of an answer, which a test rules out for those built in.
pub fn fill_template(template: &str, answers: &Answers) -> Result<String, String> {
    let mut text = template.to_owned();
    for (path, value) in answers {
        text = match path.strip_suffix("/capacity") {
            Some(stock) => resized(&text, stock, value)?,
            None if path == PANELS => with_panels(&text, value)?,
            None => set(&text, path, value)?,
        };
    }
    with_drinking_water(text)
}

/// A stock with another capacity, and its margin and dregs the same share of it as before.
fn resized(text: &str, stock: &str, capacity: &str) -> Result<String, String> {
    let place = |field: &str| format!("{stock}/{field}");
    let before = value(text, &place("capacity"));
    let mut text = set(text, &place("capacity"), capacity)?;
    for field in ["keep", "headroom", "dregs"] {
        if let (Some(before), Some(kept), Ok(capacity)) =
            (before, value(&text, &place(field)), capacity.parse::<f64>())
        {
            text = set(&text, &place(field), &tidy(kept * capacity / before))?;
        }
    }
    Ok(text)
}

/// At least a day's drinking for everyone aboard stays in the tank, as far as half of it goes.
fn with_drinking_water(text: String) -> Result<String, String> {
    let [crew, capacity, kept] =
        ["crew", "stocks/fresh/capacity", "stocks/fresh/keep"].map(|path| value(&text, path));
    let litres_a_day = reference::find("drinking water").map_or(0.0, |row| row.value);
    let needed = crew.zip(capacity).map(|(crew, all)| (crew * litres_a_day).min(all / 2.0));
    match needed.zip(kept) {
        Some((needed, kept)) if kept < needed => set(&text, "stocks/fresh/keep", &tidy(needed)),
        _ => Ok(text),
    }
}

/// The first panel stands for all of them, as templates have one kind at most.
fn with_panels(text: &str, watts: &str) -> Result<String, String> {
    let first = format!("{PANELS}/0/rated_w");
    match (watts, get(text, &first)) {
        ("0", _) => set(text, PANELS, "[]"),
        (_, Some(_)) => set(text, &first, watts),
        (_, None) => append(text, PANELS, &format!("(rated_w: {watts})")),
    }
}

fn value(text: &str, path: &str) -> Option<f64> {
    get(text, path).and_then(|word| word.parse().ok())
}

/// As people write it: whole from ten up, else one decimal.
fn tidy(number: f64) -> String {
    let grain = if number >= 10.0 { 1.0 } else { 10.0 };
    ((number * grain).round() / grain).to_string()
}

#[cfg(test)]
mod tests;
