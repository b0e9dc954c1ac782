//! What may go wrong with a battery, in every member as badly as chance has it.

use super::ensemble::Ensemble;
use super::members::{normals, shares};
use crate::belief::practice::{DARK_PANELS_LEFT, DRAW_SIZE};
use crate::domain::Moment;
use rand::SeedableRng;
use rand_xoshiro::Xoshiro256PlusPlus;

/// A fault, and when it begins.
pub(super) struct FaultOnset {
    pub at: Moment,
    pub fault: ElectricFault,
}

#[derive(Clone, Copy)]
pub(super) enum ElectricFault {
    /// Something draws by day and night: its coefficient, in Wh a day.
    Draw(usize),
    /// Panels bring less than they should: the coefficient of their factor.
    Panels(usize),
}

impl ElectricFault {
    /// From now on every member suffers from it. Sizes are drawn from `seed`.
    pub fn apply(self, ensemble: &mut Ensemble, seed: u64) {
        let mut random = Xoshiro256PlusPlus::seed_from_u64(seed ^ 0x6361_7573);
        let capacity_wh = ensemble.capacity_wh;
        ensemble.teach(|coefficients, _| match self {
            ElectricFault::Draw(coefficient) => {
                let (median, spread) = (DRAW_SIZE.0 * capacity_wh, DRAW_SIZE.1);
                coefficients[coefficient] =
                    normals(&mut random).map(|z| median * (spread * z).exp());
            }
            ElectricFault::Panels(factor) => {
                let (least, most) = DARK_PANELS_LEFT;
                let left = shares(&mut random).map(|share| least + (most - least) * share);
                coefficients[factor].iter_mut().zip(&left).for_each(|(c, left)| *c *= left);
            }
        });
    }
}
