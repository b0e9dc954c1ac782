//! What an answer to one of `init`'s questions means: amounts with or without a unit, degrees,
//! people. Each says what it expects where it does not understand.

use crate::domain::{Amount, Spot, Unit, UnitSystem};
use crate::logline::answers;
use crate::text::quantity::unit_word;

fn between(text: &str, low: f64, high: f64) -> Option<f64> {
    Amount::parse(text).ok().map(Amount::value).filter(|n| (low..=high).contains(n))
}

/// A whole number in digits or words.
pub(super) fn whole_number(text: &str) -> Option<f64> {
    let number = text.parse::<u32>().ok().map(f64::from);
    number.or_else(|| answers::number(text))
}

/// What would be a number of people.
const PEOPLE: &str = "a number from 0.5 to 50";
/// What would be one, where it is a matter of opinion.
const BABIES: &str = "a number from 0.5 to 50: a child counts as one, a baby as what water and food it takes, or not";

/// A number of people, 0.5 to 50: "2", "two", "just the two of us", "2 adults, a toddler", "2 adults 2 kids".
pub(super) fn people(text: &str) -> Result<f64, String> {
    let low = text.to_lowercase();
    let is = |row: &str, part: &str| {
        part.split_whitespace().any(|word| answers::is_of(row, word.trim_matches(['.', '!'])))
    };
    if is("babies", &low.replace(',', " ")) {
        return Err(BABIES.to_string());
    }
    if low.contains("half") {
        return Err(PEOPLE.to_string());
    }
    let ways = [" and ", " with ", " plus "].iter().fold(low, |text, way| text.replace(way, ","));
    // "2 adults 2 kids": a number behind people begins the next of them.
    let mut apart = String::new();
    for word in ways.split_whitespace() {
        let behind = apart.rsplit([' ', ',']).next().unwrap_or_default();
        let people = ["persons", "people", "kin"].iter().any(|row| is(row, behind));
        let counts = word.parse::<f64>().is_ok() || answers::number(word).is_some();
        apart += if people && counts { "," } else { " " };
        apart += word;
    }
    let ways = apart;
    let parts = ways.split([',', '+', '&']).map(str::trim).filter(|part| !part.is_empty());
    let mut all: Option<f64> = None;
    for part in parts {
        let persons = ["persons", "people", "kin"].iter().any(|row| is(row, part));
        all = match (all, counted(part, persons)) {
            (None, count @ Some(_)) => count,
            (Some(all), Some(count)) if persons => Some(all + count),
            (before, None) if !persons && !part.contains(char::is_numeric) => before,
            _ => return Err(PEOPLE.to_string()),
        };
    }
    all.filter(|all| (0.5..=50.0).contains(all)).ok_or(PEOPLE.to_string())
}

/// The one number among words, and one of `persons` by an article, or who speaks; `None` where there is
/// none, or more than one.
fn counted(part: &str, persons: bool) -> Option<f64> {
    let digits = part.trim_end_matches(|c: char| c.is_alphabetic()).trim();
    if let Some(number) = between(digits, 0.5, 50.0) {
        return Some(number);
    }
    let words: Vec<&str> = part.split_whitespace().collect();
    let number = |word: &&str| {
        between(word, 0.5, 50.0)
            .or_else(|| answers::number(word))
            .filter(|n| (0.5..=50.0).contains(n))
    };
    let numbers: Vec<f64> = words.iter().filter_map(number).collect();
    let several = |word: &&str| word.ends_with('s') || answers::is_of("groups", word);
    let some = words.iter().any(|word| answers::is_of("one-of", word));
    let one = persons && some && !words.iter().any(several);
    match numbers[..] {
        [number] => Some(number),
        [] if one => Some(1.0),
        _ => None,
    }
}

/// A system of units by its name.
pub(super) fn units(text: &str) -> Result<UnitSystem, String> {
    let named = UnitSystem::ALL.into_iter().find(|(name, _)| name.eq_ignore_ascii_case(text));
    named.map(|(_, system)| system).ok_or("metric, us or imperial".to_string())
}

/// "47.3, -1.9", "47.3 north, 1.9 west", "N47.3 W1.9": north first, unless the words say otherwise.
pub(super) fn coordinates(text: &str) -> Result<(f64, f64), String> {
    let pair = match degrees_named(text).as_deref() {
        Some([(Some(Compass::East), east), (Some(Compass::North), north)]) => Some((*north, *east)),
        Some([(Some(Compass::North) | None, north), (Some(Compass::East) | None, east)]) => {
            Some((*north, *east))
        }
        _ => None,
    };
    pair.filter(|degrees| Spot::at(*degrees).is_some())
        .ok_or("two numbers such as 47.3, -1.9 or 47.3 north, 1.9 west".to_string())
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Compass {
    North,
    East,
}

/// Every number with the direction that stands beside it, if one does; south and west turn it
/// round. A direction before the first number stands before each.
fn degrees_named(text: &str) -> Option<Vec<(Option<Compass>, f64)>> {
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+');
    let mut all: Vec<(Option<Compass>, f64)> = Vec::new();
    let (mut waiting, mut leads) = (None, false);
    let mut rest = text.trim();
    while let Some(first) = rest.chars().next() {
        let same = |c: char| {
            is_number(c) == is_number(first) && c.is_alphabetic() == first.is_alphabetic()
        };
        let (piece, after) = rest.split_at(rest.find(|c| !same(c)).unwrap_or(rest.len()));
        rest = after;
        if is_number(first) {
            let (axis, sign) =
                waiting.take().map_or((None, 1.0), |(axis, sign)| (Some(axis), sign));
            all.push((axis, sign * piece.parse::<f64>().ok()?));
        } else if first.is_alphabetic() {
            let named = direction(&piece.to_lowercase())?;
            leads |= all.is_empty();
            match all.last_mut().filter(|_| !leads) {
                Some((axis @ None, degrees)) => {
                    *axis = Some(named.0);
                    *degrees *= named.1;
                }
                Some(_) => return None,
                None if waiting.is_none() => waiting = Some(named),
                None => return None,
            }
        } else if piece.chars().any(|c| !matches!(c, ',' | ' ' | '\u{b0}')) {
            return None;
        }
    }
    waiting.is_none().then_some(all)
}

fn direction(word: &str) -> Option<(Compass, f64)> {
    match word {
        "n" | "north" => Some((Compass::North, 1.0)),
        "s" | "south" => Some((Compass::North, -1.0)),
        "e" | "east" => Some((Compass::East, 1.0)),
        "w" | "west" => Some((Compass::East, -1.0)),
        _ => None,
    }
}

/// A number that stands alone, without the commas between its thousands.
pub(super) fn number(text: &str) -> Option<f64> {
    let (number, rest) = leading(text);
    number.parse().ok().filter(|_| rest.is_empty())
}

/// The number that `text` begins with, without the commas between its thousands, and what follows it.
fn leading(text: &str) -> (String, &str) {
    let ends = |c: char| !(c.is_ascii_digit() || matches!(c, '.' | ','));
    let (number, rest) = text.split_at(text.find(ends).unwrap_or(text.len()));
    let whole = number.split('.').next().unwrap_or_default();
    let groups: Vec<usize> = whole.split(',').map(str::len).collect();
    let thousands = (1..=3).contains(&groups[0]) && groups[1..].iter().all(|group| *group == 3);
    let is_parted = thousands && !whole.starts_with('0');
    (if is_parted { number.replace(',', "") } else { number.to_string() }, rest.trim())
}

/// What is measured.
pub(super) struct Measured<'a> {
    /// The unit that an answer is kept in.
    pub unit: &'a Unit,
    /// A number alone is in the unit that the crew wants to see: what it is asked in.
    pub show: UnitSystem,
    /// Of the battery.
    pub volts: Option<f64>,
    /// Words for the thing, which may stand behind the unit: "20 lb bottle".
    pub names: &'a [&'a str],
}

/// "96", "96 L", "1,200 Wh", "400 Ah at 12 V", "2 x 20 lb bottle", "7 days": an amount above 0, in the
/// unit that is asked for once it is read.
pub(super) fn amount(text: &str, asked: &Measured) -> Result<f64, String> {
    let (number, rest) = leading(text);
    let own = asked.unit.shown_in(asked.show);
    let of = || {
        let (thing, each) = rest.split_once("of ")?;
        let thing = thing.trim_end().trim_end_matches('s');
        (thing.is_empty() || asked.names.contains(&thing)).then_some(each)
    };
    let each = rest.strip_prefix(['x', 'X', '×']).or_else(of).map(str::trim_start);
    let each = each.filter(|each| each.starts_with(|c: char| c.is_ascii_digit()));
    if let (Some(count), Some(each)) = (between(&number, 1.0, 100.0), each) {
        return amount(each, asked).map(|each| count * each);
    }
    let (word, volts) = match rest.find(|c: char| c.is_ascii_digit()) {
        Some(at) => {
            let volts = volts(&rest[at..]);
            let word = rest[..at].trim_end_matches([' ', '@']).trim_end_matches(" at");
            (if volts.is_some() { word } else { rest }, volts)
        }
        None => (rest, asked.volts),
    };
    let named = |word: &str| match word {
        "" => Some(own.clone()),
        "day" | "days" if *asked.unit == Unit::PersonDay => Some(Unit::PersonDay),
        word => Unit::from_word(word, asked.show)
            .or_else(|| Unit::from_word(&word.to_lowercase(), asked.show)),
    };
    let beside = |(unit, thing): (&str, &str)| named(unit).filter(|_| asked.names.contains(&thing));
    let unit = named(word).or_else(|| word.split_once(' ').and_then(beside));
    let factor = unit.and_then(|unit| unit.factor_to(asked.unit, volts));
    let value = between(&number, 0.001, 1e6).zip(factor).map(|(number, factor)| number * factor);
    // Whole thousandths, as amounts are kept everywhere.
    value
        .map(|value| (value * 1000.0).round() / 1000.0)
        .ok_or_else(|| format!("an amount above 0, such as 90 {}", unit_word(&own, "90")))
}

/// A bank of batteries holds no more ampere-hours than this; 600 to 1500 (common practice, no source).
const MOST_AH: f64 = 1000.0;
/// Fewer watt-hours than this are a small thing for a van; 300 to 700 (common practice, no source).
const FEW_WH: f64 = 500.0;
/// A number alone below this share of what is offered may be meant in the other unit; 0.3 to 0.5
/// (our own choice, no source).
const FAR_BELOW: f64 = 0.4;

/// Which of two a number alone may be, for what holds `usual_wh` so far: a battery's label says
/// ampere-hours as often as watt-hours. "300 Wh or 300 Ah (3840 Wh)"; `None` where only one can be.
pub(super) fn either(text: &str, usual_wh: f64, volts: Option<f64>) -> Option<String> {
    let (said, volts) = (number(text.trim())?, volts?);
    let low = said < FEW_WH || said < FAR_BELOW * usual_wh;
    let as_ah = (said * volts).round();
    (low && said <= MOST_AH).then(|| format!("{said} Wh or {said} Ah ({as_ah} Wh): say which"))
}

/// "12 V", "12.8 volts".
fn volts(text: &str) -> Option<f64> {
    let (number, word) = leading(text);
    let is_volts = matches!(word.to_lowercase().as_str(), "v" | "volt" | "volts");
    between(&number, 1.0, 1000.0).filter(|_| is_volts)
}

/// "200", "200 W", "200 watts", "0.2 kW": power in watts, 0 or more.
pub(super) fn watts(text: &str) -> Result<f64, String> {
    let (number, word) = leading(text);
    let factor = match word.to_lowercase().as_str() {
        "" | "w" | "watt" | "watts" | "wp" => Some(1.0),
        "kw" | "kilowatt" | "kilowatts" | "kwp" => Some(1000.0),
        _ => None,
    };
    let value = between(&number, 0.0, 100_000.0).zip(factor).map(|(n, factor)| n * factor);
    value.ok_or("watts, such as 200".to_string())
}

/// "4 to 10", "-4 C to 6 C", "39 F to 50 F": a low and a high in degrees Celsius; degrees of the
/// crew's own scale where none is named.
pub(super) fn temperatures(text: &str, show: UnitSystem) -> Result<(f64, f64), String> {
    let celsius = |text| celsius(text, show);
    let pair = text.split_once("to").and_then(|(low, high)| celsius(low).zip(celsius(high)));
    let pair = pair.filter(|(low, high)| low <= high && *low >= -60.0 && *high <= 60.0);
    pair.ok_or_else(|| {
        let such = if show == UnitSystem::Us { "39 F to 52 F" } else { "4 C to 11 C" };
        format!("a low and a high, such as {such}")
    })
}

/// "-4", "39 F": degrees Celsius to the hundredth; of the crew's own scale where none is named.
pub(super) fn celsius(text: &str, show: UnitSystem) -> Option<f64> {
    let text = text.trim().replace('°', "");
    let number = text.trim_end_matches(|c: char| c.is_alphabetic());
    let scale = match text[number.len()..].to_lowercase().as_str() {
        "" => show,
        "f" => UnitSystem::Us,
        "c" => UnitSystem::Metric,
        _ => return None,
    };
    let degrees = scale.celsius(between(number.trim(), -80.0, 140.0)?);
    Some((degrees * 100.0).round() / 100.0)
}

/// Whether it is a time zone that a rig file may name.
pub(super) fn is_zone(text: &str) -> bool {
    text.parse::<chrono_tz::Tz>().is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_may_carry_a_unit() {
        let asked =
            Measured { unit: &Unit::Litre, show: UnitSystem::Us, volts: None, names: &["tank"] };
        let litres = |text| amount(text, &asked).ok();
        // A US gallon is 3.785411784 L (NIST Handbook 44, appendix C; from memory).
        let rows = [("96", Some(363.4)), ("96 L", Some(96.0)), ("25gal", Some(94.635))];
        let spoken =
            [("1,200 L tank", Some(1200.0)), ("96 litres", Some(96.0)), ("90 l", Some(90.0))];
        for (text, wanted) in rows.into_iter().chain(spoken) {
            assert_eq!(litres(text), wanted, "{text}");
        }
        for text in
            ["0", "-3", "many", "9 Wh", "", "inf", "12,5", "1,20 L", "0,200", "2 20 L", "9 L sack"]
        {
            assert_eq!(litres(text), None, "{text}");
        }
        let asked = Measured { unit: &Unit::WattHour, volts: Some(12.8), ..asked };
        // By hand: ampere-hours times volts.
        let rows = [("200 Ah", 2560.0), ("400 Ah at 12 V", 4800.0), ("400ah @ 12v", 4800.0)];
        let banks = [("5,120 WH", 5120.0), ("2 x 200 Ah", 5120.0), ("2 of 200 Ah", 5120.0)];
        for (text, wanted) in rows.into_iter().chain(banks) {
            assert_eq!(amount(text, &asked), Ok(wanted), "{text}");
        }
        assert!(amount("400 Ah at 12 bars", &asked).is_err());
        let asked = Measured { unit: &Unit::PersonDay, ..asked };
        assert_eq!(amount("7 days", &asked), Ok(7.0));
        assert!(amount("7 days for two", &asked).is_err());
    }

    #[test]
    fn people_are_counted_in_words_too() {
        let rows = [("2", 2.0), ("two", 2.0), ("Two adults", 2.0), ("2.5 people", 2.5)];
        for (text, wanted) in rows.into_iter().chain([("just us two", 2.0), ("a couple", 2.0)]) {
            assert_eq!(people(text), Ok(wanted), "{text}");
        }
        // Whoever is named is counted, and nobody is guessed.
        let rows = [
            ("2 adults, a toddler", 3.0),
            ("two adults and 2 kids", 4.0),
            ("2 adults 2 kids", 4.0),
        ];
        let rows = rows.into_iter().chain([("1 adult with three children", 4.0), ("just me", 1.0)]);
        for (text, wanted) in rows.chain([("me, my wife and two kids", 4.0)]) {
            assert_eq!(people(text), Ok(wanted), "{text}");
        }
        let rows = ["", "many", "zero", "two or three", "one and a half", "60", "2, sometimes 3"];
        for text in
            rows.into_iter().chain(["2 adults and kids", "me and my kids", "two and a baby"])
        {
            assert!(people(text).is_err(), "{text}");
        }
        assert!(people("2 adults, 1 baby").unwrap_err().contains("a baby as what"));
    }

    /// By hand: 300 Ah at 12.8 V are 3840 Wh.
    #[test]
    fn a_small_number_alone_is_watt_hours_or_ampere_hours() {
        let asked = either("300", 1900.0, Some(12.8));
        assert_eq!(asked.as_deref(), Some("300 Wh or 300 Ah (3840 Wh): say which"));
        // 900 is near 1900; 1500 Ah are no van's; with a unit, or without volts, there is no choice.
        for text in ["900", "1500", "300 Wh", "300 Ah"] {
            assert_eq!(either(text, 1900.0, Some(12.8)), None, "{text}");
        }
        assert_eq!(either("300", 1900.0, None), None);
        assert!(either("600", 1900.0, Some(12.8)).is_some());
    }

    #[test]
    fn power_is_said_as_people_say_it() {
        let rows = [("200", 200.0), ("200 watts", 200.0), ("330W", 330.0), ("0.2 kW", 200.0)];
        for (text, wanted) in rows {
            assert_eq!(watts(text), Ok(wanted), "{text}");
        }
        for text in ["200 volts", "-3", "some", "0,2 kW"] {
            assert!(watts(text).is_err(), "{text}");
        }
    }

    /// 39 F are 3.89 C and 50 F are 10 C, by hand.
    #[test]
    fn weather_is_a_low_and_a_high() {
        let metric = |text| temperatures(text, UnitSystem::Metric).ok();
        let rows = [
            ("4 to 10", Some((4.0, 10.0))),
            ("-4 C to 6 C", Some((-4.0, 6.0))),
            ("39 F to 50 F", Some((3.89, 10.0))),
            ("10 to 4", None),
            ("4", None),
            ("cold to warm", None),
            ("4 to 95", None),
        ];
        for (text, wanted) in rows {
            assert_eq!(metric(text), wanted, "{text}");
        }
        assert_eq!(temperatures("39 to 50", UnitSystem::Us), Ok((3.89, 10.0)));
    }

    #[test]
    fn coordinates_are_two_numbers_in_range() {
        assert_eq!(coordinates("47.3, -1.9"), Ok((47.3, -1.9)));
        assert_eq!(coordinates("-41.2 174"), Ok((-41.2, 174.0)));
        let spoken = [
            "52.02 north, 8.5 west",
            "52.02N 8.5W",
            "N52.02, W 8.5",
            "8.5 W 52.02 N",
            "52.02° north 8.5° west",
        ];
        for text in spoken {
            assert_eq!(coordinates(text), Ok((52.02, -8.5)), "{text}");
        }
        assert_eq!(coordinates("33.9 South, 18.4 east"), Ok((-33.9, 18.4)));
        assert_eq!(coordinates("52.02 north, 8.5"), Ok((52.02, 8.5)));
        let wrong = [
            "47.3",
            "91, 0",
            "0, 181",
            "1, 2, 3",
            "north, east",
            "NaN, 0",
            "52 N 8 N",
            "5 up, 3 W",
        ];
        for text in wrong {
            assert!(coordinates(text).is_err(), "{text}");
        }
    }
}
