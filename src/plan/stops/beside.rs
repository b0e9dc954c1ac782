//! One plan beside another: what each comes to, in a row.

use super::answer::{Against, Beside, Trip, TripRequest};
use super::heuristic::Heuristic;
use super::model::TripModel;
use super::problem::{Cancelled, Problem};
use super::windows::{Reachable, ways, windows};
use crate::plan::basis::Basis;

/// Answers a trip by itself.
type Ask<'a> = dyn Fn(&Basis, &TripRequest) -> Result<Trip, Cancelled> + 'a;

/// What the other plan comes to; `None` where none is found.
///
/// # Errors
/// When `ask` gives it up.
pub(super) fn beside(
    basis: &Basis,
    request: &TripRequest,
    (trip, against): (&Trip, Against),
    ask: &Ask,
) -> Result<Option<Beside>, Cancelled> {
    let asked = TripRequest { against: Vec::new(), ..request.clone() };
    let closed = |place: usize| {
        let mut rig = basis.rig.clone();
        (rig.places[place].services, rig.places[place].stocks) = (Vec::new(), Vec::new());
        rig
    };
    let of = |basis: &Basis, asked| ask(basis, &asked).map(|trip| Some(Beside::of(&trip)));
    match against {
        Against::OneMore => Ok(with_so_many(basis, &asked, trip.stops.len() + 1)),
        Against::Sure(confidence) => of(basis, TripRequest { confidence, ..asked }),
        Against::Longer => of(basis, TripRequest { days: asked.days + 1, ..asked }),
        Against::Without(place) => of(&Basis { rig: &closed(place), ..*basis }, asked),
    }
}

/// The surest schedule of `count` stops that is found; `None` where there is none.
fn with_so_many(basis: &Basis, request: &TripRequest, count: usize) -> Option<Beside> {
    let model = TripModel::of(basis, request);
    let all = Problem { allowed: model.allowed(request.confidence), ..model.problem.clone() };
    let (windows, ways) = (windows(&all, all.allowed), ways(&all));
    let reachable = Reachable::of(&all, &windows, &ways);
    // Every life that is lost counts here, not only those beyond what is allowed.
    let sure = Problem { allowed: 0, ..all.clone() };
    let found = Heuristic::of(&all).beam(count, &reachable, &|| false).ok()?;
    // Where fewer lose no more lives, a further stop makes nothing surer.
    let mut visits = found.filter(|visits| visits.len() == count)?;
    Heuristic::of(&sure).local_search(&mut visits);
    let probability = model.try_on_fresh(&visits, request).probability;
    let row = Beside::summed(&model.describe(&visits, request), probability);
    Some(Beside { works: probability >= request.confidence, ..row })
}
