//! The questions that `init` asks on a terminal: about a dozen, each with an answer to take by
//! pressing Enter, and a way back to the one before.

use super::answers_read::{amount, coordinates, is_zone, people, temperatures, units, watts};
use super::failure::Failure;
use crate::domain::rig::{Rig, TypicalWeather};
use crate::domain::time::Zone;
use crate::domain::unit::{Unit, UnitSystem};
use crate::forecast::season;
use crate::store::rig_file;
use crate::store::starter::Answers;
use crate::store::templates::TEMPLATES;
use crate::text::quantity;
use chrono::NaiveDate;
use std::io::{BufRead, Write};
use std::path::Path;

/// What was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered {
    /// What the writer of rig files takes.
    pub answers: Answers,
    /// The usual low and high at this time of year, in degrees Celsius.
    pub typical: Option<(f64, f64)>,
}

/// What the machine knows by itself.
#[derive(Debug, Clone, Copy)]
pub struct Machine<'a> {
    /// Its time zone, offered once the van stands elsewhere than the template's.
    pub zone: Option<&'a str>,
    /// Its date, for the season.
    pub today: NaiveDate,
}

/// Asks.
pub fn ask(
    input: &mut dyn BufRead,
    screen: &mut dyn Write,
    machine: Machine,
) -> Result<Answered, Failure> {
    let rig = of_template(TEMPLATES[0].text)?;
    let answers = Answers::none(&TEMPLATES[0]);
    let given = vec![None; STEPS.len()];
    let mut talk = Talk { input, screen, machine, rig, answers, typical: None, given, step: 0 };
    talk.tell(
        "About a dozen questions. Enter takes what stands in brackets, < goes back to the question \
         before. All can be changed later.",
    )?;
    for template in TEMPLATES {
        talk.tell(&format!("  {:<10}  {}", template.name, template.about))?;
    }
    let mut backwards = false;
    while talk.step < STEPS.len() {
        let step = talk.step;
        match STEPS[step](&mut talk)? {
            Then::Back => backwards = true,
            Then::Skipped => {}
            Then::On => backwards = false,
        }
        talk.step = if backwards { step.saturating_sub(1) } else { step + 1 };
        // There is nothing before the first question.
        backwards &= talk.step > 0;
    }
    Ok(Answered { answers: talk.answers, typical: talk.typical })
}

fn of_template(text: &str) -> Result<Rig, Failure> {
    rig_file::parse(text, Path::new("rig.ron"))
        .map_err(|_| Failure::new(65, "the template cannot be read"))
}

/// Where the talk goes after a question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Then {
    /// To the next one.
    On,
    /// To the one before.
    Back,
    /// On in the direction it had: this van has nothing to ask about.
    Skipped,
}

type Step = fn(&mut Talk) -> Result<Then, Failure>;

/// The questions in their order.
const STEPS: [Step; 13] =
    [template, van, crew, show, place, spot, zone, weather, fresh, grey, liquids, battery, panels];

fn template(talk: &mut Talk) -> Result<Then, Failure> {
    let question = "Which of these is most like your van?";
    let named = talk.until(question, TEMPLATES[0].name, |text| {
        let named = TEMPLATES.iter().find(|t| t.name.eq_ignore_ascii_case(text));
        named.ok_or("one of the names above".to_string())
    })?;
    let Some(template) = named else { return Ok(Then::Back) };
    talk.rig = of_template(template.text)?;
    talk.answers.template = template;
    Ok(Then::On)
}

fn van(talk: &mut Talk) -> Result<Then, Failure> {
    let usual = talk.rig.van.clone();
    let answer = talk.until("What do you call the van?", &usual, |text| Ok(text.to_string()))?;
    Ok(taken(answer, &mut talk.answers.van))
}

fn crew(talk: &mut Talk) -> Result<Then, Failure> {
    let usual = talk.rig.crew.to_string();
    let answer = talk.until("How many people live in it?", &usual, people)?;
    Ok(taken(answer, &mut talk.answers.crew))
}

fn show(talk: &mut Talk) -> Result<Then, Failure> {
    let answer = talk.until("Units: metric, us or imperial?", "metric", units)?;
    Ok(taken(answer, &mut talk.answers.show))
}

fn place(talk: &mut Talk) -> Result<Then, Failure> {
    let usual = talk.home();
    let question = "Where does it stand most often (a name)?";
    let answer = talk.until(question, &usual.0, |text| Ok(text.to_string()))?;
    Ok(taken(answer.map(|name| (name, usual.1, usual.2)), &mut talk.answers.home))
}

fn spot(talk: &mut Talk) -> Result<Then, Failure> {
    let (name, north, east) = talk.home();
    let question = "Degrees north, degrees east of that place (south and west are negative)?";
    let answer = talk.until(question, &format!("{north}, {east}"), coordinates)?;
    Ok(taken(answer.map(|(north, east)| (name, north, east)), &mut talk.answers.home))
}

fn zone(talk: &mut Talk) -> Result<Then, Failure> {
    let usual = &talk.rig.home;
    let written = match usual.zone {
        Some(Zone::Named(zone)) => zone.name(),
        _ => "Etc/UTC",
    };
    let moved = talk.moved();
    let offered = talk.machine.zone.filter(|zone| moved && is_zone(zone)).unwrap_or(written);
    let offered = offered.to_string();
    let answer = talk.until("Time zone there?", &offered, |text| match is_zone(text) {
        true => Ok(text.to_string()),
        false => Err("a name such as Europe/Oslo or America/Denver".to_string()),
    })?;
    Ok(taken(answer, &mut talk.answers.zone))
}

/// The template's own words where the van stands where the template does, else what latitude and
/// month suggest.
fn weather(talk: &mut Talk) -> Result<Then, Failure> {
    let (_, north, _) = talk.home();
    let own = talk.rig.home.typical.filter(|_| !talk.moved());
    let TypicalWeather { low_c, high_c, .. } =
        own.unwrap_or_else(|| season::by_latitude(talk.machine.today, north));
    let show = talk.show();
    let degrees = |celsius| quantity::temperature(celsius, show);
    let usual = format!("{} to {}", degrees(low_c), degrees(high_c));
    let month = talk.machine.today.format("%B");
    let question = format!("Usual low and high there in {month}? From latitude alone, so a guess");
    let answer = talk.until(&question, &usual, |text| temperatures(text, show))?;
    let Some(answer) = answer else { return Ok(Then::Back) };
    // What was not said stays as the template has it, to the digit.
    let as_offered = talk.given[talk.step].as_deref() == Some(usual.as_str());
    talk.typical = match (as_offered, own) {
        (true, Some(_)) => None,
        (true, None) => Some((low_c.round(), high_c.round())),
        (false, _) => Some(answer),
    };
    Ok(Then::On)
}

fn fresh(talk: &mut Talk) -> Result<Then, Failure> {
    talk.size("How much fresh water does it hold?", "fresh", |answers| &mut answers.fresh_l)
}

fn grey(talk: &mut Talk) -> Result<Then, Failure> {
    talk.size("How much waste water?", "grey", |answers| &mut answers.grey_l)
}

fn liquids(talk: &mut Talk) -> Result<Then, Failure> {
    let (question, stock) = match talk.rig.parts.stock("black") {
        Some(_) => ("How much does the black tank hold?", "black"),
        None => ("How much does the toilet's liquids container hold?", "liquids"),
    };
    talk.size(question, stock, |answers| &mut answers.liquids_l)
}

fn battery(talk: &mut Talk) -> Result<Then, Failure> {
    let question = "How much does the battery hold (Wh, or Ah)?";
    talk.size(question, "battery", |answers| &mut answers.battery_wh)
}

fn panels(talk: &mut Talk) -> Result<Then, Failure> {
    let Some(electrics) = &talk.rig.parts.electrics else { return Ok(Then::Skipped) };
    // Adding zero makes a plain zero of none.
    let rated: f64 = electrics.panels.iter().map(|p| p.rated_w).sum::<f64>() + 0.0;
    let question = "Solar panels, all together, in watts (0 for none)?";
    let answer = talk.until(question, &rated.to_string(), watts)?;
    Ok(taken(answer, &mut talk.answers.panel_w))
}

/// Keeps an answer; none is the wish to go back.
fn taken<T>(answer: Option<T>, place: &mut Option<T>) -> Then {
    match answer {
        None => Then::Back,
        answer => {
            *place = answer;
            Then::On
        }
    }
}

/// The talk so far.
struct Talk<'a> {
    input: &'a mut dyn BufRead,
    screen: &'a mut dyn Write,
    machine: Machine<'a>,
    /// The template.
    rig: Rig,
    answers: Answers,
    typical: Option<(f64, f64)>,
    /// What was typed or taken, question by question.
    given: Vec<Option<String>>,
    step: usize,
}

impl Talk<'_> {
    fn home(&self) -> (String, f64, f64) {
        let usual = &self.rig.home;
        let usual = || (usual.place.clone(), usual.latitude, usual.longitude);
        self.answers.home.clone().unwrap_or_else(usual)
    }

    /// Whether the van stands elsewhere than the template's.
    fn moved(&self) -> bool {
        let (_, north, east) = self.home();
        (north, east) != (self.rig.home.latitude, self.rig.home.longitude)
    }

    fn show(&self) -> UnitSystem {
        self.answers.show.unwrap_or_default()
    }

    /// Asks for the size of a stock, in the unit of the template, if it has one of that name.
    fn size(
        &mut self,
        question: &str,
        stock: &str,
        place: fn(&mut Answers) -> &mut Option<f64>,
    ) -> Result<Then, Failure> {
        let Some((_, known)) = self.rig.parts.stock(stock) else { return Ok(Then::Skipped) };
        let unit = if known.unit == Unit::Litre { Unit::Litre } else { Unit::WattHour };
        let default = format!("{} {}", known.capacity, unit.word());
        let (volts, show) = (self.rig.parts.volts(), self.show());
        let answer = self.until(question, &default, |text| amount(text, &unit, show, volts))?;
        Ok(taken(answer, place(&mut self.answers)))
    }

    fn tell(&mut self, text: &str) -> Result<(), Failure> {
        writeln!(self.screen, "{text}").map_err(|e| Failure::new(74, e.to_string()))
    }

    /// Asks until the answer is right; none to go back. What was answered before is offered again.
    /// The end of input is the end of the questions.
    fn until<T>(
        &mut self,
        question: &str,
        default: &str,
        read: impl Fn(&str) -> Result<T, String>,
    ) -> Result<Option<T>, Failure> {
        let before = self.given[self.step].clone().filter(|given| read(given).is_ok());
        let mut offered = before.unwrap_or_else(|| default.to_string());
        loop {
            let line = self.line(&format!("{question} [{offered}]: "))?;
            let typed = line.trim();
            if typed == "<" {
                return Ok(None);
            }
            let answer = if typed.is_empty() { offered.clone() } else { typed.to_string() };
            match read(&answer) {
                Ok(value) => {
                    self.given[self.step] = Some(answer);
                    return Ok(Some(value));
                }
                Err(expected) => {
                    let found = crate::text::safe::safe(&answer);
                    self.tell(&format!("  found {found:?}, expected {expected}"))?;
                    // A comma for the decimal point is mended, if Enter says so.
                    let mended = answer.replace(',', ".");
                    if mended != answer && read(&mended).is_ok() {
                        offered = mended;
                    }
                }
            }
        }
    }

    fn line(&mut self, prompt: &str) -> Result<String, Failure> {
        write!(self.screen, "{prompt}")
            .and_then(|()| self.screen.flush())
            .map_err(|e| Failure::new(74, e.to_string()))?;
        let mut line = String::new();
        match self.input.read_line(&mut line) {
            Ok(0) => {
                let failure = Failure::new(2, "the questions were not answered");
                Err(failure.hint("Nothing was written."))
            }
            Err(error) => Err(Failure::new(74, error.to_string())),
            Ok(_) => Ok(line),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn machine() -> Machine<'static> {
        Machine { zone: Some("Asia/Tokyo"), today: NaiveDate::from_ymd_opt(2026, 11, 3).unwrap() }
    }

    fn answered(lines: &str) -> (Answered, String) {
        let mut screen = Vec::new();
        let lines = format!("{lines}{}", "\n".repeat(20));
        let answered = ask(&mut lines.as_bytes(), &mut screen, machine()).unwrap();
        (answered, String::from_utf8(screen).unwrap())
    }

    /// Enter, Enter, Enter: the template as it is.
    #[test]
    fn every_question_can_be_left_to_its_default() {
        for template in TEMPLATES {
            let (answered, screen) = answered(&format!("{}\n", template.name));
            let text = crate::store::starter::fill_template(&answered.answers).unwrap();
            let wanted = rig_file::parse(template.text, Path::new("rig.ron")).unwrap();
            assert_eq!(rig_file::parse(&text, Path::new("rig.ron")).unwrap(), wanted);
            assert_eq!(answered.typical, None);
            let asked = screen.matches("]: ").count();
            assert!(asked <= 13, "{}: {asked} questions", template.name);
        }
    }

    #[test]
    fn a_question_can_be_gone_back_to_and_offers_what_was_said() {
        let (answered, screen) = answered("two-berth\nHeron\n3\n<\n<\nGrebe\n\n");
        assert_eq!(answered.answers.van.as_deref(), Some("Grebe"));
        assert_eq!(answered.answers.crew, Some(3.0));
        assert!(screen.contains("What do you call the van? [Heron]: "), "{screen}");
        assert!(screen.contains("How many people live in it? [3]: "), "{screen}");
    }

    #[test]
    fn a_decimal_comma_is_mended_with_enter() {
        let (answered, screen) = answered("two-berth\n\n2,5\n\n");
        assert_eq!(answered.answers.crew, Some(2.5));
        assert!(screen.contains("expected a number from 0.5 to 50"), "{screen}");
        assert!(screen.contains("How many people live in it? [2.5]: "), "{screen}");
    }

    /// By `weather::rough_climate` at 60 degrees north on 3 November, day 307 of the year, by hand:
    /// 27 - 0.38 60 + 0.2 60 cos(2 pi 107 / 365.25) = 1.1, and 5 to either side.
    #[test]
    fn latitude_and_month_suggest_the_weather() {
        let (answered, screen) = answered("two-berth\n\n\n\nNorthing\n60, 5\n\n\n");
        assert_eq!(answered.typical, Some((-4.0, 6.0)));
        assert!(
            screen.contains("there in November? From latitude alone, so a guess [-4 C to 6 C]")
        );
        let (answered, _) = self::answered("two-berth\n\n\nus\nNorthing\n60, 5\n\n30 to 41\n");
        let (low, high) = answered.typical.unwrap();
        assert!((low + 1.11).abs() < 0.01 && (high - 5.0).abs() < 1e-9, "{low} {high}");
    }
}
