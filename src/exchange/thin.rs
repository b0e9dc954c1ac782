//! Thinning: of a sensor that is read every minute, the few readings that tell something.
//!
//! First each half hour keeps its middle reading, so that waves in a tank and single slips tell
//! nothing. Then those are left out that lie near the straight line between their neighbours: a
//! reading is kept where no line from the last one kept passes by all that came since. At least one
//! a day is kept, since a level that stands still tells something, too.

use crate::domain::{Moment, hours_between};

/// Readings of so many minutes are one. Common practice, no source: a level is heard by the hour.
const TOGETHER_MIN: i64 = 30;
/// How far a reading that is left out may lie off the line, as a share of what the stock holds.
/// Common practice, no source: what a good gauge is off by.
const OFF: f64 = 0.03;
/// Longest time without a reading, in hours.
const LONGEST_H: f64 = 24.0;

/// A reading.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Point<T> {
    pub at: Moment,
    /// How full, `[0, 1]`.
    pub share: f64,
    pub of: T,
}

/// Those that tell something, in order of time.
pub(super) fn thin<T>(mut points: Vec<Point<T>>) -> Vec<Point<T>> {
    points.sort_by_key(|point| point.at);
    straight(middles(points))
}

/// Of each half hour the reading with the middle level.
fn middles<T>(points: Vec<Point<T>>) -> Vec<Point<T>> {
    let slot = |point: &Point<T>| point.at.timestamp().div_euclid(60 * TOGETHER_MIN);
    let mut kept = Vec::new();
    let mut together: Vec<Point<T>> = Vec::new();
    let mut close = |together: &mut Vec<Point<T>>| {
        together.sort_by(|a, b| a.share.total_cmp(&b.share));
        let middle = together.len() / 2;
        kept.extend(together.drain(..).nth(middle));
    };
    for point in points {
        if together.first().is_some_and(|first| slot(first) != slot(&point)) {
            close(&mut together);
        }
        together.push(point);
    }
    close(&mut together);
    kept
}

/// Leaves out what lies within [`OFF`] of the line between two that are kept.
fn straight<T>(points: Vec<Point<T>>) -> Vec<Point<T>> {
    let mut kept: Vec<Point<T>> = Vec::new();
    // The last one seen, and the slopes of the lines that pass by all seen since the last one kept.
    let mut seen: Option<Point<T>> = None;
    let mut slopes = (f64::NEG_INFINITY, f64::INFINITY);
    for point in points {
        if let Some(from) = kept.last() {
            let mut hours = hours_between(from.at, point.at);
            let mut rise = point.share - from.share;
            let passes = (slopes.0..=slopes.1).contains(&(rise / hours));
            if (!passes || hours > LONGEST_H)
                && let Some(last) = seen.take()
            {
                (hours, rise) = (hours_between(last.at, point.at), point.share - last.share);
                slopes = (f64::NEG_INFINITY, f64::INFINITY);
                kept.push(last);
            }
            slopes = (slopes.0.max((rise - OFF) / hours), slopes.1.min((rise + OFF) / hours));
            seen = Some(point);
        } else {
            kept.push(point);
        }
    }
    kept.extend(seen);
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::Duration;
    use proptest::prelude::*;

    fn series(minutes: i64, shares: &[f64]) -> Vec<Point<usize>> {
        let begins: Moment = "2026-06-01T00:10:00+02:00".parse().unwrap();
        let point = |(n, share): (usize, &f64)| Point {
            at: begins + Duration::minutes(minutes * n as i64),
            share: *share,
            of: n,
        };
        shares.iter().enumerate().map(point).collect()
    }

    fn kept(points: Vec<Point<usize>>) -> Vec<usize> {
        thin(points).into_iter().map(|point| point.of).collect()
    }

    #[test]
    fn a_straight_fall_is_two_readings_and_a_turn_is_kept() {
        // By the hour: ten of fall, then ten of rise.
        let falls: Vec<f64> = (0..10).map(|n| 0.9 - 0.05 * n as f64).collect();
        assert_eq!(kept(series(60, &falls)), [0, 9]);
        let turns: Vec<f64> =
            falls.iter().copied().chain((1..=10).map(|n| 0.45 + 0.05 * n as f64)).collect();
        assert_eq!(kept(series(60, &turns)), [0, 9, 19]);
        // A tank that is filled at once keeps what it was before and what it is after.
        let filled = [0.5, 0.5, 0.5, 0.9, 0.9, 0.9];
        assert_eq!(kept(series(60, &filled)), [0, 2, 3, 5]);
    }

    #[test]
    fn what_stands_still_is_told_once_a_day_and_a_slip_not_at_all() {
        assert_eq!(kept(series(60, &[0.4; 73])), [0, 24, 48, 72]);
        // Minute by minute within one half hour: 0 is a slip of the sensor.
        let mut slip = [0.4; 20];
        slip[7] = 0.0;
        assert_eq!(kept(series(1, &slip)).len(), 1);
        assert!(thin(series(1, &slip))[0].share == 0.4);
        assert_eq!(kept(series(1, &[])), [0; 0]);
        assert_eq!(kept(series(1, &[0.7])), [0]);
    }

    proptest! {
        /// Whatever the series, each reading left out of a half hour's middles lies as near the line
        /// between those kept around it as was asked.
        #[test]
        fn what_is_left_out_lies_on_the_line(
            shares in prop::collection::vec(0.0..=1.0, 1..60), minutes in 30i64..90,
        ) {
            let all = middles(series(minutes, &shares));
            let kept = straight(all.clone());
            prop_assert_eq!((&kept[0], kept.last()), (&all[0], all.last()));
            for point in &all {
                let after = kept.iter().position(|k| k.at >= point.at).unwrap();
                let (to, from) = (&kept[after], &kept[after.saturating_sub(1)]);
                let whole = hours_between(from.at, to.at).max(1e-9);
                let part = hours_between(from.at, point.at) / whole;
                let line = from.share + part * (to.share - from.share);
                prop_assert!(to.at == point.at || (line - point.share).abs() <= OFF + 1e-9);
                prop_assert!(whole <= LONGEST_H + 1e-9 || all.len() < 3);
            }
        }
    }
}
