//! What the crew does in a day. Everyone has habits of their own, moods that last, a calendar
//! and an eye on the weather; nobody follows a rate.

use super::dice::Dice;
use super::sky::Sky;
use super::trip;

/// A person's own habits.
pub struct Person {
    shower_per_day: f64,
    shower_l: f64,
    wash_l: f64,
    drink_l: f64,
    urine_l: f64,
    solids_per_day: f64,
    outfits_per_day: f64,
}

const fn person(habits: [f64; 7]) -> Person {
    let [shower_per_day, shower_l, wash_l, drink_l, urine_l, solids_per_day, outfits_per_day] =
        habits;
    Person { shower_per_day, shower_l, wash_l, drink_l, urine_l, solids_per_day, outfits_per_day }
}

/// Two sisters, the son of one of them, and in one week a friend.
pub const PEOPLE: [Person; 4] = [
    person([0.42, 6.9, 2.1, 2.5, 1.55, 1.15, 0.95]),
    person([0.60, 9.2, 2.6, 2.2, 1.35, 1.00, 1.05]),
    person([0.28, 6.1, 1.5, 1.7, 1.00, 1.00, 1.20]),
    person([0.65, 11.0, 2.4, 2.2, 1.50, 1.05, 1.00]),
];

/// Something that a person would write down.
#[derive(Clone, Copy)]
pub enum Deed {
    /// Litres drawn, warm.
    Shower(f64),
    /// Litres drawn, warm, for a wash-up.
    Dishes(f64),
    /// Kilograms of gas.
    Meal(f64),
    /// Hours at a laptop, and its draw in W.
    Work(f64, f64),
    /// One use of the solids container.
    Solids,
    /// Litres drawn, lukewarm, to wash the beach off the dog.
    DogRinse(f64),
}

/// A deed at an hour and minute of the day.
pub struct Act {
    pub hour: usize,
    pub minute: usize,
    pub who: usize,
    pub deed: Deed,
}

/// A day as it will go: who does what when, and when everybody is out.
pub struct Plan {
    pub acts: Vec<Act>,
    /// Hours of the day in which nobody is at the van.
    pub out: std::ops::Range<usize>,
}

/// What lasts from day to day: moods, and how long ago everyone showered.
pub struct Crew {
    dice: Dice,
    mood: [f64; 4],
    unwashed_days: [f64; 4],
    dishes_left: f64,
}

impl Crew {
    pub fn new(seed: u64) -> Crew {
        let dice = Dice::new(seed, "crew");
        Crew { dice, mood: [0.0; 4], unwashed_days: [1.0; 4], dishes_left: 0.0 }
    }

    /// The plan of `day` for the people `aboard`. `thrift` is below 1 when the tank looks low
    /// and above 1 just after it was filled.
    pub fn plan(&mut self, day: usize, sky: &Sky, aboard: &[usize], thrift: f64) -> Plan {
        for mood in &mut self.mood {
            *mood = 0.7 * *mood + 0.7 * self.dice.normal();
        }
        let noon = &sky.0[day * 24 + 13];
        let weekend = trip::is_weekend(day);
        let fair = noon.cloud < 0.7 && !noon.wet;
        let out_share = if weekend { 0.55 } else { 0.18 } + if fair { 0.15 } else { -0.12 };
        let out = match self.dice.chance(out_share) {
            true => {
                let leave = 10 + (self.dice.unit() * 3.0) as usize;
                leave..(leave + 3 + (self.dice.unit() * 4.0) as usize).min(18)
            }
            false => 0..0,
        };
        let mut plan = Plan { acts: Vec::new(), out };
        self.hygiene(&mut plan, noon.outside_c, weekend, aboard, thrift);
        self.meals(&mut plan, weekend, aboard, thrift);
        self.work(&mut plan, weekend, aboard);
        if noon.wet && self.dice.chance(0.55) || !plan.out.is_empty() && self.dice.chance(0.3) {
            let litres = 5.2 * self.dice.factor(0.35) * thrift;
            self.act(&mut plan, 17, aboard[0], Deed::DogRinse(litres));
        }
        let out = plan.out.clone();
        plan.acts.retain(|act| !out.contains(&act.hour));
        plan
    }

    fn act(&mut self, plan: &mut Plan, hour: usize, who: usize, deed: Deed) {
        let minute = 5 + (self.dice.unit() * 50.0) as usize;
        plan.acts.push(Act { hour, minute, who, deed });
    }

    fn hygiene(&mut self, plan: &mut Plan, warm: f64, weekend: bool, crew: &[usize], thrift: f64) {
        for &who in crew {
            let habits = &PEOPLE[who];
            let urge = (0.3 * self.mood[who]).exp() * (0.55 + 0.3 * self.unwashed_days[who]);
            let day = if weekend { 1.2 } else { 0.95 } * (1.0 + 0.02 * (warm - 11.0));
            self.unwashed_days[who] += 1.0;
            if self.dice.chance((habits.shower_per_day * urge * day).min(0.95)) {
                self.unwashed_days[who] = 0.0;
                let long = 1.0 + 0.012 * (12.0 - warm); // hot water is lovelier in the cold
                let litres = habits.shower_l * long * thrift * self.dice.factor(0.24);
                let hour = *self.dice.pick(&[7, 8, 18, 20, 20, 21]);
                self.act(plan, hour, who, Deed::Shower(litres));
            }
            let mut often = habits.solids_per_day;
            while self.dice.chance(often.min(0.92)) {
                let hour = *self.dice.pick(&[7, 7, 8, 9, 12, 15, 19, 22]);
                self.act(plan, hour, who, Deed::Solids);
                often -= 0.75;
            }
        }
    }

    fn meals(&mut self, plan: &mut Plan, weekend: bool, crew: &[usize], thrift: f64) {
        let mouths = (crew.len() as f64 / 3.0).powf(0.6);
        let mut pile = self.dishes_left;
        let suppers = if weekend { 0.8 } else { 0.94 };
        for (hour, share, gas_kg) in [(8, 0.45, 0.05), (12, 0.25, 0.06), (18, suppers, 0.105)] {
            if !self.dice.chance(share) || plan.out.contains(&hour) {
                continue;
            }
            let gas = gas_kg * mouths * self.dice.factor(0.3);
            let cook = crew[(self.dice.unit() * crew.len().min(2) as f64) as usize];
            self.act(plan, hour, cook, Deed::Meal(gas));
            pile += if hour == 18 { 1.0 } else { 0.45 };
            if self.dice.chance(0.8) {
                let litres = 3.3 * pile.powf(0.8) * mouths * thrift * self.dice.factor(0.22);
                self.act(plan, hour + 1, cook, Deed::Dishes(litres));
                pile = 0.0;
            }
        }
        self.dishes_left = pile;
    }

    fn work(&mut self, plan: &mut Plan, weekend: bool, crew: &[usize]) {
        for (who, usual, watts) in [(0, 4.6, 41.0), (1, 2.4, 58.0)] {
            if crew.contains(&who) && (!weekend || self.dice.chance(0.12)) {
                let hours = (usual + 0.5 * self.mood[who] + 0.9 * self.dice.normal()).max(0.0);
                let hour = if plan.out.is_empty() { 9 + 4 * who } else { plan.out.end.min(16) };
                if hours > 0.4 {
                    self.act(plan, hour, who, Deed::Work(hours, watts));
                }
            }
        }
    }
}

/// What flows unlogged in one hour.
#[derive(Default)]
pub struct Unlogged {
    pub drunk_l: f64,
    pub washed_l: f64,
    pub urine_l: f64,
    pub eaten: f64,
    pub worn: f64,
    pub kettle_kg: f64,
}

/// What people aboard do in `hour` of the day without writing it down.
pub fn unlogged(
    dice: &mut Dice,
    hour: usize,
    who: usize,
    outside_c: f64,
    at_van: bool,
) -> Unlogged {
    let habits = &PEOPLE[who];
    let awake = (7..23).contains(&hour);
    let mut hourly = Unlogged::default();
    if hour == 18 {
        hourly.eaten = 0.97 * dice.factor(0.18);
        hourly.worn = habits.outfits_per_day * dice.factor(0.4);
    }
    if !at_van {
        return hourly;
    }
    // Warm hours make people drink more, and pass less of it.
    let heat = (outside_c - 12.0).max(0.0);
    let spread = dice.factor(0.5);
    if awake {
        hourly.drunk_l = habits.drink_l / 16.0 * (1.0 + 0.05 * heat) * spread;
        hourly.kettle_kg = 0.018 / 16.0 * (1.0 + 0.04 * (12.0 - outside_c)).max(0.3) * spread;
        let busy = if matches!(hour, 7 | 8 | 18 | 22) { 2.2 } else { 0.6 };
        hourly.washed_l = habits.wash_l / 16.0 * busy * spread;
    }
    let flow = match hour {
        7 => 2.6,
        23 | 0..7 => 0.45,
        _ => 1.15,
    };
    hourly.urine_l = habits.urine_l / 24.0 * flow * (1.0 - 0.02 * heat) * dice.factor(0.35);
    hourly
}
