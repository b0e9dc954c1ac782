use super::hours::{LIGHT, Track, lifted_deg};
use super::*;
use crate::physics::check::near;
use crate::physics::sky::haurwitz_w_m2;
use proptest::prelude::*;

fn at(text: &str) -> Moment {
    text.parse().unwrap()
}

fn apart_deg(a: f64, b: f64) -> f64 {
    let turn = (a - b).rem_euclid(360.0);
    turn.min(360.0 - turn)
}

/// Published example of the algorithm: Reda and Andreas, NREL/TP-560-34302 (2008), example
/// table. Zenith 50.11162 and azimuth 194.34024 from memory, and computed: pvlib 0.16.1. The
/// estimated time difference is 64.5 s where the example sets 67 s, which moves the sun by less
/// than 0.0001 degrees.
#[test]
fn the_published_example_of_the_algorithm() {
    let air = RefractionCorrection::new(820.0, 11.0).unwrap();
    let here = place(39.742_476, -105.178_6);
    let moment = at("2003-10-17T12:30:30-07:00");
    let sun = exact(moment, here, 1830.14, Some(air));
    near("apparent zenith", sun.zenith_deg, 50.111_62, 0.000_1);
    near("azimuth", sun.azimuth_deg, 194.340_24, 0.000_1);
    let bare = exact(moment, here, 1830.14, None);
    near("true zenith", bare.zenith_deg, 50.127_954, 0.000_1);
}

/// Latitude, longitude, moment, true zenith, apparent zenith, azimuth, Haurwitz W/m2.
type Reference = (f64, f64, &'static str, f64, f64, f64, f64);

/// Computed: pvlib 0.16.1, NREL SPA, sea level, 1013.25 hPa, 12 degrees Celsius.
const REFERENCES: [Reference; 8] = [
    (0.0, 0.0, "2024-03-20T12:00:00Z", 1.8331, 1.8326, 85.4147, 1034.53),
    (33.45, -112.07, "2024-06-21T19:30:00Z", 10.0154, 10.0125, 179.6450, 1018.40),
    (43.6, -116.2, "2024-12-21T19:00:00Z", 67.7716, 67.7310, 169.2876, 356.10),
    (51.5, 0.0, "2024-06-21T09:00:00Z", 44.6206, 44.6041, 111.3674, 719.58),
    (60.0, 10.0, "2024-03-20T15:00:00Z", 72.3888, 72.3368, 237.1313, 274.28),
    (-33.9, 151.2, "2024-12-21T23:00:00Z", 39.2075, 39.1938, 86.2360, 788.59),
    (39.74, -105.18, "2024-10-17T16:00:00Z", 62.5204, 62.4883, 132.5926, 446.38),
    (65.0, 25.0, "2024-06-21T22:00:00Z", 91.4655, 91.4655, 354.9506, 0.0),
];

#[test]
fn eight_reference_points() {
    for (latitude, longitude, moment, zenith, apparent, azimuth, clear) in REFERENCES {
        let bare = position(at(moment), latitude, longitude);
        near(moment, bare.zenith_deg, zenith, 0.000_2);
        // Close under the zenith an azimuth magnifies any difference thirtyfold.
        let tolerance = if zenith < 5.0 { 0.003 } else { 0.000_3 };
        near(moment, apart_deg(bare.azimuth_deg, azimuth), 0.0, tolerance);
        let seen = apparent_position(at(moment), latitude, longitude);
        near(moment, seen.zenith_deg, apparent, 0.000_2);
        near(moment, haurwitz_w_m2(seen.zenith_deg), clear, 0.01);
    }
}

/// The corners of globe and calendar. Computed: pvlib 0.16.1, as above. The row of 2150 was
/// computed with our guess of the earth's rotation by then, 193 s; pvlib guesses 329 s, which
/// moves the sun by 0.0016 degrees and no van at all.
#[test]
fn poles_date_line_leap_day_and_far_years() {
    let rows: [Reference; 11] = [
        (-45.0, 170.0, "2024-02-29T12:00:00Z", 126.0267, 126.0267, 196.1234, 0.0),
        (-17.8, 179.95, "2024-02-29T23:30:00Z", 14.6096, 14.6053, 46.4537, 0.0),
        (-17.8, -179.95, "2024-02-29T23:30:00Z", 14.5408, 14.5364, 46.1701, 0.0),
        (78.2, 15.6, "2026-12-21T12:00:00Z", 102.0693, 102.0693, 195.0659, 0.0),
        (78.2, 15.6, "2026-06-21T00:00:00Z", 77.9819, 77.9063, 14.2127, 0.0),
        (-54.8, -68.3, "2026-01-15T04:00:00Z", 103.5291, 103.5291, 190.1828, 0.0),
        (-54.8, -68.3, "2026-01-15T16:00:00Z", 34.7101, 34.6985, 17.6556, 0.0),
        (-90.0, 0.0, "2031-10-26T01:00:00Z", 77.6940, 77.6201, 161.0051, 0.0),
        (89.9, 40.0, "2031-07-01T10:00:00Z", 66.8034, 66.7645, 189.0394, 0.0),
        (40.0, -100.0, "1995-05-05T15:00:00Z", 52.4022, 52.3804, 100.6945, 0.0),
        (40.0, -100.0, "2150-05-05T15:00:00Z", 52.3475, 52.3258, 100.5417, 0.0),
    ];
    for (latitude, longitude, moment, zenith, apparent, azimuth, _) in rows {
        let bare = position(at(moment), latitude, longitude);
        near(moment, bare.zenith_deg, zenith, 0.001);
        near(moment, apart_deg(bare.azimuth_deg, azimuth), 0.0, 0.001);
        let seen = apparent_position(at(moment), latitude, longitude);
        near(moment, seen.zenith_deg, apparent, 0.001);
    }
}

/// Computed: pvlib 0.16.1 (`get_extra_radiation`, 1366.1 W/m2), 2024: 20 March, 21 June,
/// 17 October, 21 December.
#[test]
fn irradiance_outside_the_atmosphere() {
    for (day, want) in [(80, 1376.892), (173, 1321.458), (291, 1376.589), (356, 1412.898)] {
        near(&format!("day {day}"), extraterrestrial_normal_w_m2(day), want, 0.001);
    }
}

/// Allen and others, FAO Irrigation and Drainage Paper 56 (1998), example 8: 32.2 MJ/m2 on
/// 3 September at 20 degrees south (published answer from memory, recomputed 32.194). FAO's
/// declination is a single sine: 6.86 degrees where the sun stands at 7.5, hence 1.5 %.
#[test]
fn extraterrestrial_day_of_a_published_example() {
    let hours = hourly_sun(at("2025-09-03T00:00:00Z"), 24, -20.0, 0.0);
    let megajoules = hours.iter().map(level_outside_w_m2).sum::<f64>() * 3600.0 / 1e6;
    near("MJ/m2", megajoules, 32.2, 32.2 * 0.015);
    // Its own series for declination and distance, in closed form, gives the printed figure.
    let (day, latitude) = (246.0, (-20.0_f64).to_radians());
    let turn = std::f64::consts::TAU * day / 365.0;
    let declination = 0.409 * (turn - 1.39).sin();
    let hours = day_length_h(-20.0, declination.to_degrees(), 0.0);
    near("daylight hours", hours, 11.7, 0.05);
    let half = hours * 7.5_f64.to_radians();
    let sum =
        half * latitude.sin() * declination.sin() + latitude.cos() * declination.cos() * half.sin();
    let distance = 1.0 + 0.033 * turn.cos();
    near("FAO", 24.0 * 60.0 / std::f64::consts::PI * 0.082 * distance * sum, 32.2, 0.05);
}

fn level_outside_w_m2(hour: &SunHour) -> f64 {
    hour.extraterrestrial_normal_w_m2 * hour.zenith_deg.to_radians().cos()
}

/// Sunrise equation. Computed from the closed form; declination 23.44 degrees.
#[test]
fn day_lengths_of_the_sunrise_equation() {
    let rows = [
        (35.0, 14.356, 9.644, 14.512, 9.798),
        (45.0, 15.426, 8.574, 15.617, 8.763),
        (60.0, 18.490, 5.510, 18.867, 5.867),
    ];
    for (latitude, summer, winter, summer_seen, winter_seen) in rows {
        let row = format!("latitude {latitude}");
        near(&row, day_length_h(latitude, 23.44, 0.0), summer, 0.000_6);
        near(&row, day_length_h(latitude, -23.44, 0.0), winter, 0.000_6);
        near(&row, day_length_h(latitude, 23.44, -0.833), summer_seen, 0.000_6);
        near(&row, day_length_h(latitude, -23.44, -0.833), winter_seen, 0.000_6);
        near(&row, day_length_h(-latitude, -23.44, 0.0), summer, 0.000_6);
    }
    for (latitude, declination, hours) in
        [(80.0, 23.44, 24.0), (80.0, -23.44, 0.0), (90.0, 5.0, 24.0), (-90.0, 5.0, 0.0)]
    {
        assert_eq!(day_length_h(latitude, declination, 0.0), hours, "{latitude} {declination}");
    }
}

/// Daylight counted minute by minute from positions, zenith below 90.833. Computed: pvlib
/// 0.16.1, to 0.01 h; a minute is 0.017 h.
#[test]
fn day_lengths_of_positions() {
    let rows = [
        (0.0, "2024-03-20T00:00:00Z", 12.12),
        (25.0, "2024-12-21T00:00:00Z", 10.58),
        (35.0, "2024-06-21T00:00:00Z", 14.50),
        (45.0, "2024-06-21T00:00:00Z", 15.62),
        (60.0, "2024-06-21T00:00:00Z", 18.87),
        (60.0, "2024-12-21T00:00:00Z", 5.87),
    ];
    for (latitude, midnight, want) in rows {
        let lit = (0..1440).filter(|minute| {
            let moment = at(midnight) + Duration::seconds(minute * 60 + 30);
            position(moment, latitude, 0.0).zenith_deg < 90.833
        });
        near(midnight, lit.count() as f64 / 60.0, want, 0.022);
    }
}

#[test]
fn six_moments_stand_for_the_hour() {
    for (latitude, midnight) in [
        (0.0, "2026-03-20T00:00:00Z"),
        (47.0, "2026-11-02T00:00:00Z"),
        (64.0, "2026-06-03T00:00:00Z"),
    ] {
        let coarse = hourly_clear_sky(at(midnight), 24, latitude, 8.0);
        for (hour, got) in coarse.iter().enumerate() {
            let fine: f64 = (0..60)
                .map(|minute| {
                    let seconds = hour as i64 * 3600 + minute * 60 + 30;
                    let moment = at(midnight) + Duration::seconds(seconds);
                    haurwitz_w_m2(apparent_position(moment, latitude, 8.0).zenith_deg) / 60.0
                })
                .sum();
            near(&format!("{midnight} {hour} h"), *got, fine, 0.5);
        }
    }
}

#[test]
fn polar_day_and_night() {
    let summer = hourly_clear_sky(at("2026-06-21T00:00:00Z"), 24, 78.2, 15.6);
    assert!(summer.iter().all(|w| *w > 50.0), "{summer:?}");
    let winter = hourly_sun(at("2026-12-21T00:00:00Z"), 24, 78.2, 15.6);
    for hour in winter {
        assert_eq!((hour.clear_w_m2, hour.extraterrestrial_normal_w_m2), (0.0, 0.0));
        assert!(hour.zenith_deg > 90.0);
    }
}

#[test]
fn the_southern_noon_sun_stands_in_the_north() {
    let noon = hourly_sun(at("2026-07-10T11:30:00Z"), 1, -33.0, 0.0)[0];
    assert!(apart_deg(noon.azimuth_deg, 0.0) < 5.0, "{noon:?}");
    let year = |latitude: f64| -> [f64; 2] {
        ["2026-06-21T00:00:00Z", "2026-12-21T00:00:00Z"]
            .map(|day| hourly_clear_sky(at(day), 24, latitude, 0.0).iter().sum())
    };
    let ([june_north, december_north], [june_south, december_south]) = (year(40.0), year(-40.0));
    assert!(june_north > 2.0 * december_north && december_south > 2.0 * june_south);
    // The earth is nearest to the sun in January, but Haurwitz knows only the height.
    near("mirrored", december_south, june_north, june_north * 0.002);
}

#[test]
fn an_hour_of_sunrise_has_a_part_of_the_sun() {
    // At the equator on the equinox the sun rises at about 06:04 and sets at about 18:11 UTC.
    let hours = hourly_sun(at("2026-03-20T00:00:00Z"), 24, 0.0, 0.0);
    let full = extraterrestrial_normal_w_m2(79);
    let (noon, evening) = (hours[12], hours[18]);
    assert!(noon.extraterrestrial_normal_w_m2 > 0.99 * full);
    assert!(evening.extraterrestrial_normal_w_m2 < 0.4 * full);
    assert!(evening.extraterrestrial_normal_w_m2 > 0.0 && evening.zenith_deg < 90.0);
    assert_eq!(hours[22].extraterrestrial_normal_w_m2, 0.0);
}

#[test]
fn coordinates_that_are_no_numbers_do_no_harm() {
    let moment = at("2026-05-01T12:00:00Z");
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(position(moment, bad, bad), position(moment, 0.0, 0.0));
        assert_eq!(hourly_clear_sky(moment, 1, bad, bad), hourly_clear_sky(moment, 1, 0.0, 0.0));
    }
    assert_eq!(position(moment, 95.0, 0.0), position(moment, 90.0, 0.0));
}

#[test]
fn refraction_of_the_fast_path_is_that_of_the_slow_one() {
    for minute in (0..1440).step_by(7) {
        let moment = at("2026-09-22T00:00:00Z") + Duration::minutes(minute);
        let bare = position(moment, 52.0, 4.0);
        let seen = apparent_position(moment, 52.0, 4.0);
        near("zenith", lifted_deg(bare.zenith_deg), seen.zenith_deg, 1e-9);
    }
}

/// The table of light is the formula, from below the horizon to the zenith, also between the ends
/// of its pieces.
#[test]
fn light_from_the_table_is_that_of_the_formula() {
    for hundredth_deg in -300..=9000 {
        let height_deg = f64::from(hundredth_deg) / 100.0;
        let formula = haurwitz_w_m2(lifted_deg(90.0 - height_deg));
        near("light", LIGHT.at(height_deg.to_radians().sin()), formula, 0.005);
    }
}

fn any_moment() -> impl Strategy<Value = Moment> {
    let (first, last) = (DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MAX_UTC);
    let common = 1_262_304_000_i64..4_417_977_600; // 2010 to 2109
    prop_oneof![3 => common, 1 => first.timestamp()..=last.timestamp()].prop_map(|seconds| {
        DateTime::from_timestamp(seconds, 0).expect("within chrono's range").fixed_offset()
    })
}

proptest! {
    #[test]
    fn every_moment_and_place_has_a_sun(
        moment in any_moment(),
        latitude in -90.0..=90.0_f64,
        longitude in -720.0..=720.0_f64,
    ) {
        for sun in [position(moment, latitude, longitude), apparent_position(moment, latitude, longitude)] {
            prop_assert!((0.0..=180.0).contains(&sun.zenith_deg));
            prop_assert!((0.0..360.0).contains(&sun.azimuth_deg));
        }
        for hour in hourly_sun(moment, 3, latitude, longitude) {
            prop_assert!((0.0..1098.0).contains(&hour.clear_w_m2));
            prop_assert!((0.0..=180.0).contains(&hour.zenith_deg));
            prop_assert!((0.0..360.0).contains(&hour.azimuth_deg));
            prop_assert!((0.0..1415.0).contains(&hour.extraterrestrial_normal_w_m2));
            // The ground never gets more than what arrives above the air; refraction and the
            // unrefracted direction may differ by a watt at the horizon.
            prop_assert!(hour.clear_w_m2 <= level_outside_w_m2(&hour) + 1.0);
        }
    }

    #[test]
    fn the_fast_path_is_good_to_a_fiftieth_of_a_degree(
        seconds in 1_262_400_000_i64..4_417_800_000,
        latitude in -80.0..80.0_f64,
        longitude in -180.0..180.0_f64,
    ) {
        let moment = DateTime::from_timestamp(seconds, 0).unwrap().fixed_offset();
        let fast = Track::new(moment, latitude, longitude).fast(&moment.with_timezone(&Utc));
        let slow = position(moment, latitude, longitude);
        prop_assert!((fast.zenith_deg - slow.zenith_deg).abs() < 0.02, "{fast:?} {slow:?}");
    }

    #[test]
    fn turns_of_longitude_change_nothing(
        moment in any_moment(), latitude in -89.0..89.0_f64, longitude in -180.0..180.0_f64,
    ) {
        let once = position(moment, latitude, longitude);
        let twice = position(moment, latitude, longitude + 360.0);
        prop_assert!((once.zenith_deg - twice.zenith_deg).abs() < 1e-9);
    }

    #[test]
    fn an_offset_changes_nothing(moment in any_moment(), hours in -12..=14_i32) {
        let offset = chrono::FixedOffset::east_opt(hours * 3600).unwrap();
        prop_assert_eq!(
            position(moment, 40.0, 10.0),
            position(moment.with_timezone(&offset), 40.0, 10.0)
        );
    }

    #[test]
    fn later_starts_see_the_same_hours(start in 0..2000_i64, latitude in -66.0..66.0_f64) {
        let from = at("2026-01-01T00:00:00Z") + Duration::hours(start);
        let long = hourly_clear_sky(from, 30, latitude, 0.0);
        let late = hourly_clear_sky(from + Duration::hours(10), 20, latitude, 0.0);
        for (a, b) in long[10..].iter().zip(&late) {
            // The estimated time difference may step by a hundredth of a second at a new month.
            prop_assert!((a - b).abs() < 1e-3);
        }
    }
}
