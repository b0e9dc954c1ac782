//! The questions, in their order: what each asks, what Enter takes, and what an answer changes.

use super::answers_read::{
    Measured, amount, coordinates, either, is_zone, people, temperatures, units, watts,
};
use super::gauges::{self, gauge};
use super::sketch::{HEAT, Sketch};
use super::table::rows;
use super::{heat, kinds, zones};
use crate::domain::{BaseUse, Driver, Stock, TypicalWeather, Unit, Zone};
use crate::forecast::season;
use crate::logline::answers;
use crate::store::rig_edit::quoted;
use crate::store::templates::TEMPLATES;
use crate::text::count::either as one_of;
use crate::text::quantity;
use chrono::NaiveTime;
use std::sync::LazyLock;

/// One question: a row of `assets/questions.txt`.
pub(super) struct Question {
    /// Its matter in a word or two.
    pub short: &'static str,
    /// What the answer is for.
    pub about: &'static str,
    /// What is asked for, and at which place of the rig file.
    asks: (&'static str, &'static str),
    text: &'static str,
}

/// All of them.
pub(super) static QUESTIONS: LazyLock<Vec<Question>> = LazyLock::new(|| {
    let row = |cells: Vec<&'static str>| {
        let [short, asks, text, about] = cells[..] else { return None };
        Some(Question { short, about, asks: asks.split_once(' ').unwrap_or((asks, "")), text })
    };
    rows(include_str!("../../assets/questions.txt")).filter_map(row).collect()
});

impl Question {
    /// What is asked.
    pub(super) fn text(&self, sketch: &Sketch) -> String {
        let month = || sketch.machine.today.format("%B").to_string();
        self.text.replace("{month}", &month()).replace("{tank}", tank(sketch, self.asks.1))
    }

    /// What Enter takes; `None` where this van has nothing to ask about.
    pub(super) fn offer(&self, sketch: &Sketch) -> Option<String> {
        let rig = &sketch.rig;
        match self.asks {
            ("template", _) => Some(TEMPLATES[0].name.to_string()),
            ("text", "van") => Some(rig.van.clone()),
            ("text", _) => Some(rig.home.place.clone()),
            ("people", _) => Some(rig.crew.to_string()),
            ("units", _) => Some("metric".to_string()),
            ("point", _) => Some(format!("{}, {}", sketch.spot().0, sketch.spot().1)),
            ("zone", _) => Some(zone_offered(sketch)),
            ("weather", _) => Some(weather_offered(sketch)),
            ("size" | "battery", stock) => size(sketch, stock),
            ("gauge", stock) => read(sketch, stock),
            ("fuel", stock) => fuel(sketch, stock),
            ("kind", thing) => kind_offered(sketch, thing),
            ("panels", _) => {
                let panels = &rig.parts.electrics.as_ref()?.panels;
                // Adding zero makes a plain zero of none.
                Some(format!("{} W", panels.iter().map(|p| p.rated_w).sum::<f64>() + 0.0))
            }
            ("heat", _) => {
                let said = || heat::said(&rig.parts);
                Some(sketch.kind(HEAT).map_or_else(said, str::to_string))
            }
            _ => None,
        }
    }

    /// Takes an answer, or says what it expects.
    pub(super) fn take(&self, sketch: &mut Sketch, text: &str) -> Result<(), String> {
        match self.asks {
            ("template", _) => template(sketch, text),
            ("text", at) => keep(sketch, at, Ok(quoted(text))),
            ("people", at) => keep(sketch, at, people(text)),
            ("units", at) => keep(sketch, at, units(text).map(|_| text.to_lowercase())),
            ("point", _) => {
                let (north, east) = coordinates(text)?;
                keep(sketch, "home/latitude", Ok(north))?;
                keep(sketch, "home/longitude", Ok(east))
            }
            ("zone", at) => zone(sketch, at, text),
            ("weather", _) => weather(sketch, text),
            ("gauge", stock) => keep_gauge(sketch, stock, text),
            ("fuel", stock) => refuel(sketch, stock, text),
            ("battery", stock) => battery(sketch, stock, text),
            ("panels", at) => keep(sketch, at, watts(text)),
            ("heat", _) => {
                heat::check(text)?;
                sketch.take_kind(HEAT, text)
            }
            ("kind", thing) => kind(sketch, thing, text),
            (_, stock) => resize(sketch, stock, text),
        }
    }

    /// What can be chosen, with a remark each; empty where anything can be said.
    pub(super) fn choices(&self, sketch: &Sketch) -> Vec<(&'static str, &'static str)> {
        match self.asks {
            ("template", _) => TEMPLATES.iter().map(|t| (t.name, t.about)).collect(),
            ("units", _) => vec![
                ("metric", "litres, kilometres, degrees C"),
                ("us", "US gallons, miles, degrees F"),
                ("imperial", "imperial gallons, miles, degrees C"),
            ],
            ("zone", _) => {
                near_zones(sketch).into_iter().map(|zone| (zone, "near there")).collect()
            }
            ("gauge", _) => gauges::choices(),
            ("kind", thing) => kinds::choices(thing),
            ("heat", _) => heat::choices(),
            _ => Vec::new(),
        }
    }
}

/// Which tank of a fuel it is: the one that drives take from, or the heater's.
fn tank(sketch: &Sketch, place: &str) -> &'static str {
    let drives = [Driver::DriveHour, Driver::DriveKm];
    let taken = |base: &BaseUse| base.moves.iter().any(|each| place.ends_with(&each.stock));
    let mut base = sketch.rig.parts.base.iter();
    match base.any(|base| drives.contains(&base.per) && taken(base)) {
        true => "the driving tank",
        false => "the heater's own tank",
    }
}

/// Keeps an answer for its place in the rig file.
fn keep<T: ToString>(
    sketch: &mut Sketch,
    place: &str,
    answer: Result<T, String>,
) -> Result<(), String> {
    sketch.answers.insert(place.to_string(), answer?.to_string());
    Ok(())
}

fn template(sketch: &mut Sketch, text: &str) -> Result<(), String> {
    let named = TEMPLATES.iter().find(|t| t.name.eq_ignore_ascii_case(text));
    let template = named.ok_or("one of the names above".to_string())?;
    // What was answered before is asked again.
    *sketch = Sketch::of(template, sketch.machine.clone())?;
    Ok(())
}

/// The machine's own where the van has left the template's place, unless it knows no place; else one
/// that is near.
fn zone_offered(sketch: &Sketch) -> String {
    let home = &sketch.rig.home;
    let written = match home.zone {
        Some(Zone::Named(zone)) => zone.name(),
        _ => NOWHERE,
    };
    if sketch.spot() == (home.latitude, home.longitude) {
        return written.to_string();
    }
    let knows = |zone: &&str| is_zone(zone) && !zone.starts_with("Etc/") && zone.contains('/');
    let machine = sketch.machine.zone.as_deref().filter(knows);
    let fits = |zone: &&str| zone.parse().is_ok_and(|zone| suits(sketch, Zone::Named(zone)));
    let near = || near_zones(sketch).first().copied();
    machine.filter(fits).or_else(near).or(machine).unwrap_or(written).to_string()
}

/// A zone of no place.
const NOWHERE: &str = "Etc/UTC";

fn near_zones(sketch: &Sketch) -> Vec<&'static str> {
    let midnight = sketch.machine.today.and_time(NaiveTime::MIN);
    zones::nearest(sketch.spot(), |zone| zone.moment(midnight))
}

fn zone(sketch: &mut Sketch, at: &str, text: &str) -> Result<(), String> {
    let expected = |_| "a name such as Europe/Oslo or America/Denver".to_string();
    let text = zones::named(text).unwrap_or(text);
    let named = text.parse().map_err(expected)?;
    let (north, east) = sketch.spot();
    if !suits(sketch, Zone::Named(named)) {
        return Err(format!(
            "clocks near {north}, {east}, which {text} is not: west is negative; go back if it lies \
             at {north}, {}",
            -east
        ));
    }
    keep(sketch, at, Ok(quoted(text)))
}

/// Whether somebody may live by the zone's clocks where the van stands.
fn suits(sketch: &Sketch, zone: Zone) -> bool {
    let midnight = sketch.machine.today.and_time(NaiveTime::MIN);
    zone.suits(sketch.spot().1, zone.moment(midnight))
}

/// What latitude and month suggest: a template was written for one season.
fn usual_weather(sketch: &Sketch) -> TypicalWeather {
    season::by_latitude(sketch.machine.today, sketch.spot().0)
}

fn weather_offered(sketch: &Sketch) -> String {
    let usual = usual_weather(sketch);
    let degrees = |celsius| quantity::temperature(celsius, sketch.show());
    format!("{} to {}", degrees(usual.low_c), degrees(usual.high_c))
}

fn weather(sketch: &mut Sketch, text: &str) -> Result<(), String> {
    let answer = temperatures(text, sketch.show())?;
    let usual = usual_weather(sketch);
    let (low, high) = match text == weather_offered(sketch) {
        // What was offered is rounded for the eye.
        true => (usual.low_c.round(), usual.high_c.round()),
        false => answer,
    };
    keep(sketch, "home/typical/low_c", Ok(low))?;
    keep(sketch, "home/typical/high_c", Ok(high))
}

/// How the template's tank is read, as people say it.
fn read(sketch: &Sketch, stock: &str) -> Option<String> {
    known(sketch, stock).map(|(stock, _)| quantity::gauge(&stock.gauge))
}

/// What was offered stays as the template writes it.
fn keep_gauge(sketch: &mut Sketch, stock: &str, text: &str) -> Result<(), String> {
    let (place, written) = (format!("{stock}/gauge"), gauge(text)?);
    sketch.answers.remove(&place);
    if read(sketch, stock).is_some_and(|offered| gauge(&offered) != Ok(written.clone())) {
        sketch.answers.insert(place, written);
    }
    Ok(())
}

/// The kind of a thing that was said, or that the van is offered.
fn kind_offered(sketch: &Sketch, thing: &str) -> Option<String> {
    if thing == kinds::BATTERY {
        sketch.rig.parts.electrics.as_ref()?;
    }
    let said = sketch.kind(thing).and_then(|said| kinds::named(thing, said));
    let word = said.map_or_else(|| kinds::offered(&sketch.text, thing), |(word, _)| word);
    Some(word.to_string())
}

/// Another kind of a thing.
fn kind(sketch: &mut Sketch, thing: &'static str, text: &str) -> Result<(), String> {
    let expected = || one_of(kinds::choices(thing).into_iter().map(|(word, _)| word));
    // Of two, the rest of a rig counts one.
    if kinds::names_two(thing, text) {
        return Err(format!("one of them, the one that is used most: {}", expected()));
    }
    let (word, _) = kinds::named(thing, text).ok_or_else(expected)?;
    sketch.take_kind(thing, word)
}

/// The size of the battery, and its kind where that is said as well: "220 Ah lead acid".
fn battery(sketch: &mut Sketch, stock: &str, text: &str) -> Result<(), String> {
    let named = kinds::named(kinds::BATTERY, text);
    if let Some((word, _)) = &named {
        sketch.take_kind(kinds::BATTERY, word)?;
    }
    let said = named.map_or_else(|| text.to_string(), |(_, rest)| rest);
    let usual = known(sketch, stock).map_or(0.0, |(stock, _)| stock.capacity);
    match either(&said, usual, sketch.rig.parts.volts()) {
        Some(which) => Err(which),
        None => resize(sketch, stock, &said),
    }
}

/// The template's stock at `place`, and the unit that is asked for.
fn known<'s>(sketch: &'s Sketch, place: &str) -> Option<(&'s Stock, Unit)> {
    let (_, stock) = sketch.rig.parts.stock(place.split('/').nth(1)?)?;
    let unit = match stock.unit {
        Unit::Litre | Unit::Kilogram | Unit::PersonDay | Unit::Use => stock.unit.clone(),
        _ => Unit::WattHour,
    };
    Some((stock, unit))
}

/// What the template has, in the crew's own units: "120 L", "32 gal".
fn size(sketch: &Sketch, place: &str) -> Option<String> {
    let (stock, unit) = known(sketch, place)?;
    match unit.shown_in(sketch.show()) == unit {
        true => Some(format!("{} {}", stock.capacity, unit.word())),
        false => Some(quantity::amount(stock.capacity, stock.capacity, &unit, sketch.show())),
    }
}

/// The size of a fuel's tank, where something burns it or it was left out before.
fn fuel(sketch: &Sketch, place: &str) -> Option<String> {
    if sketch.kind(place).is_some() {
        return Some("none".to_string());
    }
    let (stock, _) = known(sketch, place)?;
    heat::is_burnt(&sketch.rig.parts, &stock.name).then(|| size(sketch, place))?
}

/// Another size, or no such tank: "0", "none", "no diesel".
fn refuel(sketch: &mut Sketch, place: &'static str, text: &str) -> Result<(), String> {
    let first = text.split_whitespace().next().unwrap_or_default();
    if first.parse() == Ok(0.0) || answers::is_of("none", first) {
        return sketch.take_kind(place, "none");
    }
    sketch.take_again(place)?;
    resize(sketch, place, text)
}

fn resize(sketch: &mut Sketch, place: &str, text: &str) -> Result<(), String> {
    let Some((stock, unit)) = known(sketch, place) else { return Ok(()) };
    let (volts, show) = (sketch.rig.parts.volts(), sketch.show());
    let asked = Measured { unit: &unit, show, volts, names: answers::same(&stock.name) };
    let size = amount(text, &asked);
    keep(sketch, &format!("{place}/capacity"), size)
}
