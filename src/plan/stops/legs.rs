//! The ways that one may go at a time: to one place and back, or on to others that lie near it.
//!
//! Water, a drain and a shop are often three places in one village, and nobody drives home between
//! them. Places are joined where the way through all of them is hardly longer than the way to the
//! farthest, and where each sees to something that the others do not. The van stays on a hook-up at
//! the last of them alone, as nobody knows before how long that takes.

use super::model::TripModel;
use super::places;
use super::problem::{Leg, NextPlace};
use crate::domain::timeline::Camp;
use crate::domain::{Moment, Place};
use crate::plan::practice::{AT_A_PLACE_H, AT_HAND_KM, DETOUR_KM, SAME_KM};
use crate::plan::road::{self, Drive};
use crate::plan::stock_set::StockSet;
use chrono::Duration;
use std::collections::BTreeMap;

/// Places of one drive at most.
const MOST_PLACES: usize = 4;
/// Ways through so many places that are kept at most, the shortest first: more take time to search.
const MOST_WAYS: usize = 24;

/// Where the van camps when it sets out for a stop, and where it goes then.
pub(super) fn camps<'a>(model: &'a TripModel, at: Moment) -> [&'a Camp; 2] {
    [-1, 10].map(|hours| model.case.beliefs.timeline.camp(at + Duration::hours(hours)))
}

/// What there is to drive to at a slot.
pub(super) struct Country<'a> {
    pub model: &'a TripModel<'a>,
    pub slot: usize,
    pub at: Moment,
    /// Where one sets out, and where one goes then: degrees north and east.
    pub camps: [(f64, f64); 2],
    /// What each place of the rig sees to.
    pub offers: Vec<StockSet>,
}

impl<'a> Country<'a> {
    /// What there is to drive to at a slot for these services of its places; `None` past chrono's range.
    pub(super) fn at(
        model: &'a TripModel,
        slot: usize,
        offers: Vec<StockSet>,
    ) -> Option<Country<'a>> {
        let at = model.moment(slot)?;
        let camps = camps(model, at).map(|camp| (camp.latitude, camp.longitude));
        Some(Country { model, slot, at, camps, offers })
    }

    /// Every way worth a thought, with what is seen to on it.
    pub(super) fn legs(&self) -> Vec<(Leg, StockSet)> {
        let mut longest: Vec<Leg> =
            (0..self.offers.len()).filter_map(|place| self.to_one(place)).collect();
        let mut all = longest.clone();
        for _ in 1..MOST_PLACES {
            let places = 0..self.offers.len();
            let further = longest.iter().flat_map(|leg| {
                let on = places.clone().filter_map(|place| self.through(leg, place));
                on.collect::<Vec<_>>()
            });
            longest = self.shortest(further.collect());
            all.extend(longest.clone());
        }
        all.into_iter().map(|leg| (self.shared_out(&leg), self.served(&leg))).collect()
    }

    /// The way through the same places on which a stock is seen to soonest, where that is hardly longer:
    /// nobody runs errands while the water is out.
    pub(super) fn soonest(&self, leg: &Leg, stock: usize) -> Leg {
        let places: Vec<usize> = leg.places().collect();
        let mut ways: Vec<Leg> = places.iter().filter_map(|place| self.to_one(*place)).collect();
        for _ in 1..places.len() {
            let further = ways.iter().flat_map(|way| {
                let on = places.iter().filter_map(|place| self.through(way, *place));
                on.collect::<Vec<_>>()
            });
            ways = further.collect();
        }
        let as_good =
            |way: &Leg| way.km < leg.km + SAME_KM && self.served(way).covers(&self.served(leg));
        let ways = ways.iter().filter(|way| as_good(way)).map(|way| self.shared_out(way));
        let key = |way: &Leg| (way.until(way.place_for(stock)), way.km);
        let sooner = |one: &Leg, other: &Leg| {
            let ((one, near), (other, far)) = (key(one), key(other));
            one.total_cmp(&other).then(near.total_cmp(&far))
        };
        ways.min_by(sooner).unwrap_or_else(|| leg.clone())
    }

    fn place(&self, index: usize) -> &Place {
        &self.model.asked.basis.rig.places[index]
    }

    /// There and on.
    fn ways(&self, index: usize) -> [Drive; 2] {
        self.camps.map(|camp| road::way(camp, self.place(index)))
    }

    /// There and back; `None` where nothing is seen to, or it is too far or closed.
    fn to_one(&self, index: usize) -> Option<Leg> {
        let [there, on] = self.ways(index);
        let place = self.place(index);
        let open = places::can_stop(place, self.model.zone, self.at);
        // Nobody drives off in the night for what can wait until a place is seen by day.
        let says = place.opens.is_some() || place.closes.is_some();
        let by_day = says || there.km < AT_HAND_KM || places::is_by_day(&self.model.zone, self.at);
        let reachable = by_day && self.model.hours[self.slot] >= there.hours;
        let (km, hours) = (there.km + on.km, there.hours + on.hours);
        let leg = Leg { place: index, onward: Vec::new(), km, there, on, hours };
        (open && reachable && !self.offers[index].is_empty()).then_some(leg)
    }

    /// A way that leads on to one more place; `None` where that is no use, too far or closed by then.
    fn through(&self, leg: &Leg, index: usize) -> Option<Leg> {
        if leg.places().any(|known| known == index) || self.offers[index].is_empty() {
            return None;
        }
        let way = road::between(self.place(leg.last()), self.place(index));
        // People say such times to the quarter of an hour.
        let after = ((leg.after() + AT_A_PLACE_H + way.hours) * 4.0).ceil() / 4.0;
        let on = road::way(self.camps[1], self.place(index));
        let km = leg.km - leg.on.km + way.km + on.km;
        let hours = leg.hours - leg.on.hours + way.hours + on.hours;
        let mut onward = leg.onward.clone();
        onward.push(NextPlace { place: index, way, after, serves: StockSet::default() });
        let through = Leg { onward, km, on, hours, ..leg.clone() };
        let alone = |place| self.ways(place).map(|way| way.km).iter().sum::<f64>();
        let farthest = through.places().map(alone).fold(0.0, f64::max);
        let near = km <= farthest + DETOUR_KM * through.onward.len() as f64;
        let there = self.at + Duration::minutes((after * 60.0).round() as i64);
        let open = places::can_stop(self.place(index), self.model.zone, there);
        (near && open && self.each_is_of_use(&through)).then_some(through)
    }

    /// What a place sees to where it is on the way: the hook-up at the last alone.
    fn offered(&self, leg: &Leg, place: usize) -> StockSet {
        let electric: StockSet = self.model.electric().into_iter().collect();
        match place == leg.last() {
            true => self.offers[place].clone(),
            false => self.offers[place].without(&electric),
        }
    }

    fn served(&self, leg: &Leg) -> StockSet {
        self.served_at(leg, leg.places())
    }

    fn served_at(&self, leg: &Leg, places: impl Iterator<Item = usize>) -> StockSet {
        let mut all = StockSet::default();
        places.for_each(|place| all.add_all(&self.offered(leg, place)));
        all
    }

    /// Whether each place sees to something that the others do not.
    fn each_is_of_use(&self, leg: &Leg) -> bool {
        let by_others =
            |place: usize| self.served_at(leg, leg.places().filter(|other| *other != place));
        leg.places().all(|place| !by_others(place).covers(&self.offered(leg, place)))
    }

    /// The shortest way of each set of places that sees to the same, and of those the shortest.
    fn shortest(&self, legs: Vec<Leg>) -> Vec<Leg> {
        let mut best: BTreeMap<(Vec<usize>, Vec<usize>), Leg> = BTreeMap::new();
        for leg in legs {
            let mut through: Vec<usize> = leg.places().collect();
            through.sort_unstable();
            let kept = best.entry((through, self.served(&leg).iter().collect()));
            kept.and_modify(|kept| {
                if leg.km < kept.km {
                    kept.clone_from(&leg);
                }
            })
            .or_insert(leg);
        }
        let mut all: Vec<Leg> = best.into_values().collect();
        all.sort_by(|a, b| a.km.total_cmp(&b.km));
        all.truncate(MOST_WAYS);
        all
    }

    /// The way with what is seen to at each further place rather than before: what no place before it
    /// offers, or sells for more.
    fn shared_out(&self, leg: &Leg) -> Leg {
        let parts = &self.model.case.beliefs.mechanism.parts;
        let price = |place: usize, stock: usize| {
            let prices = &self.place(place).prices;
            let name = &parts.stocks[stock].name;
            prices.iter().find(|(n, _)| n.eq_ignore_ascii_case(name)).map_or(0.0, |(_, each)| *each)
        };
        let where_to = |stock: usize| {
            let offering = leg.places().filter(|place| self.offered(leg, *place).has(stock));
            offering.min_by(|a, b| price(*a, stock).total_cmp(&price(*b, stock)))
        };
        let mut shared = leg.clone();
        for onward in &mut shared.onward {
            let own = self.offered(leg, onward.place);
            onward.serves = own.iter().filter(|s| where_to(*s) == Some(onward.place)).collect();
        }
        shared
    }
}
