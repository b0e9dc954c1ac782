//! Where the next forced stop leads: "be there by" is also "leave by", and a place that is
//! closed that day is no answer.

use super::answer::Lead;
use super::places;
use crate::domain::{Moment, after_hours};
use crate::plan::{Basis, road};

/// Places that can service what binds, each with the last moment to be there and to leave:
/// `by` itself within opening hours, else late on the last open day before it. Those that
/// cannot be reached any more are left out. Nearest first.
pub(super) fn leads(basis: &Basis, by: Moment, binding: usize) -> Vec<Lead> {
    let Basis { rig, beliefs, now, .. } = *basis;
    let parts = &beliefs.mechanism.parts;
    let (camp, zone) = (beliefs.timeline.camp(now), basis.zone());
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
        let Some(at) = places::last_chance(place, zone, (now, by)) else { continue };
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
