//! Electrics, heating and hot water.

use super::super::block::Block;
use super::super::range::Range::{self, AboveZero, Between, Efficiency, FromZero, UpTo, Within};
use super::common::whole_hour;
use crate::domain::Electrics;
use crate::domain::electrics::{Chemistry, Fridge, Inverter, Panel};
use crate::domain::heating::{HeatSource, Heating, HotWater, Lit};

/// Starting values for what a rig file leaves out. Sources and spreads: `assets/reference.ron`,
/// whose rows a test compares with these.
pub(crate) mod start {
    pub(crate) const PANEL_FACTOR: f64 = 0.80;
    pub(crate) const PANEL_FACTOR_SPREAD: f64 = 0.12;
    pub(crate) const PANEL_PER_KELVIN: f64 = -0.0035;
    pub(crate) const INVERTER_EFFICIENCY: f64 = 0.90;
    pub(crate) const INVERTER_IDLE_W: f64 = 10.0;
    pub(crate) const FRIDGE_W: f64 = 22.0;
    pub(crate) const FRIDGE_PER_KELVIN: f64 = 0.04;
    pub(crate) const FRIDGE_SPREAD: f64 = 0.35;
    pub(crate) const STANDING_W: f64 = 5.0;
    pub(crate) const STANDING_SPREAD: f64 = 0.5;
    pub(crate) const WATER_HEATER_EFFICIENCY: f64 = 0.75;
    /// Charging and discharging; their product is the round trip.
    pub(crate) const LITHIUM: (f64, f64) = (0.97, 0.98);
    pub(crate) const LEAD_ACID: (f64, f64) = (0.80, 0.94);
    pub(crate) const LITHIUM_VOLTS: f64 = 12.8;
    pub(crate) const LEAD_ACID_VOLTS: f64 = 12.0;
    pub(crate) const LITHIUM_PEUKERT: f64 = 1.0;
    pub(crate) const LEAD_ACID_PEUKERT: f64 = 1.2;
    pub(crate) const RATED_HOURS: f64 = 20.0;
    /// Share of a lead-acid battery that is kept where the file does not say.
    pub(crate) const LEAD_ACID_KEPT: f64 = 0.5;
}

const FACING: Range =
    Within(0.0, 360.0 - 1e-9, "degrees from 0 (north) over 90 (east) to below 360");
const PANEL_FACTOR: Range = Within(0.01, 1.2, "a share from 0.01 to 1.2");

const CHEMISTRIES: &[(&str, Chemistry)] =
    &[("lithium", Chemistry::Lithium), ("lead_acid", Chemistry::LeadAcid)];

pub(super) fn electrics(block: &mut Block) -> Electrics {
    let chemistry = block.choice_or("chemistry", CHEMISTRIES, Chemistry::Lithium);
    let ((charge, discharge), volts, cold, peukert) = match chemistry {
        Chemistry::Lithium => {
            (start::LITHIUM, start::LITHIUM_VOLTS, Some(0.0), start::LITHIUM_PEUKERT)
        }
        Chemistry::LeadAcid => {
            (start::LEAD_ACID, start::LEAD_ACID_VOLTS, None, start::LEAD_ACID_PEUKERT)
        }
    };
    Electrics {
        store: block.text_needed("store", "the name of the battery's stock"),
        volts: block.number_or("volts", volts, Between(1.0, 1000.0)),
        chemistry,
        charge_efficiency: block.number_or("charge_efficiency", charge, Efficiency),
        discharge_efficiency: block.number_or("discharge_efficiency", discharge, Efficiency),
        no_charge_below_c: block.number_maybe("no_charge_below_c", Between(-60.0, 40.0)).or(cold),
        charge_limit_w: block.number_maybe("charge_limit_w", AboveZero),
        peukert: block.number_or("peukert", peukert, Between(1.0, 1.6)),
        rated_hours: block.number_or("rated_hours", start::RATED_HOURS, Between(1.0, 100.0)),
        panels: block.structs("panels", panel),
        inverter: block.part("inverter", inverter),
        fridge: block.part("fridge", fridge),
        standing_w: block.number_or("standing_w", start::STANDING_W, FromZero),
        standing_spread: block.number_or("standing_spread", start::STANDING_SPREAD, Range::SPREAD),
    }
}

fn panel(block: &mut Block) -> Panel {
    Panel {
        rated_w: block.number_needed("rated_w", AboveZero),
        tilt_deg: block.number_or("tilt", 0.0, UpTo(90.0)),
        facing_deg: block.number_or("facing", 180.0, FACING),
        factor: block.number_or("factor", start::PANEL_FACTOR, PANEL_FACTOR),
        factor_spread: block.number_or("factor_spread", start::PANEL_FACTOR_SPREAD, UpTo(0.5)),
        per_kelvin: block.number_or("per_kelvin", start::PANEL_PER_KELVIN, Between(-0.02, 0.0)),
    }
}

fn inverter(block: &mut Block) -> Inverter {
    Inverter {
        efficiency: block.number_or("efficiency", start::INVERTER_EFFICIENCY, Efficiency),
        idle_w: block.number_or("idle_w", start::INVERTER_IDLE_W, FromZero),
        always_on: block.flag("always_on"),
    }
}

fn fridge(block: &mut Block) -> Fridge {
    Fridge {
        mean_w: block.number_or("mean_w", start::FRIDGE_W, FromZero),
        per_kelvin: block.number_or("per_kelvin", start::FRIDGE_PER_KELVIN, UpTo(0.5)),
        spread: block.number_or("spread", start::FRIDGE_SPREAD, Range::SPREAD),
    }
}

pub(super) fn heating(block: &mut Block) -> Heating {
    let usual = Heating::default();
    let sources = sources(block);
    let mut number = |field, otherwise, range| block.number_or(field, otherwise, range);
    Heating {
        sources,
        ua_w_per_k: number("ua_w_per_k", usual.ua_w_per_k, Between(0.5, 1000.0)),
        ua_spread: number("ua_spread", usual.ua_spread, Range::SPREAD),
        day_c: number("day_c", usual.day_c, Between(-20.0, 40.0)),
        night_c: number("night_c", usual.night_c, Between(-20.0, 40.0)),
        person_w: number("person_w", usual.person_w, UpTo(500.0)),
        sun_gain_m2: number("sun_gain_m2", usual.sun_gain_m2, UpTo(20.0)),
        night_from: hour(block, "night_from", usual.night_from),
        night_to: hour(block, "night_to", usual.night_to),
    }
}

/// What a source of heat may say of itself.
pub const OF_A_SOURCE: [&str; 9] = [
    "burns",
    "wh_per_unit",
    "efficiency",
    "output_w",
    "lowest_w",
    "fan_w",
    "start_wh",
    "draw_spread",
    "lit",
];

/// The sources of heat, in the order of use: a list, or what a van's only one says of itself among the
/// fields of its heating.
fn sources(block: &mut Block) -> Vec<HeatSource> {
    if block.get("sources").is_some() {
        return block.structs("sources", |block| {
            let name = block.name_needed("name", "a name in \"double quotes\"");
            HeatSource { name, ..source(block) }
        });
    }
    let says_anything = OF_A_SOURCE.map(|field| block.get(field).is_some()).contains(&true);
    says_anything.then(|| source(block)).into_iter().collect()
}

const LIT: &[(&str, Lit)] = &[("at_any_hour", Lit::AtAnyHour), ("by_day", Lit::ByDay)];

/// A source by the name of what it burns. What one unit holds has no default: it is 10025 Wh in a litre
/// of diesel, 1 in a battery.
fn source(block: &mut Block) -> HeatSource {
    let usual = HeatSource::default();
    let burns = block.text_needed("burns", "the name of the stock that it burns");
    let lit = block.choice_or("lit", LIT, usual.lit);
    let wh_per_unit = block.number_needed("wh_per_unit", AboveZero);
    let mut number = |field, otherwise, range| block.number_or(field, otherwise, range);
    let source = HeatSource {
        name: burns.clone(),
        burns,
        wh_per_unit,
        efficiency: number("efficiency", usual.efficiency, Efficiency),
        output_w: number("output_w", usual.output_w, AboveZero),
        lowest_w: number("lowest_w", usual.lowest_w, FromZero),
        fan_w: number("fan_w", usual.fan_w, FromZero),
        start_wh: number("start_wh", usual.start_wh, FromZero),
        draw_spread: number("draw_spread", usual.draw_spread, Range::SPREAD),
        lit,
    };
    if source.lowest_w > source.output_w {
        block.wrong("lowest_w", source.lowest_w.to_string(), "at most output_w");
    }
    source
}

fn hour(block: &mut Block, field: &'static str, default: u8) -> u8 {
    let Some(number) = block.number_maybe(field, Range::ANY) else { return default };
    whole_hour(number).unwrap_or_else(|| {
        block.wrong(field, number.to_string(), "a whole hour from 0 to 23");
        default
    })
}

pub(super) fn hot_water(block: &mut Block) -> HotWater {
    HotWater {
        from: block.text_needed("from", "the name of the stock that gives the heat"),
        wh_per_unit: block.number_needed("wh_per_unit", AboveZero),
        efficiency: block.number_or("efficiency", start::WATER_HEATER_EFFICIENCY, Efficiency),
        cold_c: block.number_or("cold_c", 12.0, UpTo(40.0)),
    }
}
