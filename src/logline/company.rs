//! Who comes, stays, leaves or is away, told in a sentence of everyday speech: `my sister and her
//! two boys come on wednesday, staying till friday`. It is only ever offered.

use super::lexicon::lexicon;
use super::listed::{is_of, stem};
use super::people::so_many_guests;
use super::scene::Scene;
use super::time::{is_time_word, longest_phrase};
use super::word::{Kind, Word};
use super::words;

/// How many words may stand between who leaves and that they do.
const NEAR: usize = 3;

/// Who is named, and when, as far as a sentence has been read.
#[derive(Default)]
struct Said {
    kin: u32,
    /// The last number, and where it stands.
    number: Option<(u32, usize)>,
    /// How many are named who are no kin.
    names: u32,
    crew: bool,
    they: bool,
    comes: bool,
    leaves: bool,
    returns: bool,
    /// Whether it is said of somebody, and of nothing else, that he leaves or is here again.
    gone: bool,
    back: bool,
    /// Whether they are in another's home.
    elsewhere: bool,
    begin: Option<String>,
    end: Option<String>,
}

/// What `sentence` tells of who is aboard, in words of the grammar.
pub(super) fn company(sentence: &str, scene: &Scene) -> Option<String> {
    let pieces = words::pieces(sentence, scene.known).ok()?;
    let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
    let read = Sentence { words: &words, scene };
    let visit = (1..words.len()).any(|at| words[at - 1].is("for") && read.is("visits", at));
    if visit {
        return None;
    }
    let mut said = Said::default();
    let mut at = 0;
    while at < words.len() {
        if let Some(taken) = said.time(&words, at, scene) {
            at += taken;
            continue;
        }
        // `2 showers with our friends` says nothing of how many.
        said.number = said.number.filter(|(_, counted)| at <= counted + 2);
        said.moves(&read, at);
        at += said.who(&read, at);
    }
    // `only one person here` tells of nobody who comes.
    said.comes &= !words.iter().any(|w| w.is_any("only alone"));
    said.told(scene)
}

/// The words of a sentence.
struct Sentence<'w> {
    words: &'w [Word<'w>],
    scene: &'w Scene<'w>,
}

impl Sentence<'_> {
    fn is(&self, list: &str, at: usize) -> bool {
        is_of(list, &self.words[at].low)
    }

    /// How many words the phrase of a row takes that begins here.
    fn begins(&self, list: &str, at: usize) -> usize {
        let lows: Vec<&str> = self.words[at..].iter().map(|w| w.low.as_str()).collect();
        lexicon().begins(list, &lows)
    }

    fn is_named(&self, at: usize) -> bool {
        is_name(&self.words[at], self.scene) || at == 0 && is_first(self.words, self.scene)
    }

    /// Whether somebody is named here, or stands for one who is.
    fn is_who(&self, at: usize) -> bool {
        self.is("crew pair", at)
            || self.words[at].is("they")
            || is_kin(stem(&self.words[at].low))
            || self.is_named(at)
    }

    /// Whether nothing but a time, or who is left behind, follows.
    fn ends_at(&self, at: usize) -> bool {
        let Some(next) = self.words.get(at) else { return true };
        is_of("behind", &next.low) || longest_phrase(&self.words[at..], self.scene.clock).is_some()
    }
}

impl Said {
    /// Takes what a word says of somebody who comes or goes.
    fn moves(&mut self, read: &Sentence, at: usize) {
        let (word, comes) = (&read.words[at], read.begins("comes", at));
        // `stays over` does stay.
        let over = at + 1 < read.words.len() && read.is("passes", at + 1);
        let by = over && !word.low.starts_with("stay") && comes < 2;
        let near = (at.saturating_sub(NEAR)..at).any(|at| read.is_who(at));
        let next = (at + 1..read.words.len().min(at + 1 + NEAR)).any(|at| read.is_who(at));
        let (ends, leaves) = (read.ends_at(at + 1), read.is("leaves", at));
        self.comes |= comes > 0 && !by && (near || next);
        self.leaves |= leaves && (near || word.is("away"));
        self.gone |= leaves && !word.is("off") && near && ends;
        self.returns |= read.is("returns", at);
        self.back |= read.is("returns", at) && ends;
        self.crew |= read.is("crew", at);
        self.they |= word.is("they");
    }

    /// Takes who is named by a word, or how many, and says how many words that takes.
    fn who(&mut self, read: &Sentence, at: usize) -> usize {
        let Sentence { words, scene } = read;
        let low = stem(&words[at].low);
        let before = |n: usize, any: &str| words[..at].iter().rev().take(n).any(|w| w.is_any(any));
        let pair = is_of("pair", low);
        let mut number = || self.number.take().map(|(number, _)| number);
        if (is_kin(low) || pair) && is_home(words, at) {
            // `at my daughter's` is a place; who is at `his dad's` is one.
            let there = before(2, "at to");
            let one = there && before(1, "his her");
            self.elsewhere |= there;
            self.leaves |= one;
            self.names = self.names.max(u32::from(one));
        } else if pair {
            self.kin += 2 * number().unwrap_or(1);
        } else if is_kin(low) {
            let plural = !is_of("kin", low) || ["people", "children"].contains(&low);
            self.kin += number().unwrap_or(u32::from(!plural));
            // `my mate Rob` is one.
            return 1 + usize::from(words.get(at + 1).is_some_and(|w| is_name(w, scene)));
        } else if read.is_named(at) {
            let there = before(1, "at in to from near of the");
            self.names += u32::from(!there);
        } else if !words[at].is_any("once twice thrice single") {
            let count = lexicon().count(low).filter(|n| *n < 10);
            self.number = count.map(|n| (n, at)).or(self.number);
        }
        1
    }

    /// Takes the time, or the number of days, that begins at a word.
    fn time(&mut self, words: &[Word], at: usize, scene: &Scene) -> Option<usize> {
        let rest = &words[at..];
        let days = |w: &Word| w.is_any("night nights day days week weeks");
        if rest.len() > 1 && days(&rest[1]) && self.end.is_none() {
            let count = lexicon().count(&rest[0].low);
            let week = if rest[1].low.starts_with('w') { 7 } else { 1 };
            self.end = Some(format!("for {} days", count?.saturating_mul(week)));
            return Some(2);
        }
        if rest[0].is("night") && at > 0 && words[at - 1].is("the") {
            self.begin = Some("tonight".into());
            return Some(1);
        }
        if rest[0].is("weekend") {
            (self.begin, self.end) = (Some("friday".into()), Some("until sunday".into()));
            return Some(1);
        }
        let (_, taken) = longest_phrase(rest, scene.clock)?;
        let before: Vec<&Word> = words[..at].iter().rev().take(2).collect();
        let ends = |w: &&Word| is_of("ends", &w.low);
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
            () if self.elsewhere && self.end.is_some() && self.names == 0 && !self.comes => {
                Some(with("away".into()))
            }
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
            () if self.gone && self.end.is_none() && self.kin + self.names > 0 && !self.comes => {
                let one = if self.kin + self.names == 1 { "1 guest left" } else { "guests left" };
                Some(with(one.into()))
            }
            () if self.returns && (self.crew || self.names > 0) && aboard < crew => {
                Some(format!("aboard {crew}"))
            }
            () if self.back && self.names > 0 && !self.gone => {
                Some(with(format!("aboard {crew}")).replace(" until ", " "))
            }
            () => None,
        }
    }
}

/// Whether the home of somebody is named: `my daughter's`, `my parents house`.
fn is_home(words: &[Word], at: usize) -> bool {
    let home = |w: &Word| w.is_any("house place home flat cottage farm");
    let own = at > 1 && words[at - 2].is_any("at to") && !is_of("kin", &words[at].low);
    words[at].low.ends_with("'s") || own || words.get(at + 1).is_some_and(home)
}

/// Whether a word is one of those who may come to stay, or several of them.
fn is_kin(low: &str) -> bool {
    is_of("kin", low) || is_of("kin", low.trim_end_matches('s'))
}

/// Whether the first word is a name in small letters: `ada away until sunday`.
fn is_first(words: &[Word], scene: &Scene) -> bool {
    let [name, next, ..] = words else { return false };
    let low = stem(&name.low);
    let away = next.is_any("away gone leaves left back");
    away && low.len() > 2 && !lexicon().lists(low) && !is_time_word(low) && !scene.known.names(low)
}

/// Whether a word is a name of nobody and nothing that is known.
fn is_name(word: &Word, scene: &Scene) -> bool {
    let low = stem(&word.low);
    let small = "filler subject people then unsure aside kin pair";
    word.kind == Kind::Plain
        && word.text.starts_with(char::is_uppercase)
        && low.len() > 2
        && !lexicon().knows(low)
        && !is_of(small, low)
        && !is_time_word(low)
        && !scene.known.names(low)
        && !scene
            .known
            .places
            .iter()
            .any(|place| place.to_lowercase().split_whitespace().any(|part| part == low))
}
