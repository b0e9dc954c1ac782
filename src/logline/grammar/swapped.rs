//! A line with what was misread in it replaced, where marks stand around its examples.

use crate::logline::lexis::misread::{EXAMPLE, Misread, Swap};

/// The line with what was misread replaced as this says; `None` where that changes nothing.
pub(in crate::logline) fn swapped(line: &str, misread: &Misread, swap: &Swap) -> Option<String> {
    let over = swap.over.or(misread.mend.thing).unwrap_or((misread.start, misread.end));
    let candidate = replaced(line, over, &swap.text);
    (candidate != line).then_some(candidate)
}

/// The line with these characters replaced, and its blanks single.
fn replaced(line: &str, span: (usize, usize), text: &str) -> String {
    let letters: Vec<char> = line.chars().collect();
    let (start, end) = marked(&letters, span);
    let part = |letters: &[char]| letters.iter().collect::<String>();
    format!("{} {text} {}", part(&letters[..start]), part(&letters[end..]))
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .replace(" ,", ",")
        .replace(" . ", ". ")
        .trim_end_matches(" .")
        .replace(" :", ":")
}

/// The line without the marks of its examples.
pub(in crate::logline) fn bare(line: &str) -> String {
    line.replace(EXAMPLE, "")
}

/// Where characters of the bare line stand in the one with marks, with the marks around them.
fn marked(letters: &[char], (start, end): (usize, usize)) -> (usize, usize) {
    let plain = |(_, c): &(usize, &char)| !EXAMPLE.contains(c);
    let place = |at: usize| letters.iter().enumerate().filter(plain).nth(at).map(|(at, _)| at);
    let from = place(start).unwrap_or(letters.len());
    let opened = from.checked_sub(1).is_some_and(|at| letters[at] == EXAMPLE[0]);
    let to = end.checked_sub(1).and_then(place).map_or(letters.len(), |at| at + 1);
    let to = if end == start { from } else { to };
    let closed = to > from && letters.get(to) == Some(&EXAMPLE[1]);
    (from - usize::from(opened), to + usize::from(closed))
}
