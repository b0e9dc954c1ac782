//! `waystock forecast`: every stock, when it reaches its limit, how sure.

use super::{CommandResult, Output, Session, gaps, list, next, object, plans};
use crate::domain::{Rig, UnitSystem, Zone};
use crate::forecast::{Evening, Forecast, StockForecast};
use crate::plan::stops::saved;
use crate::text::when;
use crate::text::{Dates, Form, Spread, answer, listed, notice, plans as words, quantity, share};

/// Prints plain sentences, or the contract's JSON.
pub fn run(session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_for_answer(1)?;
    let evening = session.evening(&contents)?;
    gaps::tell_unread(&contents.journal, out);
    if session.common.json {
        let mut value = plans::evening_as_json(&contents.rig, &evening);
        let planned = saved::stops_ahead(&contents.rig, &evening.plans);
        if !planned.is_empty() {
            let drives = saved::drives(&contents.rig, &evening.plans, &evening.forecast);
            value["planned_stops"] = list(&planned, |stop| {
                let own = drives.iter().find(|drive| drive.stops.iter().any(|s| s.at == stop.at));
                let late = own.into_iter().flat_map(|drive| &drive.late_for);
                let late: Vec<&String> = late.filter(|name| stop.stocks.contains(name)).collect();
                object!(stop; at, place, stocks, late_for = late)
            });
        }
        out.json(&value);
        return Ok(0);
    }
    print(&contents.rig, &evening, out);
    gaps::tell_never_read(&contents, evening.forecast.at, out);
    Ok(0)
}

fn print(rig: &Rig, evening: &Evening, out: &mut Output) {
    let forecast = &evening.forecast;
    let zone = rig.zone(forecast.at);
    let at = when::date_time(zone.here(forecast.at), Form::Full);
    out.wrapped("", &format!("{at}, {}", answer::where_it_stands(evening)));
    out.wrapped("", &next::sentence(forecast, &zone, rig.show));
    out.line("");
    out.wrapped(
        "",
        "Safe: nine in ten last longer. Likely: half do. Late: one in ten lasts longer.",
    );
    for index in forecast.by_urgency() {
        let stock = &forecast.stocks[index];
        let level = quantity::level(stock, rig.show, Spread::Shown);
        out.line("");
        out.wrapped("", &format!("{}: {level}{}", stock.name, first_in(stock)));
        out.wrapped("  ", &dates(stock, forecast, (&zone, rig.show)));
    }
    out.line("");
    let also = listed(answer::also_due(forecast).iter().map(|i| &forecast.stocks[*i].name));
    if !also.is_empty() {
        out.wrapped("", &format!("At that stop also: {also}"));
    }
    out.all_wrapped("", answer::together(forecast));
    out.all_wrapped("", evening.worth_a_look().map(answer::look_in_words));
    let known = evening.notices.iter().map(|known| notice::said(known, rig.show));
    let odd = evening.odd_season.as_ref();
    let odd = odd.map(|odd| quantity::odd_season(odd, rig.home.latitude, rig.show));
    out.all_wrapped("", known.chain(odd).map(|text| format!("Note: {text}")));
    out.all_wrapped("", answer::where_to(rig, evening));
    tell_plans(rig, evening, &zone, out);
    out.line("An estimate: leave earlier when weather, roads or people say so.");
}

/// What waits for an answer, and the stops that are saved.
fn tell_plans(rig: &Rig, evening: &Evening, zone: &Zone, out: &mut Output) {
    let open = evening.plans.iter().filter(|plan| plan.is_open);
    let question =
        |plan| format!("{} Say so: waystock plans", words::question(plan, zone, rig.show));
    out.all_wrapped("", open.map(question));
    out.all_wrapped("", words::hangs_on(evening, zone).map(|text| format!("{text}.")));
    for drive in saved::drives(rig, &evening.plans, &evening.forecast) {
        let said = words::saved_stop(&drive, &evening.forecast, zone);
        out.wrapped("", &format!("{said}."));
    }
}

/// ", first in 7 of 10 futures"
fn first_in(stock: &StockForecast) -> String {
    match stock.binding {
        0.0 => String::new(),
        binding => format!(", first in {}", share::futures(binding)),
    }
}

/// "safe until Sat 14 Mar 11:30; likely Sat 14 Mar 20:00; late Sun 15 Mar 09:30"
fn dates(stock: &StockForecast, forecast: &Forecast, (zone, show): (&Zone, UnitSystem)) -> String {
    let dates = own_dates(stock, forecast, (zone, show));
    match answer::stands_in(stock) {
        Some(other) => format!("{dates}; no stop for it, {other}"),
        None => dates,
    }
}

fn own_dates(
    stock: &StockForecast,
    forecast: &Forecast,
    (zone, show): (&Zone, UnitSystem),
) -> String {
    let days = forecast.horizon_hours / 24;
    if stock.hours.is_reached() {
        return format!("{} now", answer::met_in_full(stock, show));
    }
    if stock.hours.p10.is_none() {
        return format!("safe for {days} days and longer");
    }
    let dates = Dates::of(&stock.hours, forecast.at, zone);
    let safe = match dates.safe.filter(|safe| *safe > forecast.at) {
        Some(safe) => format!("safe until {}", when::date_time(safe, Form::Short)),
        None => answer::may_be_met(stock),
    };
    let [_, likely, late] = dates.said(forecast.at, days, Form::Short);
    format!("{safe}; likely {likely}; late {late}")
}
