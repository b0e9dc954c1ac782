//! The trip as it really happened, hour by hour, and how it would go on after the evening if
//! nothing was serviced any more.

use super::dice::Dice;
use super::people::{self, Crew, Deed, Plan};
use super::sky::Sky;
use super::trip::{
    self, AWAY, CAMPS, Camp, EVENING_HOUR, GUEST, LEAK_L_PER_DAY, LEAKS_FROM_HOUR, SERVICES,
};
use super::van::{self, *};

/// Something that happened and may be written down.
#[derive(Clone)]
pub enum Happening {
    /// Who did what.
    Deed(usize, Deed),
    /// Filled: stock, amount, level after.
    Fill(usize, f64, f64),
    /// Emptied: stock, amount, level after.
    Empty(usize, f64, f64),
    /// Hours.
    Drive(f64),
    /// Hours plugged in.
    Shore(f64),
    /// Stands there from now on.
    Camp(&'static Camp),
    /// So many live aboard from now on.
    Crew(usize),
}

/// The truth.
pub struct World {
    pub sky: Sky,
    /// Levels at the end of each hour.
    pub levels: Vec<Levels>,
    /// Minutes from midnight of the first day, and what happened.
    pub happenings: Vec<(i64, Happening)>,
    /// Where the van stood in each hour.
    pub camps: Vec<&'static Camp>,
    /// Days with a service stop.
    pub stops: Vec<usize>,
}

struct Run {
    world: World,
    van: Van,
    crew: Crew,
    dice: Dice,
    small: Dice,
    next_camp: usize,
    camp: &'static Camp,
    plan: Plan,
    stop_tomorrow: bool,
}

impl World {
    /// Lives the whole trip, and the days after the evening.
    pub fn new(seed: u64) -> World {
        let sky = Sky::new(seed, trip::DAYS);
        let world = World { sky, levels: vec![], happenings: vec![], camps: vec![], stops: vec![] };
        let mut run = Run {
            world,
            van: Van::new(seed),
            crew: Crew::new(seed),
            dice: Dice::new(seed, "trip"),
            small: Dice::new(seed, "unlogged"),
            next_camp: 1,
            camp: &CAMPS[0],
            plan: Plan { acts: vec![], out: 0..0 },
            stop_tomorrow: false,
        };
        for hour in 0..trip::DAYS * 24 {
            run.hour(hour);
        }
        run.world
    }

    /// Days from the evening until each stock truly meets its limit; `None` beyond the days
    /// that were simulated. Interpolated within the hour.
    pub fn days_to_limit(&self) -> [Option<f64>; STOCKS] {
        std::array::from_fn(|stock| {
            let out = |hour: &usize| van::is_out(stock, self.levels[*hour][stock]);
            let first = (EVENING_HOUR..self.levels.len()).find(out)?;
            let (before, after) = (self.levels[first - 1][stock], self.levels[first][stock]);
            let part =
                if after == before { 0.0 } else { (LIMIT[stock] - before) / (after - before) };
            Some(((first - EVENING_HOUR) as f64 + part.clamp(0.0, 1.0)) / 24.0)
        })
    }
}

impl Run {
    fn tell(&mut self, hour: usize, minute: usize, what: Happening) {
        self.world.happenings.push(((hour * 60 + minute) as i64, what));
    }

    fn hour(&mut self, hour: usize) {
        let (day, of_day) = (hour / 24, hour % 24);
        let before_evening = hour < EVENING_HOUR;
        let aboard = aboard(hour);
        if hour == 9 {
            self.set_off(hour);
        }
        if hour == GUEST.0 * 24 + 12 || hour == GUEST.1 * 24 + 12 {
            self.tell(hour, 10, Happening::Crew(aboard.len()));
        }
        if of_day == 6 {
            let fresh = self.van.levels[FRESH] / CAPACITY[FRESH];
            let thrift = 0.86 + 0.25 * fresh.min(0.9);
            self.plan = self.crew.plan(day, &self.world.sky, &aboard, thrift);
        }
        if of_day == 10 && self.stop_tomorrow && before_evening {
            self.stop(hour);
        } else if of_day == 10 && before_evening && self.wants_to_move() {
            self.move_camp(hour, 10, 0.8);
        }
        let out = self.plan.out.contains(&of_day);
        self.live(hour, &aboard, out);
        if of_day == 20 && before_evening {
            self.stop_tomorrow = self.due(aboard.len() as f64);
        }
        let levels = self.van.levels;
        self.world.levels.push(levels);
        self.world.camps.push(self.camp);
    }

    /// The first morning: everybody aboard, and everything seen to but diesel and gas.
    fn set_off(&mut self, hour: usize) {
        self.tell(hour, 2, Happening::Crew(3));
        for (stock, after) in [(GREY, 1.5), (LIQUIDS, 0.2), (SOLIDS, 0.0)] {
            self.empty(hour, 10 + stock, stock, after);
        }
        for (stock, after) in [(FRESH, CAPACITY[FRESH]), (FOOD, 34.5), (CLOTHES, 41.0)] {
            self.fill(hour, 20 + stock, stock, after);
        }
        // The van stood on the harbour's hook-up until now.
        self.van.charge(1.5 * 940.0);
        self.tell(hour, 28, Happening::Shore(1.5));
        self.move_to(self.camp, hour, 30, 0.4);
    }

    fn live(&mut self, hour: usize, aboard: &[usize], out: bool) {
        let of_day = hour % 24;
        let sky = self.world.sky.0[hour];
        let acts: Vec<_> = self.plan.acts.extract_if(.., |act| act.hour == of_day).collect();
        for act in acts.iter().filter(|act| aboard.contains(&act.who)) {
            self.van.doing(act.deed);
            self.tell(hour, act.minute, Happening::Deed(act.who, act.deed));
        }
        for &who in aboard {
            let use_ = people::unlogged(&mut self.small, of_day, who, sky.outside_c, !out);
            self.van.living(&use_);
        }
        let bowl = 1.3 / 16.0 * f64::from((7..23).contains(&of_day)) * self.small.factor(0.4);
        self.van.living(&people::Unlogged { drunk_l: bowl, ..Default::default() });
        if hour >= LEAKS_FROM_HOUR {
            self.van.shift(FRESH, -LEAK_L_PER_DAY / 24.0);
        }
        let sun = self.world.sky.sun_w_m2(hour, self.camp) * self.camp.open;
        self.van.weather(&Around {
            sky: &sky,
            sun_w_m2: sun,
            hour_of_day: of_day,
            at_van: if out { 0 } else { aboard.len() },
            lived_in: !aboard.is_empty(),
        });
        self.van.shift(NIGHTS, 1.0 / 24.0);
    }

    fn wants_to_move(&mut self) -> bool {
        self.van.levels[NIGHTS] > 2.0 && self.dice.chance(0.1)
    }

    /// Drives on to the next camp.
    fn move_camp(&mut self, hour: usize, minute: usize, usual_h: f64) {
        let camp = &CAMPS[self.next_camp % CAMPS.len()];
        self.next_camp += 1;
        let hours = (usual_h * self.dice.factor(0.35)).clamp(0.3, 3.0);
        self.move_to(camp, hour, minute, hours);
    }

    fn move_to(&mut self, camp: &'static Camp, hour: usize, minute: usize, hours: f64) {
        self.camp = camp;
        self.van.charge(hours * 290.0 * self.dice.factor(0.12));
        self.van.levels[NIGHTS] = 0.0;
        let minute = minute + (hours * 60.0) as usize;
        self.tell(hour, minute, Happening::Drive(hours));
        self.tell(hour, minute + 4, Happening::Camp(camp));
    }

    /// Whether somebody thinks in the evening that tomorrow has to be a stop.
    fn due(&mut self, people: f64) -> bool {
        let per_day = [
            8.8 * people + 2.5,
            6.4 * people + 1.0,
            1.05 * people,
            people,
            520.0,
            0.9,
            0.28,
            people,
            people,
            1.0,
        ];
        let hurry = 1.7 * self.dice.factor(0.12);
        (0..STOCKS).any(|s| (LIMIT[s] - self.van.levels[s]).abs() / per_day[s] < hurry)
    }

    /// Drives to a place with services, does there what is due, and drives on to a new camp.
    fn stop(&mut self, hour: usize) {
        let place = &SERVICES[self.world.stops.len() % 2];
        let town = place.name == SERVICES[1].name;
        self.world.stops.push(hour / 24);
        self.stop_tomorrow = false;
        let there_h = (0.9 * self.dice.factor(0.3)).clamp(0.4, 2.0);
        self.van.charge(there_h * 290.0 * self.dice.factor(0.12));
        let minute = (there_h * 60.0) as usize;
        self.tell(hour, minute, Happening::Drive(there_h));
        self.drains(hour, minute + 10);
        self.taps(hour, minute + 22);
        if town {
            self.shopping(hour, minute + 35);
        }
        let mut plugged_h = 0.0;
        if !town && self.van.levels[BATTERY] < 0.5 * CAPACITY[BATTERY] {
            plugged_h = self.dice.between(1.6, 3.4);
            self.van.charge(plugged_h * 940.0);
            self.tell(hour, minute + 30 + (plugged_h * 60.0) as usize, Happening::Shore(plugged_h));
        }
        let wait = if town { 70 } else { 30 } + (plugged_h * 60.0) as usize;
        self.move_camp(hour, minute + wait, 1.0);
    }

    fn empty(&mut self, hour: usize, minute: usize, stock: usize, after: f64) {
        let amount = self.van.levels[stock] - after;
        if amount > 0.0 {
            self.van.levels[stock] = after;
            self.tell(hour, minute, Happening::Empty(stock, amount, after));
        }
    }

    fn fill(&mut self, hour: usize, minute: usize, stock: usize, after: f64) {
        let amount = after - self.van.levels[stock];
        if amount > 0.0 {
            self.van.levels[stock] = after;
            self.tell(hour, minute, Happening::Fill(stock, amount, after));
        }
    }

    fn drains(&mut self, hour: usize, minute: usize) {
        let half = self.dice.chance(0.2); // someone behind us wants the drain
        let left = if half { self.dice.between(0.22, 0.36) * CAPACITY[GREY] } else { 1.5 };
        self.empty(hour, minute, GREY, left);
        self.empty(hour, minute + 3, LIQUIDS, 0.2);
        if self.van.levels[SOLIDS] > 0.4 * CAPACITY[SOLIDS] {
            self.empty(hour, minute + 6, SOLIDS, 0.0);
        }
    }

    fn taps(&mut self, hour: usize, minute: usize) {
        let slow = self.dice.chance(0.2);
        let share = if slow { self.dice.between(0.7, 0.85) } else { 1.0 };
        self.fill(hour, minute, FRESH, share * CAPACITY[FRESH]);
    }

    fn shopping(&mut self, hour: usize, minute: usize) {
        let bags = self.dice.between(0.8, 1.0);
        self.fill(hour, minute, FOOD, bags * CAPACITY[FOOD]);
        if self.van.levels[CLOTHES] < 0.6 * CAPACITY[CLOTHES] {
            self.fill(hour, minute + 20, CLOTHES, CAPACITY[CLOTHES] - 1.0);
        }
        if self.van.levels[DIESEL] < 0.55 * CAPACITY[DIESEL] {
            self.fill(hour, minute + 25, DIESEL, CAPACITY[DIESEL]);
        }
        if self.van.levels[GAS] < 0.35 * CAPACITY[GAS] {
            self.fill(hour, minute + 30, GAS, CAPACITY[GAS]);
        }
    }
}

/// Who lives aboard in `hour`.
pub fn aboard(hour: usize) -> Vec<usize> {
    if (AWAY.0..AWAY.1).contains(&hour) {
        return vec![0];
    }
    let guest = (GUEST.0 * 24 + 12..GUEST.1 * 24 + 12).contains(&hour);
    if guest { vec![0, 1, 2, 3] } else { vec![0, 1, 2] }
}
