//! What a long search says on a terminal while it is at it: one line on standard error that is
//! written over and cleared in the end. Scripts and files see nothing of it.

use super::output::{COLUMNS, columns_of_messages};
use crate::domain::Place;
use crate::plan::Progress;
use crate::text::left;
use crate::text::stops::so_far;
use std::io::{self, IsTerminal, Write};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::{Duration, Instant};

/// Says how far a search is, once a second from the first second on.
pub struct ProgressLine {
    begun: Instant,
    /// Seconds that were told last.
    told: AtomicU64,
    terminal: bool,
}

/// Does `work`, and says to a person who waits what is done and for how long.
pub(super) fn waiting<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let line = ProgressLine::begin();
    if !line.terminal {
        return work();
    }
    std::thread::scope(|scope| {
        let (done, wait) = mpsc::channel::<()>();
        let tell = move || {
            let mut told = false;
            while wait.recv_timeout(Duration::from_secs(1)) == Err(RecvTimeoutError::Timeout) {
                let seconds = line.begun.elapsed().as_secs();
                line.write(&format!("{what}, {seconds} s; Ctrl-C gives up"));
                told = true;
            }
            if told {
                line.write("");
            }
        };
        let told = scope.spawn(tell);
        let result = work();
        drop(done);
        // The line is gone before anything else is said.
        let _ = told.join();
        result
    })
}

impl ProgressLine {
    /// Begins to count.
    pub fn begin() -> ProgressLine {
        let terminal = io::stderr().is_terminal();
        ProgressLine { begun: Instant::now(), told: AtomicU64::new(0), terminal }
    }

    /// Says so if the last time is a second ago.
    pub fn tell(&self, progress: &Progress, places: &[Place]) {
        let seconds = self.begun.elapsed().as_secs();
        if self.terminal && self.told.swap(seconds, Ordering::Relaxed) != seconds {
            self.write(&format!("searching, {seconds} s: {}", so_far(progress, places)));
        }
    }

    /// Leaves nothing behind.
    pub fn clear(&self) {
        if self.told.load(Ordering::Relaxed) > 0 && self.terminal {
            self.write("");
        }
    }

    /// The text and the way back to the line's beginning; what stood there before is covered by
    /// blanks, which every terminal knows. Nothing can be said about a terminal that is gone.
    fn write(&self, text: &str) {
        let columns = columns_of_messages().unwrap_or(COLUMNS).min(COLUMNS) - 1;
        let _ = write!(io::stderr(), "\r{}\r", left(text, columns));
        let _ = io::stderr().flush();
    }
}
