//! Which stocks a place can service, and how it is reached.

use crate::domain::place::SERVICES;
use crate::domain::{Direction, Moment, Parts, Place, Rig, Stock, Unit, Zone};
use crate::plan::practice::{BEFORE_CLOSING_H, CLOSES, OPENS};
use crate::plan::stock_set::StockSet;
use chrono::{Datelike, Duration, NaiveTime, Timelike};

/// Stocks that a place services: those that it names itself, those whose name or
/// other words say a service's word, and those that a service plainly means (water for what is
/// drawn by the litre, shore for the battery, food for person-days, toilet for its parts).
pub(in crate::plan) fn services(place: &Place, parts: &Parts) -> StockSet {
    let serves = |stock: &Stock| {
        place.stocks.iter().any(|name| name.eq_ignore_ascii_case(&stock.name))
            || place.services.iter().any(|word| means(word, stock, parts))
    };
    let stocks = parts.stocks.iter().enumerate();
    stocks.filter(|(_, stock)| serves(stock)).map(|(index, _)| index).collect()
}

/// Stocks that no service sees to, wherever it is offered: a place names them itself.
pub fn served_by_none(parts: &Parts) -> Vec<&str> {
    let served = |stock: &&Stock| SERVICES.iter().any(|word| means(word, stock, parts));
    let own = parts.stocks.iter().filter(|stock| !stock.reset_by_camp && !served(stock));
    own.map(|stock| stock.name.as_str()).collect()
}

fn means(word: &str, stock: &Stock, parts: &Parts) -> bool {
    let says = |text: &str| text.split(' ').any(|w| w.eq_ignore_ascii_case(word));
    if says(&stock.name) || stock.also.iter().any(|also| says(also)) {
        // "waste water" fills up, and no tap helps it.
        return word != "water" || stock.runs == Direction::Down;
    }
    let is = |name: Option<&String>| name == Some(&stock.name);
    let electric = is(parts.electrics.as_ref().map(|e| &e.store));
    match word {
        "shore" => electric,
        "toilet" => ["liquids", "solids"].iter().any(|part| means(part, stock, parts)),
        "food" => stock.unit == Unit::PersonDay && stock.runs == Direction::Down,
        "water" => stock.runs == Direction::Down && stock.lift_wh > 0.0,
        "laundry" => stock.is_called("laundry"),
        _ => false,
    }
}

/// Stocks that a move to another camp sets back.
pub(in crate::plan) fn reset_by_camp(parts: &Parts) -> StockSet {
    let stocks = parts.stocks.iter().enumerate();
    stocks.filter(|(_, stock)| stock.reset_by_camp).map(|(index, _)| index).collect()
}

/// Whether a stop at a place can begin at `at`: on that civil day, and within [`hours`].
pub(in crate::plan) fn can_stop(place: &Place, zone: Zone, at: Moment) -> bool {
    let ((first, last), time) = (hours(place), zone.here(at).time());
    !place.closed.contains(&zone.date(at).weekday()) && (first..=last).contains(&time)
}

/// The place that can see to one of `stocks` soonest from `at` on, and when it opens; `None` where no
/// place can within a week, or one can at once.
pub fn opens_next<'r>(rig: &'r Rig, stocks: &[&str], at: Moment) -> Option<(&'r Place, Moment)> {
    let zone = rig.zone(at);
    let parts = rig.parts_on(zone.date(at));
    let wanted: Vec<usize> = stocks.iter().filter_map(|name| Some(parts.stock(name)?.0)).collect();
    let serves = |place: &&Place| {
        let served = services(place, &parts);
        wanted.iter().any(|index| served.has(*index))
    };
    let opens = |place: &'r Place| {
        let from = place.opens.unwrap_or(NaiveTime::MIN);
        let day = |ahead: i64| zone.date(at) + Duration::days(ahead);
        let on = |ahead: i64| zone.moment(day(ahead).and_time(from)).max(zone.here(at));
        Some((place, (0..=7).map(on).find(|moment| can_stop(place, zone, *moment))?))
    };
    let soonest = rig.places.iter().filter(serves).filter_map(opens).min_by_key(|(_, at)| *at);
    soonest.filter(|(_, opens)| *opens > at)
}

/// Those of `stocks` that a place of this name sees to and is open for at `at`.
pub fn seen_to_at<'s>(rig: &Rig, place: &str, stocks: &[&'s str], at: Moment) -> Vec<&'s str> {
    let zone = rig.zone(at);
    let parts = rig.parts_on(zone.date(at));
    let is_open = |known: &&Place| known.name == place && can_stop(known, zone, at);
    let served = rig.places.iter().find(is_open).map(|place| services(place, &parts));
    let has = |name: &&str| {
        parts.stock(name).zip(served.as_ref()).is_some_and(|((n, _), all)| all.has(n))
    };
    stocks.iter().copied().filter(has).collect()
}

/// The last moment of the time from one moment to another at which a stop at a place can begin:
/// late on the last open day. Where it does not say its hours, by day.
pub(super) fn last_chance(
    place: &Place,
    zone: Zone,
    (from, by): (Moment, Moment),
) -> Option<Moment> {
    let hour = |h: u32| NaiveTime::from_hms_opt(h, 0, 0);
    let by_day = Place {
        opens: place.opens.or(hour(OPENS)),
        closes: place.closes.or(hour(CLOSES)),
        ..place.clone()
    };
    let (first, last) = hours(&by_day);
    let mut date = zone.date(by);
    while date >= zone.date(from) {
        let [first, last] = [first, last].map(|time| zone.moment(date.and_time(time)));
        let last = last.min(zone.here(by));
        if last >= first && can_stop(&by_day, zone, last) {
            return (last >= from).then_some(last);
        }
        date -= Duration::days(1);
    }
    None
}

/// Whether a moment is within the hours at which a place is taken to be open that says none.
pub fn is_by_day(zone: &Zone, at: Moment) -> bool {
    (OPENS..=CLOSES).contains(&zone.here(at).hour())
}

/// First and last time of day at which a stop at a place can be made: an hour before it closes at
/// the latest, and any time where it does not say.
fn hours(place: &Place) -> (NaiveTime, NaiveTime) {
    let opens = place.opens.unwrap_or(NaiveTime::MIN);
    let before = |closes: NaiveTime| match closes
        .overflowing_sub_signed(Duration::hours(BEFORE_CLOSING_H))
    {
        (last, 0) => last,
        _ => NaiveTime::MIN,
    };
    let end_of_day = NaiveTime::from_hms_opt(23, 59, 59).unwrap_or_default();
    let last = place.closes.map_or(end_of_day, before);
    (opens, last.max(opens))
}

/// The fewest times of day, in order, at one of which every place can be stopped at; `usual`
/// serves all that are open then, the others follow from their own hours.
pub(super) fn stop_times<'a>(
    places: impl Iterator<Item = &'a Place>,
    usual: NaiveTime,
) -> Vec<NaiveTime> {
    let mut open: Vec<(NaiveTime, NaiveTime)> = places.map(hours).collect();
    let mut times = Vec::new();
    let others = |open: &[(NaiveTime, NaiveTime)], time: NaiveTime| {
        let shut = open.iter().filter(|(first, last)| time < *first || time > *last);
        shut.copied().collect::<Vec<_>>()
    };
    let rest = others(&open, usual);
    if rest.len() < open.len() || open.is_empty() {
        times.push(usual);
    }
    open = rest;
    // A place that closes early decides; what is open then as well is served with it. Before
    // `usual` as late as possible, after it as early.
    while let Some((_, last)) = open.iter().filter(|(_, last)| *last < usual).min_by_key(|o| o.1) {
        let time = *last;
        times.push(time);
        open = others(&open, time);
    }
    while let Some((first, _)) = open.iter().max_by_key(|o| o.0) {
        let time = *first;
        times.push(time);
        open = others(&open, time);
    }
    times.sort_unstable();
    times
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(opens: &str, closes: &str) -> Place {
        let time = |text: &str| NaiveTime::parse_from_str(text, "%H:%M").ok();
        Place { opens: time(opens), closes: time(closes), ..Place::default() }
    }

    fn times(places: &[(&str, &str)]) -> Vec<String> {
        let places: Vec<Place> = places.iter().map(|(a, b)| place(a, b)).collect();
        let usual = NaiveTime::from_hms_opt(11, 0, 0).unwrap();
        let times = stop_times(places.iter(), usual);
        let fits = |p: &Place| times.iter().any(|t| *t >= hours(p).0 && *t <= hours(p).1);
        assert!(places.iter().all(fits), "{times:?}");
        times.iter().map(|t| t.format("%H:%M").to_string()).collect()
    }

    #[test]
    fn every_places_hours_are_met_with_as_few_times_as_do() {
        for (places, expected) in [
            (vec![], vec!["11:00"]),
            (vec![("", ""), ("9:00", "18:00")], vec!["11:00"]),
            (vec![("12:00", "14:00"), ("12:30", "20:00")], vec!["12:30"]),
            (vec![("7:00", "9:00"), ("6:30", "10:00"), ("", "")], vec!["08:00", "11:00"]),
            (
                vec![
                    ("6:00", "7:00"),
                    ("8:00", "9:00"),
                    ("9:00", "10:00"),
                    ("13:00", "14:00"),
                    ("15:00", "16:00"),
                    ("19:00", "20:30"),
                ],
                vec!["06:00", "08:00", "09:00", "13:00", "15:00", "19:00"],
            ),
            (vec![("23:30", "23:45"), ("0:00", "0:30")], vec!["00:00", "23:30"]),
        ] {
            assert_eq!(times(&places), expected, "{places:?}");
        }
    }
}
