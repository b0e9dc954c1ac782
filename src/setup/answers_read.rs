//! What an answer to one of `init`'s questions means: amounts with or without a unit, degrees,
//! people. Each says what it expects where it does not understand.

use crate::domain::{Amount, Unit, UnitSystem};
use crate::logline::answers;
use crate::text::quantity::{shown_unit, unit_word};

fn between(text: &str, low: f64, high: f64) -> Option<f64> {
    Amount::parse(text).ok().map(Amount::value).filter(|n| (low..=high).contains(n))
}

/// A whole number in digits or words.
pub(super) fn whole_number(text: &str) -> Option<f64> {
    let number = text.parse::<u32>().ok().map(f64::from);
    number.or_else(|| answers::number(text))
}

/// A number of people, 0.5 to 50: "2", "two", "2 people", "just the two of us".
pub(super) fn people(text: &str) -> Result<f64, String> {
    let said: Vec<&str> = text.split_whitespace().collect();
    let digits = text.trim_end_matches(|c: char| c.is_alphabetic()).trim();
    let number = between(digits, 0.5, 50.0);
    number.or_else(|| counted(&said)).ok_or("a number from 0.5 to 50".to_string())
}

/// The one number among words: `None` where there is none, or more than one, or a part of one.
fn counted(said: &[&str]) -> Option<f64> {
    if said.iter().any(|word| word.eq_ignore_ascii_case("half")) {
        return None;
    }
    let mut numbers = said.iter().filter_map(|word| {
        let word = word.trim_matches([',', '.']).to_lowercase();
        between(&word, 0.5, 50.0)
            .or_else(|| answers::number(&word))
            .filter(|n| (0.5..=50.0).contains(n))
    });
    numbers.next().filter(|_| numbers.next().is_none())
}

/// A system of units by its name.
pub(super) fn units(text: &str) -> Result<UnitSystem, String> {
    match text.to_lowercase().as_str() {
        "metric" => Ok(UnitSystem::Metric),
        "us" => Ok(UnitSystem::Us),
        "imperial" => Ok(UnitSystem::Imperial),
        _ => Err("metric, us or imperial".to_string()),
    }
}

/// "47.3, -1.9", "47.3 north, 1.9 west", "N47.3 W1.9": north first, unless the words say otherwise.
pub(super) fn coordinates(text: &str) -> Result<(f64, f64), String> {
    let pair = match degrees_named(text).as_deref() {
        Some([(Some(Axis::East), east), (Some(Axis::North), north)]) => Some((*north, *east)),
        Some([(Some(Axis::North) | None, north), (Some(Axis::East) | None, east)]) => {
            Some((*north, *east))
        }
        _ => None,
    };
    pair.filter(|(north, east)| north.abs() <= 90.0 && east.abs() <= 180.0)
        .ok_or("two numbers such as 47.3, -1.9 or 47.3 north, 1.9 west".to_string())
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Axis {
    North,
    East,
}

/// Every number with the direction that stands beside it, if one does; south and west turn it
/// round. A direction before the first number stands before each.
fn degrees_named(text: &str) -> Option<Vec<(Option<Axis>, f64)>> {
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+');
    let mut all: Vec<(Option<Axis>, f64)> = Vec::new();
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

fn direction(word: &str) -> Option<(Axis, f64)> {
    match word {
        "n" | "north" => Some((Axis::North, 1.0)),
        "s" | "south" => Some((Axis::North, -1.0)),
        "e" | "east" => Some((Axis::East, 1.0)),
        "w" | "west" => Some((Axis::East, -1.0)),
        _ => None,
    }
}

/// "96", "96 L", "25 gal": an amount above 0, in `unit` once it is read. A number alone is in the
/// unit that the crew wants to see: what it is asked in.
pub(super) fn amount(
    text: &str,
    unit: &Unit,
    show: UnitSystem,
    volts: Option<f64>,
) -> Result<f64, String> {
    let split = text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
    let (number, word) = text.split_at(split);
    let own = shown_unit(unit, show);
    let named = match word.trim() {
        "" => Some(own.clone()),
        word => Unit::from_word(word, show),
    };
    let factor = named.and_then(|named| named.factor_to(unit, volts));
    let value = between(number, 0.001, 1e6).zip(factor).map(|(number, factor)| number * factor);
    // Whole thousandths, as amounts are kept everywhere.
    value
        .map(|value| (value * 1000.0).round() / 1000.0)
        .ok_or_else(|| format!("an amount above 0, such as 90 {}", unit_word(&own, "90")))
}

/// "200", "200 W", "200 watts", "0.2 kW": power in watts, 0 or more.
pub(super) fn watts(text: &str) -> Result<f64, String> {
    let split = text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
    let (number, word) = text.split_at(split);
    let factor = match word.trim().to_lowercase().as_str() {
        "" | "w" | "watt" | "watts" | "wp" => Some(1.0),
        "kw" | "kilowatt" | "kilowatts" | "kwp" => Some(1000.0),
        _ => None,
    };
    let value = between(number, 0.0, 100_000.0).zip(factor).map(|(n, factor)| n * factor);
    value.ok_or("watts, such as 200".to_string())
}

/// "4 to 10", "-4 C to 6 C", "39 F to 50 F": a low and a high in degrees Celsius; degrees of the
/// crew's own scale where none is named.
pub(super) fn temperatures(text: &str, show: UnitSystem) -> Result<(f64, f64), String> {
    let celsius = |text: &str| -> Option<f64> {
        let text = text.trim().replace('°', "");
        let number = text.trim_end_matches(|c: char| c.is_alphabetic());
        let fahrenheit = match text[number.len()..].to_lowercase().as_str() {
            "" => show == UnitSystem::Us,
            "f" => true,
            "c" => false,
            _ => return None,
        };
        let degrees = between(number.trim(), -80.0, 140.0)?;
        Some(if fahrenheit { (degrees - 32.0) / 1.8 } else { degrees })
    };
    let pair = text.split_once("to").and_then(|(low, high)| celsius(low).zip(celsius(high)));
    let pair = pair.filter(|(low, high)| low <= high && *low >= -60.0 && *high <= 60.0);
    let rounded = |degrees: f64| (degrees * 100.0).round() / 100.0;
    pair.map(|(low, high)| (rounded(low), rounded(high))).ok_or_else(|| {
        let such = if show == UnitSystem::Us { "39 F to 52 F" } else { "4 C to 11 C" };
        format!("a low and a high, such as {such}")
    })
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
        let litres = |text| amount(text, &Unit::Litre, UnitSystem::Us, None).ok();
        // A US gallon is 3.785411784 L (NIST Handbook 44, appendix C; from memory).
        let rows = [("96", Some(363.4)), ("96 L", Some(96.0)), ("25gal", Some(94.635))];
        for (text, wanted) in rows {
            assert_eq!(litres(text), wanted, "{text}");
        }
        for text in ["0", "-3", "many", "9 Wh", "", "inf", "12,5"] {
            assert_eq!(litres(text), None, "{text}");
        }
        let battery = amount("200 Ah", &Unit::WattHour, UnitSystem::Metric, Some(12.8));
        assert_eq!(battery, Ok(2560.0));
    }

    #[test]
    fn people_are_counted_in_words_too() {
        let rows = [("2", 2.0), ("two", 2.0), ("Two adults", 2.0), ("2.5 people", 2.5)];
        for (text, wanted) in rows.into_iter().chain([("just us two", 2.0), ("a couple", 2.0)]) {
            assert_eq!(people(text), Ok(wanted), "{text}");
        }
        for text in ["", "many", "zero", "two or three", "one and a half", "60"] {
            assert!(people(text).is_err(), "{text}");
        }
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
