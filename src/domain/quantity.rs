//! Amounts as whole thousandths of a unit, so that nothing stored can be NaN or drift.

use super::unit::Unit;
use std::fmt;

/// A number of thousandths. The largest that is accepted is a thousand million units.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Amount(i64);

/// Why a number is not an amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AmountFault {
    /// NaN or infinite.
    NotFinite,
    /// Beyond plus or minus 1e9 units.
    TooLarge,
    /// Not a decimal number at all.
    NotANumber,
}

const LARGEST_MILLI: i64 = 1_000_000_000_000;

impl Amount {
    /// Nothing.
    pub const ZERO: Amount = Amount(0);

    /// From whole thousandths; `None` beyond plus or minus 1e9 units.
    pub fn from_milli(milli: i64) -> Option<Amount> {
        (-LARGEST_MILLI..=LARGEST_MILLI).contains(&milli).then_some(Amount(milli))
    }

    /// From a float in whole units, rounded half away from zero to the thousandth.
    pub fn from_f64(value: f64) -> Result<Amount, AmountFault> {
        if !value.is_finite() {
            return Err(AmountFault::NotFinite);
        }
        let milli = (value * 1000.0).round();
        if milli.abs() > LARGEST_MILLI as f64 {
            return Err(AmountFault::TooLarge);
        }
        Ok(Amount(milli as i64))
    }

    /// From decimal digits as people write them: `8`, `8.5`, `.5`, `-2`. No exponent, no
    /// separators, and a comma is not a decimal point (it separates things in a log line).
    pub fn parse(text: &str) -> Result<Amount, AmountFault> {
        let digits = text.strip_prefix('-').unwrap_or(text);
        let plain = digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        if !plain || !digits.bytes().any(|b| b.is_ascii_digit()) {
            return Err(AmountFault::NotANumber);
        }
        text.parse::<f64>().map_err(|_| AmountFault::NotANumber).and_then(Amount::from_f64)
    }

    /// Whole thousandths.
    pub fn milli(self) -> i64 {
        self.0
    }

    /// In whole units, as a float.
    pub fn value(self) -> f64 {
        self.0 as f64 / 1000.0
    }
}

impl fmt::Display for Amount {
    /// The shortest decimal that reads back as the same amount: `8`, `8.5`, `0.125`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, part) = (self.0.unsigned_abs() / 1000, self.0.unsigned_abs() % 1000);
        if part == 0 {
            return write!(f, "{sign}{whole}");
        }
        let part = format!("{part:03}");
        write!(f, "{sign}{whole}.{}", part.trim_end_matches('0'))
    }
}

/// An amount in a unit, as it was written down.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Quantity {
    /// How much.
    pub amount: Amount,
    /// Of what.
    pub unit: Unit,
}

impl Quantity {
    /// An amount with its unit.
    pub fn new(amount: Amount, unit: Unit) -> Quantity {
        Quantity { amount, unit }
    }
}

impl fmt::Display for Quantity {
    /// `60%` for percent, else the number, a space and the unit's word: `20 L`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.unit {
            Unit::Percent => write!(f, "{}%", self.amount),
            _ => {
                let number = self.amount.to_string();
                write!(f, "{number} {}", self.unit.word_for(&number))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn refuses_what_is_not_a_plain_decimal() {
        for text in ["", ".", "-", "NaN", "inf", "1e9", "1,5", "0x10", "1.2.3", "--1", "٣"] {
            assert_eq!(Amount::parse(text), Err(AmountFault::NotANumber), "{text}");
        }
        assert_eq!(Amount::from_f64(f64::NAN), Err(AmountFault::NotFinite));
        assert_eq!(Amount::from_f64(1e10), Err(AmountFault::TooLarge));
        assert_eq!(Amount::parse("10000000001"), Err(AmountFault::TooLarge));
    }

    proptest! {
        #[test]
        fn what_is_printed_reads_back(milli in -LARGEST_MILLI..=LARGEST_MILLI) {
            let amount = Amount::from_milli(milli).unwrap();
            prop_assert_eq!(Amount::parse(&amount.to_string()), Ok(amount));
        }
    }
}
