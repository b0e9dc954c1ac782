//! The words of everyday speech and their meanings: one table, `assets/words.txt`, which reading,
//! completion, help and tests share.

use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

/// The table as it is written.
const TABLE: &str = include_str!("../../../assets/words.txt");

/// Words that begin a thing of their own, in the order in which completion offers them.
pub(in crate::logline) const OPENERS: &str = "filled emptied drove camp shore generator charged aboard guests \
    away day note outlook added swapped";

/// Which way a word looks in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(in crate::logline) enum Tense {
    /// Said of what has happened, or of no time.
    #[default]
    Behind,
    /// Said of what is to come, or is being done.
    Ahead,
    /// Said of what is to come and of nothing else.
    Will,
}

/// What a word does to the meaning of those beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Hedge {
    /// Takes it back, or says that it is not so yet.
    Not,
    /// Blurs an amount.
    Doubt,
    /// Makes something else of it.
    Odd,
}

/// What a phrase of the table means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Sense {
    /// The same as these words of the grammar.
    Say(&'static str, Tense),
    /// Nothing, beside a thing.
    Skip,
    /// Takes a meaning back, or blurs it.
    Hedge(Hedge),
    /// What follows is to come.
    Ahead,
    /// A number, in digits.
    Number(&'static str),
    /// A unit, by its usual word.
    Unit(&'static str),
    /// Not clear: to be asked back with these words, or the ones after a `|`, in their place.
    Ask(&'static str),
}

impl Sense {
    /// Whether it is the word of the grammar, or the hedge, of that name.
    fn is(&self, class: &str) -> bool {
        match self {
            Sense::Say(meaning, Tense::Behind) => *meaning == class,
            Sense::Hedge(Hedge::Not) => class == "not",
            _ => false,
        }
    }
}

/// The table, read.
pub(in crate::logline) struct Lexicon {
    phrases: HashMap<&'static str, Sense>,
    longest: usize,
    /// Words for one thing, row by row.
    pub same: Vec<Vec<&'static str>>,
    /// Phrases that are known by the name of their row alone.
    lists: HashMap<&'static str, Row>,
    /// The rows in which each of their words stands by itself.
    rows: HashMap<&'static str, Vec<&'static str>>,
    /// Verbs that are said of one stock, where they name none.
    meant: Vec<(&'static str, &'static str)>,
    /// What a word of one row tells beside one of another, with both.
    pub pairs: Vec<(&'static str, Vec<&'static str>)>,
    /// Each word of the grammar with the words for what has happened, in the table's order.
    pub says: Vec<(&'static str, Vec<&'static str>)>,
}

/// The phrases of a row.
#[derive(Default)]
struct Row {
    phrases: Vec<&'static str>,
    /// The same, for looking one up, and how many words the longest has.
    all: HashSet<&'static str>,
    longest: usize,
}

static LEXICON: LazyLock<Lexicon> = LazyLock::new(|| read(TABLE));

/// The table.
pub(in crate::logline) fn lexicon() -> &'static Lexicon {
    &LEXICON
}

fn read(table: &'static str) -> Lexicon {
    let (mut phrases, mut same, mut says) = (HashMap::new(), Vec::new(), Vec::new());
    let (mut lists, mut rows, mut meant) = (HashMap::new(), HashMap::new(), Vec::new());
    let mut pairs = Vec::new();
    let table = table.lines().filter(|row| !row.starts_with('#'));
    for (head, list) in table.filter_map(|row| row.split_once(": ")) {
        let words: Vec<&'static str> = list.split(',').map(str::trim).collect();
        let (kind, meaning) = head.split_once(' ').unwrap_or((head, ""));
        let sense = match kind {
            "say" => {
                says.push((meaning, words.clone()));
                Sense::Say(meaning, Tense::Behind)
            }
            "plan" => Sense::Say(meaning, Tense::Ahead),
            "will" => Sense::Say(meaning, Tense::Will),
            "skip" => Sense::Skip,
            "ahead" => Sense::Ahead,
            "of" => {
                meant.extend(words.iter().map(|word| (*word, meaning)));
                continue;
            }
            "hedge" => Sense::Hedge(match meaning {
                "not" => Hedge::Not,
                "doubt" => Hedge::Doubt,
                _ => Hedge::Odd,
            }),
            "number" => Sense::Number(meaning),
            "unit" => Sense::Unit(meaning),
            "ask" => Sense::Ask(meaning),
            "two-rows" => {
                pairs.push((meaning, words));
                continue;
            }
            "same" => {
                same.push(words);
                continue;
            }
            _ => {
                for word in words.iter().filter(|word| !word.contains(' ')) {
                    rows.entry(*word).or_insert_with(Vec::new).push(kind);
                }
                let longest = words.iter().map(|p| p.split(' ').count()).max().unwrap_or(0);
                let all = words.iter().copied().collect();
                lists.insert(kind, Row { phrases: words, all, longest });
                continue;
            }
        };
        for word in words {
            phrases.entry(word).or_insert(sense);
        }
    }
    let longest = phrases.keys().map(|phrase| phrase.split(' ').count()).max().unwrap_or(1);
    Lexicon { phrases, longest, same, lists, rows, meant, pairs, says }
}

/// The longest beginning of `words` that `means` something, and how many words it takes.
pub(in crate::logline) fn longest<'w, T>(
    words: impl Iterator<Item = &'w str>,
    means: impl Fn(&str) -> Option<T>,
) -> Option<(T, usize)> {
    let (mut phrase, mut best) = (String::new(), None);
    for (index, word) in words.enumerate() {
        if index > 0 {
            phrase.push(' ');
        }
        phrase.push_str(word);
        if let Some(meaning) = means(&phrase) {
            best = Some((meaning, index + 1));
        }
    }
    best
}

impl Lexicon {
    /// The longest phrase that begins `words` (each in lower case), and how many words it takes.
    pub fn find<'w>(&self, words: impl Iterator<Item = &'w str>) -> Option<(Sense, usize)> {
        longest(words.take(self.longest), |phrase| self.sense(phrase))
    }

    /// What this one phrase means.
    pub(in crate::logline) fn sense(&self, phrase: &str) -> Option<Sense> {
        self.phrases.get(phrase).copied()
    }

    /// What one word counts, in digits or in letters.
    pub(in crate::logline) fn count(&self, word: &str) -> Option<u32> {
        match self.phrases.get(word) {
            Some(Sense::Number(digits)) => digits.parse().ok(),
            _ => word.parse().ok(),
        }
    }

    /// How many words the longest phrase of the row `list` takes that begins `words`; 0 for none.
    pub(in crate::logline) fn begins(&self, list: &str, words: &[&str]) -> usize {
        let Some(row) = self.lists.get(list) else { return 0 };
        let words = words.iter().take(row.longest).copied();
        longest(words, |phrase| row.all.contains(phrase).then_some(())).map_or(0, |(_, n)| n)
    }

    /// Whether a word stands by itself in one of these rows, which blanks part.
    pub(in crate::logline) fn has(&self, rows: &str, word: &str) -> bool {
        let own = self.rows.get(word);
        own.is_some_and(|own| rows.split(' ').any(|row| own.contains(&row)))
    }

    /// The phrases of the row `list`.
    pub(in crate::logline) fn all(&self, list: &str) -> impl Iterator<Item = &'static str> {
        self.lists.get(list).into_iter().flat_map(|row| row.phrases.iter().copied())
    }

    /// The phrases of a row, or those that mean a word of the grammar, or what a hedge does.
    pub(in crate::logline) fn phrases_of(&self, class: &str) -> Vec<&'static str> {
        let list = self.lists.get(class).map(|row| row.phrases.clone());
        list.unwrap_or_else(|| {
            let means =
                |(phrase, sense): (&&'static str, &Sense)| sense.is(class).then_some(*phrase);
            self.phrases.iter().filter_map(means).collect()
        })
    }

    /// How many words a phrase of such a class takes that begins `words`.
    pub(in crate::logline) fn takes(&self, class: &str, words: &[&str]) -> usize {
        match self.lists.contains_key(class) {
            true => self.begins(class, words),
            false => self
                .find(words.iter().copied())
                .filter(|(sense, _)| sense.is(class))
                .map_or(0, |(_, taken)| taken),
        }
    }

    /// Whether these words are one phrase of the row `list`.
    pub(in crate::logline) fn is_one(&self, list: &str, words: &[&str]) -> bool {
        !words.is_empty() && self.begins(list, words) == words.len()
    }

    /// The stock that this verb is said of, where it names none.
    pub(in crate::logline) fn meant_of(&self, verb: &str) -> Option<&'static str> {
        let verb = verb.to_lowercase();
        self.meant.iter().find(|(word, _)| *word == verb).map(|(_, stock)| *stock)
    }

    /// All that is said for something.
    pub(in crate::logline) fn phrases(&self) -> impl Iterator<Item = &'static str> {
        self.phrases.keys().chain(self.same.iter().flatten()).copied()
    }

    /// Whether this one word is in the table.
    pub fn knows(&self, word: &str) -> bool {
        self.phrases.contains_key(word)
    }

    /// Whether this one word stands anywhere in the table, so that it is no slip of another.
    pub(in crate::logline) fn lists(&self, word: &str) -> bool {
        self.knows(word) || self.rows.contains_key(word)
    }

    /// The words of what was done, of what a rig may have, of when and how much, one by one, for a
    /// slip of one of them.
    pub(in crate::logline) fn spellings(&self) -> impl Iterator<Item = &str> {
        let all = self.same.iter().flatten().copied().chain(self.opening());
        let rows = ["shares", "spelled"].into_iter().filter_map(|row| self.lists.get(row));
        let all = all.chain(rows.flat_map(|row| row.phrases.iter().copied()));
        let all = all.flat_map(|phrase| phrase.split(' '));
        all.filter(|word| word.len() > 3)
    }

    /// Single words that mean a word of the grammar, for a "did you mean" and for beginnings.
    pub(in crate::logline) fn verbs(&self) -> impl Iterator<Item = &str> {
        self.opening().filter(|w| !w.contains(' '))
    }

    /// What is said for the words that begin a thing of their own.
    fn opening(&self) -> impl Iterator<Item = &str> {
        let opens = |(meaning, _): &&(&str, _)| OPENERS.split(' ').any(|opener| opener == *meaning);
        self.says.iter().filter(opens).flat_map(|(_, words)| words.iter().copied())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// No word of the table means two things: the first row would win in silence.
    #[test]
    fn every_word_has_one_meaning() {
        let mut seen: HashMap<&str, &str> = HashMap::new();
        let of =
            ["say ", "plan ", "will ", "skip:", "ahead:", "hedge ", "number ", "unit ", "ask "];
        let one = |row: &&str| of.iter().any(|head| row.starts_with(head));
        for row in TABLE.lines().filter(one) {
            let Some((head, list)) = row.split_once(": ") else { continue };
            for word in list.split(',').map(str::trim) {
                if let Some(before) = seen.insert(word, head) {
                    panic!("`{word}` stands in `{before}` and in `{head}`");
                }
                assert_eq!(word, word.to_lowercase(), "{head}");
                assert!(!word.is_empty(), "{head}");
            }
        }
    }
}
