//! One thing of a line, its time already taken off: uses and readings here, the rest dispatched.

use super::amounts::{self, Said};
use super::lexicon::{OPENERS, lexicon};
use super::misread::{Misread, Stray, example};
use super::reader::{Reader, SaidThing, Scene, stock_on};
use super::units::is_counted;
use super::uses::{self, Place, used};
use super::word::{Kind, Word, text};
use super::{level, people, service, travel, weather};
use crate::domain::entry::Event;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::stock::{Direction, Stock};
use crate::domain::unit::Unit;

/// Words that begin what is said beside something done.
const BESIDE: [&str; 7] = ["before", "after", "for", "with", "because", "while", "when"];

/// Whether a thing comes with an end of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ends {
    /// It has an `until`.
    Until,
    /// It has none.
    Open,
}

/// Reads one thing.
pub(super) fn read(words: &[Word], ends: Ends, scene: &Scene) -> Result<SaidThing, Misread> {
    let mut reader = Reader { words, at: 0 };
    let said = match opened(&mut reader, scene) {
        Some(opener) => by_opener(opener, &mut reader, scene)?,
        None => counted_or_named(&mut reader, scene)?,
    };
    if let Event::Use { activity, .. } = &said.event {
        said_again(activity, &mut reader, scene);
    }
    if let Some(word) = reader.peek().filter(|_| is_beside(&said.event, reader.rest(), scene)) {
        let mut misread = Misread::at(word, "is this a remark? Write it in parentheses");
        misread.mend.stray = Some(Stray::Behind);
        return Err(misread);
    }
    reader.end(scene)?;
    let seen = matches!(said.event, Event::Level { .. } | Event::DayClosed | Event::Outlook(_));
    if seen && scene.at > scene.clock.now {
        let message = "this is still ahead: a use, a fill, a drive or a camp can be planned, \
                       a reading cannot";
        return Err(Misread::over(words, message));
    }
    if ends == Ends::Until && !people::may_end(words) {
        return Err(Misread::over(words, "`until` goes with guests, `away` or `aboard`"));
    }
    Ok(said)
}

/// Whether these words only say more of what was done: what for, or at which known place it was
/// filled or emptied.
fn is_beside(event: &Event, rest: &[Word], scene: &Scene) -> bool {
    let is = |any: &[&str]| rest.first().is_some_and(|w| any.iter().any(|word| w.is(word)));
    match event {
        Event::Use { .. } => is(&BESIDE),
        Event::Fill { .. } | Event::Empty { .. } | Event::Charge { .. } => {
            let place = rest.iter().skip(1).map(|w| w.text).collect::<Vec<_>>().join(" ");
            is(&["at", "in"]) && scene.known.place(&place).is_some()
        }
        _ => false,
    }
}

/// Takes the activity's name once more: `worked 3 hours on the laptop`.
fn said_again(activity: &str, reader: &mut Reader, scene: &Scene) {
    let mut again = Reader { words: reader.words, at: reader.at };
    if again.take(&["on", "at", "with"])
        && again.name(scene.known).is_some_and(|name| name.activity.as_deref() == Some(activity))
    {
        reader.at = again.at;
    }
}

/// The opener that begins the thing, unless a longer name of the rig does (`generator check`).
fn opened<'p>(reader: &mut Reader<'p, '_>, scene: &Scene) -> Option<&'p str> {
    let first = reader.peek()?;
    let known = OPENERS.iter().any(|opener| first.is(opener))
        || ["out-of", "drove-to", "closed", "empty", "+"].iter().any(|opener| first.is(opener));
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
        "filled" => service::filled(reader, scene),
        "added" | "+" => service::added(reader, scene),
        "emptied" | "empty" | "out-of" => service::emptied(reader, scene),
        "swapped" => service::swapped(reader, scene),
        "drove" | "shore" | "generator" => {
            travel::measured(opener, reader, scene).map(SaidThing::from)
        }
        "drove-to" => travel::drove_to(reader, scene).map(SaidThing::from),
        "charged" => travel::charged(reader, scene).map(SaidThing::from),
        "camp" => travel::camp(reader, scene).map(SaidThing::from),
        "aboard" => people::aboard(reader, scene).map(SaidThing::from),
        "guests" => people::guests(None, reader, scene),
        "away" => Ok(Event::Crew(Amount::ZERO).into()),
        "closed" => Ok(Event::DayClosed.into()),
        "day" => match reader.take(&["closed"]) {
            true => Ok(Event::DayClosed.into()),
            false => {
                let message = "write `day closed` when nothing else happened that day";
                Err(reader.missing(message).write_piece("day closed"))
            }
        },
        "outlook" => weather::outlook(reader, scene).map(SaidThing::from),
        _ => {
            let Some(text) = reader.peek().map(|w| w.text.to_string()) else {
                return Err(reader.missing("an empty note: write its text after the word"));
            };
            reader.at = reader.words.len();
            Ok(Event::Note(text).into())
        }
    }
}

/// `2 showers`, `4 aboard`, `2 guests`, `33 L grey`, `shower 4 min`, `fresh 60%`.
fn counted_or_named(reader: &mut Reader, scene: &Scene) -> Result<SaidThing, Misread> {
    // `down to a quarter of diesel`.
    while reader.take(&["another", "about", "to"]) {}
    let said = reader.amount(scene.known)?;
    let counted = reader.at;
    if let Some(people) = people::counted(&said, reader, scene) {
        return people;
    }
    reader.take(&["x", "times", "of"]);
    reader.take(&["of"]);
    let from = reader.at;
    let Some(meaning) = reader.name(scene.known) else {
        if let (Some(said), None) = (&said, reader.peek())
            && let Some(stock) = counted_so(said, scene)
        {
            let words = reader.words;
            return level::level(stock, said.clone(), words, reader, scene).map(SaidThing::from);
        }
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
            let words = &reader.words[..counted];
            match &said {
                Said::Quantity(amount) if is_put_or_left(amount, stock) => {
                    return Err(put_or_left(amount, stock, reader));
                }
                Said::Bare(_) if words.iter().any(|w| w.is("a") || w.is("an")) => {
                    return Err(Misread::over(reader.words, "one of it is no level"));
                }
                Said::Bare(number) => {
                    let from_here = reader.since(0);
                    match uses::of_stock(stock, *number, Place::InFront, from_here, scene)? {
                        Some(uses) => uses,
                        None => level::level(stock, said, words, reader, scene)?,
                    }
                }
                _ => level::level(stock, said, words, reader, scene)?,
            }
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

/// Whether an amount in front of a stock may have gone in, or be what is left: `20 L diesel`.
fn is_put_or_left(amount: &Quantity, stock: &Stock) -> bool {
    let measured = amount.unit != Unit::Percent && !is_counted(&amount.unit);
    measured && stock.runs == Direction::Down
}

fn put_or_left(amount: &Quantity, stock: &Stock, reader: &Reader) -> Misread {
    let (left, put) =
        (format!("{} {amount}", stock.name), format!("filled {} {amount}", stock.name));
    let message = format!("what is left, or what went in? Write `{left}` or `{put}`");
    Misread::over(reader.words, message).write_piece(left).write_piece(put)
}

/// The one stock that is counted in a unit of the owner's: `20 outfits`.
fn counted_so<'s>(said: &Said, scene: &Scene<'s>) -> Option<&'s Stock> {
    let unit = said.quantity().map(|q| q.unit).filter(|unit| matches!(unit, Unit::Own(_)))?;
    let mut stocks = scene.parts.stocks.iter().filter(|stock| stock.unit == unit);
    let one = stocks.next()?;
    stocks.next().is_none().then_some(one)
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
    while reader.take(&["at", "to", "about", "by", "x"]) {}
    let from = reader.at;
    let said = reader.amount(scene.known)?;
    let words = reader.since(from);
    if let (Some(activity), Some(Said::Bare(number)), None) = (activity, &said, reader.peek()) {
        let place = if at { Place::AfterAt } else { Place::Behind };
        uses::plausible_behind(activity, *number, place, words, scene)?;
    }
    let as_stock = match (activity, stock, &said) {
        (None, Some(stock), _) => Some(stock),
        (Some(_), Some(stock), Some(Said::Share { .. } | Said::Days(_))) => Some(stock),
        (Some(_), Some(stock), Some(Said::Quantity(q))) if q.unit == Unit::Percent => Some(stock),
        _ => None,
    };
    match (as_stock, activity, said) {
        (Some(stock), _, Some(said)) => {
            let stock = stock_on(stock, named, scene)?;
            if let Some(uses) = counted_behind(stock, &said, reader, words, scene)? {
                return Ok(uses);
            }
            level::level(stock, said, words, reader, scene)
        }
        (Some(stock), _, None) => {
            let stock = stock_on(stock, named, scene)?;
            let (name, half) = (&stock.name, level::half(stock));
            let message = match reader.peek() {
                Some(_) => format!("not a level: write `{name} 60%` or `{name} {half}`"),
                None => format!("how much? Write `{name} 60%` or `{name} {half}`"),
            };
            let misread = reader.missing(message);
            Err(match reader.peek() {
                Some(_) => misread,
                None => ["60%", &half]
                    .iter()
                    .fold(misread, |m, level| m.write_piece(format!("{name} {}", example(level)))),
            })
        }
        (None, Some(activity), said) => used(activity, named, said, words, scene),
        (None, None, _) => Err(Misread::over(named, "this names nothing in the rig")),
    }
}

/// What a number behind a stock that is counted in uses says, if it is one of uses.
fn counted_behind(
    stock: &Stock,
    said: &Said,
    reader: &Reader,
    words: &[Word],
    scene: &Scene,
) -> Result<Option<Event>, Misread> {
    let often = words.iter().any(|w| {
        ["once", "twice", "thrice"].iter().any(|often| w.text.eq_ignore_ascii_case(often))
    });
    let often = often || reader.since(0).iter().any(|w| w.is("x"));
    let (number, counted) = match said {
        Said::Quantity(q) if q.unit == Unit::Time => (q.amount, Place::Times),
        Said::Bare(number) if often => (*number, Place::Times),
        Said::Bare(number) => (*number, Place::Behind),
        _ => return Ok(None),
    };
    uses::of_stock(stock, number, counted, reader.since(0), scene)
}

/// The misread for a place where a name should stand.
fn unnamed(reader: &Reader, counted: bool, scene: &Scene) -> Misread {
    let Some(word) = reader.peek() else {
        let message = "of what? An activity or a stock goes with an amount";
        let misread = Misread::over(reader.words, message);
        let far = |said: &Said| {
            said.quantity().is_some_and(|q| q.unit.factor_to(&Unit::Kilometre, None).is_some())
        };
        return match amounts::read(reader.words, scene.known) {
            Ok(Some((said, taken))) if far(&said) && taken == reader.words.len() => {
                misread.write_piece(format!("drove {}", text(reader.words)))
            }
            _ => misread,
        };
    };
    if word.kind == Kind::Quoted {
        return Misread::at(word, "quotes go around the name of a camp");
    }
    if let Some(misread) = said_aside(word, reader).filter(|_| !counted) {
        return misread;
    }
    let names = scene.known.offered.iter().map(|o| o.word.as_str());
    if counted {
        return Misread::at(word, "no such activity or stock in this rig").near(&word.low, names);
    }
    let message = "no such activity, stock or word here";
    // What the tables know is no slip of another word.
    let names = names.chain(lexicon().verbs()).filter(|_| !lexicon().knows(&word.low));
    let mut misread = Misread::at(word, message).near(&word.low, names);
    misread.mend.stray = (reader.at == 0).then_some(Stray::Before);
    misread
}

/// Words that begin no thing, but are plain enough to be answered: where the van stands, and what
/// is a command and no entry.
fn said_aside(word: &Word, reader: &Reader) -> Option<Misread> {
    let next = reader.rest().get(1);
    if word.is("at") && next.is_some_and(|w| w.kind == Kind::Plain && !w.is_numeric()) {
        let message = "where the van stands? Write `camp` and the place";
        return Some(Misread::at(word, message).write("camp at"));
    }
    let command = match word.low.as_str() {
        "undo" => "no entry: `waystock undo`, or u outside this line, takes the last one back",
        "help" => "no entry: `waystock help log`, or ? outside this line, shows what can be said",
        _ => return None,
    };
    next.is_none().then(|| Misread::at(word, command))
}
