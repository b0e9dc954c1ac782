//! Which fuels for heat were out in the past, as far as the journal says: one that was read as empty
//! is out until it is filled or read again. What stands in for it burns meanwhile; where there is no
//! other fuel, nobody asks.

use crate::belief::evidence::in_unit;
use crate::domain::{Event, Moment, Parts, Standing};
use crate::mechanism::climate::FuelsOut;
use chrono::Duration;

/// Per hour of a past that begins at `from`, the fuels that were out as it began.
pub(super) fn out_by_hour(
    entries: &[&Standing],
    parts: &Parts,
    from: Moment,
    count: usize,
) -> Vec<FuelsOut> {
    let fuels = parts.heat_fuels();
    let (mut out, mut told) = (FuelsOut::default(), entries.iter().peekable());
    if fuels.len() < 2 {
        return vec![out; count];
    }
    let hours = 0..count as i64;
    hours
        .map(|hour| {
            let begins = from + Duration::hours(hour);
            while let Some(entry) = told.next_if(|entry| entry.at <= begins) {
                if let Some((stock, is_out)) = says_out(&entry.event, parts)
                    && let Some(place) = fuels.iter().position(|fuel| *fuel == stock)
                {
                    out.set(place, is_out);
                }
            }
            out
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
