//! What a line says, or the ways out of it.

use super::everyday::instead::{self, Ways};
use super::grammar::schedule;
use super::lexis::misread::{Misread, Understood};
use super::lexis::vocabulary::Vocabulary;
use crate::domain::time::Moment;

/// What `words` say, in the order in which they say it, at `now` where they name no time.
///
/// # Errors
///
/// The first words that are not clear, with what would be; nothing is understood in part.
pub fn parse(
    words: &str,
    vocabulary: &Vocabulary,
    now: Moment,
) -> Result<Vec<Understood>, Misread> {
    schedule::understand(words, vocabulary, now).or_else(|mut misread| {
        match instead::ways(words, &mut misread, vocabulary, now) {
            Ways::Plain(said) => return Ok(said),
            Ways::Open(ways) => misread.instead = ways,
        }
        let length = misread.end - misread.start;
        let as_written: String = words.chars().skip(misread.start).take(length).collect();
        if !as_written.contains(char::is_control) {
            misread.word = as_written;
        }
        Err(misread)
    })
}
