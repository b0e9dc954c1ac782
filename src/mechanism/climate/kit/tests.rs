use super::*;
use crate::domain::electrics::{Chemistry, Electrics, Fridge, Inverter, Panel};
use crate::domain::heating::{HeatSource, Heating};
use crate::domain::rig::Parts;
use crate::domain::stock::{Direction, Stock};
use crate::domain::unit::Unit;
use crate::mechanism::climate::FuelsOut;
use crate::mechanism::climate::lanes::LANES;
use crate::physics;
use proptest::prelude::*;

fn panel(tilt_deg: f64) -> Panel {
    Panel {
        rated_w: 330.0,
        tilt_deg,
        facing_deg: 170.0,
        factor: 0.7,
        factor_spread: 0.1,
        per_kelvin: -0.004,
    }
}

fn electrics(tilts: &[f64], peukert: f64) -> Electrics {
    Electrics {
        store: "battery".into(),
        volts: 12.8,
        chemistry: Chemistry::Lithium,
        charge_efficiency: 0.96,
        discharge_efficiency: 0.98,
        no_charge_below_c: Some(1.0),
        charge_limit_w: Some(200.0),
        peukert,
        rated_hours: 20.0,
        panels: tilts.iter().map(|tilt| panel(*tilt)).collect(),
        inverter: Some(Inverter { efficiency: 0.9, idle_w: 9.0, always_on: true }),
        fridge: Some(Fridge { mean_w: 20.0, per_kelvin: 0.04, spread: 0.3 }),
        standing_w: 6.0,
        standing_spread: 0.5,
    }
}

fn heating(heats: bool) -> Heating {
    let heater = HeatSource {
        burns: "diesel".to_string(),
        wh_per_unit: 10_025.0,
        lowest_w: 800.0,
        ..HeatSource::default()
    };
    Heating {
        sources: heats.then_some(heater).into_iter().collect(),
        ua_w_per_k: 30.0,
        night_c: 12.0,
        person_w: 90.0,
        sun_gain_m2: 0.5,
        ..Heating::default()
    }
}

const CAPACITY_WH: f64 = 1500.0;

fn mechanism(tilts: &[f64], heats: bool, peukert: f64) -> Mechanism {
    let stock = |name, unit, capacity| Stock::plain(name, Direction::Down, unit, capacity);
    Mechanism::of(&Parts {
        stocks: vec![
            stock("battery", Unit::WattHour, CAPACITY_WH),
            stock("diesel", Unit::Litre, 20.0),
        ],
        electrics: Some(electrics(tilts, peukert)),
        heating: Some(heating(heats)),
        ..Parts::default()
    })
}

/// What the plain hour is told.
struct Hour {
    hour: usize,
    people: f64,
    outside_c: f64,
    clearness: f64,
    sky: physics::sun::SunHour,
}

/// What the plain hour says.
struct Plain {
    fuel: f64,
    unmet_w: f64,
    inside_c: f64,
    load_wh: f64,
    offered_wh: f64,
    charges: bool,
    net_wh: f64,
}

/// The hour once more, from the published formulas and by nothing that runs: Ross 1981, Dobos 2014,
/// a steady heat balance, the thermostat's parabola, coulomb counting and Peukert 1897. `tilts` are
/// the panels' of [`mechanism`]; numbers of the kit are those of [`electrics`] and [`heating`].
fn plain_hour(
    at: &Hour,
    tilts: &[f64],
    heats: bool,
    peukert: f64,
    values: &ClimateValues,
) -> Plain {
    let ClimateValues { panel_factor, fridge_w, standing_w, loss_w_per_k, heater_draw, .. } =
        *values;
    let aboard = at.people > 0.0;
    let wanted_c: f64 = if (7..22).contains(&at.hour) { 19.0 } else { 12.0 };
    let own_w = if aboard { fridge_w + standing_w } else { 0.0 };
    let gains_w = at.people * 90.0 + 0.5 * at.sky.clear_w_m2 * at.clearness + own_w;
    let free_c = at.outside_c + gains_w / loss_w_per_k;
    let (mut heat_w, mut heater_wh, mut unmet_w, mut inside_c) = (0.0, 0.0, 0.0, free_c);
    if aboard && heats && free_c < wanted_c {
        let demand_w = loss_w_per_k * (wanted_c - free_c);
        heat_w = demand_w.min(2000.0);
        let share = (heat_w / 800.0).min(1.0);
        heater_wh = (25.0 * heat_w / 2000.0 + 6.0 * 8.0 * share * (1.0 - share)) * heater_draw;
        unmet_w = demand_w - heat_w;
        inside_c = wanted_c - unmet_w / loss_w_per_k;
    } else if aboard {
        inside_c = free_c.min((at.outside_c + 4.0).max((wanted_c + 2.0).max(24.0)));
    }
    let fridge_wh = fridge_w * (1.0 + 0.04 * (inside_c - 20.0)).clamp(0.25, 2.5);
    let load_wh = (fridge_wh + standing_w + 9.0 + heater_wh) / 0.98;
    let ghi = at.sky.clear_w_m2 * at.clearness;
    let plane = |tilt: f64| physics::panel::plane_of_array_w_m2(ghi, &at.sky, tilt, 170.0, 0.2);
    let (sum, count) = (tilts.iter().map(|t| plane(*t)).sum::<f64>(), tilts.len() as f64);
    let cell_c = at.outside_c + (45.0 - 20.0) / 800.0 * sum / count;
    let panel_w = 330.0 * sum / 1000.0 * (1.0 - 0.004 * (cell_c - 25.0)) * panel_factor;
    let offered_wh = panel_w.min(200.0);
    let charges = inside_c >= 1.0;
    let direct_wh = offered_wh.min(load_wh * 0.98);
    let sent_wh = if charges { (offered_wh - direct_wh) * 0.96 } else { 0.0 };
    let mut net_wh = direct_wh / 0.98 + sent_wh - load_wh;
    // Peukert: from the rated current up, a share (I H / C)^(1 - k) of the label is to be had.
    let times_rated = -net_wh * 20.0 / CAPACITY_WH;
    if times_rated > 1.0 {
        net_wh /= times_rated.powf(1.0 - peukert);
    }
    Plain { fuel: heat_w / 0.8 / 10_025.0, unmet_w, inside_c, load_wh, offered_wh, charges, net_wh }
}

/// Fails unless two numbers are as near as their precision allows.
fn near(what: &str, got: f64, want: f64, part: f64) -> Result<(), TestCaseError> {
    prop_assert!((got - want).abs() <= part * want.abs().max(1.0), "{what}: {got} {want}");
    Ok(())
}

proptest! {
    /// One life in double precision, and each of many in single, say what the plain hour says.
    /// Level panels lie on any piece of the table; tilted ones are asked where a piece ends.
    #[test]
    fn every_hour_is_the_plain_one(
        low_sun in any::<bool>(), tilted in any::<bool>(), heats in any::<bool>(),
        outside_c in -25.0..35.0_f64, offset_k in -6.0..6.0_f64, clearness in 0.0..1.2_f64,
        hour in 0usize..24, people in 0u8..4, factor in 0.3..1.0_f64, loss in 8.0..70.0_f64,
        (draw, fridge_w, peukert) in (0.3..2.0_f64, 10.0..90.0_f64, 1.0..1.3_f64),
    ) {
        let tilts: &[f64] = if tilted { &[0.0, 40.0] } else { &[0.0] };
        let clearness = if tilted { (clearness / 0.2).round() * 0.2 } else { clearness };
        let (clear_w_m2, zenith_deg) = if low_sun { (90.0, 82.0) } else { (720.0, 42.0) };
        let sky = physics::sun::SunHour {
            clear_w_m2, zenith_deg, azimuth_deg: 140.0, extraterrestrial_normal_w_m2: 1380.0,
        };
        let values = ClimateValues {
            panel_factor: factor, fridge_w, standing_w: 7.0, loss_w_per_k: loss, heater_draw: draw,
            tending: 1.0,
        };
        let people = f64::from(people);
        let at = Hour { hour, people, outside_c: outside_c + offset_k, clearness, sky };
        let plain = plain_hour(&at, tilts, heats, peukert, &values);
        // At the very edge of freezing one may decide differently.
        prop_assume!((plain.inside_c - 1.0).abs() > 1e-3);

        let mechanism = mechanism(tilts, heats, peukert);
        let sun = LightHour::of(&sky, mechanism.parts.electrics.as_ref());
        let exact: Kit<f64> = Kit::of(&mechanism);
        let shared = exact.shared(around(hour, people, at.outside_c), &sun);
        let (one, burnt) = exact.alone(&shared, clearness, &values);
        let mut alone = vec![[0.0]; burnt.len()];
        exact.burn(&shared.warmth, (clearness, 1.0), &values, &mut alone);
        near("fuel", burnt.iter().sum(), plain.fuel, 1e-9)?;
        prop_assert_eq!(alone.concat(), burnt);
        near("inside", one.inside_c, plain.inside_c, 1e-9)?;
        near("load", one.load_wh, plain.load_wh, 1e-9)?;
        near("offered", one.offered_wh, plain.offered_wh, 1e-9)?;
        prop_assert_eq!(one.accepted > 0.0, plain.charges);

        let kit: Kit = Kit::of(&mechanism);
        let mut day = DayLanes::default();
        day.put_all(&[offset_k; LANES], &[clearness; LANES]);
        let lanes = ValueLanes::of(std::iter::repeat_n(values, LANES));
        let shared = kit.shared(around(hour, people, outside_c), &sun);
        let (mut burnt, mut alone) = ([[0.0; LANES]], [[0.0; LANES]]);
        let lives = (&day, &lanes);
        let fuels = FuelLanes::enough(&mut burnt);
        let flows = kit.hour_lanes(&shared, lives, fuels, |_, load_wh, _| -load_wh);
        kit.heat_lanes(&shared, lives, FuelLanes::enough(&mut alone));
        let short = kit.short_k(&shared, &lanes, &flows.asked_w, &[[false; LANES]]);
        let bare = kit.short_k(&shared, &lanes, &flows.asked_w, &[[true; LANES]]);
        for l in [0, 5, LANES - 1] {
            near("lane's fuel", burnt[0][l].into(), plain.fuel, 2e-4)?;
            near("lane's heat", alone[0][l].into(), plain.fuel, 2e-4)?;
            near("lane's net", flows.net_wh[l].into(), plain.net_wh, 2e-4)?;
            near("too cold", short[l].into(), plain.unmet_w / loss, 2e-4)?;
            let asked_w = plain.unmet_w + plain.fuel * 0.8 * 10_025.0;
            near("unfuelled", bare[l].into(), asked_w / loss, 2e-4)?;
        }
    }
}

fn around(hour: usize, aboard: f64, outside_c: f64) -> Surroundings {
    Surroundings { hour, aboard, outside_c, out: FuelsOut::default() }
}

/// At night no light is looked for, and what else moves the battery is all there is.
#[test]
fn a_dark_hour_is_one_without_light() {
    let mechanism = mechanism(&[0.0, 40.0], true, 1.0);
    let kit: Kit = Kit::of(&mechanism);
    let values = ClimateValues { fridge_w: 20.0, loss_w_per_k: 30.0, ..ClimateValues::default() };
    let lanes: ValueLanes = ValueLanes::of(std::iter::repeat_n(values, LANES));
    let shared = kit.shared(around(2, 1.0, 8.0), &LightHour::default());
    let (lives, mut burnt) = ((&DayLanes::default(), &lanes), [[0.0; LANES]]);
    let fuels = FuelLanes::enough(&mut burnt);
    let flows = kit.hour_lanes(&shared, lives, fuels, |_, load_wh, _| -load_wh);
    let (alone, _) = kit.alone(&shared, 1.0, &values);
    assert_eq!((alone.offered_wh, flows.net_wh[3]), (0.0, -alone.load_wh));
}

/// By hand, at night and 5 degrees below freezing: while all are out nothing is burnt, appliances
/// alone warm the van by 20 W over 30 W/K, its fridge draws a quarter of its 20 W (it never draws
/// less) beside the inverter's 9 W, and by day its cells refuse the sun. Half of the time at home
/// burns half of the fuel. In July at noon nobody airs it: 20 W and half of 720 W/m2 make 12.67 K.
#[test]
fn while_all_are_out_a_van_is_neither_heated_nor_aired() {
    let mechanism = mechanism(&[0.0], true, 1.0);
    let kit: Kit = Kit::of(&mechanism);
    let values = ClimateValues {
        panel_factor: 1.0,
        fridge_w: 20.0,
        loss_w_per_k: 30.0,
        ..ClimateValues::default()
    };
    let (mut home, mut day) = ([1.0; LANES], DayLanes::default());
    (home[1], home[2]) = (0.0, 0.5);
    day.put_all(&[0.0; LANES], &[1.0; LANES]);
    let lanes: ValueLanes = ValueLanes::of(std::iter::repeat_n(values, LANES)).at_home(&home);
    let hour = |around: Surroundings, sun: &LightHour| {
        let (shared, mut burnt) = (kit.shared(around, sun), [[0.0; LANES]]);
        let fuels = FuelLanes::enough(&mut burnt);
        let flows = kit.hour_lanes(&shared, (&day, &lanes), fuels, |_, load_wh, _| -load_wh);
        (flows, burnt[0])
    };
    let sky = |clear_w_m2| {
        let (zenith_deg, azimuth_deg) = (42.0, 180.0);
        physics::sun::SunHour {
            clear_w_m2,
            zenith_deg,
            azimuth_deg,
            extraterrestrial_normal_w_m2: 1380.0,
        }
    };
    let (flows, burnt) = hour(around(2, 1.0, -5.0), &LightHour::default());
    assert!(burnt[0] > 0.01 && burnt[1] == 0.0 && (burnt[2] / burnt[0] - 0.5).abs() < 1e-6);
    assert!((flows.net_wh[1] + (5.0 + 9.0) / 0.98).abs() < 1e-4, "{:?}", &flows.net_wh[..3]);
    assert!(flows.asked_w[1] == 0.0 && flows.net_wh[0] < flows.net_wh[1] - 5.0);
    let pale = LightHour::of(&sky(300.0), mechanism.parts.electrics.as_ref());
    let (flows, _) = hour(around(12, 1.0, -15.0), &pale);
    assert!(flows.net_wh[0] > 0.0 && flows.net_wh[1] <= 0.0, "{:?}", &flows.net_wh[..3]);
    let warm = LightHour { clear_w_m2: 720.0, ..LightHour::default() };
    let (flows, _) = hour(around(12, 1.0, 25.0), &warm);
    let fridge_w = 20.0 * (1.0 + 0.04 * (25.0 + 380.0 / 30.0 - 20.0));
    let by_hand = -(fridge_w + 9.0) / 0.98;
    assert!((f64::from(flows.net_wh[1]) - by_hand).abs() < 1e-3, "{by_hand} {:?}", flows.net_wh);
}
