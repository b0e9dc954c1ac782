//! The whole way from a rig and a journal to one evening's answer.

use super::answer::{Lesson, PastReading, ReadingValue};
use super::lives::{GoOn, Lives};
use super::practice::UNSEEN;
use super::scene::Scene;
use super::{
    Evening, Forecast, LearnedValue, NextStop, Notice, Options, StockForecast, cold, lives,
    notices, passages, season, sharpen, why,
};
use crate::belief::evidence::exposure_of;
use crate::belief::past::Past;
use crate::belief::{self, Beliefs};
use crate::domain::{Counts, Entry, Estimate, Moment, Rig, Standing, after_hours, journal, plans};
use crate::mechanism::driver::Source;
use chrono::Duration;
use rayon::prelude::*;

/// Answers one evening: what forces the next stop, by when, how sure, and what was learned.
pub fn evening(rig: &Rig, entries: &[Entry], options: Options) -> Evening {
    let standing = journal::standing(entries, options.at);
    let past = Past::of(rig, &standing, options.at);
    let beliefs = belief::learn_from(&past, options.seed);
    let alarms = || notices::of_journal(&past, &standing, &beliefs);
    assembled(rig, &standing, &beliefs, options, (alarms, &|_| true))
}

/// The same from what stands and is believed already at `options.at`, with `options.seed`; as soon as
/// `go_on` says no, from the lives that were run by then.
pub fn evening_while(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    options: Options,
    go_on: GoOn,
) -> Evening {
    let alarms = || notices::of_journal(&Past::of(rig, standing, options.at), standing, beliefs);
    assembled(rig, standing, beliefs, options, (alarms, go_on))
}

fn assembled(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    options: Options,
    (alarms, go_on): (impl FnOnce() -> Vec<Notice> + Send, GoOn),
) -> Evening {
    // Neither needs the other: two processors share them.
    let ((forecast, looks), of_journal) =
        rayon::join(|| looked_at(rig, standing, beliefs, options, go_on), alarms);
    let camp = beliefs.timeline.camp(options.at);
    Evening {
        place: camp.name.clone(),
        nights_here: nights_here(rig, camp.since, options.at),
        aboard: beliefs.timeline.aboard(options.at),
        learned: learned(beliefs, standing),
        notices: notices::of_cold(&forecast).into_iter().chain(of_journal).collect(),
        history: history(beliefs, options.at),
        plans: plans::plans(standing),
        odd_season: season::odd(rig, rig.zone(options.at).date(options.at)),
        if_done: if_done(rig, standing, options),
        looks,
        forecast,
    }
}

/// The next forced stop if every open plan was done after all: the other of two dates while nobody
/// has said. `None` where no plan is open.
fn if_done(rig: &Rig, standing: &[Standing], options: Options) -> Option<NextStop> {
    standing.iter().find(|entry| entry.counts == Counts::Open)?;
    let done = plans::as_if_done(standing);
    let beliefs = belief::learn(rig, &done, options.at, options.seed);
    let options = Options { with_fans: false, ..options };
    Some(forecast(rig, &done, &beliefs, options).next)
}

/// The forecast alone, from beliefs that are already at hand.
pub fn forecast(rig: &Rig, standing: &[Standing], beliefs: &Beliefs, options: Options) -> Forecast {
    forecast_and_looks(rig, standing, beliefs, options).0
}

/// The forecast, and what a reading of each stock would take off the next stop's band, the most
/// first.
pub fn forecast_and_looks(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    options: Options,
) -> (Forecast, Vec<ReadingValue>) {
    looked_at(rig, standing, beliefs, options, &|_| true)
}

fn looked_at(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    options: Options,
    go_on: GoOn,
) -> (Forecast, Vec<ReadingValue>) {
    let scene = Scene::of(rig, standing, beliefs, &options);
    let lives = lives::run_while(beliefs, &scene, options, go_on);
    let (first, binding) = passages::first_passages(&lives.forcing(&scene));
    let hours = passages::quantiles(&first);
    let most = (0..binding.len()).max_by(|a, b| binding[*a].total_cmp(&binding[*b]));
    let (looks, stocks) = rayon::join(
        || sharpen::looks(beliefs, &lives, &first, options.at),
        || {
            let per_day = why::per_day(beliefs, &scene);
            let stocks = (0..binding.len()).into_par_iter();
            let told =
                |s: usize| stock_forecast(beliefs, &scene, &lives, s, (binding[s], per_day[s]));
            stocks.map(told).collect()
        },
    );
    let forecast = Forecast {
        at: options.at,
        horizon_hours: options.horizon_hours,
        lives: lives.count,
        seed: options.seed,
        stocks,
        next: NextStop {
            by: hours.p10.and_then(|h| after_hours(options.at, h)),
            likely: hours.p50.and_then(|h| after_hours(options.at, h)),
            binding: most.filter(|s| binding[*s] > 0.0),
            chance: 1.0 - passages::share_beyond(&first),
            hours,
        },
        cold: cold::cold(beliefs, &scene, &lives),
        frosts: cold::frosts(beliefs, &scene),
    };
    (forecast, looks)
}

fn stock_forecast(
    beliefs: &Beliefs,
    scene: &Scene,
    lives: &Lives,
    index: usize,
    (binding, per_day): (f64, f64),
) -> StockForecast {
    let stock = &beliefs.mechanism.stocks()[index];
    let passages = &lives.passages[index];
    StockForecast {
        name: stock.name.clone(),
        unit: stock.unit.clone(),
        runs: stock.runs,
        capacity: stock.capacity,
        limit: stock.limit(),
        level: level(beliefs, index),
        hours: passages::quantiles(passages),
        beyond_horizon: passages::share_beyond(passages),
        binding,
        stood_in_by: beliefs
            .mechanism
            .parts
            .stood_in_by(&stock.name, scene.most_heat_w)
            .map(str::to_owned),
        per_day,
        dips: match beliefs.mechanism.electric == Some(index) {
            true => passages::dips(lives, stock, passages, scene.hours.len()),
            false => Vec::new(),
        },
        fan: passages::fan(lives, index),
    }
}

fn level(beliefs: &Beliefs, index: usize) -> Estimate {
    let level = beliefs.level(index);
    let capacity = beliefs.mechanism.stocks()[index].capacity;
    Estimate { mean: level.mean.clamp(0.0, capacity), sd: level.sd }
}

/// Nights at this camp, counting tonight: the first evening is night 1; 0 where the journal does
/// not say since when the van stands here.
fn nights_here(rig: &Rig, since: Option<Moment>, now: Moment) -> u32 {
    let zone = rig.zone(now);
    let nights = |since| (zone.date(now) - zone.date(since)).num_days().max(0) as u32 + 1;
    since.map_or(0, nights)
}

/// What is told of a coefficient. Heat loss cannot be told from a thermostat that is off by a
/// degree or two, or from habits with doors and vents; what a battery feeds or is fed by cannot
/// be told from losses and shade that the model does not know. Forecasts need only what comes of
/// them together, but what is shown as the van's own must admit it ([`UNSEEN`] of itself, but no
/// more than the rig file's own doubt).
fn told(beliefs: &Beliefs, index: usize) -> Estimate {
    let learned = beliefs.coefficient(index);
    let factors = &beliefs.mechanism.factors;
    let electric = beliefs.mechanism.coefficients[index].electric_only;
    match electric || factors.heat_loss == Some(index) {
        true => {
            let unseen = (learned.mean * UNSEEN).min(beliefs.mechanism.coefficients[index].sd());
            Estimate { sd: learned.sd.hypot(unseen), ..learned }
        }
        false => learned,
    }
}

/// Whether anything happened since a coefficient started anew that it could be learned from: what
/// goes on by itself always does.
fn has_moved(beliefs: &Beliefs, standing: &[Standing], index: usize) -> bool {
    let since = beliefs.learned_since[index];
    let parts = &beliefs.mechanism.parts;
    let source = beliefs.mechanism.coefficients[index].source;
    match source {
        Source::Activity(activity) => beliefs.habits[activity].logged > 0.0,
        Source::Driver(_) => {
            standing.iter().filter(|e| e.is_fact() && e.at >= since).any(|entry| {
                exposure_of(&entry.event, parts).is_some_and(|(exposed, _)| exposed == source)
            })
        }
        Source::Base(_) | Source::Climate => true,
    }
}

fn learned(beliefs: &Beliefs, standing: &[Standing]) -> Vec<LearnedValue> {
    let mechanism = &beliefs.mechanism;
    let names = |stocks: &[usize]| {
        stocks.iter().map(|s| mechanism.stocks()[*s].name.clone()).collect::<Vec<_>>()
    };
    // What was read before a change of kit says nothing of what started anew with it.
    let readings = |stocks: &[usize], since: Moment| {
        let own = stocks.iter().flat_map(|s| &beliefs.readings[*s]);
        own.filter(|reading| reading.at >= since).count()
    };
    let mut all: Vec<LearnedValue> = Vec::new();
    for (index, coefficient) in mechanism.coefficients.iter().enumerate() {
        if coefficient.sd() <= 0.0 {
            continue;
        }
        let stocks = mechanism.stocks_told_of(index);
        let reference = Estimate { mean: coefficient.mean, sd: coefficient.sd() };
        // What is less sure than the file, or never moved anything, is the file's.
        let own = told(beliefs, index);
        let is_told = own.sd <= reference.sd && has_moved(beliefs, standing, index);
        all.push(LearnedValue {
            what: Lesson::Coefficient(coefficient.what.clone()),
            unit: coefficient.unit.clone(),
            reference,
            learned: if is_told { own } else { reference },
            occurrences: match coefficient.source {
                Source::Activity(a) => beliefs.habits[a].logged,
                _ => 0.0,
            },
            readings: match is_told {
                true => readings(&stocks, beliefs.learned_since[index]),
                false => 0,
            },
            stocks: names(&stocks),
        });
    }
    for (index, activity) in mechanism.parts.activities.iter().enumerate() {
        let habit = &beliefs.habits[index];
        let moved: Vec<usize> = mechanism
            .flows
            .iter()
            .filter(|flow| flow.source == Source::Activity(index))
            .map(|flow| flow.stock)
            .collect();
        all.push(LearnedValue {
            what: Lesson::Habit { plural: activity.plural.clone(), per: habit.per },
            unit: activity.counted_in.word().to_string(),
            reference: Estimate {
                mean: activity.usual_per_day,
                sd: activity.usual_per_day * activity.usual_spread,
            },
            learned: habit.true_rate(),
            occurrences: habit.logged,
            readings: 0,
            stocks: names(&moved),
        });
    }
    all
}

fn history(beliefs: &Beliefs, now: Moment) -> Vec<Vec<PastReading>> {
    let since = now - Duration::days(42);
    let recent = |readings: &Vec<PastReading>| {
        readings.iter().filter(|reading| reading.at >= since).copied().collect()
    };
    beliefs.readings.iter().map(recent).collect()
}
