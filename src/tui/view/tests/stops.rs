//! What the screen of stops says where none carries the crew through.

use super::{shown, text};
use crate::plan::Trip;
use crate::tui::Theme;
use std::sync::Arc;

/// The battery is stock 5 of the fixture, which a place sees to by a hook-up; gas is stock 7.
#[test]
fn what_no_place_sees_to_is_named_with_what_it_lacks() {
    let mut state = shown(Theme::default(), "p21jj99");
    let none = state.trip.asked.answer.clone().unwrap();
    let mut trip: Trip = (*none).clone();
    let help = trip.relaxation.as_mut().unwrap();
    (help.unserved, help.service) = (vec![5, 7], Some(5));
    state.trip.asked.answer = Some(Arc::new(trip));
    let screen = text(&state, 40, 120).split_whitespace().collect::<Vec<_>>().join(" ");
    for line in [
        "battery: no known place has a hook-up; add one to places.ron, or use less",
        "gas: no known place sees to that; add one to places.ron, or use less",
        "It would work with a hook-up at every place",
    ] {
        assert!(screen.contains(line), "{line}: {screen}");
    }
}
