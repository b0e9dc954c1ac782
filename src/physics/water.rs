//! The heat that warm water takes.

/// Enthalpy of water at 0, 10, …, 100 degrees Celsius and one atmosphere, in Wh/kg: the integral
/// of c_p from 0 degrees on. IAPWS-95, computed: CoolProp 8.0.0 (at 100 degrees just above the
/// saturation pressure, so that it is still liquid).
const ENTHALPY_WH_PER_KG: [f64; 11] = [
    0.0287, 11.6997, 23.3354, 34.9507, 46.5601, 58.1718, 69.7913, 81.4229, 93.0709, 104.7399,
    116.4350,
];

/// Density at the same temperatures, in kg/L. Same source.
const DENSITY_KG_PER_L: [f64; 11] = [
    0.999_84, 0.999_70, 0.998_21, 0.995_65, 0.992_22, 0.988_04, 0.983_20, 0.977_76, 0.971_79,
    0.965_31, 0.958_35,
];

/// Heat that warms an amount of water.
///
/// `litres`: its volume when cold, as a tank counts it. `from_c`, `to_c`: temperatures before
/// and after in degrees Celsius. Result in Wh, 0 when it is warm enough already.
///
/// Formula: mass · (h(to) - h(from)), which is m · c_p · ΔT with the mean c_p between the two.
/// Valid from 0 to 100 degrees; temperatures outside count as the nearest of these, since
/// melting and boiling are not in it. Between table rows it is linear, within 0.03 Wh per litre.
///
/// Source: IAPWS-95 formulation of water (Wagner and Pruss, 2002).
///
/// ```
/// use waystock::physics::water::heat_wh;
/// assert!((heat_wh(10.0, 10.0, 40.0) - 348.5).abs() < 0.1);
/// assert_eq!(heat_wh(10.0, 40.0, 10.0), 0.0);
/// ```
pub fn heat_wh(litres: f64, from_c: f64, to_c: f64) -> f64 {
    let mass_kg = litres.max(0.0) * at(&DENSITY_KG_PER_L, from_c);
    mass_kg * (at(&ENTHALPY_WH_PER_KG, to_c) - at(&ENTHALPY_WH_PER_KG, from_c)).max(0.0)
}

/// The value of a table of tens of degrees at a temperature, linear between rows.
fn at(table: &[f64; 11], temperature_c: f64) -> f64 {
    let place = temperature_c.clamp(0.0, 100.0) / 10.0;
    let row = (place as usize).min(9);
    table[row] + (table[row + 1] - table[row]) * (place - row as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::check::near;
    use proptest::prelude::*;

    /// Specific heat in J/(kg K), IAPWS-95, computed: CoolProp 8.0.0. Ten-degree means differ
    /// from the point value by the curve between rows.
    #[test]
    fn specific_heat_in_the_table() {
        for (degrees, want) in [(10.0, 4195.2), (20.0, 4184.1), (40.0, 4179.4), (60.0, 4185.0)] {
            let rise =
                at(&ENTHALPY_WH_PER_KG, degrees + 10.0) - at(&ENTHALPY_WH_PER_KG, degrees - 10.0);
            near(&format!("{degrees} C"), rise * 3600.0 / 20.0, want, 0.001 * want);
        }
        for (degrees, want) in [(10.0, 0.99970), (20.0, 0.99821), (40.0, 0.99222)] {
            near(&format!("{degrees} C"), at(&DENSITY_KG_PER_L, degrees), want, 1e-9);
        }
    }

    proptest! {
        #[test]
        fn hotter_takes_more(
            litres in 0.0..200.0_f64, from in -20.0..120.0_f64, to in -20.0..120.0_f64, by in 0.0..40.0_f64,
        ) {
            let heat = heat_wh(litres, from, to);
            prop_assert!(heat >= 0.0 && heat.is_finite());
            prop_assert!(heat_wh(litres, from, to + by) >= heat);
            prop_assert!((heat_wh(2.0 * litres, from, to) - 2.0 * heat).abs() < 1e-9);
        }
    }
}
