//! What the words that are kept of a clause may tell, in words of the grammar.

use crate::logline::grammar::kept::{is_ahead as may_be_ahead, is_when};
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::{Tense, lexicon};
use crate::logline::lexis::listed::{is_of, lows};
use crate::logline::lexis::vocabulary::Sort;
use crate::logline::lexis::word::{Word, as_written};
use crate::logline::tokens::item::{Is, Item};
use chrono::Timelike as _;

/// What a clause may tell.
#[derive(Clone)]
pub(in crate::logline) struct Way {
    pub text: String,
    /// Whether it leaves nothing out that could change it.
    pub firm: bool,
}

impl Way {
    fn open(text: String) -> Way {
        Way { text, firm: false }
    }
}

/// What the items that are kept of a clause may tell, the fullest first.
pub(in crate::logline) fn ways(
    items: &[Item],
    all: &[&Item],
    (clause, scene): (&str, &Scene),
) -> Vec<Way> {
    let write = |items: &[&Item]| write(items, clause);
    let without = |mark: &dyn Fn(&Item) -> bool| {
        write(&all.iter().copied().filter(|item| !mark(item)).collect::<Vec<_>>())
    };
    let small = |item: &Item| item.is_a_mark() && !item.is_of("lamps");
    let timed = |item: &Item| small(item) || matches!(item.is, Is::Time(_) | Is::Until(_));
    let whole = write(all);
    // When the sun sets is not known here.
    let by_the_sun = lows(clause).iter().any(|w| is_of("by-the-sun", w));
    let asks = all.iter().any(|item| match item.is {
        Is::Ask(ways) => is_when(ways) && (by_the_sun || !lies_behind(ways, scene)),
        Is::Place => scene.known.place(&as_written(item.words)).is_none(),
        _ => false,
    });
    let mut ways = vec![Way { text: whole.clone(), firm: !asks }, Way::open(without(&small))];
    // `yesterday evening I let the generator run for 40 minutes`: when it was stands behind it.
    let times: Vec<&Item> = all.iter().copied().filter(|item| item.is_time()).collect();
    if !times.is_empty() {
        ways.push(Way::open(format!("{} {}", without(&timed), write(&times))));
    }
    ways.push(Way::open(without(&timed)));
    // Where somebody goes on a day to come, however far that is.
    let place = all.iter().find(|item| item.is_place());
    if let Some(place) = place.filter(|_| all.iter().any(|item| item.is_time())) {
        let times = all.iter().copied().filter(|item| item.is_time()).collect::<Vec<_>>();
        let place = as_written(place.words);
        let day = matches!(&times[0].is, Is::Time(when) if when.day.is_some());
        let ahead = day && all.iter().all(|item| !matches!(item.is, Is::Verb(_)) || is_ahead(item));
        let when = if ahead { planned(times[0]) } else { write(&times) };
        ways.push(Way::open(format!("camp {place} {when}")));
    }
    let verbless = !all.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let put = |at: usize| {
        let next = items.get(at + 1).is_none_or(|next| !(next.is_other() || next.is_of("it")));
        next && items[at].is_of("in into to-full")
    };
    let thing = all.iter().any(|item| item.is_name() || item.is_amount());
    if verbless && thing && (0..items.len()).any(put) {
        // `2 kg in the gas` are there.
        let held =
            |at: usize| items[at].is_of("in") && items.get(at + 1).is_some_and(Item::is_name);
        let first = usize::from((0..items.len()).any(held));
        ways.insert(first, Way::open(format!("filled {whole}")));
    }
    // `half the pee out`.
    let fills =
        |item: &Item| item.stock().is_some_and(|s| scene.known.runs(s) == Some(Sort::Filling));
    let out = items.iter().any(|item| item.is_of("out")) && all.iter().any(|item| fills(item));
    if verbless && out {
        ways.insert(0, Way::open(format!("emptied {}", without(&small))));
    }
    if is_a_bit(items, all) {
        return Vec::new();
    }
    ways.retain(|way| !way.text.is_empty());
    ways
}

/// `topped up the water a bit`: not full.
fn is_a_bit(items: &[Item], all: &[&Item]) -> bool {
    let bit = |item: &Item| matches!(item.is, Is::Hedge(_)) && item.words[0].is_said("bit");
    let put = |item: &&Item| item.is_verb("filled added");
    items.iter().any(bit) && !all.iter().any(|item| item.is_number()) && all.iter().any(put)
}

/// Items in words of the grammar; what is to be asked as it was said.
pub(super) fn write(items: &[&Item], clause: &str) -> String {
    // A weekday lies behind of what was done.
    let done = |item: &&Item| matches!(item.is, Is::Verb(_)) && !item.is_of_people();
    let ahead = items.iter().any(|item| done(item) && is_ahead(item));
    // `will do them`, `driving to Sorrel Head`.
    let place = items.iter().any(|item| item.is_place());
    let will = |w: &Word| w.tense == Tense::Will || place && w.tense == Tense::Ahead;
    let will = items.iter().flat_map(|item| item.words).any(will);
    let said = |item: &&Item| match item.is {
        // `will do them in the morning`: the next one.
        Is::Ask(ways) if is_when(ways) && will => {
            ways.rsplit(" | ").next().unwrap_or(ways).to_string()
        }
        Is::Ask(ways) if is_when(ways) => ways.split(" | ").next().unwrap_or(ways).to_string(),
        Is::Ask(_) => clause.chars().take(item.end()).skip(item.start()).collect(),
        Is::Time(_) if ahead && may_be_ahead(item) => planned(item),
        // `refuelled 30 L` is of diesel.
        Is::Verb(_) if lexicon().meant_of(item.words[0].text).is_some() => {
            item.words[0].text.to_string()
        }
        // Units as they were written: `L`.
        Is::Amount(_) => item.words.iter().map(Word::said).collect::<Vec<_>>().join(" "),
        Is::Place => as_written(item.words),
        _ => item.when(),
    };
    let all = items.iter().map(said);
    all.collect::<Vec<_>>()
        .join(" ")
        .replace(" %", "%")
        .replace("to-full", "to full")
        .replace("out-of", "out of")
        .replace("drove-to", "drove to")
}

/// Whether a part of the day lies behind: said in the evening, `after lunch` is of today. What was
/// done `in the morning` was, too; what will be may be tomorrow's.
fn lies_behind(ways: &str, scene: &Scene) -> bool {
    let parts = [("this morning", 11), ("this afternoon", 16), ("this evening", 20)];
    let part = parts.iter().find(|(part, _)| ways.starts_with(part));
    let hour = scene.clock.civil.hour();
    part.is_some_and(|(_, ends)| hour >= *ends)
}

/// A time of what is to come.
fn planned(time: &Item) -> String {
    format!("planned {}", time.when().trim_start_matches("on "))
}

/// Whether it is of what is to come.
pub(in crate::logline) fn is_ahead(item: &Item) -> bool {
    item.words.iter().any(|w| w.tense != Tense::Behind)
}
