//! Amounts as people say them: `20 L`, `60%`, `3/4`, `three quarters`, `two`.

use super::misread::Misread;
use super::vocabulary::Vocabulary;
use super::word::{Kind, Word};
use crate::domain::quantity::AmountFault;
use crate::domain::{Amount, Quantity, Unit};

/// An amount as it was said.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Said {
    /// A number with no unit.
    Bare(Amount),
    /// A number with its unit.
    Quantity(Quantity),
    /// A share of the whole, told in parts of it (`3/4` in quarters); 1 part = full or empty.
    Share { percent: Amount, parts: i64 },
    /// So many days of what is eaten.
    Days(Amount),
}

impl Said {
    /// As whole days or nights.
    pub(super) fn days(&self) -> Option<i64> {
        match self {
            Said::Days(days) => Some(days.milli() / 1000),
            Said::Quantity(q) if q.unit == Unit::Night => Some(q.amount.milli() / 1000),
            _ => None,
        }
    }

    /// As a quantity, a share becoming percent; `None` for a bare number and for days.
    pub fn quantity(&self) -> Option<Quantity> {
        match self {
            Said::Bare(_) | Said::Days(_) => None,
            Said::Quantity(quantity) => Some(quantity.clone()),
            Said::Share { percent, .. } => Some(Quantity::new(*percent, Unit::Percent)),
        }
    }
}

/// Parts of a whole.
const PART_WORDS: [(&str, i64); 11] = [
    ("half", 2),
    ("halves", 2),
    ("third", 3),
    ("thirds", 3),
    ("quarter", 4),
    ("quarters", 4),
    ("fifths", 5),
    ("sixths", 6),
    ("eighth", 8),
    ("eighths", 8),
    ("tenths", 10),
];

/// What a word counts: an article one, a whole number itself.
fn number_word(word: &Word) -> Option<i64> {
    match word.is("a") || word.is("an") {
        true => Some(1),
        false if word.kind == Kind::Plain && word.low.len() <= 2 => word.low.parse().ok(),
        false => None,
    }
}

/// How many of these parts make a whole.
pub(super) fn parts_word(word: &str) -> Option<i64> {
    PART_WORDS.iter().find(|(name, _)| *name == word).map(|(_, parts)| *parts)
}

/// The amount that begins `words`, and how many words it takes; `None` if none does.
pub(super) fn read(words: &[Word], known: &Vocabulary) -> Result<Option<(Said, usize)>, Misread> {
    let Some(first) = words.first().filter(|w| w.kind == Kind::Plain) else { return Ok(None) };
    if let Some(share) = share(words, known)? {
        return Ok(Some(share));
    }
    let amount = match () {
        () if first.is("a") || first.is("an") => Amount::from_milli(1000).unwrap_or_default(),
        () if first.is_numeric() => number(first)?,
        () => return Ok(None),
    };
    let rest = &words[1..];
    let (amount, mixed) = and_a_part(amount, rest);
    let rest = &rest[mixed..];
    let unit =
        known.unit(rest.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str()));
    let name =
        known.find(rest.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str()));
    let longer = |taken: usize| name.is_some_and(|(_, longer)| longer > taken);
    match unit {
        // `1 night walk` is a walk, not a night.
        Some((_, taken)) if longer(taken) => {}
        Some((unit, taken)) => {
            // `an hour and a half`.
            let (amount, more) = and_a_part(amount, &rest[taken..]);
            let (amount, minutes) = and_minutes(amount, &unit, &rest[taken + more..], known);
            let quantity = Quantity::new(amount, unit);
            return Ok(Some((Said::Quantity(quantity), 1 + mixed + taken + more + minutes)));
        }
        None if rest.first().is_some_and(|w| w.is("days") || w.is("day")) && !longer(1) => {
            return Ok(Some((Said::Days(amount), 2 + mixed)));
        }
        None => {}
    }
    Ok(Some((Said::Bare(amount), 1 + mixed)))
}

/// The amount with `and a half` or `and a quarter` on it, and how many words that takes.
fn and_a_part(amount: Amount, words: &[Word]) -> (Amount, usize) {
    let part = match words {
        [and, a, part, ..] if and.is("and") && a.is("a") => parts_word(&part.low),
        _ => None,
    };
    match part.and_then(|parts| Amount::from_f64(amount.value() + 1.0 / parts as f64).ok()) {
        Some(more) => (more, 3),
        None => (amount, 0),
    }
}

/// Hours with the minutes that follow them, and how many words those take.
fn and_minutes(hours: Amount, unit: &Unit, words: &[Word], known: &Vocabulary) -> (Amount, usize) {
    let minutes = match words {
        [number, unit, ..] if number.is_numeric() => number
            .low
            .parse::<f64>()
            .ok()
            .filter(|_| known.unit_named(&unit.low) == Some(Unit::Minute)),
        _ => None,
    };
    let both = minutes.filter(|_| *unit == Unit::Hour);
    match both.and_then(|minutes| Amount::from_f64(hours.value() + minutes / 60.0).ok()) {
        Some(both) => (both, 2),
        None => (hours, 0),
    }
}

/// A plain decimal number.
pub(super) fn number(word: &Word) -> Result<Amount, Misread> {
    Amount::parse(word.low.trim_start_matches('+')).map_err(|fault| match fault {
        AmountFault::TooLarge => Misread::at(word, "a number beyond a thousand million"),
        _ if hour_shaped(word.text) => {
            Misread::at(word, "no such time of day: hours are 00:00 to 23:59")
        }
        _ if date_shaped(word.text) => {
            Misread::at(word, "no such date: write year-month-day, like 2026-06-14")
        }
        _ => Misread::at(word, "not a plain number: write it like 8 or 8.5"),
    })
}

fn hour_shaped(text: &str) -> bool {
    text.contains(':') && text.bytes().all(|b| b.is_ascii_digit() || b == b':')
}

fn date_shaped(text: &str) -> bool {
    text.bytes().filter(|b| *b == b'-').count() == 2 && text.as_bytes()[0].is_ascii_digit()
}

fn share(words: &[Word], known: &Vocabulary) -> Result<Option<(Said, usize)>, Misread> {
    let first = &words[0];
    let (over, parts, taken) = if first.is("full") {
        (1, 1, 1)
    } else if first.is("empty") {
        (0, 1, 1)
    } else if first.is_numeric() && first.low.contains('/') {
        let (over, parts) = fraction(first)?;
        (over, parts, 1)
    } else if first.is("half") && words.get(1).is_some_and(|w| w.is("an") || w.is("a")) {
        // `half an hour` is an amount of its own.
        return Ok(half_a_unit(words, known));
    } else if let Some(parts) = parts_word(&first.low) {
        (1, parts, 1)
    } else if let Some(over) = number_word(first)
        && let Some(parts) = words.get(1).and_then(|w| parts_word(&w.low))
    {
        if over > parts {
            let message = format!("more than the whole: up to {parts}/{parts}");
            return Err(Misread::over(&words[..2], message));
        }
        (over, parts, 2)
    } else {
        return Ok(None);
    };
    let full = usize::from(parts > 1 && words.get(taken).is_some_and(|w| w.is("full")));
    let percent = Amount::from_f64(over as f64 / parts as f64 * 100.0).unwrap_or_default();
    Ok(Some((Said::Share { percent, parts }, taken + full)))
}

/// `half an hour`.
fn half_a_unit(words: &[Word], known: &Vocabulary) -> Option<(Said, usize)> {
    let unit = words.get(2).filter(|w| w.kind == Kind::Plain)?;
    let unit = known.unit_named(&unit.low)?;
    let half = Amount::from_milli(500).unwrap_or_default();
    Some((Said::Quantity(Quantity::new(half, unit)), 3))
}

/// `3/4`, at most 1, in at most a hundred parts.
fn fraction(word: &Word) -> Result<(i64, i64), Misread> {
    let whole = |text: &str| {
        (text.len() <= 3 && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok())?
    };
    let said = word.low.split_once('/').and_then(|(a, b)| Some((whole(a)?, whole(b)?)));
    match said {
        Some((over, parts)) if (1..=100).contains(&parts) && over <= parts => Ok((over, parts)),
        Some(_) => Err(Misread::at(word, "not a share of the whole: 0/4 to 4/4, for instance")),
        None => Err(Misread::at(word, "not a fraction: write it like 3/4")),
    }
}

/// How a step is said behind `in`: `quarters`, or `steps of 7%`.
pub(super) fn step_words(step: f64) -> String {
    match PART_WORDS.iter().find(|(word, parts)| word.ends_with('s') && step == 1.0 / *parts as f64)
    {
        Some((parts, _)) => format!("in {parts}"),
        None => {
            let percent = Amount::from_f64(step * 100.0).unwrap_or_default();
            format!("in steps of {percent}%")
        }
    }
}

/// `in quarters`, `in steps of 5%` at the beginning of `words`, and how many they are.
pub(super) fn stated_step(words: &[Word]) -> Result<Option<(f64, usize)>, Misread> {
    let message = "the gauge's step: write `in quarters` or `in steps of 5%`";
    match words {
        [into, steps, of, by, rest @ ..]
            if into.is("in") && steps.is("steps") && of.is("of") && by.is_numeric() =>
        {
            let percent = number(by)?;
            let most = Amount::from_milli(100_000).unwrap_or_default();
            if !rest.first().is_some_and(|w| w.is_any(&["%", "percent"])) {
                return Err(Misread::at(by, message));
            }
            if percent <= Amount::ZERO || percent > most {
                return Err(Misread::over(&words[..5], "a step is above 0% and at most 100%"));
            }
            Ok(Some((percent.value() / 100.0, 5)))
        }
        [into, steps, ..] if into.is("in") && steps.is("steps") => Err(Misread::at(steps, message)),
        [into, parts, ..] if into.is("in") => {
            let fine = parts_word(&parts.low).filter(|_| parts.low.ends_with('s'));
            Ok(fine.map(|parts| (1.0 / parts as f64, 2)))
        }
        _ => Ok(None),
    }
}
