//! A place to run in: a data folder and a home of its own, both gone afterwards.

use serde_json::Value;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use tempfile::TempDir;

/// The demo's own evening, and the moment after it.
pub const EVENING: &str = "2026-10-20T21:05:00-02:30";
pub const LATER: &str = "2026-10-20T21:30:00-02:30";

pub struct Place {
    root: TempDir,
}

/// What a run gave.
#[derive(Debug)]
pub struct Run {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Run {
    pub fn json(&self) -> Value {
        assert_eq!(self.code, 0, "{self:?}");
        serde_json::from_str(&self.out).unwrap_or_else(|why| panic!("{why}: {}", self.out))
    }
}

impl Place {
    /// No data folder yet.
    pub fn bare() -> Place {
        Place { root: tempfile::tempdir().unwrap() }
    }

    /// A copy of the demo.
    pub fn demo() -> Place {
        let place = Place::bare();
        copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo"), &place.data());
        place
    }

    /// A fresh folder from a template.
    pub fn fresh(template: &str) -> Place {
        let place = Place::bare();
        let run = place.run(&["init", "--from-template", template]);
        assert_eq!(run.code, 0, "{run:?}");
        place
    }

    pub fn root(&self) -> &Path {
        self.root.path()
    }

    pub fn data(&self) -> PathBuf {
        self.root.path().join("data")
    }

    /// What the machine remembers outside the data folder.
    pub fn state(&self) -> PathBuf {
        self.root.path().join("state/waystock/devices")
    }

    /// The binary, pointed here and at nothing else.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_waystock"));
        command.args(arguments).env_clear().envs(self.surroundings()).stdin(Stdio::null());
        command
    }

    pub fn surroundings(&self) -> [(&'static str, PathBuf); 4] {
        [
            ("HOME", self.root().into()),
            ("XDG_STATE_HOME", self.root().join("state")),
            ("XDG_DATA_HOME", self.root().join("share")),
            ("WAYSTOCK_DIR", self.data()),
        ]
    }

    pub fn run(&self, arguments: &[&str]) -> Run {
        finish(self.command(arguments))
    }

    /// A command that has to work; its standard output.
    pub fn done(&self, arguments: &[&str]) -> String {
        let run = self.run(arguments);
        assert_eq!((run.code, run.err.as_str()), (0, ""), "{arguments:?}: {}", run.out);
        run.out
    }

    /// Runs with `input` on standard input.
    pub fn fed(&self, arguments: &[&str], input: &str) -> Run {
        let mut command = self.command(arguments);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        child.stdin.take().unwrap().write_all(input.as_bytes()).unwrap();
        let output = child.wait_with_output().unwrap();
        Run {
            code: output.status.code().unwrap(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    pub fn write(&self, name: &str, text: &str) -> String {
        let path = self.root.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_string()
    }

    /// Every file of the data folder with its bytes.
    pub fn files(&self) -> Vec<(PathBuf, Vec<u8>)> {
        let mut found = Vec::new();
        collect(&self.data(), &mut found);
        found.sort();
        found
    }
}

pub fn finish(mut command: Command) -> Run {
    let output = command.output().unwrap();
    Run {
        code: output.status.code().expect("it ended by itself"),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        if path.is_dir() {
            copy(&path, &target);
        } else {
            std::fs::copy(&path, &target).unwrap();
        }
    }
}

fn collect(folder: &Path, found: &mut Vec<(PathBuf, Vec<u8>)>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, found);
        } else {
            let bytes = std::fs::read(&path).unwrap();
            found.push((path, bytes));
        }
    }
}
