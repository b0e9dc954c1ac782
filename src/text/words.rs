//! Words that short answers are made of: rows of the table of words.

/// The words of the log line.
const WORDS: &str = include_str!("../../assets/words.txt");

/// The phrases of a row.
fn row(head: &str) -> impl Iterator<Item = &'static str> {
    let rows = WORDS.lines().filter_map(move |row| row.strip_prefix(head)?.strip_prefix(": "));
    rows.flat_map(|words| words.split(", "))
}

/// Whether `text` is a phrase of the row `head`, in any case.
pub fn is_of(head: &str, text: &str) -> bool {
    let text = text.trim().to_lowercase();
    row(head).any(|phrase| phrase == text)
}

/// Whether `text` begins a phrase of the row `head`.
pub fn begins(head: &str, text: &str) -> bool {
    row(head).any(|phrase| phrase.starts_with(text))
}

/// All words for the same thing of a van as `word`; none where the table has no such thing.
pub fn same(word: &str) -> Vec<&'static str> {
    let word = word.trim().to_lowercase();
    let rows = WORDS.lines().filter_map(|row| row.strip_prefix("same: "));
    let mut rows = rows.map(|row| row.split(", ").collect::<Vec<_>>());
    rows.find(|row| row.iter().any(|known| *known == word)).unwrap_or_default()
}

/// A number in words: "two", "a couple".
pub fn number(text: &str) -> Option<f64> {
    let text = text.trim().to_lowercase();
    let rows = WORDS.lines().filter_map(|row| row.strip_prefix("number ")?.split_once(": "));
    let mut named = rows.filter(|(_, words)| words.split(", ").any(|word| word == text));
    named.next()?.0.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_and_short_answers_are_rows_of_the_table() {
        let rows = [("two", Some(2.0)), ("Twelve", Some(12.0)), ("a couple", Some(2.0))];
        for (word, wanted) in rows.into_iter().chain([("zero", Some(0.0)), ("many", None)]) {
            assert_eq!(number(word), wanted, "{word}");
        }
        assert!(same("Propane").contains(&"gas") && same("harp").is_empty());
        assert!(is_of("yes", "Yes ") && is_of("none", "none") && !is_of("none", "nine"));
    }
}
