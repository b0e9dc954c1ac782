use super::*;
use proptest::prelude::*;

#[test]
fn what_gives_no_heat_or_wants_none_burns_nothing() {
    assert_eq!(fuel_units(100.0, 0.0, 10_000.0), 0.0);
    assert_eq!(fuel_units(-5.0, 0.8, 10_000.0), 0.0);
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
