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
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, Once, TryLockError};
use std::time::Duration;

/// The exit code of a program that failed by itself (`EX_SOFTWARE` of the C library's
/// `sysexits.h`).
const INTERNAL_FAILURE: i32 = 70;

static ACTIVE: AtomicBool = AtomicBool::new(false);
static HOOK: Once = Once::new();
/// Held while a frame is drawn: one that is half drawn when another thread gives the terminal back
/// would hide the cursor again.
static DRAWING: Mutex<()> = Mutex::new(());
/// How often, and how long each time, a panic waits for a frame to be drawn. Who draws may be the one
/// that panics, and a terminal may take nothing any more.
const WAITS: usize = 20;
const WAIT: Duration = Duration::from_millis(10);

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

/// Whether the terminal is ours to draw on; it stays so while what is returned is held.
pub(in crate::tui) fn drawing() -> Option<MutexGuard<'static, ()>> {
    let drawing = DRAWING.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    Some(drawing).filter(|_| ACTIVE.load(Ordering::SeqCst))
}

/// As [`drawing`], but gives up on a frame that does not come to its end.
fn no_more_drawing() -> Option<MutexGuard<'static, ()>> {
    for _ in 0..WAITS {
        match DRAWING.try_lock() {
            Ok(drawing) => return Some(drawing),
            Err(TryLockError::Poisoned(poisoned)) => return Some(poisoned.into_inner()),
            Err(TryLockError::WouldBlock) => std::thread::sleep(WAIT),
        }
    }
    None
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
            let _drawing = no_more_drawing();
            leave();
            before(info);
            let words = "waystock failed; every entry that it called saved is in the folder";
            let _ = writeln!(io::stderr(), "{words}");
            std::process::exit(INTERNAL_FAILURE);
        }));
    });
}
