//! What the crew writes down of what happened: most of it, some of it late or rounded, and
//! nothing at all for three days.

use super::dice::Dice;
use super::draft::{Draft, LAPTOP, PHONE, rounded};
use super::people::Deed;
use super::trip::{EVENING_DAY, GUEST};
use super::van::{self, *};
use super::world::{Happening, World};
use std::collections::BTreeMap;
use waystock::domain::entry::{After, ChargeSource, Event, Spot};
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::unit::Unit;

/// The evening in minutes: 21:05 on its day.
pub const EVENING: i64 = (EVENING_DAY * 1440 + 21 * 60 + 5) as i64;
/// The journal begins at nine on the first morning.
const SET_OFF: i64 = 9 * 60;
/// Share of what is forgotten on a day that nobody closes.
const FORGOTTEN: f64 = 0.12;

/// The diary as it grows.
pub struct Diary<'a> {
    pub world: &'a World,
    pub drafts: Vec<Draft>,
    pub dice: Dice,
    /// First of the three days on which nothing was written.
    pub gap: usize,
    /// Days that somebody closed.
    pub closed: Vec<usize>,
    /// How many deeds there were outside the gap, and how many of them nobody wrote down.
    pub deeds: usize,
    pub forgotten: usize,
}

impl<'a> Diary<'a> {
    /// Writes the whole diary's uses, services and moves.
    pub fn new(seed: u64, world: &'a World) -> Diary<'a> {
        let mut dice = Dice::new(seed, "diary");
        let gap = quiet_days(world);
        let writes = |day: &usize| !(gap..gap + 3).contains(day);
        let mut closed: Vec<usize> = (0..EVENING_DAY).filter(|_| dice.chance(0.38)).collect();
        closed.retain(writes);
        let mut diary = Diary { world, drafts: vec![], dice, gap, closed, deeds: 0, forgotten: 0 };
        for day in (0..=EVENING_DAY).filter(writes) {
            diary.day(day);
        }
        diary
    }

    /// Whether anybody writes on `day`.
    pub fn writes(&self, day: usize) -> bool {
        !(self.gap..self.gap + 3).contains(&day)
    }

    fn day(&mut self, day: usize) {
        let start = (day * 1440) as i64;
        let world = self.world;
        let mut later: BTreeMap<&'static str, f64> = BTreeMap::new();
        let first = start.max(SET_OFF);
        let today = first..(start + 1440).min(EVENING - 10);
        for (at, what) in world.happenings.iter().filter(|(at, _)| today.contains(at)) {
            match what {
                Happening::Deed(who, deed) => self.deed(day, *at, *who, *deed, &mut later),
                other => self.service(*at, other),
            }
        }
        let closed = self.closed.contains(&day);
        let late = (self.dice.unit() * 20.0) as i64;
        let bedtime = if day == EVENING_DAY { 20 * 60 + 56 } else { 22 * 60 + 56 + late };
        // One of the sisters asks around at bedtime and writes down the rest for all.
        let device = *self.dice.pick(&[PHONE, LAPTOP]);
        for (activity, count) in later {
            let at = start + bedtime + (self.dice.unit() * 4.0) as i64;
            let mut draft = Draft::now(device, at, used(activity, count));
            if !closed && day < EVENING_DAY && self.dice.chance(0.15) && self.writes(day + 1) {
                draft = draft.recorded(at + 9 * 60 + 37); // remembered over breakfast
            }
            self.drafts.push(draft);
        }
        if closed {
            let draft = Draft::now(PHONE, start + bedtime + 5, Event::DayClosed);
            self.drafts.push(draft);
        }
    }

    fn deed(
        &mut self,
        day: usize,
        at: i64,
        who: usize,
        deed: Deed,
        later: &mut BTreeMap<&'static str, f64>,
    ) {
        self.deeds += 1;
        if !self.closed.contains(&day) && self.dice.chance(FORGOTTEN) {
            self.forgotten += 1;
            return;
        }
        let device = match who {
            0 | 3 => PHONE,
            1 => LAPTOP,
            _ => *self.dice.pick(&[PHONE, PHONE, LAPTOP]),
        };
        let (activity, count) = match deed {
            Deed::Shower(_) => ("shower", 1.0),
            Deed::Dishes(_) => ("dishes", 1.0),
            Deed::Meal(_) => ("cooked meal", 1.0),
            Deed::Solids => ("toilet solids", 1.0),
            Deed::DogRinse(_) => ("dog rinse", 1.0),
            // Nobody knows their working hours better than to the half hour.
            Deed::Work(hours, _) => ("laptop work", (hours * 2.0).round().max(1.0) / 2.0),
        };
        let at_once = if device == PHONE { 0.7 } else { 0.3 };
        if activity != "laptop work" && self.dice.chance(at_once) {
            let delay = 1 + (self.dice.unit() * 8.0) as i64;
            self.drafts.push(Draft::now(device, at + delay, used(activity, count)));
        } else {
            *later.entry(activity).or_default() += count;
        }
    }

    /// Services and moves are written down by whoever did them, at the time.
    fn service(&mut self, at: i64, what: &Happening) {
        let event = match what {
            Happening::Deed(..) => return,
            Happening::Fill(stock, amount, after) => self.fill(*stock, *amount, *after),
            Happening::Empty(stock, amount, after) => self.empty(*stock, *amount, *after),
            Happening::Drive(hours) => Event::Drive(rounded(hours.max(0.25), 0.25, Unit::Hour)),
            Happening::Shore(hours) => Event::Charge {
                source: ChargeSource::Shore,
                amount: rounded(*hours, 0.25, Unit::Hour),
            },
            Happening::Camp(camp) if at as usize / 1440 == self.world.stops[2] => {
                // Too tired to look the name up.
                let round = |degrees: f64| (degrees * 100.0).round() / 100.0;
                let (latitude, longitude) = (round(camp.latitude), round(camp.longitude));
                Event::Camp(Spot::At { latitude, longitude })
            }
            Happening::Camp(camp) => Event::Camp(Spot::Named(camp.name.into())),
            // That the guest would leave was written down when she came.
            Happening::Crew(_) if at as usize / 1440 == GUEST.1 => return,
            Happening::Crew(people) => Event::Crew(whole(*people)),
        };
        let device = *self.dice.pick(&[PHONE, PHONE, LAPTOP]);
        self.drafts.push(Draft::now(device, at, event));
    }

    fn fill(&mut self, stock: usize, amount: f64, after: f64) -> Event {
        let full = after > 0.97 * CAPACITY[stock];
        let metered = self.dice.chance(0.4);
        let (amount, after) = match stock {
            FRESH if full => (metered.then(|| rounded(amount, 1.0, Unit::Litre)), After::Full),
            FRESH => {
                let share = van::read_gauge(FRESH, after);
                (metered.then(|| rounded(amount, 5.0, Unit::Litre)), percent(share))
            }
            FOOD => (None, After::Level(rounded(after.min(37.0), 4.0, Unit::PersonDay))),
            DIESEL => (Some(rounded(amount, 0.1, Unit::Litre)), After::Full),
            _ => (None, After::Full),
        };
        Event::Fill { stock: NAMES[stock].into(), amount, after: Some(after) }
    }

    fn empty(&mut self, stock: usize, amount: f64, after: f64) -> Event {
        let seen = stock == LIQUIDS && self.dice.chance(0.45);
        Event::Empty {
            stock: NAMES[stock].into(),
            amount: seen.then(|| rounded(amount, 1.0, Unit::Litre)),
            after: (after > 5.0).then(|| rounded(after, 10.0, Unit::Litre)),
        }
    }
}

/// A use of an activity, in the unit in which the rig counts it.
pub fn used(activity: &str, count: f64) -> Event {
    let unit = match activity {
        "laptop work" => Unit::Hour,
        "toilet solids" => Unit::Use,
        _ => Unit::Time,
    };
    Event::Use { activity: activity.into(), count: rounded(count, 0.5, unit) }
}

/// So many people.
pub fn whole(people: usize) -> Amount {
    Amount::from_milli(people as i64 * 1000).expect("a handful of people")
}

fn percent(share: f64) -> After {
    After::Level(rounded(100.0 * share, 0.5, Unit::Percent))
}

/// A reading in percent of capacity.
pub fn percent_read(share: f64) -> Quantity {
    rounded(100.0 * share, 0.5, Unit::Percent)
}

/// The first three days after the guest left on which nothing was serviced and nobody moved.
fn quiet_days(world: &World) -> usize {
    let busy = |day: usize| {
        let on_day = |(at, _): &&(i64, Happening)| *at as usize / 1440 == day;
        let service = |(_, what): &(i64, Happening)| !matches!(what, Happening::Deed(..));
        world.happenings.iter().filter(on_day).any(service)
    };
    (GUEST.1 + 2..EVENING_DAY - 10)
        .find(|&day| (day..day + 3).all(|d| !busy(d)))
        .expect("the seed has three quiet days in a row")
}
