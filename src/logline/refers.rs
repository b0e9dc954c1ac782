//! What a clause says of a stock that it names by another word or not at all: `so we tipped
//! it`, `filled up at the tap`, `right to the brim`.

use super::cut_up::Clause;
use super::follows::Over;
use super::kept::moves;
use super::lexicon::{Hedge, Sense, lexicon};
use super::listed::{is_of, low, lows};
use super::reduced::{Reduced, reduced};
use super::scene::Scene;
use super::so_far::SoFar;
use crate::domain::Unit;

impl SoFar<'_> {
    /// `the pee can was full, so we tipped it`: the words of the stock in place of those that stand for
    /// it.
    pub(super) fn of_it(&self, text: &str, reduced: &Reduced) -> Option<String> {
        let lows = lows(text);
        // `put it on the scale`, `carried it to the drain` move nothing in.
        let into = lows.iter().any(|w| is_of("inward", w));
        let verb = reduced.verb();
        let verb = verb.as_deref();
        let moved =
            reduced.any(moves) && reduced.name().is_none() && (verb != Some("added") || into);
        let last = self.last.as_ref().filter(|last| !last.name.is_empty());
        let words: Vec<&str> = text.split_whitespace().collect();
        let at = words.iter().position(|w| is_of("it", &low(w)));
        let Some((at, last)) = at.zip(last).filter(|_| moved) else {
            // `filled up at the tap`.
            let source = self
                .source
                .as_ref()
                .filter(|_| moved && last.is_none() && verb != Some("emptied"))?;
            // `poured the lot in the tank`.
            let ask = |w: &&str| matches!(lexicon().sense(&low(w)), Some(Sense::Ask(_)));
            let put = |w: &&str| if ask(w) { "added".to_string() } else { w.to_string() };
            let told = words.iter().map(put).collect::<Vec<_>>().join(" ");
            return (!text.contains(&**source)).then(|| format!("{told} {source}"));
        };
        let put = |(index, w): (usize, &&str)| {
            if index == at { last.name.clone() } else { w.to_string() }
        };
        Some(words.iter().enumerate().map(put).collect::<Vec<_>>().join(" "))
    }

    /// `the diesel has had its fill, up to the top`.
    pub(super) fn is_brimful(&mut self, text: &str, reduced: &Reduced) -> bool {
        let Some(last) = self
            .last
            .as_ref()
            .filter(|last| last.noted && reduced.any(|item| item.is_of("to-full")))
        else {
            return false;
        };
        let told = format!("filled {}", last.name);
        let says = reduced.plain() && reduced.name().is_none() && reduced.verb().is_none();
        says && self.says(&told) && self.put(told, text, Over::Note)
    }

    /// `launderette this afternoon, everything clean and folded`: what is washed is there to be worn.
    pub(super) fn laundry(&mut self, clauses: &[Clause], from: usize) {
        let text = clauses.iter().map(|clause| clause.text.as_str()).collect::<Vec<_>>().join(" ");
        let words = lows(&text);
        let says = |row: &str| words.iter().any(|w| is_of(row, w));
        let not = |w: &String| matches!(lexicon().sense(w), Some(Sense::Hedge(Hedge::Not)));
        let (put, time) = reduced(&text, self.scene, &mut |whole| {
            whole.map_or((None, None), |whole| (whole.measured(is_own), whole.time()))
        });
        let washed = says("laundered") || put.is_some();
        let plain = washed && says("cleaned") && !words.iter().any(not);
        let clothes = lexicon().all("clothes").find_map(|name| self.scene.known.stock_named(name));
        let Some(clothes) = clothes.filter(|_| plain && from == self.told.len()) else { return };
        let told = format!("filled {clothes} {}", put.unwrap_or_default()).trim().to_string();
        let timed = time.and_then(|time| self.at_time(&told, &time));
        let told = timed.unwrap_or(told);
        if self.says(&told) {
            self.put(told, &text, Over::Nothing);
        }
    }

    /// `fresh up to 3/4 from the hose`: what a level was brought to.
    pub(super) fn brought_to(&self, reduced: &Reduced) -> Option<String> {
        let (name, _) = reduced.name()?;
        let source = self.source.as_ref()?;
        let own = self.scene.known.stock_named(&name).filter(|own| own == source)?;
        let told = reduced.ways.first().map(|way| format!("filled {}", way.text))?;
        (told.contains(" to ") && self.of_stock(&told)?.stock() == Some(own)).then_some(told)
    }

    /// `bought bread and eggs, 6 person-days of food`: so much went in.
    pub(super) fn got(&self, reduced: &Reduced) -> Option<String> {
        let told = || reduced.ways.first().map(|way| way.text.clone());
        let told = reduced
            .measured(|unit| *unit == Unit::PersonDay)
            .or_else(told)
            .filter(|_| self.bought)?;
        // `we've got nine days left`.
        if told.split(' ').any(|w| w == "left") {
            return None;
        }
        let told = format!("filled {told}");
        let event = self.of_stock(&told)?;
        event.stock().filter(|name| self.scene.known.is_eaten(name)).map(|_| told)
    }
}

/// The stock that a word of the line draws from.
pub(super) fn drawn_from(words: &[&str], scene: &Scene) -> Option<String> {
    // `filled the jerrycan` draws from nothing.
    let from = |at: usize| words[at.saturating_sub(3)..at].iter().any(|w| is_of("drawn", w));
    let source = |at: &usize| from(*at);
    let stock = (0..words.len()).filter(source).find_map(|at| lexicon().meant_of(words[at]))?;
    scene.known.stock_named(stock).map(str::to_string)
}

/// Whether a unit is of what the rig's owner counts by a name of their own.
pub(super) fn is_own(unit: &Unit) -> bool {
    matches!(unit, Unit::Own(_))
}
