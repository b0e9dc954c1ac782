//! What drives burn, where that is more than the trip can spare.
//!
//! The lives on which a schedule is chosen stand still: nobody knows yet where it will lead. A van whose
//! engine drinks from the tank that is planned for would be led past the pump. So a schedule that fails
//! for what its drives burn is chosen once more on lives that drive so much, and what is chosen then is
//! tried with its own drives as ever.

use super::choose::Chosen;
use super::layout::CHOSEN;
use super::model::{CHOOSING_LIVES, TripModel};
use super::problem::Cancelled;
use super::telling::Following;
use crate::domain::Driver;
use crate::plan::case::Case;
use std::cell::RefCell;

/// Times that it is chosen on lives that drive as the schedule before does; 1 to 4.
const ROUNDS: usize = 2;

/// The schedule, chosen again where its drives burn what then runs out.
///
/// # Errors
/// [`Cancelled`] when nobody waits any more.
pub(super) fn chosen(mut model: TripModel<'_>) -> Result<(TripModel<'_>, Chosen), Cancelled> {
    let mut chosen = model.choose()?;
    let burns = (0..model.problem.stocks).any(|stock| model.is_burnt_by_drives(stock));
    for _ in 0..ROUNDS {
        if chosen.works || chosen.stopped || !burns {
            break;
        }
        let (visits, share) = match &chosen.found {
            Some((found, share)) if !found.visits.is_empty() => (found.visits.clone(), *share),
            // All that was found fails on the way, and is no better than no stop.
            _ => (model.standing_still()?, 0.0),
        };
        let undone_by = model.try_on_fresh(&visits).most_often_first();
        let burnt = undone_by.filter(|stock| model.is_burnt_by_drives(*stock));
        if burnt.is_none() {
            break;
        }
        let drives = Case { lives: CHOOSING_LIVES, seed: CHOSEN, ..model.with_drives(&visits, 0) };
        let again = TripModel::laid_out(model.asked, model.case.clone(), &drives);
        let again = TripModel { burnt, ..again };
        let other = match again.choose() {
            // Given up here, the schedule before stays.
            Err(Cancelled) if model.asked.telling.settles() => {
                return Ok((model, Chosen { stopped: true, ..chosen }));
            }
            other => other?,
        };
        if other.found.as_ref().is_none_or(|(_, other)| *other <= share) {
            break;
        }
        (model, chosen) = (again, other);
    }
    Ok((model, chosen))
}

impl TripModel<'_> {
    /// The visits that would do if no drive took anything.
    fn standing_still(&self) -> Result<Vec<usize>, Cancelled> {
        let following = Following { telling: self.asked.telling, kept: RefCell::default() };
        Ok(self.find(&self.problem, &following)?.map(|found| found.visits).unwrap_or_default())
    }

    /// Whether driving takes of a stock.
    fn is_burnt_by_drives(&self, stock: usize) -> bool {
        let parts = &self.case.beliefs.mechanism.parts;
        let drives = [Driver::DriveHour, Driver::DriveKm];
        let mut driving = parts.base.iter().filter(|base| drives.contains(&base.per));
        let name = &parts.stocks[stock].name;
        self.electric() != Some(stock)
            && driving.any(|base| base.moves.iter().any(|each| each.stock == *name))
    }
}
