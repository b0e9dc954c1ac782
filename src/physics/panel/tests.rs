use super::*;
use crate::physics::check::near;
use proptest::prelude::*;

fn rated_power_w(rated_w: f64, poa_w_m2: f64, cell_c: f64, per_kelvin: f64) -> f64 {
    power_w(cool_power_w(rated_w, poa_w_m2), cell_c, per_kelvin)
}

fn sun(zenith_deg: f64, azimuth_deg: f64, extraterrestrial_normal_w_m2: f64) -> SunHour {
    SunHour { clear_w_m2: 0.0, zenith_deg, azimuth_deg, extraterrestrial_normal_w_m2 }
}

/// Erbs with the clearness index, 21 June (1321.46 W/m2): global, zenith, diffuse, direct
/// normal. Computed: pvlib 0.16.1.
#[test]
fn erbs_full_rows() {
    for (ghi, zenith, diffuse, direct) in
        [(500.0, 45.0, 291.94, 294.25), (900.0, 30.0, 148.46, 867.81)]
    {
        let sun = sun(zenith, 200.0, 1321.46);
        let row = format!("{ghi} W/m2");
        near(&row, diffuse_w_m2(ghi, &sun), diffuse, 0.006);
        // A panel that faces the sun over black ground gets all of the beam and a known part of
        // the sky.
        let facing = plane_of_array_w_m2(ghi, &sun, zenith, 200.0, 0.0);
        let sky = diffuse * (1.0 + zenith.to_radians().cos()) / 2.0;
        near(&row, facing - sky, direct, 0.015);
    }
}

/// Dobos 2014 (PVWatts 5): formula and range confirmed in open documentation; standard class
/// -0.47 % and premium -0.35 % from memory.
#[test]
fn direct_current_rows() {
    near("premium", rated_power_w(400.0, 1000.0, 50.0, -0.0035), 365.0, 1e-9);
    near("standard", rated_power_w(400.0, 1000.0, 50.0, -0.0047), 353.0, 1e-9);
    near("rated", rated_power_w(400.0, 1000.0, 25.0, -0.0047), 400.0, 1e-9);
    assert_eq!(rated_power_w(400.0, 1000.0, 500.0, -0.0047), 0.0);
}

#[test]
fn darkness_and_a_sun_behind_the_panel_give_no_beam() {
    assert_eq!(plane_of_array_w_m2(0.0, &sun(120.0, 0.0, 0.0), 30.0, 180.0, 0.2), 0.0);
    // Twilight: light without a sun above the horizon is all diffuse.
    assert_eq!(diffuse_w_m2(5.0, &sun(90.5, 0.0, 0.0)), 5.0);
    let behind = plane_of_array_w_m2(600.0, &sun(60.0, 90.0, 1360.0), 90.0, 270.0, 0.0);
    let sky = diffuse_w_m2(600.0, &sun(60.0, 90.0, 1360.0)) / 2.0;
    near("only half the sky", behind, sky, 1e-9);
}

proptest! {
    #[test]
    fn planes_are_bounded(
        ghi in 0.0..1200.0_f64,
        zenith in 0.0..180.0_f64,
        azimuth in 0.0..360.0_f64,
        outside in 0.0..1414.0_f64,
        tilt in 0.0..=90.0_f64,
        facing in 0.0..360.0_f64,
        albedo in 0.0..=1.0_f64,
    ) {
        let sun = sun(zenith, azimuth, outside);
        let poa = plane_of_array_w_m2(ghi, &sun, tilt, facing, albedo);
        // Sky and ground together never exceed twice the light on the level, and the beam is
        // magnified at most by the lowest sun that still counts as beam.
        let most = 2.0 * ghi + ghi / LOWEST_BEAM_ZENITH_DEG.to_radians().cos();
        prop_assert!((0.0..=most).contains(&poa));
        prop_assert!((0.0..=ghi).contains(&diffuse_w_m2(ghi, &sun)));
        prop_assert_eq!(plane_of_array_w_m2(ghi, &sun, 0.0, facing, albedo), ghi);
        let turned = plane_of_array_w_m2(ghi, &sun, tilt, facing + 360.0, albedo);
        prop_assert!((turned - poa).abs() <= 1e-6 * most);
    }

    #[test]
    fn a_nearly_flat_panel_is_nearly_flat(ghi in 1.0..1000.0_f64, zenith in 0.0..80.0_f64) {
        let poa = plane_of_array_w_m2(ghi, &sun(zenith, 200.0, 1360.0), 0.001, 0.0, 0.2);
        prop_assert!((poa - ghi).abs() < 0.001 * ghi);
    }

    #[test]
    fn heat_costs_power(poa in 0.0..1200.0_f64, cooler in -30.0..90.0_f64, by in 0.0..30.0_f64) {
        let power = |cell_c| rated_power_w(400.0, poa, cell_c, -0.004);
        prop_assert!(power(cooler) >= power(cooler + by));
        prop_assert!(power(cooler) >= 0.0);
        prop_assert!(cell_temperature_c(cooler, poa) >= cooler);
    }
}
