//! How much to buy where on a fixed way, when prices differ.
//!
//! One stock, one way, stations in order along it. The best policy between two purchases: where
//! the next cheaper station is within reach, buy just enough to get there empty; else fill up
//! and go on. Structure: Khuller, Malekian and Mestre, "To fill or not to fill", ESA 2007 and
//! ACM TALG 2011.

/// A station on the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Station {
    /// Where it is, in what one unit of the stock carries the van.
    pub at: f64,
    /// Price of one unit.
    pub price: f64,
}

/// Amounts to buy at each station to reach `goal` at the least cost, starting with `start` at
/// position 0, never holding more than `capacity` (above 0). `None` when a gap is too long.
pub(super) fn cheapest(capacity: f64, start: f64, way: &[Station], goal: f64) -> Option<Vec<f64>> {
    let mut bought = vec![0.0; way.len()];
    let (mut held, mut at) = (start.min(capacity), 0.0);
    for (index, station) in way.iter().enumerate() {
        held -= station.at - at;
        at = station.at;
        if held < -1e-9 {
            return None;
        }
        held = held.max(0.0);
        let cheaper = way[index + 1..].iter().find(|next| next.price <= station.price);
        let next = cheaper.map_or(goal, |next| next.at).min(goal);
        let wanted = (next - at).min(capacity);
        bought[index] = (wanted - held).max(0.0);
        held += bought[index];
    }
    (held + 1e-9 >= goal - at).then_some(bought)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn way(stations: &[(f64, f64)]) -> Vec<Station> {
        stations.iter().map(|(at, price)| Station { at: *at, price: *price }).collect()
    }

    fn cost(way: &[Station], bought: &[f64]) -> f64 {
        way.iter().zip(bought).map(|(station, amount)| station.price * amount).sum()
    }

    /// Whole-number dynamic programme over what is held.
    fn exhaustive(capacity: usize, way: &[(usize, usize)], goal: usize) -> Option<usize> {
        let mut best: Vec<Option<usize>> = vec![None; capacity + 1];
        best[0] = Some(0);
        let mut at = 0;
        for (n, (place, price)) in way.iter().enumerate() {
            let mut there: Vec<Option<usize>> = vec![None; capacity + 1];
            for held in 0..=capacity {
                if held >= place - at
                    && let Some(paid) = best[held]
                {
                    there[held - (place - at)] = Some(paid);
                }
            }
            for held in 1..=capacity {
                let more = there[held - 1].map(|paid| paid + price);
                there[held] = [there[held], more].into_iter().flatten().min();
            }
            (best, at) = (there, *place);
            if n + 1 == way.len() {
                return (goal - at..=capacity).filter_map(|held| best[held]).min();
            }
        }
        None
    }

    proptest! {
        #[test]
        fn costs_what_trying_everything_costs(
            gaps in prop::collection::vec(1usize..6, 1..6),
            prices in prop::collection::vec(1usize..9, 6),
            capacity in 3usize..9,
        ) {
            let mut stations = vec![(0, prices[5])];
            for (gap, price) in gaps.iter().zip(&prices).take(gaps.len() - 1) {
                stations.push((stations[stations.len() - 1].0 + gap, *price));
            }
            let goal = stations[stations.len() - 1].0 + gaps[gaps.len() - 1];
            let real: Vec<_> = stations.iter().map(|(at, p)| (*at as f64, *p as f64)).collect();
            let ours = cheapest(capacity as f64, 0.0, &way(&real), goal as f64);
            let ours = ours.map(|bought| cost(&way(&real), &bought).round() as usize);
            prop_assert_eq!(ours, exhaustive(capacity, &stations, goal));
        }
    }
}
