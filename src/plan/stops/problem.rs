//! What is searched: a row of times, visits at them, and how long every stock lasts, life by life.
//!
//! Time is a row of *slots*: slot 0 is now, the last one the end. At a slot one may pay a
//! [`Visit`] to a place, which services some stocks. In each life the hour at which a stock meets
//! its limit depends only on the slot of its last service. A schedule therefore fails in the
//! lives in which, for some stock, a service is followed by the limit before the next one. Those
//! lives are a set per stock, slot served and slot reached, and the lives that a schedule loses
//! are the union over its intervals: exact for these lives, stocks counted jointly.

use crate::plan::road::Drive;
use crate::plan::stock_set::StockSet;

/// Sets of lives, 64 to a word.
pub(super) type Bits = Vec<u64>;

/// Number of lives in a set.
pub(super) fn count(bits: &[u64]) -> usize {
    bits.iter().map(|word| word.count_ones() as usize).sum()
}

/// Adds the lives of another set.
pub(super) fn join(bits: &mut [u64], more: &[u64]) {
    bits.iter_mut().zip(more).for_each(|(bits, more)| *bits |= more);
}

/// A further place of one drive.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct NextPlace {
    /// Index of the place among the rig's.
    pub place: usize,
    /// The way from the place before it.
    pub way: Drive,
    /// Hours from the first place's time on at which one is there.
    pub after: f64,
    /// Stocks that are seen to here rather than at another place of the drive.
    pub serves: StockSet,
}

/// The way to a place, to further ones near it, and on.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Leg {
    /// Index of the first place among the rig's.
    pub place: usize,
    /// Those after it, in order.
    pub onward: Vec<NextPlace>,
    /// Driving there and on, in km.
    pub km: f64,
    /// The way there.
    pub there: Drive,
    /// The way on, or back, from the last place.
    pub on: Drive,
    /// Hours of driving there and on.
    pub hours: f64,
}

impl Leg {
    /// All its places, in order, by their index among the rig's.
    pub(super) fn places(&self) -> impl Iterator<Item = usize> {
        [self.place].into_iter().chain(self.onward.iter().map(|onward| onward.place))
    }

    /// The last place.
    pub(super) fn last(&self) -> usize {
        self.onward.last().map_or(self.place, |onward| onward.place)
    }

    /// Hours from the first place's time on at which one is at the last.
    pub(super) fn after(&self) -> f64 {
        self.onward.last().map_or(0.0, |onward| onward.after)
    }

    /// Hours from the first place's time on at which one is at another of them.
    pub(super) fn until(&self, place: usize) -> f64 {
        self.onward.iter().find(|onward| onward.place == place).map_or(0.0, |onward| onward.after)
    }

    /// The place at which a stock is seen to.
    pub(super) fn place_for(&self, stock: usize) -> usize {
        let further = self.onward.iter().find(|onward| onward.serves.has(stock));
        further.map_or(self.place, |onward| onward.place)
    }
}

/// A chance to stop.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Visit {
    /// Its slot, at least 1.
    pub slot: usize,
    /// Hours from now at which one sets out for it, and is back or free to go on.
    pub away: (f64, f64),
    /// Where it leads.
    pub leg: Leg,
    /// Stocks that it services.
    pub serves: StockSet,
    /// What it costs, whatever is taken.
    pub cost: f64,
    /// What a unit of some of the stocks that it services costs: `(stock, price)`, at least 0.
    pub prices: Vec<(usize, f64)>,
    /// What its drives charge: the slot of a whole service that leaves the electric store about as
    /// full, by the slot of its last one. Empty where they charge nothing.
    pub charge: Vec<u16>,
}

impl Visit {
    /// Whether no unit costs more here than there, whatever is needed.
    fn is_no_dearer(&self, than: &Visit) -> bool {
        self.prices.iter().all(|(stock, price)| {
            than.prices.iter().any(|(other, dearer)| other == stock && price <= dearer)
        })
    }

    /// Whether one is back from it in time for a later one.
    pub(super) fn allows(&self, later: &Visit) -> bool {
        self.away.1 <= later.away.0 + 1e-9
    }

    /// Whether it makes another one at the same slot pointless: at least the same services for no
    /// more places, driving and cost.
    fn covers(&self, other: &Visit) -> bool {
        other.slot == self.slot
            && self.serves.covers(&other.serves)
            && self.leg.km <= other.leg.km
            && self.leg.onward.len() <= other.leg.onward.len()
            && self.cost <= other.cost
            && self.is_no_dearer(other)
            && self.away.0 >= other.away.0
            && self.away.1 <= other.away.1
            && (self.serves.covers(&other.serves) && other.charge.is_empty()
                || self.charge.len() == other.charge.len()
                    && self.charge.iter().zip(&other.charge).all(|(ours, theirs)| ours >= theirs))
    }
}

/// What is done at a slot.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Done {
    /// Stocks serviced all the way.
    pub stocks: StockSet,
    /// As [`Visit::charge`].
    pub charge: Vec<u16>,
}

/// What is searched.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Problem {
    /// Slots, slot 0 and the end included.
    pub slots: usize,
    /// Number of stocks.
    pub stocks: usize,
    /// The one that drives charge, if any does.
    pub electric: Option<usize>,
    /// Number of lives.
    pub lives: usize,
    /// Lives that may be lost.
    pub allowed: usize,
    /// `fails[stock][served][reached]`: lives in which the stock, served at slot `served`, meets
    /// its limit before slot `reached`; growing with `reached`. The last slot is the end.
    pub fails: Vec<Vec<Vec<Bits>>>,
    /// Chances to stop.
    pub visits: Vec<Visit>,
    /// Stocks serviced at each slot anyway: what is planned already.
    pub given: Vec<StockSet>,
    /// What is expected to be used up to each slot, on top of what a service would bring at slot
    /// 0: `[stock][slot]`; empty where nothing has a price.
    pub used: Vec<Vec<f64>>,
}

impl Problem {
    /// The last slot, which is the trip's end and no time to stop.
    pub(super) fn end(&self) -> usize {
        self.slots - 1
    }

    /// No life.
    pub(super) fn no_lives(&self) -> Bits {
        vec![0; self.lives.div_ceil(64)]
    }

    /// What a visit costs when each stock was last serviced at these slots.
    pub(super) fn bill(&self, visit: &Visit, last: impl Fn(usize) -> usize) -> f64 {
        let units = visit.prices.iter().filter(|(stock, _)| !self.given[visit.slot].has(*stock));
        let units = units.map(|(stock, price)| {
            let Some(used) = self.used.get(*stock) else { return 0.0 };
            let from = last(*stock);
            // Slot 0 is now, when nothing is serviced yet.
            let before = if from == 0 { 0.0 } else { used[from] };
            price * (used[visit.slot] - before).max(0.0)
        });
        visit.cost + units.sum::<f64>()
    }

    /// What a schedule costs. What drives have charged need not be paid for.
    pub(super) fn cost(&self, visits: &[usize]) -> f64 {
        let done = self.done(self.made(visits));
        let mut last = vec![0; self.stocks];
        let mut sum = 0.0;
        for (slot, done) in done.iter().enumerate().skip(1) {
            for (visit, _) in self.made(visits).filter(|(visit, _)| visit.slot == slot) {
                sum += self.bill(visit, |stock| last[stock]);
            }
            done.stocks.iter().for_each(|stock| last[stock] = slot);
            if let Some(electric) = self.electric
                && let Some(like) = done.charge.get(last[electric])
            {
                last[electric] = last[electric].max(usize::from(*like));
            }
        }
        sum
    }

    /// Visits with all that they see to.
    pub(super) fn made<'a>(
        &'a self,
        visits: &'a [usize],
    ) -> impl Iterator<Item = (&'a Visit, &'a StockSet)> {
        visits.iter().map(|visit| &self.visits[*visit]).map(|visit| (visit, &visit.serves))
    }

    /// What is done at each slot: what is given, and visits, each with the services made there.
    pub(super) fn done<'a>(
        &self,
        visits: impl Iterator<Item = (&'a Visit, &'a StockSet)>,
    ) -> Vec<Done> {
        let given = self.given.iter();
        let mut all: Vec<Done> =
            given.map(|given| Done { stocks: given.clone(), ..Done::default() }).collect();
        for (visit, serves) in visits {
            all[visit.slot].stocks.add_all(serves);
            all[visit.slot].charge.clone_from(&visit.charge);
        }
        all
    }

    /// Closes the intervals that end at a slot: `last` are the slots of the last services, lives
    /// lost join `lost`.
    pub(super) fn close(&self, done: &Done, slot: usize, last: &mut [u16], lost: &mut Bits) {
        for stock in done.stocks.iter() {
            self.close_one(stock, [slot, slot], last, lost);
        }
        self.close_charged(&done.charge, slot, last, lost);
    }

    /// Drives leave the electric store as full as a whole service did at some slot before; what
    /// has been serviced here is as full already.
    pub(super) fn close_charged(
        &self,
        charge: &[u16],
        slot: usize,
        last: &mut [u16],
        lost: &mut Bits,
    ) {
        if let Some(electric) = self.electric
            && let Some(like) = charge.get(usize::from(last[electric]))
        {
            self.close_one(electric, [slot, usize::from(*like)], last, lost);
        }
    }

    /// Closes a stock's interval at `slot`, which leaves it as a service at slot `like` would have.
    pub(super) fn close_one(
        &self,
        stock: usize,
        [slot, like]: [usize; 2],
        last: &mut [u16],
        lost: &mut Bits,
    ) {
        let from = usize::from(last[stock]);
        if like > from {
            join(lost, &self.fails[stock][from][slot]);
            last[stock] = like as u16;
        }
    }

    /// Lives lost when so much is done at each slot; `lost` is room for them.
    pub(super) fn lost_into(&self, done: &[Done], lost: &mut Bits) -> usize {
        lost.iter_mut().for_each(|word| *word = 0);
        let mut last = vec![0u16; self.stocks];
        for (slot, done) in done.iter().enumerate().take(self.end()).skip(1) {
            self.close(done, slot, &mut last, lost);
        }
        for (stock, last) in last.into_iter().enumerate() {
            join(lost, &self.fails[stock][usize::from(last)][self.end()]);
        }
        count(lost)
    }

    /// Lives lost by visits, each with the services made there.
    pub(super) fn lost<'a>(
        &self,
        visits: impl Iterator<Item = (&'a Visit, &'a StockSet)>,
    ) -> usize {
        self.lost_into(&self.done(visits), &mut self.no_lives())
    }

    /// Lives lost by visits, all that they service made.
    pub(super) fn lost_by(&self, visits: &[usize]) -> usize {
        self.lost(self.made(visits))
    }

    /// Whether all these visits can be paid, each after one is back from the one before.
    pub(super) fn can_be_paid(&self, visits: &[usize]) -> bool {
        let mut all: Vec<&Visit> = visits.iter().map(|visit| &self.visits[*visit]).collect();
        all.sort_by_key(|visit| visit.slot);
        all.windows(2).all(|two| two[0].allows(two[1]))
    }

    /// Whether one of these visits, in any order, leaves room for all others.
    pub(super) fn fits(&self, visits: &[usize], n: usize) -> bool {
        let own = &self.visits[visits[n]];
        visits.iter().enumerate().all(|(k, visit)| {
            let other = &self.visits[*visit];
            let [first, then] = if other.slot < own.slot { [other, own] } else { [own, other] };
            k == n || first.allows(then)
        })
    }

    /// Visits per slot, without those that another one there makes pointless.
    pub(super) fn useful_visits(&self) -> Vec<Vec<usize>> {
        let mut by_slot: Vec<Vec<usize>> = vec![Vec::new(); self.slots];
        for (index, visit) in self.visits.iter().enumerate() {
            let beaten = self.visits.iter().enumerate().any(|(other, by)| {
                // Of two that cover each other, the first stays.
                other != index && by.covers(visit) && (other < index || !visit.covers(by))
            });
            if !beaten && !visit.serves.is_empty() && visit.slot < self.end() {
                by_slot[visit.slot].push(index);
            }
        }
        by_slot
    }

    /// The same trip, ending at an earlier slot.
    pub(super) fn until(&self, end: usize) -> Problem {
        let fails = self.fails.iter().map(|of| {
            of.iter().take(end).map(|to| to.iter().take(end + 1).cloned().collect()).collect()
        });
        let mut problem = Problem { fails: fails.collect(), slots: end + 1, ..self.clone() };
        problem.given.truncate(end + 1);
        problem
    }
}

/// A schedule.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Schedule {
    /// Indices into [`Problem::visits`], in order of slots.
    pub visits: Vec<usize>,
    /// Lives lost.
    pub lost: usize,
    /// Driving, in km.
    pub km: f64,
    /// Cost.
    pub cost: f64,
    /// Whether this is the optimum for certain.
    pub exact: bool,
}

/// The caller gave up waiting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cancelled;

/// Looks on while a search is at it.
pub(super) trait Watch {
    /// Whether nobody waits any more; asked again and again.
    fn cancelled(&self) -> bool;

    /// A schedule was found, perhaps not the best.
    fn found(&self, _found: &Schedule) {}
}

impl<F: Fn() -> bool> Watch for F {
    fn cancelled(&self) -> bool {
        self()
    }
}
