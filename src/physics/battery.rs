//! A store of electricity over one step, and what chemistry and wiring take from it.
//!
//! Energy, not charge: levels are in Wh and losses are efficiencies. What the level means (a
//! limit, a worry) is for others. Panels are in [`super::panel`].

/// What a battery can take and what it loses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Store {
    /// Usable energy when full, in Wh.
    pub capacity_wh: f64,
    /// Energy stored over energy sent in, `(0, 1]`.
    pub charge_efficiency: f64,
    /// Energy delivered over energy taken out, `(0, 1]`.
    pub discharge_efficiency: f64,
}

/// What happened in one step. All in Wh, none negative.
///
/// charge = direct + sent in + surplus; load = direct + delivered + unmet; level after = level
/// before + stored - taken.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Step {
    /// Level afterwards.
    pub level_wh: f64,
    /// Charge that fed the load without passing through the battery.
    pub direct_wh: f64,
    /// Charge sent into the battery.
    pub sent_in_wh: f64,
    /// What of that it kept.
    pub stored_wh: f64,
    /// Energy taken out of the battery.
    pub taken_wh: f64,
    /// What of that reached the load.
    pub delivered_wh: f64,
    /// Charge that nobody wanted: the battery full, too cold or at its limit.
    pub surplus_wh: f64,
    /// Load that was not served: the battery empty.
    pub unmet_wh: f64,
}

/// One step of a battery with charge and load at the same time.
///
/// `level_wh`: energy in it before, clamped to `[0, capacity]`. `charge_wh`: energy that the
/// sources offer. `load_wh`: energy that the loads want. `accepts_wh`: most that may be sent
/// into the battery in this step (0 when it is too cold to charge; infinity for no limit).
///
/// Formula: charge feeds the load first. What is left over goes in at the charge efficiency up
/// to full; what is lacking comes out at the discharge efficiency down to empty. Exact for
/// steady flows within the step.
///
/// Source: coulomb counting in energy form, any battery text.
///
/// ```
/// use waystock::physics::battery::{Store, step};
/// let store =
///     Store { capacity_wh: 1000.0, charge_efficiency: 0.9, discharge_efficiency: 0.9 };
/// let sunny = step(950.0, 200.0, 50.0, f64::INFINITY, &store);
/// assert_eq!(sunny.level_wh, 1000.0);
/// assert!((sunny.surplus_wh - (150.0 - 50.0 / 0.9)).abs() < 1e-9);
/// let night = step(45.0, 0.0, 90.0, f64::INFINITY, &store);
/// assert_eq!((night.level_wh, night.unmet_wh), (0.0, 49.5));
/// ```
pub fn step(level_wh: f64, charge_wh: f64, load_wh: f64, accepts_wh: f64, store: &Store) -> Step {
    let capacity_wh = store.capacity_wh.max(0.0);
    let level_wh = level_wh.clamp(0.0, capacity_wh);
    let (charge_wh, load_wh) = (charge_wh.max(0.0), load_wh.max(0.0));
    let direct_wh = charge_wh.min(load_wh);
    let (spare_wh, lacking_wh) = (charge_wh - direct_wh, load_wh - direct_wh);
    let mut done = Step { level_wh, direct_wh, ..Step::default() };
    if spare_wh > 0.0 {
        let room_wh = capacity_wh - level_wh;
        let offered_wh = spare_wh.min(accepts_wh.max(0.0));
        let would_store_wh = offered_wh * store.charge_efficiency;
        if would_store_wh < room_wh {
            (done.sent_in_wh, done.stored_wh) = (offered_wh, would_store_wh);
            done.level_wh = level_wh + would_store_wh;
        } else {
            done.sent_in_wh = offered_wh.min(over(room_wh, store.charge_efficiency));
            (done.stored_wh, done.level_wh) = (room_wh, capacity_wh);
        }
        done.surplus_wh = spare_wh - done.sent_in_wh;
    } else if lacking_wh > 0.0 {
        let would_take_wh = over(lacking_wh, store.discharge_efficiency);
        if would_take_wh < level_wh {
            (done.taken_wh, done.delivered_wh) = (would_take_wh, lacking_wh);
            done.level_wh = level_wh - would_take_wh;
        } else {
            (done.taken_wh, done.level_wh) = (level_wh, 0.0);
            done.delivered_wh = (level_wh * store.discharge_efficiency).clamp(0.0, lacking_wh);
        }
        done.unmet_wh = lacking_wh - done.delivered_wh;
    }
    done
}

/// `energy_wh / efficiency`; nothing passes through an efficiency of 0.
fn over(energy_wh: f64, efficiency: f64) -> f64 {
    if energy_wh <= 0.0 {
        0.0
    } else if efficiency > 0.0 {
        energy_wh / efficiency
    } else {
        f64::INFINITY
    }
}

/// How long a lead-acid battery lasts at a steady current.
///
/// `capacity_ah`: capacity at the rated time, in Ah. `rated_hours`: that time (often 20). `current_a`:
/// discharge current in A. `exponent`: Peukert's, 1 for an ideal battery, 1.1 to 1.3 for
/// lead-acid. Result in hours; infinite at a current of 0.
///
/// Formula: t = H · (C / (I · H))^k. The short form C / I^k holds only for a capacity measured
/// at 1 A and is wrong for a label's figure. Fitted to steady currents between the rated one and
/// several times it; poor for loads that come and go (Doerffel and Sharkh 2006).
///
/// Source: Peukert 1897.
///
/// ```
/// use waystock::physics::battery::peukert_hours;
/// assert!((peukert_hours(100.0, 20.0, 5.0, 1.2) - 20.0).abs() < 1e-12);
/// assert!((peukert_hours(100.0, 20.0, 10.0, 1.2) - 8.706).abs() < 0.001);
/// ```
pub fn peukert_hours(capacity_ah: f64, rated_hours: f64, current_a: f64, exponent: f64) -> f64 {
    if current_a <= 0.0 {
        return f64::INFINITY;
    }
    rated_hours * (capacity_ah / (current_a * rated_hours)).powf(exponent)
}

/// Share of a lead-acid battery's rated capacity that it gives at a mean current.
///
/// Arguments as for [`peukert_hours`]. Result in `(0, 1]`: currents below the rated one do not
/// make the battery larger, since Peukert's law was not fitted there.
///
/// Formula: I · t / C = (I · H / C)^(1 - k), at most 1.
///
/// ```
/// use waystock::physics::battery::usable_share;
/// assert_eq!(usable_share(100.0, 20.0, 2.0, 1.2), 1.0);
/// assert!((usable_share(100.0, 20.0, 10.0, 1.2) - 0.8706).abs() < 0.0001);
/// ```
pub fn usable_share(capacity_ah: f64, rated_hours: f64, current_a: f64, exponent: f64) -> f64 {
    if current_a <= 0.0 || capacity_ah <= 0.0 {
        return 1.0;
    }
    (current_a * rated_hours / capacity_ah).powf(1.0 - exponent).min(1.0)
}

/// Currents above the one that would empty the battery in this time count as that one.
pub const FASTEST_HOURS: f64 = 1.0;

/// What an hour's discharge costs a battery whose capacity shrinks with the current.
///
/// `drawn_wh`: energy taken out in the hour, in Wh at the cells; at a steady voltage the same
/// thing as a current. `capacity_wh`: capacity at the rated time. `rated_hours`: that time.
/// `exponent`: Peukert's. Result in Wh of the rated capacity, at least `drawn_wh`.
///
/// Formula: drawn · (drawn · H / C)^(k - 1) above the rated current, drawn below it; so a steady
/// discharge from full ends after [`peukert_hours`]. An hour's mean current stands for the hour:
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

/// What an inverter draws from the battery.
///
/// `ac_w`: power of the mains appliances in W. `efficiency`: output over input under load,
/// `(0, 1]`. `idle_w`: draw with nothing connected, in W. Result in W while it is on.
///
/// Formula: idle + ac / efficiency. The usual part-load curve is this line to within a percent.
///
/// Source: common practice; checked against the PVWatts inverter curve.
///
/// ```
/// use waystock::physics::battery::inverter_input_w;
/// assert_eq!(inverter_input_w(90.0, 0.9, 8.0), 108.0);
/// ```
pub fn inverter_input_w(ac_w: f64, efficiency: f64, idle_w: f64) -> f64 {
    idle_w.max(0.0) + over(ac_w, efficiency)
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
pub fn may_charge(cell_c: f64, below_c: f64) -> bool {
    cell_c >= below_c
}

#[cfg(test)]
mod tests;
