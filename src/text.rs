//! Phrases and strings that both fronts share. Pure.

pub mod safe;
