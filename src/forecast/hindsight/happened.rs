//! What the journal tells of one stock after an evening, until its next service.

use crate::belief::evidence::{exposure_of, in_unit, levels_read};
use crate::belief::practice::AMOUNT_SD;
use crate::domain::{After, Direction, Event, Moment, Parts, Rig, Standing, Stock, hours_between};
use crate::mechanism::Mechanism;

/// Something that tells of a stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sighting {
    /// Its level was read, between these levels.
    Read(f64, f64),
    /// It was serviced; before that it stood between these levels, if the amount says so.
    Serviced(Option<(f64, f64)>),
    /// A charge, a drive or a change of kit moved it that nobody had planned on the evening:
    /// what came later says nothing about the forecast.
    Unforeseen,
}

impl Sighting {
    /// The levels that it was between.
    pub fn levels(&self) -> Option<(f64, f64)> {
        match self {
            Sighting::Read(low, high) => Some((*low, *high)),
            Sighting::Serviced(before) => *before,
            Sighting::Unforeseen => None,
        }
    }
}

/// Between which hours after the evening a limit was met: `from` is the last hour at which it
/// was not, `to` the first at which it was, infinite if that was never seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Not met before this hour.
    pub from: f64,
    /// Met by this hour.
    pub to: f64,
}

/// What came after an evening.
pub(super) struct Aftermath<'a> {
    pub rig: &'a Rig,
    /// What stands now, in time order.
    pub truth: &'a [Standing],
    /// The evening.
    pub at: Moment,
    pub now: Moment,
    /// The mechanism of that evening.
    pub mechanism: &'a Mechanism,
}

impl Aftermath<'_> {
    /// Hours from the evening to now.
    pub(super) fn hours(&self) -> f64 {
        hours_between(self.at, self.now)
    }

    /// What was told of a stock in `(at, now]`, with its hour, in time order; a service or
    /// something unforeseen ends the list.
    pub(super) fn told(&self, index: usize) -> Vec<(f64, Sighting)> {
        let (at, now) = (self.at, self.now);
        let stock = &self.mechanism.stocks()[index];
        let changed = kit_changes(self.rig, stock, at);
        let until = changed.map_or(now, |change| change.min(now));
        let mut told = Vec::new();
        let later = &self.truth[self.truth.partition_point(|entry| entry.at <= at)..];
        for entry in later.iter().take_while(|entry| entry.at <= until) {
            if let Some(new) = self.of_entry(index, entry) {
                told.push((hours_between(at, entry.at), new));
                if !matches!(new, Sighting::Read(..)) {
                    return told;
                }
            }
        }
        if let Some(change) = changed.filter(|change| *change <= now) {
            told.push((hours_between(at, change), Sighting::Unforeseen));
        }
        told
    }

    fn of_entry(&self, index: usize, entry: &Standing) -> Option<Sighting> {
        let stock = &self.mechanism.stocks()[index];
        let unplanned = entry.recorded > self.at;
        match &entry.event {
            Event::Camp(_) if stock.reset_by_camp && unplanned => Some(Sighting::Serviced(None)),
            Event::Drive(_) | Event::Charge { .. } => {
                let moved = unplanned && moves(self.mechanism, index, &entry.event);
                moved.then_some(Sighting::Unforeseen)
            }
            event => tells(event, stock, &self.mechanism.parts),
        }
    }
}

/// When the stock's kit first changes after `at`.
fn kit_changes(rig: &Rig, stock: &Stock, at: Moment) -> Option<Moment> {
    let zone = rig.zone(at);
    let ahead = rig.changes.iter().map(|c| c.from).filter(|from| *from > zone.date(at));
    let differs = |from: &chrono::NaiveDate| {
        rig.parts_on(*from).stock(&stock.name).is_none_or(|(_, then)| then != stock)
    };
    let first = ahead.filter(differs).min()?;
    Some(zone.moment(first.and_time(chrono::NaiveTime::MIN)))
}

/// Whether a drive or a charge moves the stock.
fn moves(mechanism: &Mechanism, index: usize, event: &Event) -> bool {
    match exposure_of(event, &mechanism.parts) {
        Some((source, _)) => {
            mechanism.flows.iter().any(|flow| flow.stock == index && flow.source == source)
        }
        None => matches!(event, Event::Charge { .. }) && mechanism.electric == Some(index),
    }
}

fn tells(event: &Event, stock: &Stock, parts: &Parts) -> Option<Sighting> {
    let volts = parts.volts();
    let amount_of = |q: &Option<_>| q.as_ref().and_then(|q| in_unit(q, stock, volts));
    let around = |level: f64, amount: f64| {
        // What comes back is a negative amount.
        let off = AMOUNT_SD * amount.abs();
        ((level - off).clamp(0.0, stock.capacity), (level + off).clamp(0.0, stock.capacity))
    };
    match event {
        Event::Level { stock: name, reading, step } if *name == stock.name => {
            let read = levels_read(stock, reading, *step, volts)?;
            Some(Sighting::Read(read.low, read.high))
        }
        Event::Fill { stock: name, amount, after } if *name == stock.name => {
            let after = match after {
                Some(After::Full) => Some(stock.capacity),
                Some(After::Level(level)) => in_unit(level, stock, volts),
                None => None,
            };
            let before = amount_of(amount).zip(after);
            Some(Sighting::Serviced(before.map(|(amount, after)| around(after - amount, amount))))
        }
        Event::Empty { stock: name, amount, after } if *name == stock.name => {
            // Some taken out with no level after it says only that there was as much.
            let left = amount_of(after);
            let before = amount_of(amount).zip(left);
            let before = before.map(|(amount, left)| around(left + amount, amount));
            Some(Sighting::Serviced(before))
        }
        _ => None,
    }
}

/// Between which hours the stock met its limit. A stock that nobody wrote to be at its limit was
/// not; where a reading may stand for either, it is not known from there on. `end` is the hour
/// at which the journal ends.
pub fn span(stock: &Stock, told: &[(f64, Sighting)], end: f64) -> Span {
    let (mut from, mut doubtful) = (0.0, false);
    for (hours, told) in told {
        if let Some((low, high)) = told.levels() {
            let (best, worst) = match stock.runs {
                Direction::Down => (high, low),
                Direction::Up => (low, high),
            };
            match (stock.is_out(best), stock.is_out(worst)) {
                (true, _) => return Span { from, to: *hours },
                (false, true) => doubtful = true,
                (false, false) => (from, doubtful) = (*hours, false),
            }
        }
        if !matches!(told, Sighting::Read(..)) {
            let from = if doubtful { from } else { *hours };
            return Span { from, to: f64::INFINITY };
        }
    }
    Span { from: if doubtful { from } else { end }, to: f64::INFINITY }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::stock::Gauge;
    use crate::domain::unit::Unit;

    fn tank() -> Stock {
        let plain = Stock::plain("rain", Direction::Down, Unit::Litre, 90.0);
        Stock { margin: 9.0, gauge: Gauge::Step(0.25), ..plain }
    }

    #[test]
    fn a_limit_lies_between_the_last_good_and_the_first_bad_reading() {
        let (good, either, bad) =
            (Sighting::Read(34.0, 56.0), Sighting::Read(0.0, 11.0), Sighting::Read(4.0, 9.0));
        let never = f64::INFINITY;
        type Row<'a> = (&'a [(f64, Sighting)], (f64, f64));
        let rows: [Row; 6] = [
            (&[(24.0, good), (48.0, bad)], (24.0, 48.0)),
            (&[(24.0, good), (48.0, either), (60.0, bad)], (24.0, 60.0)),
            (&[(24.0, good), (48.0, either), (60.0, Sighting::Serviced(None))], (24.0, never)),
            (&[(24.0, good), (60.0, Sighting::Serviced(None))], (60.0, never)),
            (&[(60.0, Sighting::Serviced(Some((3.0, 8.0))))], (0.0, 60.0)),
            (&[(24.0, good)], (100.0, never)),
        ];
        for (told, (from, to)) in rows {
            assert_eq!(span(&tank(), told, 100.0), Span { from, to }, "{told:?}");
        }
    }
}
