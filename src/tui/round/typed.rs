//! What is typed as an answer: a number, a share of the whole, or words as the log line reads them.

use super::drafts::{full_to, used, whole};
use super::scale::{NONE_LIT, Scale};
use crate::domain::{Amount, Draft, Event, Moment, Quantity, Unit};
use crate::logline::answers;
use crate::logline::{self, Vocabulary};

/// What would say a level.
const A_LEVEL: &str = "a number, a share such as 3/4, or half, full, empty; Space leaves it out";
/// What would say how often.
const A_COUNT: &str = "a whole number; Enter: as usual, n: none, Space: leave it out";
/// What would say how long.
const AN_AMOUNT: &str = "a number; Enter: as usual, n: none, Space: leave it out";
/// What would be a share.
const A_SHARE: &str = "a share such as 3/4 is at most 1";
/// Of a number that is too high.
const TOO_MUCH: &str = "more than there can be";

/// What the words of an answer are read with.
pub struct AnswerReader<'k> {
    /// The rig's words, without the journal: an answer puts nothing right that was said before.
    pub known: &'k Vocabulary,
    /// The moment that counts as now.
    pub now: Moment,
}

impl AnswerReader<'_> {
    /// A level of `stock`.
    pub(super) fn level(
        &self,
        stock: &str,
        scale: &Scale,
        typed: &str,
    ) -> Result<Vec<Draft>, &'static str> {
        let none = matches!(scale, Scale::Lamps(_)) && typed == NONE_LIT;
        if let Some(number) = if none { Some(0.0) } else { number(typed) } {
            let fits = scale.counts(number);
            return fits.then(|| scale.reading(stock, number, self.now)).ok_or(TOO_MUCH);
        }
        if let Some(share) = share(typed) {
            return share.map(|share| full_to(stock, share, self.now)).ok_or(A_SHARE);
        }
        let is_it = |event: &Event| matches!(event, Event::Level { stock: of, .. } if of == stock);
        self.said(&[format!("{stock} {typed}")], is_it).ok_or(A_LEVEL)
    }

    /// How much of `activity` there was.
    pub(super) fn used(
        &self,
        activity: &str,
        unit: &Unit,
        typed: &str,
    ) -> Result<Vec<Draft>, &'static str> {
        let is_measured = matches!(unit, Unit::Hour | Unit::Minute);
        let expected = if is_measured { AN_AMOUNT } else { A_COUNT };
        let is_whole = |amount: Amount| is_measured || amount.milli() % 1000 == 0;
        if let Some(number) = number(typed).map(whole) {
            let fits = is_whole(number);
            let count = Quantity::new(number, unit.clone());
            return fits.then(|| used(activity, count, self.now)).ok_or(expected);
        }
        let is_it = |event: &Event| match event {
            Event::Use { activity: of, count } => of == activity && is_whole(count.amount),
            _ => false,
        };
        let lines = [
            format!("{activity} {typed}"),
            format!("{typed} {activity}"),
            format!("{activity} {typed} {}", unit.word()),
            typed.to_string(),
        ];
        self.said(&lines, is_it).ok_or(expected)
    }

    /// What the first of these lines says that says one thing of now, and that one.
    fn said(&self, lines: &[String], is_it: impl Fn(&Event) -> bool) -> Option<Vec<Draft>> {
        let one = |line: &String| {
            let said = logline::parse(line, self.known, self.now).ok()?;
            let [one] = &said[..] else { return None };
            let is_now = one.at == self.now && one.note.is_none();
            (is_now && is_it(&one.event)).then(|| vec![Draft::from(one.clone())])
        };
        lines.iter().find_map(one)
    }
}

/// A number in digits or in a word.
pub fn number(typed: &str) -> Option<f64> {
    let digits = typed.replace(',', ".");
    let is_plain = digits.chars().all(|c| c.is_ascii_digit() || c == '.');
    let number = is_plain.then(|| digits.parse().ok()).flatten();
    number.or_else(|| answers::number(typed)).filter(|number: &f64| *number < 10_000.0)
}

/// The share that is typed as `3/4`: none inside where it is none of a whole, and none at all where
/// it is nothing of the kind.
fn share(typed: &str) -> Option<Option<f64>> {
    let (part, whole) = typed.split_once('/')?;
    let is_number = |text: &str| text.trim().chars().all(|c| c.is_ascii_digit());
    let number = |text: &str| text.trim().parse::<f64>().ok();
    (is_number(part) && is_number(whole)).then(|| {
        let share = number(part).zip(number(whole)).map(|(part, whole)| part / whole);
        share.filter(|share| (0.0..=1.0).contains(share))
    })
}
