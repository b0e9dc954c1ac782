//! Camps that a trip supposes, instead of those that the journal plans.

use crate::belief::Beliefs;
use crate::domain::entry::{Event, Spot};
use crate::domain::journal::Standing;
use crate::domain::rig::Rig;
use crate::domain::time::Moment;
use crate::domain::timeline::Timeline;
use crate::plan::Where;

/// What stands and what is believed at `now` when the van camps at these places from these
/// moments on; camps that the journal plans are left out. No camps: it stays where it is.
pub fn with_camps(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    now: Moment,
    camps: &[(Moment, Where)],
) -> (Vec<Standing>, Beliefs) {
    let planned = |entry: &&Standing| matches!(entry.event, Event::Camp(_)) && entry.at > now;
    let mut all: Vec<Standing> = standing.iter().filter(|e| !planned(e)).cloned().collect();
    for (at, place) in camps {
        let spot = match place {
            Where::Named(name) => Spot::Named(name.clone()),
            Where::At { latitude, longitude } => {
                Spot::At { latitude: *latitude, longitude: *longitude }
            }
        };
        all.push(Standing::supposed(*at, now, Event::Camp(spot)));
    }
    all.sort_by_key(|entry| entry.at);
    let mut beliefs = beliefs.clone();
    beliefs.timeline = Timeline::of(rig, &all);
    (all, beliefs)
}
