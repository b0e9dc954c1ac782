//! The gist of a line that is asked back: of each clause what it plainly tells, in words of the
//! grammar, and the rest as a note. It is only ever offered: words that say nothing of the van are
//! left out of what it tells, and a clause that takes itself back is noted.

use super::company::company;
use super::cut_up::{Clause, sentences};
use super::lexicon::lexicon;
use super::listed::{is_filler, is_of, lows};
use super::misread::{EXAMPLE, Misread, Understood};
use super::part::MEAL;
use super::reduced::{Reduced, reduced};
use super::scene::Scene;
use crate::domain::Event;

/// Words of what is told of who is aboard.
const PEOPLE: [&str; 3] = ["aboard", "guest", "away"];
/// The longest clause that tells of a meal by its name alone, in words.
const LONGEST_MEAL: usize = 5;

/// What reads a line of the grammar.
pub(super) type Read<'r> = &'r dyn Fn(&str) -> Option<Result<Vec<Understood>, Misread>>;

/// What `line` plainly tells; `None` where that is nothing, or where it puts another line right.
pub(super) fn gist(line: &str, scene: &Scene, read: Read) -> Option<String> {
    let all = lows(line);
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    let begins =
        |list: &str| (0..all.len().min(3)).any(|at| lexicon().begins(list, &all[at..]) > 0);
    if begins("scrap") || begins("mends") {
        return None;
    }
    let sentences = sentences(line);
    let clauses = sentences.iter().map(Vec::len).sum::<usize>();
    let alone = clauses < 2;
    let (told, notes) = (Vec::new(), Vec::new());
    let mut heard = Heard { scene, read, told, notes, last: None, head: None, alone, dated: false };
    sentences.iter().for_each(|sentence| heard.sentence(sentence));
    if heard.dated && clauses < 3 { None } else { heard.written() }
}

/// What has been heard so far.
struct Heard<'h> {
    scene: &'h Scene<'h>,
    read: Read<'h>,
    /// What is told, in words of the grammar, and as it was written.
    told: Vec<(String, String)>,
    notes: Vec<String>,
    last: Option<Told>,
    /// What stands before a colon, and is said of what follows.
    head: Option<String>,
    /// Whether the line is one clause.
    alone: bool,
    /// Whether a clause says of others when they were.
    dated: bool,
}

/// What a clause says of the use before it.
enum Again {
    Once(String),
    Same,
}

/// What the last clause told that named a thing.
struct Told {
    verb: Option<String>,
    name: String,
    /// Whether it is an activity.
    use_of: bool,
    /// Where it stands among what was told, as long as its amount may follow.
    open: Option<usize>,
    /// Whether it is noted as long as none does.
    noted: bool,
}

impl Heard<'_> {
    /// The line; what cannot stand beside the rest of it is noted.
    fn written(mut self) -> Option<String> {
        while !self.told.is_empty() {
            let told =
                self.told.iter().map(|(told, _)| told.as_str()).collect::<Vec<_>>().join(", ");
            let (read, notes) = (self.read, self.notes.join(", "));
            let line = if notes.is_empty() { told } else { format!("{told}, note {notes}") };
            let Err(misread) = read(&line)? else { return Some(line) };
            let before: String = line.chars().take(misread.start).collect();
            let at = before.matches(", ").count().min(self.told.len() - 1);
            // What is clear by itself stands against another.
            let against = self.told.len() > 1 && self.says(&self.told[at].0);
            if !misread.mend.swaps.is_empty() && !against {
                return Some(line);
            }
            let (_, gone) = self.told.remove(at);
            self.note(&gone);
        }
        None
    }

    fn sentence(&mut self, clauses: &[Clause]) {
        let whole: Vec<&str> = clauses.iter().map(|clause| clause.text.as_str()).collect();
        let people = company(&whole.join(", "), self.scene).filter(|told| self.tells(told));
        let (told, notes, dated) = (self.told.len(), self.notes.len(), self.dated);
        clauses.iter().for_each(|clause| self.clause(clause));
        if let Some(people) = people {
            let rest: Vec<_> = self.told.drain(told..).collect();
            let rest: Vec<_> =
                rest.into_iter().filter(|(told, _)| !self.is_of_people(told)).collect();
            self.told.extend([(people, whole.join(", "))].into_iter().chain(rest));
            self.notes.truncate(notes);
            (self.last, self.dated) = (None, dated);
        }
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
        let head = self.head.take().map_or(String::new(), |head| head + " ");
        let text = &*format!("{head}{}", clause.text);
        // `grey: dumped`, `yesterday: 2 showers`.
        let reduced = reduced(text, self.scene);
        let names = |r: &Reduced| !(r.ways.is_empty() || r.name.is_none() && r.amount);
        if clause.head && reduced.as_ref().is_some_and(names) {
            self.head = Some(text.to_string());
            return;
        }
        let Some(reduced) = reduced else {
            // `(planned)`, `(not yet)`.
            if let Some((_, gone)) = self.told.pop_if(|_| clause.aside) {
                self.note(&gone);
                self.last = None;
            }
            return self.note(text);
        };
        match self.again(text) {
            Some(Again::Once(name)) => return self.once_more(name, text),
            Some(Again::Same) => return,
            None => {}
        }
        if self.goes_on(text, &reduced) {
            return;
        }
        let with_verb = self.with_verb(&reduced);
        let open = reduced.open || reduced.bare && self.alone || clause.asks && !reduced.amount;
        // A distance and the hours that it took are one drive.
        let drove = |way: &str| way.contains("drove");
        let again = self.told.iter().any(|(told, _)| drove(told));
        let ways = || reduced.ways.iter().filter(|way| !(open || again && drove(way)));
        let own = || ways().find(|way| self.tells(way)).cloned();
        if let Some(told) = with_verb.clone().or_else(own) {
            if let Some((name, use_of)) = reduced.name {
                let open = (!reduced.amount).then_some(self.told.len());
                let before = || self.last.as_ref().and_then(|last| last.verb.clone());
                let own = if with_verb.is_some() { before() } else { reduced.verb };
                self.last = Some(Told { verb: own, name, use_of, open, noted: false });
            }
            self.told.push((told, text.to_string()));
            self.notes.extend(reduced.left);
            return;
        }
        self.dated |= reduced.dates;
        if let (Some((name, use_of)), false) = (&reduced.name, reduced.amount || open) {
            let (name, verb) = (name.clone(), reduced.verb.clone());
            self.last = Some(Told { verb, name, use_of: *use_of, open: None, noted: true });
        }
        match self.meal(text).filter(|_| reduced.verb.is_none()) {
            Some(told) => self.told.push((told, text.to_string())),
            None => self.note(text),
        }
    }

    /// Gives an amount, or a time of day, to what was named before.
    fn goes_on(&mut self, text: &str, reduced: &Reduced) -> bool {
        let Some(last) = self.last.as_ref().filter(|_| reduced.name.is_none()) else {
            return false;
        };
        let Some(more) = reduced.ways.first().filter(|_| reduced.verb.is_none()) else {
            return false;
        };
        let Told { verb, name, use_of, open, noted } = last;
        let told = match verb {
            _ if *use_of => format!("{name} {more}"),
            Some(verb) if open.is_some() => format!("{verb} {name} {more}"),
            _ => format!("{name} {more}"),
        };
        // `4 showers. FOUR.` says it again.
        let bare = more.chars().all(|c| c.is_ascii_digit());
        let goes_on =
            reduced.plain && ((open.is_some() || *noted) && reduced.amount || *use_of && !bare);
        let range = more.split(' ').any(|w| ["to", "until"].contains(&w));
        let is_told = self.says(&told) || (range || !reduced.amount) && self.tells(&told);
        if !goes_on || !is_told {
            return false;
        }
        let before = open.and_then(|at| self.told.get_mut(at));
        match before.filter(|(before, _)| reduced.amount || before == name) {
            Some((before, _)) => *before = told,
            None => self.told.push((told, text.to_string())),
        }
        if *noted {
            self.notes.pop();
        }
        if let Some(last) = &mut self.last {
            (last.noted, last.open) = (false, None);
        }
        true
    }

    /// A bare stock behind a service is another one that was served; a bare service is of the stock
    /// before.
    fn with_verb(&self, reduced: &Reduced) -> Option<String> {
        let last = self.last.as_ref()?;
        let told: Vec<String> = match (&reduced.verb, &reduced.name, &last.verb) {
            (None, Some((name, false)), Some(verb)) if !reduced.amount && reduced.plain => {
                // `emptied solids and bottle`: of what a bottle is emptied.
                let end = format!(" {name}");
                let everyday = self.scene.known.everyday();
                let others =
                    everyday.iter().filter(|(_, words)| words.iter().any(|w| w.ends_with(&end)));
                let others = others.map(|(own, _)| own);
                [name].into_iter().chain(others).map(|name| format!("{verb} {name}")).collect()
            }
            (Some(verb), None, _) if !last.use_of => {
                let named = format!("{verb} {}", last.name);
                reduced.ways.first().map(|way| way.replacen(verb, &named, 1)).into_iter().collect()
            }
            _ => Vec::new(),
        };
        told.into_iter().find(|told| self.says(told))
    }

    /// `mum had a quick one`, `me too`: the same of another person; `a quick one` is no other.
    fn again(&self, text: &str) -> Option<Again> {
        let last = self.last.as_ref().filter(|last| last.use_of)?;
        let words = lows(text);
        let who = |w: &String| is_of("people", w) || is_of("subject", w);
        let ends = words.last().is_some_and(|w| ["one", "too"].contains(&w.as_str()));
        let other = words.iter().any(who);
        // `a quick one for me`.
        let one = ends || other && words.iter().skip(1).any(|w| w == "one");
        (one && words.len() < 7).then(|| match other {
            true => Again::Once(last.name.clone()),
            false => Again::Same,
        })
    }

    fn once_more(&mut self, name: String, text: &str) {
        match self.told.last_mut().filter(|(told, _)| *told == name) {
            Some((told, _)) => *told = format!("{name} twice"),
            None => self.told.push((format!("another {name}"), text.to_string())),
        }
    }

    /// A meal by its name.
    fn meal(&self, text: &str) -> Option<String> {
        let meal = self.scene.known.activity_named(MEAL)?;
        let words = lows(text);
        let named = words.iter().any(|w| is_of("meals", w));
        let plain = !words.iter().any(|w| is_of("elsewhere", w) || is_of("reads", w));
        let told = |(told, _): &(String, String)| told.contains(meal) || told.contains("cook");
        // `soup for lunch and curry for tea`.
        let hour = words.windows(2).any(|w| w[0] == "for" && is_of("mealtimes", &w[1]));
        let another = self.told.iter().any(told);
        let more = if another { "another " } else { "" };
        (named && plain && (hour || !another) && words.len() <= LONGEST_MEAL)
            .then(|| format!("{more}{meal} ({})", text.replace(['(', ')'], "")))
    }

    fn note(&mut self, text: &str) {
        let words = lows(text);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        if !is_filler(&words) {
            self.notes.push(text.trim_matches([':', '(', ')']).to_string());
        }
    }

    /// Whether a line of the grammar would be saved.
    fn says(&self, line: &str) -> bool {
        matches!((self.read)(line), Some(Ok(_))) && self.tells(line)
    }

    /// Whether a line of the grammar would be saved, or asked back with what would be; a number
    /// that nobody said is no help here.
    fn tells(&self, line: &str) -> bool {
        match (self.read)(line) {
            Some(Ok(said)) => said.iter().all(|said| !matches!(said.event, Event::Note(_))),
            Some(Err(misread)) => {
                let swaps = &misread.mend.swaps;
                !swaps.is_empty() && !swaps.iter().any(|swap| swap.text.contains(EXAMPLE))
            }
            None => false,
        }
    }
}
