//! Words of messages about what stands in a file.

/// What stands where a field is missing.
pub(super) const NOTHING: &str = "nothing";

/// The known word most like `word`, if one is near enough to be a slip.
pub fn nearest<'w>(word: &str, known: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let score =
        |known: &str| strsim::damerau_levenshtein(&word.to_lowercase(), &known.to_lowercase());
    let near = known.map(|k| (score(k), k)).min()?;
    let allowed = (word.chars().count() / 3).clamp(1, 3);
    (near.0 <= allowed).then_some(near.1)
}

/// A value's text, short enough for a message and without control characters.
pub(super) fn brief(text: &str) -> String {
    const LONGEST: usize = 40;
    let line = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let shown: String = line.chars().filter(|c| !c.is_control()).take(LONGEST).collect();
    if shown.is_empty() {
        return NOTHING.to_owned();
    }
    if line.chars().count() > LONGEST { format!("{shown}…") } else { shown }
}
