//! Free speech. In each clause the plain core is found: a thing with its figure, a verb with its
//! thing, an activity with its count. The core is what happened; words left over that cannot change
//! it are a remark beside it. Where they can change it, the core is offered and the line asked back.
//! A clause in which nothing is known is talk, and noted.

use super::amounts::Said;
use super::bag::{Bag, ends_done};
use super::clause;
use super::cut;
use super::item::{Is, Item, at_items, items};
use super::lexicon::{Hedge, lexicon};
use super::misread::Misread;
use super::moment::Clock;
use super::scene::Scene;
use super::schedule::{prepared, scene_of};
use super::thing::things;
use super::vocabulary::Vocabulary;
use super::word::{self, Word};
use super::words::{Joint, Piece};
use crate::domain::entry::Event;
use crate::domain::flow::Per;

/// The longest core, in items, and the longest clause that one is looked for in.
const LONGEST_CORE: usize = 10;
const LONGEST_CLAUSE: usize = 40;
/// Small words that a core may begin or end with.
const EDGES: &str = "we both each about another left gone to-full completely up out x times all away";
/// Words that say when, with what stands behind them.
const WHEN: &str = "at on by before after when since from of into to while";
/// Words that say where.
const WHERE: &str = "at in by on from into of to";
/// Verbs that ordinary talk has as well.
const COMMON: [&str; 1] = ["day"];

/// A line brought to the grammar.
pub(super) struct Free {
    /// The line without what was left over, which stands in remarks and in the note at its end.
    pub line: String,
    /// Whether that is what was meant, beyond doubt.
    pub sure: bool,
    /// Whether all of it may be a note as well.
    pub or_note: bool,
    /// What leaves the line open, at its place in the line as it was written.
    pub why: Option<Misread>,
}

/// What becomes of one piece of a line.
#[derive(Default)]
struct Part {
    /// What the grammar reads.
    text: String,
    /// What is noted.
    note: String,
    open: Option<Misread>,
    /// Whether something in it is known.
    known: bool,
    /// Whether it says of the others when they were, or that they were not.
    denies: bool,
    /// Whether it names what may have been cooked.
    meal: bool,
    /// Whether it says how much, and not of what.
    amount: bool,
    /// The one stock that is named in what is noted.
    name: Option<String>,
    /// Whether a time in it is said of what it tells itself.
    own_time: bool,
}

/// What is plain in `line`; `None` where it cannot be cut into clauses.
pub(super) fn read(
    line: &str,
    misread: &Misread,
    known: &Vocabulary,
    clock: &Clock,
) -> Option<Free> {
    let pieces = prepared(line, known, clock).ok()?;
    let letters: Vec<char> = line.chars().collect();
    let part = |piece: &Piece| {
        let scene = scene_of(piece, line, known, clock);
        Clause { piece, scene: &scene, letters: &letters }.part()
    };
    let mut parts: Vec<Part> = pieces.iter().map(part).collect();
    let cooked = parts.iter().any(|part| part.known && is_meal(&part.text, known));
    let first = parts.iter().position(|part| part.meal).filter(|_| !cooked);
    for (at, part) in parts.iter_mut().enumerate().filter(|(_, part)| part.meal) {
        match first == Some(at) {
            true => (part.note, part.known) = (String::new(), true),
            false => (part.text, part.open) = (String::new(), None),
        }
    }
    let said = parts.iter().position(|part| part.known).unwrap_or(parts.len());
    for part in parts[..said].iter_mut().filter(|part| part.own_time) {
        (part.open, part.denies) = (None, false);
    }
    // `water is getting low, about a quarter`.
    for at in 1..parts.len() {
        if parts[at].amount && let Some(name) = parts[at - 1].name.take() {
            parts[at - 1].text = name;
            parts[at - 1].open = None;
        }
    }
    if parts.iter().all(|part| !part.known) {
        return is_talk(line).then(|| Free { line: noted(line), sure: true, or_note: false, why: None });
    }
    let (mut text, mut notes) = (String::new(), Vec::new());
    let mut headed = false;
    for (part, piece) in parts.iter().zip(&pieces) {
        if let Some(note) = part.text.strip_prefix("note ") {
            notes.push(note);
        } else if !part.text.is_empty() {
            text += match piece.joint {
                _ if text.is_empty() => "",
                _ if headed => " ",
                Joint::And => " and ",
                _ => ", ",
            };
            text += &part.text;
            headed = piece.joint == Joint::Colon;
            text += if headed { ":" } else { "" };
        }
        notes.extend(Some(part.note.as_str()).filter(|note| !note.is_empty()));
    }
    // A line is not saved for the sake of a part of it where another tells when that was, or that
    // it was not.
    if parts.iter().any(|part| part.denies) {
        let why = parts.iter().find_map(|part| part.open.clone());
        return Some(Free { line: noted(line), sure: false, or_note: false, why });
    }
    let own = |(part, piece): &(&Part, &Piece)| {
        part.open.is_some() && (piece.span.0..=piece.span.1).contains(&misread.start)
    };
    let own = parts.iter().zip(&pieces).any(|both| own(&both)).then(|| misread.clone());
    let why = own.or_else(|| parts.iter().find_map(|part| part.open.clone()));
    let line = match (text.is_empty(), notes.is_empty()) {
        (true, _) => noted(line),
        (_, true) => text,
        _ => format!("{text}, {}", noted(&notes.join(", "))),
    };
    Some(Free { line, sure: why.is_none(), or_note: first.is_some(), why })
}

/// Whether words tell of a meal.
fn is_meal(text: &str, known: &Vocabulary) -> bool {
    let words = lows(text);
    let meal = known.activity_named("cooked meal");
    (0..words.len()).any(|at| {
        let found = known.find(words[at..].iter().map(String::as_str));
        meal.is_some() && found.is_some_and(|(means, _)| means.activity.as_deref() == meal)
    })
}

/// All of these words as a note.
pub(super) fn noted(text: &str) -> String {
    let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    format!("note {}", text.trim().trim_start_matches("note ").trim())
}

/// Whether a line with nothing known in it tells of something, and puts nothing right.
fn is_talk(line: &str) -> bool {
    let words = lows(line);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let mends =
        ["mends", "wait", "scrap"].iter().any(|list| lexicon().begins(list, &words) > 0);
    let refers = words.iter().any(|w| is_of("refers", w)) && words.len() < 7;
    let share = ["half", "third", "quarter", "full", "empty"];
    let refers = refers || words.iter().any(|w| share.contains(w));
    let says = words.iter().filter(|w| !is_small(w)).count();
    words.len() > 1 && says > 0 && !mends && !refers && !line.contains('?')
}

/// Whether words say nothing.
fn is_filler(words: &[&str]) -> bool {
    let mut at = 0;
    while at < words.len() {
        match lexicon().begins("filler", &words[at..]) {
            0 => return false,
            taken => at += taken,
        }
    }
    true
}

/// Whether a word says nothing by itself.
fn is_small(word: &str) -> bool {
    ["filler", "unsure", "people", "subject", "aside"].iter().any(|list| is_of(list, word))
        || lexicon().knows(word)
}

fn lows(text: &str) -> Vec<String> {
    let edge = |c: char| !c.is_alphanumeric();
    let words = text.split_whitespace().map(|w| w.trim_matches(edge).to_lowercase().replace('’', "'"));
    words.filter(|w| !w.is_empty()).collect()
}

fn is_of(list: &str, word: &str) -> bool {
    lexicon().begins(list, &[word]) == 1
}

fn stem(word: &str) -> &str {
    word.strip_suffix("'s").unwrap_or(word)
}

fn is_digit(word: &Word) -> bool {
    word.low.contains(|c: char| c.is_ascii_digit())
}

/// What sort of thing a core tells of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// What is there.
    Level,
    /// Something used.
    Use,
    /// A fill, an emptying, a drive, a charge: its verb says that it was done.
    Done,
    /// Who is aboard, a camp, a day.
    Other,
}

/// A core, as a run of the items of its clause.
#[derive(Debug, Clone, Copy)]
struct Core {
    from: usize,
    to: usize,
    kind: Kind,
    /// Whether a word of it says that it was done.
    past: bool,
    /// Whether it says how many.
    counted: bool,
    /// Whether something in it has to be asked.
    asked: bool,
}

impl Core {
    /// Whether it may be a name and nothing more.
    fn is_weak(&self) -> bool {
        self.kind == Kind::Use && !self.past && !self.counted
    }
}

/// How much words left over may change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Harm {
    Nothing,
    Open,
    /// It may not have happened.
    Denied,
}

/// One clause with what stands around it.
struct Clause<'c> {
    piece: &'c Piece<'c>,
    scene: &'c Scene<'c>,
    letters: &'c [char],
}

impl Clause<'_> {
    fn slice(&self, from: usize, to: usize) -> String {
        let text: String = self.letters[from..to.max(from)].iter().collect();
        let separates = |c: char| c.is_whitespace() || ",;:.-".contains(c);
        text.trim_matches(separates).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The clause as it stands.
    fn kept(&self) -> Part {
        let (from, to) = self.span();
        let text: String = self.letters[from..to].iter().collect();
        Part { text, known: true, ..Part::default() }
    }

    fn noted(&self, open: Option<Misread>, known: bool) -> Part {
        let (from, to) = self.span();
        Part { note: self.slice(from, to), open, known, ..Part::default() }
    }

    /// Its characters, with quotes and parentheses at its ends.
    fn span(&self) -> (usize, usize) {
        let (words, (from, to)) = (&self.piece.words, self.piece.span);
        let marked = |w: Option<&Word>| {
            usize::from(w.is_some_and(|w| matches!(w.kind, word::Kind::Quoted | word::Kind::Remark)))
        };
        (from - marked(words.first()), (to + marked(words.last())).min(self.letters.len()))
    }

    fn part(&self) -> Part {
        let words = &self.piece.words;
        if super::lasting::lasting(words, self.scene.known, self.scene.clock).is_some() {
            return self.kept();
        }
        let Ok(items) = items(words, self.scene.known, self.scene.clock) else {
            return self.kept();
        };
        let strange = |item: &Item| matches!(item.is, Is::Other | Is::Hedge(_));
        let plain = !items.iter().any(strange) && Bag::of(&items).strays.is_empty();
        if plain && items.iter().any(is_known) || items.iter().all(Item::is_time) {
            let amount = |item: &Item| !matches!(item.is, Is::Name(_) | Is::Verb(_) | Is::Place);
            return Part { amount: items.iter().all(amount), ..self.kept() };
        }
        let outlook = |item: &Item| item.is_verb(&["outlook"]);
        if items.iter().any(outlook) && !words.iter().any(is_digit) {
            return self.noted(None, false);
        }
        if items.iter().any(|item| matches!(item.is, Is::Remark | Is::Verb("note" | "outlook")))
            || items.len() > LONGEST_CLAUSE
        {
            return self.kept();
        }
        let (cores, tied) = self.cores(&items);
        let misread = things(&items, self.piece, self.scene).err();
        let misread = misread.or_else(|| clause::read(&items, self.scene).err());
        // The same of another person.
        let person = matches!(&items[..], [Item { is: Is::Other, .. }, Item { is: Is::Amount(Said::Bare(_)), .. }]);
        let mended =
            misread.as_ref().is_none_or(|why| !why.nearest.is_empty() || !why.mend.swaps.is_empty());
        if mended || person {
            return self.kept();
        }
        if cores.is_empty() {
            return self.talk(&items, misread);
        }
        self.with_cores(&items, &cores, tied)
    }

    /// What is to be noted of a clause that tells nothing of the van.
    fn talk(&self, items: &[Item], misread: Option<Misread>) -> Part {
        let (from, to) = self.piece.span;
        let text: String = self.letters[from..to].iter().collect();
        let words = lows(&text);
        let is = |list: &str| words.iter().any(|w| is_of(list, stem(w)));
        let money = is("money") || text.contains(['€', '£', '$']);
        let filler = words.iter().map(String::as_str).collect::<Vec<_>>();
        if is_filler(&filler) {
            return self.noted(None, false);
        }
        if money && !items.iter().any(|item| matches!(item.is, Is::Name(_) | Is::Verb(_))) {
            return self.noted(None, items.iter().any(is_known));
        }
        // A number may be one of the van.
        let known = items.iter().any(is_known)
            || items.iter().any(|item| item.words.iter().any(is_digit));
        let not = items.iter().any(|item| matches!(item.is, Is::Hedge(_)));
        if let Some(meal) = self.scene.known.activity_named("cooked meal")
            && !(known || not || is("elsewhere") || words.iter().skip(2).any(|w| is_of("finite", w)))
            && words.len() < 9
            && is("meals")
        {
            let note = self.slice(from, to);
            let message = format!("a meal that was cooked? Write `{meal} ({note})`");
            let open = Some(at_items(&items.iter().collect::<Vec<_>>(), message));
            return Part { text: format!("{meal} ({note})"), note, open, meal: true, ..Part::default() };
        }
        let wanted = words.len() > 3 && is("wanted");
        let owned = words.iter().skip(1).any(|w| w.ends_with("'s"));
        let so = words.first().is_some_and(|w| is_of("so", w)) && !owned;
        let small = |item: &Item| match item.is {
            Is::Other | Is::Mark(_) | Is::Amount(_) => true,
            Is::Hedge(_) | Is::Time(_) => wanted,
            _ => false,
        };
        let open = words.iter().enumerate().any(|(at, w)| {
            let when = wanted && super::time::is_time_word(w);
            let it = so && at == 0;
            ["unsure", "undone", "elsewhere"].iter().any(|list| is_of(list, stem(w))) && !when && !it
                || w.contains(|c: char| c.is_ascii_digit())
        });
        let all = items.iter().collect::<Vec<_>>();
        let harmless = items.iter().all(small) && !open;
        let why = || misread.unwrap_or_else(|| at_items(&all, BESIDE));
        // `to mum's friday to sunday` tells of who is aboard.
        let timed = items.iter().any(Item::is_time) || words.iter().any(|w| is_of("when", w));
        let small = words.iter().all(|w| is_small(w));
        let is_hedge = |how: Hedge| items.iter().any(|item| matches!(item.is, Is::Hedge(h) if h == how));
        let known = known || timed && items.iter().filter(|item| item.is_time()).count() > 1;
        let open = (known || !harmless).then(why);
        let apart = is_hedge(Hedge::Not) && small || is_hedge(Hedge::Odd) && words.len() < 4;
        let denies = open.is_some() && (timed && !wanted && !is_hedge(Hedge::Doubt) || apart);
        let finite = words.iter().skip(1).any(|w| is_of("finite", w));
        let own_time = timed && finite && !known && !so && !is("reads") && !is_hedge(Hedge::Not);
        let mut names = items.iter().filter(|item| matches!(item.is, Is::Name(_)));
        let name = names.next().filter(|name| name.stock().is_some() && names.next().is_none());
        let name = name.filter(|_| !items.iter().any(|i| matches!(i.is, Is::Verb(_) | Is::Amount(_) | Is::Hedge(_))));
        let name = name.map(|item| self.slice(item.start(), item.end()));
        Part { denies, own_time, name, ..self.noted(open, known) }
    }

    /// The cores of the clause, and whether others would do as well.
    fn cores(&self, items: &[Item]) -> (Vec<Core>, bool) {
        let part = |from: usize, to: usize| match self.core(items, from, to) {
            Some(core) => Some([0, usize::from(core.asked), 1, 0]),
            None if to - from == 1 => Some([usize::from(is_known(&items[from])), 0, 0, 1]),
            None => None,
        };
        let ways = cut::best(items.len(), LONGEST_CORE, part);
        let tied = matches!(&ways[..], [(one, _), (other, _)] if one == other);
        let parts = ways.first().map(|(_, cuts)| cut::parts(cuts, items.len()));
        let cores = parts.into_iter().flatten();
        (cores.filter_map(|(from, to)| self.core(items, from, to)).collect(), tied)
    }

    fn core(&self, items: &[Item], from: usize, to: usize) -> Option<Core> {
        let run = &items[from..to];
        let edge = |item: &Item| is_said(item) || item.is_time() || item.is_of(EDGES);
        let inner = |item: &Item| !matches!(item.is, Is::Other | Is::Hedge(_) | Is::Ask(_) | Is::Remark);
        let (first, last) = (run.first()?, run.last()?);
        if !edge(first) || !edge(last) || !run.iter().all(inner) || !run.iter().any(is_said) {
            return None;
        }
        let bag = Bag::of(run);
        let told = |events: &[Event]| match events {
            [Event::Level { .. }] => Kind::Level,
            [Event::Use { .. }] => Kind::Use,
            [Event::Fill { .. } | Event::Empty { .. } | Event::Drive(_) | Event::Charge { .. }] => {
                Kind::Done
            }
            _ => Kind::Other,
        };
        let amounts = !bag.amounts.is_empty();
        let verbs =
            ["filled", "added", "emptied", "swapped", "drove", "shore", "generator", "charged"];
        // `filled the kettle` names another thing.
        let strange = |item: &Item| matches!(item.is, Is::Other | Is::Name(_));
        let behind = items[to..].iter().take_while(|item| matches!(item.is, Is::Mark(_))).count();
        let tail = amounts && items.get(to).is_some_and(|item| item.is_of("from with at by"));
        let behind = items.get(to + behind).filter(|_| !tail);
        let open = bag.names.is_empty() && items[..from].iter().chain(behind).any(strange);
        let (kind, asked) = match clause::read(run, self.scene) {
            Ok(said) => {
                let events: Vec<Event> = said.into_iter().map(|said| said.event).collect();
                (told(&events), false)
            }
            Err(why) if why.mend.swaps.is_empty() => return None,
            Err(_) if open => return None,
            Err(_) if run.iter().any(|item| item.is_verb(&verbs)) => (Kind::Done, true),
            Err(_) if amounts && !bag.names.is_empty() => (Kind::Level, true),
            Err(_) => return None,
        };
        let stray = |at: Option<usize>| at.and_then(|at| items.get(at)).filter(|i| matches!(i.is, Is::Other));
        let before = stray(from.checked_sub(1));
        let bare = bag.amounts.iter().any(|a| matches!(a.said, Said::Bare(_)));
        // `the fresh one`, `fresh 60 things` are no levels, nor is that of `phone battery`.
        let one = run.iter().any(|item| item.words.iter().any(|w| w.low == "1"));
        let another = before.is_some_and(|before| is_another(before, first));
        if kind == Kind::Level && (another || bare && (one || stray(Some(to)).is_some())) {
            return None;
        }
        if kind == Kind::Other && to - from < items.len() && !amounts && bag.places.is_empty() {
            return None;
        }
        let past = bag.names.iter().any(|name| {
            let ed = name.words.iter().any(|w| w.low.ends_with("ed"));
            ed || name.words[0].lead.is_some_and(ends_done) || super::bag::is_done_word(&name.words[0].low)
        });
        let past = past || bag.amounts.iter().any(|a| a.item.words[0].lead.is_some_and(ends_done));
        let article = |item: &Item| item.words[0].is_any(&["a", "an"]);
        let counted = bag.amounts.iter().any(|a| !article(a.item)) || bag.has_mark(&["both", "each", "another"]);
        Some(Core { from, to, kind, past, counted, asked })
    }

    fn with_cores(&self, items: &[Item], cores: &[Core], tied: bool) -> Part {
        let start = self.piece.span.0;
        let end = self.piece.span.1.max(items[items.len() - 1].end());
        let (mut text, mut note) = (Vec::new(), Vec::new());
        let (mut harm, mut worst) = (Harm::Nothing, None);
        let lead = items.iter().take_while(|item| item.is_time()).count().min(cores[0].from);
        let mut aside: Vec<String> = Vec::new();
        for at in 0..=cores.len() {
            let before = at.checked_sub(1).map(|at| &cores[at]);
            let after = cores.get(at);
            let from = before.map_or(lead, |core| core.to);
            let to = after.map_or(items.len(), |core| core.from);
            let run = Run { items, from, to, before, after };
            let grave = run.harm();
            if grave > harm {
                (harm, worst) = (grave, items[from..to].first());
            }
            let begins = if from == 0 { start } else { items[from - 1].end() };
            let ends = if to < items.len() { items[to].start() } else { end };
            let left = if run.says() { self.slice(begins, ends) } else { String::new() };
            if let Some(core) = before {
                aside.extend(Some(left.clone()).filter(|left| !left.is_empty()));
                text.push(self.core_text(items, core, lead, &aside, &mut note));
                aside.clear();
            } else {
                aside.extend(Some(left).filter(|left| !left.is_empty()));
            }
        }
        let why = worst.map(|item| at_items(&[item], BESIDE));
        let why = why.or_else(|| tied.then(|| at_items(&[&items[0]], BESIDE)));
        if harm == Harm::Denied {
            return self.noted(clause::read(items, self.scene).err().or(why), true);
        }
        Part { text: text.join(", "), note: note.join(", "), open: why, known: true, ..Part::default() }
    }

    /// A core with what stands beside it: a remark, or a note where it is a reading, since a
    /// remark with a reading would say that it was looked at twice.
    fn core_text(
        &self,
        items: &[Item],
        core: &Core,
        lead: usize,
        aside: &[String],
        note: &mut Vec<String>,
    ) -> String {
        let times = match core.from >= lead && items[..core.from].iter().take(lead).count() > 0 {
            true if lead > 0 && !items[lead..core.from].iter().any(is_said) => {
                self.slice(items[0].start(), items[lead - 1].end()) + " "
            }
            _ => String::new(),
        };
        let run = &items[core.from..core.to];
        let own = self.slice(run[0].start(), run[run.len() - 1].end());
        let both = if self.are_two(items, core) { "both " } else { "" };
        let own = format!("{times}{both}{own}");
        match (aside.is_empty(), core.kind) {
            (true, _) => own,
            (_, Kind::Level) => {
                note.push(aside.join(", "));
                own
            }
            _ => format!("{own} ({})", aside.join(", ").replace(['(', ')'], "")),
        }
    }

    /// `Ada and Nell showered`: two, where each does it for themselves.
    fn are_two(&self, items: &[Item], core: &Core) -> bool {
        let names = items[..core.from].iter().filter(|item| matches!(item.is, Is::Other)).count();
        let run = &items[core.from..core.to];
        let each = run.iter().any(|item| match item.is {
            Is::Name(meaning) => meaning.activity.as_ref().is_some_and(|name| {
                let activity = self.scene.parts.activity(name);
                activity.is_some_and(|(_, activity)| activity.per == Per::Person)
            }),
            _ => false,
        });
        let and = items[..core.from].iter().any(|item| item.is_mark(&["and"]));
        names == 2 && and && each && !core.counted
    }
}

/// What is said of words that may change what stands beside them.
const BESIDE: &str = "is this a remark? Write it in parentheses";

/// Words left over between two cores.
struct Run<'r> {
    items: &'r [Item<'r>],
    from: usize,
    to: usize,
    before: Option<&'r Core>,
    after: Option<&'r Core>,
}

impl Run<'_> {
    fn words(&self) -> impl Iterator<Item = &Word<'_>> {
        self.items[self.from..self.to].iter().flat_map(|item| item.words)
    }

    /// Whether they say anything.
    fn says(&self) -> bool {
        let words: Vec<&str> = self.words().map(|w| w.low.as_str()).collect();
        let then = lexicon().is_one("then", &words);
        let words: Vec<&str> = words.into_iter().filter(|w| !is_of("then", w)).collect();
        !then && !is_filler(&words)
    }

    /// What they may change in the cores beside them.
    fn harm(&self) -> Harm {
        let items = &self.items[self.from..self.to];
        if !self.says() && !items.iter().any(|item| matches!(item.is, Is::Time(_) | Is::Hedge(_))) {
            return Harm::Nothing;
        }
        // Why it was done takes nothing back.
        let why = |item: &Item| item.is_of("because so") || item.words.iter().any(|w| is_of("why", &w.low));
        let why = items.iter().position(why).filter(|_| self.before.is_some());
        let each = (self.from..self.to)
            .map(|at| self.of_item(at, why.is_some_and(|why| self.from + why < at)));
        let harm = each.max().unwrap_or(Harm::Nothing);
        let open = self.before.is_some_and(|core| !self.may_follow(core))
            || self.after.is_some_and(|core| !self.may_lead(core));
        // `the kids had a shower each`: not all who are aboard.
        let each = self.after.filter(|_| self.from < self.to).is_some_and(|core| {
            self.items[core.from..core.to].iter().any(|item| item.is_mark(&["each"]))
        });
        let harm = match open {
            _ if each => Harm::Denied,
            true => harm.max(Harm::Open),
            false => harm,
        };
        // What is asked already, or only named, is not to be guessed as well.
        let vague = |core: &&Core| core.asked || core.is_weak() || core.kind == Kind::Other;
        let vague = [self.before, self.after].into_iter().flatten().any(|core| vague(&core));
        let name = |w: &Word| w.text.starts_with(char::is_uppercase);
        let vague = vague && !(self.before.is_none() && self.words().all(name));
        if vague && harm > Harm::Nothing { Harm::Denied } else { harm }
    }

    fn of_item(&self, at: usize, excused: bool) -> Harm {
        let item = &self.items[at];
        let for_whom = at > self.from && self.items[at - 1].is_mark(&["for"]);
        let used = [self.before, self.after].iter().flatten().any(|core| core.kind == Kind::Use);
        let done = self.before.is_some_and(|core| core.kind == Kind::Done);
        let open = |w: &Word| {
            let it = excused && w.is_any(&["it", "that", "this"]);
            is_digit(w) || (is_of("undone", &w.low) || is_of("unsure", &w.low) && !it) && !excused
        };
        let at_place = self.before.is_some() && self.items[self.from].is_of(WHERE);
        let at_place = at_place || self.before.is_none() || self.items[self.from].is_of("out");
        let elsewhere = used && item.words.iter().any(|w| is_of("elsewhere", stem(&w.low)));
        match item.is {
            _ if elsewhere && !excused => if at_place { Harm::Denied } else { Harm::Open },
            Is::Hedge(Hedge::Not) if excused => Harm::Nothing,
            Is::Hedge(Hedge::Doubt) if !used && item.words[0].low != "??" => Harm::Open,
            Is::Hedge(_) => Harm::Denied,
            Is::Amount(_) if item.words.len() == 1 && item.words[0].is_any(&["a", "an"]) => Harm::Nothing,
            Is::Amount(Said::Bare(_)) if used && for_whom => Harm::Nothing,
            Is::Place if done => Harm::Nothing,
            Is::Verb(verb) if COMMON.contains(&verb) => Harm::Nothing,
            Is::Mark(_) if at == self.from => Harm::Nothing,
            Is::Other | Is::Mark(_) if !item.words.iter().any(open) => Harm::Nothing,
            _ => Harm::Open,
        }
    }

    /// Whether they may stand in front of a core.
    fn may_lead(&self, core: &Core) -> bool {
        let words: Vec<&Word> = self.words().collect();
        let first = self.items[core.from].words.iter().next();
        let told = first.and_then(|w| w.lead).map(str::to_lowercase);
        let i = told.is_some_and(|lead| ["i", "we", "i've", "we've"].contains(&lead.as_str()));
        let who = |w: &Word| {
            let name = w.text.starts_with(char::is_uppercase);
            let verb = w.start == 0 && !core.past && core.kind == Kind::Use
                || ["ed", "ing"].iter().any(|end| w.low.ends_with(end));
            ["filler", "people", "subject", "then", "reads"].iter().any(|list| is_of(list, &w.low))
                || w.is("and")
                || core.kind != Kind::Level && name && !verb
        };
        match core.kind {
            Kind::Other => words.is_empty(),
            Kind::Done => true,
            Kind::Use if core.past && i => true,
            _ => words.iter().all(|w| who(w)),
        }
    }

    /// Whether they may stand behind a core.
    fn may_follow(&self, core: &Core) -> bool {
        let items = &self.items[self.from..self.to];
        let Some(first) = items.first() else { return true };
        if !self.says() {
            return true;
        }
        // A small word at the end is a thing not said to its end.
        if items.iter().all(|item| matches!(item.is, Is::Mark(_)) && !item.is_mark(&["so"])) {
            return false;
        }
        let plain = matches!(first.is, Is::Other);
        let ends = |end: &str| first.words[0].low.ends_with(end);
        let done = ends("ed") || ends("ing") || ends("en");
        match core.kind {
            Kind::Other => false,
            Kind::Level => !first.is_of(WHEN) && !(plain && done),
            Kind::Use if plain => core.past && !done,
            Kind::Use => (!core.is_weak() || first.is_of("for")) && !first.is_of(WHERE),
            Kind::Done => !first.is_of("of from"),
        }
    }
}

/// Whether an unknown word right before a name makes another thing of it: `phone battery`.
fn is_another(before: &Item, name: &Item) -> bool {
    let says = |w: &Word| {
        ["filler", "people", "join", "reads", "then"].iter().any(|list| is_of(list, &w.low))
    };
    let unknown = !before.words.iter().next_back().is_some_and(says);
    unknown && name.words[0].lead.is_none() && name.stock().is_some()
}

/// Whether it is a part of what happened.
fn is_said(item: &Item) -> bool {
    !matches!(item.is, Is::Other | Is::Mark(_) | Is::Hedge(_) | Is::Ask(_) | Is::Time(_) | Is::Remark)
}

/// Whether it is of the van.
fn is_known(item: &Item) -> bool {
    match &item.is {
        Is::Amount(_) => !item.words[0].is_any(&["a", "an"]) || item.words.len() > 1,
        Is::Verb(verb) => !COMMON.contains(verb),
        Is::Ask(_) => true,
        _ => is_said(item),
    }
}
