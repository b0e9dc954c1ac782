//! Text that came from outside, made harmless to show: no byte of a note, a place name or a
//! file name may steer the terminal or reorder what stands around it.

/// `text` on one line, with controls shown as visible marks (`^[` for escape, `\u{..}` above
/// ASCII) and with characters removed that are invisible or change the reading direction.
///
/// ```
/// use waystock::text::safe::safe;
/// assert_eq!(safe("tap\x1b[2J\u{202e}off\u{200b}"), "tap^[[2Joff");
/// ```
pub fn safe(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' | '\r' | '\t' => shown.push(' '),
            '\u{7f}' => shown.push_str("^?"),
            c if c.is_ascii_control() => {
                shown.push('^');
                shown.push(char::from(c as u8 + 0x40));
            }
            c if c.is_control() => shown.push_str(&format!("\\u{{{:x}}}", c as u32)),
            c if is_invisible(c) => {}
            c => shown.push(c),
        }
    }
    shown
}

/// Characters that take no room, turn the direction of what follows, or break lines.
pub fn is_invisible(c: char) -> bool {
    matches!(c,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
        | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{feff}' | '\u{ffa0}'
        | '\u{fff0}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}')
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn nothing_that_steers_a_terminal_is_left() {
        let every: String = (0..0x3000).filter_map(char::from_u32).collect();
        let shown = safe(&every);
        assert!(!shown.chars().any(char::is_control));
        assert!(shown.contains("^[") && shown.contains("\\u{9b}"));
        assert_eq!(safe("Fjæra ± 3 °C, 早"), "Fjæra ± 3 °C, 早");
        assert_eq!(safe("two\nlines"), "two lines");
    }

    proptest! {
        #[test]
        fn what_is_safe_stays_as_it_is(text in any::<String>()) {
            let shown = safe(&text);
            prop_assert!(!shown.chars().any(|c| c.is_control() || is_invisible(c)));
            prop_assert_eq!(safe(&shown), shown);
        }
    }
}
