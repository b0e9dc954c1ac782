//! How many showers, meals or work hours can be afforded over a stretch, all else as usual.

use super::answer::Afford;
use super::assumptions::MOST_TIMES;
use super::case::{Case, Limits, safe_hours};
use super::change::Change;
use super::options::can_be_less;

/// For each activity that takes something: the largest whole amount that still works.
/// Where the stretch is known to work, by more lives than these, they are as sure as it is on them:
/// chance never says that it lasts, and then that not even none of it does.
pub(super) fn afford(case: &Case, known: Known, confidence: f64) -> Vec<Afford> {
    let activities = case.beliefs.mechanism.parts.activities.len();
    let asis = case.limits();
    let confidence = match known {
        Known::Works => confidence.min(asis.probability),
        Known::Fails => confidence,
    };
    (0..activities)
        .filter(|activity| can_be_less(case, *activity))
        .filter_map(|activity| of(case, &asis, activity, confidence))
        .collect()
}

/// What is known of the stretch as it is.
#[derive(Clone, Copy)]
pub(super) enum Known {
    /// It is as sure as was asked.
    Works,
    /// It is not.
    Fails,
}

/// Less than this of an activity over the stretch, by habit or by choice, is none.
const NONE: f64 = 0.05;

/// What habit expects of an activity over the stretch, in the activity's unit.
fn usual(case: &Case, activity: usize) -> f64 {
    let habit = &case.beliefs.habits[activity];
    let until = (case.until_hours.round() as usize).min(case.scene.hours.len());
    let hours = &case.scene.hours[case.from_hour.min(until)..until];
    let days: f64 = hours
        .iter()
        .map(|hour| habit.people(hour.aboard) * case.scene.shares[activity][hour.hour])
        .sum();
    habit.true_rate().mean * days
}

fn of(case: &Case, asis: &Limits, activity: usize, confidence: f64) -> Option<Afford> {
    let usual = usual(case, activity);
    if usual < NONE {
        return None;
    }
    let kind = &case.beliefs.mechanism.parts.activities[activity];
    let run = |amount: f64| {
        let change = Change::Rate { activity, factor: amount / usual };
        case.with(&[change]).limits()
    };
    let top = (usual * MOST_TIMES).ceil();
    let none = run(0.0);
    let (most, or_more) = if none.probability < confidence {
        (None, false)
    } else {
        let works = |amount: f64| run(amount).probability >= confidence;
        let most =
            largest(guess(case, [asis, &none], usual, confidence).clamp(0.0, top), top, &works);
        (Some(most), most >= top)
    };
    Some(Afford {
        activity,
        plural: kind.plural.clone(),
        counted_in: kind.counted_in.clone(),
        usual,
        most,
        or_more,
    })
}

/// The largest whole amount that works, from 0, which does, to `top`; looked for from a guess.
fn largest(guess: f64, top: f64, works: &dyn Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, top + 1.0);
    let mut next = guess;
    let mut stride = 1.0;
    while high - low > 1.0 {
        let here: f64 = next.clamp(low + 1.0, high - 1.0);
        if works(here) {
            low = here
        } else {
            high = here
        }
        // From the guess outwards in growing strides, then by halves.
        next = match (low == 0.0, high > top) {
            (false, false) => (0.5 * (low + high)).floor(),
            (false, true) => low + stride,
            _ => high - stride,
        };
        stride *= 2.0;
    }
    low
}

/// What would just do if every occurrence cost each life's stocks the same: between the runs with
/// none of it and with the usual amount, whose limits are known.
fn guess(case: &Case, [asis, none]: [&Limits; 2], usual: f64, confidence: f64) -> f64 {
    let until = case.until_hours;
    // Use is in proportion to the time that a level lasts, turned over.
    let enough = |asis: f64, none: f64| {
        let (with, without) = (1.0 / asis.max(1e-3), 1.0 / none.max(1e-3));
        match with > without {
            true => usual * (1.0 / until - without) / (with - without),
            false => f64::INFINITY,
        }
    };
    let mut most: Vec<f64> = vec![f64::INFINITY; case.lives];
    for (asis, none) in asis.passages.iter().zip(&none.passages) {
        for ((most, asis), none) in most.iter_mut().zip(asis).zip(none) {
            *most = most.min(enough(*asis, *none)).max(0.0);
        }
    }
    most.sort_unstable_by(f64::total_cmp);
    safe_hours(&most, confidence).floor()
}
