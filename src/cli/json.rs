//! The forecast as the contract's JSON, and small helpers for other results.

use crate::domain::{EntryId, Moment, Unit, UnitSystem};
use crate::forecast::answer::{Alarm, Cause, Estimate};
use crate::forecast::{Evening, Forecast, NextStop, Quantiles, StockForecast};
use crate::text::{notice, safe};
use chrono::NaiveDate;
use serde_json::{Value, json};

/// What stands in JSON as it is: texts, whole numbers, moments (RFC 3339 to the second), units by
/// their word. Other numbers are rounded first.
pub(super) trait AsJson {
    fn json(&self) -> Value;
}

macro_rules! as_json {
    ($($kind:ty: $value:ident => $json:expr;)*) => {
        $(impl AsJson for $kind {
            fn json(&self) -> Value {
                let $value = self;
                json!($json)
            }
        })*
    };
}

as_json! {
    bool: is => is;
    u8: number => number;
    u32: number => number;
    u64: number => number;
    usize: number => number;
    str: text => text;
    String: text => text;
    Value: value => value;
    Moment: at => at.to_rfc3339_opts(chrono::SecondsFormat::Secs, false);
    NaiveDate: date => date.to_string();
    Unit: unit => unit.word();
    EntryId: id => id.to_string();
    Estimate: own => object!(own; mean ~ 3, sd ~ 3);
    Quantiles: hours => object!(hours; p05 ~ 3, p10 ~ 3, p25 ~ 3, p50 ~ 3, p75 ~ 3, p90 ~ 3, p95 ~ 3);
}

impl<T: AsJson + ?Sized> AsJson for &T {
    fn json(&self) -> Value {
        (*self).json()
    }
}

impl<T: AsJson> AsJson for Option<T> {
    fn json(&self) -> Value {
        self.as_ref().map_or(Value::Null, AsJson::json)
    }
}

impl<T: AsJson> AsJson for Vec<T> {
    fn json(&self) -> Value {
        self.iter().map(AsJson::json).collect()
    }
}

/// A number that is rounded to so many decimals, so that equal forecasts print equal bytes and
/// nobody reads more digits than there are.
pub(super) trait Rounded {
    fn rounded(&self, decimals: i32) -> Value;
}

impl Rounded for f64 {
    fn rounded(&self, decimals: i32) -> Value {
        let factor = 10f64.powi(decimals);
        // Adding zero turns a negative zero into a plain one.
        json!((self * factor).round() / factor + 0.0)
    }
}

impl Rounded for Option<f64> {
    fn rounded(&self, decimals: i32) -> Value {
        self.map_or(Value::Null, |value| value.rounded(decimals))
    }
}

/// A JSON object: of the value in front the fields named, in that order. `name` is the field as it
/// is, `name ~ 3` the field to three decimals, and `name = value` something else under that name.
macro_rules! object {
    (@ $object:ident $of:ident,) => {};
    (@ $object:ident $of:ident, $name:ident = $value:expr $(, $($rest:tt)*)?) => {
        $object.insert(stringify!($name).to_string(), $crate::cli::json::AsJson::json(&$value));
        $crate::cli::json::object!(@ $object $of, $($($rest)*)?);
    };
    (@ $object:ident $of:ident, $name:ident ~ $decimals:literal $(, $($rest:tt)*)?) => {
        let rounded = $crate::cli::json::Rounded::rounded(&$of.$name, $decimals);
        $object.insert(stringify!($name).to_string(), rounded);
        $crate::cli::json::object!(@ $object $of, $($($rest)*)?);
    };
    (@ $object:ident $of:ident, $name:ident $(, $($rest:tt)*)?) => {
        $object.insert(stringify!($name).to_string(), $crate::cli::json::AsJson::json(&$of.$name));
        $crate::cli::json::object!(@ $object $of, $($($rest)*)?);
    };
    ($of:expr; $($fields:tt)*) => {{
        let of = &$of;
        let _ = of;
        let mut object = serde_json::Map::new();
        $crate::cli::json::object!(@ object of, $($fields)*);
        serde_json::Value::Object(object)
    }};
}
pub(super) use object;

/// A list, each item as `json` has it.
pub(super) fn list<T, J: AsJson>(
    all: impl IntoIterator<Item = T>,
    json: impl FnMut(T) -> J,
) -> Value {
    all.into_iter().map(json).map(|item| item.json()).collect()
}

fn stock(stock: &StockForecast) -> Value {
    object!(stock; name, unit, capacity ~ 3, limit ~ 3, level, hours, beyond_horizon ~ 6, binding ~ 6,
        stood_in_by, chance = chance(stock))
}

/// How likely each stock is to meet its limit within the horizon.
pub fn chances(forecast: &Forecast) -> Value {
    list(&forecast.stocks, |stock| object!(stock; name, chance = chance(stock), binding ~ 6))
}

fn chance(stock: &StockForecast) -> Value {
    (1.0 - stock.beyond_horizon).rounded(6)
}

/// What the crew should know, alarms with what they saw.
pub fn notices(evening: &Evening, show: UnitSystem) -> Value {
    list(
        &evening.notices,
        |notice| object!(notice; stock, text = notice::said(notice, show), alarm = notice.alarm().map(alarm)),
    )
}

fn alarm(alarm: &Alarm) -> Value {
    let change = &alarm.change;
    let kind = match (change.stuck, change.per_day.mean < 0.0) {
        (true, _) => "gauge stands still",
        (_, true) => "less than explained",
        _ => "more than explained",
    };
    // Of a battery that falls; null for every other alarm.
    let cause = change.cause.map(|cause| match cause {
        Cause::Draw => "draw",
        Cause::Panels => "panels",
        Cause::Either => "draw or panels",
    });
    object!(change; kind = kind, cause = cause, since, per_day, readings)
}

/// A next forced stop: its hours, by when, likely when, and which stock.
pub fn next(forecast: &Forecast, next: &NextStop) -> Value {
    let binding = next.binding.map(|index| &forecast.stocks[index].name);
    object!(next; hours, by, likely, binding = binding, chance ~ 6)
}

/// `waystock.forecast/1`.
pub fn forecast(forecast: &Forecast) -> Value {
    let name = |index: usize| &forecast.stocks[index].name;
    let cold = forecast.cold.map(|cold| {
        object!(cold; stock = name(cold.stock), hours_ahead, share ~ 6, hours ~ 3, no_fuel ~ 6)
    });
    let frost = list(&forecast.frosts, |frost| {
        let below_c = frost.limit_c.rounded(1);
        object!(frost; stock = name(frost.stock), morning, chance ~ 6, below_c = below_c)
    });
    object!(forecast;
        schema = "waystock.forecast/1", at, horizon_hours, lives, seed,
        stocks = list(&forecast.stocks, stock), next = next(forecast, &forecast.next),
        cold = cold, frost = frost)
}

/// Pretty-printed, with a final line break. Characters that could steer a terminal or reorder what
/// stands around them are written as JSON escapes; they can only stand within strings.
pub fn text(value: &Value) -> String {
    // A tree of strings and finite numbers always serialises.
    let plain = serde_json::to_string_pretty(value).unwrap_or_default();
    let mut text = String::with_capacity(plain.len() + 1);
    for c in plain.chars() {
        if c != '\n' && (c.is_control() || safe::is_invisible(c)) {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                text.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            text.push(c);
        }
    }
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::stock::Direction;
    use crate::domain::unit::Unit;
    use crate::forecast::answer::{Holds, Unexplained};

    #[test]
    fn an_alarm_about_the_battery_says_which_it_is() {
        let said = |cause, stuck| {
            let change = Unexplained {
                stock: 0,
                since: "2026-03-04T19:00:00+01:00".parse().unwrap(),
                per_day: Estimate { mean: -310.0, sd: 40.0 },
                strength: 2.0,
                readings: 6,
                stuck,
                cause,
            };
            let (runs, unit, holds) = (Direction::Down, Unit::WattHour, Holds::Charge);
            alarm(&Alarm { change, runs, unit, capacity: 2560.0, holds })
        };
        assert_eq!(said(Some(Cause::Draw), false)["cause"], "draw");
        assert_eq!(said(Some(Cause::Panels), false)["cause"], "panels");
        assert_eq!(said(Some(Cause::Either), false)["cause"], "draw or panels");
        assert_eq!(said(Some(Cause::Draw), false)["kind"], "less than explained");
        assert_eq!(said(None, true)["cause"], Value::Null);
    }
}
