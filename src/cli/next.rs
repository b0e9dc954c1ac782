//! `waystock next`: the next forced stop in one line, for a prompt or a status bar.

use super::args::NextOptions;
use super::{CommandResult, Failure, Output, Rounded, Session, gaps, json, plans, vocabulary};
use crate::domain::{UnitSystem, Zone, hours_between};
use crate::forecast::{Evening, Forecast, StockForecast};
use crate::logline::{self, Vocabulary};
use crate::text::{Dates, Form, answer, led, listed, share, when};
use serde_json::json;

/// Prints the line, or as JSON what the forecast has, but of each stock no more than its chance. With `--within` the
/// exit code says whether a stop is needed by then.
pub fn run(options: &NextOptions, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_for_answer(1)?;
    let evening = session.evening(&contents)?;
    let (forecast, zone) = (&evening.forecast, contents.rig.zone(evening.forecast.at));
    let hours = |text| hours_within(text, &vocabulary(&contents, forecast.at), forecast);
    let within = options.within.as_deref().map(hours).transpose()?;
    let needed = within.map(|within| forecast.next.hours.p10.is_some_and(|safe| safe <= within));
    if session.common.json {
        let short = short(forecast, &zone);
        let mut value = plans::evening_as_json(&contents.rig, &evening);
        value["schema"] = json!("waystock.next/1");
        value["stocks"] = json::chances(forecast);
        value["short"] = json!(short);
        value["within_hours"] = within.rounded(3);
        value["within"] = json!(needed);
        out.json(&value);
    } else if options.short {
        out.line(&short(forecast, &zone));
    } else {
        let planned = plans::in_one_line(&evening, &zone, &contents.rig);
        let where_to = answer::where_to(&contents.rig, &evening).unwrap_or_default();
        // It goes on in the same sentence.
        let where_to = where_to.replacen("Closed", "closed", 1).replacen("You", "you", 1);
        let where_to = led("; ", &where_to);
        let first = sentence(forecast, &zone, contents.rig.show);
        out.line(&format!("{first}{where_to}{planned}{}", wrong(&evening)));
    }
    if !options.short {
        gaps::tell_unread(&contents.journal, out);
        gaps::tell_never_read(&contents, evening.forecast.at, out);
    }
    Ok(u8::from(needed == Some(false)))
}

/// The hours that `24h`, `2 days` or `90 min` mean, as the log line knows them.
fn hours_within(text: &str, known: &Vocabulary, forecast: &Forecast) -> Result<f64, Failure> {
    let ahead = logline::span(&format!("in {text}"), known, forecast.at);
    let hours = ahead.map(|(at, _)| hours_between(forecast.at, at));
    let most = forecast.horizon_hours as f64;
    hours.filter(|hours| (0.0..=most).contains(hours)).ok_or_else(|| {
        let days = forecast.horizon_hours / 24;
        let expected = format!("a time up to {days} days such as 24h or \"2 days\"");
        Failure::found("--within: ", text, &expected)
    })
}

/// Days within which a weekday can mean only one day.
const WEEK_H: f64 = 144.0;

/// "fresh by Thu 13:30", "grey full", "nothing for 30 days": at most some 28 columns and the name.
fn short(forecast: &Forecast, zone: &Zone) -> String {
    if let Some(stock) = forecast.stocks.iter().find(|stock| stock.hours.is_reached()) {
        return format!("{} {}", stock.name, answer::met(stock));
    }
    let binding = forecast.next.binding.map(|index| &forecast.stocks[index]);
    let (Some(stock), Some(by)) = (binding, forecast.next.by) else {
        return format!("nothing for {} days", forecast.horizon_hours / 24);
    };
    let safe = when::half_hour_before(zone.here(by));
    match hours_between(forecast.at, safe) {
        left if left <= 0.0 => format!("{} now", stock.name),
        left if left < WEEK_H => format!("{} by {}", stock.name, when::date_time(safe, Form::Tiny)),
        _ => format!("{} by {}", stock.name, when::day(safe)),
    }
}

/// "; look at fresh: waystock why fresh", where something seems wrong with it.
fn wrong(evening: &Evening) -> String {
    let alarmed = evening.notices.iter().filter(|notice| notice.alarm().is_some());
    let names: Vec<&str> = alarmed.filter_map(|notice| notice.stock.as_deref()).collect();
    match names.first() {
        None => String::new(),
        Some(first) => format!("; look at {}: waystock why {first}", listed(&names)),
    }
}

/// "fresh by Thu 22 Oct 13:30 (in 1 day 16 h), likely Thu 22 Oct 21:30".
pub fn sentence(forecast: &Forecast, zone: &Zone, system: UnitSystem) -> String {
    let days = forecast.horizon_hours / 24;
    let Some(binding) = forecast.next.binding.map(|i| &forecast.stocks[i]) else {
        return format!("no stop is needed within {days} days");
    };
    if forecast.next.hours.is_reached() {
        let out = forecast.stocks.iter().filter(|stock| stock.hours.is_reached());
        let met = |s: &StockForecast| format!("{} {}", s.name, answer::met_in_full(s, system));
        let out = listed(out.map(met));
        if out.is_empty() {
            // Several may be out, none of them more likely than not.
            return format!(
                "be at a stop {}; something may be out already; {} in {}",
                when::SHORTLY,
                answer::goes_first(binding),
                share::of_ten(binding.binding)
            );
        }
        return format!("now: {out}; go to a stop now");
    }
    let (share, first) = (share::of_ten(binding.binding), answer::goes_first(binding));
    let dates = Dates::of(&forecast.next.hours, forecast.at, zone);
    let [_, likely, _] = dates.said(forecast.at, days, Form::Short);
    let Some(by) = forecast.next.by else {
        return format!(
            "no stop is needed within {days} days (nine in ten safe); {first} in {share}"
        );
    };
    let safe = zone.here(when::half_hour_before(by));
    let left = hours_between(forecast.at, safe);
    let by = match left <= 0.0 {
        true if answer::none_is_near(forecast) => {
            format!("{}: one of them may be out (1 in 10)", answer::READ_ALL.to_lowercase())
        }
        true => "go to a stop now".to_string(),
        false => {
            let (at, left) = (when::date_time(safe, Form::Short), when::in_hours(left));
            format!("be at a stop by {at} ({left})")
        }
    };
    format!("{by}; even chance {likely}; {first} in {share}")
}
