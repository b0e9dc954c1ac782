//! `waystock help`, and `waystock help COMMAND`; for `log` with all that a line may say.

use super::args::Args;
use super::{CommandResult, Output, Session, json_help, shell, vocabulary};
use crate::domain::Rig;
use crate::logline::{self, Vocabulary};
use crate::store::maps_file::EXAMPLE;
use crate::store::settings_file::EXAMPLE as LOOKS;
use crate::store::{rig_file, templates};
use clap::CommandFactory;
use std::path::Path;

/// What stands before the example of a map.
const MAPS: &str = include_str!("../../assets/help/import.txt");

/// What stands before the example of settings.
const SETTINGS: &str = include_str!("../../assets/help/settings.txt");

/// Prints it. What a log line may say is shown with the names of this folder's rig, or of a
/// starter rig where there is none yet.
pub fn run(command: Option<&str>, session: &mut Session, out: &mut Output) -> CommandResult {
    let mut all = Args::command();
    all.build();
    let text = match command {
        None => all.render_help().to_string(),
        Some("json") => json_help::help(),
        Some("settings") => [SETTINGS, LOOKS].concat(),
        Some("places") => templates::PLACES.to_string(),
        Some(name) => shell::find(&mut all, name)?.render_help().to_string(),
    };
    out.lines(text.lines());
    let more = match command {
        Some("log") => words(session),
        Some("import") => MAPS.lines().chain(EXAMPLE.lines()).map(String::from).collect(),
        _ => Vec::new(),
    };
    if !more.is_empty() {
        out.line("");
    }
    out.lines(more);
    Ok(0)
}

fn words(session: &mut Session) -> Vec<String> {
    if let Ok(contents) = session.load() {
        let now = session.now(&contents.rig);
        return logline::help(&vocabulary(&contents, now));
    }
    let known = starter_rig().map(|rig| Vocabulary::new(&rig, rig.zone(session.clock)));
    known.map_or_else(Vec::new, |known| logline::help(&known))
}

fn starter_rig() -> Option<Rig> {
    let template = templates::find("two-berth")?;
    rig_file::parse(template.text, Path::new("rig.ron")).ok()
}
