//! The things of a line, each with its times: one piece between commas may say several. It is cut
//! where each part makes sense by itself; where two ways of cutting do, it is asked back.

use super::beside::is_done;
use super::clause;
use super::gone;
use super::kept::{is_there, moves};
use super::people;
use super::scene::Scene;
use crate::domain::entry::Event;
use crate::domain::time::Moment;
use crate::logline::lexis::cut;
use crate::logline::lexis::misread::{EXAMPLE, Misread};
use crate::logline::lexis::word::{Word, as_written, text};
use crate::logline::times::moment::{Clock, Looks, Untimely, When, night};
use crate::logline::tokens::item::{Is, Item, at_items, span};
use crate::logline::tokens::lexer::{Joint, Piece};

/// The longest part of a piece that is tried, in items.
const LONGEST_PART: usize = 14;

/// When something ends that has an end.
#[derive(Debug, Clone)]
pub(in crate::logline) enum Until {
    /// `until sunday`; nothing where no time follows.
    At(Option<When>),
    /// `for 3 days`.
    Days(i64),
}

/// A thing without its times, and its times.
#[derive(Debug, Clone)]
pub(in crate::logline) struct Thing<'p> {
    /// All but times, its end and its remark.
    pub items: Vec<Item<'p>>,
    pub joint: Joint,
    /// The time in front of its piece, which holds for all of the piece.
    pub before: When,
    /// Its own times.
    pub own: When,
    /// When it ends, with the item that says so.
    pub until: Option<(Until, Item<'p>)>,
    pub remark: Option<&'p Word<'p>>,
    /// Its characters, without the time in front.
    pub span: (usize, usize),
}

impl<'p> Thing<'p> {
    /// Whether it is nothing but a time.
    pub(in crate::logline) fn is_time(&self) -> bool {
        self.items.is_empty()
    }

    /// What is said of when it was.
    pub fn when(&self) -> When {
        self.before.or(&self.own)
    }

    /// When it was: `parked for the night`, said in the evening, is done by now.
    pub(super) fn by_now(
        &self,
        at: Moment,
        (when, looks): (&When, Looks),
        clock: &Clock,
    ) -> Moment {
        let done = self.items.iter().any(|item| match item.is {
            Is::Name(_) => item.words.iter().any(is_done),
            _ => item.is_verb("camp drove"),
        });
        let begun = done && looks == Looks::Back && when.is_tonight();
        if begun { at.min(night(clock).0) } else { at }
    }

    /// The word of a service that it has.
    pub fn service(&self) -> Option<&Item<'p>> {
        self.items.iter().find(|i| i.is_verb("filled added emptied swapped out-of"))
    }

    /// The one stock that it names, where it says nothing else.
    pub(super) fn bare_stock(&self) -> Option<&Item<'p>> {
        let mut items = self.items.iter().filter(|item| !item.is_of("of"));
        items.next().filter(|item| item.stock().is_some() && items.next().is_none())
    }

    /// `plugged in til 6pm`: since when is not told.
    pub(super) fn since_when(&self) -> Option<Misread> {
        let charge = self.items.iter().find(|item| item.is_verb("shore on-shore generator"))?;
        let (_, until) = self.until.as_ref()?;
        let verb = if charge.is_verb("generator") { "generator" } else { "shore" };
        let message = format!("since when? Write `{verb} from 12:00 {}`", text(until.words));
        let measured = self.items.iter().any(Item::is_amount);
        (!measured).then(|| at_items(&[charge, until], message))
    }

    /// The words of it with another time, and without its end.
    pub fn told(&self, time: &str) -> String {
        let said = |item: &Item| match item.is {
            Is::Place => as_written(item.words),
            _ => text(item.words),
        };
        let words = self.items.iter().map(said).collect::<Vec<_>>();
        format!("{} {time}", words.join(" ")).trim().to_string()
    }
}

impl Untimely {
    /// As a misread of the phrase.
    pub(super) fn misread(self, when: &When) -> Misread {
        let misread = Misread::new(when.start, when.end, &when.words, self.message);
        self.instead.into_iter().fold(misread, Misread::write)
    }
}

/// The things that the items of one piece say; `scene` is that of its time in front.
pub(in crate::logline) fn things<'p>(
    items: &[Item<'p>],
    piece: &Piece,
    scene: &Scene,
) -> Result<Vec<Thing<'p>>, Misread> {
    let joint = piece.joint;
    let unclear = |item: &Item| matches!(item.is, Is::Hedge(_) | Is::Ask(_));
    if items.iter().any(unclear) && gone::said(items).is_none() {
        clause::read(items, scene)?;
    }
    let lead = items.iter().take_while(|item| item.is_time()).count();
    let before = merged(&items[..lead])?;
    let body = &items[lead..];
    if body.is_empty() {
        let own = When::default();
        let span = (before.start, before.end);
        return Ok(vec![Thing {
            items: Vec::new(),
            joint,
            before,
            own,
            until: None,
            remark: None,
            span,
        }]);
    }
    let edge = |item: &Item| matches!(item.is, Is::Time(_) | Is::Until(_) | Is::Remark);
    let last = body.iter().rposition(|item| !edge(item)).map_or(0, |at| at + 1);
    if last == 0 {
        let message = "a remark without a thing that it goes with";
        return Err(at_items(&[&body[0]], message));
    }
    // `emptied grey at Barley Arm`: where it was done is no thing of its own.
    let served = body.iter().any(moves);
    let there = |at: &usize| body[*at].is_place() && is_there(body, *at) && served;
    let told = (0..last).find(there).map_or(last, |place| place - 1);
    let cuts = cut(&body[..told], scene)?;
    let several = cuts.len() > 1;
    let mut things = Vec::new();
    for (index, (from, to)) in cuts.iter().enumerate() {
        let to = if index + 1 == cuts.len() { body.len() } else { *to };
        let joint = if index == 0 { joint } else { Joint::Comma };
        things.push(thing(&body[*from..to], joint, before.clone())?);
    }
    // Words that say nothing go with the thing beside them.
    if let [first, ..] = &mut things[..] {
        first.span.0 = if before.is_empty() { piece.span.0 } else { before.end.min(first.span.0) };
    }
    if let Some(last) = things.last_mut() {
        last.span.1 = last.span.1.max(piece.span.1);
    }
    if several && let Some(twice) = said_twice(&things, scene) {
        return Err(twice);
    }
    Ok(things)
}

/// One thing of these items.
fn thing<'p>(items: &[Item<'p>], joint: Joint, before: When) -> Result<Thing<'p>, Misread> {
    let of_people = people::is_about(items);
    let (mut kept, mut times, mut until, mut remark) = (Vec::new(), Vec::new(), None, None);
    for (at, item) in items.iter().enumerate() {
        let to = of_people && kept.last().is_some_and(|last: &Item| last.is_of("to"));
        match &item.is {
            Is::Time(when) if to && until.is_none() => {
                kept.pop();
                until = Some((Until::At(Some(when.clone().ahead())), item.clone()));
            }
            Is::Time(_) => times.push(item.clone()),
            Is::Until(when) => until = Some((Until::At(when.clone()), item.clone())),
            Is::Amount(said) if of_people && people::is_long(said) && until.is_none() => {
                let days = said.days().filter(|days| (1..=400).contains(days));
                until = days.map(|days| (Until::Days(days), item.clone()));
                kept.push(item.clone());
            }
            Is::Remark if at + 1 < items.len() => {
                let message = "a remark in parentheses ends its thing, after any time";
                return Err(at_items(&[item], message));
            }
            Is::Remark => remark = item.words.first(),
            _ => kept.push(item.clone()),
        }
    }
    let own = merged(&times)?;
    let (start, mut end) = span(items);
    // A remark ends with its parenthesis.
    end += usize::from(remark.is_some());
    Ok(Thing { items: kept, joint, before, own, until, remark, span: (start, end) })
}

/// Times that stand together, as one.
fn merged(items: &[Item]) -> Result<When, Misread> {
    let mut all = When::default();
    for item in items {
        let Is::Time(when) = &item.is else { continue };
        if all.clashes(when) {
            let message = "two times for one thing: leave one out";
            return Err(Misread::new(when.start, when.end, &when.words, message));
        }
        all = match all.is_empty() {
            true => when.clone(),
            false => all.with(when),
        };
    }
    Ok(all)
}

/// Where these items are cut into things.
fn cut(items: &[Item], scene: &Scene) -> Result<Vec<(usize, usize)>, Misread> {
    let heads =
        items.iter().filter(|i| matches!(i.is, Is::Verb(_) | Is::Name(_) | Is::Place)).count();
    if heads <= 1 {
        return Ok(vec![(0, items.len())]);
    }
    let cost = |from: usize, to: usize| {
        let part = to - from < items.len();
        let verb =
            part && to - from == 1 && items[from].is_verb("filled added emptied swapped charged");
        match clause::read(&items[from..to], scene) {
            Ok(_) => (0, 0),
            Err(why) if why.mend.swaps.is_empty() && why.nearest.is_empty() || verb => (1, 0),
            // What is left to be said is said of one thing, not of one among several.
            Err(why) if part && why.mend.swaps.iter().any(|s| s.text.contains(EXAMPLE)) => (1, 0),
            Err(_) => (0, 1),
        }
    };
    let ways = cut::best(items.len(), LONGEST_PART, |from, to| {
        let (bad, asked) = cost(from, to);
        Some([bad, asked, 1, 0])
    });
    let parts = |cuts: &[usize]| cut::parts(cuts, items.len());
    match &ways[..] {
        [(one, cuts), (other, others)] if one == other && one[0] == 0 => {
            let words = |cuts: &[usize]| {
                let words = |(from, to): (usize, usize)| {
                    let words = items[from..to].iter().map(|i| text(i.words));
                    words.collect::<Vec<_>>().join(" ")
                };
                parts(cuts).into_iter().map(words).collect::<Vec<_>>().join(", ")
            };
            let all: Vec<&Item> = items.iter().collect();
            let misread = at_items(&all, "which goes with which? A comma separates things");
            let over = span(items);
            Err(misread.write_over(over, words(cuts)).write_over(over, words(others)))
        }
        // Where a part makes no sense, it may be said of the others.
        [([0, ..], cuts), ..] => Ok(parts(cuts)),
        _ => Ok(vec![(0, items.len())]),
    }
}

/// An activity that is said twice with nothing between may have been done twice.
fn said_twice(things: &[Thing], scene: &Scene) -> Option<Misread> {
    let said = |thing: &Thing| match clause::read(&thing.items, scene).ok()?.pop()?.event {
        Event::Use { activity, count } => Some((activity, count)),
        _ => None,
    };
    let twice = |pair: &[Thing]| {
        let (one, other) = (said(&pair[0]), said(&pair[1]));
        one.is_some() && one == other && pair[0].own.is_empty() && pair[1].own.is_empty()
    };
    let at = things.windows(2).position(twice)?;
    let pair = &things[at..at + 2];
    let (activity, _) = said(&pair[0])?;
    let over = (pair[0].span.0, pair[1].span.1);
    let words: Vec<&Item> = pair.iter().flat_map(|thing| &thing.items).collect();
    let message = format!("twice, or said twice? Write `2 times {activity}` or `{activity}`");
    let misread = at_items(&words, message);
    let before = if at > 0 { ", " } else { "" };
    let after = if at + 2 < things.len() { "," } else { "" };
    let told = |told: &str| format!("{before}{told}{after}");
    Some(misread.write_over(over, told(&format!("2 {activity}"))).write_over(over, told(&activity)))
}

/// Refuses what belongs together though each part makes sense by itself.
pub(super) fn held_together(items: &[Item]) -> Result<(), Misread> {
    // `2 guests dinner` come for it, and go.
    let guests = |two: &[Item]| two[0].is_verb("guests") && two[1].is_use();
    if let Some(at) = items.windows(2).position(guests) {
        let message = "to stay, or for that alone? A comma separates things";
        return Err(at_items(&[&items[at], &items[at + 1]], message));
    }
    // `5 showers in 3 days` may be of days that have gone.
    let within = |two: &[Item]| two[0].is_use() && two[1].is_time() && two[1].words[0].is("in");
    let numbered = |at: &usize| items[..*at].iter().any(Item::is_number);
    if let Some(at) = items.windows(2).position(within).filter(numbered) {
        let message = "in days that have gone, or to come? Write when it was";
        return Err(at_items(&[&items[at + 1]], message));
    }
    // `the dishes of yesterday evening` may have been done then, or be done by now.
    let of = |three: &[Item]| three[0].is_use() && three[1].is_of("of from") && three[2].is_time();
    let Some(at) = items.windows(3).position(of) else { return Ok(()) };
    let when = text(items[at + 2].words);
    let message = "done then, or left over from then? Write when it was done";
    Err(at_items(&[&items[at + 1], &items[at + 2]], message).write(when).write("now"))
}

/// `monday and tuesday 1 shower each`: once on each day, or over both.
pub(super) fn on_two_days(things: &[Thing]) -> Result<(), Misread> {
    let two = |two: &[Thing]| {
        let timed = two.iter().all(|thing| !thing.before.is_empty());
        timed && two[0].is_time() && two[1].joint == Joint::And
    };
    let Some(at) = things.windows(2).position(two) else { return Ok(()) };
    let when = &things[at].before;
    let message = "once on each, or over both? Say with each what was on it";
    Err(Misread::new(when.start, when.end, &when.words, message))
}
