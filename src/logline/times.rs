//! When something was: moments, ranges of hours, days and their parts.

pub(super) mod lasting;
pub(super) mod moment;
pub(super) mod time;
