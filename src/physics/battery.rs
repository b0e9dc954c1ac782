//! What chemistry and wiring take from a battery's energy, by the hour.
//!
//! Energy, not charge: levels are in Wh and losses are efficiencies. What the level means (a
//! limit, a worry) is for others. What runs in every life takes either precision ([`Real`]).
//! Panels are in [`super::panel`].

use super::practice::FASTEST_HOURS;
use super::real::Real;

/// What passes between the cells and the world, with its divisions done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terminals<R> {
    /// Energy delivered over energy taken out of the cells, `(0, 1]`.
    discharge: R,
    /// One over it.
    per_discharge: R,
}

impl<R: Real> Terminals<R> {
    /// `discharge_efficiency`: energy delivered over energy taken out, `(0, 1]`.
    pub fn of(discharge_efficiency: f64) -> Terminals<R> {
        Terminals {
            discharge: R::of(discharge_efficiency),
            per_discharge: R::of(taken_wh(1.0, discharge_efficiency, 1.0)),
        }
    }

    /// What a load takes out of the cells: [`taken_wh`] without an inverter, in Wh.
    #[inline(always)]
    pub fn taken_wh(&self, load_wh: R) -> R {
        load_wh * self.per_discharge
    }

    /// Joins an hour's charge to whatever else moves the cells.
    ///
    /// `net_wh`: everything else in Wh at the cells, loads negative. `offered_wh`: what the sources
    /// offer, at least 0. `accepted`: share of what is sent in that the cells keep: their charge
    /// efficiency, or 0 while they are too cold. Result: the net in Wh at the cells, before full
    /// and empty.
    ///
    /// Formula: charge feeds the loads first, d = min(offered, load · η_out), which spares the
    /// cells d / η_out; the rest goes in at the charge efficiency. Exact for flows that are steady
    /// within the hour.
    ///
    /// Source: coulomb counting in energy form, any battery text.
    ///
    /// ```
    /// use waystock::physics::battery::Terminals;
    /// let cells: Terminals<f64> = Terminals::of(0.9);
    /// // 200 Wh of sun over a load of 90 Wh, 100 Wh at the cells: 110 Wh go in.
    /// assert!((cells.joined_wh(-100.0, 200.0, 0.9) - 99.0).abs() < 1e-9);
    /// assert!((cells.joined_wh(-100.0, 45.0, 0.9) - -50.0).abs() < 1e-9);
    /// ```
    #[inline(always)]
    pub fn joined_wh(&self, net_wh: R, offered_wh: R, accepted: R) -> R {
        let wanted_wh = (-net_wh).most(R::of(0.0)) * self.discharge;
        let direct_wh = offered_wh.least(wanted_wh);
        let sent_wh = offered_wh - direct_wh;
        net_wh + direct_wh * self.per_discharge + sent_wh * accepted
    }
}

/// The level that a battery can hold: what is beyond full is lost, below empty nothing is served.
///
/// `level_wh`: what the flows come to. `capacity_wh`: usable energy when full, at least 0. Result
/// in Wh within `[0, capacity_wh]`.
///
/// ```
/// use waystock::physics::battery::held_wh;
/// assert_eq!((held_wh(1300.0, 1200.0), held_wh(-5.0, 1200.0)), (1200.0, 0.0));
/// ```
#[inline(always)]
pub fn held_wh<R: Real>(level_wh: R, capacity_wh: R) -> R {
    let level_wh = if level_wh < R::of(0.0) { R::of(0.0) } else { level_wh };
    if level_wh > capacity_wh { capacity_wh } else { level_wh }
}

/// What an hour's discharge costs a battery whose capacity shrinks with the current.
///
/// `drawn_wh`: energy taken out in the hour, in Wh at the cells; at a steady voltage the same
/// thing as a current. `capacity_wh`: capacity at the rated time. `rated_hours`: that time.
/// `exponent`: Peukert's. Result in Wh of the rated capacity, at least `drawn_wh`.
///
/// Formula: drawn · (drawn · H / C)^(k - 1) above the rated current, drawn below it; so a steady
/// discharge from full ends after Peukert's hours, H · (C / (I · H))^k. The short form C / I^k holds
/// only for a capacity measured at 1 A and is wrong for a label's figure. An hour's mean current stands for the hour:
/// short peaks count less than they would alone, as a battery that rests recovers most of what
/// a peak took. Valid from the rated current to the one of [`FASTEST_HOURS`]; beyond, the
/// factor of that one holds.
///
/// Source: Peukert 1897; effective capacity as in Doerffel and Sharkh 2006, who show its limits.
///
/// ```
/// use waystock::physics::battery::drain_wh;
/// // 100 Ah at 12 V in 20 h: at 10 A an hour takes 120 / 0.8706 Wh of the label's 1200.
/// assert!((drain_wh(120.0, 1200.0, 20.0, 1.2) - 137.84).abs() < 0.01);
/// assert_eq!(drain_wh(50.0, 1200.0, 20.0, 1.2), 50.0);
/// assert_eq!(drain_wh(120.0, 1200.0, 20.0, 1.0), 120.0);
/// ```
pub fn drain_wh(drawn_wh: f64, capacity_wh: f64, rated_hours: f64, exponent: f64) -> f64 {
    let times_rated = drawn_wh * rated_hours / capacity_wh;
    if exponent <= 1.0 || times_rated.is_nan() || times_rated <= 1.0 {
        return drawn_wh;
    }
    drawn_wh * times_rated.min(rated_hours / FASTEST_HOURS).max(1.0).powf(exponent - 1.0)
}

/// What a load takes out of the cells.
///
/// `load_wh`: energy that the appliances want. `discharge_efficiency`: energy delivered over energy
/// taken out, `(0, 1]`. `inverter_efficiency`: the same of an inverter between, 1 without one.
/// Result in Wh.
///
/// Formula: load / (η_battery · η_inverter). With an idle draw beside it this line is the usual
/// part-load curve of an inverter to within a percent.
///
/// Source: common practice; checked against the PVWatts inverter curve.
///
/// ```
/// use waystock::physics::battery::taken_wh;
/// assert_eq!(taken_wh(90.0, 1.0, 0.9), 100.0);
/// ```
pub fn taken_wh(load_wh: f64, discharge_efficiency: f64, inverter_efficiency: f64) -> f64 {
    load_wh / (discharge_efficiency * inverter_efficiency)
}

/// Whether the cells are warm enough to charge.
///
/// `cell_c`: cell temperature in degrees Celsius. `below_c`: no charging below it (0 for lithium
/// iron phosphate, which plates metal in frost; about -20 for lead-acid).
///
/// Source: charge-temperature table of a public battery tutorial (lithium 0 to 45, lead-acid
/// -20 to 50 degrees Celsius); Luo and others, Materials 15:8166, 2022, for the reason.
///
/// ```
/// use waystock::physics::battery::may_charge;
/// assert!(may_charge(0.0, 0.0) && !may_charge(-0.1, 0.0));
/// ```
#[inline(always)]
pub fn may_charge<R: Real>(cell_c: R, below_c: R) -> bool {
    cell_c >= below_c
}

#[cfg(test)]
mod tests;
