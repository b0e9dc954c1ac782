//! The program as people and scripts meet it: the real binary on a copy of the demo or in a fresh
//! folder, judged by standard output, standard error, exit code and what lies on the disk after.

#![allow(clippy::disallowed_methods, reason = "the tests look at the folders they made")]

mod answers;
#[cfg(unix)]
mod attacked;
mod codes;
mod exchange;
mod gaps;
#[cfg(unix)]
mod init;
mod json_fields;
mod logging;
mod place;
#[cfg(unix)]
mod plans;
#[cfg(unix)]
#[path = "../fixtures/screen.rs"]
mod screen;
mod shell;
