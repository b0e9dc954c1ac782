//! A clause reduced to what it tells of the van: words of no table, and small ones, are left out.

use super::ways::{Way, is_ahead, ways};
use crate::domain::Unit;
use crate::logline::grammar::bag::TAILS;
use crate::logline::grammar::beside::{Core, Kind, is_done};
use crate::logline::grammar::gone;
use crate::logline::grammar::kept;
use crate::logline::grammar::kept::{denied, is_kept, is_strange, is_who, unknown_camp, wish};
use crate::logline::grammar::scene::Scene;
use crate::logline::grammar::talk::{Tells, tells};
use crate::logline::grammar::travel::is_long_or_far;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::{Hedge, Tense};
use crate::logline::lexis::listed::{has_digit, is_of, is_small, lows};
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::word::{Word, as_written, text};
use crate::logline::tokens::item::{Is, Item, MARKS, items, span};
use crate::logline::tokens::speech;
use crate::logline::tokens::spelled::{is_surely, replaced, spelled, without_more};
use crate::logline::tokens::words;

/// The same that stand at no end of what is told.
const INNER: &str = "to at of about up x times";
/// How many slips of one clause are left out one after the other.
const MOST_SLIPS: usize = 3;

/// What a clause says, by its items: which of them are told, and which are left over.
pub(in crate::logline) struct Reduced<'c> {
    items: &'c [Item<'c>],
    /// The places of those that are told; what stood right before them and leads there.
    kept: Vec<usize>,
    led: Option<usize>,
    /// As it is spelled, without what cannot be read in it; and that.
    clause: &'c str,
    slips: &'c [String],
    /// Whether it was spelled otherwise.
    slipped: bool,
    /// What it may tell, in words of the grammar, the fullest first.
    pub ways: Vec<Way>,
}

/// Gives what a clause says to `take`; `None` where it cannot be read.
pub(in crate::logline) fn reduced<T>(
    clause: &str,
    scene: &Scene,
    take: &mut dyn FnMut(Option<&Reduced>) -> T,
) -> T {
    let (mut said, mut slips) = (spelled(clause.to_string(), scene.known), Vec::new());
    loop {
        let slipped = !slips.is_empty() || !is_surely(clause, &said);
        let (start, end) = match once(&said, (&slips, slipped), scene, take) {
            Ok(taken) => return taken,
            Err(found) => found,
        };
        if end <= start || slips.len() >= MOST_SLIPS {
            return take(None);
        }
        slips.push(said.chars().take(end).skip(start).collect());
        said = spelled(replaced(&said, (start, end), " "), scene.known);
    }
}

/// As [`reduced`], or the characters that cannot be read.
fn once<T>(
    clause: &str,
    (slips, slipped): (&[String], bool),
    scene: &Scene,
    take: &mut dyn FnMut(Option<&Reduced>) -> T,
) -> Result<T, (usize, usize)> {
    let misread = |misread: Misread| (misread.start, misread.end);
    let Scene { known, clock, .. } = scene;
    let pieces = words::pieces(clause, known).map_err(misread)?;
    let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
    let words = speech::plain(without_more(words, known), known);
    let mut items = items(&words, known, clock).map_err(misread)?;
    items = gone::of_a_day(&items).unwrap_or(items);
    items.truncate(unknown_camp(&items, known).unwrap_or(items.len()));
    if items.is_empty() {
        return Ok(take(None));
    }
    let (kept, led) = told(&items);
    let mut reduced =
        Reduced { items: &items, kept, led, clause, slips, slipped, ways: Vec::new() };
    reduced.ways = ways(&items, &reduced.told(), (clause, scene));
    Ok(take(Some(&reduced)))
}

/// The places of the items that tell of the van, without small words at their ends; and of the small
/// word that leads there.
fn told(items: &[Item]) -> (Vec<usize>, Option<usize>) {
    let mut kept: Vec<usize> = (0..items.len()).filter(|at| is_kept(items, *at)).collect();
    while kept.last().is_some_and(|at| items[*at].is_of(INNER)) {
        kept.pop();
    }
    // `still at Oarlock Bay`.
    let place = |at: usize| kept.get(at + 1).is_some_and(|next| items[*next].is_place());
    let begins = |at: &usize| !items[kept[*at]].is_of(INNER) || place(*at);
    let from = (0..kept.len()).find(begins).unwrap_or(kept.len());
    let led = kept[..from].last().copied();
    (kept.split_off(from), led)
}

impl<'c> Reduced<'c> {
    pub(super) fn said(&self) -> &'c str {
        self.clause
    }

    pub(super) fn items(&self) -> &'c [Item<'c>] {
        self.items
    }

    /// The words left over beside these items, where they may tell of something.
    pub(super) fn left_beside(&self, kept: &[usize]) -> Vec<String> {
        let left = runs(self.items, kept).into_iter().map(|run| written(run, self.clause));
        left.filter_map(|run| worth(&run)).chain(self.slips.iter().cloned()).collect()
    }

    fn told(&self) -> Vec<&'c Item<'c>> {
        self.kept.iter().map(|at| &self.items[*at]).collect()
    }

    fn first(&self, is: impl Fn(&Item<'c>) -> bool) -> Option<&'c Item<'c>> {
        self.kept.iter().map(|at| &self.items[*at]).find(|item| is(item))
    }

    pub(in crate::logline) fn any(&self, is: impl Fn(&Item<'c>) -> bool) -> bool {
        self.items.iter().any(is)
    }

    fn verb_item(&self) -> Option<&'c Item<'c>> {
        self.first(|item| matches!(item.is, Is::Verb(_) | Is::Place))
    }

    pub(in crate::logline) fn verb(&self) -> Option<String> {
        self.verb_item().map(|item| text(item.words))
    }

    /// The thing that it names, and whether that is something done.
    pub(in crate::logline) fn name(&self) -> Option<(String, bool)> {
        self.first(Item::is_name).map(|item| (text(item.words), item.stock().is_none()))
    }

    /// Whether it says how much: `gave the bottle a lift` does not.
    pub(in crate::logline) fn amount(&self) -> bool {
        let stock = self.first(Item::is_name).is_some_and(|name| name.stock().is_some());
        self.first(|item| item.is_amount() && !(item.is_article() && stock)).is_some()
    }

    /// How much it says first.
    pub(super) fn figure(&self) -> Option<String> {
        let figure = self.items.iter().find(|item| item.is_number())?;
        Some(figure.words.iter().map(Word::said).collect::<Vec<_>>().join(" ").replace(" %", "%"))
    }

    /// Whether it says by a word how full something is.
    pub(in crate::logline) fn worded(&self) -> bool {
        self.first(|item| matches!(item.is, Is::Amount(Said::Share { parts: 1, .. }))).is_some()
    }

    /// So much of it, in a unit that fits.
    pub(in crate::logline) fn measured(&self, fits: impl Fn(&Unit) -> bool) -> Option<String> {
        let of = |item: &Item| matches!(&item.is, Is::Amount(Said::Quantity(q)) if fits(&q.unit));
        self.first(of).map(|item| text(item.words))
    }

    /// How long or how far it was, where that is all that is told, and nothing says that it was no
    /// drive.
    pub(in crate::logline) fn way(&self) -> Option<String> {
        let measure = |item: &Item| match &item.is {
            Is::Amount(said) => is_long_or_far(said),
            _ => false,
        };
        let plain =
            |item: &&Item| measure(item) || item.is_time() || item.is_a_mark() || item.is_place();
        let all = self.told();
        let mut amounts = all.iter().filter(|item| measure(item));
        let amount = amounts.next().filter(|_| amounts.next().is_none())?;
        let afoot = self.says("afoot") || self.any(|item| item.is_to_come());
        let times = self.items.iter().filter(|item| item.is_time());
        let times: String = times.map(|item| format!(" {}", as_written(item.words))).collect();
        let told = all.iter().all(plain) && !afoot;
        told.then(|| format!("drove {}{times}", text(amount.words)))
    }

    /// Whether its own words say that it was a drive.
    pub(in crate::logline) fn driven(&self) -> bool {
        let far = |item: &Item| matches!(&item.is, Is::Amount(Said::Quantity(q)) if q.unit.converts_to(&Unit::Kilometre));
        self.says("under-way") || self.first(far).is_some()
    }

    /// Whether an amount of it is not sure.
    pub(super) fn blurred(&self) -> bool {
        self.any(|item| matches!(item.is, Is::Hedge(Hedge::Doubt)))
    }

    /// Whether it begins with `to`, which says where an amount ended.
    pub(in crate::logline) fn to(&self) -> bool {
        self.led.is_some_and(|at| self.items[at].is_of("to"))
    }

    /// The time in it, where it is the only one.
    pub(in crate::logline) fn time(&self) -> Option<String> {
        let mut times = self.items.iter().filter_map(|item| match item.is {
            Is::Time(_) => Some(item.when()),
            Is::Ask(ways) if kept::is_when(ways) => Some(ways.split(" | ").next()?.to_string()),
            _ => None,
        });
        times.next().filter(|_| times.next().is_none())
    }

    /// Whether a time is said, or that it is to come.
    pub(in crate::logline) fn timed(&self) -> bool {
        self.any(|item| item.is_time() || is_ahead(item) || is_part_of_day(item))
    }

    /// Whether it says who, and when, and no more: `and Nell at eight`.
    pub(in crate::logline) fn who_and_when(&self) -> bool {
        let who = |item: &Item| item.is_other() && item.words.iter().any(is_who);
        let small = |item: &Item| item.is_other() && item.words.iter().all(|w| is_small(&w.low));
        let when = |item: &Item| item.is_time() || is_part_of_day(item) || item.is_of("at");
        self.time().is_some()
            && self.any(who)
            && self.items.iter().all(|item| who(item) || small(item) || when(item))
    }

    /// Whether its words of no table only say where it was, or with whom.
    pub(super) fn beside(&self) -> bool {
        let tail = self.items.iter().position(|item| item.is_of(TAILS));
        self.items.iter().enumerate().all(|(at, item)| {
            is_plain(item) || item.is_other() && tail.is_some_and(|tail| tail < at)
        })
    }

    /// When what it tells of ends.
    pub(in crate::logline) fn until(&self) -> Option<String> {
        let until = self.first(|item| matches!(item.is, Is::Until(Some(_))));
        until.map(|item| as_written(item.words))
    }

    /// Whether it says nothing but when.
    pub(in crate::logline) fn dates(&self) -> bool {
        self.any(Item::is_time) && self.items.iter().all(is_of_when)
    }

    /// Whether a day in it, or its verb, is to come.
    pub(in crate::logline) fn ahead(&self) -> bool {
        self.any(Item::is_to_come) || self.verb_item().is_some_and(is_ahead)
    }

    /// Whether it names a place where they are.
    pub(in crate::logline) fn place(&self) -> bool {
        self.first(Item::is_place).is_some()
    }

    /// Whether it tells of who is aboard.
    pub(in crate::logline) fn of_people(&self) -> bool {
        self.any(Item::is_of_people)
    }

    /// Whether one of its words is of a row.
    pub(in crate::logline) fn says(&self, row: &str) -> bool {
        self.any(|item| item.words.iter().any(|w| is_of(row, w.text) || is_of(row, &w.low)))
    }

    /// Whether it takes itself back.
    pub(in crate::logline) fn back(&self) -> bool {
        denied(self.items)
    }

    /// The same, past words that may only be talk.
    pub(in crate::logline) fn back_plainly(&self) -> bool {
        let loose = |item: &&Item| {
            matches!(item.is, Is::Hedge(Hedge::Odd))
                && item.words.iter().all(|w| is_of("loose", &w.text.to_lowercase()))
        };
        let others = self.items.iter().filter(|item| !loose(item)).cloned();
        self.back() && denied(&others.collect::<Vec<_>>())
    }

    /// Whether a thing, or a way, is told with how much, when or where, so that it may be offered as a
    /// last resort.
    pub(in crate::logline) fn told_of(&self) -> bool {
        let more = self.amount() || self.time().is_some() || self.place();
        let named = self.first(Item::is_name).is_some_and(|name| name.stock().is_some() || more);
        let verb = self.verb_item().is_some();
        let way = |two: &[Item]| {
            let done = two[1].words.iter().all(|w| is_of("finite", &w.low));
            let thing = is_strange(&two[1]) && !done;
            two[0].is_verb("drove drove-to camp shore on-shore generator") && !thing
        };
        let way = verb && self.items.windows(2).any(way);
        let other = self.any(is_ahead) || self.ahead() || self.wish() || self.bare();
        let other = other || is_other_level(self.items, &self.told());
        !other && (named && (more || verb) || way && more)
    }

    /// Whether it says what is to be done on a day to come, and not that it was.
    pub(in crate::logline) fn wish(&self) -> bool {
        wish(self.items)
    }

    /// Whether it may be said of what was named before: nothing in it is strange, or not sure.
    pub(in crate::logline) fn plain(&self) -> bool {
        self.items.iter().all(is_plain)
    }

    /// Whether it may only name what it does not tell of.
    pub(in crate::logline) fn open(&self) -> bool {
        is_open(self.items, &self.told())
    }

    /// Whether it names a use with words beside it that may make another thing of it.
    pub(in crate::logline) fn bare(&self) -> bool {
        is_bare(self.items, &self.told())
    }

    /// The words that are left over, where they may tell of something.
    pub(in crate::logline) fn left(&self) -> Vec<String> {
        self.left_beside(&self.kept)
    }

    /// All of them that say anything, in one remark.
    pub(in crate::logline) fn remark(&self) -> String {
        let mark = |w: &Word| MARKS.split_whitespace().any(|mark| w.is(mark));
        let says = |run: &&[Item]| {
            let word = |w: &Word| !is_small(&w.low) && !mark(w) && !is_of("reads", &w.low);
            run.iter().flat_map(|item| item.words).any(word)
        };
        let runs = runs(self.items, &self.kept).into_iter().filter(says);
        runs.map(|run| written(run, self.clause)).collect::<Vec<_>>().join(", ")
    }

    /// Whether they change nothing in what it tells of that sort.
    pub(super) fn is_harmless(&self, kind: Kind) -> bool {
        !self.slipped && !Core { items: self.items, kept: &self.kept, kind }.may_change()
    }

    /// What it says where it tells of nothing.
    pub(in crate::logline) fn tells(&self) -> Tells {
        tells(self.items, self.clause)
    }
}

/// Whether it names a part of a day by what was done then.
fn is_part_of_day(item: &Item) -> bool {
    matches!(item.is, Is::Ask(ways) if kept::is_when(ways))
}

/// The runs of items that are left out.
fn runs<'i, 'p>(items: &'i [Item<'p>], kept: &[usize]) -> Vec<&'i [Item<'p>]> {
    let mut edges: Vec<usize> = kept.to_vec();
    edges.push(items.len());
    let starts = [0].into_iter().chain(kept.iter().map(|at| at + 1));
    let runs = starts.zip(edges).filter(|(from, to)| from < to);
    runs.map(|(from, to)| &items[from..to]).collect()
}

/// The words of a run as they were written.
fn written(run: &[Item], clause: &str) -> String {
    let (start, end) = span(run);
    clause.chars().take(end).skip(start).collect()
}

/// Whether an item may stand in a clause that says nothing but when.
fn is_of_when(item: &Item) -> bool {
    match item.is {
        Is::Other => item.words.iter().all(|w| is_small(&w.low) || is_of("reads", &w.low)),
        Is::Name(_) | Is::Verb(_) | Is::Place | Is::Amount(_) | Is::Ask(_) => false,
        _ => true,
    }
}

/// Whether an item may stand in a clause that is said of what was named before.
fn is_plain(item: &Item) -> bool {
    let small = |w: &Word| is_small(&w.low) || is_of("people finite so", &w.low);
    match item.is {
        Is::Other => item.words.iter().all(small),
        // `dishes, 2 toilet` counts another thing.
        Is::Ask(ways) => !ways.contains('{'),
        _ => true,
    }
}

/// Whether a clause may name what it does not tell of: `fixed the shower`, `bought 2 L milk`, `walked
/// 3 km`, `dinner out`; or tells of what is to come, without a day.
fn is_open(items: &[Item], kept: &[&Item]) -> bool {
    // `going to have a shower now` is no more done than without it.
    let now = |item: &Item| item.words.iter().all(|w| w.is("now"));
    let timed = kept.iter().any(|item| matches!(item.is, Is::Time(_) | Is::Until(_)) && !now(item));
    // `1h40 drive` is one.
    let counted = kept.first().is_some_and(|item| item.is_amount());
    let verb_of = kept.iter().find(|item| matches!(item.is, Is::Verb(_)));
    let will = verb_of.is_some_and(|verb| is_ahead(verb) && !counted)
        || kept.iter().any(|item| item.words.iter().any(|w| w.tense == Tense::Will));
    let strangers = items.iter().any(is_strange);
    let named = kept.iter().find(|item| item.is_name());
    let into = |item: &&Item| item.is_of("in into");
    let verb = kept.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let verb = verb || items.iter().any(|item| into(&item));
    let small = |item: &&Item| item.is_article() || matches!(item.is, Is::Hedge(_));
    let object = |at: usize| {
        let before = items[..at].iter().rev().find(|item| !small(item));
        let done = items[at].words.iter().all(|w| is_of("finite", &w.low));
        is_strange(&items[at])
            && !done
            && before.is_some_and(|item| matches!(item.is, Is::Verb(_) | Is::Amount(_)))
    };
    let objects = (0..items.len()).any(object);
    let amount = kept.iter().any(|item| item.is_amount());
    let of_use = named.is_some_and(|item| item.stock().is_none());
    let out = of_use && items.iter().any(|item| item.is_of("out"));
    let of_people = kept.iter().any(|item| item.is_of_people());
    let asked = kept.iter().any(|item| matches!(item.is, Is::Ask(_)));
    // `moved to Sorrel Head it's grand`.
    let camps = kept.windows(2).any(|two| two[0].is_verb("camp") && two[1].is_place());
    let unnamed =
        named.is_none() && !(asked || camps) && (!verb || objects || !amount || of_people);
    is_other_level(items, kept) || will && !timed || out || unnamed && strangers
}

/// Whether a level is none of now, or an amount none of a stock: `battery will be 100`, `fresh was 60%
/// when we left`, `grey two widgets`.
fn is_other_level(items: &[Item], kept: &[&Item]) -> bool {
    let stock = kept.iter().find(|item| item.is_name()).is_some_and(|item| item.stock().is_some());
    let verb = kept.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let verb = verb || items.iter().any(|item| item.is_of("in into"));
    let timed = kept.iter().any(|item| matches!(item.is, Is::Time(_) | Is::Until(_)));
    let will = kept.iter().any(|item| item.words.iter().any(|w| w.tense == Tense::Will));
    let level = stock && kept.iter().any(|item| item.is_amount()) && !verb;
    let then = level && (will || !timed && items.iter().any(|item| item.is_of("when while")));
    // `grey two widgets`, `1 jug of water`: so many of what nobody knows are no amount of a stock.
    let counts = |two: &[Item]| {
        let (one, word) = (two[0].words[0].low == "1", &two[1].words[0].low);
        let thing = is_strange(&two[1]) && (one || word.ends_with('s')) && !is_of("money", word);
        matches!(two[0].is, Is::Amount(Said::Bare(_))) && thing
    };
    then || stock && items.windows(2).any(counts)
}

/// Whether a clause names a use, and neither that it was made nor how often, beside words of no table
/// that may make another thing of it: `shower curtain`, not `dishes after the pancakes`.
fn is_bare(items: &[Item], kept: &[&Item]) -> bool {
    let Some(at) = items.iter().position(|item| item.is_use()) else { return false };
    let counted = kept.iter().any(|item| item.is_amount() || item.is_of("both each another"));
    let doing = |w: &Word| is_small(&w.low) || is_who(w) || is_of("doing", &w.low);
    let other = |item: &Item| is_strange(item) && !item.words.iter().all(doing);
    let there = |item: &Item| item.is_of("at in from to of");
    let next = items[at + 1..].iter().find(|item| !(there(item) || item.is_article()));
    let beside = items.get(at + 1).is_some_and(|item| is_strange(item) || there(item));
    // `tackled the dishes`: something was done to them, and nothing made of it.
    let did = at.checked_sub(1).is_some_and(|last| {
        let led = items[at].words[0].lead.is_some()
            || items[last].is_a_mark()
            || items[last].is_article();
        led && !items[..at].iter().flat_map(|item| item.words).any(|w| is_of("repairs", &w.low))
    });
    let strange = !did && items[..at].iter().any(other) || beside && next.is_some_and(is_strange);
    strange && !(items[at].words.iter().any(is_done) || counted)
}

/// Words that were left out, where they may tell of something: a number, or several of them.
pub(super) fn worth(run: &str) -> Option<String> {
    let run: Vec<&str> = run.split_whitespace().collect();
    let small = |w: &&&str| MARKS.split_whitespace().any(|mark| w.to_lowercase() == mark);
    let end = run.len() - run.iter().rev().take_while(small).count();
    let from = run[..end].iter().take_while(small).count();
    let text = run[from..end].join(" ");
    let words = lows(&text);
    let says = words.iter().filter(|w| !is_small(w) && w.len() > 2).count();
    (says > 1 || has_digit(&text)).then_some(text)
}
