//! Which way something went, where the verb alone does not say it: `tipped the pee`.

use crate::logline::lexis::vocabulary::{Sort, Vocabulary};
use crate::logline::lexis::word::{Kind, Word};

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
    // `this afternoon | tomorrow afternoon` are no ways in or out.
    let (put, taken) = ways.split_once(" | ").filter(|(put, _)| *put == "added")?;
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
