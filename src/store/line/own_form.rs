//! Reads a record in our own form: no blanks, no `Some`, fields in any order.
//!
//! It is there for speed: tens of thousands of records are read whenever the program starts.
//! Whatever is not plainly in our form is left to `any_form`; where both read a line, they agree,
//! and a test says so.

use crate::store::record::{self, Record};

/// The record and how many of its fields are not ours; `None` for what only `ron` can judge.
pub(super) fn parse(text: &str) -> Option<(Record<'_>, u32)> {
    let mut record = Record::default();
    let mut unknown = 0;
    let mut seen = 0_u32;
    let mut rest = text.strip_prefix('(')?;
    loop {
        let end = rest.bytes().position(|b| b == b':')?;
        let name = &rest[..end];
        rest = &rest[end + 1..];
        match record.fill(name, &mut rest)? {
            // A field given twice is an error, which `ron` words best.
            Some(place) if seen & (1 << place) != 0 => return None,
            Some(place) => seen |= 1 << place,
            None => {
                unknown += 1;
                record::skip(name, &mut rest)?;
            }
        }
        match rest.as_bytes() {
            [b',', ..] => rest = &rest[1..],
            b")" => return Some((record, unknown)),
            _ => return None,
        }
    }
}
