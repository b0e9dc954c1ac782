//! A simulated van and its crew: what its rig file says, and what is really true of it.

use super::dice::Dice;

/// What a tank is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, PartialOrd, Ord)]
pub enum Role {
    Fresh,
    Grey,
    Liquids,
    Solids,
    Diesel,
    Battery,
    Food,
    Gas,
    Clothes,
}

impl Role {
    pub const ALL: [Role; 9] = [
        Role::Fresh,
        Role::Grey,
        Role::Liquids,
        Role::Solids,
        Role::Diesel,
        Role::Battery,
        Role::Food,
        Role::Gas,
        Role::Clothes,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Role::Fresh => "fresh",
            Role::Grey => "grey",
            Role::Liquids => "liquids",
            Role::Solids => "solids",
            Role::Diesel => "diesel",
            Role::Battery => "battery",
            Role::Food => "food",
            Role::Gas => "gas",
            Role::Clothes => "clean clothes",
        }
    }

    pub fn fills(self) -> bool {
        matches!(self, Role::Grey | Role::Liquids | Role::Solids)
    }
}

/// How a tank is read.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Gauge {
    Guess,
    /// Told with each reading, not by the rig file.
    Said(f64),
    Step(f64),
    Lamps(&'static [f64]),
    /// There is none, and nobody guesses.
    Blind,
}

/// One tank.
#[derive(Clone, Debug)]
pub struct Tank {
    pub role: Role,
    pub capacity: f64,
    /// Reserve or headroom.
    pub margin: f64,
    pub gauge: Gauge,
    /// How much the gauge shows too much, as a share of capacity.
    pub bias: f64,
}

impl Tank {
    pub fn limit(&self) -> f64 {
        if self.role.fills() { self.capacity - self.margin } else { self.margin }
    }

    /// What is left to the limit, negative when it is met.
    pub fn room(&self, level: f64) -> f64 {
        if self.role.fills() { self.limit() - level } else { level - self.limit() }
    }
}

impl Tank {
    /// Whether it cannot run any lower or fill any further, which nobody misses.
    pub fn is_spent(&self, level: f64) -> bool {
        if self.role.fills() { level >= self.capacity } else { level <= 0.0 }
    }
}

/// When somebody takes a shower.
#[derive(Clone, Copy, Debug)]
pub enum Rhythm {
    /// Every so many days, give or take.
    Every(f64),
    /// Any day with this chance.
    Chance(f64),
}

/// One person.
#[derive(Clone, Debug)]
pub struct Person {
    pub shower_l: f64,
    pub rhythm: Rhythm,
    pub drink_l: f64,
    pub wash_l: f64,
    pub urine_l: f64,
    pub at_van: f64,
    pub solids: f64,
    pub eats: f64,
}

/// Where meals and heat come from.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Source {
    Diesel,
    Gas,
    Battery,
    Nothing,
}

/// What can be said of a van in numbers, once as the rig file has it and once as it is.
#[derive(Clone, Debug)]
pub struct Numbers {
    pub shower_l: f64,
    pub dishes_l: f64,
    pub base_l: f64,
    pub base_grey: f64,
    /// Of a shower's and of the dishes' water, what reaches the grey tank.
    pub washing_share: [f64; 2],
    pub urine_l: f64,
    /// Sets of clothes per person-day.
    pub wears: f64,
    pub meal: f64,
    pub work_w: f64,
    pub lights_wh: f64,
    pub phone_wh: f64,
    pub standing_w: f64,
    pub fridge_w: f64,
    pub panel_factor: f64,
    pub ua: f64,
    pub day_c: f64,
    pub night_c: f64,
    pub alternator_wh: f64,
    pub inverter: f64,
    pub hot_efficiency: f64,
    pub showers: f64,
    pub dishes: f64,
    pub meals: f64,
    pub work_h: f64,
    pub solids: f64,
}

/// What a crew's days are drawn from.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Life {
    /// Moods, weekdays, rhythms of each person.
    Own,
    /// The other simulator's dice: counts by the day for the whole crew, and amounts that scatter
    /// evenly instead of by a bell.
    Even,
    /// Counts by the day for the whole crew, of this variance over mean, 1 or more; no moods.
    Counts(f64),
    /// Everything as often as ever: a shower every second day is one every second day.
    Regular,
}

/// A van with its crew.
#[derive(Clone, Debug)]
pub struct Van {
    pub tanks: Vec<Tank>,
    pub people: Vec<Person>,
    pub panel_w: f64,
    pub cooking: Source,
    pub heating: Source,
    pub hot_water: Source,
    pub says: Numbers,
    pub is: Numbers,
    /// Relative uses by weekday, Monday first: dishes and meals; work.
    pub week: [f64; 7],
    pub workdays: bool,
    /// How often they shower together on the same evening rather than as it comes.
    pub mood_swing: f64,
    pub windy: f64,
    /// What their days are drawn from.
    pub life: Life,
    /// Chance that everyone is out all day, so that nothing is used but by the van itself.
    pub out_all_day: f64,
    /// How much one day's use of everything together differs from another's, over what is usual of
    /// crews; without it each thing has dice of its own.
    pub days_together: Option<f64>,
    /// Whether people do everything at the hours that the forecaster supposes.
    pub usual_hours: bool,
    /// What goes wrong: which tank, from which hour on, and how much a day (signed).
    pub faults: Vec<(Role, usize, f64)>,
    /// From which hour on the panels give only this share: snow, shade, a dead one.
    pub shade: Option<(usize, f64)>,
}

impl Van {
    pub fn place(&self, role: Role) -> Option<usize> {
        self.tanks.iter().position(|tank| tank.role == role)
    }

    /// Draws a van, its crew and what its owner believes of it.
    pub fn new(dice: &mut Dice) -> Van {
        let adults = Van::adults(dice);
        let children = if adults > 1 { dice.pick(&[0, 0, 0, 1, 2]) } else { 0 };
        Van::of(dice, adults, children)
    }

    /// How many adults live in a van.
    pub fn adults(dice: &mut Dice) -> usize {
        dice.pick(&[1, 2, 2, 2, 2, 3])
    }

    /// The same for so many people.
    pub fn of(dice: &mut Dice, adults: usize, children: usize) -> Van {
        let cooking = dice.pick(&[Source::Battery, Source::Gas, Source::Gas, Source::Battery]);
        let mut heating =
            dice.pick(&[Source::Diesel, Source::Diesel, Source::Gas, Source::Nothing]);
        if heating == Source::Gas && cooking != Source::Gas {
            heating = Source::Diesel;
        }
        let hot_water = if dice.chance(0.75) { heating } else { Source::Nothing };
        let says = Van::rig_numbers(dice, cooking, (adults + children) as f64);
        let is = Van::true_numbers(dice, &says);
        let people = (0..adults + children).map(|n| person(dice, &is, n >= adults)).collect();
        let mut week = [1.0; 7];
        week.iter_mut().for_each(|day| *day = dice.factor(0.15));
        let mut van = Van {
            tanks: Vec::new(),
            people,
            panel_w: dice.pick(&[0.0, 200.0, 300.0, 400.0, 400.0, 600.0, 800.0]),
            cooking,
            heating,
            hot_water,
            says,
            is,
            week,
            workdays: dice.chance(0.6),
            mood_swing: dice.between(0.05, 0.35),
            windy: dice.between(0.0, 0.04),
            life: Life::Own,
            out_all_day: 0.0,
            days_together: None,
            usual_hours: false,
            faults: Vec::new(),
            shade: None,
        };
        van.tanks(dice);
        van
    }

    /// A van of the other simulator: other sizes, gauges that are exact to their step, levels read
    /// off without a rig file that knows of a gauge, and a crew that lives by other dice.
    pub fn other(dice: &mut Dice) -> Van {
        let mut van = Van::new(dice);
        van.life = Life::Even;
        van.mood_swing = 0.0;
        van.windy = 0.0;
        van.week = [1.0; 7];
        for tank in &mut van.tanks {
            tank.bias = 0.0;
            tank.capacity = (tank.capacity * dice.between(0.5, 1.7)).round().max(5.0);
            tank.margin = if dice.chance(0.5) { 0.0 } else { (0.1 * tank.capacity).round() };
            if tank.role == Role::Battery {
                tank.margin = (0.2 * tank.capacity).round();
            } else {
                tank.gauge = Gauge::Said(dice.pick(&[0.25, 0.125, 0.1, 0.05]));
            }
        }
        van.panel_w *= dice.between(0.5, 1.5);
        van
    }

    fn tanks(&mut self, dice: &mut Dice) {
        let crew = self.people.len() as f64;
        let roomy = crew.powf(0.6);
        let coarse = [Gauge::Step(0.25), Gauge::Step(0.25), Gauge::Step(0.125), Gauge::Guess];
        let lamps = Gauge::Lamps(&[0.33, 0.66, 1.0]);
        let mut add = |dice: &mut Dice, role, capacity: f64, margin: f64, gauge| {
            let bias = if gauge == Gauge::Guess { 0.0 } else { 0.008 * dice.normal() };
            let capacity = capacity.round().max(4.0);
            let margin = (margin * capacity).round();
            self.tanks.push(Tank { role, capacity, margin, gauge, bias });
        };
        let gauge = dice.pick(&coarse);
        let fresh = dice.between(55.0, 95.0) * roomy;
        add(dice, Role::Fresh, fresh, 0.08, gauge);
        if dice.chance(0.92) {
            let gauge = dice.pick(&[Gauge::Step(0.25), lamps, Gauge::Step(0.125), Gauge::Guess]);
            let grey = fresh * dice.between(0.6, 1.05);
            add(dice, Role::Grey, grey, 0.04, gauge);
        }
        if dice.chance(0.8) {
            let litres = dice.between(9.0, 21.0);
            add(dice, Role::Liquids, litres * roomy.sqrt(), 0.05, Gauge::Guess);
        }
        if dice.chance(0.6) {
            let uses = dice.between(18.0, 45.0);
            add(dice, Role::Solids, uses, 0.0, Gauge::Guess);
        }
        if self.heating == Source::Diesel {
            let gauge = dice.pick(&coarse);
            let litres = dice.between(8.0, 30.0);
            add(dice, Role::Diesel, litres, 0.12, gauge);
        }
        let electric = if self.cooking == Source::Battery { 3600.0 } else { 1700.0 };
        let wh = dice.between(1.0, 2.2) * electric * if self.panel_w == 0.0 { 2.0 } else { 1.0 };
        add(dice, Role::Battery, wh, 0.12, Gauge::Step(0.01));
        if dice.chance(0.6) {
            let days = dice.between(5.0, 12.0);
            add(dice, Role::Food, days * crew, 0.0, Gauge::Guess);
        }
        if self.cooking == Source::Gas {
            let gauge = dice.pick(&[Gauge::Guess, Gauge::Step(0.25)]);
            let kilos = dice.pick(&[2.7, 5.0, 6.0, 11.0]);
            add(dice, Role::Gas, kilos, 0.05, gauge);
        }
        if dice.chance(0.3) {
            let sets = dice.between(8.0, 14.0);
            add(dice, Role::Clothes, sets * crew, 0.0, Gauge::Guess);
        }
    }

    fn rig_numbers(dice: &mut Dice, cooking: Source, crew: f64) -> Numbers {
        Numbers {
            shower_l: 8.0,
            dishes_l: 4.0,
            base_l: 4.4,
            base_grey: 0.43,
            washing_share: [0.95; 2],
            urine_l: 1.2,
            wears: 0.8,
            meal: if cooking == Source::Gas { 0.08 } else { 350.0 },
            work_w: 45.0,
            lights_wh: 40.0,
            phone_wh: 15.0,
            standing_w: 5.0,
            fridge_w: 22.0,
            panel_factor: 0.68,
            ua: (dice.between(20.0, 34.0) * crew.powf(0.25)).round(),
            day_c: 19.0,
            night_c: 14.0,
            alternator_wh: 300.0,
            inverter: 0.9,
            hot_efficiency: 0.75,
            showers: 0.5,
            dishes: 1.5,
            meals: 1.0,
            work_h: 1.5,
            solids: 1.0,
        }
    }

    fn true_numbers(dice: &mut Dice, says: &Numbers) -> Numbers {
        let mut off = |value: f64, spread: f64| value * dice.factor(spread);
        let mut is = Numbers {
            shower_l: off(says.shower_l, 0.3),
            dishes_l: off(says.dishes_l, 0.3),
            base_l: off(says.base_l, 0.3),
            base_grey: says.base_grey,
            washing_share: says.washing_share,
            urine_l: off(says.urine_l, 0.2),
            wears: says.wears,
            meal: off(says.meal, 0.3),
            // What no gauge tells apart stays as wide as the rig file has it, and has to be so wide.
            work_w: off(says.work_w, 0.4),
            lights_wh: off(says.lights_wh, 0.4),
            phone_wh: off(says.phone_wh, 0.4),
            standing_w: off(says.standing_w, 0.5),
            fridge_w: off(says.fridge_w, 0.3),
            panel_factor: says.panel_factor,
            ua: off(says.ua, 0.3),
            day_c: says.day_c,
            night_c: says.night_c,
            alternator_wh: off(says.alternator_wh, 0.25),
            inverter: says.inverter,
            hot_efficiency: says.hot_efficiency,
            showers: off(says.showers, 0.4).min(1.0),
            dishes: dice.pick(&[1.0, 1.0, 1.6, 2.0]),
            meals: dice.between(0.6, 1.4),
            work_h: dice.pick(&[0.0, 0.8, 2.0, 4.0]),
            solids: says.solids,
        };
        is.base_grey = (says.base_grey + 0.07 * dice.normal()).clamp(0.2, 0.65);
        let says_share = says.washing_share[0];
        // Beside the dice, so that all else stays as it was.
        let mut aside = dice.aside();
        let each = [dice.normal(), aside.normal()];
        is.wears = says.wears * aside.factor(0.3);
        is.washing_share = each.map(|normal| (says_share + 0.03 * normal).clamp(0.8, 1.0));
        is.panel_factor = (says.panel_factor + 0.11 * dice.normal()).clamp(0.35, 0.95);
        is.day_c = says.day_c + 1.2 * dice.normal();
        is.night_c = says.night_c + 1.2 * dice.normal();
        is.inverter = dice.between(0.86, 0.93);
        is.hot_efficiency = dice.between(0.65, 0.8);
        is
    }
}

fn person(dice: &mut Dice, is: &Numbers, child: bool) -> Person {
    let size = if child { 0.65 } else { 1.0 };
    let rate = (is.showers * dice.factor(0.2)).clamp(0.1, 1.0);
    let drink = dice.between(0.5, 0.6);
    Person {
        shower_l: is.shower_l * dice.factor(0.2) * size,
        rhythm: match dice.chance(0.5) {
            true => Rhythm::Every((1.0 / rate).clamp(1.0, 5.0)),
            false => Rhythm::Chance(rate),
        },
        drink_l: is.base_l * drink * dice.factor(0.15) * size,
        wash_l: is.base_l * (1.0 - drink) * dice.factor(0.15) * size,
        urine_l: is.urine_l * dice.factor(0.15) * size / 0.85,
        at_van: dice.between(0.72, 0.95),
        solids: dice.between(0.5, 1.5),
        eats: size.sqrt(),
    }
}
