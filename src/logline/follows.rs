//! What a clause says of those before it: an amount or a time of what they named, the same once
//! more, a remark.

use super::cut_up::Clause;
use super::lexicon::{Sense, lexicon};
use super::listed::{is_of, is_small, low, lows};
use super::misread::Understood;
use super::reduced::{self, Reduced};
use super::so_far::{SoFar, Thing, Told};
use super::talk::Tells;
use super::time::is_time_word;
use crate::domain::Event;

/// The longest clause that tells of a meal by its name alone, in words.
const LONGEST_MEAL: usize = 6;

impl SoFar<'_> {
    /// The activity that a line of the grammar tells of first.
    fn activity(&self, line: &str) -> Option<String> {
        match (self.read)(line)?.ok()?.into_iter().next()?.event {
            Event::Use { activity, .. } => Some(activity),
            _ => None,
        }
    }

    /// `the dog rolled in mud, she got a rinse`: of whom a use of its own is known, that is the use;
    /// its last word is also that of another.
    pub(super) fn of_whom(&self, text: &str) -> Option<String> {
        let scene = self.scene;
        let spoken: Vec<String> = self
            .notes
            .iter()
            .map(|note| &note.text)
            .chain(self.told.iter().map(|thing| &thing.text))
            .flat_map(|text| lows(text))
            .collect();
        let own = scene.parts.activities.iter().find_map(|activity| {
            let (who, what) = activity.name.split_once(' ')?;
            let other = scene.known.meaning(what)?;
            let other = other.activity.as_ref().filter(|other| **other != activity.name).is_some();
            let named = |w: &String| w == who || activity.also.contains(w);
            (other && spoken.iter().any(named)).then_some((activity, who, what))
        });
        let (activity, who, what) = own?;
        let words: Vec<&str> = text.split_whitespace().collect();
        let of = |w: &&str| {
            let low = low(w);
            ["", "s", "d", "ed"].iter().any(|end| low == format!("{what}{end}"))
        };
        let at = words.iter().position(of)?;
        let whole = lows(text).iter().any(|w| w == who || activity.also.contains(w));
        let put = |(index, w): (usize, &&str)| {
            if index == at { activity.name.clone() } else { w.to_string() }
        };
        let told = words.iter().enumerate().map(put).collect::<Vec<_>>().join(" ");
        (!whole).then_some(told)
    }

    /// Takes back a name that was said before with nothing that happened, where the same is told now:
    /// `button rolled in mud, so one dog rinse`.
    pub(super) fn no_more_bare(&mut self, told: &str) {
        let Some(own) = self.activity(told) else { return };
        let bare = |thing: &Thing| {
            thing.bare
                && !told.contains(&thing.told)
                && self.activity(&thing.told).as_ref() == Some(&own)
        };
        let at = self.told.iter().position(bare);
        if let Some(at) = at {
            let gone = self.told.remove(at);
            self.note(&gone.text, Some(Tells { harmless: true, known: true, ..Tells::default() }));
        }
    }

    /// Puts a remark beside what was told last.
    pub(super) fn beside(&mut self, text: &str, clause: &Clause) -> bool {
        let Some(last) = self.told.last_mut() else { return false };
        let remark = format!("{} {text}", clause.joint).trim().to_string();
        last.remark = [&*last.remark, &*remark].join(" ").trim().to_string();
        last.left.push(remark);
        true
    }

    /// Whether the same measure of a drive was told before.
    pub(super) fn drives_already(&self, told: &str) -> bool {
        let long = self.drive_in_hours(told);
        long.is_some() && self.told.iter().any(|thing| self.drive_in_hours(&thing.told) == long)
    }

    /// Gives an amount, or a time of day, to what was named before.
    pub(super) fn goes_on(&mut self, text: &str, reduced: &Reduced) -> bool {
        let Some(last) = self.last.as_ref().filter(|_| reduced.name.is_none()) else {
            return false;
        };
        let first = reduced.ways.first().filter(|_| reduced.verb.is_none());
        let Some(more) = first.map(|way| way.text.as_str()) else { return false };
        let Told { verb, name, use_of, open, noted, talk, time, since } = last;
        // `hook-up overnight, ten last night till eight`.
        let time = if reduced.timed && !name.is_empty() { "" } else { time };
        let dated = since.is_some() && reduced.timed;
        let bare = |verb: &String| verb.split(' ').take(1).collect::<String>();
        let verb = &verb.as_ref().map(|verb| if dated { bare(verb) } else { verb.clone() });
        // `drained the grey, the gauge says 10%`.
        let to = verb.is_some() && (reduced.to || reduced.amount && !use_of && reads(text));
        let more = if to { format!("to {more}") } else { more.into() };
        let told = match verb {
            // `plugged in 2 to 8, six hours`.
            Some(verb)
                if *noted && name.is_empty() && verb.contains(|c: char| c.is_ascii_digit()) =>
            {
                return false;
            }
            _ if *use_of => format!("{name} {more}{time}"),
            Some(verb) if name.is_empty() => format!("{verb} {more}{time}"),
            Some(verb) if open.is_some() || *noted => format!("{verb} {name} {more}{time}"),
            _ => format!("{name} {more}{time}"),
        };
        // `4 showers. FOUR.` says it again.
        let bare = more.chars().all(|c| c.is_ascii_digit());
        let range = more.split(' ').any(|w| ["to", "until"].contains(&w));
        // `fresh 60% yesterday, 40% now`.
        let again = reduced.timed && reduced.amount && !name.is_empty();
        let once = open.is_some() || *noted || *talk || range && *use_of;
        let once = once || again || !time.is_empty();
        let goes_on = reduced.plain && once && (reduced.amount || *use_of && !bare);
        let is_told = self.says(&told)
            || (again || verb.is_some() && open.is_some()) && self.tells(&told)
            || (range || !reduced.amount) && self.tells(&told);
        if !goes_on || !is_told || self.drives_already(&told) {
            return false;
        }
        // `emptied grey, half` may be what is left.
        let share = verb.is_some() && !more.starts_with(|c: char| c.is_ascii_digit());
        let level = ["%", "half", "quarter", "third"].iter().any(|w| more.contains(w));
        let named = *noted && !(verb.is_none() && !use_of && level);
        let counted = open.is_none() && !noted && !again;
        self.doubt |= !self.says(&told) || share && !use_of || named || counted || reduced.blurred;
        let Told { name, open, noted, .. } = last;
        let before = open.and_then(|at| self.told.get_mut(at));
        // `a shower yesterday and one today` are two.
        let timed = |thing: &Thing| lows(&thing.text).iter().any(|w| is_time_word(w));
        let before = before.filter(|before| !(again && timed(before)));
        match before.filter(|before| reduced.amount || before.told == *name) {
            Some(before) => before.told = told,
            None => self.told.push(Thing::new(told, text)),
        }
        if *noted {
            self.notes.pop();
        }
        // How far it was, and then how long.
        let drove = self.last.as_ref().is_some_and(|last| last.name.is_empty());
        if let Some(last) = &mut self.last {
            (last.noted, last.talk, last.open) = (false, false, drove.then_some(usize::MAX));
            last.time.retain(|_| drove);
        }
        true
    }

    /// Where somebody came to: `Sorrel Head is lovely, parked up at four`; how long it took, by when
    /// they set off. It is only ever offered.
    pub(super) fn comes_to(&mut self, text: &str, reduced: &Reduced, clause: &Clause) -> bool {
        let hour = reduced.hour.as_ref().filter(|_| reduced.lands);
        let open = reduced.name.is_none() && !reduced.back && (!reduced.amount || hour.is_some());
        let time = reduced.time.clone().or(hour.map(|hour| format!("at {hour}")));
        if open && reduced.sets_off && time.is_some() {
            self.set_off = time;
            self.hold(text, reduced, clause);
            self.note(text, Some(Tells { harmless: true, known: true, ..Tells::default() }));
            return true;
        }
        let lands = open && reduced.lands;
        let way = self.set_off.take().filter(|_| lands).zip(time.as_ref());
        let way = way.map(|(from, to)| {
            let hour = |time: &str| time.trim_start_matches("at ").to_string();
            format!("drove from {} to {}", hour(&from), hour(to))
        });
        let way = way.filter(|way| self.tells(way));
        self.held.take_if(|_| way.is_some());
        self.told.extend(way.iter().map(|way| Thing::new(way.clone(), text)));
        let came = self.came();
        let here = reduced.spot.clone();
        let spot = here.or_else(|| self.spot.take().filter(|_| reduced.verb.is_none() && !came));
        let when = time.map_or(String::new(), |time| format!(" {time}"));
        let own = |place: &String| match &reduced.verb {
            Some(verb) => verb == "camp" && way.is_some() || *verb == place.to_lowercase(),
            None => true,
        };
        let camp = spot.as_ref().filter(|place| lands && !came && own(place));
        let told = camp.map(|place| [format!("camp {place}{when}"), format!("camp {place}")]);
        let told = told.and_then(|told| told.into_iter().find(|told| self.has_been(told)));
        self.doubt |= told.is_some() || way.is_some();
        let Some(told) = told else {
            self.spot = spot;
            return way.is_some();
        };
        let place = spot.map_or(String::new(), |place| place.to_lowercase());
        self.told.retain(|thing| !thing.told.to_lowercase().ends_with(&place));
        self.told.push(Thing::new(told, text));
        let open = Some(usize::MAX);
        self.last = Some(Told { verb: Some("drove".into()), open, ..Told::default() });
        true
    }

    /// Whether a line of the grammar would be saved, of what was.
    fn has_been(&self, line: &str) -> bool {
        let past = |said: &Understood| said.at <= self.scene.clock.now;
        matches!((self.read)(line), Some(Ok(said)) if said.iter().all(past))
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
            let timed = |w: &String| w == "planned" || !to && is_time_word(w);
            lows(&thing.told).iter().any(timed)
        };
        let came = self.came() && !self.told.iter().any(open) && reduced.verb.is_none();
        let said = reduced.way.as_ref().filter(|_| (reduced.driven || came) && !reduced.place);
        let Some(told) = said.filter(|told| self.says(told)).cloned() else { return false };
        if self.drives_already(&told) || reduced.back || reduced.name.is_some() {
            return false;
        }
        self.doubt = true;
        let told = self.then(told, text, reduced, clause);
        // The way takes as long as it is told when they came.
        let camp = self.said_at.as_ref().filter(|_| came && !reduced.timed);
        let timed = camp.and_then(|time| self.at_time(&told, time));
        self.told.push(Thing::new(timed.unwrap_or(told), text));
        true
    }

    /// `plugged in since ten, call it four hours`: how long it was, by whoever counted; and `plugged in
    /// at three, unplugged at eight`.
    pub(super) fn lasted(&mut self, text: &str, reduced: &Reduced) -> bool {
        let last = self.last.as_ref().filter(|_| reduced.name.is_none());
        let since = last.and_then(|last| Some((last.verb.as_ref()?, last.since.as_ref()?)));
        if let (Some((verb, since)), Some(end), true) = (since, &reduced.time, reduced.ends) {
            let hour = |time: &str| time.trim_start_matches("at ").to_string();
            let verb = verb.split(' ').next().unwrap_or_default();
            let told = format!("{verb} from {} to {}", hour(since), hour(end));
            if self.tells(&told) {
                match last.is_some_and(|last| last.noted) {
                    true => drop(self.notes.pop()),
                    false => drop(self.told.pop()),
                }
                self.doubt = true;
                self.told.push(Thing::new(told, text));
                self.last = None;
                return true;
            }
        }
        let long = reduced.way.as_ref().filter(|_| reduced.name.is_none() && !reduced.back);
        let Some(long) = long.and_then(|way| way.strip_prefix("drove ")) else { return false };
        let noted = last.filter(|last| last.noted).and_then(|last| last.verb.as_ref());
        let before = noted.or_else(|| self.told.last().map(|thing| &thing.told));
        let Some(Err(misread)) = before.and_then(|before| (self.read)(before)) else {
            return false;
        };
        let told = misread.mend.swaps.first().and_then(|swap| with_length(&swap.text, long));
        let Some(told) = told.filter(|told| self.says(told)) else { return false };
        match noted.is_some() {
            true => drop(self.notes.pop()),
            false => drop(self.told.pop()),
        }
        self.doubt = true;
        self.told.push(Thing::new(told, text));
        true
    }

    /// `fresh 60%, no 55%`: an amount in place of the one before.
    pub(super) fn rather(&mut self, text: &str, reduced: &Reduced) -> bool {
        let words = lows(text);
        let all: Vec<&str> = words.iter().map(String::as_str).collect();
        let aside = lexicon().begins("aside", &all);
        let amount = aside > 0 && aside + 1 >= all.len() && reduced.amount;
        let Some(last) = self.last.as_ref().filter(|last| amount && !last.name.is_empty()) else {
            return false;
        };
        let more = reduced.ways.first().map_or("", |way| way.text.as_str());
        let told = format!("{} {more}", last.name);
        let says = last.verb.is_none() && self.says(&told);
        if let Some(before) = self.told.last_mut().filter(|_| says) {
            before.told = told;
            self.doubt = true;
        }
        says
    }

    /// `laptop 2 h Ada, 1 Nell`: the same of another person, where one name stands beside the amount.
    pub(super) fn goes_on_for_another(&mut self, text: &str, reduced: &Reduced) -> bool {
        let counted = |last: &&Told| last.use_of && last.open.is_none() && !last.noted;
        let Some(last) = self.last.as_ref().filter(counted) else { return false };
        let name = |w: &String| w.chars().all(char::is_alphabetic);
        let number = |w: &String| {
            w.starts_with(|c: char| c.is_ascii_digit()) || lexicon().count(w).is_some()
        };
        let words = lows(text);
        let unit = |w: &&String| self.scene.known.unit_named(w).is_none() || number(w);
        let (more, who): (Vec<&String>, Vec<&String>) =
            words.iter().filter(unit).partition(|w| number(w));
        let [who] = who[..] else { return false };
        let alone = reduced.name.is_none() && reduced.verb.is_none() && name(who);
        let [more] = more[..] else { return false };
        // `nell 2`, `2 Nell`: but `3 flurbs` are no person's.
        let named = words.first() == Some(who)
            || is_of("people", who)
            || text.split(' ').any(|w| w.starts_with(char::is_uppercase) && low(w) == *who);
        if !(alone && named) || lexicon().lists(who) && !is_of("people", who) {
            return false;
        }
        let told = ["", " h"].map(|unit| format!("{} {more}{unit}", last.name));
        let Some(told) = told.into_iter().find(|told| self.says(told)) else { return false };
        self.doubt = true;
        self.told.push(Thing::new(told, text));
        true
    }

    /// A bare stock behind a service is another one that was served; a bare service is of the stock
    /// before.
    pub(super) fn with_verb(&self, text: &str, reduced: &Reduced) -> Option<String> {
        let last = self.last.as_ref()?;
        let told: Vec<String> = match (&reduced.verb, &reduced.name, &last.verb) {
            (None, Some((name, use_of)), Some(verb))
                if !reduced.amount && reduced.plain && (!use_of || verb == "emptied") =>
            {
                // `emptied solids and bottle`: of what a bottle is emptied.
                let end = format!(" {name}");
                let everyday = self.scene.known.everyday();
                let others =
                    everyday.iter().filter(|(_, words)| words.iter().any(|w| w.ends_with(&end)));
                let others = others.map(|(own, _)| own);
                [name].into_iter().chain(others).map(|name| format!("{verb} {name}")).collect()
            }
            (Some(verb), None, _) if !last.use_of && !last.name.is_empty() => {
                let named = format!("{verb} {}", last.name);
                let first = reduced.ways.first();
                first.map(|way| way.text.replacen(verb, &named, 1)).into_iter().collect()
            }
            // `dumped grey and black`: which of them is asked, but where it is both.
            (None, None, Some(verb)) if verb == "emptied" && reduced.ways.is_empty() => {
                let whole = reduced::reduced(&format!("{verb} {text}"), self.scene)?;
                return whole
                    .ways
                    .into_iter()
                    .map(|way| way.text)
                    .find(|told| told != verb && self.tells(told));
            }
            _ => Vec::new(),
        };
        told.into_iter().find(|told| self.says(told))
    }

    pub(super) fn once_more(&mut self, name: String, text: &str, time: Option<&str>) {
        match self.told.last_mut().filter(|thing| thing.told.starts_with(&*name)) {
            Some(thing) => thing.told = format!("{name} twice"),
            None => {
                let more = if self.told.is_empty() { "" } else { "another " };
                let told = format!("{more}{name}");
                let timed = time.and_then(|time| self.at_time(&told, time));
                self.told.push(Thing::new(timed.unwrap_or(told), text));
            }
        }
    }

    /// A meal by its name.
    pub(super) fn meal(&self, text: &str) -> Option<String> {
        let meal = self.meal_name()?;
        let words = lows(text);
        // `fish fried`, `chicken for tea`: what is food may also swim by.
        let raw = words.iter().any(|w| is_of("raw", w));
        let served = |w: &String| is_of("cooks", w) || w == "tonight";
        let raw = raw
            && (words.iter().any(served)
                || self.first && words.len() < 3 && is_of("raw", &words[0]));
        let named = (raw || words.iter().any(|w| is_of("meals", w))) && !self.bought;
        // Nor is one that is planned, or that somebody sells.
        let later = |w: &str| {
            let now = ["today", "tonight", "evening", "morning", "noon", "afternoon", "night"];
            let said = match lexicon().sense(w) {
                Some(Sense::Say(said, _)) => said,
                _ => w,
            };
            w.starts_with("plan") || w != "this" && is_time_word(said) && !now.contains(&said)
        };
        let other = |w: &str| is_of("elsewhere reads wanted", w);
        let plain = !words.iter().any(|w| other(w) || later(w));
        let told = |thing: &Thing| thing.told.contains(meal) || thing.told.contains("cook");
        // `soup for lunch and curry for tea`.
        let hour = words
            .windows(2)
            .any(|w| ["for", "at"].contains(&w[0].as_str()) && is_of("mealtimes", &w[1]));
        let another = self.told.iter().any(told);
        let more = if another { "another " } else { "" };
        let cooks = words.iter().any(|w| is_of("cooks", w));
        let longest = if cooks { 2 * LONGEST_MEAL } else { LONGEST_MEAL };
        (named && plain && (hour || !another) && words.len() <= longest)
            .then(|| format!("{more}{meal} ({})", text.replace(['(', ')'], "")))
    }

    /// `mum had a quick one`, `me too`, `dishes after lunch and dinner`: the same once more; `a quick
    /// one` is no other.
    pub(super) fn is_again(&mut self, text: &str, time: Option<&str>) -> bool {
        let words = lows(text);
        let last = self.last.as_ref().filter(|last| last.use_of).map(|last| last.name.clone());
        let noted = self.last.as_ref().is_some_and(|last| last.noted);
        let Some(name) = last.or_else(|| self.denied.clone()) else { return false };
        let capital = text.starts_with(char::is_uppercase) && !lexicon().lists(&words[0]);
        let who = |w: &String| capital || is_of("people", w) || is_of("subject", w);
        let ends = words.last().is_some_and(|w| is_of("again", w));
        // `I didn't shower, Nell did`, `and so did I`.
        let number = |w: &String| w == "or" || lexicon().count(w).is_some();
        let did = words.len() < 4 && words.iter().any(|w| w == "did") && !words.iter().any(number);
        // `Nell too`.
        let too = words.len() == 2 && words[1] == "too" && !is_small(&words[0]);
        let other = did || too || words.iter().any(who);
        let ends = ends || did;
        // `a quick one for me`.
        let one = ends || other && words.iter().skip(1).any(|w| w == "one");
        let meal = |w: &String| is_of("mealtimes", w);
        let small = ["after", "at", "for", "the", "in", "from", "again"];
        let only = words.iter().all(|w| meal(w) || small.contains(&w.as_str()));
        let before = self.told.last().map(|thing| lows(&thing.text)).unwrap_or_default();
        let meals = only && words.iter().any(meal) && before.len() > 1 && before.iter().any(meal);
        let once = one && words.len() < 7 && other || meals && !noted;
        if once {
            self.doubt = true;
            self.once_more(name, text, time);
        }
        once || one && words.len() < 7
    }
}

/// `shore 3 h 10 min today 10:00` with another length in it.
fn with_length(told: &str, long: &str) -> Option<String> {
    let digit = |w: &&str| w.starts_with(|c: char| c.is_ascii_digit());
    let words: Vec<&str> = told.split(' ').collect();
    let from = words.iter().position(digit)?;
    let units = (from..words.len()).take_while(|at| digit(&words[*at]) == ((at - from) % 2 == 0));
    let to = units.last()? + 1;
    let to = if (to - from) % 2 == 0 { to } else { to - 1 };
    (to > from).then(|| [&words[..from], &[long], &words[to..]].concat().join(" "))
}

/// Whether a clause says what a gauge shows.
fn reads(text: &str) -> bool {
    lows(text).iter().any(|word| is_of("reads", word))
}
