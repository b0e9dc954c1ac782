//! What the crew should know tonight, each in one sentence without a full stop.
//!
//! An alarm says what is seen, since when and how much a day, then what it may be (a forgotten
//! entry first), then what to look at.

use super::{commas, of_ten, quantity};
use crate::domain::{Direction, Moment, Unit, UnitSystem};
use crate::forecast::Notice;
use crate::forecast::answer::{Alarm, Cause, Cold, Frost, Holds, Matter};

/// The sentence of a notice; temperatures in the crew's units, and amounts in the crew's units.
pub fn said(notice: &Notice, show: UnitSystem) -> String {
    let name = notice.stock.as_deref().unwrap_or_default();
    match &notice.matter {
        Matter::StaysCold(cold) => stays_cold(name, cold),
        Matter::MayFreeze(frost) => may_freeze(name, frost, show),
        Matter::NeverRead(names) => {
            let guess = match names.len() {
                1 => "Its level is a guess",
                _ => "Their levels are guesses",
            };
            format!("never read: {}. {guess}: log what is there", commas(names))
        }
        Matter::Alarm(alarm) => of_alarm(name, alarm, notice.open_plan, show),
        Matter::Misfit { .. } => misfit(name, notice, show),
        Matter::SilentDays(count) => {
            let days = if *count == 1 { "day has" } else { "days have" };
            format!("{count} {days} no entry lately; a reading of each gauge makes up for it")
        }
        Matter::PossibleTwins(count) => {
            let pairs = if *count == 1 { "pair" } else { "pairs" };
            format!("{count} {pairs} of entries may be one thing logged twice: see the journal")
        }
    }
}

fn stays_cold(fuel: &str, cold: &Cold) -> String {
    let (why, what_helps) = match cold.no_fuel > 0.5 * cold.share {
        true => (format!("{fuel} may not last"), format!("Bring {fuel}, and warm bedding")),
        false => (
            "the heater may not keep up".to_string(),
            "Warm bedding, less wind, or lower ground".to_string(),
        ),
    };
    format!(
        "{why}: in {} futures the van stays cold, for about {:.0} h within {} days. {what_helps}",
        of_ten(cold.share),
        (cold.hours / cold.share).max(1.0),
        cold.hours_ahead.div_ceil(24),
    )
}

fn may_freeze(name: &str, frost: &Frost, show: UnitSystem) -> String {
    format!(
        "{name} may freeze in the night to {}: in {} futures it stays below {} for four hours. \
         Drain it, or keep frost from it",
        frost.morning.format("%A %-d %B"),
        of_ten(frost.chance),
        quantity::temperature(frost.limit_c, show),
    )
}

fn of_alarm(name: &str, alarm: &Alarm, plan: Option<Moment>, show: UnitSystem) -> String {
    let change = &alarm.change;
    let since = change.since.format("%-d %B");
    if change.stuck {
        return format!(
            "{name} has read the same {} times since {since}, although what was written down should \
             have moved it. The gauge may stick, or readings were copied. Check it another way; \
             until then the dates rely on it",
            change.readings
        );
    }
    let mean = change.per_day.mean;
    // A rate says nothing of a tank that was filled or emptied in one go.
    let at_once = mean.abs() > AT_ONCE * alarm.capacity || change.per_day.sd > 0.4 * mean.abs();
    if is_service(alarm.runs, mean) && (at_once || plan.is_some()) {
        return forgotten(name, alarm.runs, &format!("about {since}"), plan);
    }
    let (seen, may_be) = seen_and_may_be(alarm);
    format!("{name}: since about {since}, {} {seen}. It may be {may_be}", much(alarm, show))
}

/// From this share of capacity a day on, a change that nothing explains happened at once. Common
/// practice, no source.
const AT_ONCE: f64 = 0.2;

/// Whether a change is the way in which a service moves the stock.
fn is_service(runs: Direction, change: f64) -> bool {
    match runs {
        Direction::Down => change > 0.0,
        Direction::Up => change < 0.0,
    }
}

/// What looks like a service that nobody wrote down: the open plan first, if there is one.
fn forgotten(name: &str, runs: Direction, when: &str, plan: Option<Moment>) -> String {
    let (seen, done, line) = match runs {
        Direction::Down => ("more is there", "filled", format!("filled {name}")),
        Direction::Up => ("less is there", "emptied", format!("emptied {name}")),
    };
    let cause = match plan {
        Some(at) => format!(
            "The stop planned for {} may have been made: say whether it was",
            at.format("%A %-d %B")
        ),
        None => format!(
            "Most likely it was {done} and nobody wrote that down: log \"{line}\" with its time. \
             Else a use was logged twice, or the gauge sticks"
        ),
    };
    format!("{name}: {seen} since {when} than was written down. {cause}")
}

/// Who has not read a stock for longer cannot tell a leak from what it is for, in days; 3 to 10.
/// Common practice, no source.
const LONG_UNREAD: i64 = 7;

/// A single reading that nothing explains.
fn misfit(name: &str, notice: &Notice, show: UnitSystem) -> String {
    let Matter::Misfit { at, before, read, expected, unit, capacity, runs, holds } = &notice.matter
    else {
        return String::new();
    };
    let day = at.format("%-d %B").to_string();
    let change = 0.5 * (read.0 + read.1) - expected.mean;
    if is_service(*runs, change) {
        return forgotten(name, *runs, &day, notice.open_plan);
    }
    let amount = quantity::amount(expected.mean.max(0.0), *capacity, unit, show);
    let days = before.map(|before| (*at - before).num_days());
    let unread = days.filter(|days| *days >= LONG_UNREAD);
    let after = unread.map_or(String::new(), |days| format!(" after {days} days without one"));
    let moved = if *runs == Direction::Down { "used" } else { "put in" };
    let flows = [Unit::Litre, Unit::Kilogram].iter().any(|flows| unit.converts_to(flows));
    let leaks = flows && *holds != Holds::FedFire;
    let may_be = match leaks && unread.is_none() {
        true => "a slip, a forgotten entry, or a leak".to_string(),
        false => format!("a slip, or more was {moved} than was written down"),
    };
    format!(
        "the {name} reading of {day}{after} does not fit: about {amount} was expected. It may be \
         {may_be}"
    )
}

/// What is seen, and what it may be with what to look at.
fn seen_and_may_be(alarm: &Alarm) -> (&'static str, &'static str) {
    let is_volume = alarm.unit.converts_to(&Unit::Litre);
    let key = match (alarm.runs, alarm.change.per_day.mean < 0.0, alarm.holds) {
        (Direction::Down, true, Holds::Charge) => match alarm.change.cause {
            Some(Cause::Draw) => "draw",
            Some(Cause::Panels) => "panels",
            Some(Cause::Either) | None => "draw or panels",
        },
        (Direction::Down, true, Holds::ChargeWithoutSun) => "draw without sun",
        (Direction::Down, true, Holds::HeatFuel) => "heater fuel",
        (Direction::Down, true, Holds::FedFire) => "fed fire",
        (Direction::Down, true, _) if is_volume => "water gone",
        (Direction::Down, true, _) => "things gone",
        (Direction::Down, false, _) => "less used",
        (Direction::Up, false, _) if is_volume => "less water in",
        (Direction::Up, false, _) => "fewer things in",
        (Direction::Up, true, _) => "more in",
    };
    let row = |row: &'static str| row.strip_prefix(key)?.strip_prefix(" | ")?.split_once(" | ");
    // A test looks every key up.
    ALARMS.lines().find_map(row).unwrap_or_default()
}

/// What is seen, and what it may be and what to do: a row each.
const ALARMS: &str = include_str!("../../assets/alarms.txt");

/// "about 2 to 5 L a day": a standard error to either side.
fn much(alarm: &Alarm, show: UnitSystem) -> String {
    let unit = alarm.unit.shown_in(show);
    let factor = alarm.unit.factor_to(&unit, None).unwrap_or(1.0);
    let (size, sd) = (alarm.change.per_day.mean.abs() * factor, alarm.change.per_day.sd * factor);
    let least = (size - sd).max(0.25 * size);
    // Tenths where a whole number would say "0 to 2".
    let decimals = usize::from(alarm.capacity * factor < 60.0 || least < 1.0);
    let [low, high] = [least, size + sd].map(|value| format!("{value:.decimals$}"));
    match low == high {
        true => format!("about {low} {} a day", quantity::unit_word(&unit, &low)),
        false => format!("about {low} to {high} {} a day", quantity::unit_word(&unit, "")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::forecast::answer::{Estimate, Unexplained};

    fn alarm(mean: f64, sd: f64, capacity: f64) -> Alarm {
        let change = Unexplained {
            stock: 0,
            since: "2026-03-04T19:00:00+01:00".parse().unwrap(),
            per_day: Estimate { mean, sd },
            strength: 1.0,
            readings: 4,
            stuck: false,
            cause: None,
        };
        let (runs, unit, holds) = (Direction::Down, Unit::Litre, Holds::Other);
        Alarm { change, runs, unit, capacity, holds }
    }

    #[test]
    fn every_alarm_has_its_row() {
        let mut told = std::collections::HashSet::new();
        for (mean, runs) in [(-3.0, Direction::Down), (3.0, Direction::Down), (3.0, Direction::Up)]
            .into_iter()
            .chain([(-3.0, Direction::Up)])
        {
            for holds in [
                Holds::Charge,
                Holds::ChargeWithoutSun,
                Holds::HeatFuel,
                Holds::FedFire,
                Holds::Other,
            ] {
                for cause in [None, Some(Cause::Draw), Some(Cause::Panels), Some(Cause::Either)] {
                    for unit in [Unit::Litre, Unit::Use] {
                        let mut alarm = Alarm { runs, unit, holds, ..alarm(mean, 1.0, 90.0) };
                        alarm.change.cause = cause;
                        let (seen, may_be) = seen_and_may_be(&alarm);
                        assert!(!seen.is_empty() && !may_be.is_empty(), "{alarm:?}");
                        told.insert((seen, may_be));
                    }
                }
            }
        }
        assert_eq!(told.len(), ALARMS.lines().count(), "each row is of some alarm");
    }

    /// Counted by hand: a standard error to either side of the size, the lower end at least a
    /// quarter of it; tenths below 60 of capacity or below 1 a day.
    #[test]
    fn how_much_is_said_as_finely_as_it_is_known() {
        let much = |mean: f64, sd: f64, capacity: f64| {
            super::much(&alarm(mean, sd, capacity), UnitSystem::Metric)
        };
        assert_eq!(much(-3.5, 1.5, 100.0), "about 2 to 5 L a day");
        assert_eq!(much(3.5, 1.5, 40.0), "about 2.0 to 5.0 L a day");
        assert_eq!(much(-2.0, 3.0, 100.0), "about 0.5 to 5.0 L a day");
        assert_eq!(much(-12.0, 0.2, 100.0), "about 12 L a day");
    }

    #[test]
    fn one_is_not_said_as_many() {
        let words = |matter| said(&Notice::new(None, matter), UnitSystem::Metric);
        assert!(words(Matter::SilentDays(1)).starts_with("1 day has no entry"));
        assert!(words(Matter::SilentDays(3)).starts_with("3 days have no entry"));
        assert!(words(Matter::PossibleTwins(1)).starts_with("1 pair of"));
    }

    #[test]
    fn no_zero_has_a_sign() {
        assert_eq!(quantity::temperature(-0.3, UnitSystem::Metric), "0 C");
        assert_eq!(quantity::temperature(-17.9, UnitSystem::Us), "0 F");
        assert_eq!(quantity::temperature(-4.0, UnitSystem::Us), "25 F");
    }

    /// A tank that is full again was filled; what the rate would be says nothing then.
    #[test]
    fn a_forgotten_fill_is_the_first_cause() {
        let at: Moment = "2026-03-04T19:00:00+01:00".parse().unwrap();
        let expected = Estimate { mean: -0.4, sd: 4.0 };
        let misfit = |read, runs| {
            let (unit, before) = (Unit::Litre, Some(at - chrono::Duration::days(2)));
            let holds = Holds::Other;
            let capacity = 90.0;
            let matter = Matter::Misfit { at, before, read, expected, unit, capacity, runs, holds };
            Notice::new(Some("fresh".into()), matter)
        };
        let said = |notice: &Notice| said(notice, UnitSystem::Metric);
        let mut full = misfit((88.0, 90.0), Direction::Down);
        assert!(said(&full).contains("Most likely it was filled and nobody wrote that down"));
        full.open_plan = Some(at);
        assert!(said(&full).contains("The stop planned for Wednesday 4 March may have been made"));
        let low = said(&misfit((-9.0, -8.0), Direction::Down));
        assert!(low.contains("about 0 L was expected") && low.ends_with("or a leak"), "{low}");
    }

    /// What nobody had read for two weeks was used up meanwhile, and no wood leaks out of a basket.
    #[test]
    fn what_nobody_read_for_long_is_no_leak() {
        let at: Moment = "2026-03-04T19:00:00+01:00".parse().unwrap();
        let misfit = |holds: Holds, days: i64| {
            let before = Some(at - chrono::Duration::days(days));
            let (expected, runs) = (Estimate { mean: 12.0, sd: 2.0 }, Direction::Down);
            let (unit, read, capacity) = (Unit::Kilogram, (0.0, 1.0), 20.0);
            let matter = Matter::Misfit { at, before, read, expected, unit, capacity, runs, holds };
            said(&Notice::new(Some("wood".into()), matter), UnitSystem::Metric)
        };
        assert!(misfit(Holds::HeatFuel, 6).ends_with("or a leak"));
        for (holds, days) in [(Holds::HeatFuel, 14), (Holds::FedFire, 2), (Holds::FedFire, 14)] {
            let said = misfit(holds, days);
            assert!(said.ends_with("a slip, or more was used than was written down"), "{said}");
            assert_eq!(said.contains("after 14 days without one"), days == 14, "{said}");
        }
    }
}
