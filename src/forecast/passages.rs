//! From the lives' passages to quantiles, binding shares, dips and fans.

use super::answer::{Dip, FanPoint, Quantiles};
use super::lives::{FAN_STEP, Lives};
use crate::domain::stock::Stock;

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
/// `values` are left partly sorted.
pub fn select<const N: usize>(values: &mut [f32], shares: [f64; N]) -> [Option<f64>; N] {
    let (all, mut from) = (values.len(), 0);
    shares.map(|a| {
        if all == 0 {
            return None;
        }
        let (below, part) = place(all, a);
        // What lies before `from` is already smaller than everything behind it.
        if below >= from {
            values[from..].select_nth_unstable_by(below - from, f32::total_cmp);
            from = below;
        }
        let low = f64::from(values[below]);
        let next = values[below + 1..].iter().copied().min_by(f32::total_cmp);
        between(low, next.map_or(low, f64::from), part)
    })
}

/// The seven quantiles of some passages.
pub fn quantiles(passages: &[f64]) -> Quantiles {
    // Single precision is a second and a half in a month.
    let mut hours: Vec<f32> = passages.iter().map(|hours| *hours as f32).collect();
    let [p05, p10, p25, p50, p75, p90, p95] =
        select(&mut hours, [0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95]);
    Quantiles { p05, p10, p25, p50, p75, p90, p95 }
}

/// Hours to the first limit met in each life, and how often each stock is the first.
pub fn first_passages(lives: &Lives) -> (Vec<f64>, Vec<f64>) {
    let mut first = vec![f64::INFINITY; lives.count];
    let mut by = vec![usize::MAX; lives.count];
    for (stock, passages) in lives.passages.iter().enumerate() {
        for (life, hours) in passages.iter().enumerate() {
            if *hours < first[life] {
                first[life] = *hours;
                by[life] = stock;
            }
        }
    }
    let mut binding = vec![0.0; lives.passages.len()];
    for stock in by.into_iter().filter(|stock| *stock != usize::MAX) {
        binding[stock] += 1.0 / lives.count as f64;
    }
    (first, binding)
}

/// Days ahead on which the electric store comes within a tenth of its room of the limit in at
/// least one life in ten, until the day by which half the lives are out.
pub fn dips(lives: &Lives, stock: &Stock, passages: &[f64], horizon_hours: usize) -> Vec<Dip> {
    let mut dips = Vec::new();
    for (day, lowest) in lives.lowest.iter().enumerate() {
        let ends = ((day + 1) * 24).min(horizon_hours) as f64;
        let out = passages.iter().filter(|hours| **hours <= ends).count() as f64;
        let out = out / lives.count.max(1) as f64;
        let [low] = select(&mut lowest.clone(), [0.1]);
        let low = low.unwrap_or(0.0);
        let room = (low - stock.limit()) / stock.capacity;
        if room < 0.1 {
            dips.push(Dip { hour: (day * 24) as f64 + 12.0, out, room });
        }
        if out > 0.5 {
            break;
        }
    }
    dips
}

/// The fan of one stock's levels.
pub fn fan(lives: &Lives, stock: usize) -> Vec<FanPoint> {
    lives
        .fans
        .iter()
        .enumerate()
        .map(|(point, levels)| {
            let shares = select(&mut levels[stock].clone(), [0.1, 0.5, 0.9]);
            let [p10, p50, p90] = shares.map(|level| level.unwrap_or(0.0));
            FanPoint { hour: ((point + 1) * FAN_STEP) as f64, p10, p50, p90 }
        })
        .collect()
}
