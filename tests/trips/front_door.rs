//! The same trips through the front door: exchange files, the real program, its JSON.
//!
//! The rows are written as an outsider would write them from the contract alone; nothing of the
//! program's own writer is used.

use super::score::Hours;
use super::trial::Answer;
use super::trip::Trip;
use serde_json::Value;
use std::path::Path;
use std::process::Command;
use waystock::domain::entry::{After, Body, ChargeSource, Entry, Event, Spot};
use waystock::domain::outlook::DayWeather;
use waystock::domain::quantity::Quantity;
use waystock::domain::time::Moment;

/// A folder that holds one trip's rig and journal.
pub struct Door {
    folder: tempfile::TempDir,
}

impl Door {
    /// Writes the trip's files and imports them.
    pub fn of(trip: &Trip) -> Door {
        let door = Door { folder: tempfile::tempdir().expect("a folder") };
        std::fs::write(door.path("rig.ron"), &trip.rig_text).expect("rig written");
        let (mut diary, mut outlook) = (
            vec!["at,kind,what,amount,unit,step,after,note,recorded".to_string()],
            vec!["issued,date,low_c,high_c,sun_kwh_m2,cloud,place".to_string()],
        );
        for entry in &trip.entries {
            let Body::Happened(event) = &entry.body else { continue };
            match event {
                Event::Outlook(row) => outlook.push(outlook_row(row)),
                other => diary.push(diary_row(entry, other)),
            }
        }
        let last = trip.entries.iter().map(|e| e.at.max(e.recorded)).max().expect("entries");
        for (name, rows) in [("diary.csv", diary), ("outlook.csv", outlook)] {
            let file = door.path(name);
            std::fs::write(&file, rows.join("\n") + "\n").expect("rows written");
            let file = file.to_str().expect("a plain path").to_string();
            door.run(&["import", &file, "--at", &last.to_rfc3339()]);
        }
        door
    }

    fn path(&self, name: &str) -> std::path::PathBuf {
        let folder: &Path = self.folder.path();
        folder.join(name)
    }

    fn run(&self, words: &[&str]) -> String {
        let out = Command::new(env!("CARGO_BIN_EXE_waystock"))
            .arg("--dir")
            .arg(self.folder.path())
            .args(words)
            .output()
            .expect("the program runs");
        let said = String::from_utf8_lossy(&out.stderr);
        assert!(out.status.success(), "{words:?}: {said}");
        String::from_utf8(out.stdout).expect("plain text")
    }

    /// The program's answer at a moment, read from its JSON; stocks in the order of `names`.
    pub fn forecast(&self, at: Moment, lives: usize, names: &[&str]) -> Answer {
        let (at, lives) = (at.to_rfc3339(), lives.to_string());
        let text = self.run(&["forecast", "--json", "--at", &at, "--lives", &lives]);
        let answer: Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(answer["schema"], "waystock.forecast/1");
        let all = answer["stocks"].as_array().expect("stocks");
        let stocks = names.iter().map(|name| {
            let stock = all.iter().find(|stock| stock["name"] == *name).expect("every stock");
            hours(&stock["hours"])
        });
        let binding = answer["next"]["binding"].as_str();
        Answer {
            stocks: stocks.collect(),
            next: hours(&answer["next"]["hours"]),
            binding: binding.map(|b| names.iter().position(|n| *n == b).expect("a stock")),
        }
    }
}

fn hours(quantiles: &Value) -> Hours {
    ["p05", "p10", "p25", "p50", "p75", "p90", "p95"]
        .map(|name| quantiles[name].as_f64().unwrap_or(f64::INFINITY))
}

fn diary_row(entry: &Entry, event: &Event) -> String {
    let both = |q: &Quantity| format!("{},{}", q.amount, q.unit.word());
    let amount = |q: &Option<Quantity>| q.as_ref().map_or(",".to_string(), both);
    let rest = match event {
        Event::Use { activity, count } => format!("use,{activity},{},,", both(count)),
        Event::Level { stock, reading, step } => {
            let step = step.map_or(String::new(), |step| step.to_string());
            format!("level,{stock},{},{step},", both(reading))
        }
        Event::Fill { stock, amount: put, after } => {
            let after = match after {
                None => String::new(),
                Some(After::Full) => "full".into(),
                Some(After::Level(level)) => format!("{} {}", level.amount, level.unit.word()),
            };
            format!("fill,{stock},{},,{after}", amount(put))
        }
        Event::Empty { stock, amount: taken, after } => {
            let left = after.as_ref().map(|q| format!("{} {}", q.amount, q.unit.word()));
            format!("empty,{stock},{},,{}", amount(taken), left.unwrap_or_default())
        }
        Event::Drive(driven) => format!("drive,hours,{},,", both(driven)),
        Event::Charge { source, amount } => {
            let word = match source {
                ChargeSource::Shore => "shore",
                ChargeSource::Generator => "generator",
            };
            format!("charge,{word},{},,", both(amount))
        }
        Event::Camp(Spot::At { latitude, longitude }) => {
            format!("camp,\"{latitude},{longitude}\",,,,")
        }
        Event::Camp(Spot::Named(name)) => format!("camp,{name},,,,"),
        Event::Crew(people) => format!("crew,aboard,{people},people,,"),
        Event::DayClosed => "day,closed,,,,".into(),
        other => panic!("no trip writes {other:?}"),
    };
    let recorded = match entry.recorded == entry.at {
        true => String::new(),
        false => entry.recorded.to_rfc3339(),
    };
    format!("{},{rest},,{recorded}", entry.at.to_rfc3339())
}

fn outlook_row(row: &DayWeather) -> String {
    let cell = |value: Option<f64>| value.map_or(String::new(), |v| v.to_string());
    format!(
        "{},{},{},{},{},{},",
        row.issued.to_rfc3339(),
        row.date,
        cell(row.low_c),
        cell(row.high_c),
        cell(row.sun_kwh_m2),
        cell(row.cloud)
    )
}
