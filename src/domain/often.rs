//! How much of each activity this crew has done in a day, and what is far beyond that.

use super::entry::{Event, Happened};
use super::flow::{Activity, Per};
use super::journal::Standing;
use super::quantity::Quantity;
use super::rig::{Parts, Rig};
use super::time::{Moment, Zone};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// So many times the most that was done in a day so far, and so many more, are asked about before they
/// are saved; 3 to 6 and 3 to 10. Common practice, no source.
const TIMES: f64 = 4.0;
/// See [`TIMES`].
const BESIDES: f64 = 5.0;

/// What this crew does in a day at most.
#[derive(Debug, Clone, PartialEq)]
pub struct Often {
    zone: Zone,
    activities: Vec<Activity>,
    volts: Option<f64>,
    /// The most of each activity in a day, and the last day with any.
    most: BTreeMap<String, (f64, Option<NaiveDate>)>,
}

impl Often {
    /// What the journal tells of it; where it tells less, what the rig calls usual.
    pub fn of(rig: &Rig, standing: &[Standing], now: Moment) -> Often {
        let zone = rig.zone(now);
        Often::in_parts(&rig.parts_on(zone.date(now)), rig.crew, standing, zone)
    }

    fn in_parts(parts: &Parts, crew: f64, standing: &[Standing], zone: Zone) -> Often {
        let volts = parts.volts();
        let usual = |activity: &Activity| {
            let people = if activity.per == Per::Person { crew } else { 1.0 };
            (activity.name.clone(), (activity.usual_per_day * people, None))
        };
        let most = parts.activities.iter().map(usual).collect();
        let activities = parts.activities.clone();
        let mut often = Often { zone, activities, volts, most };
        let mut days: BTreeMap<(&str, NaiveDate), f64> = BTreeMap::new();
        for entry in standing.iter().filter(|entry| entry.is_fact()) {
            let Event::Use { activity, count } = &entry.event else { continue };
            if let Some(count) = often.counted(activity, count) {
                *days.entry((activity, zone.waking_date(entry.at))).or_default() += count;
            }
        }
        for ((activity, date), count) in days {
            let (most, last) = often.most.entry(activity.to_string()).or_default();
            *most = most.max(count);
            *last = (*last).max(Some(date));
        }
        often
    }

    /// `count` in the unit that the activity is counted in.
    fn counted(&self, activity: &str, count: &Quantity) -> Option<f64> {
        let known = self.activities.iter().find(|known| known.name == activity)?;
        let factor = count.unit.factor_to(&known.counted_in, self.volts)?;
        Some(count.amount.value() * factor)
    }

    /// The most in a day so far, where what is said is far beyond that, for the days since any was
    /// written. A remark says that it was meant.
    pub fn exceeded<'s>(&self, said: &'s Happened) -> Option<(&'s str, f64)> {
        let Event::Use { activity, count } = &said.event else { return None };
        let (most, last) = self.most.get(activity)?;
        let days = last.map_or(1, |last| (self.zone.waking_date(said.at) - last).num_days());
        let allowed = (TIMES * most + BESIDES) * days.max(1) as f64;
        let far = self.counted(activity, count)? > allowed && said.note.is_none();
        far.then_some((activity.as_str(), *most))
    }

    /// The first of what is said that is far beyond the habit: its place, and the most in a day so far.
    pub fn first_exceeded(&self, said: &[Happened]) -> Option<(usize, f64)> {
        said.iter().enumerate().find_map(|(at, one)| Some((at, self.exceeded(one)?.1)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::{Amount, Unit};

    /// A van whose rig says one and a half wash-ups a day: 4 times 1.5 and 5 are 11; after a day with
    /// four of them 21, and as many for each day since. By hand.
    #[test]
    fn what_is_far_beyond_the_habit_is_asked_about() {
        let activities = vec![Activity {
            name: "dishes".into(),
            plural: "dishes".into(),
            also: Vec::new(),
            counted_in: Unit::Time,
            usual_per_day: 1.5,
            usual_spread: 0.3,
            per: Per::Van,
            hours: Vec::new(),
            moves: Vec::new(),
        }];
        let parts = Parts { activities, ..Parts::default() };
        let zone = Zone::Named(chrono_tz::UTC);
        let at = |day: u32| format!("2026-09-{day:02}T20:00:00+00:00").parse::<Moment>().unwrap();
        let dishes = |day: u32, times: i64| {
            let count = Quantity::new(Amount::from_milli(times * 1000).unwrap(), Unit::Time);
            let event = Event::Use { activity: "dishes".into(), count };
            Happened { at: at(day), event, note: None }
        };
        let far = |standing: &[Standing], said: Happened| {
            Often::in_parts(&parts, 2.0, standing, zone).exceeded(&said).is_some()
        };
        assert!(!far(&[], dishes(20, 11)) && far(&[], dishes(20, 12)));
        let four = Standing::supposed(at(19), at(19), dishes(19, 4).event);
        assert!(!far(std::slice::from_ref(&four), dishes(20, 21)) && far(&[four], dishes(20, 71)));
        let long_ago = Standing::supposed(at(10), at(10), dishes(10, 4).event);
        assert!(!far(&[long_ago], dishes(20, 71)));
        let meant = Happened { note: Some("really".into()), ..dishes(20, 71) };
        assert!(!far(&[], meant));
    }
}
