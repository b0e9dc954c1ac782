//! Which fuels for heat were out in the past, as far as the journal says: one that was read as empty
//! is out until it is filled or read again, and so is one for which the van of then had no source.
//! What stands in for it burns meanwhile; where there is no other fuel, nobody asks.

use crate::belief::evidence::in_unit;
use crate::domain::{Event, Moment, Parts, Rig, Standing, Zone};
use crate::mechanism::climate::FuelsOut;
use chrono::{Duration, NaiveTime};

/// What of a past tells which fuels were out.
pub(super) struct FuelPast<'a> {
    pub rig: &'a Rig,
    /// Its parts now.
    pub parts: &'a Parts,
    pub zone: Zone,
    /// Its first hour.
    pub from: Moment,
    pub entries: &'a [&'a Standing],
}

/// Per hour of a past, the fuels that were out as it began.
pub(super) fn out_by_hour(past: &FuelPast, count: usize) -> Vec<FuelsOut> {
    let fuels = past.parts.heat_fuels();
    let fuels: Vec<(usize, &str)> = fuels
        .into_iter()
        .filter_map(|name| past.parts.stock(name).map(|(index, _)| (index, name)))
        .collect();
    let mut told = FuelsOut::default();
    if fuels.len() < 2 {
        return vec![told; count];
    }
    let without_source = without_source(past, &fuels);
    let mut entries = past.entries.iter().peekable();
    let hours = 0..count as i64;
    hours
        .map(|hour| {
            let begins = past.from + Duration::hours(hour);
            while let Some(entry) = entries.next_if(|entry| entry.at <= begins) {
                let Some((name, is_out)) = says_out(&entry.event, past.parts) else { continue };
                if let Some((stock, _)) = fuels.iter().find(|(_, fuel)| *fuel == name) {
                    told = if is_out { told.with(*stock) } else { told.without(*stock) };
                }
            }
            let era = without_source.iter().rev().find(|(from, _)| *from <= begins);
            era.map_or(told, |(_, out)| told.or(*out))
        })
        .collect()
}

/// The stock that an entry tells of, and whether nothing of it can be burnt after it.
fn says_out<'e>(event: &'e Event, parts: &Parts) -> Option<(&'e str, bool)> {
    match event {
        Event::Fill { stock, .. } => Some((stock, false)),
        Event::Level { stock, reading, .. } => {
            let (_, known) = parts.stock(stock)?;
            let level = in_unit(reading, known, parts.volts())?;
            Some((stock, level <= known.dregs))
        }
        _ => None,
    }
}

/// From when on the van had no source for which fuels, oldest first.
fn without_source(past: &FuelPast, fuels: &[(usize, &str)]) -> Vec<(Moment, FuelsOut)> {
    let own = |parts: &Parts| -> Vec<String> {
        parts.heat_fuels().into_iter().map(str::to_owned).collect()
    };
    let first = past.zone.date(past.from);
    let changed = past.rig.days_changed(own).into_iter().filter(|day| *day > first);
    let days = std::iter::once(first).chain(changed);
    days.map(|day| {
        let then = past.rig.parts_on(day);
        let out = fuels.iter().filter(|(_, name)| !then.is_warmed_by(name));
        let out = out.fold(FuelsOut::default(), |out, (stock, _)| out.with(*stock));
        (past.zone.moment(day.and_time(NaiveTime::MIN)), out)
    })
    .collect()
}
