//! One mechanism: activities, base use and drivers move stocks through flows.
//!
//! [`Mechanism::of`] turns the parts of a rig, which a person writes, into indexed coefficients
//! and linear flows, which history replays and the forecast runs on. A shower is one
//! coefficient (litres) with flows into fresh, grey, the hot-water fuel and the pump's
//! electricity, so learning it anywhere teaches it everywhere. What depends on sun or cold is
//! not linear and is left to `climate`; it shares the same coefficients.

pub mod climate;
pub mod coefficient;
pub mod driver;

use crate::domain::flow::{Driver, Measure, Move};
use crate::domain::rig::Parts;
use crate::domain::stock::Stock;
use crate::physics;
use coefficient::{Coefficient, Nature};
use driver::Source;

/// A linear flow: while its source is exposed by `n`, the stock changes by
/// `n * scale * coefficient * share`.
#[derive(Debug, Clone, PartialEq)]
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
    /// Index of the stock that stores electricity.
    pub electric: Option<usize>,
    /// Indices of the coefficients that sun and cold use.
    pub climate: climate::Factors,
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
            electric,
            climate: climate::Factors::default(),
        };
        for (index, activity) in parts.activities.iter().enumerate() {
            mechanism.compile(&activity.name, Source::Activity(index), &activity.moves);
        }
        for base in &parts.base {
            mechanism.compile(&base.name, Source::Driver(base.per), &base.moves);
        }
        mechanism.climate = climate::Factors::join(&mut mechanism);
        for index in 0..mechanism.coefficients.len() {
            mechanism.coefficients[index].electric_only = mechanism.feeds_only_electric(index);
        }
        mechanism
    }

    /// The stocks, in the rig's order.
    pub fn stocks(&self) -> &[Stock] {
        &self.parts.stocks
    }

    /// Adds a coefficient and returns its index.
    pub(crate) fn add(&mut self, coefficient: Coefficient) -> usize {
        self.coefficients.push(coefficient);
        self.coefficients.len() - 1
    }

    /// Adds a change of a stock that nothing explains, of 0 times `scale` a day, and returns its
    /// coefficient.
    pub fn add_unexplained(&mut self, stock: &str, scale: f64) -> Option<usize> {
        let (stock, known) = self.parts.stock(stock)?;
        let (what, unit) = (format!("{} unexplained", known.name), known.unit.word().to_string());
        let source = Source::Driver(Driver::Day);
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
                let what = format!("{} per {process}", step.stock);
                let unit = self.stocks()[stock].unit.word().to_string();
                let coefficient =
                    self.add(Coefficient::new(what, unit, source, per_time.abs(), nature));
                amounts.push((step.stock.clone(), coefficient));
                self.add_amount(stock, source, coefficient, per_time.signum(), step);
            }
        }
        for step in moves {
            if let (Measure::ShareOf { stock: of, share, spread }, Some((stock, _))) =
                (&step.measure, self.parts.stock(&step.stock))
                && let Some((_, coefficient)) = amounts.iter().find(|(name, _)| name == of)
            {
                let coefficient = *coefficient;
                let what = format!("share of {process} reaching {}", step.stock);
                let nature = Nature::Share { spread: *spread };
                let share = self.add(Coefficient::new(what, String::new(), source, *share, nature));
                let flow = Flow { stock, source, coefficient, share: Some(share), scale: 1.0 };
                self.flows.push(flow);
            }
        }
    }

    /// The flow of an amount, with what it drags along: the inverter's loss, the pump, the heat.
    fn add_amount(
        &mut self,
        stock: usize,
        source: Source,
        coefficient: usize,
        sign: f64,
        step: &Move,
    ) {
        let flow = |stock, scale| Flow { stock, source, coefficient, share: None, scale };
        let scale = match self.electric == Some(stock) {
            true => sign * self.electric_scale(sign, step.through_inverter),
            false => sign,
        };
        self.flows.push(flow(stock, scale));
        if sign > 0.0 {
            return;
        }
        let lift_wh = self.stocks()[stock].lift_wh;
        if let (Some(electric), true) = (self.electric, lift_wh > 0.0) {
            self.flows.push(flow(electric, -lift_wh * self.electric_scale(-1.0, false)));
        }
        if let (Some(to_c), Some(hot)) = (step.warmed_to_c, &self.parts.hot_water)
            && let Some((from, _)) = self.parts.stock(&hot.from)
        {
            let litres = self.stocks()[stock]
                .unit
                .factor_to(&crate::domain::unit::Unit::Litre, None)
                .unwrap_or(1.0);
            let heat_wh = physics::water::heat_wh(litres, hot.cold_c, to_c).max(0.0);
            let mut units = heat_wh / (hot.efficiency * hot.wh_per_unit);
            if self.electric == Some(from) {
                units *= self.electric_scale(-1.0, false);
            }
            self.flows.push(flow(from, -units));
        }
    }

    /// Energy in the battery per energy asked of it (`sign` < 0) or sent to it.
    fn electric_scale(&self, sign: f64, through_inverter: bool) -> f64 {
        let Some(electrics) = &self.parts.electrics else { return 1.0 };
        if sign > 0.0 {
            return electrics.charge_efficiency;
        }
        let inverter = electrics.inverter.filter(|_| through_inverter);
        1.0 / (electrics.discharge_efficiency * inverter.map_or(1.0, |i| i.efficiency))
    }

    fn feeds_only_electric(&self, index: usize) -> bool {
        let Some(electric) = self.electric else { return false };
        let mut own = self
            .flows
            .iter()
            .filter(|flow| flow.coefficient == index || flow.share == Some(index))
            .map(|flow| flow.stock)
            .peekable();
        match own.peek() {
            Some(_) => own.all(|stock| stock == electric),
            None => self.climate.feeds_only_electric(index, self),
        }
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
            .chain(self.climate.stocks_moved_by(index, self))
            .collect();
        stocks.sort_unstable();
        stocks.dedup();
        stocks
    }
}
