//! From an entry to its record.

use super::{Record, VERSION};
use crate::domain::{After, Body, DayWeather, Entry, Event, Moment, Quantity, Spot};
use chrono::FixedOffset;
use std::borrow::Cow;

impl<'a> From<&'a Entry> for Record<'a> {
    fn from(entry: &'a Entry) -> Record<'a> {
        let mut record = Record {
            v: VERSION,
            id: entry.id.to_string().into(),
            at: moment_text(entry.at).into(),
            note: entry.note.as_deref().map(Cow::from),
            ..Record::default()
        };
        let recorded = moment_text(entry.recorded);
        record.recorded = (record.at != recorded).then(|| recorded.into());
        let of = entry.body.of().map(|of| Cow::from(of.to_string()));
        match &entry.body {
            Body::Happened(event) => record.put(event),
            Body::Correct { event, .. } => {
                record.corrects = of;
                record.put(event);
            }
            Body::Retract { .. } => (record.kind, record.of) = ("retract".into(), of),
            Body::Restore { .. } => (record.kind, record.of) = ("restore".into(), of),
        }
        record
    }
}

impl<'a> Record<'a> {
    fn put(&mut self, event: &'a Event) {
        self.kind = event.kind().into();
        self.what = event.stock().map(Cow::from);
        if let Some(Quantity { amount, unit }) = event.amount() {
            (self.amount, self.unit) = (Some(amount.milli()), Some(unit.word().into()));
        }
        match event {
            Event::Use { activity: what, .. } | Event::Spent { stock: what, .. } => {
                self.what = Some(what.into());
            }
            Event::Level { step, .. } => self.step = *step,
            Event::Fill { after: Some(After::Full), .. } => self.full = Some(true),
            Event::Fill { after: Some(After::Level(level)), .. }
            | Event::Empty { after: Some(level), .. } => {
                let Quantity { amount, unit } = level;
                (self.after, self.after_unit) = (Some(amount.milli()), Some(unit.word().into()));
            }
            Event::Charge { source, .. } => self.what = Some(source.word().into()),
            Event::Camp(Spot::Named(name)) => self.what = Some(name.into()),
            Event::Camp(Spot::At { latitude, longitude }) => {
                (self.latitude, self.longitude) = (Some(*latitude), Some(*longitude));
            }
            Event::Crew(people) => self.amount = Some(people.milli()),
            Event::Note(text) => self.text = Some(text.into()),
            Event::Outlook(day) => self.put_weather(day),
            Event::Fill { after: None, .. } | Event::Empty { after: None, .. } => {}
            Event::Drive(_) | Event::DayClosed => {}
        }
    }

    fn put_weather(&mut self, day: &'a DayWeather) {
        self.issued = Some(moment_text(day.issued).into());
        self.date = Some(day.date.to_string().into());
        (self.low_c, self.high_c) = (day.low_c, day.high_c);
        (self.sun_kwh_m2, self.cloud) = (day.sun_kwh_m2, day.cloud);
        self.what = day.place.as_deref().map(Cow::from);
    }
}

/// RFC 3339 has no seconds in an offset; an offset of old local time is cut to the minute, at the
/// same instant.
fn moment_text(moment: Moment) -> String {
    let seconds = moment.offset().local_minus_utc();
    match FixedOffset::east_opt(seconds - seconds % 60) {
        Some(whole) if seconds % 60 != 0 => moment.with_timezone(&whole).to_rfc3339(),
        _ => moment.to_rfc3339(),
    }
}
