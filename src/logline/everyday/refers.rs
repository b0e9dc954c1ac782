//! What a clause says of a stock that it names by another word or not at all: `so we tipped
//! it`, `filled up at the tap`, `right to the brim`.

use super::reduced::Reduced;
use super::so_far::SoFar;
use super::ways::Way;
use crate::domain::Unit;
use crate::logline::grammar::kept::moves;
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::lexicon::{Sense, lexicon};
use crate::logline::lexis::listed::{is_of, low, lows};
use crate::logline::lexis::vocabulary::NameMeaning;

impl SoFar<'_> {
    /// `the pee can was full, so we tipped it`: the words of the stock in place of those that stand for
    /// it.
    pub(in crate::logline) fn of_it(&mut self, text: &str, reduced: &Reduced) -> Option<String> {
        if let Some(told) = self.of_whom(text) {
            return Some(told);
        }
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

    /// `Button was filthy, rinsed him off`: who that was in place of the pronoun. That he was named tells
    /// nothing then.
    fn of_whom(&mut self, text: &str) -> Option<String> {
        let known = self.scene.known;
        let last = self.last.as_ref().filter(|last| last.use_of).map(|last| last.name.clone());
        let words: Vec<&str> = text.split_whitespace().collect();
        let far = last.is_none();
        let who = last.or_else(|| self.whom.clone())?;
        let activity = known.activity_named(&who).or_else(|| known.done_to(&who))?;
        if words.iter().any(|w| low(w) == who) {
            return None;
        }
        let whom = words.iter().position(|w| is_of("whom", &low(w)));
        // `and had to be rinsed`.
        let passive = || words.iter().rposition(|w| is_of("passive", &low(w))).map(|at| at + 2);
        let at = whom.or_else(passive).filter(|at| *at <= words.len())?;
        let behind = if whom.is_some() { at + 1 } else { at };
        let put = [&words[..at], &[who.as_str()], &words[behind..]].concat();
        let lows = put.iter().map(|w| low(w)).collect::<Vec<_>>();
        let named = |from: usize| known.find(lows[from..].iter().map(String::as_str));
        let same = |(meaning, taken): (&NameMeaning, usize)| {
            taken > 1 && meaning.activity.as_deref() == Some(activity)
        };
        // `was rinsed`; not `was 3 showers`.
        let from = if whom.is_some() { 0..=at } else { at - 1..=at - 1 };
        from.into_iter().any(|from| named(from).is_some_and(same)).then_some(())?;
        self.doubt |= far;
        if let Some(bare) = self.told.pop_if(|thing| thing.told == who) {
            self.note(&bare.text, None);
        }
        Some(put.join(" "))
    }

    /// `bought bread and eggs, 6 person-days of food`: so much went in.
    pub(in crate::logline) fn got(&self, reduced: &Reduced) -> Option<Way> {
        let told = || reduced.ways.first().map(|way| way.text.clone());
        let measured = reduced.measured(|unit| *unit == Unit::PersonDay);
        let firm = measured.is_some() && self.shopped;
        let told = measured.or_else(told).filter(|_| self.bought)?;
        // `we've got nine days left`.
        if told.split(' ').any(|w| w == "left") {
            return None;
        }
        let told = format!("filled {told}");
        let event = self.of_stock(&told)?;
        let food = event.stock().filter(|name| self.scene.known.is_eaten(name))?;
        let text = if firm { told.replacen("filled", &format!("filled {food}"), 1) } else { told };
        Some(Way { text, firm })
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
