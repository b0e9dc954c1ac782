//! One simulated trip: a van lived in for weeks, its diary, and at some evenings the truth of
//! what comes next if nobody services anything and habits go on.

use super::diary::{Diary, Manner, quantity};
use super::dice::Dice;
use super::knobs::{Knobs, Season};
use super::living::{State, Sums};
use super::rig_text;
use super::sky::{Place, Sky};
use super::van::{Gauge, Role, Van};
use chrono::{Datelike, Duration, NaiveDate};
use waystock::domain::entry::{ChargeSource, Entry, Event};
use waystock::domain::quantity::Amount;
use waystock::domain::rig::Rig;
use waystock::domain::time::Moment;
use waystock::domain::unit::Unit;

/// How far the truth is followed, in hours.
pub const HORIZON: usize = 720;

/// Seeds from here on are of the other simulator: other weather, dice, sizes, gauges, diaries,
/// and the other half of the world.
pub const OTHER: u64 = 1_000_000;

/// How long a life is long enough to know a crew's averages, in days.
const USUAL_DAYS: usize = 700;

/// A stay with another number of people aboard.
#[derive(Clone, Debug)]
struct Stay {
    known_h: usize,
    from_h: usize,
    to_h: usize,
    change: i32,
}

/// An evening on which a forecast is asked for, and what is true of it.
pub struct Origin {
    pub at: Moment,
    pub hour: usize,
    pub state: State,
    /// Hours to each tank's limit in the one continuation that came true; infinite beyond.
    pub truth: Vec<f64>,
}

/// A whole trip.
pub struct Trip {
    pub seed: u64,
    pub van: Van,
    pub sky: Sky,
    pub rig: Rig,
    /// What the rig was read from.
    pub rig_text: String,
    pub entries: Vec<Entry>,
    pub origins: Vec<Origin>,
    /// What happened up to the end, for the true coefficients.
    pub sums: Sums,
    pub manner: Manner,
    stays: Vec<Stay>,
}

struct Run {
    dice: Dice,
    pen: Dice,
    state: State,
    diary: Diary,
    /// Beside the dice, so that all else is as it would be without a look at breakfast.
    breakfast: Dice,
    sums: Sums,
    use_a_day: Vec<f64>,
    /// Levels as far as people can know them: of what no gauge shows, they reckon on from the last
    /// time it was serviced or spent.
    known: Vec<f64>,
    hurry: f64,
    place: Place,
}

impl Trip {
    /// Lives through the trip of this seed.
    pub fn new(seed: u64) -> Trip {
        Trip::with(seed, |_| ())
    }

    /// The same trip with something about the van changed.
    pub fn with(seed: u64, change: impl Fn(&mut Van)) -> Trip {
        Trip::lived(seed, &Knobs::plain(), change)
    }

    /// The trip of this seed with these knobs.
    pub fn set(seed: u64, knobs: &Knobs) -> Trip {
        Trip::lived(seed, knobs, |_| ())
    }

    fn lived(seed: u64, knobs: &Knobs, change: impl Fn(&mut Van)) -> Trip {
        let mut dice = Dice::new(seed, 1);
        let other = seed >= OTHER;
        let mut van = if other { Van::other(&mut dice) } else { knobs.van(&mut dice) };
        change(&mut van);
        let place = place(&mut dice, knobs.season);
        let days = dice.between(40.0, 60.0) as usize;
        let place = if other { overseas(place, &mut dice) } else { place };
        let mut weather = Dice::new(seed, 2);
        let mut sky = match other {
            true => Sky::other(&mut weather, &place, days + 33),
            false => Sky::new(&mut weather, &place, days + 33, knobs.persistence),
        };
        sky.outlook_error = knobs.outlook_error;
        let rig_text = rig_text::text(&van, &place, &sky, dice.chance(0.6));
        let rig = rig_text::rig(&rig_text, &place);
        let mut manner = if other { Manner::other(&mut dice) } else { Manner::new(&mut dice) };
        knobs.put_into(&mut manner);
        let stays = stays(&mut dice, van.people.len(), days);
        let levels = van.tanks.iter().map(|t| if t.role.fills() { 0.0 } else { t.capacity });
        let weekday = place.first.weekday().num_days_from_monday() as usize;
        let levels: Vec<f64> = levels.collect();
        let run = Run {
            known: levels.clone(),
            state: State::new(&van, levels, weekday, &mut dice),
            diary: Diary::new(&place, manner.clone()),
            pen: Dice::new(seed, 3),
            breakfast: Dice::new(seed, 7),
            sums: Sums::default(),
            use_a_day: vec![f64::NAN; van.tanks.len()],
            hurry: dice.between(0.8, 2.0),
            dice,
            place,
        };
        let (entries, origins) = (Vec::new(), Vec::new());
        let sums = Sums::default();
        let mut trip =
            Trip { seed, van, sky, rig, rig_text, entries, origins, sums, manner, stays };
        trip.live(run, days);
        trip
    }

    /// People aboard in an hour, as far as is known at `known_h`.
    fn aboard(&self, hour: usize, known_h: usize) -> usize {
        let change: i32 = self
            .stays
            .iter()
            .filter(|s| s.known_h <= known_h && (s.from_h..s.to_h).contains(&hour))
            .map(|s| s.change)
            .sum();
        (self.van.people.len() as i32 + change).max(0) as usize
    }

    fn live(&mut self, mut run: Run, days: usize) {
        let evening = run.dice.pick(&[19, 21, 21, 22]);
        let mut next_origin = 10 + (run.dice.unit() * 4.0) as usize;
        self.set_off(&mut run);
        for hour in 0..days * 24 {
            let (day, of_day) = (hour / 24, hour % 24);
            if hour > 0 && of_day == 7 {
                self.outlook(&mut run, day);
            }
            if of_day == 8 {
                self.breakfast(&mut run, hour);
            }
            if of_day == evening && hour > 0 {
                if !run.state.gone() {
                    run.diary.evening(hour, &self.van.tanks, &run.state.levels, &mut run.pen);
                }
                if day >= next_origin && self.nothing_out(&run) {
                    next_origin = day + run.dice.pick(&[3, 4, 5]);
                    let truth = self.continuation(&run.state, &mut run.dice.clone());
                    let (at, state) = (run.diary.moment(hour as f64), run.state.clone());
                    self.origins.push(Origin { at, hour, state, truth });
                }
            }
            self.stays_begin(&mut run, hour);
            if of_day == 10 && hour > 24 && self.due(&mut run) {
                self.stop(&mut run, hour);
            }
            let before = run.state.levels.clone();
            let aboard = self.aboard(hour, usize::MAX);
            let weather = self.sky.hours[hour];
            let acts = run.state.live(&self.van, weather, aboard, &mut run.dice, &mut run.sums);
            run.diary.acts(hour, &acts, &mut run.pen);
            for (i, rate) in run.use_a_day.iter_mut().enumerate() {
                let used = 24.0 * (before[i] - run.state.levels[i]).abs();
                let keep = 1.0 - 1.0 / 96.0;
                *rate = if rate.is_nan() { used } else { keep * *rate + (1.0 - keep) * used };
            }
            self.know(&mut run, hour);
        }
        run.diary.entries.sort_by_key(|entry| (entry.at, entry.id.sequence));
        self.entries = run.diary.entries;
        self.sums = run.sums;
    }

    /// Reads the battery before the sun is on the panels.
    fn breakfast(&self, run: &mut Run, hour: usize) {
        let (chance, dice) = (run.diary.manner.breakfast, &mut run.breakfast);
        if let Some(battery) = self.van.place(Role::Battery)
            && dice.chance(chance)
            && !run.state.gone()
        {
            let (tank, level) = (&self.van.tanks[battery], run.state.levels[battery]);
            run.diary.look(hour as f64 - 0.02, tank, level, dice);
        }
    }

    /// What people know of their levels after an hour. That something which no gauge shows is
    /// spent, they notice and write down.
    fn know(&self, run: &mut Run, hour: usize) {
        for (i, tank) in self.van.tanks.iter().enumerate() {
            let level = run.state.levels[i];
            if tank.gauge != Gauge::Blind {
                run.known[i] = level;
                continue;
            }
            let used = run.use_a_day[i] / 24.0 * if tank.role.fills() { 1.0 } else { -1.0 };
            let was = run.known[i];
            run.known[i] += used;
            if tank.is_spent(level) {
                run.known[i] = level;
                if !tank.is_spent(was) {
                    run.diary.spent(hour as f64 + 0.99, tank, level);
                }
            }
        }
    }

    /// Whether nothing is out, as far as anybody can tell.
    fn nothing_out(&self, run: &Run) -> bool {
        let levels = self.van.tanks.iter().zip(&run.state.levels);
        levels.into_iter().all(|(tank, level)| match tank.gauge {
            Gauge::Blind => !tank.is_spent(*level),
            _ => tank.room(*level) > 0.0,
        })
    }

    fn set_off(&self, run: &mut Run) {
        let crew = Amount::from_milli(1000 * self.van.people.len() as i64).expect("a few people");
        run.diary.write(0.05, Event::Crew(crew));
        self.camp(run, 0.1);
        for (i, tank) in self.van.tanks.iter().enumerate() {
            let level = run.state.levels[i];
            run.diary.service(0.15 + 0.02 * i as f64, tank, (level, level), true, &mut run.pen);
        }
    }

    fn camp(&self, run: &mut Run, at_h: f64) {
        let latitude = run.place.latitude + 0.05 * run.pen.normal();
        let longitude = run.place.longitude + 0.05 * run.pen.normal();
        run.diary.camp(at_h, latitude, longitude);
    }

    fn outlook(&self, run: &mut Run, day: usize) {
        let every = run.diary.manner.outlook_every;
        if every == 0 || !day.is_multiple_of(every) {
            return;
        }
        let mut error = [0; 3].map(|_| run.pen.normal());
        let at = day as f64 * 24.0 + 7.1;
        for lead in 0..6 {
            let foretold = self.sky.foretold(day, lead, &mut run.pen, &mut error);
            run.diary.outlook(at, lead, &foretold);
        }
    }

    /// Guests and absences: what is planned is written down when it is planned.
    fn stays_begin(&self, run: &mut Run, hour: usize) {
        for stay in self.stays.iter().filter(|stay| stay.known_h == hour) {
            let crew = self.van.people.len() as i32;
            let with = Amount::from_milli(1000 * i64::from((crew + stay.change).max(0)));
            let usual = Amount::from_milli(1000 * i64::from(crew));
            let (with, usual) = (with.expect("a few"), usual.expect("a few"));
            run.diary.plan(stay.from_h as f64, hour as f64, Event::Crew(with));
            run.diary.plan(stay.to_h as f64, hour as f64, Event::Crew(usual));
        }
    }

    /// Whether somebody thinks in the morning that today has to be a stop.
    fn due(&self, run: &mut Run) -> bool {
        let hurry = run.hurry * run.dice.factor(0.25);
        self.days_left(run).into_iter().any(|days| days < hurry)
    }

    fn days_left(&self, run: &Run) -> Vec<f64> {
        let tanks = self.van.tanks.iter().enumerate();
        tanks.map(|(i, tank)| tank.room(run.known[i]) / run.use_a_day[i].max(1e-6)).collect()
    }

    /// Drives to a place with services and does there what is due.
    fn stop(&self, run: &mut Run, hour: usize) {
        // All of it is over before the hour's own life begins, so it is written down at its start.
        let (hours, at) = (run.dice.between(0.4, 1.5), hour as f64);
        self.charge(run, hours * self.van.is.alternator_wh * run.dice.clone().factor(0.1));
        run.diary.drive(at + 0.01, hours);
        let left = self.days_left(run);
        for (i, tank) in self.van.tanks.iter().enumerate() {
            let (level, wanted) = (run.state.levels[i], left[i]);
            let always = matches!(tank.role, Role::Fresh | Role::Grey | Role::Liquids);
            let skipped = run.dice.chance(if always { 0.08 } else { 0.3 }) && wanted > 3.0;
            let due = if always { wanted < 8.0 } else { wanted < 5.0 };
            if tank.role == Role::Battery || skipped || !due {
                continue;
            }
            let whole = run.dice.chance(0.88);
            let part =
                if whole { run.dice.between(0.985, 1.0) } else { run.dice.between(0.6, 0.9) };
            let after = match tank.role.fills() {
                true if whole => 0.0,
                true => level * (1.0 - part),
                false => (tank.capacity * part).max(level),
            };
            run.diary.service(
                at + 0.02 + 0.006 * i as f64,
                tank,
                (level, after),
                whole,
                &mut run.pen,
            );
            (run.state.levels[i], run.known[i]) = (after, after);
        }
        self.plug_in(run, at, &left);
        self.camp(run, at + 0.15);
    }

    fn plug_in(&self, run: &mut Run, at: f64, left: &[f64]) {
        let Some(i) = self.van.place(Role::Battery) else { return };
        let capacity = self.van.tanks[i].capacity;
        if left[i] > 3.0 && run.state.levels[i] > 0.5 * capacity {
            return;
        }
        let wh = (0.95 * capacity - run.state.levels[i]).max(0.0);
        if wh < 0.05 * capacity {
            return;
        }
        self.charge(run, wh);
        let amount = quantity((wh / 10.0).round() * 10.0, Unit::WattHour);
        run.diary.write(at + 0.10, Event::Charge { source: ChargeSource::Shore, amount });
        let level = run.state.levels[i];
        run.diary.look(at + 0.12, &self.van.tanks[i], level, &mut run.pen);
    }

    fn charge(&self, run: &mut Run, wh: f64) {
        if let Some(i) = self.van.place(Role::Battery) {
            let capacity = self.van.tanks[i].capacity;
            run.state.levels[i] = (run.state.levels[i] + wh).min(capacity);
        }
    }

    /// What this crew does and takes on the average: the sums of a long life with everyone aboard,
    /// under this trip's weather over and over.
    pub fn usual(&self) -> Sums {
        let (mut dice, mut sums) = (Dice::new(self.seed, 4), Sums::default());
        let levels = vec![0.0; self.van.tanks.len()];
        let mut state = State::new(&self.van, levels, 0, &mut dice);
        let hours = self.sky.hours.len() / 24 * 24;
        for hour in 0..USUAL_DAYS * 24 {
            let weather = self.sky.hours[hour % hours];
            state.live(&self.van, weather, self.van.people.len(), &mut dice, &mut sums);
        }
        sums
    }

    /// Hours to each tank's limit from `state` on, with these dice, this trip's own weather and
    /// the stays that are known of, and no service.
    pub fn continuation(&self, state: &State, dice: &mut Dice) -> Vec<f64> {
        let (mut state, mut sums) = (state.clone(), Sums::default());
        let start = state.hour;
        let mut passages = vec![f64::INFINITY; self.van.tanks.len()];
        for step in 0..HORIZON {
            if passages.iter().all(|hours| hours.is_finite()) {
                break;
            }
            let before = state.levels.clone();
            let hour = start + step;
            let weather = self.sky.hours[hour.min(self.sky.hours.len() - 1)];
            state.live(&self.van, weather, self.aboard(hour, start), dice, &mut sums);
            for (i, tank) in self.van.tanks.iter().enumerate() {
                // With what goes beyond empty and full, or it would always be at the hour's end.
                let is = tank.room(state.levels[i] + state.beyond[i]);
                let was = tank.room(before[i]);
                if passages[i].is_infinite() && is <= 0.0 {
                    passages[i] = step as f64 + (was / (was - is)).max(0.0);
                }
            }
        }
        passages
    }
}

/// Where and when a trip begins.
fn place(dice: &mut Dice, season: Season) -> Place {
    let date = |month, day| NaiveDate::from_ymd_opt(2025, month, day).expect("a date");
    let mut place = Place {
        latitude: dice.between(35.0, 62.0),
        longitude: dice.between(0.0, 20.0),
        offset_h: 1.0,
        first: date(1, 5) + Duration::days((dice.unit() * 365.0) as i64),
    };
    // The same dice, put where the season is felt.
    let latitude = 45.0 + (place.latitude - 35.0) * 15.0 / 27.0;
    let after = Duration::days((place.first - date(1, 5)).num_days() / 12);
    match season {
        Season::Any => {}
        Season::Winter => (place.latitude, place.first) = (latitude, date(12, 1) + after),
        Season::Summer => (place.latitude, place.first) = (latitude, date(6, 1) + after),
    }
    place
}

/// A place of the other simulator, on the other half of the world, on the same day.
fn overseas(place: Place, dice: &mut Dice) -> Place {
    let latitude = -dice.between(25.0, 46.0);
    Place { latitude, longitude: dice.between(140.0, 152.0), offset_h: 10.0, ..place }
}

/// Visits and absences of a trip.
fn stays(dice: &mut Dice, crew: usize, days: usize) -> Vec<Stay> {
    let mut stays = Vec::new();
    let mut day = 4 + (dice.unit() * 12.0) as usize;
    while day + 5 < days {
        let length = 1 + (dice.unit() * 3.0) as usize;
        let (from_h, to_h) = (day * 24 + 12, (day + length) * 24 + 16);
        let known_h = from_h - 24 * (dice.unit() * 4.0) as usize - 3;
        let change = match dice.unit() {
            u if u < 0.4 => 1,
            u if u < 0.5 => 2,
            u if u < 0.75 => -(crew as i32),
            _ => -1,
        };
        stays.push(Stay { known_h, from_h, to_h, change });
        day += length + 6 + (dice.unit() * 18.0) as usize;
    }
    stays
}
