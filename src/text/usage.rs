//! Where it goes, in plain sentences.

use super::{Form, commas, counted, quantity, reasons, share, stops, when};
use crate::domain::{Direction, Unit, UnitSystem, Zone};
use crate::usage::{Account, BatteryDay, Forced, StockUse, Totals, UseBand};
use chrono::NaiveDate;

/// What is said where nothing has happened yet.
pub const NOTHING_YET: &str = "Nothing is written down yet. Log what happens; then ask again.";

/// How the sums came about.
pub const HOW: &str = "Worked out from what was written down, a little for what crews forget to \
                       write, and the rates learned so far: an estimate, not a meter. It looks back; dates look \
                       ahead, so that their amounts a day may differ. A reading that \
                       corrects a level takes nothing back here.";

/// An amount of a stock over some time: "92 L", "9.1 kWh".
pub fn amount(value: f64, unit: &Unit, system: UnitSystem) -> String {
    // By its own size: a week may use many times what a tank holds.
    quantity::amount(value, value.abs(), unit, system)
}

/// What became of it: "used", or of a stock that fills up "came in".
pub fn verb(runs: Direction) -> &'static str {
    if runs == Direction::Down { "used" } else { "came in" }
}

/// "The last 7 days: 92 L used (13 L a day); the 7 before: 71 L; usually 80 L a week". `None` in the
/// journal's first week.
pub fn weeks(own: &StockUse, system: UnitSystem) -> Option<String> {
    let (runs, unit) = (own.stock.runs, &own.stock.unit);
    let said = |value: f64| amount(value, unit, system);
    let (this, before) = own.weeks.split_last()?;
    let this = this.amount(runs);
    let mut text = format!(
        "the last 7 days: {} {} ({} a day)",
        said(this),
        verb(runs),
        quantity::amount(this / 7.0, this / 7.0, unit, system)
    );
    if let Some(last) = before.last() {
        text += &format!("; the 7 before: {}", said(last.amount(runs)));
    }
    if let Some(usual) = own.usual_week() {
        text += &format!("; usually {} a week", said(usual));
    }
    Some(text)
}

/// "showers 41 %, drinking 30 %, dishes 29 %", the largest first; those below one part in a hundred
/// are left out. Empty where nothing moved it that way.
pub fn shares(account: &Account, towards: Direction) -> String {
    let parts = account.parts(towards);
    let told = parts.iter().filter(|part| part.share >= 0.01);
    commas(told.map(|part| format!("{} {}", reasons::moves(part.what), share::percent(part.share))))
}

/// "By cause since Tue 13 Oct: showers 41 %, dishes 29 %": what was used since the last service, or all
/// of it; what is to come is another matter. `None` where nothing was.
pub fn by_cause(own: &StockUse, zone: &Zone) -> Option<String> {
    let shares = shares(own.lately(), own.stock.runs);
    let since = when::day(zone.here(own.lately().from));
    (!shares.is_empty()).then(|| format!("By cause since {since}: {shares}"))
}

/// "since Mon 12 Oct (9 days): 203 L used".
pub fn since(own: &StockUse, zone: &Zone, system: UnitSystem) -> String {
    let at = when::date_time(zone.here(own.whole.from), Form::Short);
    format!("since {at} {}", used(own, &own.whole, system))
}

/// "(9 days): 203 L used".
fn used(own: &StockUse, account: &Account, system: UnitSystem) -> String {
    let amount = amount(account.amount(own.stock.runs), &own.stock.unit, system);
    let days = counted(account.days().round() as usize, "day");
    format!("({days}): {amount} {}", verb(own.stock.runs))
}

/// "since it was filled on Tue 13 Oct 18:00 (7 days): 86 L used". `None` where the journal tells of
/// no service.
pub fn since_service(own: &StockUse, zone: &Zone, system: UnitSystem) -> Option<String> {
    let since = own.since_service.as_ref()?;
    let done = if own.stock.runs == Direction::Down { "filled" } else { "emptied" };
    let at = when::date_time(zone.here(since.account.from), Form::Short);
    Some(format!("since it was last {done}, {at} {}", used(own, &since.account, system)))
}

/// "12 L more has gone than that". `None` where the level agrees to within a twentieth of what the
/// stock holds.
pub fn unexplained(own: &StockUse, system: UnitSystem) -> Option<String> {
    let by = own.since_service.as_ref()?.unexplained?;
    if by.abs() < 0.05 * own.stock.capacity {
        return None;
    }
    let size = amount(by.abs(), &own.stock.unit, system);
    let is_down = own.stock.runs == Direction::Down;
    let more = if is_down == (by < 0.0) { "more" } else { "less" };
    let went = if is_down { "has gone" } else { "came in" };
    Some(format!("by its readings, {size} {more} {went} than that"))
}

/// Cells of a week: when it ended, what was used, what was foretold of it when it began.
pub fn week(
    own: &StockUse,
    week: &Account,
    band: Option<&UseBand>,
    zone: &Zone,
    system: UnitSystem,
) -> [String; 3] {
    let used = week.amount(own.stock.runs);
    let foretold = band.map_or(String::new(), |band| {
        let said = |value: f64| amount(value.max(0.0), &own.stock.unit, system);
        format!("foretold {} to {}", said(band.p10), said(band.p90))
    });
    [
        format!("to {}", when::day(zone.here(week.to))),
        amount(used, &own.stock.unit, system),
        foretold,
    ]
}

/// "October 2026".
pub fn month(account: &Account, zone: &Zone) -> String {
    zone.here(account.from).format("%B %Y").to_string()
}

/// A day of the battery: "yesterday: sun 1.9 kWh, 2.1 kWh used; lowest 34 % at 07:00, highest 81 %
/// at 15:00".
pub fn battery_day(day: &BatteryDay, today: NaiveDate, capacity_wh: f64) -> String {
    let name = match (day.date - today).num_days() {
        -1 => "yesterday".to_string(),
        0 => "today".to_string(),
        1 => "tomorrow".to_string(),
        _ => day.date.to_string(),
    };
    let wh = |value: f64| quantity::amount(value, value.abs(), &Unit::WattHour, UnitSystem::Metric);
    let mut brought = vec![format!("sun {}", wh(day.sum(|hour| hour.sun_wh)))];
    let charged = day.sum(|hour| hour.charged_wh);
    if charged > 0.5 {
        brought.push(format!("other charge {}", wh(charged)));
    }
    brought.push(format!("{} used", wh(day.sum(|hour| hour.used_wh))));
    let mut text = format!("{name}: {}", brought.join(", "));
    if let Some((low, high)) = day.extremes() {
        let at = |hour: u32| format!("{:02}:00", hour + 1);
        let level = |wh: f64| share::percent(wh / capacity_wh);
        text += &format!(
            "; lowest {} at {}, highest {} at {}",
            level(low.level_wh),
            at(low.hour),
            level(high.level_wh),
            at(high.hour)
        );
    }
    text
}

/// What the trip came to: "38 nights, 7 stops, 612 km, 84 spent".
pub fn totals(totals: &Totals, system: UnitSystem) -> String {
    let mut said = vec![counted(totals.nights, "night"), counted(totals.visits.len(), "stop")];
    if totals.km > 0.0 {
        said.push(stops::distance(totals.km, system));
    }
    if totals.drive_hours > 0.0 {
        said.push(format!("{:.1} h of driving written in hours", totals.drive_hours));
    }
    if let Some(money) = totals.money() {
        said.push(format!("{} spent where places state prices", stops::money(money)));
    }
    let unpriced: usize = totals.visits.iter().map(|visit| visit.unpriced).sum();
    if unpriced > 0 {
        said.push(format!("{unpriced} without an amount are not in that sum"));
    }
    said.join(", ")
}

/// "Of the last 7 stops: 3 forced by fresh (43 %), 2 by grey (29 %), 2 in good time". `None` before
/// the first stop.
pub fn forced(forced: &Forced) -> Option<String> {
    if forced.looked_at == 0 {
        return None;
    }
    let stops = match forced.looked_at {
        1 => "Of the last stop".to_string(),
        count => format!("Of the last {count} stops"),
    };
    let part = |count: usize| share::percent(count as f64 / forced.looked_at as f64);
    let by = forced.by.iter();
    let by = by.map(|(name, count)| format!("{count} forced by {name} ({})", part(*count)));
    let in_time = forced.looked_at - forced.by.iter().map(|(_, count)| count).sum::<usize>();
    let in_time = (in_time > 0).then(|| format!("{in_time} in good time"));
    Some(format!("{stops}: {}", commas(by.chain(in_time))))
}
