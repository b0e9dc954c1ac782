//! The questions, in their order: what each asks, what Enter takes, and what an answer changes.

use super::answers_read::{
    Asked, amount, coordinates, either, is_zone, people, temperatures, units, watts,
};
use super::gauges::{self, gauge};
use super::sketch::{HEAT, Sketch, of_template};
use super::{heat, kinds, zones};
use crate::domain::{Stock, TypicalWeather, Unit, Zone};
use crate::forecast::season;
use crate::logline::answers;
use crate::store::rig_edit::quoted;
use crate::store::starter::{Answers, PANELS};
use crate::store::templates::TEMPLATES;
use crate::text::{listed, quantity};
use chrono::NaiveTime;

/// One question.
pub(super) struct Question {
    /// Its matter in a word or two.
    pub short: &'static str,
    /// What the answer is for.
    pub about: &'static str,
    /// What is asked.
    pub text: fn(&Sketch) -> String,
    /// What Enter takes; `None` where this van has nothing to ask about.
    pub offer: fn(&Sketch) -> Option<String>,
    /// Takes an answer, or says what it expects.
    pub take: fn(&mut Sketch, &str) -> Result<(), String>,
    /// What can be chosen, with a remark each; empty where anything can be said.
    pub choices: fn(&Sketch) -> Vec<(&'static str, &'static str)>,
}

const fn free(
    [short, about]: [&'static str; 2],
    text: fn(&Sketch) -> String,
    offer: fn(&Sketch) -> Option<String>,
    take: fn(&mut Sketch, &str) -> Result<(), String>,
) -> Question {
    Question { short, about, text, offer, take, choices: |_| Vec::new() }
}

const fn reading(
    short: &'static str,
    text: fn(&Sketch) -> String,
    offer: fn(&Sketch) -> Option<String>,
    take: fn(&mut Sketch, &str) -> Result<(), String>,
) -> Question {
    let about = "One lamp of three tells less than 33 %. Any number of lamps or marks can be said.";
    Question { short, about, text, offer, take, choices: |_| gauges::choices() }
}

/// All of them.
pub(super) const QUESTIONS: [Question; 24] = [
    Question {
        short: "like",
        about: "Its numbers are where yours begin; every one can be changed later.",
        text: |_| "Which of these is most like your van?".into(),
        offer: |_| Some(TEMPLATES[0].name.into()),
        take: template,
        choices: |_| TEMPLATES.iter().map(|t| (t.name, t.about)).collect(),
    },
    free(
        ["name", "Only for titles."],
        |_| "What do you call the van?".into(),
        |sketch| Some(sketch.rig.van.clone()),
        |sketch, text| keep(sketch, "van", Ok(quoted(text))),
    ),
    free(
        ["people", "Water, food and the toilet go by it. Guests are written down when they come."],
        |_| "How many people live in it?".into(),
        |sketch| Some(sketch.rig.crew.to_string()),
        |sketch, text| keep(sketch, "crew", people(text)),
    ),
    Question {
        short: "units",
        about: "How amounts are shown. Others are understood as well.",
        text: |_| "Units: metric, us or imperial?".into(),
        offer: |_| Some("metric".into()),
        take: |sketch, text| keep(sketch, "show", units(text).map(|_| text.to_lowercase())),
        choices: |_| {
            vec![
                ("metric", "litres, kilometres, degrees C"),
                ("us", "US gallons, miles, degrees F"),
                ("imperial", "imperial gallons, miles, degrees C"),
            ]
        },
    },
    free(
        ["place", "The camp that the journal begins at."],
        |_| "Where does it stand most often (a name)?".into(),
        |sketch| Some(sketch.rig.home.place.clone()),
        |sketch, text| keep(sketch, "home/place", Ok(quoted(text))),
    ),
    free(
        ["lies at", "Sun and cold go by it. A map shows it; a tenth of a degree is close enough."],
        |_| "Degrees north, degrees east of that place (south and west are negative)?".into(),
        |sketch| {
            let (north, east) = sketch.spot();
            Some(format!("{north}, {east}"))
        },
        |sketch, text| {
            let (north, east) = coordinates(text)?;
            keep(sketch, "home/latitude", Ok(north))?;
            keep(sketch, "home/longitude", Ok(east))
        },
    ),
    Question {
        short: "zone",
        about: "Days begin and end by it. Any other name such as Europe/Oslo is taken as well.",
        text: |_| "Time zone there?".into(),
        offer: zone_offered,
        take: zone,
        choices: |sketch| near_zones(sketch).into_iter().map(|zone| (zone, "near there")).collect(),
    },
    free(
        [
            "low, high",
            "Heating and cold nights go by it until you give an outlook. A guess is enough.",
        ],
        weather_asked,
        |sketch| Some(weather_offered(sketch)),
        weather,
    ),
    free(
        ["fresh", "From the tank's plate or the papers. An amount such as 90 L or 25 gal."],
        |_| "How much fresh water does it hold?".into(),
        |sketch| size(sketch, FRESH),
        |sketch, text| resize(sketch, FRESH, text),
    ),
    reading(
        "fresh read",
        |_| "How do you read how much fresh water is left?".into(),
        |sketch| read(sketch, FRESH_GAUGE),
        |sketch, text| keep_gauge(sketch, FRESH_GAUGE, text),
    ),
    free(
        ["grey", "The tank under sink and shower."],
        |_| "How much waste water?".into(),
        |sketch| size(sketch, GREY),
        |sketch, text| resize(sketch, GREY, text),
    ),
    reading(
        "grey read",
        |_| "How do you read how full waste water is?".into(),
        |sketch| read(sketch, GREY_GAUGE),
        |sketch, text| keep_gauge(sketch, GREY_GAUGE, text),
    ),
    Question {
        short: "toilet is",
        about: "Where toilets of a site or the woods are used, none.",
        text: |_| "What kind of toilet?".into(),
        offer: |sketch| Some(kinds::said(&sketch.text, kinds::TOILET).into()),
        take: |sketch, text| kind(sketch, kinds::TOILET, text),
        choices: |_| kinds::choices(kinds::TOILET),
    },
    free(
        ["toilet", "The container that is carried to be emptied, or the black tank."],
        |sketch| {
            match toilet(sketch) {
                BLACK => "How much does the black tank hold?",
                CASSETTE => "How much does the toilet's cassette hold?",
                _ => "How much does the toilet's liquids container hold?",
            }
            .into()
        },
        |sketch| size(sketch, toilet(sketch)),
        |sketch, text| resize(sketch, toilet(sketch), text),
    ),
    reading(
        "toilet read",
        |sketch| {
            match toilet(sketch) {
                BLACK => "How do you read how full the black tank is?",
                CASSETTE => "How do you read how full the toilet's cassette is?",
                _ => "How do you read how full the toilet's liquids container is?",
            }
            .into()
        },
        |sketch| read(sketch, toilet_gauge(sketch)),
        |sketch, text| keep_gauge(sketch, toilet_gauge(sketch), text),
    ),
    Question {
        short: "battery is",
        about: "How much of it can be used goes by it, and what harms it. Leave wiring to licensed people.",
        text: |_| "What kind of battery?".into(),
        offer: |sketch| {
            sketch.rig.parts.electrics.as_ref()?;
            Some(kinds::said(&sketch.text, kinds::BATTERY).into())
        },
        take: |sketch, text| kind(sketch, kinds::BATTERY, text),
        choices: |_| kinds::choices(kinds::BATTERY),
    },
    free(
        ["battery", "As on its label: Wh, or Ah (times its volts)."],
        |_| "How much does the battery hold (Wh, or Ah)?".into(),
        |sketch| size(sketch, BATTERY),
        battery,
    ),
    free(
        ["panels", "The rated watts of all panels together."],
        |_| "Solar panels, all together, in watts (0 for none)?".into(),
        |sketch| {
            let electrics = sketch.rig.parts.electrics.as_ref()?;
            // Adding zero makes a plain zero of none.
            Some(format!("{} W", electrics.panels.iter().map(|p| p.rated_w).sum::<f64>() + 0.0))
        },
        |sketch, text| keep(sketch, PANELS, watts(text)),
    ),
    Question {
        short: "heat",
        about: "Of two, the one that is used first: diesel and wood. What burns gives off carbon monoxide: keep an alarm that \
                works, vents clear, and have it serviced by licensed people.",
        text: |_| "What heats it?".into(),
        offer: |sketch| {
            let said = || heat::said(&sketch.rig.parts);
            Some(sketch.kind(HEAT).map_or_else(said, str::to_string))
        },
        take: |sketch, text| {
            heat::check(text)?;
            sketch.take_kind(HEAT, text)
        },
        choices: |_| heat::choices(),
    },
    Question {
        short: "cooks on",
        about: "Meals and the kettle take it. Cooking needs air: open a window, and have gas serviced by licensed people.",
        text: |_| "What do you cook on?".into(),
        offer: |sketch| {
            let said = sketch.kind(kinds::COOKING);
            let said =
                said.and_then(|said| kinds::named(kinds::COOKING, said)).map(|(word, _)| word);
            Some(said.unwrap_or_else(|| kinds::offered(&sketch.text, kinds::COOKING)).into())
        },
        take: |sketch, text| kind(sketch, kinds::COOKING, text),
        choices: |_| kinds::choices(kinds::COOKING),
    },
    free(
        ["gas bottle", "What is in it when full, from its plate. Gas fitting is licensed work."],
        |_| "How much gas does the bottle hold?".into(),
        |sketch| fuel(sketch, GAS),
        |sketch, text| refuel(sketch, GAS, text),
    ),
    free(
        ["diesel", "The tank that the heater or the engine drinks from."],
        |_| "How much diesel does its tank hold (0 for none)?".into(),
        |sketch| fuel(sketch, DIESEL),
        |sketch, text| refuel(sketch, DIESEL, text),
    ),
    free(
        ["wood", "What is carried when the basket is full."],
        |_| "How much wood do you carry?".into(),
        |sketch| fuel(sketch, WOOD),
        |sketch, text| refuel(sketch, WOOD, text),
    ),
    free(
        ["food", "What is carried when the cupboards are full: a day's food for one is 1."],
        |_| "How much food, in days for one person?".into(),
        |sketch| size(sketch, FOOD),
        |sketch, text| resize(sketch, FOOD, text),
    ),
];

/// Keeps an answer for its place in the rig file.
fn keep<T: ToString>(
    sketch: &mut Sketch,
    place: &'static str,
    answer: Result<T, String>,
) -> Result<(), String> {
    sketch.answers.insert(place, answer?.to_string());
    Ok(())
}

fn template(sketch: &mut Sketch, text: &str) -> Result<(), String> {
    let named = TEMPLATES.iter().find(|t| t.name.eq_ignore_ascii_case(text));
    let template = named.ok_or("one of the names above".to_string())?;
    // What was answered before is asked again.
    *sketch = Sketch {
        machine: sketch.machine.clone(),
        template,
        text: template.text.to_string(),
        rig: of_template(template)?,
        answers: Answers::new(),
        kinds: Vec::new(),
    };
    Ok(())
}

/// The machine's own where the van has left the template's place, unless it knows no place; else one
/// that is near.
fn zone_offered(sketch: &Sketch) -> Option<String> {
    let home = &sketch.rig.home;
    let written = match home.zone {
        Some(Zone::Named(zone)) => zone.name(),
        _ => NOWHERE,
    };
    if sketch.spot() == (home.latitude, home.longitude) {
        return Some(written.to_string());
    }
    let knows = |zone: &&str| is_zone(zone) && !zone.starts_with("Etc/") && zone.contains('/');
    let machine = sketch.machine.zone.as_deref().filter(knows);
    let fits = |zone: &&str| zone.parse().is_ok_and(|zone| suits(sketch, Zone::Named(zone)));
    let near = || near_zones(sketch).first().copied();
    Some(machine.filter(fits).or_else(near).or(machine).unwrap_or(written).to_string())
}

/// A zone of no place.
const NOWHERE: &str = "Etc/UTC";

fn near_zones(sketch: &Sketch) -> Vec<&'static str> {
    let midnight = sketch.machine.today.and_time(NaiveTime::MIN);
    zones::nearest(sketch.spot(), |zone| zone.moment(midnight))
}

fn zone(sketch: &mut Sketch, text: &str) -> Result<(), String> {
    let expected = |_| "a name such as Europe/Oslo or America/Denver".to_string();
    let named = text.parse().map_err(expected)?;
    let (north, east) = sketch.spot();
    if !suits(sketch, Zone::Named(named)) {
        return Err(format!(
            "clocks near {north}, {east}, which {text} is not: west is negative; go back if it lies \
             at {north}, {}",
            -east
        ));
    }
    keep(sketch, "home/zone", Ok(quoted(text)))
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

fn weather_asked(sketch: &Sketch) -> String {
    let month = sketch.machine.today.format("%B");
    format!("Usual low and high there in {month}? From latitude alone, so a guess")
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

const FRESH: &str = "stocks/fresh/capacity";
const GREY: &str = "stocks/grey/capacity";
const BLACK: &str = "stocks/black/capacity";
const LIQUIDS: &str = "stocks/liquids/capacity";
const CASSETTE: &str = "stocks/cassette/capacity";
const DIESEL: &str = "stocks/diesel/capacity";
const WOOD: &str = "stocks/wood/capacity";
const GAS: &str = "stocks/gas/capacity";
const FOOD: &str = "stocks/food/capacity";
const BATTERY: &str = "stocks/battery/capacity";

const FRESH_GAUGE: &str = "stocks/fresh/gauge";
const GREY_GAUGE: &str = "stocks/grey/gauge";
const BLACK_GAUGE: &str = "stocks/black/gauge";
const LIQUIDS_GAUGE: &str = "stocks/liquids/gauge";
const CASSETTE_GAUGE: &str = "stocks/cassette/gauge";

/// How the template's tank is read, as people say it.
fn read(sketch: &Sketch, place: &str) -> Option<String> {
    known(sketch, place).map(|(stock, _)| quantity::gauge(&stock.gauge))
}

/// What was offered stays as the template writes it.
fn keep_gauge(sketch: &mut Sketch, place: &'static str, text: &str) -> Result<(), String> {
    let written = gauge(text)?;
    sketch.answers.remove(place);
    if read(sketch, place).is_some_and(|offered| gauge(&offered) != Ok(written.clone())) {
        sketch.answers.insert(place, written);
    }
    Ok(())
}

fn toilet_gauge(sketch: &Sketch) -> &'static str {
    match toilet(sketch) {
        BLACK => BLACK_GAUGE,
        CASSETTE => CASSETTE_GAUGE,
        _ => LIQUIDS_GAUGE,
    }
}

/// The size of what a toilet fills first.
fn toilet(sketch: &Sketch) -> &'static str {
    let here = |place: &&&str| known(sketch, place).is_some();
    [BLACK, CASSETTE].iter().find(here).copied().unwrap_or(LIQUIDS)
}

/// Another kind of a thing.
fn kind(sketch: &mut Sketch, thing: &'static str, text: &str) -> Result<(), String> {
    let words = kinds::choices(thing).into_iter().map(|(word, _)| word);
    let expected = || listed(words).replace(" and ", " or ");
    let (word, _) = kinds::named(thing, text).ok_or_else(expected)?;
    sketch.take_kind(thing, word)
}

/// The size of the battery, and its kind where that is said as well: "220 Ah lead acid".
fn battery(sketch: &mut Sketch, text: &str) -> Result<(), String> {
    let named = kinds::named(kinds::BATTERY, text);
    if let Some((word, _)) = &named {
        sketch.take_kind(kinds::BATTERY, word)?;
    }
    let said = named.map_or_else(|| text.to_string(), |(_, rest)| rest);
    let usual = known(sketch, BATTERY).map_or(0.0, |(stock, _)| stock.capacity);
    match either(&said, usual, sketch.rig.parts.volts()) {
        Some(which) => Err(which),
        None => resize(sketch, BATTERY, &said),
    }
}

/// The template's stock whose size stands at `place`, and the unit that is asked for.
fn known<'s>(sketch: &'s Sketch, place: &str) -> Option<(&'s Stock, Unit)> {
    let (_, stock) = sketch.rig.parts.stock(place.split('/').nth(1)?)?;
    let unit = match stock.unit {
        Unit::Litre | Unit::Kilogram | Unit::PersonDay => stock.unit.clone(),
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

fn resize(sketch: &mut Sketch, place: &'static str, text: &str) -> Result<(), String> {
    let Some((stock, unit)) = known(sketch, place) else { return Ok(()) };
    let (volts, show) = (sketch.rig.parts.volts(), sketch.show());
    let asked = Asked { unit: &unit, show, volts, names: answers::same(&stock.name) };
    let size = amount(text, &asked);
    keep(sketch, place, size)
}
