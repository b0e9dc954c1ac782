//! What the crew writes down: some of it, late or rounded, as people do.

use super::dice::Dice;
use super::living::{Act, Deed};
use super::sky::{Day, Place};
use super::van::{Gauge, Role, Tank};
use chrono::{Duration, FixedOffset, NaiveTime, TimeZone};
use waystock::domain::entry::{After, Body, Entry, EntryId, Event, Spot};
use waystock::domain::outlook::DayWeather;
use waystock::domain::quantity::{Amount, Quantity};
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;

/// How a crew keeps its diary.
#[derive(Clone, Debug)]
pub struct Manner {
    /// Share of acts that nobody writes down.
    pub forgets: f64,
    /// Chance that a gauge is looked at on an evening.
    pub looks: f64,
    /// Whether the day's uses are written together in the evening.
    pub in_one_go: bool,
    /// Evenings between two such writings, each day's uses under its own date.
    pub every: usize,
    /// Whether a day's uses are written at eight the next morning, under the day's own date.
    pub next_morning: bool,
    /// Chance that a whole day goes by without a word: neither uses nor readings.
    pub silent: f64,
    /// Chance that the battery is read in the morning.
    pub breakfast: f64,
    /// Errors of gauges and guesses, as a multiple of the plain ones.
    pub gauge_error: f64,
    /// Chance that a day is declared complete.
    pub closes: f64,
    /// Chance that a fill's amount is written down.
    pub measures: f64,
    /// Whether guesses come with their own step.
    pub says_step: bool,
    /// Days between outlooks; 0 = never.
    pub outlook_every: usize,
    /// 0 = sun and cloud, 1 = cloud, 2 = temperatures only.
    pub outlook_form: usize,
}

impl Manner {
    /// A crew of the other simulator: writes in batches, seldom looks, foresees five days.
    pub fn other(dice: &mut Dice) -> Manner {
        Manner {
            forgets: dice.between(0.03, 0.11),
            looks: dice.between(0.4, 0.9),
            in_one_go: true,
            every: dice.pick(&[1, 2, 2, 3]),
            next_morning: false,
            silent: 0.0,
            breakfast: 0.0,
            gauge_error: 1.0,
            closes: 0.0,
            measures: dice.pick(&[0.0, 1.0]),
            says_step: true,
            outlook_every: 1,
            outlook_form: dice.pick(&[0, 1]),
        }
    }

    pub fn new(dice: &mut Dice) -> Manner {
        Manner {
            forgets: dice.between(0.04, 0.1),
            looks: dice.between(0.35, 0.85),
            in_one_go: dice.chance(0.5),
            every: 1,
            next_morning: false,
            silent: 0.0,
            breakfast: 0.0,
            gauge_error: 1.0,
            closes: dice.pick(&[0.0, 0.0, 0.5, 0.9]),
            measures: dice.pick(&[0.2, 0.5, 0.9]),
            says_step: dice.chance(0.5),
            outlook_every: dice.pick(&[1, 1, 1, 2, 3, 1, 2, 3, 1, 0]),
            outlook_form: dice.pick(&[0, 0, 0, 1, 2]),
        }
    }
}

/// The offset of clocks at the van.
pub fn offset(place: &Place) -> FixedOffset {
    FixedOffset::east_opt((place.offset_h * 3600.0) as i32).expect("a few hours")
}

/// The diary of one trip.
pub struct Diary {
    pub entries: Vec<Entry>,
    pub manner: Manner,
    midnight: Moment,
    waiting: [f64; 5],
    /// Whether today will be declared complete, so that nothing is forgotten.
    complete: bool,
    /// Whether nothing is written today.
    silent: bool,
}

impl Diary {
    pub fn new(place: &Place, manner: Manner) -> Diary {
        let midnight = offset(place)
            .from_local_datetime(&place.first.and_time(NaiveTime::MIN))
            .single()
            .expect("a fixed offset has no gaps");
        Diary {
            entries: Vec::new(),
            manner,
            midnight,
            waiting: [0.0; 5],
            complete: false,
            silent: false,
        }
    }

    /// The moment so many hours after midnight of the first day.
    pub fn moment(&self, hours: f64) -> Moment {
        self.midnight + Duration::seconds((hours * 60.0).round() as i64 * 60)
    }

    pub fn write(&mut self, at_h: f64, event: Event) {
        self.plan(at_h, at_h, event);
    }

    /// Writes at `recorded_h` what happens at `at_h`.
    pub fn plan(&mut self, at_h: f64, recorded_h: f64, event: Event) {
        let sequence = self.entries.len() as u64 + 1;
        let id = EntryId { device: "van".into(), sequence, salt: 7 };
        let (at, recorded) = (self.moment(at_h), self.moment(recorded_h));
        self.entries.push(Entry { id, at, recorded, note: None, body: Body::Happened(event) });
    }

    /// Logs, keeps for the evening, or forgets what was done in an hour.
    pub fn acts(&mut self, hour: usize, acts: &[Act], dice: &mut Dice) {
        let of_day = hour % 24;
        if of_day == 0 {
            self.complete = dice.chance(self.manner.closes);
            self.silent = self.manner.silent > 0.0 && dice.chance(self.manner.silent);
        }
        if self.silent {
            return;
        }
        for act in acts {
            if !self.complete && dice.chance(self.manner.forgets) {
                continue;
            }
            if self.manner.in_one_go {
                self.waiting[act.deed as usize] += act.count;
            } else {
                let event = used(act.deed, act.count);
                self.write(hour as f64 + 0.8 + dice.between(0.0, 0.15), event);
            }
        }
        if (of_day == 20 && !self.manner.next_morning) || of_day == 23 {
            for (deed, count) in Deed::ALL.into_iter().zip(std::mem::take(&mut self.waiting)) {
                if count > 0.0 {
                    let at = hour as f64 + 0.97;
                    // Written down in a batch, on every so manieth evening.
                    let late = (self.manner.every - 1 - (hour / 24) % self.manner.every) * 24;
                    let late = if self.manner.next_morning { 8.03 } else { late as f64 };
                    self.plan(at, at + late, used(deed, count));
                }
            }
        }
        if of_day == 23 && self.complete {
            self.write(hour as f64 + 0.98, Event::DayClosed);
        }
    }

    /// Looks at the gauges before hour `hour` begins, or guesses.
    pub fn evening(&mut self, hour: usize, tanks: &[Tank], levels: &[f64], dice: &mut Dice) {
        if self.silent {
            return;
        }
        for (tank, level) in tanks.iter().zip(levels) {
            let chance = match (tank.gauge, tank.role) {
                (Gauge::Blind, _) => 0.0,
                (_, Role::Battery) => (self.manner.looks + 0.15).min(0.95),
                (Gauge::Guess, Role::Solids | Role::Food | Role::Gas | Role::Clothes) => 1.0 / 6.0,
                (Gauge::Guess, _) => 2.0 / 7.0,
                _ => self.manner.looks,
            };
            if dice.chance(chance) {
                self.look(hour as f64 - 0.02, tank, *level, dice);
            }
        }
    }

    /// Reads one gauge.
    pub fn look(&mut self, at_h: f64, tank: &Tank, level: f64, dice: &mut Dice) {
        let error = self.manner.gauge_error;
        let share = level / tank.capacity + error * tank.bias;
        let (shown, step) = match tank.gauge {
            Gauge::Step(step) => {
                let seen = share + 0.003 * error * dice.normal();
                ((seen / step).round() * step, None)
            }
            Gauge::Said(step) => ((share / step).round() * step, Some(step)),
            Gauge::Lamps(marks) => {
                (marks.iter().rev().find(|m| **m <= share).copied().unwrap_or(0.0), None)
            }
            Gauge::Guess => {
                let guess = share + 0.03 * error * dice.normal();
                ((guess * 10.0).round() / 10.0, self.manner.says_step.then_some(0.1))
            }
            Gauge::Blind => return,
        };
        let percent = (shown.clamp(0.0, 1.0) * 1000.0).round() / 10.0;
        let reading = quantity(percent, Unit::Percent);
        self.write(at_h, Event::Level { stock: tank.role.name().into(), reading, step });
    }

    /// Something ran dry or full.
    pub fn spent(&mut self, at_h: f64, tank: &Tank, level: f64) {
        let reading = quantity((100.0 * level / tank.capacity).round(), Unit::Percent);
        self.write(at_h, Event::Level { stock: tank.role.name().into(), reading, step: None });
    }

    /// A refill or a dump that changed the level from `before` to `after`.
    pub fn service(
        &mut self,
        at_h: f64,
        tank: &Tank,
        (before, after): (f64, f64),
        whole: bool,
        dice: &mut Dice,
    ) {
        let stock = tank.role.name().to_string();
        let moved = (after - before).abs() * dice.factor(0.02);
        let digits = if moved < 10.0 { 10.0 } else { 1.0 };
        let amount = quantity((moved * digits).round() / digits, unit(tank.role));
        let amount = dice.chance(self.manner.measures).then_some(amount);
        let percent = quantity((after / tank.capacity * 20.0).round() * 5.0, Unit::Percent);
        let event = match (tank.role.fills(), whole) {
            // Who says how much came out says as well that nothing is left: an amount alone is that
            // much less.
            (true, true) => {
                Event::Empty { stock, after: amount.is_some().then_some(percent), amount }
            }
            (true, false) => Event::Empty { stock, amount, after: Some(percent) },
            (false, true) => Event::Fill { stock, amount, after: Some(After::Full) },
            (false, false) => Event::Fill { stock, amount, after: Some(After::Level(percent)) },
        };
        self.write(at_h, event);
    }

    pub fn camp(&mut self, at_h: f64, latitude: f64, longitude: f64) {
        self.write(at_h, Event::Camp(Spot::At { latitude, longitude }));
    }

    pub fn drive(&mut self, at_h: f64, hours: f64) {
        self.write(at_h, Event::Drive(quantity((hours * 10.0).round() / 10.0, Unit::Hour)));
    }

    /// One row of an outlook issued at `at_h` for the day `lead` days later.
    pub fn outlook(&mut self, at_h: f64, lead: usize, day: &Day) {
        let issued = self.moment(at_h);
        let form = self.manner.outlook_form;
        let row = DayWeather {
            issued,
            date: issued.date_naive() + Duration::days(lead as i64),
            low_c: Some((day.low_c * 10.0).round() / 10.0),
            high_c: Some((day.high_c * 10.0).round() / 10.0),
            sun_kwh_m2: (form == 0).then_some((day.sun_kwh_m2 * 100.0).round() / 100.0),
            cloud: (form <= 1).then_some((day.cloud * 20.0).round() / 20.0),
            place: None,
        };
        self.write(at_h, Event::Outlook(row));
    }
}

fn used(deed: Deed, count: f64) -> Event {
    let unit = match deed {
        Deed::Work => Unit::Hour,
        Deed::Solids => Unit::Use,
        _ => Unit::Time,
    };
    Event::Use { activity: deed.activity().into(), count: quantity(count, unit) }
}

pub fn quantity(value: f64, unit: Unit) -> Quantity {
    Quantity::new(Amount::from_f64(value).expect("a small number"), unit)
}

fn unit(role: Role) -> Unit {
    match role {
        Role::Battery => Unit::WattHour,
        Role::Solids => Unit::Use,
        Role::Food => Unit::PersonDay,
        Role::Gas => Unit::Kilogram,
        Role::Clothes => Unit::Own("sets".into()),
        _ => Unit::Litre,
    }
}
