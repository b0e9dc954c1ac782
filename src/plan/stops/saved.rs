//! A schedule as planned entries, and how they are known again in the journal.

use super::answer::{Service, Trip};
use super::places::services;
use crate::domain::plans::saved_drives;
use crate::domain::time::{after_hours, half_hour_before};
use crate::domain::{
    After, Amount, ChargeSource, Direction, Driver, Event, Happened, Moment, Place, Plan, Quantity,
    Rig, Standing, Stock, Unit,
};
use crate::forecast::Forecast;
use crate::plan::road::Drive;

pub use crate::domain::journal::PLANNED_STOP as REMARK;

/// Entries of saved schedules that are still ahead of `now`.
pub fn ahead(standing: &[Standing], now: Moment) -> impl Iterator<Item = &Standing> {
    standing.iter().filter(move |entry| entry.at > now && entry.is_stop_ahead())
}

/// Entries for a schedule: of each stop the way there, in hours rounded to the tenth (and in km or miles
/// where the rig burns by the km), at the half hour at which one is told to set out; what is serviced there,
/// in order, a charge in half hours, rounded up; and the way on, which burns of what was filled, when
/// the hook-up has charged.
pub fn planned(rig: &Rig, trip: &Trip) -> Vec<Happened> {
    let quantity =
        |value: f64, unit: Unit| Quantity::new(Amount::from_f64(value).unwrap_or_default(), unit);
    let mut entries = Vec::new();
    let far = Unit::Kilometre.shown_in(rig.show);
    let per_km = Unit::Kilometre.factor_to(&far, None).unwrap_or(1.0);
    let burns_by_the_km = rig.parts.base.iter().any(|use_| use_.per == Driver::DriveKm);
    let drive = |way: Drive| {
        let hours = [((way.hours * 10.0).round() / 10.0, Unit::Hour)];
        let km = [((way.km * per_km).round(), far.clone())];
        let said = hours.into_iter().chain(km.into_iter().filter(|_| burns_by_the_km));
        let said = said.filter(|(amount, _)| *amount > 0.0);
        let said = said.map(|(amount, unit)| Event::Drive(quantity(amount, unit)));
        said.collect::<Vec<_>>()
    };
    let service = |service: &Service| match service.hours {
        Some(hours) => {
            Event::Charge { source: ChargeSource::Shore, amount: quantity(hours, Unit::Hour) }
        }
        None => serviced(&trip.stocks[service.stock]),
    };
    for stop in &trip.stops {
        let [there, on] = stop.ways;
        let further = stop.further.iter();
        // Each place with when one sets out for it, when one is there, and the way.
        let first = (stop.place, half_hour_before(stop.leave_by), stop.at, there);
        let others = further.filter_map(|to| {
            let leaves = after_hours(to.at, -to.way.hours)?;
            Some((to.place, leaves, to.at, to.way))
        });
        for (place, leaves, at, way) in [first].into_iter().chain(others) {
            let note = Some(format!("{REMARK}{}", rig.places[place].name));
            let there = drive(way).into_iter().map(|event| (leaves, event));
            let own = trip.in_order(stop).into_iter().filter(|own| own.place == place);
            let own: Vec<&Service> = own.collect();
            let hooked_up = own.iter().filter_map(|own| own.hours).sum();
            let on = if stop.places().last() == Some(place) { drive(on) } else { Vec::new() };
            let leaves_again = after_hours(at, hooked_up).unwrap_or(at);
            let on = on.into_iter().map(|event| (leaves_again, event));
            let done = own.into_iter().map(|own| (at, service(own)));
            let plan = |(at, event)| Happened { at, note: note.clone(), event };
            entries.extend(there.chain(done).chain(on).map(plan));
        }
    }
    entries
}

/// In place of a place: everything is serviced before the van sets out.
pub(in crate::plan) const SETTING_OUT: &str = "setting out";

/// Entries for everything being serviced at `at`, before a trip begins: what a schedule counts on
/// that was asked for a later day. Stays that are counted in nights are left alone.
pub fn setting_out(rig: &Rig, at: Moment) -> Vec<Happened> {
    let parts = rig.parts_on(rig.zone(at).date(at));
    let stocks = parts.stocks.iter().filter(|stock| !stock.reset_by_camp);
    let note = Some(format!("{REMARK}{SETTING_OUT}"));
    stocks.map(|stock| Happened { at, note: note.clone(), event: serviced(stock) }).collect()
}

/// All the way: filled to the brim, or emptied.
pub fn serviced(stock: &Stock) -> Event {
    let (runs, stock, amount) = (stock.runs, stock.name.clone(), None);
    match runs {
        Direction::Down => Event::Fill { stock, amount, after: Some(After::Full) },
        Direction::Up => Event::Empty { stock, amount, after: None },
    }
}

/// The saved stops of one drive, as they stand to a forecast.
#[derive(Debug, Clone, PartialEq)]
pub struct SavedDrive<'p> {
    /// Its stops, in order; at least one.
    pub stops: Vec<&'p Plan>,
    /// Names of the stocks that are seen to.
    pub stocks: Vec<String>,
    /// Those of them that may be at their limit before, as no saved stop before it sees to them.
    pub late_for: Vec<String>,
}

/// The drives to saved stops among `plans`, in order of time.
pub fn drives<'p>(rig: &Rig, plans: &'p [Plan], forecast: &Forecast) -> Vec<SavedDrive<'p>> {
    let mut seen_to: Vec<String> = Vec::new();
    let drive = |stops: Vec<&'p Plan>| {
        let stocks = stocks_of(rig, &stops);
        let before =
            |stock: &&String| safe_until(forecast, stock).is_some_and(|safe| safe < stops[0].at);
        let new = stocks.iter().filter(|stock| !seen_to.contains(stock));
        let late_for = new.filter(before).cloned().collect();
        seen_to.extend(stocks.clone());
        SavedDrive { stops, stocks, late_for }
    };
    saved_drives(plans).into_iter().map(drive).collect()
}

/// Until when a stock is safe, nine times in ten; nothing where it forces no stop within the horizon.
pub fn safe_until(forecast: &Forecast, name: &str) -> Option<Moment> {
    let stock = forecast.stocks.iter().find(|stock| stock.name == name)?;
    let forces = stock.stood_in_by.is_none();
    after_hours(forecast.at, stock.hours.p10.filter(|_| forces)?)
}

/// A saved stop that is still ahead.
#[derive(Debug, Clone, PartialEq)]
pub struct StopAhead {
    /// When.
    pub at: Moment,
    /// The place.
    pub place: String,
    /// Names of the stocks that are seen to there.
    pub stocks: Vec<String>,
    /// What is done there, the drive left out.
    pub things: Vec<Event>,
    /// Hours on the hook-up.
    pub hook_up_hours: f64,
}

/// Saved stops among `plans` whose time has not come, in order of time.
pub fn stops_ahead(rig: &Rig, plans: &[Plan]) -> Vec<StopAhead> {
    let ahead = plans.iter().filter(|plan| !plan.is_open);
    ahead
        .filter_map(|plan| {
            let place = plan.place.clone()?;
            let events = plan.entries.iter().map(|entry| &entry.event);
            let things = events.filter(|event| !matches!(event, Event::Drive(_)));
            let things = things.cloned().collect();
            let (stocks, hook_up_hours) = (stocks_of(rig, &[plan]), plan.hours_charging());
            Some(StopAhead { at: plan.at, place, stocks, things, hook_up_hours })
        })
        .collect()
}

/// Whether a place can see to what an event of a stop does; a drive can lead to any.
pub fn can_be_done(rig: &Rig, place: &Place, event: &Event) -> bool {
    let stock = |name: &str| rig.parts.stock(name).map(|(index, _)| index);
    let served = services(place, &rig.parts);
    match event {
        Event::Fill { stock: name, .. } | Event::Empty { stock: name, .. } => {
            stock(name).is_some_and(|index| served.has(index))
        }
        Event::Charge { .. } => {
            let store = rig.parts.electrics.as_ref().and_then(|e| stock(&e.store));
            store.is_some_and(|index| served.has(index))
        }
        _ => true,
    }
}

/// Names of the stocks that plans see to.
fn stocks_of(rig: &Rig, plans: &[&Plan]) -> Vec<String> {
    let stock = |event: &Event| match event {
        Event::Charge { .. } => rig.parts.electrics.as_ref().map(|e| e.store.clone()),
        event => rig.parts.serviced(event).map(String::from),
    };
    let entries = plans.iter().flat_map(|plan| &plan.entries);
    entries.filter_map(|entry| stock(&entry.event)).collect()
}
