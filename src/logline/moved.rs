//! What is moved in or out, where the verb alone does not say it: its second word stands behind what is
//! moved, `let the grey out`, or what it is said of tells which way it went, `tipped the pee`.

use super::item::MARKS;
use super::lexicon::{Sense, Tense, lexicon};
use super::vocabulary::{Sort, Vocabulary};
use super::word::{Kind, Word};

/// How far behind the first word of a verb its second one may stand.
const FARTHEST: usize = 8;

/// The verb whose first word begins `rest`, where its second word stands behind a stock; and where.
pub(super) fn parted(rest: &[Word], known: &Vocabulary) -> Option<(Sense, usize)> {
    let to = rest.len().min(FARTHEST);
    let named = (1..to).find(|at| stock(&rest[*at..], known).is_some())?;
    let alone = lexicon().sense(&rest[0].low);
    let ends = |at: usize| {
        let next = rest.get(at + 1);
        next.is_none_or(|w| w.kind == Kind::Plain && is_small(&w.low) && !w.is_any("of to"))
    };
    // `let the grey pipe go` is of another thing.
    let plain = |at: &usize| {
        rest[named + 1..*at].iter().all(|w| {
            w.is_numeric()
                || lexicon().lists(&w.low)
                || known.names(w.low.as_str())
                || is_small(&w.low)
        })
    };
    (named + 1..to).filter(plain).filter(|at| rest[*at].kind == Kind::Plain && ends(*at)).find_map(
        |at| {
            let sense = lexicon().sense(&format!("{} {}", rest[0].low, rest[at].low))?;
            // `let the grey go` is plain.
            let sense = match sense {
                Sense::Ask("emptied") => Sense::Say("emptied", Tense::Behind),
                sense => sense,
            };
            let moves = match (sense, alone) {
                (Sense::Say(verb, _), Some(Sense::Say(own, _))) if verb == own => false,
                (Sense::Say("added" | "emptied", _), _) => true,
                _ => false,
            };
            moves.then_some((sense, at))
        },
    )
}

fn is_small(low: &str) -> bool {
    MARKS.split_whitespace().any(|mark| mark == low) || low == "down"
}

/// The stock that begins these words, by the name of its own, and which way it runs.
fn stock<'k>(words: &[Word], known: &'k Vocabulary) -> Option<&'k str> {
    let plain = words.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str());
    known.find(plain)?.0.stock.as_deref()
}

/// Which of two ways, `added | emptied`, it went, by the one stock that the words around it name.
pub(super) fn which_way(
    ways: &'static str,
    (before, behind): (&[Word], &[Word]),
    known: &Vocabulary,
) -> Option<&'static str> {
    let (put, taken) = ways.split_once(" | ")?;
    let named = |words: &[Word]| {
        let all = (0..words.len()).filter_map(|at| stock(&words[at..], known).map(str::to_string));
        all.collect::<Vec<_>>()
    };
    let mut all = [named(before), named(behind)].concat();
    all.dedup();
    let [stock] = &all[..] else { return None };
    match known.runs(stock)? {
        Sort::Filling => Some(taken),
        // `poured 5 L into the water`, not `poured the water into a pot`.
        _ => {
            let into = behind.iter().position(|w| w.is_any("into in to"))? + 1;
            let small = |w: &&Word| w.is_any("the our a");
            let at = into + behind[into..].iter().take_while(small).count();
            self::stock(&behind[at.min(behind.len())..], known).map(|_| put)
        }
    }
}

/// `4 days for the 3 of us` of food are so many person-days.
pub(super) fn for_so_many<'a>(words: Vec<Word<'a>>, known: &Vocabulary) -> Vec<Word<'a>> {
    let number = |at: usize| match words.get(at)? {
        w if w.is("a") => Some(1.0),
        w => w.low.parse::<f64>().ok().filter(|_| w.is_numeric()),
    };
    let long = |at: usize| match words.get(at + 1)? {
        w if w.is_any("day days") => number(at),
        w if w.is_any("week weeks") => number(at).map(|weeks| weeks * 7.0),
        _ => None,
    };
    let Some((at, days)) = (0..words.len()).find_map(|at| Some((at, long(at)?))) else {
        return words;
    };
    let us = |from: usize| {
        let last = from + 1 == words.len() && from > 0 && words[from - 1].is("for");
        let all =
            words.get(from + 1).is_some_and(|w| w.is("us")) || from > 0 && words[from - 1].is("us");
        let apart = from + 1 < at || from > at + 1;
        number(from).filter(|many| apart && (all || last) && many.fract() == 0.0 && *many > 0.0)
    };
    let Some((who, many)) = (0..words.len()).find_map(|at| Some((at, us(at)?))) else {
        return words;
    };
    let others = (0..words.len()).filter_map(|at| known.find(words[at..].iter().map(|w| &*w.low)));
    let food = |stock: &Option<String>| stock.as_deref().is_some_and(|name| known.is_eaten(name));
    if !others.into_iter().all(|(meaning, _)| food(&meaning.stock)) {
        return words;
    }
    let from = who - words[..who].iter().rev().take_while(|w| w.is_any("for all")).count();
    let to = who + 1 + usize::from(words.get(who + 1).is_some_and(|w| w.is("us")));
    let so_many = |at: usize, low: String| Word { low, ..words[at].clone() };
    let kept =
        (0..words.len()).filter(|index| !(from..to).contains(index)).map(|index| match index {
            _ if index == at => so_many(at, (days * many).to_string()),
            _ if index == at + 1 => so_many(index, "person-days".to_string()),
            _ => words[index].clone(),
        });
    kept.collect()
}
