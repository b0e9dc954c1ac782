//! Reads `places.ron`: the places that the crew knows, and what each offers.

use super::block::Block;
use super::fault_words::{brief, nearest};
use super::range::Range;
use super::reader::{Reader, RigFault};
use super::rig_file::{self, open, without_mark};
use super::ron_text::position;
use super::value::Value;
use crate::domain::fault::Path;
use crate::domain::place::SERVICES;
use crate::domain::{Place, Stock};
use crate::logline::answers;
use crate::text::count::either;
use chrono::{NaiveTime, Weekday};
use std::path::Path as FilePath;

/// The newest form of `places.ron` that this program knows.
pub const FORMAT: u32 = 1;

/// The places that `text`, the content of `file`, lists.
///
/// # Errors
/// Everything that is wrong, in the order of the text; a fault of form stands alone.
pub fn parse(text: &str, file: &FilePath) -> Result<Vec<Place>, Vec<RigFault>> {
    rig_file::read(text, file, FORMAT, all)
}

/// Where `text`, the content of `file`, names no service: each place without any, or the list of
/// places where it is empty or missing.
pub(super) fn without_services(text: &str, file: &FilePath) -> Vec<RigFault> {
    let text = without_mark(text);
    let Ok(root) = open(text, file, FORMAT) else { return Vec::new() };
    let reader = Reader::new(text);
    let places = all(Value::root(&root, &reader));
    reader.forget();
    let list = Path::root().field("places");
    for (index, place) in places.iter().enumerate().filter(|(_, p)| !p.offers_anything()) {
        let at = list.item(index).field("services");
        reader.wrong(&at, "none", format!("what {:?} offers, such as [\"water\"]", place.name));
    }
    if places.is_empty() {
        reader.wrong(&list, "none", "a place where you can stop");
    }
    reader.locate(&root, file)
}

/// Where the list of places stands in `text`, the content of `file`: line and column, from 1.
pub(super) fn list_at(text: &str, file: &FilePath) -> Option<(usize, usize)> {
    let text = without_mark(text);
    let root = open(text, file, FORMAT).ok()?;
    Some(position(text, root.field(text, "places").unwrap_or(&root).span.start))
}

/// A place as it is written into the list: name, point, hours of hook-up and note.
pub fn written(place: &Place) -> String {
    let quoted = super::rig_edit::quoted;
    let note = match place.note.is_empty() {
        true => String::new(),
        false => format!(", note: {}", quoted(&place.note)),
    };
    let hook_up = place.hook_up_hours.map(|hours| format!(", hook_up_hours: {hours:?}"));
    format!(
        "(name: {}, latitude: {:?}, longitude: {:?}{}{note})",
        quoted(&place.name),
        place.latitude,
        place.longitude,
        hook_up.unwrap_or_default()
    )
}

/// The rig's own name for a stock that a place calls otherwise: `propane`, where the rig has `gas`.
pub(super) fn as_the_rig_says(name: &mut String, stocks: &[Stock]) {
    let same = answers::same(name);
    let is_it = |stock: &&Stock| {
        let mut all = stock.also.iter().chain([&stock.name]);
        all.any(|known| known.eq_ignore_ascii_case(name) || same.contains(&known.as_str()))
    };
    let own = stocks.iter().find(|stock| stock.name.eq_ignore_ascii_case(name));
    if let Some(own) = own.or_else(|| stocks.iter().find(is_it)) {
        name.clone_from(&own.name);
    }
}

fn all(root: Value) -> Vec<Place> {
    rig_file::each_named(root, ("places", "place"), place, |place| &place.name)
}

const LATITUDE: Range = Range::Within(-90.0, 90.0, "degrees from -90 to 90");
const LONGITUDE: Range = Range::Within(-180.0, 180.0, "degrees from -180 to 180");
const COST: Range = Range::Within(0.0, f64::MAX, "a number from 0 up, or nothing");
const ROAD_HOURS: Range = Range::Within(0.01, f64::MAX, "a number from 0.01 up, or nothing");
const ROAD_FACTOR: Range = Range::Within(1.0, f64::MAX, "a number from 1 up, or nothing");
/// In one stay, which is counted in days.
const HOOK_UP: Range =
    Range::Within(f64::MIN_POSITIVE, 168.0, "hours above 0, up to 168 (a week), or nothing");

fn place(block: &mut Block) -> Option<Place> {
    let (services, further) = services(block).into_iter().partition(|word| is_service(word));
    let place = Place {
        name: block.text_needed("name", "the name of the place in \"double quotes\""),
        latitude: block.number_needed("latitude", LATITUDE),
        longitude: block.number_needed("longitude", LONGITUDE),
        services,
        stocks: [block.texts("stocks"), further].concat(),
        cost: block.number_maybe("cost", COST),
        prices: prices(block),
        closed: closed(block),
        opens: time(block, "opens"),
        closes: time(block, "closes"),
        road_hours: block.number_maybe("road_hours", ROAD_HOURS),
        road_factor: block.number_maybe("road_factor", ROAD_FACTOR),
        hook_up_hours: block.number_maybe("hook_up_hours", HOOK_UP),
        note: block.text_maybe("note").unwrap_or_default(),
    };
    if let (Some(opens), Some(closes)) = (place.opens, place.closes)
        && closes <= opens
    {
        block.wrong("closes", closes.format("%H:%M").to_string(), "a time after opens");
    }
    Some(place)
}

fn time(block: &mut Block, field: &'static str) -> Option<NaiveTime> {
    let time = |text: &str| NaiveTime::parse_from_str(text, "%H:%M").ok();
    block.parsed(field, "a time of day such as \"08:30\"", time)
}

fn is_service(word: &str) -> bool {
    SERVICES.contains(&word)
}

/// What sees to all parts of a toilet, however many it has.
const TOILET: &str = "toilet";

/// Services, by any name of what they see to: `propane` is what sees to a stock of gas.
fn services(block: &mut Block) -> Vec<String> {
    let all = block.each("services", |value| {
        let word = value.string()?;
        let same = answers::same(&word);
        if let Some(service) = same.iter().find(|known| is_service(known)) {
            return Some(vec![service.to_string()]);
        }
        if is_service(&word) || !same.is_empty() {
            return Some(vec![word]);
        }
        // `hookup`; and `cassette`, which may be either part of a toilet, is the toilet.
        let meant = answers::meanings(&word).into_iter().filter(|meant| is_service(meant));
        match meant.collect::<Vec<_>>()[..] {
            [] => {}
            [one] => return Some(vec![one.to_string()]),
            _ => return Some(vec![TOILET.to_string()]),
        }
        let expected = match nearest(&word, SERVICES.iter().copied()) {
            Some(near) => format!(
                "a known service such as \"{near}\", or stocks: [\"{}\"] for a stock of your own",
                brief(&word)
            ),
            None => format!(
                "{}; what sees to a stock of your own goes into stocks: [\"{}\"]",
                either(SERVICES),
                brief(&word)
            ),
        };
        value.wrong(word, expected);
        None
    });
    all.concat()
}

fn prices(block: &mut Block) -> Vec<(String, f64)> {
    const PRICE: Range = Range::Within(0.0, f64::MAX, "a price from 0 up");
    block.structs("prices", |price| {
        let stock = price.text_needed("stock", "the name of a stock in \"double quotes\"");
        (stock, price.number_needed("each", PRICE))
    })
}

fn closed(block: &mut Block) -> Vec<Weekday> {
    block.each("closed", |value| {
        let word = value.string()?;
        let day = word.parse().ok();
        if day.is_none() {
            value.wrong(word, "a weekday such as \"sunday\" or \"sun\"");
        }
        day
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::templates::{PLACES, TEMPLATES};

    fn read(text: &str) -> Vec<Place> {
        parse(text, FilePath::new("places.ron")).unwrap()
    }

    #[test]
    fn a_place_says_where_it_is_and_what_it_offers() {
        let text = "(format: 1, places: [
            (name: \"Fen lock\", latitude: 52.5, longitude: 0.4),
            (name: \"Tithe barn\", latitude: 52.1, longitude: -0.3,
             services: [\"water\", \"grey\", \"hookup\", \"Toilet\"], cost: 4.5, note: \"tap behind the barn\"),
        ])";
        let places = read(text);
        assert_eq!((places[0].name.as_str(), places[0].latitude), ("Fen lock", 52.5));
        assert_eq!((places[0].services.len(), places[0].cost), (0, None));
        assert_eq!(places[1].services, ["water", "grey", "shore", "toilet"]);
        assert_eq!(places[0].closed, []);
        assert_eq!((places[1].cost, places[1].note.as_str()), (Some(4.5), "tap behind the barn"));
    }

    #[test]
    fn a_place_says_when_it_is_closed_and_how_far_the_road_is() {
        let text = "(format: 1, places: [
            (name: \"Sluice yard\", latitude: 51.0, longitude: 1.0, services: [\"diesel\"],
             stocks: [\"firewood\"], closed: [\"sun\", \"Monday\"], road_hours: 0.75,
             road_factor: 1.8, prices: [(stock: \"diesel\", each: 1.62)], opens: \"08:30\",
             closes: \"17:00\"),
        ])";
        let place = &read(text)[0];
        assert_eq!(place.closed, [Weekday::Sun, Weekday::Mon]);
        assert_eq!((place.road_hours, place.road_factor), (Some(0.75), Some(1.8)));
        assert_eq!(place.prices, [("diesel".to_string(), 1.62)]);
        assert_eq!(place.stocks, ["firewood"]);
        assert_eq!(place.opens, NaiveTime::from_hms_opt(8, 30, 0));
        assert_eq!(place.closes, NaiveTime::from_hms_opt(17, 0, 0));
    }

    /// Gas is no service of its own, but a stock that is seen to there.
    #[test]
    fn a_service_goes_by_any_name_of_what_it_sees_to() {
        let text = "(format: 1, places: [
            (name: \"Sluice yard\", latitude: 51.0, longitude: 1.0,
             services: [\"gray water\", \"propane\"], stocks: [\"pee\", \"firewood\"]),
        ])";
        let mut place = read(text).remove(0);
        assert_eq!(place.services, ["grey"]);
        // The first template has gas and liquids.
        let rig = rig_file::parse(TEMPLATES[0].text, FilePath::new("rig.ron")).unwrap();
        let stocks = rig.parts.stocks;
        place.stocks.iter_mut().for_each(|name| as_the_rig_says(name, &stocks));
        assert_eq!(place.stocks, ["liquids", "firewood", "gas"]);
    }

    /// "wood" is no slip for "food" where the van carries some.
    #[test]
    fn a_word_that_is_no_service_may_be_a_stock() {
        let place = "(name: \"Mill\", latitude: 51.0, longitude: 1.0, services: [\"wod\"])";
        let read = parse(&format!("(format: 1, places: [{place}])"), FilePath::new("places.ron"));
        let told = read.unwrap_err().iter().map(ToString::to_string).collect::<String>();
        assert!(told.contains("stocks: [\"wod\"]"), "{told}");
    }

    #[test]
    fn hours_of_hook_up_are_read_and_written_again() {
        let text = "(format: 1, places: [
            (name: \"Sluice yard\", latitude: 51.0, longitude: 1.0, services: [\"shore\"],
             hook_up_hours: 5.5),
            (name: \"Fen lock\", latitude: 52.5, longitude: 0.4, services: [\"shore\"]),
        ])";
        let places = read(text);
        assert_eq!((places[0].hook_up_hours, places[1].hook_up_hours), (Some(5.5), None));
        let again = read(&format!("(format: 1, places: [{}])", written(&places[0])));
        assert_eq!(again[0].hook_up_hours, Some(5.5));
    }

    #[test]
    fn the_first_places_file_is_empty_until_its_example_is_switched_on() {
        assert_eq!(read(PLACES), Vec::new());
        let switched_on = PLACES.replace("// (name", "(name").replace("//  services", " services");
        assert_eq!(read(&switched_on).len(), 2);
    }
}
