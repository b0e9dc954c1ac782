//! A van in a folder of its own, asked as a person or a script would ask it.

use serde_json::Value;
use std::path::PathBuf;
use std::process::Command;
use waystock::domain::entry::Entry;
use waystock::domain::time::Moment;

/// A data folder, and the moment that counts as now.
pub struct Van {
    folder: tempfile::TempDir,
    at: String,
}

impl Van {
    /// A van whose rig file has these parts after its home. `home` names latitude, longitude,
    /// zone and, if it likes, what weather is typical.
    pub fn of(home: &str, parts: &str, at: &str) -> Van {
        let van = Van { folder: tempfile::tempdir().expect("a folder"), at: at.into() };
        let text = format!(
            "(format: 1, van: \"Tern\", crew: 1, show: metric,\n home: (place: \"Here\", {home}),\
             \n{parts})"
        );
        van.write("rig.ron", &text);
        van
    }

    /// The same with these places.
    pub fn with_places(self, places: &str) -> Van {
        self.write("places.ron", &format!("(format: 1, places: [{places}])"));
        self
    }

    /// The same with exchange files imported, one after another, each a header and its rows.
    pub fn with_files(self, files: &[&str]) -> Van {
        for (number, text) in files.iter().enumerate() {
            let name = format!("{number}.csv");
            self.write(&name, text);
            let file = self.path(&name).to_str().expect("a plain path").to_string();
            self.run(&["import", &file]);
        }
        self
    }

    /// The same with journals that devices wrote themselves.
    pub fn with_journal(self, entries: &[Entry]) -> Van {
        std::fs::create_dir_all(self.path("journal")).expect("a folder");
        let mut devices: Vec<&str> = entries.iter().map(|e| e.id.device.as_str()).collect();
        devices.sort_unstable();
        devices.dedup();
        for device in devices {
            let own = entries.iter().filter(|entry| entry.id.device == device);
            let lines =
                own.map(|entry| waystock::store::line::write(entry, None).expect("a line") + "\n");
            self.write(&format!("journal/{device}.ron"), &lines.collect::<String>());
        }
        self
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join("van").join(name)
    }

    fn write(&self, name: &str, text: &str) {
        let file = self.path(name);
        std::fs::create_dir_all(file.parent().expect("a folder")).expect("a folder");
        std::fs::write(file, text).expect("written");
    }

    fn run(&self, words: &[&str]) -> String {
        let out = Command::new(env!("CARGO_BIN_EXE_waystock"))
            .arg("--dir")
            .arg(self.path(""))
            .args(["--at", &self.at])
            .args(words)
            .env("XDG_STATE_HOME", self.folder.path().join("state"))
            .env("HOME", self.folder.path())
            .output()
            .expect("the program runs");
        let said = String::from_utf8_lossy(&out.stderr);
        // 1 is the answer no.
        assert!(out.status.code().is_some_and(|code| code <= 1), "{words:?}: {said}");
        String::from_utf8(out.stdout).expect("plain text")
    }

    /// The answer to these words as JSON.
    pub fn json(&self, words: &[&str]) -> Value {
        serde_json::from_str(&self.run(&[words, &["--json"]].concat())).expect("JSON")
    }

    /// A quantile of the hours to a stock's limit, of its forecast; infinite past the horizon.
    pub fn hours(&self, stock: &str, quantile: &str) -> f64 {
        hours(&self.json(&["forecast"]), stock, quantile)
    }

    /// So many hours after now, written with the offset of now.
    pub fn after(&self, hours: f64) -> Moment {
        let now: Moment = self.at.parse().expect("a moment");
        waystock::domain::time::after_hours(now, hours).expect("not far")
    }
}

/// A quantile of a stock in a forecast that was asked for; infinite past the horizon.
pub fn hours(forecast: &Value, stock: &str, quantile: &str) -> f64 {
    let all = forecast["stocks"].as_array().expect("stocks");
    let stock = all.iter().find(|s| s["name"] == stock).expect("the stock");
    stock["hours"][quantile].as_f64().unwrap_or(f64::INFINITY)
}

/// A moment that an answer names.
pub fn moment(value: &Value) -> Moment {
    value.as_str().expect("a moment").parse().expect("RFC 3339")
}
