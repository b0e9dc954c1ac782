//! The tables that the questions of a new van are made of.

/// The cells of every row of a table; a line that begins with `#` is none of it.
pub(super) fn rows(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    table.lines().filter(|row| !row.starts_with('#')).map(|row| row.split(" | ").collect())
}
