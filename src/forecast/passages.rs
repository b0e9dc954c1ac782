//! From the lives' passages to quantiles, binding shares, dips and fans.

use super::Quantiles;
use super::answer::{Dip, FanPoint};
use super::lives::{FAN_STEP, Lives};
use crate::domain::{Estimate, Stock};

/// Numbers, the smallest first.
pub fn sorted(values: impl IntoIterator<Item = f64>) -> Vec<f64> {
    let mut sorted: Vec<f64> = values.into_iter().collect();
    sorted.sort_unstable_by(f64::total_cmp);
    sorted
}

/// The value that a share `a` of the sorted `values` does not exceed, interpolated between
/// neighbours; `None` where it is not finite or `values` is empty.
pub fn quantile(values: &[f64], a: f64) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let (below, part) = place(values.len(), a);
    between(values[below], values[(below + 1).min(values.len() - 1)], part)
}

/// Where a share stands among that many sorted values: the index below, and how far past it.
fn place(count: usize, a: f64) -> (usize, f64) {
    let place = (a * count as f64 - 0.5).clamp(0.0, (count - 1) as f64);
    (place as usize, place.fract())
}

fn between(low: f64, high: f64, part: f64) -> Option<f64> {
    let value = if part == 0.0 { low } else { low + part * (high - low) };
    value.is_finite().then_some(value)
}

/// [`quantile`]s of values in any order, without sorting all of them: `shares` ascending.
pub fn select<const N: usize>(
    values: impl Iterator<Item = f32>,
    shares: [f64; N],
) -> [Option<f64>; N] {
    let mut all: Vec<f32> = values.collect();
    if all.is_empty() {
        return [None; N];
    }
    let places = shares.map(|a| place(all.len(), a));
    arrange(&mut all, &places.map(|(below, _)| below), 0);
    std::array::from_fn(|i| {
        let (below, part) = places[i];
        // Whatever lies beyond the next place that was asked for is larger than what lies there.
        let next = places[i..].iter().map(|p| p.0 + 1).find(|end| *end > below + 1);
        let above = all[below + 1..next.unwrap_or(all.len())].iter().copied();
        let low = f64::from(all[below]);
        between(low, above.min_by(f32::total_cmp).map_or(low, f64::from), part)
    })
}

/// Puts the values of these places, ascending, where sorting would put them, with nothing larger
/// before and nothing smaller behind. `values` begin at place `from`.
fn arrange(values: &mut [f32], places: &[usize], from: usize) {
    if places.is_empty() {
        return;
    }
    let middle = places[places.len() / 2];
    let (before, _, behind) = values.select_nth_unstable_by(middle - from, f32::total_cmp);
    arrange(before, &places[..places.partition_point(|place| *place < middle)], from);
    arrange(behind, &places[places.partition_point(|place| *place <= middle)..], middle + 1);
}

/// The seven quantiles of some passages.
pub fn quantiles(passages: &[f64]) -> Quantiles {
    // Single precision is a second and a half in a month.
    let hours = passages.iter().map(|hours| *hours as f32);
    let [p05, p10, p25, p50, p75, p90, p95] =
        select(hours, [0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95]);
    Quantiles { p05, p10, p25, p50, p75, p90, p95 }
}

/// Share of lives that meet no limit within the horizon.
pub(super) fn share_beyond(passages: &[f64]) -> f64 {
    let beyond = passages.iter().filter(|hours| hours.is_infinite()).count();
    beyond as f64 / passages.len().max(1) as f64
}

/// Hours to the first limit met in each life, and the share of lives in which each stock is the
/// first; from passages, `[stock][life]`.
pub fn first_passages(passages: &[Vec<f64>]) -> (Vec<f64>, Vec<f64>) {
    let count = passages.first().map_or(0, Vec::len);
    let mut first = vec![f64::INFINITY; count];
    let mut by = vec![usize::MAX; count];
    for (stock, passages) in passages.iter().enumerate() {
        for ((passage, first), by) in passages.iter().zip(&mut first).zip(&mut by) {
            if passage < first {
                (*first, *by) = (*passage, stock);
            }
        }
    }
    let mut binding = vec![0.0; passages.len()];
    for stock in by.into_iter().filter(|stock| *stock != usize::MAX) {
        binding[stock] += 1.0 / count as f64;
    }
    (first, binding)
}

/// Days ahead on which the electric store comes within a tenth of its room of the limit in at
/// least one life in ten, until the day by which more than half of the lives are out.
pub fn dips(lives: &Lives, stock: &Stock, passages: &[f64], horizon_hours: usize) -> Vec<Dip> {
    let mut dips = Vec::new();
    for (day, lowest) in lives.lowest.iter().enumerate() {
        let ends = ((day + 1) * 24).min(horizon_hours) as f64;
        let out = passages.iter().filter(|hours| **hours <= ends).count() as f64;
        let out = out / lives.count.max(1) as f64;
        let [low] = select(lowest.iter().copied(), [0.1]);
        let low = low.unwrap_or(0.0);
        let room = (low - stock.limit()) / stock.capacity;
        if room < 0.1 {
            dips.push(Dip { hour: (day * 24) as f64 + 12.0, out, room });
        }
    }
    dips
}

/// The fan of one stock's levels.
pub fn fan(lives: &Lives, stock: usize) -> Vec<FanPoint> {
    (0..lives.fans.points())
        .map(|point| {
            let shares = select(lives.fans.levels(point, stock), [0.1, 0.5, 0.9]);
            let [p10, p50, p90] = shares.map(|level| level.unwrap_or(0.0));
            FanPoint { hour: ((point + 1) * FAN_STEP) as f64, p10, p50, p90 }
        })
        .collect()
}

/// A level's mean and spread from drawn lives.
pub fn estimate(values: impl Iterator<Item = f64> + Clone) -> Estimate {
    let n = values.clone().count().max(1) as f64;
    let mean = values.clone().sum::<f64>() / n;
    let variance = values.map(|v| (v - mean).powi(2)).sum::<f64>() / n;
    Estimate { mean, sd: variance.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Picking is sorting and looking, ties and hours that never come included.
        #[test]
        fn picked_quantiles_are_those_of_the_sorted_values(
            values in prop::collection::vec(
                prop_oneof![-9.0..999.0_f32, Just(4.0), Just(0.0), Just(f32::INFINITY)], 0..90
            ),
        ) {
            let shares = [0.0, 0.1, 0.1, 0.5, 0.52, 0.9, 1.0];
            let sorted = sorted(values.iter().map(|v| f64::from(*v)));
            let wanted = shares.map(|a| quantile(&sorted, a));
            prop_assert_eq!(select(values.into_iter(), shares), wanted);
        }
    }
}
