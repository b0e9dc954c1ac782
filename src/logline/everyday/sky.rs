//! The weather to come, told in everyday speech: `tomorrow snow, night minus 5 day 4`. A temperature
//! beside a night is the lowest, one beside a day its highest, whatever the order. It is
//! only offered where any other word stands beside it.

use super::cut_up::{Clause, without};
use super::prose::Prose;
use super::reduced::worth;
use super::so_far::{SoFar, Thing};
use crate::domain::time::NIGHT_ENDS;
use crate::logline::grammar::scene::Scene;
use crate::logline::grammar::weather::End;
use crate::logline::lexis::lexicon::{OPENERS, Sense, lexicon};
use crate::logline::lexis::listed::{is_of, is_small, stem};
use crate::logline::lexis::word::Kind;
use crate::logline::times::moment::{Hour, When};
use chrono::{Duration, NaiveDate, Timelike as _};

/// The night to come.
const TONIGHT: &str = "tonight";
/// How far from a temperature the words may stand that say which it is.
const NEAR: usize = 5;

/// Rows of words for the sky, and the cloud that each means, in per cent: clear or sunny is hardly an
/// eighth of the sky, partly cloudy three to four, cloudy all of it (terms of the weather service of the
/// United States, from memory); rain and snow fall from a whole one (common practice, no source).
const SKIES: [(&str, u32); 3] = [("cloudless", 10), ("scattered", 45), ("overcast", 95)];

/// A word that says which end of a day a temperature is, or which day.
struct Cue {
    from: usize,
    to: usize,
    end: Option<End>,
    day: Option<(NaiveDate, String)>,
}

/// A temperature: where it stands, how high it is, and whether nothing else can be meant.
struct Degrees {
    from: usize,
    to: usize,
    value: f64,
    sure: bool,
}

/// What is told of the weather to come: the rows of an outlook in words of the grammar, which clauses
/// tell them, and their other words that say something.
pub(super) struct Told {
    pub rows: Vec<String>,
    pub used: Vec<usize>,
    pub left: Vec<String>,
    /// Whether it is surely of the weather, and nothing else of it is said.
    pub plain: bool,
}

/// What `clauses` tell of the weather to come.
pub(super) fn told(clauses: &[&Clause], scene: &Scene) -> Option<Told> {
    let prose = Prose::of(clauses, scene).with_ranges();
    let open: Vec<bool> = (0..clauses.len()).map(|at| is_open(&prose, at)).collect();
    let all: Vec<usize> = (0..prose.len()).filter(|at| open[prose.clause[*at]]).collect();
    let degrees = temperatures(&prose, &all);
    let sky = all.iter().any(|at| is_of("sky", stem(&prose.words[*at].low)));
    let firm = sky || degrees.iter().any(|one| one.sure);
    let cues = cues(&prose, &all, firm);
    // `14 tomorrow and 5 at night`.
    let two = |end| cues.iter().any(|cue| cue.end == end);
    let two = degrees.len() == 2 && two(Some(End::Low)) && two(None);
    let sure = firm || two || degrees.iter().any(|one| is_led(&prose, one));
    let days: Vec<&Cue> = cues.iter().filter(|cue| cue.day.is_some()).collect();
    if degrees.is_empty() && !days.is_empty() {
        return of_the_sky_alone(&prose, &all, &cues);
    }
    if degrees.is_empty() || days.is_empty() || !sure {
        return None;
    }
    let mut rows: Vec<DayTold> = Vec::new();
    let (mut used, mut named) = (Vec::new(), true);
    let ends = ends_of(&prose, &degrees, &cues);
    for (one, end) in degrees.iter().zip(ends) {
        let off = |cue: &&&Cue| (cue.from > one.from, cue.from.abs_diff(one.from));
        let own = |cue: &&&Cue| prose.clause[cue.from] == prose.clause[one.from];
        let nearest = days.iter().filter(own).min_by_key(|cue| cue.from.abs_diff(one.from));
        let day = nearest.or_else(|| days.iter().min_by_key(off))?;
        let (date, words) = day.day.as_ref()?;
        let row = row_of(&mut rows, *date, words);
        named &= end.or(day.end).is_some();
        let end =
            end.unwrap_or(if one.value < 0.0 { End::Low } else { day.end.unwrap_or(End::High) });
        // Of two for one end nobody knows which holds.
        if row.ends[end as usize].replace(one.value).is_some() {
            return None;
        }
        used.extend([prose.clause[one.from], prose.clause[day.from]]);
    }
    let hot = all.iter().any(|at| prose.is("fahrenheit", *at));
    let unit = if hot { " F" } else { "" };
    // Of several days nobody knows whose sky it is.
    let sky = (rows.len() == 1).then(|| sky_beside(&prose, &all, &used)).flatten();
    let (clouds, sky) = sky.unwrap_or_default();
    used.extend(clouds.iter().map(|at| prose.clause[*at]));
    used.sort_unstable();
    used.dedup();
    let line = |DayTold { day, ends, .. }: &DayTold| match ends {
        [Some(low), Some(high)] => format!("outlook {day} {low} to {high}{unit}{sky}"),
        [Some(low), None] => format!("outlook {day} low {low}{unit}{sky}"),
        [_, high] => format!("outlook {day} high {}{unit}{sky}", high.unwrap_or_default()),
    };
    let cues: Vec<Cue> = cues.into_iter().chain(clouds.iter().copied().map(Cue::said)).collect();
    let left = left(&prose, &used, &degrees, &cues);
    // A row that is written as one and refused stays refused.
    let next = |at: usize, word: &str| prose.words.get(at).is_some_and(|w| w.is(word));
    let a_row = all.iter().any(|at| next(*at, "outlook") && !next(at + 1, "for"));
    // `generator 2 h, 7 to 9 wed evening` tells no degrees.
    let alone = (0..clauses.len()).all(|at| used.contains(&at));
    let alone = alone && degrees.iter().any(|one| is_led(&prose, one));
    let firm =
        firm || named && alone || all.iter().any(|at| prose.is("lowest highest reaches", *at));
    // Of two skies for one day neither is taken.
    let torn = clouds.is_empty() && all.iter().any(|at| sky_of(&prose, *at).is_some());
    let plain = !a_row && !torn && firm && !leaves_out(&prose, &all, &degrees, &cues);
    Some(Told { rows: rows.iter().map(line).collect(), used, left, plain })
}

/// What is told of one day: in which words it was named, and its low and high.
struct DayTold {
    date: NaiveDate,
    day: String,
    ends: [Option<f64>; 2],
}

/// The row of a day, which may be a new one.
fn row_of<'r>(rows: &'r mut Vec<DayTold>, date: NaiveDate, day: &str) -> &'r mut DayTold {
    let at = rows.iter().position(|row| row.date == date).unwrap_or_else(|| {
        rows.push(DayTold { date, day: day.into(), ends: [None; 2] });
        rows.len() - 1
    });
    // The night to come is of the day that it ends on.
    if rows[at].day == TONIGHT {
        rows[at].day = day.into();
    }
    &mut rows[at]
}

impl Cue {
    /// A word that is told, and of no day or end.
    fn said(at: usize) -> Cue {
        Cue { from: at, to: at + 1, end: None, day: None }
    }
}

/// How much cloud a word means, in per cent.
fn sky_of(prose: &Prose, at: usize) -> Option<u32> {
    // `some clouds` are no overcast.
    let before = at.checked_sub(1).and_then(|at| lexicon().sense(&prose.words[at].low));
    let few = matches!(before, Some(Sense::Hedge(_)));
    let row = SKIES.iter().find(|(row, _)| prose.is(row, at) && !few);
    row.map(|(_, cloud)| *cloud)
}

/// Where the words for the sky stand, and how much cloud they mean; nothing where they differ.
fn cloud(prose: &Prose, wanted: impl Fn(usize) -> bool) -> (Vec<usize>, Option<u32>) {
    let all = (0..prose.len()).filter(|at| wanted(*at));
    let (places, mut meant): (Vec<usize>, Vec<u32>) =
        all.filter_map(|at| Some((at, sky_of(prose, at)?))).unzip();
    meant.dedup();
    match meant[..] {
        [one] => (places, Some(one)),
        _ => (Vec::new(), None),
    }
}

/// The words for the sky beside temperatures, in their clauses or by themselves (`2 to 9, overcast`), and
/// what they add to the row.
fn sky_beside(prose: &Prose, all: &[usize], used: &[usize]) -> Option<(Vec<usize>, String)> {
    let (clouds, cloud) = cloud(prose, |at| all.contains(&at));
    let is_told = |at: usize| clouds.contains(&at) || is_quiet(prose, at);
    let alone =
        |clause: usize| (0..prose.len()).filter(|at| prose.clause[*at] == clause).all(is_told);
    let beside = clouds.iter().map(|at| prose.clause[*at]);
    let sky = format!(", cloud {}%", cloud?);
    beside
        .into_iter()
        .all(|clause| used.contains(&clause) || alone(clause))
        .then_some((clouds, sky))
}

/// `friday sunny`: a day to come and its sky, and nothing else.
fn of_the_sky_alone(prose: &Prose, all: &[usize], cues: &[Cue]) -> Option<Told> {
    let today = prose.scene.clock.civil.date();
    let [Cue { from, day: Some((date, day)), .. }] = cues else { return None };
    let used = vec![prose.clause[*from]];
    let (clouds, cloud) = cloud(prose, |at| all.contains(&at) && used.contains(&prose.clause[at]));
    let said: Vec<Cue> = clouds.into_iter().map(Cue::said).collect();
    let bare = (0..prose.len())
        .filter(|at| used.contains(&prose.clause[*at]))
        .all(|at| is_told(at, &[], cues) || is_told(at, &[], &said) || is_quiet(prose, at));
    let row = format!("outlook {day} cloud {}%", cloud?);
    (bare && *date > today).then(|| Told { rows: vec![row], used, left: Vec::new(), plain: false })
}

/// Whether words of the weather may say more than is told: another number, what it costs, a low or a high
/// without its temperature, or that it will not be so.
fn leaves_out(prose: &Prose, all: &[usize], degrees: &[Degrees], cues: &[Cue]) -> bool {
    let open = |at: usize| {
        let word = &prose.words[at];
        let number = word.is_numeric() && prose.time(at).is_none() && !is_told(at, degrees, cues);
        number || prose.is("money undone", at)
    };
    let alone = |cue: &&Cue| prose.is("lowest highest", cue.from);
    // `frost, down to -2` says its end twice.
    let mut ends: Vec<usize> =
        cues.iter().filter(alone).filter_map(|c| Some(c.end? as usize)).collect();
    ends.sort_unstable();
    ends.dedup();
    // `cold till monday`: of more than that day.
    let spans = |cue: &Cue| cue.day.is_some() && cue.from > 0 && prose.is("spans", cue.from - 1);
    all.iter().any(|at| open(*at)) || ends.len() > degrees.len() || cues.iter().any(spans)
}

/// Whether a word adds nothing to a day's weather. How much cloud there is adds to it.
fn is_quiet(prose: &Prose, at: usize) -> bool {
    let word = &prose.words[at];
    let small = is_small(&word.low) && !is_of("undone unsure", &word.low);
    let sky = is_of("sky", stem(&word.low)) && sky_of(prose, at).is_none();
    small || word.is_any("of a the it and") || sky
}

/// Whether a word is part of a temperature, or says of which day or end it is.
fn is_told(at: usize, degrees: &[Degrees], cues: &[Cue]) -> bool {
    let within = |from: usize, to: usize| (from..to).contains(&at);
    degrees.iter().any(|one| within(one.from, one.to))
        || cues.iter().any(|cue| within(cue.from, cue.to))
}

/// The words of these clauses that say something else.
fn left(prose: &Prose, used: &[usize], degrees: &[Degrees], cues: &[Cue]) -> Vec<String> {
    let all: Vec<usize> = (0..prose.len()).filter(|at| used.contains(&prose.clause[*at])).collect();
    let runs = all.split(|at| is_told(*at, degrees, cues));
    let text = |run: &[usize]| run.iter().map(|at| prose.words[*at].text).collect::<Vec<_>>();
    // `3/11` is one word with the range that it tells.
    let said = runs.map(text).filter(|run| run.len() > 1);
    said.filter_map(|run| worth(&run.join(" "))).collect()
}

/// Whether a clause may be of the weather to come: it names nothing of the van.
fn is_open(prose: &Prose, clause: usize) -> bool {
    let all = || (0..prose.len()).filter(|at| prose.clause[*at] == clause);
    let named = |at: usize| prose.scene.known.find(prose.lows(at).into_iter()).is_some();
    let today = prose.scene.clock.civil.date();
    let past = |at: usize| {
        let date = prose.time(at).and_then(|(when, _)| when.date(prose.scene.clock));
        date.is_some_and(|date| date < today)
    };
    // `hooked up` is two words.
    let done = |at: usize| match lexicon().find(prose.lows(at).into_iter()) {
        Some((Sense::Say("day" | "outlook", _), _)) => false,
        Some((Sense::Say(verb, _), _)) => OPENERS.split(' ').any(|own| own == verb),
        _ => false,
    };
    !all().any(|at| named(at) || done(at) || prose.is("indoors", at) || past(at))
}

/// Whether words around a number say that it is a temperature: `a low of 3`, `17 tops`, `should hit 12`;
/// or the clause is nothing but a range and its day.
fn is_led(prose: &Prose, one: &Degrees) -> bool {
    let own = |at: &usize| prose.clause.get(*at) == Some(&prose.clause[one.from]);
    let near = (one.from.saturating_sub(3)..one.to + 2).filter(own);
    let whole = |at: usize| {
        let word = &prose.words[at];
        let time = (at.saturating_sub(1)..=at).any(|at| prose.time(at).is_some());
        time || word.is_numeric() || word.is_any("to and between from till until on -")
    };
    let all = || (0..prose.len()).filter(own);
    let numbers: Vec<usize> = all().filter(|at| prose.words[*at].is_numeric()).collect();
    // `from two until six` are hours.
    let hours = |at: usize| prose.words[at].is_any("until till");
    let range = matches!(numbers[..], [one, other] if !(one..other).any(hours));
    near.into_iter().any(|at| prose.is("lowest highest reaches", at)) || range && all().all(whole)
}

/// The numbers that may be temperatures.
fn temperatures(prose: &Prose, all: &[usize]) -> Vec<Degrees> {
    let words = &prose.words;
    let is = |at: usize, row: &str| prose.is(row, at);
    let one = |at: usize| {
        let word = words.get(at).filter(|w| w.kind == Kind::Plain && w.is_numeric())?;
        let value: f64 = word.low.parse().ok().filter(|value: &f64| value.abs() <= 130.0)?;
        let unit = usize::from(is(at + 1, "degrees"));
        let behind = usize::from(is(at + 1 + unit, "below"));
        let before = at > 0 && is(at - 1, "below");
        let counts = words.get(at + 1).is_some_and(|w| {
            let counted = prose.scene.known.unit_named(&w.low).is_some()
                || matches!(lexicon().sense(&w.low), Some(Sense::Unit(_)));
            unit == 0 && counted || w.is_any("am pm st nd rd th days day's nights % times")
        });
        // `weather 4 tomoz` is for it.
        let hour = at > 0 && unit == 0 && words[at - 1].is_any("at outlook forecast weather");
        // `gusts 45`, `wind 40 mph`.
        let near = at.saturating_sub(1)..at + 2;
        let winds = near.into_iter().any(|n| is(n, "winds") && prose.clause[n] == prose.clause[at]);
        let value = if before || behind > 0 { -value } else { value };
        (!counts && !hour && !winds).then_some(Degrees {
            from: at - usize::from(before),
            to: at + 1 + unit + behind,
            value,
            sure: unit > 0 || value < 0.0,
        })
    };
    all.iter().filter_map(|at| one(*at)).collect()
}

/// The words that say which end of a day is spoken of, or which day; `firm` is whether it is surely of
/// the weather.
fn cues(prose: &Prose, all: &[usize], firm: bool) -> Vec<Cue> {
    let clock = prose.scene.clock;
    let (today, mut cues, mut done) = (clock.civil.date(), Vec::<Cue>::new(), 0);
    for at in all.iter().copied() {
        if at < done {
            continue;
        }
        let time = prose.time(at).and_then(|(when, taken)| Some((when.date(clock)?, when, taken)));
        let ahead = |when: &When| {
            when.exact.is_none() && !matches!(when.hour, Some(Hour::Part { begins: 5, .. }))
        };
        let shines = prose.words[at].text == "sun" && !is_sunday(prose, at);
        let time = time.filter(|(date, when, _)| *date >= today && ahead(when) && !shines);
        let nightly = prose.begins("nightly", at).max(usize::from(prose.words[at].is("night")));
        let daily = prose.begins("daily", at);
        let (taken, end, day) = match time {
            Some((date, when, taken)) => {
                let night = matches!(when.hour, Some(Hour::Part { begins: 17.., .. }));
                // The lowest of a night is that of the day that it ends on.
                let ends = night && clock.civil.hour() >= NIGHT_ENDS;
                let date = date + Duration::days(i64::from(ends));
                let own = match when.is_tonight() {
                    true => TONIGHT.to_string(),
                    false if ends => date.format("%Y-%m-%d").to_string(),
                    false => when.words.trim_start_matches("on ").to_string(),
                };
                (taken, night.then_some(End::Low), Some((date, own)))
            }
            None if nightly > 0 => (nightly, Some(End::Low), None),
            None if daily > 0 => (daily, Some(End::High), None),
            None => match End::named(&prose.words[at]) {
                None => continue,
                end => (1, end, None),
            },
        };
        done = at + taken;
        cues.push(Cue { from: at, to: done, end, day });
    }
    // `overnight` by itself is the night to come.
    if cues.iter().all(|cue| cue.day.is_none()) {
        let nightly = |cue: &&mut Cue| {
            prose.begins("nightly", cue.from) > 0 || firm && prose.words[cue.from].is("night")
        };
        let next = today + Duration::days(i64::from(clock.civil.hour() >= NIGHT_ENDS));
        let night = cues.iter_mut().find(nightly);
        night.into_iter().for_each(|cue| cue.day = Some((next, TONIGHT.to_string())));
    }
    cues
}

/// `sat -1 to 8, sun colder`: whether `sun` begins a clause beside another day in short.
fn is_sunday(prose: &Prose, at: usize) -> bool {
    let first = at == 0 || prose.clause[at - 1] != prose.clause[at];
    first && prose.words.iter().any(|w| is_of("short-days", &w.text.to_lowercase()))
}

/// Which end of its day each temperature is: as the nearest word says that says it of no other, else the
/// lower of two that stand together.
fn ends_of(prose: &Prose, degrees: &[Degrees], cues: &[Cue]) -> Vec<Option<End>> {
    let mut taken = vec![false; cues.len()];
    let mut ends: Vec<Option<End>> = degrees.iter().map(|_| None).collect();
    for at in 0..degrees.len() {
        let one = &degrees[at];
        let range = degrees.get(at + 1).filter(|next| {
            let between = one.to..next.from;
            between.len() == 1 && prose.words[one.to].is_any("to and till until - –")
        });
        let said = |cue: &Cue| cue.end.is_some() && cue.from >= one.to;
        if let Some(next) = range.filter(|next| {
            !cues.iter().any(|cue| said(cue) && cue.from < next.from)
                && !cues.iter().any(|cue| cue.end.is_some() && cue.to == one.from)
        }) && ends[at].is_none()
        {
            let low = one.value <= next.value;
            ends[at] = Some(if low { End::Low } else { End::High });
            ends[at + 1] = Some(if low { End::High } else { End::Low });
        }
        if ends[at].is_some() {
            continue;
        }
        let own = |cue: &Cue| prose.clause[cue.from] == prose.clause[one.from];
        // `low o 2 high o 9`: where a word of them comes first, each stands before its own.
        let first = degrees.iter().find(|of| prose.clause[of.from] == prose.clause[one.from]);
        let leads =
            |cue: &Cue| cue.end.is_some() && own(cue) && first.is_some_and(|f| cue.from < f.from);
        let behind = if cues.iter().any(leads) { 2 } else { 0 };
        let off = |cue: &Cue| match cue.from < one.from {
            true => one.from - cue.to.min(one.from),
            false => cue.from - one.to.min(cue.from) + behind,
        };
        let near = (0..cues.len())
            .filter(|n| cues[*n].end.is_some() && own(&cues[*n]) && off(&cues[*n]) <= NEAR)
            .filter(|n| !taken[*n])
            .min_by_key(|n| off(&cues[*n]));
        if let Some(near) = near {
            taken[near] = true;
            ends[at] = cues[near].end;
        }
    }
    ends
}

impl SoFar<'_> {
    /// Takes what the sentences tell of the weather to come out of them.
    pub(super) fn weather(&mut self, sentences: &mut [Vec<Clause>]) -> Vec<Thing> {
        let clauses: Vec<&Clause> = sentences.iter().flatten().collect();
        let told = told(&clauses, self.scene);
        let told = told.filter(|told| told.rows.iter().all(|row| self.tells(row)));
        let Some(Told { rows, used, mut left, plain }) = told else { return Vec::new() };
        let all: Vec<String> = used.iter().map(|at| clauses[*at].text.clone()).collect();
        self.doubt |= !plain;
        without(sentences, &used);
        let text = all.join(", ");
        let thing = |row| {
            let left = std::mem::take(&mut left);
            Thing { remark: left.join(", "), left, ..Thing::new(row, &text) }
        };
        rows.into_iter().map(thing).collect()
    }
}
