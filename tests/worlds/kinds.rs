//! Worlds that each break one assumption of the forecaster, and one that breaks none.

use super::super::trips::knobs::{Gauges, Knobs, People, Season, Writes};
use super::super::trips::van::Life;

/// A world: what it is called, what is true of it, and its knobs.
pub struct World {
    pub name: &'static str,
    pub about: &'static str,
    pub knobs: Knobs,
}

/// What the forecaster takes for granted, made true: counts by chance alone, the same every day of
/// the week, no moods and no wind; one factor a day in all that people use, at usual hours; adults, who are as far
/// from the rig file as it allows for; 7 % of uses forgotten one by one, no day silent, nobody out
/// for a day; a guess is written as one. Gauges, weather, outlooks, guests and stops as on the plain trips.
fn matched() -> Knobs {
    Knobs {
        forgets: Some(0.07),
        life: Some(Life::Counts(1.0)),
        days_together: true,
        usual_hours: true,
        guesses_as_read: false,
        people: People::Grown,
        ..Knobs::plain()
    }
}

/// All of them. Each is [`matched`] but for what it says.
pub fn all() -> Vec<World> {
    let world = |name, about, knobs| World { name, about, knobs };
    let base = matched;
    let regular = Some(Life::Regular);
    vec![
        world("matched", "nothing is broken", base()),
        world(
            "out",
            "all are out on a fifth of days, midnight to midnight, nothing is used or written then",
            Knobs { out: 0.2, ..base() },
        ),
        world(
            "out-regular",
            "the same, habits regular",
            Knobs { out: 0.2, life: regular, ..base() },
        ),
        world(
            "out-half",
            "out on a fifth of days, and half of all uses unwritten",
            Knobs { out: 0.2, forgets: Some(0.5), ..base() },
        ),
        world(
            "out-half-regular",
            "the same, habits regular",
            Knobs { out: 0.2, forgets: Some(0.5), life: regular, ..base() },
        ),
        world(
            "days-forgotten",
            "a fifth of days lived as usual and not written, no reading either",
            Knobs { silent: 0.2, ..base() },
        ),
        world(
            "days-apart",
            "each base use has dice of its own from day to day, mostly less than is supposed; one \
             day in twelve little is eaten",
            Knobs { days_together: false, ..base() },
        ),
        world(
            "other-hours",
            "people wash, drink and charge before work and in the evening; bodies keep their hours",
            Knobs { usual_hours: false, ..base() },
        ),
        world(
            "guesses-as-read",
            "half of the crews write a guess as if a gauge in tenths had shown it",
            Knobs { guesses_as_read: true, ..base() },
        ),
        world(
            "children",
            "one or two children with some of the crews, whom the rig file counts like adults",
            Knobs { people: People::AsDrawn, ..base() },
        ),
        world("nothing-forgotten", "every use written", Knobs { forgets: Some(0.0), ..base() }),
        world("15-forgotten", "15 % of uses unwritten", Knobs { forgets: Some(0.15), ..base() }),
        world(
            "bursty-2",
            "daily counts of twice the variance of their mean",
            Knobs { life: Some(Life::Counts(2.0)), ..base() },
        ),
        world(
            "bursty-4",
            "daily counts of four times the variance of their mean",
            Knobs { life: Some(Life::Counts(4.0)), ..base() },
        ),
        world("regular", "every habit as regular as can be", Knobs { life: regular, ..base() }),
        world(
            "at-once",
            "uses written within the hour",
            Knobs { writes: Writes::AtOnce, ..base() },
        ),
        world(
            "next-morning",
            "a day's uses written at eight the next morning, under the day's date",
            Knobs { writes: Writes::NextMorning, ..base() },
        ),
        world(
            "breakfast",
            "the battery is also read at eight in the morning, on half of days",
            Knobs { breakfast: 0.5, ..base() },
        ),
        world(
            "quarters",
            "every gauge but the battery's in quarters",
            Knobs { gauges: Gauges::Step(0.25), ..base() },
        ),
        world("tenths", "the same in tenths", Knobs { gauges: Gauges::Step(0.1), ..base() }),
        world(
            "no-gauges",
            "no gauge but the battery's, and nobody guesses",
            Knobs { gauges: Gauges::Nothing, ..base() },
        ),
        world("one", "one adult", Knobs { people: People::Adults(1), ..base() }),
        world("two", "two adults", Knobs { people: People::Adults(2), ..base() }),
        world("four", "four adults", Knobs { people: People::Adults(4), ..base() }),
        world(
            "winter",
            "from December, 45 to 60 degrees north",
            Knobs { season: Season::Winter, ..base() },
        ),
        world("summer", "from June, there too", Knobs { season: Season::Summer, ..base() }),
    ]
}
