//! Stops as an iCalendar file (RFC 5545), which any calendar takes in.
//!
//! Lines end with CR LF and are folded at 75 octets between characters; text is freed of control
//! characters before it is escaped, so that no note can add a property. A stop keeps its UID
//! from one export to the next, and SEQUENCE rises with time, so that a second import moves the
//! event instead of adding one.

use crate::domain::Moment;
use chrono::Utc;

/// One stop in a calendar.
#[derive(Debug, Clone, PartialEq)]
pub struct CalendarStop {
    /// What keeps its identity: `next`, `stop-20261021-1100`.
    pub key: String,
    /// When it begins.
    pub from: Moment,
    /// When it ends, after `from`.
    pub to: Moment,
    /// Its title.
    pub title: String,
    /// Where, if known.
    pub place: Option<String>,
    /// Degrees north and east, if known.
    pub point: Option<(f64, f64)>,
    /// All that is to be said about it; lines are kept.
    pub about: String,
}

/// The calendar of a van's stops, as known at `at`.
pub fn write(van: &str, at: Moment, stops: &[CalendarStop]) -> String {
    let mut out = Folded(String::new());
    out.line("BEGIN:VCALENDAR");
    out.line("VERSION:2.0");
    out.line(concat!("PRODID:-//Waystock//Waystock ", env!("CARGO_PKG_VERSION"), "//EN"));
    out.line("CALSCALE:GREGORIAN");
    out.line("METHOD:PUBLISH");
    // Minutes since 2020: it rises with time, and fits the 31 bits that calendars keep.
    let sequence = (at.timestamp() / 60 - 26_297_280).clamp(0, i64::from(i32::MAX));
    for stop in stops {
        out.line("BEGIN:VEVENT");
        out.line(&format!("UID:{}-{:08x}@waystock", plain(&stop.key), of_van(van)));
        out.line(&format!("DTSTAMP:{}", utc(at)));
        out.line(&format!("DTSTART:{}", utc(stop.from)));
        out.line(&format!("DTEND:{}", utc(stop.to)));
        out.line(&format!("SEQUENCE:{sequence}"));
        out.line(&format!("SUMMARY:{}", escaped(&stop.title)));
        if let Some(place) = &stop.place {
            out.line(&format!("LOCATION:{}", escaped(place)));
        }
        if let Some((north, east)) = stop.point {
            out.line(&format!("GEO:{north:.6};{east:.6}"));
        }
        out.line(&format!("DESCRIPTION:{}", escaped(&stop.about)));
        out.line("STATUS:TENTATIVE");
        out.line("TRANSP:TRANSPARENT");
        out.line("END:VEVENT");
    }
    out.line("END:VCALENDAR");
    out.0
}

struct Folded(String);

impl Folded {
    /// One content line, folded.
    fn line(&mut self, text: &str) {
        let mut octets = 0;
        for c in text.chars() {
            if octets + c.len_utf8() > 75 {
                self.0.push_str("\r\n ");
                octets = 1;
            }
            self.0.push(c);
            octets += c.len_utf8();
        }
        self.0.push_str("\r\n");
    }
}

/// A TEXT value: line breaks kept, other control characters gone, the rest escaped.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    for c in text.replace("\r\n", "\n").chars() {
        match c {
            '\n' => out.push_str("\\n"),
            c if c.is_control() => {}
            '\\' | ';' | ',' => {
                out.push('\\');
                out.push(c);
            }
            c => out.push(c),
        }
    }
    out
}

fn plain(key: &str) -> String {
    key.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').collect()
}

fn utc(moment: Moment) -> String {
    moment.with_timezone(&Utc).format("%Y%m%dT%H%M%SZ").to_string()
}

/// A number that stands for the van's name (FNV-1a, 32 bits), so that two vans' stops stay two.
fn of_van(van: &str) -> u32 {
    van.bytes().fold(0x811c_9dc5, |hash, byte| (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn stop(title: &str, about: &str) -> CalendarStop {
        let at = |text: &str| text.parse::<Moment>().unwrap();
        CalendarStop {
            key: "stop-1".into(),
            from: at("2026-06-02T11:00:00+02:00"),
            to: at("2026-06-02T12:30:00+02:00"),
            title: title.into(),
            place: Some("Adder lock".into()),
            point: Some((57.45, -3.2)),
            about: about.into(),
        }
    }

    fn calendar(title: &str, about: &str) -> String {
        write("Plover", "2026-06-01T09:30:00+02:00".parse().unwrap(), &[stop(title, about)])
    }

    #[test]
    fn a_stop_is_a_tentative_event_that_takes_no_time() {
        let text = calendar("Empty grey; fill fresh", "back\\slash, comma\nsecond line");
        for line in [
            "DTSTAMP:20260601T073000Z",
            "DTSTART:20260602T090000Z",
            "SUMMARY:Empty grey\\; fill fresh",
            "DESCRIPTION:back\\\\slash\\, comma\\nsecond line",
            "GEO:57.450000;-3.200000",
            "STATUS:TENTATIVE",
            "TRANSP:TRANSPARENT",
        ] {
            assert!(text.split("\r\n").any(|l| l == line), "{line} in {text}");
        }
        let later = write("Plover", "2026-06-01T09:31:00+02:00".parse().unwrap(), &[stop("", "")]);
        let value = |text: &str, name: &str| -> String {
            text.split("\r\n").find_map(|l| l.strip_prefix(name)).unwrap().to_string()
        };
        assert_eq!(value(&text, "UID:"), value(&later, "UID:"));
        let sequence = |text: &str| value(text, "SEQUENCE:").parse::<i64>().unwrap();
        assert_eq!(sequence(&later), sequence(&text) + 1);
        let other = write("Curlew", "2026-06-01T09:30:00+02:00".parse().unwrap(), &[stop("", "")]);
        assert_ne!(value(&text, "UID:"), value(&other, "UID:"));
    }

    proptest! {
        /// No text adds a property; lines end with CR LF only, take 75 octets at most and split
        /// no character.
        #[test]
        fn no_text_breaks_the_form(title in "\\PC{0,60}|[\\x00-\\x7f]{0,60}", about in ".{0,200}|(é){100}|[\\r\\n:;,A-Z]{0,90}") {
            let text = calendar(&title, &about);
            prop_assert!(!text.replace("\r\n", "").contains(['\r', '\n']));
            prop_assert!(text.split("\r\n").all(|line| line.len() <= 75));
            let unfolded = text.replace("\r\n ", "");
            let names: Vec<&str> = unfolded.split("\r\n").map(|l| l.split(':').next().unwrap()).collect();
            let expected = ["BEGIN", "VERSION", "PRODID", "CALSCALE", "METHOD", "BEGIN", "UID",
                "DTSTAMP", "DTSTART", "DTEND", "SEQUENCE", "SUMMARY", "LOCATION", "GEO",
                "DESCRIPTION", "STATUS", "TRANSP", "END", "END", ""];
            prop_assert_eq!(names, expected);
        }
    }
}
