//! Who was aboard and where the van stood, at any moment, past or planned.

use super::counts::Counts;
use super::entry::{Event, Spot};
use super::journal::Standing;
use super::rig::Rig;
use super::time::Moment;

/// Where the van stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Camp {
    /// Its name, or its coordinates in words.
    pub name: String,
    /// Degrees north.
    pub latitude: f64,
    /// Degrees east.
    pub longitude: f64,
    /// The camp whose coordinates these are, where nobody said where this one lies.
    pub taken_as: Option<String>,
    /// Since when; `None` when the journal does not say.
    pub since: Option<Moment>,
}

/// Step functions of crew and camp over the standing entries, plans included.
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline {
    crew: Vec<(Moment, f64)>,
    usual_crew: f64,
    camps: Vec<Camp>,
    home: Camp,
}

impl Timeline {
    /// Reads crew and camp entries off `standing`, which is in time order.
    pub fn of(rig: &Rig, standing: &[Standing]) -> Timeline {
        let home = Camp {
            name: rig.home.place.clone(),
            latitude: rig.home.latitude,
            longitude: rig.home.longitude,
            taken_as: None,
            since: None,
        };
        let mut timeline =
            Timeline { crew: Vec::new(), usual_crew: rig.crew, camps: Vec::new(), home };
        for entry in standing.iter().filter(|entry| entry.counts_for_dates()) {
            match &entry.event {
                Event::Crew(aboard) => timeline.crew.push((entry.at, aboard.value())),
                Event::Use { .. } => {
                    timeline.crew.extend(back_early(standing, entry, &timeline.crew))
                }
                Event::Camp(spot) => {
                    let before = timeline.camps.last().unwrap_or(&timeline.home);
                    let camp = resolve(rig, spot, before, entry.at);
                    timeline.camps.push(camp);
                }
                _ => {}
            }
        }
        timeline
    }

    /// People aboard at a moment.
    pub fn aboard(&self, at: Moment) -> f64 {
        let after = self.crew.partition_point(|(from, _)| *from <= at);
        after.checked_sub(1).map_or(self.usual_crew, |last| self.crew[last].1)
    }

    /// What is written of who is aboard after a moment: from when, and how many.
    pub fn aboard_after(&self, at: Moment) -> &[(Moment, f64)] {
        &self.crew[self.crew.partition_point(|(from, _)| *from <= at)..]
    }

    /// The camp at a moment.
    pub fn camp(&self, at: Moment) -> &Camp {
        let after = self.camps.partition_point(|camp| camp.since.is_none_or(|from| from <= at));
        after.checked_sub(1).map_or(&self.home, |last| &self.camps[last])
    }

    /// Moments in `(from, to]` at which crew or camp change.
    pub fn moves_between(&self, from: Moment, to: Moment) -> Vec<Moment> {
        self.camps.iter().filter_map(|c| c.since).filter(|m| *m > from && *m <= to).collect()
    }
}

/// Who is aboard from a use on that was written while nobody was to be: those whose planned return
/// it contradicts.
fn back_early(
    standing: &[Standing],
    used: &Standing,
    crew: &[(Moment, f64)],
) -> Option<(Moment, f64)> {
    let (left, _) = crew.last().filter(|(_, aboard)| *aboard == 0.0)?;
    if used.at.date_naive() <= left.date_naive() {
        return None;
    }
    let back = standing.iter().filter(|e| e.counts == Counts::Open && e.at > used.at);
    let aboard = back.filter_map(|entry| match &entry.event {
        Event::Crew(aboard) if aboard.milli() > 0 => Some(aboard.value()),
        _ => None,
    });
    aboard.map(|aboard| (used.at, aboard)).next()
}

fn resolve(rig: &Rig, spot: &Spot, before: &Camp, at: Moment) -> Camp {
    let camp = |name: &str, latitude, longitude| Camp {
        name: name.to_string(),
        latitude,
        longitude,
        taken_as: None,
        since: Some(at),
    };
    match spot {
        Spot::At { latitude, longitude } => camp(&format!("{spot:.3}"), *latitude, *longitude),
        Spot::Named(name) => match rig.place_named(name) {
            Some(place) => camp(&place.name, place.latitude, place.longitude),
            None if name.eq_ignore_ascii_case(&rig.home.place) => {
                camp(name, rig.home.latitude, rig.home.longitude)
            }
            // Said again where the van stands.
            None if name.eq_ignore_ascii_case(&before.name) => {
                Camp { since: Some(at), ..before.clone() }
            }
            None => {
                let taken_as = before.taken_as.as_ref().unwrap_or(&before.name).clone();
                let here = camp(name, before.latitude, before.longitude);
                Camp { taken_as: Some(taken_as), ..here }
            }
        },
    }
}
