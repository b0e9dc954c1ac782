//! What long work says on a terminal while it is at it: one line on standard error that is written
//! over and cleared in the end. Scripts and files see nothing of it.

use super::output::{COLUMNS, columns_of_messages};
use crate::text::left;
use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::time::{Duration, Instant};

/// Does `work`, and once a second says to a person who waits what `tell` makes of the seconds so far.
pub(super) fn waiting<T>(tell: impl Fn(u64) -> String + Send, work: impl FnOnce() -> T) -> T {
    if !io::stderr().is_terminal() {
        return work();
    }
    let begun = Instant::now();
    std::thread::scope(|scope| {
        let (done, wait) = mpsc::channel::<()>();
        let telling = scope.spawn(move || {
            let mut told = false;
            while wait.recv_timeout(Duration::from_secs(1)) == Err(RecvTimeoutError::Timeout) {
                write(&tell(begun.elapsed().as_secs()));
                told = true;
            }
            if told {
                write("");
            }
        });
        let result = work();
        drop(done);
        // The line is gone before anything else is said.
        let _ = telling.join();
        result
    })
}

/// The text and the way back to the line's beginning; what stood there before is covered by
/// blanks, which every terminal knows. Nothing can be said about a terminal that is gone.
fn write(text: &str) {
    let columns = columns_of_messages().unwrap_or(COLUMNS).min(COLUMNS) - 1;
    let _ = write!(io::stderr(), "\r{}\r", left(text, columns));
    let _ = io::stderr().flush();
}
