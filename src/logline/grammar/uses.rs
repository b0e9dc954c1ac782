//! Uses: how often, how long, how many.

use super::scene::Scene;
use crate::domain::flow::Per;
use crate::domain::{Activity, Amount, Direction, Event, Quantity, Stock, Unit};
use crate::logline::lexis::amounts::Said;
use crate::logline::lexis::misread::{Misread, example};
use crate::logline::lexis::units::{in_activity_unit, is_counted};
use crate::logline::lexis::word::{Word, text};

/// The largest count that may stand behind its activity with no unit; larger ones go in front.
const MOST_BEHIND: f64 = 12.0;
/// The largest count in front of a stock that is one of uses of it, and not a reading.
const MOST_USES: f64 = 6.0;

/// Where a number stood that goes with a name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Place {
    /// `2 solids`.
    InFront,
    /// `solids 2`.
    Behind,
    /// After `at`, as an hour is.
    AfterAt,
    /// `solids twice`, `solids 2 times`.
    Times,
}

/// Refuses a number after an activity that is rather an hour than a count: `shower at 24`,
/// `dishes 20`.
pub(super) fn plausible_behind(
    activity: &str,
    number: Amount,
    place: Place,
    words: &[Word],
    scene: &Scene,
) -> Result<(), Misread> {
    let Some((_, activity)) = scene.parts.activity(activity) else { return Ok(()) };
    let behind = place == Place::Behind;
    if !is_counted(&activity.counted_in) || behind && number.value() <= MOST_BEHIND {
        return Ok(());
    }
    let (name, plural) = (&activity.name, &activity.plural);
    let message = match place {
        Place::AfterAt => {
            format!("not an hour from 0 to 23: write `{name} 19:30`, or `2 {plural}`")
        }
        _ => {
            format!("a count or an hour? Write `{number} {plural}` or `{name} at 19:00`")
        }
    };
    Err(Misread::over(words, message).write(format!("{number} times")))
}

/// A use, checked against how its activity is counted.
pub(in crate::logline) fn used(
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
    let span = said.as_ref().and_then(Said::quantity).map(|q| q.unit);
    let count = match said {
        None if is_counted(unit) => {
            Quantity::new(Amount::from_milli(1000).unwrap_or_default(), unit.clone())
        }
        Some(Said::Bare(amount)) if is_counted(unit) => Quantity::new(amount, unit.clone()),
        // `3 people showered`.
        Some(Said::Quantity(q)) if q.unit == Unit::Person && activity.per == Per::Person => {
            Quantity::new(q.amount, unit.clone())
        }
        None => {
            return Err(uncounted(activity, words).write_piece(format!(
                "{} {}",
                activity.name,
                example(&of_unit(unit))
            )));
        }
        Some(Said::Bare(amount)) => {
            let own = Quantity::new(amount, unit.clone());
            let whole = format!("{} {own}", activity.name);
            return Err(uncounted(activity, words).write_piece(whole));
        }
        Some(Said::Share { percent, .. }) if stock_of(&activity.name, scene).is_some() => {
            let stock = stock_of(&activity.name, scene).unwrap_or_default();
            let level = format!("{stock} {}", Quantity::new(percent, Unit::Percent));
            let emptied = format!("emptied {stock}");
            let message = format!("write `{level}` for a reading");
            let misread = Misread::over(words, message);
            let emptied = (percent == Amount::ZERO).then_some(emptied);
            return Err(misread.write_all(emptied).write_piece(level));
        }
        Some(Said::Share { .. }) => return Err(uncounted(activity, words)),
        Some(said) => said
            .quantity()
            .and_then(|quantity| in_activity_unit(quantity, activity, scene.parts.volts()))
            .ok_or_else(|| {
                // What was said of it stays as a remark, where it counts nothing.
                let (name, said) = (&activity.name, text(words));
                let long = span.filter(|unit| unit.converts_to(&Unit::Hour));
                let said = said.trim_end_matches(&format!(" {name}"));
                uncounted(activity, words).write_all(long.map(|_| format!("{name} ({said})")))
            })?,
    };
    check_count(&count, words)?;
    Ok(Event::Use { activity: activity.name.clone(), count })
}

fn uncounted(activity: &Activity, words: &[Word]) -> Misread {
    let (name, unit) = (&activity.name, &activity.counted_in);
    let message = format!("{name} is counted in {}: write `{name} {}`", unit.word(), of_unit(unit));
    Misread::over(words, message)
}

/// An example of so much of an activity.
fn of_unit(unit: &Unit) -> String {
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
        let message = "a count is more than 0: leave out what did not happen";
        return Err(Misread::over(words, message));
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

/// The one stock that an activity fills, use by use.
pub(super) fn stock_of(activity: &str, scene: &Scene) -> Option<String> {
    let (_, activity) = scene.parts.activity(activity)?;
    match &activity.moves[..] {
        [one] if activity.counted_in == Unit::Use => Some(one.stock.clone()),
        _ => None,
    }
}

/// What a small number says of a stock that activities move one use at a time: so many uses of the
/// one activity that fills it, else a question. `None` where the number can only be a reading.
pub(in crate::logline) fn of_stock(
    stock: &Stock,
    number: Amount,
    place: Place,
    words: &[Word],
    scene: &Scene,
) -> Result<Option<Event>, Misread> {
    let value = number.value();
    if stock.unit != Unit::Use || value > MOST_USES || value.fract() != 0.0 || value <= 0.0 {
        return Ok(None);
    }
    let moves = |activity: &&Activity| activity.moves.iter().any(|m| m.stock == stock.name);
    let activities = scene.parts.activities.iter().filter(|a| is_counted(&a.counted_in));
    let moving: Vec<&Activity> = activities.filter(moves).collect();
    let plainly = place == Place::Times || place == Place::InFront && stock.runs == Direction::Up;
    match &moving[..] {
        [] if place != Place::Times => Ok(None),
        [] => {
            let reading = format!("{} {}", stock.name, Quantity::new(number, stock.unit.clone()));
            let message = format!("no activity gives to it: write `{reading}` for a reading");
            Err(Misread::over(words, message).write_piece(reading))
        }
        [one] if plainly => {
            used(&one.name, words, Some(Said::Bare(number)), words, scene).map(Some)
        }
        several => {
            let name = &stock.name;
            let reading = format!("{name} {}", Quantity::new(number, stock.unit.clone()));
            let uses: Vec<String> =
                several.iter().map(|a| format!("{} {number} times", a.name)).collect();
            let message =
                format!("done so often, or a reading? Write `{}` or `{reading}`", uses[0]);
            let misread = Misread::over(words, message);
            let misread = uses.into_iter().fold(misread, Misread::write_piece);
            Err(misread.write_piece(reading))
        }
    }
}
