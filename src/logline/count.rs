//! Whether a number behind an activity is its count.

use super::Misread;
use super::thing::Scene;
use super::vocabulary::is_counted;
use super::words::Word;
use crate::domain::quantity::Amount;

/// The largest count that may stand behind its activity with no unit; larger ones go in front.
const MOST_BEHIND: f64 = 12.0;

/// Refuses a number after an activity that is rather an hour than a count: `shower at 24`,
/// `dishes 20`.
pub(super) fn plausible_behind(
    activity: &str,
    number: Amount,
    at: bool,
    words: &[Word],
    scene: &Scene,
) -> Result<(), Misread> {
    let Some((_, activity)) = scene.parts.activity(activity) else { return Ok(()) };
    if !is_counted(&activity.counted_in) || !at && number.value() <= MOST_BEHIND {
        return Ok(());
    }
    let (name, plural) = (&activity.name, &activity.plural);
    let message = match at {
        true => format!("not an hour from 0 to 23: write `{name} 19:30`, or `2 {plural}`"),
        false => format!("a count or an hour? Write `{number} {plural}` or `{name} at 19:00`"),
    };
    Err(Misread::over(words, message))
}
