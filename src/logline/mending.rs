//! What was said wrong before, put right by the next line: `no, it was 40`, `i meant grey not
//! fresh`, `scrap that`. It is said of the last line that this device wrote or, where it names a
//! thing or a day, of the one entry that fits; what fits several is asked back.

use super::echo::echo;
use super::grammar::prepared;
use super::halves::{Back, Fix, fix};
use super::heard::{Heard, Mended};
use super::lexis::amounts::{self, Said};
use super::lexis::lexicon::lexicon;
use super::lexis::listed::is_of;
use super::lexis::misread::{Misread, Offer, Understood};
use super::lexis::recent::Recent;
use super::lexis::vocabulary::Vocabulary;
use super::lexis::word::Word;
use super::said::parse;
use super::times::moment::{Hour, Looks, When};
use super::times::time;
use super::tokens::speech;
use super::tokens::spelled::spelled;
use super::tokens::words;
use crate::domain::{Event, Happened, Moment, Quantity, Unit};
use chrono::Timelike as _;

/// As [`parse`], for a line that may put right what was written before it (see
/// [`Vocabulary::after`]).
///
/// # Errors
///
/// As [`parse`]; and where it is open what is put right.
pub fn heard(words: &str, vocabulary: &Vocabulary, now: Moment) -> Result<Heard, Misread> {
    match mended(words, vocabulary, now) {
        Some(heard) => heard,
        None => match parse(words, vocabulary, now) {
            Ok(said) => Ok(Heard::Said(said)),
            Err(misread) => Err(with_what_holds(words, misread, vocabulary, now)),
        },
    }
}

/// `oops 3 showers not 2` where no entry was of 2, `sorry that was 40 km` where nothing was saved of how
/// far it was: what holds, in front of a mere note.
fn with_what_holds(line: &str, misread: Misread, known: &Vocabulary, now: Moment) -> Misread {
    let note = |offer: &Offer| offer.line.starts_with("note ");
    let told = fix(line, known).filter(|fix| fix.back.is_none());
    let Some(fix) = told.filter(|_| misread.instead.iter().all(note)) else { return misread };
    let line = spelled(fix.new, known);
    let holds = match parse(&line, known, now) {
        Ok(said) if said.iter().any(|said| matches!(said.event, Event::Note(_))) => return misread,
        Ok(_) => vec![Offer::whole(line)],
        Err(_) if fix.old.is_some() => return misread,
        Err(bare) => bare.instead.into_iter().filter(|offer| !note(offer)).collect(),
    };
    if holds.is_empty() {
        return misread;
    }
    let message = match fix.old {
        Some(_) => misread.message,
        None => "nothing was saved that this puts right".to_string(),
    };
    Misread { instead: holds.into_iter().chain(misread.instead).collect(), message, ..misread }
}

/// What `line` puts right; `None` where it is no line of that kind, or not plainly.
fn mended(line: &str, known: &Vocabulary, now: Moment) -> Option<Result<Heard, Misread>> {
    if let Some(found) = as_echoed(line, known, now) {
        return Some(Ok(Heard::Mended(found)));
    }
    let fix = fix(line, known)?;
    let mut found = match fix.back {
        Some(_) => taken_back(&fix, known, now),
        None => corrected(&fix, known, now),
    }?;
    let note = Some(fix.rest.trim().to_string()).filter(|rest| !rest.is_empty());
    found.iter_mut().for_each(|mended| mended.note.clone_from(&note));
    let gently = fix.back == Some(Back::Gently) && found.iter().any(|one| one.was.at <= now);
    match &found[..] {
        [] => None,
        [_, _, ..] if !found.iter().all(|one| one.whole) => {
            Some(Err(which(line, found, known, now)))
        }
        _ if gently || fix.asks || is_far(&fix, &found, known, now) => {
            let mut misread = which(line, found, known, now);
            let new = parse(&fix.new, known, now).ok().filter(|_| fix.near);
            misread.instead.extend(new.map(|new| Offer::whole(echo(&new, known, now))));
            Some(Err(misread))
        }
        _ => Some(Ok(Heard::Mended(found))),
    }
}

/// Whether a number by itself, or `scrap that`, may be of a line that was refused since: what it would
/// change was written a while ago, or was another by more than half.
fn is_far(fix: &Fix, found: &[Mended], known: &Vocabulary, now: Moment) -> bool {
    let bare = fix.back.is_none() && fix.old.is_none() && bare_amount(&fix.new, known).is_some();
    let old =
        |one: &Mended| known.recent.iter().any(|recent| recent.id == one.of && recent.is_old(now));
    let other = |one: &Mended| {
        let was = one.was.event.amount()?;
        let new = one.becomes.as_ref()?.event.amount()?;
        let value = new.amount.value() * new.unit.factor_to(&was.unit, None)?;
        Some((value - was.amount.value()).abs() > was.amount.value() / 2.0)
    };
    let that = fix.back.is_some() && is_last_line(&fix.new);
    that && found.iter().any(old)
        || bare && found.iter().any(|one| old(one) || other(one) == Some(true))
}

/// `that`, `the last one`: whether what is to be taken back is named by no word of its own.
fn is_last_line(object: &str) -> bool {
    let object: Vec<&str> = object.split_whitespace().map(|w| w.trim_matches([',', '!'])).collect();
    lexicon().begins("last-line", &object) == object.len()
}

/// `correction: grey 40% (was grey 60%)`, as the echo says it: both sides are told.
fn as_echoed(line: &str, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let (new, was) = line.strip_prefix("correction: ")?.strip_suffix(')')?.split_once(" (was ")?;
    let (new, was) = (parse(new, known, now).ok()?, parse(was, known, now).ok()?);
    let one = |(new, was): (Understood, Understood)| {
        let same = |recent: &&Recent| recent.said.event == was.event && recent.said.at == was.at;
        Some(put_right(known.recent.iter().find(same)?, Some(new), true))
    };
    (new.len() == was.len()).then(|| new.into_iter().zip(was).map(one).collect())?
}

/// Several entries that it may be said of.
fn which(line: &str, mut several: Vec<Mended>, known: &Vocabulary, now: Moment) -> Misread {
    // What it was is near what it becomes.
    let amount = |said: &Understood| said.event.amount().map_or(0.0, |q| q.amount.value());
    let off = |one: &Mended| {
        one.becomes.as_ref().map_or(0.0, |new| (amount(new) - amount(&one.was)).abs())
    };
    several.sort_by(|one, other| off(one).total_cmp(&off(other)));
    let length = line.chars().count();
    let message = match &several[..] {
        [one] => {
            let was = echo(std::slice::from_ref(&one.was), known, now);
            format!("is that of the entry before, {was}?")
        }
        _ => "which of them is put right?".to_string(),
    };
    let mut misread = Misread::new(0, length, line, message);
    let said = |mended: &Mended| mended.becomes.as_ref().unwrap_or(&mended.was).clone();
    misread.instead = several
        .iter()
        .take(3)
        .map(|mended| {
            let word = if mended.becomes.is_some() { "correction" } else { "scrap" };
            let line = format!("{word}: {}", echo(&[said(mended)], known, now));
            Offer::whole(line)
        })
        .collect();
    misread
}

/// What no longer stands.
fn taken_back(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let object: Vec<&str> =
        fix.new.split_whitespace().map(|w| w.trim_matches([',', '!'])).collect();
    if is_last_line(&fix.new) {
        // A correction: what it put right stands again as it did.
        let again: Vec<Mended> = known.last_line(now).into_iter().filter_map(put_back).collect();
        if !again.is_empty() {
            return Some(again);
        }
        return Some(fitting(known, now, Among::WHOLE_LINE, |_| Some(None)));
    }
    if let Ok(said) = parse(&fix.new, known, now) {
        let same = |said: &Understood| {
            let when = Some(said.at).filter(|at| *at != now);
            let among = Among { when, ..Among::WHOLE_LINE };
            fitting(known, now, among, |was| (was.event == said.event).then_some(None))
        };
        let all: Vec<Mended> = said.iter().flat_map(same).collect();
        if all.len() == said.len() {
            return Some(all);
        }
    }
    let (name, when) = named(&object, known, now)?;
    let among = Among { when, ..Among::default() };
    let own = |was: &Happened| own_name(&was.event) == Some(&name);
    Some(fitting(known, now, among, |was| own(was).then_some(None)))
}

/// The thing of the rig that words name, with the time that stands beside it.
fn named(object: &[&str], known: &Vocabulary, now: Moment) -> Option<(String, Option<Moment>)> {
    let small = |w: &&&str| is_of("of-things", w);
    let words: Vec<&str> = object.iter().copied().skip_while(|w| small(&w)).collect();
    let (meaning, taken) = known.find(words.iter().copied())?;
    let name = meaning.activity.as_ref().or(meaning.stock.as_ref())?.clone();
    let rest: Vec<&str> = words[taken..].iter().copied().skip_while(|w| small(&w)).collect();
    match rest.is_empty() {
        true => Some((name, None)),
        false => Some((name, Some(moment(&rest.join(" "), None, known, now)?))),
    }
}

fn own_name(event: &Event) -> Option<&str> {
    match event {
        Event::Use { activity: own, .. } | Event::Spent { stock: own, .. } => Some(own),
        other => other.stock(),
    }
}

/// Whether two drives are both told by how long or both by how far; anything else is.
fn is_measured_alike(one: &Event, other: &Event) -> bool {
    match (one, other) {
        (Event::Drive(one), Event::Drive(other)) => one.unit.converts_to(&other.unit),
        _ => true,
    }
}

/// Which entries something may be said of.
#[derive(Clone, Copy, Default)]
struct Among {
    /// Those of this day; else those of the last line.
    when: Option<Moment>,
    /// Whether more is said of them than what they are, so that they may be of these days.
    told: bool,
    /// Whether all that fit are meant.
    whole: bool,
}

impl Among {
    const WHOLE_LINE: Among = Among { when: None, told: false, whole: true };
}

/// An entry put right, with what becomes of it.
fn put_right(recent: &Recent, becomes: Option<Understood>, whole: bool) -> Mended {
    let (of, was) = (recent.id.clone(), recent.said.clone());
    Mended { of, was, becomes, undoes: None, note: None, whole }
}

/// An entry as it was before the last line corrected it.
fn put_back(recent: &Recent) -> Option<Mended> {
    let (correction, before) = recent.corrected.clone()?;
    Some(Mended { undoes: Some(correction), ..put_right(recent, Some(before), true) })
}

/// The entries that `change` puts right, with what becomes of them.
fn fitting(
    known: &Vocabulary,
    now: Moment,
    among: Among,
    change: impl Fn(&Happened) -> Option<Option<Understood>>,
) -> Vec<Mended> {
    let put = |recent: &Recent| Some(put_right(recent, change(&recent.said)?, among.whole));
    let day = |recent: &Recent| known.zone.date(recent.said.at);
    if let Some(when) = among.when.map(|when| known.zone.date(when)) {
        return known.recent.iter().filter(|r| day(r) == when).filter_map(put).collect();
    }
    let last: Vec<Mended> = known.last_line(now).into_iter().filter_map(put).collect();
    if !last.is_empty() || !among.told {
        return last;
    }
    let near = |r: &&Recent| (known.zone.date(now) - day(r)).num_days() < 2;
    known.recent.iter().filter(near).filter_map(put).collect()
}

/// What stands in place of what was said.
fn corrected(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let found = amount(fix, known, now).or_else(|| name(fix, known, now));
    found.or_else(|| moved(fix, known, now)).or_else(|| thing(fix, known, now))
}

impl Fix<'_> {
    /// What does not hold, as `read` reads it; nothing at all where it cannot be read.
    fn old<T>(&self, read: impl Fn(&str) -> Option<T>) -> Option<Option<T>> {
        self.old.as_deref().map_or(Some(None), |old| read(old).map(Some))
    }
}

/// The words of a text that is one piece.
fn plain<'a>(text: &'a str, known: &Vocabulary) -> Option<Vec<Word<'a>>> {
    let mut pieces = words::pieces(text, known).ok()?;
    let piece = pieces.pop().filter(|_| pieces.is_empty())?;
    Some(speech::plain(piece.words, known))
}

/// The amount that is all of `text`.
fn bare_amount(text: &str, known: &Vocabulary) -> Option<Said> {
    let small = "it was is it's at to about the be of only";
    let words = plain(text.trim_end_matches('.'), known)?;
    let from = words.iter().take_while(|w| w.is_any(small)).count();
    let (said, taken) = amounts::read(&words[from..], known).ok().flatten()?;
    (from + taken == words.len()).then_some(said)
}

/// `it was 40`: the one amount of the last line, or the one that was so much.
fn amount(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let new = bare_amount(&fix.new, known)?;
    let old = fix.old(|old| bare_amount(old, known))?;
    let among = Among { told: old.is_some(), ..Among::default() };
    Some(fitting(known, now, among, |was| {
        let said = with_amount(was, &new).filter(|_| is_so_much(old.as_ref(), &was.event))?;
        is_valid(&said, known, now).then_some(Some(said))
    }))
}

/// Whether what was logged is the amount that is said, where one is.
fn is_so_much(said: Option<&Said>, was: &Event) -> bool {
    said.is_none_or(|said| match (said, was.amount()) {
        (_, None) => false,
        (Said::Bare(number) | Said::Days(number), Some(was)) => *number == was.amount,
        (said, Some(was)) => said.quantity().is_some_and(|said| said == *was),
    })
}

/// The same thing with another amount, in the unit that is said or else in its own.
fn with_amount(was: &Understood, new: &Said) -> Option<Understood> {
    let own = was.event.amount()?;
    let put = match new {
        Said::Bare(number) => Quantity::new(*number, own.unit.clone()),
        said => said.quantity()?,
    };
    let level = matches!(was.event, Event::Level { .. }) && put.unit == Unit::Percent;
    if !level && own.unit != Unit::Percent && put.unit.factor_to(&own.unit, None).is_none() {
        return None;
    }
    let mut said = was.clone();
    match &mut said.event {
        Event::Use { count: old, .. }
        | Event::Level { reading: old, .. }
        | Event::Spent { amount: old, .. }
        | Event::Drive(old)
        | Event::Charge { amount: old, .. } => *old = put,
        Event::Fill { amount, .. } | Event::Empty { amount, .. } => *amount = Some(put),
        _ => return None,
    }
    Some(said)
}

/// Whether it could be logged so: its own echo is understood.
fn is_valid(said: &Understood, known: &Vocabulary, now: Moment) -> bool {
    let line = echo(std::slice::from_ref(said), known, now);
    parse(&line, known, now).is_ok_and(|again| again.len() == 1 && again[0].event == said.event)
}

/// `i meant grey not fresh`: the same of another thing.
fn name(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let meaning = |text: &str| {
        let words = || text.split_whitespace().filter(|w| !["the", "it", "was"].contains(w));
        let (meaning, taken) = known.find(words())?;
        (taken == words().count()).then_some(meaning)
    };
    let new = meaning(&fix.new)?;
    let old = fix.old(meaning)?;
    Some(fitting(known, now, Among::default(), |was| {
        let own = own_name(&was.event)?;
        let is = |name: &Option<String>| name.as_deref() == Some(own);
        if old.is_some_and(|old| !is(&old.stock) && !is(&old.activity)) {
            return None;
        }
        let mut said = was.clone();
        match &mut said.event {
            Event::Use { activity, .. } => *activity = new.activity.clone()?,
            Event::Level { stock, .. }
            | Event::Fill { stock, .. }
            | Event::Empty { stock, .. }
            | Event::Spent { stock, .. } => *stock = new.stock.clone()?,
            _ => return None,
        }
        (said != *was && is_valid(&said, known, now)).then_some(Some(said))
    }))
}

/// The moment that `text` is, at the hour of `was` where it names a day alone.
fn moment(text: &str, was: Option<&Happened>, known: &Vocabulary, now: Moment) -> Option<Moment> {
    let clock = prepared::clock(known, now).ok()?;
    let text = text.replace("'s", "");
    let when = time::phrase(&plain(&text, known)?, &clock)?;
    let ahead = was.is_some_and(|was| was.at > now);
    let at = when.resolve(&clock, if ahead { Looks::Ahead } else { Looks::Back }).ok()?;
    match was.filter(|_| when.hour.is_none() && when.exact.is_none()) {
        Some(was) => {
            let hour = known.zone.here(was.at).time().with_second(0)?;
            Some(known.zone.moment(known.zone.date(at).and_time(hour)))
        }
        None => Some(at),
    }
}

/// `it was yesterday`, `make that sunday`: all of the last line, at another time.
fn moved(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let text = fix.new.trim_end_matches("same time").trim();
    let text = ["that was ", "it was ", "was "].iter().fold(text, |t, p| t.trim_start_matches(p));
    let last = known.last_line(now);
    let first = &last.first()?.said;
    let at = moment(text, Some(first), known, now)?;
    let one_time = last.iter().all(|recent| recent.said.at == first.at);
    // What was planned stays a plan.
    let still = (at > now) == (first.at > now);
    let at_last = |was: &Happened| Some(Some(Happened { at, ..was.clone() }));
    (one_time && still).then(|| fitting(known, now, Among::WHOLE_LINE, at_last))
}

/// Whether a text says at what hour: `drove 45 km at 2pm`.
fn says_hour(text: &str, known: &Vocabulary, now: Moment) -> bool {
    let (Ok(clock), Some(words)) = (prepared::clock(known, now), plain(text, known)) else {
        return false;
    };
    let when = |at: usize| time::longest_phrase(&words[at..], &clock);
    let hour = |when: &When| {
        when.exact.is_some() || matches!(when.hour, Some(Hour::At(_) | Hour::Dial(_)))
    };
    (0..words.len()).any(|at| when(at).is_some_and(|(when, _)| hour(&when)))
}

/// `sorry, grey 40`: the entry of the same thing.
fn thing(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let text =
        fix.new.trim_start_matches("to ").replace("'s ", " ").replace("yesterdays", "yesterday");
    let text = spelled(text, known);
    let said = parse(&text, known, now).ok()?;
    let old = fix.old(|old| bare_amount(old, known))?;
    let timed = says_hour(&text, known, now);
    let whole = said.len() > 1;
    let mut all = Vec::new();
    for new in said {
        let same = |was: &Event| {
            was.kind() == new.event.kind()
                && own_name(was) == own_name(&new.event)
                && is_measured_alike(was, &new.event)
                && !matches!(was, Event::Note(_) | Event::Crew(_) | Event::Outlook(_))
                && is_so_much(old.as_ref(), was)
                && (*was != new.event && (!fix.soft || matches!(was, Event::Use { .. })))
        };
        let when = (new.at != now || fix.asks && !fix.near).then_some(new.at);
        let found = fitting(known, now, Among { when, told: old.is_some(), whole }, |was| {
            let at = if timed { new.at } else { was.at };
            same(&was.event).then(|| Some(Understood { at, ..new.clone() }))
        });
        if found.is_empty() || whole && found.len() > 1 {
            return None;
        }
        all.extend(found);
    }
    Some(all)
}
