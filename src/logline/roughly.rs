//! An hour that is told roughly: `at about 2`, `parked up around five`.

use super::lexicon::{Tense, lexicon};
use super::units::is_counted;
use super::vocabulary::Vocabulary;
use super::word::{Kind, Word};
use chrono::NaiveDate;

/// The highest number that is rather how often something was done than an hour.
const OFTEN: u32 = 4;

/// The words with such an hour as one that is told plainly.
pub(super) fn hours_told<'a>(words: Vec<Word<'a>>, known: &Vocabulary) -> Vec<Word<'a>> {
    let hour = |at: usize| {
        let word = words.get(at).filter(|w| w.kind == Kind::Plain)?;
        let hour = word.low.parse::<u32>().ok().filter(|hour| (1..=24).contains(hour));
        hour.or(word.is("noon").then_some(12))
    };
    // What follows may count, or measure, or be another thing.
    let ends = |at: usize| match words.get(at) {
        None => true,
        Some(next) => {
            let said = words[at..].iter().map(|w| w.low.as_str());
            !(next.is_numeric()
                || next.is_any("% of x times or to until h")
                || known.unit_named(&next.low).is_some()
                || known.find(said).is_some())
        }
    };
    let headed = |at: usize| at > 0 && words[at - 1].is_any("at from since until by");
    let told = |at: usize| {
        words[at].is("about")
            && hour(at + 1).is_some_and(|hour| {
                let when = || is_when((&words[..at], words.get(at + 2)), hour, known);
                ends(at + 2) && (headed(at) || when())
            })
    };
    let kept = (0..words.len()).filter(|at| !(told(*at) && headed(*at)));
    let put = |at: usize| match told(at) {
        true => Word { low: "at".to_string(), tense: Tense::Behind, ..words[at].clone() },
        false => words[at].clone(),
    };
    kept.map(put).collect()
}

/// Whether a number behind what these words tell is the hour of it, and not how much it was.
fn is_when((before, next): (&[Word], Option<&Word>), hour: u32, known: &Vocabulary) -> bool {
    let came = before.iter().any(|w| w.is_any("camp drove-to"));
    let mut used = false;
    for at in 0..before.len() {
        let Some((meaning, _)) = known.find(before[at..].iter().map(|w| w.low.as_str())) else {
            continue;
        };
        let activity = meaning.activity.as_ref().and_then(|name| known.activity_named(name));
        let activity = activity.and_then(|name| known.activity_on(name, NaiveDate::MAX));
        match activity {
            Some((activity, _)) if is_counted(&activity.counted_in) => used = true,
            _ if came => {}
            _ => return false,
        }
    }
    let counted = before.iter().any(Word::is_numeric);
    // `washed up about 6 plates`.
    let counts = next.is_some_and(|w| !lexicon().lists(&w.low));
    came || used && !counts && (hour > OFTEN || counted)
}
