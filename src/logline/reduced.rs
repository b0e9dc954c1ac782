//! A clause reduced to what it tells of the van: words of no table, and small ones, are left out.

use super::amounts::Said;
use super::bag::{ends_done, is_done_word};
use super::cores::is_another;
use super::item::{Is, Item, MARKS, items};
use super::lexicon::{Hedge, Tense, lexicon};
use super::listed::{is_of, is_small, lows, stem};
use super::misread::Misread;
use super::scene::Scene;
use super::units::is_counted;
use super::vocabulary::Vocabulary;
use super::word::{Kind, Word, text};
use super::{speech, words};
use crate::domain::unit::Unit;

/// Small words that say how an amount is meant, or of how many.
const KEPT: &str =
    "to left both each times x another out to-full completely at of about gone all up";
/// The same that stand at no end of what is told.
const INNER: &str = "to at of about up x times";
/// Words that blur a share, or make another thing of what was done.
const BLURS: [&str; 7] = ["over", "under", "fewer", "why", "what", "how", "than"];
/// Words of the list `undone` that take nothing back here.
const WHOSE: [&str; 12] =
    ["their", "his", "her", "as", "like", "than", "host", "owner", "guy", "man", "woman", "lady"];
/// Verbs of who is aboard.
const OF_PEOPLE: [&str; 4] = ["away", "guests", "aboard", "back"];
/// The shortest word that may be a slip of a name.
const SHORTEST_SLIP: usize = 5;
/// How many slips of one clause are left out one after the other.
const MOST_SLIPS: usize = 3;

/// A clause without the words that say nothing of the van.
pub(super) struct Reduced {
    /// What it may tell, the fullest first.
    pub ways: Vec<String>,
    pub verb: Option<String>,
    pub name: Option<(String, bool)>,
    /// Whether it says how much.
    pub amount: bool,
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
}

/// A clause without the words that say nothing of the van; `None` where it takes itself back.
pub(super) fn reduced(clause: &str, scene: &Scene) -> Option<Reduced> {
    // `forgot: wednesday we emptied grey` happened, however late it is told.
    let late = ["forgot: ", "forgot yesterday", "Forgot: ", "Forgot yesterday"];
    let late = late.iter().any(|late| clause.starts_with(late));
    let mut clause = if late { clause[7..].to_string() } else { clause.to_string() };
    let mut slips = Vec::new();
    for _ in 0..=MOST_SLIPS {
        clause = spelled(clause, scene.known);
        match once(&clause, scene) {
            Ok(mut reduced) => {
                reduced.iter_mut().for_each(|r| r.left.append(&mut slips));
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
    let words = speech::plain(without_more(words), known);
    let mut items = items(&words, known, clock).map_err(misread)?;
    items.truncate(unknown_camp(&items, known).unwrap_or(items.len()));
    let of_nothing = items.is_empty() || is_of_a_place(&items);
    Ok((!of_nothing && !denied(&items) && !is_often(&items, scene))
        .then(|| reduce(&items, clause, scene)))
}

/// The clause with the names of the rig spelled right.
fn spelled(clause: String, known: &Vocabulary) -> String {
    let Ok(pieces) = words::pieces(&clause, known) else { return clause };
    let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
    // From the end, so that the places of those before stay as they are.
    words.iter().rev().fold(clause.clone(), |clause, word| match slip_of(word, known) {
        Some(name) => replaced(&clause, (word.start, word.end), &name),
        None => clause,
    })
}

/// The name that a word is a slip of, which stands in no table itself.
fn slip_of(word: &Word, known: &Vocabulary) -> Option<String> {
    let plain = word.kind == Kind::Plain && word.low.chars().all(char::is_alphabetic);
    let long = word.low.chars().count() >= SHORTEST_SLIP;
    let told =
        || lexicon().lists(&word.low) || known.find([word.low.as_str()].into_iter()).is_some();
    if !plain || !long || told() {
        return None;
    }
    let names = known.offered.iter().map(|o| o.word.as_str()).filter(|name| !name.contains(' '));
    let near = Vocabulary::nearest(&word.low, names).into_iter().next();
    near.filter(|name| name.chars().next() == word.low.chars().next())
}

/// The clause with `put` in place of these characters of it.
fn replaced(clause: &str, (start, end): (usize, usize), put: &str) -> String {
    let before: String = clause.chars().take(start).collect();
    let after: String = clause.chars().skip(end).collect();
    format!("{before}{put}{after}")
}

/// `2 more days` are two days.
fn without_more(words: Vec<Word>) -> Vec<Word> {
    let counts = |at: usize| words[at].is_numeric() || lexicon().count(&words[at].low).is_some();
    let more = |at: usize| at > 0 && at + 1 < words.len() && words[at].is("more") && counts(at - 1);
    let kept = (0..words.len()).filter(|at| !more(*at));
    kept.map(|at| words[at].clone()).collect()
}

/// `Sorrel Head was lovely`: what a place is like.
fn is_of_a_place(items: &[Item]) -> bool {
    let finite = |w: &Word| is_of("finite", &w.low);
    let like = |item: &Item| matches!(item.is, Is::Other) && item.words.iter().any(finite);
    matches!(items, [Item { is: Is::Place, .. }, rest @ ..] if rest.first().is_some_and(like))
}

/// `kettle on gas x3`: how often, of what is measured.
fn is_often(items: &[Item], scene: &Scene) -> bool {
    let stock = items.iter().find_map(Item::stock).and_then(|name| scene.parts.stock(name));
    let often = items.iter().any(|item| item.is_mark(&["x", "times"]));
    often && stock.is_some_and(|(_, stock)| !is_counted(&stock.unit))
}

/// The items of a clause that tell of the van.
fn reduce(items: &[Item], clause: &str, scene: &Scene) -> Reduced {
    let kept: Vec<usize> = (0..items.len()).filter(|at| is_kept(items, *at)).collect();
    let mut all: Vec<&Item> = kept.iter().map(|at| &items[*at]).collect();
    while all.last().is_some_and(|item| item.is_of(INNER)) {
        all.pop();
    }
    let from = all.iter().position(|item| !item.is_of(INNER)).unwrap_or(all.len());
    let all = &all[from..];
    let first = |is: &dyn Fn(&Item) -> bool| all.iter().find(|item| is(item));
    let verb = first(&|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let name = first(&|item| matches!(item.is, Is::Name(_)));
    Reduced {
        ways: ways(items, all, (clause, scene)),
        verb: verb.map(|item| text(item.words)),
        name: name.map(|item| (text(item.words), item.stock().is_none())),
        amount: first(&|item| matches!(item.is, Is::Amount(_))).is_some(),
        left: left(items, &kept),
        open: is_open(items, all),
        bare: is_bare(items, all),
        dates: items.iter().any(Item::is_time) && items.iter().all(is_of_when),
        plain: items.iter().all(is_plain),
    }
}

/// What the items that are kept of a clause may tell, the fullest first.
fn ways(items: &[Item], all: &[&Item], (clause, scene): (&str, &Scene)) -> Vec<String> {
    let write = |items: &[&Item]| write(items, clause);
    let without = |mark: &dyn Fn(&Item) -> bool| {
        write(&all.iter().copied().filter(|item| !mark(item)).collect::<Vec<_>>())
    };
    let mark = |item: &Item| matches!(item.is, Is::Mark(_));
    let timed = |item: &Item| mark(item) || matches!(item.is, Is::Time(_) | Is::Until(_));
    let mut ways = vec![write(all), without(&mark), without(&timed)];
    // Where somebody goes on a day to come, however far that is.
    let place = all.iter().find(|item| matches!(item.is, Is::Place));
    let goes = all.iter().all(|item| !matches!(item.is, Is::Verb(verb) if verb != "drove-to"));
    if let Some(place) = place.filter(|_| goes && all.iter().any(|item| item.is_time())) {
        let times = all.iter().copied().filter(|item| item.is_time()).collect::<Vec<_>>();
        let place = place.words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
        let day = matches!(&times[0].is, Is::Time(when) if when.day.is_some());
        let ahead = day && all.iter().all(|item| !matches!(item.is, Is::Verb(_)) || is_ahead(item));
        let when = if ahead { planned(times[0]) } else { write(&times) };
        ways.push(format!("camp {place} {when}"));
    }
    let verbless = !all.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    if verbless && items.iter().any(|item| item.is_mark(&["in", "into", "to-full"])) {
        ways.insert(0, format!("filled {}", ways[0]));
    }
    let each = each_of(items, scene);
    let mut ways: Vec<String> =
        each.into_iter().chain(risen(all)).chain(ways).chain(twice(all)).collect();
    ways.retain(|way| !way.is_empty());
    ways.dedup();
    ways
}

/// Items in words of the grammar; what is to be asked as it was said.
fn write(items: &[&Item], clause: &str) -> String {
    // A weekday lies behind of what was done.
    let done = |item: &&Item| matches!(item.is, Is::Verb(verb) if !OF_PEOPLE.contains(&verb));
    let ahead = items.iter().any(|item| done(item) && is_ahead(item));
    let said = |item: &&Item| match item.is {
        Is::Ask(ways) if is_when(ways) => ways.split(" | ").next().unwrap_or(ways).to_string(),
        Is::Ask(_) => clause.chars().take(item.end()).skip(item.start()).collect(),
        Is::Time(_) if ahead => planned(item),
        _ => text(item.words),
    };
    let all = items.iter().map(said);
    all.collect::<Vec<_>>()
        .join(" ")
        .replace("to-full", "to full")
        .replace("out-of", "out of")
        .replace("drove-to", "drove to")
}

/// Whether what is to be asked is when it was.
fn is_when(ways: &str) -> bool {
    ways.starts_with("this ")
}

/// A time of what is to come.
fn planned(time: &Item) -> String {
    format!("planned {}", text(time.words).trim_start_matches("on "))
}

/// Whether it is of what is to come.
fn is_ahead(item: &Item) -> bool {
    item.words.iter().any(|w| w.tense != Tense::Behind)
}

/// The words between the items that are kept, where they may tell of something.
fn left(items: &[Item], kept: &[usize]) -> Vec<String> {
    let (mut left, mut run): (Vec<String>, Vec<&str>) = (Vec::new(), Vec::new());
    for (at, item) in items.iter().enumerate() {
        match kept.contains(&at) {
            false => run.extend(item.words.iter().map(|w| w.text)),
            true => left.extend(worth(&std::mem::take(&mut run))),
        }
    }
    left.extend(worth(&run));
    left
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
    let small = |w: &Word| is_small(&w.low) || is_of("people", &w.low) || is_of("finite", &w.low);
    match item.is {
        Is::Other => item.words.iter().all(small),
        Is::Hedge(Hedge::Doubt) => item.words[0].is_any(&["or", "few", "bit"]),
        Is::Verb(verb) => verb != "day",
        _ => true,
    }
}

/// `toilet all emptied`: each of the containers that it may be said of.
fn each_of(items: &[Item], scene: &Scene) -> Option<String> {
    let verb = items.iter().find(|item| item.is_verb(&["emptied"]))?;
    items.iter().find(|item| item.is_of("all both each"))?;
    let ways = items.iter().find_map(|item| match item.is {
        Is::Ask(ways) if ways.matches('{').count() > 1 => Some(ways),
        _ => None,
    })?;
    let named = |way: &str| scene.known.stock_named(way.trim_matches(['{', '}']));
    let names: Vec<&str> = ways.split(" | ").filter_map(named).collect();
    let each = names.iter().map(|name| format!("{} {name}", text(verb.words)));
    Some(each.collect::<Vec<_>>().join(", ")).filter(|each| !each.is_empty())
}

/// `battery was 55 this morning, 78 now`: two readings of the one stock that is named.
fn twice(all: &[&Item]) -> Option<String> {
    let names: Vec<_> = all.iter().filter(|item| matches!(item.is, Is::Name(_))).collect();
    let amounts: Vec<usize> =
        (0..all.len()).filter(|at| matches!(all[*at].is, Is::Amount(_))).collect();
    let [name] = names[..] else { return None };
    let [first, second] = amounts[..] else { return None };
    let timed = all.iter().any(|item| item.is_time());
    let verb = all.iter().any(|item| matches!(item.is, Is::Verb(_)));
    let name = text(name.stock().is_some().then_some(name)?.words);
    (timed && !verb).then(|| {
        format!("{name} {}, {name} {}", write(&all[first..second], ""), write(&all[second..], ""))
    })
}

/// `battery 22 to 58`: how far it went is what it holds.
fn risen(all: &[&Item]) -> Option<String> {
    match all {
        [name, from, to, level]
            if name.stock().is_some()
                && matches!(from.is, Is::Amount(_))
                && to.is_mark(&["to"])
                && matches!(level.is, Is::Amount(_)) =>
        {
            Some(format!("{} {}", text(name.words), text(level.words)))
        }
        _ => None,
    }
}

/// Whether a clause may name what it does not tell of: `fixed the shower`, `bought 2 L milk`, `walked
/// 3 km`, `dinner out`; or tells of what is to come, without a day.
fn is_open(items: &[Item], kept: &[&Item]) -> bool {
    let timed = kept.iter().any(|item| matches!(item.is, Is::Time(_) | Is::Until(_)));
    let will = kept.iter().find(|item| matches!(item.is, Is::Verb(_))).is_some_and(|v| is_ahead(v))
        || kept.iter().any(|item| item.words.iter().any(|w| w.tense == Tense::Will));
    let strangers = items.iter().any(is_strange);
    let named = kept.iter().find(|item| matches!(item.is, Is::Name(_)));
    let into = |item: &&Item| item.is_mark(&["in", "into"]);
    let verb = kept.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let verb = verb || items.iter().any(|item| into(&item));
    let small = |item: &&Item| item.is_article() || matches!(item.is, Is::Hedge(_));
    let object = |at: usize| {
        let before = items[..at].iter().rev().find(|item| !small(item));
        is_strange(&items[at])
            && before.is_some_and(|item| matches!(item.is, Is::Verb(_) | Is::Amount(_)))
    };
    let objects = (0..items.len()).any(object);
    let amount = kept.iter().any(|item| matches!(item.is, Is::Amount(_)));
    let of_use = named.is_some_and(|item| item.stock().is_none());
    let out = of_use && items.iter().any(|item| item.is_mark(&["out"]));
    let of_people = kept.iter().any(|item| item.is_verb(&OF_PEOPLE));
    let asked = kept.iter().any(|item| matches!(item.is, Is::Ask(_)));
    let unnamed = named.is_none() && !asked && (!verb || objects || !amount || of_people);
    will && !timed || out || unnamed && (strangers || of_people && items.len() < 2)
}

/// Whether a clause names a use, and neither that it was made nor how often, beside words of no
/// table.
fn is_bare(items: &[Item], kept: &[&Item]) -> bool {
    let named = kept.iter().find(|item| matches!(item.is, Is::Name(_)));
    let use_of = named.filter(|item| item.stock().is_none());
    let counted =
        kept.iter().any(|item| matches!(item.is, Is::Amount(_)) || item.is_of("both each another"));
    let bare = use_of.is_some_and(|item| !item.words.iter().any(is_done));
    bare && !counted && items.iter().any(is_strange)
}

/// Whether words of no table tell of something, and not of who.
fn is_strange(item: &Item) -> bool {
    let goes = |w: &Word| w.is_any(&["go", "going", "head"]);
    matches!(item.is, Is::Other)
        && !item.words.iter().all(|w| is_small(&w.low) || is_who(w) || goes(w))
}

/// Whether a word says that a use was made.
fn is_done(word: &Word) -> bool {
    word.low.ends_with("ed") || is_done_word(&word.low) || word.lead.is_some_and(ends_done)
}

/// Whether a word says who.
fn is_who(word: &Word) -> bool {
    is_of("people", &word.low) || word.text.starts_with(char::is_uppercase)
}

/// Words that were left out, where they may tell of something: a number, or several of them.
fn worth(run: &[&str]) -> Option<String> {
    let small = |w: &&&str| MARKS.split_whitespace().any(|mark| w.to_lowercase() == mark);
    let end = run.len() - run.iter().rev().take_while(small).count();
    let from = run[..end].iter().take_while(small).count();
    let text = run[from..end].join(" ");
    let words = lows(&text);
    let says = words.iter().filter(|w| !is_small(w) && w.len() > 2).count();
    let number = text.contains(|c: char| c.is_ascii_digit());
    (number || says > 1).then_some(text)
}

/// Where a clause goes on with a camp that nobody knows, in small letters: there it says where.
fn unknown_camp(items: &[Item], known: &Vocabulary) -> Option<usize> {
    let place = items.iter().position(|item| matches!(item.is, Is::Place))?;
    let name = items[place].words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
    let unknown = known.place(&name).is_none() && !name.starts_with(char::is_uppercase);
    place.checked_sub(1).filter(|_| unknown)
}

/// Whether a clause says that it was not so, or not aboard.
fn denied(items: &[Item]) -> bool {
    let served = items.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let strange = |at: usize| {
        let item = &items[at];
        let after = at > 0 && items[at - 1].is_mark(&["after", "before"]);
        let told = |list| item.words.iter().any(|w| is_of(list, stem(&w.low)) && !w.is_any(&WHOSE));
        let down = !served && item.words.iter().any(|w| w.is("down"));
        let gone =
            down || item.words.iter().any(|w| w.is("planned")) || told("undone") || told("money");
        gone || !served && !after && told("elsewhere")
    };
    items.iter().enumerate().any(|(at, item)| match item.is {
        Is::Hedge(Hedge::Not) => true,
        // `nearly emptied the grey`.
        Is::Hedge(Hedge::Doubt) => {
            let verb = items.get(at + 1).is_some_and(|next| matches!(next.is, Is::Verb(_)));
            verb && item.words[0].text.to_lowercase().starts_with(['n', 'a'])
        }
        Is::Hedge(Hedge::Odd) => {
            !item.words[0].is_any(&BLURS) && !BLURS.contains(&item.words[0].text)
        }
        Is::Other => strange(at),
        _ => false,
    })
}

/// Whether an item is of what a clause tells.
fn is_kept(items: &[Item], at: usize) -> bool {
    let item = &items[at];
    let before = at.checked_sub(1).map(|at| &items[at]);
    let strange = |item: Option<&Item>| item.is_some_and(|item| matches!(item.is, Is::Other));
    match &item.is {
        // `battery back to 100`.
        Is::Verb("back") if items.iter().any(|item| item.stock().is_some()) => false,
        Is::Verb("day") | Is::Remark | Is::Other | Is::Hedge(_) => false,
        Is::Name(_) => {
            // `a flannel wash` is no beginning of `wash-up`.
            let begun = item.words[0].low.starts_with(&item.words[0].text.to_lowercase())
                && item.words[0].low != item.words[0].text.to_lowercase();
            let another = before.is_some_and(|b| strange(Some(b)) && is_another(b, item));
            !(another || begun && items.iter().any(|item| strange(Some(item))))
        }
        // `filled up for tomorrow`.
        Is::Time(_) => !before.is_some_and(|b| b.is_mark(&["for"])),
        Is::Verb(_) | Is::Until(Some(_)) | Is::Place | Is::Step(_) => true,
        // `from nine till one`.
        Is::Until(None) => {
            let number =
                |item: Option<&Item>| item.is_some_and(|item| matches!(item.is, Is::Amount(_)));
            number(before) && items[at + 1..].iter().take(2).any(|item| number(Some(item)))
        }
        Is::Mark("about") if before.is_some_and(|b| matches!(b.is, Is::Until(_))) => false,
        // Who comes is read from a whole sentence.
        Is::Ask(ways) if ways.contains("guest") && ways.contains(|c: char| c.is_ascii_digit()) => {
            items.len() < 2
        }
        // `loo solids`; when it was may be asked of anything.
        Is::Ask(ways) if is_when(ways) => true,
        Is::Ask(ways) => {
            let named = items.iter().any(|item| matches!(item.is, Is::Name(_)));
            let verb = items.iter().any(|item| matches!(item.is, Is::Verb(_)));
            !named && (verb || ways.matches('{').count() < 2)
        }
        // `2 coffees`, `cooked for one`.
        Is::Amount(Said::Bare(_)) => {
            // `showers 2 coffee 4` counts behind, `2 showers 4 coffees` in front.
            let told = |item: &Item| matches!(item.is, Is::Name(_) | Is::Amount(_));
            let first = items.iter().find(|item| told(item));
            let behind = first.is_some_and(|item| matches!(item.is, Is::Name(_)));
            let of = if behind { before } else { items.get(at + 1) };
            // `lamp two`, `two friends`.
            let stock = items.iter().any(|item| item.stock().is_some());
            let lamp = stock && before.is_some_and(is_strange);
            let used = items.iter().any(|i| matches!(i.is, Is::Name(_)) && i.stock().is_none());
            let asked = items.get(at + 1).is_some_and(|item| matches!(item.is, Is::Ask(_)) && used);
            let us = items[at + 1..].iter().take(2).any(|item| item.is_mark(&["us"]));
            let for_whom = us || before.is_some_and(|b| b.is_mark(&["for", "us", "by"]));
            !(item.is_article() || for_whom || lamp || asked || strange(of))
        }
        // `laptop 4 h heater 2 h`.
        Is::Amount(Said::Quantity(said)) if said.unit.factor_to(&Unit::Hour, None).is_some() => {
            !(at > 1 && before.is_some_and(is_strange))
        }
        Is::Amount(_) => true,
        Is::Mark("from" | "since") => {
            let next = items.get(at + 1).map(|item| &item.is);
            matches!(next, Some(Is::Time(_) | Is::Amount(_)))
        }
        Is::Mark(_) => item.is_of(KEPT),
    }
}
