//! `waystock why STOCK`: level, rates and weather behind one stock's dates, and their weight.

use super::session::find_stock;
use super::{CommandResult, Output, Rounded, Session, gaps, list, object, vocabulary};
use crate::domain::{Estimate, Rig, UnitSystem};
use crate::forecast::why::{DateDoubt, DaysLearned, Why, why};
use crate::forecast::{Evening, LearnedValue, Notice, StockForecast};
use crate::text::answer::sooner;
use crate::text::{
    Dates, Form, Spread, answer, caution, counted, notice, quantity, reasons as words, share,
};
use serde_json::Value;

/// Prints the explanation.
pub fn run(name: &str, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_for_answer(1)?;
    let rig = &contents.rig;
    let evening = session.evening(&contents)?;
    let stocks = &evening.forecast.stocks;
    let names: Vec<&str> = stocks.iter().map(|s| s.name.as_str()).collect();
    let index = find_stock(&vocabulary(&contents, evening.forecast.at), &names, name)?;
    let (standing, beliefs) = session.learned(&contents)?;
    let reasons = why(rig, &standing, &beliefs, index, session.options(rig));
    gaps::tell_unread(&contents.journal, out);
    if session.common.json {
        out.json(&as_json(&evening, index, &reasons));
        return Ok(0);
    }
    print(rig, &evening, index, &reasons, out);
    Ok(0)
}

fn print(rig: &Rig, evening: &Evening, index: usize, reasons: &Why, out: &mut Output) {
    let stock = &evening.forecast.stocks[index];
    dates(rig, evening, stock, out);
    out.line("");
    movers(rig, stock, reasons, out);
    weather(rig, evening, stock, reasons, out);
    out.line("");
    out.line("What makes the date unsure (shares of all the doubt):");
    let doubt =
        |d: &DateDoubt| format!("  {}  {}", share::percent(d.share), words::unknown(&d.what));
    out.lines(reasons.doubts.iter().map(doubt));
    out.line("  the rest is chance: which day people do what, and the weather");
    out.lines(evening.worth_a_look().map(answer::look_in_words));
    let own = |notice: &&Notice| notice.stock.as_deref() == Some(&stock.name);
    let own = evening.notices.iter().filter(own);
    out.lines(own.map(|own| format!("Note: {}", notice::said(own, rig.show))));
    out.line("");
    taught(rig, evening, stock, reasons, out);
    let at = evening.forecast.at;
    let parts = rig.parts_on(rig.zone(at).date(at));
    if let Some(caution) = caution::for_stock(&parts, &stock.name) {
        out.line("");
        out.line(&format!("Caution: {}", caution.text));
    }
}

/// Level, limit and the three dates.
fn dates(rig: &Rig, evening: &Evening, stock: &StockForecast, out: &mut Output) {
    let at = evening.forecast.at;
    let zone = rig.zone(at);
    let amount = |value: f64| quantity::amount(value, stock.capacity, &stock.unit, rig.show);
    out.line(&format!("{}: {} now", stock.name, quantity::level(stock, rig.show, Spread::Shown)));
    let last = evening.readings(&stock.name).last();
    out.lines(last.and_then(|last| quantity::likelier(stock, last, rig.show)));
    out.line(&format!("limit: {}", amount(stock.limit)));
    let (hours, days) = (&stock.hours, evening.forecast.horizon_hours / 24);
    let dates = Dates::of(hours, at, &zone).said(at, days, Form::Full);
    let heads = [
        ("safe until (9 in 10 last longer)", hours.p10),
        ("likely (half last longer)", hours.p50),
        ("late (1 in 10 lasts longer)", hours.p90),
    ];
    for ((head, hours), date) in heads.into_iter().zip(dates) {
        let date = if hours == Some(0.0) { "at its limit now" } else { &date };
        out.line(&format!("{head}: {date}"));
    }
    out.lines(sooner(&evening.forecast, stock, &zone));
}

/// What moves a stock by less than this share of its largest mover is summed in one line.
const LEAST_TOLD: f64 = 0.02;

fn movers(rig: &Rig, stock: &StockForecast, reasons: &Why, out: &mut Output) {
    out.line("What moves it in a day, over the next three days:");
    let largest = reasons.movers.iter().map(|mover| mover.amount.abs()).fold(1e-9, f64::max);
    let size = |per_day: f64| quantity::amount(per_day.abs(), largest, &stock.unit, rig.show);
    let sign = |per_day: f64| if per_day < 0.0 { '-' } else { '+' };
    let (told, small): (Vec<_>, Vec<_>) =
        reasons.movers.iter().partition(|mover| mover.amount.abs() >= LEAST_TOLD * largest);
    for mover in told {
        let what = words::moves(&mover.what);
        out.line(&format!("  {} {}  {what}", sign(mover.amount), size(mover.amount)));
    }
    let net: f64 = small.iter().map(|mover| mover.amount).sum();
    if size(net) != size(0.0) {
        let others = counted(small.len(), "smaller thing");
        out.line(&format!("  {} {}  {others}", sign(net), size(net)));
    }
    let net: f64 = reasons.movers.iter().map(|mover| mover.amount).sum();
    let way = if net < 0.0 { "falls" } else { "rises" };
    out.line(&format!("  all together: {way} by {} a day", size(net)));
}

/// The weather that this counts on, as far as it moves the stock.
fn weather(rig: &Rig, evening: &Evening, stock: &StockForecast, reasons: &Why, out: &mut Output) {
    let at = evening.forecast.at;
    let parts = rig.parts_on(rig.zone(at).date(at));
    let store = parts.electrics.as_ref().filter(|electrics| electrics.store == stock.name);
    let mut said = Vec::new();
    if parts.is_warmed_by(&stock.name) || store.is_some() {
        let degrees = quantity::temperature(reasons.outside_c, rig.show);
        said.push(format!("weather of {degrees} on average"));
    }
    if store.is_some_and(|electrics| !electrics.panels.is_empty()) {
        let sun = share::percent(reasons.clearness.clamp(0.0, 1.0));
        said.push(format!("{sun} of the clear sky's sun"));
    }
    if !said.is_empty() {
        out.line(&format!("  in {}", said.join(", with ")));
    }
}

fn taught(rig: &Rig, evening: &Evening, stock: &StockForecast, reasons: &Why, out: &mut Output) {
    out.line("What the journal taught, beside the rig file:");
    let learned = evening.learned.iter().filter(|l| l.stocks.contains(&stock.name));
    let lines = learned.map(|learned| learned_line(learned, rig.show));
    out.lines(lines.chain(words::days(&reasons.days)).map(|line| format!("  {line}")));
    for (one, other) in &reasons.inseparable {
        let (one, other) = (words::coefficient(one), words::coefficient(other));
        out.line(&format!(
            "  {one} and {other} were always used together: only what both take is known well"
        ));
    }
}

/// "fresh per shower 6.9 ±1.3 L (rig file 8), from 52 times and 145 readings".
fn learned_line(learned: &LearnedValue, show: UnitSystem) -> String {
    let reference = quantity::learned(learned.reference, &learned.unit, show);
    let value = quantity::learned(learned.learned, &learned.unit, show);
    let evidence = words::evidence(learned);
    format!("{}: {value} (rig file {reference}); {evidence}", words::lesson(&learned.what))
}

fn as_json(evening: &Evening, index: usize, reasons: &Why) -> Value {
    let stock = &evening.forecast.stocks[index];
    let learned = evening.learned.iter().filter(|l| l.stocks.contains(&stock.name));
    let learned = list(learned, |l| {
        let what = words::lesson(&l.what);
        object!(l; what = what, unit, reference, learned, occurrences ~ 3, readings)
    });
    object!(stock;
        schema = "waystock.why/1", at = evening.forecast.at, stock = stock.name, unit, level, limit ~ 3,
        per_day = list(&reasons.movers, |m| object!(m; what = words::moves(&m.what), amount ~ 3)),
        days = days(&reasons.days),
        doubts = list(&reasons.doubts, |d| object!(d; what = words::unknown(&d.what), share ~ 3)),
        learned = learned)
}

/// What was learned of days and of writing, each after what was assumed.
fn days(days: &DaysLearned) -> Value {
    let pair =
        |[assumed, learned]: [Estimate; 2]| object!(days; assumed = assumed, learned = learned);
    let [assumed, learned] = days.day_to_day.map(|value| value.rounded(3));
    let regular = days
        .regular
        .map(|[least, most]| object!(days; least = least.rounded(3), most = most.rounded(3)));
    object!(days; counted, out = pair(days.out), unwritten = pair(days.unwritten),
        day_to_day = object!(days; assumed = assumed, learned = learned),
        later_h = pair(days.later_h),
        variance_over_mean = regular)
}
