//! First passages against the law that they should follow.

use super::world::{World, mean, quantile};
use waystock::forecast::passages::first_passages;

/// A stock that two opposed habits push to and fro at random around a drift: `level` away from
/// empty, losing `drift` a day with a daily standard deviation of `spread`. Steps are small, so
/// that the walk is nearly a Brownian one.
pub struct Walk {
    name: &'static str,
    level: f64,
    drift: f64,
    spread: f64,
    step: f64,
}

impl Walk {
    fn parts(&self) -> (String, String) {
        let Walk { name, level, drift, spread, step } = self;
        // One occurrence has mean `step` and a relative spread of 0.25 around it.
        let both = spread * spread / (step * step * (1.0 + 0.25 * 0.25));
        let (more, less) = (0.5 * (both + drift / step), 0.5 * (both - drift / step));
        let hours: Vec<String> = (0..24).map(|hour| format!("({hour}, 1)")).collect();
        let hours = hours.join(", ");
        let activity = |verb: &str, moves: &str, usual: f64| {
            format!(
                "(name: \"{verb} {name}\", usual: {usual:.6}, usual_spread: 0.3, per: van, \
                 hours: [{hours}], {moves}: [(stock: \"{name}\", amount: {step}, spread: 0.1)]),\n"
            )
        };
        let stock =
            format!("(name: \"{name}\", runs: down, unit: \"L\", capacity: {}),\n", 6.0 * level);
        (stock, activity("use", "takes", more) + &activity("return", "gives", less))
    }
}

/// Independent walks, with levels, drifts and spreads known exactly.
pub fn world(walks: &[Walk]) -> World {
    let (stocks, activities): (String, String) = walks.iter().map(Walk::parts).unzip();
    let levels: Vec<f64> = walks.iter().map(|walk| walk.level).collect();
    World::of(&format!("stocks: [{stocks}],\nactivities: [{activities}],\n"))
        .horizon(20)
        .certain(&levels, 1.0)
}

/// What looking once an hour misses of a Brownian path: as if the limit lay 0.5826 hourly
/// standard deviations farther off (Broadie, Glasserman and Kou, 1997, from memory); in days.
fn missed_days(walk: &Walk) -> f64 {
    0.5826 * walk.spread / 24f64.sqrt() / walk.drift
}

pub const FRESH: Walk = Walk { name: "fresh", level: 60.0, drift: 12.0, spread: 6.0, step: 0.5 };
pub const LIQUIDS: Walk = Walk { name: "liquids", level: 18.0, drift: 3.0, spread: 1.2, step: 0.1 };
pub const DIESEL: Walk = Walk { name: "diesel", level: 9.0, drift: 1.2, spread: 0.8, step: 0.07 };

/// The first passage of a drifted Brownian motion is inverse Gaussian: Schrodinger 1915, Tweedie
/// 1957. Level 60, drift 12, spread 6; computed: scipy 1.17.1, `invgauss(mu / 100, scale=100)`.
#[test]
fn quantiles_are_inverse_gaussian() {
    let lives = world(&[FRESH]).lives(6000);
    let days: Vec<f64> = lives.passages[0].iter().map(|hours| hours / 24.0).collect();
    // Standard error of a quantile: sqrt(p (1 - p) / n) over the density there.
    for (p, want, density) in [
        (0.05, 3.393_36, 0.151),
        (0.10, 3.674_14, 0.203),
        (0.50, 4.878_52, 0.362),
        (0.90, 6.481_84, 0.107),
        (0.95, 7.021_00, 0.059),
    ] {
        let error = (p * (1.0f64 - p) / 6000.0).sqrt() / density;
        let got = quantile(&days, p);
        let (least, most) = (want - 3.0 * error, want + 3.0 * error + missed_days(&FRESH));
        assert!((least..most).contains(&got), "{p}: {got}, expected {least} to {most}");
    }
    let mean = mean(&days);
    // Standard deviation 1.118.
    let error = 1.118 / 6000f64.sqrt();
    assert!((5.0 - 3.0 * error..5.0 + 3.0 * error + 0.06).contains(&mean), "{mean}");
}

/// Which of three independent stocks binds first, and when. Shares 0.716 03, 0.212 57, 0.071 40;
/// quantiles of the first passage 3.660 73, 4.711 10, 5.796 94; its mean 4.725 198, which is
/// less than the smallest mean of the three. Computed: scipy 1.17.1, quadrature.
#[test]
fn the_first_of_three_binds_as_often_as_it_should() {
    let lives = world(&[FRESH, LIQUIDS, DIESEL]).lives(6000);
    let (first, binding) = first_passages(&lives.passages);
    for (stock, want) in [0.716_03, 0.212_57, 0.071_40].into_iter().enumerate() {
        // Three standard errors of a share over 6,000 lives, and half a point for the hours'
        // looks, which cost the three stocks different times.
        let error = 3.0 * (want * (1.0f64 - want) / 6000.0).sqrt() + 0.005;
        assert!((binding[stock] - want).abs() < error, "{stock}: {}", binding[stock]);
    }
    let days: Vec<f64> = first.iter().map(|hours| hours / 24.0).collect();
    for (p, want) in [(0.1, 3.660_73), (0.5, 4.711_10), (0.9, 5.796_94)] {
        let got = quantile(&days, p);
        assert!((want - 0.06..want + 0.12).contains(&got), "{p}: {got}");
    }
    assert!((4.68..4.84).contains(&mean(&days)), "{}", mean(&days));
}

/// Nothing random: the day on which a constant draw meets the limit is arithmetic.
#[test]
fn a_constant_draw_is_exact() {
    let world = World::of(
        "stocks: [(name: \"rice\", runs: down, unit: \"kg\", capacity: 50, keep: 3),\n\
         (name: \"ash\", runs: up, unit: \"L\", capacity: 20, headroom: 1)],\n\
         base: [(name: \"eating\", per: day, takes: [(stock: \"rice\", amount: 2.9)]),\n\
         (name: \"fire\", per: day, gives: [(stock: \"ash\", amount: 1.3)])],\n",
    )
    .certain(&[41.7, 2.25], 1.0);
    let lives = world.lives(40);
    for life in 0..40 {
        assert!((lives.passages[0][life] - (41.7 - 3.0) / 2.9 * 24.0).abs() < 1e-9);
        assert!((lives.passages[1][life] - (19.0 - 2.25) / 1.3 * 24.0).abs() < 1e-9);
        assert!((lives.third_day[0][life] - (41.7 - 3.0 * 2.9)).abs() < 1e-9);
    }
}

/// Random occurrences of one litre: with k litres left the limit is met at the k-th, so the
/// passage is Gamma(k). Sizes around a litre spread it a little: a compound Poisson sum.
#[test]
fn random_occurrences_meet_the_limit_as_poisson_says() {
    let hours: Vec<String> = (0..24).map(|hour| format!("({hour}, 1)")).collect();
    let world = World::of(&format!(
        "stocks: [(name: \"cans\", runs: down, unit: \"cans\", capacity: 100)],\n\
         activities: [(name: \"meal\", usual: 4, usual_spread: 0.3, per: van, hours: [{}],\n\
         takes: [(stock: \"cans\", amount: 1, spread: 0.1)])],\n",
        hours.join(", ")
    ))
    .certain(&[30.0], 1.0);
    let lives = world.lives(6000);
    let days: Vec<f64> = lives.passages[0].iter().map(|hours| hours / 24.0).collect();
    // Renewal theory: occurrences needed to pass 30 are 30 + 0.5 (1 + 0.0625) on average, with a
    // variance of 30 * 0.0625; each takes a quarter of a day on average.
    let needed = 30.0 + 0.5 * 1.0625;
    let want = needed / 4.0;
    let variance: f64 = (needed + 30.0 * 0.0625) / 16.0;
    let error = 3.0 * (variance / 6000.0).sqrt() + 0.03;
    assert!((mean(&days) - want).abs() < error, "{} {want}", mean(&days));
    let m = mean(&days);
    let sd = mean(&days.iter().map(|d| (d - m).powi(2)).collect::<Vec<_>>()).sqrt();
    assert!((sd / variance.sqrt() - 1.0).abs() < 0.05, "{sd} {}", variance.sqrt());
}
