//! Which changes a crew would really consider, read off the rig's own data: its activities and
//! what they take, its heat, its alternator, its containers. Nothing here names a stock or an
//! activity, and nothing proposes to drink less: only what people log as activities is touched,
//! and no limit is ever moved, so every reserve stays what it is.

use super::case::Case;
use super::change::Change;
use super::practice::{
    BURNER_PER_INDUCTION, CONTAINER_L, CONTAINER_USES, COOKING_WH, COOLER_K, GAS_WH_PER_KG,
    JERRYCAN_L, KM_PER_HOUR,
};
use super::proposal::{Named, Proposal};
use crate::domain::{Activity, Direction, Driver, Measure, Moment, Per, Stock, Unit, after_hours};
use crate::mechanism::Flow;
use crate::mechanism::driver::{Source, position};

/// A change or two, before anything is known about what it buys.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What it is.
    pub proposal: Proposal,
    /// What it does.
    pub changes: Vec<Change>,
    /// Offers of one group exclude each other.
    pub group: (Lever, usize),
    /// It burns fuel or makes a fire.
    pub burns: bool,
}

impl Candidate {
    fn of(proposal: Proposal, changes: Vec<Change>, group: (Lever, usize)) -> Candidate {
        Candidate { proposal, changes, group, burns: false }
    }

    fn burning(self) -> Candidate {
        Candidate { burns: true, ..self }
    }
}

/// What an offer is about; with an index of an activity or a stock where there are several.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lever {
    /// How often something is done.
    Often,
    /// How much of it each time.
    Much,
    /// What it is done with.
    With,
    /// Heat.
    Heater,
    /// A drive, a generator.
    Run,
    /// Another camp.
    Move,
    /// More carried.
    Carry,
}

/// Everything that could be tried in this case.
pub fn offers(case: &Case, pressed_until: &dyn Fn(usize) -> f64) -> Vec<Candidate> {
    let parts = &case.beliefs.mechanism.parts;
    let mut offers: Vec<Candidate> = Vec::new();
    for (index, activity) in parts.activities.iter().enumerate() {
        offers.extend(of_activity(case, index, activity));
    }
    offers.extend(heater(case));
    for driver in [Driver::DriveHour, Driver::GeneratorHour] {
        offers.extend(runs(case, driver, pressed_until));
    }
    offers.extend(moves(case));
    for (index, stock) in parts.stocks.iter().enumerate() {
        offers.extend(carried(case, index, stock));
    }
    offers
}

/// Stocks that an activity takes from by itself, with how much at a time.
fn takes(case: &Case, activity: &Activity) -> Vec<(usize, f64)> {
    let parts = &case.beliefs.mechanism.parts;
    let moves = activity.moves.iter().filter_map(|step| match step.measure {
        Measure::Amount { per_time, .. } if per_time < 0.0 => {
            parts.stock(&step.stock).map(|(index, _)| (index, -per_time))
        }
        _ => None,
    });
    moves.collect()
}

/// Whether an activity takes anything, so that doing it less saves something.
pub(super) fn can_be_less(case: &Case, activity: usize) -> bool {
    !takes(case, &case.beliefs.mechanism.parts.activities[activity]).is_empty()
}

fn of_activity(case: &Case, index: usize, activity: &Activity) -> Vec<Candidate> {
    let takes = takes(case, activity);
    let daily = case.beliefs.habits[index].daily_amount(case.aboard());
    if takes.is_empty() || daily <= 0.0 {
        return Vec::new();
    }
    let mut offers = match activity.counted_in {
        Unit::Hour | Unit::Minute => shorter_days(case, index, activity, daily),
        _ => fewer_times(index, activity, daily),
    };
    offers.push(often(index, Proposal::Without(named(activity)), 0.0));
    for (stock, per_time) in takes {
        let kind = &case.beliefs.mechanism.stocks()[stock];
        if is_water(case, stock) {
            let less = Proposal::ThirdLess { activity: named(activity), stock: kind.name.clone() };
            let size = Change::Size { activity: index, factor: 2.0 / 3.0 };
            offers.push(Candidate::of(less, vec![size], (Lever::Much, index)));
        } else if is_counted(activity) && case.beliefs.mechanism.electric == Some(stock) {
            if per_time >= COOKING_WH {
                offers.extend(other_heat(case, index, activity, stock));
            }
        } else if is_counted(activity) && is_fuel(case, stock) {
            let half = vec![Change::Takes { activity: index, stock, factor: 0.5 }];
            let over_fire = Proposal::HalfOverFire(named(activity));
            offers.push(Candidate::of(over_fire, half, (Lever::With, index)).burning());
        }
    }
    offers
}

fn named(activity: &Activity) -> Named {
    Named { one: activity.name.clone(), many: activity.plural.clone() }
}

fn is_counted(activity: &Activity) -> bool {
    matches!(activity.counted_in, Unit::Time | Unit::Use)
}

fn is_volume(unit: &Unit) -> bool {
    unit.converts_to(&Unit::Litre)
}

/// What heats: warming the van or its water, or sold by weight and used up by an
/// activity or base use.
fn is_fuel(case: &Case, stock: usize) -> bool {
    let parts = &case.beliefs.mechanism.parts;
    let kind = &parts.stocks[stock];
    kind.runs == Direction::Down
        && case.beliefs.mechanism.electric != Some(stock)
        && (parts.heats_with(&kind.name) || kind.unit.converts_to(&Unit::Kilogram))
}

pub(super) fn is_water(case: &Case, stock: usize) -> bool {
    let kind = &case.beliefs.mechanism.stocks()[stock];
    kind.runs == Direction::Down && is_volume(&kind.unit) && !is_fuel(case, stock)
}

fn often(activity: usize, proposal: Proposal, factor: f64) -> Candidate {
    Candidate::of(proposal, vec![Change::Rate { activity, factor }], (Lever::Often, activity))
}

fn fewer_times(index: usize, activity: &Activity, daily: f64) -> Vec<Candidate> {
    let often = |proposal, factor| often(index, proposal, factor);
    let mut offers = Vec::new();
    if daily >= 0.75 {
        let fewer = Proposal::FewerEveryTwoDays(named(activity));
        offers.push(often(fewer, (daily - 0.5) / daily));
    }
    if daily > 1.3 {
        let each_person = activity.per == Per::Person;
        let once = Proposal::OnceADay { activity: named(activity), each_person };
        offers.push(often(once, 1.0 / daily));
    }
    offers
}

fn shorter_days(case: &Case, index: usize, activity: &Activity, daily: f64) -> Vec<Candidate> {
    let often = |proposal, factor| often(index, proposal, factor);
    let hours = activity.counted_in.factor_to(&Unit::Hour, None).unwrap_or(1.0) * daily;
    let days = (case.days()).round().max(1.0);
    let mut offers = Vec::new();
    if hours > 1.5 {
        offers.push(often(Proposal::HourLess(named(activity)), (hours - 1.0) / hours));
    }
    if days >= 2.0 {
        let without = Proposal::DayWithout { activity: named(activity), in_days: days };
        offers.push(often(without, 1.0 - 1.0 / days));
    }
    offers
}

/// Cooking with something else than the battery.
fn other_heat(case: &Case, index: usize, activity: &Activity, battery: usize) -> Vec<Candidate> {
    let mechanism = &case.beliefs.mechanism;
    let instead_of = case.name(battery).to_string();
    let over_fire =
        Proposal::OverFire { activity: named(activity), instead_of: instead_of.clone() };
    let none = vec![Change::Takes { activity: index, stock: battery, factor: 0.0 }];
    let offer =
        |proposal, changes| Candidate::of(proposal, changes, (Lever::With, index)).burning();
    let mut offers = vec![offer(over_fire, none)];
    for (used, stock) in mechanism.stocks().iter().enumerate() {
        // A fuel that is already used by hand has a burner; a heater's own tank has none.
        let by_hand = |flow: &Flow| {
            flow.stock == used && flow.scale < 0.0 && flow.source != Source::Activity(index)
        };
        let per_unit = stock.unit.factor_to(&Unit::Kilogram, None).map(|kg| kg * GAS_WH_PER_KG);
        if let Some(wh) = per_unit
            && is_fuel(case, used)
            && mechanism.flows.iter().any(by_hand)
        {
            let ratio = BURNER_PER_INDUCTION / wh;
            let (spared, share) = (battery, 1.0);
            let (activity, stock) = (named(activity), stock.name.clone());
            let on = Proposal::On { activity, stock, instead_of: instead_of.clone() };
            let instead = Change::Instead { activity: index, spared, used, ratio, share };
            offers.push(offer(on, vec![instead]));
        }
    }
    offers
}

fn heater(case: &Case) -> Option<Candidate> {
    case.beliefs.mechanism.factors.heat_loss?;
    let cooler = Proposal::Cooler(-COOLER_K);
    Some(Candidate::of(cooler, vec![Change::Warmth(COOLER_K)], (Lever::Heater, 0)))
}

/// One hour of a driver on the last late morning before it is needed, or every second day.
fn runs(case: &Case, driver: Driver, pressed_until: &dyn Fn(usize) -> f64) -> Vec<Candidate> {
    let mechanism = &case.beliefs.mechanism;
    let gives = |flow: &&Flow| flow.source == Source::Driver(driver) && flow.scale > 0.0;
    let mut given = mechanism.flows.iter().filter(gives).map(|flow| flow.stock);
    let given = given.find(|stock| mechanism.stocks()[*stock].runs == Direction::Down);
    let Some(stock) = given else { return Vec::new() };
    let (mornings, needed) = (case.hours_at(11), pressed_until(stock));
    let in_time = mornings.iter().rev().find(|h| (**h as f64) + 1.0 < needed);
    // Where it is out before any late morning, this evening is the time, if it is not night yet.
    let soon = case.from_hour + 1;
    let awake = |hour: &usize| (8..21).contains(&case.scene.hours[*hour].hour);
    let soon = Some(&soon).filter(|soon| **soon < case.scene.hours.len() && awake(soon));
    let Some(last) = in_time.or(soon).or(mornings.first()) else { return Vec::new() };
    let one = |hour: usize| {
        let mut changes = vec![Change::Run { driver, hour, amount: 1.0 }];
        if driver == Driver::DriveHour {
            changes.push(Change::Run { driver: Driver::DriveKm, hour, amount: KM_PER_HOUR });
        }
        changes
    };
    let (group, burns) = ((Lever::Run, position(driver)), driver == Driver::GeneratorHour);
    let offer = |proposal, changes| Candidate { proposal, changes, group, burns };
    let mut offers = vec![offer(Proposal::RunOn(driver, case.moment(*last)), one(*last))];
    if mornings.len() >= 3 {
        let all = mornings.iter().step_by(2).flat_map(|hour| one(*hour)).collect();
        offers.push(offer(Proposal::RunEverySecondDay(driver), all));
    }
    offers
}

fn moves(case: &Case) -> Option<Candidate> {
    case.beliefs.mechanism.stocks().iter().find(|stock| stock.reset_by_camp)?;
    let noons = case.hours_at(12);
    let hour = *noons.get(noons.len() / 2)?;
    let on = Proposal::MoveOn(case.moment(hour));
    Some(Candidate::of(on, vec![Change::Move { hour }], (Lever::Move, 0)))
}

fn carried(case: &Case, index: usize, stock: &Stock) -> Option<Candidate> {
    let litres = Unit::Litre.factor_to(&stock.unit, None);
    let name = || stock.name.clone();
    let container = |amount: f64, unit: Unit| Proposal::Container { stock: name(), amount, unit };
    let (proposal, amount) = match (stock.runs, litres) {
        _ if stock.reset_by_camp => return None,
        (Direction::Down, Some(factor)) if is_water(case, index) => {
            (Proposal::Jerrycan { stock: name(), litres: JERRYCAN_L }, JERRYCAN_L * factor)
        }
        (Direction::Up, Some(factor)) => {
            (container(CONTAINER_L, Unit::Litre), CONTAINER_L * factor)
        }
        (Direction::Up, None) if stock.unit == Unit::Use => {
            (container(CONTAINER_USES, Unit::Use), CONTAINER_USES)
        }
        _ => return None,
    };
    Some(Candidate::of(
        proposal,
        vec![Change::Carry { stock: index, amount }],
        (Lever::Carry, index),
    ))
}

impl Case {
    /// People aboard as the stretch begins.
    pub fn aboard(&self) -> f64 {
        self.scene.hours.get(self.from_hour).map_or(0.0, |hour| hour.aboard)
    }

    /// Length of the stretch, in days of 24 hours.
    pub fn days(&self) -> f64 {
        (self.until_hours - self.from_hour as f64) / 24.0
    }

    /// Indices of the hours of the stretch at that civil hour.
    pub(super) fn hours_at(&self, civil: usize) -> Vec<usize> {
        let until = (self.until_hours as usize).min(self.scene.hours.len());
        (self.from_hour..until).filter(|h| self.scene.hours[*h].hour == civil).collect()
    }

    fn name(&self, stock: usize) -> &str {
        &self.beliefs.mechanism.stocks()[stock].name
    }

    /// The middle of an hour.
    pub(super) fn moment(&self, hour: usize) -> Moment {
        after_hours(self.scene.now, hour as f64 + 0.5).unwrap_or(self.scene.now)
    }
}
