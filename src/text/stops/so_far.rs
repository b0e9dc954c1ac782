//! How far a search for stops is, in words.

use crate::domain::Place;
use crate::plan::Progress;
use crate::plan::stops::answer::Against;
use crate::text::{counted, share};

/// How far a search is: "found 19 stops; no schedule has fewer than 15"; for another plan beside it,
/// "comparing with 95 % sure, 2 of 9: found 19 stops".
pub fn so_far(progress: &Progress, places: &[Place]) -> String {
    if let Some((against, number, of)) = progress.beside {
        let alone = so_far(&Progress { beside: None, ..*progress }, places);
        let name = name(against, places);
        return format!("comparing with {name}, {number} of {of}: {alone}");
    }
    let found = match progress.found {
        Some(stops) => format!("found {}", counted(stops, "stop")),
        None => "nothing found yet".to_string(),
    };
    match (progress.least, progress.found) {
        (Some(least), Some(stops)) if least >= stops => format!("{found}; none has fewer"),
        // That none has fewer than none says nothing.
        (Some(0) | None, _) => found,
        (Some(least), _) => format!("{found}; no schedule has fewer than {least}"),
    }
}

/// What sets another plan apart: "95 % sure", "Quillet Harbour closed".
pub(super) fn name(against: Against, places: &[Place]) -> String {
    match against {
        Against::Sure(confidence) => format!("{} sure", share::percent(confidence)),
        Against::OneMore => "one stop more".to_string(),
        Against::Longer => "one day longer".to_string(),
        Against::Without(place) => format!("{} closed", places[place].name),
    }
}
