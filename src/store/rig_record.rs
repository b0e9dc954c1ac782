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

use super::reader::{Block, Range, Value};
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
pub(super) fn rig(root: Value) -> Option<Rig> {
    let mut block = Block::open(root)?;
    block.number_needed("format", Range::FromZero);
    let show = block.choice_or("show", SYSTEMS, UnitSystem::Metric);
    let van = block.name_needed("van", "the name of the van in \"double quotes\"");
    let crew = block.number_needed("crew", Range::Between(0.5, 50.0));
    let evening = block.text_maybe("evening").and_then(|t| moment(&t, &block));
    let prefer = block.each("prefer", |value| value.choice(&WISHES));
    let home = match block.need("home", "(place: …, latitude: …, longitude: …)") {
        Some(value) => home(value),
        None => no_home(),
    };
    let (parts, open) = parts::read(&mut block, show);
    let mut margin_open = vec![open];
    let changes = changes(&mut block, show, &mut margin_open);
    block.close();
    let places = Vec::new();
    let mut rig = Rig { van, crew, home, show, evening, parts, changes, places, prefer };
    parts::keep_half_of_lead_acid(&mut rig, &margin_open);
    parts::store_in_watt_hours(&mut rig);
    Some(rig)
}

fn moment(text: &str, block: &Block) -> Option<Moment> {
    let moment = DateTime::parse_from_rfc3339(text).ok();
    if moment.is_none() {
        let expected = "a time with its offset, such as \"2026-06-20T21:10:00+02:00\"";
        block.wrong("evening", text, expected);
    }
    moment
}

fn no_home() -> Home {
    let place = String::new();
    Home { place, latitude: f64::NAN, longitude: f64::NAN, zone: None, typical: None }
}

fn home(value: Value) -> Home {
    let Some(mut block) = Block::open(value) else { return no_home() };
    let home = Home {
        place: block.name_needed("place", "the name of the place in \"double quotes\""),
        latitude: block.number_needed("latitude", Range::Between(-90.0, 90.0)),
        longitude: block.number_needed("longitude", Range::Between(-180.0, 180.0)),
        zone: zone(&mut block),
        typical: block.get("typical").and_then(typical),
    };
    block.close();
    home
}

fn zone(block: &mut Block) -> Option<Zone> {
    let name = block.text_maybe("zone")?;
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
            block.wrong("zone", name, expected);
            None
        }
    }
}

fn typical(value: Value) -> Option<TypicalWeather> {
    let mut block = Block::open(value)?;
    let typical = TypicalWeather {
        low_c: block.number_needed("low_c", Range::Between(-60.0, 60.0)),
        high_c: block.number_needed("high_c", Range::Between(-60.0, 60.0)),
        cloud: block.number_needed("cloud", Range::UpTo(1.0)),
    };
    if typical.high_c < typical.low_c {
        block.wrong("high_c", typical.high_c.to_string(), "a number that is at least low_c");
    }
    block.close();
    Some(typical)
}

fn changes(
    block: &mut Block,
    show: UnitSystem,
    margin_open: &mut Vec<Vec<String>>,
) -> Vec<KitChange> {
    block.each("changes", |value| {
        let (change, open) = change(value, show);
        margin_open.push(open);
        Some(change)
    })
}

fn change(value: Value, show: UnitSystem) -> (KitChange, Vec<String>) {
    let Some(mut block) = Block::open(value) else {
        let (note, parts, removed) = (String::new(), Parts::default(), Vec::new());
        return (KitChange { from: NaiveDate::MAX, note, parts, removed }, Vec::new());
    };
    let from = date(&mut block);
    let note = block.text_maybe("note").unwrap_or_default();
    let (parts, margin_open) = parts::read(&mut block, show);
    let change = KitChange { from, note, parts, removed: block.texts("removed") };
    block.close();
    (change, margin_open)
}

fn date(block: &mut Block) -> NaiveDate {
    const EXPECTED: &str = "a day, such as \"2026-05-02\"";
    let value = block.need("from", EXPECTED);
    let Some(text) = value.and_then(|value| value.string()) else { return NaiveDate::MAX };
    NaiveDate::parse_from_str(&text, "%Y-%m-%d").unwrap_or_else(|_| {
        block.wrong("from", text, EXPECTED);
        NaiveDate::MAX
    })
}
