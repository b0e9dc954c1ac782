//! Sentences of everyday speech, word by word: for what is told across several clauses.

use super::cut_up::Clause;
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::{Sense, lexicon};
use crate::logline::lexis::listed::{is_of, stem};
use crate::logline::lexis::word::{Kind, Word};
use crate::logline::times::moment::When;
use crate::logline::times::time::{is_time_word, longest_phrase};
use crate::logline::tokens::words;

/// The longest phrase that is looked for, in words.
const LONGEST: usize = 10;

/// The words of some clauses, those that join them among them; numbers and times are in words of the
/// grammar.
pub(in crate::logline) struct Prose<'p> {
    pub words: Vec<Word<'p>>,
    /// The clause that each word stands in.
    pub clause: Vec<usize>,
    pub scene: &'p Scene<'p>,
}

impl<'p> Prose<'p> {
    pub(in crate::logline) fn of(clauses: &'p [&'p Clause], scene: &'p Scene<'p>) -> Prose<'p> {
        let mut prose = Prose { words: Vec::new(), clause: Vec::new(), scene };
        for (at, clause) in clauses.iter().enumerate() {
            if !clause.joint.is_empty() {
                prose.push(Word::bare(&clause.joint), at);
            }
            let pieces = words::pieces(&clause.text, scene.known).unwrap_or_default();
            let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
            let mut rest = &words[..];
            while !rest.is_empty() {
                let (plain, taken) = plain(rest);
                plain.into_iter().for_each(|word| prose.push(word, at));
                rest = &rest[taken..];
            }
        }
        prose
    }

    /// With ranges in three words: `1..7`, `-1/8`, `-9 up to 1`.
    pub(super) fn with_ranges(self) -> Prose<'p> {
        let mut prose = Prose { words: Vec::new(), clause: Vec::new(), scene: self.scene };
        let mut all = self.words.into_iter().zip(self.clause).peekable();
        while let Some((word, clause)) = all.next() {
            let to = word.is("up") && all.peek().is_some_and(|(next, _)| next.is("to"));
            if to && prose.words.last().is_some_and(Word::is_numeric) {
                continue;
            }
            match range(&word.low).filter(|_| word.kind == Kind::Plain) {
                Some(words) => words
                    .into_iter()
                    .for_each(|low| prose.push(Word { low, ..word.clone() }, clause)),
                None => prose.push(word, clause),
            }
        }
        prose
    }

    fn push(&mut self, word: Word<'p>, clause: usize) {
        self.words.push(word);
        self.clause.push(clause);
    }

    pub(in crate::logline) fn len(&self) -> usize {
        self.words.len()
    }

    /// Whether there is a word there that stands in one of these rows.
    pub(in crate::logline) fn is(&self, rows: &str, at: usize) -> bool {
        self.words.get(at).is_some_and(|w| is_of(rows, &w.low))
    }

    /// How many words the phrase of a row takes that begins here.
    pub(in crate::logline) fn begins(&self, row: &str, at: usize) -> usize {
        lexicon().begins(row, &self.lows(at))
    }

    pub(in crate::logline) fn lows(&self, at: usize) -> Vec<&str> {
        self.words[at.min(self.len())..].iter().take(LONGEST).map(|w| w.low.as_str()).collect()
    }

    /// The time that begins here, and how many words it takes; those of another clause are none of it.
    pub(in crate::logline) fn time(&self, at: usize) -> Option<(When, usize)> {
        let end = (at..self.len()).find(|n| self.clause[*n] != self.clause[at]);
        longest_phrase(&self.words[at..end.unwrap_or(self.len())], self.scene.clock)
    }

    /// When a stay that begins here begins and ends, `for the weekend`, and how many words that takes.
    pub(super) fn stay(&self, at: usize) -> Option<(String, &'static str, usize)> {
        let (sense, taken) = lexicon().find(self.lows(at).into_iter())?;
        let Sense::Ask(ways) = sense else { return None };
        let (begin, end) = ways.split(" | ").next()?.split_once(" until ")?;
        Some((begin.to_string(), end, taken))
    }

    /// The part of a day that is told by what was done then, `in the morning`, `after breakfast`, and
    /// how many words that takes.
    pub(super) fn part_of_day(&self, at: usize) -> Option<(&'static str, usize)> {
        let (sense, taken) = lexicon().find(self.lows(at).into_iter())?;
        let Sense::Ask(ways) = sense else { return None };
        let part = ways.split(" | ").next()?.strip_prefix("this ")?;
        Some((part, taken))
    }
}

/// Two whole numbers that two dots, a slash or a hyphen joins, and the unit glued to them: `1..7`,
/// `28-46F`.
fn range(low: &str) -> Option<Vec<String>> {
    let bare = low.trim_end_matches(['c', 'f', '°']);
    let whole = |text: &str| text.parse::<i32>().is_ok();
    let hyphen = || bare.match_indices('-').find(|(at, _)| *at > 0).map(|(at, _)| at);
    let dash = || hyphen().map(|at| (&bare[..at], &bare[at + 1..]));
    let (from, to) = bare.split_once("..").or_else(|| bare.split_once('/')).or_else(dash)?;
    let unit = low[bare.len()..].trim_start_matches('°');
    let all = [from, "to", to, unit].into_iter().filter(|word| !word.is_empty());
    (whole(from) && whole(to)).then(|| all.map(str::to_string).collect())
}

/// The word or the phrase that begins `words`, where it is a number or a time in words of the grammar,
/// and how many words that were.
fn plain<'a>(words: &[Word<'a>]) -> (Vec<Word<'a>>, usize) {
    let lows = words.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str());
    let time = |said: &str| said.split(' ').any(|w| is_time_word(w) || w == "now");
    let (said, taken) = match lexicon().find(lows) {
        Some((Sense::Number(digits), taken)) => (digits, taken),
        Some((Sense::Say(said, _), taken)) if time(said) => (said, taken),
        _ => {
            // `wednesday's done`, `saturdays done`.
            let low = stem(&words[0].low).trim_end_matches('s');
            let day = is_time_word(low) && (low.ends_with("day") || words[0].low.ends_with("'s"));
            let low = if day { low.to_string() } else { words[0].low.clone() };
            return (vec![Word { low, ..words[0].clone() }], 1);
        }
    };
    let (first, end) = (&words[0], words[taken - 1].end);
    let word = |low: &str| Word { low: low.to_string(), end, ..first.clone() };
    (said.split(' ').map(word).collect(), taken)
}
