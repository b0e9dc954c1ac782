//! How the fields of a record are written in our own form of a line, and read back from it.

use serde::Deserialize;
use std::borrow::Cow;
use std::fmt::Write;

/// A type of field. What is absent is not written.
pub(super) trait Field<'a>: Sized {
    /// Adds the field to a record that is being written.
    fn put(&self, out: &mut String, name: &str);
    /// Takes the value off the front of `rest`; `None` for what only `ron` can judge.
    fn take(rest: &mut &'a str) -> Option<Self>;
}

/// A record's checksum. It is written and checked when the rest is, by [`crate::store::line`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(from = "u32")]
pub(in crate::store) struct Crc;

impl From<u32> for Crc {
    fn from(_: u32) -> Crc {
        Crc
    }
}

impl<'a> Field<'a> for Crc {
    fn put(&self, _: &mut String, _: &str) {}

    /// Elsewhere than at the end it is none of ours.
    fn take(_: &mut &'a str) -> Option<Crc> {
        None
    }
}

macro_rules! plain {
    ($($kind:ty),*) => {$(
        impl<'a> Field<'a> for $kind {
            fn put(&self, out: &mut String, name: &str) {
                put(out, name, self);
            }

            fn take(rest: &mut &'a str) -> Option<$kind> {
                plain(rest)?.parse().ok()
            }
        }
    )*};
}

plain!(u32, i64, bool);

impl<'a> Field<'a> for f64 {
    fn put(&self, out: &mut String, name: &str) {
        put(out, name, self);
    }

    fn take(rest: &mut &'a str) -> Option<f64> {
        let word = plain(rest)?;
        // Words such as `inf` and forms such as `1_0` are left to `ron`.
        let usual = |b: u8| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'e');
        let value: f64 = word.bytes().all(usual).then(|| word.parse().ok())??;
        value.is_finite().then_some(value)
    }
}

impl<'a> Field<'a> for Cow<'a, str> {
    fn put(&self, out: &mut String, name: &str) {
        put_text(out, name, self);
    }

    fn take(rest: &mut &'a str) -> Option<Cow<'a, str>> {
        quoted(rest)
    }
}

impl<'a, T: Field<'a>> Field<'a> for Option<T> {
    fn put(&self, out: &mut String, name: &str) {
        self.iter().for_each(|value| value.put(out, name));
    }

    fn take(rest: &mut &'a str) -> Option<Option<T>> {
        T::take(rest).map(Some)
    }
}

/// `Debug` of a float is the shortest decimal that reads back as the same one, always with a
/// point or an exponent; of a whole number or a truth value it is what RON writes.
fn put<T: std::fmt::Debug>(out: &mut String, name: &str, value: T) {
    // Writing to a string cannot fail.
    let _ = write!(out, "{}{name}:{value:?}", before(out));
}

/// What stands before a field: the bracket before the first one, else a comma.
fn before(out: &str) -> char {
    if out.is_empty() { '(' } else { ',' }
}

fn put_text(out: &mut String, name: &str, value: &str) {
    let _ = write!(out, "{}{name}:\"", before(out));
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

/// A value without quotes: up to the next comma or bracket, or the end.
fn plain<'a>(rest: &mut &'a str) -> Option<&'a str> {
    let end = rest.bytes().position(|b| b == b',' || b == b')').unwrap_or(rest.len());
    let (word, after) = rest.split_at(end);
    *rest = after;
    let first = word.bytes().next()?;
    (first.is_ascii_alphanumeric() || first == b'-').then_some(word)
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
