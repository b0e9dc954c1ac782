//! The gist of a line that is asked back: of each clause what it plainly tells, in words of the
//! grammar, and the rest as a note. It is only ever offered: words that say nothing of the van are
//! left out of what it tells, and a clause that takes itself back is noted.

use super::amounts::Said;
use super::bag::{ends_done, is_done_word};
use super::company::company;
use super::cores::is_another;
use super::cut_up::{Clause, sentences};
use super::item::{Is, Item, MARKS, items};
use super::lexicon::{Hedge, Sense, Tense, lexicon};
use super::listed::{is_filler, is_of, is_small, lows, stem};
use super::misread::{EXAMPLE, Misread, Understood};
use super::part::MEAL;
use super::scene::Scene;
use super::units::is_counted;
use super::vocabulary::Vocabulary;
use super::word::{Word, text};
use super::{speech, words};
use crate::domain::Event;

/// Small words that say how an amount is meant, or of how many.
const KEPT: &str =
    "to left both each times x another out to-full completely at of about gone all up";
/// The same that stand at no end of what is told.
const INNER: &str = "to at of about up x times";
/// Words that blur a share, or make another thing of what was done.
const BLURS: [&str; 7] = ["over", "under", "fewer", "why", "what", "how", "than"];
/// Words of what is told of who is aboard.
const PEOPLE: [&str; 3] = ["aboard", "guest", "away"];
/// Words of the list `undone` that take nothing back here.
const WHOSE: [&str; 12] =
    ["their", "his", "her", "as", "like", "than", "host", "owner", "guy", "man", "woman", "lady"];
/// How many slips of one clause are left out one after the other.
const MOST_SLIPS: usize = 3;
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
}

/// A clause without the words that say nothing of the van.
struct Reduced {
    /// What it may tell, the fullest first.
    ways: Vec<String>,
    verb: Option<String>,
    name: Option<(String, bool)>,
    /// Whether it says how much.
    amount: bool,
    /// Whether it may be said of what was named before: nothing in it is strange, or not sure.
    plain: bool,
    /// Whether it may only name what it does not tell of.
    open: bool,
    /// Whether it names a use with words beside it that may make another thing of it.
    bare: bool,
    /// Whether it says nothing but when.
    dates: bool,
    /// The words that were left out, where they may tell of something.
    left: Vec<String>,
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
        let (told, notes) = (self.told.len(), self.notes.len());
        clauses.iter().for_each(|clause| self.clause(clause));
        if let Some(people) = people {
            let rest: Vec<_> = self.told.drain(told..).collect();
            let rest: Vec<_> =
                rest.into_iter().filter(|(told, _)| !self.is_of_people(told)).collect();
            self.told.extend([(people, whole.join(", "))].into_iter().chain(rest));
            self.notes.truncate(notes);
            self.last = None;
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
        let heads = || self.reduced(text).is_some_and(|reduced| !reduced.ways.is_empty());
        if clause.head && heads() {
            self.head = Some(text.to_string());
            return;
        }
        let Some(reduced) = self.reduced(text) else {
            // `(planned)`, `(not yet)`.
            if let Some((_, gone)) = self.told.pop_if(|_| clause.aside) {
                self.note(&gone);
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
        let own = || reduced.ways.iter().filter(|_| !open).find(|way| self.tells(way)).cloned();
        if let Some(told) = with_verb.clone().or_else(own) {
            if let Some((name, use_of)) = reduced.name {
                let open = (!reduced.amount).then_some(self.told.len());
                let before = || self.last.as_ref().and_then(|last| last.verb.clone());
                let own = if with_verb.is_some() { before() } else { reduced.verb };
                self.last = Some(Told { verb: own, name, use_of, open });
            }
            self.told.push((told, text.to_string()));
            self.notes.extend(reduced.left);
            return;
        }
        self.dated |= reduced.dates;
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
        let Told { verb, name, use_of, open } = last;
        let told = match verb {
            _ if *use_of => format!("{name} {more}"),
            Some(verb) if open.is_some() => format!("{verb} {name} {more}"),
            _ => format!("{name} {more}"),
        };
        let goes_on = reduced.plain && (*use_of || reduced.amount && open.is_some());
        let range = more.split(' ').any(|w| ["to", "until"].contains(&w));
        let is_told = self.says(&told) || (range || !reduced.amount) && self.tells(&told);
        if !goes_on || !is_told {
            return false;
        }
        match open.filter(|at| reduced.amount || self.told[*at].0 == *name) {
            Some(at) => self.told[at].0 = told,
            None => self.told.push((told, text.to_string())),
        }
        self.last.iter_mut().for_each(|last| last.open = None);
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
        let one = words.last().is_some_and(|w| ["one", "too"].contains(&w.as_str()));
        let other = words.iter().any(who);
        (one && words.len() < 6).then(|| match other {
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
        let first = !self.told.iter().any(told);
        (named && plain && first && words.len() <= LONGEST_MEAL)
            .then(|| format!("{meal} ({})", text.replace(['(', ')'], "")))
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

    /// A clause without the words that say nothing of the van; `None` where it takes itself back.
    fn reduced(&self, clause: &str) -> Option<Reduced> {
        // `forgot: wednesday we emptied grey` happened, however late it is told.
        let late = ["forgot: ", "forgot yesterday", "Forgot: ", "Forgot yesterday"];
        let late = late.iter().any(|late| clause.starts_with(late));
        let mut clause = if late { clause[7..].to_string() } else { clause.to_string() };
        let mut slips = Vec::new();
        for _ in 0..=MOST_SLIPS {
            match self.once(&clause) {
                Ok(mut reduced) => {
                    reduced.iter_mut().for_each(|r| r.left.append(&mut slips));
                    return reduced;
                }
                Err((start, end)) if end > start => {
                    let letters: Vec<char> = clause.chars().collect();
                    let part = |letters: &[char]| letters.iter().collect::<String>();
                    slips.push(part(&letters[start..end]));
                    clause = format!("{} {}", part(&letters[..start]), part(&letters[end..]));
                }
                Err(_) => return None,
            }
        }
        None
    }

    /// As [`Heard::reduced`], or the characters that cannot be read.
    fn once(&self, clause: &str) -> Result<Option<Reduced>, (usize, usize)> {
        let misread = |misread: Misread| (misread.start, misread.end);
        let Scene { known, clock, .. } = self.scene;
        let pieces = words::pieces(clause, known).map_err(misread)?;
        let words: Vec<Word> = pieces.into_iter().flat_map(|piece| piece.words).collect();
        let words = speech::plain(without_more(words), known);
        let mut items = items(&words, known, clock).map_err(misread)?;
        items.truncate(unknown_camp(&items, known).unwrap_or(items.len()));
        Ok((!items.is_empty() && !denied(&items) && !is_often(&items, self.scene))
            .then(|| reduce(&items)))
    }
}

/// `2 more days` are two days.
fn without_more(words: Vec<Word>) -> Vec<Word> {
    let counts = |at: usize| {
        words[at].is_numeric()
            || lexicon()
                .find([words[at].low.as_str()].into_iter())
                .is_some_and(|(sense, _)| matches!(sense, Sense::Number(_)))
    };
    let more = |at: usize| at > 0 && at + 1 < words.len() && words[at].is("more") && counts(at - 1);
    let kept = (0..words.len()).filter(|at| !more(*at));
    kept.map(|at| words[at].clone()).collect()
}

/// `kettle on gas x3`: how often, of what is measured.
fn is_often(items: &[Item], scene: &Scene) -> bool {
    let stock = items.iter().find_map(Item::stock).and_then(|name| scene.parts.stock(name));
    let often = items.iter().any(|item| item.is_mark(&["x", "times"]));
    often && stock.is_some_and(|(_, stock)| !is_counted(&stock.unit))
}

/// The items of a clause that tell of the van.
fn reduce(items: &[Item]) -> Reduced {
    let kept: Vec<usize> = (0..items.len()).filter(|at| is_kept(items, *at)).collect();
    let mut all: Vec<&Item> = kept.iter().map(|at| &items[*at]).collect();
    while all.last().is_some_and(|item| item.is_of(INNER)) {
        all.pop();
    }
    let from = all.iter().position(|item| !item.is_of(INNER)).unwrap_or(all.len());
    let all = &all[from..];
    let write = |items: &[&Item]| {
        let asked =
            |item: &Item| matches!(item.is, Is::Ask(_)).then(|| item.words[0].text.to_string());
        let all = items.iter().map(|item| asked(item).unwrap_or_else(|| text(item.words)));
        all.collect::<Vec<_>>().join(" ").replace("to-full", "to full").replace("out-of", "out of")
    };
    let without = |mark: &dyn Fn(&Item) -> bool| {
        write(&all.iter().copied().filter(|item| !mark(item)).collect::<Vec<_>>())
    };
    let mark = |item: &Item| matches!(item.is, Is::Mark(_));
    let timed = |item: &Item| mark(item) || matches!(item.is, Is::Time(_) | Is::Until(_));
    let mut ways = vec![write(all), without(&mark), without(&timed)];
    // Where somebody goes on a day to come, however far that is.
    let place = all.iter().find(|item| matches!(item.is, Is::Place));
    let goes = all.iter().all(|item| !matches!(item.is, Is::Verb(verb) if verb != "drove-to"));
    if let Some(place) = place.filter(|_| goes && all.iter().any(|item| item.is_time())) {
        let times = all.iter().copied().filter(|item| item.is_time()).collect::<Vec<_>>();
        let place = place.words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
        ways.push(format!("camp {place} {}", write(&times)));
    }
    let into = |item: &&Item| item.is_mark(&["in", "into", "to-full"]);
    let verbless = !all.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    if verbless && items.iter().any(|item| into(&item)) {
        ways.insert(0, format!("filled {}", ways[0]));
    }
    ways.extend(twice(all, &write));
    ways.retain(|way| !way.is_empty());
    ways.dedup();
    let first = |is: &dyn Fn(&Item) -> bool| all.iter().find(|item| is(item));
    let verb = first(&|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let name = first(&|item| matches!(item.is, Is::Name(_)));
    let (mut left, mut run): (Vec<String>, Vec<&str>) = (Vec::new(), Vec::new());
    for (at, item) in items.iter().enumerate() {
        match kept.contains(&at) {
            false => run.extend(item.words.iter().map(|w| w.text)),
            true => left.extend(worth(&std::mem::take(&mut run))),
        }
    }
    left.extend(worth(&run));
    Reduced {
        ways,
        verb: verb.map(|item| text(item.words)),
        name: name.map(|item| (text(item.words), item.stock().is_none())),
        amount: first(&|item| matches!(item.is, Is::Amount(_))).is_some(),
        left,
        open: is_open(items, all),
        bare: is_bare(items, all),
        dates: items.iter().any(Item::is_time)
            && items.iter().all(|item| match item.is {
                Is::Other => item.words.iter().all(|w| is_small(&w.low) || is_of("reads", &w.low)),
                Is::Name(_) | Is::Verb(_) | Is::Place | Is::Amount(_) | Is::Ask(_) => false,
                _ => true,
            }),
        plain: items.iter().all(|item| match item.is {
            Is::Other => item
                .words
                .iter()
                .all(|w| is_small(&w.low) || is_of("people", &w.low) || is_of("finite", &w.low)),
            Is::Hedge(Hedge::Doubt) => item.words[0].is_any(&["or", "few", "bit"]),
            Is::Verb(verb) => verb != "day",
            _ => true,
        }),
    }
}

/// `battery was 55 this morning, 78 now`: two readings of the one stock that is named.
fn twice(all: &[&Item], write: &dyn Fn(&[&Item]) -> String) -> Option<String> {
    let names: Vec<_> = all.iter().filter(|item| matches!(item.is, Is::Name(_))).collect();
    let amounts: Vec<usize> =
        (0..all.len()).filter(|at| matches!(all[*at].is, Is::Amount(_))).collect();
    let [name] = names[..] else { return None };
    let [first, second] = amounts[..] else { return None };
    let timed = all.iter().any(|item| item.is_time());
    let verb = all.iter().any(|item| matches!(item.is, Is::Verb(_)));
    let name = text(name.stock().is_some().then_some(name)?.words);
    (timed && !verb)
        .then(|| format!("{name} {}, {name} {}", write(&all[first..second]), write(&all[second..])))
}

/// Whether a clause may name what it does not tell of: `fixed the shower`, `bought 2 L milk`, `walked
/// 3 km`, `dinner out`; or tells of what is to come, without a day.
fn is_open(items: &[Item], kept: &[&Item]) -> bool {
    let timed = kept.iter().any(|item| matches!(item.is, Is::Time(_) | Is::Until(_)));
    let will = kept.iter().any(|item| item.words.iter().any(|w| w.tense == Tense::Will));
    let strangers = items.iter().any(is_strange);
    let named = kept.iter().find(|item| matches!(item.is, Is::Name(_)));
    let into = |item: &&Item| item.is_mark(&["in", "into"]);
    let verb = kept.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let verb = verb || items.iter().any(|item| into(&item));
    let small = |item: &&Item| item.is_article() || matches!(item.is, Is::Hedge(_));
    let object = |at: usize| {
        let before = items[..at].iter().rev().find(|item| !small(item));
        is_strange(&items[at])
            && before.is_some_and(|item| matches!(item.is, Is::Verb(_) | Is::Amount(_)))
    };
    let objects = (0..items.len()).any(object);
    let amount = kept.iter().any(|item| matches!(item.is, Is::Amount(_)));
    let of_use = named.is_some_and(|item| item.stock().is_none());
    let out = of_use && items.iter().any(|item| item.is_mark(&["out"]));
    let of_people = kept.iter().any(|item| item.is_verb(&["away", "guests", "aboard", "back"]));
    let unnamed = named.is_none() && (!verb || objects || !amount || of_people);
    will && !timed || out || unnamed && (strangers || of_people && items.len() < 2)
}

/// Whether a clause names a use, and neither that it was made nor how often, beside words of no
/// table.
fn is_bare(items: &[Item], kept: &[&Item]) -> bool {
    let named = kept.iter().find(|item| matches!(item.is, Is::Name(_)));
    let use_of = named.filter(|item| item.stock().is_none());
    let counted =
        kept.iter().any(|item| matches!(item.is, Is::Amount(_)) || item.is_of("both each another"));
    let bare = use_of.is_some_and(|item| !item.words.iter().any(is_done));
    bare && !counted && items.iter().any(is_strange)
}

/// Whether words of no table tell of something, and not of who.
fn is_strange(item: &Item) -> bool {
    matches!(item.is, Is::Other) && !item.words.iter().all(|w| is_small(&w.low) || is_who(w))
}

/// Whether a word says that a use was made.
fn is_done(word: &Word) -> bool {
    word.low.ends_with("ed") || is_done_word(&word.low) || word.lead.is_some_and(ends_done)
}

/// Whether a word says who.
fn is_who(word: &Word) -> bool {
    is_of("people", &word.low) || word.text.starts_with(char::is_uppercase)
}

/// Words that were left out, where they may tell of something: a number, or several of them.
fn worth(run: &[&str]) -> Option<String> {
    let small = |w: &&&str| MARKS.split_whitespace().any(|mark| w.to_lowercase() == mark);
    let end = run.len() - run.iter().rev().take_while(small).count();
    let from = run[..end].iter().take_while(small).count();
    let text = run[from..end].join(" ");
    let words = lows(&text);
    let says = words.iter().filter(|w| !is_small(w) && w.len() > 2).count();
    let number = text.contains(|c: char| c.is_ascii_digit());
    (number || says > 1).then_some(text)
}

/// Where a clause goes on with a camp that nobody knows, in small letters: there it says where.
fn unknown_camp(items: &[Item], known: &Vocabulary) -> Option<usize> {
    let place = items.iter().position(|item| matches!(item.is, Is::Place))?;
    let name = items[place].words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
    let unknown = known.place(&name).is_none() && !name.starts_with(char::is_uppercase);
    place.checked_sub(1).filter(|_| unknown)
}

/// Whether a clause says that it was not so, or not aboard.
fn denied(items: &[Item]) -> bool {
    let served = items.iter().any(|item| matches!(item.is, Is::Verb(_) | Is::Place));
    let strange = |at: usize| {
        let item = &items[at];
        let after = at > 0 && items[at - 1].is_mark(&["after", "before"]);
        let told = |list| item.words.iter().any(|w| is_of(list, stem(&w.low)) && !w.is_any(&WHOSE));
        let down = !served && item.words.iter().any(|w| w.is("down"));
        let gone =
            down || item.words.iter().any(|w| w.is("planned")) || told("undone") || told("money");
        gone || !served && !after && told("elsewhere")
    };
    items.iter().enumerate().any(|(at, item)| match item.is {
        Is::Hedge(Hedge::Not) => true,
        // `nearly emptied the grey`.
        Is::Hedge(Hedge::Doubt) => {
            let verb = items.get(at + 1).is_some_and(|next| matches!(next.is, Is::Verb(_)));
            verb && item.words[0].text.to_lowercase().starts_with(['n', 'a'])
        }
        Is::Hedge(Hedge::Odd) => {
            !item.words[0].is_any(&BLURS) && !BLURS.contains(&item.words[0].text)
        }
        Is::Other => strange(at),
        _ => false,
    })
}

/// Whether an item is of what a clause tells.
fn is_kept(items: &[Item], at: usize) -> bool {
    let item = &items[at];
    let before = at.checked_sub(1).map(|at| &items[at]);
    let strange = |item: Option<&Item>| item.is_some_and(|item| matches!(item.is, Is::Other));
    match &item.is {
        // `battery back to 100`.
        Is::Verb("back") if items.iter().any(|item| item.stock().is_some()) => false,
        Is::Verb("day") | Is::Remark | Is::Other | Is::Hedge(_) => false,
        Is::Name(_) => {
            // `a flannel wash` is no beginning of `wash-up`.
            let begun = item.words[0].low.starts_with(&item.words[0].text.to_lowercase())
                && item.words[0].low != item.words[0].text.to_lowercase();
            let another = before.is_some_and(|b| strange(Some(b)) && is_another(b, item));
            !another && !(begun && items.iter().any(|item| strange(Some(item))))
        }
        Is::Verb(_) | Is::Time(_) | Is::Until(Some(_)) | Is::Place | Is::Step(_) => true,
        // `from nine till one`.
        Is::Until(None) => {
            let number =
                |item: Option<&Item>| item.is_some_and(|item| matches!(item.is, Is::Amount(_)));
            number(before) && items[at + 1..].iter().take(2).any(|item| number(Some(item)))
        }
        Is::Mark("about") if before.is_some_and(|b| matches!(b.is, Is::Until(_))) => false,
        // `loo solids`.
        Is::Ask(ways) => {
            let named = items.iter().any(|item| matches!(item.is, Is::Name(_)));
            let verb = items.iter().any(|item| matches!(item.is, Is::Verb(_)));
            !named && (verb || ways.matches('{').count() < 2)
        }
        // `2 coffees`, `cooked for one`.
        Is::Amount(Said::Bare(_)) => {
            let us = items[at + 1..].iter().take(2).any(|item| item.is_mark(&["us"]));
            let for_whom = us || before.is_some_and(|b| b.is_mark(&["for", "us", "by"]));
            !item.is_article() && !for_whom && !strange(items.get(at + 1))
        }
        Is::Amount(_) => true,
        Is::Mark("from" | "since") => {
            let next = items.get(at + 1).map(|item| &item.is);
            matches!(next, Some(Is::Time(_) | Is::Amount(_)))
        }
        Is::Mark(_) => item.is_of(KEPT),
    }
}
