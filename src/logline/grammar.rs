//! The closed grammar: things with their amounts and times, whatever the order of their words.

pub(super) mod bag;
pub(super) mod beside;
pub(super) mod clause;
pub(super) mod doubt;
pub(super) mod driven;
pub(super) mod gone;
pub(super) mod kept;
pub(super) mod level;
pub(super) mod listing;
pub(super) mod meaning;
pub(super) mod people;
pub(super) mod prepared;
pub(super) mod scene;
pub(super) mod schedule;
pub(super) mod service;
pub(super) mod swapped;
pub(super) mod talk;
pub(super) mod thing;
pub(super) mod travel;
pub(super) mod uses;
pub(super) mod weather;
