//! Fills and dumps: `filled fresh to 80%`, `added 20 L diesel`, `emptied half the grey`.

use super::bag::{Bag, Role};
use super::scene::{SaidThing, Scene, in_stock, stock_on};
use super::uses;
use crate::domain::{After, Amount, Direction, Event, Quantity, Stock, Unit};
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::lexicon::lexicon;
use crate::logline::lexis::misread::{EXAMPLE, Misread, example};
use crate::logline::lexis::units::{in_stock_unit, is_counted};
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Word, as_written, text};
use crate::logline::tokens::item::{Item, at_items};

/// What went in, and what it ended at.
pub(in crate::logline) fn filled(bag: &Bag, scene: &Scene) -> Result<SaidThing, Misread> {
    let served = served(bag, "filled", scene)?;
    let stock = served.stock;
    let name = stock.name.clone();
    if stock.runs == Direction::Up {
        let message =
            format!("fills up by itself: write `{name} 100%` if it is full, or `emptied {name}`");
        let misread = Misread::over(served.named, message);
        let ways = [format!("{name} 100%"), format!("emptied {name}")];
        return Err(if bag.amounts.is_empty() { misread.write_all(ways) } else { misread });
    }
    let after = match served.after {
        Some((Said::Share { percent, .. }, _)) if percent.milli() == 100_000 => Some(After::Full),
        Some((said, words)) => Some(After::Level(in_stock(stock, said, &words, scene)?)),
        None if bag.has_mark("to-full completely") => Some(After::Full),
        None => None,
    };
    let amount = match served.amount {
        Some((said, words)) => Some(put_in(stock, said, words, scene)?),
        None => None,
    };
    // A battery that was got up to a level is read at it.
    if let (None, Some(After::Level(reading)), true) =
        (&amount, &after, scene.parts.is_store(&name))
    {
        return Ok(Event::Level { stock: name, reading: reading.clone(), step: None }.into());
    }
    Ok(Event::Fill { stock: name, amount, after }.into())
}

/// As [`filled`], but the amount must be told.
pub(in crate::logline) fn added(bag: &Bag, scene: &Scene) -> Result<SaidThing, Misread> {
    let said = filled(bag, scene)?;
    if let Event::Fill { stock, amount: None, after: None } = &said.event {
        let message = format!("how much? Write the amount, or `filled {stock}` when it is full");
        let misread = at_items(&bag.verbs, message);
        return Err(misread.write_piece(format!("filled {stock}")));
    }
    Ok(said)
}

/// `out of water`: nothing is left.
pub(super) fn run_out(bag: &Bag, scene: &Scene) -> Result<SaidThing, Misread> {
    let served = served(bag, "out of", scene)?;
    let none = format!("{} 0%", served.stock.name);
    match served.stock.runs {
        Direction::Down if bag.strays.is_empty() => {
            let reading = Quantity::new(Amount::ZERO, Unit::Percent);
            Ok(Event::Level { stock: served.stock.name.clone(), reading, step: None }.into())
        }
        _ => Err(Misread::over(served.named, format!("is nothing left? Write `{none}`"))),
    }
}

/// A share alone leaves open whether it is the level or what went in.
fn put_in(stock: &Stock, said: Said, words: Vec<Word>, scene: &Scene) -> Result<Quantity, Misread> {
    let share = match &said {
        Said::Share { percent, .. } => Some(*percent),
        Said::Quantity(q) if q.unit == Unit::Percent => Some(q.amount),
        _ => None,
    };
    let words = &words[..];
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

/// What came out, and what is left.
pub(in crate::logline) fn emptied(bag: &Bag, scene: &Scene) -> Result<SaidThing, Misread> {
    let served = served(bag, "emptied", scene)?;
    let stock = served.stock;
    let name = &stock.name;
    if stock.runs == Direction::Down {
        let (none, lost) = (format!("{name} 0%"), format!("lost all {name}"));
        let message =
            format!("runs down by itself: write `{none}` if it is used up, or `{lost}` if let out");
        let misread = Misread::over(served.named, message);
        let is = |word: &str| bag.verbs.iter().all(|v| v.words.iter().any(|w| w.is_said(word)));
        return Err(match (bag.amounts.is_empty(), &served.amount) {
            (true, _) if is("drained") => misread.write_all([lost, none]),
            (true, _) if is("emptied") => misread.write_all([none, lost]),
            (false, Some((Said::Quantity(out), _))) if served.after.is_none() => {
                misread.write_piece(format!("lost {name} {out}"))
            }
            _ => misread,
        });
    }
    let after = match served.after {
        Some((Said::Share { percent, .. }, words)) if percent.milli() == 100_000 => {
            let message = "left full is nothing emptied: write what is left";
            return Err(Misread::over(&words, message));
        }
        Some((Said::Share { percent, .. }, _)) if percent == Amount::ZERO => None,
        Some((said, words)) => Some(in_stock(stock, said, &words, scene)?),
        None => None,
    };
    let brim = |mark: &&Item| mark.is_of("to-full") && text(mark.words).contains("full");
    if bag.marks.iter().any(|mark| brim(mark) || mark.words[0].text == "brim") {
        let message = "left full is nothing emptied: write what is left";
        return Err(at_items(&bag.verbs, message));
    }
    let (amount, remark) = match served.amount {
        // `emptied the half full bottle`: so much was in it.
        Some((_, words)) if words.iter().any(|w| w.is("full")) => {
            let was = text(&words);
            let message = format!("was it {was}? Write `emptied {name} ({was})`");
            return Err(
                Misread::over(&words, message).write_piece(format!("emptied {name} ({was})"))
            );
        }
        Some((said, words)) => taken_out(stock, said, &words, scene)?,
        None => (None, None),
    };
    let event = Event::Empty { stock: name.clone(), amount, after };
    Ok(SaidThing { event, remark: served.about.or(remark) })
}

/// An amount that came out, with the words of a share. A share is of what was there, which has to
/// be known to say how much that is.
pub(super) fn taken_out(
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
        let left = example(&Quantity::new(left, Unit::Percent).to_string());
        let (name, remain) = (&stock.name, format!("emptied {} to {left}", stock.name));
        let message =
            format!("of how much? Write what is left, like `{remain}`, or the {name} out")
                .replace(EXAMPLE, "");
        return Err(Misread::over(words, message).write_piece(remain));
    };
    let out = Amount::from_f64((level.mean * share * 10.0).round() / 10.0).unwrap_or_default();
    let mut remark = as_written(words).replace(" %", "%");
    // A number alone in parentheses would be asked back.
    if words.iter().all(|w| w.is_numeric() || w.is("%")) {
        remark += " of it";
    }
    Ok((Some(Quantity::new(out, stock.unit.clone())), Some(remark)))
}

/// A bottle or a box that gives way to a fresh one.
pub(in crate::logline) fn swapped(bag: &Bag, scene: &Scene) -> Result<SaidThing, Misread> {
    let Some((meaning, item)) = bag.name() else {
        let message = "what was changed? Write `filled` or `emptied` with a stock";
        return Err(at_items(&bag.verbs, message));
    };
    let Some(stock) = &meaning.stock else {
        return Err(Misread::over(item.words, "an activity: only a stock is changed"));
    };
    let stock = stock_on(stock, item.words, scene)?;
    let by_weight = stock.unit.converts_to(&Unit::Kilogram);
    let name = stock.name.clone();
    match stock.runs {
        Direction::Up => Ok(Event::Empty { stock: name, amount: None, after: None }.into()),
        Direction::Down if by_weight && bag.amounts.is_empty() => {
            Ok(Event::Fill { stock: name, amount: None, after: Some(After::Full) }.into())
        }
        Direction::Down => {
            let message = format!("a new one, or filled? Write `filled {name}` when it is full");
            let misread = Misread::over(item.words, message);
            Err(misread
                .write_all((by_weight || bag.amounts.is_empty()).then(|| format!("filled {name}"))))
        }
    }
}

/// An amount with its words.
pub(super) type Told<'a> = (Said, Vec<Word<'a>>);

pub(super) struct Served<'p, 's> {
    pub stock: &'s Stock,
    pub named: &'p [Word<'p>],
    pub amount: Option<Told<'p>>,
    pub after: Option<Told<'p>>,
    /// The words of an amount that was only about right.
    pub about: Option<String>,
}

/// The stock, how much, and the level at the end.
pub(super) fn served<'p, 's>(
    bag: &Bag<'_, 'p>,
    verb: &str,
    scene: &Scene<'s>,
) -> Result<Served<'p, 's>, Misread> {
    let Some((meaning, item)) = bag.name() else { return Err(no_stock(bag, verb, scene)) };
    let named = item.words;
    // What an activity gives to one stock is emptied with it: `emptied poo`.
    let filled_by = meaning.activity.as_ref().and_then(|name| uses::stock_of(name, scene));
    let Some(name) = meaning.stock.as_ref().or(filled_by.as_ref()) else {
        let misread = Misread::over(named, "an activity: only a stock is filled or emptied");
        let near = misread.word.clone();
        return Err(misread.near(&near, scene.known.stock_names()));
    };
    let stock = stock_on(name, named, scene)?;
    let hedged = bag.has_mark("about");
    let (mut amount, mut after, mut about) = (None, None, None);
    for amt in
        bag.amounts.iter().filter(|amt| !amt.item.words[0].is("empty") || amt.role == Role::To)
    {
        let told = (amt.said.clone(), amt.item.words.to_vec());
        let slot = match amt.role {
            Role::To | Role::Left => &mut after,
            _ => &mut amount,
        };
        if slot.is_some() {
            let message = "one amount too many: a comma separates things";
            return Err(Misread::over(amt.item.words, message));
        }
        if let (Said::Share { percent, parts: 1 }, Role::Plain) = (amt.said, amt.role) {
            let meant = if *percent == Amount::ZERO { "to 0%" } else { "to full" };
            let message = format!("write `{meant}` for the level that it ended at");
            return Err(Misread::over(amt.item.words, message).write(meant));
        }
        if hedged && amt.role == Role::Plain {
            let said = as_written(amt.item.words);
            about = Some(format!("about {said}").replace(" %", "%"));
        }
        *slot = Some(told);
    }
    let mark = |mark: &str| bag.marks.iter().rev().find(|item| item.is_of(mark)).copied();
    if let (Some(about), true) = (mark("about"), bag.amounts.is_empty()) {
        return Err(at_items(&[about], "about how much? Write `about half` or `about 20 L`"));
    }
    if let (Some(to), None) =
        (mark("to").filter(|to| to.end() >= bag.items[bag.items.len() - 1].end()), &after)
    {
        return Err(at_items(&[to], "to what level? Write `to full`, `to 80%` or an amount"));
    }
    if let (Some((Said::Bare(number), words)), false) = (&amount, is_counted(&stock.unit)) {
        let own = Quantity::new(*number, stock.unit.clone());
        let message = format!("of what? Write `{own}`");
        return Err(Misread::over(words, message).write(own.to_string()));
    }
    Ok(Served { stock, named, amount, after, about })
}

/// The misread for a service that names no stock.
fn no_stock(bag: &Bag, verb: &str, scene: &Scene) -> Misread {
    let fitting: Vec<&str> = fits(verb, scene).map(|stock| stock.name.as_str()).collect();
    let example = fitting.first().copied().unwrap_or("NAME");
    let right = format!("which stock? Write `{verb} {example}`");
    if let Some(second) = bag.names.get(1) {
        return at_items(&[second], "not understood here: a comma separates things");
    }
    // What was lost or used was so for something.
    let gone = ["lost", "used"].contains(&verb);
    if let Some(strange) = bag.strays.first().filter(|_| !gone) {
        let word = &strange.words[0];
        let known = lexicon().knows(&word.low);
        let near = if known {
            Vec::new()
        } else {
            Vocabulary::nearest(&word.low, scene.known.stock_names())
        };
        let message = match near.is_empty() {
            true => format!("no such stock: {verb} goes with {}", fitting.join(", ")),
            false => right,
        };
        let mut misread = Misread::at(word, message);
        misread.nearest = near;
        return misread;
    }
    let misread = at_items(&bag.verbs, right);
    let all: Vec<&Item> = bag.marks.iter().filter(|mark| mark.is_of("all")).copied().collect();
    let each = fitting.iter().map(|name| format!("{verb} {name}"));
    if let Some(name) = bag.verbs.first().and_then(|v| lexicon().meant_of(v.words[0].text)) {
        let amount = bag.amounts.first().map_or(String::new(), |a| text(a.item.words));
        let named = scene.known.stock_named(name).filter(|_| bag.amounts.len() < 2);
        let told = named.map(|name| format!("{verb} {name} {amount}").trim().to_string());
        return misread.write_all(told);
    }
    match bag.amounts.is_empty() {
        true if !all.is_empty() && verb == "emptied" => {
            misread.write_piece(each.collect::<Vec<_>>().join(", "))
        }
        true if bag.marks.is_empty() => misread.write_all(each.take(3)),
        false => {
            let said = bag.amounts[0].said.quantity().filter(|q| q.unit != Unit::Percent);
            let holds = |stock: &&Stock| {
                let own = said.as_ref().and_then(|q| in_stock_unit(q, stock, scene.parts));
                own.is_some_and(|own| own > 0.0 && own <= stock.capacity)
            };
            let holding = fits(verb, scene).filter(holds).map(|stock| &stock.name);
            let amount = text(bag.amounts[0].item.words);
            let alone = bag.amounts.len() == 1;
            misread
                .write_all(holding.filter(|_| alone).map(|name| format!("{verb} {name} {amount}")))
        }
        _ => misread,
    }
}

/// The stocks that the verb fits.
fn fits<'s>(verb: &str, scene: &Scene<'s>) -> impl Iterator<Item = &'s Stock> {
    let runs = if verb == "emptied" { Direction::Up } else { Direction::Down };
    let by_hand = |s: &Stock| s.unit.factor_to(&Unit::WattHour, None).is_none();
    let stocks = scene.parts.stocks.iter().filter(move |s| by_hand(s) && s.unit != Unit::Night);
    stocks.filter(move |s| s.runs == runs)
}
