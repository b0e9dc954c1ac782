//! The largest deviation from each source outside this program, in one table:
//! `cargo test --test engine -- --nocapture deviations`. Each source has
//! one tolerance, in its own measure. What a table does not show, edges and laws, is held beside the code.

use super::first_passage::{DIESEL, FRESH, LIQUIDS, world};
use super::world::{World, quantile};
use chrono::NaiveDate;
use waystock::forecast::passages::first_passages;
use waystock::mechanism::climate::{self, ClimateValues, FuelsOut, Kit, Surroundings};
use waystock::physics::heat::{fuel_units, heat_demand_w};
use waystock::physics::panel::{cell_temperature_c, plane_of_array_w_m2};
use waystock::physics::sky::{clear_share, cloud_factor};
use waystock::physics::sun::{SunHour, clear_day_wh_m2, extraterrestrial_normal_w_m2};
use waystock::physics::{battery, day_cycle, water};
use waystock::store::reference;

/// One source: what is got and what is wanted, pairwise.
struct Check {
    source: &'static str,
    status: &'static str,
    /// Whether deviations are relative; else they are in `unit`.
    relative: bool,
    unit: &'static str,
    allowed: f64,
    pairs: Vec<(f64, f64)>,
}

impl Check {
    fn largest(&self) -> f64 {
        let off = |(got, want): &(f64, f64)| {
            (got - want).abs() / if self.relative { want.abs() } else { 1.0 }
        };
        // A number that is none is as far off as can be.
        let worse = |a: f64, b: f64| if b.is_nan() { f64::INFINITY } else { a.max(b) };
        self.pairs.iter().map(off).fold(0.0, worse)
    }
}

#[test]
fn deviations_from_every_source() {
    let checks = [sun(), light(), power(), heat(), charge(), chance()].into_iter().flatten();
    println!("{:44} {:30} {:>12} {:>8} {:>3}", "source", "status", "largest", "allowed", "n");
    let mut too_far = Vec::new();
    for check in checks {
        let (factor, unit) = if check.relative { (100.0, "%") } else { (1.0, check.unit) };
        let (largest, allowed) = (check.largest(), check.allowed);
        println!(
            "{:44} {:30} {:>8.4} {unit:3} {:>8.5} {:>3}",
            check.source,
            check.status,
            factor * largest,
            factor * allowed,
            check.pairs.len(),
        );
        assert!(!check.pairs.is_empty());
        if largest > allowed {
            too_far.push(check.source);
        }
    }
    assert!(too_far.is_empty(), "{too_far:?}");
}

fn relative(
    source: &'static str,
    status: &'static str,
    allowed: f64,
    pairs: Vec<(f64, f64)>,
) -> Check {
    Check { source, status, relative: true, unit: "", allowed, pairs }
}

fn absolute(
    source: &'static str,
    status: &'static str,
    (allowed, unit): (f64, &'static str),
    pairs: Vec<(f64, f64)>,
) -> Check {
    Check { source, status, relative: false, unit, allowed, pairs }
}

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Positions are held beside the code, where they are looked up: `physics::sun`.
fn sun() -> Vec<Check> {
    vec![relative(
        "irradiance outside, 1366.1 W/m2",
        "computed: pvlib 0.16.1",
        0.001,
        [(80, 1376.89), (173, 1321.46), (291, 1376.59), (356, 1412.90)]
            .map(|(day, want)| (extraterrestrial_normal_w_m2(day), want))
            .to_vec(),
    )]
}

/// A clear sky's light, W/m2, by the sun's zenith, of a constant sun of 1366.1 W/m2.
const CLEAR: [(f64, f64); 14] = [
    (0.0, 1055.83),
    (10.0, 1037.94),
    (20.0, 984.81),
    (30.0, 898.15),
    (40.0, 780.72),
    (50.0, 636.42),
    (60.0, 470.35),
    (70.0, 289.52),
    (80.0, 107.65),
    (85.0, 31.24),
    (89.0, 0.98),
    (90.0, 0.0),
    (120.0, 0.0),
    (180.0, 0.0),
];

/// Rows of `tests/peers/clear_sky.py`: latitude, date, Wh/m2 of a clear day.
fn clear_days() -> impl Iterator<Item = (f64, NaiveDate, f64)> {
    let rows = include_str!("../fixtures/weather/clear_days.csv").lines().skip(2);
    rows.map(|row| {
        let cells: Vec<&str> = row.split(',').collect();
        (cells[0].parse().unwrap(), date(cells[1]), cells[2].parse().unwrap())
    })
}

fn light() -> Vec<Check> {
    let day = |(latitude, date, want)| (clear_day_wh_m2(date, latitude, 0.0), want);
    vec![
        relative(
            "clear-sky day sums, 9 latitudes, 12 months",
            "computed: pvlib 0.16.1",
            0.005,
            clear_days().map(day).collect(),
        ),
        absolute(
            "Ineichen and Perez 2002, 14 zeniths",
            "confirmed in pvlib, computed",
            (0.006, "W"),
            CLEAR.map(|(zenith, want)| (1366.1 * clear_share(zenith), want)).to_vec(),
        ),
        absolute(
            "Kasten and Czeplak 1980, nine octas",
            "confirmed second-hand",
            (0.000_06, ""),
            [1.0, 0.9994, 0.9933, 0.9733, 0.9290, 0.8483, 0.7180, 0.5237, 0.25]
                .iter()
                .enumerate()
                .map(|(octas, want)| (cloud_factor(octas as f64 / 8.0), *want))
                .collect(),
        ),
    ]
}

fn power() -> Vec<Check> {
    let seen = |zenith_deg, azimuth_deg, outside| SunHour {
        clear_w_m2: 0.0,
        zenith_deg,
        azimuth_deg,
        extraterrestrial_normal_w_m2: outside,
    };
    let plane = [
        (500.0, seen(45.0, 110.0, 1321.46), (30.0, 180.0, 0.2), 494.8484),
        (900.0, seen(30.0, 180.0, 1321.46), (30.0, 180.0, 0.2), 1018.3766),
        (356.0, seen(67.73, 169.3, 1412.9), (60.0, 180.0, 0.2), 737.2431),
        (356.0, seen(67.73, 169.3, 1412.9), (90.0, 0.0, 0.2), 89.8445),
        (120.0, seen(80.0, 240.0, 1376.89), (45.0, 270.0, 0.8), 254.1229),
        (30.0, seen(88.0, 250.0, 1376.89), (45.0, 270.0, 0.2), 26.4853),
        (650.0, seen(40.0, 180.0, 1376.89), (90.0, 180.0, 0.25), 537.6236),
    ];
    vec![
        absolute(
            "cell temperature, Ross 1981",
            "confirmed in pvlib, computed",
            (1e-6, "K"),
            [(800.0, 20.0, 45.0), (1000.0, 25.0, 56.25), (400.0, 10.0, 22.5)]
                .map(|(poa, air, want)| (cell_temperature_c(air, poa), want))
                .to_vec(),
        ),
        absolute(
            "cell temperature, Faiman 2008 at 1 m/s",
            "confirmed in pvlib, computed",
            (0.2, "K"),
            [(800.0, 20.0, 45.126), (1000.0, 25.0, 56.407), (400.0, 10.0, 22.563)]
                .map(|(poa, air, want)| (cell_temperature_c(air, poa), want))
                .to_vec(),
        ),
        absolute(
            "tilted planes, Erbs and isotropic sky",
            "computed: pvlib 0.16.1",
            (0.001, "W"),
            plane
                .map(|(ghi, sun, (tilt, facing, albedo), want)| {
                    (plane_of_array_w_m2(ghi, &sun, tilt, facing, albedo), want)
                })
                .to_vec(),
        ),
        relative(
            "PVWatts 5 chain, 200 W for a day of 5 kWh/m2",
            "confirmed formula, computed",
            1e-9,
            [(25.0, 860.0), (45.0, 799.8)].map(|(cell, want)| (day_of_panels(cell), want)).to_vec(),
        ),
    ]
}

/// What a rig's level panels of 200 W, with the 14 % of losses that PVWatts starts from, offer its
/// battery on a day of 5 kWh/m2 with cells at that temperature, in Wh.
fn day_of_panels(cell_c: f64) -> f64 {
    let world = World::of(
        "stocks: [(name: \"battery\", runs: down, unit: \"Wh\", capacity: 3000)],\n\
         electrics: (store: \"battery\", volts: 12.8, chemistry: lithium,\n\
         panels: [(rated_w: 200, tilt: 0, factor: 0.86, factor_spread: 0.05,\n\
         per_kelvin: -0.0035)]),\n",
    );
    let mechanism = &world.beliefs.mechanism;
    let index = mechanism.factors.panels.unwrap();
    let panel_factor = mechanism.coefficients[index].mean;
    let values = ClimateValues { panel_factor, ..ClimateValues::default() };
    let light = SunHour {
        clear_w_m2: 1000.0,
        zenith_deg: 20.0,
        azimuth_deg: 180.0,
        extraterrestrial_normal_w_m2: 1366.1,
    };
    let light = climate::LightHour::of(&light, mechanism.parts.electrics.as_ref());
    // As warm outside as it takes for cells in that light.
    let kit: Kit<f64> = Kit::of(mechanism);
    let hour = kit.shared(
        Surroundings { hour: 12, aboard: 0.0, outside_c: cell_c - 31.25, out: FuelsOut::default() },
        &light,
    );
    (0..5).map(|_| kit.alone(&hour, 1.0, &values).0.offered_wh).sum()
}

fn heat() -> Vec<Check> {
    let degree_days = |low: f64, high: f64| -> f64 {
        let hour = |h: u8| day_cycle::temperature_c(f64::from(h), low, high);
        (0..24).map(|h| heat_demand_w(1.0, 65.0, hour(h), 0.0)).sum::<f64>() / 24.0
    };
    let shipped = |key: &str| reference::find(key).unwrap().value;
    let burnt = fuel_units(2000.0, shipped("heater efficiency"), shipped("diesel heat"));
    // A Btu (International Table) is 1055.055 852 62 J.
    let wh_per_litre = 129_488.0 * 1_055.055_852_62 / 3600.0 / 3.785_411_784;
    vec![
        absolute(
            "heating degree-days, NWS examples",
            "confirmed",
            (1e-9, "K"),
            [(40.0, 60.0, 15.0), (35.0, 55.0, 20.0), (22.0, 38.0, 35.0)]
                .map(|(low, high, want)| (degree_days(low, high), want))
                .to_vec(),
        ),
        relative(
            "diesel's lower heating value (GREET)",
            "confirmed: copy of the table",
            0.0005,
            vec![(shipped("diesel heat"), wh_per_litre), (burnt, 0.249_4)],
        ),
        relative(
            "m c dT of water, IAPWS-95",
            "computed: CoolProp 8.0.0",
            0.0003,
            [(10.0, 10.0, 40.0, 348.500), (1.0, 15.0, 100.0, 98.825), (1.0, 12.0, 38.0, 30.194)]
                .map(|(litres, from, to, want)| (water::heat_wh(litres, from, to), want))
                .to_vec(),
        ),
    ]
}

fn charge() -> Vec<Check> {
    let rows = [
        (1.1, 5.0, 20.0),
        (1.2, 5.0, 20.0),
        (1.25, 5.0, 20.0),
        (1.1, 10.0, 9.330),
        (1.2, 10.0, 8.706),
        (1.25, 10.0, 8.409),
        (1.1, 20.0, 4.353),
        (1.2, 20.0, 3.789),
        (1.25, 20.0, 3.536),
    ];
    let lived = |exponent: f64, amperes: f64| {
        let world = World::of(&format!(
            "stocks: [(name: \"battery\", runs: down, unit: \"Ah\", capacity: 100, keep: 0)],\n\
             electrics: (store: \"battery\", volts: 12, chemistry: lead_acid,\n\
             peukert: {exponent}, discharge_efficiency: 1, standing_w: {},\n\
             standing_spread: 0),\n",
            12.0 * amperes
        ));
        world.horizon(2).certain(&[1200.0], 1.0).lives(1).passages[0][0]
    };
    let by_formula = rows
        .map(|(k, amps, want)| (1200.0 / battery::drain_wh(12.0 * amps, 1200.0, 20.0, k), want));
    vec![
        relative(
            "Peukert 1897, formula",
            "confirmed formula, computed",
            0.0002,
            by_formula.to_vec(),
        ),
        relative(
            "Peukert 1897, through the lives",
            "confirmed formula, computed",
            0.0005,
            rows.map(|(k, amps, want)| (lived(k, amps), want)).to_vec(),
        ),
    ]
}

fn chance() -> Vec<Check> {
    let days = |hours: &[f64]| hours.iter().map(|h| h / 24.0).collect::<Vec<f64>>();
    let alone = days(&world(&[FRESH]).lives(6000).passages[0]);
    let together = world(&[FRESH, LIQUIDS, DIESEL]).lives(6000);
    let (first, binding) = first_passages(&together.passages);
    let first = days(&first);
    vec![
        relative(
            "inverse Gaussian, five quantiles, 6000 lives",
            "computed: scipy 1.17.1",
            0.03,
            [(0.05, 3.393_36), (0.1, 3.674_14), (0.5, 4.878_52), (0.9, 6.481_84), (0.95, 7.021)]
                .map(|(share, want)| (quantile(&alone, share), want))
                .to_vec(),
        ),
        absolute(
            "which of three binds first, share",
            "computed: scipy 1.17.1",
            (0.025, ""),
            binding.into_iter().zip([0.716_03, 0.212_57, 0.071_40]).collect(),
        ),
        relative(
            "first of three, three quantiles",
            "computed: scipy 1.17.1",
            0.03,
            [(0.1, 3.660_73), (0.5, 4.711_10), (0.9, 5.796_94)]
                .map(|(share, want)| (quantile(&first, share), want))
                .to_vec(),
        ),
    ]
}
