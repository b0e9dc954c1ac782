//! Counts with their noun, and lists of words.

use crate::domain::Amount;

/// "1 line", "2 lines", "2 entries".
pub fn counted(number: usize, what: &str) -> String {
    match (number, what) {
        (1, _) => format!("1 {what}"),
        (_, "entry") => format!("{number} entries"),
        _ => format!("{number} {what}s"),
    }
}

/// What is asked of a count that is far beyond what a crew does: "71 dishes: the most in a day so far
/// was 3".
pub fn far_beyond(said: &str, most: f64) -> String {
    format!("{said}: the most in a day so far was {most:.0}")
}

/// The remark with which it is saved all the same.
pub const MEANT: &str = "meant";

/// How many people, those away for a part of it in parts: "3", "2.5".
pub fn people(aboard: f64) -> String {
    Amount::from_f64(aboard).unwrap_or_default().to_string()
}

/// "grey, fresh, food": words with commas between them.
pub fn commas(words: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    in_a_row(words, ", ")
}

/// "grey, fresh and food": the same, as people say it.
pub fn listed(words: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    in_a_row(words, " and ")
}

/// "grey, fresh or food": the same, of which any one may be.
pub fn either(words: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    in_a_row(words, " or ")
}

/// `words` behind what leads to them, and nothing where there are none.
pub fn led(lead: &str, words: &str) -> String {
    if words.is_empty() { String::new() } else { format!("{lead}{words}") }
}

/// The same, with other words before the last.
pub(super) fn in_a_row(
    words: impl IntoIterator<Item = impl AsRef<str>>,
    before_last: &str,
) -> String {
    let words: Vec<String> = words.into_iter().map(|word| word.as_ref().to_string()).collect();
    match &words[..] {
        [first @ .., last] if !first.is_empty() => {
            format!("{}{before_last}{last}", first.join(", "))
        }
        words => words.concat(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_no_plural() {
        assert_eq!(counted(1, "reading"), "1 reading");
        assert_eq!(counted(0, "reading"), "0 readings");
        assert_eq!(counted(2, "entry"), "2 entries");
    }

    /// Written by hand.
    #[test]
    fn the_last_of_a_list_has_a_word_of_its_own() {
        assert_eq!(listed(["grey", "fresh", "food"]), "grey, fresh and food");
        assert_eq!(listed(["grey", "fresh"]), "grey and fresh");
        assert_eq!(either(["grey", "fresh", "food"]), "grey, fresh or food");
        assert_eq!(commas(["grey", "fresh", "food"]), "grey, fresh, food");
        assert_eq!(led(" for ", &listed(["grey"])), " for grey");
        assert_eq!(led(" for ", &listed(Vec::<String>::new())), "");
    }
}
