//! Ways of saying something: rows of `assets/phrases.txt`, each a pattern with slots, and what it says
//! in plainer words.

use crate::logline::lexis::lexicon::lexicon;
use std::collections::HashMap;
use std::sync::LazyLock;

/// The table as it is written.
const TABLE: &str = include_str!("../../../assets/phrases.txt");

/// How far the words of a row may be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Trust {
    /// A whole thing, that may be saved where all of its clause is clear.
    Said,
    /// A whole thing that is only offered.
    Offered,
    /// Words within a thing, which change nothing in how sure it is.
    Within,
    /// The same, which is only offered.
    Guessed,
}

/// What a slot holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(in crate::logline) enum Slot {
    Stock,
    /// One that runs down, and one that runs up.
    Store,
    Waste,
    Use,
    /// One that each person does.
    Own,
    Number,
    Amount,
    /// Any of these: a number, an amount, a share.
    Figure,
    Share,
    Level,
    Time,
    Hour,
    /// An hour with its minutes, behind a dot or nothing: `4.15`, `1730`.
    Clock,
    /// What one unit of something cost, as it was written: `1.43`; and where nothing else can be meant:
    /// `£1.43`, `1.43 a litre`.
    Price,
    Cost,
    /// A number whose thousands a blank parts.
    Odometer,
    Day,
    Place,
    /// A place that nobody knows, in capitals.
    Spot,
    Days,
    Who,
    /// Words that change nothing.
    Words,
}

/// One element of a pattern.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::logline) enum Part {
    /// One of these phrases, which the row may name.
    Words(Vec<Vec<&'static str>>, &'static str),
    /// A phrase of a row of the table of words, or that means a word of the grammar.
    Class(&'static str),
    /// What a slot holds, with the name that it has in the row.
    Slot(Slot, &'static str),
    /// A comma, a full stop, or `and`.
    Break,
    /// The beginning of a clause, and its end.
    Begin,
    End,
    /// What may be left out.
    Maybe(Vec<Part>),
}

/// One way of saying something.
#[derive(Debug)]
pub(in crate::logline) struct Row {
    #[cfg(test)]
    pub text: &'static str,
    pub trust: Trust,
    pub parts: Vec<Part>,
    /// A row of the table of words: one of its clauses, or one beside them, holds a word of it.
    pub with: &'static str,
    pub says: &'static str,
}

/// The table, read.
pub(in crate::logline) struct Phrases {
    pub rows: Vec<Row>,
    /// Rows by the first word of what each of them cannot be without.
    by_word: HashMap<&'static str, Vec<usize>>,
}

static PHRASES: LazyLock<Phrases> = LazyLock::new(|| Phrases::read(TABLE));

/// The table.
pub(in crate::logline) fn phrases() -> &'static Phrases {
    &PHRASES
}

impl Phrases {
    fn read(table: &'static str) -> Phrases {
        let rows: Vec<Row> = table.lines().filter_map(row).collect();
        let mut by_word: HashMap<&'static str, Vec<usize>> = HashMap::new();
        for (at, row) in rows.iter().enumerate() {
            let with = if row.with.is_empty() { None } else { Some(Part::Class(row.with)) };
            let mut all = row.parts.iter().chain(with.as_ref()).map(first_words);
            let words = all.find(|words| !words.is_empty());
            // What needs no word of its own is always tried.
            let words = words.unwrap_or(vec![""]);
            words.into_iter().for_each(|word| by_word.entry(word).or_default().push(at));
        }
        Phrases { rows, by_word }
    }

    /// The rows that words like these may be said by, each once, in the order of the table.
    pub(in crate::logline) fn fitting<'w>(
        &self,
        words: impl Iterator<Item = &'w str>,
    ) -> Vec<usize> {
        let mut all: Vec<usize> = words
            .chain([""])
            .filter_map(|word| self.by_word.get(word))
            .flatten()
            .copied()
            .collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

/// The words with which an element begins that cannot be left out; none where it is no words.
fn first_words(part: &Part) -> Vec<&'static str> {
    let first = |phrase: &&'static str| phrase.split(' ').next().unwrap_or_default();
    match part {
        Part::Words(all, _) => all.iter().map(|phrase| phrase[0]).collect(),
        Part::Class(name) => lexicon().phrases_of(name).iter().map(first).collect(),
        _ => Vec::new(),
    }
}

/// A row of the table; `None` for a remark.
fn row(text: &'static str) -> Option<Row> {
    let (pattern, says) = text.split_once(" =>").filter(|_| !text.starts_with('#'))?;
    let (kind, pattern) = pattern.split_once(' ')?;
    let trust = match kind {
        "say" => Trust::Said,
        "ask" => Trust::Offered,
        "part" => Trust::Within,
        _ => Trust::Guessed,
    };
    let (pattern, with) = pattern.split_once(" &").unwrap_or((pattern, ""));
    let mut words = pattern.split_whitespace();
    Some(Row {
        #[cfg(test)]
        text,
        trust,
        parts: parts(&mut words),
        with,
        says: says.trim(),
    })
}

/// The elements up to the end of what may be left out, or of the pattern.
fn parts(words: &mut std::str::SplitWhitespace<'static>) -> Vec<Part> {
    let mut all = Vec::new();
    while let Some(word) = words.next().filter(|word| *word != "]") {
        all.push(match word {
            "[" => Part::Maybe(parts(words)),
            "," => Part::Break,
            "^" => Part::Begin,
            "$" => Part::End,
            "..." => Part::Slot(Slot::Words, "..."),
            word => match (word.strip_prefix('<'), word.strip_prefix('{')) {
                (Some(class), _) => Part::Class(class.trim_end_matches('>')),
                (_, Some(inner)) => match inner.trim_end_matches('}').split_once(':') {
                    Some((name, any)) => any_of(any, name),
                    None => slot(inner.trim_end_matches('}')),
                },
                _ => any_of(word, ""),
            },
        });
    }
    all
}

/// One of several phrases, with the name that it has in the row.
fn any_of(any: &'static str, name: &'static str) -> Part {
    Part::Words(any.split('|').map(|phrase| phrase.split('_').collect()).collect(), name)
}

/// A slot by its name, which a digit may part from others of its kind.
fn slot(name: &'static str) -> Part {
    let of = match name.trim_end_matches(|c: char| c.is_ascii_digit()) {
        "stock" => Slot::Stock,
        "store" => Slot::Store,
        "waste" => Slot::Waste,
        "use" => Slot::Use,
        "own" => Slot::Own,
        "n" => Slot::Number,
        "amount" => Slot::Amount,
        "figure" => Slot::Figure,
        "spot" => Slot::Spot,
        "share" => Slot::Share,
        "level" => Slot::Level,
        "time" => Slot::Time,
        "hour" => Slot::Hour,
        "clock" => Slot::Clock,
        "price" => Slot::Price,
        "cost" => Slot::Cost,
        "odometer" => Slot::Odometer,
        "day" => Slot::Day,
        "place" => Slot::Place,
        "days" => Slot::Days,
        "who" => Slot::Who,
        _ => Slot::Words,
    };
    Part::Slot(of, name)
}
