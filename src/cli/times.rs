//! Days and times on the command line, as the log line knows them.

use super::Failure;
use crate::domain::Moment;
use crate::logline::{self, Vocabulary};

/// When what an option names begins and ends: a day is all of it.
///
/// # Errors
/// What is expected, where it names no time.
pub(super) fn span(
    option: &str,
    text: &str,
    known: &Vocabulary,
    now: Moment,
) -> Result<(Moment, Moment), Failure> {
    logline::span(text, known, now).ok_or_else(|| {
        let expected = "a day or a time: yesterday, tuesday, \"3 days ago\", \"17 october\", \
                        2026-06-01, \"yesterday 18:00\", or an RFC 3339 time";
        Failure::found(&format!("{option}: "), text, expected)
    })
}
