//! What a clause says of those before it: an amount or a time of what they named, the same once
//! more, a remark.

use super::cut_up::Clause;
use super::reduced::{self, Reduced};
use super::so_far::{Note, SoFar, Thing, Told};
use crate::domain::{Event, Unit};
use crate::logline::grammar::talk::Tells;
use crate::logline::lexis::lexicon::{Sense, lexicon};
use crate::logline::lexis::listed::{is_of, lows, refs};
use crate::logline::times::time::is_time_word;
use crate::logline::tokens::item::{Is, Item};

/// The longest clause that tells of a meal by its name alone, in words.
const LONGEST_MEAL: usize = 6;

impl SoFar<'_> {
    /// `pee and grey emptied`: a stock that stands by itself before `and` shares what was done.
    pub(super) fn named_before(&mut self, reduced: &Reduced, clause: &Clause) {
        let alone = |last: &&Told| last.noted && !last.use_of && last.verb.is_none();
        let before = self.last.as_ref().filter(alone).map(|last| last.name.clone());
        let joined = is_of("ands", &clause.joint) && reduced.name().is_some() && !reduced.amount();
        let served = |verb: &String| ["emptied", "filled"].contains(&verb.as_str());
        let verb = reduced.verb().filter(|verb| joined && served(verb));
        let (Some(name), Some(verb)) = (before, verb) else { return };
        let known = self.scene.known;
        let is_it = |note: &Note| known.stock_named(&note.text.to_lowercase()).is_some();
        let time = reduced.time().map_or(String::new(), |time| format!(" {time}"));
        let told = format!("{verb} {name}{time}");
        if self.notes.last().is_some_and(is_it) && self.tells(&told) {
            let text = self.notes.pop().map_or(String::new(), |note| note.text);
            let told = self.then(told, &text, reduced, clause);
            self.told.push(Thing::new(told, &text));
        }
    }

    /// Puts a remark beside what was told last.
    pub(in crate::logline) fn beside(&mut self, text: &str, clause: &Clause) -> bool {
        let Some(last) = self.told.last_mut() else { return false };
        let remark = format!("{} {text}", clause.joint).trim().to_string();
        last.remark = [&*last.remark, &*remark].join(" ").trim().to_string();
        last.left.push(remark);
        true
    }

    /// Gives an amount, or a time of day, to what was named before.
    pub(in crate::logline) fn goes_on(&mut self, text: &str, reduced: &Reduced) -> bool {
        let Some(last) = self.last.as_ref().filter(|_| reduced.name().is_none()) else {
            return false;
        };
        let first = reduced.ways.first().filter(|_| reduced.verb().is_none());
        let Some(more) = first.map(|way| way.text.as_str()) else { return false };
        let Told { verb, name, use_of, open, noted, talk, time, .. } = last;
        // `hook-up overnight, ten last night till eight`.
        let time = if reduced.timed() { "" } else { time };
        let bare = |verb: &'_ String| verb.split(' ').take(1).collect::<String>();
        let verb = verb.as_ref().map(|v| if reduced.timed() { bare(v) } else { v.clone() });
        // `bowls washed, and it's only nine` tells what time it is.
        if *use_of && is_o_clock(text) {
            return false;
        }
        let range = more.split(' ').any(|w| ["to", "until"].contains(&w));
        // `drained the grey, the gauge says 10%`.
        let to = verb.is_some() && !use_of && (reduced.to() || reads(text));
        // `emptied grey, half` may be what is left.
        let share = verb.is_some() && (to || !more.starts_with(|c: char| c.is_ascii_digit()));
        let to = if to { "to " } else { "" };
        let verb = verb.filter(|_| !use_of).unwrap_or_default();
        let told = format!("{verb} {name} {to}{more}{time}").trim_start().replace("  ", " ");
        // `fresh 60% yesterday, 40% now`.
        let again = reduced.timed() && reduced.amount();
        let once = open.is_some() || *noted || *talk || range || again || !time.is_empty();
        let goes_on = reduced.plain() && once && (reduced.amount() || *use_of);
        if !goes_on || !self.tells(&told) {
            return false;
        }
        // `laptop all morning, 4 hours`.
        let long = |unit: &Unit| matches!(unit, Unit::Hour | Unit::Minute);
        let hedged = reduced.any(|item| matches!(item.is, Is::Hedge(_)));
        let measured = *noted && reduced.measured(long).is_some() && !hedged;
        let firm =
            (open.is_some() && !*noted || again || measured) && !(share || reduced.blurred());
        self.doubt |= !firm || !self.says(&told);
        let Told { name, open, noted, .. } = last;
        let before = open.and_then(|at| self.told.get_mut(at));
        // `a shower yesterday and one today` are two.
        let timed = |thing: &Thing| lows(&thing.text).iter().any(|w| is_time_word(w));
        let before = before.filter(|before| !(again && timed(before)));
        match before.filter(|before| reduced.amount() || before.told == *name) {
            Some(before) => before.told = told,
            None => self.told.push(Thing::new(told, text)),
        }
        if *noted {
            self.notes.pop();
        }
        // How far it was, and then how long.
        if let Some(last) = &mut self.last {
            (last.noted, last.talk, last.open) = (false, false, Some(usize::MAX));
        }
        true
    }

    /// `40 minutes, no, half an hour`, `ten litres, no wait it was eight`: what was told last, put right.
    pub(in crate::logline) fn puts_right(&mut self, text: &str) -> bool {
        let words: Vec<&str> = text.split_whitespace().collect();
        let all = lows(text);
        if all.len() != words.len() || self.told.is_empty() {
            return false;
        }
        let (all, mut from) = (refs(&all), 0);
        while lexicon().begins("rather", &all[from..]) > 0 {
            from += lexicon().begins("rather", &all[from..]);
        }
        let mends = std::mem::take(&mut self.mends) || from > 0;
        // `no, hold on, it was eight`.
        self.mends = from == all.len();
        if self.mends {
            self.note(text, None);
            return true;
        }
        let rest = words[from..].join(" ");
        let told = Some(()).filter(|()| mends).and_then(|()| {
            let last = self.told.last()?;
            let (was, old) = self.figured(&last.told)?;
            let (name, new) = self.figured(&rest)?;
            let unit = old.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
            let bare = new.chars().all(|c| c.is_ascii_digit() || c == '.');
            let new = if bare { new + unit } else { new };
            let same = name.is_none() || name == was;
            let told = last.told.replacen(&old, &new, 1);
            (same && told != last.told && self.tells(&told)).then_some(told)
        });
        let Some((told, last)) = told.zip(self.told.last_mut()) else { return false };
        (self.doubt, last.told) = (true, told);
        last.left.push(rest);
        true
    }

    /// What a clause names, and how much it says.
    fn figured(&self, text: &str) -> Option<(Option<String>, String)> {
        reduced::reduced(text, self.scene, &mut |reduced| {
            let reduced = reduced?;
            Some((reduced.name().map(|(name, _)| name), reduced.figure()?))
        })
    }

    /// `laptop 3 h, then another hour`: so long once more of what was done for so long.
    pub(super) fn once_longer(&mut self, text: &str, reduced: &Reduced) -> bool {
        let last = self.last.as_ref().filter(|last| last.use_of && last.open.is_none());
        let last = last.filter(|last| !last.noted && reduced.name().is_none());
        let Some(name) = last.map(|last| last.name.clone()) else { return false };
        let more = |item: &Item| item.is_of("another more");
        if !(reduced.plain() || reduced.any(more)) {
            return false;
        }
        let long = |unit: &Unit| matches!(unit, Unit::Hour | Unit::Minute);
        let Some(long) = reduced.measured(long) else { return false };
        // `so that's 5 in all`.
        let words = lows(text);
        let all = words.iter().any(|w| is_of("totals summed", w));
        let time = reduced.time().map_or(String::new(), |time| format!(" {time}"));
        let told = format!("{name} {long}{time}");
        if all || self.is_back(reduced) || !self.says(&told) {
            return false;
        }
        self.doubt = true;
        self.told.push(Thing::new(told, text));
        true
    }

    /// Whether a clause told where they came to.
    fn came(&self) -> bool {
        self.told.iter().any(|thing| thing.told.starts_with("camp "))
    }

    /// How long or how far it was: `forty minutes by my watch`.
    pub(super) fn way_there(&mut self, text: &str, reduced: &Reduced, clause: &Clause) -> bool {
        // `arrived yesterday, 45 min` may be how long they stayed.
        let open = |thing: &Thing| {
            let to = lows(&thing.text).iter().any(|w| w == "to");
            !to && lows(&thing.told).iter().any(|w| is_time_word(w))
        };
        let came = self.came() && !self.told.iter().any(open);
        let drove = self.told.iter().any(|thing| thing.told.contains("drove"));
        let said = reduced.way().filter(|_| (reduced.driven() || came) && !reduced.place());
        let Some(told) = said.filter(|told| self.says(told)) else { return false };
        if self.is_back(reduced) || reduced.name().is_some() {
            return false;
        }
        let told = self.then(told, text, reduced, clause);
        // The way takes as long as it is told when they came.
        let camp = self.said_at.as_ref().filter(|_| !reduced.timed());
        let timed = camp.and_then(|time| self.at_time(&told, time));
        self.doubt |= !came || drove;
        self.told.push(Thing::new(timed.unwrap_or(told), text));
        true
    }

    /// A bare stock behind a service is another one that was served; a bare service is of the stock
    /// before.
    pub(super) fn with_verb(&self, text: &str, reduced: &Reduced) -> Option<String> {
        let last = self.last.as_ref()?;
        let told: Vec<String> = match (&reduced.verb(), &reduced.name(), &last.verb) {
            (None, Some((name, use_of)), Some(verb))
                if !reduced.amount() && reduced.beside() && (!use_of || verb == "emptied") =>
            {
                vec![format!("{verb} {name}")]
            }
            (Some(verb), None, _) if !last.use_of && !last.name.is_empty() => {
                let named = format!("{verb} {}", last.name);
                let first = reduced.ways.first();
                first.map(|way| way.text.replacen(verb, &named, 1)).into_iter().collect()
            }
            // `dumped grey and black`: which of them is asked, but where it is both.
            (None, None, Some(verb)) if reduced.ways.is_empty() => {
                let whole = format!("{verb} {text}");
                return reduced::reduced(&whole, self.scene, &mut |whole| {
                    let ways = whole?.ways.iter().map(|way| &way.text);
                    ways.filter(|told| *told != verb).find(|told| self.tells(told)).cloned()
                });
            }
            _ => Vec::new(),
        };
        told.into_iter().find(|told| self.says(told))
    }

    pub(super) fn once_more(&mut self, name: String, text: &str, time: Option<&str>) {
        let last = self.told.last_mut().filter(|thing| thing.told.starts_with(&*name));
        match last.filter(|_| time.is_none()) {
            Some(thing) => thing.told = format!("{name} twice"),
            None => {
                let more = if self.told.is_empty() || time.is_some() { "" } else { "another " };
                let told = format!("{more}{name}");
                let timed = time.and_then(|time| self.at_time(&told, time));
                self.told.push(Thing::new(timed.unwrap_or(told), text));
            }
        }
    }

    /// `late pasta, cooked at eleven`: the meal that was named is the one that was cooked.
    pub(in crate::logline) fn same_meal(&mut self, told: &str) {
        let named = self.meal_name().map(|meal| format!("{meal} ("));
        let once = self.is_meal(told) && !told.contains('(') && self.said_once(told);
        let last = self.told.last().filter(|last| once && last.time.is_none());
        let bare = |last: &Thing| named.as_ref().is_some_and(|meal| last.told.starts_with(meal));
        if last.is_some_and(bare)
            && let Some(gone) = self.told.pop()
        {
            self.note(&gone.text, None);
        }
    }

    /// Whether a line of the grammar tells of one use.
    fn said_once(&self, line: &str) -> bool {
        let one = |event: &Event| matches!(event, Event::Use { count, .. } if count.amount.milli() == 1000);
        matches!((self.read)(line), Some(Ok(said)) if said.iter().all(|said| one(&said.event)))
    }

    /// A meal by its name.
    pub(in crate::logline) fn meal(&self, text: &str) -> Option<String> {
        let meal = self.meal_name()?;
        let words = lows(text);
        // `fish fried`, `chicken for tea`: what is food may also swim by.
        let raw = words.iter().any(|w| is_of("raw", w));
        let served = |w: &String| is_of("cooks", w) || w == "tonight";
        let raw = raw && words.iter().any(served);
        let named = (raw || words.iter().any(|w| is_of("meals", w))) && !self.bought;
        // Nor is one that is planned, or that somebody sells.
        let plain = !words.iter().any(|w| is_of("elsewhere reads wanted likened", w));
        let cooks = words.iter().any(|w| is_of("cooks", w));
        let longest = if cooks { 2 * LONGEST_MEAL } else { LONGEST_MEAL };
        (named && plain && words.len() <= longest)
            .then(|| format!("{meal} ({})", text.replace(['(', ')'], "")))
    }

    /// `mum had a quick one`, `me too`, `dishes after lunch and dinner`: the same once more; `a quick
    /// one` is no other.
    pub(super) fn is_again(&mut self, text: &str, time: Option<&str>) -> bool {
        let words = lows(text);
        let last = self.last.as_ref().filter(|last| last.use_of).map(|last| last.name.clone());
        let Some(name) = last else { return false };
        let who = |w: &String| is_of("people subject", w);
        let ends = words.last().is_some_and(|w| is_of("again", w));
        // `I didn't shower, Nell did`, `and so did I`.
        let number = |w: &String| w == "or" || lexicon().count(w).is_some();
        let done = |w: &String| ["did", "have", "has"].contains(&w.as_str());
        let did = words.len() < 4 && words.iter().any(done) && !words.iter().any(number);
        // `Nell too`.
        let too = words.len() == 2 && words[1] == "too";
        let other = did || too || words.iter().any(who);
        let ends = ends || did;
        // `a quick one for me`.
        let one = ends || other && words.iter().skip(1).any(|w| is_of("again", w));
        // `one for me at 8`.
        let whose = words.len() > 2 && words[0] == "one" && words[1] == "for";
        let meal = |w: &String| is_of("mealtimes", w);
        let only = words.iter().all(|w| meal(w) || is_of("at-meals", w));
        let before = self.told.last().map(|thing| lows(&thing.text)).unwrap_or_default();
        let meals = only && words.iter().any(meal) && before.len() > 1 && before.iter().any(meal);
        let once = one && words.len() < 7 && other || meals || whose;
        // `I'll have mine tomorrow`.
        let will = |w: &String| lexicon().sense(w) == Some(Sense::Ahead) || w == "tomorrow";
        if once && words.iter().any(will) {
            self.note(text, Some(Tells { known: true, harmless: true, ..Tells::default() }));
        } else if once {
            self.doubt = true;
            self.once_more(name, text, time);
        }
        once
    }
}

/// `curry for tea`, `lasagne for everyone`, `roast done`: whether a meal that is named was surely cooked.
pub(super) fn is_served(words: &[String]) -> bool {
    let whom = |two: &[String]| two[0] == "for" && is_of("mealtimes everyone", &two[1]);
    let done = words.last().is_some_and(|w| w == "done");
    (done || words.windows(2).any(whom)) && !words.iter().any(|w| is_of("ready-made", w))
}

/// Whether a clause says what a gauge shows.
fn reads(text: &str) -> bool {
    lows(text).iter().any(|word| is_of("reads", word))
}

/// Whether a clause says that it is some hour: `it's only nine`.
fn is_o_clock(text: &str) -> bool {
    let lows = lows(text);
    let from = match refs(&lows)[..] {
        ["it", "is", ..] => 2,
        ["it's" | "its", ..] => 1,
        _ => return false,
    };
    let small = |w: &&String| is_of("filler hour-about", w) || is_of("unsure", w);
    let rest: Vec<&String> = lows[from..].iter().skip_while(small).collect();
    matches!(rest[..], [hour] if lexicon().count(hour).is_some_and(|hour| hour < 13))
}
