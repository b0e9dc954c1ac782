//! Everyday speech, brought to the words of the grammar: verbs of the trade, words that mean
//! nothing beside a thing, beginnings of words, numbers in letters. What each means stands in the
//! lexicon; a word that the rig gives to a thing of its own wins.

use super::item::MARKS;
use super::moved::which_way;
use crate::logline::lexis::amounts::{self, Said};
use crate::logline::lexis::lexicon::{OPENERS, Sense, Tense, lexicon};
use crate::logline::lexis::listed::{is_of, stem};
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Kind, Mark, Word};
use crate::logline::times::time;

/// The shortest beginning of a word that stands for it.
const SHORTEST_BEGINNING: usize = 3;
/// The same beside a number.
const SHORTEST_COUNTED: usize = 2;

/// The same of a verb: many short words of English begin as one.
const SHORTEST_VERB: usize = 4;

/// The words of one thing as the grammar has them.
pub(in crate::logline) fn plain<'a>(words: Vec<Word<'a>>, known: &Vocabulary) -> Vec<Word<'a>> {
    let of_people = words.iter().any(|w| is_of("of-people", &w.low));
    let asks = words.first().is_some_and(|w| is_of("asking", &w.low));
    let out = Vec::with_capacity(words.len());
    let mut said = Speech { known, of_people, out, will: false, asks, lead: None };
    let mut at = said.mends(&words);
    while at < words.len() {
        at += said.take(&words[at..]);
    }
    if said.will {
        said.out.iter_mut().for_each(|w| w.tense = Tense::Will);
    }
    of_its_day(&mut said.out);
    if said.out.iter().any(|w| w.is_any("guests away aboard")) {
        from_day_to_day(&mut said.out);
    }
    said.out
}

/// `2 guests 2 to 4 november`: from one day of a month until another, where the first lacks its month.
fn from_day_to_day(words: &mut Vec<Word>) {
    let day = |w: &Word| w.low.parse::<u32>().is_ok_and(|day| (1..=31).contains(&day));
    let is = |four: &[Word]| {
        day(&four[0])
            && four[1].is_any("to until - –")
            && day(&four[2])
            && time::is_month(&four[3].low)
    };
    let Some(at) = words.windows(4).position(is) else { return };
    let month = words[at + 3].low.clone();
    words[at + 1].low = "until".into();
    words.insert(at + 1, Word { low: month, ..words[at].clone() });
    if at.checked_sub(1).is_some_and(|from| words[from].is("from")) {
        words.remove(at - 1);
    }
}

/// `yesterday after supper`, `after lunch on sunday`: a part of a day that is told by what was done then
/// is of the day beside it.
fn of_its_day(words: &mut Vec<Word>) {
    let part = |word: &Word| match word.kind {
        Kind::Ask(ways) => ways.split(" | ").next()?.strip_prefix("this "),
        _ => None,
    };
    let day = |word: Option<&Word>| {
        word.is_some_and(|w| {
            time::is_time_word(&w.low) && (w.low.ends_with("day") || w.is("tomorrow"))
        })
    };
    let Some(at) = words.iter().position(|word| part(word).is_some()) else { return };
    let low = part(&words[at]).unwrap_or_default().to_string();
    let before = at.checked_sub(1).filter(|at| day(words.get(*at)));
    let small = usize::from(words.get(at + 1).is_some_and(|w| w.is("on")));
    let behind = (at + 1 + small..at + 2 + small).find(|at| day(words.get(*at)));
    let Some(day) = before.or(behind) else { return };
    let (start, end) = (words[at.min(day)].start, words[at.max(day)].end);
    let (day, part) = (words[day].clone(), words[at].clone());
    let both = [Word { start, end, ..day }, Word { low, kind: Kind::Plain, start, end, ..part }];
    let from = before.unwrap_or(at);
    words.splice(from..from + 2 + if before.is_some() { 0 } else { small }, both);
}

/// Whether `got` says what there is, and not what went in.
fn is_there(got: &[Word], behind: &[Word]) -> bool {
    let held = |two: &[Word]| two[0].is("in") && two[1].is("it");
    let among = behind.iter().any(|w| w.is_any("between among"));
    got.last().is_some_and(|w| w.is("got")) && (among || behind.windows(2).any(held))
}

/// Whether these words say nothing at all: `no`, `oops`, before what is meant.
pub(in crate::logline) fn is_aside(words: &[Word]) -> bool {
    lexicon().begins("aside", &lows(words)) == words.len()
}

/// Whether these words say nothing, and put nothing right.
pub(in crate::logline) fn is_filler(words: &[Word]) -> bool {
    lexicon().is_one("filler", &lows(words)) && !words.iter().any(|w| w.is_any("sorry no"))
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
    /// What was left out right before the next word.
    lead: Option<&'a str>,
}

impl<'a> Speech<'a, '_> {
    /// `no 55%` mends an amount that was said before: one word for the aside, and how many it takes.
    fn mends(&mut self, words: &[Word<'a>]) -> usize {
        let taken = lexicon().begins("aside", &lows(words));
        let amount = words.get(taken).is_some_and(|w| w.is_numeric() || w.is("about"));
        let named = (taken..words.len()).any(|at| is_name(&words[at..], self.known));
        if taken == 0 || !amount || named {
            return 0;
        }
        self.put("rather", Tense::Behind, &words[..taken]);
        taken
    }

    /// Takes the word or the phrase that begins `rest`, and says how many words that is.
    fn take(&mut self, rest: &[Word<'a>]) -> usize {
        let (known, word) = (self.known, &rest[0]);
        if word.kind != Kind::Plain || self.is_written() {
            self.push(word.clone());
            return 1;
        }
        // `day 40 on the road` counts the days of a journey.
        if word.is("day") && rest.get(1).is_some_and(Word::is_numeric) {
            self.push(Word { end: rest[1].end, kind: Kind::Text, ..word.clone() });
            return 2;
        }
        let low = || rest.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str());
        let named = known.find(low()).map_or(0, |(_, taken)| taken);
        let with_people = lexicon().begins("with", &lows(rest));
        if self.of_people && with_people > 0 {
            return with_people;
        }
        let placed = known.place_of_words(rest);
        // `the toilet bottle` is no toilet; `the cassette` is the rig's own, where it has one.
        let next = known.find(low().skip(1)).map_or(0, |(_, taken)| taken + 1);
        match lexicon().find(low()) {
            Some((Sense::Ask(_), taken)) if next >= taken && word.is_any("the our my a") => {
                self.say(Sense::Skip, &rest[..1], &rest[1..]);
                1
            }
            found if placed > 1 && placed > named.max(found.map_or(0, |(_, taken)| taken)) => {
                rest[..placed].iter().for_each(|w| self.push(w.clone()));
                placed
            }
            Some((sense, taken)) if taken > named => {
                self.say(sense, &rest[..taken], &rest[taken..]);
                taken
            }
            _ if named > 0 => {
                rest[..named].iter().for_each(|w| self.push(w.clone()));
                named
            }
            _ => {
                let meant =
                    known.find(low().map(stem)).filter(|(meaning, _)| meaning.stock.is_some());
                let taken = meant.map_or(0, |(_, taken)| taken);
                // `the fresh tank's at 60`.
                for w in &rest[..taken] {
                    self.push(Word { low: stem(&w.low).to_string(), ..w.clone() });
                }
                if taken == 0 {
                    self.bare(rest);
                }
                taken.max(1)
            }
        }
    }

    fn push(&mut self, mut word: Word<'a>) {
        word.lead = self.lead.take();
        self.out.push(word);
    }

    /// Whether the words from here on are a name or a row of their own, which stay as they are;
    /// behind a place that is known they do not.
    fn is_written(&self) -> bool {
        let name = |w: &Word| w.is_any("camp drove-to");
        let Some(verb) = self.out.iter().position(|w| name(w) || w.is("outlook")) else {
            return false;
        };
        let at = self.out[verb + 1..].iter().take_while(|w| w.is("at")).count();
        !name(&self.out[verb]) || self.known.place_of_words(&self.out[verb + 1 + at..]) == 0
    }

    /// A word that is in no table.
    fn bare(&mut self, rest: &[Word<'a>]) {
        let word = &rest[0];
        // `for 2 h` is so long; `for 3` is for whom.
        let long = || {
            let span = amounts::read(&rest[1..], self.known).ok().flatten();
            matches!(span, Some((Said::Quantity(_) | Said::Days(_), _)))
        };
        match () {
            () if word.is("for") && !self.of_people && rest.len() > 1 && long() => {}
            () if word.is_any("all like") && rest.get(1).is_some_and(Word::is_numeric) => {}
            () if word.is("ish") && self.out.last().is_some_and(Word::is_numeric) => {
                if let Some(hour) = self.out.pop() {
                    self.out.pop_if(|w| w.is_any("about at"));
                    self.put("at", Tense::Behind, std::slice::from_ref(&hour));
                    self.out.push(Word { end: word.end, ..hour });
                }
            }
            () => {
                let number = |w: Option<&Word>| w.is_some_and(Word::is_numeric);
                let counted = number(rest.get(1)) || number(self.out.last());
                let shortest = if counted { SHORTEST_COUNTED } else { SHORTEST_BEGINNING };
                let whole = begun(word, shortest, self.known);
                self.push(whole);
            }
        }
    }

    /// Adds what a phrase of the table says.
    fn say(&mut self, sense: Sense, span: &[Word<'a>], rest: &[Word<'a>]) {
        let known = self.known;
        let after_number = self.out.last().is_some_and(|w| w.is_numeric() || w.is_any("a an"));
        let of_stock = self.out.last().is_some_and(|w| is_stock_name(&w.low, known));
        match sense {
            // `Sorrel Head was lovely` tells of the place.
            Sense::Skip if self.ends_with_place() && lexicon().is_one("finite", &lows(span)) => {
                span.iter().for_each(|w| self.push(w.clone()));
            }
            Sense::Skip => {
                let gone = &span[span.len() - 1];
                // `a long hot shower` was long.
                let manner = |lead: &&str| is_of("manner", &lead.to_lowercase());
                self.lead = self.lead.filter(manner).or(Some(gone.text));
                if let (Some(last), Mark::Colon) = (self.out.last_mut(), gone.mark) {
                    last.mark = Mark::Colon;
                }
            }
            Sense::Hedge(how) => {
                let asks = span[0].is("?") && self.asks;
                let phrase = span.iter().map(|w| w.low.as_str()).collect::<Vec<_>>().join(" ");
                let phrase = if asks { "??" } else { &phrase };
                self.whole(Kind::Hedge(how), phrase, span);
            }
            Sense::Ahead => {
                self.will = true;
                let place: Vec<&str> =
                    rest.iter().skip_while(|w| w.is("to")).map(|w| w.text).collect();
                if (1..=place.len()).any(|n| known.place(&place[..n].join(" ")).is_some()) {
                    self.put("camp", Tense::Will, span);
                }
            }
            // Both tanks: the number only says that two follow.
            Sense::Say("both", _) if rest.first().is_some_and(|w| is_stock_name(&w.low, known)) => {
            }
            // `we all three had a shower` are three.
            Sense::Say("each", _) if rest.first().is_some_and(counts) => {}
            Sense::Number(digits) => self.number(digits, span),
            Sense::Unit(unit) if after_number => self.put(unit, Tense::Behind, span),
            Sense::Unit(_) => self.out.extend(span.iter().cloned()),
            Sense::Ask(ways) => self.ask(ways, span, rest),
            // `diesel now at half`, `battery was at 41`, `was at a letter on the laptop` are no camps.
            Sense::Say("camp", _) if of_stock || self.names_a_use(span, rest) => {
                let said = span.iter().filter(|w| w.is_any("now at in"));
                said.for_each(|w| self.push(w.clone()));
            }
            // `the tank has got 6 L in it`, `got 9 outfits between us`: they are there.
            Sense::Say("added", _) if is_there(span, rest) => {}
            // `arrived at five`.
            Sense::Say("camp", _) if is_at_an_hour(span, rest) => {
                span.iter().for_each(|w| self.push(w.clone()));
            }
            Sense::Say(camp @ ("camp" | "drove-to"), tense) if !self.is_only_time() => {
                self.will |= tense == Tense::Will;
                let plainly = span[0].is("camp") || span.iter().any(|w| w.is_any("to for"));
                match plainly || known.place_of_words(rest) > 0 || span.len() > 1 {
                    true => self.put(camp, tense, span),
                    false => span.iter().for_each(|w| self.push(w.clone())),
                }
            }
            Sense::Say(meaning, tense) => {
                self.will |= tense == Tense::Will;
                self.put(meaning, tense, span);
            }
        }
    }

    /// Puts what is to be asked, or the way that it went where the words around tell that.
    fn ask(&mut self, ways: &'static str, span: &[Word<'a>], rest: &[Word<'a>]) {
        match which_way(ways, (&self.out, rest), self.known) {
            Some(verb) => self.put(verb, Tense::Behind, span),
            None => self.whole(Kind::Ask(ways), "", span),
        }
    }

    /// A number in letters: seventy one is one number.
    fn number(&mut self, digits: &str, span: &[Word<'a>]) {
        let tens = self.out.last().filter(|w| !w.text.starts_with(|c: char| c.is_ascii_digit()));
        let tens = tens.and_then(|w| w.low.parse::<u32>().ok()).filter(|n| n % 10 == 0);
        let ones = digits.parse::<u32>().ok().filter(|n| (1..10).contains(n));
        match (tens, ones) {
            (Some(tens @ 20..=90), Some(ones)) => {
                let first = self.out.pop().map_or(span[0].start, |w| w.start);
                self.put(&(tens + ones).to_string(), Tense::Behind, span);
                self.out.iter_mut().rev().take(1).for_each(|w| w.start = first);
            }
            _ => self.put(digits, Tense::Behind, span),
        }
    }

    /// Puts words of the grammar in place of those of `span`.
    fn put(&mut self, meaning: &str, tense: Tense, span: &[Word<'a>]) {
        for word in meaning.split(' ') {
            self.whole(Kind::Plain, word, span);
            self.out.iter_mut().rev().take(1).for_each(|w| w.tense = tense);
        }
    }

    /// Puts one word in place of those of `span`.
    fn whole(&mut self, kind: Kind, low: &str, span: &[Word<'a>]) {
        let (first, last) = (&span[0], &span[span.len() - 1]);
        let (end, mark, low) = (last.end, last.mark, low.to_string());
        self.push(Word { low, end, mark, kind, tense: Tense::Behind, ..first.clone() });
    }

    /// Whether nothing follows that is known as a place, but what is done somewhere.
    fn names_a_use(&self, span: &[Word], rest: &[Word]) -> bool {
        let used = |at: usize| {
            let meaning = self.known.find(rest[at..].iter().map(|w| w.low.as_str()));
            meaning.is_some_and(|(meaning, _)| meaning.activity.is_some())
        };
        let stays = is_of("finite", &span[0].low);
        stays && self.known.place_of_words(rest) == 0 && (0..rest.len()).any(used)
    }

    fn ends_with_place(&self) -> bool {
        let placed = |from: usize| self.known.place_of_words(&self.out[from..]);
        (0..self.out.len()).any(|from| placed(from) == self.out.len() - from)
    }

    /// Whether nothing but a time was said so far.
    fn is_only_time(&self) -> bool {
        let time = |w: &Word| time::is_time_word(&w.low) || w.is_numeric() || w.is("at");
        self.out.iter().all(time)
    }
}

/// Whether a phrase ends with `at`, and an hour follows that ends it all.
fn is_at_an_hour(span: &[Word], rest: &[Word]) -> bool {
    let hour = |w: &Word| lexicon().count(&w.low).is_some_and(|hour| hour < 24);
    let half = |w: &Word| w.is_any("half quarter noon midday");
    let clock = |w: &Word| w.low.contains(':') && w.is_numeric();
    // `it's back at 70`.
    let level = |w: &Word| w.low.parse::<u32>().is_ok_and(|level| level > 24);
    if span.iter().any(|w| w.is("back"))
        && span[span.len() - 1].is("at")
        && rest.first().is_some_and(level)
    {
        return true;
    }
    let at = span[span.len() - 1].is("at") && is_of("arrives", &span[0].low);
    at && rest.first().is_some_and(|w| hour(w) && rest.len() < 3 || half(w) || clock(w))
}

pub(in crate::logline) fn is_name(words: &[Word], known: &Vocabulary) -> bool {
    known.find(words.iter().map(|w| w.low.as_str())).is_some()
}

/// Whether a word is a number, in digits or in letters.
fn counts(word: &Word) -> bool {
    word.is_numeric() || lexicon().count(&word.low).is_some()
}

fn is_stock_name(word: &str, known: &Vocabulary) -> bool {
    known.meaning(word).is_some_and(|meaning| meaning.stock.is_some())
}

/// A word, or the one that it is the only beginning of.
fn begun<'a>(word: &Word<'a>, shortest: usize, known: &Vocabulary) -> Word<'a> {
    let mut whole = word.clone();
    if let Some(stem) = word.low.strip_suffix("'s")
        && (is_stock_name(stem, known) || time::is_time_word(stem))
    {
        whole.low = stem.to_string();
        return whole;
    }
    let letters = word.low.chars().count();
    let plain = word.low.chars().all(char::is_alphabetic);
    if letters < shortest || !plain || is_grammar(&word.low, known) {
        return whole;
    }
    let verbs = OPENERS.split(' ').filter(|_| letters >= SHORTEST_VERB);
    let names = known.offered.iter().map(|o| o.word.as_str()).chain(verbs);
    let mut found: Vec<&str> =
        names.filter(|name| !name.contains(' ') && name.starts_with(&word.low)).collect();
    let means = |name: &str| match known.meaning(name) {
        Some(meaning) => format!("{meaning:?}"),
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
    const WORDS: &str = "its half full empty third quarter tenths steps quarters until planned ago next \
        last this noon week weeks days day but a an ish past cloud sun drive am pm he me \
        my";
    WORDS.split(' ').any(|known| known == word)
        || MARKS.split(' ').any(|known| known == word)
        || time::is_time_word(word)
        || lexicon().knows(word)
        || known.unit_named(word).is_some()
}
