//! Where the next forced stop leads: "be there by" is also "leave by", and a place that is
//! closed that day is no answer.

use super::answer::Lead;
use super::places;
use crate::domain::rig::{Place, Rig};
use crate::domain::time::{Moment, after_hours};
use crate::plan::assumptions::{CLOSES, OPENS};
use crate::plan::basis::Basis;
use crate::plan::road;
use chrono::{Duration, NaiveTime};

/// Places that can service what binds, each with the last moment to be there and to leave:
/// `by` itself within opening hours, else the end of the last open day before it. Those that
/// cannot be reached any more are left out. Nearest first.
pub(super) fn leads(basis: &Basis, by: Moment, binding: usize) -> Vec<Lead> {
    let Basis { rig, beliefs, now, .. } = *basis;
    let parts = &beliefs.mechanism.parts;
    let camp = beliefs.timeline.camp(now);
    let mut leads: Vec<Lead> = Vec::new();
    for (index, place) in rig.places.iter().enumerate() {
        let mut serves = places::services(place, parts);
        if place.name != camp.name {
            serves.add_all(&places::reset_by_camp(parts));
        }
        if !serves.has(binding) {
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
            services: serves.iter().collect(),
        });
    }
    leads.sort_by(|a, b| a.hours.total_cmp(&b.hours));
    leads
}

/// The last moment at or before `by`, and after `now`, at which the place is open.
fn last_open(rig: &Rig, place: &Place, now: Moment, by: Moment) -> Option<Moment> {
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
