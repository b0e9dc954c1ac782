//! What a person may choose of the looks: colours by their purpose, and how the hour is written.

/// A colour of the terminal's own sixteen, or none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    /// The terminal's usual one.
    Plain,
    /// One of the sixteen, by its number in ECMA-48's order: 0 black to 7 white, 8 to 15 bright.
    Numbered(u8),
}

/// How hours are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Hours {
    /// 15:30.
    #[default]
    Day,
    /// 3:30pm.
    HalfDay,
}

/// What was chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Looks {
    /// At its limit, or gone wrong.
    pub out: Colour,
    /// Soon at its limit.
    pub soon: Colour,
    /// Gone well.
    pub good: Colour,
    /// Bands and fans.
    pub band: Colour,
    /// How hours are written.
    pub hours: Hours,
}

impl Default for Looks {
    fn default() -> Looks {
        let [out, soon, good, band] = [1, 5, 2, 6].map(Colour::Numbered);
        Looks { out, soon, good, band, hours: Hours::Day }
    }
}

impl Hours {
    /// Columns by which a time of day may grow.
    pub fn grows_by(self) -> usize {
        if self == Hours::HalfDay { 2 } else { 0 }
    }

    /// `text` with its times of day as wanted: "by Thu 15:30" becomes "by Thu 3:30pm". A time that
    /// has a zone beside it, as machines write it, stays.
    pub fn written(self, text: &str) -> String {
        if self == Hours::Day || !text.contains(':') {
            return text.to_string();
        }
        let bytes = text.as_bytes();
        let mut out = String::with_capacity(text.len() + 8);
        let mut done = 0;
        for (colon, _) in text.match_indices(':') {
            let Some((start, hour)) = time_around(bytes, colon).filter(|(at, _)| *at >= done)
            else {
                continue;
            };
            out.push_str(&text[done..start]);
            let half = if hour < 12 { "am" } else { "pm" };
            let shown = if hour % 12 == 0 { 12 } else { hour % 12 };
            out.push_str(&format!("{shown}:{}{half}", &text[colon + 1..colon + 3]));
            done = colon + 3;
        }
        out.push_str(&text[done..]);
        out
    }
}

/// Where a time of day begins, and its hour, if the colon at that byte is the one in "15:30".
fn time_around(bytes: &[u8], colon: usize) -> Option<(usize, u32)> {
    let start = colon.checked_sub(2)?;
    let digits = |from: usize| -> Option<u32> {
        let two = bytes.get(from..from + 2)?;
        two.iter()
            .all(u8::is_ascii_digit)
            .then(|| u32::from(two[0] - b'0') * 10 + u32::from(two[1] - b'0'))
    };
    let (hour, minute) = (digits(start)?, digits(colon + 1)?);
    let before = start.checked_sub(1).map(|at| bytes[at]);
    let joins = |byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b':' | b'+' | b'.');
    let alone = !before.is_some_and(joins)
        && !bytes.get(colon + 3).is_some_and(|byte| byte.is_ascii_alphanumeric() || *byte == b':');
    (hour < 24 && minute < 60 && alone).then_some((start, hour))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: noon is 12 pm, midnight 12 am.
    #[test]
    fn hours_are_written_as_wanted() {
        let rows = [
            ("Stop by Thu 22 Oct 15:30, 9 in 10 safe", "Stop by Thu 22 Oct 3:30pm, 9 in 10 safe"),
            ("00:00 to 12:05", "12:00am to 12:05pm"),
            ("2026-10-20T21:05:00+01:00", "2026-10-20T21:05:00+01:00"),
            ("rig.ron:12:30: found", "rig.ron:12:30: found"),
            ("99:30, 1:30, 3:30pm", "99:30, 1:30, 3:30pm"),
        ];
        for (text, wanted) in rows {
            assert_eq!(Hours::HalfDay.written(text), wanted);
            // Written twice, it is the same.
            assert_eq!(Hours::HalfDay.written(wanted), wanted);
            assert_eq!(Hours::Day.written(text), text);
        }
    }
}
