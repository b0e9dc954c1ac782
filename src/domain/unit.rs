//! Units that an amount can be written in, and exact conversion within a dimension.
//!
//! Factors are exact by definition: NIST SP 811 (2008) appendix B and NIST Handbook 44
//! appendix C (US gallon 231 cubic inches; imperial gallon 4.546 09 L; mile 1 609.344 m;
//! pound 0.453 592 37 kg).

/// A unit of an amount. Amounts in different dimensions never convert into each other.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Unit {
    /// Share of a stock's capacity, in hundredths.
    Percent,
    /// Litre.
    Litre,
    /// Millilitre.
    Millilitre,
    /// US liquid gallon.
    UsGallon,
    /// Imperial gallon.
    ImperialGallon,
    /// Watt-hour.
    WattHour,
    /// Kilowatt-hour.
    KilowattHour,
    /// Ampere-hour, at the nominal voltage of the rig's battery.
    AmpHour,
    /// Kilogram.
    Kilogram,
    /// Gram.
    Gram,
    /// Pound.
    Pound,
    /// Food for one person for one day.
    PersonDay,
    /// One use of a container.
    Use,
    /// One occurrence of an activity.
    Time,
    /// Minute.
    Minute,
    /// Hour.
    Hour,
    /// One night at the same camp.
    Night,
    /// Kilometre.
    Kilometre,
    /// Statute mile.
    Mile,
    /// Persons aboard.
    Person,
    /// A unit that the rig's owner named; it converts only to itself.
    Own(String),
}

/// Which units a person wants to see.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum UnitSystem {
    /// Litres, kilometres, degrees Celsius.
    #[default]
    Metric,
    /// US gallons, miles, degrees Fahrenheit.
    Us,
    /// Imperial gallons, miles, degrees Celsius.
    Imperial,
}

impl UnitSystem {
    /// Each by its name.
    pub const ALL: [(&str, UnitSystem); 3] = [
        ("metric", UnitSystem::Metric),
        ("us", UnitSystem::Us),
        ("imperial", UnitSystem::Imperial),
    ];

    /// Degrees as this person reads them.
    pub fn degrees(self, celsius: f64) -> f64 {
        if self == UnitSystem::Us { celsius * 1.8 + 32.0 } else { celsius }
    }

    /// The same the other way round.
    pub fn celsius(self, degrees: f64) -> f64 {
        if self == UnitSystem::Us { (degrees - 32.0) / 1.8 } else { degrees }
    }

    /// The letter of their scale.
    pub fn scale(self) -> char {
        if self == UnitSystem::Us { 'F' } else { 'C' }
    }
}

/// A known unit, words that name it, most usual first (the first one is what is printed and
/// exchanged), and its factor to the base unit of its dimension (L, Wh, kg, h, km). A word may stand
/// on two rows when the unit system decides (`gal`).
type UnitWords = (Unit, &'static [&'static str], Option<(&'static str, f64)>);

const KNOWN: &[UnitWords] = &[
    (Unit::Percent, &["%", "percent"], None),
    (Unit::Litre, &["L", "l", "litre", "litres", "liter", "liters"], Some(("volume", 1.0))),
    (Unit::Millilitre, &["mL", "ml"], Some(("volume", 1e-3))),
    (Unit::UsGallon, &["gal", "gallon", "gallons", "usgal"], Some(("volume", 3.785_411_784))),
    (Unit::ImperialGallon, &["impgal", "gal", "gallon", "gallons"], Some(("volume", 4.546_09))),
    (Unit::WattHour, &["Wh", "wh"], Some(("energy", 1.0))),
    (Unit::KilowattHour, &["kWh", "kwh"], Some(("energy", 1e3))),
    (Unit::AmpHour, &["Ah", "ah"], None),
    (Unit::Kilogram, &["kg"], Some(("mass", 1.0))),
    (Unit::Gram, &["g"], Some(("mass", 1e-3))),
    (Unit::Pound, &["lb", "lbs"], Some(("mass", 0.453_592_37))),
    (Unit::PersonDay, &["person-days", "person-day"], None),
    (Unit::Use, &["uses", "use"], None),
    (Unit::Time, &["times", "time", "x"], None),
    (Unit::Minute, &["min", "minute", "minutes"], Some(("time", 1.0 / 60.0))),
    (Unit::Hour, &["h", "hour", "hours"], Some(("time", 1.0))),
    (Unit::Night, &["nights", "night"], None),
    (Unit::Kilometre, &["km"], Some(("distance", 1.0))),
    (Unit::Mile, &["mi", "mile", "miles"], Some(("distance", 1.609_344))),
    (Unit::Person, &["people", "person", "persons"], None),
];

impl Unit {
    /// The unit that `word` names in `system`, or `None` for a word that is no known unit.
    pub fn from_word(word: &str, system: UnitSystem) -> Option<Unit> {
        let mut known = KNOWN.iter().filter(|known| known.1.contains(&word)).map(|known| &known.0);
        // A word with two meanings has the imperial one last.
        match system {
            UnitSystem::Imperial => known.next_back().cloned(),
            UnitSystem::Metric | UnitSystem::Us => known.next().cloned(),
        }
    }

    /// The word that is printed and exchanged for this unit; [`Unit::from_word`] reads it back
    /// whatever the system is, but for `gal`, which is a US gallon except in the imperial system.
    pub fn word(&self) -> &str {
        match self {
            Unit::Own(word) => word,
            known => known.row().map_or("", |row| row.1[0]),
        }
    }

    /// The word that goes with a number as it is shown: "1 use", "2 uses", "1.0 uses".
    pub fn word_for(&self, number: &str) -> &str {
        use Unit::{Night, Person, PersonDay, Time, Use};
        let is_one = number == "1" && matches!(self, PersonDay | Use | Time | Night | Person);
        self.row().map_or_else(|| self.word(), |row| row.1[usize::from(is_one)])
    }

    /// Every word that [`Unit::from_word`] knows, for "did you mean".
    pub fn known_words() -> impl Iterator<Item = &'static str> {
        KNOWN.iter().flat_map(|known| known.1.iter().copied())
    }

    /// The unit in which an amount kept in this one is shown in `system`.
    pub fn shown_in(&self, system: UnitSystem) -> Unit {
        match (system, self) {
            (UnitSystem::Us, Unit::Litre) => Unit::UsGallon,
            (UnitSystem::Imperial, Unit::Litre) => Unit::ImperialGallon,
            (UnitSystem::Us | UnitSystem::Imperial, Unit::Kilometre) => Unit::Mile,
            (UnitSystem::Us, Unit::Kilogram) => Unit::Pound,
            _ => self.clone(),
        }
    }

    fn row(&self) -> Option<&'static UnitWords> {
        KNOWN.iter().find(|known| known.0 == *self)
    }

    /// Whether both measure the same kind of thing, as hours and minutes do, whatever the voltage.
    pub fn converts_to(&self, other: &Unit) -> bool {
        self.factor_to(other, None).is_some()
    }

    /// Multiply an amount in `self` by this to get it in `to`; `None` across dimensions.
    /// `volts` is the battery's nominal voltage, without which ampere-hours do not convert.
    ///
    /// ```
    /// use waystock::domain::unit::Unit;
    /// let factor = Unit::UsGallon.factor_to(&Unit::Litre, None).unwrap();
    /// assert_eq!(factor, 3.785411784); // 231 cubic inches, NIST Handbook 44 appendix C
    /// assert_eq!(Unit::Litre.factor_to(&Unit::Kilogram, None), None);
    /// ```
    pub fn factor_to(&self, to: &Unit, volts: Option<f64>) -> Option<f64> {
        if self == to {
            return Some(1.0);
        }
        let side = |unit: &Unit| match unit {
            Unit::AmpHour => volts.map(|v| ("energy", v)),
            other => other.row()?.2,
        };
        let ((from_kind, from), (to_kind, to)) = (side(self)?, side(to)?);
        (from_kind == to_kind).then_some(from / to)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Factors as NIST SP 811 (2008) appendix B prints them, and Handbook 44 appendix C.
    #[test]
    fn conversions_agree_with_published_factors() {
        let rows = [
            (Unit::UsGallon, Unit::Litre, 3.785_412, 5e-7),
            (Unit::ImperialGallon, Unit::Litre, 4.546_09, 1e-12),
            (Unit::Mile, Unit::Kilometre, 1.609_344, 1e-12),
            (Unit::Pound, Unit::Kilogram, 0.453_592_4, 5e-8),
            (Unit::KilowattHour, Unit::WattHour, 1000.0, 1e-9),
        ];
        for (from, to, published, tolerance) in rows {
            let factor = from.factor_to(&to, None).unwrap();
            assert!((factor - published).abs() <= tolerance, "{from:?}: {factor}");
            let back = to.factor_to(&from, None).unwrap();
            assert!((factor * back - 1.0).abs() < 1e-15);
        }
    }

    #[test]
    fn gallons_follow_the_system() {
        assert_eq!(Unit::from_word("gal", UnitSystem::Us), Some(Unit::UsGallon));
        assert_eq!(Unit::from_word("gal", UnitSystem::Metric), Some(Unit::UsGallon));
        assert_eq!(Unit::from_word("gal", UnitSystem::Imperial), Some(Unit::ImperialGallon));
        assert_eq!(Unit::from_word("furlong", UnitSystem::Metric), None);
    }

    #[test]
    fn amp_hours_need_a_voltage() {
        assert_eq!(Unit::AmpHour.factor_to(&Unit::WattHour, None), None);
        assert_eq!(Unit::AmpHour.factor_to(&Unit::WattHour, Some(12.8)), Some(12.8));
    }
}
