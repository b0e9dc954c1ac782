//! Reads a record in our own form: no blanks, no `Some`, fields in any order.
//!
//! It is there for speed: tens of thousands of records are read whenever the program starts.
//! Whatever is not plainly in our form is left to `any_form`; where both read a line, they agree,
//! and a test says so.

use super::FIELDS;
use crate::store::record::Record;
use std::borrow::Cow;

/// The record and how many of its fields are not ours; `None` for what only `ron` can judge.
pub(super) fn parse(text: &str) -> Option<(Record<'_>, u32)> {
    let mut record = Record::default();
    let mut unknown = 0;
    let mut seen = 0_u32;
    let mut next = 0;
    let mut rest = text.strip_prefix('(')?;
    loop {
        let end = rest.bytes().position(|b| b == b':')?;
        let name = &rest[..end];
        rest = &rest[end + 1..];
        // Fields come in their usual order, so the search goes on where the last one ended.
        let at = FIELDS[next..].iter().position(|field| *field == name).map(|at| next + at);
        match at.or_else(|| FIELDS.iter().position(|field| *field == name)) {
            // A field given twice is an error, which `ron` words best.
            Some(index) if seen & (1 << index) != 0 => return None,
            Some(index) => (seen, next) = (seen | 1 << index, index + 1),
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
            // A sign before the digits is read by the standard library, but is none of RON.
            let digits = digits.bytes().all(|b| b.is_ascii_hexdigit()).then_some(digits)?;
            record.crc = u32::from_str_radix(digits, 16).ok()?;
        }
        other => skip(other, rest)?,
    }
    Some(())
}

/// A field of a newer version, if it is as flat as ours.
fn skip(name: &str, rest: &mut &str) -> Option<()> {
    if name.is_empty() {
        return None;
    }
    let letters = |b: u8| b.is_ascii_alphanumeric() || b == b'_';
    if name.starts_with(|c: char| c.is_ascii_digit()) || !name.bytes().all(letters) {
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
    let end = memchr::memchr2(b'"', b'\\', inner.as_bytes())?;
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
    for digits in 0..7 {
        match chars.next()?.1 {
            '}' if digits > 0 => return char::from_u32(code),
            digit => code = code * 16 + digit.to_digit(16)?,
        }
    }
    None
}
