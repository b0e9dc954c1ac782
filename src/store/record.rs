//! The on-disk form of an entry, format 1: a flat record of texts, whole numbers and a few plain
//! decimals, and its conversions to and from `domain::entry`.
//!
//! Fields are only ever added, never renamed or given another meaning; how a record becomes a
//! line is [`super::line`]'s matter. Amounts are whole thousandths.

mod from_entry;
mod to_entry;

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

/// Whether `name` may name a device: `[a-z0-9-]{1,64}`, so that it is a safe file name too.
pub fn is_device_name(name: &str) -> bool {
    let plain = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    (1..=64).contains(&name.len()) && name.bytes().all(plain)
}
