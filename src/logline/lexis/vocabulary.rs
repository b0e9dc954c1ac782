//! The words that a rig gives to its log line: names, plurals and aliases of stocks and
//! activities, units, places; and the parts that stand behind them on each date.

use super::lexicon::{lexicon, longest};
use super::recent::{Recent, recent};
use super::told::{self, Told};
use super::word::{Word, as_written};
use crate::domain::timeline::Timeline;
use crate::domain::{
    Activity, Amount, Direction, Entry, Estimate, Event, Moment, Parts, Rig, Spot, Stock, Unit,
    UnitSystem, Zone, journal,
};
use chrono::NaiveDate;
use std::collections::HashMap;

/// The longest name of a place that is looked for in a line, in words.
const LONGEST_PLACE: usize = 6;

/// What a name in the rig means. The same word may name a stock and an activity.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(in crate::logline) struct NameMeaning {
    /// Name of the stock.
    pub stock: Option<String>,
    /// Name of the activity.
    pub activity: Option<String>,
}

/// Everything that a log line or an exchange file may name, taken from one rig.
///
/// It is built once per rig and read at every keystroke. Kit that came or went by a dated change
/// is known by name at any time, and checked against the parts of the day that is logged.
#[derive(Debug, Clone)]
pub struct Vocabulary {
    pub(in crate::logline) zone: Zone,
    pub(in crate::logline) show: UnitSystem,
    pub(in crate::logline) aboard: Amount,
    /// Who lives aboard.
    pub(in crate::logline) crew: Amount,
    /// Who is to be aboard from moments to come, in time order.
    pub(in crate::logline) aboard_ahead: Vec<(Moment, Amount)>,
    /// Parts from each date on, ascending; the first holds since ever.
    eras: Vec<(NaiveDate, Parts)>,
    names: HashMap<String, NameMeaning>,
    /// Who something is done to, and that.
    whom: HashMap<String, String>,
    /// Names as completion offers them, stocks first.
    pub(in crate::logline) offered: Vec<Offered>,
    own_units: HashMap<String, Unit>,
    pub(in crate::logline) places: Vec<String>,
    /// The same in small letters, without blanks and marks.
    bare_places: Vec<String>,
    longest_name: usize,
    /// What the last readings and fills of each stock say, by its name.
    pub(in crate::logline) told: HashMap<String, Told>,
    levels: HashMap<String, Estimate>,
    /// What the line is about, where that is another moment than now.
    pub(in crate::logline) about: Option<Moment>,
    /// What this device wrote lately, as it stands.
    pub(in crate::logline) recent: Vec<Recent>,
}

/// A name that completion offers.
#[derive(Debug, Clone)]
pub(in crate::logline) struct Offered {
    pub word: String,
    pub of: Sort,
}

/// What kind of thing a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Sort {
    Draining,
    Filling,
    Activity,
    Plural,
}

impl Vocabulary {
    /// The words of `rig`; times are read in `zone` (see [`Rig::zone`]). The people aboard are
    /// the rig's own crew until [`Vocabulary::with_aboard`] says otherwise.
    pub fn new(rig: &Rig, zone: Zone) -> Vocabulary {
        let mut dates: Vec<NaiveDate> = rig.changes.iter().map(|c| c.from).collect();
        dates.push(NaiveDate::MIN);
        dates.sort_unstable();
        dates.dedup();
        let mut vocabulary = Vocabulary {
            zone,
            show: rig.show,
            aboard: Amount::from_f64(rig.crew).unwrap_or_default(),
            crew: Amount::from_f64(rig.crew).unwrap_or_default(),
            aboard_ahead: Vec::new(),
            eras: dates.into_iter().map(|date| (date, rig.parts_on(date))).collect(),
            names: HashMap::new(),
            offered: Vec::new(),
            own_units: HashMap::new(),
            places: Vec::new(),
            bare_places: Vec::new(),
            longest_name: 1,
            whom: HashMap::new(),
            told: HashMap::new(),
            levels: HashMap::new(),
            about: None,
            recent: Vec::new(),
        };
        rig.places.iter().for_each(|place| vocabulary.learn_place(&place.name));
        if !rig.home.place.is_empty() && !vocabulary.places.contains(&rig.home.place) {
            vocabulary.learn_place(&rig.home.place);
        }
        // Newest kit first, so that a name that moved means what it means today.
        for (_, parts) in vocabulary.eras.clone().iter().rev() {
            vocabulary.learn(parts);
        }
        vocabulary.learn_everyday();
        vocabulary
    }

    /// The words of `rig` at `now`, with the people aboard that the journal tells of.
    pub fn at(rig: &Rig, entries: &[Entry], now: Moment) -> Vocabulary {
        let standing = journal::standing(entries, now);
        let timeline = Timeline::of(rig, &standing);
        let aboard = timeline.aboard(now);
        let mut words = Vocabulary::new(rig, rig.zone(now));
        words.told = told::told(&standing, now, |at| words.parts_at(at));
        for standing in &standing {
            if let Event::Camp(Spot::Named(name)) = &standing.event
                && words.place(name).is_none()
            {
                words.learn_place(name);
            }
        }
        let people = |(at, people): &(Moment, f64)| Some((*at, Amount::from_f64(*people).ok()?));
        words.aboard_ahead = timeline.aboard_after(now).iter().filter_map(people).collect();
        words.with_aboard(Amount::from_f64(aboard).unwrap_or_default())
    }

    /// The same words, with what each stock is believed to hold now, by its name.
    pub fn with_levels(mut self, levels: impl IntoIterator<Item = (String, Estimate)>) -> Self {
        self.levels = levels.into_iter().collect();
        self
    }

    /// The same words, for a line about what was planned for `moment`: what names no time happened
    /// then, and an hour without a day is of that day.
    pub fn about(mut self, moment: Moment) -> Vocabulary {
        self.about = Some(moment);
        self.recent.clear();
        self
    }

    /// The same words, for a line of `device` that may put right what it wrote before.
    pub fn after(mut self, entries: &[Entry], device: &str, now: Moment) -> Vocabulary {
        self.recent = recent(entries, device, now);
        self
    }

    /// What the last line says that was written within a day.
    pub(in crate::logline) fn last_line(&self, now: Moment) -> Vec<&Recent> {
        self.recent.iter().filter(|recent| recent.is_of_last_line(now)).collect()
    }

    /// Who is aboard at a moment, as far as the journal tells.
    pub(in crate::logline) fn aboard_at(&self, at: Moment) -> Amount {
        let told = self.aboard_ahead.iter().rev().find(|(from, _)| *from <= at);
        told.map_or(self.aboard, |(_, people)| *people)
    }

    /// What a stock is believed to hold now, where that is known.
    pub(in crate::logline) fn level_of(&self, stock: &str) -> Option<Estimate> {
        self.levels.get(stock).copied()
    }

    /// The unit that every reading of this stock was in so far.
    pub(in crate::logline) fn usual_unit(&self, stock: &str) -> Option<&Unit> {
        self.told.get(stock)?.unit.as_ref()
    }

    /// The same words with `people` aboard now, which `2 guests` adds to.
    pub fn with_aboard(mut self, people: Amount) -> Vocabulary {
        self.aboard = people;
        self
    }

    fn learn_place(&mut self, name: &str) {
        self.places.push(name.to_string());
        self.bare_places.push(unmarked(&folded(name)));
    }

    fn learn(&mut self, parts: &Parts) {
        // Names go before aliases, so that an alias never hides a name.
        for stock in &parts.stocks {
            self.name(&stock.name, &stock.name, sort_of(stock));
            self.own_unit(&stock.unit);
        }
        for activity in &parts.activities {
            self.name(&activity.name, &activity.name, Sort::Activity);
            self.name(&activity.plural, &activity.name, Sort::Plural);
            self.own_unit(&activity.counted_in);
        }
        for stock in &parts.stocks {
            stock.also.iter().for_each(|word| self.name(word, &stock.name, sort_of(stock)));
        }
        for activity in &parts.activities {
            activity.also.iter().for_each(|word| self.name(word, &activity.name, Sort::Activity));
        }
    }

    /// What is done to the one that a word names: the dog rinse of `button`.
    pub(in crate::logline) fn done_to(&self, word: &str) -> Option<&str> {
        self.whom.get(word).map(String::as_str)
    }

    /// Everyday words for what the rig names otherwise, where they can mean one thing only. A word
    /// of the rig's owner is never touched.
    fn learn_everyday(&mut self) {
        for row in &lexicon().same {
            let mut means: Option<&NameMeaning> = None;
            let mut one = true;
            for meaning in row.iter().filter_map(|word| self.names.get(*word)) {
                one &= means.is_none_or(|before| before == meaning);
                means = Some(meaning);
            }
            let Some(means) = means.filter(|_| one).cloned() else { continue };
            for word in row {
                self.longest_name = self.longest_name.max(word.split(' ').count());
                self.names.entry(word.to_string()).or_insert_with(|| means.clone());
                // `rinsed that dog`, `did our dishes`.
                for whose in lexicon().all("determiners").filter(|_| word.contains(" the ")) {
                    let word = word.replace(" the ", &format!(" {whose} "));
                    self.names.entry(word).or_insert_with(|| means.clone());
                }
            }
            // `rinsed button`, where `button` is who has the dog rinse.
            let Some((who, _)) = means.activity.as_ref().and_then(|name| name.split_once(' '))
            else {
                continue;
            };
            let of = |(word, named): (&String, &NameMeaning)| {
                (*named == means && !word.contains(' ')).then(|| word.clone())
            };
            let others: Vec<String> = self.names.iter().filter_map(of).collect();
            // The rig's own names, and the table's word for those: `button`, `dog`.
            let is_one = row.iter().any(|word| word.contains(&format!(" the {who}")));
            let names = others.iter().map(String::as_str).chain(is_one.then_some(who));
            let names = names.filter(|name| !row.contains(name)).map(str::to_string);
            self.whom.extend(names.zip(means.activity.iter().cloned().cycle()));
            for word in row.iter().filter(|word| word.split(' ').any(|part| part == who)) {
                for other in &others {
                    let bare = word.replace(&format!("the {who}"), other).replace(who, other);
                    self.names.entry(bare).or_insert_with(|| means.clone());
                }
            }
        }
    }

    /// Each thing of the rig with the everyday words that mean it besides its own, in the table's
    /// order.
    pub(in crate::logline) fn everyday(&self) -> Vec<(String, Vec<&'static str>)> {
        let rows = lexicon().same.iter().filter_map(|row| {
            let meaning = row.iter().find_map(|word| self.names.get(*word))?;
            let name = meaning.activity.as_ref().or(meaning.stock.as_ref())?.clone();
            let same = |word: &&&str| self.names.get(**word) == Some(meaning);
            let words = row.iter().filter(same).filter(|word| **word != name).copied().collect();
            Some((name, words))
        });
        rows.filter(|(_, words): &(_, Vec<&str>)| !words.is_empty()).collect()
    }

    fn name(&mut self, word: &str, means: &str, sort: Sort) {
        let key = folded(word);
        if key.is_empty() {
            return;
        }
        self.longest_name = self.longest_name.max(key.split(' ').count());
        let meaning = self.names.entry(key).or_default();
        let slot = match sort {
            Sort::Draining | Sort::Filling => &mut meaning.stock,
            Sort::Activity | Sort::Plural => &mut meaning.activity,
        };
        if slot.is_none() {
            *slot = Some(means.to_string());
            self.offered.push(Offered { word: word.to_string(), of: sort });
        }
    }

    fn own_unit(&mut self, unit: &Unit) {
        if let Unit::Own(word) = unit {
            self.own_units.entry(folded(word)).or_insert_with(|| unit.clone());
            self.longest_name = self.longest_name.max(word.split_whitespace().count());
        }
    }

    /// The parts in place on `date`.
    pub fn parts_on(&self, date: NaiveDate) -> &Parts {
        let era = self.eras.partition_point(|(from, _)| *from <= date).max(1) - 1;
        &self.eras[era].1
    }

    /// The parts in place at a moment.
    pub(in crate::logline) fn parts_at(&self, at: Moment) -> &Parts {
        self.parts_on(self.zone.date(at))
    }

    /// The parts in place on `date` or, where they are not `of` what is meant, the last that were.
    fn parts_with(&self, date: NaiveDate, of: impl Fn(&Parts) -> bool) -> Option<&Parts> {
        let eras = self.eras.iter().rev().map(|(_, parts)| parts);
        [self.parts_on(date)].into_iter().chain(eras).find(|parts| of(parts))
    }

    /// The stock of that name on `date`, or, when it was not aboard then, as it last was; with
    /// the parts that it belongs to.
    pub fn stock_on(&self, name: &str, date: NaiveDate) -> Option<(&Stock, &Parts)> {
        let parts = self.parts_with(date, |parts| parts.stock(name).is_some())?;
        Some((parts.stock(name)?.1, parts))
    }

    /// The activity of that name on `date`, or, when it was not known then, as it last was; with
    /// the parts that it belongs to.
    pub fn activity_on(&self, name: &str, date: NaiveDate) -> Option<(&Activity, &Parts)> {
        let parts = self.parts_with(date, |parts| parts.activity(name).is_some())?;
        Some((parts.activity(name)?.1, parts))
    }

    /// The longest name that begins `words` (each in lower case), and how many words it takes.
    pub(in crate::logline) fn find<'w>(
        &self,
        words: impl Iterator<Item = &'w str>,
    ) -> Option<(&NameMeaning, usize)> {
        longest(words.take(self.longest_name), |phrase| self.meaning(phrase))
    }

    /// Whether this one phrase names a thing of the rig.
    pub(in crate::logline) fn names(&self, phrase: &str) -> bool {
        self.meaning(phrase).is_some()
    }

    /// What one folded phrase means; an English plural of a known name will do.
    pub(in crate::logline) fn meaning(&self, phrase: &str) -> Option<&NameMeaning> {
        let singular = || phrase.strip_suffix("es").and_then(|stem| self.names.get(stem));
        let dropped = || phrase.strip_suffix('s').and_then(|stem| self.names.get(stem));
        self.names.get(phrase).or_else(dropped).or_else(singular)
    }

    /// The name of the stock that `word` means, whatever the date.
    pub fn stock_named(&self, word: &str) -> Option<&str> {
        self.meaning(&folded(word))?.stock.as_deref()
    }

    /// Which way a stock runs by itself, by its own name.
    pub(in crate::logline) fn runs(&self, stock: &str) -> Option<Sort> {
        let own = self.offered.iter().filter(|offered| offered.word == stock);
        own.map(|own| own.of).find(|of| matches!(of, Sort::Draining | Sort::Filling))
    }

    /// Whether a stock is measured in what people eat.
    pub(in crate::logline) fn is_eaten(&self, stock: &str) -> bool {
        let named =
            |parts: &Parts| parts.stock(stock).is_some_and(|(_, s)| s.unit == Unit::PersonDay);
        self.eras.iter().any(|(_, parts)| named(parts))
    }

    /// The name of the activity that `word` means, whatever the date.
    pub fn activity_named(&self, word: &str) -> Option<&str> {
        self.meaning(&folded(word))?.activity.as_deref()
    }

    /// The unit that begins `words` (as written), and how many words it takes.
    pub(in crate::logline) fn unit<'w>(
        &self,
        words: impl Iterator<Item = &'w str>,
    ) -> Option<(Unit, usize)> {
        longest(words.take(self.longest_name), |phrase| self.unit_named(phrase))
    }

    /// The unit that `word` names for this rig.
    pub fn unit_named(&self, word: &str) -> Option<Unit> {
        let own = |low: &str| {
            Unit::from_word(low, self.show).or_else(|| self.own_units.get(low).cloned())
        };
        match word.contains(|c: char| c.is_whitespace() || c.is_uppercase()) {
            true => Unit::from_word(word, self.show).or_else(|| own(&folded(word))),
            false => own(word),
        }
    }

    /// Whether some name has `before` and then `and` in it.
    pub(in crate::logline) fn goes_on_with_and(&self, before: &str) -> bool {
        let inside = format!("{before} and ");
        self.names.keys().any(|name| name.contains(&inside))
    }

    /// The known place that `name` means, as it is spelled.
    pub(in crate::logline) fn place(&self, name: &str) -> Option<&str> {
        let name = folded(name);
        let bare = unmarked(&name);
        let same = |place: &&String| folded(place) == name;
        // A phone leaves out apostrophes.
        let nearly = |place: &&String| !bare.is_empty() && unmarked(&folded(place)) == bare;
        let begun = self.begins_place(&bare);
        let place = self.places.iter().filter(|_| begun).find(same);
        place.or_else(|| self.places.iter().filter(|_| begun).find(nearly)).map(String::as_str)
    }

    /// Whether a known place begins so, without its marks.
    fn begins_place(&self, bare: &str) -> bool {
        self.bare_places.iter().any(|place| place.starts_with(bare))
    }

    /// How many of the first words are the name of a known place; 0 where they are none.
    pub(in crate::logline) fn place_of_words(&self, words: &[Word]) -> usize {
        let (mut longest, mut bare) = (0, String::new());
        for (at, word) in words.iter().take(LONGEST_PLACE).enumerate() {
            bare += &unmarked(&folded(word.text));
            if !self.begins_place(&bare) {
                break;
            }
            if self.bare_places.contains(&bare) && self.place(&as_written(&words[..=at])).is_some()
            {
                longest = at + 1;
            }
        }
        longest
    }

    /// Known places whose name is nearly this one, nearest first; at most two.
    pub(in crate::logline) fn places_near(&self, name: &str) -> Vec<String> {
        let (said, mut near) = (unmarked(&folded(name)), Vec::new());
        for place in &self.places {
            let known = unmarked(&folded(place));
            let begins = said.chars().count() >= 3 && known.starts_with(&said)
                || known.chars().count() >= 4 && said.starts_with(&known);
            let like = strsim::jaro_winkler(&said, &known);
            if begins || like >= 0.88 {
                near.push((if begins { 2.0 } else { like }, place.clone()));
            }
        }
        near.sort_by(|a, b| b.0.total_cmp(&a.0));
        near.into_iter().take(2).map(|(_, place)| place).collect()
    }

    /// Up to three of `words` that are near `word`, nearest first.
    pub fn nearest<'w>(word: &str, words: impl Iterator<Item = &'w str>) -> Vec<String> {
        let word: String = folded(word).chars().take(40).collect();
        let mut near: Vec<(f64, &str)> = words
            .map(|known| (strsim::jaro_winkler(&word, &folded(known)), known))
            // One slip, or two in a long word: `spilled` is not `filled`.
            .filter(|(_, known)| {
                let slips = strsim::osa_distance(&word, &folded(known));
                let [long, short] = [&*word, known].map(|w| w.chars().count());
                // One letter, or none, is a slip of anything.
                slips < long.min(short) && slips <= 1 + usize::from(long >= 8)
            })
            .collect();
        near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
        near.dedup_by(|a, b| a.1 == b.1);
        near.into_iter().take(3).map(|(_, known)| known.to_string()).collect()
    }

    /// Names of stocks, for a "did you mean".
    pub fn stock_names(&self) -> impl Iterator<Item = &str> {
        let stocks = |o: &&Offered| matches!(o.of, Sort::Draining | Sort::Filling);
        self.offered.iter().filter(stocks).map(|o| o.word.as_str())
    }

    /// Names of activities, for a "did you mean".
    pub fn activity_names(&self) -> impl Iterator<Item = &str> {
        let activities = |o: &&Offered| matches!(o.of, Sort::Activity | Sort::Plural);
        self.offered.iter().filter(activities).map(|o| o.word.as_str())
    }
}

fn sort_of(stock: &Stock) -> Sort {
    match stock.runs {
        Direction::Down => Sort::Draining,
        Direction::Up => Sort::Filling,
    }
}

/// Lower case, with single spaces.
pub(in crate::logline) fn folded(word: &str) -> String {
    match word.contains(char::is_whitespace) {
        true => word.split_whitespace().map(str::to_lowercase).collect::<Vec<_>>().join(" "),
        false => word.to_lowercase(),
    }
}

/// A name without what a phone leaves out of it: apostrophes, hyphens, blanks.
fn unmarked(name: &str) -> String {
    name.replace(['\'', '’', ' ', '-'], "")
}
