//! A record as one line of RON, and back.
//!
//! The line is `(v:1,id:"...",...,crc:0x0badcafe)`: `v` first and the CRC-32 of all bytes before
//! `,crc:` last, in this version and all later ones. Our own form has no blanks and no `Some`, and
//! is read by `own_form`; any other valid RON goes to the `ron` crate.

mod any_form;
mod own_form;
#[cfg(test)]
mod tests;

use super::record::{Record, RecordFault, VERSION};
use crate::domain::entry::Entry;
use std::borrow::Cow;
use std::fmt::Write;

/// Longest line that is read or written, in bytes, without its newline.
pub const LONGEST: usize = 64 * 1024;

/// Bytes of `,crc:0x0badcafe)`.
const SEAL: usize = 16;

/// What one line turned out to be.
#[derive(Debug, Clone, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "nearly every line is an entry; a box costs more")]
pub enum Reading {
    /// An entry, and how many fields it has that this version does not know.
    Entry(Entry, u32),
    /// A whole record of a kind that this version does not know.
    UnknownKind(String),
    /// A whole record of a newer version of the form.
    Newer(u32),
    /// No whole record: the column of the trouble in bytes, from 1, and what it is.
    Damaged(u64, String),
}

/// The line for an entry, without its newline. What does not read back as the same entry (a
/// number that is not finite, a year past 9999, a line too long) gives what is wrong.
pub fn write(entry: &Entry) -> Result<String, String> {
    let line = seal(body(&Record::from(entry)));
    if line.len() > LONGEST {
        return Err(format!("{} bytes in one entry, at most {LONGEST}", line.len()));
    }
    match read(line.as_bytes()) {
        Reading::Entry(back, 0) if back == *entry => Ok(line),
        Reading::Damaged(_, why) => Err(why),
        _ => Err("it would not read back as it was written".into()),
    }
}

/// Adds the checksum and the closing bracket.
pub(super) fn seal(mut body: String) -> String {
    let crc = crc32fast::hash(body.as_bytes());
    body.push_str(&format!(",crc:0x{crc:08x})"));
    body
}

fn hex(crc: u32) -> [u8; 8] {
    std::array::from_fn(|place| {
        let digit = (crc >> (28 - 4 * place)) & 15;
        b"0123456789abcdef"[digit as usize]
    })
}

/// The bytes that a checksum covers, if it is there and right; else the column of the trouble.
pub(super) fn unseal(line: &[u8]) -> Result<&[u8], (u64, String)> {
    let column = |offset: usize| offset as u64 + 1;
    let cut = line.len().checked_sub(SEAL).ok_or((1, "no whole record".to_string()))?;
    let (body, found) = line.split_at(cut);
    if !found.starts_with(b",crc:0x") {
        return Err((column(cut), "the record does not end in a checksum".to_string()));
    }
    // The digits as they are written, so that a changed case of a letter is found as well.
    if found[7..15] != hex(crc32fast::hash(body)) || found[15] != b')' {
        let why =
            format!("checksum is {}, not the record's", String::from_utf8_lossy(&found[5..15]));
        return Err((column(cut), why));
    }
    Ok(body)
}

/// Reads one line, given without its newline. Never fails and never panics.
pub fn read(line: &[u8]) -> Reading {
    let line = line.strip_suffix(b"\r").unwrap_or(line);
    if line.len() > LONGEST {
        return Reading::Damaged(1, format!("{} bytes in one line, at most {LONGEST}", line.len()));
    }
    if let Err((column, why)) = unseal(line) {
        return Reading::Damaged(column, why);
    }
    let text = match std::str::from_utf8(line) {
        Ok(text) => text,
        Err(error) => {
            return Reading::Damaged(error.valid_up_to() as u64 + 1, "not valid UTF-8".into());
        }
    };
    // A newer version may have changed the meaning of any field but this.
    if let Some(version) = leading_version(text).filter(|v| *v > VERSION) {
        return Reading::Newer(version);
    }
    let (record, unknown) = match own_form::parse(text) {
        Some(found) => found,
        None => match any_form::parse(text) {
            Ok(found) => found,
            Err((column, why)) => return Reading::Damaged(column, why),
        },
    };
    match (record.v, record.to_entry()) {
        (0, _) => Reading::Damaged(1, "no version".into()),
        (v, _) if v > VERSION => Reading::Newer(v),
        (_, Ok(entry)) => Reading::Entry(entry, unknown),
        (_, Err(RecordFault::UnknownKind(kind))) => Reading::UnknownKind(kind),
        (_, Err(fault)) => {
            let place = text.find(&format!("{}:", fault.field())).unwrap_or(0);
            let why = match &fault {
                RecordFault::Bad(field, found) => format!("{field} cannot be {found:?}"),
                other => format!("{} is missing", other.field()),
            };
            Reading::Damaged(place as u64 + 1, why)
        }
    }
}

fn leading_version(text: &str) -> Option<u32> {
    text.strip_prefix("(v:")?.split([',', ')']).next()?.parse().ok()
}

/// The record's fields in our own form, without checksum and closing bracket.
fn body(record: &Record) -> String {
    let mut out = String::with_capacity(192);
    let _ = write!(out, "(v:{}", record.v);
    put_text(&mut out, "id", Some(&record.id));
    put_text(&mut out, "at", Some(&record.at));
    put_text(&mut out, "recorded", record.recorded.as_ref());
    put_text(&mut out, "kind", Some(&record.kind));
    put_text(&mut out, "corrects", record.corrects.as_ref());
    put_text(&mut out, "of", record.of.as_ref());
    put_text(&mut out, "what", record.what.as_ref());
    put(&mut out, "amount", record.amount);
    put_text(&mut out, "unit", record.unit.as_ref());
    put(&mut out, "step", record.step);
    put(&mut out, "full", record.full);
    put(&mut out, "after", record.after);
    put_text(&mut out, "after_unit", record.after_unit.as_ref());
    put(&mut out, "latitude", record.latitude);
    put(&mut out, "longitude", record.longitude);
    put_text(&mut out, "text", record.text.as_ref());
    put_text(&mut out, "issued", record.issued.as_ref());
    put_text(&mut out, "date", record.date.as_ref());
    put(&mut out, "low_c", record.low_c);
    put(&mut out, "high_c", record.high_c);
    put(&mut out, "sun_kwh_m2", record.sun_kwh_m2);
    put(&mut out, "cloud", record.cloud);
    put_text(&mut out, "note", record.note.as_ref());
    out
}

/// `Debug` of a float is the shortest decimal that reads back as the same one, always with a
/// point or an exponent; of a whole number or a truth value it is what RON writes.
fn put<T: std::fmt::Debug>(out: &mut String, name: &str, value: Option<T>) {
    if let Some(value) = value {
        // Writing to a string cannot fail.
        let _ = write!(out, ",{name}:{value:?}");
    }
}

fn put_text(out: &mut String, name: &str, value: Option<&Cow<'_, str>>) {
    let Some(value) = value else { return };
    let _ = write!(out, ",{name}:\"");
    for c in value.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
}

/// Every field of a record, in the order in which they are written.
const FIELDS: &[&str] = &[
    "v",
    "id",
    "at",
    "recorded",
    "kind",
    "corrects",
    "of",
    "what",
    "amount",
    "unit",
    "step",
    "full",
    "after",
    "after_unit",
    "latitude",
    "longitude",
    "text",
    "issued",
    "date",
    "low_c",
    "high_c",
    "sun_kwh_m2",
    "cloud",
    "note",
    "crc",
];
