//! From when on and until when something is so: guests, days away, who is aboard.

use super::Read;
use crate::domain::time::Moment;
use crate::logline::grammar::people;
use crate::logline::grammar::thing::{Thing, Until};
use crate::logline::lexis::misread::Misread;
use crate::logline::times::moment::{Clock, Looks, When, after_days, night};
use crate::logline::tokens::item::{Item, at_items};

impl Read<'_> {
    /// From when on a thing is so, and until when, where that is said or is one night.
    pub(super) fn begins_and_ends(
        &self,
        thing: &Thing,
        when: &When,
        at: Moment,
    ) -> Result<(Moment, Option<Moment>), Misread> {
        if let Some((until, item)) = &thing.until {
            return Ok((at, Some(self.end_of(until, item, at)?)));
        }
        if people::is_about(&thing.items) && !self.stays(thing) && when.is_tonight() {
            let (evening, morning) = night(self.clock);
            return Ok((evening, Some(morning)));
        }
        Ok((at, None))
    }

    fn end_of(&self, until: &Until, item: &Item, at: Moment) -> Result<Moment, Misread> {
        let end = match until {
            Until::At(Some(when)) => {
                // A weekday is the first one after what it ends.
                let from = match (when.is_of_any_week(), when.day) {
                    // `last night until noon`.
                    (true, None) => at,
                    (true, Some(_)) => self.clock.now.max(at),
                    (false, _) => self.clock.now,
                };
                let civil = self.clock.zone.here(from).naive_local();
                let clock = Clock { now: from, civil, ..*self.clock };
                when.resolve(&clock, Looks::Ahead).map_err(|why| why.misread(when))?
            }
            Until::At(None) => {
                let message = "until when? Write a day, like `until sunday`";
                return Err(at_items(&[item], message).write("until tomorrow"));
            }
            Until::Days(days) => after_days(at, *days, self.clock).unwrap_or(at),
        };
        if end <= at {
            return Err(at_items(&[item], "this ends before it begins"));
        }
        Ok(end)
    }
}
