//! Makes text that other people wrote safe to print: notes, names of places and files, what a
//! broken file says.
//!
//! A terminal obeys control characters, so a note could retitle the window or hide a line; bidi
//! and zero-width characters let text look like something else. Layout, width and colour are not
//! decided here.

use std::borrow::Cow;

/// `text` on one line: each control character shown as a visible mark, bidi and zero-width
/// characters removed. Text without any is returned as it is.
///
/// ```
/// use waystock::text::safe::line;
/// assert_eq!(line("wash-up\u{1b}[2J\n"), "wash-up␛[2J␊");
/// assert_eq!(line("pay\u{202e}load"), "payload");
/// assert_eq!(line("Åker, 3 °C"), "Åker, 3 °C");
/// ```
pub fn line(text: &str) -> Cow<'_, str> {
    if !text.chars().any(|c| mark(c).is_some() || is_hidden(c)) {
        return Cow::Borrowed(text);
    }
    let shown = text.chars().filter(|c| !is_hidden(*c)).map(|c| mark(c).unwrap_or(c));
    Cow::Owned(shown.collect())
}

/// The visible stand-in for a control character: Unicode's control pictures for C0 and delete,
/// the replacement character for C1 and for line and paragraph separators.
fn mark(c: char) -> Option<char> {
    match c {
        '\u{0}'..='\u{1f}' => char::from_u32(0x2400 + c as u32),
        '\u{7f}' => Some('\u{2421}'),
        '\u{80}'..='\u{9f}' | '\u{2028}' | '\u{2029}' => Some('\u{fffd}'),
        _ => None,
    }
}

/// Characters that take no room or turn the direction of what follows.
fn is_hidden(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
        | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{feff}' | '\u{ffa0}'
        | '\u{fff0}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_control_leaves_a_mark() {
        for code in (0..=0x9f).chain([0x2028, 0x2029]) {
            let c = char::from_u32(code).unwrap();
            let shown = line(&format!("a{c}b")).into_owned();
            assert_eq!(shown.chars().count(), 3, "{code:x}");
            assert_eq!(shown.contains(c), !c.is_control() && code < 0x2028, "{code:x}");
        }
    }

    proptest! {
        #[test]
        fn nothing_that_a_terminal_obeys_is_left(text in any::<String>()) {
            let shown = line(&text);
            prop_assert!(!shown.chars().any(|c| c.is_control() || is_hidden(c)));
            prop_assert_eq!(line(&shown), shown.as_ref());
        }
    }
}
