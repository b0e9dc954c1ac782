//! Time in the Gaussian replay: what the hours of the past hold is summed, and the sums move the
//! levels.
//!
//! Both belong together. Until the next reading everything is linear in the coefficients, so an
//! interval's exposures are summed hour by hour and move means and covariances once, at its end.
//! That is exact, and cheap enough to replay a whole journal at every keystroke. A term that one
//! half knows and the other does not would move no level, or twice.

use super::hidden::{Hidden, HiddenSlopes, HiddenValues};
use super::hypotheses::Hypotheses;
use crate::belief::joint::Joint;
use crate::belief::manner::DaySpread;
use crate::belief::past::{Past, PastHour};
use crate::belief::practice::{FUEL_SD, OCCURRENCE_SD, WANDER};
use crate::belief::unlogged::{Unlogged, base_variance, day_felt};
use crate::domain::heating::TENDED_DAY_SD;
use crate::domain::{Moment, Stock, hours_between};
use crate::mechanism::climate::{ClimateValues, Kit};
use crate::mechanism::coefficient::Coefficient;
use crate::mechanism::driver::{Exposure, Source};
use crate::mechanism::{Flow, Mechanism, Rhythm};
use chrono::Duration;
use std::rc::Rc;

/// A rig's flows by what they move, and by what they are uncertain in.
#[derive(Debug, Clone)]
pub(super) struct Flows<'a> {
    coefficients: &'a [Coefficient],
    rhythms: &'a [Rhythm],
    by_stock: Vec<Vec<&'a Flow>>,
    by_coefficient: Vec<Vec<&'a Flow>>,
    burns: Option<Burns>,
    electric: Option<usize>,
}

/// What heat is made of.
#[derive(Debug, Clone)]
struct Burns {
    /// Coefficients of the heat loss, and of what tended fires burn beyond what is wanted.
    loss: usize,
    tending: Option<usize>,
    /// The stocks that are burnt, as far as there are any.
    fuels: Vec<Option<usize>>,
}

impl Flows<'_> {
    pub fn of(mechanism: &Mechanism) -> Flows<'_> {
        let mut flows = Flows {
            coefficients: &mechanism.coefficients,
            rhythms: &mechanism.rhythms,
            by_stock: vec![Vec::new(); mechanism.stocks().len()],
            by_coefficient: vec![Vec::new(); mechanism.coefficients.len()],
            burns: mechanism.factors.heat_loss.map(|loss| Burns {
                loss,
                tending: mechanism.factors.tending,
                fuels: mechanism.heat_fuels(),
            }),
            electric: mechanism.electric,
        };
        for flow in &mechanism.flows {
            flows.by_stock[flow.stock].push(flow);
            flows.by_coefficient[flow.coefficient].push(flow);
        }
        flows
    }
}

/// Goes through the hours of a past.
pub(super) struct Clock<'a> {
    past: &'a Past<'a>,
    unlogged: &'a Unlogged<'a>,
    mechanism: &'a Mechanism,
    kit: Kit<f64>,
    reached: Moment,
    /// What an hour burns of each fuel, at a little less heat loss and at a little more: buffers.
    burnt: [Vec<[f64; 1]>; 2],
    /// What of it is wanted, where a fire is tended that burns more.
    wanted: Option<Vec<[f64; 1]>>,
}

impl<'a> Clock<'a> {
    pub fn of(past: &'a Past, unlogged: &'a Unlogged, mechanism: &'a Mechanism) -> Clock<'a> {
        let none = vec![[0.0]; mechanism.parts.heat_fuels().len()];
        let wanted = mechanism.parts.tends_a_fire().then(|| none.clone());
        let (kit, burnt) = (Kit::of(mechanism), [none.clone(), none]);
        Clock { past, unlogged, mechanism, kit, reached: past.from, burnt, wanted }
    }

    /// Adds what the hours up to `to` hold; fuel is burnt by the coefficients that `known` believes
    /// in now.
    pub fn advance(&mut self, to: Moment, known: &Joint, sums: &mut Sums) {
        let burning = self.burning(known);
        let mut since = hours_between(self.past.from, self.reached);
        while self.reached < to {
            let index = (since + 1e-9) as usize;
            let ends = self.past.from + Duration::hours(index as i64 + 1);
            let (until, reached) = match ends <= to {
                true => (ends, index as f64 + 1.0),
                false => (to, hours_between(self.past.from, to)),
            };
            if let Some(hour) = self.past.hours.get(index) {
                let (begins, part) = (since - index as f64, reached - since);
                let within = (begins, begins + part);
                let shares = sums.hidden.add_hour(
                    self.unlogged,
                    (self.past, index),
                    within,
                    &mut sums.exposure,
                );
                sums.elapsed_days += part / 24.0;
                sums.anything = true;
                self.add_fuel((hour, shares), part, burning.as_ref(), sums);
            }
            (self.reached, since) = (until, reached);
        }
    }

    /// What heat is made by; none where nothing is burnt.
    fn burning(&self, known: &Joint) -> Option<ClimateValues> {
        let count = self.mechanism.stocks().len();
        self.mechanism.factors.heat_loss?;
        Some(ClimateValues::of(self.mechanism, |i| known.mean(count + i)))
    }

    /// Adds what is burnt in a part of an hour, as far as somebody was at home: for certain, and if
    /// they were at home on untold days.
    fn add_fuel(
        &mut self,
        (hour, (sure, if_home)): (&PastHour, (f64, f64)),
        part: f64,
        burning: Option<&ClimateValues>,
        sums: &mut Sums,
    ) {
        let Some(usual) = burning else { return };
        let at = usual.loss_w_per_k;
        let (sky, clear_w_m2) = (hour.weather, hour.sun.clear_w_m2);
        let warmth = self.kit.warmth(hour.surroundings(), clear_w_m2);
        for (burnt, loss_w_per_k) in self.burnt.iter_mut().zip([0.9 * at, 1.1 * at]) {
            let values = ClimateValues { loss_w_per_k, ..*usual };
            burnt.fill([0.0]);
            self.kit.burn(&warmth, (sky.clearness, 1.0), &values, burnt);
        }
        if let Some(wanted) = &mut self.wanted {
            wanted.fill([0.0]);
            self.kit.burn(&warmth, (sky.clearness, 0.0), usual, wanted);
        }
        let relative = if hour.weather_known { FUEL_SD.0 } else { FUEL_SD.1 };
        let [low, high] = &self.burnt;
        for (place, fuel) in sums.fuels.iter_mut().enumerate() {
            let (low, high) = (low[place][0] * part, high[place][0] * part);
            fuel.add_hour(at, (low * sure, high * sure), relative);
            if let Some(wanted) = &self.wanted {
                let surplus = (0.5 * (low + high) - wanted[place][0] * part).max(0.0);
                fuel.tend(usual.tending, surplus * sure);
            }
            sums.hidden.add_fuel(place, 0.5 * (low + high) * if_home);
        }
    }
}

/// An interval, summed: everything is linear in the coefficients until the next reading.
#[derive(Debug, Clone)]
pub(super) struct Sums {
    pub exposure: Exposure,
    pub hidden: Hidden,
    /// Of each stock that warms the van.
    fuels: Vec<Fuel>,
    pub elapsed_days: f64,
    /// Whether it holds anything.
    anything: bool,
}

/// A fuel that an interval burns for heat: amount, its slope in the heat-loss coefficient, and the
/// variance that the weather's uncertainty adds.
#[derive(Debug, Clone, Copy, Default)]
struct Fuel {
    /// Amount, carried back along the slopes to a heat loss of 0 and to fires that are turned down.
    at_zero: f64,
    slope: f64,
    /// What tended fires burn beyond what is wanted, by the rig's numbers.
    surplus: f64,
    variance: f64,
}

impl Fuel {
    /// Adds an hour, from what is burnt at nine and eleven tenths of a heat loss.
    fn add_hour(&mut self, loss_w_per_k: f64, (low, high): (f64, f64), relative_sd: f64) {
        let amount = 0.5 * (low + high);
        let slope = (high - low) / (0.2 * loss_w_per_k);
        self.slope += slope;
        self.at_zero += amount - slope * loss_w_per_k;
        self.vary(relative_sd * amount);
    }

    /// Says of what was added how much of it is burnt beyond what is wanted, where fires are tended as
    /// high as that.
    fn tend(&mut self, tending: f64, surplus: f64) {
        self.at_zero -= surplus;
        self.surplus += surplus / tending.max(1e-3);
        self.vary(TENDED_DAY_SD * surplus);
    }

    /// Adds what an hour may differ by.
    fn vary(&mut self, sd: f64) {
        // Hours of a day share its error: 24 hours' variances add to the day's square.
        self.variance += sd.powi(2) * 24.0;
    }
}

impl Sums {
    /// Nothing.
    pub fn none(mechanism: &Mechanism) -> Sums {
        let (exposure, hidden) = (mechanism.unexposed(), Hidden::none(mechanism));
        let fuels = vec![Fuel::default(); mechanism.parts.heat_fuels().len()];
        Sums { exposure, hidden, fuels, elapsed_days: 0.0, anything: false }
    }

    /// Empties it for the next interval.
    pub fn clear(&mut self) {
        self.exposure.clear();
        self.hidden.clear();
        self.fuels.fill(Fuel::default());
        (self.elapsed_days, self.anything) = (0.0, false);
    }

    /// Grows by another interval.
    pub fn add(&mut self, other: &Sums) {
        self.exposure.add(&other.exposure);
        self.hidden.add(&other.hidden);
        for (own, more) in self.fuels.iter_mut().zip(&other.fuels) {
            own.at_zero += more.at_zero;
            own.slope += more.slope;
            own.surplus += more.surplus;
            own.variance += more.variance;
        }
        self.elapsed_days += other.elapsed_days;
        self.anything |= other.anything;
    }

    /// Adds a run that is told by its amount alone.
    pub(super) fn add_run(&mut self, driver: usize, amount: f64) {
        self.exposure.drivers[driver] += amount;
        self.anything = true;
    }

    /// Moves the levels of `stocks` by all of it, in every hypothesis.
    pub(super) fn move_levels(
        &self,
        flows: &Flows,
        unlogged: &Unlogged,
        stocks: &[Rc<Stock>],
        (hypotheses, days): (&mut Hypotheses, &mut DaySpread),
    ) {
        // Several stocks are read in the same minute, as a rule.
        if self.anything {
            let main = HiddenValues::of(&hypotheses.main, unlogged);
            let of_days: Vec<f64> =
                flows.coefficients.iter().map(|c| self.of_days(c, &main, flows.rhythms)).collect();
            let (mut direction, square) = (Vec::new(), days.square());
            let mut hidden = vec![HiddenSlopes::default(); stocks.len()];
            let mut added = Some(days);
            hypotheses.each(|joint| {
                let of_days = (of_days.as_slice(), square, added.take());
                self.disturb((flows, unlogged), of_days, joint, &mut direction);
                self.move_means((flows, unlogged), joint, (&mut direction, &mut hidden));
            });
        }
        hypotheses.hear_what_lasted(stocks, flows.electric);
        hypotheses.each(|joint| {
            for (i, stock) in stocks.iter().enumerate() {
                joint.hold(i, 0.0, stock.capacity);
            }
        });
    }

    /// Makes one hypothesis less sure: coefficients wander, and one occurrence or day differs from
    /// the next. `of_days` is what days differ by, of each coefficient, and of the main hypothesis
    /// who wants to hear it; `direction` is a buffer.
    fn disturb(
        &self,
        (flows, unlogged): (&Flows, &Unlogged),
        (of_days, square, mut days): (&[f64], f64, Option<&mut DaySpread>),
        joint: &mut Joint,
        direction: &mut Vec<(usize, f64)>,
    ) {
        let (count, values) = (flows.by_stock.len(), HiddenValues::of(joint, unlogged));
        for (index, known) in flows.coefficients.iter().enumerate() {
            let wanders = self.elapsed_days * (WANDER * known.sd()).powi(2);
            if wanders > 0.0 {
                joint.disturb(&[(count + index, 1.0)], wanders);
            }
            let of_days = of_days[index];
            let relative = self.noise(unlogged, known, flows.rhythms, &values) + square * of_days;
            if relative <= 0.0 {
                continue;
            }
            let value = joint.mean(count + index);
            direction.clear();
            direction.extend(flows.by_coefficient[index].iter().map(|flow| {
                let share = flow.share.map_or(1.0, |s| joint.mean(count + s));
                (flow.stock, flow.scale * share)
            }));
            joint.disturb(direction, value * value * relative);
            if let Some(days) = &mut days {
                for (stock, each) in &*direction {
                    days.add(*stock, (value * each).powi(2) * of_days);
                }
            }
        }
    }

    /// How much of a source it holds, as far as is believed.
    fn amount(&self, source: Source, values: &HiddenValues) -> f64 {
        self.exposure.of(source) + self.hidden.of(source, values)
    }

    /// Moves the levels of one hypothesis by what each flow amounts to and by heat. `slopes`
    /// and `of_stocks`, one per stock, are buffers.
    fn move_means(
        &self,
        (flows, unlogged): (&Flows, &Unlogged),
        joint: &mut Joint,
        (slopes, of_stocks): (&mut Vec<(usize, f64)>, &mut [HiddenSlopes]),
    ) {
        let (count, values) = (flows.by_stock.len(), HiddenValues::of(joint, unlogged));
        of_stocks.fill(HiddenSlopes::default());
        for (i, flows) in flows.by_stock.iter().enumerate() {
            let mut sum = 0.0;
            slopes.clear();
            for flow in flows {
                let scale = flow.scale * self.amount(flow.source, &values);
                let c = count + flow.coefficient;
                let mean = joint.mean(c);
                let share = flow.share.map_or(1.0, |share| joint.mean(count + share));
                let each = (c, flow.scale * share);
                sum += self.hidden.depend(flow, each, (joint, &values), &mut of_stocks[i]);
                if scale == 0.0 {
                    continue;
                }
                sum += scale * mean * share;
                slopes.push((c, scale * share));
                if let Some(s) = flow.share.map(|share| count + share) {
                    sum += scale * joint.covariance(c, s);
                    slopes.push((s, scale * mean));
                }
            }
            let hidden = of_stocks[i].slopes(&values);
            slopes.extend(hidden.into_iter().filter(|(_, slope)| *slope != 0.0));
            if !slopes.is_empty() {
                joint.shift(i, sum, slopes);
            }
        }
        if let Some(burns) = &flows.burns {
            for (fuel, stock) in burns.fuels.iter().enumerate() {
                if let Some(stock) = *stock {
                    let if_home = self.hidden.fuel(fuel, &values);
                    self.burn((count, burns), (fuel, stock), if_home, joint);
                    of_stocks[stock].burn(&self.hidden, fuel);
                }
            }
        }
        self.hidden.disturb(of_stocks, &values, joint);
    }

    /// Coefficients come after `count` levels; `if_home` is burnt on days on which all may have been out.
    fn burn(
        &self,
        (count, burns): (usize, &Burns),
        (place, stock): (usize, usize),
        if_home: f64,
        joint: &mut Joint,
    ) {
        let (fuel, loss) = (&self.fuels[place], count + burns.loss);
        let mut amount = fuel.at_zero + fuel.slope * joint.mean(loss);
        let tending = burns.tending.map(|index| count + index).filter(|_| fuel.surplus > 0.0);
        amount += tending.map_or(0.0, |tending| fuel.surplus * joint.mean(tending));
        let amount = amount + if_home;
        let slopes = [(loss, -fuel.slope), (tending.unwrap_or(loss), -fuel.surplus)];
        if amount > 0.0 {
            joint.shift(stock, -amount, &slopes[..1 + usize::from(tending.is_some())]);
            joint.disturb(&[(stock, 1.0)], fuel.variance);
        }
    }

    /// Variance of one coefficient's days, over the square of what it is, at a day spread of 1.
    fn of_days(&self, known: &Coefficient, main: &HiddenValues, rhythms: &[Rhythm]) -> f64 {
        match known.source {
            Source::Base(rhythm) if rhythms[rhythm].per_person && known.sd() > 0.0 => {
                let amount = self.amount(known.source, main).max(0.0);
                base_variance(amount, self.elapsed_days, known.sd() / known.mean.max(1e-9))
            }
            _ => 0.0,
        }
    }

    /// Variance of the occurrence-to-occurrence noise of one coefficient, over the square of what
    /// it is; it is felt by all stocks that the coefficient moves.
    fn noise(
        &self,
        unlogged: &Unlogged,
        known: &Coefficient,
        rhythms: &[Rhythm],
        values: &HiddenValues,
    ) -> f64 {
        let (source, own) = (known.source, known.sd() > 0.0);
        let own_spread = known.sd() / known.mean.max(1e-9);
        let hidden = match source {
            Source::Activity(activity) => {
                let hidden = self.hidden.unwritten(source, values);
                self.exposure.unlogged_variance[activity] + unlogged.own_variance(activity, hidden)
            }
            _ => 0.0,
        };
        let amount = self.amount(source, values).max(0.0);
        let occurrences = match source {
            _ if !own => 0.0,
            Source::Activity(activity) => unlogged.occurrence_variance(activity, amount),
            Source::Base(rhythm) if rhythms[rhythm].per_person => 0.0,
            _ => (day_felt(own_spread) * OCCURRENCE_SD).powi(2) * amount,
        };
        occurrences + hidden
    }
}
