//! The parts of `rig.ron` as people write them, turned into the types of `domain`.
//!
//! Everything optional gets its default here. Ranges and names are checked afterwards by
//! [`crate::domain::fault`]; only what the domain types cannot hold at all is noted here.

mod common;
mod electrics;
mod parts;
mod process;

pub use electrics::OF_A_SOURCE;

#[cfg(test)]
pub(crate) use electrics::start;

use super::block::Block;
use super::fault_words::nearest;
use super::range::Range;
use crate::domain::wish::WISHES;
use crate::domain::{Home, KitChange, Rig, TypicalWeather, UnitSystem, Zone};
use chrono::{DateTime, NaiveDate};
use std::str::FromStr;

/// The newest form of `rig.ron` that this program knows.
pub const FORMAT: u32 = 1;

const EVENING: &str = "a time with its offset, such as \"2026-06-20T21:10:00+02:00\"";

/// The whole rig. What is missing or wrong is noted and stands in the result as a placeholder.
pub(super) fn rig(block: &mut Block) -> Rig {
    block.number_needed("format", Range::FromZero);
    let show = block.choice_or("show", &UnitSystem::ALL, UnitSystem::Metric);
    let van = block.name_needed("van", "the name of the van in \"double quotes\"");
    let crew = block.number_needed("crew", Range::Between(0.5, 50.0));
    let evening = block.parsed("evening", EVENING, |text| DateTime::parse_from_rfc3339(text).ok());
    let prefer = block.each("prefer", |value| value.choice(&WISHES));
    let at_home = block.need("home", "(place: …, latitude: …, longitude: …)");
    let home = at_home.and_then(|value| Block::read(value, home)).unwrap_or_else(no_home);
    let (parts, open) = parts::read(block, show);
    let mut margin_open = vec![open];
    let changes = block.structs("changes", |block| {
        let (change, open) = change(block, show);
        margin_open.push(open);
        change
    });
    let places = Vec::new();
    let mut rig = Rig { van, crew, home, show, evening, parts, changes, places, prefer };
    parts::keep_half_of_lead_acid(&mut rig, &margin_open);
    parts::store_in_watt_hours(&mut rig);
    rig
}

fn no_home() -> Home {
    let place = String::new();
    Home { place, latitude: f64::NAN, longitude: f64::NAN, zone: None, typical: None }
}

fn home(block: &mut Block) -> Home {
    Home {
        place: block.name_needed("place", "the name of the place in \"double quotes\""),
        latitude: block.number_needed("latitude", Range::Between(-90.0, 90.0)),
        longitude: block.number_needed("longitude", Range::Between(-180.0, 180.0)),
        zone: zone(block),
        typical: block.part("typical", typical),
    }
}

fn zone(block: &mut Block) -> Option<Zone> {
    let name = block.text_maybe("zone")?;
    let zone = chrono_tz::Tz::from_str(&name).ok();
    if zone.is_none() {
        let known = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
        let near = nearest(&name, known).unwrap_or("Europe/Lisbon");
        block.wrong("zone", name, format!("a known time zone such as \"{near}\""));
    }
    zone.map(Zone::Named)
}

fn typical(block: &mut Block) -> TypicalWeather {
    let typical = TypicalWeather {
        low_c: block.number_needed("low_c", Range::Between(-60.0, 60.0)),
        high_c: block.number_needed("high_c", Range::Between(-60.0, 60.0)),
        cloud: block.number_needed("cloud", Range::UpTo(1.0)),
    };
    if typical.high_c < typical.low_c {
        block.wrong("high_c", typical.high_c.to_string(), "a number that is at least low_c");
    }
    typical
}

fn change(block: &mut Block, show: UnitSystem) -> (KitChange, Vec<String>) {
    let from = date(block);
    let note = block.text_maybe("note").unwrap_or_default();
    let (parts, margin_open) = parts::read(block, show);
    (KitChange { from, note, parts, removed: block.texts("removed") }, margin_open)
}

fn date(block: &mut Block) -> NaiveDate {
    const EXPECTED: &str = "a day, such as \"2026-05-02\"";
    block.need("from", EXPECTED);
    let day = |text: &str| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok();
    block.parsed("from", EXPECTED, day).unwrap_or(NaiveDate::MAX)
}
