//! The true van lived in, hour by hour: moods, rhythms, hot days, cold nights, dice.

use super::dice::Dice;
use super::sky::Hour;
use super::van::{Life, Rhythm, Role, Source, Van};

/// What people do and log.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Deed {
    Shower,
    Dishes,
    Meal,
    Work,
    Solids,
}

impl Deed {
    pub const ALL: [Deed; 5] = [Deed::Shower, Deed::Dishes, Deed::Meal, Deed::Work, Deed::Solids];

    pub fn activity(self) -> &'static str {
        match self {
            Deed::Shower => "shower",
            Deed::Dishes => "dishes",
            Deed::Meal => "cooked meal",
            Deed::Work => "work",
            Deed::Solids => "toilet solids",
        }
    }
}

/// One act: what, how often or long, and how much of its stock it took.
#[derive(Clone, Copy, Debug)]
pub struct Act {
    pub hour: usize,
    pub deed: Deed,
    pub count: f64,
    pub amount: f64,
}

/// How one day differs from others, per person or for the van.
#[derive(Clone, Default, Debug)]
struct Today {
    drink: f64,
    wash: f64,
    urine: f64,
    at_van: f64,
    out: bool,
    eats: f64,
    wears: f64,
    loads: f64,
    lights: f64,
    warmer_k: f64,
    /// Nobody is at the van from midnight to midnight.
    gone: bool,
}

/// The true state of a van at an hour's start.
#[derive(Clone, Debug)]
pub struct State {
    /// Hours since midnight of the first day.
    pub hour: usize,
    /// Levels, in the order of the van's tanks.
    pub levels: Vec<f64>,
    /// What the last hour would have taken or brought beyond empty and full.
    pub beyond: Vec<f64>,
    mood: f64,
    since_shower: Vec<f64>,
    /// What a crew of regular habits has not yet done of each deed.
    owed: [f64; 5],
    plan: Vec<Act>,
    today: Today,
    inside_c: f64,
    weekday: usize,
}

/// Sums of what happened, to say afterwards what the truth was.
#[derive(Clone, Default, Debug)]
pub struct Sums {
    pub counts: [f64; 5],
    pub amounts: [f64; 5],
    pub person_days: f64,
    pub lived_days: f64,
    pub base_l: f64,
    pub base_grey_l: f64,
    pub urine_l: f64,
    pub eaten: f64,
    pub worn: f64,
}

/// When in the day unlogged use happens.
const BUSY: [f64; 24] = [
    0.15, 0.1, 0.1, 0.1, 0.1, 0.15, 0.5, 1.6, 1.8, 1.2, 0.8, 0.8, 1.4, 1.2, 0.7, 0.7, 0.8, 1.0,
    1.6, 1.8, 1.3, 1.2, 0.9, 0.4,
];

/// When people eat: breakfast, lunch, something with tea, dinner. Invented, but meals, as a rig file
/// supposes of food: where it is eaten all day long, an assumption is broken that nobody named.
const EATING: [f64; 24] = [
    0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.3, 0.9, 1.0, 0.4, 0.2, 0.3, 1.2, 1.2, 0.3, 0.3, 0.5, 0.5, 1.4,
    1.9, 0.9, 0.2, 0.1, 0.0,
];

/// When each thing is done where people keep the hours that the forecaster supposes: their waking
/// hours, an hour of the night a quarter of one of these, and bodies, a quarter in the night.
fn waking() -> [f64; 24] {
    std::array::from_fn(|hour| if (7..23).contains(&hour) { 1.0 } else { 0.25 })
}

fn bodies() -> [f64; 24] {
    std::array::from_fn(|hour| match hour {
        7 => 0.1,
        23 | 0..7 => 0.15 / 8.0,
        _ => 0.05,
    })
}

/// Light and small things that are charged, as `mechanism/hours.rs` has them.
const CHARGING: [f64; 24] = [
    0.008, 0.008, 0.008, 0.008, 0.024, 0.05, 0.056, 0.05, 0.022, 0.015, 0.015, 0.015, 0.015, 0.015,
    0.026, 0.015, 0.056, 0.078, 0.105, 0.126, 0.128, 0.088, 0.049, 0.02,
];

/// What falls into one hour, as a share of its day.
struct Shares {
    washing: f64,
    body: f64,
    eating: f64,
    wearing: f64,
    charging: f64,
}

impl Shares {
    fn of(van: &Van, hour: usize) -> Shares {
        let share = |hours: [f64; 24]| hours[hour % 24] / hours.iter().sum::<f64>();
        let eating = share(EATING);
        if !van.usual_hours {
            let busy = share(BUSY);
            let wearing = 1.0 / 24.0;
            return Shares { washing: busy, body: busy, eating, wearing, charging: busy };
        }
        let (washing, body) = (share(waking()), share(bodies()));
        Shares { washing, body, eating, wearing: washing, charging: share(CHARGING) }
    }
}

impl Today {
    /// A day whose base use is another day's times one factor, in all that people use, as the
    /// forecaster supposes: a part that all aboard share (0.18) and a part of each (0.12), times
    /// `spread`; in food, which a rig file is surer of, less of it (0.7). Nobody is out for half a day.
    fn together(&mut self, spread: f64, aboard: usize, dice: &mut Dice) {
        let sd = spread * (0.18_f64.powi(2) + 0.12_f64.powi(2) / aboard.max(1) as f64).sqrt();
        let departure = (sd * dice.normal()).max(-0.9);
        let day = 1.0 + departure;
        (self.drink, self.wash, self.urine, self.loads, self.wears) = (day, day, day, day, day);
        self.eats = 1.0 + 0.7 * departure;
        (self.at_van, self.out) = (0.0, false);
    }
}

impl State {
    pub fn new(van: &Van, levels: Vec<f64>, first_weekday: usize, dice: &mut Dice) -> State {
        State {
            hour: 0,
            beyond: vec![0.0; levels.len()],
            levels,
            mood: dice.normal(),
            since_shower: van.people.iter().map(|_| dice.between(0.0, 2.0)).collect(),
            owed: [0.0; 5],
            plan: Vec::new(),
            today: Today::default(),
            inside_c: 18.0,
            weekday: first_weekday,
        }
    }

    /// Lives one hour with `aboard` people aboard. Every tank moves as habits go on, whatever
    /// another one's level. Returns what was done; `sums` gathers it.
    pub fn live(
        &mut self,
        van: &Van,
        outside: Hour,
        aboard: usize,
        dice: &mut Dice,
        sums: &mut Sums,
    ) -> Vec<Act> {
        let of_day = self.hour % 24;
        if of_day == 0 || self.hour == 0 {
            self.start_day(van, outside, aboard, dice);
        }
        let aboard = if self.today.gone { 0 } else { aboard };
        let mut delta = vec![0.0; self.levels.len()];
        let done: Vec<Act> = self.plan.extract_if(.., |act| act.hour == of_day).collect();
        let done = if aboard == 0 { Vec::new() } else { done };
        for act in &done {
            apply(van, act, &mut delta);
            sums.counts[act.deed as usize] += act.count;
            sums.amounts[act.deed as usize] += act.amount;
        }
        self.unlogged(van, outside, aboard, &mut delta, sums);
        self.electric(van, outside, aboard, of_day, &mut delta);
        for (role, _, per_day) in van.faults.iter().filter(|fault| fault.1 <= self.hour) {
            if let Some(tank) = van.place(*role) {
                delta[tank] += per_day / 24.0;
            }
        }
        for (i, tank) in van.tanks.iter().enumerate() {
            let next = self.levels[i] + delta[i];
            // A battery never empties further than its own cut-off; nor does a full one overflow.
            self.levels[i] = next.clamp(0.0, tank.capacity);
            self.beyond[i] = next - self.levels[i];
        }
        self.hour += 1;
        done
    }

    fn start_day(&mut self, van: &Van, outside: Hour, aboard: usize, dice: &mut Dice) {
        if self.hour > 0 {
            self.weekday = (self.weekday + 1) % 7;
        }
        self.mood = 0.6 * self.mood + 0.8 * dice.normal();
        let lively = (van.mood_swing * self.mood).exp();
        let free = self.weekday >= 5 || !van.workdays;
        let (drink, wash) = (dice.factor(0.12), dice.factor(0.18) * lively.sqrt());
        self.today = Today {
            drink,
            wash,
            wears: 0.5 + wash / 2.0,
            urine: dice.factor(0.1),
            at_van: dice.normal(),
            out: dice.chance(if free { 0.45 } else { 0.2 }),
            eats: if dice.chance(0.08) { 0.6 } else { dice.factor(0.06) },
            loads: dice.factor(0.2),
            lights: dice.factor(0.25),
            warmer_k: 0.7 * dice.normal(),
            // No die is thrown where nobody ever is, so that all else stays as it was.
            gone: van.out_all_day > 0.0 && dice.chance(van.out_all_day),
        };
        if let Some(spread) = van.days_together {
            self.today.together(spread, aboard, dice);
        }
        self.plan.clear();
        match van.life {
            Life::Own => {}
            Life::Even => return self.even_day(van, aboard, dice),
            Life::Counts(spread) => {
                return self
                    .counted_day(van, aboard, dice, |dice, rate, _| dice.counted(rate, spread));
            }
            Life::Regular => {
                return self.counted_day(van, aboard, dice, |_, rate, owed| {
                    *owed += rate;
                    let times = owed.floor();
                    *owed -= times;
                    times as usize
                });
            }
        }
        for who in 0..aboard {
            self.showers(van, who, lively, outside.outside_c, dice);
            let person = &van.people[who % van.people.len()];
            if van.place(Role::Solids).is_some() {
                let at_van = (person.at_van + 0.1 * self.today.at_van).clamp(0.3, 1.0);
                for _ in 0..dice.count(person.solids * at_van) {
                    let hour = dice.pick(&[7, 8, 8, 9, 13, 19]);
                    self.plan.push(Act { hour, deed: Deed::Solids, count: 1.0, amount: 1.0 });
                }
            }
        }
        if aboard > 0 {
            self.household(van, aboard, lively, free, dice);
        }
    }

    /// A day of the other simulator: how often is a draw for the whole crew, at any waking hour,
    /// and amounts scatter evenly.
    fn even_day(&mut self, van: &Van, aboard: usize, dice: &mut Dice) {
        let even = |dice: &mut Dice, by: f64| dice.between(1.0 - by, 1.0 + by);
        let (drink, wash) = (even(dice, 0.3), even(dice, 0.3));
        self.today = Today {
            drink,
            wash,
            wears: 0.5 + wash / 2.0,
            urine: even(dice, 0.25),
            at_van: 0.0,
            out: false,
            eats: even(dice, 0.15),
            loads: even(dice, 0.3),
            lights: even(dice, 0.3),
            warmer_k: 0.0,
            gone: false,
        };
        for (deed, rate, amount, by) in rates(van, aboard) {
            // As many tries as twice the rate, each as likely as not: less random than Poisson.
            let tries = (2.0 * rate).ceil().max(1.0);
            for _ in 0..tries as usize {
                if dice.chance(rate / tries) {
                    let hour = 7 + (dice.unit() * 15.0) as usize;
                    let amount = amount * even(dice, by);
                    self.plan.push(Act { hour, deed, count: 1.0, amount });
                }
            }
        }
    }

    /// A day of counts that `times` gives, from a rate a day and what is owed of the deed.
    fn counted_day(
        &mut self,
        van: &Van,
        aboard: usize,
        dice: &mut Dice,
        times: impl Fn(&mut Dice, f64, &mut f64) -> usize,
    ) {
        for (deed, rate, amount, by) in rates(van, aboard) {
            for _ in 0..times(dice, rate, &mut self.owed[deed as usize]) {
                let hour = match deed {
                    Deed::Shower => dice.pick(&[7, 8, 19, 19, 20, 20]),
                    Deed::Dishes => dice.pick(&[9, 20, 20]),
                    Deed::Meal => dice.pick(&[12, 18, 18]),
                    _ => 7 + (dice.unit() * 15.0) as usize,
                };
                let amount = amount * dice.factor(0.6 * by);
                self.plan.push(Act { hour, deed, count: 1.0, amount });
            }
        }
    }

    /// Whether everyone is out all day.
    pub fn gone(&self) -> bool {
        self.today.gone
    }

    fn showers(&mut self, van: &Van, who: usize, lively: f64, morning_c: f64, dice: &mut Dice) {
        let person = &van.people[who % van.people.len()];
        let since = match self.since_shower.get_mut(who) {
            Some(since) => {
                *since += 1.0;
                *since
            }
            None => 1.0,
        };
        let chance = match person.rhythm {
            Rhythm::Every(days) if since + 0.5 < days => 0.06,
            Rhythm::Every(days) if since < days + 0.5 => 0.88,
            Rhythm::Every(_) => 0.95,
            Rhythm::Chance(rate) => rate * lively,
        };
        let hot = if morning_c > 20.0 { 0.1 } else { 0.0 };
        if dice.chance(chance + hot) {
            let hour = dice.pick(&[7, 8, 18, 19, 19, 20, 20]);
            let amount = person.shower_l * dice.factor(0.22);
            self.plan.push(Act { hour, deed: Deed::Shower, count: 1.0, amount });
            if let Some(since) = self.since_shower.get_mut(who) {
                *since = 0.0;
            }
        }
    }

    fn household(&mut self, van: &Van, aboard: usize, lively: f64, free: bool, dice: &mut Dice) {
        let is = &van.is;
        let today = van.week[self.weekday];
        let size = (aboard as f64 / van.people.len() as f64).powf(0.5);
        let wash_ups = is.dishes * today * if self.today.out { 0.8 } else { 1.0 };
        let once = wash_ups.floor();
        let times = once as usize + usize::from(dice.chance(wash_ups - once));
        for hour in [20, 9, 14].into_iter().take(times) {
            let amount = is.dishes_l * size * dice.factor(0.28);
            self.plan.push(Act { hour, deed: Deed::Dishes, count: 1.0, amount });
        }
        let meals = is.meals * today * lively.sqrt();
        let times = meals.floor() as usize + usize::from(dice.chance(meals.fract()));
        for hour in [18, 12, 8].into_iter().take(times) {
            let amount = is.meal * size * dice.factor(0.35);
            self.plan.push(Act { hour, deed: Deed::Meal, count: 1.0, amount });
        }
        let hours = is.work_h * if free { 0.25 } else { 1.2 } * dice.factor(0.35);
        let hours = (hours * 2.0).round() / 2.0;
        if hours > 0.0 {
            let each = hours / 2.0;
            for hour in [10, 15] {
                let amount = is.work_w * each * dice.factor(0.15);
                self.plan.push(Act { hour, deed: Deed::Work, count: each, amount });
            }
        }
    }

    fn unlogged(
        &self,
        van: &Van,
        outside: Hour,
        aboard: usize,
        delta: &mut [f64],
        sums: &mut Sums,
    ) {
        let shares = Shares::of(van, self.hour);
        let (share, eating) = (shares.washing, shares.eating);
        let today = &self.today;
        sums.person_days += aboard as f64 / 24.0;
        sums.lived_days += f64::from(u8::from(aboard > 0)) / 24.0;
        let heat = (outside.outside_c - 20.0).max(0.0);
        let mut add = |role: Role, amount: f64| {
            if let Some(i) = van.place(role) {
                delta[i] += amount;
            }
        };
        for who in 0..aboard {
            let person = &van.people[who % van.people.len()];
            let at_van = (person.at_van + 0.1 * today.at_van - if today.out { 0.1 } else { 0.0 })
                .clamp(0.3, 1.0);
            let drink = person.drink_l * today.drink * share * (1.0 + 0.045 * heat);
            let wash = person.wash_l * today.wash * share * (1.0 + 0.01 * heat);
            let urine = person.urine_l * today.urine * at_van * shares.body * (1.0 - 0.012 * heat);
            // Of what people drink and cook with, a little goes down the sink all the same.
            let washing = van.is.base_grey / 0.45;
            let grey = (wash * washing).min(wash + drink);
            add(Role::Fresh, -(drink + wash));
            add(Role::Grey, grey);
            add(Role::Liquids, urine);
            add(Role::Food, -eating * person.eats * today.eats);
            let worn = van.is.wears * shares.wearing * today.wears;
            add(Role::Clothes, -worn);
            sums.base_l += drink + wash;
            sums.base_grey_l += grey;
            sums.urine_l += urine;
            sums.eaten += eating * person.eats * today.eats;
            sums.worn += worn;
        }
    }

    fn electric(
        &mut self,
        van: &Van,
        outside: Hour,
        aboard: usize,
        of_day: usize,
        delta: &mut [f64],
    ) {
        let Some(battery) = van.place(Role::Battery) else { return };
        let out = self.today.out && (10..17).contains(&of_day);
        let home = if out { 0 } else { aboard };
        let mut load = van.is.standing_w;
        load += self.heating(van, outside, home, aboard > 0, of_day, delta);
        load += van.is.fridge_w * (1.0 + 0.035 * (self.inside_c - 20.0)).clamp(0.4, 2.0);
        if aboard > 0 && (19..23).contains(&of_day) {
            load += van.is.lights_wh / 4.0 * self.today.lights;
        }
        let phones = van.is.phone_wh * aboard as f64 * self.today.loads;
        load += phones * Shares::of(van, of_day).charging;
        let cell_c = outside.outside_c + 0.031 * outside.sun_w_m2;
        let sun_wh = van.panel_w * van.is.panel_factor * outside.sun_w_m2 / 1000.0
            * (1.0 - 0.0037 * (cell_c - 25.0));
        let shade = van.shade.filter(|shade| shade.0 <= self.hour).map_or(1.0, |shade| shade.1);
        let sun_wh = shade * sun_wh;
        let capacity = van.tanks[battery].capacity;
        // Cells close to full take charge more slowly; cells below freezing none at all.
        let most = match self.levels[battery] / capacity {
            share if share > 0.96 => 0.12 * capacity,
            _ => 0.5 * capacity,
        };
        let cells_c = 0.5 * (self.inside_c + outside.outside_c);
        let charge = if cells_c < 0.0 { 0.0 } else { (0.965 * sun_wh).min(most) };
        delta[battery] += charge - load / 0.98;
    }

    /// Runs the heater for an hour and returns its electric draw.
    fn heating(
        &mut self,
        van: &Van,
        outside: Hour,
        home: usize,
        lived_in: bool,
        of_day: usize,
        delta: &mut [f64],
    ) -> f64 {
        let loss = van.is.ua * (1.0 + van.windy * (outside.wind - 4.0));
        let gains = 95.0 * home as f64 + 40.0 + 0.4 * outside.sun_w_m2;
        // Who is at home opens a window long before it gets stuffy, each crew in its own way.
        let drifting = outside.outside_c + gains / loss;
        let airy = (van.is.day_c + 3.0).max(outside.outside_c + 2.5);
        let drifting = if home > 0 { drifting.min(airy) } else { drifting };
        let fuel = match van.heating {
            Source::Diesel => van.place(Role::Diesel).map(|i| (i, 10_025.0 * 0.79)),
            Source::Gas => van.place(Role::Gas).map(|i| (i, 12_800.0 * 0.80)),
            _ => None,
        };
        let wanted = match of_day {
            7..22 if home > 0 => van.is.day_c,
            7..22 => van.is.night_c - 2.0,
            _ => van.is.night_c,
        } + self.today.warmer_k;
        let (Some((fuel, wh)), true) = (fuel, lived_in) else {
            self.inside_c = 0.5 * self.inside_c + 0.5 * drifting;
            return 0.0;
        };
        let needed = (loss * (wanted - outside.outside_c) - gains).clamp(0.0, 2100.0);
        self.inside_c = if needed > 0.0 { wanted } else { drifting.max(wanted) };
        delta[fuel] -= needed / wh;
        if needed > 0.0 { 25.0 * (needed / 900.0).min(1.0) + 3.0 } else { 0.0 }
    }
}

/// How often a day a crew of so many does what, how much each takes, and by how much that
/// scatters.
fn rates(van: &Van, aboard: usize) -> Vec<(Deed, f64, f64, f64)> {
    let (is, people) = (&van.is, aboard as f64);
    let all = [
        (Deed::Shower, is.showers * people, is.shower_l, 0.4),
        (Deed::Dishes, is.dishes, is.dishes_l, 0.4),
        (Deed::Meal, is.meals, is.meal, 0.5),
        (Deed::Solids, is.solids * people, 1.0, 0.0),
        (Deed::Work, is.work_h, is.work_w, 0.2),
    ];
    let kept = |deed: Deed| deed != Deed::Solids || van.place(Role::Solids).is_some();
    all.into_iter().filter(|row| aboard > 0 && kept(row.0)).collect()
}

/// What an act moves.
fn apply(van: &Van, act: &Act, delta: &mut [f64]) {
    let mut add = |role: Role, amount: f64| {
        if let Some(i) = van.place(role) {
            delta[i] += amount;
        }
    };
    match act.deed {
        Deed::Shower | Deed::Dishes => {
            add(Role::Fresh, -act.amount);
            let share = van.is.washing_share[usize::from(act.deed == Deed::Dishes)];
            add(Role::Grey, act.amount * share);
            add(Role::Battery, -0.18 * act.amount);
            let to_c = if act.deed == Deed::Shower { 38.0 } else { 42.0 };
            let heat_wh = 1.163 * act.amount * (to_c - 12.0) / van.is.hot_efficiency;
            match van.hot_water {
                Source::Diesel => add(Role::Diesel, -heat_wh / 10_025.0),
                Source::Gas => add(Role::Gas, -heat_wh / 12_800.0),
                _ => {}
            }
        }
        Deed::Meal if van.cooking == Source::Gas => add(Role::Gas, -act.amount),
        Deed::Meal => add(Role::Battery, -act.amount / van.is.inverter / 0.98),
        Deed::Work => add(Role::Battery, -act.amount / 0.98),
        Deed::Solids => add(Role::Solids, act.amount),
    }
}
