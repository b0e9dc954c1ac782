//! The rig file that the owner of a simulated van has written.

use super::sky::{Place, Sky};
use super::van::{Gauge, Role, Source, Tank, Van};
use std::path::Path;
use waystock::domain::rig::Rig;
use waystock::domain::time::Zone;

/// The rig, through the same reader that a person's file takes.
pub fn rig(text: &str, place: &Place) -> Rig {
    let mut rig = waystock::store::rig_file::parse(text, Path::new("rig.ron"))
        .unwrap_or_else(|faults| panic!("{faults:?}\n{text}"));
    rig.home.zone = Some(Zone::Fixed(super::diary::offset(place)));
    rig
}

/// The file itself.
pub fn text(van: &Van, place: &Place, sky: &Sky, says_typical: bool) -> String {
    let (low, high, cloud) = sky.usual;
    let typical = match says_typical {
        true => format!(", typical: (low_c: {low:.0}, high_c: {high:.0}, cloud: {cloud:.1})"),
        false => String::new(),
    };
    let stocks: Vec<String> = van.tanks.iter().map(|tank| stock(van, tank)).collect();
    format!(
        "(format: 1, van: \"Plover\", crew: {},\n home: (place: \"start\", latitude: {:.2}, \
         longitude: {:.2}{typical}),\n stocks: [{}],\n activities: [{}],\n base: [{}],\n{})",
        van.people.len(),
        place.latitude,
        place.longitude,
        stocks.join(",\n  "),
        activities(van),
        base(van),
        kit(van),
    )
}

fn unit(role: Role) -> &'static str {
    match role {
        Role::Battery => "Wh",
        Role::Solids => "uses",
        Role::Food => "person-days",
        Role::Gas => "kg",
        Role::Clothes => "sets",
        _ => "L",
    }
}

fn stock(van: &Van, tank: &Tank) -> String {
    let gauge = match tank.gauge {
        Gauge::Guess | Gauge::Said(_) | Gauge::Blind => String::new(),
        Gauge::Step(step) => format!(", gauge: step({step})"),
        Gauge::Lamps(marks) => format!(", gauge: ladder({marks:?})"),
    };
    let lift = match tank.role == Role::Fresh && van.place(Role::Battery).is_some() {
        true => ", lift_wh: 0.17",
        false => "",
    };
    let (runs, kept) = if tank.role.fills() { ("up", "headroom") } else { ("down", "keep") };
    format!(
        "(name: {:?}, runs: {runs}, unit: {:?}, capacity: {}, {kept}: {}{gauge}{lift})",
        tank.role.name(),
        unit(tank.role),
        tank.capacity,
        tank.margin
    )
}

fn activities(van: &Van) -> String {
    let says = &van.says;
    let warm = |to: u32| match van.hot_water {
        Source::Nothing => String::new(),
        _ => format!(", warmed_to: {to}"),
    };
    let grey = match van.place(Role::Grey) {
        Some(_) => format!(
            ", gives: [(stock: \"grey\", share: {}, of: \"fresh\", spread: 0.03)]",
            says.washing_share[0]
        ),
        None => String::new(),
    };
    let mut all = vec![
        format!(
            "(name: \"shower\", usual: {}, usual_spread: 0.4, per: person, hours: [(7, 1.0), \
             (8, 1.0), (19, 2.0), (20, 2.0)], takes: [(stock: \"fresh\", amount: {}, spread: 0.4{})]{grey})",
            says.showers,
            says.shower_l,
            warm(38)
        ),
        format!(
            "(name: \"dishes\", plural: \"dishes\", usual: {}, usual_spread: 0.3, per: van, hours: \
             [(9, 1.0), (20, 2.0)], takes: [(stock: \"fresh\", amount: {}, spread: 0.4{})]{grey})",
            says.dishes,
            says.dishes_l,
            warm(42)
        ),
        format!(
            "(name: \"work\", plural: \"work\", counted_in: \"h\", usual: {}, usual_spread: 0.5, \
             per: van, takes: [(stock: \"battery\", amount: {}, spread: 0.4)])",
            says.work_h, says.work_w
        ),
    ];
    let (from, how) = match van.cooking {
        Source::Gas => ("gas", ""),
        _ => ("battery", ", through_inverter: true"),
    };
    all.push(format!(
        "(name: \"cooked meal\", usual: {}, usual_spread: 0.3, per: van, hours: [(12, 1.0), \
         (18, 2.0)], takes: [(stock: \"{from}\", amount: {}, spread: 0.5{how})])",
        says.meals, says.meal
    ));
    if van.place(Role::Solids).is_some() {
        all.push(format!(
            "(name: \"toilet solids\", plural: \"toilet solids\", counted_in: \"uses\", usual: {}, \
             usual_spread: 0.25, per: person, gives: [(stock: \"solids\", amount: 1)])",
            says.solids
        ));
    }
    all.join(",\n  ")
}

fn base(van: &Van) -> String {
    let says = &van.says;
    let grey = match van.place(Role::Grey) {
        Some(_) => format!(
            ", gives: [(stock: \"grey\", share: {}, of: \"fresh\", spread: 0.08)]",
            says.base_grey
        ),
        None => String::new(),
    };
    let mut all = vec![
        format!(
            "(name: \"drinking and washing\", per: person_day, takes: [(stock: \"fresh\", amount: \
             {}, spread: 0.3)]{grey})",
            says.base_l
        ),
        format!(
            "(name: \"lights\", per: day, takes: [(stock: \"battery\", amount: {}, spread: 0.4)])",
            says.lights_wh
        ),
        format!(
            "(name: \"phones\", per: person_day, takes: [(stock: \"battery\", amount: {}, spread: \
             0.4)])",
            says.phone_wh
        ),
        format!(
            "(name: \"alternator\", per: drive_hour, gives: [(stock: \"battery\", amount: {}, \
             spread: 0.3)])",
            says.alternator_wh
        ),
    ];
    let mut each = |role: Role, name: &str, verb: &str, amount: f64, spread: f64| {
        if van.place(role).is_some() {
            all.push(format!(
                "(name: \"{name}\", per: person_day, {verb}: [(stock: \"{}\", amount: {amount}, \
                 spread: {spread})])",
                role.name()
            ));
        }
    };
    each(Role::Liquids, "toilet liquids", "gives", says.urine_l, 0.25);
    each(Role::Food, "eating", "takes", 1.0, 0.1);
    each(Role::Clothes, "wearing", "takes", says.wears, 0.3);
    all.join(",\n  ")
}

fn fuel(source: Source) -> Option<(&'static str, f64)> {
    match source {
        Source::Diesel => Some(("diesel", 10_025.0)),
        Source::Gas => Some(("gas", 12_800.0)),
        _ => None,
    }
}

fn kit(van: &Van) -> String {
    let says = &van.says;
    let panels = match van.panel_w > 0.0 {
        true => format!(
            "(rated_w: {}, tilt: 0, facing: 180, factor: {}, factor_spread: 0.12, per_kelvin: \
             -0.0035)",
            van.panel_w, says.panel_factor
        ),
        false => String::new(),
    };
    let mut kit = format!(
        "electrics: (store: \"battery\", volts: 12.8, chemistry: lithium, charge_efficiency: 0.97, \
         discharge_efficiency: 0.98, no_charge_below_c: 0, panels: [{panels}], inverter: \
         (efficiency: {}, idle_w: 10, always_on: false), fridge: (mean_w: {}, per_kelvin: 0.04, \
         spread: 0.35), standing_w: {}, standing_spread: 0.5),\n",
        says.inverter, says.fridge_w, says.standing_w
    );
    if let Some((name, wh)) = fuel(van.heating) {
        kit += &format!(
            "heating: (burns: \"{name}\", wh_per_unit: {wh}, efficiency: 0.80, output_w: 2000, \
             lowest_w: 800, fan_w: 25, start_wh: 6, ua_w_per_k: {}, ua_spread: 0.3, day_c: {}, \
             night_c: {}, night_from: 22, night_to: 7, person_w: 100, sun_gain_m2: 0.4),\n",
            says.ua, says.day_c, says.night_c
        );
    }
    if let Some((name, wh)) = fuel(van.hot_water) {
        kit += &format!(
            "hot_water: (from: \"{name}\", wh_per_unit: {wh}, efficiency: {}, cold_c: 12)",
            says.hot_efficiency
        );
    }
    kit
}
