//! The weather to come, told in sentences of everyday speech: `minus two tonight, nine tomorrow and
//! cloudy`. It is only ever offered, as a row of the outlook for each day.

use super::cut_up::{Clause, without};
use super::listed::is_small;
use super::misread::example;
use super::moment::{Hour, When};
use super::prose::Prose;
use super::scene::Scene;
use super::so_far::Thing;
use super::time::is_time_word;
use crate::domain::time::NIGHT_ENDS;
use chrono::{Days, NaiveDate, Timelike as _};

/// How far apart the lowest and the highest temperature of a day stand in a row where only one of them
/// was told: common of a day in autumn, from memory; it is shown as the number that is to be told.
const SPREAD_C: f64 = 7.0;
const SPREAD_F: f64 = 13.0;
/// The coldest and the hottest that a number may say, in degrees of either scale; and what is hotter
/// than any day in Celsius.
const DEGREES: std::ops::RangeInclusive<f64> = -60.0..=130.0;
const HOTTEST_C: f64 = 47.0;

/// Which end of the day's temperatures is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Low,
    High,
}

/// What was said of temperatures: one, or from one to another.
struct Temperature {
    from: usize,
    to: usize,
    low: Option<f64>,
    high: Option<f64>,
    /// One of which it was not said whether it is the lowest or the highest.
    either: Option<f64>,
    /// Whether its own words say that it is a temperature.
    plainly: bool,
}

/// What was told of one day.
struct Row {
    date: NaiveDate,
    low: Option<f64>,
    high: Option<f64>,
}

/// A day, and whether it is the night before it.
struct Named {
    from: usize,
    to: usize,
    date: NaiveDate,
    night: bool,
}

/// Takes what `sentences` tell of the weather to come out of them.
pub(super) fn told(sentences: &mut [Vec<Clause>], scene: &Scene) -> Vec<Thing> {
    let clauses: Vec<&Clause> = sentences.iter().flatten().collect();
    let sky = Sky { prose: Prose::of(&clauses, scene), clauses: &clauses };
    let Some((rows, used)) = sky.rows() else { return Vec::new() };
    let text = |at: &usize| clauses[*at].text.clone();
    let text = used.iter().map(text).collect::<Vec<_>>().join(", ");
    let mut left = sky.left(&used);
    let thing = |row: String| Thing { left: std::mem::take(&mut left), ..Thing::new(row, &text) };
    let things = rows.into_iter().map(thing).collect();
    without(sentences, &used);
    things
}

struct Sky<'s> {
    prose: Prose<'s>,
    clauses: &'s [&'s Clause],
}

impl Sky<'_> {
    /// The rows that are told, and the clauses that tell them.
    fn rows(&self) -> Option<(Vec<String>, Vec<usize>)> {
        let temperatures = self.temperatures();
        let days = self.days(&temperatures);
        let mut rows: Vec<Row> = Vec::new();
        let mut used = Vec::new();
        // A bare number only fills in what those leave out that plainly are temperatures.
        let mut all: Vec<&Temperature> = temperatures.iter().collect();
        all.sort_by_key(|one| (one.either.is_some(), !one.plainly));
        for temperature in all {
            let day = self.day_of(temperature, &days)?;
            if day.date < self.today() {
                return None;
            }
            let (low, high) = sides(temperature, day.night);
            let row = rows.iter().position(|row| row.date == day.date);
            let row = row.unwrap_or_else(|| {
                rows.push(Row { date: day.date, low: None, high: None });
                rows.len() - 1
            });
            let Row { low: old_low, high: old_high, .. } = rows[row];
            let again = old_low.is_some() && low.is_some() || old_high.is_some() && high.is_some();
            match again {
                true if temperature.either.is_none() => return None,
                true => continue,
                false => {
                    (rows[row].low, rows[row].high) = (old_low.or(low), old_high.or(high));
                }
            }
            used.extend(self.prose.clause[temperature.from..temperature.to].iter().copied());
            used.push(self.prose.clause[day.from]);
        }
        used.sort_unstable();
        used.dedup();
        let rows: Vec<String> = rows.iter().filter_map(|row| self.row(row)).collect();
        (!rows.is_empty()).then_some((rows, used))
    }

    /// A row in words of the grammar.
    fn row(&self, Row { date, low, high }: &Row) -> Option<String> {
        let said = (0..self.prose.len()).any(|at| self.prose.is("fahrenheit", at));
        let hot = [low, high].into_iter().flatten().any(|degrees| *degrees > HOTTEST_C);
        let fahrenheit = said || hot;
        let (unit, spread) = if fahrenheit { (" F", SPREAD_F) } else { ("", SPREAD_C) };
        let (low, high) = match (low, high) {
            (Some(low), Some(high)) if low <= high => (low.to_string(), high.to_string()),
            (Some(low), None) => (low.to_string(), example(&(low + spread).to_string())),
            (None, Some(high)) => (example(&(high - spread).to_string()), high.to_string()),
            _ => return None,
        };
        let day = match (*date - self.today()).num_days() {
            0 => "today".to_string(),
            1 => "tomorrow".to_string(),
            2..=6 => date.format("%A").to_string().to_lowercase(),
            _ => date.to_string(),
        };
        Some(format!("outlook {day} {low} to {high}{unit}"))
    }

    /// What is said of temperatures, where anything is plainly said of them.
    fn temperatures(&self) -> Vec<Temperature> {
        let (mut all, mut at) = (Vec::new(), 0);
        while at < self.prose.len() {
            let clause = self.prose.clause[at];
            let found = self.temperature(at).filter(|_| self.may_tell(clause));
            at = found.as_ref().map_or(at + 1, |found| found.to);
            all.extend(found);
        }
        if all.iter().any(|one: &Temperature| one.plainly) { all } else { Vec::new() }
    }

    /// Whether a clause may tell of the weather: it names nothing of the van, and does not say that it
    /// was, or is to be wished, or is of somewhere else.
    fn may_tell(&self, clause: usize) -> bool {
        let named = |at: usize| {
            let lows = self.prose.lows(at);
            self.prose.scene.known.find(lows.into_iter()).is_some()
        };
        let mut all = (0..self.prose.len()).filter(|at| self.prose.clause[*at] == clause);
        !self.clauses[clause].asks && !all.any(|at| self.prose.is("indoors", at) || named(at))
    }

    fn temperature(&self, from: usize) -> Option<Temperature> {
        let (first, mut to) = self.degrees(from)?;
        let prose = &self.prose;
        let between = prose.words[..from].iter().rev().take(2).any(|w| w.is("between"));
        let joins =
            |at: usize| prose.words.get(at).is_some_and(|w| w.is("to") || between && w.is("and"));
        let unit = |at: usize| usize::from(prose.is("degrees", at));
        let mut told =
            Temperature { from, to, low: None, high: None, either: None, plainly: first < 0.0 };
        let joined = to + unit(to);
        if let Some((second, end)) = self.degrees(joined + 1).filter(|_| joins(joined)) {
            let of_sky = self.is_of_sky(from) || self.is_of_sky(end - 1);
            told.plainly |= unit(to) + unit(end) > 0 || second < 0.0 || of_sky;
            told.to = end + unit(end);
            (told.low, told.high) = (Some(first.min(second)), Some(first.max(second)));
            let plain = told.plainly || self.is_bare(prose.clause[from]) && first < second;
            told.plainly |= plain;
            return plain.then_some(told);
        }
        told.plainly |= unit(to) > 0;
        to += unit(to);
        // `2 below`, `11 at the best`.
        let behind = (to..prose.len().min(to + 3)).find(|at| prose.is("lowest highest", *at));
        let behind =
            behind.filter(|at| prose.words[to..*at].iter().all(|w| is_small(&w.low) || w.is("at")));
        let own =
            |at: &usize| prose.clause[*at] == prose.clause[from] && prose.is("lowest highest", *at);
        let before = (from.saturating_sub(4)..from).rev().find(own);
        let before = before.filter(|at| {
            prose.words[at + 1..from].iter().all(|w| is_small(&w.low) || w.is_any("of to be"))
        });
        let named = before.or(behind.filter(|_| !self.joins_another(to)));
        let side = named.map(|at| if prose.is("lowest", at) { Side::Low } else { Side::High });
        match side {
            Some(Side::Low) => told.low = Some(first),
            Some(Side::High) => told.high = Some(first),
            None => told.either = Some(first),
        }
        let weather = self.is_of_sky(from) && prose.time(to).is_some();
        told.plainly |= side.is_some() || weather;
        told.to = to;
        Some(told)
    }

    /// Whether a number follows, which the word before it is said of: `low 1 high 8`.
    fn joins_another(&self, at: usize) -> bool {
        (at + 1..self.prose.len().min(at + 4)).any(|at| self.prose.number(at).is_some())
    }

    /// The number of degrees that stands here, and where it ends.
    fn degrees(&self, at: usize) -> Option<(f64, usize)> {
        let prose = &self.prose;
        let below = usize::from(prose.is("below", at));
        let number = prose.number(at + below).filter(|n| DEGREES.contains(n))?;
        let end = at + below + 1;
        let next = prose.words.get(end).filter(|_| prose.clause[end] == prose.clause[at]);
        let counts = next.is_some_and(|w| {
            !prose.is("degrees", end) && prose.scene.known.unit_named(&w.low).is_some()
                || w.is_any("am pm st nd rd th days day")
        });
        let below = below > 0 || prose.is("below", end);
        (!counts).then_some((if below { -number } else { number }, end))
    }

    /// Whether a word of the clause, or of the ones beside it in its sentence, is of the weather.
    fn is_of_sky(&self, at: usize) -> bool {
        let clause = self.prose.clause[at];
        let near = |n: usize| self.prose.clause[n].abs_diff(clause) < 2;
        (0..self.prose.len()).any(|n| near(n) && self.prose.is("sky degrees", n))
    }

    /// Whether a clause holds nothing but days and numbers.
    fn is_bare(&self, clause: usize) -> bool {
        let prose = &self.prose;
        let mut at = (0..prose.len()).find(|at| prose.clause[*at] == clause).unwrap_or_default();
        let mut dated = false;
        while at < prose.len() && prose.clause[at] == clause {
            let time = prose.time(at);
            dated |= time.is_some();
            let plain = prose.number(at).is_some() || prose.words[at].is_any("to from and between");
            match time {
                Some((_, taken)) => at += taken,
                None if plain => at += 1,
                None => return false,
            }
        }
        dated
    }

    /// The days that are named, but for what is said of temperatures.
    fn days(&self, temperatures: &[Temperature]) -> Vec<Named> {
        let (mut all, mut at) = (Vec::new(), 0);
        while at < self.prose.len() {
            let within = temperatures.iter().find(|one| (one.from..one.to).contains(&at));
            if let Some(one) = within {
                at = one.to;
                continue;
            }
            let night = self.prose.nightly(at);
            let time = self.prose.time(at).filter(|_| night == 0);
            let found = time.and_then(|(when, taken)| Some((self.day(&when)?, taken)));
            let found =
                found.or_else(|| Some((self.night(self.today())?, night)).filter(|_| night > 0));
            let taken = found.as_ref().map_or(1, |(_, taken)| *taken);
            all.extend(found.map(|((date, night), taken)| Named {
                from: at,
                to: at + taken,
                date,
                night,
            }));
            at += taken;
        }
        all
    }

    fn today(&self) -> NaiveDate {
        self.prose.scene.clock.civil.date()
    }

    fn day(&self, when: &When) -> Option<(NaiveDate, bool)> {
        let date = when.date(self.prose.scene.clock)?;
        match when.hour {
            Some(Hour::Part { begins: 21, .. }) if date < self.today() => Some((date, false)),
            Some(Hour::Part { begins: 21, .. }) => self.night(date),
            _ => Some((date, false)),
        }
    }

    /// The day that a night belongs to, whose lowest temperature it has: the one that it ends on.
    fn night(&self, date: NaiveDate) -> Option<(NaiveDate, bool)> {
        let gone = date == self.today() && self.prose.scene.clock.civil.hour() < NIGHT_ENDS;
        Some((date.checked_add_days(Days::new(u64::from(!gone)))?, true))
    }

    /// The day that a temperature is said of.
    fn day_of<'d>(&self, one: &Temperature, days: &'d [Named]) -> Option<&'d Named> {
        let clause = self.prose.clause[one.from];
        let end = self.prose.clause[one.to - 1];
        let own = || days.iter().filter(|d| (clause..=end).contains(&self.prose.clause[d.from]));
        let before = own().rfind(|day| day.to <= one.from);
        let after = own().find(|day| day.from >= one.to);
        let own = before.or(after);
        own.or_else(|| days.iter().rfind(|day| day.to <= one.from))
            .or_else(|| days.iter().find(|day| day.from >= one.to))
    }

    /// What else the clauses say that were used.
    fn left(&self, used: &[usize]) -> Vec<String> {
        let says = |clause: &&usize| {
            let words = (0..self.prose.len()).filter(|at| self.prose.clause[*at] == **clause);
            let says = words.filter(|at| {
                let word = &self.prose.words[*at];
                let told = self.prose.number(*at).is_some()
                    || self.prose.is("degrees lowest highest", *at);
                !told && word.low.len() > 2 && !is_small(&word.low) && !is_time_word(&word.low)
            });
            says.count() > 1
        };
        used.iter().filter(says).map(|at| self.clauses[*at].text.clone()).collect()
    }
}

/// The lowest and the highest temperature of a day that is told.
fn sides(one: &Temperature, night: bool) -> (Option<f64>, Option<f64>) {
    match one.either {
        Some(value) if night || value < 0.0 => (Some(value), None),
        Some(value) => (None, Some(value)),
        None => (one.low, one.high),
    }
}
