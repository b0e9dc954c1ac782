//! Camps that a trip supposes, instead of those that the journal plans.

use crate::belief::Beliefs;
use crate::domain::timeline::Timeline;
use crate::domain::{Event, Moment, Spot, Standing};
use crate::plan::Basis;

/// What stands and what is believed when the van camps at these places from these
/// moments on; camps that the journal plans are left out. No camps: it stays where it is.
pub fn with_camps(basis: &Basis, camps: &[(Moment, Spot)]) -> (Vec<Standing>, Beliefs) {
    let planned = |entry: &&Standing| matches!(entry.event, Event::Camp(_)) && entry.at > basis.now;
    let mut all: Vec<Standing> = basis.standing.iter().filter(|e| !planned(e)).cloned().collect();
    all.extend(
        camps
            .iter()
            .map(|(at, place)| Standing::supposed(*at, basis.now, Event::Camp(place.clone()))),
    );
    all.sort_by_key(|entry| entry.at);
    let mut beliefs = basis.beliefs.clone();
    beliefs.timeline = Timeline::of(basis.rig, &all);
    (all, beliefs)
}
