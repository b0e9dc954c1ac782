//! The gist of a line that is no grammar: of each clause what it plainly tells, in words of the
//! grammar, and the rest as a remark or a note. Where every word that is left out is known to change
//! nothing, the gist is what was meant, and saved; where one may, it is only offered.

use super::company;
use super::cut_up::{Clause, misleads, sentences, without};
use super::follows::is_served;
use super::noted::{Gist, noted};
use super::phrases::Trust;
use super::reduced::{Reduced, reduced};
use super::refers::drawn_from;
use super::rewritten::{rewrite, trust};
use super::so_far::{Read, SoFar, Thing, Told};
use super::telling::{scrapped, untold};
use super::ways::Way;
use crate::logline::grammar::prepared::prepared;
use crate::logline::grammar::scene::Scene;
use crate::logline::grammar::talk::{is_price, is_priced, is_talk, told_by_rows};
use crate::logline::lexis::lexicon::lexicon;
use crate::logline::lexis::listed::{is_of, lows, refs};
use crate::logline::times::time::is_time_word;
use crate::logline::tokens::item::Item;

/// Words of what is told of who is aboard.
const PEOPLE: [&str; 3] = ["aboard", "guest", "away"];

/// What `line` plainly tells, in one way or the other where what it says may mean two; `None` where
/// that is nothing, or where it puts another line right.
pub(in crate::logline) fn gist(line: &str, scene: &Scene, read: Read, way: usize) -> Option<Gist> {
    // `scratch that, fresh is a quarter`: what follows is told; that it is told late takes nothing back.
    let (told, late) = match (scrapped(line), untold(line)) {
        (Some(rest), _) => return Some(Gist { sure: false, ..gist(rest, scene, read, way)? }),
        (None, Some(rest)) => (rest, true),
        (None, None) => (line.to_string(), false),
    };
    let sentences = sentences(&told);
    let mut said = sentences.clone();
    let trust = trust(&rewrite(&mut said, (scene, read), way));
    if let Some(line) = whole(&said).filter(|_| trust == Some(Trust::Said))
        && matches!(read(&line), Some(Ok(_)))
    {
        return Some(Gist { line, sure: true, phrased: true, things: usize::MAX });
    }
    let heard = |said, trust| heard(&told, (said, trust), late, scene, read);
    let phrased = heard(said, trust);
    if trust.is_none() || phrased.as_ref().is_some_and(|gist| gist.sure) {
        return phrased;
    }
    // What is sure without it, and tells as much, needs no other way of saying it.
    let plain = heard(sentences, None);
    let things = |gist: &Option<Gist>| gist.as_ref().map_or(0, |gist| gist.things);
    let sure = plain.as_ref().is_some_and(|gist| gist.sure);
    let better = phrased.is_none() || sure && things(&plain) >= things(&phrased);
    if better { plain } else { phrased }
}

/// The clauses in one line; `None` where one says something of the one before it.
fn whole(sentences: &[Vec<Clause>]) -> Option<String> {
    let clauses = || sentences.iter().flatten();
    let text = |clause: &Clause| format!("{} {}", clause.joint, clause.text).trim().to_string();
    (!clauses().any(|clause| clause.aside || clause.asks || clause.head))
        .then(|| clauses().map(text).collect::<Vec<_>>().join(", "))
}

/// What the sentences of `line` tell, which takes nothing back at once; with how sure a way of saying
/// some of it is.
fn heard(
    line: &str,
    (mut sentences, phrased): (Vec<Vec<Clause>>, Option<Trust>),
    late: bool,
    scene: &Scene,
    read: Read,
) -> Option<Gist> {
    let all = lows(line);
    let all = refs(&all);
    let begins = |list: &str, from: usize| {
        (from..all.len().min(3)).any(|at| lexicon().begins(list, &all[at..]) > 0)
    };
    // `60% fresh, i mean grey`.
    if begins("scrap", 0) || begins("mends", 1) {
        return None;
    }
    let clauses = sentences.iter().map(Vec::len).sum::<usize>();
    let new = |last_resort| SoFar {
        scene,
        read,
        last_resort,
        notes: Vec::new(),
        last: None,
        head: None,
        held: None,
        alone: clauses < 2,
        bought: false,
        shopped: false,
        source: drawn_from(&all, scene),
        whom: all.iter().find(|w| scene.known.done_to(w).is_some()).map(ToString::to_string),
        paid: false,
        said_at: None,
        doubt: begins_in_doubt(line, phrased, scene),
        told: Vec::new(),
        known: false,
        mends: false,
        late,
        fasts: false,
        taken_back: false,
    };
    let mut again = sentences.clone();
    let mut heard = new(false);
    heard.sentences(&mut sentences);
    if heard.known && heard.told.is_empty() {
        heard = SoFar { doubt: true, ..new(true) };
        heard.sentences(&mut again);
    }
    heard.day_held();
    // What stands before a colon behind which nothing is said.
    if let Some(text) = heard.head.take() {
        heard.note(&text, None);
    }
    match heard.known || !heard.told.is_empty() {
        // `no showers today` is told, and counts nothing.
        true if heard.denies() && !line.contains(|c: char| c == '?' || c.is_ascii_digit()) => {
            Some(Gist { line: noted(line), sure: true, phrased: false, things: 0 })
        }
        true => heard.written().map(|gist| Gist { phrased: phrased.is_some(), ..gist }),
        // Nothing in it is known: talk.
        false => {
            let sure = is_talk(line);
            sure.then(|| Gist { line: noted(line), sure, phrased: false, things: 0 })
        }
    }
}

/// Whether all of a line is doubted: what it says in a way of its own is not sure, or it is no plain line.
fn begins_in_doubt(line: &str, phrased: Option<Trust>, scene: &Scene) -> bool {
    match phrased {
        Some(trust) => trust != Trust::Said,
        // `no, fresh 60` may put right what was said before.
        None => misleads(line, scene) || prepared(line, scene.known, scene.clock).is_err(),
    }
}

/// Whether a clause tells why.
fn is_reason(clause: &Clause) -> bool {
    is_of("why", &clause.joint)
}

impl SoFar<'_> {
    fn sentences(&mut self, all: &mut [Vec<Clause>]) {
        let rows = self.weather(all);
        let crowded = self.company(all);
        let crowd = self.told.last().map(|thing| thing.told.clone());
        for (at, sentence) in all.iter().enumerate() {
            let notes = self.notes.len();
            self.sentence(sentence);
            // What else is said of people where it is told when they come.
            if crowded.contains(&at) {
                let rest = self.notes.split_off(notes);
                self.notes.extend(rest.into_iter().filter(|note| note.tells.known));
            }
        }
        self.told.extend(rows);
        if let Some(crowd) = crowd.filter(|_| !crowded.is_empty()) {
            self.people_once(&crowd);
        }
    }

    fn sentence(&mut self, clauses: &[Clause]) {
        let words = clauses.iter().flat_map(|clause| lows(&clause.text));
        // `shop done! food 4 days`.
        for word in words.filter(|w| is_of("bought", w)) {
            (self.bought, self.shopped) = (true, self.shopped || word != "worth");
        }
        self.paid = self.bought || clauses.iter().any(|clause| is_price(&clause.text));
        let from = self.told.len();
        let mut noted = false;
        for clause in clauses {
            let (notes, told) = (self.notes.len(), self.told.len());
            self.clause(clause);
            let is_noted = self.notes.len() == notes + 1 && self.told.len() == told;
            // `mac n cheese`.
            let last = self.notes.last_mut().filter(|_| is_noted && noted && !clause.aside);
            if let Some(last) = last.filter(|_| !clause.joint.is_empty()) {
                (last.joins, last.text) = (true, format!("{} {}", clause.joint, last.text));
            }
            noted = is_noted;
        }
        // What a colon led in, and nothing followed.
        if let Some(head) = self.head.take() {
            self.note(&head, None);
        }
        self.held_before(from);
    }

    /// Takes what the sentences tell of who is aboard out of them, and says which of them tell when, or
    /// how many.
    fn company(&mut self, sentences: &mut [Vec<Clause>]) -> Vec<usize> {
        let all = sentences.iter().enumerate();
        let of: Vec<usize> = all.flat_map(|(at, all)| all.iter().map(move |_| at)).collect();
        let clauses: Vec<&Clause> = sentences.iter().flatten().collect();
        let told = company::told(&clauses, self.scene);
        let told = told.filter(|told| self.tells(&told.line));
        let Some(company::Told { line, used, plain, sure }) = told else { return Vec::new() };
        let crowded: Vec<usize> = plain.iter().map(|at| of[*at]).collect();
        let text = |at: &usize| clauses[*at].text.clone();
        let all: Vec<String> = used.iter().map(text).collect();
        let left = used.iter().filter(|at| !crowded.contains(&of[**at])).map(text).collect();
        self.told.push(Thing { left, ..Thing::new(line, &all.join(", ")) });
        self.doubt |= !sure;
        without(sentences, &used);
        crowded
    }

    /// What is told of people in whole sentences is told once; that stands before the others.
    fn people_once(&mut self, crowd: &str) {
        let all = std::mem::take(&mut self.told).into_iter();
        let once = |thing: &Thing| thing.told == crowd || !self.is_of_people(&thing.told);
        self.told = all.filter(once).collect();
    }

    /// Whether what a clause told is of who is aboard.
    fn is_of_people(&self, told: &str) -> bool {
        let people = |text: &str| PEOPLE.iter().any(|word| text.contains(word));
        let asked = match (self.read)(told) {
            Some(Err(misread)) => misread.mend.swaps.iter().any(|swap| people(&swap.text)),
            _ => false,
        };
        people(told) || asked
    }

    fn clause(&mut self, clause: &Clause) {
        if clause.phrased && self.tells(&clause.text) {
            let dated = lows(&clause.text).iter().any(|w| is_time_word(w) || w.contains(':'));
            let held = self.held.as_ref().filter(|held| !held.spans && !dated);
            let timed = held.and_then(|held| self.at_time(&clause.text, &held.time));
            let told = timed.unwrap_or(clause.text.clone());
            self.last = None;
            return self.told.push(Thing::new(told, &clause.text));
        }
        let head = self.head.take().map_or(String::new(), |head| head + " ");
        let text = &*format!("{head}{}", clause.text);
        self.doubt |= clause.asks;
        if self.puts_right(text) {
            return;
        }
        reduced(text, self.scene, &mut |reduced| match reduced {
            Some(reduced) => match self.of_it(text, reduced) {
                Some(told) => self.clause(&Clause { text: told, ..clause.clone() }),
                None => self.reduced(text, clause, reduced),
            },
            // `and so did I`.
            None if self.is_again(text, None) => {}
            None => self.note(text, None),
        });
    }

    /// Whether a clause takes itself back; a last resort looks past words that may only be talk.
    pub(super) fn is_back(&self, reduced: &Reduced) -> bool {
        if self.last_resort { reduced.back_plainly() } else { reduced.back() }
    }

    /// Takes a clause that can be read.
    fn reduced(&mut self, text: &str, clause: &Clause, reduced: &Reduced) {
        // `grey: dumped`, `yesterday: 2 showers`.
        let served = reduced.verb().is_some() && !(reduced.place() || reduced.amount());
        let names = reduced.name().is_some() || served;
        if clause.head && names && !self.is_back(reduced) {
            self.head = Some(text.to_string());
            return;
        }
        let first = lows(text).first().is_some_and(|w| is_of("which", w));
        if clause.asks && first {
            self.speaks_of(reduced.name());
            return self.note(text, Some(reduced.tells()));
        }
        if self.is_back(reduced) || reduced.wish() && !self.told.is_empty() {
            self.speaks_of(reduced.name().filter(|_| !reduced.amount() || reduced.worded()));
            return self.takes_back(text, clause, reduced);
        }
        if self.adds(text, reduced, clause) {
            return;
        }
        self.tells_of(text, clause, reduced);
    }

    /// Takes what a clause tells by itself, or leaves it.
    fn tells_of(&mut self, text: &str, clause: &Clause, reduced: &Reduced) {
        let served = self.with_verb(text, reduced);
        let got = self.got(reduced);
        // Who comes is read from a whole sentence.
        let open = match self.last_resort {
            true => clause.asks || !reduced.told_of(),
            false => {
                reduced.open() || reduced.bare() && self.alone || clause.asks && !reduced.amount()
            }
        };
        let mut ways = reduced.ways.iter().filter(|_| !open);
        let own = || ways.find(|way| self.tells(&way.text)).cloned();
        let own = || self.bought_of(text, reduced, open).or_else(own);
        let with_verb = served.is_some();
        let served = served.map(|text| Way { text, firm: reduced.plain() });
        match served.or(got).or_else(own) {
            Some(way) => self.tell(way, reduced, (text, clause), with_verb),
            None => self.leave(reduced, (text, clause), open),
        }
    }

    /// Whether a clause says more of what was told before it.
    fn adds(&mut self, text: &str, reduced: &Reduced, clause: &Clause) -> bool {
        if reduced.name().is_none() && self.is_again(text, reduced.time().as_deref()) {
            return true;
        }
        if self.once_longer(text, reduced) {
            return true;
        }
        // `a shower at seven, and Nell at eight`.
        let last = self.last.as_ref().filter(|last| last.use_of && reduced.who_and_when());
        if let Some(name) = last.map(|last| last.name.clone()) {
            self.doubt = true;
            self.once_more(name, text, reduced.time().as_deref());
            return true;
        }
        if self.goes_on(text, reduced) {
            // A time by itself may hold for more than one thing.
            self.doubt |= !reduced.amount() && clause.joint.is_empty();
            return true;
        }
        self.way_there(text, reduced, clause)
    }

    /// `diesel 40 L, 60 euros`: what was paid for went in.
    fn bought_of(&self, text: &str, reduced: &Reduced, open: bool) -> Option<Way> {
        let paid = (self.paid || is_priced(text)) && reduced.verb().is_none() && reduced.amount();
        let put = reduced.ways.first().filter(|_| paid).map(|way| format!("filled {}", way.text));
        put.filter(|put| !open && self.tells(put)).map(|text| Way { text, firm: false })
    }

    /// Keeps what is named in talk, which may be told of then: `who used all the water? gauge on 1/4`.
    fn speaks_of(&mut self, name: Option<(String, bool)>) {
        if let Some((name, use_of)) = name {
            self.last = Some(Told { name, use_of, talk: true, ..Told::default() });
        }
    }

    /// A clause that says that it was not so: `(planned)`, `(not yet)` take back what was told.
    fn takes_back(&mut self, text: &str, clause: &Clause, reduced: &Reduced) {
        if is_reason(clause) && self.beside(text, clause) {
            return;
        }
        self.taken_back = true;
        // `stopped in Fennel Cross at noon and filled the diesel`.
        if reduced.place() && !reduced.any(Item::is_not) {
            self.hold(text, reduced, clause);
        }
        let words = lows(text);
        // `2 showers, both at the gym`, `washed up, doesn't count`.
        let says =
            |list: &str| (0..words.len()).any(|at| lexicon().begins(list, &refs(&words[at..])) > 0);
        let there = says("elsewhere") && words.first().is_some_and(|w| is_of("pronouns", w));
        let uncounted = says("foreign") || there && reduced.name().is_none();
        if let Some(gone) = self.told.pop_if(|_| clause.aside || uncounted) {
            self.note(&gone.text, None);
            self.last = None;
        }
        // `chips from the van, didn't cook`.
        self.fasts |= reduced.name().is_some_and(|(name, _)| self.is_meal(&name));
        let eaten = |thing: &Thing| self.is_meal(&thing.told);
        if let Some(at) = self.told.iter().position(eaten).filter(|_| self.fasts) {
            let gone = self.told.remove(at);
            self.note(&gone.text, None);
        }
        self.note(text, Some(reduced.tells()));
    }

    /// When it is to be, where it names its own day to come.
    fn planned(&self, reduced: &Reduced) -> String {
        let time = reduced.time().filter(|_| reduced.place() && reduced.ahead() && !self.late);
        time.map_or(String::new(), |time| format!(" planned {}", time.trim_start_matches("on ")))
    }

    /// Takes what a clause tells.
    fn tell(
        &mut self,
        way: Way,
        reduced: &Reduced,
        (text, clause): (&str, &Clause),
        with_verb: bool,
    ) {
        self.doubt |= self.is_doubted(&way, reduced, clause)
            // What is told late in words of what is to come.
            || self.late && way.text.contains("planned ");
        if reduced.place() {
            self.hold(text, reduced, clause);
        }
        let time = self.planned(reduced);
        let told = match reduced.time() {
            _ if self.late => way.text.replace("planned ", ""),
            None => way.text.clone() + &time,
            Some(_) => way.text.clone(),
        };
        let told = self.then(told, text, reduced, clause);
        self.same_meal(&told);
        let way = Way { text: told, ..way };
        let (name, verb, amount) = (reduced.name(), reduced.verb(), reduced.amount());
        self.named_before(reduced, clause);
        let (remark, mut left) = (reduced.remark(), reduced.left());
        let said_at = reduced.time();
        left.retain(|left| !way.text.contains(left.as_str()));
        left.extend(reduced.until().filter(|_| !way.text.contains("until")));
        if let Some((name, use_of)) = name {
            // `grey's getting full, maybe 70%`.
            let open = (!amount || reduced.worded()).then_some(self.told.len());
            let before = || self.last.as_ref().and_then(|last| last.verb.clone());
            let verb = if with_verb { before() } else { verb };
            // `filled fresh yesterday, 40 L`: the time is of both.
            let time =
                reduced.time().filter(|_| !amount).map_or_else(String::new, |t| format!(" {t}"));
            self.last = Some(Told { verb, name, use_of, open, time, ..Told::default() });
        } else {
            // `Sorrel Head, 2 h 10, 88 km`: the way there.
            let came = reduced.place() && !(reduced.timed() && time.is_empty());
            let verb = if came { Some("drove".to_string()) } else { verb };
            let open = came.then_some(usize::MAX);
            self.last = Some(Told { verb, open, time, ..Told::default() });
        }
        let and = is_of("ands", &clause.joint);
        let (told, text, time) = (way.text, text.to_string(), said_at);
        self.told.push(Thing { told, text, remark, left, time, and });
    }

    /// Takes a clause that tells nothing: it may name what the next one tells of.
    fn leave(&mut self, reduced: &Reduced, (text, clause): (&str, &Clause), open: bool) {
        self.hold(text, reduced, clause);
        let words = lows(text);
        let time = self.planned(reduced);
        // `laptop this morning, 4 hours`.
        let own: String = reduced.time().iter().map(|own| format!(" {own}")).collect();
        let named = |verb, name, use_of, noted| {
            Some(Told { verb, name, use_of, noted, time: own.clone(), ..Told::default() })
        };
        let empty = |w: &String| w.starts_with("empt");
        let lasts = reduced.of_people() || self.lasts(reduced);
        match &reduced.name() {
            Some((name, use_of)) if !(reduced.amount() || open) => {
                self.last = named(reduced.verb(), name.clone(), *use_of, true);
            }
            // `drove to Sorrel Head, 35 km`; `guests tonight: 2`; `plugged in overnight, 10 hours`.
            _ if lasts => {
                let verb = reduced.ways.first().map(|way| way.text.clone());
                self.last = Some(Told { verb, noted: true, time, ..Told::default() });
            }
            // `everything empty: grey, pee, poo`, `all emptied at the drain, pee and poo`.
            _ if words.iter().any(empty) || reduced.verb().as_deref() == Some("emptied") => {
                self.last = named(Some("emptied".into()), String::new(), false, false);
            }
            _ => {}
        }
        // `pizza from the shop` was not cooked here.
        let cooks = words.iter().any(|w| is_of("cooks", w));
        let bought = words.iter().any(|w| w == "from") && !cooks;
        if (bought || is_reason(clause) && !cooks) && self.meal(text).is_some() {
            return self.note(text, None);
        }
        if let Some(told) = self.meal(text).filter(|_| {
            reduced.verb().is_none()
                && !(self.fasts || reduced.ahead())
                && told_by_rows(&words).is_none()
        }) {
            self.doubt |= !((cooks || is_served(&words)) && reduced.tells().meal_said);
            let told = self.then(told, text, reduced, clause);
            return self.told.push(Thing::new(told, text));
        }
        let aside = clause.aside && reduced.tells().harmless;
        if (is_reason(clause) || aside) && self.beside(text, clause) {
            return;
        }
        self.doubt |= clause.aside;
        self.note(text, Some(reduced.tells()));
    }

    /// Whether a verb of it goes on for hours.
    fn lasts(&self, reduced: &Reduced) -> bool {
        reduced.verb().as_ref().is_some_and(|verb| self.says(&format!("{verb} 2 h")))
    }

    /// Whether what a clause tells may be other than it is meant.
    fn is_doubted(&self, way: &Way, reduced: &Reduced, clause: &Clause) -> bool {
        // What stands behind an outlook may go on with it.
        let sky = way.text.starts_with("outlook");
        let part = reduced.bare() || is_reason(clause) || clause.aside || sky;
        !way.firm || part || !self.kind(&way.text).is_some_and(|kind| reduced.is_harmless(kind))
    }
}
