//! The coefficients that sun and cold use, as a rig's kit calls for them.

use super::coefficient::{Coefficient, Meaning, Nature};
use super::driver::Source;
use super::practice::TENDING_SPREAD;
use crate::domain::electrics::Panel;
use crate::domain::heating::HeatSource;
use crate::domain::{Electrics, Parts};

/// Indices of the coefficients that sun and cold use; `None` without the kit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Factors {
    /// Real over rated yield of the panels.
    pub panels: Option<usize>,
    /// Mean draw of the fridge at 20 degrees Celsius, in W.
    pub fridge: Option<usize>,
    /// Always-on draw, in W.
    pub standing: Option<usize>,
    /// Loss of the van, in W per kelvin.
    pub heat_loss: Option<usize>,
    /// Draw of all sources of heat while they burn, in W; their starts go with it.
    pub heater_draw: Option<usize>,
    /// What tended fires burn beyond what is wanted, over what the rig's numbers say.
    pub tending: Option<usize>,
}

impl Factors {
    /// Adds the coefficients that the kit calls for to those there are. What sources of heat draw counts
    /// only where something stores electricity.
    pub(super) fn join(
        parts: &Parts,
        electric: Option<usize>,
        coefficients: &mut Vec<Coefficient>,
    ) -> Factors {
        let mut add = |what: Meaning, unit: &str, mean: f64, spread: f64| {
            let nature = Nature::Positive { spread };
            let unit = unit.to_string();
            coefficients.push(Coefficient::new(what, unit, Source::Climate, mean, nature));
            Some(coefficients.len() - 1)
        };
        let mut factors = Factors::default();
        if let Some(electrics) = &parts.electrics {
            if rated_w(electrics) > 0.0 {
                let mean = over_panels(electrics, |panel| panel.factor);
                let spread = over_panels(electrics, |panel| panel.factor_spread) / mean;
                factors.panels = add(Meaning::Panels, "", mean, spread);
            }
            if let Some(fridge) = electrics.fridge {
                factors.fridge = add(Meaning::Fridge, "W", fridge.mean_w, fridge.spread);
            }
            if electrics.standing_w > 0.0 {
                let (mean, spread) = (electrics.standing_w, electrics.standing_spread);
                factors.standing = add(Meaning::Standing, "W", mean, spread);
            }
        }
        if let Some(heating) = parts.heating.as_ref().filter(|h| !h.sources.is_empty()) {
            factors.heat_loss =
                add(Meaning::HeatLoss, "W/K", heating.ua_w_per_k, heating.ua_spread);
            let fans_w: f64 = heating.sources.iter().map(|source| source.fan_w).sum();
            if electric.is_some() && fans_w > 0.0 {
                let share = |source: &HeatSource| source.fan_w / fans_w * source.draw_spread;
                let spread = heating.sources.iter().map(share).sum();
                factors.heater_draw = add(Meaning::Heater, "W", fans_w, spread);
            }
            if parts.tends_a_fire() {
                factors.tending = add(Meaning::Tending, "", 1.0, TENDING_SPREAD);
            }
        }
        factors
    }

    /// Stocks that a coefficient of these moves: the store of electricity, and for the van's loss
    /// what heat is made of.
    pub(super) fn stocks_moved_by(
        &self,
        index: usize,
        electric: Option<usize>,
        fuels: Vec<Option<usize>>,
    ) -> impl Iterator<Item = usize> {
        let all = [self.panels, self.fridge, self.standing, self.heat_loss, self.heater_draw];
        let warms = self.heat_loss == Some(index) || self.tending == Some(index);
        let fuels = fuels.into_iter().flatten().filter(move |_| warms);
        electric.filter(|_| all.contains(&Some(index))).into_iter().chain(fuels)
    }
}

/// Rated power of all panels together, in W.
pub(super) fn rated_w(electrics: &Electrics) -> f64 {
    electrics.panels.iter().map(|panel| panel.rated_w).sum()
}

/// Mean of a panel's number over the panels, by their rated power; some must be rated.
pub(super) fn over_panels(electrics: &Electrics, of: fn(&Panel) -> f64) -> f64 {
    electrics.panels.iter().map(|panel| panel.rated_w * of(panel)).sum::<f64>() / rated_w(electrics)
}
