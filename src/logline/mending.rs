//! What was said wrong before, put right by the next line: `no, it was 40`, `i meant grey not
//! fresh`, `scrap that`. It is said of the last line that this device wrote or, where it names a
//! thing or a day, of the one entry that fits; what fits several is asked back.

use super::amounts::{self, Said};
use super::echo::echo;
use super::heard::{Heard, Mended};
use super::lexicon::lexicon;
use super::misread::{Misread, Offer, Understood};
use super::moment::{Clock, Looks};
use super::recent::Recent;
use super::said::parse;
use super::vocabulary::Vocabulary;
use super::{speech, time, words};
use crate::domain::{Event, Happened, Moment, Quantity, Unit};
use chrono::{Datelike as _, Timelike as _};

/// As [`parse`], for a line that may put right what was written before it (see
/// [`Vocabulary::after`]).
///
/// # Errors
///
/// As [`parse`]; and where it is open what is put right.
pub fn heard(words: &str, vocabulary: &Vocabulary, now: Moment) -> Result<Heard, Misread> {
    match mended(words, vocabulary, now) {
        Some(heard) => heard,
        None => parse(words, vocabulary, now).map(Heard::Said),
    }
}

/// A line that puts something right.
struct Fix<'l> {
    /// What holds; empty where nothing does.
    new: String,
    /// What does not.
    old: Option<String>,
    /// What else was said.
    rest: &'l str,
    /// Whether only a word like `only` says so, which may as well be said of a new thing.
    soft: bool,
    /// How it is taken back, where it is.
    back: Option<Back>,
}

/// How plainly a word takes something back: who forgets the dishes may not have done them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Back {
    Plainly,
    Gently,
}

/// What `line` puts right; `None` where it is no line of that kind, or not plainly.
fn mended(line: &str, known: &Vocabulary, now: Moment) -> Option<Result<Heard, Misread>> {
    if let Some(found) = as_echoed(line, known, now) {
        return Some(Ok(Heard::Mended(found)));
    }
    let fix = fix(line, known)?;
    let found = match fix.back {
        Some(_) => taken_back(&fix, known, now),
        None => corrected(&fix, known, now),
    }?;
    let found: Vec<Mended> = found
        .into_iter()
        .map(|mut mended| {
            mended.note = Some(fix.rest.trim().to_string()).filter(|rest| !rest.is_empty());
            mended
        })
        .collect();
    match &found[..] {
        [] => None,
        all if fix.back == Some(Back::Gently) && all.iter().any(|one| one.was.at <= now) => {
            Some(Err(which(line, all, known, now)))
        }
        all if all.iter().all(|one| one.whole) || all.len() == 1 => Some(Ok(Heard::Mended(found))),
        several => Some(Err(which(line, several, known, now))),
    }
}

/// `correction: grey 40% (was grey 60%)`, as the echo says it: both sides are told.
fn as_echoed(line: &str, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let (new, was) = line.strip_prefix("correction: ")?.strip_suffix(')')?.split_once(" (was ")?;
    let (new, was) = (parse(new, known, now).ok()?, parse(was, known, now).ok()?);
    let one = |(new, was): (Understood, Understood)| {
        let same = |recent: &&Recent| recent.said.event == was.event && recent.said.at == was.at;
        Some(becomes(known.recent.iter().find(same)?, new, true))
    };
    (new.len() == was.len()).then(|| new.into_iter().zip(was).map(one).collect())?
}

/// Several entries that it may be said of.
fn which(line: &str, several: &[Mended], known: &Vocabulary, now: Moment) -> Misread {
    let length = line.chars().count();
    let mut misread = Misread::new(0, length, line, "which of them is put right?");
    let said = |mended: &Mended| mended.becomes.as_ref().unwrap_or(&mended.was).clone();
    misread.instead = several
        .iter()
        .take(3)
        .map(|mended| {
            let word = if mended.becomes.is_some() { "correction" } else { "scrap" };
            let line = format!("{word}: {}", echo(&[said(mended)], known, now));
            let typed = Some((line.clone(), line.chars().count()));
            Offer { line, typed, lacks: None }
        })
        .collect();
    misread
}

/// Reads what kind of line it is.
fn fix<'l>(line: &'l str, known: &Vocabulary) -> Option<Fix<'l>> {
    let (said, rest) = sentence(line);
    let text = said.to_lowercase().replace('’', "'");
    let mut raw: Vec<&str> = text.split_whitespace().collect();
    let edge = |c: char| ",;:!".contains(c);
    let mut all: Vec<&str> = raw.iter().map(|w| w.trim_matches(edge)).collect();
    let (mut strong, mut weak, mut soft) = (false, false, false);
    loop {
        let plain = lexicon().begins("mends", &all);
        let aside = lexicon().begins("aside", &all).max(lexicon().begins("wait", &all));
        let taken = plain.max(aside);
        // `no showers` says that there was none.
        let whole = aside == 1
            && all[0] == "no"
            && !line.trim_start().get(2..).is_some_and(|l| l.starts_with([',', '.', ' ', ':']));
        if taken == 0 || whole {
            break;
        }
        strong |= plain >= aside;
        weak |= aside > plain && !lexicon().is_one("filler", &all[..taken]);
        soft |= lexicon().is_one("soft", &all[..taken]);
        all.drain(..taken);
        raw.drain(..taken);
    }
    while all.len() > 1 && lexicon().begins("wait", &all[all.len() - 1..]) == 1 {
        weak = true;
        all.pop();
        raw.pop();
    }
    let gone = lexicon().begins("scrap", &all);
    if gone > 0 {
        let takes_back =
            if lexicon().is_one("gently", &all[..gone]) { Back::Gently } else { Back::Plainly };
        return Some(Fix {
            new: raw[gone..].join(" "),
            old: None,
            rest,
            soft,
            back: Some(takes_back),
        });
    }
    let (new, old) = halves(&all);
    let new = if old.is_some() { new } else { raw.join(" ") };
    let new = new.trim_end_matches(edge).to_string();
    let no_comma = weak && !strong && said.trim_start().to_lowercase().starts_with("no ");
    let bare = !new.contains(char::is_alphabetic);
    let holds = strong || old.is_some() || weak && (!no_comma || bare);
    let new = new.trim_start_matches("it was ").trim_start_matches("it is ").to_string();
    let named = || known.find(all.iter().copied()).is_some();
    (holds && (!new.is_empty() || named())).then_some(Fix {
        new,
        old,
        rest,
        soft: soft && !strong,
        back: None,
    })
}

/// The first sentence, and what is said behind it; where that holds a number, all is one.
fn sentence(line: &str) -> (&str, &str) {
    let ends = line.find(". ").or_else(|| line.find(", i ")).or_else(|| line.find(", I "));
    match ends.map(|at| line.split_at(at + 1)) {
        Some((first, rest)) if !rest.contains(|c: char| c.is_ascii_digit()) => {
            (first.trim_end_matches(['.', ',']), rest)
        }
        _ => (line.trim_end_matches(['.', '!']), ""),
    }
}

/// What holds, and what does not: `not 60 but 40`, `40 not 60`, `40 instead of 60`.
fn halves(all: &[&str]) -> (String, Option<String>) {
    let join = |part: &[&str]| part.join(" ");
    let not = all.iter().position(|w| *w == "not");
    if let (Some(at), Some(but)) = (not, all.iter().position(|w| *w == "but"))
        && at < but
    {
        let before = join(&all[..at]);
        return (
            format!("{before} {}", join(&all[but + 1..])).trim().into(),
            Some(join(&all[at + 1..but])),
        );
    }
    let pair = |one: &str, other: &str| {
        all.windows(2).position(|pair| pair[0] == one && pair[1] == other).map(|at| (at, at + 2))
    };
    let parts = not.map(|at| (at, at + 1)).or(pair("instead", "of")).or(pair("rather", "than"));
    match parts.filter(|(at, behind)| *at > 0 && *behind < all.len()) {
        Some((at, behind)) => {
            let mut new = all[..at].to_vec();
            if new.last() == Some(&"and") {
                new.pop();
            }
            // `90 not 80 for the water`.
            let of = all[behind..].iter().position(|w| ["for", "on"].contains(w));
            let old = &all[behind..of.map_or(all.len(), |of| behind + of)];
            let named = of.map(|of| join(&all[behind + of + 1..])).unwrap_or_default();
            (format!("{named} {}", join(&new)).trim().to_string(), Some(join(old)))
        }
        None => (join(all), None),
    }
}

/// What no longer stands.
fn taken_back(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let gone = |recent: &Recent, whole| Mended {
        of: recent.id.clone(),
        was: recent.said.clone(),
        becomes: None,
        note: None,
        whole,
    };
    let object: Vec<&str> =
        fix.new.split_whitespace().map(|w| w.trim_matches([',', '!'])).collect();
    if lexicon().begins("last-line", &object) == object.len() {
        return Some(known.last_line(now).iter().map(|recent| gone(recent, true)).collect());
    }
    if let Ok(said) = parse(&fix.new, known, now) {
        let mut all = Vec::new();
        for said in &said {
            let when = Some(said.at).filter(|at| *at != now);
            let same = |recent: &Recent| recent.said.event == said.event;
            all.extend(fitting(known, now, (when, false), same).into_iter().map(|r| gone(r, true)));
        }
        if all.len() == said.len() {
            return Some(all);
        }
    }
    let (name, when) = named(&object, known, now)?;
    let found = fitting(known, now, (when, false), |recent| {
        let own = own_name(&recent.said.event);
        own.is_some_and(|own| own == name)
    });
    Some(found.into_iter().map(|recent| gone(recent, false)).collect())
}

/// The thing of the rig that words name, with the time that stands beside it.
fn named(object: &[&str], known: &Vocabulary, now: Moment) -> Option<(String, Option<Moment>)> {
    let small = ["the", "my", "our", "that", "from", "of", "for", "on", "one", "two", "2"];
    let mut words: Vec<&str> = object.to_vec();
    while words.first().is_some_and(|w| small.contains(w)) {
        words.remove(0);
    }
    let (meaning, taken) = known.find(words.iter().copied())?;
    let name = meaning.activity.as_ref().or(meaning.stock.as_ref())?.clone();
    let mut rest = words[taken..].to_vec();
    while rest.first().is_some_and(|w| small.contains(w)) {
        rest.remove(0);
    }
    match rest.is_empty() {
        true => Some((name, None)),
        false => Some((name, Some(moment(&rest.join(" "), None, known, now)?))),
    }
}

fn own_name(event: &Event) -> Option<&str> {
    match event {
        Event::Use { activity, .. } => Some(activity),
        other => other.stock(),
    }
}

/// Entries that fit: of the day that is named; of the last line; of these days, where more is said
/// of them than what they are.
fn fitting<'k>(
    known: &'k Vocabulary,
    now: Moment,
    (when, told): (Option<Moment>, bool),
    fits: impl Fn(&Recent) -> bool,
) -> Vec<&'k Recent> {
    let of = |all: Vec<&'k Recent>| all.into_iter().filter(|r| fits(r)).collect::<Vec<_>>();
    if let Some(when) = when {
        let day = known.zone.date(when);
        return of(known.recent.iter().filter(|r| known.zone.date(r.said.at) == day).collect());
    }
    let last = of(known.last_line(now));
    if !last.is_empty() || !told {
        return last;
    }
    let today = known.zone.date(now);
    let near = known.recent.iter().filter(|r| (today - known.zone.date(r.said.at)).num_days() < 2);
    of(near.collect())
}

/// What stands in place of what was said.
fn corrected(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let found = amount(fix, known, now).or_else(|| name(fix, known, now));
    found.or_else(|| moved(fix, known, now)).or_else(|| thing(fix, known, now))
}

fn becomes(recent: &Recent, said: Understood, whole: bool) -> Mended {
    let (of, was) = (recent.id.clone(), recent.said.clone());
    Mended { of, was, becomes: Some(said), note: None, whole }
}

/// The amount that is all of `text`.
fn bare_amount(text: &str, known: &Vocabulary) -> Option<Said> {
    let small = "it was is it's at to about the be of only";
    let text = text.trim_end_matches('.');
    let pieces = words::pieces(text, known).ok()?;
    let [piece] = &pieces[..] else { return None };
    let words = speech::plain(piece.words.clone(), known);
    let from = words.iter().take_while(|w| w.is_any(small)).count();
    let (said, taken) = amounts::read(&words[from..], known).ok().flatten()?;
    (from + taken == words.len()).then_some(said)
}

/// `it was 40`: the one amount of the last line, or the one that was so much.
fn amount(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let new = bare_amount(&fix.new, known)?;
    let old = match &fix.old {
        Some(old) => Some(bare_amount(old, known)?),
        None => None,
    };
    let fits = |recent: &Recent| {
        let Some(was) = recent.said.event.amount() else { return false };
        let same = old.as_ref().is_none_or(|old| is_so_much(old, was));
        same && with_amount(&recent.said, &new).is_some_and(|said| is_valid(&said, known, now))
    };
    let found = fitting(known, now, (None, fix.old.is_some()), fits);
    Some(
        found
            .into_iter()
            .filter_map(|r| Some(becomes(r, with_amount(&r.said, &new)?, false)))
            .collect(),
    )
}

/// Whether what was logged is the amount that is said.
fn is_so_much(said: &Said, was: &Quantity) -> bool {
    match said {
        Said::Bare(number) | Said::Days(number) => *number == was.amount,
        said => said.quantity().is_some_and(|said| said == *was),
    }
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
    let words = |text: &str| text.split_whitespace().map(String::from).collect::<Vec<_>>();
    let meaning = |text: &str| {
        let words = words(text);
        let words: Vec<&str> = words
            .iter()
            .map(String::as_str)
            .filter(|w| !["the", "it", "was"].contains(w))
            .collect();
        let (meaning, taken) = known.find(words.iter().copied())?;
        (taken == words.len()).then(|| meaning.clone())
    };
    let new = meaning(&fix.new)?;
    let old = match &fix.old {
        Some(old) => Some(meaning(old)?),
        None => None,
    };
    let renamed = |recent: &Recent| {
        let own = own_name(&recent.said.event)?;
        let is = |name: &Option<String>| name.as_deref() == Some(own);
        if old.as_ref().is_some_and(|old| !is(&old.stock) && !is(&old.activity)) {
            return None;
        }
        let mut said = recent.said.clone();
        match &mut said.event {
            Event::Use { activity, .. } => *activity = new.activity.clone()?,
            Event::Level { stock, .. } | Event::Fill { stock, .. } | Event::Empty { stock, .. } => {
                *stock = new.stock.clone()?
            }
            _ => return None,
        }
        (said != recent.said && is_valid(&said, known, now)).then_some(said)
    };
    let last = known.last_line(now);
    Some(last.into_iter().filter_map(|r| Some(becomes(r, renamed(r)?, false))).collect())
}

/// The moment that `text` is, at the hour of `was` where it names a day alone.
fn moment(text: &str, was: Option<&Happened>, known: &Vocabulary, now: Moment) -> Option<Moment> {
    let civil = known.zone.here(now).naive_local();
    (1..=9000).contains(&civil.year()).then_some(())?;
    let clock = Clock { now, about: None, civil, zone: known.zone };
    let text = text.replace("'s", "");
    let mut pieces = words::pieces(&text, known).ok()?;
    let words = speech::plain(pieces.pop().filter(|_| pieces.is_empty())?.words, known);
    let when = time::phrase(&words, &clock)?;
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
    let first = last.first()?;
    let at = moment(text, Some(&first.said), known, now)?;
    let one_time = last.iter().all(|recent| recent.said.at == first.said.at);
    // What was planned stays a plan.
    let still = (at > now) == (first.said.at > now);
    let all =
        last.iter().map(|recent| becomes(recent, Happened { at, ..recent.said.clone() }, true));
    (one_time && still).then(|| all.collect())
}

/// `sorry, grey 40`: the entry of the same thing.
fn thing(fix: &Fix, known: &Vocabulary, now: Moment) -> Option<Vec<Mended>> {
    let text =
        fix.new.trim_start_matches("to ").replace("'s ", " ").replace("yesterdays", "yesterday");
    let said = parse(&text, known, now).ok()?;
    let old = fix.old.as_ref().and_then(|old| bare_amount(old, known));
    if old.is_none() && fix.old.is_some() {
        return None;
    }
    let mut all = Vec::new();
    for new in &said {
        let same = |recent: &Recent| {
            let was = &recent.said.event;
            was.kind() == new.event.kind()
                && own_name(was) == own_name(&new.event)
                && !matches!(was, Event::Note(_) | Event::Crew(_) | Event::Outlook(_))
                && old
                    .as_ref()
                    .is_none_or(|old| was.amount().is_some_and(|was| is_so_much(old, was)))
                && (*was != new.event && (!fix.soft || matches!(was, Event::Use { .. })))
        };
        let when = (new.at != now).then_some(new.at);
        let found = fitting(known, now, (when, old.is_some()), same);
        let whole = said.len() > 1;
        if found.is_empty() || whole && found.len() > 1 {
            return None;
        }
        all.extend(found.into_iter().map(|recent| {
            let said =
                Understood { at: recent.said.at, event: new.event.clone(), note: new.note.clone() };
            becomes(recent, said, whole)
        }));
    }
    Some(all)
}
