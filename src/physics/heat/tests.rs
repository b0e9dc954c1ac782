use super::*;
use crate::physics::check::near;
use crate::physics::day_cycle::temperature_c;
use crate::physics::water::heat_wh;
use proptest::prelude::*;

/// International Table Btu per hour in W (NIST SP 811, exact factors).
const BTU_PER_HOUR_W: f64 = 1_055.055_852_62 / 3600.0;

/// Low-sulphur diesel, lower heating value in Wh/L (GREET figures in a copied table: 129 488
/// Btu/gal, confirmed).
const DIESEL_WH_PER_L: f64 = 10_025.0;

/// Worked van (own, computed by hand): walls 22 m2 with 50 mm of k = 0.035 and 0.17 m2K/W of
/// surfaces, windows 1.2 m2 at 3.0 and 1.2 m2 at 5.8 W/(m2K), 11 m3 at one change per hour.
#[test]
fn a_worked_van() {
    // Area over resistance, and 0.335 Wh/(m3 K) of room air (handbook practice).
    let walls = 22.0 / (0.05 / 0.035 + 0.17);
    near("walls per m2", walls / 22.0, 0.625_56, 0.000_005);
    let envelope = walls + 1.2 * 3.0 + 1.2 * 5.8;
    near("envelope", envelope, 24.322, 0.000_5);
    let ua: f64 = envelope + 0.335 * 11.0;
    near("with air", ua, 28.007, 0.000_5);

    let heater = Heater {
        output_w: 2000.0,
        lowest_w: 500.0,
        efficiency: 0.8,
        wh_per_unit: DIESEL_WH_PER_L,
        fan_w: 25.0,
        start_wh: 6.0,
        ..Heater::default()
    };
    for (gains, watts, kwh, litres) in [(0.0, 700.2, 16.804, 2.095), (200.0, 500.2, 12.004, 1.497)]
    {
        let demand = heat_demand_w(ua, 20.0, -5.0, gains);
        near("W", demand, watts, 0.05);
        let hour = HeaterStep::of(&heater).hour(demand, heater.output_w);
        near("kWh per day", hour.heat_wh * 24.0 / 1000.0, kwh, 0.000_6);
        near("L per day", hour.fuel_units * 24.0, litres, 0.000_6);
    }
    let year_wh = loss_w(ua, 2153.0, 0.0) * 24.0; // degree-days are kelvins times days
    near("kWh per year", year_wh / 1000.0, 1447.0, 0.5);
    near("L per year", fuel_units(year_wh, 0.8, DIESEL_WH_PER_L), 180.4, 0.1);
}

/// Heating degree-days, 65 F base (NWS definition, confirmed with these examples). Hour by hour
/// at a constant set point they give the same heat as long as the day stays below the base.
#[test]
fn hours_agree_with_degree_days() {
    let base = 65.0;
    let by_hours = |low: f64, high: f64| -> f64 {
        (0..24).map(|h| heat_demand_w(1.0, base, temperature_c(f64::from(h), low, high), 0.0)).sum()
    };
    for (high, low, degree_days) in [(60.0, 40.0, 15.0), (55.0, 35.0, 20.0), (38.0, 22.0, 35.0)] {
        let by_day = (base - (high + low) / 2.0_f64).max(0.0);
        near("definition", by_day, degree_days, 1e-12);
        near("hourly", by_hours(low, high) / 24.0, degree_days, 1e-9);
    }
    // With a warm afternoon, the cold morning still costs what the day's mean hides.
    assert!(by_hours(50.0, 80.0) > 24.0 * 3.0);
}

/// Heating values and rates of a diesel heater at 80 %: 0.2494 L/h at 2 kW (computed; efficiency
/// from memory). A shower of 10 L from 10 to 40 degrees takes 43.5 mL.
#[test]
fn fuel_from_the_heating_value() {
    near("2 kW", fuel_units(2000.0, 0.8, DIESEL_WH_PER_L), 0.2494, 0.000_05);
    near("shower", fuel_units(heat_wh(10.0, 10.0, 40.0), 0.8, DIESEL_WH_PER_L), 0.0435, 0.000_05);
    // 129 488 Btu/gal in Wh/L.
    let wh_per_l = 129_488.0 * BTU_PER_HOUR_W / 3.785_411_784;
    near("heating value", wh_per_l, DIESEL_WH_PER_L, 0.5);
    assert_eq!(fuel_units(100.0, 0.0, 10_000.0), 0.0);
    assert_eq!(fuel_units(-5.0, 0.8, 10_000.0), 0.0);
}

#[test]
fn a_heater_cycles_follows_and_gives_up() {
    let heater = Heater {
        output_w: 1800.0,
        lowest_w: 900.0,
        efficiency: 0.75,
        wh_per_unit: 10_000.0,
        fan_w: 30.0,
        start_wh: 4.0,
        ..Heater::default()
    };
    let rows = [
        // demand, heat, electric
        (0.0, 0.0, 0.0),
        (90.0, 90.0, 3.0 + 0.72 * 4.0),
        (450.0, 450.0, 15.0 + 2.0 * 4.0),
        (900.0, 900.0, 30.0),
        (1500.0, 1500.0, 30.0),
        (2100.0, 1800.0, 30.0),
    ];
    for (demand, heat, electric) in rows {
        let hour = HeaterStep::of(&heater).hour(demand, heater.output_w);
        let row = format!("{demand} W");
        near(&row, hour.heat_wh, heat, 1e-9);
        near(&row, hour.electric_wh, electric, 1e-9);
        near(&row, hour.fuel_units, heat / 7500.0, 1e-12);
    }
}

/// By hand: a stove that gives 1 kW at the least burns for that whatever is wanted, as long as anything
/// is; from there on it follows, and never cycles.
#[test]
fn a_fire_that_is_tended_burns_on_at_its_lowest() {
    let stove = Heater {
        output_w: 3000.0,
        lowest_w: 1000.0,
        below_lowest: BelowLowest::BurnsOn,
        efficiency: 0.5,
        wh_per_unit: 4000.0,
        fan_w: 8.0,
        start_wh: 4.0,
    };
    let rows = [
        // demand, heat, burnt, of it for nothing, electric
        (0.0, 0.0, 0.0, 0.0, 0.0),
        (250.0, 250.0, 0.5, 0.375, 8.0),
        (1000.0, 1000.0, 0.5, 0.0, 8.0),
        (2000.0, 2000.0, 1.0, 0.0, 8.0),
        (9000.0, 3000.0, 1.5, 0.0, 8.0),
    ];
    for (demand, heat, burnt, surplus, electric) in rows {
        let hour = HeaterStep::of(&stove).hour(demand, stove.output_w);
        let row = format!("{demand} W");
        near(&row, hour.heat_wh, heat, 1e-9);
        near(&row, hour.fuel_units + hour.surplus_units, burnt, 1e-12);
        near(&row, hour.surplus_units, surplus, 1e-12);
        near(&row, hour.electric_wh, electric, 1e-9);
    }
}

#[test]
fn a_heater_without_output_burns_nothing() {
    let heater = Heater {
        output_w: 0.0,
        lowest_w: 500.0,
        efficiency: 0.8,
        wh_per_unit: 10_000.0,
        fan_w: 30.0,
        start_wh: 4.0,
        ..Heater::default()
    };
    let hour = HeaterStep::of(&heater).hour(300.0, heater.output_w);
    assert_eq!(
        hour,
        HeaterHour { heat_wh: 0.0, fuel_units: 0.0, surplus_units: 0.0, electric_wh: 0.0 }
    );
}

proptest! {
    #[test]
    fn a_heater_gives_what_it_says(
        demand in 0.0..6000.0_f64,
        output in 0.0..5000.0_f64,
        lowest in 0.0..5000.0_f64,
        efficiency in 0.3..1.0_f64,
    ) {
        let heater = Heater {
            output_w: output,
            lowest_w: lowest,
            efficiency,
            wh_per_unit: 10_000.0,
            fan_w: 20.0,
            start_wh: 5.0,
            ..Heater::default()
        };
        let step: HeaterStep<f64> = HeaterStep::of(&heater);
        let hour = step.hour(demand, output);
        prop_assert!(hour.heat_wh <= output && hour.heat_wh <= demand);
        prop_assert!(hour.heat_wh == output || hour.heat_wh == demand);
        prop_assert!((hour.fuel_units * 10_000.0 * efficiency - hour.heat_wh).abs() < 1e-6);
        prop_assert!((0.0..=20.0 + 2.0 * 5.0).contains(&hour.electric_wh));
        prop_assert!(step.hour(demand + 100.0, output).fuel_units >= hour.fuel_units);
    }

    #[test]
    fn colder_outside_never_takes_less(
        ua in 0.0..200.0_f64, outside in -40.0..40.0_f64, by in 0.0..30.0_f64, gains in 0.0..1000.0_f64,
    ) {
        let milder = heat_demand_w(ua, 19.0, outside, gains);
        prop_assert!(milder >= 0.0);
        prop_assert!(heat_demand_w(ua, 19.0, outside - by, gains) >= milder);
        prop_assert!(heat_demand_w(ua, 19.0, outside, gains + by) <= milder);
    }
}
