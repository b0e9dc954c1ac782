//! The questions that `init` asks on a terminal: a dozen at most, each with an answer to take by
//! pressing Enter.

use super::failure::Failure;
use crate::domain::quantity::Amount;
use crate::domain::rig::Rig;
use crate::domain::unit::{Unit, UnitSystem};
use crate::store::rig_file;
use crate::store::starter::Answers;
use crate::store::templates::TEMPLATES;
use std::io::{BufRead, Write};
use std::path::Path;

/// Asks. `machine_zone` is offered as the time zone once the van stands elsewhere than the
/// template's.
pub fn ask(
    input: &mut dyn BufRead,
    screen: &mut dyn Write,
    machine_zone: Option<&str>,
) -> Result<Answers, Failure> {
    let mut asker = Asker { input, screen };
    asker.tell(
        "A dozen questions. Enter takes what stands in brackets; all can be changed later.",
    )?;
    for template in TEMPLATES {
        asker.tell(&format!("  {:<10}  {}", template.name, template.about))?;
    }
    let template =
        asker.until("Which of these is most like your van?", TEMPLATES[0].name, |text| {
            let named = TEMPLATES.iter().find(|t| t.name.eq_ignore_ascii_case(text));
            named.ok_or("one of the names above".to_string())
        })?;
    let rig = rig_file::parse(template.text, Path::new("rig.ron"))
        .map_err(|_| Failure::new(65, "the template cannot be read"))?;
    let mut answers = Answers::none(template);
    let name = |text: &str| Ok(text.to_string());
    answers.van = Some(asker.until("What do you call the van?", &rig.van, name)?);
    let crew = rig.crew.to_string();
    answers.crew = Some(asker.until("How many people live in it?", &crew, people)?);
    let show = asker.until("Units: metric, us or imperial?", "metric", units)?;
    answers.show = Some(show);
    home(&mut asker, &rig, machine_zone, &mut answers)?;
    kit(&mut asker, &rig, show, &mut answers)?;
    Ok(answers)
}

fn home(
    asker: &mut Asker,
    rig: &Rig,
    machine_zone: Option<&str>,
    answers: &mut Answers,
) -> Result<(), Failure> {
    let usual = &rig.home;
    let name = |text: &str| Ok(text.to_string());
    let place = asker.until("Where does it stand most often (a name)?", &usual.place, name)?;
    let there = format!("{}, {}", usual.latitude, usual.longitude);
    let question = "Degrees north, degrees east of that place (south and west are negative)?";
    let (north, east) = asker.until(question, &there, coordinates)?;
    let written = match usual.zone {
        Some(crate::domain::time::Zone::Named(zone)) => zone.name(),
        _ => "Etc/UTC",
    };
    let moved = (north, east) != (usual.latitude, usual.longitude);
    let offered = machine_zone.filter(|zone| moved && is_zone(zone)).unwrap_or(written);
    answers.zone = Some(asker.until("Time zone there?", offered, |text| match is_zone(text) {
        true => Ok(text.to_string()),
        false => Err("a name such as Europe/Oslo or America/Denver".to_string()),
    })?);
    answers.home = Some((place, north, east));
    Ok(())
}

/// Sizes of what the template has. The answers are in litres, Wh and W.
fn kit(
    asker: &mut Asker,
    rig: &Rig,
    show: UnitSystem,
    answers: &mut Answers,
) -> Result<(), Failure> {
    let volts = rig.parts.volts();
    let mut size = |question: &str, stock: &str, unit: Unit| -> Result<Option<f64>, Failure> {
        let Some((_, known)) = rig.parts.stock(stock) else { return Ok(None) };
        let default = format!("{} {}", known.capacity, unit.word());
        asker.until(question, &default, |text| amount(text, &unit, show, volts)).map(Some)
    };
    answers.fresh_l = size("How much fresh water does it hold?", "fresh", Unit::Litre)?;
    answers.grey_l = size("How much waste water?", "grey", Unit::Litre)?;
    answers.liquids_l = match rig.parts.stock("black") {
        Some(_) => size("How much does the black tank hold?", "black", Unit::Litre)?,
        None => size("How much does the toilet's liquids container hold?", "liquids", Unit::Litre)?,
    };
    answers.battery_wh =
        size("How much does the battery hold (Wh, or Ah)?", "battery", Unit::WattHour)?;
    if let Some(electrics) = &rig.parts.electrics {
        let rated: f64 = electrics.panels.iter().map(|p| p.rated_w).sum();
        let question = "Solar panels, all together, in watts (0 for none)?";
        answers.panel_w = Some(asker.until(question, &rated.to_string(), |text| {
            let number = text.trim_end_matches(['W', 'w']).trim();
            between(number, 0.0, 100_000.0).ok_or("watts, such as 200".to_string())
        })?);
    }
    Ok(())
}

fn between(text: &str, low: f64, high: f64) -> Option<f64> {
    Amount::parse(text).ok().map(Amount::value).filter(|n| (low..=high).contains(n))
}

fn people(text: &str) -> Result<f64, String> {
    between(text, 0.5, 50.0).ok_or("a number from 0.5 to 50".to_string())
}

fn units(text: &str) -> Result<UnitSystem, String> {
    match text.to_lowercase().as_str() {
        "metric" => Ok(UnitSystem::Metric),
        "us" => Ok(UnitSystem::Us),
        "imperial" => Ok(UnitSystem::Imperial),
        _ => Err("metric, us or imperial".to_string()),
    }
}

/// "47.3, -1.9"; a blank alone between the two is understood as well.
fn coordinates(text: &str) -> Result<(f64, f64), String> {
    let mut numbers = text.split([',', ' ']).filter(|part| !part.is_empty());
    let mut degrees = |limit: f64| -> Option<f64> {
        numbers.next()?.parse().ok().filter(|n: &f64| n.abs() <= limit)
    };
    let pair = degrees(90.0).zip(degrees(180.0)).filter(|_| numbers.next().is_none());
    pair.ok_or("two numbers such as 47.3, -1.9".to_string())
}

/// "96", "96 L", "25 gal": an amount above 0, in `unit` once it is read.
fn amount(text: &str, unit: &Unit, show: UnitSystem, volts: Option<f64>) -> Result<f64, String> {
    let split = text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
    let (number, word) = text.split_at(split);
    let factor = match word.trim() {
        "" => Some(1.0),
        word => Unit::from_word(word, show).and_then(|named| named.factor_to(unit, volts)),
    };
    let value = between(number, 0.001, 1e6).zip(factor).map(|(number, factor)| number * factor);
    // Whole thousandths, as amounts are kept everywhere.
    value
        .map(|value| (value * 1000.0).round() / 1000.0)
        .ok_or_else(|| format!("an amount above 0, such as 90 {}", unit.word()))
}

/// Whether it is a time zone that a rig file may name.
fn is_zone(text: &str) -> bool {
    text.parse::<chrono_tz::Tz>().is_ok()
}

struct Asker<'a> {
    input: &'a mut dyn BufRead,
    screen: &'a mut dyn Write,
}

impl Asker<'_> {
    fn tell(&mut self, text: &str) -> Result<(), Failure> {
        writeln!(self.screen, "{text}").map_err(|e| Failure::new(74, e.to_string()))
    }

    /// Asks until the answer is right. The end of input is the end of the questions.
    fn until<T>(
        &mut self,
        question: &str,
        default: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<T, Failure> {
        loop {
            write!(self.screen, "{question} [{default}]: ")
                .and_then(|()| self.screen.flush())
                .map_err(|e| Failure::new(74, e.to_string()))?;
            let mut line = String::new();
            match self.input.read_line(&mut line) {
                Ok(0) => {
                    return Err(Failure::new(2, "the questions were not answered")
                        .hint("Nothing was written."));
                }
                Err(error) => return Err(Failure::new(74, error.to_string())),
                Ok(_) => {}
            }
            let answer = if line.trim().is_empty() { default } else { line.trim() };
            match read(answer) {
                Ok(value) => return Ok(value),
                Err(expected) => {
                    let found = crate::text::safe::safe(answer);
                    self.tell(&format!("  found {found:?}, expected {expected}"))?;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_may_carry_a_unit() {
        let litres = |text| amount(text, &Unit::Litre, UnitSystem::Us, None).ok();
        let rows = [("96", Some(96.0)), ("96 L", Some(96.0)), ("25gal", Some(94.635))];
        for (text, wanted) in rows {
            assert_eq!(litres(text), wanted, "{text}");
        }
        for text in ["0", "-3", "many", "9 Wh", "", "inf"] {
            assert_eq!(litres(text), None, "{text}");
        }
        let battery = amount("200 Ah", &Unit::WattHour, UnitSystem::Metric, Some(12.8));
        assert_eq!(battery, Ok(2560.0));
    }

    #[test]
    fn coordinates_are_two_numbers_in_range() {
        assert_eq!(coordinates("47.3, -1.9"), Ok((47.3, -1.9)));
        assert_eq!(coordinates("-41.2 174"), Ok((-41.2, 174.0)));
        for text in ["47.3", "91, 0", "0, 181", "1, 2, 3", "north, east", "NaN, 0"] {
            assert!(coordinates(text).is_err(), "{text}");
        }
    }

    /// Enter, Enter, Enter: the template as it is.
    #[test]
    fn every_question_can_be_left_to_its_default() {
        for template in TEMPLATES {
            let lines = format!("{}\n{}", template.name, "\n".repeat(20));
            let mut screen = Vec::new();
            let answers = ask(&mut lines.as_bytes(), &mut screen, Some("Asia/Tokyo")).unwrap();
            let text = crate::store::starter::fill_template(&answers).unwrap();
            let wanted = rig_file::parse(template.text, Path::new("rig.ron")).unwrap();
            assert_eq!(rig_file::parse(&text, Path::new("rig.ron")).unwrap(), wanted);
            let asked = String::from_utf8(screen).unwrap().matches("]: ").count();
            assert!(asked <= 12, "{}: {asked} questions", template.name);
        }
    }
}
