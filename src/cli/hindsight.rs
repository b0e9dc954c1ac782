//! `waystock hindsight`: how good earlier forecasts were, on this very journal.

use super::{CommandResult, Output, Rounded, Session, gaps, list, object};
use crate::domain::Rig;
use crate::forecast::hindsight::{BandSide, Luck, Settings, StockRecord, TrackRecord, hindsight};
use crate::forecast::{Hindsight, PastEvening};
use crate::text::hindsight as words;
use serde_json::Value;
use std::sync::atomic::AtomicBool;

/// Lives per evening: enough for the P10 and the P90, and quick.
const LIVES: usize = 500;

/// Prints the look back, or `waystock.hindsight/1`.
pub fn run(session: &mut Session, out: &mut Output) -> CommandResult {
    // Yesterday's and today's evenings are too young to be judged.
    let evenings = Settings::at(session.clock).evenings + 2;
    let contents = session.load_for_answer(evenings)?;
    let rig = &contents.rig;
    let settings = Settings {
        seed: session.common.seed,
        lives: LIVES.min(session.common.lives as usize),
        ..Settings::at(session.now(rig))
    };
    let never = AtomicBool::new(false);
    let Some(looked) = hindsight(rig, &contents.journal.entries, settings, &never) else {
        return Ok(0);
    };
    if session.common.json {
        out.json(&as_json(&looked, settings));
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
    out.lines(words::readings(looked));
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
    for stock in &looked.stocks {
        let levels = words::levels(stock, rig.show);
        out.lines(levels.map(|levels| format!("  {}: {levels}", stock.name)));
    }
    out.lines(words::silent(looked).map(|silent| format!("  {silent}")));
}

fn dates(looked: &Hindsight, out: &mut Output) {
    out.line(words::DATES);
    let dates = |stock: &StockRecord| format!("  {}: {}", stock.name, words::dates(stock));
    out.lines(looked.stocks.iter().map(dates));
}

fn as_json(looked: &Hindsight, settings: Settings) -> Value {
    let luck = |luck: Option<Luck>| luck.map(|luck| object!(luck; low, high));
    let stock = |own: &StockRecord| {
        let (levels, dates) = (record(&own.levels), record(&own.dates));
        object!(own; name, unit, capacity ~ 3, levels = levels, dates = dates)
    };
    let misjudged = looked.misjudged.map(|worst| {
        let way = match worst.way {
            BandSide::Sooner => "sooner",
            BandSide::Later => "later",
        };
        object!(worst; stock = looked.stocks[worst.stock].name, way = way)
    });
    object!(settings;
        schema = "waystock.hindsight/1", at = settings.now, lives, seed, horizon_hours,
        next = record(&looked.next),
        luck = object!(looked; next = luck(looked.luck_of_next()),
            readings = luck(looked.luck_of_readings())),
        safe_dates = object!(looked.safe_dates(); serviced_before, held, broken, unknown),
        lean = looked.lean().map(|lean| object!(lean; evenings, later, days_later = lean.days.rounded(3))),
        stocks = list(&looked.stocks, stock), misjudged = misjudged,
        evenings = list(&looked.evenings, evening))
}

fn record(record: &TrackRecord) -> Value {
    let (tally, shares) = (&record.tally, &record.tally.shares);
    let unjudged = object!(record.unjudged; out_already, beyond_horizon, nothing_told);
    object!(tally;
        judged, inside = shares.inside.rounded(3), sooner = shares.sooner.rounded(3),
        later = shares.later.rounded(3), wanted = tally.wanted().rounded(3), settled,
        settled_inside, settled_sooner, settled_later = tally.settled_later(),
        typical_error = record.typical_error.rounded(3), errors = record.errors, met = record.met,
        unjudged = unjudged)
}

fn evening(evening: &PastEvening) -> Value {
    let finite = |hours: f64| Some(hours).filter(|hours| hours.is_finite()).rounded(3);
    let (from, to) = (finite(evening.came.from), finite(evening.came.to));
    object!(evening; at, said = object!(evening.said; p10 ~ 3, p50 ~ 3, p90 ~ 3),
        came = object!(evening; not_before = from, by = to),
        inside = evening.verdict.map(|v| v.inside).rounded(3))
}
