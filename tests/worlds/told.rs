//! The forecaster, told the truth of something that it has to learn: what each of these costs.

#[path = "../fixtures/regularity.rs"]
mod known;

use super::super::trips::honesty::truth;
use super::super::trips::trial::Answer;
use super::super::trips::trip::{Origin, Trip};
use super::super::trips::van::Life;
use known::as_regular;
use waystock::belief::manner::{Manner, MannerNumber};
use waystock::belief::{self, Beliefs};
use waystock::domain::estimate::Estimate;
use waystock::domain::journal::standing;
use waystock::forecast::answer::{Lesson, Options, Quantiles};
use waystock::forecast::lives;
use waystock::forecast::passages::{first_passages, quantiles};
use waystock::forecast::scene::Scene;
use waystock::physics::sun::clear_day_wh_m2;
use waystock::text::reasons::lesson;

/// What may be told.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Told {
    /// The level of every stock.
    Levels,
    /// What one use, one person's day and the van's kit take.
    Amounts,
    /// How often everything is done.
    Rates,
    /// How much daily counts differ.
    Regularity,
    /// How many days all are out, and how much base use differs from day to day.
    Days,
    /// The weather that came.
    Weather,
}

impl Told {
    /// By its name on the command line.
    pub fn named(name: &str) -> Option<Told> {
        use Told::*;
        let all = [Levels, Amounts, Rates, Regularity, Days, Weather];
        all.into_iter().find(|told| format!("{told:?}").to_lowercase() == name)
    }
}

/// What the program would answer if it were told all that.
pub fn answer(trip: &Trip, origin: &Origin, options: Options, told: &[Told]) -> Answer {
    let standing = standing(&trip.entries, options.at);
    let mut beliefs = belief::learn(&trip.rig, &standing, options.at, options.seed);
    let mut scene = Scene::of(&trip.rig, &standing, &beliefs, &options);
    for what in told {
        match what {
            Told::Levels => levels(trip, origin, &mut beliefs),
            Told::Amounts => amounts(trip, &mut beliefs),
            Told::Rates => rates(trip, &mut beliefs),
            Told::Regularity => regularity(trip, &mut beliefs),
            Told::Days => days(trip, &mut beliefs),
            Told::Weather => weather(trip, &beliefs, &mut scene),
        }
    }
    let lives = lives::run(&beliefs, &scene, options.seed, options.lives);
    let (first, _) = first_passages(&lives.passages);
    let hours = |q: Quantiles| {
        [q.p05, q.p10, q.p25, q.p50, q.p75, q.p90, q.p95].map(|q| q.unwrap_or(f64::INFINITY))
    };
    let stocks = lives.passages.iter().map(|passages| hours(quantiles(passages))).collect();
    Answer { stocks, next: hours(quantiles(&first)), binding: None }
}

fn certain(mean: f64) -> Estimate {
    Estimate { mean, sd: 0.0 }
}

fn levels(trip: &Trip, origin: &Origin, beliefs: &mut Beliefs) {
    for (tank, level) in trip.van.tanks.iter().zip(&origin.state.levels) {
        let stocks = beliefs.mechanism.stocks();
        let place = stocks.iter().position(|stock| stock.name == tank.role.name());
        let place = place.expect("a stock of the rig");
        beliefs.joint.reset(place, certain(*level));
        if beliefs.mechanism.electric == Some(place) {
            beliefs.electric.iter_mut().for_each(|member| member.level_wh = *level);
        }
    }
}

fn amounts(trip: &Trip, beliefs: &mut Beliefs) {
    let (usual, count) = (trip.usual(), beliefs.mechanism.stocks().len());
    for (index, coefficient) in beliefs.mechanism.coefficients.iter().enumerate() {
        let what = lesson(&Lesson::Coefficient(coefficient.what.clone()));
        if let Some(truth) = truth(trip, &usual, &what) {
            beliefs.joint.reset(count + index, certain(truth));
            beliefs.electric.iter_mut().for_each(|member| member.coefficients[index] = truth);
        }
    }
}

fn rates(trip: &Trip, beliefs: &mut Beliefs) {
    let usual = trip.usual();
    let activities = beliefs.mechanism.parts.activities.iter();
    for (activity, habit) in activities.zip(&mut beliefs.habits) {
        let what = lesson(&Lesson::Habit { plural: activity.plural.clone(), per: habit.per });
        if let Some(truth) = truth(trip, &usual, &what) {
            habit.shape = 1e6;
            (habit.exposure, habit.open) = (1e6 * habit.size / truth.max(1e-6), 0.0);
        }
    }
}

fn regularity(trip: &Trip, beliefs: &mut Beliefs) {
    let fano = match trip.van.life {
        Life::Counts(spread) => spread,
        _ => 0.15,
    };
    beliefs.habits.iter_mut().for_each(|habit| habit.fano = as_regular(fano));
}

fn days(trip: &Trip, beliefs: &mut Beliefs) {
    let size = beliefs.joint.size();
    beliefs.joint.reset(MannerNumber::AtHome.place(size), certain(0.0));
    beliefs.joint.reset(MannerNumber::Untold.place(size), certain(trip.van.out_all_day));
    // What a crew drinks scatters by 0.12 and what it washes with by 0.18: see `living`.
    let apart = (0.55 * 0.12_f64).hypot(0.45 * 0.18);
    let usual = Manner::PRIOR.base_day_sd(trip.van.people.len() as f64);
    beliefs.manner.day_spread = trip.van.days_together.unwrap_or(apart / usual);
}

fn weather(trip: &Trip, beliefs: &Beliefs, scene: &mut Scene) {
    let first = trip.entries[0].at.date_naive();
    let camp = beliefs.timeline.camp(scene.now);
    for ahead in &mut scene.days {
        let day = (ahead.date - first).num_days() as usize;
        let came = &trip.sky.days[day.min(trip.sky.days.len() - 1)];
        (ahead.sky.low_c, ahead.sky.high_c) = (came.low_c, came.high_c);
        let clear = clear_day_wh_m2(ahead.date, camp.latitude, camp.longitude) / 1000.0;
        ahead.sky.clearness = (came.sun_kwh_m2 / clear.max(0.01)).clamp(0.06, 1.08);
        (ahead.temperature_sd, ahead.clearness_sd) = (0.0, 0.0);
    }
}
