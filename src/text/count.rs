//! Counts with their noun.

/// "1 line", "2 lines".
pub fn counted(number: u64, what: &str) -> String {
    if number == 1 { format!("1 {what}") } else { format!("{number} {what}s") }
}

#[cfg(test)]
mod tests {
    #[test]
    fn one_is_no_plural() {
        assert_eq!(super::counted(1, "reading"), "1 reading");
        assert_eq!(super::counted(0, "reading"), "0 readings");
    }
}
