//! Levels and amounts in the units that the crew wants to see.

use crate::domain::{Gauge, Moment, Quantity, Rig, Unit, UnitSystem, Zone};
use crate::forecast::StockForecast;
use crate::forecast::answer::{Estimate, OddSeason, PastReading};

/// The word beside a shown amount: "1 use", "2 uses".
pub fn unit_word<'u>(unit: &'u Unit, number: &str) -> &'u str {
    match unit {
        Unit::UsGallon | Unit::ImperialGallon => "gal",
        other => other.word_for(number),
    }
}

/// `value` in `unit`, as shown in `system`: rounded to the nearest with as many decimals as
/// the size of the whole (`scale`, in `unit`) deserves. "8.5 L"; "?" for what is not a number.
pub fn amount(value: f64, scale: f64, unit: &Unit, system: UnitSystem) -> String {
    let (factor, shown) = shown(unit, scale, system);
    let number = number(value * factor, scale * factor);
    format!("{number} {}", unit_word(&shown, &number))
}

/// What is kept of a whole: "3 L", of a battery "10 %".
pub fn kept(value: f64, whole: f64, unit: &Unit, system: UnitSystem) -> String {
    match is_energy(unit) {
        true => super::share::percent(value / whole),
        false => amount(value, whole, unit, system),
    }
}

/// What a gauge showed, where what is thought of the level now says more than it did: "Read between 33
/// and 66 L; with what was used before and since, 52 L is likelier".
pub fn likelier(stock: &StockForecast, last: &PastReading, system: UnitSystem) -> Option<String> {
    let told = |value: f64| kept(value, stock.capacity, &stock.unit, system);
    let (low, high, now) = (told(last.low), told(last.high), told(stock.level.mean));
    let wide = last.high - last.low > COARSE * stock.capacity;
    // What is as unsure as it is far from what was read says nothing against that.
    let (low_end, high_end) = (last.low - stock.level.sd, last.high + stock.level.sd);
    let outside = stock.level.mean < low_end || stock.level.mean > high_end;
    let read = match low == high {
        true => low.clone(),
        false => format!("between {} and {high}", low.split(' ').next().unwrap_or_default()),
    };
    let is_new = (wide || outside) && now != low && now != high && !last.service;
    is_new.then(|| format!("Read {read}; with what was used before and since, {now} is likelier"))
}

/// A gauge that leaves more of the whole open than this is told with what it leaves open; 0.05 to 0.2
/// (our own choice, no source).
const COARSE: f64 = 0.1;

/// An amount that was said or planned: as it is, or in the crew's unit to three figures. "38 mi".
pub fn said(quantity: &Quantity, system: UnitSystem) -> String {
    let to = quantity.unit.shown_in(system);
    let factor = quantity.unit.factor_to(&to, None).filter(|_| to != quantity.unit);
    let number = match factor {
        Some(factor) => {
            let value = quantity.amount.value() * factor;
            trimmed(&precise(value, value.abs()))
        }
        None => quantity.amount.to_string(),
    };
    format!("{number} {}", unit_word(&to, &number))
}

/// Whether a level is shown with how unsure it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spread {
    /// One standard deviation stands behind it.
    Shown,
    /// It stands alone.
    LeftOut,
}

/// A level beside its capacity: "71 of 104 L", and with its spread "71 ±3 of 104 L" (one
/// standard deviation, rounded up so that it never looks surer than it is). What stores
/// electricity is shown as a share: "71 ±4 %".
pub fn level(stock: &StockForecast, system: UnitSystem, shown_with: Spread) -> String {
    let spread = |text: String| match shown_with {
        Spread::Shown => around(&text),
        Spread::LeftOut => String::new(),
    };
    if is_energy(&stock.unit) {
        let share = 100.0 / stock.capacity;
        let around = spread(number_up(stock.level.sd * share, 100.0));
        return format!("{}{around} %", number(stock.level.mean * share, 100.0));
    }
    let (factor, shown) = shown(&stock.unit, stock.capacity, system);
    let scale = stock.capacity * factor;
    let mean = number(stock.level.mean * factor, scale);
    let around = spread(number_up(stock.level.sd * factor, scale));
    let whole = trimmed(&number(scale, scale));
    match stock.unit {
        Unit::PersonDay => {
            let number = format!("{mean}{around}");
            format!("{number} {}", unit_word(&shown, &number))
        }
        _ => format!("{mean}{around} of {whole} {}", unit_word(&shown, &whole)),
    }
}

/// The level as a share of capacity, in whole percent: "68 %".
pub fn share_full(stock: &StockForecast) -> String {
    super::share::percent(stock.level.mean / stock.capacity)
}

/// A mean with its spread, in a unit named in words: "7.2 ±0.8 L".
pub fn estimate(value: Estimate, word: &str) -> String {
    let scale = value.mean.abs();
    let text = precise(value.mean, scale) + &around(&precise(value.sd, scale));
    if word.is_empty() { text } else { format!("{text} {word}") }
}

/// A mean with its spread in the crew's units, where `unit` begins with a unit's word: "1.82 ±0.35
/// gal" for 6.9 L. What no unit begins is shown as it is.
pub fn learned(value: Estimate, unit: &str, system: UnitSystem) -> String {
    let word = unit.split(' ').next().unwrap_or_default();
    let Some(own) = Unit::from_word(word, system) else { return estimate(value, unit) };
    let to = own.shown_in(system);
    match own.factor_to(&to, None) {
        Some(factor) if to != own => {
            let value = Estimate { mean: value.mean * factor, sd: value.sd * factor };
            estimate(value, &format!("{}{}", unit_word(&to, ""), &unit[word.len()..]))
        }
        _ => estimate(value, unit),
    }
}

/// Degrees in the crew's units: "4 C", "39 F"; never "-0 C".
pub fn temperature(celsius: f64, system: UnitSystem) -> String {
    // Adding zero takes the sign off a zero.
    format!("{:.0} {}", system.degrees(celsius).round() + 0.0, system.scale())
}

/// What a rig file expects of the season where it cannot be: "rig.ron expects 15 C on average at
/// this time of year, but 1 C is usual so far north: change home, typical".
pub fn odd_season(odd: &OddSeason, latitude_deg: f64, system: UnitSystem) -> String {
    let (said, usual) = (temperature(odd.said_c, system), temperature(odd.usual_c, system));
    let where_ = if latitude_deg < 0.0 { "so far south" } else { "so far north" };
    format!(
        "rig.ron expects {said} on average at this time of year, but about {usual} is usual \
         {where_}: change low_c and high_c under home, typical"
    )
}

/// That the van's place and its clocks do not go together; `None` where they may.
pub fn far_from_zone(rig: &Rig, now: Moment) -> Option<String> {
    let (north, east) = (rig.home.latitude, rig.home.longitude);
    let zone = rig.home.zone.filter(|zone| !zone.suits(east, now))?;
    let name = match zone {
        Zone::Named(zone) => zone.name(),
        Zone::Fixed(_) => "its clocks",
    };
    Some(format!(
        "rig.ron: home lies at {north}, {east}, which is far from {name}: west is negative; is it \
         {north}, {}?",
        -east
    ))
}

/// A gauge as people say it.
pub fn gauge(gauge: &Gauge) -> String {
    match gauge {
        Gauge::None => "by eye".into(),
        Gauge::Ladder(marks) => format!("{} lamps", marks.len()),
        Gauge::Step(step) if *step <= 0.02 => "percent".into(),
        Gauge::Step(step) => format!("{:.0} marks", 1.0 / step),
    }
}

/// Whether a stock of this unit stores electricity.
pub fn is_energy(unit: &Unit) -> bool {
    matches!(unit, Unit::WattHour | Unit::KilowattHour | Unit::AmpHour)
}

fn shown(unit: &Unit, scale: f64, system: UnitSystem) -> (f64, Unit) {
    let to = match unit {
        Unit::WattHour if scale >= 1000.0 => Unit::KilowattHour,
        other => other.shown_in(system),
    };
    (unit.factor_to(&to, None).unwrap_or(1.0), to)
}

/// " ±3"; nothing where the spread comes to nothing.
fn around(spread: &str) -> String {
    let is_zero = spread.parse::<f64>().is_ok_and(|spread| spread == 0.0);
    if is_zero { String::new() } else { format!(" ±{spread}") }
}

fn decimals(scale: f64) -> usize {
    match scale.abs() {
        s if s >= 30.0 => 0,
        s if s >= 3.0 => 1,
        _ => 2,
    }
}

fn number(value: f64, scale: f64) -> String {
    if !value.is_finite() {
        return "?".to_string();
    }
    let shown = format!("{value:.*}", decimals(scale));
    // "-0.0" would look like a fault of the gauge.
    if shown.trim_matches(['-', '0', '.']).is_empty() { shown.replace('-', "") } else { shown }
}

fn number_up(value: f64, scale: f64) -> String {
    let unit = 10f64.powi(decimals(scale) as i32);
    number((value * unit - 1e-6).ceil() / unit, scale)
}

/// Three digits that matter, down to the thousandth: half a litre is 0.132 gal.
fn precise(value: f64, scale: f64) -> String {
    let places = match scale {
        s if s >= 100.0 => 0,
        s if s >= 10.0 => 1,
        s if s < 0.2 && s > 0.0 => 3,
        _ => 2,
    };
    if value.is_finite() { format!("{value:.places$}") } else { "?".to_string() }
}

/// Without zeros behind the point.
pub(super) fn trimmed(text: &str) -> String {
    if !text.contains('.') {
        return text.to_string();
    }
    text.trim_end_matches('0').trim_end_matches('.').to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::stock::Direction;
    use crate::forecast::answer::Quantiles;

    fn stock(unit: Unit, capacity: f64, mean: f64, sd: f64) -> StockForecast {
        StockForecast {
            name: "fresh".into(),
            unit,
            runs: Direction::Down,
            capacity,
            limit: 0.0,
            level: Estimate { mean, sd },
            hours: Quantiles::default(),
            beyond_horizon: 0.0,
            binding: 0.0,
            stood_in_by: None,
            per_day: 0.0,
            dips: vec![],
            fan: vec![],
        }
    }

    #[test]
    fn levels_are_shown_in_the_crews_units() {
        use UnitSystem::*;
        let rows = [
            (stock(Unit::Litre, 96.0, 61.2, 2.1), Metric, "61 ±3 of 96 L"),
            (stock(Unit::Litre, 96.0, 61.2, 2.1), Us, "16.2 ±0.6 of 25.4 gal"),
            // 96 L / 4.546 09 L = 21.117 imperial gallons.
            (stock(Unit::Litre, 96.0, 61.2, 2.1), Imperial, "13.5 ±0.5 of 21.1 gal"),
            (stock(Unit::Litre, 12.0, 3.04, 0.2), Metric, "3.0 ±0.2 of 12 L"),
            (stock(Unit::WattHour, 2560.0, 1800.0, 51.0), Metric, "70 ±2 %"),
            (stock(Unit::PersonDay, 24.0, 14.0, 1.0), Metric, "14.0 ±1.0 person-days"),
            (stock(Unit::Use, 40.0, 9.0, 0.0), Us, "9 of 40 uses"),
            (stock(Unit::Litre, 96.0, f64::NAN, f64::NAN), Metric, "? ±? of 96 L"),
        ];
        for (stock, system, words) in rows {
            assert_eq!(level(&stock, system, Spread::Shown), words);
        }
        assert_eq!(
            level(&stock(Unit::Litre, 96.0, 61.2, 2.1), Metric, Spread::LeftOut),
            "61 of 96 L"
        );
        assert_eq!(amount(-0.001, 12.0, &Unit::Litre, Metric), "0.0 L");
        assert_eq!(amount(1.0, 40.0, &Unit::Use, Metric), "1 use");
        assert_eq!(amount(1.0, 8.0, &Unit::Use, Metric), "1.0 uses");
        assert_eq!(amount(2.0, 40.0, &Unit::PersonDay, Metric), "2 person-days");
        assert_eq!(amount(0.7, 40.0, &Unit::PersonDay, Us), "1 person-day");
        assert_eq!(amount(1.0, 40.0, &Unit::Own("jars".into()), Metric), "1 jars");
        assert_eq!(
            level(&stock(Unit::Night, 30.0, 1.0, 0.0), Metric, Spread::LeftOut),
            "1 of 30 nights"
        );
        assert_eq!(amount(1536.0, 2560.0, &Unit::WattHour, Us), "1.54 kWh");
    }
}
