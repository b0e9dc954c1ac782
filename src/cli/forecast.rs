//! `waystock forecast`: every stock, when it reaches its limit, how sure.

use super::context::Context;
use super::failure::Failure;
use super::output::Output;
use super::{json, next};
use crate::domain::rig::Rig;
use crate::domain::time::{Zone, after_hours};
use crate::forecast::answer::{Evening, StockForecast};
use crate::text::when::{self, Form};
use crate::text::{answer, quantity, share};

/// Prints a plain table, or the contract's JSON.
pub fn run(context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load()?;
    let evening = context.evening(&contents);
    if context.common.json {
        out.raw(json::text(&json::forecast(&evening.forecast)).as_bytes());
        return Ok(0);
    }
    print(&contents.rig, &evening, out);
    for finding in &contents.journal.findings {
        out.say(&crate::store::data_folder::describe(finding));
    }
    Ok(0)
}

fn print(rig: &Rig, evening: &Evening, out: &mut Output) {
    let forecast = &evening.forecast;
    let zone = rig.zone(forecast.at);
    out.line(&format!(
        "{}, {}, {} aboard, night {} here",
        when::date_time(zone.here(forecast.at), Form::Full),
        evening.place,
        people(evening.aboard),
        evening.nights_here,
    ));
    out.line(&next::sentence(forecast, &zone));
    out.line("");
    let name_width = forecast.stocks.iter().map(|s| s.name.chars().count()).max().unwrap_or(5);
    let heads = ["level", "safe until (P10)", "likely (P50)", "at the latest (P90)", "first in"];
    out.line(&row(name_width, "stock", heads.map(str::to_string)));
    for index in forecast.by_urgency() {
        let stock = &forecast.stocks[index];
        let at = |hours: Option<f64>| date(forecast.at, hours, &zone, forecast.horizon_hours);
        let safe = match stock.hours.p10 {
            Some(hours) if hours <= 0.0 => "out now".to_string(),
            Some(hours) => after_hours(forecast.at, hours).map_or_else(String::new, |at| {
                when::date_time(zone.here(when::half_hour_before(at)), Form::Short)
            }),
            None => at(None),
        };
        let cells = [
            quantity::level(stock, rig.show, true),
            safe,
            at(stock.hours.p50),
            at(stock.hours.p90),
            first_in(stock),
        ];
        out.line(&row(name_width, &stock.name, cells));
    }
    let also: Vec<&str> =
        answer::also_due(forecast).iter().map(|i| forecast.stocks[*i].name.as_str()).collect();
    if !also.is_empty() {
        out.line("");
        out.line(&format!("At that stop also: {}", answer::listed(&also)));
    }
    if let Some(look) = &evening.worth_a_look {
        out.line(&format!("Worth a look tonight: {}", answer::look_in_words(look)));
    }
    for notice in &evening.notices {
        out.line(&format!("Note: {}", notice.text));
    }
    out.line("");
    out.line("An estimate: leave earlier when weather, roads or people say so.");
}

fn first_in(stock: &StockForecast) -> String {
    if stock.binding == 0.0 { "-".to_string() } else { share::of_ten(stock.binding) }
}

fn date(
    from: crate::domain::time::Moment,
    hours: Option<f64>,
    zone: &Zone,
    horizon: usize,
) -> String {
    match hours.and_then(|h| after_hours(from, h)) {
        Some(at) if hours > Some(0.0) => {
            when::date_time(zone.here(when::nearest_half_hour(at)), Form::Short)
        }
        Some(_) => "out now".to_string(),
        None => format!("after {} days", horizon / 24),
    }
}

/// Whole people as whole numbers.
pub fn people(aboard: f64) -> String {
    crate::domain::quantity::Amount::from_f64(aboard).unwrap_or_default().to_string()
}

fn row(name_width: usize, name: &str, cells: [String; 5]) -> String {
    let [level, safe, likely, late, first] = cells;
    format!("{name:name_width$}  {level:<30}  {safe:<17}  {likely:<17}  {late:<19}  {first}")
        .trim_end()
        .to_string()
}
