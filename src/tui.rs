//! The dashboard: screens over the answers that `forecast` gives.
//!
//! [`state`] is what is shown, [`message`] what can happen, [`update`] the only place where the
//! first changes by the second, [`effect`] what is asked of the outside, and [`view`] draws.
//! All of these are pure. [`terminal`] alone touches the terminal, clock and threads, and asks
//! everything else of a [`backstage::Backstage`], so that this front knows no files.

pub mod asked;
pub mod backstage;
pub mod book;
pub mod effect;
pub mod form;
pub mod key;
pub mod keymap;
pub mod lookback;
pub mod message;
pub mod state;
pub mod stops;
pub mod stretch;
pub mod terminal;
pub mod theme;
pub mod update;
pub mod view;
pub mod widgets;

#[cfg(test)]
mod fixture;

pub use backstage::Backstage;
pub use terminal::run;
pub use theme::Look;
