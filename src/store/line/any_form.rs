//! Reads a record in any valid RON, through the `ron` crate and within its limit on depth.

use crate::store::record::FIELDS;
use crate::store::record::Record;
use crate::store::ron_text;
use ron::extensions::Extensions;

/// The record and how many of its fields are not ours; else the column of the trouble.
pub(super) fn parse(text: &str) -> Result<(Record<'_>, u32), (u64, String)> {
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
