//! What the terminal is switched to, and back. One way back serves quitting, errors, panics,
//! signals and pausing, and may be taken any number of times.

use ratatui::crossterm::cursor::Show;
use ratatui::crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture,
};
use ratatui::crossterm::execute;
use ratatui::crossterm::style::ResetColor;
use ratatui::crossterm::terminal::{
    Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use std::io::{self, Write};
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};

/// The exit code of a program that failed by itself (`EX_SOFTWARE` of the C library's
/// `sysexits.h`).
const INTERNAL_FAILURE: i32 = 70;

static ACTIVE: AtomicBool = AtomicBool::new(false);
static HOOK: Once = Once::new();

/// Holds the terminal; dropping it gives the terminal back.
#[derive(Debug)]
pub struct Modes(());

impl Modes {
    /// Takes the terminal.
    pub fn enter() -> io::Result<Modes> {
        // The guard exists first, so that a half-taken terminal is given back as well.
        let modes = Modes(());
        take()?;
        Ok(modes)
    }
}

impl Drop for Modes {
    fn drop(&mut self) {
        leave();
    }
}

/// Whether the terminal is ours to draw on.
pub(in crate::tui) fn active() -> bool {
    ACTIVE.load(Ordering::SeqCst)
}

/// Raw mode, the other screen, paste as text.
pub fn take() -> io::Result<()> {
    ACTIVE.store(true, Ordering::SeqCst);
    enable_raw_mode()?;
    execute!(io::stdout(), EnterAlternateScreen, EnableBracketedPaste, Clear(ClearType::All))
}

/// Everything back as it was. Errors are not reported: a terminal that has gone away cannot be
/// restored, and every step is tried regardless of the others.
pub fn leave() {
    if !ACTIVE.swap(false, Ordering::SeqCst) {
        return;
    }
    let mut out = io::stdout();
    let _ = execute!(out, DisableMouseCapture);
    let _ = execute!(out, DisableBracketedPaste);
    let _ = execute!(out, ResetColor);
    let _ = execute!(out, LeaveAlternateScreen);
    let _ = execute!(out, Show);
    let _ = disable_raw_mode();
    let _ = out.flush();
}

/// Mouse reports come from now on.
pub(in crate::tui) fn hear_mouse() -> io::Result<()> {
    execute!(io::stdout(), EnableMouseCapture)
}

/// None come from now on, and the terminal selects text by itself.
pub(in crate::tui) fn ignore_mouse() -> io::Result<()> {
    execute!(io::stdout(), DisableMouseCapture)
}

/// From now on a panic, in whatever thread, gives the terminal back, speaks, and ends the whole
/// program with exit code 70. Going on would leave a picture that no longer changes over keys that
/// still write.
pub fn end_on_panic() {
    HOOK.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            leave();
            before(info);
            let words = "waystock failed; every entry that it called saved is in the folder";
            let _ = writeln!(io::stderr(), "{words}");
            std::process::exit(INTERNAL_FAILURE);
        }));
    });
}
