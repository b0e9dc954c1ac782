//! The compiled form of a rig's parts.

use super::coefficient::{Coefficient, Meaning, Nature};
use super::driver::{Exposure, Source};
use super::factors::Factors;
use super::hours::Rhythm;
use crate::domain::electrics::Inverter;
use crate::domain::{BaseUse, Measure, Move, Parts, Stock, Unit};
use crate::physics::{battery, water};

/// A linear flow: while its source is exposed by `n`, the stock changes by
/// `n * scale * coefficient * share`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flow {
    /// Index of the stock that it moves.
    pub stock: usize,
    /// What drives it.
    pub source: Source,
    /// Index of its coefficient.
    pub coefficient: usize,
    /// Index of a share that multiplies it, if any.
    pub share: Option<usize>,
    /// Signed factor in stock units per coefficient unit.
    pub scale: f64,
}

/// The compiled form of a rig's parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Mechanism {
    /// The parts it was compiled from; indices below follow their order.
    pub parts: Parts,
    /// Everything uncertain about how much flows.
    pub coefficients: Vec<Coefficient>,
    /// Linear flows.
    pub flows: Vec<Flow>,
    /// Rhythms of base use, the even day first, each once.
    pub rhythms: Vec<Rhythm>,
    /// Index of the stock that stores electricity.
    pub electric: Option<usize>,
    /// Indices of the coefficients that sun and cold use.
    pub factors: Factors,
}

impl Mechanism {
    /// Compiles `parts`, whose names are trusted to resolve (`domain::fault` checks them); a
    /// move that names an unknown stock is left out.
    pub fn of(parts: &Parts) -> Mechanism {
        let electric = parts.electrics.as_ref().and_then(|e| parts.stock(&e.store)).map(|s| s.0);
        let mut mechanism = Mechanism {
            parts: parts.clone(),
            coefficients: Vec::new(),
            flows: Vec::new(),
            rhythms: vec![Rhythm::even()],
            electric,
            factors: Factors::default(),
        };
        for (index, activity) in parts.activities.iter().enumerate() {
            mechanism.compile(&activity.name, Source::Activity(index), &activity.moves);
        }
        for base in &parts.base {
            let source = mechanism.source_of(base);
            mechanism.compile(&base.name, source, &base.moves);
        }
        mechanism.factors = Factors::join(parts, electric, &mut mechanism.coefficients);
        for index in 0..mechanism.coefficients.len() {
            mechanism.coefficients[index].electric_only = mechanism.feeds_only_electric(index);
        }
        mechanism
    }

    /// The coefficient that one of these goes on from when the kit of `before` becomes this one:
    /// the same number, of which the rig file says the same. Panels that are added, moved or taken
    /// away make others of all of them.
    pub fn goes_on_from(&self, index: usize, before: &Mechanism) -> Option<usize> {
        let own = &self.coefficients[index];
        let panels = |of: &Mechanism| of.parts.electrics.as_ref().map(|e| e.panels.clone());
        if own.what == Meaning::Panels && panels(self) != panels(before) {
            return None;
        }
        before.coefficients.iter().position(|c| c.what == own.what && c.mean == own.mean)
    }

    /// An exposure to nothing at all.
    pub fn unexposed(&self) -> Exposure {
        Exposure::none(self.parts.activities.len(), self.rhythms.len())
    }

    /// The stocks, in the rig's order.
    pub fn stocks(&self) -> &[Stock] {
        &self.parts.stocks
    }

    /// Indices of the stocks that warm the van, in the order of [`Parts::heat_fuels`]; `None` for one
    /// that is not among these stocks.
    pub fn heat_fuels(&self) -> Vec<Option<usize>> {
        let fuels = self.parts.heat_fuels().into_iter();
        fuels.map(|name| self.parts.stock(name).map(|(index, _)| index)).collect()
    }

    /// Whether the stock of that index warms the van.
    pub fn is_heat_fuel(&self, stock: usize) -> bool {
        self.heat_fuels().contains(&Some(stock))
    }

    /// What drives a base use.
    fn source_of(&mut self, base: &BaseUse) -> Source {
        let electric = self.electric.map(|electric| self.parts.stocks[electric].name.as_str());
        let stock = |name: &str| self.parts.stock(name).map(|(_, stock)| stock);
        let Some(rhythm) = Rhythm::of(base, electric, stock) else {
            return Source::Driver(base.per);
        };
        Source::Base(self.rhythms.iter().position(|known| *known == rhythm).unwrap_or_else(|| {
            self.rhythms.push(rhythm);
            self.rhythms.len() - 1
        }))
    }

    fn add(&mut self, coefficient: Coefficient) -> usize {
        self.coefficients.push(coefficient);
        self.coefficients.len() - 1
    }

    /// Adds a change of a stock that nothing explains, of 0 times `scale` a day, and returns its
    /// coefficient.
    pub fn add_unexplained(&mut self, stock: &str, scale: f64) -> Option<usize> {
        let (stock, known) = self.parts.stock(stock)?;
        let what = Meaning::Unexplained { stock: known.name.clone() };
        let unit = known.unit.word().to_string();
        let source = Source::Base(0);
        let nature = Nature::Positive { spread: 0.0 };
        let coefficient = self.add(Coefficient::new(what, unit, source, 0.0, nature));
        self.flows.push(Flow { stock, source, coefficient, share: None, scale });
        Some(coefficient)
    }

    fn compile(&mut self, process: &str, source: Source, moves: &[Move]) {
        // Shares refer to what the same process takes, so amounts are compiled first.
        let mut amounts: Vec<(String, usize)> = Vec::new();
        for step in moves {
            if let (Measure::Amount { per_time, spread }, Some((stock, _))) =
                (&step.measure, self.parts.stock(&step.stock))
            {
                let nature = Nature::Positive { spread: *spread };
                let what =
                    Meaning::Amount { stock: step.stock.clone(), process: process.to_string() };
                let unit = self.stocks()[stock].unit.word().to_string();
                let coefficient =
                    self.add(Coefficient::new(what, unit, source, per_time.abs(), nature));
                amounts.push((step.stock.clone(), coefficient));
                let (share, scale) = (None, per_time.signum());
                self.add_amount(Flow { stock, source, coefficient, share, scale }, step);
            }
        }
        for step in moves {
            if let (Measure::ShareOf { stock: of, share, spread }, Some((stock, _))) =
                (&step.measure, self.parts.stock(&step.stock))
                && let Some((_, coefficient)) = amounts.iter().find(|(name, _)| name == of)
            {
                let coefficient = *coefficient;
                let what =
                    Meaning::Share { process: process.to_string(), stock: step.stock.clone() };
                let nature = Nature::Share { spread: *spread };
                let share = self.add(Coefficient::new(what, String::new(), source, *share, nature));
                let flow = Flow { stock, source, coefficient, share: Some(share), scale: 1.0 };
                self.flows.push(flow);
            }
        }
    }

    /// The flow of an amount, whose scale is its sign, with what it drags along: the inverter's
    /// loss, the pump, the heat.
    fn add_amount(&mut self, mut flow: Flow, step: &Move) {
        let Flow { stock, scale: sign, .. } = flow;
        if self.electric == Some(stock) {
            flow.scale *= match sign > 0.0 {
                true => self.parts.electrics.as_ref().map_or(1.0, |e| e.charge_efficiency),
                false => {
                    let inverter = self.parts.electrics.as_ref().and_then(|e| e.inverter);
                    self.taken_per_wh(inverter.filter(|_| step.through_inverter))
                }
            };
        }
        self.flows.push(flow);
        if sign > 0.0 {
            return;
        }
        let lift_wh = self.stocks()[stock].lift_wh;
        if let (Some(electric), true) = (self.electric, lift_wh > 0.0) {
            let scale = -lift_wh * self.taken_per_wh(None);
            self.flows.push(Flow { stock: electric, scale, ..flow });
        }
        if let (Some(to_c), Some(hot)) = (step.warmed_to_c, &self.parts.hot_water)
            && let Some((from, _)) = self.parts.stock(&hot.from)
        {
            let litres = self.stocks()[stock].unit.factor_to(&Unit::Litre, None).unwrap_or(1.0);
            let heat_wh = water::heat_wh(litres, hot.cold_c, to_c).max(0.0);
            let mut units = heat_wh / (hot.efficiency * hot.wh_per_unit);
            if self.electric == Some(from) {
                units *= self.taken_per_wh(None);
            }
            self.flows.push(Flow { stock: from, scale: -units, ..flow });
        }
    }

    /// Energy taken out of the cells per energy asked of the battery.
    fn taken_per_wh(&self, through: Option<Inverter>) -> f64 {
        let Some(electrics) = &self.parts.electrics else { return 1.0 };
        let inverter_efficiency = through.map_or(1.0, |inverter| inverter.efficiency);
        battery::taken_wh(1.0, electrics.discharge_efficiency, inverter_efficiency)
    }

    fn feeds_only_electric(&self, index: usize) -> bool {
        let moved = self.stocks_moved_by(index);
        self.electric.is_some_and(|electric| moved == [electric])
    }

    /// Indices of the stocks beside which a coefficient is told: the one it is an amount of, and
    /// those that a share of it reaches; what it drags along (pump, heat) is left out.
    pub fn stocks_told_of(&self, index: usize) -> Vec<usize> {
        let mut own = self.flows.iter().filter(|flow| flow.coefficient == index);
        let mut stocks: Vec<usize> = own.next().map(|flow| flow.stock).into_iter().collect();
        stocks.extend(own.filter(|flow| flow.share.is_some()).map(|flow| flow.stock));
        if stocks.is_empty() {
            return self.stocks_moved_by(index);
        }
        stocks
    }

    /// Indices of the stocks that a coefficient moves.
    pub fn stocks_moved_by(&self, index: usize) -> Vec<usize> {
        let mut stocks: Vec<usize> = self
            .flows
            .iter()
            .filter(|flow| flow.coefficient == index || flow.share == Some(index))
            .map(|flow| flow.stock)
            .chain(self.factors.stocks_moved_by(index, self.electric, self.heat_fuels()))
            .collect();
        stocks.sort_unstable();
        stocks.dedup();
        stocks
    }
}
