//! What a question supposes that the journal does not say: other weather, guests, other habits,
//! a camp that is kept. It changes what the question is asked of, so that no answer needs to know.

use super::Basis;
use crate::belief::Beliefs;
use crate::domain::{Amount, DayWeather, Event, Moment, Spot, Standing, Timeline, TypicalWeather};
use crate::plan::stops::saved::serviced;
use chrono::{Duration, NaiveDate};
use std::borrow::Cow;

/// Days of supposed weather: as long as any stretch is looked at.
const WEATHER_DAYS: i64 = 60;

/// What is supposed; nothing by default.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Suppose {
    /// Every day is like this, and as sure as an outlook is.
    pub weather: Option<TypicalWeather>,
    /// People aboard beside those whom the journal says and plans, at least 0.
    pub guests: f64,
    /// Activities that happen as often as this: index among the parts in place, and amount per
    /// day for all aboard when it begins, at least 0.
    pub habits: Vec<(usize, f64)>,
    /// Camps that are planned are left out: the van stays where it is, or goes where `camps` say.
    pub stay: bool,
    /// Where it camps from which moments on.
    pub camps: Vec<(Moment, Spot)>,
    /// When every stock that can be filled, emptied or charged is, all the way, and the remark that
    /// such plans bear: plans that count on services see them as planned. Stays that are counted in
    /// nights are left alone.
    pub serviced: Option<(Moment, String)>,
}

impl Suppose {
    /// What stands and what is believed, under what is supposed from `from` on.
    pub fn applied<'a>(
        &self,
        basis: &Basis<'a>,
        from: Moment,
    ) -> (Cow<'a, [Standing]>, Cow<'a, Beliefs>) {
        let entries = self.standing(basis, from);
        if matches!(entries, Cow::Borrowed(_)) && self.habits.is_empty() {
            return (entries, Cow::Borrowed(basis.beliefs));
        }
        let mut changed = basis.beliefs.clone();
        if matches!(entries, Cow::Owned(_)) {
            changed.timeline = Timeline::of(basis.rig, &entries);
        }
        let aboard = changed.timeline.aboard(from);
        for (activity, wanted) in &self.habits {
            let Some(habit) = changed.habits.get_mut(*activity) else { continue };
            let usual = habit.daily_amount(aboard);
            if usual > 0.0 {
                // Not quite none: every life keeps drawing the same numbers for what follows.
                habit.multiply(wanted.max(1e-9 * usual) / usual);
            }
        }
        (entries, Cow::Owned(changed))
    }

    fn standing<'a>(&self, basis: &Basis<'a>, from: Moment) -> Cow<'a, [Standing]> {
        let Basis { standing, beliefs, now, .. } = *basis;
        let as_it_is = Suppose { habits: self.habits.clone(), ..Suppose::default() };
        if *self == as_it_is {
            return Cow::Borrowed(standing);
        }
        let first = basis.zone().date(from);
        let dropped = |entry: &&Standing| match &entry.event {
            Event::Outlook(row) => self.weather.is_some() && row.date >= first,
            Event::Camp(_) => self.stay && entry.at > now,
            _ => false,
        };
        let mut all: Vec<Standing> = standing.iter().filter(|e| !dropped(e)).cloned().collect();
        if self.guests > 0.0 {
            let more = |people: f64| Amount::from_f64(people + self.guests).unwrap_or_default();
            for entry in all.iter_mut().filter(|entry| entry.at > from) {
                if let Event::Crew(aboard) = &mut entry.event {
                    *aboard = more(aboard.value());
                }
            }
            let aboard = Event::Crew(more(beliefs.timeline.aboard(from)));
            all.push(Standing::supposed(from, now, aboard));
        }
        if let Some(weather) = self.weather {
            let days = (0..WEATHER_DAYS).map(|day| first + Duration::days(day));
            let rows = days.map(|date| Event::Outlook(row(&weather, date, now)));
            all.extend(rows.map(|row| Standing::supposed(now, now, row)));
        }
        let camp = |(at, spot): &(_, Spot)| Standing::supposed(*at, now, Event::Camp(spot.clone()));
        all.extend(self.camps.iter().map(camp));
        if let Some((at, remark)) = &self.serviced {
            let stocks = beliefs.mechanism.stocks().iter().filter(|stock| !stock.reset_by_camp);
            all.extend(stocks.map(|stock| Standing {
                note: Some(remark.clone()),
                ..Standing::supposed(*at, now, serviced(stock))
            }));
        }
        all.sort_by_key(|entry| entry.at);
        Cow::Owned(all)
    }
}

fn row(weather: &TypicalWeather, date: NaiveDate, now: Moment) -> DayWeather {
    DayWeather {
        issued: now,
        date,
        low_c: Some(weather.low_c),
        high_c: Some(weather.high_c),
        sun_kwh_m2: None,
        cloud: Some(weather.cloud),
        place: None,
    }
}
