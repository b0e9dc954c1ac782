//! A clause reduced to what it tells of the van: words of no table, and small ones, are left out.

use super::amounts::Said;
use super::beside::{self, Core, is_done};
use super::item::{Is, Item, MARKS, items, span};
use super::kept::{denied, is_kept, is_strange, is_who, moves, unknown_camp, wish};
use super::lexicon::{Hedge, Tense};
use super::listed::{is_of, is_small, lows};
use super::misread::Misread;
use super::scene::Scene;
use super::spelled::{replaced, spelled, without_more};
use super::talk::{Tells, tells};
use super::travel::is_long_or_far;
use super::ways::{Way, is_ahead, ways};
use super::word::{Word, as_written, text};
use super::{kept, speech, words};
use crate::domain::Unit;

/// The same that stand at no end of what is told.
const INNER: &str = "to at of about up x times";
/// How many slips of one clause are left out one after the other.
const MOST_SLIPS: usize = 3;

/// A clause without the words that say nothing of the van.
pub(super) struct Reduced {
    /// What it may tell, the fullest first.
    pub ways: Vec<Way>,
    pub verb: Option<String>,
    pub name: Option<(String, bool)>,
    /// Whether it says how much.
    pub amount: bool,
    /// So much of what people eat.
    pub eaten: Option<String>,
    /// So many of what the rig's owner counts by a name of their own.
    pub put: Option<String>,
    /// Whether it may be said of what was named before: nothing in it is strange, or not sure.
    pub plain: bool,
    /// Whether it may only name what it does not tell of.
    pub open: bool,
    /// Whether it names a use with words beside it that may make another thing of it.
    pub bare: bool,
    /// Whether it says nothing but when.
    pub dates: bool,
    /// The words that were left out, where they may tell of something.
    pub left: Vec<String>,
    /// All of them that say anything, in one remark.
    pub remark: String,
    /// Of what sorts of things those words change nothing.
    pub harmless: Vec<beside::Kind>,
    /// What it says where it tells of nothing.
    pub tells: Tells,
    /// Whether it takes itself back; what stands before the word that does, and from there on.
    pub back: bool,
    pub turns: Option<(String, String)>,
    /// Whether it says that something is full to the brim.
    pub brim: bool,
    /// Whether a verb of it says that something went in or out.
    pub moves: bool,
    /// Whether it names a place.
    pub place: bool,
    /// The place that somebody may have come to; whether a word says that they did.
    pub spot: Option<String>,
    pub lands: bool,
    /// Whether it says that they set off; that something came to its end.
    pub sets_off: bool,
    pub ends: bool,
    /// The one number in it, where that is an hour of the day.
    pub hour: Option<String>,
    /// How long or how far it was, where that is all that is told, and nothing says that it was no
    /// drive; whether its own words say that it was one.
    pub way: Option<String>,
    pub driven: bool,
    /// The time in it, where it is the only one.
    pub time: Option<String>,
    /// Whether a time is said, or that it is to come.
    pub timed: bool,
    /// When what it tells of ends.
    pub until: Option<String>,
    /// Whether it begins with `to`, which says where an amount ended.
    pub to: bool,
    /// Whether an amount of it is not sure.
    pub blurred: bool,
    /// Whether it says what is to be done on a day to come, and not that it was.
    pub wish: bool,
    /// Whether it tells of who is aboard.
    pub of_people: bool,
    /// Whether a day in it, or its verb, is to come.
    pub ahead: bool,
}

/// A clause without the words that say nothing of the van; `None` where it cannot be read.
pub(super) fn reduced(clause: &str, scene: &Scene) -> Option<Reduced> {
    let mut clause = clause.to_string();
    let mut slips = Vec::new();
    for _ in 0..=MOST_SLIPS {
        let spelled = spelled(clause.clone(), scene.known);
        let slipped = !slips.is_empty() || spelled != clause;
        clause = spelled;
        match once(&clause, scene) {
            Ok(mut reduced) => {
                reduced.iter_mut().for_each(|r| r.left.append(&mut slips));
                reduced.iter_mut().filter(|_| slipped).for_each(|r| r.harmless.clear());
                return reduced;
            }
            Err((start, end)) if end > start => {
                let said = clause.chars().take(end).skip(start).collect();
                slips.push(said);
                clause = replaced(&clause, (start, end), " ");
            }
            Err(_) => return None,
        }
    }
    None
}

/// As [`reduced`], or the characters that cannot be read.
fn once(clause: &str, scene: &Scene) -> Result<Option<Reduced>, (usize, usize)> {
    let misread = |misread: Misread| (misread.start, misread.end);
    let Scene { known, clock, .. } = scene;
    let pieces = words::pieces(clause, known).map_err(misread)?;
    let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
    let words = speech::plain(without_more(words, known), known);
    let mut items = items(&words, known, clock).map_err(misread)?;
    items.truncate(unknown_camp(&items, known).unwrap_or(items.len()));
    Ok((!items.is_empty()).then(|| reduce(&items, clause, scene)))
}

/// The items of a clause that tell of the van.
fn reduce(items: &[Item], clause: &str, scene: &Scene) -> Reduced {
    let kept: Vec<usize> = (0..items.len()).filter(|at| is_kept(items, *at)).collect();
    let mut all: Vec<&Item> = kept.iter().map(|at| &items[*at]).collect();
    while all.last().is_some_and(|item| item.is_of(INNER)) {
        all.pop();
    }
    // `still at Oarlock Bay`.
    let place = |at: usize| all.get(at + 1).is_some_and(|next| next.is_place());
    let begins = |at: &usize| !all[*at].is_of(INNER) || place(*at);
    let from = (0..all.len()).find(begins).unwrap_or(all.len());
    let all = &all[from..];
    let led = kept[..from].last().copied();
    let kept = &kept[from..from + all.len()];
    let first = |is: &dyn Fn(&Item) -> bool| all.iter().find(|item| is(item));
    let verb = first(&|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let name = first(&|item| item.is_name());
    let stock = name.is_some_and(|name| name.stock().is_some());
    // `gave the bottle a lift` says nothing of how much.
    let counted = first(&|item| item.is_amount() && !(item.is_article() && stock)).is_some();
    let way = way_there(items, all, clause);
    let driven = way.is_some() && (is_far(all) || items.iter().any(is_under_way));
    let spot = spot(items).map(|place| as_written(place.words));
    let of = |kind: &beside::Kind| !Core { items, kept, kind: *kind }.may_change();
    Reduced {
        ways: ways(items, all, (clause, scene)),
        spot,
        lands: says(items, "arrives"),
        hour: hour(all),
        sets_off: says(items, "sets-off"),
        ends: says(items, "unplugs"),
        way,
        driven,
        harmless: beside::Kind::ALL.into_iter().filter(of).collect(),
        remark: remark(items, kept, clause),
        tells: tells(items, clause),
        back: denied(items),
        turns: turns(items, clause),
        brim: items.iter().any(|item| item.is_of("to-full")),
        moves: items.iter().any(moves),
        place: all.iter().any(|item| item.is_place()),
        timed: items.iter().any(|item| item.is_time() || is_ahead(item)),
        until: first(&|item| matches!(item.is, Is::Until(Some(_)))).map(|item| said(item, clause)),
        time: only_time(items),
        blurred: items.iter().any(|item| matches!(item.is, Is::Hedge(Hedge::Doubt))),
        wish: wish(items),
        of_people: items.iter().any(Item::is_of_people),
        ahead: items.iter().any(Item::is_to_come) || verb.is_some_and(|verb| is_ahead(verb)),
        to: led.is_some_and(|at| items[at].is_of("to")),
        verb: verb.map(|item| text(item.words)),
        name: name.map(|item| (text(item.words), item.stock().is_none())),
        amount: counted,
        put: first(&|item| matches!(&item.is, Is::Amount(Said::Quantity(q)) if matches!(q.unit, Unit::Own(_)))).map(|item| text(item.words)),
        eaten: first(&|item| matches!(&item.is, Is::Amount(Said::Quantity(q)) if q.unit == Unit::PersonDay)).map(|item| text(item.words)),
        left: left(items, kept, clause),
        open: is_open(items, all),
        bare: is_bare(items, all),
        dates: items.iter().any(Item::is_time) && items.iter().all(is_of_when),
        plain: items.iter().all(is_plain),
    }
}

/// Whether one of the words of some items is of a row.
fn says(items: &[Item], row: &str) -> bool {
    items.iter().flat_map(|item| item.words).any(|w| is_of(row, w.text) || is_of(row, &w.low))
}

/// What stands before the first word that takes something back, and from there on.
fn turns(items: &[Item], clause: &str) -> Option<(String, String)> {
    let other = |w: &&Word| is_of("undone", &w.low) && !is_of("whose", &w.low);
    let at = items.iter().skip(1).find_map(|item| match item.is {
        Is::Hedge(Hedge::Not) => Some(item.start()),
        Is::Other => item.words.iter().find(other).map(|w| w.start),
        _ => None,
    })?;
    let part = |from: usize, to: usize| clause.chars().take(to).skip(from).collect::<String>();
    Some((part(0, at).trim().to_string(), part(at, usize::MAX)))
}

/// The time among items, where it is the only one.
fn only_time(items: &[Item]) -> Option<String> {
    let mut times = items.iter().filter_map(|item| match item.is {
        Is::Time(_) => Some(text(item.words)),
        Is::Ask(ways) if kept::is_when(ways) => Some(ways.split(" | ").next()?.to_string()),
        _ => None,
    });
    times.next().filter(|_| times.next().is_none())
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

fn said(item: &Item, clause: &str) -> String {
    written(std::slice::from_ref(item), clause)
}

/// The words between the items that are kept, where they may tell of something.
fn left(items: &[Item], kept: &[usize], clause: &str) -> Vec<String> {
    runs(items, kept).into_iter().filter_map(|run| worth(&written(run, clause))).collect()
}

/// The words that were left out and say anything.
fn remark(items: &[Item], kept: &[usize], clause: &str) -> String {
    let mark = |w: &Word| MARKS.split_whitespace().any(|mark| w.is(mark));
    let says = |run: &&[Item]| {
        run.iter().flat_map(|item| item.words).any(|w| !is_small(&w.low) && !mark(w))
    };
    let said = runs(items, kept).into_iter().filter(says).map(|run| written(run, clause));
    said.collect::<Vec<_>>().join(", ")
}

/// The place that somebody may have come to: not one that they left, or saw.
fn spot<'i, 'p>(items: &'i [Item<'p>]) -> Option<&'i Item<'p>> {
    items.iter().rfind(|item| item.is_place())
}

/// The number that is the only amount, where it is an hour on a clock.
fn hour(all: &[&Item]) -> Option<String> {
    let mut amounts = all.iter().filter(|item| item.is_amount());
    let number = amounts.next().filter(|_| amounts.next().is_none())?;
    let hour = number.words[0].low.parse::<u32>().is_ok_and(|hour| (1..=12).contains(&hour));
    (hour && matches!(number.is, Is::Amount(Said::Bare(_)))).then(|| text(number.words))
}

/// Whether a word says that it was a drive.
fn is_under_way(item: &Item) -> bool {
    item.words.iter().any(|w| is_of("under-way", &w.low))
}

fn is_far(all: &[&Item]) -> bool {
    let far = |item: &&Item| matches!(&item.is, Is::Amount(Said::Quantity(q)) if q.unit.converts_to(&Unit::Kilometre));
    all.iter().any(far)
}

/// The one amount of a clause that tells how long or how far it was, and nothing else, with its time.
fn way_there(items: &[Item], all: &[&Item], clause: &str) -> Option<String> {
    let measure = |item: &Item| match &item.is {
        Is::Amount(said) => is_long_or_far(said),
        _ => false,
    };
    let plain =
        |item: &&Item| measure(item) || item.is_time() || item.is_a_mark() || item.is_place();
    let afoot = |item: &Item| item.words.iter().any(|w| is_of("afoot", &w.low));
    let mut amounts = all.iter().filter(|item| measure(item));
    let amount = amounts.next().filter(|_| amounts.next().is_none())?;
    let told = all.iter().all(plain) && !items.iter().any(|item| afoot(item) || item.is_to_come());
    let times: Vec<String> =
        items.iter().filter(|item| item.is_time()).map(|item| said(item, clause)).collect();
    let long = text(amount.words);
    told.then(|| format!("drove {long} {}", times.join(" ")).trim().to_string())
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
    let timed = kept.iter().any(|item| matches!(item.is, Is::Time(_) | Is::Until(_)));
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
    // `battery will be 100`, `fresh was 60% when we left`: no level of now.
    let level = named.is_some_and(|item| item.stock().is_some()) && amount && !verb;
    let then = level && (will || !timed && items.iter().any(|item| item.is_of("when while")));
    // `grey two widgets`, `1 jug of water`: so many of what nobody knows are no amount of a stock.
    let counts = |two: &[Item]| {
        let (one, word) = (two[0].words[0].low == "1", &two[1].words[0].low);
        let thing = is_strange(&two[1]) && (one || word.ends_with('s')) && !is_of("money", word);
        matches!(two[0].is, Is::Amount(Said::Bare(_))) && thing
    };
    let others = named.is_some_and(|item| item.stock().is_some()) && items.windows(2).any(counts);
    then || others || will && !timed || out || unnamed && strangers
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
    let strange = items[..at].iter().any(other) || beside && next.is_some_and(is_strange);
    strange && !(items[at].words.iter().any(is_done) || counted)
}

/// Words that were left out, where they may tell of something: a number, or several of them.
fn worth(run: &str) -> Option<String> {
    let run: Vec<&str> = run.split_whitespace().collect();
    let small = |w: &&&str| MARKS.split_whitespace().any(|mark| w.to_lowercase() == mark);
    let end = run.len() - run.iter().rev().take_while(small).count();
    let from = run[..end].iter().take_while(small).count();
    let text = run[from..end].join(" ");
    let words = lows(&text);
    let says = words.iter().filter(|w| !is_small(w) && w.len() > 2).count();
    (says > 1).then_some(text)
}
