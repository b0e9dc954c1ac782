//! Where the next forced stop leads: "be there by" is also "leave by", and a place that is
//! closed that day is no answer.

use super::answer::Lead;
use super::places;
use crate::belief::Beliefs;
use crate::domain::rig::Rig;
use crate::domain::time::{Moment, after_hours};
use crate::plan::road;
use chrono::{Duration, NaiveTime};

/// Places that do not say are taken to be open from this civil hour to [`CLOSES`].
/// Common practice, no source.
pub const OPENS: u32 = 8;
/// See [`OPENS`].
pub const CLOSES: u32 = 18;

/// Places that can service what binds, each with the last moment to be there and to leave:
/// `by` itself within opening hours, else the end of the last open day before it. Those that
/// cannot be reached any more are left out. Nearest first.
pub fn leads(rig: &Rig, beliefs: &Beliefs, now: Moment, by: Moment, binding: usize) -> Vec<Lead> {
    let parts = &beliefs.mechanism.parts;
    let camp = beliefs.timeline.camp(now);
    let mut leads: Vec<Lead> = Vec::new();
    for (index, place) in rig.places.iter().enumerate() {
        let mut serves = places::services(place, parts);
        if place.name != camp.name {
            serves |= places::reset_by_camp(parts);
        }
        if serves & (1 << binding) == 0 {
            continue;
        }
        let way = road::way((camp.latitude, camp.longitude), place);
        let Some(at) = last_open(rig, place, now, by) else { continue };
        let Some(leave_by) = after_hours(at, -way.hours) else { continue };
        if leave_by < now {
            continue;
        }
        leads.push(Lead {
            place: index,
            by: at,
            leave_by,
            km: way.km,
            hours: way.hours,
            services: (0..parts.stocks.len().min(32)).filter(|s| serves & (1 << s) != 0).collect(),
        });
    }
    leads.sort_by(|a, b| a.hours.total_cmp(&b.hours));
    leads
}

/// The last moment at or before `by`, and after `now`, at which the place is open.
fn last_open(
    rig: &Rig,
    place: &crate::domain::rig::Place,
    now: Moment,
    by: Moment,
) -> Option<Moment> {
    let zone = rig.zone(now);
    let hour = |h: u32| NaiveTime::from_hms_opt(h, 0, 0).unwrap_or_default();
    let mut date = zone.date(by);
    while date >= zone.date(now) {
        let opens = zone.moment(date.and_time(place.opens.unwrap_or(hour(OPENS))));
        let last = zone.moment(date.and_time(place.closes.unwrap_or(hour(CLOSES))));
        let last = last.min(zone.here(by));
        if last >= opens && places::is_open(place, zone, last) {
            return (last > now).then_some(last);
        }
        date -= Duration::days(1);
    }
    None
}
