//! Values that a person sets for a stretch or a trip: which there are, what each can be, and how it
//! is typed.

use super::form::{Form, Range, Turn};
use crate::domain::{Moment, Rig, TypicalWeather, Unit, UnitSystem, Zone};
use crate::plan::{Suppose, Where};
use chrono::{Days, NaiveTime};

/// A value that can be set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// Nights without service.
    Nights,
    /// Days of a trip.
    Days,
    /// Days until it begins; 0 = now.
    From,
    /// Where: 0 = here, or where the van is planned to be; then the known places; then
    /// coordinates that were typed.
    Place,
    /// 0 = as foretold, 1 = as usual, 2 = as set below.
    Weather,
    /// Lowest temperature of every day, in degrees Celsius.
    Low,
    /// Highest temperature of every day, in degrees Celsius.
    High,
    /// Cloud cover of every day, in percent.
    Cloud,
    /// People aboard; 0 = as the journal says and plans.
    People,
    /// People beside those.
    Guests,
    /// Camps: 0 = as planned in the journal, 1 = the van stays around here.
    Camps,
    /// Whether everything is serviced first; 1 = yes.
    FillFirst,
    /// How sure to be, in percent.
    Sure,
    /// An activity, by index: amount per day for all aboard; usual until it is set.
    Habit(usize),
}

/// An activity whose habit can be another.
#[derive(Debug, Clone, PartialEq)]
pub struct Habit {
    /// Its name in the plural.
    pub plural: String,
    /// What is counted.
    pub counted_in: Unit,
}

/// Values set, and what they can be.
#[derive(Debug, Clone, PartialEq)]
pub struct Values {
    /// Values that were set, and the one that keys change.
    pub form: Form<Field>,
    /// Names of the known places.
    pub places: Vec<String>,
    /// Degrees north and east that were typed.
    pub spot: Option<(f64, f64)>,
    /// Activities of the rig.
    pub habits: Vec<Habit>,
    /// How often each happens by habit, per day for all aboard, once an answer said so.
    pub usual: Vec<f64>,
    /// What the weather is usually like, in the rig's words or in none.
    usual_weather: TypicalWeather,
    /// Units that the crew reads: degrees are set in them.
    show: UnitSystem,
    first: Field,
}

impl Values {
    /// Nothing set, `first` chosen: [`Field::Nights`] of a stretch, [`Field::Days`] of a trip.
    pub fn new(first: Field) -> Values {
        Values {
            form: Form::new(first),
            places: Vec::new(),
            spot: None,
            habits: Vec::new(),
            usual: Vec::new(),
            usual_weather: TypicalWeather { low_c: 5.0, high_c: 12.0, cloud: 0.5 },
            show: UnitSystem::default(),
            first,
        }
    }

    /// Learns what the rig offers to be set. Habits that were set are kept while the rig's
    /// activities are the same.
    pub fn meet(&mut self, rig: &Rig, now: Moment) {
        let parts = rig.parts_on(rig.zone(now).date(now));
        let habits: Vec<Habit> = parts
            .activities
            .iter()
            .map(|a| Habit { plural: a.plural.clone(), counted_in: a.counted_in.clone() })
            .collect();
        let mut places: Vec<String> = rig.places.iter().map(|p| p.name.clone()).collect();
        if !places.contains(&rig.home.place) {
            places.push(rig.home.place.clone());
        }
        let (same_habits, same_places) = (habits == self.habits, places == self.places);
        self.form.retain(|field| match field {
            Field::Habit(_) => same_habits,
            Field::Place => same_places,
            _ => true,
        });
        if !same_habits && matches!(self.form.chosen(), Field::Habit(_)) {
            self.form.choose(self.first);
        }
        (self.habits, self.places, self.show) = (habits, places, rig.show);
        if let Some(typical) = rig.home.typical {
            self.usual_weather = typical;
        }
    }

    /// Fields in sight, in the order of the screen.
    pub fn fields(&self) -> Vec<Field> {
        use Field::*;
        if self.first == Days {
            return vec![Days, From, Sure, Camps, People, Guests];
        }
        let mut fields = vec![Nights, From, Sure, FillFirst, People, Guests, Place, Weather];
        if self.value(Weather) == 2.0 {
            fields.extend([Low, High, Cloud]);
        }
        fields.extend((0..self.habits.len()).map(Habit));
        fields
    }

    /// Place of the chosen one among them.
    pub(super) fn chosen(&self) -> usize {
        self.fields().iter().position(|field| *field == self.form.chosen()).unwrap_or(0)
    }

    /// What a value can be.
    pub fn range(&self, field: Field) -> Range {
        let range = |low, high, grain, start| Range { low, high, grain, start };
        match field {
            Field::Nights => range(1.0, 30.0, 1.0, 3.0),
            Field::Days => range(1.0, 45.0, 1.0, 14.0),
            Field::From => range(0.0, 21.0, 1.0, 0.0),
            Field::Place => {
                let last = self.places.len() + usize::from(self.spot.is_some());
                range(0.0, last as f64, 1.0, 0.0)
            }
            Field::Weather => range(0.0, 2.0, 1.0, 0.0),
            Field::Low => self.degrees(45.0, self.usual_weather.low_c),
            Field::High => self.degrees(50.0, self.usual_weather.high_c),
            Field::Cloud => range(0.0, 100.0, 10.0, (self.usual_weather.cloud * 100.0).round()),
            Field::People | Field::Guests => range(0.0, 12.0, 1.0, 0.0),
            Field::FillFirst | Field::Camps => range(0.0, 1.0, 1.0, 0.0),
            Field::Sure => range(50.0, 99.0, 5.0, 90.0),
            Field::Habit(index) => {
                let counted_in = self.habits.get(index).map(|h| &h.counted_in);
                let (high, grain) = match counted_in {
                    Some(Unit::Minute) => (1440.0, 10.0),
                    Some(Unit::Hour) => (24.0, 0.5),
                    _ => (99.0, 0.5),
                };
                range(0.0, high, grain, self.usual(index).unwrap_or(0.0))
            }
        }
    }

    /// Degrees that can be set, in the crew's own scale: from -40 (which is the same in both) to so
    /// many degrees Celsius.
    fn degrees(&self, high_c: f64, start_c: f64) -> Range {
        let shown = |celsius: f64| match self.show {
            UnitSystem::Us => celsius * 1.8 + 32.0,
            _ => celsius,
        };
        Range { low: -40.0, high: shown(high_c), grain: 1.0, start: shown(start_c).round() }
    }

    /// The sign of the scale in which degrees are set.
    pub fn scale(&self) -> &'static str {
        if self.show == UnitSystem::Us { "°F" } else { "°C" }
    }

    /// What is set of a temperature, in degrees Celsius.
    fn celsius(&self, field: Field) -> f64 {
        match self.show {
            UnitSystem::Us => (self.value(field) - 32.0) / 1.8,
            _ => self.value(field),
        }
    }

    /// A value, set or not.
    pub fn value(&self, field: Field) -> f64 {
        self.form.get(field).unwrap_or_else(|| self.range(field).start)
    }

    /// How often an activity happens by habit, per day for all aboard, once an answer said so.
    pub fn usual(&self, habit: usize) -> Option<f64> {
        self.usual.get(habit).copied()
    }

    /// The chosen value goes up or down. Whether that changed it.
    pub fn step(&mut self, way: Turn) -> bool {
        let field = self.form.chosen();
        // Without knowing what is usual there is nothing to step from.
        if matches!(field, Field::Habit(index) if self.usual(index).is_none()) {
            return false;
        }
        let changed = self.form.step(way, self.range(field));
        self.keep_high_above_low(field);
        changed
    }

    /// A digit is typed into the chosen value. Whether that changed it.
    pub fn digit(&mut self, digit: u32) -> bool {
        let field = self.form.chosen();
        let changed = self.form.digit(digit, self.range(field));
        self.keep_high_above_low(field);
        changed
    }

    fn keep_high_above_low(&mut self, changed: Field) {
        let (low, high) = (self.value(Field::Low), self.value(Field::High));
        match changed {
            Field::Low if high < low => {
                _ = self.form.put(Field::High, low, self.range(Field::High))
            }
            Field::High if high < low => {
                _ = self.form.put(Field::Low, high, self.range(Field::Low))
            }
            _ => {}
        }
    }

    /// Sets the chosen value from words: a number, a place, degrees, a day so many `days` ahead.
    ///
    /// # Errors
    /// What was expected.
    pub(super) fn type_in(&mut self, text: &str, days: Option<i64>) -> Result<(), String> {
        let field = self.form.chosen();
        let range = self.range(field);
        if field == Field::Place {
            return self.type_place(text.trim());
        }
        let text = match (field, days) {
            (Field::From, Some(days)) => days.to_string(),
            _ => text.to_string(),
        };
        let number = text.trim().trim_end_matches(['%', '°', 'C', 'F']).trim().parse::<f64>();
        match number {
            Ok(number) if (range.low..=range.high).contains(&number) => {
                self.form.put(field, number, range);
                self.keep_high_above_low(field);
                Ok(())
            }
            _ => Err(self.expects(field)),
        }
    }

    /// What can be typed into a field.
    pub fn expects(&self, field: Field) -> String {
        let range = self.range(field);
        match field {
            Field::Place => "a known place, or degrees north and east: 55.1, -3.2".to_string(),
            Field::Weather => "0 as foretold, 1 as usual, 2 as set below".to_string(),
            Field::FillFirst => "0 no, 1 yes".to_string(),
            Field::Camps => "0 as planned, 1 around here".to_string(),
            Field::From => format!(
                "a weekday, tomorrow, 2026-06-20, or days from now, {} to {}",
                range.low, range.high
            ),
            _ => format!("a number from {} to {}", range.low, range.high),
        }
    }

    fn type_place(&mut self, text: &str) -> Result<(), String> {
        if let Some(at) = self.places.iter().position(|name| name.eq_ignore_ascii_case(text)) {
            let range = self.range(Field::Place);
            self.form.put(Field::Place, at as f64 + 1.0, range);
            return Ok(());
        }
        let degrees = text.split_once(',').and_then(|(north, east)| {
            Some((north.trim().parse::<f64>().ok()?, east.trim().parse::<f64>().ok()?))
        });
        match degrees {
            Some(spot) if spot.0.abs() <= 90.0 && spot.1.abs() <= 180.0 => {
                self.spot = Some(spot);
                let range = self.range(Field::Place);
                self.form.put(Field::Place, range.high, range);
                Ok(())
            }
            _ => Err(self.expects(Field::Place)),
        }
    }

    /// Known places that begin with these letters, in the rig's order.
    pub(super) fn places_like(&self, begun: &str) -> Option<&String> {
        let begun = begun.trim().to_lowercase();
        self.places.iter().find(|name| name.to_lowercase().starts_with(&begun))
    }

    /// When it begins: 10:00 of its first day; `None` = now.
    pub fn from(&self, now: Moment, zone: Zone) -> Option<Moment> {
        let days = self.value(Field::From) as u64;
        let date = zone.date(now).checked_add_days(Days::new(days))?;
        let morning = NaiveTime::from_hms_opt(10, 0, 0)?;
        (days > 0).then(|| zone.moment(date.and_time(morning)))
    }

    /// Where, if not here.
    pub fn place(&self) -> Option<Where> {
        match self.value(Field::Place) as usize {
            0 => None,
            n if n <= self.places.len() => Some(Where::Named(self.places[n - 1].clone())),
            _ => self.spot.map(|(latitude, longitude)| Where::At { latitude, longitude }),
        }
    }

    /// People aboard with the guests, where a person set how many; else the guests alone are
    /// supposed beside those that the journal knows of.
    pub(super) fn crew(&self) -> (Option<f64>, Suppose) {
        let (people, guests) = (self.value(Field::People), self.value(Field::Guests));
        let suppose =
            Suppose { guests: if people > 0.0 { 0.0 } else { guests }, ..Suppose::default() };
        ((people > 0.0).then_some(people + guests), suppose)
    }

    /// Lowest and highest temperature and cloud of every day, where they are set.
    pub(super) fn own_weather(&self) -> Option<TypicalWeather> {
        (self.value(Field::Weather) == 2.0).then(|| TypicalWeather {
            low_c: self.celsius(Field::Low),
            high_c: self.celsius(Field::High),
            cloud: self.value(Field::Cloud) / 100.0,
        })
    }
}
