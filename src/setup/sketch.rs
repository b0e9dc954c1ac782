//! A van as answered so far: a template and what replaces its values.

use super::answers_read::units;
use crate::domain::{Rig, UnitSystem};
use crate::store::rig_file;
use crate::store::starter::Answers;
use crate::store::templates::Template;
use chrono::NaiveDate;
use std::path::Path;

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
    /// The rig of that.
    pub rig: Rig,
    /// What was answered.
    pub answers: Answers,
    /// What heats it, in words, once that was answered.
    pub heated_by: Option<String>,
}

impl Sketch {
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

/// The rig of a template.
pub(super) fn of_template(template: &Template) -> Result<Rig, String> {
    rig_file::parse(template.text, Path::new("rig.ron"))
        .map_err(|_| format!("the template {} cannot be read", template.name))
}
