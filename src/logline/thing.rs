//! One thing of a line, its time already taken off: uses and readings here, the rest dispatched.

use super::amounts::{self, Said};
use super::time::Clock;
use super::vocabulary::{Meaning, Vocabulary, in_activity_unit, in_stock_unit, is_counted};
use super::words::{Kind, Word};
use super::{Misread, count, service, time, travel, weather};
use crate::domain::entry::Event;
use crate::domain::flow::Activity;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::rig::Parts;
use crate::domain::stock::{Gauge, Stock};
use crate::domain::time::Moment;
use crate::domain::unit::Unit;
use chrono::NaiveDate;

/// What stands around a thing: the words, the clock, and the parts of its day.
pub(super) struct Scene<'s> {
    pub known: &'s Vocabulary,
    pub clock: &'s Clock,
    pub at: Moment,
    pub date: NaiveDate,
    pub parts: &'s Parts,
}

/// What a thing says.
pub(super) struct SaidThing {
    pub event: Event,
    pub remark: Option<String>,
}

impl From<Event> for SaidThing {
    fn from(event: Event) -> SaidThing {
        SaidThing { event, remark: None }
    }
}

/// Words that begin a thing of their own, in the order in which completion offers them.
pub(super) const OPENERS: [&str; 16] = [
    "filled",
    "emptied",
    "drove",
    "camp",
    "shore",
    "generator",
    "charged",
    "aboard",
    "guests",
    "away",
    "day",
    "note",
    "outlook",
    "fill",
    "refilled",
    "empty",
];

/// A walk over the words of one thing.
pub(super) struct Reader<'p, 'a> {
    pub words: &'p [Word<'a>],
    pub at: usize,
}

impl<'p, 'a> Reader<'p, 'a> {
    pub fn rest(&self) -> &'p [Word<'a>] {
        &self.words[self.at..]
    }

    pub fn peek(&self) -> Option<&'p Word<'a>> {
        self.words.get(self.at)
    }

    /// Takes the next word if it is one of these.
    pub fn take(&mut self, any: &[&str]) -> bool {
        let found = self.peek().is_some_and(|w| any.iter().any(|known| w.is(known)));
        self.at += usize::from(found);
        found
    }

    /// Takes an amount, if one comes next.
    pub fn amount(&mut self, known: &Vocabulary) -> Result<Option<Said>, Misread> {
        let read = amounts::read(self.rest(), known)?;
        Ok(read.map(|(said, taken)| {
            self.at += taken;
            said
        }))
    }

    /// Takes the longest name of the rig that comes next.
    pub fn name<'k>(&mut self, known: &'k Vocabulary) -> Option<&'k Meaning> {
        let plain = self.rest().iter().take_while(|w| w.kind == Kind::Plain);
        let (meaning, taken) = known.find(plain.map(|w| w.low.as_str()))?;
        self.at += taken;
        Some(meaning)
    }

    /// The words taken since `from`.
    pub fn since(&self, from: usize) -> &'p [Word<'a>] {
        &self.words[from.min(self.at)..self.at]
    }

    /// The misread for a word that should come next and does not: it points at the last one.
    pub fn missing(&self, message: impl Into<String>) -> Misread {
        match self.peek().or(self.words.last()) {
            Some(word) => Misread::at(word, message),
            None => Misread::new(0, 0, "", message),
        }
    }

    /// Ends the thing: no word may be left.
    pub fn end(&self, scene: &Scene) -> Result<(), Misread> {
        match self.peek() {
            None => Ok(()),
            Some(word) => Err(left_over(word, scene)),
        }
    }
}

/// Reads one thing; `ends` says that it comes with an `until`.
pub(super) fn read(words: &[Word], ends: bool, scene: &Scene) -> Result<SaidThing, Misread> {
    let mut reader = Reader { words, at: 0 };
    let said = match opened(&mut reader, scene) {
        Some(opener) => by_opener(opener, &mut reader, scene)?,
        None => counted_or_named(&mut reader, scene)?,
    };
    reader.end(scene)?;
    let seen = matches!(said.event, Event::Level { .. } | Event::DayClosed | Event::Outlook(_));
    if seen && scene.at > scene.clock.now {
        let message = "this is still ahead: a use, a fill, a drive or a camp can be planned, \
                       a reading cannot";
        return Err(Misread::over(words, message));
    }
    let may_end = words.iter().any(|w| ["guest", "guests", "away"].iter().any(|g| w.is(g)));
    if ends && !may_end {
        return Err(Misread::over(words, "`until` goes with guests or with `away`"));
    }
    Ok(said)
}

/// The opener that begins the thing, unless a longer name of the rig does (`generator check`).
fn opened<'p>(reader: &mut Reader<'p, '_>, scene: &Scene) -> Option<&'p str> {
    let first = reader.peek()?;
    let known = OPENERS.iter().any(|opener| first.is(opener))
        || ["dumped", "drive", "crew", "guest", "note:"].iter().any(|opener| first.is(opener));
    let mut longer = Reader { words: reader.words, at: reader.at };
    longer.name(scene.known);
    if !known || longer.at > 1 || first.is("empty") && reader.words.len() == 1 {
        return None;
    }
    reader.at += 1;
    Some(first.low.as_str())
}

fn by_opener(opener: &str, reader: &mut Reader, scene: &Scene) -> Result<SaidThing, Misread> {
    match opener {
        "filled" | "fill" | "refilled" => service::filled(reader, scene).map(SaidThing::from),
        "emptied" | "empty" | "dumped" => service::emptied(reader, scene),
        "drove" | "drive" => travel::drove(reader, scene).map(SaidThing::from),
        "shore" | "generator" => travel::source(opener, reader, scene).map(SaidThing::from),
        "charged" => travel::charged(reader, scene).map(SaidThing::from),
        "camp" => travel::camp(reader, scene).map(SaidThing::from),
        "aboard" | "crew" => travel::aboard(reader, scene).map(SaidThing::from),
        "guest" | "guests" => travel::guests(Amount::from_milli(1000), reader, scene),
        "away" => Ok(Event::Crew(Amount::ZERO).into()),
        "day" => match reader.take(&["closed"]) {
            true => Ok(Event::DayClosed.into()),
            false => Err(reader.missing("write `day closed` when nothing else happened that day")),
        },
        "outlook" => weather::outlook(reader, scene).map(SaidThing::from),
        _ => {
            let text = reader.peek().map(|w| w.text.to_string()).unwrap_or_default();
            reader.at = reader.words.len();
            Ok(Event::Note(text).into())
        }
    }
}

/// `2 showers`, `4 aboard`, `2 guests`, `33 L grey`, `shower 4 min`, `fresh 60%`.
fn counted_or_named(reader: &mut Reader, scene: &Scene) -> Result<SaidThing, Misread> {
    let said = reader.amount(scene.known)?;
    let counted = reader.at;
    if let Some(Said::Bare(people)) = &said {
        if reader.take(&["aboard"]) {
            return travel::crew(*people, reader.since(0)).map(SaidThing::from);
        }
        if reader.take(&["guest", "guests"]) {
            return travel::guests(Some(*people), reader, scene);
        }
    }
    if let Some(Said::Quantity(people)) = &said
        && people.unit == Unit::Person
        && reader.take(&["aboard"])
    {
        return travel::crew(people.amount, reader.since(0)).map(SaidThing::from);
    }
    reader.take(&["of"]);
    let from = reader.at;
    let Some(meaning) = reader.name(scene.known) else {
        return Err(unnamed(reader, counted > 0, scene));
    };
    let named = reader.since(from);
    let event = match (said, &meaning.activity, &meaning.stock) {
        // Shares and units of a tank are readings, counts are uses.
        (Some(said @ (Said::Bare(_) | Said::Quantity(_))), Some(activity), _) => {
            used(activity, named, Some(said), reader.since(0), scene)?
        }
        (Some(said), _, Some(stock)) => {
            let stock = stock_on(stock, named, scene)?;
            let words = reader.since(0);
            level(stock, said, words, reader, scene)?
        }
        (Some(_), Some(activity), None) => {
            let message = format!("a share of nothing: {activity} is counted, not measured");
            return Err(Misread::over(reader.since(0), message));
        }
        (None, activity, stock) => after_name(activity, stock, named, reader, scene)?,
        (Some(_), None, None) => return Err(unnamed(reader, true, scene)),
    };
    Ok(event.into())
}

/// What a name says with the amount after it, or with none.
fn after_name(
    activity: &Option<String>,
    stock: &Option<String>,
    named: &[Word],
    reader: &mut Reader,
    scene: &Scene,
) -> Result<Event, Misread> {
    let at = reader.peek().is_some_and(|w| w.is("at"));
    reader.take(&["at", "is"]);
    let from = reader.at;
    let said = reader.amount(scene.known)?;
    let words = reader.since(from);
    if let (Some(activity), Some(Said::Bare(number)), None) = (activity, &said, reader.peek()) {
        count::plausible_behind(activity, *number, at, words, scene)?;
    }
    let as_stock = match (activity, stock, &said) {
        (None, Some(stock), _) => Some(stock),
        (Some(_), Some(stock), Some(Said::Share { .. })) => Some(stock),
        (Some(_), Some(stock), Some(Said::Quantity(q))) if q.unit == Unit::Percent => Some(stock),
        _ => None,
    };
    match (as_stock, activity, said) {
        (Some(stock), _, Some(said)) => {
            let stock = stock_on(stock, named, scene)?;
            level(stock, said, words, reader, scene)
        }
        (Some(stock), _, None) => {
            let stock = stock_on(stock, named, scene)?;
            let message = match reader.peek() {
                Some(_) => format!("not a level: write `{} 60%` or {}", stock.name, like(stock)),
                None => format!("how much? Write `{} 60%` or {}", stock.name, like(stock)),
            };
            Err(reader.missing(message))
        }
        (None, Some(activity), said) => used(activity, named, said, words, scene),
        (None, None, _) => Err(Misread::over(named, "this names nothing in the rig")),
    }
}

/// An example of a level in the stock's own unit.
fn like(stock: &Stock) -> String {
    let half = Amount::from_f64((stock.capacity / 2.0).round()).unwrap_or_default();
    format!("`{} {}`", stock.name, Quantity::new(half, stock.unit.clone()))
}

/// A use, checked against how its activity is counted.
fn used(
    activity: &str,
    named: &[Word],
    said: Option<Said>,
    amount_words: &[Word],
    scene: &Scene,
) -> Result<Event, Misread> {
    let Some((_, activity)) = scene.parts.activity(activity) else {
        let message = format!("not among the rig's activities on {}", scene.date);
        return Err(Misread::over(named, message));
    };
    let unit = &activity.counted_in;
    let words = if amount_words.is_empty() { named } else { amount_words };
    let count = match said {
        None if is_counted(unit) => {
            Quantity::new(Amount::from_milli(1000).unwrap_or_default(), unit.clone())
        }
        Some(Said::Bare(amount)) if is_counted(unit) => Quantity::new(amount, unit.clone()),
        None | Some(Said::Bare(_)) => {
            let message = format!(
                "{name} is counted in {}: write `{name} {}`",
                unit.word(),
                example(unit),
                name = activity.name,
            );
            return Err(Misread::over(words, message));
        }
        Some(said) => counted(said, activity, words, scene)?,
    };
    check_count(&count, words)?;
    Ok(Event::Use { activity: activity.name.clone(), count })
}

fn counted(
    said: Said,
    activity: &Activity,
    words: &[Word],
    scene: &Scene,
) -> Result<Quantity, Misread> {
    let unit = &activity.counted_in;
    said.quantity()
        .and_then(|quantity| in_activity_unit(quantity, activity, scene.parts.volts()))
        .ok_or_else(|| {
            let name = &activity.name;
            let message =
                format!("{name} is counted in {}: write `{name} {}`", unit.word(), example(unit));
            Misread::over(words, message)
        })
}

fn example(unit: &Unit) -> String {
    let number = match unit {
        Unit::Minute => 8,
        Unit::WattHour => 200,
        _ => 2,
    };
    format!("{number} {}", unit.word())
}

/// Counts that are nothing, or that no day holds.
fn check_count(count: &Quantity, words: &[Word]) -> Result<(), Misread> {
    if count.amount <= Amount::ZERO {
        return Err(Misread::over(words, "a count is more than 0: leave out what did not happen"));
    }
    let most = match count.unit {
        Unit::Minute => 1440.0,
        Unit::Hour => 24.0,
        _ if is_counted(&count.unit) => 50.0,
        _ => return Ok(()),
    };
    if count.amount.value() > most {
        let most = Quantity::new(Amount::from_f64(most).unwrap_or_default(), count.unit.clone());
        let message = format!("more than a day holds: at most {most} in one entry");
        return Err(Misread::over(words, message));
    }
    Ok(())
}

/// A reading, with the resolution that its words show or state.
fn level(
    stock: &Stock,
    said: Said,
    words: &[Word],
    reader: &mut Reader,
    scene: &Scene,
) -> Result<Event, Misread> {
    let parts = match (&said, &stock.gauge) {
        // With no gauge, "3/4" is a guess to the quarter; "half" is one as well.
        (Said::Share { parts: 2, .. }, Gauge::None) => Some(4),
        (Said::Share { parts, .. }, Gauge::None) if *parts > 1 => Some(*parts),
        _ => None,
    };
    let unit = reader.peek().filter(|w| w.kind == Kind::Plain && !w.is("in") && !w.is_numeric());
    if let (Said::Bare(_), Some(word), false) = (&said, unit, is_counted(&stock.unit)) {
        let (name, unit) = (&stock.name, stock.unit.word());
        let message = format!("no unit that {name} is read in: write {unit} or %");
        return Err(Misread::at(word, message));
    }
    let reading = in_stock(stock, said, words, scene)?;
    let step = match stated_step(reader)? {
        Some(step) => Some(step),
        None => parts.map(|parts| 1.0 / parts as f64),
    };
    Ok(Event::Level { stock: stock.name.clone(), reading, step })
}

/// `in quarters`, `in steps of 5%`.
fn stated_step(reader: &mut Reader) -> Result<Option<f64>, Misread> {
    let from = reader.at;
    if !reader.take(&["in"]) {
        return Ok(None);
    }
    let message = "the gauge's step: write `in quarters` or `in steps of 5%`";
    if reader.take(&["tenths"]) {
        return Ok(Some(0.1));
    }
    if reader.take(&["steps"]) && reader.take(&["of"]) {
        let number = reader.peek().filter(|w| w.is_numeric());
        let percent = amounts::number(number.ok_or_else(|| reader.missing(message))?)?;
        reader.at += 1;
        if !reader.take(&["%", "percent"]) {
            return Err(reader.missing(message));
        }
        let most = Amount::from_milli(100_000).unwrap_or_default();
        if percent <= Amount::ZERO || percent > most {
            return Err(Misread::over(reader.since(from), "a step is above 0% and at most 100%"));
        }
        return Ok(Some(percent.value() / 100.0));
    }
    let parts = reader.peek().filter(|w| w.low.ends_with('s'));
    let Some(parts) = parts.and_then(|w| amounts::parts_word(&w.low)) else {
        return Err(reader.missing(message));
    };
    reader.at += 1;
    Ok(Some(1.0 / parts as f64))
}

/// The stock of that name on the thing's day.
pub(super) fn stock_on<'s>(
    name: &str,
    named: &[Word],
    scene: &Scene<'s>,
) -> Result<&'s Stock, Misread> {
    scene.parts.stock(name).map(|(_, stock)| stock).ok_or_else(|| {
        let message = format!("not among the rig's stocks on {}", scene.date);
        Misread::over(named, message)
    })
}

/// An amount of a stock, within 0 and its capacity on the thing's day.
pub(super) fn in_stock(
    stock: &Stock,
    said: Said,
    words: &[Word],
    scene: &Scene,
) -> Result<Quantity, Misread> {
    let name = &stock.name;
    let quantity = match said {
        Said::Bare(amount) if is_counted(&stock.unit) => Quantity::new(amount, stock.unit.clone()),
        Said::Bare(amount) if amount >= Amount::ZERO => {
            let own = Quantity::new(amount, stock.unit.clone());
            let message = format!("of what? Write `{amount}%` or `{own}`");
            return Err(Misread::over(words, message));
        }
        Said::Bare(amount) => Quantity::new(amount, stock.unit.clone()),
        said => said.quantity().unwrap_or(Quantity::new(Amount::ZERO, Unit::Percent)),
    };
    let Some(own) = in_stock_unit(&quantity, stock, scene.parts) else {
        let (unit, said) = (stock.unit.word(), quantity.unit.word());
        let message = format!("{name} is measured in {unit} or %, not in {said}");
        return Err(Misread::over(words, message));
    };
    if quantity.amount < Amount::ZERO {
        return Err(Misread::over(words, "below 0: an amount is 0 or more"));
    }
    if quantity.unit == Unit::Percent && quantity.amount.value() > 100.0 {
        return Err(Misread::over(words, "more than the whole: 0% to 100%"));
    }
    // Converted amounts may pass the brim by a rounding.
    if own > stock.capacity * 1.000_001 {
        let brim = Amount::from_f64(stock.capacity).unwrap_or_default();
        let brim = Quantity::new(brim, stock.unit.clone());
        return Err(Misread::over(words, format!("more than {name} holds: {brim}")));
    }
    Ok(quantity)
}

/// The misread for a place where a name should stand.
fn unnamed(reader: &Reader, counted: bool, scene: &Scene) -> Misread {
    let Some(word) = reader.peek() else {
        let message = "of what? An activity or a stock goes with an amount";
        return Misread::over(reader.words, message);
    };
    if word.kind == Kind::Quoted {
        return Misread::at(word, "quotes go around the name of a camp");
    }
    let names = scene.known.offered.iter().map(|o| o.word.as_str());
    if counted {
        return Misread::at(word, "no such activity or stock in this rig").near(&word.low, names);
    }
    let message = "no such activity, stock or word here";
    Misread::at(word, message).near(&word.low, names.chain(OPENERS))
}

/// The misread for a word after a thing that was complete without it.
fn left_over(word: &Word, scene: &Scene) -> Misread {
    let names = scene.known.offered.iter().map(|o| o.word.as_str());
    let message = match word.kind {
        Kind::Quoted => "quotes go around the name of a camp",
        _ if word.is_numeric() => {
            if let Err(misread) = amounts::number(word) {
                return misread;
            }
            "one amount too many: a comma separates things"
        }
        _ if time::is_month(&word.low) => "no such day in that month",
        _ if word.is("am") || word.is("pm") => "hours run to 24 here: write 21:00 for 9 pm",
        _ => "not understood here: a comma separates things",
    };
    Misread::at(word, message).near(&word.low, names.filter(|name| *name != word.low))
}
