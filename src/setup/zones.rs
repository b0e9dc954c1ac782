//! Which time zones are near a place.

use super::table::rows;
use crate::domain::{Moment, Zone, once_each};

/// See the head of the table.
const ZONES: &str = include_str!("../../assets/zones.txt");
/// So many are offered.
const OFFERED: usize = 4;

/// A zone's whole name, from that or from its city alone, in any case: "warsaw" is "Europe/Warsaw".
pub(super) fn named(text: &str) -> Option<&'static str> {
    let text = text.trim().replace(' ', "_");
    let is_it = |name: &&str| {
        let city = name.rsplit('/').next();
        [Some(*name), city].into_iter().flatten().any(|known| known.eq_ignore_ascii_case(&text))
    };
    chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name()).find(is_it)
}

/// The zones nearest to a place (degrees north and east) by whose clocks people may live there, the
/// nearest first.
pub(super) fn nearest((north, east): (f64, f64), at: impl Fn(Zone) -> Moment) -> Vec<&'static str> {
    let row = |cells: Vec<&'static str>| {
        let [name, own_north, own_east] = cells[..] else { return None };
        let (own_north, own_east): (f64, f64) = (own_north.parse().ok()?, own_east.parse().ok()?);
        let zone = Zone::Named(name.parse().ok()?);
        // Degrees of longitude are narrower away from the equator; the date line is no edge.
        let across = (own_east - east + 540.0).rem_euclid(360.0) - 180.0;
        let far = (own_north - north).hypot(across * north.to_radians().cos());
        zone.suits(east, at(zone)).then_some((far, name))
    };
    let mut all: Vec<(f64, &str)> = rows(ZONES).filter_map(row).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut names = once_each(all.into_iter().map(|(_, name)| name));
    names.truncate(OFFERED);
    names
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::setup::answers_read::is_zone;

    #[test]
    fn a_city_names_its_zone() {
        let rows = [("Warsaw", Some("Europe/Warsaw")), ("new york", Some("America/New_York"))];
        for (said, zone) in
            rows.into_iter().chain([("europe/oslo", Some("Europe/Oslo")), ("Ys", None)])
        {
            assert_eq!(named(said), zone, "{said}");
        }
    }

    #[test]
    fn every_zone_is_known() {
        let names: Vec<&str> = rows(ZONES).map(|cells| cells[0]).collect();
        assert!(names.len() > 70 && names.iter().all(|name| is_zone(name)), "{names:?}");
    }

    /// A cape in Scotland, a canyon's rim, a cove near Wellington; from a map.
    #[test]
    fn the_nearest_zone_comes_first() {
        let at = |_| Moment::parse_from_rfc3339("2026-10-20T12:00:00+00:00").unwrap();
        let rows = [
            ((58.57, -4.75), "Europe/London"),
            ((35.28, -111.64), "America/Phoenix"),
            ((-41.2, 174.1), "Pacific/Auckland"),
            ((69.6, 18.9), "Europe/Oslo"),
        ];
        for (spot, wanted) in rows {
            let near = nearest(spot, at);
            assert!(near[0] == wanted, "{spot:?}: {near:?}");
        }
    }
}
