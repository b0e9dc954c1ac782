//! `waystock hindsight`: how good earlier forecasts were, on this very journal.

use super::context::Context;
use super::failure::Failure;
use super::gaps;
use super::json;
use super::output::Output;
use crate::domain::rig::Rig;
use crate::forecast::hindsight::{
    Hindsight, Luck, PastEvening, Settings, Side, TrackRecord, hindsight,
};
use crate::text::hindsight as words;
use serde_json::{Value, json};
use std::sync::atomic::AtomicBool;

/// Lives per evening: enough for the P10 and the P90, and quick.
const LIVES: usize = 500;

/// Prints the look back, or `waystock.hindsight/1`.
pub fn run(context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    // Yesterday's and today's evenings are too young to be judged.
    let evenings = Settings::at(context.clock).evenings + 2;
    let contents = context.load_for_answer(evenings)?;
    let rig = &contents.rig;
    let settings = Settings {
        seed: context.common.seed,
        lives: LIVES.min(context.common.lives as usize),
        ..Settings::at(context.now(rig))
    };
    let never = AtomicBool::new(false);
    let Some(looked) = hindsight(rig, &contents.journal.entries, settings, &never) else {
        return Ok(0);
    };
    if context.common.json {
        out.raw(json::text(&as_json(&looked, settings)).as_bytes());
    } else {
        print(rig, &looked, settings, out);
    }
    gaps::tell_unread(&contents.journal, out);
    Ok(0)
}

fn print(rig: &Rig, looked: &Hindsight, settings: Settings, out: &mut Output) {
    let Some(heading) = words::heading(looked, &rig.zone(settings.now)) else {
        return out.line(words::TOO_EARLY);
    };
    out.line(&heading);
    out.line("");
    let next = words::next(looked);
    for (place, line) in next.iter().enumerate() {
        out.line(&format!("{}{line}", if place > 0 { "  " } else { "" }));
    }
    if let Some(readings) = words::readings(looked) {
        out.line(&readings);
    }
    out.line("");
    levels(looked, rig, out);
    out.line("");
    dates(looked, out);
    out.line("");
    out.line(&words::misjudged(looked));
    out.line("");
    out.line(words::FAIRNESS);
}

fn levels(looked: &Hindsight, rig: &Rig, out: &mut Output) {
    out.line(words::LEVELS);
    let width = name_width(looked);
    let row = |name: &str, cells: [String; 5]| {
        let [inside, settled, sooner, later, error] = cells;
        format!("{name:width$}  {inside:<19}  {settled:>7}  {sooner:>6}  {later:>5}  {error}")
    };
    out.line(&row("stock", words::LEVEL_HEADS.map(str::to_string)));
    for stock in &looked.stocks {
        if let Some(cells) = words::level_cells(stock, rig.show) {
            out.line(row(&stock.name, cells).trim_end());
        }
    }
    if let Some(silent) = words::silent(looked) {
        out.line(&format!("  {silent}"));
    }
}

fn dates(looked: &Hindsight, out: &mut Output) {
    out.line(words::DATES);
    let width = name_width(looked);
    for stock in &looked.stocks {
        out.line(&format!("{:width$}  {}", stock.name, words::dates(stock)));
    }
}

fn name_width(looked: &Hindsight) -> usize {
    looked.stocks.iter().map(|s| s.name.chars().count()).max().unwrap_or(5).max(5)
}

fn as_json(looked: &Hindsight, settings: Settings) -> Value {
    let safe = looked.safe_dates();
    json!({
        "schema": "waystock.hindsight/1",
        "at": json::moment(Some(settings.now)),
        "lives": settings.lives,
        "seed": settings.seed,
        "horizon_hours": settings.horizon_hours,
        "next": record(&looked.next),
        "luck": { "next": luck(looked.luck_of_next()), "readings": luck(looked.luck_of_readings()) },
        "safe_dates": {
            "serviced_before": safe.serviced_before,
            "held": safe.held,
            "broken": safe.broken,
        },
        "stocks": looked.stocks.iter().map(|stock| json!({
            "name": stock.name,
            "unit": stock.unit.word(),
            "capacity": rounded(stock.capacity),
            "levels": record(&stock.levels),
            "dates": record(&stock.dates),
        })).collect::<Vec<_>>(),
        "misjudged": looked.misjudged.map(|worst| json!({
            "stock": looked.stocks[worst.stock].name,
            "way": way(worst.way),
        })),
        "evenings": looked.evenings.iter().map(evening).collect::<Vec<_>>(),
    })
}

fn luck(luck: Option<Luck>) -> Value {
    luck.map_or(Value::Null, |luck| json!({ "low": luck.low, "high": luck.high }))
}

fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

fn way(way: Side) -> &'static str {
    match way {
        Side::Sooner => "sooner",
        Side::Later => "later",
    }
}

fn record(record: &TrackRecord) -> Value {
    let (tally, unjudged) = (&record.tally, record.unjudged);
    json!({
        "judged": tally.judged,
        "inside": rounded(tally.shares.inside),
        "sooner": rounded(tally.shares.sooner),
        "later": rounded(tally.shares.later),
        "wanted": rounded(tally.wanted()),
        "settled": tally.settled,
        "settled_inside": tally.settled_inside,
        "settled_sooner": tally.settled_sooner,
        "settled_later": tally.settled_later(),
        "typical_error": record.typical_error.map(rounded),
        "errors": record.errors,
        "met": record.met,
        "unjudged": {
            "out_already": unjudged.out_already,
            "beyond_horizon": unjudged.beyond_horizon,
            "nothing_told": unjudged.nothing_told,
        },
    })
}

fn evening(evening: &PastEvening) -> Value {
    let finite = |hours: f64| hours.is_finite().then(|| rounded(hours));
    json!({
        "at": json::moment(Some(evening.at)),
        "said": {
            "p10": evening.said.p10.map(rounded),
            "p50": evening.said.p50.map(rounded),
            "p90": evening.said.p90.map(rounded),
        },
        "came": { "not_before": finite(evening.came.from), "by": finite(evening.came.to) },
        "inside": evening.verdict.map(|v| rounded(v.inside)),
    })
}
