//! What a clause says of those before it: an amount or a time of what they named, the same once
//! more, a remark.

use super::cut_up::Clause;
use super::lexicon::lexicon;
use super::listed::{is_of, low, lows};
use super::misread::Understood;
use super::reduced::{self, Reduced};
use super::so_far::{SoFar, Thing, Told};
use super::talk::Tells;
use super::time::is_time_word;
use crate::domain::Event;

/// What stands there already of what a clause tells.
pub(super) enum Over {
    Nothing,
    /// The note that named it.
    Note,
    /// What was told last.
    Told,
}

impl Over {
    fn of(noted: bool) -> Over {
        if noted { Over::Note } else { Over::Told }
    }
}

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
            scene.known.meaning(what)?.activity.as_ref()?;
            let named = |w: &String| w == who || activity.also.contains(w);
            spoken.iter().any(named).then_some((activity, who, what))
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

    /// Tells a thing in place of the note that named it, or beside it; that was not said in so many words.
    pub(super) fn put(&mut self, told: String, text: &str, over: Over) -> bool {
        match over {
            Over::Note => drop(self.notes.pop()),
            Over::Told => drop(self.told.pop()),
            Over::Nothing => {}
        }
        self.doubt = true;
        self.told.push(Thing::new(told, text));
        true
    }

    /// Gives an amount, or a time of day, to what was named before.
    pub(super) fn goes_on(&mut self, text: &str, reduced: &Reduced) -> bool {
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
        let firm = (open.is_some() || again) && !(*noted || share || reduced.blurred());
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

    /// Where somebody came to: `Sorrel Head is lovely, parked up at four`; how long it took, by when
    /// they set off. It is only ever offered.
    pub(super) fn comes_to(&mut self, text: &str, reduced: &Reduced) -> bool {
        let hour = reduced.hour().as_ref().map(|hour| format!("at {hour}"));
        if reduced.says("sets-off")
            && !(reduced.back() || reduced.amount())
            && reduced.time().is_some()
        {
            self.set_off = reduced.time();
            self.hold(text, reduced);
            self.note(text, Some(Tells { harmless: true, known: true, ..Tells::default() }));
            return true;
        }
        let time = reduced.time().or(hour);
        let lands = reduced.says("arrives") && !reduced.back();
        let way = self.set_off.take().zip(time.as_ref().filter(|_| lands));
        let way = way.map(|(from, to)| {
            let hour = |time: &str| time.trim_start_matches("at ").to_string();
            format!("drove from {} to {}", hour(&from), hour(to))
        });
        let way = way.filter(|way| self.tells(way));
        self.told.extend(way.iter().map(|way| Thing::new(way.clone(), text)));
        let came = self.came();
        let spot = reduced.spot().or_else(|| self.spot.take());
        let when = time.map_or(String::new(), |time| format!(" {time}"));
        let own =
            |place: &String| reduced.verb().as_ref().is_none_or(|v| *v == place.to_lowercase());
        let camp = spot.as_ref().filter(|place| lands && !came && own(place));
        let told = camp.map(|place| [format!("camp {place}{when}"), format!("camp {place}")]);
        let told = told.and_then(|told| told.into_iter().find(|told| self.has_been(told)));
        self.doubt |= told.is_some();
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
            !to && lows(&thing.told).iter().any(|w| is_time_word(w))
        };
        let came = self.came() && !self.told.iter().any(open);
        let said = reduced.way().filter(|_| (reduced.driven() || came) && !reduced.place());
        let Some(told) = said.filter(|told| self.says(told)) else { return false };
        if reduced.back() || reduced.name().is_some() {
            return false;
        }
        let told = self.then(told, text, reduced, clause);
        // The way takes as long as it is told when they came.
        let camp = self.said_at.as_ref().filter(|_| !reduced.timed());
        let timed = camp.and_then(|time| self.at_time(&told, time));
        self.put(timed.unwrap_or(told), text, Over::Nothing)
    }

    /// `plugged in since ten, call it four hours`: how long it was, by whoever counted; and `plugged in
    /// at three, unplugged at eight`.
    pub(super) fn lasted(&mut self, text: &str, reduced: &Reduced) -> bool {
        let last = self.last.as_ref().filter(|_| reduced.name().is_none());
        let since = last.and_then(|last| Some((last.verb.as_ref()?, last.since.as_ref()?)));
        if let (Some((verb, since)), Some(end), true) =
            (since, &reduced.time(), reduced.says("unplugs"))
        {
            let hour = |time: &str| time.trim_start_matches("at ").to_string();
            let verb = verb.split(' ').next().unwrap_or_default();
            let told = format!("{verb} from {} to {}", hour(since), hour(end));
            if self.tells(&told) {
                let over = Over::of(last.is_some_and(|last| last.noted));
                self.last = None;
                return self.put(told, text, over);
            }
        }
        let long = reduced.way().filter(|_| !reduced.back());
        let Some(long) = long.as_ref().and_then(|way| way.strip_prefix("drove ")) else {
            return false;
        };
        let noted = last.filter(|last| last.noted).and_then(|last| last.verb.as_ref());
        let before = noted.or_else(|| self.told.last().map(|thing| &thing.told));
        let Some(Err(misread)) = before.and_then(|before| (self.read)(before)) else {
            return false;
        };
        let told = misread.mend.swaps.first().and_then(|swap| with_length(&swap.text, long));
        let Some(told) = told.filter(|told| self.says(told)) else { return false };
        let over = Over::of(noted.is_some());
        self.put(told, text, over)
    }

    /// `fresh 60%, no 55%`: an amount in place of the one before.
    pub(super) fn rather(&mut self, text: &str, reduced: &Reduced) -> bool {
        let words = lows(text);
        let all: Vec<&str> = words.iter().map(String::as_str).collect();
        let aside = lexicon().begins("aside", &all);
        let amount = aside > 0 && aside + 1 >= all.len() && reduced.amount();
        let Some(last) = self.last.as_ref().filter(|last| amount && last.verb.is_none()) else {
            return false;
        };
        let more = reduced.ways.first().map_or("", |way| way.text.as_str());
        let told = format!("{} {more}", last.name);
        self.says(&told) && self.put(told, text, Over::Told)
    }

    /// `laptop 2 h Ada, 1 Nell`: the same of another person, where one name stands beside the amount.
    pub(super) fn goes_on_for_another(&mut self, text: &str, reduced: &Reduced) -> bool {
        let Some(last) = self.last.as_ref().filter(|last| last.open.is_none()) else {
            return false;
        };
        let name = |w: &String| w.chars().all(char::is_alphabetic);
        let number = |w: &String| w.starts_with(|c: char| c.is_ascii_digit());
        let words = lows(text);
        let unit = |w: &&String| self.scene.known.unit_named(w).is_none() || number(w);
        let (more, who): (Vec<&String>, Vec<&String>) =
            words.iter().filter(unit).partition(|w| number(w));
        let [who] = who[..] else { return false };
        let alone = reduced.name().is_none() && reduced.verb().is_none() && name(who);
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
        self.put(told, text, Over::Nothing)
    }

    /// A bare stock behind a service is another one that was served; a bare service is of the stock
    /// before.
    pub(super) fn with_verb(&self, text: &str, reduced: &Reduced) -> Option<String> {
        let last = self.last.as_ref()?;
        let told: Vec<String> = match (&reduced.verb(), &reduced.name(), &last.verb) {
            (None, Some((name, use_of)), Some(verb))
                if !reduced.amount() && reduced.plain() && (!use_of || verb == "emptied") =>
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
        let raw = raw && words.iter().any(served);
        let named = (raw || words.iter().any(|w| is_of("meals", w))) && !self.bought;
        // Nor is one that is planned, or that somebody sells.
        let plain = !words.iter().any(|w| is_of("elsewhere reads wanted", w));
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
        let did = words.len() < 4 && words.iter().any(|w| w == "did") && !words.iter().any(number);
        // `Nell too`.
        let too = words.len() == 2 && words[1] == "too";
        let other = did || too || words.iter().any(who);
        let ends = ends || did;
        // `a quick one for me`.
        let one = ends || other && words.iter().skip(1).any(|w| w == "one");
        let meal = |w: &String| is_of("mealtimes", w);
        let only = words.iter().all(|w| meal(w) || is_of("at-meals", w));
        let before = self.told.last().map(|thing| lows(&thing.text)).unwrap_or_default();
        let meals = only && words.iter().any(meal) && before.len() > 1 && before.iter().any(meal);
        let once = one && words.len() < 7 && other || meals;
        if once {
            self.doubt = true;
            self.once_more(name, text, time);
        }
        once
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
