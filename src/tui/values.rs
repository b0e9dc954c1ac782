//! Values that a person sets for a stretch or a trip: which there are, what each can be, and how it
//! is typed. One of them is chosen; keys change that one.

use crate::domain::{Moment, Rig, Spot, TypicalWeather, Unit, UnitSystem, Zone};
use crate::plan::Suppose;
use chrono::{Days, NaiveTime};
use std::collections::BTreeMap;

/// What a value can be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldRange {
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
    /// How far one key press goes.
    grain: f64,
    /// What it is while nobody has set it.
    start: f64,
}

/// Where a value goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Turn {
    /// To the next higher step.
    Up,
    /// To the next lower step.
    Down,
}

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
pub struct HabitValue {
    /// Its name in the plural.
    pub plural: String,
    /// What is counted.
    pub counted_in: Unit,
}

/// Values set, and what they can be.
#[derive(Debug, Clone, PartialEq)]
pub struct Values {
    set: BTreeMap<Field, f64>,
    /// The field that keys change.
    pub chosen: Field,
    /// Digits typed into the chosen one so far.
    typed: Option<f64>,
    /// Names of the known places.
    pub places: Vec<String>,
    /// Degrees north and east that were typed.
    pub spot: Option<Spot>,
    /// Activities of the rig.
    pub habits: Vec<HabitValue>,
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
            set: BTreeMap::new(),
            chosen: first,
            typed: None,
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
        let habits: Vec<HabitValue> = parts
            .activities
            .iter()
            .map(|a| HabitValue { plural: a.plural.clone(), counted_in: a.counted_in.clone() })
            .collect();
        let mut places: Vec<String> = rig.places.iter().map(|p| p.name.clone()).collect();
        if !places.contains(&rig.home.place) {
            places.push(rig.home.place.clone());
        }
        let (same_habits, same_places) = (habits == self.habits, places == self.places);
        self.set.retain(|field, _| match field {
            Field::Habit(_) => same_habits,
            Field::Place => same_places,
            _ => true,
        });
        if !same_habits && matches!(self.chosen, Field::Habit(_)) {
            self.choose(self.first);
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
    pub(super) fn row(&self) -> usize {
        self.fields().iter().position(|field| *field == self.chosen).unwrap_or(0)
    }

    /// Chooses a field.
    pub fn choose(&mut self, field: Field) {
        (self.chosen, self.typed) = (field, None);
    }

    /// Chooses the field in this row of those in sight, or in the last.
    pub(super) fn choose_row(&mut self, row: usize) {
        let fields = self.fields();
        self.choose(fields[row.min(fields.len() - 1)]);
    }

    /// What a value can be.
    pub fn range(&self, field: Field) -> FieldRange {
        let range = |low, high, grain, start| FieldRange { low, high, grain, start };
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
    fn degrees(&self, high_c: f64, start_c: f64) -> FieldRange {
        let [high, start] = [high_c, start_c].map(|celsius| self.show.degrees(celsius));
        FieldRange { low: -40.0, high, grain: 1.0, start: start.round() }
    }

    /// The sign of the scale in which degrees are set.
    pub fn scale(&self) -> String {
        format!("°{}", self.show.scale())
    }

    /// What is set of a temperature, in degrees Celsius.
    fn celsius(&self, field: Field) -> f64 {
        self.show.celsius(self.value(field))
    }

    /// A value that was set.
    pub(super) fn get(&self, field: Field) -> Option<f64> {
        self.set.get(&field).copied()
    }

    /// A value, set or not.
    pub fn value(&self, field: Field) -> f64 {
        self.get(field).unwrap_or_else(|| self.range(field).start)
    }

    /// How often an activity happens by habit, per day for all aboard, once an answer said so.
    pub fn usual(&self, habit: usize) -> Option<f64> {
        self.usual.get(habit).copied()
    }

    /// The chosen value goes up or down, in the grain of its steps. Whether that changed it.
    pub fn step(&mut self, way: Turn) -> bool {
        // Without knowing what is usual there is nothing to step from.
        if matches!(self.chosen, Field::Habit(index) if self.usual(index).is_none()) {
            return false;
        }
        let grain = self.range(self.chosen).grain;
        let steps = self.value(self.chosen) / grain;
        let next = match way {
            Turn::Up => (steps + 1e-9).floor() + 1.0,
            Turn::Down => (steps - 1e-9).ceil() - 1.0,
        };
        self.typed = None;
        self.put(self.chosen, next * grain)
    }

    /// A digit is typed behind those typed before. Whether that changed the chosen value, and
    /// what was typed so far, in range or not.
    pub fn digit(&mut self, digit: u32) -> (bool, f64) {
        let typed = (self.typed.unwrap_or(0.0) % 100.0) * 10.0 + f64::from(digit);
        self.typed = Some(typed);
        (!self.waits() && self.put(self.chosen, typed), typed)
    }

    /// Whether what was typed is too little, and one more digit may make it enough: the 9 of 95.
    pub(super) fn waits(&self) -> bool {
        let range = self.range(self.chosen);
        let begins = |typed: f64| typed > 0.0 && typed < range.low && typed * 10.0 <= range.high;
        self.typed.is_some_and(begins)
    }

    /// The chosen value is as it was at first. Whether that changed it.
    pub(super) fn clear(&mut self) -> bool {
        self.typed = None;
        self.set.remove(&self.chosen).is_some()
    }

    /// Sets a value, as near as its range allows; a high is never below its low. Whether that
    /// changed it.
    fn put(&mut self, field: Field, value: f64) -> bool {
        let range = self.range(field);
        let value = value.clamp(range.low, range.high);
        let changed = self.set.insert(field, value).unwrap_or(range.start) != value;
        let (low, high) = (self.value(Field::Low), self.value(Field::High));
        match field {
            Field::Low if high < low => _ = self.put(Field::High, low),
            Field::High if high < low => _ = self.put(Field::Low, high),
            _ => {}
        }
        changed
    }

    /// Sets the chosen value from words: a number, a place, degrees, a day so many `days` ahead.
    ///
    /// # Errors
    /// What was expected.
    pub(super) fn type_in(&mut self, text: &str, days: Option<i64>) -> Result<(), String> {
        let range = self.range(self.chosen);
        let text = match (self.chosen, days) {
            (Field::Place, _) => return self.type_place(text.trim()),
            (Field::From, Some(days)) => days.to_string(),
            _ => text.to_string(),
        };
        let number = text.trim().trim_end_matches(['%', '°', 'C', 'F']).trim().parse::<f64>();
        let number = number.ok().filter(|number| (range.low..=range.high).contains(number));
        number.map(|number| _ = self.put(self.chosen, number)).ok_or_else(|| self.expects())
    }

    /// What can be typed into the chosen field.
    pub fn expects(&self) -> String {
        let range = self.range(self.chosen);
        match self.chosen {
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
            self.put(Field::Place, at as f64 + 1.0);
            return Ok(());
        }
        let spot = Spot::degrees(text).and_then(Spot::at);
        self.spot = Some(spot.ok_or_else(|| self.expects())?);
        self.put(Field::Place, f64::INFINITY);
        Ok(())
    }

    /// When it begins: 10:00 of its first day; `None` = now.
    pub fn from(&self, now: Moment, zone: Zone) -> Option<Moment> {
        let days = self.value(Field::From) as u64;
        let date = zone.date(now).checked_add_days(Days::new(days))?;
        let morning = NaiveTime::from_hms_opt(10, 0, 0)?;
        (days > 0).then(|| zone.moment(date.and_time(morning)))
    }

    /// Spot, if not here.
    pub fn place(&self) -> Option<Spot> {
        match self.value(Field::Place) as usize {
            0 => None,
            n if n <= self.places.len() => Some(Spot::Named(self.places[n - 1].clone())),
            _ => self.spot.clone(),
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

#[cfg(test)]
mod tests {
    use super::*;

    // Expected values by hand, from the ranges above.
    #[test]
    fn values_stay_within_what_can_be_asked() {
        let mut values = Values::new(Field::Nights);
        assert!(values.digit(1).0 && values.digit(2).0);
        assert_eq!(values.get(Field::Nights), Some(12.0));
        assert_eq!(values.digit(9), (true, 129.0));
        assert_eq!(values.get(Field::Nights), Some(30.0));
        assert!(!values.step(Turn::Up) && values.step(Turn::Down));
        assert_eq!(values.get(Field::Nights), Some(29.0));
        values.choose(Field::Sure);
        assert!(values.step(Turn::Down));
        assert_eq!(values.get(Field::Sure), Some(85.0));
        // The first digit of two sets nothing yet.
        assert_eq!((values.digit(9), values.get(Field::Sure)), ((false, 9.0), Some(85.0)));
        values.digit(7);
        assert_eq!(values.get(Field::Sure), Some(97.0));
        assert!(values.step(Turn::Down));
        assert_eq!(values.get(Field::Sure), Some(95.0));
        (0..20).for_each(|_| _ = values.step(Turn::Up));
        assert_eq!(values.get(Field::Sure), Some(99.0));
    }

    #[test]
    fn steps_from_what_is_usual_land_on_the_grain_and_clearing_goes_back() {
        let mut values = Values::new(Field::Nights);
        values.usual = vec![1.37];
        values.choose(Field::Habit(0));
        assert!(values.step(Turn::Up));
        assert_eq!(values.get(Field::Habit(0)), Some(1.5));
        assert!(values.clear() && !values.clear());
        assert!(values.step(Turn::Down));
        assert_eq!(values.get(Field::Habit(0)), Some(1.0));
        values.choose_row(0);
        assert_eq!((values.chosen, values.row()), (Field::Nights, 0));
        values.choose_row(1);
        assert_eq!(values.chosen, Field::From);
        values.choose_row(99);
        assert_eq!(values.chosen, Field::Weather);
    }
}
