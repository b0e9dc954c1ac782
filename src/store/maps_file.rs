//! Reads `maps.ron`: how the rows of other machines become readings of this rig's stocks.

use super::block::Block;
use super::fault_words::nearest;
use super::range::Range;
use super::reader::RigFault;
use super::rig_file;
use crate::domain::mapping::{Mapped, Mapping, RowForm, TimeForm};
use crate::domain::{Parts, Rig, Unit};
use chrono::format::{Item, StrftimeItems};
use std::path::Path as FilePath;

/// The newest form of `maps.ron` that this program knows.
const FORMAT: u32 = 1;

/// Resolution of a sensor whose map says nothing of it, as a share. Common practice, no source.
const USUAL_STEP: f64 = 0.01;

/// A whole `maps.ron`, to begin from.
pub const EXAMPLE: &str = include_str!("../../assets/help/maps.ron");

/// The maps that `text`, the content of `file`, lists for a rig with these parts.
///
/// # Errors
/// Everything that is wrong, in the order of the text; a fault of form stands alone.
pub fn parse(text: &str, file: &FilePath, rig: &Rig) -> Result<Vec<Mapping>, Vec<RigFault>> {
    rig_file::read(text, file, FORMAT, |root| {
        rig_file::each_named(root, ("maps", "map"), |block| map(block, rig), |map| &map.name)
    })
}

fn map(block: &mut Block, rig: &Rig) -> Option<Mapping> {
    let name = block.text_needed("name", "the name of the map in \"double quotes\"");
    let forms = [("csv", RowForm::Csv { separator: b',' }), ("json_lines", RowForm::JsonLines)];
    let form = block.choice_needed("form", &forms);
    let separator = block.text_maybe("separator");
    let form = separated(form, separator, block);
    let at = cell(block, "at", form);
    let time = time(block);
    block.need("readings", "a list of readings in [ ]");
    if block.list("readings").is_empty() {
        block.wrong("readings", "none", "at least one reading");
    }
    let readings = block.structs("readings", |block| reading(block, (rig, form)));
    let readings = readings.into_iter().flatten().collect();
    Some(Mapping { name, form: form?, at, time: time?, readings })
}

/// The form with its separator, where one is named.
fn separated(form: Option<RowForm>, separator: Option<String>, block: &Block) -> Option<RowForm> {
    let expected = match (form, separator.as_deref().map(str::as_bytes)) {
        (Some(RowForm::Csv { .. }), Some(&[separator])) if !b"\"\r\n".contains(&separator) => {
            return Some(RowForm::Csv { separator });
        }
        (Some(RowForm::Csv { .. }), Some(_)) => "one character such as \",\" or \";\"",
        (Some(RowForm::JsonLines), Some(_)) => "none, as JSON has no separator",
        _ => return form,
    };
    block.wrong("separator", separator.unwrap_or_default(), expected);
    form
}

/// The name of a cell; a pointer begins with a slash, or is empty and means the whole line.
fn cell(block: &mut Block, field: &'static str, form: Option<RowForm>) -> String {
    let expected = match form {
        Some(RowForm::JsonLines) => "a pointer such as \"/tanks/0/level\" (RFC 6901)",
        _ => "the name of a column in \"double quotes\"",
    };
    let name = block.text_needed(field, expected);
    if form == Some(RowForm::JsonLines) && !name.starts_with('/') {
        block.wrong(field, &name, expected);
    }
    name
}

fn time(block: &mut Block) -> Option<TimeForm> {
    let expected = "\"rfc3339\", \"unix\", \"unix_ms\", or a pattern such as \"%Y-%m-%d %H:%M:%S\"";
    let text = block.text_needed("time", expected);
    let known = match text.as_str() {
        "" => None,
        "rfc3339" => Some(TimeForm::Rfc3339),
        "unix" => Some(TimeForm::Unix),
        "unix_ms" => Some(TimeForm::UnixMillis),
        pattern => {
            let mut items = StrftimeItems::new(pattern);
            let says_something =
                items.clone().any(|item| matches!(item, Item::Numeric(..) | Item::Fixed(_)));
            let is_sound = says_something && items.all(|item| !matches!(item, Item::Error));
            is_sound.then(|| TimeForm::Pattern(pattern.to_string()))
        }
    };
    if known.is_none() {
        block.wrong("time", text, expected);
    }
    known
}

const STEP: Range =
    Range::Within(f64::MIN_POSITIVE, 1.0, "a share of what the stock holds, above 0, up to 1");

fn reading(block: &mut Block, (rig, form): (&Rig, Option<RowForm>)) -> Option<Mapped> {
    let name = block.text_needed("stock", "the name of a stock in \"double quotes\"");
    let from = cell(block, "from", form);
    let word = block.text_needed("unit", "a unit such as \"%\" or \"L\"");
    let factor = block.number_or("factor", 1.0, Range::ANY);
    let offset = block.number_or("offset", 0.0, Range::ANY);
    let step = block.number_or("step", USUAL_STEP, STEP);
    if factor == 0.0 {
        block.wrong("factor", "0", "a number other than 0");
    }
    let unit = known_unit(&rig.parts, &name, &word, rig);
    match (stock_expected(&rig.parts, &name), &unit) {
        (Some(expected), _) => block.wrong("stock", &name, expected),
        (None, Err(expected)) => block.wrong("unit", &word, expected.as_str()),
        (None, Ok(_)) => {}
    }
    Some(Mapped { stock: name, from, unit: unit.ok()?, factor, offset, step })
}

/// What would be a stock; `None` where it is one.
fn stock_expected(parts: &Parts, name: &str) -> Option<String> {
    if parts.stock(name).is_some() {
        return None;
    }
    let names = || parts.stocks.iter().map(|stock| stock.name.as_str());
    Some(match nearest(name, names()) {
        Some(near) => format!("a stock of rig.ron such as \"{near}\""),
        None => format!("a stock of rig.ron: {}", names().collect::<Vec<_>>().join(", ")),
    })
}

/// The unit, where the stock can be measured in it; else what would be right.
fn known_unit(parts: &Parts, stock: &str, word: &str, rig: &Rig) -> Result<Unit, String> {
    let unit = Unit::from_word(word, rig.show).unwrap_or_else(|| Unit::Own(word.to_string()));
    let Some((_, stock)) = parts.stock(stock) else { return Ok(unit) };
    match unit == Unit::Percent || unit.factor_to(&stock.unit, parts.volts()).is_some() {
        true => Ok(unit),
        false => Err(format!("% or {}, as {} is measured", stock.unit.word(), stock.name)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::templates::TEMPLATES;

    fn rig() -> Rig {
        let text = TEMPLATES[0].text;
        rig_file::parse(text, FilePath::new("rig.ron")).unwrap()
    }

    #[test]
    fn the_example_is_sound() {
        let maps = parse(EXAMPLE, FilePath::new("maps.ron"), &rig()).unwrap();
        assert_eq!(maps[0].form, RowForm::Csv { separator: b';' });
        assert_eq!(maps[0].readings[0].step, USUAL_STEP);
        assert_eq!((maps[1].at.as_str(), &maps[1].time), ("/ts", &TimeForm::Unix));
        assert_eq!((maps[1].readings[0].factor, maps[1].readings[1].step), (100.0, 0.05));
    }
}
