//! Amounts as people say them: `20 L`, `60%`, `3/4`, `three quarters`, `two`.

use super::lexicon::lexicon;
use super::misread::Misread;
use super::vocabulary::Vocabulary;
use super::word::{Kind, Word};
use crate::domain::quantity::AmountFault;
use crate::domain::{Amount, Quantity, Unit};

/// An amount as it was said.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::logline) enum Said {
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
    pub(in crate::logline) fn days(&self) -> Option<i64> {
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
pub(in crate::logline) fn read(
    words: &[Word],
    known: &Vocabulary,
) -> Result<Option<(Said, usize)>, Misread> {
    let Some(first) = words.first().filter(|w| w.kind == Kind::Plain) else { return Ok(None) };
    if let Some((share, taken)) = share(words)? {
        let of = of_a_unit(&share, words, taken, known);
        // `half a shower` is no level.
        let part = matches!(share, Said::Share { parts: 2.., .. });
        let one = part && words.get(taken).is_some_and(|w| w.is("a") || w.is("an"));
        return Ok(of.or((!one).then_some((share, taken))));
    }
    let amount = match () {
        () if first.is("a") || first.is("an") => Amount::from_milli(1000).unwrap_or_default(),
        () if first.is_numeric() => on_a_clock(words, known).map_or_else(|| number(first), Ok)?,
        () => return Ok(None),
    };
    let rest = &words[1..];
    let (amount, mixed) = and_a_part(amount, rest, known);
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
            let (amount, more) = and_a_part(amount, &rest[taken..], known);
            let (amount, minutes) = and_minutes(amount, &unit, &rest[taken + more..], known);
            // `95% full`.
            let all = words.get(1 + mixed + taken).is_some_and(|w| w.is("full"));
            let more = more + usize::from(all && unit == Unit::Percent);
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

/// `1:30 h`: hours as clocks show them.
fn on_a_clock(words: &[Word], known: &Vocabulary) -> Option<Amount> {
    let (hours, minutes) = words[0].low.split_once(':')?;
    let unit = known.unit_named(&words.get(1)?.low)?;
    let long = hours.parse::<f64>().ok()? + minutes.parse::<f64>().ok()? / 60.0;
    Amount::from_f64(long).ok().filter(|_| unit == Unit::Hour)
}

/// The amount with `and a half`, or with a `1/2` behind it, and how many words that takes.
fn and_a_part(amount: Amount, words: &[Word], known: &Vocabulary) -> (Amount, usize) {
    let unit = |w: Option<&Word>| w.is_some_and(|w| known.unit_named(&w.low).is_some());
    let (part, taken) = match words {
        // `an hour and three quarters`.
        [and, over, part, ..] if and.is("and") && number_word(over).is_some() => {
            let share =
                parts_word(&part.low).zip(number_word(over)).filter(|(parts, over)| over < parts);
            let share = share.map(|(parts, over)| over as f64 / parts as f64);
            return match share.and_then(|share| Amount::from_f64(amount.value() + share).ok()) {
                Some(more) => (more, 3),
                None => (amount, 0),
            };
        }
        [and, half, next @ ..] if and.is("and") && unit(next.first()) => (parts_word(&half.low), 2),
        [part, next @ ..] if unit(next.first()) => {
            (part.low.strip_prefix("1/").and_then(|parts| parts.parse().ok()), 1)
        }
        _ => (None, 0),
    };
    let part = part.filter(|parts| *parts > 1);
    match part.and_then(|parts| Amount::from_f64(amount.value() + 1.0 / parts as f64).ok()) {
        Some(more) => (more, taken),
        None => (amount, 0),
    }
}

/// Hours with the minutes that follow them, and how many words those take: `2 h 10 min`, `1 hour
/// and 10 minutes`; `4 h 20` leaves their unit out where nothing follows that it could count.
fn and_minutes(hours: Amount, unit: &Unit, words: &[Word], known: &Vocabulary) -> (Amount, usize) {
    let and = usize::from(words.first().is_some_and(|w| w.is("and")));
    let minutes = words.get(and).filter(|w| w.is_numeric()).and_then(|w| {
        let two = w.low.len() == 2 && w.low.as_str() < "60";
        let next = words.get(and + 1);
        let said = next.is_some_and(|w| known.unit_named(&w.low) == Some(Unit::Minute));
        let end = next.is_none_or(|w| w.is_any("on drive drove of to at in with from by"));
        (said || two && end)
            .then(|| Some((w.low.parse::<f64>().ok()?, and + 1 + usize::from(said))))?
    });
    let both = minutes.filter(|_| *unit == Unit::Hour);
    match both.and_then(|(minutes, taken)| {
        Some((Amount::from_f64(hours.value() + minutes / 60.0).ok()?, taken))
    }) {
        Some(both) => both,
        None => (hours, 0),
    }
}

/// `10 minutes`, `twenty on the laptop`: so many minutes behind `an hour and`.
pub(in crate::logline) fn is_minutes(rest: &str) -> bool {
    let mut words = rest.split(' ');
    let number = words.next().and_then(|word| lexicon().count(word));
    let ends = words.next().is_none_or(|w| w.starts_with("min") || w.is_empty() || w == "on");
    ends && number.is_some_and(|n| (5..60).contains(&n))
}

/// A plain decimal number.
pub(in crate::logline) fn number(word: &Word) -> Result<Amount, Misread> {
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

fn share(words: &[Word]) -> Result<Option<(Said, usize)>, Misread> {
    let first = &words[0];
    let (over, parts, taken) = if first.is("full") {
        (1, 1, 1)
    } else if first.is("empty") {
        (0, 1, 1)
    } else if first.is_numeric() && first.low.contains('/') {
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
    let full = usize::from(parts > 1 && words.get(taken).is_some_and(|w| w.is_any("full empty")));
    // `half empty`, `a third empty`.
    let empty = full > 0 && words[taken].is("empty");
    let over = if empty { parts - over } else { over };
    let percent = Amount::from_f64(over as f64 / parts as f64 * 100.0).unwrap_or_default();
    Ok(Some((Said::Share { percent, parts }, taken + full)))
}

/// `half an hour`, `3/4 h`, `three quarters of an hour`: so much of a unit. `3/5 kg` is rather three of
/// the five that a bottle holds.
fn of_a_unit(
    share: &Said,
    words: &[Word],
    taken: usize,
    known: &Vocabulary,
) -> Option<(Said, usize)> {
    let Said::Share { percent, parts: 2..=4 | 8 } = share else { return None };
    let small = |at: usize| words[at].is_any("of an a");
    let at = (taken..words.len()).find(|at| !small(*at))?;
    let unit = known.unit_named(&words[at].low).filter(|_| words[at].kind == Kind::Plain)?;
    let part = Amount::from_f64(percent.value() / 100.0).ok()?;
    (unit != Unit::Percent).then(|| (Said::Quantity(Quantity::new(part, unit)), at + 1))
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
pub(in crate::logline) fn step_words(step: f64) -> String {
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
pub(in crate::logline) fn stated_step(words: &[Word]) -> Result<Option<(f64, usize)>, Misread> {
    let message = "the gauge's step: write `in quarters` or `in steps of 5%`";
    match words {
        [into, steps, of, by, rest @ ..]
            if into.is("in") && steps.is("steps") && of.is("of") && by.is_numeric() =>
        {
            let percent = number(by)?;
            let most = Amount::from_milli(100_000).unwrap_or_default();
            if !rest.first().is_some_and(|w| w.is_any("% percent")) {
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
