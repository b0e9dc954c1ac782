//! A van as answered so far: a template and what replaces its values.

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
    /// The template that answers begin from.
    pub rig: Rig,
    /// What was answered.
    pub answers: Answers,
    /// The usual low and high at this time of year, in degrees Celsius.
    pub typical: Option<(f64, f64)>,
}

impl Sketch {
    pub(super) fn home(&self) -> (String, f64, f64) {
        let usual = &self.rig.home;
        let usual = || (usual.place.clone(), usual.latitude, usual.longitude);
        self.answers.home.clone().unwrap_or_else(usual)
    }

    /// Whether the van stands elsewhere than the template's.
    pub(super) fn moved(&self) -> bool {
        let (_, north, east) = self.home();
        (north, east) != (self.rig.home.latitude, self.rig.home.longitude)
    }

    pub(super) fn show(&self) -> UnitSystem {
        self.answers.show.unwrap_or_default()
    }
}

/// The rig of a template.
pub(super) fn of_template(template: &Template) -> Result<Rig, String> {
    rig_file::parse(template.text, Path::new("rig.ron"))
        .map_err(|_| format!("the template {} cannot be read", template.name))
}
