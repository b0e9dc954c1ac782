//! From a record to the entry that it stands for, every value checked.

use super::{Record, RecordFault, is_device_name};
use crate::domain::gate::EventPart;
use crate::domain::{
    After, Amount, Body, ChargeSource, DayWeather, Entry, EntryId, Event, Moment, Quantity, Spot,
    Unit, UnitSystem, gate,
};
use chrono::{DateTime, FixedOffset, NaiveDate};
use std::borrow::Cow;

type RecordResult<T> = Result<T, RecordFault>;

/// What a record says, every value checked, before it is an entry that keeps it.
pub(in crate::store) struct CheckedRecord<'a> {
    /// Device, place and random part.
    pub id: (&'a str, u64, u32),
    pub at: Moment,
    pub recorded: Moment,
    pub body: Body,
    note: Option<&'a str>,
}

impl CheckedRecord<'_> {
    /// As an entry.
    pub(in crate::store) fn entry(self) -> Entry {
        let (device, sequence, salt) = self.id;
        Entry {
            id: EntryId { device: device.into(), sequence, salt },
            at: self.at,
            recorded: self.recorded,
            note: self.note.map(String::from),
            body: self.body,
        }
    }
}

impl Record<'_> {
    /// What the record says. Values out of range are faults, not clamped.
    pub(in crate::store) fn said(&self) -> RecordResult<CheckedRecord<'_>> {
        let at = moment("at", &self.at)?;
        let recorded = match &self.recorded {
            Some(recorded) => moment("recorded", recorded)?,
            None => at,
        };
        let body = match &*self.kind {
            "retract" => Body::Retract { of: entry_id("of", need("of", &self.of)?)? },
            "restore" => Body::Restore { of: entry_id("of", need("of", &self.of)?)? },
            _ => match &self.corrects {
                Some(of) => Body::Correct { of: entry_id("corrects", of)?, event: self.event()? },
                None => Body::Happened(self.event()?),
            },
        };
        Ok(CheckedRecord {
            id: id("id", &self.id)?,
            at,
            recorded,
            body,
            note: self.note.as_deref(),
        })
    }

    fn event(&self) -> RecordResult<Event> {
        let event = self.event_as_written()?;
        let Some(refused) = gate::refused(&event) else { return Ok(event) };
        let field = match refused.part {
            EventPart::Amount => "amount",
            EventPart::Unit => "unit",
            EventPart::After => "after",
            EventPart::High => "high_c",
        };
        let why = format!("{field}: found {}, expected {}", refused.found, refused.expected);
        Err(RecordFault::Wrong(field, why))
    }

    fn event_as_written(&self) -> RecordResult<Event> {
        Ok(match &*self.kind {
            "use" => Event::Use { activity: self.what()?, count: self.amount()? },
            "level" => {
                Event::Level { stock: self.what()?, reading: self.amount()?, step: self.step()? }
            }
            "fill" => Event::Fill {
                stock: self.what()?,
                amount: self.amount_if_known()?,
                after: match self.full {
                    Some(true) => Some(After::Full),
                    _ => self.after()?.map(After::Level),
                },
            },
            "empty" => Event::Empty {
                stock: self.what()?,
                amount: self.amount_if_known()?,
                after: self.after()?,
            },
            "spent" => Event::Spent { stock: self.what()?, amount: self.amount()? },
            "drive" => Event::Drive(self.amount()?),
            "charge" => Event::Charge { source: self.source()?, amount: self.amount()? },
            "camp" => Event::Camp(self.spot()?),
            "crew" => Event::Crew(amount("amount", need_copy("amount", self.amount)?)?),
            "day" => Event::DayClosed,
            "note" => Event::Note(need("text", &self.text)?.into()),
            "outlook" => Event::Outlook(self.weather()?),
            "" => return Err(RecordFault::missing("kind")),
            unknown => return Err(RecordFault::UnknownKind(unknown.into())),
        })
    }

    fn what(&self) -> RecordResult<String> {
        need("what", &self.what).map(String::from)
    }

    fn amount(&self) -> RecordResult<Quantity> {
        need_copy("amount", self.amount)?;
        self.amount_if_known()?.ok_or_else(|| RecordFault::missing("amount"))
    }

    fn amount_if_known(&self) -> RecordResult<Option<Quantity>> {
        let Some(milli) = self.amount else { return Ok(None) };
        let unit = unit(need("unit", &self.unit)?);
        Ok(Some(Quantity::new(amount("amount", milli)?, unit)))
    }

    fn after(&self) -> RecordResult<Option<Quantity>> {
        let Some(milli) = self.after else { return Ok(None) };
        let unit = unit(need("after_unit", &self.after_unit)?);
        Ok(Some(Quantity::new(amount("after", milli)?, unit)))
    }

    fn step(&self) -> RecordResult<Option<f64>> {
        let Some(step) = self.step else { return Ok(None) };
        Ok(Some(within("step", step, f64::MIN_POSITIVE, 1.0)?))
    }

    fn source(&self) -> RecordResult<ChargeSource> {
        match need("what", &self.what)? {
            "shore" => Ok(ChargeSource::Shore),
            "generator" => Ok(ChargeSource::Generator),
            other => Err(RecordFault::bad("what", other)),
        }
    }

    fn spot(&self) -> RecordResult<Spot> {
        if let Some(name) = &self.what {
            return Ok(Spot::Named(name.to_string()));
        }
        let latitude = need_copy("latitude", self.latitude)?;
        let longitude = need_copy("longitude", self.longitude)?;
        Ok(Spot::At {
            latitude: within("latitude", latitude, -90.0, 90.0)?,
            longitude: within("longitude", longitude, -180.0, 180.0)?,
        })
    }

    fn weather(&self) -> RecordResult<DayWeather> {
        let date = need("date", &self.date)?;
        let share = |cloud| within("cloud", cloud, 0.0, 1.0);
        let sun = |sun| within("sun_kwh_m2", sun, 0.0, 100.0);
        Ok(DayWeather {
            issued: moment("issued", need("issued", &self.issued)?)?,
            date: date.parse::<NaiveDate>().map_err(|_| RecordFault::bad("date", date))?,
            low_c: self.low_c.map(|low| within("low_c", low, -100.0, 100.0)).transpose()?,
            high_c: self.high_c.map(|high| within("high_c", high, -100.0, 100.0)).transpose()?,
            sun_kwh_m2: self.sun_kwh_m2.map(sun).transpose()?,
            cloud: self.cloud.map(share).transpose()?,
            place: self.what.as_deref().map(String::from),
        })
    }
}

fn need<'r>(field: &'static str, value: &'r Option<Cow<'_, str>>) -> RecordResult<&'r str> {
    value.as_deref().ok_or_else(|| RecordFault::missing(field))
}

fn need_copy<T: Copy>(field: &'static str, value: Option<T>) -> RecordResult<T> {
    value.ok_or_else(|| RecordFault::missing(field))
}

/// Also stops NaN and infinities, which RON can write.
fn within(field: &'static str, value: f64, low: f64, high: f64) -> RecordResult<f64> {
    match (low..=high).contains(&value) {
        true => Ok(value),
        false => Err(RecordFault::bad(field, value.to_string())),
    }
}

fn amount(field: &'static str, milli: i64) -> RecordResult<Amount> {
    Amount::from_milli(milli).ok_or_else(|| RecordFault::bad(field, milli.to_string()))
}

/// Unit words in the journal do not depend on what a person wants to see: `gal` is never written.
fn unit(word: &str) -> Unit {
    Unit::from_word(word, UnitSystem::Metric).unwrap_or_else(|| Unit::Own(word.into()))
}

fn id<'t>(field: &'static str, text: &'t str) -> RecordResult<(&'t str, u64, u32)> {
    if text.is_empty() {
        return Err(RecordFault::missing(field));
    }
    let id = EntryId::split(text).filter(|(device, ..)| is_device_name(device));
    id.ok_or_else(|| RecordFault::bad(field, text))
}

fn entry_id(field: &'static str, text: &str) -> RecordResult<EntryId> {
    id(field, text).map(|(device, sequence, salt)| EntryId {
        device: device.into(),
        sequence,
        salt,
    })
}

fn moment(field: &'static str, text: &str) -> RecordResult<Moment> {
    if text.is_empty() {
        return Err(RecordFault::missing(field));
    }
    let parsed = usual_moment(text.as_bytes()).or_else(|| DateTime::parse_from_rfc3339(text).ok());
    parsed.ok_or_else(|| RecordFault::bad(field, text))
}

/// `2026-06-01T08:00:00+02:00`, the form that nearly every record has, several times faster than
/// chrono's reader of all forms. `None` for anything else.
fn usual_moment(text: &[u8]) -> Option<Moment> {
    let text: &[u8; 25] = text.try_into().ok()?;
    let marks = [text[4], text[7], text[10], text[13], text[16], text[22]];
    if marks != *b"--T:::" {
        return None;
    }
    // All digits are looked at before it is asked whether they are digits.
    let mut digits_only = true;
    let mut two = |place: usize| {
        let [tens, ones] = [text[place], text[place + 1]].map(|digit| digit.wrapping_sub(b'0'));
        digits_only &= tens < 10 && ones < 10;
        u32::from(tens) * 10 + u32::from(ones)
    };
    let (century, year, month, day) = (two(0), two(2), two(5), two(8));
    let (hour, minute, second) = (two(11), two(14), two(17));
    let (hours, minutes) = (two(20), two(23));
    let east = match text[19] {
        b'+' => 1,
        b'-' => -1,
        _ => return None,
    };
    if !digits_only || minutes > 59 {
        return None;
    }
    let year = i32::try_from(century * 100 + year).ok()?;
    let local = NaiveDate::from_ymd_opt(year, month, day)?.and_hms_opt(hour, minute, second)?;
    let seconds = i32::try_from(hours * 3600 + minutes * 60).ok()?;
    let offset = FixedOffset::east_opt(east * seconds)?;
    local.and_local_timezone(offset).single()
}
