//! Fitting words into columns: widths as a terminal counts them.

use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Columns that `text` takes.
pub fn width(text: &str) -> usize {
    UnicodeWidthStr::width(text)
}

/// The first of `candidates` (longest wording first) that fits into `columns`, else the last
/// one cut to fit.
pub fn longest_fitting(candidates: &[String], columns: usize) -> String {
    let fits = candidates.iter().find(|c| width(c) <= columns);
    match (fits, candidates.last()) {
        (Some(text), _) => text.clone(),
        (None, Some(last)) => cut(last, columns),
        (None, None) => String::new(),
    }
}

/// `text` cut to `columns`; a `~` in the last column says that something is missing.
pub fn cut(text: &str, columns: usize) -> String {
    if width(text) <= columns {
        return text.to_string();
    }
    let mut shown = String::new();
    let mut used = 0;
    for c in text.chars() {
        let wide = c.width().unwrap_or(0);
        if used + wide + 1 > columns {
            break;
        }
        used += wide;
        shown.push(c);
    }
    if columns > 0 {
        shown.push('~');
    }
    shown
}

/// `text` cut or padded with blanks on the right to exactly `columns`.
pub fn left(text: &str, columns: usize) -> String {
    let shown = cut(text, columns);
    let pad = columns.saturating_sub(width(&shown));
    shown + &" ".repeat(pad)
}

/// `text` cut or padded with blanks on the left to exactly `columns`.
pub fn right(text: &str, columns: usize) -> String {
    let shown = cut(text, columns);
    " ".repeat(columns.saturating_sub(width(&shown))) + &shown
}

/// `text` broken between words into lines of at most `columns`; a longer word is cut.
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    broken(text, columns).iter().map(|line| cut(line, columns)).collect()
}

/// `text` broken between words into lines of at most `columns`; a longer word stays whole.
pub fn broken(text: &str, columns: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in unparted(text, columns) {
        match lines.last_mut() {
            Some(line) if width(line) + 1 + width(&word) <= columns => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines
}

/// The words of `text`, in one piece a number and what belongs to it: its spread, and a short word
/// such as a unit or a month.
fn unparted(text: &str, columns: usize) -> Vec<String> {
    let is_number = |word: &str| {
        word.contains(|c: char| c.is_ascii_digit())
            && word.chars().all(|c| c.is_ascii_digit() || ".,±+-".contains(c))
    };
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let last = words.last_mut();
        let number = last.filter(|last| is_number(last.rsplit(' ').next().unwrap_or_default()));
        let short = width(word.trim_end_matches([',', '.', ';', ':', ')'])) <= SHORT;
        match number {
            Some(number)
                if (short || word.starts_with('±'))
                    && !number.ends_with(',')
                    && width(number) + 1 + width(word) <= columns =>
            {
                number.push(' ');
                number.push_str(word);
            }
            _ => words.push(word.to_string()),
        }
    }
    words
}

/// Columns of a word that stays beside the number before it.
const SHORT: usize = 3;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_cut_by_columns_not_by_bytes() {
        assert_eq!(cut("grey water", 6), "grey ~");
        assert_eq!(cut("早川のほとり", 6), "早川~");
        assert_eq!(cut("grey", 0), "");
        assert_eq!(left("ok", 4), "ok  ");
        assert_eq!(right("9 %", 5), "  9 %");
        assert_eq!(
            wrap("leave earlier when roads say so", 13),
            ["leave earlier", "when roads", "say so"]
        );
        assert_eq!(
            wrap("short by 42.4 ±14.5 Wh, 100 %", 12),
            ["short by", "42.4 ±14.5", "Wh, 100 %"]
        );
        assert_eq!(wrap("short by 14 L, 9 outfits", 11), ["short by", "14 L, 9", "outfits"]);
        assert_eq!(wrap("carbonmonoxide 3", 8), ["carbonm~", "3"]);
        assert_eq!(broken("carbonmonoxide 3", 8), ["carbonmonoxide", "3"]);
        let wordings = ["Saturday 14 March".to_string(), "Sat 14".to_string()];
        assert_eq!(longest_fitting(&wordings, 8), "Sat 14");
        assert_eq!(longest_fitting(&wordings, 3), "Sa~");
    }
}
