use super::*;
use proptest::prelude::*;

/// Where an hour leaves a battery: level, charge, load as the appliances want it, share accepted.
fn after_wh(level_wh: f64, charge_wh: f64, load_wh: f64, accepted: f64, capacity_wh: f64) -> f64 {
    let cells = Terminals::of(0.98);
    held_wh(level_wh + cells.joined_wh(-cells.taken_wh(load_wh), charge_wh, accepted), capacity_wh)
}

proptest! {
    #[test]
    fn what_goes_in_is_stored_served_or_lost(
        charge in 0.0..3000.0_f64, load in 0.0..3000.0_f64, efficiency in 0.3..=1.0_f64,
        accepted in prop_oneof![Just(0.0), 0.3..=1.0_f64],
    ) {
        let cells: Terminals<f64> = Terminals::of(efficiency);
        let net_wh = cells.joined_wh(-cells.taken_wh(load), charge, accepted);
        let direct = charge.min(load);
        let want = if charge > load {
            (charge - load) * accepted
        } else {
            -(load - direct) / efficiency
        };
        prop_assert!((net_wh - want).abs() < 1e-8, "{net_wh} {want}");
        prop_assert!((0.0..=1000.0).contains(&held_wh(500.0 + net_wh, 1000.0)));
    }

    #[test]
    fn more_charge_or_less_load_never_lowers_the_level(
        level in 0.0..1000.0_f64, charge in 0.0..900.0_f64, load in 0.0..900.0_f64, by in 0.0..300.0_f64,
    ) {
        let after = |level, charge, load| after_wh(level, charge, load, 0.95, 1000.0);
        let plain = after(level, charge, load);
        prop_assert!(after(level, charge + by, load) >= plain - 1e-9);
        prop_assert!(after(level, charge, load + by) <= plain + 1e-9);
        prop_assert!(after((level + by).min(1000.0), charge, load) >= plain - 1e-9);
    }

    #[test]
    fn harder_draws_yield_less(drawn in 0.1..2400.0_f64, by in 0.0..600.0_f64, k in 1.0..1.6_f64) {
        let share = |drawn_wh| drawn_wh / drain_wh(drawn_wh, 1200.0, 20.0, k);
        prop_assert!(share(drawn + by) <= share(drawn) + 1e-12);
        prop_assert!(share(drawn + by) > 0.0 && share(drawn) <= 1.0);
    }
}
