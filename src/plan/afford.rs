//! How many showers, meals or work hours can be afforded over a stretch, all else as usual.

use super::answer::Afford;
use super::case::Case;
use super::change::Change;
use super::options::can_be_less;
use super::practice::{MOST_TIMES, NONE};

/// For each activity that takes something: the largest whole amount that still works.
/// Where the stretch is known to work, by more lives than these, they are as sure as it is on them:
/// chance never says that it lasts, and then that not even none of it does.
pub(super) fn afford(case: &Case, as_it_is: AsItIs, confidence: f64) -> Vec<Afford> {
    let activities = case.beliefs.mechanism.parts.activities.len();
    let confidence = match as_it_is {
        AsItIs::Works => confidence.min(case.limits().probability),
        AsItIs::Fails => confidence,
    };
    (0..activities)
        .filter(|activity| can_be_less(case, *activity))
        .filter_map(|activity| of(case, activity, confidence))
        .collect()
}

/// What is known of the stretch as it is.
#[derive(Clone, Copy)]
pub(super) enum AsItIs {
    /// It is as sure as was asked.
    Works,
    /// It is not.
    Fails,
}

/// What habit expects of an activity over the stretch, in the activity's unit.
fn usual(case: &Case, activity: usize) -> f64 {
    let habit = &case.beliefs.habits[activity];
    let until = (case.until_hours.round() as usize).min(case.scene.hours.len());
    let hours = &case.scene.hours[case.from_hour.min(until)..until];
    let days: f64 = hours.iter().map(|hour| case.scene.exposure(activity, habit, hour)).sum();
    habit.true_rate().mean * days
}

fn of(case: &Case, activity: usize, confidence: f64) -> Option<Afford> {
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
    let works = |amount: f64| run(amount).probability >= confidence;
    let most = works(0.0).then(|| if works(top) { top } else { largest(top, &works) });
    let or_more = most.is_some_and(|most| most >= top);
    let (plural, counted_in) = (kind.plural.clone(), kind.counted_in.clone());
    Some(Afford { activity, plural, counted_in, usual, most, or_more })
}

/// The largest whole amount that works, from 0, which does, to `top`.
fn largest(top: f64, works: &dyn Fn(f64) -> bool) -> f64 {
    let (mut low, mut high) = (0.0, top + 1.0);
    while high - low > 1.0 {
        let middle = (0.5 * (low + high)).floor();
        if works(middle) { low = middle } else { high = middle }
    }
    low
}
