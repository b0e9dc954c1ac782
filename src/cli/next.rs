//! `waystock next`: the next forced stop in one line, for a prompt or a status bar.

use super::context::Context;
use super::failure::Failure;
use super::gaps;
use super::json;
use super::output::Output;
use super::plans;
use crate::domain::time::Zone;
use crate::domain::time::hours_between;
use crate::forecast::answer::{Evening, Forecast};
use crate::text::answer;
use crate::text::share;
use crate::text::when::{self, Form};

/// Prints the line, or as JSON what the forecast has but its list of stocks.
pub fn run(context: &mut Context, out: &mut Output) -> Result<u8, Failure> {
    let contents = context.load_for_answer(1)?;
    let evening = context.evening(&contents)?;
    if context.common.json {
        let mut value = json::forecast(&evening.forecast);
        value["notices"] = json::notices(&evening, contents.rig.show);
        plans::add_to(&mut value, &evening);
        if let Some(object) = value.as_object_mut() {
            object.insert("schema".into(), "waystock.next/1".into());
            object.remove("stocks");
        }
        out.raw(json::text(&value).as_bytes());
    } else {
        let zone = contents.rig.zone(evening.forecast.at);
        let planned = plans::in_one_line(&evening, &zone);
        out.line(&format!("{}{planned}{}", sentence(&evening.forecast, &zone), wrong(&evening)));
    }
    gaps::tell_unread(&contents.journal, out);
    gaps::tell_never_read(&contents, evening.forecast.at, out);
    Ok(0)
}

/// "; look at fresh: waystock why fresh", where something seems wrong with it.
fn wrong(evening: &Evening) -> String {
    let alarmed = evening.notices.iter().filter(|notice| notice.alarm().is_some());
    let names: Vec<&str> = alarmed.filter_map(|notice| notice.stock.as_deref()).collect();
    match names.first() {
        None => String::new(),
        Some(first) => format!("; look at {}: waystock why {first}", answer::listed(&names)),
    }
}

/// "fresh by Thu 22 Oct 13:30 (in 1 day 16 h), likely Thu 22 Oct 21:30".
pub fn sentence(forecast: &Forecast, zone: &Zone) -> String {
    let days = forecast.horizon_hours / 24;
    let Some(binding) = forecast.next.binding.map(|i| &forecast.stocks[i]) else {
        return format!("no stop is needed within {days} days");
    };
    if forecast.next.hours.p50.is_some_and(|hours| hours <= 0.0) {
        let out: Vec<&str> = forecast
            .stocks
            .iter()
            .filter(|s| s.hours.p50.is_some_and(|h| h <= 0.0))
            .map(|s| s.name.as_str())
            .collect();
        if out.is_empty() {
            // Several may be out, none of them more likely than not.
            return format!(
                "be at a stop {}; something may be out already; {} in {}",
                when::SHORTLY,
                answer::goes_first(binding),
                share::of_ten(binding.binding)
            );
        }
        return format!("out now: {}; go to a stop now", answer::listed(&out));
    }
    let (share, first) = (share::of_ten(binding.binding), answer::goes_first(binding));
    let likely = match forecast.next.likely {
        Some(at) => {
            let likely = zone.here(when::nearest_half_hour(at));
            when::still_ahead(likely, forecast.at, Form::Short)
        }
        None => format!("after {days} days"),
    };
    match forecast.next.by {
        Some(by) => {
            let safe = zone.here(when::half_hour_before(by));
            let left = hours_between(forecast.at, safe);
            if left <= 0.0 {
                return format!(
                    "be at a stop {}; likely {likely}; {first} in {share}",
                    when::SHORTLY
                );
            }
            format!(
                "be at a stop by {} ({}); likely {likely}; {first} in {share}",
                when::date_time(safe, Form::Short),
                when::in_hours(left),
            )
        }
        None => {
            format!("no stop is needed within {days} days (nine in ten safe); {first} in {share}",)
        }
    }
}
