//! A stretch that is thought of: the values a person sets, and the answer to them as it comes.

use super::Pending;
use super::host::{Asking, Judged};
use super::values::{Field, Values};
use crate::domain::{Moment, Zone};
use crate::forecast::Options;
use crate::plan::{Request, Suppose, Weather};

/// Values set, and what was answered.
#[derive(Debug, Clone, PartialEq)]
pub struct StretchPlanner {
    /// The values.
    pub values: Values,
    /// The question and its answer.
    pub asked: Pending<Judged>,
}

impl Default for StretchPlanner {
    fn default() -> StretchPlanner {
        StretchPlanner { values: Values::new(Field::Nights), asked: Pending::default() }
    }
}

impl StretchPlanner {
    /// What is asked.
    pub fn asking(&self, now: Moment, zone: Zone, options: &Options) -> Asking<Request> {
        let values = &self.values;
        let habits = (0..values.habits.len())
            .filter_map(|index| Some((index, values.get(Field::Habit(index))?)));
        let (crew, suppose) = values.crew();
        let weather = match values.value(Field::Weather) {
            1.0 => Weather::Typical,
            _ => Weather::Outlook,
        };
        let request = Request {
            from: values.from(now, zone),
            place: values.place(),
            weather,
            crew,
            fill_first: values.value(Field::FillFirst) == 1.0,
            confidence: values.value(Field::Sure) / 100.0,
            lives: options.lives,
            seed: options.seed,
            ..Request::here_for(values.value(Field::Nights) as u32)
        };
        let suppose =
            Suppose { weather: values.own_weather(), habits: habits.collect(), ..suppose };
        Asking { request, suppose }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Spot;
    use crate::tui::values::Turn;

    fn planner() -> StretchPlanner {
        let mut planner = StretchPlanner::default();
        planner.values.meet(&crate::tui::fixture::rig(), crate::tui::fixture::now());
        planner
    }

    #[test]
    fn weather_of_ones_own_has_a_high_above_its_low() {
        let mut planner = planner();
        assert!(!planner.values.fields().contains(&Field::Low));
        planner.values.choose(Field::Weather);
        assert!(planner.values.digit(2).0 && planner.values.fields().contains(&Field::Low));
        planner.values.choose(Field::Low);
        planner.values.type_in("-8", None).unwrap();
        planner.values.choose(Field::High);
        planner.values.type_in("-11.5", None).unwrap();
        assert_eq!(
            (planner.values.value(Field::Low), planner.values.value(Field::High)),
            (-11.5, -11.5)
        );
        let now = crate::tui::fixture::now();
        let asking = planner.asking(now, crate::tui::fixture::zone(), &Options::at(now));
        let weather = asking.suppose.weather.unwrap();
        assert_eq!((weather.low_c, weather.high_c, weather.cloud), (-11.5, -11.5, 0.5));
        assert_eq!(planner.values.type_in("warm", None).unwrap_err(), "a number from -40 to 50");
    }

    #[test]
    fn a_place_is_a_name_or_degrees() {
        let mut planner = planner();
        planner.values.choose(Field::Place);
        planner.values.type_in("moinho QUAY", None).unwrap();
        assert_eq!(planner.values.place(), Some(Spot::Named("Moinho quay".into())));
        planner.values.type_in("37.1, -8.25", None).unwrap();
        assert_eq!(planner.values.place(), Some(Spot::At { latitude: 37.1, longitude: -8.25 }));
        for wrong in ["Atlantis", "91, 0", "10, 200", "10"] {
            assert!(
                planner.values.type_in(wrong, None).unwrap_err().starts_with("a known place"),
                "{wrong}"
            );
        }
        planner.values.step(Turn::Down);
        assert_eq!(planner.values.place(), Some(Spot::Named("Moinho quay".into())));
    }

    #[test]
    fn guests_join_those_who_are_planned_or_those_who_are_said() {
        let mut planner = planner();
        let now = crate::tui::fixture::now();
        let asking =
            |p: &StretchPlanner| p.asking(now, crate::tui::fixture::zone(), &Options::at(now));
        planner.values.choose(Field::Guests);
        planner.values.digit(2);
        assert_eq!((asking(&planner).request.crew, asking(&planner).suppose.guests), (None, 2.0));
        planner.values.choose(Field::People);
        planner.values.digit(3);
        let both = asking(&planner);
        assert_eq!((both.request.crew, both.suppose.guests), (Some(5.0), 0.0));
    }
}
