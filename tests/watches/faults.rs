//! What can go wrong with a simulated van, and when it is called.

use super::super::trips::dice::Dice;
use super::super::trips::trip::Trip;
use super::super::trips::van::{Gauge, Role, Van};
use chrono::Duration;
use std::collections::BTreeMap;
use waystock::belief::past::Past;
use waystock::belief::{self, watch};
use waystock::domain::entry::{Body, Entry, Event};
use waystock::domain::journal;
use waystock::domain::time::{Moment, hours_between};
use waystock::domain::unit::UnitSystem;
use waystock::forecast::notices::of_change;
use waystock::text::notice::said;

/// Days that a fault is watched for.
pub const WATCHED: usize = 24;

/// What goes wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wrong {
    /// So much a day comes or goes unseen, in the tank's unit.
    Change(f64),
    /// The panels give only this share.
    Shade(f64),
    /// The gauge shows what it last showed.
    Stuck,
}

/// One kind of fault.
#[derive(Clone, Copy, Debug)]
pub struct Fault {
    /// What it is called in the table.
    pub name: &'static str,
    /// The tank in which it shows.
    pub role: Role,
    pub wrong: Wrong,
    /// A gauge other than the rig's own.
    pub gauge: Option<Gauge>,
}

const fn fault(name: &'static str, role: Role, wrong: Wrong, gauge: Option<Gauge>) -> Fault {
    Fault { name, role, wrong, gauge }
}

/// Every kind, with the gauges on which leaks are told apart.
pub const FAULTS: [Fault; 19] = [
    fault("fresh leaks 10 L", Role::Fresh, Wrong::Change(-10.0), None),
    fault("  quarters", Role::Fresh, Wrong::Change(-10.0), Some(Gauge::Step(0.25))),
    fault("  per cent", Role::Fresh, Wrong::Change(-10.0), Some(Gauge::Step(0.01))),
    fault("fresh leaks 3 L", Role::Fresh, Wrong::Change(-3.0), None),
    fault("  quarters", Role::Fresh, Wrong::Change(-3.0), Some(Gauge::Step(0.25))),
    fault("  eighths", Role::Fresh, Wrong::Change(-3.0), Some(Gauge::Step(0.125))),
    fault("  per cent", Role::Fresh, Wrong::Change(-3.0), Some(Gauge::Step(0.01))),
    fault("  guessed", Role::Fresh, Wrong::Change(-3.0), Some(Gauge::Guess)),
    fault("fresh leaks 1 L", Role::Fresh, Wrong::Change(-1.0), None),
    fault("  per cent", Role::Fresh, Wrong::Change(-1.0), Some(Gauge::Step(0.01))),
    fault("grey loses 10 L", Role::Grey, Wrong::Change(-10.0), None),
    fault("grey loses 4 L", Role::Grey, Wrong::Change(-4.0), None),
    fault("liquids lose 0.8 L", Role::Liquids, Wrong::Change(-0.8), None),
    fault("battery draws 500 Wh", Role::Battery, Wrong::Change(-500.0), None),
    fault("battery draws 250 Wh", Role::Battery, Wrong::Change(-250.0), None),
    fault("panels give 15 %", Role::Battery, Wrong::Shade(0.15), None),
    fault("fresh gauge sticks", Role::Fresh, Wrong::Stuck, Some(Gauge::Step(0.125))),
    fault("grey gauge sticks", Role::Grey, Wrong::Stuck, Some(Gauge::Step(0.125))),
    fault("battery gauge sticks", Role::Battery, Wrong::Stuck, None),
];

impl Fault {
    /// The day on which it begins, after 12 to 20 days.
    pub fn begins(seed: u64) -> usize {
        12 + (Dice::new(seed, 77).unit() * 9.0) as usize
    }

    /// The trip of that seed with it; `None` where it cannot happen to this van.
    pub fn trip(&self, seed: u64) -> Option<Trip> {
        let begins = Fault::begins(seed);
        let mut trip = Trip::with(seed, |van: &mut Van| {
            match self.wrong {
                Wrong::Change(per_day) => van.faults.push((self.role, 24 * begins, per_day)),
                Wrong::Shade(share) => van.shade = Some((24 * begins, share)),
                Wrong::Stuck => {}
            }
            let own = van.tanks.iter_mut().filter(|tank| tank.role == self.role);
            own.for_each(|tank| tank.gauge = self.gauge.unwrap_or(tank.gauge));
        });
        if self.wrong == Wrong::Stuck {
            stick(&mut trip.entries, self.role, begins);
        }
        let sunless = matches!(self.wrong, Wrong::Shade(_)) && trip.van.panel_w == 0.0;
        (trip.van.place(self.role).is_some() && !sunless).then_some(trip)
    }

    /// Whether an alarm speaks of it.
    pub fn is_meant(&self, call: &Call) -> bool {
        let stuck = self.wrong == Wrong::Stuck;
        call.stock == self.role.name() && call.stuck == stuck && (stuck || call.loses)
    }

    /// Days until it is called; infinite where it never is. `None` where it cannot happen.
    pub fn days(&self, seed: u64) -> Option<f64> {
        let (trip, begins) = (self.trip(seed)?, Fault::begins(seed));
        let evenings = evenings(&trip);
        let found = evenings[begins..].iter().take(WATCHED).position(|at| {
            let calls = called(&trip, *at);
            calls.iter().any(|call| self.is_meant(call))
        });
        Some(found.map_or(f64::INFINITY, |day| day as f64 + 1.0))
    }

    /// Days until the diary first says something that it would not have said of the sound van of
    /// the same seed, whose crew and weather are the same to the last die: before that nobody can
    /// know, whatever they know of the van. Infinite where it never does while it is watched.
    pub fn days_until_told(&self, seed: u64) -> Option<f64> {
        let (trip, begins) = (self.trip(seed)?, Fault::begins(seed));
        let sound = Fault { wrong: Wrong::Change(0.0), ..*self }.trip(seed)?;
        let differ = |(a, b): &(&Entry, &Entry)| (a.at, &a.body) != (b.at, &b.body);
        let first = trip.entries.iter().zip(&sound.entries).find(differ)?.0.recorded;
        let evenings = &evenings(&trip)[begins..];
        let day = evenings.iter().take(WATCHED).position(|at| first <= *at);
        Some(day.map_or(f64::INFINITY, |day| day as f64 + 1.0))
    }
}

/// What an alarm about a battery that falls says of why.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Named {
    Right,
    Both,
    Wrong,
}

impl Fault {
    /// What the alarm says on the evening on which this is first called, and a week later if it is
    /// still up then.
    pub fn named(&self, seed: u64) -> Option<(Named, Option<Named>)> {
        let (trip, begins) = (self.trip(seed)?, Fault::begins(seed));
        let evenings = evenings(&trip);
        let says = |at: &Moment| {
            let calls = called(&trip, *at);
            let call = calls.into_iter().find(|call| self.is_meant(call))?;
            let draw = call.text.contains("switch loads off") || call.text.contains("Switch loads");
            let panels = call.text.contains("Look at the panels");
            let shaded = matches!(self.wrong, Wrong::Shade(_));
            Some(match (draw, panels) {
                (true, true) => Named::Both,
                (false, false) => panic!("neither is named: {}", call.text),
                _ if panels == shaded => Named::Right,
                _ => Named::Wrong,
            })
        };
        let watched = evenings[begins..].iter().take(WATCHED);
        let (day, first) = watched.enumerate().find_map(|(day, at)| Some((day, says(at)?)))?;
        let later = evenings.get(begins + day + 7).and_then(says);
        Some((first, later))
    }
}

/// From a day on, every reading of a tank says what the last one before said.
fn stick(entries: &mut [Entry], role: Role, day: usize) {
    let begins = entries[0].at + Duration::days(day as i64);
    let mut shown = None;
    for entry in entries {
        let Body::Happened(Event::Level { stock, reading, .. }) = &mut entry.body else {
            continue;
        };
        match &shown {
            _ if stock != role.name() => {}
            Some(shown) if entry.at > begins => *reading = Clone::clone(shown),
            _ => shown = Some(reading.clone()),
        }
    }
}

/// An alarm.
#[derive(Clone, Debug, PartialEq)]
pub struct Call {
    pub stock: String,
    pub loses: bool,
    pub stuck: bool,
    /// What the crew is told.
    pub text: String,
}

impl Call {
    pub fn kind(&self) -> String {
        let how = match (self.stuck, self.loses) {
            (true, _) => "stuck",
            (_, true) => "less",
            _ => "more",
        };
        format!("{} {how}", self.stock)
    }
}

/// Each evening of a trip, by its number of days since the start.
pub fn evenings(trip: &Trip) -> Vec<Moment> {
    let speaks = |e: &&Entry| !matches!(e.body, Body::Happened(Event::Outlook(_)));
    let (first, last) =
        (trip.entries[0].at, trip.entries.iter().filter(speaks).map(|e| e.recorded).max());
    let days = (hours_between(first, last.unwrap()) / 24.0) as i64;
    (1..=days).map(|day| first + Duration::hours(24 * day - 1)).collect()
}

/// What is called wrong on an evening.
pub fn called(trip: &Trip, at: Moment) -> Vec<Call> {
    let standing = journal::standing(&trip.entries, at);
    let beliefs = belief::learn(&trip.rig, &standing, at, 1);
    let name = |stock: usize| beliefs.mechanism.stocks()[stock].name.clone();
    let call = |u: &watch::Unexplained| Call {
        stock: name(u.stock),
        loses: u.per_day.mean < 0.0,
        stuck: u.stuck,
        text: said(&of_change(&beliefs, u), UnitSystem::Metric),
    };
    let past = Past::of(&trip.rig, &standing, at);
    watch::alarms(&past, &beliefs).iter().map(call).collect()
}

/// Alarms that begin on these evenings, by kind: none of the kind was up within the week before.
pub fn begun(evenings: &[Vec<Call>]) -> Vec<Call> {
    let mut last: BTreeMap<String, usize> = BTreeMap::new();
    let mut begun = Vec::new();
    for (day, calls) in evenings.iter().enumerate() {
        for call in calls {
            if last.insert(call.kind(), day).is_none_or(|before| day > before + 7) {
                begun.push(call.clone());
            }
        }
    }
    begun
}

/// Median of sorted values; NaN when there are none.
pub fn median(sorted: &[f64]) -> f64 {
    let middle = sorted.len() / 2;
    match sorted.len() {
        0 => f64::NAN,
        n if n % 2 == 1 => sorted[middle],
        _ => 0.5 * (sorted[middle - 1] + sorted[middle]),
    }
}
