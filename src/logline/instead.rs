//! The way out of a line that is asked back: whole lines that would be saved, nearest first. None
//! of them leaves out what was said, and none says what was not.

use super::amounts;
use super::lexicon::{Sense, lexicon};
use super::misread::{EXAMPLE, Misread, Offer, Stray, Swap, Understood};
use super::schedule;
use super::speech::{MEASURED, SERVICES, is_grammar};
use super::vocabulary::Vocabulary;
use super::words::pieces;
use crate::domain::time::Moment;
use std::cell::Cell;

/// The most lines that are offered.
const MOST: usize = 3;
/// How many lines are tried, and how many characters of them: this runs at every keystroke.
const MOST_TRIES: usize = 120;
const MOST_READ: usize = 24_000;
/// How many slips in one line are mended one after the other.
const DEEPEST: usize = 5;

/// Lines that are like `line`, which was misread, and would be saved.
pub(super) fn ways(line: &str, misread: &Misread, known: &Vocabulary, now: Moment) -> Vec<Offer> {
    let tries = Cell::new((MOST_READ / line.chars().count().max(1)).min(MOST_TRIES));
    let search = Search { known, now, tries };
    let mut found: Vec<Way> = Vec::new();
    for (candidate, source) in search.candidates(line, misread) {
        let fits = |way: &Way| {
            // Who mistypes a word has said all of it.
            let said = source != Source::Near || !way.line.contains(EXAMPLE);
            said && is_said(&way.line, line) && found.iter().all(|old| old.said != way.said)
        };
        let way = search.mended(candidate, 1).filter(fits);
        found.extend(way);
    }
    found.truncate(MOST);
    if found.is_empty() {
        let part = search.noted(line, misread).and_then(|noted| search.mended(noted, 1));
        let part = part.filter(|way| is_said(&way.line, line));
        search.tries.set(search.tries.get().max(1));
        found.extend(part.or_else(|| search.mended(whole_noted(line)?, DEEPEST)));
    }
    found.iter().map(|way| search.offer(&way.line)).collect()
}

/// A line that would be saved, with its examples marked, and what it says.
struct Way {
    line: String,
    said: Vec<Understood>,
}

/// Where a candidate comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Source {
    /// What is wrong names it.
    Said,
    /// A word that is near.
    Near,
    /// The thing beside words that are strange to it.
    Beside,
}

struct Search<'s> {
    /// How many lines may still be tried.
    tries: Cell<usize>,
    known: &'s Vocabulary,
    now: Moment,
}

impl Search<'_> {
    /// The candidate, or what it becomes when its own slips are mended as well.
    fn mended(&self, line: String, depth: usize) -> Option<Way> {
        self.tries.set(self.tries.get().checked_sub(1)?);
        let misread = match schedule::understand(&bare(&line), self.known, self.now) {
            Ok(said) => return Some(Way { line, said }),
            Err(misread) if depth < DEEPEST => misread,
            Err(_) => return None,
        };
        let mut first = self.candidates(&line, &misread).into_iter().take(2);
        first
            .find_map(|(next, _)| self.mended(next, depth + 1))
            .or_else(|| self.mended(self.noted(&line, &misread)?, depth + 1))
    }

    /// The line for who is to take it over, without its examples.
    fn offer(&self, line: &str) -> Offer {
        let whole = bare(line);
        let Some(example) = line.split(EXAMPLE).nth(1) else {
            let typed = Some((whole.clone(), whole.chars().count()));
            return Offer { line: whole, typed, lacks: None };
        };
        let text: String = line.split(EXAMPLE).step_by(2).collect();
        let cursor = line.chars().take_while(|c| *c != EXAMPLE[0]).count();
        let typed = schedule::understand(&text, self.known, self.now).is_err();
        let lacks = Some(lacked(example, self.known));
        Offer { line: whole, typed: typed.then_some((text, cursor)), lacks }
    }

    /// The line with what was misread replaced, in each way that the misreading names: what its
    /// message says, words that are near, words left beside the thing as a remark.
    fn candidates(&self, line: &str, misread: &Misread) -> Vec<(String, Source)> {
        let (from, to) = misread.mend.thing.unwrap_or((misread.start, misread.end));
        let put = misread.mend.swaps.iter().filter_map(|swap| match swap {
            Swap::Word(text) => Some(replaced(line, (misread.start, misread.end), text)),
            Swap::Thing(text) => {
                let thing: String = bare(line).chars().skip(from).take(to - from).collect();
                self.keeps(&thing, text).then(|| replaced(line, (from, to), text))
            }
        });
        let counts = misread.word.contains(|c: char| c.is_ascii_digit());
        let near = misread.nearest.iter().filter(|_| !counts);
        let near = near.map(|word| replaced(line, (misread.start, misread.end), word));
        let beside = misread.mend.stray.and_then(|stray| self.beside(line, misread, stray));
        let joined = self.joined(line, misread).map(|line| (line, Source::Said));
        let put = joined.into_iter().chain(put.map(|line| (line, Source::Said)));
        let all = put.chain(near.map(|line| (line, Source::Near)));
        let all = all.chain(beside.map(|line| (line, Source::Beside)));
        all.filter(|(candidate, _)| candidate != line).collect()
    }

    /// Whether `text` keeps every word of `thing` that the grammar does not know, and a number if
    /// there was one.
    fn keeps(&self, thing: &str, text: &str) -> bool {
        let numbers = |text: &str| -> Vec<String> {
            let split = text.split(|c: char| !c.is_ascii_digit() && c != '.' && c != '/');
            split.filter(|w| w.contains(|c: char| c.is_ascii_digit())).map(str::to_string).collect()
        };
        let own: String = text.split(EXAMPLE).step_by(2).collect();
        let (low, said) = (text.to_lowercase(), numbers(&own.replace('/', " ")));
        let share = |text: &str| {
            text.to_lowercase().split(|c: char| !is_inner(c)).any(amounts::is_share_word)
        };
        if share(thing) && said.is_empty() && !share(text) {
            return false;
        }
        // A share becomes percent, and an amount.
        let kept =
            |number: &String| number.contains('/') && !said.is_empty() || said.contains(number);
        numbers(&thing.replace(',', ".")).iter().all(kept)
            && unread(thing, self.known)
                .iter()
                .all(|(_, _, word)| low.split(|c: char| !is_inner(c)).any(|kept| kept == word))
    }

    /// The piece with the words that are strange to it as a remark at its end: who showered, or
    /// what came before it.
    fn beside(&self, line: &str, misread: &Misread, stray: Stray) -> Option<String> {
        let line = &bare(line);
        let pieces = pieces(line, self.known).ok()?;
        let spans =
            pieces.iter().filter_map(|p| Some((p.words.first()?.start, p.words.last()?.end)));
        let (start, end) = spans
            .into_iter()
            .find(|(_, end)| misread.start < *end)
            .filter(|(s, _)| *s <= misread.start)?;
        let part = |from: usize, to: usize| -> String {
            line.chars().skip(from).take(to - from).collect()
        };
        if part(start, end).contains('(') {
            return None;
        }
        let told = match stray {
            Stray::Before => {
                let rest = part(misread.start, end);
                let unread = unread(&rest, self.known);
                let run = unread.iter().enumerate().take_while(|(i, (from, ..))| {
                    let before = if *i == 0 { 0 } else { unread[*i - 1].1 };
                    let between: String = rest.chars().skip(before).take(*from - before).collect();
                    ["", "and", "&"].contains(&between.trim())
                });
                let run = run.map(|(_, (_, to, _))| *to).last()?;
                let (who, does) =
                    (part(misread.start, misread.start + run), part(misread.start + run, end));
                let does = done_by(does.trim(), who.trim(), self.known)?;
                format!("{}{does} ({who})", part(start, misread.start))
            }
            Stray::Behind => {
                let rest = part(misread.start, end);
                format!("{} ({})", part(start, misread.start).trim(), rest.trim())
            }
        };
        Some(replaced(line, (start, end), &told))
    }

    /// An amount that stands alone, put to the thing before it: `emptied grey, half`.
    fn joined(&self, line: &str, misread: &Misread) -> Option<String> {
        let plain = bare(line);
        let pieces = pieces(&plain, self.known).ok()?;
        let here = pieces.iter().position(|p| {
            p.words.first().is_some_and(|word| word.start == misread.start)
                && matches!(amounts::read(&p.words, self.known), Ok(Some((_, n))) if n == p.words.len())
        })?;
        let before = pieces[here.checked_sub(1)?].words.last()?.end;
        let amount: String =
            plain.chars().skip(misread.start).take(misread.end - misread.start).collect();
        Some(replaced(line, (before, misread.end), &amount))
    }

    /// The line with the thing that was misread as a note at its end.
    fn noted(&self, line: &str, misread: &Misread) -> Option<String> {
        let plain = bare(line);
        let pieces = pieces(&plain, self.known).ok();
        let (mut kept, mut texts): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
        let letters: Vec<char> = line.chars().collect();
        let mut found = false;
        for piece in pieces.iter().flatten() {
            let (first, last) = (piece.words.first()?, piece.words.last()?);
            let (from, to) = marked(&letters, (first.start, last.end));
            let piece: String = letters[from..to].iter().collect();
            let here = !found && misread.start <= last.end;
            found |= here;
            match piece.trim().strip_prefix("note ") {
                Some(text) => texts.push(text.to_string()),
                None if here => texts.insert(0, piece.trim().to_string()),
                None => kept.push(piece),
            }
        }
        let text = if texts.is_empty() { line.to_string() } else { texts.join(", ") };
        kept.push(whole_noted(&text)?);
        Some(kept.join(", "))
    }
}

fn is_inner(c: char) -> bool {
    c.is_alphanumeric() || "'’-".contains(c)
}

/// Whether the words of a note in `way` were said in `line`, in that order.
fn is_said(way: &str, line: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        let split = text.split(|c: char| c.is_whitespace() || ",;".contains(c));
        split.filter(|w| !w.is_empty()).map(str::to_string).collect()
    };
    let said = words(line);
    let mut left = said.iter();
    way.split_once("note ")
        .is_none_or(|(_, text)| words(text).iter().all(|word| left.any(|other| other == word)))
}

/// All of the line as a note.
fn whole_noted(line: &str) -> Option<String> {
    let text: String = line.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let text = text.trim().trim_start_matches("note ").trim();
    text.contains(char::is_alphanumeric).then(|| format!("note {text}"))
}

/// The line with these characters replaced, and its blanks single.
fn replaced(line: &str, span: (usize, usize), text: &str) -> String {
    let letters: Vec<char> = line.chars().collect();
    let (start, end) = marked(&letters, span);
    let part = |letters: &[char]| letters.iter().collect::<String>();
    format!("{} {text} {}", part(&letters[..start]), part(&letters[end..]))
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .replace(" ,", ",")
        .replace(" :", ":")
}

/// The line without the marks of its examples.
fn bare(line: &str) -> String {
    line.replace(EXAMPLE, "")
}

/// Where characters of the bare line stand in the one with marks, with the marks around them.
fn marked(letters: &[char], (start, end): (usize, usize)) -> (usize, usize) {
    let plain = |(_, c): &(usize, &char)| !EXAMPLE.contains(c);
    let place = |at: usize| letters.iter().enumerate().filter(plain).nth(at).map(|(at, _)| at);
    let from = place(start).unwrap_or(letters.len());
    let opened = from.checked_sub(1).is_some_and(|at| letters[at] == EXAMPLE[0]);
    let to = end.checked_sub(1).and_then(place).map_or(letters.len(), |at| at + 1);
    let to = if end == start { from } else { to };
    let closed = to > from && letters.get(to) == Some(&EXAMPLE[1]);
    (from - usize::from(opened), to + usize::from(closed))
}

/// What the number of an example is, by its unit.
fn lacked(example: &str, known: &Vocabulary) -> &'static str {
    match example.trim_start_matches(|c: char| c.is_ascii_digit() || ". ".contains(c)) {
        "%" => "the level",
        "h" | "min" => "how long",
        "km" | "mi" => "how far",
        unit if !unit.is_empty() && known.unit_named(unit).is_some() => "how much",
        _ => "how many",
    }
}

/// The words of a text that neither the tables nor the rig know, and those that take a meaning
/// back: first and last character of each, and the word in lower case.
fn unread(text: &str, known: &Vocabulary) -> Vec<(usize, usize, String)> {
    let letters: Vec<char> = text.chars().collect();
    let (mut tokens, mut at): (Vec<(usize, usize, String)>, usize) = (Vec::new(), 0);
    while at < letters.len() {
        let inner = |c: &&char| c.is_alphanumeric() || "'’-".contains(**c);
        let length = letters[at..].iter().take_while(inner).count();
        if length > 0 {
            let word: String = letters[at..at + length].iter().collect();
            tokens.push((at, at + length, word.to_lowercase().replace('’', "'")));
        }
        at += length.max(1);
    }
    let (mut unread, mut at) = (Vec::new(), 0);
    while at < tokens.len() {
        let low = || tokens[at..].iter().map(|(_, _, word)| word.as_str());
        let name = known.find(low()).map_or(0, |(_, taken)| taken);
        let (hedge, phrase) = match lexicon().find(low()) {
            Some((Sense::Hedge, taken)) => (true, taken),
            Some((_, taken)) => (false, taken),
            None => (false, 0),
        };
        let word = &tokens[at].2;
        let letter = word.starts_with(|c: char| c.is_alphabetic());
        let read = name.max(if hedge { 0 } else { phrase });
        let blurs = hedge || ["low", "off", "but"].contains(&word.as_str());
        if read == 0 && letter && (blurs || !is_grammar(word, known)) {
            unread.push(tokens[at].clone());
        }
        at += read.max(1);
    }
    unread
}

/// What `people` have done, where `does` begins with words of something done; how often it was
/// done is that of each, and of one fewer aboard for who is away.
fn done_by(does: &str, who: &str, known: &Vocabulary) -> Option<String> {
    let people = who.split(" and ").count();
    let low = does.to_lowercase();
    let words: Vec<&str> = low.split_whitespace().collect();
    let first = words.first()?;
    let one =
        people == 1 && known.offered.iter().all(|o| !o.word.contains(who)) && !who.ends_with('s');
    if let Some(until) = low.strip_prefix("away").filter(|_| one || people > 1) {
        let left = (known.aboard.value() - people as f64).max(0.0);
        return Some(format!("aboard {left}{until}"));
    }
    let done = ["had", "has", "did", "took", "made", "got", "went"].contains(first)
        || first.ends_with("ed") && known.find(words.iter().copied()).is_some()
        || matches!(
            lexicon().find(words.iter().copied()),
            Some((Sense::Say(verb, _), _))
                if SERVICES.iter().chain(&MEASURED).chain(&["camp"]).any(|known| *known == verb)
        );
    done.then(|| match people {
        1 => does.to_string(),
        _ => format!("both {does}"),
    })
}
