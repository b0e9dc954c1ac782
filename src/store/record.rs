//! The on-disk form of an entry, format 1: a flat record of texts, whole numbers and a few plain
//! decimals, and its conversions to and from `domain::entry`.
//!
//! Fields are only ever added, never renamed or given another meaning; how a record becomes a
//! line is [`super::line`]'s matter. Amounts are whole thousandths.

mod field;
mod from_entry;
mod to_entry;

use field::{Crc, Field};
use serde::Deserialize;
use std::borrow::Cow;
pub(super) use to_entry::CheckedRecord;

/// The version that this program writes, and the newest that it reads.
pub const VERSION: u32 = 1;

/// The fields of a record, each named once: from this table come the type, the order in which
/// fields are written, and how our own form of a line is read. How a type of field is written and
/// read is [`Field`]'s matter.
macro_rules! fields {
    ($($(#[$meta:meta])* $name:ident: $kind:ty,)*) => {
        /// One record, all of whose fields but `v`, `id`, `at` and `kind` may be absent.
        #[derive(Debug, Clone, PartialEq, Default, Deserialize)]
        #[serde(default)]
        pub(in crate::store) struct Record<'a> {
            $($(#[$meta])* pub $name: $kind,)*
        }

        /// Every field of a record, in the order in which they are written.
        pub(super) const FIELDS: &[&str] = &[$(stringify!($name)),*];

        impl<'a> Record<'a> {
            /// The record in our own form, without checksum and closing bracket.
            pub(super) fn written(&self) -> String {
                let mut out = String::with_capacity(192);
                $(self.$name.put(&mut out, stringify!($name));)*
                out
            }

            /// Fills a record, which is empty, from a line as this program writes it, without its
            /// checksum: no blanks, no `Some`, the fields in their order. It is there for speed, as
            /// tens of thousands are read whenever the program starts. `None` for what only `ron` can
            /// judge; the record then is no use. Where both read a line, they agree, and a test says so.
            pub(super) fn fill(&mut self, text: &'a str) -> Option<()> {
                let mut rest = text.strip_prefix('(')?;
                $({
                    // As arrays, so that they are compared in one step.
                    const NAME: &str = concat!(stringify!($name), ":");
                    let start = rest.as_bytes().first_chunk::<{ NAME.len() }>();
                    if start.is_some_and(|start| start == NAME.as_bytes()) {
                        rest = &rest[NAME.len()..];
                        self.$name = Field::take(&mut rest)?;
                        if rest.is_empty() {
                            return Some(());
                        }
                        rest = rest.strip_prefix(',')?;
                    }
                })*
                // Something else stands there, if only a comma too many.
                let _ = rest;
                None
            }
        }
    };
}

fields! {
    /// Version of the form.
    v: u32,
    /// The entry's id, `device-sequence-salt`.
    #[serde(borrow)]
    id: Cow<'a, str>,
    /// When it happened, RFC 3339.
    at: Cow<'a, str>,
    /// When it was written down; absent when the same as `at`.
    recorded: Option<Cow<'a, str>>,
    /// `use`, `level`, `fill`, `empty`, `drive`, `charge`, `camp`, `crew`, `day`, `note`,
    /// `outlook`, `retract`, `restore`.
    kind: Cow<'a, str>,
    /// The entry that this one corrects.
    corrects: Option<Cow<'a, str>>,
    /// The entry that is taken back or put back.
    of: Option<Cow<'a, str>>,
    /// The activity, stock, place or source of charge.
    what: Option<Cow<'a, str>>,
    /// Thousandths of `unit`.
    amount: Option<i64>,
    /// Unit of `amount`, by its first word.
    unit: Option<Cow<'a, str>>,
    /// A gauge's step as a share of capacity.
    step: Option<f64>,
    /// Filled to the brim.
    full: Option<bool>,
    /// Thousandths of `after_unit` that it ended at.
    after: Option<i64>,
    /// Unit of `after`.
    after_unit: Option<Cow<'a, str>>,
    /// Degrees north.
    latitude: Option<f64>,
    /// Degrees east.
    longitude: Option<f64>,
    /// Text of a note entry.
    text: Option<Cow<'a, str>>,
    /// When an outlook's row was issued, RFC 3339.
    issued: Option<Cow<'a, str>>,
    /// The day that it speaks of, `YYYY-MM-DD`.
    date: Option<Cow<'a, str>>,
    /// Lowest temperature.
    low_c: Option<f64>,
    /// Highest temperature.
    high_c: Option<f64>,
    /// Sun over the day.
    sun_kwh_m2: Option<f64>,
    /// Cloud cover.
    cloud: Option<f64>,
    /// A remark that came with the entry.
    note: Option<Cow<'a, str>>,
    /// How many entries that were saved in one go with this one follow it; absent when it was saved
    /// alone. They count once the last one, which says 0, is there.
    more: Option<u32>,
    /// Checksum of the bytes before it.
    crc: Crc,
}

/// Why a record is no entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum RecordFault {
    /// A kind of entry that this version does not know.
    UnknownKind(String),
    /// A field, and what is wrong with it in a sentence.
    Wrong(&'static str, String),
}

impl RecordFault {
    fn missing(field: &'static str) -> RecordFault {
        RecordFault::Wrong(field, format!("{field} is missing"))
    }

    fn bad(field: &'static str, found: impl std::fmt::Debug) -> RecordFault {
        RecordFault::Wrong(field, format!("{field} cannot be {found:?}"))
    }
}

/// Whether `name` may name a device: `[a-z0-9-]{1,64}`, so that it is a safe file name too.
pub(super) fn is_device_name(name: &str) -> bool {
    let plain = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-';
    (1..=64).contains(&name.len()) && name.bytes().all(plain)
}
