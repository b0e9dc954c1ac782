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
    let place = (a * values.len() as f64 - 0.5).clamp(0.0, (values.len() - 1) as f64);
    let (below, part) = (place as usize, place.fract());
    let low = values[below];
    let high = values[(below + 1).min(values.len() - 1)];
    let value = if part == 0.0 { low } else { low + part * (high - low) };
    value.is_finite().then_some(value)
}

/// The seven quantiles of some passages.
pub fn quantiles(passages: &[f64]) -> Quantiles {
    let mut sorted = passages.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let at = |a| quantile(&sorted, a);
    Quantiles {
        p05: at(0.05),
        p10: at(0.10),
        p25: at(0.25),
        p50: at(0.50),
        p75: at(0.75),
        p90: at(0.90),
        p95: at(0.95),
    }
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
        let mut sorted: Vec<f64> = lowest.iter().map(|v| f64::from(*v)).collect();
        sorted.sort_unstable_by(f64::total_cmp);
        let low = quantile(&sorted, 0.1).unwrap_or(0.0);
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
            let mut sorted: Vec<f64> = levels[stock].iter().map(|v| f64::from(*v)).collect();
            sorted.sort_unstable_by(f64::total_cmp);
            let at = |a| quantile(&sorted, a).unwrap_or(0.0);
            FanPoint {
                hour: ((point + 1) * FAN_STEP) as f64,
                p10: at(0.1),
                p50: at(0.5),
                p90: at(0.9),
            }
        })
        .collect()
}
