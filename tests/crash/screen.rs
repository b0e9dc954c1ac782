//! The dashboard on a pseudo terminal.

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::path::PathBuf;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// A dashboard that runs, 80 columns wide.
pub struct Screen {
    _master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    child: Box<dyn Child + Send + Sync>,
    terminal: Arc<Mutex<vt100::Parser>>,
    reader: JoinHandle<()>,
}

impl Screen {
    pub fn open(arguments: &[&str], surroundings: &[(&str, PathBuf)]) -> Screen {
        let (rows, cols) = (24, 80);
        let size = PtySize { rows, cols, ..PtySize::default() };
        let pair = native_pty_system().openpty(size).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_waystock"));
        command.args(arguments);
        command.env("TERM", "xterm");
        surroundings.iter().for_each(|(name, value)| command.env(name, value));
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let cells = |count: u16| count.try_into().expect("not zero");
        let terminal = Arc::new(Mutex::new(vt100::Parser::new(cells(rows), cells(cols), 0)));
        let (mut from, shown) = (pair.master.try_clone_reader().unwrap(), terminal.clone());
        let reader = std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = from.read(&mut bytes) {
                shown.lock().unwrap().process(&bytes[..count]);
            }
        });
        let keys = pair.master.take_writer().unwrap();
        Screen { _master: pair.master, keys, child, terminal, reader }
    }

    pub fn process(&self) -> u32 {
        self.child.process_id().unwrap()
    }

    /// As a hand does: an Enter that follows letters at once counts with them as pasted.
    pub fn press(&mut self, keys: &str) {
        let mut rest = keys;
        while let Some(first) = rest.chars().next() {
            let end = rest.find(char::is_control).unwrap_or(rest.len());
            let (piece, behind) = rest.split_at(if end == 0 { first.len_utf8() } else { end });
            std::thread::sleep(Duration::from_millis(80));
            self.keys.write_all(piece.as_bytes()).unwrap();
            self.keys.flush().unwrap();
            rest = behind;
        }
    }

    fn contents(&self) -> String {
        self.terminal.lock().unwrap().screen().contents()
    }

    pub fn waits_for(&self, words: &str, patience: Duration) {
        let until = Instant::now() + patience;
        while !self.contents().contains(words) {
            assert!(Instant::now() < until, "waited in vain: '{words}' on\n{}", self.contents());
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    /// Kills it without a word, and gives what stood on its screen then.
    pub fn kill(mut self) -> String {
        let kill = Command::new("kill").args(["-9", &self.process().to_string()]).status();
        assert!(kill.unwrap().success());
        self.child.wait().unwrap();
        drop(self.keys);
        self.reader.join().unwrap();
        self.terminal.lock().unwrap().screen().contents()
    }
}
