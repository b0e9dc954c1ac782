//! What a line most likely tells that nothing else could read: of what it names, or measures in a unit
//! of one stock alone, each thing that can be told of it, by how many of the words around it are said of
//! such a thing. It is only ever offered.

use super::reduced::{Reduced, reduced};
use super::refers::drawn_from;
use super::so_far::{SoFar, Thing};
use super::ways::{is_ahead, write};
use crate::domain::{Direction, Stock, Unit};
use crate::logline::grammar::clause::in_own_words;
use crate::logline::grammar::kept::{is_strange, is_who, moves};
use crate::logline::grammar::scene::Scene;
use crate::logline::grammar::talk::told_by_rows;
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::Hedge;
use crate::logline::lexis::listed::{has_digit, is_of, lows, refs};
use crate::logline::lexis::units::is_counted;
use crate::logline::lexis::word::{Word, text};
use crate::logline::tokens::item::{Is, Item};
use std::collections::HashSet;

/// Most that is done of one thing in a line, in times.
const MOST_TIMES: f64 = 9.0;

/// One thing that may be told, in words of the grammar.
struct Guess {
    text: String,
    /// How many of the words around it are said of such a thing.
    fits: usize,
    /// The items that it uses.
    of: Vec<usize>,
}

impl Reduced<'_> {
    /// What the clause most likely tells, in words of the grammar, what fits best first. None of what
    /// takes itself back, asks, or is to come.
    pub(super) fn likely(&self, scene: &Scene) -> Vec<Thing> {
        let items = self.items();
        let open = |item: &Item| {
            // `must be a litre gone`, `forgot the generator` tell of it all the same.
            let says = item.words.iter().any(|w| is_of("tells-anyway", &w.text.to_lowercase()));
            let not = matches!(item.is, Is::Remark | Is::Until(_)) || item.is_not() && !says;
            not || item.is_to_come() || is_ahead(item)
        };
        if items.iter().any(open) || self.wish() {
            return Vec::new();
        }
        let words = Words { items, said: lows(self.said()) };
        let mut all = words.of_stocks(scene);
        all.extend(words.of_uses(scene));
        all.extend(words.of_ways());
        all.extend(words.of_places(scene));
        all.extend(words.of_rows(scene));
        // Of two that fit alike the one that was found first.
        all.sort_by_key(|guess| std::cmp::Reverse(guess.fits));
        let time = items.iter().find(|item| item.is_time());
        let time = time.map_or(String::new(), |time| format!(" {}", time.when()));
        let told = |guess: Guess| Thing {
            left: self.left_beside(&self.used(guess.of)),
            ..Thing::new(format!("{}{time}", guess.text), "")
        };
        all.into_iter().map(told).collect()
    }

    /// These items and the time, in their order.
    fn used(&self, mut of: Vec<usize>) -> Vec<usize> {
        of.extend((0..self.items().len()).find(|at| self.items()[*at].is_time()));
        of.sort_unstable();
        of.dedup();
        of
    }
}

impl SoFar<'_> {
    /// Tells of what is noted beside other things what it most likely says, where nothing was taken
    /// back.
    pub(super) fn guessed(&mut self) {
        if self.told.is_empty() || self.taken_back {
            return;
        }
        for at in (0..self.notes.len()).rev() {
            let note = &self.notes[at];
            if !note.tells.known || note.tells.harmless || note.joins {
                continue;
            }
            let likely = |told: Option<&Reduced>| told.map(|told| told.likely(self.scene));
            let all = reduced(&note.text, self.scene, &mut |told| likely(told)).unwrap_or_default();
            let events: Vec<_> = self.told.iter().map(|thing| self.of(&thing.told)).collect();
            let new =
                |told: &Thing| self.says(&told.told) && !events.contains(&self.of(&told.told));
            let Some(told) = all.into_iter().find(new) else { continue };
            let text = self.notes.remove(at).text;
            self.told.push(Thing { text, ..told });
        }
    }
}

/// The items of a clause, and its words as they were said.
struct Words<'i, 'p> {
    items: &'i [Item<'p>],
    said: Vec<String>,
}

impl Words<'_, '_> {
    /// How many of the words stand in one of these rows.
    fn fits(&self, rows: &str) -> usize {
        let all: HashSet<&String> = self.said.iter().collect();
        all.into_iter().filter(|w| is_of(rows, w)).count()
    }

    /// An item in words of the grammar: `1 L` for `a litre`.
    fn text(&self, at: usize) -> String {
        let text = write(&[&self.items[at]], "");
        let one = text.strip_prefix("a ").or(text.strip_prefix("an "));
        match one.filter(|_| matches!(self.items[at].is, Is::Amount(Said::Quantity(_)))) {
            Some(unit) => format!("1 {unit}"),
            None => text,
        }
    }

    fn any(&self, is: impl Fn(&Item) -> bool) -> bool {
        self.items.iter().any(is)
    }

    /// Whether a word of no table stands right before an item, or right behind it, and makes another
    /// thing of it: `phone battery`, `water bottles`.
    fn is_of_another(&self, at: usize, behind: bool) -> bool {
        let beside = if behind {
            self.items.get(at + 1)
        } else {
            at.checked_sub(1).map(|at| &self.items[at])
        };
        let small = |w: &Word| is_of("filler people subject aside", &w.low) || w.low.len() < 3;
        let own = |w: &Word| !(small(w) || is_who(w));
        beside.is_some_and(|item| item.is_other() && item.words.iter().any(own))
    }

    /// The place of the amount nearest to an item that `fits`; one with a unit rather than a number alone.
    fn nearest(&self, to: usize, fits: impl Fn(&Said) -> bool) -> Option<usize> {
        let fit = |at: &usize| match &self.items[*at].is {
            Is::Amount(said) => self.items[*at].is_number() && fits(said),
            _ => false,
        };
        let near = |at: &usize| (self.is_bare(*at), at.abs_diff(to), *at < to);
        (0..self.items.len()).filter(fit).min_by_key(near)
    }

    fn is_bare(&self, at: usize) -> bool {
        matches!(self.items[at].is, Is::Amount(Said::Bare(_)))
    }

    /// Whether a number without a unit stands there in digits, and counts nothing that follows it.
    fn is_read(&self, at: usize) -> bool {
        let counts = |item: &Item| {
            let many = item.words.iter().any(|w| w.low.ends_with('s'));
            many && (is_strange(item) || item.is_a_mark()) || item.is_amount() || item.is_article()
        };
        let digits = |item: &Item| item.is_number() && item.words.iter().all(|w| has_digit(w.text));
        self.items.get(at).is_some_and(digits)
            && self.is_bare(at)
            && !self.items.get(at + 1).is_some_and(counts)
    }

    /// What may be told of the stocks that are named, or of the one that a word draws from, or of those
    /// that are measured so.
    fn of_stocks(&self, scene: &Scene) -> Vec<Guess> {
        let named = (0..self.items.len()).filter_map(|at| Some((at, self.items[at].stock()?)));
        let mut stocks: Vec<(usize, &Stock)> =
            named.filter_map(|(at, name)| Some((at, scene.parts.stock(name)?.1))).collect();
        if stocks.is_empty() {
            match self.drawn(scene) {
                Some(drawn) => stocks.push(drawn),
                None => stocks.extend(self.measured(scene)),
            }
        }
        stocks.into_iter().flat_map(|(at, stock)| self.of_stock(at, stock, scene)).collect()
    }

    /// The stock that a word draws from: `from the tap`.
    fn drawn<'s>(&self, scene: &Scene<'s>) -> Option<(usize, &'s Stock)> {
        let name = drawn_from(&refs(&self.said), scene)?;
        Some((0, scene.parts.stock(&name)?.1))
    }

    /// The stocks that are measured in the unit of an amount: one alone, or what was lost or put in of several.
    fn measured<'s>(&self, scene: &Scene<'s>) -> Vec<(usize, &'s Stock)> {
        let measure = |item: &Item| match &item.is {
            Is::Amount(Said::Quantity(q)) => (q.unit != Unit::Percent).then(|| q.unit.clone()),
            _ => None,
        };
        let all = self.items.iter().enumerate();
        let Some((at, unit)) = all.filter_map(|(at, item)| Some((at, measure(item)?))).next()
        else {
            return Vec::new();
        };
        let own = |stock: &&Stock| unit.converts_to(&stock.unit) && stock.unit != Unit::Night;
        let all: Vec<&Stock> = scene.parts.stocks.iter().filter(own).collect();
        let moved = self.fits("likely-gone") > 0
            || self.any(|item| item.is_verb("added")) && self.any(|item| item.is_of("in into"));
        let one = all.len() == 1 || moved;
        let down = |stock: &&Stock| stock.runs == Direction::Down || all.len() == 1;
        all.iter().copied().filter(|stock| one && down(stock)).map(|stock| (at, stock)).collect()
    }

    fn of_stock(&self, at: usize, stock: &Stock, scene: &Scene) -> Vec<Guess> {
        let name = if self.items[at].is_name() { self.text(at) } else { stock.name.clone() };
        let fits = |said: &Said| match said {
            Said::Quantity(q) => q.unit == Unit::Percent || q.unit.converts_to(&stock.unit),
            Said::Days(_) => scene.known.is_eaten(&stock.name),
            Said::Bare(_) => stock.unit == Unit::WattHour || is_counted(&stock.unit),
            Said::Share { .. } => true,
        };
        // `batt 39 yikes`: what a stock is followed by is there, in the unit that it is read in.
        let behind = Some(at + 1).filter(|next| self.items[at].is_name() && self.is_read(*next));
        match behind.or_else(|| self.nearest(at, fits)) {
            _ if self.is_of_another(at, false) => Vec::new(),
            Some(amount) => self.of_amount((at, name), amount, stock),
            None => self.served(at, &name, stock).into_iter().collect(),
        }
    }

    /// What may be told of so much of a stock: that it went in or out, was lost, or is there.
    fn of_amount(&self, (at, name): (usize, String), amount: usize, stock: &Stock) -> Vec<Guess> {
        let (how, down) = (self.text(amount), stock.runs == Direction::Down);
        let share = match &self.items[amount].is {
            Is::Amount(Said::Share { .. }) => true,
            Is::Amount(Said::Quantity(q)) => q.unit == Unit::Percent,
            _ => false,
        };
        let to = share || amount.checked_sub(1).is_some_and(|at| self.items[at].is_of("to"));
        let to = if to { "to " } else { "" };
        let all = match down {
            true if share => vec![(format!("filled {name} to {how}"), "likely-in")],
            true => vec![
                (format!("lost {how} {name}"), "likely-lost"),
                (format!("filled {name} {to}{how}"), "likely-in"),
            ],
            false => vec![(format!("emptied {name} {to}{how}"), "likely-out")],
        };
        let guess = |(text, row): (String, &str)| Guess {
            text,
            fits: self.fits(row),
            of: vec![at, amount],
        };
        let mut all: Vec<Guess> = all.into_iter().map(guess).collect();
        let there = guess((format!("{name} {how}"), "likely-there"));
        // What was used of it is no level, nor is what was there at another time.
        let next = amount == at + 1 && self.is_read(amount);
        let then = (next || self.fits("past") > 0) && self.any(|item| item.is_of("when while"));
        if self.fits("likely-lost likely-used") == 0 && !then {
            if next {
                all.clear();
            }
            all.push(Guess { fits: there.fits + usize::from(share || next), ..there });
        }
        let used = self.fits("likely-used") > 0;
        all.retain(|guess| guess.fits > 0 && !(used && guess.text.starts_with("filled")));
        all
    }

    /// A stock that was filled or emptied, of which nothing says how far.
    fn served(&self, at: usize, name: &str, stock: &Stock) -> Option<Guess> {
        let (verb, row) = match stock.runs {
            Direction::Down => ("filled", "likely-in"),
            Direction::Up => ("emptied", "likely-out"),
        };
        let open = |item: &Item| item.is_number() || matches!(item.is, Is::Hedge(_));
        let open = self.any(open) || self.is_of_another(at, true) || !self.any(moves);
        let fits = self.fits(row);
        let plain = !open && fits > 0 && self.fits("elsewhere undone money") == 0;
        plain.then(|| Guess { text: format!("{verb} {name}"), fits, of: vec![at] })
    }

    /// What was done of what is named, where it is told how much.
    fn of_uses(&self, scene: &Scene) -> Vec<Guess> {
        let odd = |item: &Item| {
            matches!(item.is, Is::Hedge(Hedge::Odd)) && !item.words[0].is_said("between")
                || item.is_verb("charged")
                || item.words.iter().any(|w| w.is("every"))
        };
        if self.fits("elsewhere undone repairs money") > 0 || self.any(odd) {
            return Vec::new();
        }
        let use_of = |at: usize| {
            let (_, activity) = scene.parts.activity(self.items[at].activity()?)?;
            let fits = |said: &Said| match said {
                Said::Quantity(q) => q.unit.converts_to(&activity.counted_in),
                Said::Bare(n) => is_counted(&activity.counted_in) && n.value() <= MOST_TIMES,
                _ => false,
            };
            let amount = self.nearest(at, fits);
            let times = amount.map(|amount| self.text(amount)).or_else(|| {
                is_counted(&activity.counted_in).then(|| self.people().map(|n| n.to_string()))?
            })?;
            let text = format!("{} {times}", text(self.items[at].words));
            let of = [at].into_iter().chain(amount).collect();
            Some(Guess { text, fits: 1 + self.fits("likely-done"), of })
        };
        let named = (0..self.items.len()).filter(|at| self.items[*at].is_use());
        named.filter_map(use_of).collect()
    }

    /// How many did it, where several are named: `both kids`, `Ada and I`.
    fn people(&self) -> Option<usize> {
        let words = self.items.iter().filter(|item| item.is_other()).flat_map(|item| item.words);
        let who = words.filter(|w| is_who(w) || is_of("speaker", &w.low)).count();
        if self.fits("declines") > 0 {
            return None;
        }
        if self.any(|item| item.is_of("both")) { Some(2) } else { Some(who).filter(|n| *n > 1) }
    }

    /// How far or how long they may have driven, or been on a hook-up.
    fn of_ways(&self) -> Vec<Guess> {
        let measures = |item: &Item, unit: &Unit| matches!(&item.is, Is::Amount(Said::Quantity(q)) if q.unit.converts_to(unit));
        let kinds = [
            ("drove", "under-way", &Unit::Kilometre),
            ("drove", "under-way", &Unit::Hour),
            ("shore", "likely-shore", &Unit::Hour),
            ("generator", "likely-generator", &Unit::Hour),
        ];
        let way = |(verb, row, unit): (&str, &str, &Unit)| {
            let at = self.items.iter().position(|item| measures(item, unit))?;
            let fits = self.fits(row);
            let plain = fits > 0 && self.fits("afoot") == 0;
            plain.then(|| Guess { text: format!("{verb} {}", self.text(at)), fits, of: vec![at] })
        };
        kinds.into_iter().filter_map(way).collect()
    }

    /// What two sorts of words tell together: `shutting the book on today`, `all our washing is folded`.
    fn of_rows(&self, scene: &Scene) -> Vec<Guess> {
        let guess = |(meaning, fits): (&str, usize)| {
            let text = in_own_words(meaning, scene.known, |_| true)?;
            Some(Guess { text, fits, of: Vec::new() })
        };
        told_by_rows(&self.said).and_then(guess).into_iter().collect()
    }

    /// Where they may have come to.
    fn of_places(&self, scene: &Scene) -> Vec<Guess> {
        let known =
            |at: &usize| self.items[*at].is_place() && scene.known.place(&self.text(*at)).is_some();
        // `at Candle Rocks, midges`: what begins with the place is where they are.
        let begins = matches!(self.items, [at, place, ..] if at.is_of("at in") && place.is_place());
        let fits = self.fits("likely-camp") + usize::from(begins);
        let guess = |at| Guess { text: format!("camp {}", self.text(at)), fits, of: vec![at] };
        (0..self.items.len()).filter(known).filter(|_| fits > 0).map(guess).collect()
    }
}
