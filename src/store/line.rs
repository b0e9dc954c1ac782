//! A record as one line of RON, and back.
//!
//! The line is `(v:1,id:"...",...,crc:0x0badcafe)`: `v` first and the CRC-32 of all bytes before
//! `,crc:` last, in this version and all later ones. What is not as we write it, but valid RON, goes
//! to the `ron` crate.

#[cfg(test)]
mod tests;

use super::record::{CheckedRecord, FIELDS, Record, RecordFault, VERSION};
use super::ron_text;
use crate::domain::Entry;
use ron::extensions::Extensions;

/// Longest line that is read or written, in bytes, without its newline.
pub const LONGEST: usize = 64 * 1024;

/// Bytes of `,crc:0x0badcafe)`.
const SEAL: usize = 16;

/// What one line turned out to be.
#[derive(Debug, Clone, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "nearly every line is an entry; a box costs more")]
pub enum LineRead {
    /// An entry, and what its record says beside it.
    Entry(Entry, Beside),
    /// A whole record of a kind that this version does not know.
    UnknownKind(String),
    /// A whole record of a newer version of the form.
    Newer(u32),
    /// No whole record: the column of the trouble in bytes, from 1, and what it is.
    Damaged(u64, String),
}

/// What a record says beside its entry.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Beside {
    /// How many fields it has that this version does not know.
    pub unknown: u32,
    /// How many entries that were saved in one go with this one follow it; `None` = it was saved
    /// alone.
    pub more: Option<u32>,
}

/// The line for an entry, without its newline; `more` entries that were saved in one go with it
/// follow, `None` = it was saved alone. What does not read back as the same entry (a number that is
/// not finite, a year past 9999, a line too long) gives what is wrong.
pub fn write(entry: &Entry, more: Option<u32>) -> Result<String, String> {
    let line = seal(Record { more, ..Record::from(entry) }.written());
    if line.len() > LONGEST {
        return Err(format!("{} bytes in one entry, at most {LONGEST}", line.len()));
    }
    match read(line.as_bytes()) {
        LineRead::Entry(back, beside)
            if back == *entry && beside == Beside { unknown: 0, more } =>
        {
            Ok(line)
        }
        LineRead::Damaged(_, why) => Err(why),
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

/// How many records a line that is no whole record may stand for: as many as there are seals in
/// it, one of which may be off by a byte. A line that was cut off while it was written has none.
pub(super) fn seals(line: &[u8]) -> usize {
    let line = line.strip_suffix(b"\r").unwrap_or(line);
    let whole = memchr::memmem::find_iter(line, b",crc:0x").count();
    // Of the last line of a file, it may be the newline that is broken.
    let near = nearly_sealed(line) || line.split_last().is_some_and(|(_, but)| nearly_sealed(but));
    if near { whole.max(1) } else { 0 }
}

/// Whether a line ends in what may have been a seal, with at most one byte of its frame off.
fn nearly_sealed(line: &[u8]) -> bool {
    line.len().checked_sub(SEAL).is_some_and(|cut| {
        let end = &line[cut..];
        let frame = b",crc:0x".iter().chain(b")").zip(end[..7].iter().chain(&end[15..]));
        frame.filter(|(mark, found)| mark == found).count() >= 7
    })
}

/// Whether a line that is no whole record may be the beginning of one: text that starts as we
/// write records and has no seal.
pub(super) fn is_beginning(line: &[u8]) -> bool {
    let text = match std::str::from_utf8(line) {
        Ok(text) => text,
        // A character whose last bytes never came.
        Err(error) if error.error_len().is_none() => {
            std::str::from_utf8(&line[..error.valid_up_to()]).unwrap_or_default()
        }
        Err(_) => return false,
    };
    let begins = text.starts_with("(v:") || "(v:".starts_with(text);
    let short = line.len() <= LONGEST && seals(line) == 0;
    short && begins && !text.chars().any(char::is_control)
}

/// Reads one line, given without its newline. Never fails and never panics.
pub fn read(line: &[u8]) -> LineRead {
    read_as(line, |said, beside| LineRead::Entry(said.entry(), beside))
        .unwrap_or_else(|other| *other)
}

/// The same, for those who do not need the whole entry: `take` makes of what it says what it likes.
/// What is no entry is seldom, and so boxed.
pub(super) fn read_as<T>(
    line: &[u8],
    take: impl FnOnce(CheckedRecord, Beside) -> T,
) -> Result<T, Box<LineRead>> {
    let line = line.strip_suffix(b"\r").unwrap_or(line);
    let damaged = |(column, why)| Box::new(LineRead::Damaged(column, why));
    if line.len() > LONGEST {
        return Err(damaged((1, format!("{} bytes in one line, at most {LONGEST}", line.len()))));
    }
    let sealed = unseal(line).map_err(damaged)?.len();
    let text = std::str::from_utf8(line)
        .map_err(|error| damaged((error.valid_up_to() as u64 + 1, "not valid UTF-8".into())))?;
    let (mut record, mut unknown) = (Record::default(), 0);
    if record.fill(&text[..sealed]).is_none() {
        // A newer version may have changed the meaning of any field but this.
        if let Some(version) = leading_version(text).filter(|version| *version > VERSION) {
            return Err(Box::new(LineRead::Newer(version)));
        }
        (record, unknown) = any_form(text).map_err(damaged)?;
    }
    match (record.v, record.said()) {
        (0, _) => Err(damaged((1, "no version".into()))),
        (v, _) if v > VERSION => Err(Box::new(LineRead::Newer(v))),
        (_, Ok(said)) => Ok(take(said, Beside { unknown, more: record.more })),
        (_, Err(RecordFault::UnknownKind(kind))) => Err(Box::new(LineRead::UnknownKind(kind))),
        (_, Err(RecordFault::Wrong(field, why))) => {
            let place = text.find(&format!("{field}:")).unwrap_or(0);
            Err(damaged((place as u64 + 1, why)))
        }
    }
}

fn leading_version(text: &str) -> Option<u32> {
    text.strip_prefix("(v:")?.split([',', ')']).next()?.parse().ok()
}

/// A record in any valid RON, through the `ron` crate and within its limit on depth, and how many of
/// its fields are not ours; else the column of the trouble.
fn any_form(text: &str) -> Result<(Record<'_>, u32), (u64, String)> {
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let record = options.from_str(text).map_err(|error: ron::error::SpannedError| {
        (error.span.start.col.max(1) as u64, error.code.to_string())
    })?;
    // Forms that our scanner does not know are in no field of ours.
    let unknown = ron_text::scan(text).map_or(1, |node| {
        let names = node.members().iter().filter_map(|member| member.name_in(text));
        names.filter(|name| !FIELDS.contains(name)).count()
    });
    Ok((record, unknown as u32))
}
