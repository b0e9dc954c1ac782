//! Who comes, stays, leaves or is away, told in a sentence of everyday speech: `my sister and her
//! two boys come on wednesday, staying till friday`. It is only ever offered.

use super::lexicon::lexicon;
use super::listed::{is_of, stem};
use super::people::so_many_guests;
use super::scene::Scene;
use super::time::{LONGEST_PHRASE, is_time_word, phrase};
use super::word::{Kind, Word};
use super::words;

/// Words that say that somebody is aboard from then on.
const COMES: &str = "coming come comes came arrive arrived arriving arrives visit visits visiting staying stay \
    stays kipping sleeping sleeps crashing here joining joined";
/// Words that say that somebody leaves, or is away.
const LEAVES: &str = "left gone leave leaving leaves off away went";
/// How many words may stand between who leaves and that they do.
const NEAR: usize = 3;
/// Words behind one that says that somebody comes who does not stay.
const BY: &str = "from in by over round";
/// Words that say that somebody is aboard again.
const RETURNS: &str = "back returned home";
/// Words that stand before the end of a stay.
const ENDS: &str = "until till til to by leaving leave leaves back through returning return";
/// What somebody comes for who does not stay.
const VISITS: &str =
    "beer wine drink chat meal dinner lunch supper tea coffee drinks breakfast pancakes bbq cake";
/// Those who live aboard.
const CREW: &str = "i i'm im i'll he she he's she's wife husband partner hubby me";

/// Who is named, and when, as far as a sentence has been read.
#[derive(Default)]
struct Said {
    kin: u32,
    /// How many are named who are no kin.
    names: u32,
    crew: bool,
    they: bool,
    comes: bool,
    leaves: bool,
    returns: bool,
    begin: Option<String>,
    end: Option<String>,
}

/// What `sentence` tells of who is aboard, in words of the grammar.
pub(super) fn company(sentence: &str, scene: &Scene) -> Option<String> {
    let pieces = words::pieces(sentence, scene.known).ok()?;
    let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
    let is = |list: &str, at: usize| list.split(' ').any(|w| words[at].is(w));
    let visit = (1..words.len()).any(|at| words[at - 1].is("for") && is(VISITS, at));
    if visit {
        return None;
    }
    let mut said = Said::default();
    let (mut at, mut number, mut counted) = (0, None, 0);
    while at < words.len() {
        if let Some(taken) = said.time(&words, at, scene) {
            at += taken;
            continue;
        }
        // `2 showers with our friends` says nothing of how many.
        number = number.filter(|_| at <= counted + 2);
        let low = stem(&words[at].low);
        let count = lexicon().count(low);
        let by = at + 1 < words.len() && is(BY, at + 1);
        said.comes |= is(COMES, at) && !by;
        let who = |at: usize| {
            is(CREW, at)
                || is("they", at)
                || is_kin(stem(&words[at].low))
                || is_name(&words[at], scene)
        };
        let near = (at.saturating_sub(NEAR)..at).any(who);
        said.leaves |= is(LEAVES, at) && (near || words[at].is("away"));
        said.returns |= is(RETURNS, at);
        said.crew |= is(CREW, at);
        said.they |= words[at].is("they");
        if is_of("pair", low) {
            said.kin += 2 * number.take().unwrap_or(1);
        } else if words[at].low.ends_with("'s") && is_of("kin", low) {
            // `to my daughter's` is a place.
        } else if is_kin(low) {
            let plural = !is_of("kin", low) || ["people", "children"].contains(&low);
            let many = plural && number.is_none();
            said.kin += if many { 0 } else { number.take().unwrap_or(1) };
            // `my mate Rob` is one.
            at += usize::from(words.get(at + 1).is_some_and(|w| is_name(w, scene)));
        } else if is_name(&words[at], scene) && !(at > 0 && is("at in to from near of the", at - 1))
        {
            said.names += 1;
        } else if count.is_some_and(|n| n < 10) && !is("once twice thrice single", at) {
            (number, counted) = (count, at);
        }
        at += 1;
    }
    said.told(scene)
}

impl Said {
    /// Takes the time, or the number of days, that begins at a word.
    fn time(&mut self, words: &[Word], at: usize, scene: &Scene) -> Option<usize> {
        let rest = &words[at..];
        let longest = rest.len().min(LONGEST_PHRASE);
        let days =
            |w: &Word| ["night", "nights", "day", "days", "week", "weeks"].iter().any(|d| w.is(d));
        if rest.len() > 1 && days(&rest[1]) && self.end.is_none() {
            let count = lexicon().count(&rest[0].low);
            let week = if rest[1].low.starts_with('w') { 7 } else { 1 };
            self.end = Some(format!("for {} days", count?.saturating_mul(week)));
            return Some(2);
        }
        if rest[0].is("weekend") {
            (self.begin, self.end) = (Some("friday".into()), Some("until sunday".into()));
            return Some(1);
        }
        let taken = (1..=longest).rev().find(|n| phrase(&rest[..*n], scene.clock).is_some())?;
        let before: Vec<&Word> = words[..at].iter().rev().take(2).collect();
        let ends = |w: &&Word| ENDS.split(' ').any(|end| w.is(end));
        let small = |w: &&Word| w.is("on") || w.is("the");
        let head = before.iter().copied().find(|w| !small(w));
        let time = rest[..taken].iter().map(|w| w.low.as_str()).collect::<Vec<_>>().join(" ");
        match head.filter(ends) {
            Some(head) if head.is("to") && self.begin.is_none() => {}
            Some(_) => self.end = Some(format!("until {time}")),
            None if self.begin.is_none() => self.begin = Some(time),
            None => {}
        }
        Some(taken)
    }

    fn told(self, scene: &Scene) -> Option<String> {
        let (aboard, crew) = (scene.known.aboard.value(), scene.known.crew.value());
        let times: Vec<String> = self.begin.into_iter().chain(self.end.clone()).collect();
        let with = |what: String| format!("{what} {}", times.join(" ")).trim_end().to_string();
        let by_name = self.names > 1 || self.end.is_some();
        match () {
            () if self.comes && self.kin > 0 => {
                let all = self.kin + if self.crew { 0 } else { self.names };
                Some(with(so_many_guests(all as usize)))
            }
            () if self.leaves && (self.kin > 0 || self.names > 1 || self.they) && aboard > crew => {
                Some(with(format!("aboard {crew}")))
            }
            () if self.leaves && (self.crew || self.names == 1) && self.end.is_some() => {
                Some(with(format!("aboard {}", (aboard - 1.0).max(0.0))))
            }
            () if self.comes && !self.crew && by_name && self.names > 0 => {
                Some(with(so_many_guests(self.names as usize)))
            }
            () if self.returns && (self.crew || self.names > 0) && aboard < crew => {
                Some(format!("aboard {crew}"))
            }
            () => None,
        }
    }
}

/// Whether a word is one of those who may come to stay, or several of them.
fn is_kin(low: &str) -> bool {
    is_of("kin", low) || is_of("kin", low.trim_end_matches('s'))
}

/// Whether a word is a name of nobody and nothing that is known.
fn is_name(word: &Word, scene: &Scene) -> bool {
    let low = stem(&word.low);
    let small = ["filler", "subject", "people", "then", "unsure", "aside", "kin", "pair"];
    word.kind == Kind::Plain
        && word.text.starts_with(char::is_uppercase)
        && low.len() > 2
        && !lexicon().knows(low)
        && !small.iter().any(|list| is_of(list, low))
        && !is_time_word(low)
        && scene.known.find([low].into_iter()).is_none()
        && !scene
            .known
            .places
            .iter()
            .any(|place| place.to_lowercase().split_whitespace().any(|part| part == low))
}
