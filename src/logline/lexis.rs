//! The words of the log line: the table of everyday words, what a van calls its things, amounts and units,
//! and what is said of a word that is not understood.

pub(super) mod amounts;
pub(super) mod cut;
pub(super) mod face;
pub(super) mod lexicon;
pub(super) mod listed;
pub(super) mod misread;
pub(super) mod reader;
pub(super) mod recent;
pub(super) mod told;
pub(super) mod units;
pub(super) mod vocabulary;
pub(super) mod word;
