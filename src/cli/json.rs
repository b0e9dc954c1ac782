//! The forecast as the contract's JSON, and small helpers for other results.

use crate::domain::time::Moment;
use crate::domain::unit::UnitSystem;
use crate::forecast::answer::{
    Alarm, Cause, Cold, Estimate, Evening, Forecast, Frost, NextStop, Notice, Quantiles,
    StockForecast,
};
use crate::text::{notice, safe};
use serde_json::{Map, Value, json};

/// A number rounded to `decimals`, so that equal forecasts print equal bytes and nobody reads
/// more digits than there are.
pub fn rounded(value: f64, decimals: i32) -> Value {
    let factor = 10f64.powi(decimals);
    // Adding zero turns a negative zero into a plain one.
    json!((value * factor).round() / factor + 0.0)
}

fn hours(value: Option<f64>) -> Value {
    value.map_or(Value::Null, |hours| rounded(hours, 3))
}

fn quantiles(q: &Quantiles) -> Value {
    let pairs = [
        ("p05", q.p05),
        ("p10", q.p10),
        ("p25", q.p25),
        ("p50", q.p50),
        ("p75", q.p75),
        ("p90", q.p90),
        ("p95", q.p95),
    ];
    Value::Object(pairs.into_iter().map(|(name, value)| (name.to_string(), hours(value))).collect())
}

/// A mean and its spread.
pub fn estimate(estimate: Estimate) -> Value {
    json!({ "mean": rounded(estimate.mean, 3), "sd": rounded(estimate.sd, 3) })
}

/// A moment as RFC 3339 to the second, or null.
pub fn moment(moment: Option<Moment>) -> Value {
    moment.map_or(Value::Null, |m| json!(m.to_rfc3339_opts(chrono::SecondsFormat::Secs, false)))
}

fn stock(stock: &StockForecast) -> Value {
    json!({
        "name": stock.name,
        "unit": stock.unit.word(),
        "capacity": rounded(stock.capacity, 3),
        "limit": rounded(stock.limit, 3),
        "level": estimate(stock.level),
        "hours": quantiles(&stock.hours),
        "beyond_horizon": rounded(stock.beyond_horizon, 6),
        "binding": rounded(stock.binding, 6),
    })
}

/// What the crew should know, alarms with what they saw.
pub fn notices(evening: &Evening, show: UnitSystem) -> Value {
    let value = |notice: &Notice| {
        let text = notice::said(notice, show);
        json!({ "stock": notice.stock, "text": text, "alarm": notice.alarm().map(alarm) })
    };
    evening.notices.iter().map(value).collect()
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
    json!({
        "kind": kind,
        "cause": cause,
        "since": moment(Some(change.since)),
        "per_day": estimate(change.per_day),
        "readings": change.readings,
    })
}

/// A next forced stop: its hours, by when, likely when, and which stock.
pub fn next(forecast: &Forecast, next: &NextStop) -> Value {
    json!({
        "hours": quantiles(&next.hours),
        "by": moment(next.by),
        "likely": moment(next.likely),
        "binding": next.binding.map(|index| forecast.stocks[index].name.clone()),
    })
}

/// `waystock.forecast/1`.
pub fn forecast(forecast: &Forecast) -> Value {
    let mut object = Map::new();
    object.insert("schema".into(), json!("waystock.forecast/1"));
    object.insert("at".into(), moment(Some(forecast.at)));
    object.insert("horizon_hours".into(), json!(forecast.horizon_hours));
    object.insert("lives".into(), json!(forecast.lives));
    object.insert("seed".into(), json!(forecast.seed));
    object.insert("stocks".into(), forecast.stocks.iter().map(stock).collect());
    object.insert("next".into(), next(forecast, &forecast.next));
    object.insert("cold".into(), forecast.cold.map_or(Value::Null, |c| cold(forecast, c)));
    object.insert("frost".into(), forecast.frosts.iter().map(|f| frost(forecast, f)).collect());
    Value::Object(object)
}

fn cold(forecast: &Forecast, cold: Cold) -> Value {
    json!({
        "stock": forecast.stocks[cold.stock].name,
        "hours_ahead": cold.hours_ahead,
        "share": rounded(cold.share, 6),
        "hours": rounded(cold.hours, 3),
        "no_fuel": rounded(cold.no_fuel, 6),
    })
}

fn frost(forecast: &Forecast, frost: &Frost) -> Value {
    json!({
        "stock": forecast.stocks[frost.stock].name,
        "morning": frost.morning.to_string(),
        "chance": rounded(frost.chance, 6),
        "below_c": rounded(frost.limit_c, 1),
    })
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
