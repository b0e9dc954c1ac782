//! What is plain in a clause that is not all plain: a thing with its figure, a verb with its thing,
//! an activity with its count. The words left over are a remark where they cannot change what that
//! means; where they can, the core is offered with them beside it.

use super::amounts::Said;
use super::bag::{Bag, TAILS, ends_done};
use super::clause;
use super::item::{Is, Item, apart, span};
use super::lexicon::{Hedge, Tense, lexicon};
use super::misread::{Misread, Swap};
use super::scene::Scene;
use super::word::Word;
use super::words::Piece;
use crate::domain::entry::Event;

/// The longest core that is looked for, in items, and the longest clause that it is looked for in.
const LONGEST_CORE: usize = 8;
const LONGEST_CLAUSE: usize = 30;
/// Small words that a core may begin or end with.
const FIRST: &str = "we both each about another";
const LAST: &str = "left gone to-full completely up out x times each away all";

/// A core, as a run of the items of its clause.
struct Core<'i, 'p> {
    items: &'i [Item<'p>],
    from: usize,
    to: usize,
    event: Event,
}

/// The misread of a piece with its core to be written instead, if it has one.
pub(super) fn mend(mut misread: Misread, items: &[Item], piece: &Piece, scene: &Scene) -> Misread {
    misread.mend.talk = is_talk(items, piece, scene);
    let Some(core) = find(items, scene) else { return misread };
    let strange = core.strange();
    let Some(strange) = strange.filter(|strange| !strange.is_empty()) else { return misread };
    let whole = misread.mend.swaps.iter().any(|swap| !swap.text.trim().is_empty());
    let sure = core.is_sure(&strange);
    if whole && !sure {
        return misread;
    }
    let whole = (piece.span.0, piece.span.1.max(span(items).1));
    let (kept, aside) = apart(items, &strange, whole, scene.line);
    let filler = strange.iter().flat_map(|item| item.words).all(|w| is_of("filler", &w.low));
    let (text, note) = match core.event {
        _ if filler => (kept, String::new()),
        // A remark with a reading would say that it was looked at twice.
        Event::Level { .. } => (kept, aside),
        _ => (format!("{kept} ({aside})"), String::new()),
    };
    misread.mend.swaps.insert(0, Swap { over: Some(piece.span), text, note, sure });
    misread
}

/// The core with the most to say, and of these the shortest.
fn find<'i, 'p>(items: &'i [Item<'p>], scene: &Scene) -> Option<Core<'i, 'p>> {
    if items.len() > LONGEST_CLAUSE || items.iter().any(|item| matches!(item.is, Is::Remark)) {
        return None;
    }
    let mut best: Option<(usize, Core)> = None;
    for from in 0..items.len() {
        for to in from + 1..=items.len().min(from + LONGEST_CORE) {
            let run = &items[from..to];
            let says = run.iter().filter(|item| is_said(item)).count();
            if !begins(&run[0]) || !ends(&run[run.len() - 1]) || says < 1 {
                continue;
            }
            if best.as_ref().is_some_and(|(most, _)| *most >= says) {
                continue;
            }
            let said = clause::read(run, scene).ok();
            let event = said.and_then(|said| match &said[..] {
                [one] if one.remark.is_none() => Some(one.event.clone()),
                _ => None,
            });
            let level = |event: &Event| matches!(event, Event::Level { .. });
            // `the fresh one` is no level.
            let one = run.iter().any(|item| item.words.iter().any(|w| w.low == "1"));
            // Nor is a number with something unknown behind it, or of something else's battery.
            let open = items.get(to).is_some_and(|item| matches!(item.is, Is::Other));
            let other = from > 0 && is_another(&items[from - 1], &run[0]);
            let told = |event: &Event| match level(event) {
                true => !other && (Bag::of(run).is_done(event) || !one && !open),
                false => Bag::of(run).is_done(event),
            };
            if let Some(event) = event.filter(|event| is_core(event) && told(event)) {
                best = Some((says, Core { items, from, to, event }));
            }
        }
    }
    best.map(|(_, core)| core)
}

/// Whether an unknown word right before a name makes another thing of it: `phone battery`.
fn is_another(before: &Item, name: &Item) -> bool {
    let says =
        |w: &Word| is_of("filler", &w.low) || is_of("people", &w.low) || is_of("join", &w.low);
    let unknown =
        matches!(before.is, Is::Other) && !before.words.iter().next_back().is_some_and(says);
    unknown && name.words[0].lead.is_none() && name.stock().is_some()
}

/// Whether it is a part of what happened.
fn is_said(item: &Item) -> bool {
    !matches!(item.is, Is::Other | Is::Mark(_) | Is::Hedge(_) | Is::Time(_) | Is::Remark)
}

fn begins(item: &Item) -> bool {
    is_said(item) || item.is_of(FIRST)
}

fn ends(item: &Item) -> bool {
    is_said(item) || item.is_of(LAST)
}

/// What may stand among words of all kinds: no camp and nobody aboard, which are names and numbers
/// of anything.
fn is_core(event: &Event) -> bool {
    use Event::{Charge, Drive, Empty, Fill, Level, Use};
    matches!(
        event,
        Use { .. } | Level { .. } | Fill { .. } | Empty { .. } | Drive(_) | Charge { .. }
    )
}

fn is_of(list: &str, word: &str) -> bool {
    lexicon().begins(list, &[word]) == 1
}

fn is_join(item: &Item) -> bool {
    item.words.iter().any(|w| is_of("join", &w.low))
}

fn has_digits(item: &Item) -> bool {
    item.words.iter().any(|w| w.low.contains(|c: char| c.is_ascii_digit()))
}

impl<'i, 'p> Core<'i, 'p> {
    /// The items that are left over; `None` where they say something of their own.
    fn strange(&self) -> Option<Vec<&'i Item<'p>>> {
        let items = self.items;
        let last = items.len() - 1;
        let beside = |at: usize| {
            let (a, b) = if at < self.from { (at, self.from) } else { (self.to, at + 1) };
            items[a..b].iter().all(Item::is_time)
        };
        let place = |at: usize| items[self.to..at].iter().all(|i| !is_join(i) && !is_clause(i));
        let mut strange = Vec::new();
        for (at, item) in items.iter().enumerate() {
            if (self.from..self.to).contains(&at) {
                continue;
            }
            match item.is {
                // `this evening I took ...`; `at the farm this morning` says when it was done.
                Is::Time(_) if at == 0 || beside(at) => continue,
                Is::Time(_) if at == last && at > self.to && place(at) => continue,
                Is::Hedge(how) if !self.is_apart(at) => {
                    let level = matches!(self.event, Event::Level { .. } | Event::Use { .. });
                    if how != Hedge::Doubt || !level {
                        return None;
                    }
                }
                // `since monday` is no time of it.
                Is::Mark(_)
                    if items.get(at + 1).is_some_and(Item::is_time)
                        && item.is_of("since before after") =>
                {
                    return None;
                }
                Is::Other if at < self.from && !self.may_begin(item) => return None,
                Is::Other if self.is_elsewhere(item, at) => return None,
                Is::Hedge(_) | Is::Other | Is::Mark(_) => {}
                Is::Amount(_) if item.words.len() == 1 && item.words[0].is_any(&["a", "an"]) => {}
                Is::Amount(Said::Bare(_)) if at > 0 && items[at - 1].is_mark(&["for"]) => {}
                Is::Place if at > self.to => {}
                _ => return None,
            }
            strange.push(item);
        }
        // A small word at the end is a thing not said to its end.
        let small = |item: &&Item| matches!(item.is, Is::Mark(_)) && !item.is_mark(&["so"]);
        (!strange.iter().all(small)).then_some(strange)
    }

    /// Whether strange words may stand in front: of what was done, only who did it; words that say
    /// what is done with a thing make something else of it.
    fn may_begin(&self, item: &Item) -> bool {
        let level = matches!(self.event, Event::Level { .. });
        let name = |w: &Word| w.text.starts_with(char::is_uppercase);
        let who = |w: &Word| {
            ["filler", "people", "subject"].iter().any(|list| is_of(list, &w.low)) || name(w)
        };
        level || is_join(item) || item.words.iter().all(who)
    }

    /// Whether a use was made where nothing is used of what is aboard.
    fn is_elsewhere(&self, item: &Item, at: usize) -> bool {
        let used = matches!(self.event, Event::Use { .. });
        let told = |w: &Word| is_of("elsewhere", stem(&w.low));
        used && !self.is_apart(at) && item.words.iter().any(told)
    }

    /// Whether a word stands in a clause of its own.
    fn is_apart(&self, at: usize) -> bool {
        let between = if at < self.from { at + 1..self.from } else { self.to..at };
        self.items[between].iter().any(is_join)
    }

    /// Whether the words left over cannot change what is said.
    fn is_sure(&self, strange: &[&Item]) -> bool {
        let (front, back): (Vec<&Item>, Vec<&Item>) =
            strange.iter().partition(|item| item.start() < self.items[self.from].start());
        let run = &self.items[self.from..self.to];
        let behind = run.iter().flat_map(|item| item.words).all(|w| w.tense == Tense::Behind);
        let plain = |item: &&&Item| matches!(item.is, Is::Other | Is::Mark(_) | Is::Amount(_));
        behind
            && Bag::of(run).is_done(&self.event)
            && strange.iter().filter(|item| !matches!(item.is, Is::Place)).all(|item| plain(&item))
            && !strange.iter().any(|item| has_digits(item))
            && self.is_who(&front)
            && self.is_why(&back)
    }

    /// Whether the words in front say nothing, or who it was.
    fn is_who(&self, front: &[&Item]) -> bool {
        let words: Vec<&Word> = front.iter().flat_map(|item| item.words).collect();
        let done = !matches!(self.event, Event::Level { .. });
        let name = |w: &Word| w.text.starts_with(char::is_uppercase) && w.start > 0 || w.start == 0;
        let named = |w: &&Word| {
            done && words.len() == 1 && w.text.starts_with(char::is_uppercase) && name(w)
        };
        words.iter().all(|w| is_of("filler", &w.low) || is_of("people", &w.low) || named(w))
    }

    /// Whether the words behind say why, with whom or where, of something that was done.
    fn is_why(&self, back: &[&Item]) -> bool {
        let Some(first) = back.first() else { return true };
        let words: Vec<&Word> = back.iter().flat_map(|item| item.words).collect();
        if words.iter().all(|w| is_of("filler", &w.low)) {
            return true;
        }
        let run = Bag::of(&self.items[self.from..self.to]);
        let past = run.names.iter().any(|name| {
            let ed = name.words.iter().any(|w| w.low.ends_with("ed"));
            ed || name.words[0].lead.is_some_and(ends_done)
        });
        let begins = match self.event {
            // A level at another time is another level.
            Event::Level { .. } => first.is_of("because so by") || first.words[0].is("though"),
            Event::Use { .. } => past && first.is_of("before after because while when so since"),
            _ => first.is_of(TAILS) && !first.is_of("of from into"),
        };
        let used = matches!(self.event, Event::Use { .. });
        // `because it was heavy` is said of what was done.
        let why = |w: &&Word| first.is_of("because") && w.is_any(&["it", "that", "this"]);
        let open = |w: &&Word| {
            is_of("unsure", &w.low) && !why(w) || used && is_of("elsewhere", stem(&w.low))
        };
        first.start() >= self.items[self.to - 1].end() && begins && !words.iter().any(open)
    }
}

fn stem(word: &str) -> &str {
    word.strip_suffix("'s").unwrap_or(word)
}

/// Whether a word tells of something that goes on.
fn is_clause(item: &Item) -> bool {
    item.words.iter().any(|w| is_of("finite", &w.low) || is_of("subject", &w.low))
}

/// Whether a piece says nothing but that the one before it is not so: `but not all`.
pub(super) fn takes_back(items: &[Item]) -> bool {
    let small = |w: &Word| is_of("filler", &w.low) || is_of("unsure", &w.low);
    let empty = |item: &Item| match item.is {
        Is::Hedge(_) | Is::Mark(_) => true,
        Is::Other => item.words.iter().all(small),
        _ => false,
    };
    let not = |item: &Item| matches!(item.is, Is::Hedge(Hedge::Not));
    items.iter().any(not) && items.iter().all(empty)
}

/// Whether a piece says nothing of the van, so that it can be noted without a question: a clause
/// of its own, with nothing in it that could be said of what stands beside it.
fn is_talk(items: &[Item], piece: &Piece, scene: &Scene) -> bool {
    let (start, end) = piece.span;
    let text: String = scene.line.chars().skip(start).take(end - start).collect();
    let text = text.to_lowercase().replace('’', "'");
    let edge = |c: char| !c.is_alphanumeric();
    let words: Vec<&str> =
        text.split_whitespace().map(|w| w.trim_matches(edge)).filter(|w| !w.is_empty()).collect();
    let money =
        words.len() < 4 && words.iter().any(|w| is_of("money", w) || w.contains(['€', '£', '$']));
    if money || is_filler(&words) {
        return true;
    }
    let finite =
        |w: &&str| is_of("finite", w) || w.contains("'s") || w.len() > 4 && w.ends_with("ed");
    let subject = words.len() > 2 && is_of("subject", words[0]);
    // What is still to be done takes nothing back of what was.
    let wanted = words.len() > 3 && words.iter().any(|w| is_of("wanted", w));
    let open = |w: &&str| {
        let when = wanted && super::time::is_time_word(w);
        is_of("unsure", w) && !when
            || is_of("elsewhere", stem(w))
            || w.contains(|c: char| c.is_ascii_digit())
    };
    let small = |item: &Item| match item.is {
        Is::Other | Is::Mark(_) => true,
        Is::Hedge(_) => wanted && item.words.iter().all(|w| is_of("wanted", w.text)),
        Is::Time(_) => wanted,
        _ => false,
    };
    words.len() > 1
        && (subject || wanted || words.iter().any(finite))
        && items.iter().all(small)
        && !words.iter().any(open)
}

/// Whether words say nothing.
fn is_filler(words: &[&str]) -> bool {
    let mut at = 0;
    while at < words.len() {
        match lexicon().begins("filler", &words[at..]) {
            0 => return false,
            taken => at += taken,
        }
    }
    true
}
