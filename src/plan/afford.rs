//! How many showers, meals or work hours can be afforded over a stretch, all else as usual.

use super::answer::Afford;
use super::case::Case;
use super::change::Change;
use super::options::can_be_less;
use crate::belief::UNLOGGED_SHARE;

/// More than this many times the usual is not tried.
const MOST_TIMES: f64 = 3.0;

/// For each activity that takes something: the largest whole amount that still works.
pub fn afford(case: &Case, confidence: f64) -> Vec<Afford> {
    let activities = case.beliefs.mechanism.parts.activities.len();
    (0..activities)
        .filter(|activity| can_be_less(case, *activity))
        .filter_map(|activity| of(case, activity, confidence))
        .collect()
}

/// What habit expects of an activity over the stretch, in the activity's unit.
pub fn usual(case: &Case, activity: usize) -> f64 {
    let habit = &case.beliefs.habits[activity];
    let until = (case.until_hours.round() as usize).min(case.scene.hours.len());
    let hours = &case.scene.hours[case.from_hour.min(until)..until];
    let days: f64 = hours
        .iter()
        .map(|hour| habit.people(hour.aboard) * case.scene.shares[activity][hour.hour])
        .sum();
    habit.rate().mean / (1.0 - UNLOGGED_SHARE) * days
}

fn of(case: &Case, activity: usize, confidence: f64) -> Option<Afford> {
    let usual = usual(case, activity);
    if usual <= 0.0 {
        return None;
    }
    let kind = &case.beliefs.mechanism.parts.activities[activity];
    let works = |amount: f64| {
        let change = Change::Rate { activity, factor: amount / usual };
        case.with(&[change]).outcome().probability >= confidence
    };
    let top = (usual * MOST_TIMES).ceil();
    let (most, or_more) = if works(top) {
        (Some(top), true)
    } else if !works(0.0) {
        (None, false)
    } else {
        let (mut low, mut high) = (0.0, top);
        while high - low > 1.0 {
            let middle = (0.5 * (low + high)).floor();
            if works(middle) { low = middle } else { high = middle }
        }
        (Some(low), false)
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
