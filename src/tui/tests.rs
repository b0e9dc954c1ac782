//! What the tests of the screens stand on.

pub(in crate::tui) mod fixture;
