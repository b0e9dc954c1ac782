//! Lists that leave words out: `emptied grey and liquids`, `fresh and diesel full`. What one thing
//! of a list says holds for the others that leave it open.

use super::bag::Bag;
use super::meaning;
use super::people;
use super::thing::Thing;
use super::travel;
use crate::domain::unit::Unit;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::Tense;
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::text;
use crate::logline::times::moment::{Clock, Day, Hour, Looks, Toward, When};
use crate::logline::times::time::is_of_24_hours;
use crate::logline::tokens::item::{Is, Item, at_items};
use crate::logline::tokens::lexer::Joint;
use chrono::{Duration, NaiveTime};

/// Gives each thing of a list what it leaves open; where that is unclear, it is asked back.
pub(in crate::logline) fn complete(
    things: &mut [Thing],
    known: &Vocabulary,
    clock: &Clock,
) -> Result<(), Misread> {
    halves_of_the_day(things);
    let mut first = 0;
    for at in 1..things.len() {
        of_so_many(things, at)?;
        if things[at].joint == Joint::And
            && people::is_about(&things[at - 1].items)
            && things[at].items.iter().any(|item| item.is_other())
        {
            let message = "who else, and for how long? Write `2 guests until sunday`";
            let all: Vec<&Item> = things[at].items.iter().collect();
            let mut misread = at_items(&all, message);
            misread.mend.thing = Some((things[at - 1].span.0, things[at].span.1));
            return Err(misread);
        }
        if completes(things, at) || goes_as_far(things, at) {
            continue;
        }
        let verb = things[first].service().cloned();
        // `empty liquids and solids`, which is something to do.
        let errand = meaning::is_errand(&Bag::of(&things[first].items));
        if errand && things[at].joint == Joint::And && things[at].bare_stock().is_some() {
            let empty = things[first].items[0].clone();
            things[at].items.insert(0, empty);
            same_time(things, first, at);
            continue;
        }
        let poured = verb.as_ref().is_some_and(|verb| verb.is_verb("emptied"));
        let used = poured && is_of_a_container(&things[at], known, clock);
        let stock = used || things[at].items.iter().any(|item| item.stock().is_some());
        let verbless = !things[at].items.iter().any(|item| matches!(item.is, Is::Verb(_)));
        if let Some(verb) = verb.filter(|_| stock && verbless && things[at].joint != Joint::Colon) {
            let amount = things[first].items.iter().any(|item| item.is_amount());
            if (used || things[at].bare_stock().is_some()) && !amount {
                things[at].items.insert(0, verb);
                same_time(things, first, at);
                continue;
            }
            if things[at].joint == Joint::And {
                return Err(unclear(&verb, things, first, at));
            }
        }
        level_of_all(things, at);
        first = at;
    }
    on_the_way(things);
    each_of_some(things)?;
    part_of_both(things);
    of_one_plan(things, clock)?;
    one_time(things, clock)
}

/// `dumped grey at 3 pm, filled water at 3:20`: talk runs on, so that an hour which leaves the half of
/// its day open is the next such one, where a time of that day was told before it. Who writes
/// `18:00` writes `6:45` of the morning.
fn halves_of_the_day(things: &mut [Thing]) {
    let words = |thing: &Thing| format!("{} {}", thing.before.words, thing.own.words);
    let all_24 = things.iter().any(|thing| words(thing).split(' ').any(is_of_24_hours));
    let mut last: Option<NaiveTime> = None;
    for when in things.iter_mut().flat_map(|thing| [&mut thing.before, &mut thing.own]) {
        if when.day.is_some() && !matches!(when.day, Some(Day::This | Day::FromToday(0))) {
            last = None;
        }
        if let Some(Hour::Dial(dial)) = when.hour {
            let later = |add: i64| dial + Duration::hours(add);
            let next = |last: NaiveTime| [0, 12].map(later).into_iter().find(|at| *at >= last);
            let told = if all_24 { Some(dial) } else { last.and_then(next) };
            when.hour = told.map_or(when.hour, |told| Some(Hour::At(told)));
        }
        if let Some(Hour::At(at)) = when.hour {
            last = Some(at);
        }
    }
}

/// `a shower each, the two of us`, `showered, two of us`: how many share it, and not who is aboard.
fn of_so_many(things: &[Thing], at: usize) -> Result<(), Misread> {
    let (one, other) = (&things[at - 1], &things[at]);
    let [Item { is: Is::Amount(Said::Bare(_)), words }, us] = &other.items[..] else {
        return Ok(());
    };
    let each = one.items.iter().any(|item| item.is_of("each"));
    let alone = !one.items.iter().any(Item::is_amount) && one.items.iter().any(Item::is_use);
    let name = one.items.iter().find_map(|item| match &item.is {
        Is::Name(meaning) if meaning.activity.is_some() => meaning.activity.clone(),
        Is::Name(_) => Some(text(item.words)),
        _ => None,
    });
    let Some(name) = name.filter(|_| (each || alone) && us.is_of("us")) else { return Ok(()) };
    let told = format!("{} {name}", text(words));
    let misread = at_items(&[us], format!("of how many? Write `{told}`"));
    match one.when().is_empty() {
        true => Err(misread.write_over((one.span.0, other.span.1), told)),
        // With its time it is told anew.
        false => Err(misread),
    }
}

/// `a shower each, the two of us`: not as many as are aboard.
fn each_of_some(things: &[Thing]) -> Result<(), Misread> {
    let items = || things.iter().flat_map(|thing| &thing.items);
    let us = |item: &&Item| item.is_of("us") && item.words[0].low != "we";
    let each = items().any(|item| item.is_of("each"));
    let counted = |item: &Item| matches!(item.is, Is::Amount(Said::Bare(_)));
    let some = things
        .iter()
        .any(|thing| thing.items.windows(2).any(|pair| counted(&pair[0]) && us(&&pair[1])));
    match items().find(us).filter(|_| each && some) {
        Some(us) => Err(at_items(&[us], "how many did it? Write `2 showers`, for instance")),
        None => Ok(()),
    }
}

/// `filled water and dumped grey this morning`: a part of the day holds for both.
fn part_of_both(things: &mut [Thing]) {
    for at in (1..things.len()).rev() {
        let (one, other) = (&things[at - 1], &things[at]);
        let part = matches!(other.own.hour, Some(Hour::Part { .. })) && other.before.is_empty();
        let both = part && one.when().is_empty() && is_done(one) && is_done(other);
        if both && other.joint == Joint::And && other.own.toward == Toward::Open {
            things[at - 1].own = other.own.clone();
        }
    }
}

/// `emptied grey, pee, poo`: what an activity gives to one container is emptied with it.
fn is_of_a_container(thing: &Thing, known: &Vocabulary, clock: &Clock) -> bool {
    let [Item { is: Is::Name(meaning), .. }] = &thing.items[..] else { return false };
    let parts = known.parts_on(clock.civil.date());
    let activity = meaning.activity.as_ref().and_then(|name| parts.activity(name));
    activity.is_some_and(|(_, a)| a.counted_in == Unit::Use && a.moves.len() == 1)
}

/// `drove 2 h, 120 km this afternoon`, `120 km, 2 h driving`, `drove to Alder flats, 2 h`: one drive.
fn goes_as_far(things: &mut [Thing], at: usize) -> bool {
    let (one, other) = (&things[at - 1], &things[at]);
    let joins = (other.when().is_empty() || one.when().is_empty() && other.before.is_empty())
        && one_remark(one, other)
        && match (measures(one), measures(other)) {
            (Some((true, None)), Some((false, Some(said)))) => travel::is_long_or_far(said),
            (Some((one, Some(said))), Some((other, Some(more)))) => {
                one != other && travel::are_two_measures(said, more)
            }
            _ => false,
        };
    if joins {
        if !things[at].own.is_empty() {
            things[at - 1].own = std::mem::take(&mut things[at].own);
        }
        join(things, at);
    }
    joins
}

/// `pulled in at Sorrel Head at 4, 1.5 h of driving`: the way there ends when they come there.
fn on_the_way(things: &mut [Thing]) {
    let camp = |thing: &Thing| thing.items.iter().any(|item| item.is_verb("camp"));
    let drive = |thing: &Thing| thing.items.iter().any(|item| item.is_verb("drove"));
    for at in 1..things.len() {
        for (of, other) in [(at - 1, at), (at, at - 1)] {
            let (way, there) = (&things[of], &things[other]);
            let timed = !there.own.is_empty() && way.when().is_empty();
            if timed && drive(way) && camp(there) {
                things[of].own = there.own.clone();
            }
        }
    }
}

/// Whether two things have at most one remark, so that they may become one thing.
fn one_remark(one: &Thing, other: &Thing) -> bool {
    one.remark.is_none() || other.remark.is_none()
}

/// Gives what a thing says to the one before it, its remark too.
fn join(things: &mut [Thing], at: usize) {
    let items = std::mem::take(&mut things[at].items);
    let remark = things[at].remark.take();
    things[at - 1].items.extend(items);
    things[at - 1].remark = things[at - 1].remark.or(remark);
}

/// Of a drive, or of nothing but an amount: whether it is a drive, and its one measure.
fn measures<'t>(thing: &'t Thing) -> Option<(bool, Option<&'t Said>)> {
    let drove = thing.items.iter().any(|item| item.is_verb("drove drove-to"));
    let mut amounts = thing.items.iter().filter_map(|item| match &item.is {
        Is::Amount(said) => Some(said),
        _ => None,
    });
    let one = amounts.next();
    (amounts.next().is_none() && (drove || thing.items.len() == 1)).then_some((drove, one))
}

/// `filled the water, up to the brim`: how far is said of the service before.
fn completes(things: &mut [Thing], at: usize) -> bool {
    let far = |item: &Item| item.is_of("to-full completely all");
    let other = &things[at];
    let says = !other.items.is_empty() && other.items.iter().all(far) && other.when().is_empty();
    let says = says && one_remark(&things[at - 1], other);
    if !says || things[at - 1].service().is_none() {
        return false;
    }
    join(things, at);
    true
}

/// Things of a list that leave the verb out happened at one time.
fn same_time(things: &mut [Thing], first: usize, at: usize) {
    let last = &things[at].own;
    let told = if last.is_empty() { things[first].own.clone() } else { last.clone() };
    for thing in &mut things[first..=at] {
        if thing.when().is_empty() {
            thing.own = told.clone();
        }
    }
}

/// An amount after the last of a list: of each, or of the last one?
fn unclear(verb: &Item, things: &[Thing], first: usize, at: usize) -> Misread {
    let told = |thing: &Thing| thing.told(&thing.own.words);
    let (one, other) = (told(&things[first]), told(&things[at]));
    let message = "does this hold for both? Say each of them with its verb";
    let whole: Vec<&Item> = things[at].items.iter().collect();
    let misread = at_items(&whole, message);
    let over = (things[first].span.0, things[at].span.1);
    let rest: Vec<&str> = one.split(' ').filter(|word| *word != verb.words[0].low).collect();
    let verb = &verb.words[0].low;
    misread.write_over(over, format!("{verb} {}, {verb} {other}", rest.join(" ")))
}

/// `fresh and diesel full`, `grey, pee and poo all empty`: the level of the last one is that of all.
fn level_of_all(things: &mut [Thing], at: usize) {
    let listed = things[at].joint == Joint::And;
    let begins = things[at].items.first().is_some_and(|item| item.is_name());
    let bare = things[..at].iter().rev().take_while(|thing| thing.bare_stock().is_some()).count();
    let level = things[at].items.get(1..).unwrap_or_default().to_vec();
    if listed && begins && !level.is_empty() {
        things[at - bare..at].iter_mut().for_each(|thing| thing.items.extend(level.clone()));
        same_time(things, at - bare, at);
    }
}

/// In `2 showers, dishes yesterday` the day may hold for one or for both: asked back, unless it
/// begins the line. A reading is one of now where it names no time.
fn one_time(things: &[Thing], clock: &Clock) -> Result<(), Misread> {
    if things.first().is_some_and(|thing| !thing.before.is_empty()) {
        return Ok(());
    }
    for pair in things.windows(2) {
        let [one, other] = pair else { continue };
        let listed = other.joint == Joint::And;
        // What is filled and emptied in one breath is so at one stop.
        let stop = [one, other].iter().all(|thing| thing.service().is_some());
        let (first, second) = (one.when(), other.when());
        let shared = match (first.is_empty(), second.is_empty()) {
            _ if one.is_time() || other.is_time() || other.joint == Joint::Colon => false,
            // `and at 7` is of the last.
            (true, false)
                if listed && !stop && second.hour.is_some() && !is_another_day(&second, clock) =>
            {
                false
            }
            (true, false) if listed => other.before.is_empty(),
            (false, true) if listed => true,
            // Behind the last of a list, or before the first of what follows.
            (true, false) => other.before.is_empty() && is_done(one) && is_done(other),
            (false, true) => (stop || !one.before.is_empty()) && is_done(one) && is_done(other),
            _ => false,
        };
        if !shared || one.until.is_some() || other.until.is_some() {
            continue;
        }
        let told = if first.is_empty() { second } else { first.clone() };
        let today = told.day == Some(Day::FromToday(0)) && told.hour.is_none();
        // What is told without a time is of now as well.
        let now = told.resolve(clock, Looks::Back).is_ok_and(|at| at == clock.now);
        if today
            || now
            || told.toward != Toward::Open
            || !(listed || stop || is_another_day(&told, clock))
        {
            continue;
        }
        let (timed, open) = if first.is_empty() { (other, one) } else { (one, other) };
        let message = format!("for `{}` only, or for `{}` too?", timed.told(""), open.told(""));
        let mut misread = Misread::new(told.start, told.end, &told.words, message);
        misread.mend.both = !matches!(told.day, Some(Day::FromToday(1..)));
        let start = if one.before.is_empty() { one.span.0 } else { one.before.start };
        let over = (start, other.span.1);
        let time = &told.words;
        let apart = match first.is_empty() {
            true => format!("{}, {}", one.told("now"), other.told(time)),
            false => format!("{}, {}", one.told(time), other.told("now")),
        };
        let both = format!("{}, {}", one.told(time), other.told(time));
        return Err(misread.write_over(over, both).write_over(over, apart));
    }
    Ok(())
}

/// `drive 40 mi thursday, dump pee`: what follows a plan, in words of a plan and without a day, is of
/// its day. What stands before it, and a camp, may be of now: asked back.
fn of_one_plan(things: &mut [Thing], clock: &Clock) -> Result<(), Misread> {
    if things.first().is_some_and(|thing| !thing.before.is_empty()) {
        return Ok(());
    }
    let is_plan = |thing: &Thing| {
        let ahead = looks(thing) == Looks::Ahead && thing.own.day.is_some();
        let at = thing.own.resolve(clock, Looks::Ahead);
        ahead && thing.before.is_empty() && at.is_ok_and(|at| at > clock.now)
    };
    let Some(first) = things.iter().position(is_plan) else { return Ok(()) };
    let mut plan = things[first].own.clone();
    for (at, thing) in things.iter_mut().enumerate() {
        let open = thing.when().is_empty() && !thing.is_time();
        let ahead = looks(thing) == Looks::Ahead;
        let camp = at > first && thing.items.iter().any(|item| item.is_verb("camp"));
        match open {
            true if at < first && ahead || camp => {
                let day = format!("planned {}", plan.words.trim_start_matches("on "));
                let all: Vec<&Item> = thing.items.iter().collect();
                let mut misread = at_items(&all, "on that day, too, or now? Say it with each");
                misread.mend.either = true;
                let (then, now) = (thing.told(&day), thing.told("now"));
                return Err(misread.write_over(thing.span, then).write_over(thing.span, now));
            }
            true if at > first && ahead => thing.own = plan.clone(),
            false if is_plan(thing) => plan = thing.own.clone(),
            _ => {}
        }
    }
    Ok(())
}

/// Which way a thing looks in time, by its words.
pub(in crate::logline) fn looks(thing: &Thing) -> Looks {
    let ahead = |item: &Item| item.words.iter().any(|w| w.tense != Tense::Behind);
    match () {
        () if people::is_about(&thing.items) => Looks::DaysAhead,
        () if thing.items.iter().any(ahead) => Looks::Ahead,
        () if meaning::is_errand(&Bag::of(&thing.items)) => Looks::Ahead,
        () => Looks::Back,
    }
}

/// Whether a thing was done, at a time that it may leave to be guessed: no reading, no plan, and
/// not who is aboard.
fn is_done(thing: &Thing) -> bool {
    let other = "camp note outlook closed guests away aboard drove-to";
    let ahead = |item: &Item| item.words.iter().any(|w| w.tense != Tense::Behind);
    !is_reading(thing) && !thing.items.iter().any(|item| ahead(item) || item.is_verb(other))
}

/// `friday dishes, saturday 2 showers, battery 80`: what a gauge showed behind the last of several days
/// may be of that day, or of now.
pub(super) fn read_then_or_now(thing: &Thing, day: &When, clock: &Clock) -> Result<(), Misread> {
    if !is_reading(thing) || !is_another_day(day, clock) {
        return Ok(());
    }
    let all: Vec<&Item> = thing.items.iter().collect();
    let mut misread = at_items(&all, "read then, or now? Say it with the reading");
    misread.mend.either = true;
    let (then, now) = (thing.told(&day.words), thing.told("now"));
    Err(misread.write_over(thing.span, now).write_over(thing.span, then))
}

/// Whether a thing says what is in a stock.
fn is_reading(thing: &Thing) -> bool {
    thing.service().is_none() && thing.items.iter().any(|item| item.stock().is_some())
}

/// Whether a time says another day than today.
fn is_another_day(when: &When, clock: &Clock) -> bool {
    match (when.exact, when.day) {
        (Some(exact), _) => clock.zone.date(exact) != clock.civil.date(),
        (None, day) => !matches!(day, None | Some(Day::This | Day::FromToday(0))),
    }
}
