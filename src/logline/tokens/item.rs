//! What each run of words says by itself: a verb, a thing of the rig, an amount, a time, a place.

use crate::domain::rig::Parts;
use crate::domain::unit::Unit;
use crate::logline::lexis::amounts::{self, Said};
use crate::logline::lexis::lexicon::{Hedge, OPENERS, Sense, lexicon};
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::units::is_counted;
use crate::logline::lexis::vocabulary::{NameMeaning, Vocabulary};
use crate::logline::lexis::word::{Kind, Mark, Word, as_written, text};
use crate::logline::times::moment::{Clock, Day, When};
use crate::logline::times::time::{is_time_word, longest_phrase, phrase};

/// What a run of words is on the face of it.
#[derive(Debug, Clone)]
pub(in crate::logline) enum Is<'p> {
    /// A word of the grammar that a thing is about.
    Verb(&'static str),
    /// A stock or an activity.
    Name(&'p NameMeaning),
    Amount(Said),
    Time(When),
    /// `until` and what follows it; nothing where that is no time.
    Until(Option<When>),
    /// A place that is known, or whatever stands behind `camp`.
    Place,
    /// A small word that says how the others belong together.
    Mark(&'static str),
    /// Into how fine parts a gauge is read, as a share of the whole.
    Step(f64),
    Remark,
    Hedge(Hedge),
    Ask(&'static str),
    /// Words of no table.
    Other,
}

/// A run of words and what it is.
#[derive(Debug, Clone)]
pub(in crate::logline) struct Item<'p> {
    pub is: Is<'p>,
    pub words: &'p [Word<'p>],
}

/// Words that a thing is about besides those that completion offers.
const MORE_VERBS: &str = "out-of drove-to closed on-shore back +";

pub(in crate::logline) const MARKS: &str = "of to in into with by at for on out up x times from about completely to-full \
    left gone each both another us we and rather more all power since before after \
    because while when off as so it only low leave stay";

impl<'p> Item<'p> {
    pub fn start(&self) -> usize {
        self.words[0].start
    }

    pub fn end(&self) -> usize {
        self.words[self.words.len() - 1].end
    }

    /// Whether it is one of these small words, which blanks part.
    pub(in crate::logline) fn is_of(&self, marks: &str) -> bool {
        matches!(self.is, Is::Mark(mark) if marks.split(' ').any(|one| one == mark))
    }

    /// Whether it is one of these verbs, which blanks part.
    pub(in crate::logline) fn is_verb(&self, verbs: &str) -> bool {
        matches!(self.is, Is::Verb(verb) if verbs.split(' ').any(|one| one == verb))
    }

    pub(in crate::logline) fn is_name(&self) -> bool {
        matches!(self.is, Is::Name(_))
    }

    pub(in crate::logline) fn is_amount(&self) -> bool {
        matches!(self.is, Is::Amount(_))
    }

    pub(in crate::logline) fn is_place(&self) -> bool {
        matches!(self.is, Is::Place)
    }

    /// Whether it is words of no table.
    pub(in crate::logline) fn is_other(&self) -> bool {
        matches!(self.is, Is::Other)
    }

    pub(in crate::logline) fn is_a_mark(&self) -> bool {
        matches!(self.is, Is::Mark(_))
    }

    /// Whether it takes a meaning back.
    pub(in crate::logline) fn is_not(&self) -> bool {
        matches!(self.is, Is::Hedge(Hedge::Not))
    }

    /// Whether it is an amount, and no article.
    pub(in crate::logline) fn is_number(&self) -> bool {
        self.is_amount() && !self.is_article()
    }

    /// Whether it names something done, and no stock.
    pub(in crate::logline) fn is_use(&self) -> bool {
        self.is_name() && self.stock().is_none()
    }

    /// Whether it is a verb of who is aboard.
    pub(in crate::logline) fn is_of_people(&self) -> bool {
        self.is_verb("away guests aboard back")
    }

    /// Whether it is an article: `a`, or `a` with a word that ordinary talk has as well.
    pub(in crate::logline) fn is_article(&self) -> bool {
        let Is::Amount(said) = &self.is else { return false };
        let common = matches!(said, Said::Days(_))
            || matches!(said, Said::Quantity(q) if q.unit == Unit::Night);
        self.words[0].is_any("a an") && (self.words.len() == 1 || common)
    }

    /// A time in words of the grammar: `at 9` for `around nine`.
    pub(in crate::logline) fn when(&self) -> String {
        match &self.is {
            Is::Time(_) if is_about(&self.words[0]) => format!("at {}", text(&self.words[1..])),
            _ => text(self.words),
        }
    }

    pub(in crate::logline) fn is_time(&self) -> bool {
        matches!(self.is, Is::Time(_))
    }

    /// Whether it is a day that lies ahead by its own words.
    pub(in crate::logline) fn is_to_come(&self) -> bool {
        matches!(&self.is, Is::Time(When { day: Some(Day::FromToday(1..)), .. }))
    }

    /// The name of the activity that it names.
    pub fn activity(&self) -> Option<&'p str> {
        match self.is {
            Is::Name(meaning) => meaning.activity.as_deref(),
            _ => None,
        }
    }

    /// The name of the stock that it names, and of nothing else.
    pub fn stock(&self) -> Option<&'p str> {
        match self.is {
            Is::Name(meaning) if meaning.activity.is_none() => meaning.stock.as_deref(),
            _ => None,
        }
    }
}

/// A misreading of these items.
pub(in crate::logline) fn at_items(items: &[&Item], message: impl Into<String>) -> Misread {
    let words: Vec<Word> = items.iter().flat_map(|item| item.words).cloned().collect();
    Misread::over(&words, message)
}

/// The characters that these items span.
pub(in crate::logline) fn span(items: &[Item]) -> (usize, usize) {
    let start = items.iter().map(Item::start).min().unwrap_or_default();
    (start, items.iter().map(Item::end).max().unwrap_or_default())
}

/// The words of one piece as items.
pub(in crate::logline) fn items<'p>(
    words: &'p [Word<'p>],
    known: &'p Vocabulary,
    clock: &Clock,
) -> Result<Vec<Item<'p>>, Misread> {
    let (mut items, mut at): (Vec<Item>, usize) = (Vec::new(), 0);
    while at < words.len() {
        let rest = &words[at..];
        let (is, taken) = match rest[0].kind {
            Kind::Remark => (Is::Remark, 1),
            Kind::Hedge(how) => (Is::Hedge(how), 1),
            Kind::Ask(ways) => (Is::Ask(ways), 1),
            Kind::Plain if is_level(rest, &items) || is_at_so_much(rest, known) => {
                (Is::Mark("at"), 1)
            }
            Kind::Plain if let Some((when, taken)) = about(rest, &items, (known, clock)) => {
                (Is::Time(when), taken)
            }
            // `Button found a seal` is about him.
            Kind::Plain if is_somebody(rest, known) => (Is::Other, 1),
            Kind::Plain if rest[0].is("sun") && !is_sunday(&items, rest) => (Is::Other, 1),
            Kind::Plain if rest[0].is("sat") && sits(&rest[1..], known) => (Is::Other, 1),
            // `dishes at camp kitchen`.
            Kind::Plain if rest[0].is("camp") && items.last().is_some_and(|i| i.is_of("at in")) => {
                (Is::Other, 1)
            }
            // `drove 142 km in 2 h` is no time to come.
            Kind::Plain if rest[0].is("in") && is_far(&items) => (Is::Mark("in"), 1),
            // `fresh 2 lamps lit`.
            Kind::Plain if is_of("lamps", &rest[0].low) && items.last().is_some_and(is_count) => {
                (Is::Mark("lamps"), 1)
            }
            Kind::Plain => bare(rest, known, clock)?,
            Kind::Quoted | Kind::Text => (Is::Other, 1),
        };
        at += taken;
        // What no table has goes together.
        if let (Is::Other, Some(last)) = (&is, items.last_mut())
            && last.is_other()
        {
            let from = at - taken - last.words.len();
            last.words = &words[from..at];
            continue;
        }
        let verbatim = matches!(is, Is::Verb("note" | "outlook"));
        let placed = matches!(is, Is::Verb("camp" | "drove-to"));
        items.push(Item { is, words: &rest[..if verbatim { rest.len() } else { taken }] });
        if verbatim {
            break;
        }
        if placed {
            at += usize::from(rest.len() > 2 && rest[1].is("at"));
            let taken = place(&words[at..], known, clock);
            if taken > 0 {
                items.push(Item { is: Is::Place, words: &words[at..at + taken] });
            }
            at += taken;
        }
    }
    Ok(items)
}

/// `around ten this morning`, `about ten on friday night`: an hour, where no stock before it leaves its
/// level open.
fn about(
    rest: &[Word],
    items: &[Item],
    (known, clock): (&Vocabulary, &Clock),
) -> Option<(When, usize)> {
    let at = usize::from(rest[0].is("at"));
    let [about, hour, behind @ ..] = &rest[at..] else { return None };
    let verb = items.iter().any(|item| matches!(item.is, Is::Verb(_)));
    let level = !verb && items.last().is_some_and(|item| item.stock().is_some());
    let led = is_about(about) && hour.is_numeric() && !level;
    // `cooked around nine`.
    if behind.is_empty()
        && led
        && is_at_an_hour(&rest[at..], items, known.parts_on(clock.civil.date()))
    {
        let said = [Word { low: "at".into(), ..about.clone() }, hour.clone()];
        return longest_phrase(&said, clock).map(|(when, taken)| (when, at + taken));
    }
    // `last night about nine it was dark`.
    let day = items.last().is_some_and(|item| item.is_time() && !item.words.iter().any(is_clock));
    let next = behind.first().is_some_and(|w| known.unit_named(&w.low).is_some());
    let hour_of = hour.low.parse::<u32>().is_ok_and(|hour| hour < 13);
    if led && day && hour_of && !next && behind.first().is_none_or(|w| !known.names(&w.low)) {
        let said = [Word { low: "at".into(), ..about.clone() }, hour.clone()];
        return longest_phrase(&said, clock).map(|(when, taken)| (when, at + taken));
    }
    let day = behind.first().filter(|_| led)?;
    (is_time_word(&day.low) || day.is_any("on this last")).then_some(())?;
    let said = [&[Word { low: "at".into(), ..about.clone() }], &rest[at + 1..]].concat();
    let (when, taken) = longest_phrase(&said, clock).filter(|(_, taken)| *taken > 2)?;
    Some((when, at + taken))
}

/// Whether it says an hour.
fn is_clock(word: &Word) -> bool {
    word.is_numeric() || word.is_any("noon midnight")
}

fn is_about(word: &Word) -> bool {
    word.is_any("about round")
}

/// Whether `around nine` says when something was done that is not counted there: `cooked`, `emptied grey`.
fn is_at_an_hour(rest: &[Word], items: &[Item], parts: &Parts) -> bool {
    let times = |item: &Item| match &item.is {
        Is::Name(NameMeaning { activity: Some(name), .. }) => {
            parts.activity(name).is_some_and(|(_, activity)| is_counted(&activity.counted_in))
        }
        _ => false,
    };
    let done = items.iter().any(|item| times(item) || item.is_verb("filled emptied swapped camp"));
    let counted = items.iter().any(Item::is_number);
    // `showers about 8` may count them.
    let ends = |w: &Word| w.text.to_lowercase().ends_with("ed");
    let made = |item: &Item| times(item) && item.words.iter().any(ends);
    let when = rest[0].text.to_lowercase().ends_with("round") || items.iter().any(made);
    done && when && !counted && rest[1].low.parse::<u32>().is_ok_and(|hour| hour < 13)
}

/// Whether these words begin with one whom something is done to, and tell what that one did:
/// `button found a seal`, not `button got a rinse`.
fn is_somebody(words: &[Word], known: &Vocabulary) -> bool {
    if known.done_to(&words[0].low).is_none() {
        return false;
    }
    let lows = words.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str());
    let named = known.find(lows).map_or(0, |(_, taken)| taken);
    let small = |w: &&Word| is_of("filler people unsure", &w.low);
    let Some(verb) = words[1..].iter().find(|w| !small(w)).filter(|_| named < 2) else {
        return false;
    };
    let strange = !lexicon().knows(&verb.low) && known.unit_named(&verb.low).is_none();
    let strange = strange && verb.low.chars().all(char::is_alphabetic) && !is_time_word(&verb.low);
    verb.kind == Kind::Plain && (strange || is_of("finite", &verb.low)) && !known.names(&verb.low)
}

/// Whether `sun` at the front of these words is a day: `sun: 2 showers`, `sun morning`, `fri to sun`.
/// By itself it may shine: `sun!! battery 88%`.
fn is_sunday(before: &[Item], words: &[Word]) -> bool {
    let hour = |w: &Word| w.low.contains(':') || is_time_word(&w.low);
    let day = before.iter().rev().take(2).any(Item::is_time);
    day || words[0].mark == Mark::Colon || words.get(1).is_some_and(hour)
}

/// Whether these words say where somebody sat, or how long, so that it was no day: `sat 3 hours at it`.
fn sits(behind: &[Word], known: &Vocabulary) -> bool {
    let long = |w: &Word| matches!(known.unit_named(&w.low), Some(Unit::Hour | Unit::Minute));
    let there = |w: &Word| w.is_any("on in by with there here around");
    let number = usize::from(behind.first().is_some_and(|w| w.is("for")));
    behind.first().is_some_and(there)
        || behind.get(number).is_some_and(Word::is_numeric)
            && behind.get(number + 1).is_some_and(long)
}

/// Whether an item is a number of things, or so many of so many; or the lamps behind it: `2 lamps lit`.
fn is_count(item: &Item) -> bool {
    matches!(item.is, Is::Amount(Said::Bare(_) | Said::Share { .. })) || item.is_of("lamps")
}

/// Whether a drive and its distance have just been said.
fn is_far(items: &[Item]) -> bool {
    let far = |item: &Item| matches!(&item.is, Is::Amount(Said::Quantity(q)) if q.unit.converts_to(&Unit::Kilometre));
    items.last().is_some_and(far) && items.iter().any(|item| item.is_verb("drove"))
}

/// `battery at 20`: no hour, behind a stock of which nothing else is told.
fn is_level(rest: &[Word], items: &[Item]) -> bool {
    let named = items.last().is_some_and(|item| item.stock().is_some());
    let told = items.iter().any(|item| matches!(item.is, Is::Amount(_) | Is::Verb(_)));
    let [at, number, after @ ..] = rest else { return false };
    let whole = number.low.bytes().all(|b| b.is_ascii_digit());
    let hour = after.first().is_some_and(|w| w.is_any("am pm this a.m p.m"));
    let hour = hour && number.low.parse::<u32>().is_ok_and(|hour| hour < 24);
    named && !told && at.is("at") && whole && !hour
}

/// `dipped at 9 L`: no hour.
fn is_at_so_much(rest: &[Word], known: &Vocabulary) -> bool {
    let [at, number, unit, ..] = rest else { return false };
    let halves = unit.is_any("am pm a.m p.m");
    at.is("at") && number.is_numeric() && !halves && known.unit_named(&unit.low).is_some()
}

/// How many words behind `camp` say where: a known place, or all but a time at the end.
fn place(words: &[Word], known: &Vocabulary, clock: &Clock) -> usize {
    let known = |n: &usize| known.place(&as_written(&words[..*n])).is_some();
    if let Some(n) = (1..=words.len()).rev().find(known) {
        return n;
    }
    let ends = |at: usize| {
        let rest = &words[at..];
        // `camp Alder flats after breakfast`.
        let asks = lexicon().find(rest.iter().map(|w| w.low.as_str()));
        let when =
            matches!(asks, Some((Sense::Ask(ways), _)) if at > 0 && ways.starts_with("this "));
        let ends = rest[0].kind == Kind::Remark || rest[0].is("until") || when;
        ends || phrase(rest, clock).is_some()
    };
    let remark = words.iter().position(|w| w.kind == Kind::Remark).unwrap_or(words.len());
    let timed = (0..remark).find(|at| phrase(&words[*at..remark], clock).is_some());
    (0..words.len()).find(|at| ends(*at)).unwrap_or(remark).min(timed.unwrap_or(remark))
}

fn bare<'p>(
    rest: &'p [Word<'p>],
    known: &'p Vocabulary,
    clock: &Clock,
) -> Result<(Is<'p>, usize), Misread> {
    let low = || rest.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str());
    let first = &rest[0];
    let name = known.find(low());
    let named = name.map_or(0, |(_, taken)| taken);
    let time = longest_phrase(rest, clock);
    let timed = time.as_ref().map_or(0, |(_, taken)| *taken);
    if let Some((step, taken)) = amounts::stated_step(rest)? {
        return Ok((Is::Step(step), taken));
    }
    let mut verbs = OPENERS.split(' ').chain(MORE_VERBS.split(' '));
    if let Some(verb) = verbs.find(|verb| first.is(verb)).filter(|_| named <= 1) {
        return Ok((Is::Verb(verb), 1));
    }
    if first.is("until") {
        return Ok(match longest_phrase(&rest[1..], clock) {
            Some((when, taken)) => (Is::Until(Some(when.ahead())), 1 + taken),
            None => (Is::Until(None), 1),
        });
    }
    let place = known.place_of_words(rest);
    let place = (place > 1 || first.text.starts_with(char::is_uppercase)).then_some(place);
    if let Some(taken) = place.filter(|taken| *taken > named.max(timed)) {
        return Ok((Is::Place, taken));
    }
    let amount = match amounts::read(rest, known) {
        _ if named > 0 && !first.is_numeric() => None,
        // `2026-05-10` is no number, and no fault.
        Err(_) if timed > 0 => None,
        amount => amount?,
    };
    let counted = amount.as_ref().map_or(0, |(_, taken)| *taken);
    Ok(match (name, time, amount) {
        (Some((meaning, _)), ..) if named >= timed && named >= counted => {
            (Is::Name(meaning), named)
        }
        (_, Some((when, _)), _) if timed >= counted => (Is::Time(when), timed),
        (_, _, Some((said, _))) => (Is::Amount(said), counted),
        _ => match MARKS.split(' ').find(|mark| first.is(mark)) {
            Some(mark) => (Is::Mark(mark), 1),
            None => (Is::Other, 1),
        },
    })
}
