//! What has been heard so far of a line: what its clauses told, and what is to be noted.

use crate::domain::{After, Event};
use crate::logline::grammar::beside::Kind;
use crate::logline::grammar::scene::Scene;
use crate::logline::grammar::swapped::swapped;
use crate::logline::grammar::talk::Tells;
use crate::logline::lexis::lexicon::lexicon;
use crate::logline::lexis::listed::{is_filler, is_of, lows, refs};
use crate::logline::lexis::misread::{EXAMPLE, Misread, Understood};

/// What reads a line of the grammar.
pub(in crate::logline) type Read<'r> = &'r dyn Fn(&str) -> Option<Result<Vec<Understood>, Misread>>;

/// What has been heard so far.
pub(in crate::logline) struct SoFar<'h> {
    pub scene: &'h Scene<'h>,
    pub read: Read<'h>,
    pub told: Vec<Thing>,
    pub notes: Vec<Note>,
    pub last: Option<Told>,
    /// What stands before a colon, and is said of what follows.
    pub head: Option<String>,
    /// When what follows was, by a clause that tells nothing else: `harbour done this morning`.
    pub held: Option<Held>,
    /// When that was which was told last, where it was said.
    pub said_at: Option<String>,
    /// Whether the line is one clause.
    pub alone: bool,
    /// Who in the line has something done to them, by name.
    pub whom: Option<String>,
    /// Whether the sentence is of what was bought, or is worth so much; whether it was bought; whether the
    /// sentence says that, or for how much and no more.
    pub bought: bool,
    pub shopped: bool,
    pub paid: bool,
    /// The stock that a word of the line draws from: `the tap`.
    pub source: Option<String>,
    /// Whether something that was told or noted leaves doubt of what was told.
    pub doubt: bool,
    /// Whether a clause that tells nothing names something of the van.
    pub known: bool,
    /// Whether the last clause says that what follows it puts right what stands before.
    pub mends: bool,
    /// Whether the line says that it is told late.
    pub late: bool,
    /// Whether a clause says that nothing was cooked.
    pub fasts: bool,
    /// Whether a clause took back what was told.
    pub taken_back: bool,
    /// Whether nothing is told otherwise, so that words beside what is known are looked past.
    pub last_resort: bool,
}

/// What one clause tells.
#[derive(Clone)]
pub(in crate::logline) struct Thing {
    /// In words of the grammar.
    pub told: String,
    /// As it was written.
    pub text: String,
    /// Words left out of it: all that say anything, and those that may tell of something.
    pub remark: String,
    pub left: Vec<String>,
    /// When that was, where it was said.
    pub time: Option<String>,
    /// Whether it is joined to the one before it.
    pub and: bool,
}

/// What is noted.
pub(in crate::logline) struct Note {
    /// Whether it says nothing at all; whether it begins with what joins it to the one before.
    pub filler: bool,
    pub joins: bool,
    pub text: String,
    pub tells: Tells,
}

/// What the last clause told that named a thing.
#[derive(Default)]
pub(in crate::logline) struct Told {
    pub verb: Option<String>,
    pub name: String,
    /// Whether it is an activity.
    pub use_of: bool,
    /// Where it stands among what was told, as long as its amount may follow.
    pub open: Option<usize>,
    /// Whether it is noted as long as none does.
    pub noted: bool,
    /// Whether it was only spoken of.
    pub talk: bool,
    /// When it is to be, where an amount may follow.
    pub time: String,
}

/// The time of a clause that tells nothing else.
pub(in crate::logline) struct Held {
    pub time: String,
    /// Whether the clause says no more than when it was.
    pub dates: bool,
    /// Whether something began or ended then.
    pub spans: bool,
    /// Whether it has been said of something.
    pub used: bool,
    /// How much had been told and noted before it.
    pub before: usize,
    pub note: usize,
}

/// Whether a line of the grammar would be saved, or asked back with what would be; a number that
/// nobody said is no help here.
pub(in crate::logline) fn tells(read: Read, line: &str) -> bool {
    match read(line) {
        Some(Ok(said)) => said.iter().all(|said| !matches!(said.event, Event::Note(_))),
        Some(Err(misread)) => {
            let swaps = &misread.mend.swaps;
            // `grey nearly full` says a level, if no number.
            let level = |text: &str| text.contains('%');
            let unsaid = |text: &str| text.contains(EXAMPLE) && !level(text);
            let told = misread.mend.told || !swaps.iter().any(|swap| unsaid(&swap.text));
            !swaps.is_empty() && told
        }
        None => false,
    }
}

impl Thing {
    pub(in crate::logline) fn new(told: String, text: &str) -> Thing {
        Thing {
            told,
            text: text.to_string(),
            remark: String::new(),
            left: Vec::new(),
            time: None,
            and: false,
        }
    }
}

impl SoFar<'_> {
    /// What sort of thing a line of the grammar tells first.
    pub(in crate::logline) fn kind(&self, line: &str) -> Option<Kind> {
        // Or is asked back as, where that is sure.
        let plain = match (self.read)(line)? {
            Ok(_) => true,
            Err(misread) => misread.mend.swaps.first().is_some_and(|swap| swap.sure),
        };
        plain.then(|| self.said(line))?.map(|said| Kind::of(&said.event))
    }

    /// What a meal is called, where the rig knows one.
    pub(super) fn meal_name(&self) -> Option<&str> {
        lexicon().all("meal").find_map(|name| self.scene.known.activity_named(name))
    }

    pub(super) fn is_meal(&self, line: &str) -> bool {
        let meal = self.meal_name();
        let of = |event: &Event| matches!(event, Event::Use { activity, .. } if Some(activity.as_str()) == meal);
        matches!((self.read)(line), Some(Ok(said)) if said.iter().any(|said| of(&said.event)))
    }

    /// Whether a line of the grammar would be saved.
    pub(in crate::logline) fn says(&self, line: &str) -> bool {
        matches!((self.read)(line), Some(Ok(_))) && self.tells(line)
    }

    pub(in crate::logline) fn tells(&self, line: &str) -> bool {
        tells(self.read, line)
    }

    /// Whether a line of the grammar would be saved, or what it is asked back with is.
    fn leads(&self, line: &str, deep: usize) -> bool {
        match (self.read)(line) {
            Some(Ok(_)) => true,
            Some(Err(misread)) => misread.mend.swaps.iter().any(|swap| {
                let next = swapped(line, &misread, swap);
                deep > 0 && next.is_some_and(|next| self.leads(&next, deep - 1))
            }),
            None => false,
        }
    }

    /// What a line of the grammar says first, or is asked back as first.
    fn said(&self, line: &str) -> Option<Understood> {
        let said = match (self.read)(line)? {
            Ok(said) => said,
            Err(misread) => {
                let swap = misread.mend.swaps.first()?;
                (self.read)(&swapped(line, &misread, swap)?)?.ok()?
            }
        };
        said.into_iter().next()
    }

    /// What sort of entry a line of the grammar tells first, and of what.
    pub(super) fn of(&self, line: &str) -> Option<(&'static str, Option<String>)> {
        let event = self.said(line)?.event;
        let use_of = match &event {
            Event::Use { activity, .. } => Some(activity.clone()),
            _ => None,
        };
        Some((event.kind(), event.stock().map(str::to_string).or(use_of)))
    }

    /// The same, where it is of one stock or of the day.
    pub(in crate::logline) fn of_stock(&self, line: &str) -> Option<Event> {
        let whole = |event: &Event| event.stock().is_some() || *event == Event::DayClosed;
        self.said(line).map(|said| said.event).filter(whole)
    }

    /// `plugged in for 3 hours, 1 to 4 pm`: whether another thing tells the same charge, and when it was.
    fn is_timed_elsewhere(&self, at: usize) -> bool {
        let of = |thing: &Thing| self.said(&thing.told);
        let Some(said) = of(&self.told[at]).filter(|said| said.at == self.scene.clock.now) else {
            return false;
        };
        let same = |other: Understood| other.event == said.event && other.at != said.at;
        matches!(said.event, Event::Charge { .. }) && self.told.iter().filter_map(of).any(same)
    }

    /// Whether a line of the grammar tells of a camp, or is asked back as one.
    fn camps(&self, line: &str) -> bool {
        match (self.read)(line) {
            Some(Ok(said)) => said.iter().any(|said| matches!(said.event, Event::Camp(_))),
            Some(Err(misread)) => misread.mend.swaps.iter().any(|s| s.text.starts_with("camp")),
            None => false,
        }
    }

    /// Leaves out what leads nowhere, and what says no more of a stock than another thing does:
    /// `did the shopping, 12 days of food`, `stocked up on food, cupboards full`.
    pub(super) fn told_once(&mut self) {
        let events: Vec<Option<Event>> =
            self.told.iter().map(|thing| self.of_stock(&thing.told)).collect();
        self.read_before(&events);
        let amount = |event: &Event| matches!(event, Event::Fill { amount: Some(_), .. });
        let brim = |event: &Event| {
            matches!(event, Event::Fill { amount: None, after: None | Some(After::Full), .. })
        };
        let full = |event: &Event| *event == Event::DayClosed || brim(event);
        let again = |at: usize, event: &Event| {
            let other = |(index, other): (usize, &Option<Event>)| {
                let same =
                    other.as_ref().filter(|other| index != at && other.stock() == event.stock());
                let once = |other: &Event| other == event || brim(other) && brim(event);
                same.is_some_and(|other| amount(other) || once(other) && index < at)
            };
            full(event) && events.iter().enumerate().any(other)
        };
        // `called in at Barley Arm: grey out` says where that was.
        let fills = |event: &Event| matches!(event, Event::Fill { .. } | Event::Empty { .. });
        let put = |text: &str| text.starts_with("filled ") || text.starts_with("emptied ");
        let asked = |thing: &Thing| match (self.read)(&thing.told) {
            Some(Err(misread)) => misread.mend.swaps.iter().any(|swap| put(&swap.text)),
            _ => false,
        };
        let served = events.iter().flatten().any(fills) || self.told.iter().any(asked);
        let tap = |thing: &Thing| {
            let came = |w: &String| is_of("arrives", w) || w == "camp" || w == "to";
            served && self.camps(&thing.told) && !lows(&thing.text).iter().any(came)
        };
        let gone = |at: usize, thing: &Thing| {
            tap(thing)
                || self.is_timed_elsewhere(at)
                || events[at].as_ref().is_some_and(|event| again(at, event))
                || !self.leads(&thing.told, 3)
        };
        let gone: Vec<bool> =
            self.told.iter().enumerate().map(|(at, thing)| gone(at, thing)).collect();
        let all = std::mem::take(&mut self.told);
        let mut time = None;
        for (thing, gone) in all.into_iter().zip(gone) {
            time = if gone { time.or(thing.time.clone()) } else { time };
            match gone {
                true => self.note(&thing.text, None),
                false => self.told.push(thing),
            }
        }
        // `did laundry on friday, 20 outfits`: when it was is told with the one, how much with the other.
        let last = self.told.last().filter(|thing| thing.time.is_none());
        let timed = last.and_then(|thing| self.at_time(&thing.told, &time?));
        if let (Some(last), Some(timed)) = (self.told.last_mut(), timed) {
            last.told = timed;
        }
    }

    /// `fresh was on 1/4, topped up this afternoon`: what it was before a service was so then.
    fn read_before(&mut self, events: &[Option<Event>]) {
        for at in 1..self.told.len() {
            let (Some(Event::Level { stock, .. }), Some(next)) = (&events[at - 1], &events[at])
            else {
                continue;
            };
            let (one, other) = (&self.told[at - 1], &self.told[at]);
            let was = one.time.is_none() && lows(&one.text).iter().any(|w| is_of("past", w));
            let served = matches!(next, Event::Fill { .. } | Event::Empty { .. });
            let served = served && next.stock() == Some(stock);
            let time = other.time.as_ref().filter(|_| was && served);
            if let Some(timed) = time.and_then(|time| self.at_time(&one.told, time)) {
                self.told[at - 1].told = timed;
            }
        }
    }

    /// Whether all that is told is what was not done.
    pub(in crate::logline) fn denies(&self) -> bool {
        let undone = |note: &Note| !note.tells.undone.is_empty();
        let quiet = |note: &Note| undone(note) || note.filler || note.tells.harmless;
        self.told.is_empty() && self.notes.iter().any(undone) && self.notes.iter().all(quiet)
    }

    /// Notes a clause, with what it says of the others; what cannot be read leaves them open.
    pub(in crate::logline) fn note(&mut self, text: &str, tells: Option<Tells>) {
        let words = lows(text);
        let words = refs(&words);
        // What a question of the grammar would mend is no remark.
        let mended = |why: &Misread| !(why.nearest.is_empty() && why.mend.swaps.is_empty());
        let mended = || matches!((self.read)(text), Some(Err(why)) if mended(&why));
        // `A + N showered`: who is meant by a letter is not known.
        let spoken = !words.is_empty() && !text.contains('"');
        let letter = spoken && words.iter().all(|w| w.len() < 2);
        let tells = tells.filter(|_| !letter && !mended());
        let tells = tells.unwrap_or(Tells { known: true, ..Tells::default() });
        self.known |= tells.known;
        if !lexicon().is_one("filler", &words) {
            self.notes.push(Note {
                filler: is_filler(&words),
                joins: false,
                text: text.trim_matches([':', '(', ')', ',']).to_string(),
                tells,
            });
        }
    }
}
