//! One piece of a line: what of it the grammar reads, and what is noted.

use super::amounts::Said;
use super::bag::Bag;
use super::beside::Run;
use super::clause;
use super::cores::{Core, Kind, cores, is_known};
use super::item::{Is, Item, items};
use super::lasting::lasting;
use super::listed::{is_digit, is_of, lows};
use super::scene::Scene;
use super::talk::{Tells, tells};
use super::thing::things;
use super::word::{self, Word};
use super::words::Piece;
use crate::domain::flow::Per;
use crate::domain::unit::Unit;

/// What a meal is called, where the rig knows one.
pub(super) const MEAL: &str = "cooked meal";
/// The longest clause that cores are looked for in, in items.
const LONGEST_CLAUSE: usize = 40;

/// What becomes of one piece of a line.
#[derive(Default)]
pub(super) struct Part {
    /// What the grammar reads.
    pub text: String,
    /// What is noted.
    pub note: String,
    /// Whether it may mean something else as well.
    pub open: bool,
    /// Whether something in it is known.
    pub known: bool,
    /// Whether it says of the others when they were, or that they were not.
    pub denies: bool,
    /// The words of what it names of the van.
    pub names: Vec<String>,
    /// Whether it counts what the rig does not know, which is a note beside what is known.
    pub counts: bool,
    /// Whether it names what may have been cooked.
    pub meal: bool,
    /// Whether it says how much, and not of what.
    pub amount: bool,
    /// The one stock that is named in what is noted.
    pub name: Option<String>,
    /// Whether a time in it is said of what it tells itself.
    pub own_time: bool,
}

/// One clause with what stands around it.
pub(super) struct Clause<'c> {
    pub piece: &'c Piece<'c>,
    pub scene: &'c Scene<'c>,
    pub letters: &'c [char],
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

    fn noted(&self, open: bool, known: bool) -> Part {
        let (from, to) = self.span();
        Part { note: self.slice(from, to), open, known, ..Part::default() }
    }

    /// Its characters, with quotes and parentheses at its ends.
    fn span(&self) -> (usize, usize) {
        let (words, (from, to)) = (&self.piece.words, self.piece.span);
        let marked = |w: Option<&Word>| {
            usize::from(
                w.is_some_and(|w| matches!(w.kind, word::Kind::Quoted | word::Kind::Remark)),
            )
        };
        // Before the line's first character there is nothing.
        let from = from.saturating_sub(marked(words.first()));
        (from, (to + marked(words.last())).min(self.letters.len()))
    }

    /// What becomes of it.
    pub(super) fn part(&self) -> Part {
        let words = &self.piece.words;
        if lasting(words, self.scene.known, self.scene.clock).is_some() {
            return self.kept();
        }
        let Ok(items) = items(words, self.scene.known, self.scene.clock) else {
            return self.kept();
        };
        let strange = |item: &Item| matches!(item.is, Is::Other | Is::Hedge(_));
        let plain = !items.iter().any(strange) && Bag::of(&items).strays.is_empty();
        if plain && items.iter().any(is_known) || items.iter().all(Item::is_time) {
            let amount = |item: &Item| !matches!(item.is, Is::Name(_) | Is::Verb(_) | Is::Place);
            let known = !items.iter().all(Item::is_time);
            return Part { amount: known && items.iter().all(amount), known, ..self.kept() };
        }
        let outlook = |item: &Item| item.is_verb(&["outlook"]);
        if items.iter().any(outlook) && !words.iter().any(is_digit) {
            return self.noted(false, false);
        }
        if items.iter().any(|item| matches!(item.is, Is::Remark | Is::Verb("note" | "outlook")))
            || items.len() > LONGEST_CLAUSE
        {
            return self.kept();
        }
        let (cores, tied) = cores(&items, self.scene);
        let misread = things(&items, self.piece, self.scene).err();
        let misread = misread.or_else(|| clause::read(&items, self.scene).err());
        // The same of another person.
        let person = matches!(
            &items[..],
            [Item { is: Is::Other, .. }, Item { is: Is::Amount(Said::Bare(_)), .. }]
        );
        let mended = misread
            .as_ref()
            .is_none_or(|why| !why.nearest.is_empty() || !why.mend.swaps.is_empty());
        if mended || person {
            return self.kept();
        }
        if is_strange_count(&items) {
            return Part { counts: true, ..self.noted(false, false) };
        }
        if cores.is_empty() {
            return self.talk(&items);
        }
        self.with_cores(&items, &cores, tied)
    }

    /// What is to be noted of a clause that has no core.
    fn talk(&self, items: &[Item]) -> Part {
        let (from, to) = self.piece.span;
        let text: String = self.letters[from..to].iter().collect();
        let tells = tells(items, &text);
        if tells.meal && self.scene.known.activity_named(MEAL).is_some() {
            return Part { meal: true, ..self.noted(true, false) };
        }
        let mut names = items.iter().filter(|item| matches!(item.is, Is::Name(_)));
        let name = names.next().filter(|name| name.stock().is_some() && names.next().is_none());
        let other = |item: &Item| matches!(item.is, Is::Verb(_) | Is::Amount(_) | Is::Hedge(_));
        let name = name.filter(|_| !items.iter().any(other));
        let name = name.map(|item| self.slice(item.start(), item.end()));
        let named = items.iter().filter(|item| matches!(item.is, Is::Name(_) | Is::Ask(_)));
        let names = named.flat_map(|item| item.words).flat_map(|w| lows(w.text)).collect();
        let Tells { denies, own_time, known, .. } = tells;
        Part { denies, names, own_time, name, ..self.noted(!tells.harmless, known) }
    }

    /// The cores, each with the words left over beside it.
    fn with_cores(&self, items: &[Item], cores: &[Core], tied: bool) -> Part {
        let (start, last) = (self.piece.span.0, items[items.len() - 1].end());
        let end = self.piece.span.1.max(last);
        // The time in front is of all of the clause.
        let lead = items.iter().take_while(|item| item.is_time()).count().min(cores[0].from);
        let (mut text, mut note, mut aside) = (Vec::new(), Vec::new(), Vec::new());
        for at in 0..=cores.len() {
            let before = at.checked_sub(1).map(|at| &cores[at]);
            let after = cores.get(at);
            let from = before.map_or(lead, |core| core.to);
            let to = after.map_or(items.len(), |core| core.from);
            let run = Run { items, from, to, before, after };
            if tied || run.may_change() {
                return self.noted(true, true);
            }
            let begins = if from == 0 { start } else { items[from - 1].end() };
            let ends = items.get(to).map_or(end, Item::start);
            aside.extend(
                Some(self.slice(begins, ends)).filter(|left| run.says() && !left.is_empty()),
            );
            let Some(core) = before else { continue };
            let times = match at == 1 && core.from >= lead && lead > 0 {
                true => self.slice(items[0].start(), items[lead - 1].end()) + " ",
                false => String::new(),
            };
            text.push(times + &self.core_text(items, core, &aside.join(", "), &mut note));
            aside.clear();
        }
        Part { text: text.join(", "), note: note.join(", "), known: true, ..Part::default() }
    }

    /// A core with what stands beside it: a remark, or a note where it is a reading, since a
    /// remark with a reading would say that it was looked at twice.
    fn core_text(
        &self,
        items: &[Item],
        core: &Core,
        aside: &str,
        note: &mut Vec<String>,
    ) -> String {
        let run = &items[core.from..core.to];
        let own = self.slice(run[0].start(), run[run.len() - 1].end());
        match core.kind {
            _ if aside.is_empty() => own,
            Kind::Level => {
                note.push(aside.to_string());
                own
            }
            _ => {
                let both = if self.are_two(items, core) { "both " } else { "" };
                format!("{both}{own} ({})", aside.replace(['(', ')'], ""))
            }
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

/// Whether a clause counts what the rig does not know and no van counts by the piece: `three coffees`.
fn is_strange_count(items: &[Item]) -> bool {
    let open = |w: &Word| {
        let low = w.low.as_str();
        !["uncounted", "filler"]
            .iter()
            .any(|list| is_of(list, low) || is_of(list, low.trim_end_matches('s')))
    };
    let hours = |unit: &Unit| matches!(unit, Unit::Hour | Unit::Minute | Unit::Time);
    let quiet = items.iter().all(|item| match &item.is {
        Is::Other => !item.words.iter().any(open),
        Is::Amount(Said::Bare(_)) => true,
        Is::Amount(Said::Quantity(said)) => hours(&said.unit),
        _ => item.is_of("x times of on each"),
    });
    let named = items.iter().filter(|item| matches!(item.is, Is::Other));
    let words: usize = named.clone().map(|item| item.words.len()).sum();
    let counted = items.iter().any(|item| matches!(item.is, Is::Amount(_)));
    quiet && counted && (1..=3).contains(&words)
}
