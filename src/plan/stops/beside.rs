//! One plan beside another: what each comes to, in a row.

use super::answer::{Against, PlanTotals, Trip, TripRequest};
use super::model::{TripInputs, TripModel};
use super::problem::Cancelled;
use super::telling::{Onward, Progress, Telling};
use crate::belief::Basis;
use crate::plan::practice::AS_SURE;

/// Answers a trip by itself.
type Ask<'a> = dyn Fn(&Basis, &TripRequest) -> Result<Trip, Cancelled> + 'a;

/// Hears how far it is.
type Tell<'a> = dyn Fn(Progress) -> Onward + Sync + 'a;

/// What the other plan comes to; `None` where none is found.
///
/// # Errors
/// When `ask` gives it up.
pub(super) fn beside(
    basis: &Basis,
    request: &TripRequest,
    (trip, against): (&Trip, Against),
    (ask, tell): (&Ask, &Tell),
) -> Result<Option<PlanTotals>, Cancelled> {
    let asked = TripRequest { against: Vec::new(), ..request.clone() };
    let closed = |place: usize| {
        let mut rig = basis.rig.clone();
        (rig.places[place].services, rig.places[place].stocks) = (Vec::new(), Vec::new());
        rig
    };
    let of = |basis: &Basis, asked| match ask(basis, &asked)? {
        // The best that a search found until it was given up is nothing to compare with.
        trip if trip.stopped => Err(Cancelled),
        trip => Ok(Some(PlanTotals::of(&trip))),
    };
    match against {
        Against::OneMore => with_so_many(basis, &asked, trip.stops.len() + 1, tell),
        Against::Sure(confidence) => of(basis, TripRequest { confidence, ..asked }),
        Against::Longer => of(basis, TripRequest { days: asked.days + 1, ..asked }),
        Against::Without(place) => of(&Basis { rig: &closed(place), ..*basis }, asked),
    }
}

/// The surest schedule of `count` stops that is found; `None` where there is none.
fn with_so_many(
    basis: &Basis,
    request: &TripRequest,
    count: usize,
    tell: &Tell,
) -> Result<Option<PlanTotals>, Cancelled> {
    let telling = Telling::of(tell);
    let model = TripModel::of(TripInputs { basis: *basis, request, telling: &telling }, Vec::new());
    // Where fewer lose no more lives, a further stop makes nothing surer.
    let surest = model.surest(count).filter(|found| found.visits.len() == count);
    let Some(surest) = surest else { return Ok(None) };
    // About as sure, on days that people would choose.
    let bar = model.compared(&surest.visits, request.confidence) - AS_SURE;
    let visits = model.preferred(surest, bar).ok_or(Cancelled)?.visits;
    let probability = model.try_on_fresh(&visits).probability;
    let row = PlanTotals::summed(&model.describe(&visits), probability);
    Ok(Some(PlanTotals { works: probability >= request.confidence, ..row }))
}
