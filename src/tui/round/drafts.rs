//! What the answers of the round save.

use crate::domain::time::NIGHT_ENDS;
use crate::domain::{Amount, Body, Draft, Event, Moment, Quantity, Unit};
use chrono::{Duration, NaiveDate};

pub(super) fn whole(value: f64) -> Amount {
    Amount::from_f64(value).unwrap_or_default()
}

fn draft(at: Moment, event: Event) -> Draft {
    Draft { at, note: None, body: Body::Happened(event) }
}

pub(super) fn level(stock: &str, reading: Quantity, now: Moment) -> Vec<Draft> {
    vec![draft(now, Event::Level { stock: stock.to_string(), reading, step: None })]
}

pub(super) fn full_to(stock: &str, share: f64, now: Moment) -> Vec<Draft> {
    level(stock, Quantity::new(whole((share * 100.0).min(100.0)), Unit::Percent), now)
}

/// A use of all days since `since`, as one of each of them: what is usual of a day is learned from it.
pub(super) fn over_days(drafts: &[Draft], since: NaiveDate) -> Vec<Draft> {
    let spread = |draft: &Draft| {
        let Body::Happened(Event::Use { activity, count }) = &draft.body else {
            return vec![draft.clone()];
        };
        // Until the night ends it is still the evening before.
        let today = (draft.at - Duration::hours(NIGHT_ENDS.into())).date_naive();
        let days = (today - since).num_days().max(1);
        // Whole ones, as they are counted, the rest on the later days.
        let step = if count.amount.milli() % 1000 == 0 { 1000 } else { 1 };
        let until = |day: i64| count.amount.milli() / step * day / days * step;
        let of_day = |day: i64| {
            let amount = Amount::from_milli(until(day) - until(day - 1)).unwrap_or_default();
            let count = Quantity::new(amount, count.unit.clone());
            used(activity, count, draft.at - Duration::days(days - day))
        };
        (1..=days).flat_map(of_day).collect()
    };
    drafts.iter().flat_map(spread).collect()
}

/// Only what happened is written down: nothing where there was none.
pub(super) fn used(activity: &str, count: Quantity, now: Moment) -> Vec<Draft> {
    let happened =
        (count.amount.milli() > 0).then(|| Event::Use { activity: activity.into(), count });
    happened.into_iter().map(|event| draft(now, event)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Nine over four days, by hand: 2, 2, 2 and 3, the last of them now.
    #[test]
    fn what_was_not_written_for_days_is_written_over_them() {
        let evening: Moment = "2026-07-17T20:40:00+02:00".parse().unwrap();
        let since = NaiveDate::from_ymd_opt(2026, 7, 13).unwrap();
        let counts_at = |now: Moment, times: i64| -> Vec<(i64, i64)> {
            let nine = used(
                "toilet solids",
                Quantity::new(Amount::from_milli(times).unwrap(), Unit::Use),
                now,
            );
            let each = |draft: &Draft| match &draft.body {
                Body::Happened(Event::Use { count, .. }) => {
                    ((now - draft.at).num_days(), count.amount.milli())
                }
                other => panic!("{other:?}"),
            };
            over_days(&nine, since).iter().map(each).collect()
        };
        let counts = |times| counts_at(evening, times);
        assert_eq!(counts(9000), counts_at(evening + Duration::hours(4), 9000), "past midnight");
        assert_eq!(counts(9000), [(3, 2000), (2, 2000), (1, 2000), (0, 3000)]);
        assert_eq!(counts(1000), [(0, 1000)]);
        assert_eq!(counts(0), []);
    }
}
