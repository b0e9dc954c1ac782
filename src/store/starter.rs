//! Writes the first `rig.ron`: a template with a few answers filled in, comments kept.
//!
//! Pure text: asking the questions and writing the file are up to the caller.

use super::reference;
use super::rig_edit::{EditFault, append, get, quoted, set};
use super::templates::Template;
use crate::domain::UnitSystem;

/// What somebody knows about their van on the first evening. `None` keeps the template's value.
/// Amounts are in the unit named here, whatever is shown later.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Answers {
    /// What to begin from.
    pub template: &'static Template,
    /// What the crew calls the van.
    pub van: Option<String>,
    /// People aboard, 0 to 50.
    pub crew: Option<f64>,
    /// Where the van is: a name, degrees north, degrees east.
    pub home: Option<(String, f64, f64)>,
    /// IANA time zone.
    pub zone: Option<String>,
    /// Fresh water tank in litres.
    pub fresh_l: Option<f64>,
    /// Grey water tank in litres.
    pub grey_l: Option<f64>,
    /// Container for toilet liquids, or the black tank, in litres.
    pub liquids_l: Option<f64>,
    /// Battery in watt-hours.
    pub battery_wh: Option<f64>,
    /// Rated power of all panels together in watts; 0 for none.
    pub panel_w: Option<f64>,
    /// Diesel tank in litres.
    pub fuel_tank_l: Option<f64>,
    /// Units to show.
    pub show: Option<UnitSystem>,
}

/// The text of `rig.ron` for these answers: the template's, with each answer in its place.
/// What is kept back or left free is scaled with its tank, and never less than a day's drinking
/// water for the crew. Values are not checked here; `rig_file::parse` of the result names any
/// that cannot be, with line and column.
///
/// # Errors
/// If the template lacks the place of an answer, which a test rules out for those built in.
pub fn fill_template(answers: &Answers) -> Result<String, EditFault> {
    let mut text = answers.template.text.to_owned();
    fill_names(&mut text, answers)?;
    let liquids = match get(&text, "stocks/black") {
        Some(_) => "black",
        None => "liquids",
    };
    for (stock, margin, capacity) in [
        ("fresh", "keep", answers.fresh_l),
        ("grey", "headroom", answers.grey_l),
        (liquids, "headroom", answers.liquids_l),
        ("battery", "keep", answers.battery_wh),
        ("diesel", "keep", answers.fuel_tank_l),
    ] {
        if let Some(capacity) = capacity {
            resize(&mut text, stock, margin, capacity)?;
        }
    }
    keep_drinking_water(&mut text)?;
    if let Some(watts) = answers.panel_w {
        panels(&mut text, watts)?;
    }
    Ok(text)
}

fn fill_names(text: &mut String, answers: &Answers) -> Result<(), EditFault> {
    let home = answers.home.as_ref();
    let show = answers.show.map(|show| match show {
        UnitSystem::Metric => "metric".to_owned(),
        UnitSystem::Us => "us".to_owned(),
        UnitSystem::Imperial => "imperial".to_owned(),
    });
    for (place, answer) in [
        ("van", answers.van.as_deref().map(quoted)),
        ("crew", answers.crew.map(number)),
        ("home/place", home.map(|(place, ..)| quoted(place))),
        ("home/latitude", home.map(|(_, latitude, _)| number(*latitude))),
        ("home/longitude", home.map(|(.., longitude)| number(*longitude))),
        ("home/zone", answers.zone.as_deref().map(quoted)),
        ("show", show),
    ] {
        if let Some(answer) = answer {
            *text = set(text, place, &answer)?;
        }
    }
    Ok(())
}

/// Gives a stock another capacity, and its margin and dregs the same share of it as before.
fn resize(text: &mut String, stock: &str, margin: &str, capacity: f64) -> Result<(), EditFault> {
    let place = |field: &str| format!("stocks/{stock}/{field}");
    let before = value(text, &place("capacity"));
    *text = set(text, &place("capacity"), &number(capacity))?;
    for field in [margin, "dregs"] {
        if let (Some(before), Some(kept)) = (before, value(text, &place(field))) {
            let scaled = kept * capacity / before;
            *text = set(text, &place(field), &number(tidy(scaled)))?;
        }
    }
    Ok(())
}

/// At least a day's drinking for everyone aboard stays in the tank, as far as half of it goes.
fn keep_drinking_water(text: &mut String) -> Result<(), EditFault> {
    let (Some(crew), Some(capacity), Some(kept)) = (
        value(text, "crew"),
        value(text, "stocks/fresh/capacity"),
        value(text, "stocks/fresh/keep"),
    ) else {
        return Ok(());
    };
    let litres_a_day = reference::find("drinking water").map_or(0.0, |row| row.value);
    let needed = (crew * litres_a_day).min(capacity / 2.0);
    if kept < needed {
        *text = set(text, "stocks/fresh/keep", &number(tidy(needed)))?;
    }
    Ok(())
}

/// The first panel stands for all of them, as templates have one kind at most.
fn panels(text: &mut String, watts: f64) -> Result<(), EditFault> {
    *text = if watts == 0.0 {
        set(text, "electrics/panels", "[]")?
    } else if get(text, "electrics/panels/0").is_some() {
        set(text, "electrics/panels/0/rated_w", &number(watts))?
    } else {
        append(text, "electrics/panels", &format!("(rated_w: {})", number(watts)))?
    };
    Ok(())
}

fn value(text: &str, path: &str) -> Option<f64> {
    get(text, path).and_then(|word| word.parse().ok())
}

/// As people write it: whole from ten up, else one decimal.
fn tidy(number: f64) -> f64 {
    if number >= 10.0 { number.round() } else { (number * 10.0).round() / 10.0 }
}

/// A number as RON. What is no number stays none, so that reading the file names it.
fn number(number: f64) -> String {
    if number.is_nan() { "NaN".to_owned() } else { number.to_string() }
}

#[cfg(test)]
mod tests;
