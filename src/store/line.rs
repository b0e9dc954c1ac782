//! A record as one line of RON, and back.
//!
//! The line is `(v:1,id:"...",...,crc:0x0badcafe)`: `v` first and the CRC-32 of all bytes before
//! `,crc:` last, in this version and all later ones. Our own form has no blanks and no `Some`, and
//! is read by a small reader of its own (RON's takes ten times as long); any other valid RON
//! goes to the `ron` crate. Both agree on every line that we write; a test says so.

use super::record::{Record, RecordFault, VERSION};
use crate::domain::entry::Entry;
use ron::extensions::Extensions;
use serde::Deserialize;
use std::borrow::Cow;
use std::fmt::Write;

/// Longest line that is read or written, in bytes, without its newline.
pub const LONGEST: usize = 64 * 1024;

/// Bytes of `,crc:0x0badcafe)`.
const SEAL: usize = 16;

/// What one line turned out to be.
#[derive(Debug, Clone, PartialEq)]
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

/// The bytes that a checksum covers, if it is there and right; else the column of the trouble.
pub(super) fn unseal(line: &[u8]) -> Result<&[u8], (u64, String)> {
    let column = |offset: usize| offset as u64 + 1;
    let cut = line.len().checked_sub(SEAL).ok_or((1, "no whole record".to_string()))?;
    let (body, seal) = line.split_at(cut);
    let told = seal
        .strip_prefix(b",crc:0x")
        .and_then(|rest| rest.strip_suffix(b")"))
        .and_then(|digits| std::str::from_utf8(digits).ok())
        .and_then(|digits| u32::from_str_radix(digits, 16).ok())
        .ok_or_else(|| (column(cut), "the record does not end in a checksum".to_string()))?;
    let found = crc32fast::hash(body);
    if told != found {
        let why = format!("checksum 0x{told:08x}, but the record's is 0x{found:08x}");
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
    let (record, unknown) = match parse_own(text) {
        Some(found) => found,
        None => match parse_any(text) {
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

/// Any valid RON, through the `ron` crate, with its limit on depth.
fn parse_any(text: &str) -> Result<(Record<'_>, u32), (u64, String)> {
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let place = |error: ron::error::SpannedError| {
        (error.span.start.col.max(1) as u64, error.code.to_string())
    };
    let record: Record = options.from_str(text).map_err(place)?;
    let Names(unknown) = options.from_str(text).map_err(place)?;
    Ok((record, unknown))
}

/// How many of a record's fields are not ours.
struct Names(u32);

/// A field's name, which RON does not write in quotes; whether it is ours.
struct Name(bool);

impl<'de> Deserialize<'de> for Name {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Name, D::Error> {
        struct Visitor;
        impl serde::de::Visitor<'_> for Visitor {
            type Value = Name;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a field's name")
            }
            fn visit_str<E>(self, name: &str) -> Result<Name, E> {
                Ok(Name(FIELDS.contains(&name)))
            }
        }
        deserializer.deserialize_identifier(Visitor)
    }
}

impl<'de> Deserialize<'de> for Names {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Names, D::Error> {
        struct Visitor;
        impl<'de> serde::de::Visitor<'de> for Visitor {
            type Value = Names;
            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("a record")
            }
            fn visit_map<A: serde::de::MapAccess<'de>>(
                self,
                mut map: A,
            ) -> Result<Names, A::Error> {
                let mut unknown = 0;
                while let Some(Name(ours)) = map.next_key()? {
                    unknown += u32::from(!ours);
                    map.next_value::<serde::de::IgnoredAny>()?;
                }
                Ok(Names(unknown))
            }
        }
        deserializer.deserialize_struct("Record", FIELDS, Visitor)
    }
}

/// Every field of a record.
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

/// Our own form, and how many fields are not ours; `None` for anything that only `ron` can judge.
fn parse_own(text: &str) -> Option<(Record<'_>, u32)> {
    let mut record = Record::default();
    let mut unknown = 0;
    let mut seen = 0_u32;
    let mut rest = text.strip_prefix('(')?;
    loop {
        let (name, after_name) = rest.split_once(':')?;
        rest = after_name;
        match FIELDS.iter().position(|field| *field == name) {
            // A field given twice is an error, which `ron` words best.
            Some(index) if seen & (1 << index) != 0 => return None,
            Some(index) => seen |= 1 << index,
            None => unknown += 1,
        }
        fill(&mut record, name, &mut rest)?;
        match rest.as_bytes() {
            [b',', ..] => rest = &rest[1..],
            b")" => return Some((record, unknown)),
            _ => return None,
        }
    }
}

fn fill<'a>(record: &mut Record<'a>, name: &str, rest: &mut &'a str) -> Option<()> {
    match name {
        "v" => record.v = plain(rest)?.parse().ok()?,
        "id" => record.id = quoted(rest)?,
        "at" => record.at = quoted(rest)?,
        "recorded" => record.recorded = Some(quoted(rest)?),
        "kind" => record.kind = quoted(rest)?,
        "corrects" => record.corrects = Some(quoted(rest)?),
        "of" => record.of = Some(quoted(rest)?),
        "what" => record.what = Some(quoted(rest)?),
        "amount" => record.amount = Some(plain(rest)?.parse().ok()?),
        "unit" => record.unit = Some(quoted(rest)?),
        "step" => record.step = Some(decimal(rest)?),
        "full" => record.full = Some(plain(rest)?.parse().ok()?),
        "after" => record.after = Some(plain(rest)?.parse().ok()?),
        "after_unit" => record.after_unit = Some(quoted(rest)?),
        "latitude" => record.latitude = Some(decimal(rest)?),
        "longitude" => record.longitude = Some(decimal(rest)?),
        "text" => record.text = Some(quoted(rest)?),
        "issued" => record.issued = Some(quoted(rest)?),
        "date" => record.date = Some(quoted(rest)?),
        "low_c" => record.low_c = Some(decimal(rest)?),
        "high_c" => record.high_c = Some(decimal(rest)?),
        "sun_kwh_m2" => record.sun_kwh_m2 = Some(decimal(rest)?),
        "cloud" => record.cloud = Some(decimal(rest)?),
        "note" => record.note = Some(quoted(rest)?),
        "crc" => {
            let digits = plain(rest)?.strip_prefix("0x")?;
            record.crc = u32::from_str_radix(digits, 16).ok()?;
        }
        other => skip(other, rest)?,
    }
    Some(())
}

/// A field of a newer version, if it is as flat as ours.
fn skip(name: &str, rest: &mut &str) -> Option<()> {
    if name.is_empty() || !name.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'_') {
        return None;
    }
    if rest.starts_with('"') {
        return quoted(rest).map(drop);
    }
    let word = plain(rest)?;
    (matches!(word, "true" | "false") || word.parse::<i64>().is_ok()).then_some(())
}

/// A value without quotes: up to the next comma or bracket.
fn plain<'a>(rest: &mut &'a str) -> Option<&'a str> {
    let end = rest.bytes().position(|b| b == b',' || b == b')')?;
    let (word, after) = rest.split_at(end);
    *rest = after;
    let first = word.bytes().next()?;
    (first.is_ascii_alphanumeric() || first == b'-').then_some(word)
}

fn decimal(rest: &mut &str) -> Option<f64> {
    let word = plain(rest)?;
    // Words such as `inf` and forms such as `1_0` are left to `ron`.
    let usual = |b: u8| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'e');
    let value: f64 = word.bytes().all(usual).then(|| word.parse().ok())??;
    value.is_finite().then_some(value)
}

fn quoted<'a>(rest: &mut &'a str) -> Option<Cow<'a, str>> {
    let inner = rest.strip_prefix('"')?;
    let end = inner.bytes().position(|b| b == b'"' || b == b'\\')?;
    if inner.as_bytes()[end] == b'"' {
        *rest = &inner[end + 1..];
        return Some(Cow::Borrowed(&inner[..end]));
    }
    let mut text = String::from(&inner[..end]);
    let mut chars = inner[end..].char_indices();
    while let Some((offset, c)) = chars.next() {
        match c {
            '"' => {
                *rest = &inner[end + offset + 1..];
                return Some(Cow::Owned(text));
            }
            '\\' => match chars.next()?.1 {
                'n' => text.push('\n'),
                'r' => text.push('\r'),
                't' => text.push('\t'),
                plain @ ('"' | '\\') => text.push(plain),
                'u' => text.push(unicode(&mut chars)?),
                _ => return None,
            },
            c => text.push(c),
        }
    }
    None
}

/// `{1b}` after `\u`.
fn unicode(chars: &mut std::str::CharIndices<'_>) -> Option<char> {
    if chars.next()?.1 != '{' {
        return None;
    }
    let mut code = 0_u32;
    for _ in 0..7 {
        match chars.next()?.1 {
            '}' => return char::from_u32(code),
            digit => code = code * 16 + digit.to_digit(16)?,
        }
    }
    None
}
