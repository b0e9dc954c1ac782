//! Tidiness that the compiler does not see to: what the pure folders stay away from, the size of
//! files, and what may lie at the top of the repository.

#![allow(clippy::disallowed_methods, reason = "it reads the sources that it judges")]

use std::path::{Path, PathBuf};

mod english;
mod guides;
mod imports;
mod rooms;
#[cfg(unix)]
mod unused;

/// Folders and files of `src` that know no files, clock, environment, terminal or stored form.
const PURE: &[&str] =
    &["domain", "belief", "forecast", "plan", "logline", "mechanism", "exchange", "text"];

/// What pure code must not name, and why.
const FORBIDDEN: &[(&str, &str)] = &[
    ("std::fs", "only the store opens files"),
    ("std::env", "only main reads the environment"),
    ("std::net", "nothing here uses the network"),
    ("std::process", "pure code starts nothing and ends nothing"),
    ("SystemTime", "time is an argument"),
    ("Instant::now", "time is an argument"),
    ("Utc::now", "time is an argument"),
    ("Local::now", "time is an argument"),
    ("println!", "the fronts print"),
    ("serde::", "stored forms live in the store"),
    ("Serialize", "a derive is a promise to every old file"),
    ("crossterm", "the dashboard owns the terminal"),
    ("ratatui", "the dashboard draws"),
    ("thread_rng", "the seed is an argument"),
    ("rand::rng()", "the seed is an argument"),
    ("crate::store", "pure code does not reach for the disk"),
    ("crate::cli", "an arrow that the design does not draw"),
    ("crate::tui", "an arrow that the design does not draw"),
];

/// What may lie at the top, besides names that begin with a dot.
const TOP: &[&str] =
    &["Cargo.toml", "Cargo.lock", "README.md", "DEVELOPERS.md", "src", "assets", "tests", "demo"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn files_under(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files_under(&path));
        } else {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Every source file by its path under `src`, with its text.
fn sources() -> Vec<(String, String)> {
    let src = root().join("src");
    let read = |path: PathBuf| {
        let name = path.strip_prefix(&src).unwrap().to_str().unwrap().replace('\\', "/");
        (name, std::fs::read_to_string(&path).unwrap())
    };
    let files: Vec<_> = files_under(&src).into_iter().map(read).collect();
    assert!(files.len() > 100, "only {} sources found", files.len());
    files
}

/// Whether a source belongs to a module at the top of `src`.
fn belongs(name: &str, module: &str) -> bool {
    name == format!("{module}.rs") || name.starts_with(&format!("{module}/"))
}

/// Lines of code, numbered, without comments and without tests at the foot of the file.
fn code(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let lines = text.lines().enumerate().map(|(index, line)| (index + 1, line));
    let foot = text.find("#[cfg(test)]\nmod tests {").map(|at| text[..at].lines().count());
    let code = lines.take(foot.unwrap_or(usize::MAX));
    code.map(|(number, line)| (number, line.split("//").next().unwrap_or(line)))
}

/// Every line of `module` that names something forbidden.
fn trespasses(module: &str, forbidden: &[(&str, &str)]) -> Vec<String> {
    let mut found = Vec::new();
    for (name, text) in sources().iter().filter(|(name, _)| belongs(name, module)) {
        for (number, line) in code(text) {
            for (word, why) in forbidden.iter().filter(|(word, _)| line.contains(word)) {
                found.push(format!("src/{name}:{number}: {word}: {why}"));
            }
        }
    }
    found
}

#[test]
fn pure_folders_stay_pure() {
    let found: Vec<String> = PURE.iter().flat_map(|m| trespasses(m, FORBIDDEN)).collect();
    assert!(found.is_empty(), "{found:#?}");
}

/// A look for words that finds nothing could be a look in the wrong place.
#[test]
fn the_look_finds_what_is_there() {
    assert!(!trespasses("store", &[("std::fs", "")]).is_empty());
    assert!(!trespasses("tui", &[("ratatui", "")]).is_empty());
    assert!(!trespasses("cli", &[("crate::store", "")]).is_empty());
    let sources = sources();
    for module in PURE.iter().filter(|m| **m != "plan") {
        assert!(sources.iter().any(|(name, _)| belongs(name, module)), "no module {module}");
    }
}

#[test]
fn the_two_fronts_do_not_know_each_other() {
    let mut found = trespasses("cli", &[("crate::tui", "both fronts stand on their own")]);
    found.extend(trespasses("tui", &[("crate::cli", "both fronts stand on their own")]));
    found.extend(trespasses("tui", &[("store::", "the dashboard gets its data handed")]));
    found.extend(trespasses("store", &[("crate::cli", "the store knows no front")]));
    found.extend(trespasses("store", &[("crate::tui", "the store knows no front")]));
    found.extend(trespasses("store", &[("crate::forecast", "the store computes nothing")]));
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn only_the_store_opens_files() {
    let modules = ["cli", "tui", "start", "dashboard"];
    let words = [("std::fs", "only the store opens files"), ("File::open", "only the store")];
    let found: Vec<String> = modules.iter().flat_map(|m| trespasses(m, &words)).collect();
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn files_are_short_and_named_after_their_module() {
    let mut found = Vec::new();
    for (name, text) in sources() {
        let lines = text.lines().count();
        if lines > 500 {
            found.push(format!("src/{name}: {lines} lines, at most 500"));
        }
        if name.ends_with("mod.rs") {
            found.push(format!("src/{name}: a module is foo.rs beside foo/"));
        }
    }
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn nothing_is_left_half_done() {
    let marks = [concat!("to", "do!("), concat!("unimpl", "emented!("), concat!("#[ig", "nore")];
    let tests = files_under(&root().join("tests")).into_iter();
    let rust = tests.filter(|path| path.extension().is_some_and(|e| e == "rs"));
    let texts =
        rust.map(|path| (path.display().to_string(), std::fs::read_to_string(path).unwrap()));
    for (name, text) in sources().into_iter().chain(texts) {
        for mark in marks {
            assert!(!text.contains(mark), "{name}: {mark}");
        }
    }
}

/// What git knows of is what counts: builds leave folders of their own.
#[test]
fn the_top_level_holds_what_it_may() {
    let ignored = std::fs::read_to_string(root().join(".gitignore")).unwrap();
    let ignored: Vec<&str> = ignored.lines().map(|line| line.trim_matches('/')).collect();
    for entry in std::fs::read_dir(root()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let allowed = TOP.contains(&name.as_str())
            || name.starts_with('.')
            || name.starts_with("LICENSE")
            || ignored.contains(&name.as_str());
        assert!(allowed, "{name} does not belong at the top level");
    }
}

fn drawn() -> imports::Arrows {
    let arrows = imports::arrows(&sources());
    let count: usize = arrows.values().map(|to| to.len()).sum();
    assert!(count > 500, "only {count} arrows found");
    arrows
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    let found = imports::circles(&drawn());
    assert!(found.is_empty(), "{found:#?}");
}

#[test]
fn functions_are_short_and_what_is_open_is_used() {
    let tests = files_under(&root().join("tests")).into_iter();
    let tests = tests.filter(|path| path.extension().is_some_and(|e| e == "rs"));
    let tests: Vec<String> = tests.map(|path| std::fs::read_to_string(path).unwrap()).collect();
    let mut found = rooms::found(&sources(), &tests);
    found.retain(|_, found| !found.is_empty());
    assert!(found.is_empty(), "{found:#?}");
}

/// The folder of `src`, or the file at its top, that a source belongs to.
fn room(file: &str) -> Option<String> {
    (file != "lib.rs").then(|| file.split(['/', '.']).next().unwrap_or(file).to_string())
}

/// Arrows between folders as lines, whoever uses most of the others first.
fn diagram() -> String {
    let rooms = imports::between(&drawn(), room);
    assert!(imports::circles(&rooms).is_empty(), "{:#?}", imports::circles(&rooms));
    let mut left: Vec<&String> = rooms.keys().collect();
    let mut lines = String::new();
    while !left.is_empty() {
        let unused = |r: &&&String| left.iter().all(|other| !rooms[*other].contains(**r));
        let top: Vec<&String> = left.iter().filter(unused).copied().collect();
        for room in &top {
            let to: Vec<&str> = rooms[*room].iter().map(String::as_str).collect();
            lines += format!("{room} -> {}", to.join(", ")).trim_end_matches(" -> ");
            lines += "\n";
        }
        left.retain(|room| !top.contains(room));
    }
    lines
}

#[test]
fn the_guide_draws_the_arrows_that_the_source_has() {
    let guide = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let drawn = guide.split("```arrows\n").nth(1).and_then(|rest| rest.split("```").next());
    let diagram = diagram();
    assert_eq!(drawn, Some(diagram.as_str()), "the source's arrows:\n{diagram}");
}

/// Folders of the log line, from the table of words up to everyday speech.
const LAYERS: [&str; 5] = ["lexis", "times", "tokens", "grammar", "everyday"];

/// A rule that finds no file of a folder would hold of anything.
#[test]
fn the_log_line_is_built_in_layers() {
    let layer =
        |file: &str| LAYERS.iter().position(|layer| belongs(file, &format!("logline/{layer}")));
    let drawn = drawn();
    for (own, name) in LAYERS.iter().enumerate() {
        assert!(drawn.keys().any(|file| layer(file) == Some(own)), "no {name}");
    }
    let all = drawn.iter().flat_map(|(file, to)| to.iter().map(move |named| (file, named)));
    let above = |(file, named): &(&String, &String)| layer(named) > layer(file);
    let in_layers = all.filter(|(file, named)| layer(file).is_some() && layer(named).is_some());
    let found: Vec<_> = in_layers.filter(above).collect();
    assert!(found.is_empty(), "{found:#?}");
}
