//! Nothing is lost and nothing comes from nowhere, on rigs that nobody would build: random
//! numbers of stocks, activities, shares and weeks.

use super::world::{World, mean};
use proptest::prelude::*;
use waystock::forecast::lives::{self, Lives};
use waystock::mechanism::climate::{ClimateValues, FuelsOut, Kit, Surroundings};
use waystock::physics;

/// One tank that people take from, and where what they take goes.
#[derive(Debug, Clone)]
struct Source {
    /// Wh per unit for the pump.
    lift_wh: f64,
    /// Degrees to which what is taken is warmed, if it is.
    warmed_to: Option<f64>,
    /// Relative share that each filling tank gets.
    shares: Vec<f64>,
    /// What all shares come to; the rest is drunk or dries.
    returned: f64,
    /// Activities: amount, spread, times a day.
    activities: Vec<(f64, f64, f64)>,
    /// Unlogged use per person-day.
    base: f64,
}

fn any_source(fills: usize) -> impl Strategy<Value = Source> {
    (
        0.0..0.5_f64,
        proptest::option::of(30.0..70.0_f64),
        proptest::collection::vec(0.0..1.0_f64, fills),
        0.0..1.0_f64,
        proptest::collection::vec((0.5..9.0_f64, 0.0..0.5_f64, 0.05..1.5_f64), 0..4),
        0.05..3.0_f64,
    )
        .prop_map(|(lift_wh, warmed_to, shares, returned, activities, base)| Source {
            lift_wh,
            warmed_to,
            shares,
            returned,
            activities,
            base,
        })
}

impl Source {
    /// Share of what is taken that reaches a filling tank.
    fn share(&self, fill: usize) -> f64 {
        let sum: f64 = self.shares.iter().sum();
        if sum > 0.0 { 0.999 * self.returned * self.shares[fill] / sum } else { 0.0 }
    }

    fn processes(&self, index: usize) -> (String, String) {
        let gives: String = (0..self.shares.len())
            .filter(|fill| self.share(*fill) > 0.0)
            .map(|fill| {
                let share = self.share(fill);
                format!(
                    "(stock: \"fill {fill}\", share: {share}, of: \"tank {index}\", spread: 0), "
                )
            })
            .collect();
        let warmed = self.warmed_to.map_or(String::new(), |c| format!(", warmed_to: {c}"));
        let moves = |amount: f64, spread: f64| {
            format!(
                "takes: [(stock: \"tank {index}\", amount: {amount}, spread: {spread}{warmed})], \
                 gives: [{gives}]"
            )
        };
        let activity = |(place, (amount, spread, usual)): (usize, &(f64, f64, f64))| {
            format!(
                "(name: \"use {place} of {index}\", usual: {usual}, usual_spread: 0.4, \
                 per: person, {}),\n",
                moves(*amount, *spread)
            )
        };
        let base =
            format!("(name: \"base {index}\", per: person_day, {}),\n", moves(self.base, 0.2));
        (self.activities.iter().enumerate().map(activity).collect(), base)
    }
}

/// Tanks that neither run out nor over, a battery, and gas that warms the water.
fn world(sources: &[Source], fills: usize, weeks: usize, crew: f64) -> World {
    let tanks: String = sources
        .iter()
        .enumerate()
        .map(|(i, s)| {
            format!(
                "(name: \"tank {i}\", runs: down, unit: \"L\", capacity: 9000, lift_wh: {}),\n",
                s.lift_wh
            )
        })
        .collect();
    let filling: String = (0..fills)
        .map(|i| format!("(name: \"fill {i}\", runs: up, unit: \"L\", capacity: 90000),\n"))
        .collect();
    let (activities, base): (String, String) =
        sources.iter().enumerate().map(|(i, s)| s.processes(i)).unzip();
    let world = World::of(&format!(
        "stocks: [{tanks}{filling}(name: \"battery\", runs: down, unit: \"Wh\", capacity: 30000),\n\
         (name: \"gas\", runs: down, unit: \"kg\", capacity: 2000)],\n\
         activities: [{activities}],\nbase: [{base}],\n\
         electrics: (store: \"battery\", volts: 12.8, chemistry: lithium, standing_w: 0,\n\
         standing_spread: 0, charge_efficiency: 0.96, discharge_efficiency: 0.93),\n\
         hot_water: (from: \"gas\", wh_per_unit: 12870, efficiency: 0.7, cold_c: 9),\n"
    ))
    .crew(crew)
    .horizon(7 * weeks);
    start(world, sources.len(), fills)
}

/// Levels are known, everything else is as unsure as the file says.
fn start(mut world: World, tanks: usize, fills: usize) -> World {
    let exact = |mean| waystock::domain::estimate::Estimate { mean, sd: 0.0 };
    let stocks = world.beliefs.mechanism.stocks().len();
    let mut all: Vec<_> = (0..tanks).map(|_| exact(8900.0)).collect();
    all.extend((0..fills).map(|_| exact(10.0)));
    all.extend([exact(29_000.0), exact(1900.0)]);
    let coefficients = 0..world.beliefs.mechanism.coefficients.len();
    all.extend(coefficients.map(|i| world.beliefs.joint.estimate(stocks + i)));
    all.extend(world.beliefs.manner.estimates());
    world.beliefs.joint = waystock::belief::joint::Joint::independent(&all);
    for draw in &mut world.beliefs.electric {
        draw.level_wh = 29_000.0;
    }
    world
}

/// What each stock gained in a life from the start to the end of the horizon.
fn gains(lives: &Lives, life: usize) -> Vec<f64> {
    let last = lives.fans.points() - 1;
    (0..lives.first.len()).map(|s| lives.fans.level(last, s, life) - lives.first[s][life]).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    /// Whatever leaves a tank arrives in the others by its shares, costs its pump's energy and
    /// its heat, in every life, over weeks.
    #[test]
    fn what_leaves_one_stock_arrives_or_is_accounted_for(
        (fills, sources) in (1usize..4).prop_flat_map(|fills| {
            (Just(fills), proptest::collection::vec(any_source(fills), 1..4))
        }),
        weeks in 1usize..5, crew in 1u8..5,
    ) {
        let world = world(&sources, fills, weeks, f64::from(crew));
        let scene = world.scene(None);
        let lives = lives::run_with_fans(&world.beliefs, &scene, 1, 40);
        for life in 0..40 {
            let gained = gains(&lives, life);
            let lost: Vec<f64> = gained[..sources.len()].iter().map(|g| -g).collect();
            prop_assert!(lost.iter().all(|l| *l > 0.0), "{lost:?}");
            // A tank that ran dry gave less than was asked of it, which is no matter of shares.
            prop_assume!(lost.iter().all(|l| *l < 8800.0));
            let moved: f64 = lost.iter().sum();
            // Fans are in single precision: a 9000 L tank to half a millilitre, each way.
            let near = |got: f64, want: f64, whole: f64| (got - want).abs() < 2e-7 * whole + 1e-6;
            for fill in 0..fills {
                let arrived = gained[sources.len() + fill];
                let want: f64 =
                    lost.iter().zip(&sources).map(|(lost, s)| lost * s.share(fill)).sum();
                prop_assert!(near(arrived, want, 9000.0 * 4.0), "{arrived} {want} of {moved}");
            }
            let pump_wh: f64 = lost.iter().zip(&sources).map(|(l, s)| l * s.lift_wh).sum();
            let drawn_wh = -gained[sources.len() + fills];
            // The battery's level is stepped in single precision. Below 32,768 the last place is
            // 1/512; two additions an hour are each off by half of it at most.
            let hours = 168.0 * weeks as f64;
            let off = (drawn_wh - pump_wh / 0.93).abs();
            prop_assert!(off < hours / 512.0 + 0.01, "{drawn_wh} {pump_wh}");
            let heat_wh: f64 = lost
                .iter()
                .zip(&sources)
                .filter_map(|(lost, s)| {
                    Some(lost * physics::water::heat_wh(1.0, 9.0, s.warmed_to?))
                })
                .sum();
            let gas = -gained[sources.len() + fills + 1];
            prop_assert!(near(gas, heat_wh / (0.7 * 12_870.0), 9000.0), "{gas} {heat_wh}");
        }
    }

    /// The lives' battery against a ledger kept beside them in double precision, hour by hour,
    /// on random kit and weather: in = out + stored + lost, and the two end at the same level.
    #[test]
    fn the_battery_balances(
        panels_w in 0.0..900.0_f64, tilt in 0u8..60, standing in 0.0..60.0_f64,
        fridge in 5.0..40.0_f64, (charge, discharge) in (0.7..1.0_f64, 0.8..1.0_f64),
        capacity in 800.0..9000.0_f64, full in 0.2..1.0_f64, days in 3usize..15,
        (low_c, range) in (-5.0..18.0_f64, 0.0..15.0_f64), clearness in 0.05..1.05_f64,
    ) {
        let world = World::of(&format!(
            "stocks: [(name: \"battery\", runs: down, unit: \"Wh\", capacity: {capacity})],\n\
             electrics: (store: \"battery\", volts: 12.8, chemistry: lithium,\n\
             charge_efficiency: {charge}, discharge_efficiency: {discharge},\n\
             panels: [(rated_w: {}, tilt: {tilt}, facing: 150)],\n\
             fridge: (mean_w: {fridge}), standing_w: {}),\n",
            panels_w + 1.0, standing + 0.1,
        ))
        .horizon(days)
        .certain(&[full * capacity], 1.0);
        let scene = world.scene(Some((low_c, low_c + range, clearness)));
        let lives = lives::run_with_fans(&world.beliefs, &scene, 1, 1);
        let ledger = Ledger::keep(&world, &scene, full * capacity, capacity, charge, discharge);
        let (start, end) = (full * capacity, ledger.level_wh);
        let closes = ledger.offered_wh + start - ledger.served_wh - ledger.lost_wh - end;
        prop_assert!(closes.abs() < 1e-6, "{ledger:?} leaves {closes}");
        let got = lives.fans.level(lives.fans.points() - 1, 0, 0);
        // Single precision over a few hundred hours.
        prop_assert!((got - end).abs() < 1e-3 * capacity.max(1000.0), "{got} {end}");
    }
}

/// Energy of a battery's sources and loads, and where it went, in Wh.
#[derive(Debug, Default)]
struct Ledger {
    level_wh: f64,
    /// What the sources offered.
    offered_wh: f64,
    /// What the loads got.
    served_wh: f64,
    /// Surplus at full, and what charging and discharging waste.
    lost_wh: f64,
}

impl Ledger {
    fn keep(
        world: &World,
        scene: &waystock::forecast::scene::Scene,
        level_wh: f64,
        capacity_wh: f64,
        charge_efficiency: f64,
        discharge_efficiency: f64,
    ) -> Ledger {
        let mechanism = &world.beliefs.mechanism;
        let kit: Kit<f64> = Kit::of(mechanism);
        let of = |index: Option<usize>| index.map_or(0.0, |i| mechanism.coefficients[i].mean);
        let values = ClimateValues {
            panel_factor: of(mechanism.factors.panels),
            fridge_w: of(mechanism.factors.fridge),
            standing_w: of(mechanism.factors.standing),
            loss_w_per_k: 0.0,
            heater_draw: 1.0,
            tending: 1.0,
        };
        let mut ledger = Ledger { level_wh, ..Ledger::default() };
        for hour in &scene.hours {
            let sky = scene.days[hour.day].sky;
            let outside_c = sky.low_c + (sky.high_c - sky.low_c) * hour.warmth;
            let shared = kit.shared(
                Surroundings {
                    hour: hour.hour,
                    aboard: hour.aboard,
                    outside_c,
                    out: FuelsOut::default(),
                },
                &hour.sun,
            );
            let (flows, _) = kit.alone(&shared, sky.clearness, &values);
            let accepted = if flows.accepted > 0.0 { charge_efficiency } else { 0.0 };
            let load_wh = flows.load_wh * discharge_efficiency;
            ledger.step(flows.offered_wh, load_wh, accepted, discharge_efficiency, capacity_wh);
        }
        ledger
    }

    /// One hour, told apart by what becomes of each watt-hour: charge feeds the load first, what is
    /// left over goes in up to full, what is lacking comes out down to empty.
    fn step(
        &mut self,
        offered_wh: f64,
        load_wh: f64,
        accepted: f64,
        discharge_efficiency: f64,
        capacity_wh: f64,
    ) {
        let direct_wh = offered_wh.min(load_wh);
        let (spare_wh, lacking_wh) = (offered_wh - direct_wh, load_wh - direct_wh);
        let stored_wh = (spare_wh * accepted).min(capacity_wh - self.level_wh);
        let taken_wh = (lacking_wh / discharge_efficiency).min(self.level_wh);
        let delivered_wh = taken_wh * discharge_efficiency;
        self.level_wh += stored_wh - taken_wh;
        self.offered_wh += offered_wh;
        self.served_wh += direct_wh + delivered_wh;
        self.lost_wh += spare_wh - stored_wh + taken_wh - delivered_wh;
    }
}

/// A pair in a plain van over four weeks: what people logged is what the tanks say, on average
/// over the lives, so that no habit leaks.
#[test]
fn habits_move_what_they_say() {
    let source = Source {
        lift_wh: 0.2,
        warmed_to: None,
        shares: vec![1.0],
        returned: 0.9,
        activities: vec![(8.0, 0.0, 0.5), (4.0, 0.0, 1.0)],
        base: 4.0,
    };
    let world = world(&[source], 1, 4, 2.0).certain(&[8900.0, 10.0, 29_000.0, 1900.0], 1.0);
    let lives = lives::run_with_fans(&world.beliefs, &world.scene(None), 1, 400);
    let lost: Vec<f64> = (0..400).map(|life| -gains(&lives, life)[0]).collect();
    let want = 28.0 * 2.0 * (8.0 * 0.5 + 4.0 + 4.0);
    // Random counts with a variance over mean of 1, sizes and base days that swing: the sum of a
    // life has a standard deviation of some 45 L, the mean of 400 lives one of 2.3 L.
    assert!((mean(&lost) - want).abs() < 7.0, "{} {want}", mean(&lost));
}
