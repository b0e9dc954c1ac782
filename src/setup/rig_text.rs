//! The text of a rig file, read.

use crate::domain::Rig;
use crate::store::rig_file;
use std::path::Path;

/// The rig that a text describes.
///
/// # Errors
/// What is wrong with it, one sentence each with line and column.
pub fn parse(text: &str) -> Result<Rig, Vec<String>> {
    rig_file::parse(text, Path::new("rig.ron"))
        .map_err(|faults| faults.iter().map(ToString::to_string).collect())
}

/// The same, with the first of what is wrong.
pub(super) fn parsed(text: &str) -> Result<Rig, String> {
    parse(text).map_err(|faults| faults.into_iter().next().unwrap_or_default())
}
