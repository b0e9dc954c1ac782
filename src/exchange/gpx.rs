//! Waypoints of a GPX 1.1 file as places. Routes and tracks are left alone; what a place offers
//! is for the user to write down.

use crate::domain::{Place, Spot};
use quick_xml::Reader;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesStart, Event};

/// Most waypoints that one file may bring.
const MOST: usize = 5000;
/// Longest name and note that are kept, in characters.
const LONGEST: usize = 200;

/// What is wrong with a file, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GpxFault {
    /// Line, from 1.
    pub line: usize,
    /// What was found and what was expected.
    pub what: String,
}

/// Whether a text looks like a GPX file, by its content.
pub fn is_gpx(text: &str) -> bool {
    let start: String =
        text.trim_start_matches('\u{feff}').trim_start().chars().take(2000).collect();
    start.starts_with('<') && start.contains("<gpx")
}

/// Its waypoints, in the order of the file. Controls in names are left out; a waypoint without
/// a name, or with one that came before, is called by its degrees.
///
/// # Errors
/// The first thing that is wrong: no XML, a point that is none, too many points.
pub fn read(text: &str) -> Result<Vec<Place>, GpxFault> {
    let mut reader = Reader::from_str(text.trim_start_matches('\u{feff}'));
    let mut places: Vec<Place> = Vec::new();
    let mut open: Option<Place> = None;
    let mut field = String::new();
    loop {
        let at = reader.buffer_position() as usize;
        let before = || text.bytes().take(at).filter(|b| *b == b'\n').count();
        let fault = |what: String| GpxFault { line: before() + 1, what };
        let event = reader.read_event().map_err(|error| fault(format!("not XML: {error}")))?;
        match event {
            Event::Start(tag) if tag.local_name().as_ref() == "wpt" => {
                open = Some(point(&tag).map_err(fault)?);
            }
            Event::Empty(tag) if tag.local_name().as_ref() == "wpt" => {
                let place = point(&tag).map_err(fault)?;
                close(place, &mut places);
            }
            Event::Start(tag) => {
                field = tag.local_name().as_ref().to_string();
                // A description and a comment stay two.
                put(&mut open, &field, if field == "name" { "" } else { " " });
            }
            Event::Text(words) if open.is_some() => put(&mut open, &field, &words),
            Event::CData(words) if open.is_some() => put(&mut open, &field, &words),
            Event::GeneralRef(name) if open.is_some() => {
                let named: &str = &name;
                let number = name.resolve_char_ref().ok().flatten().map(String::from);
                let known = number.or(resolve_predefined_entity(named).map(String::from));
                let known = known.ok_or_else(|| fault(format!("unknown entity &{named};")))?;
                put(&mut open, &field, &known);
            }
            Event::End(tag) if tag.local_name().as_ref() == "wpt" => {
                if let Some(place) = open.take() {
                    close(place, &mut places);
                }
            }
            Event::End(_) => field.clear(),
            Event::Eof if open.is_some() => return Err(fault("the file ends too early".into())),
            Event::Eof => break,
            _ => {}
        }
        if places.len() > MOST {
            return Err(fault(format!("more than {MOST} points")));
        }
    }
    Ok(places)
}

fn point(tag: &BytesStart) -> Result<Place, String> {
    let degrees = |name: &str, most: f64| -> Result<f64, String> {
        let found = tag.try_get_attribute(name).map_err(|error| error.to_string())?;
        let found = found.ok_or(format!("a wpt without {name}"))?;
        let found = found.value.to_string();
        let value = found.trim().parse::<f64>().ok().filter(|v| v.abs() <= most);
        value.ok_or(format!("{name}: found {found:?}, expected degrees from -{most} to {most}"))
    };
    let (latitude, longitude) = (degrees("lat", 90.0)?, degrees("lon", 180.0)?);
    Ok(Place { latitude, longitude, ..Place::default() })
}

fn put(open: &mut Option<Place>, field: &str, words: &str) {
    let Some(place) = open else { return };
    match field {
        "name" => place.name.push_str(words),
        "desc" | "cmt" => place.note.push_str(words),
        _ => {}
    }
}

fn close(mut place: Place, places: &mut Vec<Place>) {
    place.name = tidy(&place.name);
    place.note = tidy(&place.note);
    if place.name.is_empty() || places.iter().any(|p| p.name == place.name) {
        let Place { latitude, longitude, .. } = place;
        place.name = format!("{:.5}", Spot::At { latitude, longitude });
    }
    if !places.iter().any(|p| p.name == place.name) {
        places.push(place);
    }
}

fn tidy(text: &str) -> String {
    let visible: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let words: Vec<&str> = visible.split_whitespace().collect();
    words.join(" ").chars().take(LONGEST).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const FILE: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="by hand" xmlns="http://www.topografix.com/GPX/1/1">
  <metadata><name>Our bends</name></metadata>
  <wpt lat="57.45" lon="14.35"><ele>120</ele><name>Adder lock &amp; quay</name>
    <desc>Tap behind
the shed</desc></wpt>
  <wpt lat="-57.2" lon="14"/>
  <rte><rtept lat="1" lon="2"><name>not a place</name></rtept></rte>
</gpx>"#;

    #[test]
    fn waypoints_become_places() {
        assert!(is_gpx(FILE) && !is_gpx("at,kind,what\n"));
        let places = read(FILE).unwrap();
        assert_eq!(places.len(), 2);
        assert_eq!((places[0].name.as_str(), places[0].latitude), ("Adder lock & quay", 57.45));
        assert_eq!(places[0].note, "Tap behind the shed");
        assert_eq!(places[1].name, "-57.20000, 14.00000");
    }

    #[test]
    fn what_is_wrong_is_named_with_its_line() {
        let far = read("<gpx>\n<wpt lat=\"91\" lon=\"0\"/></gpx>").unwrap_err();
        assert_eq!(far.line, 2);
        assert!(far.what.contains("lat: found \"91\""), "{}", far.what);
        for text in [
            "<gpx><wpt lat=\"1\" lon=\"nan\"/></gpx>",
            "<gpx><wpt lat=\"1\"/></gpx>",
            "<gpx><wpt lat=\"1\" lon=\"2\">",
            "<gpx></wpt>",
        ] {
            assert!(read(text).is_err(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn no_text_panics(text in "[<>&;/a-z\" =0-9\n]{0,120}") {
            let _ = read(&format!("<gpx>{text}"));
            let _ = read(&text);
        }
    }
}
