//! A line that is offered, and what a key may take over of it: never a number that nobody said.

use super::amounts;
use super::lexicon::{Sense, lexicon};
use super::schedule;
use super::vocabulary::Vocabulary;
use crate::domain::time::Moment;

/// A whole line in place of one that was asked back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// The line, which would be saved as it stands.
    pub line: String,
    /// What one key may write: the line without its invented numbers, and the place of the cursor
    /// in it, in characters from 0. `None` where what is left would be saved as something else.
    pub typed: Option<(String, usize)>,
    /// What an invented number stands for, in words; `None` where every number was said.
    lacks: Option<&'static str>,
}

impl Offer {
    /// Whether it holds only what was said.
    pub fn is_whole(&self) -> bool {
        self.lacks.is_none()
    }

    /// `Write fresh, then the level: fresh 60%`, with `quote` around what is to be written; `None`
    /// where the line can be taken as it stands.
    pub fn way(&self, quote: &str) -> Option<String> {
        let lacks = self.lacks?;
        let line = &self.line;
        let before: Option<String> =
            self.typed.as_ref().map(|(text, cursor)| text.chars().take(*cursor).collect());
        Some(match before {
            Some(before) if before.trim().is_empty() => {
                format!("Write {lacks} first: {quote}{line}{quote}")
            }
            Some(before) => {
                format!("Write {quote}{}{quote}, then {lacks}: {quote}{line}{quote}", before.trim())
            }
            None => format!("Write {lacks} as well: {quote}{line}{quote}"),
        })
    }
}

/// The offer of `line` in place of `said`, at `now`.
pub fn offer(line: &str, said: &str, known: &Vocabulary, now: Moment) -> Offer {
    let letters: Vec<char> = line.chars().collect();
    let heard = heard(line, said, known, now);
    let (mut text, mut cursor, mut lacks, mut at) = (String::new(), None, None, 0);
    while let Some(letter) = letters.get(at) {
        let begins = letter.is_ascii_digit() && (at == 0 || !letters[at - 1].is_alphanumeric());
        let end = if begins { end_of_number(&letters, at) } else { at + 1 };
        let token: String = letters[at..end].iter().collect();
        let said = |number: &str| heard.iter().any(|heard| *heard == plain(number));
        if !begins || said(&token) || token.contains('/') && token.split('/').all(said) {
            text += &token;
            at = end;
            continue;
        }
        let (past, what) = past_unit(&letters, end, known);
        cursor.get_or_insert(text.chars().count());
        lacks.get_or_insert(what);
        at = past;
    }
    let Some(cursor) = cursor else {
        return Offer {
            line: line.to_string(),
            typed: Some((line.to_string(), line.chars().count())),
            lacks,
        };
    };
    let typed = schedule::understand(&text, known, now).is_err().then_some((text, cursor));
    Offer { line: line.to_string(), typed, lacks }
}

/// Digits, with what joins them to one number, one hour, one day or one place.
fn end_of_number(letters: &[char], from: usize) -> usize {
    let mut end = from + 1;
    while let Some(letter) = letters.get(end) {
        let joins =
            "./:,-".contains(*letter) && letters.get(end + 1).is_some_and(char::is_ascii_digit);
        if !letter.is_ascii_digit() && !joins {
            break;
        }
        end += 1;
    }
    end
}

/// Where the unit behind a number ends, and what such a number is.
fn past_unit(letters: &[char], end: usize, known: &Vocabulary) -> (usize, &'static str) {
    if letters.get(end) == Some(&'%') {
        return (end + 1, "the level");
    }
    let start = end + letters[end..].iter().take_while(|c| **c == ' ').count();
    let length = letters[start..].iter().take_while(|c| c.is_alphanumeric() || **c == '-').count();
    let word: String = letters[start..start + length].iter().collect::<String>().to_lowercase();
    match word.as_str() {
        "h" | "min" => (start + length, "how long"),
        "km" | "mi" => (start + length, "how far"),
        unit if !unit.is_empty() && known.unit_named(unit).is_some() => {
            (start + length, "how much")
        }
        _ => (end, "how many"),
    }
}

fn plain(number: &str) -> String {
    match number.parse::<f64>() {
        Ok(value) => format!("{value}"),
        Err(_) => number.to_string(),
    }
}

/// Every number that `said` holds, in digits or in words, with the forms that one takes in an
/// offer: a share as percent and as an amount of each stock, days as those of all aboard, an hour
/// of the afternoon. Those in the name of a place that `line` writes out count as said.
fn heard(line: &str, said: &str, known: &Vocabulary, now: Moment) -> Vec<String> {
    let mut values: Vec<f64> = Vec::new();
    let mut shares: Vec<f64> = Vec::new();
    let mut heard: Vec<String> = Vec::new();
    let places = known.places.iter().filter(|place| line.contains(place.as_str()));
    for text in places.map(String::as_str).chain([said]) {
        let letters: Vec<char> = text.to_lowercase().chars().collect();
        let mut at = 0;
        while at < letters.len() {
            if !letters[at].is_ascii_digit() {
                at += 1;
                continue;
            }
            let end = end_of_number(&letters, at);
            let token: String = letters[at..end].iter().collect();
            if let Some((over, parts)) = token.split_once('/')
                && let (Ok(over), Ok(parts)) = (over.parse::<f64>(), parts.parse::<f64>())
            {
                shares.push(over / parts);
            }
            // `2,5` may be one number or two.
            values.extend(token.split(',').filter_map(|part| part.parse::<f64>().ok()));
            values.extend(token.replace(',', ".").parse::<f64>().ok());
            if letters.get(end) == Some(&'%') {
                shares.extend(token.parse::<f64>().ok().map(|percent| percent / 100.0));
            }
            heard.push(token);
            at = end;
        }
    }
    let low = said.to_lowercase();
    for word in low.split(|c: char| !c.is_alphanumeric()) {
        match lexicon().find([word].into_iter()) {
            Some((Sense::Number(digits), _)) => values.extend(digits.parse::<f64>().ok()),
            _ if word == "a" || word == "an" => values.push(1.0),
            _ => {}
        }
        if let Some(parts) = amounts::parts_word(word) {
            shares.extend((1..parts).map(|over| over as f64 / parts as f64));
        }
        shares
            .extend(["empty", "full"].iter().position(|whole| *whole == word).map(|at| at as f64));
    }
    let parts = known.parts_on(known.zone.date(now));
    let amounts = shares.iter().flat_map(|share| {
        parts.stocks.iter().map(move |stock| (stock.capacity * share * 10.0).round() / 10.0)
    });
    let percents = shares.iter().map(|share| (share * 100_000.0).round() / 1000.0);
    let hours = values.iter().filter(|hour| hour.fract() == 0.0 && **hour < 24.0);
    heard
        .extend(hours.flat_map(|hour| [format!("{hour:02}:00"), format!("{:02}:00", hour + 12.0)]));
    let for_all = values.iter().map(|days| days * known.aboard.value());
    let all = values.iter().copied().chain(amounts).chain(percents).chain(for_all);
    heard.extend(all.map(|value| format!("{value}")));
    heard
}
