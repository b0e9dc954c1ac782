//! Who is aboard, and for how long.

use super::amounts::Said;
use super::misread::{Misread, example};
use super::reader::{Reader, SaidThing, Scene};
use super::word::Word;
use crate::domain::entry::Event;
use crate::domain::quantity::{Amount, Quantity};
use crate::domain::unit::Unit;

/// The most people that one van is believed to hold.
const MOST_ABOARD: i64 = 30_000;

/// Whether a thing in these words may have an end of its own.
pub(super) fn may_end(words: &[Word]) -> bool {
    words.iter().any(|w| ["guests", "away", "aboard"].iter().any(|people| w.is(people)))
}

/// People after a number, if that is what comes next: `4 aboard`, `2 guests`.
pub(super) fn counted(
    said: &Option<Said>,
    reader: &mut Reader,
    scene: &Scene,
) -> Option<Result<SaidThing, Misread>> {
    let people = match said {
        Some(Said::Bare(people)) => *people,
        Some(Said::Quantity(people)) if people.unit == Unit::Person => people.amount,
        _ => return None,
    };
    if reader.take(&["aboard"]) {
        return Some(crew(people, reader.since(0)).map(SaidThing::from));
    }
    reader.take(&["guests"]).then(|| guests(Some(people), reader, scene))
}

/// `aboard 4`.
pub(super) fn aboard(reader: &mut Reader, scene: &Scene) -> Result<Event, Misread> {
    let from = reader.at;
    let people = match reader.amount(scene.known)? {
        Some(Said::Bare(people)) => people,
        Some(Said::Quantity(Quantity { amount, unit: Unit::Person })) => amount,
        Some(_) => {
            return Err(Misread::over(reader.since(from), "people are just counted: `aboard 4`"));
        }
        None => {
            let misread = reader.missing("how many are aboard? Write `aboard 4`");
            return Err(
                misread.write_piece(format!("aboard {}", example(&scene.known.aboard.to_string())))
            );
        }
    };
    crew(people, reader.since(from))
}

/// So many aboard from now on.
fn crew(people: Amount, words: &[Word]) -> Result<Event, Misread> {
    match people.milli() {
        0..=MOST_ABOARD => Ok(Event::Crew(people)),
        _ => {
            let message = format!("0 to {} people can be aboard", MOST_ABOARD / 1000);
            Err(Misread::over(words, message))
        }
    }
}

/// So many more than live aboard now; one where only `guest` is said.
pub(super) fn guests(
    more: Option<Amount>,
    reader: &mut Reader,
    scene: &Scene,
) -> Result<SaidThing, Misread> {
    let words = reader.since(0);
    let one = more.is_none() && !reader.words[0].text.ends_with('s');
    let more = more.map_or(if one { 1000 } else { 0 }, Amount::milli);
    if more <= 0 {
        let misread = Misread::over(words, "how many? Write `2 guests until sunday`");
        return Err(match reader.peek() {
            None => misread.write(format!("{} guests", example("2"))),
            Some(_) => misread,
        });
    }
    let people = Amount::from_milli(scene.known.aboard.milli().saturating_add(more));
    crew(people.unwrap_or(Amount::from_milli(i64::from(i32::MAX)).unwrap_or_default()), words)
        .map(SaidThing::from)
}
