//! How long something went on, told by when it began and ended: asked back in hours.

use super::moment::{Clock, Hour, Looks, after_days, named_moment, time};
use super::time::{clocked, dotted, is_of_24_hours, is_time_word, phrase};
use crate::domain::{Moment, Unit};
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Kind, Word};
use chrono::{Duration, Timelike as _};

/// What is told to be longer may be something else, as a job of nine to five; in minutes. Common practice,
/// no source.
const LONGEST_WORK: i64 = 6 * 60;
/// The hour before which nothing is told to have begun that may have begun twelve hours later. Common
/// practice, no source.
const EARLIEST: u32 = 6;

/// `drove from 10 to 12:30`, `plugged in since noon`: so long, which is asked back in hours.
pub(in crate::logline) fn lasting(
    words: &[Word],
    known: &Vocabulary,
    clock: &Clock,
) -> Option<Misread> {
    let hours = |w: &Word| {
        let name = known.meaning(&w.low)?.activity.as_ref()?;
        let unit = &known.activity_on(name, clock.civil.date())?.0.counted_in;
        unit.factor_to(&Unit::Hour, None)
    };
    let lasts = |w: &Word| w.is_any("drove shore on-shore generator charged");
    let asked = |long: String, sure: bool| Some(so_long(words, long, sure));
    let ranged = ranged(words);
    let words = &ranged[..];
    if let [verb, clock] = words
        && let (true, Some((h, min))) = (lasts(verb), clock.low.split_once(':'))
    {
        return asked(format!("{} {h} h {min} min", verb.low), false);
    }
    let from = words.iter().position(|w| w.is("from") || w.is("since"))?;
    let thing = &words[..from];
    let named = thing.iter().position(|w| lasts(w) || hours(w).is_some())?;
    // `plugged in at the marina from six`.
    let place = thing[named + 1..].iter().position(|w| w.is("at")).map(|at| named + 1 + at);
    let (thing, place) = thing.split_at(place.unwrap_or(thing.len()));
    let counts = |w: &Word| w.is_numeric() || known.unit_named(&w.low).is_some();
    let Ends { begins, ends, beside, told: both, dial } = Ends::of(&words[from..], clock)?;
    if beside.iter().any(|w| counts(w) || w.kind != Kind::Plain) {
        return None;
    }
    let minutes = (ends - begins).num_minutes();
    let lasting = thing.iter().any(lasts);
    let most = if lasting { 72 } else { 24 };
    if !(1..=most * 60).contains(&minutes) || ends > clock.now {
        return None;
    }
    let time = named_moment(begins, clock.zone, clock.now);
    let plain = |w: &&Word| lasts(w) || counts(w) || w.is_any("on for at about a an");
    let (own, other) = told(thing, lasting, plain);
    // `laptop 6 h from 9 to 4`: how long holds as it was said; the hours say when.
    let said = thing.windows(2).find_map(|two| minutes_said(two, known)).filter(|_| both);
    let by_hours = format!("{own} {} h {} min {time}", minutes / 60, minutes % 60);
    let long = if said.is_some() { format!("{own} {time}") } else { by_hours };
    let short = minutes <= LONGEST_WORK || lasting;
    // As both say it, to a tenth.
    let minutes = minutes as f64;
    let agrees = said.is_none_or(|said| (said - minutes).abs() * 10.0 <= minutes);
    let one = short && agrees && !thing.iter().any(|w| w.is("charged"));
    let sure = one && both && is_dated(&words[from..], [begins, ends], (clock, dial));
    let beside =
        other.into_iter().chain(place).chain(beside).map(|w| w.text).collect::<Vec<_>>().join(" ");
    let beside = if beside.is_empty() { beside } else { format!(" ({beside})") };
    asked(long.replace(" 0 min", "").replace(" 0 h", "") + &beside, sure)
}

/// When something began and ended.
struct Ends<'w, 'p> {
    begins: Moment,
    ends: Moment,
    /// What stands behind the end.
    beside: &'w [Word<'p>],
    /// Whether the end is told; else it goes on.
    told: bool,
    /// Whether an hour may be of either half of the day.
    dial: bool,
}

impl<'w, 'p> Ends<'w, 'p> {
    /// As the words say from `from` or `since` on.
    fn of(words: &'w [Word<'p>], clock: &Clock) -> Option<Ends<'w, 'p>> {
        // An hour past noon on the clock shows that the other one is of that clock, too.
        let dial = !words.iter().any(|w| is_of_24_hours(&w.low));
        let at = |said: &[Word], limit: Moment| shown_at(&words[0], said, (limit, dial), clock);
        let (rest, last) = on_a_day(&words[1..], clock);
        let to = rest.iter().position(|w| w.is("to") || w.is("until"));
        // What stands behind the end is a remark.
        let end = |to: usize| {
            let behind = &rest[to + 1..];
            (1..=behind.len()).rev().find_map(|n| Some((at(&behind[..n], last)?, &behind[n..])))
        };
        let (ends, beside) = to.map_or(Some((clock.now, &rest[..0])), end)?;
        let rest = &rest[..rest.len() - beside.len()];
        let mut begins = at(&rest[..to.unwrap_or(rest.len())], ends - Duration::minutes(1))?;
        if ends <= begins {
            begins = after_days(begins, -1, clock)?;
        }
        let shown =
            |said: &[Word]| said.iter().any(|w| w.low.contains(':') && !dial || w.is_any("am pm"));
        // `ten last night till eight`, told in the evening.
        let half = Duration::hours(12);
        let bare = dial && to.is_some_and(|to| rest.len() == to + 2 && !shown(&rest[to + 1..]));
        let ends = if bare && ends - begins > half { ends - half } else { ends };
        Some(Ends { begins, ends, beside, told: to.is_some(), dial })
    }
}

/// How many minutes a number and its unit are.
fn minutes_said(words: &[Word], known: &Vocabulary) -> Option<f64> {
    let in_hours = known.unit_named(&words[1].low)?.factor_to(&Unit::Hour, None)?;
    let one = words[0].is_any("a an").then_some(1.0);
    Some(one.or_else(|| words[0].low.parse().ok())? * in_hours * 60.0)
}

/// Whether a word says which half of the day it is.
fn shows_half(word: &Word) -> bool {
    word.is_any("am pm morning afternoon evening night noon midnight")
}

/// Whether two told ends leave nothing open: that was today, or its day is told, and in one half of it.
fn is_dated(words: &[Word], ends: [Moment; 2], (clock, dial): (&Clock, bool)) -> bool {
    let day = |w: &Word| w.is("last") || is_time_word(&w.low) && w.low.ends_with("day");
    let today = ends.iter().all(|at| clock.zone.date(*at) == clock.civil.date());
    // `6 to 7`, told in the evening, may be of the morning.
    let early = dial && clock.zone.here(ends[0]).hour() >= EARLIEST + 12;
    (today || words.iter().any(day)) && (!early || words.iter().any(shows_half))
}

/// `2 to 5 yesterday`: the hours without the day at their end, and the end of that day, or now.
fn on_a_day<'w, 'p>(words: &'w [Word<'p>], clock: &Clock) -> (&'w [Word<'p>], Moment) {
    let to = words.iter().position(|w| w.is_any("to until")).map_or(words.len(), |to| to + 2);
    // `9 this morning` is an hour; `12 this morning` is none.
    let end = words.get(to.wrapping_sub(1)).map(|w| Word { low: "at".into(), ..w.clone() });
    let hour = |end| phrase(&[&[end], &words[to - 1..]].concat(), clock).is_some();
    let whole = end.is_some_and(hour);
    let day = (to..words.len()).find_map(|at| {
        let when = phrase(&words[at..], clock).filter(|when| when.day.is_some())?;
        let when = Some(when).filter(|when| !whole || when.is_a_day())?;
        let date = clock.zone.date(when.resolve(clock, Looks::Back).ok()?);
        let ends = match when.hour {
            None | Some(Hour::Part { begins: 17.., .. }) => date.succ_opt()?.and_time(time(0, 0)),
            Some(Hour::Part { begins, .. }) => date.and_time(time(begins.max(6) + 6, 0)),
            Some(_) => return None,
        };
        Some((&words[..at], clock.zone.moment(ends)))
    });
    day.map_or((words, clock.now), |(hours, ends)| (hours, ends.min(clock.now)))
}

/// The words of what went on; what else was said of a drive or a charge is a remark.
fn told<'w, 'p>(
    thing: &'w [Word<'p>],
    lasts: bool,
    plain: impl Fn(&&Word) -> bool,
) -> (String, Vec<&'w Word<'p>>) {
    let (own, other): (Vec<&Word>, Vec<&Word>) = thing.iter().partition(|w| !lasts || plain(w));
    (own.into_iter().map(Word::said).collect::<Vec<_>>().join(" "), other)
}

fn so_long(words: &[Word], long: String, sure: bool) -> Misread {
    let message = format!("so long? Write `{long}`");
    let mut misread = Misread::over(words, message).write(long);
    misread.mend.swaps.iter_mut().for_each(|swap| swap.sure = sure);
    misread
}

/// When clocks showed what is said behind `head`, before `limit`; on a `dial` either half of a day.
fn shown_at(
    head: &Word,
    said: &[Word],
    (limit, dial): (Moment, bool),
    clock: &Clock,
) -> Option<Moment> {
    // `half four` is half past four.
    let (said, minutes) = match said {
        [half, hour] if half.is("half") => (std::slice::from_ref(hour), 30),
        said => (said, 0),
    };
    let on_clock = |w: &Word| {
        let low = clocked(&w.low).unwrap_or_else(|| w.low.clone());
        let (hour, minutes) = low.split_once(':').unwrap_or((&low, "0"));
        let minutes = minutes.parse::<u32>().ok().filter(|minutes| *minutes < 60)?;
        Some((hour.parse::<u32>().ok().filter(|hour| *hour < 24)?, minutes))
    };
    if let [hour] = said
        && let Some((hour, more)) = on_clock(hour)
    {
        let minutes = minutes + more;
        let both = [hour, hour + 12];
        let halves = if dial && (1..12).contains(&hour) { &both[..] } else { &both[..1] };
        return last_before(limit, (halves, minutes), clock);
    }
    let head = Word { low: "at".into(), ..head.clone() };
    let with = [&[head], said].concat();
    let when = phrase(&with, clock).or_else(|| phrase(said, clock))?;
    // `quarter past 8`.
    if let Some(Hour::Dial(at)) =
        when.hour.filter(|_| when.day.is_none() && when.exact.is_none() && dial)
    {
        return last_before(limit, (&[at.hour(), at.hour() + 12], at.minute()), clock);
    }
    when.resolve(clock, Looks::Back).ok()
}

/// The last time before `limit` that clocks showed one of these hours.
fn last_before(limit: Moment, (hours, minutes): (&[u32], u32), clock: &Clock) -> Option<Moment> {
    let today = clock.zone.date(limit);
    let days = [Some(today), today.pred_opt()].into_iter().flatten();
    let all = days.flat_map(|day| hours.iter().map(move |hour| day.and_time(time(*hour, minutes))));
    all.map(|at| clock.zone.moment(at)).filter(|at| *at <= limit).max()
}

/// `10 til 2`, `09:15-16:45`: the words with `from` in front of the first of two hours.
fn ranged<'a>(words: &[Word<'a>]) -> Vec<Word<'a>> {
    let word = |low: &str, of: &Word<'a>| Word { low: low.to_string(), ..of.clone() };
    let clock =
        |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b':');
    let mut all: Vec<Word> = Vec::with_capacity(words.len() + 3);
    for (at, w) in words.iter().enumerate() {
        // `17.00 - 18.30`.
        let beside = [at.wrapping_sub(1), at + 1].into_iter().filter_map(|at| words.get(at));
        let parts = |w: &Word| w.is_any("- – to until from");
        if let Some(hour) = dotted(&w.low).filter(|_| beside.clone().any(parts)) {
            all.push(word(&hour, w));
            continue;
        }
        let hours = beside.filter(|w| dotted(&w.low).is_some() || clock(&w.low)).count() == 2;
        if hours && w.is_any("- –") {
            all.push(word("to", w));
            continue;
        }
        // `2-5pm`.
        let half = ["am", "pm"].into_iter().find(|half| w.low.ends_with(half));
        let hours = w.low.strip_suffix(half.unwrap_or_default()).unwrap_or_default();
        match hours.split_once(['-', '–']) {
            Some((from, to)) if w.kind == Kind::Plain && clock(from) && clock(to) => {
                all.extend([word("from", w), word(from, w), word("to", w), word(to, w)]);
                all.extend(half.map(|half| word(half, w)));
            }
            _ => all.push(w.clone()),
        }
    }
    // `at the marina 2 to 5`: there `at` says where.
    let headed = |at: usize| {
        all[at].is_any("from since between")
            || all[at].is("at") && all.get(at + 1).is_some_and(Word::is_numeric)
    };
    let headed = (0..all.len()).any(headed);
    let to = all.iter().position(|w| w.is_any("to until")).filter(|_| !headed);
    if let Some(to) = to {
        // `ten last night till eight`.
        let part = |w: &Word| is_time_word(&w.low) || w.is("last") || w.is("this");
        let parts = all[..to].iter().rev().take_while(|w| part(w)).count();
        let hour = to.checked_sub(1 + parts).filter(|at| *at > 0 && clock(&all[*at].low));
        let hour = hour.map(|at| at - usize::from(at > 1 && all[at - 1].is("half")));
        if let Some(at) = hour
            .filter(|_| all.get(to + 1).is_some_and(|w| clock(&w.low) || w.is_any("now noon half")))
        {
            all.insert(at, word("from", &all[at]));
        }
    }
    all
}
