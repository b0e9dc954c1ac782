//! `waystock why STOCK`: level, rates and weather behind one stock's dates, and their weight.

use super::context::Context;
use super::failure::Failure;
use super::output::Output;
use super::{forecast, json};
use crate::belief;
use crate::domain::journal;
use crate::domain::rig::Rig;
use crate::domain::time::after_hours;
use crate::forecast::answer::{Evening, Learned, Notice};
use crate::forecast::why::{Why, why};
use crate::text::when::{self, Form};
use crate::text::{answer, caution, quantity, share};
use serde_json::json;

/// Prints the explanation.
pub fn run(name: &str, context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load()?;
    let rig = &contents.rig;
    let evening = context.evening(&contents);
    let stocks = &evening.forecast.stocks;
    let Some(index) = find(rig, &evening, name) else {
        let names: Vec<&str> = stocks.iter().map(|s| s.name.as_str()).collect();
        return Err(Failure::new(
            2,
            format!("found {name:?}, expected a stock: {}", names.join(", ")),
        ));
    };
    let options = context.options(rig);
    let standing = journal::standing(&contents.journal.entries, options.at);
    let beliefs = belief::learn(rig, &standing, options.at, options.seed);
    let reasons = why(rig, &standing, &beliefs, index, options);
    if context.common.json {
        out.raw(json::text(&as_json(&evening, index, &reasons)).as_bytes());
        return Ok(0);
    }
    print(rig, &evening, index, &reasons, out);
    Ok(0)
}

fn find(rig: &Rig, evening: &Evening, name: &str) -> Option<usize> {
    let parts = rig.parts_on(rig.zone(evening.forecast.at).date(evening.forecast.at));
    let wanted = name.trim().to_lowercase();
    parts.stocks.iter().position(|stock| {
        stock.name.to_lowercase() == wanted
            || stock.also.iter().any(|other| other.to_lowercase() == wanted)
    })
}

fn print(rig: &Rig, evening: &Evening, index: usize, reasons: &Why, out: &mut Output) {
    let at = evening.forecast.at;
    let zone = rig.zone(at);
    let stock = &evening.forecast.stocks[index];
    let amount = |value: f64| quantity::amount(value, stock.capacity, &stock.unit, rig.show);
    out.line(&format!("{}: {} now", stock.name, quantity::level(stock, rig.show, true)));
    out.line(&format!("limit: {}", amount(stock.limit)));
    let date = |hours: Option<f64>| match hours.and_then(|h| after_hours(at, h)) {
        Some(_) if hours == Some(0.0) => "met already".to_string(),
        Some(moment) => when::date_time(zone.here(when::nearest_half_hour(moment)), Form::Full),
        None => format!("after {} days", evening.forecast.horizon_hours / 24),
    };
    out.line(&format!("safe until (P10): {}", date(stock.hours.p10)));
    out.line(&format!("likely (P50): {}", date(stock.hours.p50)));
    out.line(&format!("at the latest (P90): {}", date(stock.hours.p90)));
    out.line("");
    out.line("What moves it in a day, over the next three days:");
    for mover in &reasons.movers {
        let sign = if mover.per_day < 0.0 { '-' } else { '+' };
        let scale = mover.per_day.abs().max(1e-9);
        let size = quantity::amount(mover.per_day.abs(), scale, &stock.unit, rig.show);
        out.line(&format!("  {sign} {size}  {}", mover.what));
    }
    out.line(&format!(
        "  in weather of {:.0} C on average, with {} of the clear sky's sun",
        reasons.outside_c,
        share::percent(reasons.clearness.clamp(0.0, 1.0)),
    ));
    out.line("");
    out.line("What makes the date unsure:");
    for doubt in &reasons.doubts {
        out.line(&format!("  {}  {}", share::percent(doubt.share), doubt.what));
    }
    out.line("  the rest is chance: which day people do what, and the weather");
    if let Some(look) = &evening.worth_a_look {
        out.line(&format!("Worth a look tonight: {}", answer::look_in_words(look)));
    }
    let own = |notice: &&Notice| notice.stock.as_deref() == Some(&stock.name);
    for notice in evening.notices.iter().filter(own) {
        out.line(&format!("Note: {}", notice.text));
    }
    out.line("");
    out.line("What the journal taught, beside the rig file:");
    for learned in evening.learned.iter().filter(|l| l.stocks.contains(&stock.name)) {
        out.line(&format!("  {}", learned_line(learned)));
    }
    let parts = rig.parts_on(zone.date(at));
    if let Some(caution) = caution::for_stock(&parts, &stock.name) {
        out.line("");
        out.line(&format!("Caution: {}", caution.text));
    }
}

/// "fresh per shower 6.9 ±1.3 L (rig file 8), from 52 times and 145 readings".
fn learned_line(learned: &Learned) -> String {
    let reference = quantity::estimate(learned.reference, &learned.unit);
    let value = quantity::estimate(learned.learned, &learned.unit);
    let evidence = match (learned.occurrences > 0.0, learned.readings) {
        (true, 0) => format!("{} logged", forecast::people(learned.occurrences)),
        (true, readings) => {
            format!("{} logged, {readings} readings", forecast::people(learned.occurrences))
        }
        (false, 0) => "nothing logged yet".to_string(),
        (false, readings) => format!("{readings} readings"),
    };
    format!("{}: {value} (rig file {reference}); {evidence}", learned.what)
}

fn as_json(evening: &Evening, index: usize, reasons: &Why) -> serde_json::Value {
    let stock = &evening.forecast.stocks[index];
    let round = |value: f64| (value * 1000.0).round() / 1000.0;
    json!({
        "schema": "waystock.why/1",
        "at": json::moment(Some(evening.forecast.at)),
        "stock": stock.name,
        "unit": stock.unit.word(),
        "level": json::estimate(stock.level),
        "limit": round(stock.limit),
        "per_day": reasons.movers.iter().map(|m| json!({
            "what": m.what, "amount": round(m.per_day),
        })).collect::<Vec<_>>(),
        "doubts": reasons.doubts.iter().map(|d| json!({
            "what": d.what, "share": round(d.share),
        })).collect::<Vec<_>>(),
        "learned": evening.learned.iter().filter(|l| l.stocks.contains(&stock.name)).map(|l| json!({
            "what": l.what, "unit": l.unit,
            "reference": json::estimate(l.reference), "learned": json::estimate(l.learned),
            "occurrences": round(l.occurrences), "readings": l.readings,
        })).collect::<Vec<_>>(),
    })
}
