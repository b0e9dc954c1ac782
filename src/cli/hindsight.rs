//! `waystock hindsight`: how good earlier forecasts were, on this very journal.

use super::context::Context;
use super::failure::Failure;
use super::gaps;
use super::json;
use super::output::Output;
use crate::domain::rig::Rig;
use crate::domain::time::Zone;
use crate::forecast::hindsight::{
    Hindsight, PastEvening, Record, Settings, StockRecord, Unjudged, Way, hindsight,
};
use crate::text::quantity;
use crate::text::when;
use serde_json::{Value, json};
use std::sync::atomic::AtomicBool;

/// Lives per evening: enough for the P10 and the P90, and quick.
const LIVES: usize = 500;

/// Prints the look back, or `waystock.hindsight/1`.
pub fn run(context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load()?;
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
    let zone = rig.zone(settings.now);
    let [first, .., last] = &looked.evenings[..] else {
        out.line("Too early to look back: it takes a week of journal before the first evening");
        out.line("that can be judged, and some days after it.");
        return;
    };
    out.line(&format!(
        "Looking back on {} evenings, {} to {}: what a forecast made from what was known on each \
         would have said, beside what came.",
        looked.evenings.len(),
        date(first, &zone),
        date(last, &zone),
    ));
    out.line("");
    print_next(&looked.next, out);
    out.line("");
    levels(looked, rig, out);
    out.line("");
    dates(looked, out);
    out.line("");
    out.line(&misjudged(looked));
    out.line("");
    out.line(
        "A coarse gauge or an early service leaves open where the truth lay; such a case counts by \
         its chance, and only the settled ones can contradict a forecast. Evenings that share a \
         reading are not independent.",
    );
}

fn date(evening: &PastEvening, zone: &Zone) -> String {
    when::day(zone.here(evening.at))
}

fn print_next(next: &Record, out: &mut Output) {
    let tally = &next.tally;
    match (tally.judged, tally.settled) {
        (0, _) => out.line("Next stop: none of them can be judged."),
        (judged, 0) => out.line(&format!(
            "Next stop: on none of {judged} evenings can it be said whether the band was right: \
             a service always came first.",
        )),
        (judged, settled) => {
            out.line(&format!(
                "Next stop: of {judged} evenings, {:.0} lay inside the band (want {:.0}).",
                tally.shares.inside,
                tally.wanted(),
            ));
            out.line(&format!(
                "  Settled by what was written later: {settled}, of which {} inside, {} sooner \
                 than said, {} later. On the other {} a service came first; they count by their \
                 chance.",
                tally.settled_inside,
                tally.settled_sooner,
                tally.settled_later(),
                judged - settled,
            ));
        }
    }
    if let Some(error) = next.typical_error {
        out.line(&format!(
            "  Typical error of the likely date: {error:.1} days, over the {} evenings on which a \
             limit was met.",
            next.errors
        ));
    }
    if let Some(why) = unjudged(next.unjudged) {
        out.line(&format!("  Not judged: {why}."));
    }
}

/// "3 (1 out already, 2 with nothing written later)".
fn unjudged(unjudged: Unjudged) -> Option<String> {
    let reasons = [
        (unjudged.out_already, "out already that evening"),
        (unjudged.beyond_horizon, "with no limit in sight"),
        (unjudged.nothing_told, "with nothing written later that tells"),
    ];
    let told = reasons.iter().filter(|(n, _)| *n > 0).map(|(n, why)| format!("{n} {why}"));
    let told: Vec<String> = told.collect();
    (!told.is_empty()).then(|| format!("{} ({})", unjudged.all(), told.join(", ")))
}

fn levels(looked: &Hindsight, rig: &Rig, out: &mut Output) {
    out.line("Was each stock's next reading inside the band foretold for it (P10 to P90)?");
    let width = name_width(looked);
    let row = |name: &str, cells: [String; 5]| {
        let [inside, settled, sooner, later, error] = cells;
        format!("{name:width$}  {inside:<19}  {settled:>7}  {sooner:>6}  {later:>5}  {error}")
    };
    let heads = ["inside", "settled", "sooner", "later", "typical error beyond the gauge's step"];
    out.line(&row("stock", heads.map(str::to_string)));
    for stock in &looked.stocks {
        let tally = &stock.levels.tally;
        if tally.judged == 0 {
            continue;
        }
        let amount = |v| quantity::amount(v, stock.capacity, &stock.unit, rig.show);
        let inside =
            format!("{:.0} of {} (want {:.0})", tally.shares.inside, tally.judged, tally.wanted());
        let cells = [
            inside,
            tally.settled.to_string(),
            tally.settled_sooner.to_string(),
            tally.settled_later().to_string(),
            stock.levels.typical_error.map_or("-".to_string(), amount),
        ];
        out.line(row(&stock.name, cells).trim_end());
    }
    let none = |s: &&StockRecord| s.levels.unjudged.all() > 0;
    let told = |s: &StockRecord| format!("{} {}", s.name, s.levels.unjudged.all());
    let silent: Vec<String> = looked.stocks.iter().filter(none).map(told).collect();
    if !silent.is_empty() {
        out.line(&format!(
            "  Evenings not judged, as nothing between them and the next service tells the level: {}",
            silent.join(", ")
        ));
    }
}

fn dates(looked: &Hindsight, out: &mut Output) {
    out.line("Did each stock meet its limit inside the band of dates?");
    let width = name_width(looked);
    for stock in &looked.stocks {
        let (record, tally) = (&stock.dates, &stock.dates.tally);
        let mut text = match (tally.judged, tally.settled) {
            (0, _) => "no evening can be judged".to_string(),
            (judged, 0) => format!("cannot be said: serviced in time on all {judged} evenings"),
            (judged, settled) => format!(
                "inside on {:.0} of {judged} evenings (want {:.0}); {settled} settled: {} sooner \
                 than said, {} later",
                tally.shares.inside,
                tally.wanted(),
                tally.settled_sooner,
                tally.settled_later(),
            ),
        };
        if let Some(error) = record.typical_error {
            text.push_str(&format!("; typical error {error:.1} days"));
        }
        if let Some(why) = unjudged(record.unjudged) {
            text.push_str(&format!("; not judged: {why}"));
        }
        out.line(&format!("{:width$}  {text}", stock.name));
    }
}

fn name_width(looked: &Hindsight) -> usize {
    looked.stocks.iter().map(|s| s.name.chars().count()).max().unwrap_or(5).max(5)
}

fn misjudged(looked: &Hindsight) -> String {
    let Some(worst) = looked.misjudged else {
        return "No stock was misjudged clearly more often than chance would have it.".to_string();
    };
    let stock = &looked.stocks[worst.stock];
    let way = match worst.way {
        Way::Sooner => "it came nearer its limit than said, sooner than said",
        Way::Later => "it stayed further from its limit than said",
    };
    let share = stock.levels.tally.shares.inside / stock.levels.tally.judged as f64;
    format!(
        "Misjudged most: {}, inside its band only {} of the time, mostly because {way}.",
        stock.name,
        crate::text::share::percent(share)
    )
}

fn as_json(looked: &Hindsight, settings: Settings) -> Value {
    json!({
        "schema": "waystock.hindsight/1",
        "at": json::moment(Some(settings.now)),
        "lives": settings.lives,
        "seed": settings.seed,
        "horizon_hours": settings.horizon_hours,
        "next": record(&looked.next),
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

fn rounded(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

fn way(way: Way) -> &'static str {
    match way {
        Way::Sooner => "sooner",
        Way::Later => "later",
    }
}

fn record(record: &Record) -> Value {
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
