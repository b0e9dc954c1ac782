//! Which reading would sharpen the forecast most.
//!
//! Each life holds a level that may be the true one, and a moment at which its first limit is
//! met. Sorting the lives by what a gauge would show in each, and taking the band of the next
//! stop among those that would show the same, says how wide the band would be after that
//! reading; averaged over what it may show, how much it would narrow. Nothing is run again.

use super::answer::{ReadingTime, ReadingValue};
use super::lives::Lives;
use super::passages::select;
use super::practice::{FRESH_HOURS, GUESS, LEAST_LIVES};
use crate::belief::Beliefs;
use crate::domain::{Gauge, Moment, Stock};
use chrono::Duration;

/// What a look at each stock tonight, and at the battery at breakfast, would take off the band of the
/// next stop, the most first. `first` holds each life's hours to the first limit. Empty where the band
/// has no width to lose.
pub fn looks(beliefs: &Beliefs, lives: &Lives, first: &[f64], now: Moment) -> Vec<ReadingValue> {
    let whole = width(first.iter().copied());
    let Some(whole) = whole.filter(|hours| *hours > 0.5) else { return Vec::new() };
    let (mut looks, electric) = (Vec::<ReadingValue>::new(), beliefs.mechanism.electric);
    for (index, stock) in beliefs.mechanism.stocks().iter().enumerate() {
        let readings = &beliefs.readings[index];
        let lately = readings.last().is_some_and(|r| r.at > now - Duration::hours(FRESH_HOURS));
        if stock.reset_by_camp {
            continue;
        }
        let guess = readings.iter().rev().find(|r| !r.service).map(|r| r.high - r.low);
        let step = guess.map_or(GUESS, |width| (width / stock.capacity).clamp(0.01, 1.0));
        let mut look = |levels: &[f64], when: ReadingTime| {
            let shows = levels.iter().map(|level| shown(stock, *level, step));
            let left = expected_width(shows, first);
            let gauge = stock.gauge != Gauge::None;
            let narrows = (1.0 - left / whole).clamp(0.0, 1.0);
            looks.push(ReadingValue { stock: stock.name.clone(), gauge, when, narrows });
        };
        if !lately {
            look(&lives.first[index], ReadingTime::Tonight);
        }
        if let Some(lowest) = lives.lowest.first().filter(|_| electric == Some(index)) {
            let lowest: Vec<f64> = lowest.iter().map(|level| f64::from(*level)).collect();
            look(&lowest, ReadingTime::AtBreakfast);
        }
    }
    looks.sort_by(|a, b| b.narrows.total_cmp(&a.narrows));
    looks
}

/// What would be read at a level, as a number that is the same for levels that look the same.
fn shown(stock: &Stock, level: f64, guess: f64) -> f64 {
    let share = level / stock.capacity;
    match &stock.gauge {
        Gauge::Step(step) => (share / step).round(),
        Gauge::Ladder(marks) => marks.iter().filter(|mark| **mark <= share).count() as f64,
        Gauge::None => (share / guess).round(),
    }
}

/// Mean width of the band among lives that show the same, weighted by how many they are.
/// `shows` are whole numbers, not negative.
fn expected_width(shows: impl Iterator<Item = f64>, first: &[f64]) -> f64 {
    let mut order: Vec<(u32, f64)> = shows.map(|s| s as u32).zip(first.iter().copied()).collect();
    // Few are different, which sorts quickly.
    order.sort_unstable_by_key(|(shown, _)| *shown);
    let shown = |place: usize| order[place].0;
    let mut begins: Vec<usize> = vec![0];
    for place in 1..order.len() {
        let begun = place - begins[begins.len() - 1];
        if begun >= LEAST_LIVES && shown(place - 1) != shown(place) {
            begins.push(place);
        }
    }
    if begins.len() > 1 && order.len() - begins[begins.len() - 1] < LEAST_LIVES {
        begins.pop();
    }
    let ends = begins.iter().skip(1).copied().chain([order.len()]);
    let bins = begins.iter().zip(ends).map(|(begin, end)| &order[*begin..end]);
    let all = order.len().max(1) as f64;
    bins.map(|bin| {
        let own = width(bin.iter().map(|(_, first)| *first)).unwrap_or(0.0);
        own * bin.len() as f64 / all
    })
    .sum()
}

/// Hours from P10 to P90; lives without a limit within the horizon count as [`FAR`].
fn width(hours: impl Iterator<Item = f64>) -> Option<f64> {
    let [low, high] = select(hours.map(|h| h.min(FAR) as f32), [0.1, 0.9]);
    Some(high? - low?)
}

/// Hours that stand for "not within the horizon".
const FAR: f64 = 720.0;

#[cfg(test)]
mod tests {
    use super::*;

    /// Levels 0 to 99 in a hundred lives, thrice; the first limit comes an hour per unit later.
    #[test]
    fn a_finer_gauge_leaves_a_narrower_band() {
        let levels: Vec<f64> = (0..300).map(|i| f64::from(i / 3)).collect();
        let first: Vec<f64> = levels.iter().map(|level| 10.0 + level).collect();
        let whole = width(first.iter().copied()).unwrap();
        assert!((whole - 80.0).abs() < 1.0, "{whole}");
        let halves = levels.iter().map(|level| (level / 50.0).floor());
        let left = expected_width(halves, &first);
        assert!((left - 40.0).abs() < 1.5, "{left}");
        assert_eq!(expected_width([0.0; 300].into_iter(), &first), whole);
        // Showing something that has nothing to do with the passage takes nothing away.
        let other = (0..300).map(|i| f64::from((i * 7 / 3) % 3));
        assert!(expected_width(other, &first) > 0.93 * whole);
    }
}
