//! Situations as an old hand would brief them, in `fixtures/situations.txt`: what the answer must
//! hold and must not. Run as a program, on vans that the templates begin.
#![allow(clippy::disallowed_methods, reason = "the test writes places and runs the program")]

use std::path::Path;
use std::process::Command;

/// Lines that an answer on a terminal of 24 rows may take, wherever nothing more is asked for.
const A_PAGE: usize = 24;

fn run(dir: &Path, at: &str, words: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_waystock"))
        .args(["--dir", dir.join("van").to_str().unwrap(), "--at", at, "--lives", "1000"])
        .args(words)
        .env("XDG_STATE_HOME", dir.join("state"))
        .env("HOME", dir)
        .output()
        .unwrap();
    let said = [output.stdout, output.stderr].concat();
    let code = output.status.code();
    assert!(code < Some(2), "{words:?}: {code:?} {}", String::from_utf8_lossy(&said));
    String::from_utf8(said).unwrap()
}

/// The words of a command; what follows `--against` is one of them.
fn words(line: &str) -> Vec<&str> {
    let mut words = Vec::new();
    for (n, part) in line.split("--against ").enumerate() {
        match n {
            0 => words.extend(part.split_whitespace()),
            _ => words.extend(["--against", part.trim()]),
        }
    }
    words
}

fn answer(lines: &[(&str, &str)]) -> String {
    let dir = tempfile::tempdir().unwrap();
    let all = |of: &str| -> Vec<&str> {
        lines.iter().filter(|(field, _)| *field == of).map(|(_, text)| *text).collect()
    };
    let at = all("at")[0];
    run(dir.path(), at, &["init", "--from-template", all("van")[0]]);
    let places: Vec<String> = all("place").iter().map(|place| format!("({place}),\n")).collect();
    let places = format!("(format: 1, places: [\n{}])\n", places.concat());
    std::fs::write(dir.path().join("van/places.ron"), places).unwrap();
    run(dir.path(), at, &["log", all("log")[0]]);
    for first in all("first") {
        run(dir.path(), at, &words(first));
    }
    run(dir.path(), at, &words(all("ask")[0]))
}

#[test]
fn an_old_hand_would_say_the_same() {
    let text = include_str!("fixtures/situations.txt");
    let situations: Vec<&str> = text.split("\n# ").skip(1).collect();
    assert_eq!(situations.len(), 23);
    let mut wrong = Vec::new();
    for situation in situations {
        let (name, rest) = situation.split_once('\n').unwrap();
        let lines: Vec<(&str, &str)> =
            rest.lines().filter_map(|line| line.split_once(": ")).collect();
        let said = answer(&lines);
        for (field, text) in &lines {
            let fine = match *field {
                "must" => said.contains(text),
                "not" => !said.contains(text),
                "ask" => text.contains("--all") || said.lines().count() <= A_PAGE,
                _ => true,
            };
            if !fine {
                wrong.push(format!("{name}: {field}: {text}\n{said}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
