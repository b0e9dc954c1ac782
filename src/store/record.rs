//! The on-disk form of an entry, format 1: a flat record of texts, whole numbers and a few plain
//! decimals, and its conversions to and from `domain::entry`.
//!
//! Fields are only ever added, never renamed or given another meaning; how a record becomes a
//! line is [`super::line`]'s matter. Amounts are whole thousandths.

use crate::domain::entry::{After, Body, ChargeSource, Entry, EntryId, Event, Spot};
use crate::domain::outlook::DayWeather;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::time::Moment;
use crate::domain::unit::{Unit, UnitSystem};
use chrono::{DateTime, FixedOffset, NaiveDate};
use serde::Deserialize;
use std::borrow::Cow;

/// The version that this program writes, and the newest that it reads.
pub const VERSION: u32 = 1;

/// One record, all of whose fields but `v`, `id`, `at` and `kind` may be absent.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(default)]
pub struct Record<'a> {
    /// Version of the form.
    pub v: u32,
    /// The entry's id, `device-sequence-salt`.
    #[serde(borrow)]
    pub id: Cow<'a, str>,
    /// When it happened, RFC 3339.
    pub at: Cow<'a, str>,
    /// When it was written down; absent when the same as `at`.
    pub recorded: Option<Cow<'a, str>>,
    /// `use`, `level`, `fill`, `empty`, `drive`, `charge`, `camp`, `crew`, `day`, `note`,
    /// `outlook`, `retract`, `restore`.
    pub kind: Cow<'a, str>,
    /// The entry that this one corrects.
    pub corrects: Option<Cow<'a, str>>,
    /// The entry that is taken back or put back.
    pub of: Option<Cow<'a, str>>,
    /// The activity, stock, place or source of charge.
    pub what: Option<Cow<'a, str>>,
    /// Thousandths of `unit`.
    pub amount: Option<i64>,
    /// Unit of `amount`, by its first word.
    pub unit: Option<Cow<'a, str>>,
    /// A gauge's step as a share of capacity.
    pub step: Option<f64>,
    /// Filled to the brim.
    pub full: Option<bool>,
    /// Thousandths of `after_unit` that it ended at.
    pub after: Option<i64>,
    /// Unit of `after`.
    pub after_unit: Option<Cow<'a, str>>,
    /// Degrees north.
    pub latitude: Option<f64>,
    /// Degrees east.
    pub longitude: Option<f64>,
    /// Text of a note entry.
    pub text: Option<Cow<'a, str>>,
    /// When an outlook's row was issued, RFC 3339.
    pub issued: Option<Cow<'a, str>>,
    /// The day that it speaks of, `YYYY-MM-DD`.
    pub date: Option<Cow<'a, str>>,
    /// Lowest temperature.
    pub low_c: Option<f64>,
    /// Highest temperature.
    pub high_c: Option<f64>,
    /// Sun over the day.
    pub sun_kwh_m2: Option<f64>,
    /// Cloud cover.
    pub cloud: Option<f64>,
    /// A remark that came with the entry.
    pub note: Option<Cow<'a, str>>,
    /// Checksum of the bytes before it.
    pub crc: u32,
}

/// Why a record is no entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RecordFault {
    /// A kind of entry that a newer program knows.
    UnknownKind(String),
    /// A field is missing.
    Missing(&'static str),
    /// A field's value is not valid: what was found.
    Bad(&'static str, String),
}

impl RecordFault {
    /// The field at fault, as it is written.
    pub fn field(&self) -> &'static str {
        match self {
            RecordFault::UnknownKind(_) => "kind",
            RecordFault::Missing(field) | RecordFault::Bad(field, _) => field,
        }
    }
}

type Found<T> = Result<T, RecordFault>;

/// Whether `name` may name a device: `[a-z0-9-]{1,64}`, so that it is a safe file name too.
pub fn is_device_name(name: &str) -> bool {
    let plain = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    (1..=64).contains(&name.len()) && name.bytes().all(plain)
}

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
        match &entry.body {
            Body::Happened(event) => record.put(event),
            Body::Correct { of, event } => {
                record.corrects = Some(of.to_string().into());
                record.put(event);
            }
            Body::Retract { of } => {
                record.kind = "retract".into();
                record.of = Some(of.to_string().into());
            }
            Body::Restore { of } => {
                record.kind = "restore".into();
                record.of = Some(of.to_string().into());
            }
        }
        record
    }
}

impl<'a> Record<'a> {
    fn put(&mut self, event: &'a Event) {
        self.kind = kind(event).into();
        match event {
            Event::Use { activity, count } => {
                self.what = Some(activity.into());
                self.put_amount(count);
            }
            Event::Level { stock, reading, step } => {
                self.what = Some(stock.into());
                self.put_amount(reading);
                self.step = *step;
            }
            Event::Fill { stock, amount, after } => {
                self.what = Some(stock.into());
                amount.iter().for_each(|amount| self.put_amount(amount));
                match after {
                    Some(After::Full) => self.full = Some(true),
                    Some(After::Level(level)) => self.put_after(level),
                    None => {}
                }
            }
            Event::Empty { stock, amount, after } => {
                self.what = Some(stock.into());
                amount.iter().for_each(|amount| self.put_amount(amount));
                after.iter().for_each(|after| self.put_after(after));
            }
            Event::Drive(amount) => self.put_amount(amount),
            Event::Charge { source, amount } => {
                let source = match source {
                    ChargeSource::Shore => "shore",
                    ChargeSource::Generator => "generator",
                };
                self.what = Some(source.into());
                self.put_amount(amount);
            }
            Event::Camp(Spot::Named(name)) => self.what = Some(name.into()),
            Event::Camp(Spot::At { latitude, longitude }) => {
                (self.latitude, self.longitude) = (Some(*latitude), Some(*longitude));
            }
            Event::Crew(people) => self.amount = Some(people.milli()),
            Event::DayClosed => {}
            Event::Note(text) => self.text = Some(text.into()),
            Event::Outlook(day) => self.put_weather(day),
        }
    }

    fn put_amount(&mut self, quantity: &'a Quantity) {
        self.amount = Some(quantity.amount.milli());
        self.unit = Some(quantity.unit.word().into());
    }

    fn put_after(&mut self, quantity: &'a Quantity) {
        self.after = Some(quantity.amount.milli());
        self.after_unit = Some(quantity.unit.word().into());
    }

    fn put_weather(&mut self, day: &'a DayWeather) {
        self.issued = Some(moment_text(day.issued).into());
        self.date = Some(day.date.to_string().into());
        (self.low_c, self.high_c) = (Some(day.low_c), Some(day.high_c));
        (self.sun_kwh_m2, self.cloud) = (day.sun_kwh_m2, day.cloud);
        self.what = day.place.as_deref().map(Cow::from);
    }

    /// The entry that the record stands for. Values out of range are faults, not clamped.
    pub fn to_entry(&self) -> Found<Entry> {
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
        let note = self.note.as_deref().map(String::from);
        Ok(Entry { id: entry_id("id", &self.id)?, at, recorded, note, body })
    }

    fn event(&self) -> Found<Event> {
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
            "drive" => Event::Drive(self.amount()?),
            "charge" => Event::Charge { source: self.source()?, amount: self.amount()? },
            "camp" => Event::Camp(self.spot()?),
            "crew" => Event::Crew(amount("amount", need_copy("amount", self.amount)?)?),
            "day" => Event::DayClosed,
            "note" => Event::Note(need("text", &self.text)?.into()),
            "outlook" => Event::Outlook(self.weather()?),
            "" => return Err(RecordFault::Missing("kind")),
            unknown => return Err(RecordFault::UnknownKind(unknown.into())),
        })
    }

    fn what(&self) -> Found<String> {
        need("what", &self.what).map(String::from)
    }

    fn amount(&self) -> Found<Quantity> {
        need_copy("amount", self.amount)?;
        self.amount_if_known()?.ok_or(RecordFault::Missing("amount"))
    }

    fn amount_if_known(&self) -> Found<Option<Quantity>> {
        let Some(milli) = self.amount else { return Ok(None) };
        let unit = unit(need("unit", &self.unit)?);
        Ok(Some(Quantity::new(amount("amount", milli)?, unit)))
    }

    fn after(&self) -> Found<Option<Quantity>> {
        let Some(milli) = self.after else { return Ok(None) };
        let unit = unit(need("after_unit", &self.after_unit)?);
        Ok(Some(Quantity::new(amount("after", milli)?, unit)))
    }

    fn step(&self) -> Found<Option<f64>> {
        let Some(step) = self.step else { return Ok(None) };
        Ok(Some(within("step", step, f64::MIN_POSITIVE, 1.0)?))
    }

    fn source(&self) -> Found<ChargeSource> {
        match need("what", &self.what)? {
            "shore" => Ok(ChargeSource::Shore),
            "generator" => Ok(ChargeSource::Generator),
            other => Err(RecordFault::Bad("what", other.into())),
        }
    }

    fn spot(&self) -> Found<Spot> {
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

    fn weather(&self) -> Found<DayWeather> {
        let date = need("date", &self.date)?;
        let share = |cloud| within("cloud", cloud, 0.0, 1.0);
        let sun = |sun| within("sun_kwh_m2", sun, 0.0, 100.0);
        Ok(DayWeather {
            issued: moment("issued", need("issued", &self.issued)?)?,
            date: date.parse::<NaiveDate>().map_err(|_| RecordFault::Bad("date", date.into()))?,
            low_c: within("low_c", need_copy("low_c", self.low_c)?, -100.0, 100.0)?,
            high_c: within("high_c", need_copy("high_c", self.high_c)?, -100.0, 100.0)?,
            sun_kwh_m2: self.sun_kwh_m2.map(sun).transpose()?,
            cloud: self.cloud.map(share).transpose()?,
            place: self.what.as_deref().map(String::from),
        })
    }
}

fn kind(event: &Event) -> &'static str {
    match event {
        Event::Use { .. } => "use",
        Event::Level { .. } => "level",
        Event::Fill { .. } => "fill",
        Event::Empty { .. } => "empty",
        Event::Drive(_) => "drive",
        Event::Charge { .. } => "charge",
        Event::Camp(_) => "camp",
        Event::Crew(_) => "crew",
        Event::DayClosed => "day",
        Event::Note(_) => "note",
        Event::Outlook(_) => "outlook",
    }
}

fn need<'r>(field: &'static str, value: &'r Option<Cow<'_, str>>) -> Found<&'r str> {
    value.as_deref().ok_or(RecordFault::Missing(field))
}

fn need_copy<T: Copy>(field: &'static str, value: Option<T>) -> Found<T> {
    value.ok_or(RecordFault::Missing(field))
}

/// Also stops NaN and infinities, which RON can write.
fn within(field: &'static str, value: f64, low: f64, high: f64) -> Found<f64> {
    match (low..=high).contains(&value) {
        true => Ok(value),
        false => Err(RecordFault::Bad(field, value.to_string())),
    }
}

fn amount(field: &'static str, milli: i64) -> Found<Amount> {
    Amount::from_milli(milli).ok_or_else(|| RecordFault::Bad(field, milli.to_string()))
}

/// Unit words in the journal do not depend on what a person wants to see: `gal` is never written.
fn unit(word: &str) -> Unit {
    Unit::from_word(word, UnitSystem::Metric).unwrap_or_else(|| Unit::Own(word.into()))
}

fn entry_id(field: &'static str, text: &str) -> Found<EntryId> {
    if text.is_empty() {
        return Err(RecordFault::Missing(field));
    }
    let bad = || RecordFault::Bad(field, text.into());
    let id: EntryId = text.parse().map_err(|()| bad())?;
    if is_device_name(&id.device) { Ok(id) } else { Err(bad()) }
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

fn moment(field: &'static str, text: &str) -> Found<Moment> {
    if text.is_empty() {
        return Err(RecordFault::Missing(field));
    }
    let parsed = usual_moment(text.as_bytes()).or_else(|| DateTime::parse_from_rfc3339(text).ok());
    parsed.ok_or_else(|| RecordFault::Bad(field, text.into()))
}

/// `2026-06-01T08:00:00+02:00`, the form that nearly every record has, several times faster than
/// chrono's reader of all forms. `None` for anything else.
fn usual_moment(text: &[u8]) -> Option<Moment> {
    let text: &[u8; 25] = text.try_into().ok()?;
    let marks = [text[4], text[7], text[10], text[13], text[16], text[22]];
    if marks != *b"--T:::" {
        return None;
    }
    let number = |from: usize, to: usize| {
        text[from..to]
            .iter()
            .try_fold(0_u32, |sum, b| b.is_ascii_digit().then(|| sum * 10 + u32::from(b - b'0')))
    };
    let year = i32::try_from(number(0, 4)?).ok()?;
    let date = NaiveDate::from_ymd_opt(year, number(5, 7)?, number(8, 10)?)?;
    let local = date.and_hms_opt(number(11, 13)?, number(14, 16)?, number(17, 19)?)?;
    let (hours, minutes) = (number(20, 22)?, number(23, 25)?);
    let east = match text[19] {
        b'+' => 1,
        b'-' => -1,
        _ => return None,
    };
    if minutes > 59 {
        return None;
    }
    let seconds = i32::try_from(hours * 3600 + minutes * 60).ok()?;
    let offset = FixedOffset::east_opt(east * seconds)?;
    local.and_local_timezone(offset).single()
}
