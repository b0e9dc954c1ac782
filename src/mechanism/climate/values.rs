//! What an hour of sun and cold is asked with, and what it answers.

use crate::mechanism::Mechanism;

/// What an hour needs to know of the weather.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourWeather {
    /// Outside, mean over the hour, degrees Celsius.
    pub outside_c: f64,
    /// Share of the clear-sky irradiance that arrives, 0 to about 1.2.
    pub clearness: f64,
}

/// What stands around the van in an hour, in every life the same. Whatever else an hour must know
/// one day is a field here, so that nobody who makes an hour can forget it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// The civil hour at the van, 0 to 23.
    pub hour: usize,
    /// How many are aboard; with nobody no heat is made and windows are shut.
    pub aboard: f64,
    /// The expected temperature outside, degrees Celsius.
    pub outside_c: f64,
    /// Fuels that are known to be out in all lives.
    pub out: FuelsOut,
}

/// Fuels that nothing is left of, by their indices among the stocks; of more than 64 stocks the rest
/// never are out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FuelsOut(u64);

impl FuelsOut {
    /// With that stock out.
    pub fn with(self, stock: usize) -> FuelsOut {
        FuelsOut(self.0 | FuelsOut::bit(stock))
    }

    /// With that stock back.
    pub fn without(self, stock: usize) -> FuelsOut {
        FuelsOut(self.0 & !FuelsOut::bit(stock))
    }

    /// What is out in either.
    pub fn or(self, other: FuelsOut) -> FuelsOut {
        FuelsOut(self.0 | other.0)
    }

    /// Whether that stock is out.
    pub(super) fn has(self, stock: usize) -> bool {
        self.0 & FuelsOut::bit(stock) != 0
    }

    fn bit(stock: usize) -> u64 {
        u32::try_from(stock).ok().and_then(|stock| 1u64.checked_shl(stock)).unwrap_or(0)
    }
}

/// Values of the climate coefficients in one life.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ClimateValues {
    /// Real over rated yield.
    pub panel_factor: f64,
    /// Fridge draw at 20 degrees Celsius, W.
    pub fridge_w: f64,
    /// Always-on draw, W.
    pub standing_w: f64,
    /// Loss, W/K.
    pub loss_w_per_k: f64,
    /// What sources of heat draw, over what the rig says.
    pub heater_draw: f64,
    /// What tended fires burn beyond what is wanted, over what the rig says.
    pub tending: f64,
}

impl ClimateValues {
    /// Picks them out of the values of all coefficients, told by index.
    pub fn of(mechanism: &Mechanism, coefficient: impl Fn(usize) -> f64) -> ClimateValues {
        let factors = &mechanism.factors;
        let value = |index: Option<usize>| index.map_or(0.0, &coefficient);
        let rated = |index: usize| mechanism.coefficients[index].mean;
        ClimateValues {
            panel_factor: value(factors.panels),
            fridge_w: value(factors.fridge),
            standing_w: value(factors.standing),
            loss_w_per_k: value(factors.heat_loss),
            heater_draw: factors.heater_draw.map_or(1.0, |i| coefficient(i) / rated(i)),
            tending: factors.tending.map_or(1.0, &coefficient),
        }
    }
}

/// What one hour of sun and cold moves in one life, in the precision it was worked in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HourFlows<R> {
    /// Temperature inside, degrees Celsius.
    pub inside_c: R,
    /// Energy taken from the battery by fridge, heaters and standing draws, in Wh at the cells.
    pub load_wh: R,
    /// Energy that the panels offer, in Wh, before any loss of the battery.
    pub offered_wh: R,
    /// Share of what is sent into the battery that it keeps: 0 while it is too cold to charge;
    /// loads are fed in any case.
    pub accepted: R,
}
