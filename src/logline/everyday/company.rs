//! Who comes, stays, leaves or is away, told in everyday speech: `my sister and her two boys come on
//! wednesday, staying till friday, so count six`.

use super::cut_up::Clause;
use super::kin::{Crowd, is_home, is_kin, is_name};
use super::prose::Prose;
use crate::logline::grammar::people::so_many_guests;
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::{Sense, lexicon};
use crate::logline::lexis::listed::{is_of, stem};
use crate::logline::lexis::word::Word;
use crate::logline::times::moment::When;
use chrono::Timelike as _;

/// How many words may stand between who leaves and that they do.
const NEAR: usize = 4;
/// How many words after a number it may still say how many they are.
const COUNTED: usize = 3;

/// The hour from which `tonight` is now.
const EVENING: u32 = 17;

/// What was last said of somebody.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Coming {
    Comes,
    Leaves,
    Returns,
}

/// Who is named, and when, as far as the sentences have been read.
#[derive(Default)]
struct Said {
    kin: u32,
    /// The last number, and where it stands.
    number: Option<(u32, usize)>,
    /// The last number, however far it is.
    group: Option<u32>,
    /// How many are named who are no kin; whether children are, and not how many.
    names: u32,
    children: bool,
    crew: bool,
    comes: bool,
    leaves: bool,
    /// What is said of them, in order.
    moves: Vec<Coming>,
    /// Whether it is said of somebody, and of nothing else, that he is here again.
    back: bool,
    /// Whether somebody is said to be where the van is not.
    out: bool,
    /// Whether they are in another's home.
    elsewhere: bool,
    /// How many it is said that are aboard then.
    total: Option<u32>,
    /// Whether these are all.
    only: bool,
    /// Whether it is told as what has changed: `so three again`, `that makes four of us`.
    anew: bool,
    /// Whether that is only those who are named with the one who speaks.
    alone: bool,
    begin: Option<String>,
    end: Option<String>,
    /// Whether somebody leaves with the one who speaks.
    with: u32,
    /// Whether that is when somebody is back.
    ended: bool,
    /// How often somebody is named who is not joined to another; whether who it is, or when, may be meant
    /// otherwise.
    mentions: u32,
    vague: bool,
    /// The clauses that say so, and those that say when or how many.
    used: Vec<usize>,
    plain: Vec<usize>,
}

/// What is told of who is aboard.
pub(in crate::logline) struct Told {
    /// In words of the grammar.
    pub line: String,
    /// The clauses that tell it, and those of them that say when, or how many.
    pub used: Vec<usize>,
    pub plain: Vec<usize>,
    /// Whether nothing else can be meant.
    pub sure: bool,
}

/// What `clauses` tell of who is aboard.
pub(in crate::logline) fn told(clauses: &[&Clause], scene: &Scene) -> Option<Told> {
    let read = Crowd { prose: Prose::of(clauses, scene) };
    let words = &read.prose.words;
    let visit = (1..words.len()).any(|at| words[at - 1].is("for") && read.prose.is("visits", at));
    if visit {
        return None;
    }
    let open: Vec<bool> =
        (0..clauses.len()).map(|at| !clauses[at].asks && read.is_open(at)).collect();
    let mut said = Said::default();
    let mut at = 0;
    while at < words.len() {
        if !open[read.prose.clause[at]] {
            at += 1;
            continue;
        }
        // `2 showers with our friends` says nothing of how many.
        said.number = said.number.filter(|(_, counted)| at <= counted + COUNTED);
        at += match said.time(&read, at).or_else(|| said.all(&read, at)) {
            Some(taken) => taken,
            None => {
                said.moves(&read, at);
                said.who(&read, at)
            }
        };
    }
    said.comes &= !said.elsewhere;
    // `Ada was at a friend's last night`.
    if said.elsewhere && said.begin.as_deref() == Some("last night") {
        said.end.get_or_insert("until this morning".to_string());
    }
    said.leaves |= said.out && (said.moves.contains(&Coming::Returns) || said.end.is_some());
    said.used.sort_unstable();
    said.used.dedup();
    let used = std::mem::take(&mut said.used);
    let plain = std::mem::take(&mut said.plain);
    let open = |at: usize| {
        let sense = lexicon().find(read.prose.lows(at).into_iter());
        // Which days `for the weekend` are is not clear.
        let hedged = match sense {
            Some((Sense::Ask(ways), _)) => ways.contains(" until "),
            sense => matches!(sense, Some((Sense::Hedge(_), _))),
        };
        used.contains(&read.prose.clause[at]) && (hedged || read.is("undone", at))
    };
    said.vague |= (0..words.len()).any(open) || used.iter().any(|at| clauses[*at].aside);
    let sure = said.is_sure(scene);
    said.told(scene).map(|line| Told { line, used, plain, sure })
}

impl Said {
    fn uses(&mut self, read: &Crowd, at: usize) {
        self.used.push(read.prose.clause[at]);
    }

    /// Whether those who come or leave are plainly named, and how many are aboard then agrees with it.
    fn is_sure(&self, scene: &Scene) -> bool {
        let (aboard, crew) = (scene.known.aboard.value(), scene.known.crew.value());
        let home = self.total.is_some_and(|total| f64::from(total) == crew) && self.end.is_none();
        let one_back = self.back && crew - aboard == 1.0;
        // How many `kids` are is not said.
        if self.children && self.kin == 0 {
            return false;
        }
        let come = f64::from(self.kin + self.names);
        let agrees = self.total.is_none_or(|total| (f64::from(total) - aboard).abs() == come);
        let all_here = aboard == crew && !self.back && agrees;
        !self.vague && (home || self.mentions == 1 && (one_back || all_here))
    }

    /// Takes what a word says of somebody who comes or goes.
    fn moves(&mut self, read: &Crowd, at: usize) {
        let (words, comes) = (read.words(), read.prose.begins("comes", at));
        let word = &words[at];
        // `stays over` does stay.
        let over = read.is("passes", at + 1);
        let by = over && !word.low.starts_with("stay") && comes < 2;
        let near = (at.saturating_sub(NEAR)..at).any(|at| read.is_who(at));
        let leaves = read.prose.begins("leaves", at) > 0;
        let ends = read.ends_at(at + 1);
        // `went home`, `clocks go back`.
        let goes = at > 0 && read.is("leaves goes", at - 1);
        let returns = read.prose.begins("returns", at) > 0 && !goes;
        let comes = comes > 0 && !by && !returns && (near || self.kin > 0);
        // `off up the ridge tomorrow`: who speaks.
        let begins = is_first(read, at);
        let speaks = leaves
            && begins
            && !read.leads_on(at)
            && !word.is("away")
            && self.moves.is_empty()
            && self.kin + self.names == 0;
        self.crew |= speaks;
        self.vague |= speaks || read.is("speaker", at);
        let leaves = leaves && (near || speaks || self.kin + self.names > 0 || word.is("away"));
        self.out |= near && read.is_out(at);
        let found = match () {
            () if returns => Some(Coming::Returns),
            () if leaves => Some(Coming::Leaves),
            () if comes => Some(Coming::Comes),
            () => None,
        };
        if let Some(found) = found {
            self.uses(read, at);
            self.moves.push(found);
        }
        self.comes |= comes;
        self.leaves |= leaves;
        self.back |= returns && ends;
        let theirs = at > 0 && read.is("theirs", at - 1);
        self.crew |= read.is("crew", at) && !theirs;
    }

    /// Takes how many it is said that are aboard: `four of us`, `count five`, `just Otis and me`.
    fn all(&mut self, read: &Crowd, at: usize) -> Option<usize> {
        let words = read.words();
        let count = |at: usize| {
            let number = words.get(at).and_then(|w| lexicon().count(&w.low));
            number.filter(|n| (1..10).contains(n))
        };
        let is = |at: usize, any: &str| words.get(at).is_some_and(|w| w.is_any(any));
        let (mut to, mut found) = (at, None);
        let led = read.prose.begins("totals", at);
        let mut anew = led > 0 && is(at + led, "again");
        to += led + usize::from(anew);
        let only = is(to, "only just");
        to += usize::from(only);
        let us = is(to, "us") && (only || led > 0);
        to += usize::from(us || led + usize::from(only) > 0 && is(to, "the"));
        if let Some(number) = count(to) {
            let of_us = is(to + 1, "of") && is(to + 2, "us");
            let end = to + 1 + 2 * usize::from(of_us);
            // `mum went home so 3 again`.
            let gone = !self.moves.is_empty() && is(end, "again");
            let for_whom = at > 0 && read.is("for-whom", at - 1);
            let ends =
                read.ends_at(to + 1) || is(to + 1, "for in till until since aboard here again");
            // `that's one for each day`.
            let some = number > 1 || only;
            let we = of_us || us || led > 0 && is(at, "we we're were");
            // `minus 2 up to 5` are degrees.
            let led = led > 0 && (we || self.kin > 0 || !is(at, "up down"));
            let said = (led || us || gone) && ends || of_us;
            let back = led && is(at, "back");
            let other = f64::from(number) != read.scene().known.aboard.value();
            anew |= is(end, "again") || back || led && we && other;
            self.vague |= back && !we;
            found = (some && said && !for_whom).then_some((number, end));
        } else if only {
            found = and_me(read, to);
            self.alone = found.is_some();
        }
        let (total, end) = found?;
        self.total = Some(total);
        self.anew |= anew;
        self.only |= only && total > 1;
        let clauses = &read.prose.clause[at..end];
        self.used.extend(clauses);
        self.plain.extend(clauses);
        Some(end - at)
    }

    /// Takes who is named by a word, or how many, and says how many words that takes.
    fn who(&mut self, read: &Crowd, at: usize) -> usize {
        let words = read.words();
        let low = stem(&words[at].low);
        let before = |n: usize, rows: &str| (at.saturating_sub(n)..at).any(|at| read.is(rows, at));
        let pair = is_of("pair", low);
        let mut number = || self.number.take().map(|(number, _)| number);
        // `the kids are staying with granny`: whose home it is.
        let with = self.group.is_none()
            && before(3, "beside")
            && before(6, "lodges")
            && !before(6, "joins")
            && (self.names > 0 || self.children);
        if is_kin(low) && with {
            self.elsewhere = true;
            self.vague |= self.children;
            self.names = self.names.max(if self.children { 2 } else { 1 });
            self.uses(read, at);
        } else if (is_kin(low) || pair) && is_home(words, at) {
            // `at my daughter's` is a place; who is at `his dad's` is one.
            let there = before(2, "thither");
            let one = there && before(1, "theirs");
            self.elsewhere |= there;
            self.leaves |= one;
            self.names = self.names.max(u32::from(one));
            self.uses(read, at);
        } else if pair {
            self.kin += 2 * number().unwrap_or(1);
            self.mentions += 1;
            self.uses(read, at);
        } else if is_kin(low) {
            let plural = !is_of("kin", low) || is_of("groups", low);
            // `bro, it's freezing`, `my wife gets a visit from her brother`.
            let calls = !plural && is_first(read, at) && !is_of("people", low);
            let theirs = before(1, "theirs") && self.kin == 0;
            self.vague |= calls && words[at].text == words[at].low || theirs;
            self.mentions += u32::from(!before(3, "ands"));
            let behind = words.get(at + 1).filter(|w| w.is("x")).and(words.get(at + 2));
            let behind = behind.and_then(|w| lexicon().count(&w.low));
            self.kin += behind.or_else(number).unwrap_or(u32::from(!plural));
            self.children |= plural && is_of("groups", low);
            self.uses(read, at);
            // `my mate Rob` is one.
            return 1 + usize::from(words.get(at + 1).is_some_and(|w| is_name(w, read.scene())));
        } else if self.kin > 0 && before(1, "theirs") && is_of("crew people", low) {
            // `my sister and her husband`.
            self.kin += 1;
        } else if read.is_named(at) {
            // `heading out with Otis`.
            let leaving = self.moves.last() == Some(&Coming::Leaves) && self.crew;
            self.with += u32::from(leaving && before(1, "beside-me"));
            let there = before(1, "no-guest");
            self.names += u32::from(!there);
            self.mentions += u32::from(!(there || before(2, "ands")));
            // A name in small letters may be none.
            self.vague |= words[at].text == words[at].low;
            self.uses(read, at);
        } else {
            let count = lexicon().count(low).filter(|n| *n < 10);
            self.number = count.map(|n| (n, at)).or(self.number);
            self.group = count.or(self.group);
        }
        1
    }

    /// Takes the time, or the number of days, that begins at a word.
    fn time(&mut self, read: &Crowd, at: usize) -> Option<usize> {
        let rest = &read.words()[at..];
        let days = |w: &Word| w.is_any("night nights day days week weeks");
        let count = lexicon().count(&rest[0].low).filter(|_| rest.len() > 1 && days(&rest[1]));
        if let Some(count) = count.filter(|_| self.end.is_none()) {
            let week = if rest[1].low.starts_with('w') { 7 } else { 1 };
            self.end = Some(format!("for {} days", count.saturating_mul(week)));
            self.uses(read, at);
            self.plain.push(read.prose.clause[at]);
            return Some(2);
        }
        // `for the weekend` has its end.
        if let Some((begin, end, taken)) = read.prose.stay(at) {
            self.begin.get_or_insert(begin);
            self.end.get_or_insert(format!("until {end}"));
            self.plain.push(read.prose.clause[at]);
            return Some(taken);
        }
        let before: Vec<&Word> = read.words()[..at].iter().rev().take(2).collect();
        let ends = |w: &&Word| is_of("ends", &w.low);
        let small = |w: &&Word| w.is("on") || w.is("the");
        let head = before.iter().copied().find(|w| !small(w));
        // Who came leaves, and who left is back.
        let over = match self.moves.last() {
            Some(Coming::Leaves) => self.comes,
            Some(Coming::Returns) => self.leaves || self.out,
            _ => false,
        };
        // Who is back is away no longer, however long that was to be.
        let again = over && self.moves.last() == Some(&Coming::Returns) && !self.ended;
        self.end.take_if(|_| again);
        self.ended |= again;
        let (time, taken) =
            self.said_time(read, at, head.is_some_and(|head| ends(&head)) || over)?;
        self.plain.push(read.prose.clause[at]);
        // `leaving friday, back sunday`: who speaks is gone from then on.
        let gone = |head: &&Word| self.crew && self.kin == 0 && is_of("leaves", &head.low);
        match head.filter(ends).filter(|head| !gone(head)) {
            Some(_) => self.end = Some(format!("until {time}")),
            None if over && self.end.is_none() => self.end = Some(format!("until {time}")),
            // `since 2pm`.
            None if self.begin.is_none() && time.starts_with(|c: char| c.is_ascii_digit()) => {
                self.begin = Some(format!("at {time}"));
            }
            None if self.begin.is_none() => self.begin = Some(time),
            None => self.vague = true,
        }
        Some(taken)
    }

    /// The time that begins at a word, in words of the grammar; a part of the day by which something
    /// ends is the next one.
    fn said_time(&mut self, read: &Crowd, at: usize, end: bool) -> Option<(String, usize)> {
        if let Some((part, taken)) = read.prose.part_of_day(at) {
            self.vague |= end && self.begin.is_some();
            let day = if end { "tomorrow" } else { "this" };
            return Some((format!("{day} {part}"), taken));
        }
        let (when, taken): (When, usize) = read.prose.time(at)?;
        let time = read.prose.lows(at)[..taken].join(" ");
        // Who has left did so on the last such day.
        let past = self.moves.last() == Some(&Coming::Leaves) && !end;
        let done = (0..at).any(|at| read.is("has-left", at));
        let week = when.day.is_some() && when.is_of_any_week();
        let last = || format!("last {}", time.trim_start_matches("on "));
        Some((if past && done && week { last() } else { time }, taken))
    }

    /// How many it is said that are aboard; where those who come or leave are told one by one, they
    /// are what holds.
    fn agreed(&self) -> Option<u32> {
        let counted = match (self.comes, self.names) {
            // Until when is not said: nobody has to know it who says how many they are.
            (true, 0) => self.kin > 0 && self.end.is_some(),
            (false, 1..) => self.alone && self.kin == 0,
            _ => false,
        };
        self.total.filter(|_| !counted)
    }

    /// The sum in words of the grammar: who comes beside those who are aboard, who of them is away, or
    /// that all are back.
    fn told(self, scene: &Scene) -> Option<String> {
        let (aboard, crew) = (scene.known.aboard.value(), scene.known.crew.value());
        // Who comes this evening and stays until a day is here.
        let evening = scene.clock.civil.hour() >= EVENING && self.end.is_some();
        let tonight = self.begin.as_deref() == Some("tonight");
        let begin = self.begin.iter().filter(|_| !(evening && tonight));
        let times: Vec<String> = begin.chain(&self.end).cloned().collect();
        let total = self.agreed();
        // `our guest leaves tomorrow, then three again`: from when on.
        let from = |time: &String| time.trim_start_matches("until ").to_string();
        let then = self.anew && total.is_some() && !self.comes && self.begin.is_none();
        let times = if then { times.iter().map(from).collect() } else { times };
        let with =
            |what: String| Some(format!("{what} {}", times.join(" ")).trim_end().to_string());
        let moved = self.leaves || self.elsewhere || !self.moves.is_empty();
        let ends = self.end.is_some();
        let until = self.end.as_ref().is_some_and(|end| end.starts_with("until"));
        let changed = moved || until || self.only || self.anew || self.begin.is_some();
        if let Some(total) = total.filter(|_| changed) {
            return with(format!("aboard {total}"));
        }
        // `im at dads`, `heading out with Otis`.
        let away = self.names.max(if self.crew { 1 + self.with } else { 0 });
        let guests = self.kin + if self.crew && self.kin > 0 { 0 } else { self.names };
        let stay = self.begin.is_some() && ends && self.names == 0 && !moved;
        let come = (self.comes || stay) && self.kin > 0;
        let named = self.names > 1 && !self.crew || !times.is_empty();
        let out = self.elsewhere && (ends || tonight) && !self.comes;
        let some_leave = self.leaves
            && ends
            && (self.crew || self.names == 1)
            && self.moves.first() != Some(&Coming::Comes);
        // `2 kids away til monday` live aboard, where nobody else does.
        let gone = f64::from(self.kin.max(if self.children { 2 } else { 0 }));
        let own_leave = self.leaves && ends && !self.comes && gone > 0.0 && self.names == 0;
        let own_leave = own_leave && aboard <= crew && gone < aboard && !self.crew;
        let guests_leave = self.leaves && (self.kin > 0 || self.names > 1) && aboard > crew;
        match () {
            () if own_leave => with(format!("aboard {}", aboard - gone)),
            () if guests_leave && !out && !come => with(format!("aboard {crew}")),
            () if out || some_leave && !come => {
                with(format!("aboard {}", (aboard - f64::from(away)).max(0.0)))
            }
            () if come || self.comes && self.names > 0 && (named || ends) => {
                with(so_many_guests(guests as usize))
            }
            () if self.back && self.names > 0 => {
                Some(with(format!("aboard {crew}"))?.replace(" until ", " "))
            }
            () => None,
        }
    }
}

/// Whether a word begins its clause.
fn is_first(read: &Crowd, at: usize) -> bool {
    at == 0 || read.prose.clause[at - 1] != read.prose.clause[at]
}

/// `Otis and me`, `me n mum`: how many these are, and where they end.
fn and_me(read: &Crowd, from: usize) -> Option<(u32, usize)> {
    let (mut at, mut who, mut me) = (from, 0, false);
    while at < read.prose.len() {
        let word = &read.words()[at];
        let one = is_of("speaker", &word.low);
        me |= one;
        match () {
            () if one || read.is_who(at) || read.is("people", at) => who += 1,
            () if word.is_any("and n & +") || is_of("filler", &word.low) => {}
            () => break,
        }
        at += 1;
    }
    (me && who > 0).then_some((who, at))
}
