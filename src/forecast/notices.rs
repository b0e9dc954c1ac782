//! What the crew should know tonight, as facts: `text::notice` puts them into words.

use super::answer::{Alarm, Estimate, Holds, Matter};
pub use super::practice::WORTH_SAYING;
use super::practice::{MOST_MISFITS, NOTICE_DAYS};
use super::{Forecast, Notice};
use crate::belief::Beliefs;
use crate::belief::past::Past;
use crate::belief::watch::{self, Unexplained};
use crate::domain::heating::{HeatSource, Lit};
use crate::domain::{Direction, Event, Moment, Plan, Standing, Stock, journal, plans};
use chrono::Duration;

/// Cold ahead: a van that may not stay warm, then stocks that may freeze.
pub fn of_cold(forecast: &Forecast) -> Vec<Notice> {
    let name = |index: usize| Some(forecast.stocks[index].name.clone());
    let cold = forecast.cold.filter(|cold| cold.share >= WORTH_SAYING);
    let cold = cold.map(|cold| Notice::new(name(cold.stock), Matter::StaysCold(cold)));
    let frosts = forecast.frosts.iter();
    cold.into_iter()
        .chain(frosts.map(|f| Notice::new(name(f.stock), Matter::MayFreeze(*f))))
        .collect()
}

/// What is not known, and what seems wrong: stocks never read, alarms, readings that fit nothing
/// else, days of which nothing was written, entries that may be one thing logged twice.
pub(super) fn of_journal(past: &Past, standing: &[Standing], beliefs: &Beliefs) -> Vec<Notice> {
    let since = past.now - Duration::days(NOTICE_DAYS);
    let mut notices: Vec<Notice> = never_read(beliefs).into_iter().collect();
    let wrong = watch::alarms(past, beliefs);
    notices.extend(wrong.iter().map(|change| of_change(beliefs, change)));
    // A single reading that does not fit is told only where no alarm says more; an alarm about a
    // leak says nothing of a tank that somebody filled.
    let alone = |stock: usize| wrong.iter().all(|change| change.stock != stock);
    let misfits = beliefs.outliers.iter().rev().filter(|o| o.at >= since);
    let told = misfits.map(|o| (alone(o.stock), misfit(beliefs, o.stock, o.at, o.expected)));
    let told = told.filter(|(alone, notice)| *alone || is_served(&notice.matter));
    notices.extend(told.take(MOST_MISFITS).map(|(_, notice)| notice));
    let silent = beliefs.silent_days.iter().filter(|day| **day >= since.date_naive()).count();
    let recent = |(_, later): &&(usize, usize)| standing[*later].at >= since;
    let twins = journal::possible_twins(standing).iter().filter(recent).count();
    let counted = [(silent, Matter::SilentDays(silent)), (twins, Matter::PossibleTwins(twins))];
    let some = counted.into_iter().filter(|(count, _)| *count > 0);
    notices.extend(some.map(|(_, matter)| Notice::new(None, matter)));
    let open = plans::open(standing);
    for notice in &mut notices {
        let plan = open.iter().find(|plan| sees_to(plan, notice, beliefs));
        notice.open_plan = plan.map(|plan| plan.at);
    }
    notices
}

/// Whether a plan was to fill, empty or charge the stock of a notice.
fn sees_to(plan: &Plan, notice: &Notice, beliefs: &Beliefs) -> bool {
    let parts = &beliefs.mechanism.parts;
    let electrics = parts.electrics.as_ref();
    plan.entries.iter().any(|entry| match &entry.event {
        Event::Charge { .. } => electrics.is_some_and(|e| Some(&e.store) == notice.stock.as_ref()),
        event => parts.serviced(event).is_some_and(|stock| Some(stock) == notice.stock.as_deref()),
    })
}

/// A reading that nothing explains.
fn misfit(beliefs: &Beliefs, stock: usize, at: Moment, expected: Estimate) -> Notice {
    let readings = || beliefs.readings[stock].iter().rev();
    let reading = readings().find(|reading| reading.at == at);
    let before = readings().find(|reading| reading.at < at).map(|reading| reading.at);
    let read = reading.map_or((expected.mean, expected.mean), |r| (r.low, r.high));
    let holds = holds(beliefs, stock);
    let Stock { name, unit, capacity, runs, .. } = beliefs.mechanism.stocks()[stock].clone();
    Notice::new(
        Some(name),
        Matter::Misfit { at, before, read, expected, unit, capacity, runs, holds },
    )
}

/// Whether a reading that does not fit is off the way in which a fill or an emptying moves a stock.
fn is_served(matter: &Matter) -> bool {
    match matter {
        Matter::Misfit { read, expected, runs: Direction::Down, .. } => read.0 > expected.mean,
        Matter::Misfit { read, expected, runs: Direction::Up, .. } => read.1 < expected.mean,
        _ => false,
    }
}

/// What a stock holds, as far as an alarm tells it.
fn holds(beliefs: &Beliefs, stock: usize) -> Holds {
    let mechanism = &beliefs.mechanism;
    let parts = &mechanism.parts;
    let burns = |source: &HeatSource| source.burns == mechanism.stocks()[stock].name;
    let mut fires = parts.heating.iter().flat_map(|heating| &heating.sources);
    match parts.electrics.as_ref().filter(|_| mechanism.electric == Some(stock)) {
        Some(electrics) if electrics.panels.is_empty() => Holds::ChargeWithoutSun,
        Some(_) => Holds::Charge,
        None if fires.any(|source| burns(source) && source.lit == Lit::ByDay) => Holds::FedFire,
        None if mechanism.is_heat_fuel(stock) => Holds::HeatFuel,
        None => Holds::Other,
    }
}

/// The alarm about a change that nothing explains.
pub fn of_change(beliefs: &Beliefs, change: &Unexplained) -> Notice {
    let mechanism = &beliefs.mechanism;
    let stock = &mechanism.stocks()[change.stock];
    let alarm = Alarm {
        change: change.clone(),
        runs: stock.runs,
        unit: stock.unit.clone(),
        capacity: stock.capacity,
        holds: holds(beliefs, change.stock),
    };
    Notice::new(Some(stock.name.clone()), Matter::Alarm(alarm))
}

/// Stocks that no reading, fill or emptying has ever told about: their level is a guess, and may
/// well be what the answer hangs on.
fn never_read(beliefs: &Beliefs) -> Option<Notice> {
    let stocks = beliefs.mechanism.stocks().iter().zip(&beliefs.readings);
    let unread = stocks.filter(|(stock, readings)| readings.is_empty() && !stock.reset_by_camp);
    let names: Vec<String> = unread.map(|(stock, _)| stock.name.clone()).collect();
    (!names.is_empty()).then_some(Notice::new(None, Matter::NeverRead(names)))
}
