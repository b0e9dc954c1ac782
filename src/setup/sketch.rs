//! A van as answered so far: a template and what replaces its values.

use super::answers_read::units;
use super::rig_text::parsed;
use super::{heat, kinds};
use crate::domain::{Rig, UnitSystem};
use crate::store::rig_edit::get;
use crate::store::starter::Answers;
use crate::store::templates::Template;
use chrono::NaiveDate;

/// What the machine knows by itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Machine {
    /// Its time zone, offered once the van stands elsewhere than the template's.
    pub zone: Option<String>,
    /// Its date, for the season.
    pub today: NaiveDate,
}

/// A van as answered so far.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sketch {
    /// What the machine knows.
    pub machine: Machine,
    /// What answers begin from.
    pub template: &'static Template,
    /// The text of that, with the kinds of things that were answered.
    pub text: String,
    /// The rig of this text.
    pub rig: Rig,
    /// What else was answered.
    pub answers: Answers,
    /// Things of which the van has another kind, and which, in words; the latest last.
    pub kinds: Vec<(&'static str, String)>,
}

/// Whether it is no kind of a thing, but the place of a stock that the van has none of.
fn is_place(thing: &str) -> bool {
    thing.contains('/')
}

/// What heats it, among the kinds of things.
pub(super) const HEAT: &str = "heat";

impl Sketch {
    /// A van as the template has it.
    pub(super) fn of(template: &'static Template, machine: Machine) -> Result<Sketch, String> {
        let (text, rig) = (template.text.to_string(), parsed(template.text)?);
        Ok(Sketch { machine, template, text, rig, answers: Answers::new(), kinds: Vec::new() })
    }

    /// Takes the kind of a thing: the template is written anew, so that who goes back finds its numbers.
    ///
    /// # Errors
    /// What would be right.
    pub(super) fn take_kind(&mut self, thing: &'static str, word: &str) -> Result<(), String> {
        // What was left out may be burnt by the new kind: it is asked anew.
        self.kinds.retain(|(known, _)| *known != thing && (is_place(thing) || !is_place(known)));
        self.kinds.push((thing, word.to_lowercase()));
        self.write()
    }

    /// A stock that was left out is there again.
    ///
    /// # Errors
    /// As [`Sketch::take_kind`].
    pub(super) fn take_again(&mut self, place: &str) -> Result<(), String> {
        self.kinds.retain(|(known, _)| *known != place);
        self.write()
    }

    /// The template with the kinds of things that were answered.
    fn write(&mut self) -> Result<(), String> {
        let mut text = self.template.text.to_string();
        for (thing, word) in &self.kinds {
            text = match *thing {
                HEAT => heat::heated(&text, word)?,
                place if is_place(place) => heat::without_fuel(&text, place)?,
                thing => kinds::made(&text, thing, word)?,
            };
        }
        self.rig = parsed(&text).map_err(|_| {
            let thing = self.kinds.last().map_or("thing", |(thing, _)| *thing);
            format!("another kind of {thing}")
        })?;
        // What was said of a part that is gone is gone as well.
        self.answers.retain(|place, _| match place.strip_prefix("stocks/") {
            Some(_) => place.rsplit_once('/').is_some_and(|(stock, _)| get(&text, stock).is_some()),
            None => true,
        });
        self.text = text;
        Ok(())
    }

    /// What was said of the kind of a thing.
    pub(super) fn kind(&self, thing: &str) -> Option<&str> {
        self.kinds.iter().find(|(known, _)| *known == thing).map(|(_, word)| word.as_str())
    }

    /// Degrees north and east of where the van stands.
    pub(super) fn spot(&self) -> (f64, f64) {
        let degrees = |path, usual| {
            let answer = self.answers.get(path).and_then(|degrees| degrees.parse().ok());
            answer.unwrap_or(usual)
        };
        let home = &self.rig.home;
        (degrees("home/latitude", home.latitude), degrees("home/longitude", home.longitude))
    }

    pub(super) fn show(&self) -> UnitSystem {
        self.answers.get("show").and_then(|word| units(word).ok()).unwrap_or_default()
    }
}
