//! Fills and dumps: `filled fresh to 80%`, `emptied grey about half`.

use super::Misread;
use super::amounts::Said;
use super::thing::{Reader, SaidThing, Scene, in_stock, stock_on};
use super::words::Word;
use crate::domain::entry::{After, Event};
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::stock::{Direction, Stock};
use crate::domain::unit::Unit;

/// What follows `filled`: the stock, how much went in, what it ended at; amount and stock in
/// either order.
pub(super) fn filled(reader: &mut Reader, scene: &Scene) -> Result<Event, Misread> {
    let served = served(reader, "filled", scene)?;
    let stock = served.stock;
    if stock.runs == Direction::Up {
        let message = format!("fills up by itself: write `emptied {}`", stock.name);
        return Err(Misread::over(served.named, message));
    }
    let after = match served.after {
        Some(Said::Share { percent, .. }) if percent.milli() == 100_000 => Some(After::Full),
        Some(said) => {
            Some(After::Level(in_stock(stock, said, reader.since(served.after_from), scene)?))
        }
        None => None,
    };
    Ok(Event::Fill { stock: stock.name.clone(), amount: served.amount, after })
}

/// What follows `emptied`: the stock, how much came out, what is left.
pub(super) fn emptied(reader: &mut Reader, scene: &Scene) -> Result<SaidThing, Misread> {
    let served = served(reader, "emptied", scene)?;
    let stock = served.stock;
    if stock.runs == Direction::Down {
        let message = format!("runs down by itself: write `filled {0}` or `{0} 0%`", stock.name);
        return Err(Misread::over(served.named, message));
    }
    let after = match served.after {
        Some(Said::Share { percent, .. }) if percent.milli() == 100_000 => {
            let message = "left full is nothing emptied: write what is left";
            return Err(Misread::over(reader.since(served.after_from), message));
        }
        Some(said) => Some(in_stock(stock, said, reader.since(served.after_from), scene)?),
        None => None,
    };
    let event = Event::Empty { stock: stock.name.clone(), amount: served.amount, after };
    Ok(SaidThing { event, remark: served.about })
}

struct Served<'p, 'a, 's> {
    stock: &'s Stock,
    named: &'p [Word<'a>],
    amount: Option<Quantity>,
    after: Option<Said>,
    after_from: usize,
    /// The words of an amount that was only about right.
    about: Option<String>,
}

fn served<'p, 'a, 's>(
    reader: &mut Reader<'p, 'a>,
    verb: &str,
    scene: &Scene<'s>,
) -> Result<Served<'p, 'a, 's>, Misread> {
    let (mut said, mut words, mut about) = amount(reader, scene)?;
    reader.take(&["of"]);
    reader.take(&["the"]);
    let from = reader.at;
    let Some(meaning) = reader.name(scene.known) else {
        let right = format!("which stock? Write `{verb} {}`", example(verb, scene));
        let misread = reader.missing(right);
        let near = misread.word.clone();
        let mut misread = misread.near(&near, scene.known.stock_names());
        if reader.peek().is_some() && misread.nearest.is_empty() {
            misread.message = format!("no such stock: {verb} goes with {}", fitting(verb, scene));
        }
        return Err(misread);
    };
    let named = reader.since(from);
    let Some(name) = &meaning.stock else {
        let misread = Misread::over(named, "an activity: only a stock is filled or emptied");
        let near = misread.word.clone();
        return Err(misread.near(&near, scene.known.stock_names()));
    };
    let stock = stock_on(name, named, scene)?;
    if said.is_none() {
        (said, words, about) = amount(reader, scene)?;
    }
    let amount = match said {
        Some(said) => {
            let amount = in_stock(stock, said, words, scene)?;
            if amount.amount == Amount::ZERO {
                return Err(Misread::over(words, "nothing moved: an amount is more than 0"));
            }
            Some(amount)
        }
        None => None,
    };
    let (mut after, mut after_from) = (None, reader.at);
    if reader.take(&["to"]) {
        after_from = reader.at;
        after = reader.amount(scene.known)?;
        if after.is_none() {
            return Err(reader.missing("to what level? Write `to full`, `to 80%` or an amount"));
        }
    }
    Ok(Served { stock, named, amount, after, after_from, about })
}

/// An amount, the words of it, and how it was hedged.
type Hedged<'p, 'a> = (Option<Said>, &'p [Word<'a>], Option<String>);

fn amount<'p, 'a>(reader: &mut Reader<'p, 'a>, scene: &Scene) -> Result<Hedged<'p, 'a>, Misread> {
    let from = reader.at;
    let hedged = reader.take(&["about"]);
    let said = reader.amount(scene.known)?;
    if hedged && said.is_none() {
        return Err(reader.missing("about how much? Write `about half` or `about 20 L`"));
    }
    let words = if said.is_some() { reader.since(from) } else { &[] };
    if let Some(Said::Share { percent, parts: 1 }) = &said {
        let meant = if *percent == Amount::ZERO { "`to 0%`" } else { "`to full`" };
        return Err(Misread::over(words, format!("write {meant} for the level that it ended at")));
    }
    let about = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ").replace(" %", "%");
    Ok((said, words, hedged.then_some(about)))
}

/// The stocks that the verb fits.
fn fits<'s>(verb: &str, scene: &Scene<'s>) -> impl Iterator<Item = &'s Stock> {
    let runs = if verb == "filled" { Direction::Down } else { Direction::Up };
    scene.parts.stocks.iter().filter(move |s| s.runs == runs && s.unit != Unit::Night)
}

fn example(verb: &str, scene: &Scene) -> String {
    fits(verb, scene).next().map_or_else(|| "NAME".to_string(), |stock| stock.name.clone())
}

fn fitting(verb: &str, scene: &Scene) -> String {
    let names: Vec<&str> = fits(verb, scene).map(|stock| stock.name.as_str()).collect();
    if names.is_empty() { "no stock of this rig".to_string() } else { names.join(", ") }
}
