//! Writes and checks the demo folder.

mod demo_generator {
    pub mod dice;
    pub mod people;
    pub mod sky;
    pub mod trip;
    pub mod van;
    pub mod world;
}

use demo_generator::van::{self, STOCKS};
use demo_generator::world::World;

#[test]
fn tune() {
    let mut best = vec![];
    for seed in 1..6000 {
        let world = World::new(seed);
        let d = world.days_to_limit();
        let four: Vec<f64> = [van::FRESH, van::GREY, van::LIQUIDS, van::BATTERY].iter().filter_map(|&s| d[s]).collect();
        if four.len() < 4 || world.stops.len() > 14 { continue; }
        let out = (0..demo_generator::trip::EVENING_HOUR).any(|h| (0..STOCKS).any(|s| van::is_out(s, world.levels[h][s])));
        let (lo, hi) = (four.iter().fold(9.0f64, |a, b| a.min(*b)), four.iter().fold(0.0f64, |a, b| a.max(*b)));
        let sooner = d.iter().flatten().any(|x| *x < lo);
        if out || sooner || lo < 2.2 || hi > 4.0 { continue; }
        best.push((hi - lo, seed, world));
    }
    best.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (spread, seed, world) in best.into_iter().take(8) {
        let d = world.days_to_limit();
        println!("seed {seed} {spread:.2} stops {:?} moves {:?}", world.stops, world.happenings.iter().filter(|h| matches!(h.1, demo_generator::world::Happening::Camp(_))).map(|h| h.0 / 1440).collect::<Vec<_>>());
        for s in 0..STOCKS {
            let v: Vec<f64> = (0..49).map(|d| (world.levels[d * 24 + 20][s] / van::CAPACITY[s] * 100.0).round()).collect();
            let min = v.iter().fold(100.0f64, |a, b| a.min(*b));
            println!("  {:14} {:?} min {min} {:?}", van::NAMES[s], d[s].map(|x| (x * 100.0).round() / 100.0), if s == 4 || s == 5 || s == 1 {v} else {vec![]});
        }
    }
}
