//! How far places are: great circles, and what the road makes of them.

use super::practice::{KM_PER_HOUR, ROAD_FACTOR};
use crate::domain::Place;

/// Mean radius of the earth, in km (IUGG: 6371.0088).
const EARTH_KM: f64 = 6371.0088;

/// Distance along a great circle on a sphere of the earth's mean radius.
///
/// Points are degrees north and east. Result in km, 0 to half the circumference. Formula: the
/// haversine form, which is well behaved for near points. Valid to about 0.5 % on the real,
/// slightly flattened earth.
fn great_circle_km(from: (f64, f64), to: (f64, f64)) -> f64 {
    let (lat1, lat2) = (from.0.to_radians(), to.0.to_radians());
    let (north, east) = (lat2 - lat1, (to.1 - from.1).to_radians());
    let h = (north / 2.0).sin().powi(2) + lat1.cos() * lat2.cos() * (east / 2.0).sin().powi(2);
    2.0 * EARTH_KM * h.clamp(0.0, 1.0).sqrt().asin()
}

/// A way to a place.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Drive {
    /// Road distance, in km.
    pub km: f64,
    /// Time on the road, in hours.
    pub hours: f64,
}

/// The way from a point (degrees north and east) to a place, one way: the great circle times
/// the road factor at the usual speed, or the road hours that the place states.
pub fn way(from: (f64, f64), place: &Place) -> Drive {
    let straight = great_circle_km(from, (place.latitude, place.longitude));
    let km = straight * place.road_factor.unwrap_or(ROAD_FACTOR);
    Drive { km, hours: place.road_hours.unwrap_or(km / KM_PER_HOUR) }
}

/// The way from one place to another: as [`way`] with the greater of their road factors, but for the
/// hours that a place states, which are those from a camp.
pub fn between(from: &Place, to: &Place) -> Drive {
    let straight = great_circle_km((from.latitude, from.longitude), (to.latitude, to.longitude));
    let [one, other] = [from, to].map(|place| place.road_factor.unwrap_or(ROAD_FACTOR));
    let km = straight * one.max(other);
    Drive { km, hours: km / KM_PER_HOUR }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Nashville to Los Angeles airports: the worked example that goes with the haversine
    /// formula in many languages, 2887.26 km at a radius of 6372.8 km (from memory). Paris to
    /// New York about 5 837 km, London to Sydney about 16 990 km (round figures, from memory).
    #[test]
    fn great_circles_agree_with_published_examples() {
        let airports = great_circle_km((36.12, -86.67), (33.94, -118.40));
        assert!((airports * 6372.8 / EARTH_KM - 2887.26).abs() < 0.01, "{airports}");
        let paris = great_circle_km((48.8566, 2.3522), (40.7128, -74.0060));
        assert!((paris - 5837.0).abs() < 5.0, "{paris}");
        let sydney = great_circle_km((51.5074, -0.1278), (-33.8688, 151.2093));
        assert!((sydney - 16_990.0).abs() < 20.0, "{sydney}");
        // Antipodes: half the circumference. The arcsine near 1 keeps half of the digits, which
        // is a metre at most.
        let half = great_circle_km((10.0, 20.0), (-10.0, -160.0));
        assert!((half - std::f64::consts::PI * EARTH_KM).abs() < 1e-3);
        assert_eq!(great_circle_km((5.0, 6.0), (5.0, 6.0)), 0.0);
        // A quarter of the equator.
        assert!((great_circle_km((0.0, 0.0), (0.0, 90.0)) - 10_007.557).abs() < 0.001);
        // Over the date line is not around the world: a fifth of a degree on the equator.
        let across = great_circle_km((0.0, 179.9), (0.0, -179.9));
        assert!((across - 0.2 * 111.195).abs() < 0.001, "{across}");
    }

    #[test]
    fn the_owners_road_time_goes_first() {
        let mut place = Place { latitude: 0.0, longitude: 1.0, ..Place::default() };
        let by_map = way((0.0, 0.0), &place);
        assert!((by_map.km - 111.195 * ROAD_FACTOR).abs() < 0.01);
        place.road_hours = Some(5.0);
        place.road_factor = Some(2.0);
        let known = way((0.0, 0.0), &place);
        assert_eq!(known.hours, 5.0);
        assert!((known.km - 222.39).abs() < 0.01);
    }
}
