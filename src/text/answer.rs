//! The answer to "what forces the next stop, by when, how sure?" in two sentences, in the
//! longest wording that fits.

use super::stops::closed_now;
use super::when::{SHORTLY, in_hours};
use super::{
    Dates, Form, date_time, futures, half_hour_before, listed, longest_fitting, of_ten, people,
    quantity,
};
use crate::domain::{Direction, Moment, Rig, UnitSystem, Zone, hours_between};
use crate::forecast::answer::{ReadingTime, ReadingValue};
use crate::forecast::{Evening, Forecast, StockForecast};
use crate::plan::stops::places::{opens_next, seen_to_at};

/// How pressing a stock is. Each has a word and a sign, so that colour is never needed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Urgency {
    /// The limit is met already in most lives.
    Out,
    /// One life in ten or more meets it within a day.
    Soon,
    /// Neither.
    Fine,
}

impl Urgency {
    /// Of one stock; one that another stands in for presses nobody.
    pub fn of(stock: &StockForecast) -> Urgency {
        if stock.stood_in_by.is_some() {
            return Urgency::Fine;
        }
        match stock.hours.p10 {
            _ if stock.hours.is_reached() => Urgency::Out,
            Some(early) if early <= 24.0 => Urgency::Soon,
            _ => Urgency::Fine,
        }
    }

    /// Sign and word, five columns at most.
    pub fn word(self) -> &'static str {
        match self {
            Urgency::Out => "!!now",
            Urgency::Soon => "!soon",
            Urgency::Fine => "ok",
        }
    }
}

/// What a stock has come to that has met its limit, in a word or two.
pub fn met(stock: &StockForecast) -> &'static str {
    match stock.runs {
        Direction::Up => "full",
        Direction::Down if stock.limit > 0.0 => "at its reserve",
        Direction::Down => "out",
    }
}

/// The same, with what is kept: "down to its reserve of 3 person-days".
pub fn met_in_full(stock: &StockForecast, system: UnitSystem) -> String {
    match stock.runs {
        Direction::Down if stock.limit > 0.0 => {
            let kept = quantity::kept(stock.limit, stock.capacity, &stock.unit, system);
            format!("down to its reserve of {kept}")
        }
        _ => met(stock).to_string(),
    }
}

/// What may happen to it within the half hour, in one life of ten: "may be full within the half hour".
pub fn may_be_met(stock: &StockForecast) -> String {
    format!("may be {} {SHORTLY}", met(stock))
}

/// The two sentences.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TwoSentences {
    /// How pressing the whole is.
    pub urgency: Urgency,
    /// By when to be at a stop, or that nothing forces one.
    pub first: String,
    /// What is likely, and which stock.
    pub second: String,
}

/// The answer for people whose clocks show `zone`, each sentence at most `columns` wide.
/// The safe time is rounded down to the half hour, the likely one to the nearest.
pub fn answer(
    forecast: &Forecast,
    (zone, system): (&Zone, UnitSystem),
    now: Moment,
    columns: usize,
) -> TwoSentences {
    let out: Vec<&StockForecast> =
        forecast.stocks.iter().filter(|s| Urgency::of(s) == Urgency::Out).collect();
    let (urgency, first, second) = if forecast.stocks.is_empty() {
        let first = vec!["This rig has no stocks yet".to_string()];
        (Urgency::Fine, first, vec!["Add some to the rig file, then come back".to_string()])
    } else if !out.is_empty() {
        (Urgency::Out, already_out(&out, system), what_follows(forecast, zone, now))
    } else if let Some(by) = forecast.next.by {
        let hours = hours_between(now, by);
        let urgency = if hours <= 24.0 { Urgency::Soon } else { Urgency::Fine };
        (urgency, be_there_by(forecast, zone.here(by), now), likely(forecast, zone))
    } else {
        (Urgency::Fine, nothing_binds(forecast), nearly_binds(forecast))
    };
    let fit = |wordings: Vec<String>| longest_fitting(&wordings, columns);
    TwoSentences { urgency, first: fit(first), second: fit(second) }
}

/// "Quillet Harbour, 2 aboard, night 3 here".
pub fn where_it_stands(evening: &Evening) -> String {
    let nights = match evening.nights_here {
        0 => String::new(),
        nights => format!(", night {nights} here"),
    };
    format!("{}, {} aboard{nights}", evening.place, people(evening.aboard))
}

/// Indices of other stocks that are not out yet and would be within two days of the likely
/// stop: worth servicing at the same stop.
pub fn also_due(forecast: &Forecast) -> Vec<usize> {
    let (Some(binding), Some(likely)) = (forecast.next.binding, forecast.next.hours.p50) else {
        return Vec::new();
    };
    let due = |i: &usize| forecast.stocks[*i].hours.p50.is_some_and(|h| h <= likely + 48.0);
    let left = |i: &usize| *i != binding && Urgency::of(&forecast.stocks[*i]) != Urgency::Out;
    forecast.by_urgency().into_iter().filter(left).filter(due).collect()
}

/// From so many hours on it is told that the date of all stocks together is earlier than that of each;
/// 1 to 6, less is hardly seen beside the rows. Common practice, no source.
const EARLIER_H: f64 = 1.0;

/// Why the safe date of the next stop is earlier than that of every stock, where it is.
pub fn together(forecast: &Forecast) -> Option<&'static str> {
    let first = forecast.stocks.iter().filter_map(|stock| stock.hours.p10).reduce(f64::min)?;
    let all = forecast.next.hours.p10.filter(|hours| *hours > 0.0)?;
    (all + EARLIER_H <= first)
        .then_some("The date is earlier than each row: any of several may be first")
}

/// Why the next stop is due before the stock that one drives for is out, where its date says so: "The
/// next stop is due by Fri 23 Oct 01:00: any of several may be first".
pub fn sooner(forecast: &Forecast, stock: &StockForecast, zone: &Zone) -> Option<String> {
    let is_foremost = forecast.foremost().is_some_and(|first| first.name == stock.name);
    let safe = |hours| Dates::of(hours, forecast.at, zone).safe;
    let due = safe(&forecast.next.hours).filter(|due| is_foremost && *due > forecast.at)?;
    let short = date_time(due, Form::Short);
    (due < safe(&stock.hours)?)
        .then(|| format!("The next stop is due by {short}: any of several may be first"))
}

/// Where what is due first can be seen to: "You stand at Quillet Harbour, which sees to fresh and grey";
/// else when the first place opens that helps, where a stop is due before one does: "Closed now: Quillet
/// Harbour opens Fri 23 Oct 08:00".
pub fn where_to(rig: &Rig, evening: &Evening) -> Option<String> {
    let (forecast, place) = (&evening.forecast, &evening.place);
    let mut due = due_first(forecast);
    due.extend(also_due(forecast).into_iter().map(|index| forecast.stocks[index].name.as_str()));
    due.sort_unstable();
    due.dedup();
    let here = listed(seen_to_at(rig, place, &due, forecast.at));
    let here = (!here.is_empty()).then(|| format!("You stand at {place}, which sees to {here}"));
    here.or_else(|| closed(rig, forecast))
}

/// What is out, else what is out first.
fn due_first(forecast: &Forecast) -> Vec<&str> {
    let out = forecast.stocks.iter().filter(|stock| Urgency::of(stock) == Urgency::Out);
    let out: Vec<&str> = out.map(|stock| stock.name.as_str()).collect();
    match out.is_empty() {
        true => forecast.foremost().map(|stock| stock.name.as_str()).into_iter().collect(),
        false => out,
    }
}

/// As [`where_to`] says it.
fn closed(rig: &Rig, forecast: &Forecast) -> Option<String> {
    let names = due_first(forecast);
    let (_, opens) = opens_next(rig, &names, forecast.at)?;
    let due = forecast.next.by.is_some_and(|by| by <= opens);
    closed_now(rig, &names, forecast.at).filter(|_| due)
}

/// "Read the grey gauge tonight: half the doubt about the next stop's date", "Read the battery at
/// breakfast: ...".
pub fn look_in_words(look: &ReadingValue) -> String {
    let what = match (look.when, look.gauge) {
        (ReadingTime::Tonight, true) => format!("Read the {} gauge tonight", look.stock),
        (ReadingTime::Tonight, false) => format!("Check the {} tonight", look.stock),
        (ReadingTime::AtBreakfast, _) => format!("Read the {} at breakfast", look.stock),
    };
    let better = match (look.narrows * 20.0).round() as u32 {
        0..=4 => "a fifth less doubt",
        5 => "a quarter less doubt",
        6..=7 => "a third less doubt",
        8..=11 => "half the doubt",
        12..=14 => "two thirds less doubt",
        _ => "hardly any doubt",
    };
    format!("{what}: {better} about the next date")
}

/// "grey fills first", "battery runs out first".
pub fn goes_first(stock: &StockForecast) -> String {
    match stock.runs {
        Direction::Down => format!("{} runs out first", stock.name),
        Direction::Up => format!("{} fills first", stock.name),
    }
}

/// "gas heats then": what warms the van once that stock is at its limit, which forces no stop.
pub fn stands_in(stock: &StockForecast) -> Option<String> {
    stock.stood_in_by.as_ref().map(|other| format!("{other} heats then"))
}

/// What helps where a stop may be due at once, and no stock by itself says so.
pub const READ_ALL: &str = "Read every level, or be at a stop now";

/// A stock that may be out sooner than this is near its limit by itself, in hours (common practice,
/// no source).
const NEAR_H: f64 = 6.0;

/// Whether no stock by itself may be out soon. Where the next stop may be due all the same, each of
/// several unread ones has its small chance.
pub fn none_is_near(forecast: &Forecast) -> bool {
    forecast.stocks.iter().all(|stock| stock.hours.p10.is_none_or(|hours| hours >= NEAR_H))
}

fn be_there_by(forecast: &Forecast, by: Moment, now: Moment) -> Vec<String> {
    let safe = half_hour_before(by);
    if safe <= now && none_is_near(forecast) {
        return vec![
            format!("{READ_ALL}: one of them may be out (1 in 10)"),
            "Read all levels: one may be out, 1 in 10".to_string(),
            "Read all levels".to_string(),
        ];
    }
    if safe <= now {
        return vec![
            "Go to a stop now: something may run out within the half hour (1 in 10)".to_string(),
            "Go to a stop now".to_string(),
        ];
    }
    let left = in_hours(hours_between(now, safe));
    let (full, short) = (date_time(safe, Form::Full), date_time(safe, Form::Short));
    vec![
        format!("Be at a stop by   {full}   (nine in ten safe, {left})"),
        format!("Be at a stop by   {full}   (nine in ten safe)"),
        format!("Be at a stop by {short} (nine in ten safe)"),
        format!("Stop by {short}, 9 in 10 safe"),
        format!("Stop by {}", date_time(safe, Form::Tiny)),
    ]
}

/// When a stop is as likely as not to be needed, by all stocks together, and which stock is most
/// often the first.
fn likely(forecast: &Forecast, zone: &Zone) -> Vec<String> {
    let Some(stock) = forecast.next.binding.and_then(|i| forecast.stocks.get(i)) else {
        return vec!["nothing runs out".to_string()];
    };
    let (name, first) = (&stock.name, goes_first(stock));
    let (often, tenths) = (futures(stock.binding), of_ten(stock.binding));
    let Some(likely) = Dates::of(&forecast.next.hours, forecast.at, zone).likely else {
        let days = forecast.horizon_hours / 24;
        return vec![
            format!("even chance       later than {days} days from now; {first} in {often}"),
            format!("even chance after {days} days; {name} {tenths}"),
        ];
    };
    if likely <= forecast.at {
        return vec![
            format!("something may be out already; {first} in {often}"),
            format!("may be out already: {name}"),
        ];
    }
    let [full, short, tiny] =
        [Form::Full, Form::Short, Form::Tiny].map(|form| date_time(likely, form));
    vec![
        format!("even chance by    {full}   {first} in {often}"),
        format!("even chance by    {full}   {first} ({tenths})"),
        format!("even chance by {short}, {first} ({tenths})"),
        format!("50:50 by {short}, {name} {tenths}"),
        // A day of the month says more than how often.
        format!("50:50 by {short}, {name}"),
        format!("50:50 by {tiny}, {name} {tenths}"),
        format!("50:50 by {tiny}, {name}"),
    ]
}

fn already_out(out: &[&StockForecast], system: UnitSystem) -> Vec<String> {
    let in_full = |stock: &&StockForecast| format!("{} {}", stock.name, met_in_full(stock, system));
    let full = listed(out.iter().map(in_full));
    let short = listed(out.iter().map(|stock| format!("{} {}", stock.name, met(stock))));
    let few = match out {
        [first, _, ..] => format!("{} {}, {} more", first.name, met(first), out.len() - 1),
        _ => short.clone(),
    };
    vec![
        format!("Now: {full}. Go to a stop now"),
        format!("Now: {short}. Go to a stop now"),
        format!("Now: {short}"),
        format!("Now: {few}"),
    ]
}

/// The first stock that is not out yet.
fn what_follows(forecast: &Forecast, zone: &Zone, now: Moment) -> Vec<String> {
    let mut order = forecast.by_urgency().into_iter().map(|i| &forecast.stocks[i]);
    let Some(next) = order.find(|s| Urgency::of(s) != Urgency::Out) else {
        return vec!["Every stock is at its limit".to_string()];
    };
    let Some(safe) = Dates::of(&next.hours, forecast.at, zone).safe else {
        let days = forecast.horizon_hours / 24;
        return vec![
            format!("everything else lasts {days} days (nine in ten safe)"),
            format!("the rest lasts {days} days"),
        ];
    };
    let name = &next.name;
    if safe <= now {
        return vec![format!("then {name}, perhaps within the half hour"), format!("then {name}")];
    }
    vec![
        format!("then by           {}   {name} (nine in ten safe)", date_time(safe, Form::Full)),
        format!("then {name} by {}, 9 in 10 safe", date_time(safe, Form::Short)),
        format!("then {name} by {}", date_time(safe, Form::Tiny)),
    ]
}

fn nothing_binds(forecast: &Forecast) -> Vec<String> {
    let days = forecast.horizon_hours / 24;
    vec![
        format!("Nothing forces a stop within {days} days (nine in ten safe)"),
        format!("No stop forced within {days} days"),
        format!("No stop for {days} days"),
    ]
}

fn nearly_binds(forecast: &Forecast) -> Vec<String> {
    let first = forecast.stocks.iter().filter(|s| s.binding > 0.0);
    match first.max_by(|a, b| a.binding.total_cmp(&b.binding)) {
        Some(stock) => vec![
            format!("if anything does, {} (in {})", goes_first(stock), futures(stock.binding)),
            format!("if anything, {}: {}", stock.name, of_ten(stock.binding)),
        ],
        None => vec!["nothing ran out or filled up in any future that was tried".to_string()],
    }
}
