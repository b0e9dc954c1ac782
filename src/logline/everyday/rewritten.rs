//! Clauses that are said in a way of the table of phrases, put in its plainer words; how sure the words
//! around them leave it, and whether the grammar takes it, is judged as of any other clause.

use super::cut_up::Clause;
use super::phrases::{Part, Row, Slot, Trust, phrases};
use super::reduced::worth;
use super::slots::{Value, value};
use super::so_far::{Read, tells};
use crate::domain::{Amount, Quantity};
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::{Hedge, Sense, lexicon};
use crate::logline::lexis::listed::{has_digit, is_of, lows, stem};
use crate::logline::lexis::word::{Kind, Word};
use crate::logline::tokens::spelled::replaced;
use crate::logline::tokens::words;
use std::cell::RefCell;
use std::collections::HashMap;

/// The most phrases of one line.
const MOST: usize = 8;
/// How far from a phrase the clause may be that says what it is of.
const NEAR: usize = 4;
/// The most words that say nothing within one phrase.
const LONGEST_GAP: usize = 6;

/// A word of a clause, or the one that joins it to the clause before.
struct Token<'l> {
    word: Word<'l>,
    clause: usize,
    joint: bool,
    /// Whether its clause is in words of the grammar.
    phrased: bool,
    asks: bool,
}

/// The words of some clauses.
struct Line<'l> {
    tokens: Vec<Token<'l>>,
    scene: &'l Scene<'l>,
    read: Read<'l>,
    /// Which of the things is taken that a row may say.
    way: usize,
    /// What the slots hold that have been tried so far.
    values: RefCell<ReadSlots>,
}

/// What a slot holds that begins with a token, and the token behind it.
type ReadSlots = HashMap<(Slot, usize), Option<(Value, usize)>>;

/// What the slots of a row hold.
type Held = Vec<(&'static str, Value)>;

/// A phrase of a line, from one token up to another, and what it says.
struct Found {
    row: &'static Row,
    from: usize,
    to: usize,
    says: String,
    /// Words within it that it does not say.
    left: String,
}

/// Puts what clauses say by rows of the table in their words, and says which rows did it, and how far
/// each may be trusted here.
pub(super) fn rewrite(
    sentences: &mut Vec<Vec<Clause>>,
    (scene, read): (&Scene, Read),
    way: usize,
) -> Vec<(&'static Row, Trust)> {
    let mut rows = Vec::new();
    for _ in 0..MOST {
        let clauses: Vec<&Clause> = sentences.iter().flatten().collect();
        let line =
            Line { tokens: tokens(&clauses, scene), scene, read, way, values: RefCell::default() };
        let Some(found) = line.found() else { break };
        rows.push((found.row, line.trust(&found, &clauses)));
        let all = line.with(&found, &clauses);
        let first = line.tokens[found.from].clause;
        let last = line.tokens[found.to - 1].clause;
        splice(sentences, (first, last), all);
    }
    rows
}

/// How far the words of these rows may be trusted together; `None` where there are none.
pub(super) fn trust(rows: &[(&Row, Trust)]) -> Option<Trust> {
    let firm = rows.iter().all(|(_, trust)| matches!(trust, Trust::Said | Trust::Within));
    (!rows.is_empty()).then_some(if firm { Trust::Said } else { Trust::Offered })
}

/// Puts clauses in place of those from one to another, counted over all sentences.
fn splice(sentences: &mut Vec<Vec<Clause>>, (first, last): (usize, usize), new: Vec<Clause>) {
    let (mut at, mut new) = (0, Some(new));
    for sentence in sentences.iter_mut() {
        let mut all = Vec::with_capacity(sentence.len());
        for clause in sentence.drain(..) {
            match at {
                at if at < first || at > last => all.push(clause),
                _ => all.extend(new.take().into_iter().flatten()),
            }
            at += 1;
        }
        *sentence = all;
    }
    sentences.retain(|sentence| !sentence.is_empty());
}

fn tokens<'l>(clauses: &[&'l Clause], scene: &Scene) -> Vec<Token<'l>> {
    let mut tokens = Vec::new();
    for (clause, of) in clauses.iter().enumerate() {
        let joint = Some(&of.joint).filter(|joint| !joint.is_empty());
        let token = |word, joint| Token { word, clause, joint, phrased: of.phrased, asks: of.asks };
        tokens.extend(joint.map(|text| token(Word::bare(text), true)));
        let pieces = words::pieces(&of.text, scene.known).unwrap_or_default();
        let words = pieces.into_iter().flat_map(|piece| piece.words);
        tokens.extend(words.map(|word| token(word, false)));
    }
    tokens
}

impl Line<'_> {
    /// The longest phrase of the line, the first of the table where several are as long.
    fn found(&self) -> Option<Found> {
        let words = self.tokens.iter().map(|token| token.word.low.as_str());
        let mut best: Option<Found> = None;
        for row in phrases().fitting(words).into_iter().map(|at| &phrases().rows[at]) {
            let longer = |from: usize| {
                let found = self.said(row, from)?;
                let more = |best: &Found| best.to - best.from < found.to - found.from;
                best.as_ref().is_none_or(more).then_some(found)
            };
            let found = (0..self.tokens.len()).find_map(longer);
            best = found.or(best);
        }
        best
    }

    /// What a row says from a token on.
    fn said(&self, row: &'static Row, from: usize) -> Option<Found> {
        let aboard = self.scene.known.aboard;
        let people = |all: Amount| Value::number(all.value(), all.to_string());
        let mut held = vec![("aboard", people(aboard)), ("crew", people(self.scene.known.crew))];
        let parts: Vec<&Part> = row.parts.iter().collect();
        let to = self.matches(&parts, (from, true), &mut held).filter(|to| *to > from)?;
        let whole = matches!(row.trust, Trust::Said | Trust::Offered);
        // A question tells what it measures, and no more.
        let asks = self.tokens[from..to].iter().any(|token| token.asks);
        let open = asks && !self.tokens[from..to].iter().any(|t| t.word.is_numeric());
        let own = self.tokens[from].clause;
        let before = self.tokens[..from].iter().filter(|token| token.clause == own);
        // `took his pee away`.
        let his = |word: &Word| is_of("whose", &word.low);
        let open = open || before.into_iter().any(|t| is_not(&t.word) || his(&t.word));
        if !self.fits(row, (from, to))
            || whole && open
            || whole && self.tokens[from..to].iter().any(|t| t.phrased)
        {
            return None;
        }
        let mut ways = row.says.split(" | ");
        let first = ways.next().unwrap_or_default();
        let says = written(ways.nth(self.way.wrapping_sub(1)).unwrap_or(first), &held)?;
        let before = self.tokens[from..to].iter().map(|token| &*token.word.low);
        let same = before.collect::<Vec<_>>().join(" ") == says;
        let judged = !whole || says.is_empty() || tells(self.read, &says);
        let passed = held.iter().filter(|(name, _)| *name == "...");
        let passed = passed.map(|(_, value)| value.text.as_str()).collect::<Vec<_>>().join(" ");
        let left = worth(&passed).unwrap_or_default();
        (judged && !same).then_some(Found { row, from, to, says, left })
    }

    /// Whether the clauses of these tokens, and those beside them, hold what the row asks for.
    fn fits(&self, row: &Row, (from, to): (usize, usize)) -> bool {
        let (first, last) = (self.tokens[from].clause, self.tokens[to - 1].clause);
        let any = |rows: &str, near: usize| {
            let own = first.saturating_sub(near)..=last + near;
            let of = |token: &&Token| own.contains(&token.clause);
            self.tokens.iter().filter(of).any(|token| is_of(rows, stem(&token.word.low)))
        };
        row.with.is_empty() || any(row.with, NEAR)
    }

    /// What a slot holds that begins with a token, read once.
    fn value(&self, slot: Slot, at: usize) -> Option<(Value, usize)> {
        let own = self.tokens.get(at)?.clause;
        let rest = self.tokens[at..].iter().take_while(|token| token.clause == own);
        let read = || {
            let words: Vec<Word> = rest.map(|token| token.word.clone()).collect();
            value(slot, &words, self.scene).map(|(value, taken)| (value, at + taken))
        };
        self.values.borrow_mut().entry((slot, at)).or_insert_with(read).clone()
    }

    fn begins(&self, at: usize) -> bool {
        at == 0 || at >= self.tokens.len() || self.tokens[at].clause != self.tokens[at - 1].clause
    }

    /// Where these parts end from a token on, or from the next one where it says nothing; `free` is
    /// whether that may begin a clause.
    fn matches(
        &self,
        parts: &[&Part],
        (at, free): (usize, bool),
        held: &mut Held,
    ) -> Option<usize> {
        let kept = held.len();
        let passed = |line: &Self| {
            let token = line.tokens.get(at).filter(|token| !free && !token.joint);
            token.is_some_and(|token| is_of("within", &token.word.low) && !line.begins(at))
        };
        self.matched(parts, (at, free), held).or_else(|| {
            held.truncate(kept);
            passed(self).then(|| self.matches(parts, (at + 1, false), held))?
        })
    }

    /// `at 1.43` may be an hour where it is read as a price.
    fn hour_of(&self, slot: Slot, at: usize) -> Option<Value> {
        (slot == Slot::Price).then(|| self.value(Slot::Clock, at))?.map(|(hour, _)| hour)
    }

    fn matched(
        &self,
        parts: &[&Part],
        (at, free): (usize, bool),
        held: &mut Held,
    ) -> Option<usize> {
        let Some((part, rest)) = parts.split_first() else { return Some(at) };
        let token = self.tokens.get(at);
        let joint = token.is_some_and(|token| token.joint);
        let apart = !free && self.begins(at) && !joint;
        match part {
            Part::Maybe(inner) => {
                let all: Vec<&Part> = inner.iter().chain(rest.iter().copied()).collect();
                let kept = held.len();
                self.matches(&all, (at, free), held).or_else(|| {
                    held.truncate(kept);
                    self.matches(rest, (at, free), held)
                })
            }
            Part::Begin if at == 0 || self.begins(at) => {
                let kept = held.len();
                self.matches(rest, (at, true), held).or_else(|| {
                    held.truncate(kept);
                    joint.then(|| self.matches(rest, (at + 1, true), held))?
                })
            }
            Part::Begin => None,
            Part::End => self.begins(at).then(|| self.matches(rest, (at, free), held))?,
            Part::Break => {
                let and = token.is_some_and(|token| joint && !is_of("why", &token.word.low));
                let ends = self.begins(at) && at > 0 && token.is_some() && (and || !joint);
                ends.then(|| self.matches(rest, (at + usize::from(and), true), held))?
            }
            Part::Slot(Slot::Words, name) => self.gap(name, rest, (at, free), held),
            Part::Slot(..) if apart || joint => None,
            Part::Slot(slot, name) => {
                let (value, to) = self.value(*slot, at)?;
                held.push((name, value));
                held.extend(self.hour_of(*slot, at).map(|hour| ("clock", hour)));
                self.matches(rest, (to, false), held)
            }
            Part::Words(..) | Part::Class(_) if apart => None,
            Part::Words(any, name) => {
                let fits = |phrase: &&Vec<&str>| {
                    let mut words = phrase.iter().enumerate();
                    words.all(|(n, word)| self.is_word(at + n, word, at))
                };
                let taken = any.iter().filter(fits).map(Vec::len).max()?;
                if !name.is_empty() {
                    let words = self.tokens[at..at + taken].iter().map(|token| token.word.text);
                    held.push((name, Value::of(words.collect::<Vec<_>>().join(" "))));
                }
                self.matches(rest, (at + taken, false), held)
            }
            Part::Class(name) => {
                let clause = token?.clause;
                let own = self.tokens[at..].iter().take_while(|token| token.clause == clause);
                let lows: Vec<&str> = own.map(|token| token.word.low.as_str()).collect();
                let stems: Vec<&str> = lows.iter().map(|low| stem(low)).collect();
                let taken = lexicon().takes(name, &lows).max(lexicon().takes(name, &stems));
                let taken = Some(taken).filter(|taken| *taken > 0)?;
                self.matches(rest, (at + taken, false), held)
            }
        }
    }

    /// Whether a word stands there, in the clause of another.
    fn is_word(&self, at: usize, word: &str, of: usize) -> bool {
        let token = self.tokens.get(at);
        token.is_some_and(|token| {
            [token.word.low.as_str(), stem(&token.word.low)].contains(&word)
                && token.clause == self.tokens[of].clause
        })
    }

    /// Passes over as few words as will do that change nothing.
    fn gap(
        &self,
        name: &'static str,
        rest: &[&Part],
        (from, free): (usize, bool),
        held: &mut Held,
    ) -> Option<usize> {
        let quiet = |at: usize| {
            let token = self.tokens.get(at).filter(|token| !token.joint);
            let named = |token: &Token| self.scene.known.names(&token.word.low);
            token.is_some_and(|token| {
                (at == from && free || !self.begins(at)) && is_quiet(&token.word) && !named(token)
            })
        };
        let most = (from..from + LONGEST_GAP).take_while(|at| quiet(*at)).count();
        (from..=from + most).find_map(|to| {
            let kept = held.len();
            let text: Vec<&str> = self.tokens[from..to].iter().map(|t| t.word.text).collect();
            held.push((name, Value::of(text.join(" "))));
            let end = self.matches(rest, (to, free && to == from), held);
            if end.is_none() {
                held.truncate(kept);
            }
            end
        })
    }

    /// The words of its clauses that stand in front of a phrase, and those behind it.
    fn around(&self, found: &Found, clauses: &[&Clause]) -> (String, String) {
        let (first, last) = (&self.tokens[found.from], &self.tokens[found.to - 1]);
        // The phrase begins with the word that joins the clause.
        let start = if first.joint { 0 } else { first.word.start };
        let before: String = clauses[first.clause].text.chars().take(start).collect();
        let end = if last.joint { 0 } else { last.word.end };
        let behind = replaced(&clauses[last.clause].text, (0, end), "");
        (before.trim().to_string(), behind.trim().to_string())
    }

    /// How far a phrase may be trusted where it stands: what is left out beside it may not change it.
    fn trust(&self, found: &Found, clauses: &[&Clause]) -> Trust {
        let (before, behind) = self.around(found, clauses);
        let quiet = |text: &String| {
            let doubt = |low: &str| lexicon().sense(low) == Some(Sense::Hedge(Hedge::Doubt));
            let plain = |low: &String| is_quiet(&Word::bare(low)) && !doubt(low);
            worth(text).is_some() || lows(text).iter().all(plain)
        };
        match found.row.trust {
            Trust::Said if !(quiet(&before) && quiet(&behind)) => Trust::Offered,
            trust => trust,
        }
    }

    /// The clauses of a phrase with its words in their place.
    fn with(&self, found: &Found, clauses: &[&Clause]) -> Vec<Clause> {
        let (first, last) = (&self.tokens[found.from], &self.tokens[found.to - 1]);
        let of = clauses[first.clause];
        let whole = matches!(found.row.trust, Trust::Said | Trust::Offered);
        let (before, behind) = self.around(found, clauses);
        let (before, behind) = (before.as_str(), behind.as_str());
        let inline = format!("{before} {} {behind}", found.says);
        // What the grammar does not take beside it is a clause of its own.
        let alone = before.is_empty() && behind.is_empty();
        let taken = alone || matches!((self.read)(inline.trim()), Some(Ok(_)));
        let parts = match whole && !taken {
            true => {
                let all = [worth(before), Some(found.says.clone()), worth(behind)];
                all.into_iter().flatten().collect::<Vec<_>>().join(", ")
            }
            false => inline,
        };
        let text = format!("{parts}, {}", found.left);
        let text = text.replace(" ,", ",");
        let phrased = whole || of.phrased;
        let asks = clauses[first.clause..=last.clause].iter().any(|clause| clause.asks);
        let head = clauses[last.clause].head;
        let told: Vec<&str> = text.split(", ").map(str::trim).filter(|t| !t.is_empty()).collect();
        let clause = |(at, text): (usize, &&str)| {
            let joint = if at == 0 { of.joint.clone() } else { String::new() };
            let head = head && at + 1 == told.len();
            Clause { text: text.to_string(), joint, asks, head, phrased, ..of.clone() }
        };
        told.iter().enumerate().map(clause).collect()
    }
}

/// Whether a word takes a meaning back.
fn is_not(word: &Word) -> bool {
    lexicon().sense(&word.low) == Some(Sense::Hedge(Hedge::Not))
}

/// Whether a word within a phrase changes nothing in what it says.
fn is_quiet(word: &Word) -> bool {
    let odd = lexicon().sense(&word.low) == Some(Sense::Hedge(Hedge::Odd));
    let digits = has_digit(&word.low);
    word.kind == Kind::Plain
        && !(odd || is_not(word) || digits || is_of("undone wanted elsewhere", &word.low))
}

/// What a row says with what its slots hold; `None` where it says something of nothing.
fn written(says: &str, held: &Held) -> Option<String> {
    let mut text = String::new();
    let mut rest = says;
    while let Some((before, inner)) = rest.split_once('{') {
        let (name, after) = inner.split_once('}')?;
        text += before;
        text += &reckoned(name, held)?;
        rest = after;
    }
    Some((text + rest).split_whitespace().collect::<Vec<_>>().join(" ").replace(" ,", ","))
}

/// What one slot holds, or the product, the sum or the difference of several: `n*amount`, `n2-n1`;
/// `n:amount` is the one in the unit of the other.
fn reckoned(name: &str, held: &Held) -> Option<String> {
    let of = |name: &str| held.iter().find(|(own, _)| *own == name).map(|(_, value)| value);
    let Some(at) = name.find(['*', '-', '+', ':']) else {
        return Some(of(name).map_or(String::new(), |value| value.text.clone()));
    };
    let (one, other) = (&name[..at], &name[at + 1..]);
    let number = |name: &str| of(name).map_or_else(|| name.parse().ok(), |value| value.number);
    let (a, b) = (number(one)?, number(other)?);
    let all = match name.as_bytes()[at] {
        b'*' => a * b,
        b'+' => a + b,
        b'-' => a - b,
        _ => a,
    };
    let amount = Amount::from_f64(all).ok().filter(|amount| amount.milli() > 0)?;
    let unit = [of(one), of(other)].into_iter().flatten().find_map(|value| value.unit.clone());
    Some(unit.map_or(amount.to_string(), |unit| Quantity::new(amount, unit).to_string()))
}

#[cfg(test)]
mod tests {
    use super::super::cut_up::sentences;
    use super::*;
    use crate::logline::grammar::prepared::clock;
    use crate::logline::grammar::schedule::understand;
    use crate::logline::lexis::vocabulary::Vocabulary;
    use crate::store::data_folder::DataFolder;
    use crate::store::real_disk::RealDisk;
    use std::path::Path;
    use std::sync::Arc;

    /// Every row of the table is said by a line of the fixtures, whose meaning stands beside it there.
    #[test]
    #[allow(clippy::disallowed_methods, reason = "the test reads all fixtures")]
    fn every_row_has_an_example() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut demo =
            DataFolder::at(&root.join("demo"), &root.join("target/none"), Arc::new(RealDisk));
        let rig = demo.load().unwrap().rig;
        let mut used = vec![false; phrases().rows.len()];
        let mut known: Option<Vocabulary> = None;
        let mut now = crate::domain::Moment::default();
        let files = std::fs::read_dir(root.join("tests/fixtures/lines")).unwrap();
        let texts = files.map(|file| std::fs::read_to_string(file.unwrap().path()).unwrap());
        for text in texts {
            for line in text.lines() {
                if let Some(at) = line.strip_prefix("@ ") {
                    let civil = chrono::NaiveDateTime::parse_from_str(at, "%Y-%m-%dT%H:%M");
                    now = rig.zone(now).moment(civil.unwrap());
                    known = Some(Vocabulary::at(&rig, &[], now));
                }
                let (Some(known), Some((line, _))) = (&known, line.rsplit_once(" => ")) else {
                    continue;
                };
                let clock = clock(known, now).unwrap();
                let scene = Scene::now(known, &clock);
                let read = |line: &str| Some(understand(line, known, now));
                for (row, _) in rewrite(&mut sentences(line), (&scene, &read), 0) {
                    let at = phrases().rows.iter().position(|own| std::ptr::eq(own, row));
                    used[at.unwrap()] = true;
                }
            }
        }
        let rows = phrases().rows.iter().zip(used);
        let without: Vec<&str> = rows.filter(|(_, used)| !used).map(|(row, _)| row.text).collect();
        assert!(without.is_empty(), "no line of the fixtures says these: {without:#?}");
    }
}
