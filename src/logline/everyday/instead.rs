//! The way out of a line that is asked back: whole lines that would be saved, nearest first. None
//! says what was not said; what one of them does not tell, it notes, but for small words.

use super::gist::gist;
use super::noted::{Gist, has_number, noted, with_numbers};
use super::reduced::reduced;
use super::retold::{by_whom, retold};
use super::taken;
use super::telling::undone;
use crate::domain::{Event, Moment};
use crate::logline::grammar::prepared;
use crate::logline::grammar::scene::Scene;
use crate::logline::grammar::schedule;
use crate::logline::grammar::swapped::{bare, swapped};
use crate::logline::lexis::lexicon::{Hedge, Sense, Tense, lexicon};
use crate::logline::lexis::listed::{is_of, lows, refs};
use crate::logline::lexis::misread::{EXAMPLE, Misread, Offer, UNKNOWN, Understood};
use crate::logline::lexis::vocabulary::{Sort, Vocabulary};
use crate::logline::times::time::is_time_word;
use std::cell::Cell;

/// The most lines that are offered.
const MOST: usize = 3;
/// How many lines are tried, and how many characters of them: this runs at every keystroke.
const MOST_TRIES: usize = 60;
const MOST_READ: usize = 24_000;
/// How many of them for what it most likely tells.
const MOST_GUESSES: usize = 12;
/// How many slips in one line are mended one after the other.
const DEEPEST: usize = 8;

/// What becomes of a line that was misread.
pub(in crate::logline) enum Ways {
    /// Nothing in it is open: what was not understood says nothing of the van.
    Plain(Vec<Understood>),
    /// Lines that are like it and would be saved.
    Open(Vec<Offer>),
}

/// The ways out of `line`, which was misread; the misreading becomes that of what is open in it.
pub(in crate::logline) fn ways(
    line: &str,
    misread: &mut Misread,
    known: &Vocabulary,
    now: Moment,
) -> Ways {
    let tries = Cell::new(most_tries(line));
    let search = Search { known, now, tries };
    let mut found: Vec<Way> = Vec::new();
    let made = Made { deep: 0, sure: true, guessed: false };
    let gists = search.gists(line);
    search.tries.set(most_tries(line));
    let sure = |gist: &&Gist| gist.sure && (gist.phrased || !misread.mend.either);
    let plain = gists.first().filter(sure).map(|gist| gist.line.clone());
    let firm = plain.clone();
    match plain.and_then(|plain| search.read(plain)) {
        Some((line, Ok(said))) => found.push(Way { line, said, sure: true }),
        Some((plain, Err(open))) => {
            search.follow(&plain, &open, &made, &mut found);
            *misread = open.in_place(line).unwrap_or_else(|| misread.clone());
        }
        None => search.follow(line, misread, &made, &mut found),
    }
    let dated = firm.is_none_or(|firm| names_days(line, &firm));
    let plain = |way: &&mut Way| way.sure && dated && is_of_its_tense(line, &way.said, now);
    if let Some(plain) = found.iter_mut().find(plain) {
        return Ways::Plain(std::mem::take(&mut plain.said));
    }
    // What is to come is offered as no past charge.
    found.retain(|way| !is_ahead(line) || !is_behind(&way.said, now));
    // A time by itself is no part of a note, and nothing is told twice.
    // Others beside such an offer are guesses of the same words.
    if !found.iter().all(tells) {
        found.clear();
    }
    let gist = search.puts(gists, &mut found);
    if let Some(noted) = found.first().filter(|_| gist).and_then(|way| only_noted(line, way)) {
        // A question that says nothing better is of what the first line keeps as a note; and so is that
        // of a time which stands in it.
        let of_it = misread.start < noted.end && noted.start < misread.end;
        let own = of_it && misread.message == UNKNOWN;
        if misread.is_vague() && !own || of_it && misread.mend.both {
            *misread = noted;
        }
    }
    search.takes(line, &mut found);
    let guessed = found.first().is_none_or(|way| is_level(&way.said))
        && !line.contains('?')
        && search.guesses(line, &mut found);
    let undone = undone_of(line, known, now);
    found.retain(|way| !is_of_later(line, &way.said, (&undone, now)));
    found.retain(|way| !way.said.iter().any(|said| is_of_a_vessel(line, &said.event, known)));
    if (found.is_empty() || (gist || guessed) && found.len() < MOST)
        && line.contains(char::is_alphanumeric)
    {
        search.tries.set(search.tries.get().max(1));
        if let Some((line, Ok(said))) = search.read(noted(line)) {
            found.push(Way { line, said, sure: false });
        }
    }
    // Of one or the other each tells its own.
    let alike = |line: &str| line.replace(|c: char| c.is_ascii_digit(), "");
    for at in 0..found.len() {
        let own = alike(&found[at].line);
        let or = (0..found.len()).any(|other| other != at && alike(&found[other].line) == own);
        if !or {
            found[at].line = with_numbers(line, &found[at].line);
        }
    }
    Ways::Open(found.iter().map(|way| search.offer(&way.line)).collect())
}

/// Whether each day that a line names stands in what it was understood as; an outlook is of its own day.
fn names_days(line: &str, told: &str) -> bool {
    let day = |w: &String| is_time_word(w) && (w.ends_with("day") || w.len() == 3) && w != "today";
    let told_days = lows(told);
    told.contains("outlook") || lows(line).iter().filter(|w| day(w)).all(|w| told_days.contains(w))
}

/// Whether what was understood lies on the side of now of which a line speaks: `will be on the hook-up` is
/// no past charge, and `washed up at 11 tonight`, said after midnight, no plan.
fn is_of_its_tense(line: &str, said: &[Understood], now: Moment) -> bool {
    let used = |said: &Understood| matches!(said.event, Event::Use { .. }) && said.at > now;
    if is_ahead(line) { !is_behind(said, now) } else { !said.iter().any(used) }
}

/// Whether a line speaks of what is to come, and whether nothing that was understood is.
fn is_ahead(line: &str) -> bool {
    lows(line).iter().any(|w| lexicon().sense(w) == Some(Sense::Ahead))
}

/// Whether a line says of what lies behind here that it is to come: `two more nights here, then Sorrel Head`,
/// `no dishes now, in the morning`.
fn is_of_later(line: &str, said: &[Understood], (undone, now): (&[String], Moment)) -> bool {
    let words = lows(line);
    let then = words.iter().position(|w| w == "then").unwrap_or_default();
    let stays = words[..then].iter().any(|w| is_of("stays-on", w));
    let says = |is: &dyn Fn(&Sense) -> bool| {
        let sense = |at: usize| lexicon().find(refs(&words[at..]).into_iter());
        (0..words.len()).any(|at| sense(at).is_some_and(|(sense, _)| is(&sense)))
    };
    // `in the morning` lies behind, or is tomorrow's.
    let asks = says(&|sense| matches!(sense, Sense::Ask(ways) if ways.contains("| tomorrow")));
    let stays = stays || says(&|sense| matches!(sense, Sense::Say("camp", Tense::Will)));
    let open = !undone.is_empty() && (is_ahead(line) || asks);
    said.iter().filter(|said| said.at <= now).any(|said| match &said.event {
        Event::Camp(_) => stays,
        Event::Use { activity, .. } => open && undone.contains(activity),
        _ => false,
    })
}

/// Whether what a line names as a stock is said of a thing beside it: `water bottles`, `fresh undies`.
fn is_of_a_vessel(line: &str, event: &Event, known: &Vocabulary) -> bool {
    // What fills up stands in its vessel.
    let down = |stock: &&str| known.runs(stock) != Some(Sort::Filling);
    if matches!(event, Event::Spent { .. } | Event::Empty { amount: Some(_), .. }) {
        return false;
    }
    let Some(stock) = event.stock().filter(down) else { return false };
    let names = |word: &String| known.stock_named(word) == Some(stock);
    let vessel = |two: &[String]| names(&two[0]) && is_of("vessels", &two[1]) && !names(&two[1]);
    lows(line).windows(2).any(vessel)
}

/// The activities of which a line says that there was none.
fn undone_of(line: &str, known: &Vocabulary, now: Moment) -> Vec<String> {
    let clock = prepared::clock(known, now);
    clock.map_or_else(|_| Vec::new(), |clock| undone(line, &Scene::now(known, &clock)))
}

fn is_behind(said: &[Understood], now: Moment) -> bool {
    let charge = |said: &Understood| matches!(said.event, Event::Charge { .. } | Event::Drive(_));
    said.iter().any(charge) && said.iter().all(|said| said.at <= now)
}

/// What of `line` an offer only notes.
fn only_noted(line: &str, way: &Way) -> Option<Misread> {
    let note = way.said.iter().find_map(|said| match &said.event {
        Event::Note(note) => note.split(", ").next(),
        _ => None,
    })?;
    Misread::new(0, 0, note, "only kept as a note here: is the rest meant?").in_place(line)
}

/// How many lines like this one may be tried.
fn most_tries(line: &str) -> usize {
    (MOST_READ / line.chars().count().max(1)).min(MOST_TRIES)
}

/// Whether an offer tells of something, and of nothing twice.
fn tells(way: &Way) -> bool {
    let said = &way.said;
    let twice = |(at, one): (usize, &Understood)| {
        let same = said[..at].iter().find(|other| other.event == one.event);
        same.is_some_and(|other| other.at == one.at) && !matches!(one.event, Event::Use { .. })
    };
    let told = said.iter().any(|said| !matches!(said.event, Event::Note(_)));
    told && !said.iter().enumerate().any(twice)
}

/// Whether what was understood begins with a level.
fn is_level(said: &[Understood]) -> bool {
    said.first().is_some_and(|said| matches!(said.event, Event::Level { .. }))
}

/// Whether one way says that so much of a stock went out of which another says that it is there.
fn moves_so_much(way: &Way, level: &Way) -> bool {
    let first = |way: &Way| way.said.first().map(|said| said.event.clone());
    let (Some(moved), Some(Event::Level { stock, reading, .. })) = (first(way), first(level))
    else {
        return false;
    };
    let much = moved.amount().is_some_and(|amount| amount.unit == reading.unit);
    moved.stock() == Some(&stock) && much && matches!(moved, Event::Empty { .. })
}

/// A line that would be saved, with its examples marked, and what it says.
struct Way {
    line: String,
    said: Vec<Understood>,
    /// Whether it is what was meant, beyond doubt.
    sure: bool,
}

/// What was done to a line so far.
struct Made {
    /// How often something was written into it.
    deep: usize,
    sure: bool,
    /// Whether one of several meanings was taken.
    guessed: bool,
}

impl Made {
    fn and(&self, sure: bool) -> Made {
        Made { deep: self.deep + 1, sure: self.sure && sure, guessed: self.guessed }
    }

    fn one_of(mut self, swaps: usize) -> Made {
        self.guessed |= swaps > 1;
        self
    }
}

struct Search<'s> {
    /// How many lines may still be tried.
    tries: Cell<usize>,
    known: &'s Vocabulary,
    now: Moment,
}

impl Search<'_> {
    /// Adds what the line becomes when it is mended in each way that the misreading names.
    fn follow(&self, line: &str, misread: &Misread, made: &Made, found: &mut Vec<Way>) {
        if made.deep > DEEPEST || found.len() >= MOST {
            return;
        }
        for swap in &misread.mend.swaps {
            let Some(candidate) = swapped(line, misread, swap) else { continue };
            let one_of = misread.mend.swaps.len();
            self.add(candidate, &made.and(swap.sure).one_of(one_of), found);
        }
    }

    fn add(&self, line: String, made: &Made, found: &mut Vec<Way>) {
        let (line, misread) = match self.read(line) {
            Some((line, Ok(said))) => {
                return self.keep(Way { line, said, sure: made.sure }, made, found);
            }
            Some((line, Err(misread))) => (line, misread),
            None => return,
        };
        self.follow(&line, &misread, made, found);
    }

    /// Puts the gist of the line in front, where that tells more than what was found.
    fn puts(&self, gists: Vec<Gist>, found: &mut Vec<Way>) -> bool {
        let mut more = Vec::new();
        let phrased = gists.iter().any(|gist| gist.phrased);
        gists.into_iter().for_each(|gist| self.follow_to(gist.line, &mut more));
        let told =
            |way: &Way| way.said.iter().filter(|s| !matches!(s.event, Event::Note(_))).count();
        let best = found.iter().map(told).max().unwrap_or_default();
        more.retain(|way| phrased && told(way) > 0 || told(way) > best);
        if more.is_empty() {
            return false;
        }
        more.truncate(MOST);
        *found = more;
        true
    }

    /// Puts what was taken in place of levels that nobody read.
    fn takes(&self, line: &str, found: &mut Vec<Way>) {
        let parts = self.known.parts_on(self.now.date_naive());
        let rather = |way: &Way| taken::rather(line, (&way.line, &way.said), parts, self.now);
        let Some(instead) = found.iter().map(rather).find(|lines| !lines.is_empty()) else {
            return;
        };
        self.tries.set(self.tries.get() + instead.len());
        let told = instead.into_iter().filter_map(|line| self.read(line));
        let told =
            told.filter_map(|(line, said)| Some(Way { line, said: said.ok()?, sure: false }));
        *found = told.collect();
    }

    /// What the line most likely tells: where nothing else can be read from it, or in front of a level
    /// that nobody read, what went out. Whether there is such a guess.
    fn guesses(&self, line: &str, found: &mut Vec<Way>) -> bool {
        let Ok(clock) = prepared::clock(self.known, self.now) else { return false };
        let scene = Scene::now(self.known, &clock);
        let all = reduced(line, &scene, &mut |told| told.map(|told| told.likely(&scene)));
        self.tries.set(MOST_GUESSES);
        let mut likely = Vec::new();
        for guess in all.into_iter().flatten().take(MOST - 1) {
            let left = guess.left.join(", ");
            let note = if left.is_empty() { left } else { format!(", {}", noted(&left)) };
            self.follow_to(guess.told + &note, &mut likely);
        }
        likely.retain(tells);
        if !found.is_empty() {
            likely.truncate(1);
            likely.retain(|way| found.iter().any(|old| moves_so_much(way, old)));
        }
        likely.truncate(MOST - 1);
        found.retain(|old| likely.iter().all(|way| way.said[0].event != old.said[0].event));
        let guessed = !likely.is_empty();
        found.splice(..0, likely);
        found.truncate(MOST);
        guessed
    }

    fn follow_to(&self, line: String, found: &mut Vec<Way>) {
        let made = Made { deep: 0, sure: false, guessed: false };
        match self.read(line) {
            Some((line, Ok(said))) => found.push(Way { line, said, sure: false }),
            Some((line, Err(misread))) => self.follow(&line, &misread, &made, found),
            None => {}
        }
    }

    /// The gist of a line; of each of its meanings, where it tells one thing in two ways.
    fn gists(&self, line: &str) -> Vec<Gist> {
        let Ok(clock) = prepared::clock(self.known, self.now) else { return Vec::new() };
        let scene = Scene::now(self.known, &clock);
        // Most of what is read for it are single clauses.
        self.tries.set(most_tries(line) * 2);
        let read = |line: &str| self.read(line.to_string()).map(|(_, read)| read);
        let told = retold(line, &scene);
        let whom = by_whom(line, &scene).filter(|_| told.is_none());
        let firm = told.as_ref().or(whom.as_ref()).is_some_and(|(_, plainly)| *plainly);
        let plain = gist(line, &scene, &read, 0);
        if told.is_none() && !firm && plain.as_ref().is_some_and(|gist| gist.sure) {
            return plain.into_iter().collect();
        }
        let told = told.or(whom).and_then(|(told, _)| gist(&told, &scene, &read, 0));
        if let Some(told) = told {
            return vec![Gist { sure: told.sure && firm, ..told }];
        }
        let other = plain.as_ref().filter(|gist| gist.phrased);
        let other = other.and_then(|first| {
            gist(line, &scene, &read, 1).filter(|other| other.line != first.line)
        });
        plain.into_iter().chain(other).collect()
    }

    fn keep(&self, way: Way, made: &Made, found: &mut Vec<Way>) {
        // More than one number to be filled in is no help; nor is one beside words that may say it.
        let holes = way.line.matches(EXAMPLE[0]).count();
        let note = way.line.split_once("note ").map_or("", |(_, note)| note);
        let odd = |word: &str| lexicon().sense(word) == Some(Sense::Hedge(Hedge::Odd));
        let guess = made.guessed && (has_number(note) || note.split(' ').any(odd));
        let told = holes == 0 && !guess || holes == 1;
        if told && found.len() < MOST && found.iter().all(|old| old.said != way.said) {
            found.push(way);
        }
    }

    /// What becomes of a line, while there are tries.
    fn read(&self, line: String) -> Option<(String, Result<Vec<Understood>, Misread>)> {
        self.tries.set(self.tries.get().checked_sub(1)?);
        let read = schedule::understand(&bare(&line), self.known, self.now);
        Some((line, read))
    }

    /// The line for who is to take it over, without its examples.
    fn offer(&self, line: &str) -> Offer {
        let whole = bare(line);
        let Some(example) = line.split(EXAMPLE).nth(1) else {
            return Offer::whole(whole);
        };
        let text: String = line.split(EXAMPLE).step_by(2).collect();
        let cursor = line.chars().take_while(|c| *c != EXAMPLE[0]).count();
        let typed = schedule::understand(&text, self.known, self.now).is_err();
        let lacks = Some(lacked(example, self.known));
        Offer { line: whole, typed: typed.then_some((text, cursor)), lacks }
    }
}

/// What the number of an example is, by its unit.
fn lacked(example: &str, known: &Vocabulary) -> &'static str {
    match example.trim_start_matches(|c: char| c.is_ascii_digit() || ". ".contains(c)) {
        "%" => "the level",
        "h" | "min" => "how long",
        "km" | "mi" => "how far",
        unit if !unit.is_empty() && known.unit_named(unit).is_some() => "how much",
        _ => "how many",
    }
}
