//! Which time holds for which thing of a line, and the reading of each thing at its time.
//!
//! A time holds for the thing that it stands at. At the start of the line, or before a colon, it
//! holds for what follows; what a thing's own words leave open (the day, the hour) it fills in.

mod ends;

use super::listing::{self, looks};
use super::prepared::{clock, prepared};
use super::scene::{SaidThing, Scene};
use super::thing::{Thing, Until, held_together, on_two_days, things};
use super::{clause, doubt, people};
use crate::domain::entry::Event;
use crate::domain::flow::Per;
use crate::domain::quantity::Amount;
use crate::domain::time::Moment;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::{Hedge, Sense, Tense, lexicon};
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::{Misread, Swap, Understood};
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Kind, Word, text};
use crate::logline::times::lasting::lasting;
use crate::logline::times::moment::{Clock, Looks, When};
use crate::logline::times::time::phrase;
use crate::logline::tokens::item::{Is, Item, at_items, items};
use crate::logline::tokens::lexer::{Joint, Piece};

pub(in crate::logline) fn understand(
    line: &str,
    known: &Vocabulary,
    now: Moment,
) -> Result<Vec<Understood>, Misread> {
    let clock = clock(known, now)?;
    let pieces = prepared(line, known, &clock)?;
    let mut all = things_of(&pieces, known, &clock)?;
    listing::complete(&mut all, known, &clock)?;
    on_two_days(&all)?;
    all.retain(|thing| !thing.is_time() || !thing.before.is_empty());
    let alone = lone_time(&mut all, line, &clock)?;
    let mut read = Read {
        known,
        clock: &clock,
        understood: Vec::new(),
        spans: Vec::new(),
        numbered: Vec::new(),
        beside: false,
        served: all
            .iter()
            .any(|t| t.service().is_some() || t.items.iter().any(|i| i.stock().is_some())),
        ahead: all.iter().any(|thing| thing.own.is_empty() && looks(thing) == Looks::Ahead),
    };
    let (mut holds, mut told_on) = (alone, false);
    for (index, thing) in all.iter().enumerate() {
        if index == 0 || thing.is_time() {
            holds = thing.before.or(&holds);
            told_on = false;
        } else if holds.day.is_some() && thing.before.day.is_some() {
            // `friday dishes, saturday 2 showers, dinner`: what is told goes on with the days.
            holds = thing.before.clone();
            told_on = true;
        } else if told_on && thing.when().is_empty() {
            listing::read_then_or_now(thing, &holds, &clock)?;
        }
        if !thing.is_time() {
            read.thing(thing, &holds)?;
        }
    }
    read.agrees(line)?;
    Ok(read.understood)
}

/// The things that the pieces of a line say.
fn things_of<'p>(
    pieces: &'p [Piece<'p>],
    known: &'p Vocabulary,
    clock: &'p Clock,
) -> Result<Vec<Thing<'p>>, Misread> {
    let mut all = Vec::new();
    for piece in pieces {
        let whole = |mut misread: Misread| {
            misread.mend.thing.get_or_insert(piece.span);
            misread
        };
        if let Some(misread) = lasting(&piece.words, known, clock) {
            return Err(whole(misread));
        }
        readable(&piece.words, clock)?;
        let items = items(&piece.words, known, clock).map_err(whole)?;
        held_together(&items).map_err(whole)?;
        let scene = Scene::now(known, clock);
        let things = things(&items, piece, &scene).map_err(whole)?;
        all.extend(things);
    }
    Ok(all)
}

/// What has been read of the line so far.
struct Read<'k> {
    known: &'k Vocabulary,
    clock: &'k Clock,
    understood: Vec<Understood>,
    /// The characters of the thing that said each entry.
    spans: Vec<(usize, usize)>,
    /// Whether it said how many.
    numbered: Vec<bool>,
    /// Whether something was said beside a thing.
    beside: bool,
    /// Whether something was filled or emptied.
    served: bool,
    /// Whether a thing that leaves its time to the line is to come: then all of these are.
    ahead: bool,
}

impl Read<'_> {
    fn thing(&mut self, thing: &Thing, holds: &When) -> Result<(), Misread> {
        self.things(thing, holds).map_err(|mut misread| {
            misread.mend.thing.get_or_insert(thing.span);
            // How much of something may be said of what came before; where something was served, a
            // place by itself tells where that was.
            let verb = |item: &Item| matches!(item.is, Is::Verb(_));
            let there = thing.items.iter().any(Item::is_place) && !thing.items.iter().any(verb);
            if misread.mend.alone && self.beside || there && self.served {
                misread.mend.swaps.clear();
            }
            misread.mend.swaps.iter_mut().for_each(|swap| over_all(swap, thing));
            misread
        })?;
        self.spans.resize(self.understood.len(), thing.span);
        self.beside |= thing.remark.is_some();
        let number = |item: &Item| item.is_amount() || item.is_of("another each both");
        self.numbered.resize(self.understood.len(), thing.items.iter().any(number));
        Ok(())
    }

    fn things(&mut self, thing: &Thing, holds: &When) -> Result<(), Misread> {
        if thing.before.clashes(&thing.own) {
            let own = &thing.own;
            let message = "two times for one thing: leave one out";
            return Err(Misread::new(own.start, own.end, &own.words, message));
        }
        let own = thing.when();
        let when = if own.is_complete() { own } else { own.or(holds) };
        let of_people = people::is_about(&thing.items);
        let looks = self.looks(thing, holds);
        let at = when.resolve(self.clock, looks).map_err(|why| why.misread(&when))?;
        let at = thing.by_now(at, (&when, looks), self.clock);
        let (at, ends) = self.begins_and_ends(thing, &when, at)?;
        let date = self.known.zone.date(at);
        let parts = self.known.parts_on(date);
        if let Some(misread) = self.more(thing).or_else(|| thing.since_when()) {
            return Err(misread);
        }
        let (known, clock) = (self.known, self.clock);
        let scene = Scene { known, clock, at, date, all_day: when.is_a_day(), parts };
        if let Some(end) = ends
            && let Some(misread) = self
                .as_days(thing, (at, end))
                .or_else(|| people::expected(&thing.items, (at, end), &scene))
        {
            return Err(misread);
        }
        let said = clause::read(&thing.items, &scene)?;
        let words: Vec<&Item> = thing.items.iter().collect();
        let will = thing.items.iter().flat_map(|item| item.words).any(|w| w.tense == Tense::Will);
        if will && at <= self.clock.now {
            let message = "still to come: say when, like `tomorrow`, or write it when it is done";
            return Err(at_items(&words, message));
        }
        if let (Some((_, item)), false) = (&thing.until, of_people) {
            let message = "`until` goes with guests, `away` or `aboard`";
            return Err(at_items(&[item], message));
        }
        self.open_end(thing, (&when, at), ends)?;
        for SaidThing { event, remark } in said {
            let seen = matches!(event, Event::Level { .. } | Event::DayClosed | Event::Outlook(_));
            if seen && at > self.clock.now {
                let message = "this is still ahead: a use, a fill, a drive or a camp can be \
                               planned, a reading cannot";
                return Err(at_items(&words, message));
            }
            let note = thing.remark.map(|w| w.text.trim().to_string()).or(remark);
            // A note runs to the end of its piece: what stands in parentheses is a part of it.
            let (event, note) = match (event, note) {
                (Event::Note(text), Some(note)) => (Event::Note(format!("{text} ({note})")), None),
                other => other,
            };
            self.understood.push(Understood { at, event, note });
        }
        if let Some(end) = ends {
            self.stay(at, end, thing);
        }
        Ok(())
    }

    /// `food until friday`: so many days of it.
    fn as_days(&self, thing: &Thing, (at, end): (Moment, Moment)) -> Option<Misread> {
        let name = thing.bare_stock()?;
        let zone = self.known.zone;
        let days = (zone.date(end) - zone.date(at)).num_days();
        let long = format!("{} {days} days", text(name.words));
        let misread = at_items(&[name], format!("for so long? Write `{long}`"));
        Some(misread.write_over(thing.span, long))
    }

    /// Which way a thing looks; one that leaves its time to the line as the others that do.
    fn looks(&self, thing: &Thing, holds: &When) -> Looks {
        let held = thing.when().is_empty() && !holds.is_empty();
        if held && self.ahead { Looks::Ahead } else { looks(thing) }
    }

    /// Whether who is aboard by this is home again, and stays: fewer, or guests, leave in the morning.
    fn stays(&self, thing: &Thing) -> bool {
        let home = self.known.aboard..=self.known.crew;
        let others =
            |item: &Item| matches!(item.is, Is::Amount(Said::Bare(all)) if !home.contains(&all));
        thing.items.iter().any(|item| item.is_verb("aboard")) && !thing.items.iter().any(others)
    }

    /// `one shower, tonight two more`: of what was told before.
    fn more(&self, thing: &Thing) -> Option<Misread> {
        let activity = match &self.understood.last()?.event {
            Event::Use { activity, .. } => activity.as_str(),
            Event::Crew(_) => return None,
            _ => "",
        };
        let more = thing.items.iter().find(|item| item.is_of("more"))?;
        let number =
            thing.items.iter().find(|item| matches!(item.is, Is::Amount(Said::Bare(_))))?;
        let only = thing
            .items
            .iter()
            .all(|item| std::ptr::eq(item, more) || std::ptr::eq(item, number) || item.is_time());
        let told = format!("{} {activity}", text(number.words));
        let message = format!("of what? Write `{told}`, or `aboard` and how many are here");
        let misread = at_items(&[number, more], message);
        only.then(|| if activity.is_empty() { misread } else { misread.write_piece(told) })
    }

    /// Who is aboard until an end, and from then on. What was planned in between for others still
    /// comes and goes with guests; so many aboard are so many.
    fn stay(&mut self, at: Moment, end: Moment, thing: &Thing) {
        let guests = thing.items.iter().any(|item| item.is_verb("guests"));
        let Some(Event::Crew(people)) = self.understood.last().map(|said| said.event.clone())
        else {
            return;
        };
        let more = people.milli() - self.known.aboard_at(at).milli();
        let between = self.known.aboard_ahead.iter().filter(|(from, _)| at < *from && *from < end);
        let between = between.map(|(from, planned)| {
            let all = if guests { planned.milli() + more } else { people.milli() };
            (*from, Amount::from_milli(all).unwrap_or_default())
        });
        let after = [(end, self.known.aboard_at(end))];
        let all = between.chain(after).map(|(at, people)| Understood {
            at,
            event: Event::Crew(people),
            note: None,
        });
        self.understood.extend(all.collect::<Vec<_>>());
    }

    /// Guests and days away that are still to come, or that were there on a day before, have an
    /// end that is to be said.
    fn open_end(
        &self,
        thing: &Thing,
        (when, at): (&When, Moment),
        end: Option<Moment>,
    ) -> Result<(), Misread> {
        let comes = thing.items.iter().any(|item| item.is_verb("guests away"));
        let (today, date) = (self.clock.civil.date(), self.known.zone.date(at));
        let gone = date < today;
        if !comes || end.is_some() || at <= self.clock.now && !gone {
            return Ok(());
        }
        let next = date.succ_opt().unwrap_or_default();
        let until = match next == today {
            true => "until this morning".to_string(),
            false if gone => format!("until {}", next.format("%Y-%m-%d")),
            false => format!("until {}", next.format("%A")).to_lowercase(),
        };
        let words: Vec<&Item> = thing.items.iter().collect();
        let misread = at_items(&words, format!("until when? Write `{until}`, for instance"));
        let own = if thing.own.is_empty() { "" } else { &when.words };
        Err(misread.write_over(thing.span, thing.told(&format!("{own} {until}"))))
    }

    /// The thing that told a number of what this thing tells again without one: `cooked twice,
    /// lunch and dinner`.
    fn restated(&self, new: usize) -> Option<usize> {
        let used = |at: usize| match &self.understood[at].event {
            Event::Use { activity, count } => {
                Some((activity, count.amount.milli(), self.understood[at].at))
            }
            _ => None,
        };
        let (activity, count, at) = used(new)?;
        let counted =
            |old: &usize| used(*old).is_some_and(|(a, n, t)| a == activity && t == at && n > 1000);
        (0..new).rev().find(counted).filter(|_| count == 1000 && !self.numbered[new])
    }

    /// The thing that told already, without a number, what this thing tells without one: `he did
    /// the plates and i did the pots`. Who is done by each is done once more.
    fn twice(&self, new: usize) -> Option<(usize, String)> {
        let once = |at: usize| match &self.understood[at].event {
            Event::Use { activity, count } if count.amount.milli() == 1000 => {
                Some((activity, self.understood[at].at)).filter(|_| !self.numbered[at])
            }
            _ => None,
        };
        let (activity, at) = once(new)?;
        self.known
            .parts_at(at)
            .activity(activity)
            .filter(|(_, activity)| activity.per != Per::Person)?;
        let told = |at: usize| self.understood[at].note.is_some();
        let same = |old: &usize| once(*old) == Some((activity, at)) && (told(*old) || told(new));
        let old = (0..new).find(same)?;
        Some((old, activity.clone()))
    }

    /// Levels of one line that contradict each other, or what was told before.
    fn agrees(&self, line: &str) -> Result<(), Misread> {
        let letters: Vec<char> = line.chars().collect();
        let said = |(start, end): (usize, usize)| letters[start..end].iter().collect::<String>();
        for (new, &span) in self.spans.iter().enumerate() {
            let earlier =
                (0..new).find(|old| doubt::differ(&self.understood[*old], &self.understood[new]));
            if let Some(old) = earlier {
                let first = said(self.spans[old]);
                let message = format!("the line says {first} as well: one level of it at a time");
                return Err(Misread::new(span.0, span.1, &said(span), message));
            }
            if let Some(misread) = doubt::overflows(&self.understood[..=new], self.known).map(
                |(old, told, message)| {
                    let misread = Misread::new(span.0, span.1, &said(span), message);
                    misread.write_over((self.spans[old].0, span.1), told)
                },
            ) {
                return Err(misread);
            }
            if let Some((other, activity)) = self.twice(new) {
                let (one, same) = (self.spans[other], said(span));
                let message =
                    format!("twice, or said twice? Write `2 times {activity}` or `{activity}`");
                let misread = Misread::new(span.0, span.1, &same, message);
                let over = (one.0.min(span.0), span.1.max(one.1));
                let misread = misread.write_over(over, format!("{activity} twice"));
                return Err(misread.write_over(over, activity));
            }
            if let Some(other) = self.restated(new) {
                let (one, same) = (self.spans[other], said(span));
                let message = "once more, or one of those? Write it as a remark, or `another`";
                let misread = Misread::new(span.0, span.1, &same, message);
                let both = said(one);
                let told = format!("{both} ({same})");
                let misread = if both.contains('(') {
                    misread
                } else {
                    misread.write_over((one.0, span.1), told)
                };
                return Err(misread.write_over(span, format!("another {same}")));
            }
            if let Some(mut misread) =
                doubt::of(&self.understood, new, (self.known, self.clock.now))
            {
                (misread.start, misread.end) = span;
                misread.word = said(span);
                misread.mend.swaps.iter_mut().for_each(|swap| swap.over = Some(span));
                return Err(misread);
            }
        }
        Ok(())
    }
}

/// Puts a way of saying a thing in place of all of it; its times and its end stay.
fn over_all(swap: &mut Swap, thing: &Thing) {
    if swap.over.is_some() {
        return;
    }
    let until = thing.until.iter().filter(|(until, _)| !matches!(until, Until::Days(_)));
    let until = until.map(|(_, item)| text(item.words)).collect::<String>();
    let remark = thing.remark.map_or(String::new(), |w| format!("({})", w.text));
    // What is to be stays so.
    let ahead = !thing.own.is_empty() && looks(thing) == Looks::Ahead;
    let day = thing.own.words.trim_start_matches("on ");
    let own = if ahead { &*format!("planned {day}") } else { &thing.own.words };
    let each = swap.text.split(", ").map(|one| {
        let (one, beside) = one.split_at(one.find(" (").unwrap_or(one.len()));
        format!("{one} {own} {until}{beside} {remark}").trim().to_string()
    });
    swap.text = each.collect::<Vec<_>>().join(", ");
    swap.over = Some(thing.span);
}

/// A number or a time in parentheses is no remark; nor is `(planned)`, which takes the thing back.
fn readable(words: &[Word], clock: &Clock) -> Result<(), Misread> {
    let Some(remark) = words.iter().skip(1).find(|w| w.kind == Kind::Remark) else { return Ok(()) };
    let inner = remark.text.trim();
    let bare: Vec<Word> = inner
        .split_whitespace()
        .map(|text| Word { text, low: text.to_lowercase(), kind: Kind::Plain, ..remark.clone() })
        .collect();
    let number = bare.len() == 1 && bare[0].is_numeric();
    let undone = |w: &Word| {
        let not = lexicon().sense(&w.low);
        is_of("undone", &w.low) || w.is("yet") || matches!(not, Some(Sense::Hedge(Hedge::Not)))
    };
    if !bare.is_empty() && bare.iter().all(undone) {
        let message = "then it did not happen: only what did is written down";
        let mut misread = Misread::new(remark.start - 1, remark.end + 1, inner, message);
        misread.mend.thing = Some((words[0].start, remark.end + 1));
        return Err(misread);
    }
    if !number && phrase(&bare, clock).is_none() {
        return Ok(());
    }
    let message = "a remark, or a part of what happened? Write it without the parentheses";
    Err(Misread::new(remark.start - 1, remark.end + 1, inner, message).write(inner))
}

/// Takes out a time on its own at the end of a line with one thing, which it then belongs to; a
/// time on its own that could hold for one thing or for all is asked back.
fn lone_time(things: &mut Vec<Thing>, line: &str, clock: &Clock) -> Result<When, Misread> {
    let said = things.iter().filter(|thing| !thing.is_time()).count();
    if said == 0 {
        let when = &things[things.len() - 1].before;
        let message = match things.len() {
            1 => "a time, and nothing that happened then",
            _ => "times, and nothing that happened then",
        };
        return Err(Misread::new(when.start, when.end, &when.words, message));
    }
    let stray = things.iter().enumerate().skip(1);
    let mut stray = stray.filter(|(_, thing)| thing.is_time() && thing.joint != Joint::Colon);
    let Some((at, thing)) = stray.next() else { return Ok(When::default()) };
    let when = thing.before.clone();
    let free = things.iter().any(|thing| !thing.is_time() && thing.when().is_empty());
    if said == 1 && free && at + 1 == things.len() {
        things.remove(at);
        return Ok(when);
    }
    let message = "for all of it, or for one thing? A time that holds for all stands in front";
    let misread = Misread::new(when.start, when.end, &when.words, message);
    let before = &things[at - 1];
    if before.when().clashes(&when) && !before.is_time() {
        // `shower on wednesday and thursday`: once on each.
        let again = format!("{}, {}", before.told(&before.own.words), before.told(&when.words));
        let over = (before.span.0, when.end);
        if let (true, Some(date)) = (people::is_about(&before.items), when.date(clock)) {
            let next = date.succ_opt().unwrap_or(date).format("until %A").to_string();
            let stay = before.told(&format!("{} {}", before.own.words, next.to_lowercase()));
            return Err(misread.write_over((before.span.0, when.end), stay));
        }
        let open = before.before.is_empty();
        return Err(if open { misread.write_over(over, again) } else { misread });
    }
    let letters: Vec<char> = line.chars().collect();
    let words = |part: &[char]| part.iter().collect::<String>();
    let before = words(&letters[..when.start]);
    let after = words(&letters[when.end..]);
    let before = before.trim_end().trim_end_matches(',').trim_end_matches(" and");
    let rest = format!("{before}{after}");
    let all = format!("{}: {}", when.words, rest.trim().trim_matches(','));
    Err(misread.write_over((0, letters.len()), all))
}
