//! What warms a van in an hour: people, sun and appliances, and then its sources of heat in the
//! order of their use, each with what is still wanted after those before it.

#![allow(clippy::needless_range_loop, reason = "one index runs along many lanes, as vectors do")]

use super::lanes::{DayLanes, FuelLanes, Lane, ValueLanes};
use super::values::{FuelsOut, Surroundings};
use crate::domain::heating::{HeatSource, Heating, Lit};
use crate::mechanism::Mechanism;
use crate::physics::heat::{BelowLowest, Heater, HeaterStep, aired_from_c, heat_demand_w};
use crate::physics::real::Real;

/// A rig's heating, in the precision of its hours.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Warming<R> {
    heating: Option<Heating>,
    sources: Vec<BurningSource<R>>,
    /// Place among the fuels of the electric store, where it is one.
    store: Option<usize>,
}

/// A source of heat.
#[derive(Debug, Clone, PartialEq)]
struct BurningSource<R> {
    step: HeaterStep<R>,
    output_w: R,
    lit: Lit,
    /// What it burns, as a place in [`Heating::fuels`] and as an index among the stocks.
    fuel: usize,
    stock: usize,
}

/// Which sources may be lit in an hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum MayBeLit {
    None,
    Untended,
    All,
}

/// What all lives share of an hour's warmth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WarmthHour<R = f32> {
    /// Outside temperature without a life's departure from it, degrees Celsius.
    outside_c: R,
    wanted_c: R,
    /// Heat from people, in W.
    people_w: R,
    /// Heat from the sun at full clearness, in W.
    sun_w: R,
    /// 1 where what appliances draw warms the van, 0 with nobody aboard or where warmth is not
    /// modelled: then it is as cold inside as outside.
    warmed: R,
    /// Temperature inside from which on windows are opened, degrees Celsius; infinite with nobody
    /// aboard.
    pub(super) aired_from_c: R,
    lit: MayBeLit,
    out: FuelsOut,
}

/// What warms each life's van in one hour.
pub(super) struct HeatLanes<R, const N: usize> {
    pub outside_c: Lane<R, N>,
    /// Heat from people, sun and appliances, in W.
    pub gains_w: Lane<R, N>,
    /// Heat that is wanted of the sources, in W, and what they give.
    pub asked_w: Lane<R, N>,
    pub given_w: Lane<R, N>,
    /// Electricity that the sources draw beside what they burn, in Wh, by the rig's numbers.
    pub electric_wh: Lane<R, N>,
    /// What the sources burn of the electric store, in Wh at the cells.
    pub of_store: Lane<R, N>,
}

impl<R: Real> BurningSource<R> {
    fn of(source: &HeatSource, (fuel, stock): (usize, usize)) -> BurningSource<R> {
        let heater = source.heater();
        let output_w = R::of(heater.output_w.max(0.0));
        BurningSource { step: HeaterStep::of(&heater), output_w, lit: source.lit, fuel, stock }
    }

    /// The most that it gives in an hour, in W.
    #[inline(always)]
    fn output_w(&self, hour: &WarmthHour<R>) -> R {
        match (hour.lit, self.lit) {
            _ if hour.out.has(self.stock) => R::of(0.0),
            (MayBeLit::All, _) | (MayBeLit::Untended, Lit::AtAnyHour) => self.output_w,
            _ => R::of(0.0),
        }
    }
}

impl<R: Real> Warming<R> {
    pub(super) fn of(mechanism: &Mechanism) -> Warming<R> {
        let heating = mechanism.parts.heating.clone();
        let (names, fuels) = (mechanism.parts.heat_fuels(), mechanism.heat_fuels());
        let all = heating.iter().flat_map(|heating| &heating.sources);
        // Where what it burns is not among the stocks, nothing can be burnt.
        let there = all.filter_map(|source| {
            let fuel = names.iter().position(|name| *name == source.burns)?;
            fuels[fuel].map(|stock| BurningSource::of(source, (fuel, stock)))
        });
        let sources = there.collect();
        let store = mechanism.electric;
        let store = store.and_then(|store| fuels.iter().position(|fuel| *fuel == Some(store)));
        Warming { heating, sources, store }
    }

    /// What all lives share of an hour's warmth, under so much light on level ground from a clear
    /// sky, in W/m2.
    pub(super) fn hour(&self, around: Surroundings, clear_w_m2: f64) -> WarmthHour<R> {
        let Surroundings { hour, aboard, outside_c, out } = around;
        let heating = self.heating.as_ref();
        let lived_in = heating.filter(|_| aboard > 0.0);
        let wanted_c = |heating: &Heating| heating.wanted_c(hour);
        let aired_c = lived_in.map_or(f64::INFINITY, |h| aired_from_c(wanted_c(h)));
        WarmthHour {
            outside_c: R::of(outside_c),
            wanted_c: R::of(heating.map_or(0.0, wanted_c)),
            people_w: R::of(heating.map_or(0.0, |h| aboard * h.person_w)),
            sun_w: R::of(heating.map_or(0.0, |h| h.sun_gain_m2 * clear_w_m2)),
            warmed: R::of(if lived_in.is_some() { 1.0 } else { 0.0 }),
            aired_from_c: R::of(aired_c),
            lit: match lived_in {
                None => MayBeLit::None,
                Some(heating) if heating.is_night(hour) => MayBeLit::Untended,
                Some(_) => MayBeLit::All,
            },
            out,
        }
    }

    /// Heat in every lane, with what is burnt for it.
    #[inline(always)]
    pub(super) fn lanes<const N: usize>(
        &self,
        hour: &WarmthHour<R>,
        (day, values): (&DayLanes<R, N>, &ValueLanes<R, N>),
        fuels: &mut FuelLanes<R, N>,
    ) -> HeatLanes<R, N> {
        let none = [R::of(0.0); N];
        let mut heat = HeatLanes {
            outside_c: none,
            gains_w: none,
            asked_w: none,
            given_w: none,
            electric_wh: none,
            of_store: none,
        };
        for l in 0..N {
            let outside_c = hour.outside_c + day.offset_k[l];
            let appliances_w = hour.warmed * (values.fridge_w[l] + values.standing_w[l]);
            let gains_w = hour.people_w + hour.sun_w * day.clearness[l] + appliances_w;
            heat.outside_c[l] = outside_c;
            heat.gains_w[l] = gains_w;
            heat.asked_w[l] =
                heat_demand_w(values.loss_w_per_k[l], hour.wanted_c, outside_c, gains_w);
        }
        for source in &self.sources {
            let mut output_w = [source.output_w(hour); N];
            if let Some(left) = fuels.left.get(source.fuel) {
                for l in 0..N {
                    output_w[l] = if left[l] > none[l] { output_w[l] } else { none[l] };
                }
            }
            let mut units = none;
            for l in 0..N {
                let wanted_w = heat.asked_w[l] - heat.given_w[l];
                let burner = source.step.hour(wanted_w, output_w[l]);
                heat.given_w[l] = heat.given_w[l] + burner.heat_wh;
                heat.electric_wh[l] = heat.electric_wh[l] + burner.electric_wh;
                let tended = day.tending[l] * values.tending[l];
                units[l] = (burner.fuel_units + burner.surplus_units * tended) * values.home[l];
            }
            let burnt = &mut fuels.burnt[source.fuel];
            for l in 0..N {
                burnt[l] = burnt[l] + units[l];
            }
            if self.store == Some(source.fuel) {
                for l in 0..N {
                    heat.of_store[l] = heat.of_store[l] + units[l];
                }
            }
        }
        // While all are out nobody warms the van or heats it.
        for l in 0..N {
            let home = values.home[l];
            heat.gains_w[l] = heat.gains_w[l] - hour.people_w * (R::of(1.0) - home);
            heat.asked_w[l] = heat.asked_w[l] * home;
            heat.given_w[l] = heat.given_w[l] * home;
            heat.electric_wh[l] = heat.electric_wh[l] * home;
        }
        heat
    }

    /// How far the van stays below the wanted temperature in each lane, in K, where so much heat is
    /// asked for; `out` tells of each fuel in which lanes there is none. Zeros where nobody heats.
    #[inline(always)]
    pub(super) fn short_k<const N: usize>(
        &self,
        hour: &WarmthHour<R>,
        values: &ValueLanes<R, N>,
        asked_w: &Lane<R, N>,
        out: &[[bool; N]],
    ) -> Lane<R, N> {
        let none = R::of(0.0);
        let (mut most_w, mut short) = ([none; N], [none; N]);
        if hour.lit == MayBeLit::None || self.sources.is_empty() {
            return short;
        }
        for source in &self.sources {
            let (output_w, out) = (source.output_w(hour), &out[source.fuel]);
            for l in 0..N {
                most_w[l] = most_w[l] + if out[l] { none } else { output_w };
            }
        }
        for l in 0..N {
            short[l] = (asked_w[l] - most_w[l]).most(none) * values.kelvin_per_w[l];
        }
        short
    }
}

impl Heating {
    /// Wanted temperature inside at a civil hour, degrees Celsius.
    pub fn wanted_c(&self, hour: usize) -> f64 {
        if self.is_night(hour) { self.night_c } else { self.day_c }
    }

    /// Whether the crew sleeps at a civil hour.
    fn is_night(&self, hour: usize) -> bool {
        let (from, to) = (usize::from(self.night_from), usize::from(self.night_to));
        match from <= to {
            true => (from..to).contains(&hour),
            false => hour >= from || hour < to,
        }
    }
}

impl HeatSource {
    /// The source alone, as the physics takes it.
    pub fn heater(&self) -> Heater {
        Heater {
            wh_per_unit: self.wh_per_unit,
            efficiency: self.efficiency,
            output_w: self.output_w,
            lowest_w: self.lowest_w,
            below_lowest: match self.lit {
                Lit::AtAnyHour => BelowLowest::Cycles,
                Lit::ByDay => BelowLowest::BurnsOn,
            },
            fan_w: self.fan_w,
            start_wh: self.start_wh,
        }
    }
}
