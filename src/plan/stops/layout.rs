//! Lays a trip out: runs the lives from every time at which one can stop.

use super::model::{Puts, TripInputs, TripModel, allowed, stay, whole};
use super::problem::{Bits, Problem};
use super::{ahead, places, visits};
use crate::domain::{Direction, Stock, hours_between};
use crate::forecast::variants::{Variant, VariantLives};
use crate::plan::Basis;
use crate::plan::case::Case;
use crate::plan::change::Change;
use crate::plan::practice::{HURRY, LAST_HOUR_TODAY, OPENS, STOP_HOUR};
use crate::plan::stock_set::StockSet;
use chrono::{Duration, NaiveTime, Timelike};
use std::cell::RefCell;

/// Seed of the lives on which a schedule is chosen: the same whatever is asked, so that the same
/// question at another seed is the same schedule, tried on other lives.
pub(super) const CHOSEN: u64 = 0x5eed_f00d;

impl<'a> TripModel<'a> {
    /// Runs the lives on which a schedule is chosen, with so much more carried of some stocks, empty
    /// now: `(stock, amount)`.
    pub(super) fn of(asked: TripInputs<'a>, spares: Vec<(usize, f64)>) -> TripModel<'a> {
        let mut case = Case::of(&asked.basis, &stay(asked.request), 0);
        case.seed = CHOSEN;
        let Case { scene, beliefs, .. } = &mut case;
        scene.drive_to_planned_stops(asked.basis.standing, beliefs);
        for (stock, amount) in &spares {
            Change::Carry { stock: *stock, amount: *amount }.apply(beliefs, scene);
        }
        TripModel { spares, ..TripModel::of_case(asked, case) }
    }

    /// The same for lives that are laid out already, with nothing more carried.
    pub(super) fn of_case(asked: TripInputs<'a>, case: Case) -> TripModel<'a> {
        let same = case.clone();
        TripModel::laid_out(asked, case, &same)
    }

    /// The same where the lives on which a schedule is chosen are those of another case: one that drives.
    pub(super) fn laid_out(asked: TripInputs<'a>, case: Case, lives: &Case) -> TripModel<'a> {
        let hours = slots(&asked.basis, &case, asked.request.days);
        // One track per slot: everything serviced there, and looked at again at the next.
        let everything: StockSet = (0..case.beliefs.mechanism.stocks().len()).collect();
        let track = |slot: usize| Variant {
            from: hours[slot].round() as usize,
            puts: if slot == 0 { Vec::new() } else { whole(&case, hours[slot], &everything) },
            mark: Some((hours[slot + 1].round() as usize).saturating_sub(1)),
        };
        let tracks: Vec<Variant> = (0..hours.len() - 1).map(track).collect();
        let lives = lives.run(&tracks);
        let steps: Vec<_> = lives.iter().map(|lives| used_of(&case, lives)).collect();
        let mut model = TripModel {
            asked,
            zone: asked.basis.zone(),
            problem: Problem {
                slots: hours.len(),
                stocks: everything.len(),
                electric: case.beliefs.mechanism.electric,
                lives: case.lives,
                allowed: allowed(case.lives, asked.request.confidence),
                ..Problem::default()
            },
            hours,
            passages: Vec::new(),
            spares: Vec::new(),
            burnt: None,
            steps,
            excused: Puts::new(),
            compared: RefCell::default(),
            case,
        };
        model.problem.used = model.used(&lives[0].first);
        let first = lives[0].first.clone();
        model.passages = lives.into_iter().map(|lives| lives.passages).collect();
        model.problem.fails = model.fails();
        model.problem.given = ahead::given(&model);
        model.problem.visits = visits::visits(&model, &first);
        model
    }

    /// As [`Problem::fails`].
    fn fails(&self) -> Vec<Vec<Vec<Bits>>> {
        let slots = self.problem.slots;
        let row = |stock: usize, from: usize| -> Vec<Bits> {
            let lost = |to| self.before(to, &self.passages[from][stock]);
            (0..slots).map(|to| if to > from { lost(to) } else { Bits::new() }).collect()
        };
        let of = |stock: usize| (0..slots - 1).map(|from| row(stock, from)).collect();
        (0..self.problem.stocks).map(of).collect()
    }

    /// Expected use up to each slot, with what is missing now: means add up, medians do not.
    fn used(&self, first: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let mean = |values: &[f64]| values.iter().sum::<f64>() / values.len().max(1) as f64;
        let stocks = self.case.beliefs.mechanism.stocks();
        let of = |stock: usize| {
            let mut sum = (mean(&first[stock]) - stocks[stock].serviced_level()).abs();
            let mut used = vec![sum];
            for steps in &self.steps {
                sum += mean(&steps[stock]);
                used.push(sum);
            }
            used
        };
        (0..self.problem.stocks).map(of).collect()
    }
}

/// What each life uses of each stock in the hours of a track, in the stock's unit; 0 up.
fn used_of(case: &Case, lives: &VariantLives) -> Vec<Vec<f64>> {
    let stocks = case.beliefs.mechanism.stocks().iter().enumerate();
    let of = |(stock, kind): (usize, &Stock)| {
        let way = if kind.runs == Direction::Down { 1.0 } else { -1.0 };
        let of = lives.first[stock].iter().zip(&lives.marked[stock]);
        of.map(|(first, marked)| (way * (first - marked)).max(0.0)).collect()
    };
    stocks.map(of).collect()
}

/// Hours from now of all slots.
fn slots(basis: &Basis, case: &Case, days: u32) -> Vec<f64> {
    let (zone, now) = (basis.zone(), basis.now);
    let usual = NaiveTime::from_hms_opt(STOP_HOUR, 0, 0).unwrap_or_default();
    let offering = basis.rig.places.iter().filter(|p| p.offers_anything());
    let times = places::stop_times(offering, usual);
    let soon = zone.here(now + Duration::hours(1));
    let opens = NaiveTime::from_hms_opt(OPENS, 0, 0).unwrap_or_default();
    let safe = case.limits().safe_hours(HURRY);
    let mut hours: Vec<f64> = vec![0.0];
    // Where the van stands, what there is can be had at once, at any hour at which it is open.
    let camp = &case.beliefs.timeline.camp(now).name;
    let here = basis.rig.places.iter().find(|place| place.name == *camp);
    if here.is_some_and(|place| place.offers_anything() && places::can_stop(place, zone, soon)) {
        hours.push(hours_between(now, soon));
    }
    let first = hours.len();
    for day in 0..i64::from(days) {
        for time in &times {
            let mut at = zone.moment((zone.date(now) + Duration::days(day)).and_time(*time));
            if at < soon {
                at = soon;
                let known = hours.len() > 1;
                if known || zone.date(at) != zone.date(now) || at.hour() > LAST_HOUR_TODAY {
                    continue;
                }
            }
            // Where the first one is too late, one may go as soon as places open.
            let early = zone.moment(zone.date(at).and_time(opens)).max(soon);
            let later = early > soon || first == 1;
            if hours.len() == first && later && safe < hours_between(now, at) && early < at {
                hours.push(hours_between(now, early));
            }
            // Lives are stepped by the hour: two times in one hour are an hour apart.
            let at = hours_between(now, at).max(hours[hours.len() - 1].round() + 0.5);
            if at < case.until_hours {
                hours.push(at);
            }
        }
    }
    hours.push(case.until_hours);
    hours
}
