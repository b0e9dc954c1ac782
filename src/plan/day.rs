//! Words for a day ahead, as questions take them.

use chrono::{Datelike, Duration, NaiveDate, Weekday};

/// The day that `today`, `tomorrow`, a weekday (the next one that is not today) or a date such as
/// `2026-06-20` means; `None` for anything else.
pub fn day(text: &str, today: NaiveDate) -> Option<NaiveDate> {
    let word = text.trim().to_lowercase();
    match word.as_str() {
        "now" | "today" => Some(today),
        "tomorrow" => Some(today + Duration::days(1)),
        _ => match word.parse::<Weekday>() {
            Ok(day) => {
                let ahead = day.days_since(today.weekday());
                Some(today + Duration::days(if ahead == 0 { 7 } else { i64::from(ahead) }))
            }
            Err(_) => NaiveDate::parse_from_str(&word, "%Y-%m-%d").ok(),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_named_as_people_do() {
        let today = NaiveDate::from_ymd_opt(2026, 8, 5).unwrap();
        assert_eq!(today.weekday(), Weekday::Wed);
        for (text, days) in [
            ("today", 0),
            (" Tomorrow ", 1),
            ("friday", 2),
            ("Tue", 6),
            ("wednesday", 7),
            ("2026-08-31", 26),
        ] {
            assert_eq!(day(text, today), Some(today + Duration::days(days)), "{text}");
        }
        for text in ["", "blursday", "31", "2026-02-30"] {
            assert_eq!(day(text, today), None, "{text}");
        }
    }
}
