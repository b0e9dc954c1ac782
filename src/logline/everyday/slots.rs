//! What a slot of a phrase holds: the reading of words by what the grammar knows of them.

use super::kin::{is_name, is_unknown};
use super::phrases::Slot;
use crate::domain::Unit;
use crate::domain::flow::Per;
use crate::logline::grammar::scene::Scene;
use crate::logline::lexis::amounts::{self, Said};
use crate::logline::lexis::lexicon::{Sense, lexicon};
use crate::logline::lexis::listed::{is_of, stem};
use crate::logline::lexis::vocabulary::Sort;
use crate::logline::lexis::word::{Kind, Word, as_written};
use crate::logline::times::moment::Hour;
use crate::logline::times::time::{is_time_word, longest_phrase};
use crate::logline::tokens::speech;

/// The most words that one slot holds.
const LONGEST: usize = 9;

/// What a slot holds, in words of the grammar; its number and unit, where it has them.
#[derive(Debug, Clone)]
pub(in crate::logline) struct Value {
    pub text: String,
    pub number: Option<f64>,
    pub unit: Option<Unit>,
}

impl Value {
    pub(in crate::logline) fn of(text: String) -> Value {
        Value { text, number: None, unit: None }
    }

    pub(in crate::logline) fn number(number: f64, text: String) -> Value {
        Value { text, number: Some(number), unit: None }
    }
}

/// What a slot holds that begins these words of one clause, and how many it takes.
pub(in crate::logline) fn value(
    slot: Slot,
    words: &[Word],
    scene: &Scene,
) -> Option<(Value, usize)> {
    let first = words.first().filter(|word| may_begin(slot, word))?;
    let words = &words[..words.len().min(LONGEST)];
    let (value, end) = match slot {
        Slot::Place => {
            let taken = scene.known.place_of_words(words);
            let name = as_written(words.get(..taken).filter(|w| !w.is_empty())?);
            (Value::of(scene.known.place(&name)?.to_string()), words[taken - 1].end)
        }
        Slot::Spot => {
            let name = |w: &&Word| w.text.starts_with(char::is_uppercase);
            let taken = words.iter().take_while(name).count();
            let known = scene.known.place_of_words(words) > 0;
            let last = words.get(taken.checked_sub(1)?).filter(|_| taken > 1 && !known)?;
            (Value::of(as_written(&words[..taken])), last.end)
        }
        Slot::Price | Slot::Cost => {
            let taken =
                priced(words, scene).filter(|taken| (*taken > 1) == (slot == Slot::Cost))?;
            let taken = taken.min(words.len());
            (Value::of(as_written(&words[..taken])), words[taken - 1].end)
        }
        Slot::Who => {
            let word = Some(first).filter(|word| is_who(word, scene))?;
            (Value::of(word.text.to_string()), word.end)
        }
        slot => {
            let plain = speech::plain(words.to_vec(), scene.known);
            let (value, taken) = read(slot, &plain, scene)?;
            (value, plain[taken - 1].end)
        }
    };
    let taken = words.iter().take_while(|word| word.start < end).count();
    Some((value, taken))
}

/// Whether what a slot holds may begin with a word.
fn may_begin(slot: Slot, word: &Word) -> bool {
    let figure = || {
        let number = matches!(lexicon().sense(&word.low), Some(Sense::Number(_)));
        word.is_numeric() || number || is_of("figures", &word.low)
    };
    match slot {
        Slot::Number | Slot::Amount | Slot::Share | Slot::Level | Slot::Days => figure(),
        Slot::Hour | Slot::Clock | Slot::Odometer => figure() || is_of("hours", &word.low),
        _ => true,
    }
}

/// What a slot holds that begins these words of the grammar, and how many it takes.
fn read(slot: Slot, words: &[Word], scene: &Scene) -> Option<(Value, usize)> {
    let first = words.first()?;
    let named = || {
        let lows = words.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str());
        scene.known.find(lows)
    };
    match slot {
        Slot::Stock | Slot::Store | Slot::Waste => {
            let (meaning, taken) = named()?;
            let stock = meaning.stock.clone()?;
            let fills = scene.known.runs(&stock) == Some(Sort::Filling);
            let fits = slot == Slot::Stock || fills == (slot == Slot::Waste);
            fits.then(|| (Value::of(stock), taken))
        }
        Slot::Use | Slot::Own => {
            let (meaning, taken) = named()?;
            let name = meaning.activity.clone()?;
            let activity = scene.parts.activity(&name).map(|(_, activity)| activity);
            let fits = slot == Slot::Use || activity.is_some_and(|a| a.per == Per::Person);
            // `3 showers` are several.
            let many = activity.filter(|a| words[..taken].iter().any(|w| w.is(&a.plural)));
            let name = many.map_or(name.clone(), |activity| activity.plural.clone());
            fits.then(|| (Value::of(name), taken))
        }
        Slot::Number | Slot::Figure | Slot::Amount | Slot::Share | Slot::Level => {
            measured(slot, words, scene)
        }
        Slot::Days => {
            let (said, taken) = amounts::read(words, scene.known).ok().flatten()?;
            let weeks = |w: &Word| w.is_any("week weeks");
            match (said.days(), &said, words.get(taken)) {
                (Some(days), ..) => Some((Value::number(days as f64, days.to_string()), taken)),
                (_, Said::Bare(n), Some(next)) if weeks(next) => {
                    let days = n.value() * 7.0;
                    Some((Value::number(days, days.to_string()), taken + 1))
                }
                _ => None,
            }
        }
        Slot::Hour => {
            let unit = |(_, taken): &(Value, usize)| {
                words.get(*taken).is_some_and(|w| scene.known.unit_named(&w.low).is_some())
            };
            timed(slot, words, scene).or_else(|| hour(words)).filter(|found| !unit(found))
        }
        Slot::Clock => {
            let unit = words.get(1).is_some_and(|w| scene.known.unit_named(&w.low).is_some());
            let told = first.low.contains('.') || first.low.len() == 4;
            hour(words).filter(|(value, _)| told && !unit && value.text.contains(':'))
        }
        Slot::Odometer => {
            let three = |w: &&Word| w.low.len() == 3 && w.low.bytes().all(|b| b.is_ascii_digit());
            let more = words.get(1).filter(three).filter(|_| first.low.len() < 4);
            let whole = more.map_or(first.low.clone(), |more| format!("{}{}", first.low, more.low));
            let number = whole.parse().ok()?;
            Some((Value::number(number, whole), 1 + usize::from(more.is_some())))
        }
        Slot::Time | Slot::Day => timed(slot, words, scene),
        _ => None,
    }
}

/// A number, an amount, or a share.
fn measured(slot: Slot, words: &[Word], scene: &Scene) -> Option<(Value, usize)> {
    let (said, taken) = amounts::read(words, scene.known).ok().flatten()?;
    let (number, unit) = match &said {
        Said::Bare(number) => (number.value(), None),
        // `2 people` are two, whatever they are called.
        Said::Quantity(q) if slot == Slot::Number && q.unit == Unit::Person => {
            let number = Value::number(q.amount.value(), q.amount.to_string());
            return Some((number, taken - 1));
        }
        said => said.quantity().map(|q| (q.amount.value(), Some(q.unit)))?,
    };
    let (bare, share) = (unit.is_none(), unit == Some(Unit::Percent));
    let fits = match slot {
        Slot::Number => bare,
        Slot::Amount => !(bare || share),
        Slot::Share => share,
        Slot::Level => !bare,
        _ => true,
    };
    let article = bare && words[0].is_any("a an");
    let text = words[..taken].iter().map(Word::said).collect::<Vec<_>>().join(" ");
    let value = Value { text: text.replace(" %", "%"), number: Some(number), unit };
    (fits && !article).then_some((value, taken))
}

/// A time in words of the grammar.
fn timed(slot: Slot, words: &[Word], scene: &Scene) -> Option<(Value, usize)> {
    if let Kind::Ask(ways) = words[0].kind {
        let part = ways.split(" | ").next().filter(|way| way.starts_with("this "))?;
        return (slot == Slot::Time).then(|| (Value::of(part.to_string()), 1));
    }
    // The sun may shine.
    let dated = words.get(1).is_some_and(|w| is_time_word(&w.low));
    let shines = words[0].is("sun") && words[0].text == "sun" && !dated;
    let (when, taken) = longest_phrase(words, scene.clock).filter(|_| !shines)?;
    let fits = match slot {
        Slot::Hour => when.day.is_none() && when.exact.is_none(),
        Slot::Day => when.day.is_some() && when.hour.is_none(),
        _ => true,
    };
    // `1 to 4 pm` are of one half of the day.
    let half = when.words.ends_with("am") || when.words.ends_with("pm");
    let text = match when.hour.filter(|_| slot == Slot::Hour && !half) {
        Some(Hour::At(at)) => at.format("%H:%M").to_string(),
        Some(Hour::Dial(at)) => at.format("%-H:%M").to_string(),
        _ => when.words,
    };
    fits.then(|| (Value::of(text), taken))
}

/// An hour as people write it: `9`, `4.15`, `1730`.
fn hour(words: &[Word]) -> Option<(Value, usize)> {
    let at = usize::from(words[0].is("at"));
    let half = words.get(at).is_some_and(|w| w.is("half"));
    let word = words.get(at + usize::from(half)).filter(|w| w.kind == Kind::Plain)?;
    let low = word.low.as_str();
    let whole = low.bytes().all(|b| b.is_ascii_digit());
    let (hours, minutes) = match low.split_once(['.', ':']) {
        Some(parts) => parts,
        None if whole && low.len() == 4 => low.split_at(2),
        None => (low, "00"),
    };
    let number = |text: &str, most: u32| text.parse().ok().filter(|n: &u32| *n < most);
    let (hour, minute) = (number(hours, 25)?, number(minutes, 60)?);
    let text = match low.len() {
        _ if half => format!("{hour}:30"),
        _ if minutes.len() != 2 => return None,
        4 if whole => format!("{hour:02}:{minute:02}"),
        _ if whole => low.to_string(),
        _ => format!("{hour}:{minute:02}"),
    };
    let at = at + usize::from(half);
    let half = words.get(at + 1).filter(|w| w.is_any("am pm"));
    let text = half.map_or(text.clone(), |half| format!("{text} {}", half.low));
    Some((Value::of(text), at + 1 + usize::from(half.is_some())))
}

/// How many words say what one unit cost; more than one of them, or a sign of money, says so plainly.
fn priced(words: &[Word], scene: &Scene) -> Option<usize> {
    let number = words[0].text.trim_matches(['€', '£', '$']);
    let (whole, cents) = number.split_once(['.', ',']).unwrap_or((number, ""));
    let digits = |text: &str| text.bytes().all(|b| b.is_ascii_digit());
    let signed = number.len() < words[0].text.len();
    let few = whole.len() == 1 && (2..4).contains(&cents.len());
    if !(digits(whole) && digits(cents)) || whole.is_empty() || !(signed || few) {
        return None;
    }
    let is = |at: usize, rows: &str| words.get(at).is_some_and(|w| is_of(rows, stem(&w.low)));
    let money = usize::from(is(1, "money"));
    let of = words.get(1 + money).is_some_and(|w| w.is_any("a an per the each /"));
    let unit = words.get(2 + money).filter(|_| of);
    let unit = unit.is_some_and(|w| scene.known.unit_named(&w.low).is_some());
    // `at 9.30 this morning`.
    let hour = words.get(1).is_some_and(|w| w.is_any("am pm this last"));
    (!hour).then_some(1 + money + if unit { 2 } else { 0 }).map(|n| n.max(1 + usize::from(signed)))
}

/// Whether a word may name somebody.
fn is_who(word: &Word, scene: &Scene) -> bool {
    let low = word.low.trim_end_matches("'s");
    is_of("people kin speaker crew", low) || is_name(word, scene) || is_unknown(low, scene)
}
