//! The dashboard: screens over the answers that `forecast` gives.
//!
//! [`state`] is what is shown, [`message`] what can happen, [`update`] the only place where the
//! first changes by the second, [`effect`] what is asked of the outside, and [`view`] draws.
//! All of these are pure. [`terminal`] alone touches the terminal, clock and threads, and asks
//! everything else of a [`host::Host`], so that this front knows no files.

pub mod asking;
pub mod effect;
pub mod filter;
pub mod follow;
pub mod hearing;
pub mod host;
pub mod journal_view;
pub mod key;
pub mod keymap;
pub mod lookback;
pub mod message;
pub mod pending;
pub mod rig;
pub mod round;
pub mod state;
pub mod stops;
pub mod stretch;
pub mod terminal;
pub mod theme;
pub mod update;
mod usual_uses;
pub mod values;
pub mod view;
pub mod widgets;

#[cfg(test)]
mod tests;

// The face of this folder: what is named most often, by its short path.
pub(in crate::tui) use effect::{Effect, SavePurpose, Spends};
pub(in crate::tui) use journal_view::JournalView;
pub(in crate::tui) use key::{Context, Key};
pub(in crate::tui) use message::{Action, Message};
pub(in crate::tui) use pending::{Extent, Pending};
pub(in crate::tui) use state::{Purpose, State, Tone};

pub use host::Host;
pub use theme::Theme;

#[cfg(test)]
use tests::fixture;
