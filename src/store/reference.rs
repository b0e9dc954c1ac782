//! Published and customary starting values, with spread, source and status. The file is part
//! of the program; its rows are what templates and defaults are checked against.

use serde::Deserialize;

/// What a reference row's spread is the standard deviation of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SpreadOf {
    /// The logarithm of the value.
    Log,
    /// The value itself.
    Value,
}

/// One starting value.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reference {
    /// What it is, in a few words; unique.
    pub key: String,
    /// The value.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// Standard deviation, of what `of` says.
    pub spread: f64,
    /// What the spread is of.
    pub of: SpreadOf,
    /// Where it comes from.
    pub source: String,
    /// How well it is founded.
    pub status: String,
}

/// All rows.
pub fn rows() -> Vec<Reference> {
    ron::from_str(include_str!("../../assets/reference.ron"))
        .expect("the embedded reference is read by a test")
}

/// The row of that key.
pub fn find(key: &str) -> Option<Reference> {
    rows().into_iter().find(|row| row.key == key)
}
