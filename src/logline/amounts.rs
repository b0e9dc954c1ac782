//! Amounts as people say them: `20 L`, `60%`, `3/4`, `three quarters`, `two`.

use super::Misread;
use super::vocabulary::Vocabulary;
use super::words::{Kind, Word};
use crate::domain::quantity::{Amount, AmountFault, Quantity};
use crate::domain::unit::Unit;

/// An amount as it was said.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Said {
    /// A number with no unit.
    Bare(Amount),
    /// A number with its unit.
    Quantity(Quantity),
    /// A share of the whole, told in parts of it (`3/4` in quarters); 1 part = full or empty.
    Share { percent: Amount, parts: i64 },
}

impl Said {
    /// As a quantity, a share becoming percent; `None` for a bare number.
    pub fn quantity(&self) -> Option<Quantity> {
        match self {
            Said::Bare(_) => None,
            Said::Quantity(quantity) => Some(quantity.clone()),
            Said::Share { percent, .. } => Some(Quantity::new(*percent, Unit::Percent)),
        }
    }
}

const NUMBER_WORDS: [(&str, i64); 12] = [
    ("a", 1),
    ("an", 1),
    ("one", 1),
    ("two", 2),
    ("three", 3),
    ("four", 4),
    ("five", 5),
    ("six", 6),
    ("seven", 7),
    ("eight", 8),
    ("nine", 9),
    ("ten", 10),
];

const PART_WORDS: [(&str, i64); 8] = [
    ("half", 2),
    ("halves", 2),
    ("third", 3),
    ("thirds", 3),
    ("quarter", 4),
    ("quarters", 4),
    ("eighth", 8),
    ("eighths", 8),
];

/// What a number word counts.
fn number_word(word: &Word) -> Option<i64> {
    NUMBER_WORDS.iter().find(|(name, _)| word.is(name)).map(|(_, number)| *number)
}

/// How many of these parts make a whole.
pub(super) fn parts_word(word: &str) -> Option<i64> {
    PART_WORDS.iter().find(|(name, _)| *name == word).map(|(_, parts)| *parts)
}

/// The amount that begins `words`, and how many words it takes; `None` if none does.
pub(super) fn read(words: &[Word], known: &Vocabulary) -> Result<Option<(Said, usize)>, Misread> {
    let Some(first) = words.first().filter(|w| w.kind == Kind::Plain) else { return Ok(None) };
    if let Some(share) = share(words)? {
        return Ok(Some(share));
    }
    let amount = match number_word(first) {
        Some(number) => Amount::from_milli(number * 1000).unwrap_or_default(),
        None if first.is_numeric() => number(first)?,
        None => return Ok(None),
    };
    let rest = &words[1..];
    let unit = known.unit(rest.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.text));
    let name =
        known.find(rest.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str()));
    match unit {
        // `1 night walk` is a walk, not a night.
        Some((_, taken)) if name.is_some_and(|(_, longer)| longer > taken) => {}
        Some((unit, taken)) => {
            return Ok(Some((Said::Quantity(Quantity::new(amount, unit)), 1 + taken)));
        }
        None => {}
    }
    Ok(Some((Said::Bare(amount), 1)))
}

/// A plain decimal number.
pub(super) fn number(word: &Word) -> Result<Amount, Misread> {
    Amount::parse(word.text).map_err(|fault| match fault {
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

fn share(words: &[Word]) -> Result<Option<(Said, usize)>, Misread> {
    let first = &words[0];
    let (over, parts, taken) = if first.is("full") {
        (1, 1, 1)
    } else if first.is("empty") {
        (0, 1, 1)
    } else if first.is_numeric() && first.text.contains('/') {
        let (over, parts) = fraction(first)?;
        (over, parts, 1)
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

/// `3/4`, at most 1, in at most a hundred parts.
fn fraction(word: &Word) -> Result<(i64, i64), Misread> {
    let whole = |text: &str| {
        (text.len() <= 3 && text.bytes().all(|b| b.is_ascii_digit())).then(|| text.parse().ok())?
    };
    let said = word.text.split_once('/').and_then(|(a, b)| Some((whole(a)?, whole(b)?)));
    match said {
        Some((over, parts)) if (1..=100).contains(&parts) && over <= parts => Ok((over, parts)),
        Some(_) => Err(Misread::at(word, "not a share of the whole: 0/4 to 4/4, for instance")),
        None => Err(Misread::at(word, "not a fraction: write it like 3/4")),
    }
}
