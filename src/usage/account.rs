//! What used up each stock, by activity and base: since its last service, this week beside last
//! week and the usual one, and over the whole journal.

use super::era::{Era, eras, join};
use crate::belief::Basis;
use crate::domain::{Direction, Event, Moment, Standing, Stock, Zone};
use crate::mechanism::held::{Moved, Moves};
use chrono::{Datelike, Duration, NaiveDate, NaiveTime};

/// Whole weeks up to now that are told apart, at most: older ones are told by the month.
const MOST_WEEKS: usize = 12;

/// A last service further back than so many days is not remembered by the beliefs either.
const SERVICE_DAYS: i64 = 90;

/// What moved a stock between two moments.
#[derive(Debug, Clone, PartialEq)]
pub struct Account {
    /// From when.
    pub from: Moment,
    /// Until when.
    pub to: Moment,
    /// Every cause, signed, in the stock's unit.
    pub movers: Vec<Moved>,
}

/// One cause's part of what was used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Portion<'a> {
    /// What it is.
    pub what: &'a Moves,
    /// How much, above 0, in the stock's unit.
    pub amount: f64,
    /// Of all that moved the stock that way, `(0, 1]`.
    pub share: f64,
}

impl Account {
    /// Days that it spans.
    pub fn days(&self) -> f64 {
        (self.to - self.from).num_seconds() as f64 / 86_400.0
    }

    /// What moved the stock one way, the largest first. With the stock's own direction: what used
    /// it up; with the other one: what brought it back without a service (sun, rain, shore power).
    pub fn parts(&self, towards: Direction) -> Vec<Portion<'_>> {
        let sign = if towards == Direction::Down { -1.0 } else { 1.0 };
        let whole = self.amount(towards);
        let own = self.movers.iter().filter(|moved| sign * moved.amount > 0.0);
        let parts = own.map(|moved| (&moved.what, sign * moved.amount));
        let part = |(what, amount)| Portion { what, amount, share: amount / whole };
        let mut parts: Vec<Portion> = parts.map(part).collect();
        parts.sort_by(|a, b| b.amount.total_cmp(&a.amount));
        parts
    }

    /// How much moved the stock one way, at least 0, in its unit.
    pub fn amount(&self, towards: Direction) -> f64 {
        let sign = if towards == Direction::Down { -1.0 } else { 1.0 };
        self.movers.iter().map(|moved| (sign * moved.amount).max(0.0)).sum()
    }
}

/// A stock since it was last filled or emptied.
#[derive(Debug, Clone, PartialEq)]
pub struct SinceService {
    /// What moved it since.
    pub account: Account,
    /// What it moved by besides, in its unit and signed as its level, by the level believed now:
    /// what was read beyond what was written down. `None` for a battery, where a full one wastes
    /// sun, and for a stock that meets its empty or full end.
    pub unexplained: Option<f64>,
}

/// Where one stock went.
#[derive(Debug, Clone, PartialEq)]
pub struct StockUse {
    /// The stock, as the rig has it now.
    pub stock: Stock,
    /// Whether it stores electricity.
    pub is_electric: bool,
    /// Since its last fill (or emptying); `None` where the remembered journal holds none.
    pub since_service: Option<SinceService>,
    /// The whole weeks of seven days that end now, oldest first, `MOST_WEEKS` at most. The last
    /// is this week, the one before it last week. Empty in the journal's first seven days.
    pub weeks: Vec<Account>,
    /// Civil months of the journal, oldest first; the first and the last may be parts of one.
    pub months: Vec<Account>,
    /// All of it, from the day that was asked for, or else from the journal's first entry.
    pub whole: Account,
}

impl StockUse {
    /// What moved since the last service, or all of it where nothing has since.
    pub fn lately(&self) -> &Account {
        let since = self.since_service.as_ref().map(|since| &since.account);
        since.filter(|account| account.amount(self.stock.runs) > 0.0).unwrap_or(&self.whole)
    }

    /// What a week usually uses, in the stock's unit: the mean of the weeks before this one.
    /// `None` before there are two of them.
    pub fn usual_week(&self) -> Option<f64> {
        let (_, before) = self.weeks.split_last()?;
        let amounts = before.iter().map(|week| week.amount(self.stock.runs));
        (before.len() >= 2).then(|| amounts.sum::<f64>() / before.len() as f64)
    }
}

/// When the journal begins: its first entry that is not only weather; `None` where there is none.
pub fn begins(standing: &[Standing], now: Moment) -> Option<Moment> {
    let tells = |entry: &&Standing| {
        entry.is_fact() && entry.at <= now && !matches!(entry.event, Event::Outlook(_))
    };
    standing.iter().find(tells).map(|entry| entry.at)
}

/// Where every stock went, in the rig's order, from what is known and believed; from `since` on, else
/// from the journal's first entry. Counted nights are left out. Empty where nothing has happened yet.
pub fn accounts(basis: &Basis, since: Option<Moment>) -> Vec<StockUse> {
    let Basis { standing, beliefs, now, .. } = *basis;
    let Some(first) = begins(standing, now) else { return Vec::new() };
    let from = since.map_or(first, |since| since.clamp(first, now));
    // The last service may lie before what is asked about.
    let oldest = from.min(now - Duration::days(SERVICE_DAYS)).max(first);
    let eras = eras(basis, oldest);
    let stocks = beliefs.mechanism.stocks();
    let kept = (0..stocks.len()).filter(|index| !stocks[*index].reset_by_camp);
    let kept: Vec<usize> = kept.collect();
    let names: Vec<&str> = kept.iter().map(|index| stocks[*index].name.as_str()).collect();
    let ledger = Ledger { eras, names };
    let weeks = ledger.each(&weeks(from, now));
    let months = ledger.each(&months(&basis.zone(), from, now));
    let column = |rows: &[Vec<Account>], place: usize| {
        rows.iter().map(|row| row[place].clone()).collect::<Vec<_>>()
    };
    kept.iter()
        .enumerate()
        .map(|(place, index)| StockUse {
            stock: stocks[*index].clone(),
            is_electric: beliefs.mechanism.electric == Some(*index),
            since_service: since_service(basis, *index, &ledger, place),
            weeks: column(&weeks, place),
            whole: together(&column(&months, place), (from, now)),
            months: column(&months, place),
        })
        .collect()
}

/// The eras of a journal, and the stocks that are asked about.
struct Ledger<'a> {
    eras: Vec<Era<'a>>,
    names: Vec<&'a str>,
}

impl Ledger<'_> {
    /// What moved each stock in a span.
    fn accounts(&self, span: (Moment, Moment)) -> Vec<Account> {
        let mut all: Vec<Vec<Moved>> = vec![Vec::new(); self.names.len()];
        self.eras.iter().for_each(|era| era.add_moved(span, &self.names, &mut all));
        let account = |movers| Account { from: span.0, to: span.1, movers };
        all.into_iter().map(account).collect()
    }

    fn each(&self, spans: &[(Moment, Moment)]) -> Vec<Vec<Account>> {
        spans.iter().map(|span| self.accounts(*span)).collect()
    }
}

/// Spans that follow each other, as one.
fn together(accounts: &[Account], (from, to): (Moment, Moment)) -> Account {
    let mut movers: Vec<Moved> = Vec::new();
    accounts.iter().for_each(|account| join(&mut movers, &account.movers));
    Account { from, to, movers }
}

fn since_service(
    basis: &Basis,
    index: usize,
    ledger: &Ledger,
    place: usize,
) -> Option<SinceService> {
    let Basis { beliefs, now, .. } = *basis;
    let service = beliefs.readings[index].iter().rev().find(|reading| reading.service)?;
    let account = ledger.accounts((service.at, now)).swap_remove(place);
    let (stock, level) = (&beliefs.mechanism.stocks()[index], beliefs.level(index).mean);
    let is_free = beliefs.mechanism.electric != Some(index)
        && level > 0.01 * stock.capacity
        && level < 0.99 * stock.capacity;
    let moved: f64 = account.movers.iter().map(|moved| moved.amount).sum();
    let unexplained = level - 0.5 * (service.low + service.high) - moved;
    Some(SinceService { account, unexplained: is_free.then_some(unexplained) })
}

/// The whole weeks between two moments that end at the later one, oldest first.
fn weeks(from: Moment, now: Moment) -> Vec<(Moment, Moment)> {
    let week = |back: usize| {
        let ends = now - Duration::days(7 * back as i64);
        (ends - Duration::days(7), ends)
    };
    let mut weeks: Vec<_> =
        (0..MOST_WEEKS).map(week).take_while(|(begins, _)| *begins >= from).collect();
    weeks.reverse();
    weeks
}

/// The civil months between two moments, oldest first, cut to them.
fn months(zone: &Zone, from: Moment, now: Moment) -> Vec<(Moment, Moment)> {
    let begins = |day: NaiveDate| zone.moment(day.and_time(NaiveTime::MIN));
    let mut months = Vec::new();
    let mut start = zone.here(from);
    while start < now {
        let date = start.date_naive();
        let (year, month) = match date.month() {
            12 => (date.year() + 1, 1),
            month => (date.year(), month + 1),
        };
        let next = NaiveDate::from_ymd_opt(year, month, 1).map_or(now, begins).min(now);
        months.push((start, next));
        start = next;
    }
    months
}
