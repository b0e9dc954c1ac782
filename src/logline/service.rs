//! Fills and dumps: `filled fresh to 80%`, `added 20 L diesel`, `emptied half the grey`.

use super::amounts::Said;
use super::lexicon::lexicon;
use super::misread::{Misread, Stray};
use super::reader::{Reader, SaidThing, Scene, in_stock, stock_on};
use super::units::is_counted;
use super::uses;
use super::word::Word;
use crate::domain::entry::{After, Event};
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::stock::{Direction, Stock};
use crate::domain::unit::Unit;

/// What follows `filled`: the stock, how much went in, what it ended at; amount and stock in
/// either order.
pub(super) fn filled(reader: &mut Reader, scene: &Scene) -> Result<SaidThing, Misread> {
    let served = served(reader, "filled", scene)?;
    let stock = served.stock;
    if stock.runs == Direction::Up {
        let message = format!("fills up by itself: write `emptied {}`", stock.name);
        let misread = Misread::over(served.named, message);
        return Err(misread.write_piece(format!("emptied {}", stock.name)));
    }
    let after = match served.after {
        Some(Said::Share { percent, .. }) if percent.milli() == 100_000 => Some(After::Full),
        Some(said) => {
            Some(After::Level(in_stock(stock, said, reader.since(served.after_from), scene)?))
        }
        None => None,
    };
    let amount = match served.amount {
        Some((said, words)) => Some(put_in(stock, said, words, scene)?),
        None => None,
    };
    Ok(Event::Fill { stock: stock.name.clone(), amount, after }.into())
}

/// What follows `added`: as [`filled`], but the amount must be told.
pub(super) fn added(reader: &mut Reader, scene: &Scene) -> Result<SaidThing, Misread> {
    let said = filled(reader, scene)?;
    if let Event::Fill { stock, amount: None, after: None } = &said.event {
        let message = format!("how much? Write the amount, or `filled {stock}` when it is full");
        let misread = Misread::over(reader.words, message);
        return Err(misread.write_piece(format!("filled {stock}")));
    }
    Ok(said)
}

/// A share alone leaves open whether it is the level or what went in.
fn put_in(stock: &Stock, said: Said, words: &[Word], scene: &Scene) -> Result<Quantity, Misread> {
    let share = match &said {
        Said::Share { percent, .. } => Some(*percent),
        Said::Quantity(q) if q.unit == Unit::Percent => Some(q.amount),
        _ => None,
    };
    let amount = in_stock(stock, said, words, scene)?;
    if let Some(percent) = share.or((amount.unit == Unit::Percent).then_some(amount.amount)) {
        let name = &stock.name;
        let put = Amount::from_f64((stock.capacity * percent.value() / 10.0).round() / 10.0);
        let put = Quantity::new(put.unwrap_or_default(), stock.unit.clone());
        let percent = Quantity::new(percent, Unit::Percent);
        let (to, of) = (format!("filled {name} to {percent}"), format!("filled {name} {put}"));
        let message = format!("up to there, or that much more? Write `{to}` or `{of}`");
        return Err(Misread::over(words, message).write_piece(to).write_piece(of));
    }
    moved(amount, words)
}

fn moved(amount: Quantity, words: &[Word]) -> Result<Quantity, Misread> {
    match amount.amount == Amount::ZERO {
        true => Err(Misread::over(words, "nothing moved: an amount is more than 0")),
        false => Ok(amount),
    }
}

/// What follows `emptied`: the stock, how much came out, what is left.
pub(super) fn emptied(reader: &mut Reader, scene: &Scene) -> Result<SaidThing, Misread> {
    let served = served(reader, "emptied", scene)?;
    let stock = served.stock;
    if stock.runs == Direction::Down {
        let none = format!("{} 0%", stock.name);
        let message = format!(
            "runs down by itself: write `{none}` if it is all gone, or `filled {}`",
            stock.name
        );
        return Err(Misread::over(served.named, message).write_piece(none));
    }
    let after = match served.after {
        Some(Said::Share { percent, .. }) if percent.milli() == 100_000 => {
            let message = "left full is nothing emptied: write what is left";
            return Err(Misread::over(reader.since(served.after_from), message));
        }
        Some(Said::Share { percent, .. }) if percent == Amount::ZERO => None,
        Some(said) => Some(in_stock(stock, said, reader.since(served.after_from), scene)?),
        None => None,
    };
    let (amount, remark) = match served.amount {
        Some((said, words)) => taken_out(stock, said, words, scene)?,
        None => (None, None),
    };
    let event = Event::Empty { stock: stock.name.clone(), amount, after };
    Ok(SaidThing { event, remark: served.about.or(remark) })
}

/// An amount that came out, with the words of a share. A share is of what was there, which has to
/// be known to say how much that is.
fn taken_out(
    stock: &Stock,
    said: Said,
    words: &[Word],
    scene: &Scene,
) -> Result<(Option<Quantity>, Option<String>), Misread> {
    let amount = in_stock(stock, said, words, scene)?;
    if amount.unit != Unit::Percent {
        return moved(amount, words).map(|amount| (Some(amount), None));
    }
    let share = amount.amount.value() / 100.0;
    moved(amount, words)?;
    if share >= 1.0 {
        return Ok((None, None));
    }
    let Some(level) = scene.known.level_of(&stock.name) else {
        let left = Amount::from_f64((100.0 - share * 100.0).round()).unwrap_or_default();
        let left = Quantity::new(left, Unit::Percent);
        let (name, remain) = (&stock.name, format!("emptied {} to {left}", stock.name));
        let message =
            format!("of how much? Write what is left, like `{remain}`, or the {name} out");
        return Err(Misread::over(words, message).write_piece(remain));
    };
    let out = Amount::from_f64((level.mean * share * 10.0).round() / 10.0).unwrap_or_default();
    let mut remark = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ").replace(" %", "%");
    // A number alone in parentheses would be asked back.
    if let [_] = words {
        remark += if words[0].is_numeric() { " of it" } else { "" };
    }
    Ok((Some(Quantity::new(out, stock.unit.clone())), Some(remark)))
}

/// What follows `swapped`: a bottle or a box that gives way to a fresh one.
pub(super) fn swapped(reader: &mut Reader, scene: &Scene) -> Result<SaidThing, Misread> {
    let from = reader.at;
    let Some(stock) = reader.name(scene.known).and_then(|meaning| meaning.stock.clone()) else {
        let message = "what was changed? Write `filled` or `emptied` with a stock";
        return Err(reader.missing(message));
    };
    let stock = stock_on(&stock, reader.since(from), scene)?;
    let by_weight = stock.unit.factor_to(&Unit::Kilogram, None).is_some();
    let name = stock.name.clone();
    match stock.runs {
        Direction::Up => Ok(Event::Empty { stock: name, amount: None, after: None }.into()),
        Direction::Down if by_weight => {
            Ok(Event::Fill { stock: name, amount: None, after: Some(After::Full) }.into())
        }
        Direction::Down => {
            let message = format!("a new one, or filled? Write `filled {name}` when it is full");
            let misread = Misread::over(reader.since(from), message);
            Err(misread.write_piece(format!("filled {name}")))
        }
    }
}

struct Served<'p, 'a, 's> {
    stock: &'s Stock,
    named: &'p [Word<'a>],
    amount: Option<(Said, &'p [Word<'a>])>,
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
    let (mut said, mut about) = amount(reader, scene)?;
    while reader.take(&["of", "to", "in", "into", "with", "completely"]) {}
    let from = reader.at;
    let Some(meaning) = reader.name(scene.known) else {
        return Err(no_stock(reader, verb, scene));
    };
    let named = reader.since(from);
    // What an activity gives to one stock is emptied with it: `emptied poo`.
    let filled_by = meaning.activity.as_ref().and_then(|name| uses::stock_of(name, scene));
    let Some(name) = meaning.stock.as_ref().or(filled_by.as_ref()) else {
        let misread = Misread::over(named, "an activity: only a stock is filled or emptied");
        let near = misread.word.clone();
        return Err(misread.near(&near, scene.known.stock_names()));
    };
    let stock = stock_on(name, named, scene)?;
    while reader.take(&["with", "by", "out", "completely"]) {}
    if said.is_none() {
        (said, about) = amount(reader, scene)?;
    }
    while reader.take(&["out", "in", "up", "away", "completely", "more"]) {}
    let (mut after, mut after_from) = (None, reader.at);
    if reader.take(&["to-full"]) {
        let percent = Amount::from_milli(100_000).unwrap_or_default();
        after = Some(Said::Share { percent, parts: 1 });
    } else if reader.take(&["to"]) {
        reader.take(&["about"]);
        after_from = reader.at;
        after = reader.amount(scene.known)?;
        if after.is_none() {
            return Err(reader.missing("to what level? Write `to full`, `to 80%` or an amount"));
        }
    }
    if let (Some((Said::Bare(number), words)), false) = (&said, is_counted(&stock.unit)) {
        let own = Quantity::new(*number, stock.unit.clone());
        let message = format!("of what? Write `{own}`");
        return Err(Misread::over(words, message).write(own.to_string()));
    }
    Ok(Served { stock, named, amount: said, after, after_from, about })
}

/// The misread for a service that names no stock.
fn no_stock(reader: &Reader, verb: &str, scene: &Scene) -> Misread {
    let example = fits(verb, scene).next().map_or("NAME", |stock| stock.name.as_str());
    let right = format!("which stock? Write `{verb} {example}`");
    let misread = reader.missing(right);
    let near = misread.word.clone();
    let strange = !lexicon().knows(&near.to_lowercase());
    let mut misread = match strange {
        true => misread.near(&near, scene.known.stock_names()),
        false => misread,
    };
    if reader.peek().is_some() && misread.nearest.is_empty() {
        let names: Vec<&str> = fits(verb, scene).map(|stock| stock.name.as_str()).collect();
        let fitting = match names.is_empty() {
            true => "no stock of this rig".to_string(),
            false => names.join(", "),
        };
        misread.message = format!("no such stock: {verb} goes with {fitting}");
    }
    // `Nell emptied the grey`: who did it stood in front.
    let who =
        reader.peek().is_some_and(|w| reader.words.first().is_some_and(|v| w.start < v.start));
    misread.mend.stray = who.then_some(Stray::Before);
    let each = fits(verb, scene).map(|stock| format!("{verb} {}", stock.name));
    let each: Vec<String> = each.collect();
    match reader.peek() {
        None => each.into_iter().take(3).fold(misread, Misread::write_piece),
        Some(all) if ["all", "everything"].iter().any(|word| all.is(word)) && verb == "emptied" => {
            misread.write(each.join(", ").trim_start_matches("emptied "))
        }
        Some(_) => misread,
    }
}

/// An amount with the words of it, and how it was hedged.
type Hedged<'p, 'a> = (Option<(Said, &'p [Word<'a>])>, Option<String>);

fn amount<'p, 'a>(reader: &mut Reader<'p, 'a>, scene: &Scene) -> Result<Hedged<'p, 'a>, Misread> {
    let from = reader.at;
    let hedged = reader.take(&["about"]);
    let said = reader.amount(scene.known)?;
    if hedged && said.is_none() {
        return Err(reader.missing("about how much? Write `about half` or `about 20 L`"));
    }
    let words = if said.is_some() { reader.since(from) } else { &[] };
    if let Some(Said::Share { percent, parts: 1 }) = &said {
        let meant = if *percent == Amount::ZERO { "to 0%" } else { "to full" };
        let message = format!("write `{meant}` for the level that it ended at");
        return Err(Misread::over(words, message).write(meant));
    }
    let about = words.iter().map(|w| w.text).collect::<Vec<_>>().join(" ").replace(" %", "%");
    Ok((said.map(|said| (said, words)), hedged.then_some(about)))
}

/// The stocks that the verb fits.
fn fits<'s>(verb: &str, scene: &Scene<'s>) -> impl Iterator<Item = &'s Stock> {
    let runs = if verb == "filled" { Direction::Down } else { Direction::Up };
    let by_hand = |s: &Stock| s.unit.factor_to(&Unit::WattHour, None).is_none();
    let stocks = scene.parts.stocks.iter().filter(move |s| by_hand(s) && s.unit != Unit::Night);
    stocks.filter(move |s| s.runs == runs)
}
