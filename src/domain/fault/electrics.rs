//! Ranges of the electrics, heating and hot water of a rig.

use super::finding::{Fault, Path, note};
use super::ranges::{WIDEST, above_zero, between, from_zero, share_above_zero, up_to};
use crate::domain::rig::{Electrics, Heating, HotWater, Panel};

pub(super) fn electrics(kit: &Electrics, path: &Path, faults: &mut Vec<Fault>) {
    between(faults, path.field("volts"), kit.volts, 1.0, 1000.0);
    share_above_zero(faults, path.field("charge_efficiency"), kit.charge_efficiency);
    share_above_zero(faults, path.field("discharge_efficiency"), kit.discharge_efficiency);
    if let Some(limit) = kit.no_charge_below_c {
        between(faults, path.field("no_charge_below_c"), limit, -60.0, 40.0);
    }
    if let Some(limit) = kit.charge_limit_w {
        above_zero(faults, path.field("charge_limit_w"), limit);
    }
    between(faults, path.field("peukert"), kit.peukert, 1.0, 1.6);
    between(faults, path.field("rated_hours"), kit.rated_hours, 1.0, 100.0);
    for (i, one) in kit.panels.iter().enumerate() {
        panel(one, &path.field("panels").item(i), faults);
    }
    if let Some(inverter) = &kit.inverter {
        let path = path.field("inverter");
        share_above_zero(faults, path.field("efficiency"), inverter.efficiency);
        from_zero(faults, path.field("idle_w"), inverter.idle_w);
    }
    if let Some(fridge) = &kit.fridge {
        let path = path.field("fridge");
        from_zero(faults, path.field("mean_w"), fridge.mean_w);
        up_to(faults, path.field("per_kelvin"), fridge.per_kelvin, 0.5);
        up_to(faults, path.field("spread"), fridge.spread, WIDEST);
    }
    from_zero(faults, path.field("standing_w"), kit.standing_w);
    up_to(faults, path.field("standing_spread"), kit.standing_spread, WIDEST);
}

fn panel(panel: &Panel, path: &Path, faults: &mut Vec<Fault>) {
    above_zero(faults, path.field("rated_w"), panel.rated_w);
    up_to(faults, path.field("tilt"), panel.tilt_deg, 90.0);
    if !(0.0..360.0).contains(&panel.facing_deg) {
        let expected = "degrees from 0 (north) over 90 (east) to below 360";
        note(faults, path.field("facing"), panel.facing_deg, expected);
    }
    if !((0.01..=1.2).contains(&panel.factor)) {
        let expected = "a share from 0.01 to 1.2";
        note(faults, path.field("factor"), panel.factor, expected);
    }
    up_to(faults, path.field("factor_spread"), panel.factor_spread, 0.5);
    between(faults, path.field("per_kelvin"), panel.per_kelvin, -0.02, 0.0);
}

pub(super) fn heating(kit: &Heating, path: &Path, faults: &mut Vec<Fault>) {
    above_zero(faults, path.field("wh_per_unit"), kit.wh_per_unit);
    share_above_zero(faults, path.field("efficiency"), kit.efficiency);
    above_zero(faults, path.field("output_w"), kit.output_w);
    from_zero(faults, path.field("lowest_w"), kit.lowest_w);
    if kit.lowest_w > kit.output_w {
        note(faults, path.field("lowest_w"), kit.lowest_w, "at most output_w");
    }
    from_zero(faults, path.field("fan_w"), kit.fan_w);
    from_zero(faults, path.field("start_wh"), kit.start_wh);
    up_to(faults, path.field("draw_spread"), kit.draw_spread, WIDEST);
    between(faults, path.field("ua_w_per_k"), kit.ua_w_per_k, 0.5, 1000.0);
    up_to(faults, path.field("ua_spread"), kit.ua_spread, WIDEST);
    between(faults, path.field("day_c"), kit.day_c, -20.0, 40.0);
    between(faults, path.field("night_c"), kit.night_c, -20.0, 40.0);
    for (field, hour) in [("night_from", kit.night_from), ("night_to", kit.night_to)] {
        if hour > 23 {
            note(faults, path.field(field), hour, "a whole hour from 0 to 23");
        }
    }
    up_to(faults, path.field("person_w"), kit.person_w, 500.0);
    up_to(faults, path.field("sun_gain_m2"), kit.sun_gain_m2, 20.0);
}

pub(super) fn hot_water(kit: &HotWater, path: &Path, faults: &mut Vec<Fault>) {
    above_zero(faults, path.field("wh_per_unit"), kit.wh_per_unit);
    share_above_zero(faults, path.field("efficiency"), kit.efficiency);
    up_to(faults, path.field("cold_c"), kit.cold_c, 40.0);
}
