//! What a change of kit leaves of what was learned: only what changed starts anew.

use super::past::Past;
use super::practice::ENSEMBLE_DAYS;
use crate::domain::{Moment, Parts, Rig};
use crate::mechanism::Mechanism;
use chrono::{Duration, NaiveDate, NaiveTime};
use std::borrow::Cow;

/// The coefficients of `now`, by index, that start anew on a day.
pub(super) fn starting_anew(rig: &Rig, day: NaiveDate, now: &Mechanism) -> Vec<usize> {
    let [eve, then] = [day - Duration::days(1), day].map(|day| Mechanism::of(&rig.parts_on(day)));
    let anew = |index: &usize| {
        let place = |of: &Mechanism| {
            of.coefficients.iter().position(|c| c.what == now.coefficients[*index].what)
        };
        match place(&then) {
            Some(own) => then.goes_on_from(own, &eve).is_none(),
            None => place(&eve).is_some(),
        }
    };
    (0..now.coefficients.len()).filter(anew).collect()
}

/// Since when each coefficient has been learned: the start of memory, or the last day on which it
/// started anew. The battery's own are learned in a shorter past.
pub(super) fn learned_since(past: &Past, now: &Mechanism) -> Vec<Moment> {
    let memory = past.now - Duration::days(ENSEMBLE_DAYS as i64);
    let first = |electric_only: bool| if electric_only { memory.max(past.from) } else { past.from };
    let mut since: Vec<Moment> =
        now.coefficients.iter().map(|coefficient| first(coefficient.electric_only)).collect();
    for day in past.rig.days_changed(Parts::clone) {
        let begins = midnight(past, day);
        if begins > past.from && begins <= past.now {
            for index in starting_anew(past.rig, day, now) {
                since[index] = since[index].max(begins);
            }
        }
    }
    since
}

/// The kit of the battery from an hour of the past on.
pub(super) struct BatteryEra<'a> {
    /// Index of that hour.
    pub first: usize,
    /// The parts of now with the battery, its kit and the heating of then.
    pub mechanism: Cow<'a, Mechanism>,
}

/// The eras of a battery that is there now, oldest first, the last one with `now` itself. What was
/// read on another battery by that name, or in another unit, says nothing about this one.
pub(super) fn eras<'a>(past: &Past, now: &'a Mechanism, electric: usize) -> Vec<BatteryEra<'a>> {
    let store = &now.stocks()[electric];
    let kit = |parts: &Parts| {
        let stock = parts.stock(&store.name).map(|(_, stock)| stock.clone());
        (stock, parts.electrics.clone(), parts.heating.clone())
    };
    let (first, today) = (past.zone.date(past.from), past.zone.date(past.now));
    let changes = past.rig.days_changed(kit).into_iter();
    let days = std::iter::once(first).chain(changes.filter(|day| *day > first && *day <= today));
    let mut eras: Vec<BatteryEra> = Vec::new();
    for day in days {
        let (stock, electrics, heating) = kit(&past.rig.parts_on(day));
        let begins = (midnight(past, day) - past.from).num_minutes().max(0) as usize / 60;
        let same = electrics.as_ref().is_some_and(|e| e.store == store.name);
        let Some(stock) = stock.filter(|stock| same && stock.unit == store.unit) else {
            eras.clear();
            continue;
        };
        let mut parts = Parts { electrics, heating, ..now.parts.clone() };
        parts.stocks[electric] = stock;
        let mechanism = Cow::Owned(Mechanism::of(&parts));
        eras.push(BatteryEra { first: begins.min(past.hours.len()), mechanism });
    }
    match eras.last_mut() {
        Some(last) => last.mechanism = Cow::Borrowed(now),
        None => eras.push(BatteryEra { first: 0, mechanism: Cow::Borrowed(now) }),
    }
    eras
}

fn midnight(past: &Past, day: NaiveDate) -> Moment {
    past.zone.moment(day.and_time(NaiveTime::MIN))
}
