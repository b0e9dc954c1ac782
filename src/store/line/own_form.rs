//! Reads a record in our own form: no blanks, no `Some`, fields in any order, the checksum last.
//!
//! It is there for speed: tens of thousands of records are read whenever the program starts.
//! Whatever is not plainly in our form is left to `any_form`; where both read a line, they agree,
//! and a test says so.

use crate::store::record::{self, Record};

/// Fills `record`, which is empty, from a whole line whose last `sealed` bytes are its checksum; how
/// many of its fields are not ours. `None` for what only `ron` can judge; the record then is no use.
pub(super) fn parse<'a>(text: &'a str, sealed: usize, record: &mut Record<'a>) -> Option<u32> {
    let (body, seal) = text.split_at_checked(text.len().checked_sub(sealed)?)?;
    let digits = seal.strip_prefix(",crc:0x")?.strip_suffix(')')?;
    if !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    let mut unknown = 0;
    let mut seen = 0_u32;
    let mut rest = body.strip_prefix('(')?;
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
            [] => return Some(unknown),
            [b',', ..] => rest = &rest[1..],
            _ => return None,
        }
    }
}
