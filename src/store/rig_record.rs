//! The parts of `rig.ron` as people write them, turned into the types of `domain`.
//!
//! Everything optional gets its default here. Ranges and names are checked afterwards by
//! [`crate::domain::fault`]; only what the domain types cannot hold at all is noted here.

mod common;
mod electrics;
mod parts;
mod process;

#[cfg(test)]
pub(crate) use electrics::start;

use super::reader::{Block, Reader};
use super::ron_text::Node;
use crate::domain::fault::Path;
use crate::domain::rig::{Home, KitChange, Parts, Rig, TypicalWeather};
use crate::domain::time::{Moment, Zone};
use crate::domain::unit::UnitSystem;
use crate::domain::wish::WISHES;
use chrono::{DateTime, NaiveDate};
use std::str::FromStr;

/// The newest form of `rig.ron` that this program knows.
pub const FORMAT: u32 = 1;

const SYSTEMS: &[(&str, UnitSystem)] =
    &[("metric", UnitSystem::Metric), ("us", UnitSystem::Us), ("imperial", UnitSystem::Imperial)];

/// The whole rig. What is missing or wrong is noted and stands in the result as a placeholder.
pub fn rig(root: &Node, reader: &mut Reader) -> Option<Rig> {
    let mut block = Block::open(root, Path::root(), reader)?;
    block.number_needed("format", reader);
    let show = block.choice_or("show", SYSTEMS, UnitSystem::Metric, reader);
    let van = block.text_needed("van", "the name of the van in \"double quotes\"", reader);
    let crew = block.number_needed("crew", reader);
    let evening = block.text_maybe("evening", reader).and_then(|t| moment(&t, &block, reader));
    let wishes = block.list("prefer", reader);
    let prefer = wishes.iter().filter_map(|(node, path)| reader.choice(node, path, &WISHES));
    let prefer = prefer.collect();
    let home = match block.need("home", "(place: …, latitude: …, longitude: …)", reader) {
        Some(node) => home(node, block.path("home"), reader),
        None => no_home(),
    };
    let (parts, open) = parts::read(&mut block, show, reader);
    let mut margin_open = vec![open];
    let changes = changes(&mut block, show, &mut margin_open, reader);
    block.close(reader);
    let places = Vec::new();
    let mut rig = Rig { van, crew, home, show, evening, parts, changes, places, prefer };
    parts::keep_half_of_lead_acid(&mut rig, &margin_open);
    parts::store_in_watt_hours(&mut rig);
    Some(rig)
}

fn moment(text: &str, block: &Block, reader: &mut Reader) -> Option<Moment> {
    let moment = DateTime::parse_from_rfc3339(text).ok();
    if moment.is_none() {
        let expected = "a time with its offset, such as \"2026-06-20T21:10:00+02:00\"";
        reader.wrong(&block.path("evening"), text, expected);
    }
    moment
}

fn no_home() -> Home {
    let place = String::new();
    Home { place, latitude: f64::NAN, longitude: f64::NAN, zone: None, typical: None }
}

fn home(node: &Node, path: Path, reader: &mut Reader) -> Home {
    let Some(mut block) = Block::open(node, path, reader) else { return no_home() };
    let home = Home {
        place: block.text_needed("place", "the name of the place in \"double quotes\"", reader),
        latitude: block.number_needed("latitude", reader),
        longitude: block.number_needed("longitude", reader),
        zone: zone(&mut block, reader),
        typical: block.get("typical", reader).and_then(|n| {
            let path = block.path("typical");
            typical(n, path, reader)
        }),
    };
    block.close(reader);
    home
}

fn zone(block: &mut Block, reader: &mut Reader) -> Option<Zone> {
    let name = block.text_maybe("zone", reader)?;
    match chrono_tz::Tz::from_str(&name) {
        Ok(zone) => Some(Zone::Named(zone)),
        Err(_) => {
            let known = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
            let lower: Vec<String> = known.clone().map(str::to_lowercase).collect();
            let near = super::reader::nearest(&name, lower.iter().map(String::as_str));
            let near = near.and_then(|n| known.clone().find(|k| k.to_lowercase() == n));
            let expected = match near {
                Some(near) => format!("a known time zone such as \"{near}\""),
                None => "a known time zone such as \"Europe/Lisbon\"".to_owned(),
            };
            reader.wrong(&block.path("zone"), name, expected);
            None
        }
    }
}

fn typical(node: &Node, path: Path, reader: &mut Reader) -> Option<TypicalWeather> {
    let mut block = Block::open(node, path, reader)?;
    let typical = TypicalWeather {
        low_c: block.number_needed("low_c", reader),
        high_c: block.number_needed("high_c", reader),
        cloud: block.number_needed("cloud", reader),
    };
    block.close(reader);
    Some(typical)
}

fn changes(
    block: &mut Block,
    show: UnitSystem,
    margin_open: &mut Vec<Vec<String>>,
    reader: &mut Reader,
) -> Vec<KitChange> {
    let nodes = block.list("changes", reader);
    let read = |(node, path)| {
        let (change, open) = change(node, path, show, reader);
        margin_open.push(open);
        change
    };
    nodes.into_iter().map(read).collect()
}

fn change(
    node: &Node,
    path: Path,
    show: UnitSystem,
    reader: &mut Reader,
) -> (KitChange, Vec<String>) {
    let Some(mut block) = Block::open(node, path, reader) else {
        let (note, parts, removed) = (String::new(), Parts::default(), Vec::new());
        return (KitChange { from: NaiveDate::MAX, note, parts, removed }, Vec::new());
    };
    let from = date(&mut block, reader);
    let note = block.text_maybe("note", reader).unwrap_or_default();
    let (parts, margin_open) = parts::read(&mut block, show, reader);
    let change = KitChange { from, note, parts, removed: block.texts("removed", reader) };
    block.close(reader);
    (change, margin_open)
}

fn date(block: &mut Block, reader: &mut Reader) -> NaiveDate {
    const EXPECTED: &str = "a day, such as \"2026-05-02\"";
    let Some(node) = block.need("from", EXPECTED, reader) else { return NaiveDate::MAX };
    let Some(text) = reader.string(node, &block.path("from")) else { return NaiveDate::MAX };
    NaiveDate::parse_from_str(&text, "%Y-%m-%d").unwrap_or_else(|_| {
        reader.wrong(&block.path("from"), text, EXPECTED);
        NaiveDate::MAX
    })
}
