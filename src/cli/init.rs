//! `waystock init`: a starter rig from a template and a few answers. Never overwrites.

use super::args::InitOptions;
use super::context::Context;
use super::failure::Failure;
use super::output::Output;
use crate::domain::unit::UnitSystem;
use crate::store::rig_file;
use crate::store::starter::{Answers, fill_template};
use crate::store::templates::{self, TEMPLATES, Template};
use std::io::{BufRead, Write};
use std::path::Path;

/// Writes `rig.ron`: asks on a terminal, or takes the template as it is.
pub fn run(options: &InitOptions, context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    if options.list_templates {
        for template in TEMPLATES {
            out.line(&format!("{}: {}", template.name, template.about));
        }
        return Ok(0);
    }
    let path = context.folder.dir().join("rig.ron");
    if context.disk.mark(&path).is_ok() {
        let message =
            format!("{}: there is a rig already, and it is left as it is", path.display());
        return Err(Failure::new(73, message).hint("Edit it by hand; comments are welcome in it."));
    }
    let answers = match &options.from_template {
        Some(name) => Answers::none(template(name)?),
        None if context.interactive => ask(&mut std::io::stdin().lock(), &mut std::io::stdout())?,
        None => {
            let names: Vec<&str> = TEMPLATES.iter().map(|t| t.name).collect();
            return Err(Failure::new(2, "no terminal to ask questions on").hint(format!(
                "Give a template: waystock init --from-template NAME, with NAME one of {}.",
                names.join(", ")
            )));
        }
    };
    let text = fill_template(&answers)
        .map_err(|fault| Failure::new(65, format!("the template: {fault:?}")))?;
    rig_file::parse(&text, Path::new("rig.ron")).map_err(|faults| Failure {
        code: 65,
        messages: faults.iter().map(ToString::to_string).collect(),
        hint: Some("Nothing was written. Start again with other answers.".to_string()),
    })?;
    let path = context.folder.create_rig(&text)?;
    out.line(&format!("wrote {}", path.display()));
    out.line("Look through it once: every number in it has a comment, and all can be changed.");
    out.line("Then log what the gauges show: waystock log fresh 60%, grey 20%, battery 80%");
    Ok(0)
}

fn template(name: &str) -> Result<&'static Template, Failure> {
    templates::find(name).ok_or_else(|| {
        let names: Vec<&str> = TEMPLATES.iter().map(|t| t.name).collect();
        Failure::new(2, format!("found template {name:?}, expected one of: {}", names.join(", ")))
    })
}

/// Asks the few questions; an empty answer takes the default.
fn ask(input: &mut dyn BufRead, screen: &mut dyn Write) -> Result<Answers, Failure> {
    let mut asker = Asker { input, screen };
    asker.tell("Enter takes what stands in brackets.")?;
    for template in TEMPLATES {
        asker.tell(&format!("  {:<10}  {}", template.name, template.about))?;
    }
    let template =
        asker.until("Which of these is most like your van?", TEMPLATES[0].name, |text| {
            templates::find(text).ok_or("one of the names above".to_string())
        })?;
    let rig = rig_file::parse(template.text, Path::new("rig.ron"))
        .map_err(|_| Failure::new(65, "the template cannot be read"))?;
    let capacity = |name: &str| {
        rig.parts.stock(name).map(|(_, stock)| stock.capacity.to_string()).unwrap_or_default()
    };
    let number = |text: &str| {
        text.parse::<f64>()
            .ok()
            .filter(|n| n.is_finite() && *n >= 0.0)
            .ok_or("a number".to_string())
    };
    let mut answers = Answers::none(template);
    answers.van =
        Some(asker.until("What do you call the van?", &rig.van, |text| Ok(text.to_string()))?);
    answers.crew =
        Some(asker.until("How many people live in it?", &rig.crew.to_string(), number)?);
    let place =
        asker.until("Where does it stand most often (a name)?", &rig.home.place, |text| {
            Ok(text.to_string())
        })?;
    let degrees = |limit: f64| {
        move |text: &str| {
            number_between(text, -limit, limit).ok_or(format!("degrees from -{limit} to {limit}"))
        }
    };
    let north = asker.until(
        "  degrees north (south is negative)",
        &rig.home.latitude.to_string(),
        degrees(90.0),
    )?;
    let east = asker.until(
        "  degrees east (west is negative)",
        &rig.home.longitude.to_string(),
        degrees(180.0),
    )?;
    answers.home = Some((place, north, east));
    if rig.parts.stock("fresh").is_some() {
        answers.fresh_l =
            Some(asker.until("Fresh water tank, litres", &capacity("fresh"), number)?);
    }
    if rig.parts.stock("grey").is_some() {
        answers.grey_l = Some(asker.until("Grey water tank, litres", &capacity("grey"), number)?);
    }
    if rig.parts.stock("battery").is_some() {
        let default = capacity("battery");
        answers.battery_wh = Some(asker.until("Battery, Wh", &default, number)?);
    }
    answers.show = Some(asker.until(
        "Units to show: metric, us or imperial",
        "metric",
        |text| match text {
            "metric" => Ok(UnitSystem::Metric),
            "us" => Ok(UnitSystem::Us),
            "imperial" => Ok(UnitSystem::Imperial),
            _ => Err("metric, us or imperial".to_string()),
        },
    )?);
    Ok(answers)
}

fn number_between(text: &str, low: f64, high: f64) -> Option<f64> {
    text.parse::<f64>().ok().filter(|n| (low..=high).contains(n))
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
            let length = self.input.read_line(&mut line);
            match length {
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
                Err(expected) => self.tell(&format!("  found {answer:?}, expected {expected}"))?,
            }
        }
    }
}
