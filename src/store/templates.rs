//! The starter rigs that are part of the program.

/// A starter rig to begin from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Template {
    /// What `--from-template` calls it.
    pub name: &'static str,
    /// For whom it is, in a sentence without its full stop.
    pub about: &'static str,
    /// The file, with its comments.
    pub text: &'static str,
}

macro_rules! templates {
    ($($name:literal $about:literal;)+) => {
        &[$(Template {
            name: $name,
            about: $about,
            text: include_str!(concat!("../../assets/templates/", $name, ".ron")),
        }),+]
    };
}

/// All starter rigs; the first is the one to begin with when nobody chooses.
pub const TEMPLATES: &[Template] = templates![
    "two-berth" "a small van for two: separating toilet, gas, sun on the roof";
    "family" "a van for four: electric cooking, two waste containers, much sun";
    "no-solar" "a van for two without panels: shore power, generator, alternator";
    "black-tank" "a van for two with a flushing toilet and a black tank";
];

impl Default for &'static Template {
    fn default() -> &'static Template {
        &TEMPLATES[0]
    }
}

/// The first `places.ron`: nothing but comments that say how to fill it.
pub const PLACES: &str = include_str!("../../assets/templates/places.ron");

/// The template of that name.
pub fn find(name: &str) -> Option<&'static Template> {
    TEMPLATES.iter().find(|template| template.name == name)
}

#[cfg(test)]
mod tests;
