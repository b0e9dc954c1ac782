//! The questions that `init` asks on a terminal, line by line: those of [`crate::setup`], each with
//! an answer to take by pressing Enter, and a way back to the one before.

use super::Failure;
use super::output::broken;
use crate::setup::{Machine, Setup};
use crate::text::{fit, safe};
use std::io::{BufRead, Write};

/// Where they are asked: lines are broken between words to fit into so many columns.
pub struct Console<'a> {
    /// What is written to.
    pub out: &'a mut dyn Write,
    /// How wide it is.
    pub columns: usize,
}

/// Asks them all.
pub fn ask(
    input: &mut dyn BufRead,
    screen: &mut Console,
    machine: Machine,
) -> Result<Setup, Failure> {
    let mut setup = Setup::new(machine).map_err(|fault| Failure::new(65, fault))?;
    screen.tell(
        "About twenty questions. Enter takes what stands in brackets, < goes back to the question \
         before, ? says what it is for. All can be changed later.",
    )?;
    let (mut mended, mut listed) = (None, Vec::new());
    while let Some((question, offered)) = setup.asked() {
        let offered = mended.take().unwrap_or(offered);
        // What can be chosen stands there once for questions that are alike.
        let choices = setup.choices();
        if !choices.is_empty() && !listed.contains(&choices) {
            screen.offer(&choices)?;
            listed.push(choices);
        }
        screen.put(&format!("{question} [{offered}]:"), " ")?;
        let line = line(input)?;
        let typed = line.trim();
        if typed == "?" {
            screen.tell(&format!("  {}", setup.about()))?;
            continue;
        }
        if typed == "<" {
            setup.back();
            continue;
        }
        let answer = if typed.is_empty() { &offered } else { typed };
        if let Err(wrong) = setup.answer(answer) {
            let found = safe(answer);
            screen.tell(&format!("  found {found:?}, expected {}", wrong.expected))?;
            mended = wrong.mended;
        }
    }
    Ok(setup)
}

impl Console<'_> {
    fn tell(&mut self, text: &str) -> Result<(), Failure> {
        self.put(text, "\n")
    }

    /// Writes a text, and `end` behind it.
    fn put(&mut self, text: &str, end: &str) -> Result<(), Failure> {
        let lines = broken(text, Some(self.columns)).join("\n");
        let written = write!(self.out, "{lines}{end}").and_then(|()| self.out.flush());
        written.map_err(|e| Failure::new(74, e.to_string()))
    }

    /// What can be chosen, with a remark each: beside it, or below where there is no room.
    fn offer(&mut self, choices: &[(&str, &str)]) -> Result<(), Failure> {
        let longest = choices.iter().map(|(name, _)| fit::width(name)).max().unwrap_or(0);
        for (name, about) in choices {
            let beside = format!("  {name:<longest$}  {about}");
            if fit::width(&beside) <= self.columns {
                self.tell(&beside)?;
            } else {
                self.tell(&format!("  {name}"))?;
                self.tell(&format!("    {about}"))?;
            }
        }
        Ok(())
    }
}

/// The end of input is the end of the questions.
fn line(input: &mut dyn BufRead) -> Result<String, Failure> {
    let mut line = String::new();
    match input.read_line(&mut line) {
        Ok(0) => {
            let failure = Failure::new(2, "the questions were not answered");
            Err(failure.hint("Nothing was written."))
        }
        Err(error) => Err(Failure::new(74, error.to_string())),
        Ok(_) => Ok(line),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::rig::Rig;
    use crate::store::rig_file;
    use crate::store::templates::TEMPLATES;
    use chrono::NaiveDate;
    use std::path::Path;

    fn machine() -> Machine {
        Machine {
            zone: Some("Asia/Tokyo".into()),
            today: NaiveDate::from_ymd_opt(2026, 11, 3).unwrap(),
        }
    }

    fn parsed(text: &str) -> Rig {
        rig_file::parse(text, Path::new("rig.ron")).unwrap()
    }

    /// The rig's text for the lines, and what stood on a screen of so many columns.
    fn asked(lines: &str, columns: usize) -> (String, String) {
        let mut out = Vec::new();
        let lines = format!("{lines}{}", "\n".repeat(25));
        let screen = &mut Console { out: &mut out, columns };
        let answered = ask(&mut lines.as_bytes(), screen, machine()).unwrap();
        (answered.rig_text().unwrap(), String::from_utf8(out).unwrap())
    }

    /// The rig for the lines, and what stood on a screen as wide as any line.
    fn answered(lines: &str) -> (Rig, String) {
        let (text, screen) = asked(lines, 200);
        (parsed(&text), screen)
    }

    /// Forty columns break no word: what is asked is the same, word by word.
    #[test]
    fn a_narrow_screen_breaks_lines_between_words() {
        let lines = "family\n\n2 adults, a toddler\n?\nus\nhere\nsomewhere\n";
        let [wide, narrow] = [200, 40].map(|columns| asked(lines, columns).1);
        // Nobody types here what ends the line of a question.
        let shown = narrow.replace("]: ", "]:\n");
        assert!(shown.lines().all(|line| line.len() <= 40), "{narrow}");
        let words = |text: &str| text.split_whitespace().map(String::from).collect::<Vec<_>>();
        assert_eq!(words(&narrow), words(&wide));
    }

    /// What a template says of its own toilet, heater and hob is not said of another van's.
    #[test]
    fn a_rig_file_says_nothing_of_what_is_not_aboard() {
        let kinds = "none\n\n\n\nwood\nother\n\n";
        for template in ["two-berth", "family", "no-solar", "black-tank"] {
            let before = format!("{template}\n{}", "\n".repeat(11));
            let (text, _) = asked(&format!("{before}{kinds}"), 80);
            let written: Vec<&str> = text.lines().filter(|line| line.contains("//")).collect();
            let comments = written.iter().map(|line| &line[line.find("//").unwrap_or(0)..]);
            for comment in comments {
                for gone in [
                    "toilet",
                    "liquids container",
                    "black tank",
                    "flush",
                    "1.4 L a day",
                    "diesel heater",
                ] {
                    assert!(!comment.contains(gone), "{template}: {comment}");
                }
            }
            assert!(text.contains("Measure your own tanks"), "{template}");
        }
    }

    /// Enter, Enter, Enter: the template as it is, with the season of the month.
    #[test]
    fn every_question_can_be_left_to_its_default() {
        for template in TEMPLATES {
            let (mut rig, screen) = answered(&format!("{}\n", template.name));
            let whole = parsed(template.text);
            assert!(rig.home.typical.is_some());
            rig.home.typical = whole.home.typical;
            assert_eq!(rig, whole);
            let asked = screen.matches("]: ").count();
            assert!(asked <= 24, "{}: {asked} questions", template.name);
        }
    }

    #[test]
    fn a_question_can_be_gone_back_to_and_offers_what_was_said() {
        let (rig, screen) = answered("two-berth\nHeron\n3\n<\n<\nGrebe\n\n");
        assert_eq!((rig.van.as_str(), rig.crew), ("Grebe", 3.0));
        assert!(screen.contains("What do you call the van? [Heron]: "), "{screen}");
        assert!(screen.contains("How many people live in it? [3]: "), "{screen}");
    }

    #[test]
    fn a_decimal_comma_is_mended_with_enter() {
        let (rig, screen) = answered("two-berth\n\n2,5\n\n");
        assert_eq!(rig.crew, 2.5);
        assert!(screen.contains("expected a number from 0.5 to 50"), "{screen}");
        assert!(screen.contains("How many people live in it? [2.5]: "), "{screen}");
    }

    /// Two sources of heat in the order said, a gas bottle, and food; a sign that was forgotten is asked
    /// about.
    #[test]
    fn heat_gas_and_food_are_asked_for() {
        let before = "two-berth\n".to_string() + &"\n".repeat(18);
        let (rig, screen) =
            answered(&format!("{before}peat\nwood and diesel\n\n11 kg\n30\n40\n20\n"));
        let heating = rig.parts.heating.as_ref().unwrap();
        let burns: Vec<&str> = heating.sources.iter().map(|s| s.burns.as_str()).collect();
        assert_eq!(burns, ["wood", "diesel"], "{screen}");
        let holds = |name: &str| rig.parts.stock(name).unwrap().1.capacity;
        assert_eq!(["gas", "diesel", "wood", "food"].map(holds), [11.0, 30.0, 40.0, 20.0]);
        assert!(screen.contains("found \"peat\", expected diesel, gas, wood, electric or nothing"));

        let far = "two-berth\n\n\n\nDry lake\n33.66 114.22\nAmerica/Phoenix\n<\n33.66 -114.22\n\
                   America/Phoenix\n";
        let (rig, screen) = answered(far);
        assert_eq!(rig.home.longitude, -114.22);
        assert!(screen.contains("west is negative"), "{screen}");
    }

    /// A van heated with gas, where the template burns diesel: its water and its meals take gas as well,
    /// nobody asks for diesel, and the battery cooks nothing.
    #[test]
    fn a_gas_camper_is_asked_for_no_diesel_and_cooks_on_gas() {
        let before = "black-tank\n".to_string() + &"\n".repeat(17);
        let (rig, screen) = answered(&format!("{before}propane\n"));
        assert!(!screen.contains("diesel does its tank"), "{screen}");
        assert!(screen.contains("What do you cook on? [gas]: "), "{screen}");
        assert!(rig.parts.stock("diesel").is_none());
        assert_eq!(rig.parts.hot_water.as_ref().unwrap().from, "gas");
        assert_eq!(rig.parts.activity("cooked meal").unwrap().1.moves[0].stock, "gas");
    }

    /// Diesel that only the engine burns is left out with a word, and comes back with an amount.
    #[test]
    fn a_fuel_that_nothing_needs_can_be_left_out() {
        let before = "two-berth\n".to_string() + &"\n".repeat(18) + "propane\n\n\n";
        let (rig, screen) = answered(&format!("{before}no diesel\n"));
        assert!(rig.parts.stock("diesel").is_none(), "{screen}");
        let (rig, screen) = answered(&format!("{before}0\n<\n40 L\n"));
        assert!(screen.contains("tank hold (0 for none)? [0]: "), "{screen}");
        assert_eq!(rig.parts.stock("diesel").unwrap().1.capacity, 40.0, "{screen}");
        let before = "two-berth\n".to_string() + &"\n".repeat(21);
        let (_, screen) = answered(&format!("{before}none\n"));
        assert!(screen.contains("as what heats takes it"), "{screen}");
        // Which tank it is: the engine of one van drinks from it, and nobody follows the other's.
        assert!(screen.contains("How much diesel does the driving tank hold"), "{screen}");
        let (_, screen) = answered("black-tank\n");
        assert!(screen.contains("How much diesel does the heater's own tank hold"), "{screen}");
    }

    /// 300 on a battery's label are ampere-hours as a rule.
    #[test]
    fn a_small_battery_is_asked_about() {
        let before = "two-berth\n".to_string() + &"\n".repeat(16);
        let (rig, screen) = answered(&format!("{before}300\n300 Ah\n"));
        assert!(screen.contains("300 Wh or 300 Ah (3840 Wh)"), "{screen}");
        assert_eq!(rig.parts.stock("battery").unwrap().1.capacity, 3840.0);
    }

    /// Whatever the machine's zone is, one that is near is offered.
    #[test]
    fn a_zone_near_the_place_is_offered() {
        let (rig, screen) = answered("two-berth\n\njust the two of us\n\n\n58.57 N, 4.75 W\n");
        assert_eq!((rig.crew, rig.home.latitude, rig.home.longitude), (2.0, 58.57, -4.75));
        assert!(screen.contains("Time zone there? [Europe/London]: "), "{screen}");
    }

    /// By hand: 220 Ah of lead at 12 V are 2640 Wh, half of them kept; without a toilet nothing of one
    /// is left, and no heater burns.
    #[test]
    fn kinds_of_things_are_asked_for() {
        let before = "two-berth\n".to_string() + &"\n".repeat(11);
        let rest = "none\n\n220 Ah lead acid\n\nno heater\n";
        let (rig, screen) = answered(&format!("{before}{rest}"));
        let (_, battery) = rig.parts.stock("battery").unwrap();
        assert_eq!((battery.capacity, battery.limit()), (2640.0, 1320.0), "{screen}");
        assert!(rig.parts.stock("liquids").is_none() && rig.parts.stock("solids").is_none());
        assert!(rig.parts.heating.is_none_or(|heating| heating.sources.is_empty()));
        let (rig, _) = answered(&format!("{before}cassette\n20 L\n"));
        assert_eq!(rig.parts.stock("cassette").unwrap().1.capacity, 20.0);
    }

    /// By `weather::rough_climate` at 60 degrees north on 3 November, day 307 of the year, by hand:
    /// 27 - 0.38 60 + 0.2 60 cos(2 pi 107 / 365.25) = 1.1, and 5 to either side.
    #[test]
    fn latitude_and_month_suggest_the_weather() {
        let degrees = |rig: Rig| rig.home.typical.map(|t| (t.low_c, t.high_c)).unwrap();
        let (rig, screen) = answered("two-berth\n\n\n\nNorthing\n60, 5\n\n\n");
        assert_eq!(degrees(rig), (-4.0, 6.0));
        assert!(
            screen.contains("there in November? From latitude alone, so a guess [-4 C to 6 C]")
        );
        let (rig, _) = answered("two-berth\n\n\nus\nNorthing\n60, 5\n\n30 to 41\n");
        let (low, high) = degrees(rig);
        assert!((low + 1.11).abs() < 0.01 && (high - 5.0).abs() < 1e-9, "{low} {high}");
    }
}
