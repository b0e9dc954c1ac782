//! How a tank is read, as people say it and as the rig file writes it.

use super::answers_read::whole_number;
use crate::text::commas;

/// Ways to read a tank, with a remark each.
pub(super) fn choices() -> Vec<(&'static str, &'static str)> {
    vec![
        ("4 lamps", "each lights at its mark"),
        ("4 marks", "a needle or bars"),
        ("percent", "a display with a number"),
        ("by eye", "somebody looks or weighs"),
        ("not at all", "nobody sees it"),
    ]
}

/// Other words for a number of marks.
const PARTS: [(&str, f64); 5] =
    [("halves", 2.0), ("thirds", 3.0), ("quarters", 4.0), ("eighths", 8.0), ("tenths", 10.0)];

/// "4 lamps", "three marks", "quarters", "percent", "by eye", "not at all" as the value of a
/// stock's `gauge` in the rig file.
pub(super) fn gauge(text: &str) -> Result<String, String> {
    let text = text.trim().to_lowercase();
    if let Some((_, parts)) = PARTS.iter().find(|(name, _)| *name == text) {
        return Ok(steps(*parts));
    }
    match text.as_str() {
        "percent" | "per cent" | "percentage" | "a percentage" | "%" => return Ok(steps(100.0)),
        "by eye" | "eye" | "not at all" | "not" | "none" | "no" | "no gauge" => {
            return Ok("none".into());
        }
        _ => {}
    }
    let counted = text.rsplit_once(' ').and_then(|(number, kind)| {
        let count = whole_number(number).filter(|count| (1.0..=20.0).contains(count))?;
        match kind.trim_end_matches('s') {
            "lamp" | "light" | "led" => Some(lamps(count)),
            "mark" | "bar" | "step" | "line" => Some(steps(count)),
            _ => None,
        }
    });
    counted.ok_or("4 lamps, 4 marks, percent, by eye or not at all".to_string())
}

/// Evenly spaced, the last at the brim, as most are (common practice, no source).
fn lamps(count: f64) -> String {
    let mark = |lamp: u32| (f64::from(lamp) / count * 100.0).round() / 100.0;
    format!("ladder([{}])", commas((1..=count as u32).map(|lamp| mark(lamp).to_string())))
}

fn steps(count: f64) -> String {
    format!("step({})", (1000.0 / count).round() / 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Gauge;
    use crate::text::quantity;

    #[test]
    fn a_gauge_is_said_as_people_say_it() {
        let rows = [
            ("3 lamps", "ladder([0.33, 0.67, 1])"),
            ("two lights", "ladder([0.5, 1])"),
            ("4 marks", "step(0.25)"),
            ("Eighths", "step(0.125)"),
            ("percent", "step(0.01)"),
            ("by eye", "none"),
            ("not at all", "none"),
        ];
        for (text, wanted) in rows {
            assert_eq!(gauge(text).as_deref(), Ok(wanted), "{text}");
        }
        for text in ["", "0 lamps", "lamps", "33 %", "4", "many lamps", "21 marks"] {
            assert!(gauge(text).is_err(), "{text}");
        }
    }

    #[test]
    fn what_is_offered_is_understood() {
        let ladder = Gauge::Ladder(vec![0.33, 0.66, 1.0]);
        for known in [Gauge::None, ladder, Gauge::Step(0.125), Gauge::Step(0.01)] {
            assert!(gauge(&quantity::gauge(&known)).is_ok(), "{known:?}");
        }
        assert!(choices().iter().all(|(name, _)| gauge(name).is_ok()));
    }
}
