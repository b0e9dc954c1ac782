//! `waystock init`: a starter rig from a template and a few answers. Never overwrites.

use super::args::InitOptions;
use super::{CommandResult, Failure, Output, Session, questions};
use crate::domain::{Direction, Rig, Unit};
use crate::setup::{Machine, Setup};
use crate::store::rig_file;
use crate::store::templates::{self, TEMPLATES, Template};
use crate::text::quantity;
use std::path::Path;

/// Writes `rig.ron`: asks on a terminal, or takes the template as it is.
pub fn run(options: &InitOptions, session: &mut Session, out: &mut Output) -> CommandResult {
    if options.list_templates {
        out.lines(TEMPLATES.iter().map(|each| format!("{}: {}", each.name, each.about)));
        return Ok(0);
    }
    let path = session.folder.dir().join("rig.ron");
    if session.disk.mark(&path).is_ok() {
        let message =
            format!("{}: there is a rig already, and it is left as it is", path.display());
        return Err(Failure::new(73, message).hint("Edit it by hand; comments are welcome in it."));
    }
    let text = match &options.from_template {
        Some(name) => Setup::of_template(template(name)?),
        None if session.interactive => {
            let today = session.common.at.unwrap_or(session.clock).date_naive();
            let machine = Machine { zone: session.zone.clone(), today };
            let screen = &mut std::io::stdout();
            let screen = &mut questions::Console { out: screen, columns: out.columns() };
            questions::ask(&mut std::io::stdin().lock(), screen, machine)?.rig_text()
        }
        None => {
            let names: Vec<&str> = TEMPLATES.iter().map(|t| t.name).collect();
            return Err(Failure::new(2, "no terminal to ask questions on").hint(format!(
                "Give a template: waystock init --from-template NAME, with NAME one of {}.",
                names.join(", ")
            )));
        }
    };
    let text = text.map_err(|messages| {
        Failure::all(65, messages).hint("Nothing was written. Start again with other answers.")
    })?;
    let rig = rig_file::parse(&text, Path::new("rig.ron"))
        .map_err(|_| Failure::new(65, "the template cannot be read"))?;
    let path = session.folder.create_rig(&text)?;
    out.line(&format!("wrote {}", path.display()));
    out.line("Look through it once: comments say what the numbers mean, and all can be changed.");
    out.line("Then log what each stock holds now, with your own numbers:");
    let dir = session.common.dir.as_ref();
    let dir = dir.map_or_else(String::new, |dir| format!("--dir {} ", quoted(dir)));
    out.line(&format!("waystock {dir}log {}", levels(&rig).join(", ")));
    Ok(0)
}

/// A folder as a shell takes it for one word.
fn quoted(dir: &Path) -> String {
    let text = dir.display().to_string();
    let plain = |c: char| c.is_alphanumeric() || "/._-~".contains(c);
    if text.chars().all(plain) { text } else { format!("'{}'", text.replace('\'', "'\\''")) }
}

/// An example reading of every stock, in words that `log` takes.
fn levels(rig: &Rig) -> Vec<String> {
    let stocks = rig.parts.stocks.iter().filter(|stock| stock.unit != Unit::Night);
    stocks
        .map(|stock| {
            let share = if stock.runs == Direction::Down { 0.6 } else { 0.2 };
            let measured = matches!(stock.unit, Unit::Litre | Unit::Kilogram)
                || quantity::is_energy(&stock.unit);
            match measured {
                true => format!("{} {:.0}%", stock.name, share * 100.0),
                false => {
                    let amount = (stock.capacity * share).floor().to_string();
                    format!("{} {amount} {}", stock.name, stock.unit.word_for(&amount))
                }
            }
        })
        .collect()
}

fn template(name: &str) -> Result<&'static Template, Failure> {
    templates::find(name).ok_or_else(|| {
        let names: Vec<&str> = TEMPLATES.iter().map(|t| t.name).collect();
        Failure::new(2, format!("found template {name:?}, expected one of: {}", names.join(", ")))
    })
}
