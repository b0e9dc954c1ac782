//! Everyday speech, brought to the words of the grammar: verbs of the trade, words that mean
//! nothing beside a thing, beginnings of words, numbers in letters. What each means stands in the
//! lexicon; a word that the rig gives to a thing of its own wins.

use super::amounts::{self, Said};
use super::lexicon::{OPENERS, Sense, Tense, lexicon};
use super::misread::{EXAMPLE, Misread, example};
use super::time;
use super::units::is_counted;
use super::vocabulary::Vocabulary;
use super::word::{Kind, Mark, Word};
use crate::domain::flow::Per;
use chrono::NaiveDate;

/// The shortest beginning of a word that stands for it.
const SHORTEST_BEGINNING: usize = 3;

/// The same of a verb: many short words of English begin as one.
const SHORTEST_VERB: usize = 4;

/// Words that a question begins with.
const ASKING: [&str; 9] = ["is", "are", "was", "were", "do", "did", "have", "has", "can"];

/// Words of what is said of who is aboard.
const PEOPLE: [&str; 7] = ["guest", "guests", "visitor", "visitors", "away", "aboard", "crew"];

/// Words of the grammar that are said of a service, and how each is said when it comes last.
pub(super) const SERVICES: [&str; 5] = ["filled", "added", "emptied", "swapped", "out-of"];
/// Words of the grammar that take an amount, which may stand before them.
pub(super) const MEASURED: [&str; 4] = ["drove", "shore", "generator", "charged"];

/// The words of one thing as the grammar has them.
pub(super) fn plain<'a>(
    words: Vec<Word<'a>>,
    known: &Vocabulary,
) -> Result<Vec<Word<'a>>, Misread> {
    let of_people = words.iter().any(|w| PEOPLE.iter().any(|p| w.is(p)));
    let asks = words.first().is_some_and(|w| ASKING.iter().any(|asks| w.is(asks)));
    let out = Vec::with_capacity(words.len());
    let mut said = Speech { known, of_people, out, will: false, asks };
    let mut at = said.mends(&words);
    while at < words.len() {
        at += said.take(&words[at..])?;
    }
    said.finish()
}

/// Whether these words say nothing at all: `no`, `oops`, before what is meant.
pub(super) fn is_aside(words: &[Word]) -> bool {
    lexicon().aside(&lows(words)) == words.len()
}

fn lows<'w>(words: &'w [Word]) -> Vec<&'w str> {
    words.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str()).collect()
}

/// The words of the grammar that have been read so far.
struct Speech<'a, 'k> {
    known: &'k Vocabulary,
    /// Whether the thing is about who is aboard.
    of_people: bool,
    out: Vec<Word<'a>>,
    /// Whether a word has said that all of it is to come.
    will: bool,
    /// Whether it begins as a question does.
    asks: bool,
}

impl<'a> Speech<'a, '_> {
    /// `no 55%` mends an amount that was said before: one word for the aside, and how many it takes.
    fn mends(&mut self, words: &[Word<'a>]) -> usize {
        let taken = lexicon().aside(&lows(words));
        let amount = words.get(taken).is_some_and(|w| w.is_numeric() || w.is("about"));
        let named = (taken..words.len()).any(|at| is_name(&words[at..], self.known));
        if taken == 0 || !amount || named {
            return 0;
        }
        put("rather", Tense::Behind, &words[..taken], &mut self.out);
        taken
    }

    /// Takes the word or the phrase that begins `rest`, and says how many words that is.
    fn take(&mut self, rest: &[Word<'a>]) -> Result<usize, Misread> {
        let (known, word) = (self.known, &rest[0]);
        if word.kind != Kind::Plain || self.is_written() {
            self.out.push(word.clone());
            return Ok(1);
        }
        let low = || rest.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str());
        let name = known.find(low());
        let named = name.map_or(0, |(_, taken)| taken);
        let with_people = lexicon().with_people(&lows(rest));
        if self.of_people && with_people > 0 {
            return Ok(with_people);
        }
        match lexicon().find(low()) {
            Some((sense, taken)) if taken > named => {
                self.say(sense, &rest[..taken], &rest[taken..])?;
                Ok(taken)
            }
            _ if named > 0 => {
                let meaning = name.map(|(meaning, _)| meaning);
                if !repeats(meaning, &self.out, known) {
                    drop_first_name(meaning, &rest[..named], &mut self.out, known);
                    self.out.extend(rest[..named].iter().cloned());
                }
                Ok(named)
            }
            _ => {
                self.bare(rest);
                Ok(1)
            }
        }
    }

    /// Whether the words from here on are a name or a row of their own, which stay as they are;
    /// behind a place that is known they do not.
    fn is_written(&self) -> bool {
        let name = |w: &Word| w.is("camp") || w.is("drove-to");
        let Some(verb) = self.out.iter().position(|w| name(w) || w.is("outlook")) else {
            return false;
        };
        let place = self.out[verb + 1..].iter().skip_while(|w| w.is("at")).map(|w| w.text);
        let place = place.collect::<Vec<_>>().join(" ");
        !name(&self.out[verb]) || self.known.place(&place).is_none()
    }

    /// A word that is in no table.
    fn bare(&mut self, rest: &[Word<'a>]) {
        let word = &rest[0];
        let numeric = |w: Option<&Word>| w.is_some_and(Word::is_numeric);
        // `for 2 h` is so long; `for 3` is for whom.
        let long = || {
            let span = amounts::read(&rest[1..], self.known).ok().flatten();
            matches!(span, Some((Said::Quantity(_) | Said::Days(_), _)))
        };
        match () {
            () if word.is("for") && !self.of_people && rest.len() > 1 && long() => {}
            () if word.is("all") && numeric(rest.get(1)) => {}
            () if word.is("ish") && numeric(self.out.last()) => {
                if let Some(hour) = self.out.pop() {
                    self.out.pop_if(|w| w.is("about") || w.is("at"));
                    put("at", Tense::Behind, std::slice::from_ref(&hour), &mut self.out);
                    self.out.push(Word { end: word.end, ..hour });
                }
            }
            () => self.out.push(begun(word, self.known)),
        }
    }

    /// Adds what a phrase of the table says.
    fn say(&mut self, sense: Sense, span: &[Word<'a>], rest: &[Word<'a>]) -> Result<(), Misread> {
        let (known, out) = (self.known, &mut self.out);
        let after_number = out.last().is_some_and(|w| w.is_numeric() || is_article(w));
        match sense {
            Sense::Skip => {
                if let (Some(last), Some(gone)) = (out.last_mut(), span.last())
                    && gone.mark == Mark::Colon
                {
                    last.mark = Mark::Colon;
                }
            }
            Sense::Hedge => {
                let phrase = span.iter().map(|w| w.low.as_str()).collect::<Vec<_>>().join(" ");
                let (first, last) = (&span[0], &span[span.len() - 1]);
                out.push(Word { low: phrase, end: last.end, mark: last.mark, ..first.clone() });
            }
            Sense::Ahead => {
                self.will = true;
                let place = rest.iter().skip_while(|w| w.is("to")).map(|w| w.text);
                let place: Vec<&str> = place.collect();
                if (1..=place.len()).any(|n| known.place(&place[..n].join(" ")).is_some()) {
                    put("camp", Tense::Will, span, out);
                }
            }
            // Both tanks: the number only says that two follow.
            Sense::Say("both", _) if rest.first().is_some_and(|w| is_stock_name(&w.low, known)) => {
            }
            Sense::Number(digits) => {
                // Seventy one.
                let tens = out.last().filter(|w| !w.text.starts_with(|c: char| c.is_ascii_digit()));
                let tens = tens.and_then(|w| w.low.parse::<u32>().ok()).filter(|n| n % 10 == 0);
                let ones = digits.parse::<u32>().ok().filter(|n| (1..10).contains(n));
                match (tens, ones) {
                    (Some(tens @ 20..=90), Some(ones)) => {
                        let first = out.pop().map_or(span[0].start, |w| w.start);
                        put(&(tens + ones).to_string(), Tense::Behind, span, out);
                        out.iter_mut().rev().take(1).for_each(|w| w.start = first);
                    }
                    _ => put(digits, Tense::Behind, span, out),
                }
            }
            Sense::Unit(unit) if after_number => put(unit, Tense::Behind, span, out),
            Sense::Unit(_) => out.extend(span.iter().cloned()),
            Sense::Ask(ways) => return Err(asked(ways, span, known)),
            // `grey empty` is a level, `empty grey` an errand; `day` alone is a word of time.
            Sense::Say(camp @ ("camp" | "drove-to"), tense) if !only_time(out) => {
                self.will |= tense == Tense::Will;
                match span[0].is("camp") || span.iter().any(|w| w.is("to")) {
                    true => put(camp, tense, span, out),
                    false => out.extend(span.iter().cloned()),
                }
            }
            Sense::Say(meaning, tense) => {
                self.will |= tense == Tense::Will;
                put(meaning, tense, span, out);
            }
        }
        Ok(())
    }

    /// What all the words of the thing say together.
    fn finish(mut self) -> Result<Vec<Word<'a>>, Misread> {
        let written = |w: &Word| w.is("camp") || w.is("outlook") || w.is("note");
        let plain = self.out.iter().take_while(|w| !written(w));
        if let Some(hedge) = plain.clone().find(|w| lexicon().hedges(&w.low)) {
            let message = "this leaves open what happened: only what did is written down";
            let misread = Misread::at(hedge, message);
            // `grey 40%?` is a reading that was not looked at well.
            let read = |w: &Word| {
                w.is_numeric()
                    || w.is("%")
                    || amounts::is_share_word(&w.low)
                    || is_unit(w, self.known)
            };
            let asked = self.out.iter().position(|w| w.is("?")).and_then(|at| at.checked_sub(1));
            let guess = hedge.is("?") && !self.asks && asked.is_some_and(|at| read(&self.out[at]));
            return Err(if guess { misread.write("") } else { misread });
        }
        self.aboard();
        // `10 L left` alone says what is left of what came before it.
        if (0..self.out.len()).any(|at| is_name(&self.out[at..], self.known)) {
            self.out.retain(|w| !w.is("left"));
        }
        self.shared();
        if self.will {
            self.out.iter_mut().for_each(|w| w.tense = Tense::Will);
        }
        Ok(self.out)
    }

    /// `we are 4 tonight`, `4 of us`: so many are aboard, where the number counts nothing else.
    fn aboard(&mut self) {
        let us = self.out.iter().position(|w| w.is("us"));
        let Some(us) = us.map(|at| self.out.remove(at)) else { return };
        self.out.retain(|w| !w.is("us"));
        let Some(at) = self.out.iter().position(Word::is_numeric) else { return };
        let alone = self.out[..at].iter().all(|w| time::is_time_word(&w.low));
        let mut next = self.out[at + 1..].iter();
        let counts = next.next().is_some_and(|w| {
            self.known.unit_named(&w.low).is_some() || !is_grammar(&w.low, self.known)
        });
        if alone && !counts {
            let mut words = Vec::new();
            put("aboard", Tense::Behind, &[us], &mut words);
            self.out.splice(at + 1..at + 1, words);
        }
    }

    /// `everyone showered`, `2 showers each`: once for each who is aboard, where that is done by
    /// each; a meal that two have cooked is one meal.
    fn shared(&mut self) {
        let Some(at) = self.out.iter().position(|w| w.is("each") || w.is("both")) else { return };
        let of = |at: usize| self.known.find(self.out[at..].iter().map(|w| w.low.as_str()));
        let named =
            (0..self.out.len()).find(|at| of(*at).is_some_and(|(m, _)| m.activity.is_some()));
        let activity = named.and_then(|at| of(at)?.0.activity.clone());
        let activity = activity.and_then(|a| self.known.activity_on(&a, NaiveDate::MAX));
        let (Some(named), Some((activity, _))) = (named, activity) else { return };
        let people = if self.out[at].is("both") { 2000 } else { self.known.aboard.milli() };
        if !is_counted(&activity.counted_in) || people < 1000 || people % 1000 != 0 {
            return;
        }
        let number = named
            .checked_sub(1)
            .filter(|i| *i != at && (self.out[*i].is_numeric() || is_article(&self.out[*i])));
        let said = number.map_or(1, |i| match is_article(&self.out[i]) {
            true => 1,
            false => self.out[i].low.parse().unwrap_or(0),
        });
        let of_each = if activity.per == Per::Person { people / 1000 } else { 1 };
        if said == 0 {
            return;
        }
        let mut count = Vec::new();
        put(&(said * of_each).to_string(), Tense::Behind, &self.out[at..=at], &mut count);
        self.out.splice(number.unwrap_or(named)..named, count);
        self.out.retain(|w| !(w.is("each") || w.is("both")));
    }
}

fn is_name(words: &[Word], known: &Vocabulary) -> bool {
    known.find(words.iter().map(|w| w.low.as_str())).is_some()
}

fn is_unit(word: &Word, known: &Vocabulary) -> bool {
    known.unit_named(&word.low).is_some()
}

fn is_article(word: &Word) -> bool {
    word.is("a") || word.is("an")
}

fn is_stock_name(word: &str, known: &Vocabulary) -> bool {
    known.find([word].into_iter()).is_some_and(|(m, _)| m.stock.is_some())
}

/// Whether these words can be nothing but a time.
fn only_time(words: &[Word]) -> bool {
    words
        .iter()
        .all(|w| time::is_time_word(&w.low) || w.is_numeric() || w.is("today") || w.is("at"))
}

/// Puts words of the grammar in place of those of `span`.
fn put<'a>(meaning: &str, tense: Tense, span: &[Word<'a>], out: &mut Vec<Word<'a>>) {
    let (Some(first), Some(last)) = (span.first(), span.last()) else { return };
    for word in meaning.split(' ') {
        out.push(Word {
            text: first.text,
            low: word.to_string(),
            start: first.start,
            end: last.end,
            kind: Kind::Plain,
            mark: Mark::Nothing,
            tense,
        });
    }
    if let Some(put) = out.last_mut() {
        put.mark = last.mark;
    }
}

/// A phrase that is not clear, with the words that would do; `{name}` in it is the rig's own word.
fn asked(ways: &str, span: &[Word], known: &Vocabulary) -> Misread {
    let meant = ways.split(" | ").filter_map(|way| {
        match way.split_once('{').and_then(|(b, rest)| Some((b, rest.split_once('}')?))) {
            // A level that only seems to have been said.
            None if way.starts_with(|c: char| c.is_ascii_digit()) && way.ends_with('%') => {
                Some(example(way))
            }
            None => Some(way.to_string()),
            Some((before, (name, after))) => {
                known.stock_named(name).map(|own| format!("{before}{own}{after}"))
            }
        }
    });
    let meant: Vec<String> = meant.collect();
    if meant.is_empty() {
        return Misread::over(span, "this moves no stock of this rig");
    }
    let message = format!(
        "not clear: write `{}` if that is meant",
        meant.join("` or `").replace(EXAMPLE, "")
    );
    meant.into_iter().fold(Misread::over(span, message), Misread::write)
}

/// Whether the name just read says again what the last word said: `gas bottle`.
fn repeats(
    meaning: Option<&super::vocabulary::NameMeaning>,
    out: &[Word],
    known: &Vocabulary,
) -> bool {
    let before = out.last().and_then(|w| known.find([w.low.as_str()].into_iter()));
    match (meaning, before) {
        (Some(now), Some((before, _))) => {
            now.stock.is_some() && now.stock == before.stock && now.activity == before.activity
        }
        _ => false,
    }
}

/// Drops an activity's name that is said again behind its number: `cooked three meals`.
fn drop_first_name(
    meaning: Option<&super::vocabulary::NameMeaning>,
    named: &[Word],
    out: &mut Vec<Word>,
    known: &Vocabulary,
) {
    let Some(first) = known.find(out.iter().map(|w| w.low.as_str())) else { return };
    let (before, taken) = first;
    let same = meaning.is_some_and(|now| now.activity.is_some() && now.activity == before.activity);
    let numbers = out[taken..].iter().all(|w| w.is_numeric() || is_article(w));
    let other = out[..taken].iter().map(|w| &w.low).ne(named.iter().map(|w| &w.low));
    if same && numbers && other && out.len() <= taken + 1 {
        out.drain(..taken);
    }
}

/// A word, or the one that it is the only beginning of.
fn begun<'a>(word: &Word<'a>, known: &Vocabulary) -> Word<'a> {
    let mut whole = word.clone();
    if let Some(stem) = word.low.strip_suffix("'s")
        && (is_stock_name(stem, known) || time::is_time_word(stem))
    {
        whole.low = stem.to_string();
        return whole;
    }
    let letters = word.low.chars().count();
    let plain = word.low.chars().all(char::is_alphabetic);
    if letters < SHORTEST_BEGINNING || !plain || is_grammar(&word.low, known) {
        return whole;
    }
    let verbs = OPENERS.iter().copied().filter(|_| letters >= SHORTEST_VERB);
    let names = known.offered.iter().map(|o| o.word.as_str()).chain(verbs);
    let mut found: Vec<&str> =
        names.filter(|name| !name.contains(' ') && name.starts_with(&word.low)).collect();
    let means = |name: &str| match known.find([name].into_iter()) {
        Some((meaning, _)) => format!("{meaning:?}"),
        None => name.to_string(),
    };
    found.dedup();
    if let Some(first) = found.first()
        && found.iter().all(|other| means(other) == means(first))
    {
        whole.low = first.to_string();
    }
    whole
}

/// Whether the grammar has this word, so that it is no beginning of another.
pub(super) fn is_grammar(word: &str, known: &Vocabulary) -> bool {
    const WORDS: [&str; 48] = [
        "for", "out", "low", "off", "all", "its", "half", "full", "empty", "third", "quarter",
        "tenths", "steps", "quarters", "from", "until", "planned", "ago", "next", "last", "this",
        "noon", "week", "weeks", "days", "day", "and", "but", "to", "at", "in", "on", "of", "by",
        "with", "a", "an", "x", "times", "into", "ish", "past", "before", "after", "since",
        "cloud", "sun", "drive",
    ];
    WORDS.contains(&word)
        || time::is_time_word(word)
        || lexicon().knows(word)
        || known.unit_named(word).is_some()
}

/// Brings the verb to the front where it was said last: `grey emptied`, `40 L added to fresh`,
/// `2 h drive`.
pub(super) fn verb_first<'a>(mut words: Vec<Word<'a>>) -> Vec<Word<'a>> {
    let from = |w: &Word| ["shore", "generator", "on-shore"].iter().any(|source| w.is(source));
    if words.first().is_some_and(|w| w.is("charged")) && words.iter().any(from) {
        // Where it came from says all: `charged 800 Wh from shore`.
        words.retain(|w| !["charged", "from", "at", "power"].iter().any(|gone| w.is(gone)));
        words.iter_mut().filter(|w| w.is("on-shore")).for_each(|w| w.low = "shore".to_string());
    }
    let verb = |w: &Word| SERVICES.iter().chain(&MEASURED).any(|v| w.is(v));
    let Some(at) = words.iter().position(verb).filter(|at| *at > 0) else {
        return words;
    };
    let others = words.iter().filter(|w| verb(w)).count() > 1;
    let charged = words[0].is("charged");
    if others || charged {
        return words;
    }
    let mut verb = words.remove(at);
    if verb.is("out-of") {
        verb.low = "emptied".to_string();
        words.retain(|w| !(w.is("took") || w.is("taken")));
    }
    let before = &words[..at.min(words.len())];
    let named = before.iter().any(|w| !w.is_numeric() && w.low.len() > 3);
    if MEASURED.contains(&verb.low.as_str()) {
        if named {
            words.insert(at, verb);
            return words;
        }
        // Said as a noun, it looks nowhere: `2 h drive on friday`.
        verb.tense = Tense::Behind;
        words.retain(|w| !w.is("of"));
    }
    words.insert(0, verb);
    words
}

/// Whether these words are a service with nothing left open: one verb and one name.
pub(super) fn service_of<'p, 'a>(words: &'p [Word<'a>]) -> Option<&'p Word<'a>> {
    words.first().filter(|w| SERVICES.iter().any(|verb| w.is(verb)))
}
