//! How good earlier forecasts were, in words, shared by both fronts.

use super::{Form, commas, counted, led, percent, quantity, when};
use crate::domain::{Moment, UnitSystem, Zone, after_hours};
use crate::forecast::hindsight::judge::Verdict;
use crate::forecast::hindsight::{Lean, Luck, NextReading, SafeDates, Side, StockRecord, Unjudged};
use crate::forecast::{Hindsight, PastEvening};

/// Said when there is no evening to judge.
pub const TOO_EARLY: &str = "Too early to look back: it takes a week of journal before the first \
                             evening that can be judged, and some days after it.";

/// What has to be known about counting.
pub const FAIRNESS: &str = "Where the gauge was coarse or you serviced early, nobody knows what \
                            would have come. Such an evening counts by its chance; only \
                            what is known for sure can prove a forecast wrong. Evenings that \
                            share a reading fare alike.";

/// The question behind each stock's levels.
pub const LEVELS: &str = "Was each stock's next reading inside the band foretold for it? Eight of ten should be. \
     Errors count from the edge of the gauge's step.";

/// The question behind each stock's dates.
pub const DATES: &str = "Did each stock meet its limit inside the band of dates?";

/// "Looking back on 40 evenings, Thu 10 Sep to Mon 19 Oct: what a forecast ..."; `None` when
/// there is no evening to look back on.
pub fn heading(looked: &Hindsight, zone: &Zone) -> Option<String> {
    let (first, last) = (looked.evenings.first()?, looked.evenings.last()?);
    let date = |evening: &PastEvening| when::day(zone.here(evening.at));
    Some(format!(
        "Looking back on {}, {} to {}: what a forecast made from what was known on each \
         would have said, beside what came.",
        counted(looked.evenings.len() as u64, "evening"),
        date(first),
        date(last),
    ))
}

/// How the next stop's bands fared, most important first, a sentence or two each.
pub fn next(looked: &Hindsight) -> Vec<String> {
    let next = &looked.next;
    let mut lines = vec![coverage(looked)];
    lines.extend(safe_dates(looked));
    lines.extend(looked.lean().map(lean));
    let tally = &next.tally;
    if tally.settled > 0 {
        lines.push(format!(
            "Known for sure: {}, {} inside the band, {} sooner, {} later. On the other {} \
             you serviced first, so that each counts by its chance.",
            counted(tally.settled as u64, "evening"),
            tally.settled_inside,
            tally.settled_sooner,
            tally.settled_later(),
            tally.judged - tally.settled,
        ));
    }
    if let Some(error) = next.typical_error {
        lines.push(format!(
            "Typical error of the likely date: {error:.1} days, over the {} evenings on which a \
             limit was met.",
            next.errors
        ));
    }
    if let Some(why) = unjudged(next.unjudged) {
        lines.push(format!("Not judged: {why}."));
    }
    lines
}

/// "Next stop: of 40 evenings, 33 lay inside the band (want 32; plain luck gives 24 to 38)."
pub fn coverage(looked: &Hindsight) -> String {
    let tally = &looked.next.tally;
    match (tally.judged, tally.settled) {
        (0, _) => "Next stop: none of them can be judged.".to_string(),
        (judged, 0) => format!(
            "Next stop: you always serviced first, on all {judged} evenings, so nobody knows whether \
             the dates were right.",
        ),
        (judged, _) => format!(
            "Next stop: on {:.0} of {judged} evenings it came inside the band foretold ({:.0} would be \
             right{}).",
            tally.shares.inside,
            tally.wanted(),
            allowed(looked.luck_of_next()),
        ),
    }
}

/// "; with plain luck 28 to 36".
fn allowed(luck: Option<Luck>) -> String {
    luck.map_or(String::new(), |luck| format!("; luck alone gives {} to {}", luck.low, luck.high))
}

/// "Your dates were early: of 14 evenings that can say, the limit came later than the likely date
/// on 11, by 0.9 days in the middle."
fn lean(lean: Lean) -> String {
    let Lean { evenings, later, days } = lean;
    let size = format!("{:.1} days", days.abs());
    let (verdict, came, count) = match days {
        d if d >= 0.25 => ("early", "later", later),
        d if d <= -0.25 => ("late", "sooner", evenings - later),
        _ => {
            return format!(
                "Your dates leaned neither way: of {evenings} evenings that can say, the middle one's \
                 limit came within 6 hours of the likely date."
            );
        }
    };
    format!(
        "Your dates were {verdict}: of {evenings} evenings that can say, the limit came {came} than \
         the likely date on {count}, by {size} in the middle."
    )
}

/// How the dates that were called safe fared: what a service cut short neither proves nor
/// contradicts them. `None` where there is none.
pub fn safe_dates(looked: &Hindsight) -> Option<String> {
    let SafeDates { serviced_before, held, broken } = looked.safe_dates();
    let tested = held + broken;
    let cut = match serviced_before {
        0 => String::new(),
        1 => "on 1 evening you serviced before it, with nothing out".to_string(),
        n => format!("on {n} evenings you serviced before it, with nothing out"),
    };
    let told = match (tested, broken) {
        (0, _) => String::new(),
        (_, 0) => format!("on {tested} you went on past it, and nothing was out by then"),
        _ => format!(
            "on {held} you went on past it with nothing out; on {broken} something was out before it \
             (one in ten of {tested} may be)"
        ),
    };
    let parts: Vec<String> = [cut, told].into_iter().filter(|part| !part.is_empty()).collect();
    (!parts.is_empty()).then(|| format!("The date called safe: {}.", parts.join("; ")))
}

/// "Readings: of 204 that came next, 163 lay inside the bands foretold for them (want 163;
/// plain luck gives 150 to 175)."; `None` where nothing was read.
pub fn readings(looked: &Hindsight) -> Option<String> {
    let tallies = || looked.stocks.iter().map(|stock| &stock.levels.tally);
    let judged: usize = tallies().map(|tally| tally.judged).sum();
    let inside: f64 = tallies().map(|tally| tally.shares.inside).sum();
    let wanted: f64 = tallies().map(|tally| tally.wanted()).sum();
    (judged > 0).then(|| {
        format!(
            "Readings: {inside:.0} of the {judged} that came next lay inside the bands foretold for \
             them ({wanted:.0} would be right{}).",
            allowed(looked.luck_of_readings()),
        )
    })
}

/// How many of an evening's next readings lay inside their bands, of those that tell: "6/7";
/// "open" where none does. Counted by the word that [`reading`] has for each.
pub fn readings_inside(evening: &PastEvening) -> String {
    let words = || evening.readings.iter().map(|reading| in_a_word(reading.verdict));
    let (inside, open) =
        (words().filter(|w| *w == "inside").count(), words().filter(|w| *w == "open").count());
    match (evening.readings.len(), evening.readings.len() - open) {
        (0, _) => "-".to_string(),
        (_, 0) => "open".to_string(),
        (_, settled) => format!("{inside}/{settled}"),
    }
}

/// "fresh: said 60 to 75 L for Wed 14 Oct 09:00, read 55 to 62 L: sooner". `record` is that of the
/// stock, where the rig still has it.
pub fn reading(
    reading: &NextReading,
    record: Option<&StockRecord>,
    evening: &PastEvening,
    zone: &Zone,
    system: UnitSystem,
) -> String {
    let number = |value: f64| match record {
        Some(stock) => quantity::amount(value, stock.capacity, &stock.unit, system),
        None => format!("{value:.1}"),
    };
    let between = |low: f64, high: f64| match (number(low), number(high)) {
        (low, high) if low == high => high,
        (low, high) => format!("{} to {high}", low.split(' ').next().unwrap_or_default()),
    };
    let [p10, _, p90] = reading.said;
    let at = after_hours(evening.at, reading.hours).map(|at| zone.here(at));
    let at = at.map_or(String::new(), |at| format!(" for {}", when::date_time(at, Form::Short)));
    format!(
        "{}: said {}{at}, read {}: {}",
        reading.stock,
        between(p10, p90),
        between(reading.read.0, reading.read.1),
        in_a_word(reading.verdict),
    )
}

/// "3 (1 out already that evening, 2 with nothing written later that tells)".
fn unjudged(unjudged: Unjudged) -> Option<String> {
    let reasons = [
        (unjudged.out_already, "out already that evening"),
        (unjudged.beyond_horizon, "with nothing due in sight"),
        (unjudged.nothing_told, "with nothing written later"),
    ];
    let told = reasons.iter().filter(|(n, _)| *n > 0).map(|(n, why)| format!("{n} {why}"));
    (unjudged.all() > 0).then(|| format!("{} ({})", unjudged.all(), commas(told)))
}

/// How a stock's readings fared: "inside 22 of 28 (want 22); 4 known: 1 sooner, 0 later; typical error
/// 2 L"; `None` where nothing was read.
pub fn levels(stock: &StockRecord, system: UnitSystem) -> Option<String> {
    let tally = &stock.levels.tally;
    let (inside, judged, wanted) = (tally.shares.inside, tally.judged, tally.wanted());
    let (sooner, later) = (tally.settled_sooner, tally.settled_later());
    let error = stock.levels.typical_error.map_or("-".to_string(), |error| {
        quantity::amount(error, stock.capacity, &stock.unit, system)
    });
    (judged > 0).then(|| {
        format!(
            "inside {inside:.0} of {judged} (want {wanted:.0}); {} known: {sooner} sooner, {later} \
             later; typical error {error}",
            tally.settled
        )
    })
}

/// Stocks with evenings that nothing tells of, with how many.
pub fn silent(looked: &Hindsight) -> Option<String> {
    let none = |s: &&StockRecord| s.levels.unjudged.all() > 0;
    let told = |s: &StockRecord| format!("{} {}", s.name, s.levels.unjudged.all());
    let silent = commas(looked.stocks.iter().filter(none).map(told));
    let why = "Evenings not judged, as nothing was read before the next service: ";
    Some(led(why, &silent)).filter(|text| !text.is_empty())
}

/// How a stock's bands of dates fared.
pub fn dates(stock: &StockRecord) -> String {
    let (record, tally) = (&stock.dates, &stock.dates.tally);
    let mut text = match (tally.judged, tally.settled) {
        (0, _) => "no evening can be judged".to_string(),
        (judged, 0) => format!("not known: serviced in time on all {judged} evenings"),
        (judged, settled) => format!(
            "inside on {:.0} of {judged} evenings (want {:.0}); {settled} known: {} sooner than \
             said, {} later",
            tally.shares.inside,
            tally.wanted(),
            tally.settled_sooner,
            tally.settled_later(),
        ),
    };
    if let Some(error) = record.typical_error {
        text.push_str(&format!("; typical error {error:.1} days"));
    }
    if let Some(why) = unjudged(record.unjudged) {
        text.push_str(&format!("; not judged: {why}"));
    }
    text
}

/// The stock that was inside its band least of those wanted, where that is less than half of them:
/// with how often, of how many.
fn seldom_inside(looked: &Hindsight) -> Option<(&StockRecord, f64, usize)> {
    let share = |stock: &&StockRecord| {
        stock.levels.tally.shares.inside / stock.levels.tally.wanted().max(1e-9)
    };
    let told = looked.stocks.iter().filter(|stock| stock.levels.tally.judged >= 3);
    let worst = told.min_by(|a, b| share(a).total_cmp(&share(b))).filter(|s| share(s) < 0.5)?;
    Some((worst, worst.levels.tally.shares.inside, worst.levels.tally.judged))
}

/// Which stock was misjudged, and how.
pub fn misjudged(looked: &Hindsight) -> String {
    let Some(worst) = looked.misjudged else {
        return match seldom_inside(looked) {
            Some((stock, inside, judged)) => format!(
                "Too few readings to tell bad luck from a fault, but {} was inside its band on only \
                 {inside:.0} of {judged}.",
                stock.name
            ),
            None => "No stock was misjudged more often than luck explains.".to_string(),
        };
    };
    let stock = &looked.stocks[worst.stock];
    let way = match worst.way {
        Side::Sooner => "it neared its limit sooner than said",
        Side::Later => "it stayed further from its limit than said",
    };
    let share = stock.levels.tally.shares.inside / stock.levels.tally.judged as f64;
    format!(
        "Misjudged most: {}, inside its band only {} of the time, mostly because {way}.",
        stock.name,
        percent(share)
    )
}

/// How one evening fared, in a word: "inside", "sooner", "later", "open" where a service came
/// before that could be known, "-" where it cannot be judged.
pub fn fared(evening: &PastEvening) -> &'static str {
    evening.verdict.map_or("-", in_a_word)
}

fn in_a_word(verdict: Verdict) -> &'static str {
    match verdict {
        verdict if !verdict.settled() => "open",
        verdict if verdict.inside > 0.5 => "inside",
        verdict if verdict.sooner > 0.5 => "sooner",
        _ => "later",
    }
}

/// "Said: safe until Thu 22 Oct 03:30, likely Thu 22 Oct 19:30, late Fri 23 Oct 14:00".
pub fn said(evening: &PastEvening, zone: &Zone) -> String {
    let at = |hours: Option<f64>| hours.and_then(|h| after_hours(evening.at, h));
    let written = |moment: Moment| when::date_time(zone.here(moment), Form::Short);
    let safe = match at(evening.said.p10) {
        _ if evening.said.p50.is_some_and(|h| h <= 0.0) => {
            return "Said: at its limit already".to_string();
        }
        None => return "Said: nothing due in sight".to_string(),
        Some(safe) => written(when::half_hour_before(zone.here(safe))),
    };
    let near = |hours| match at(hours) {
        Some(moment) => written(when::nearest_half_hour(zone.here(moment))),
        None => "beyond what was looked at".to_string(),
    };
    let (likely, late) = (near(evening.said.p50), near(evening.said.p90));
    format!("Said: safe until {safe}, likely {likely}, late {late}")
}

/// "Came: a limit was met between Thu 22 Oct 09:00 and Thu 22 Oct 19:30", or until when none was.
/// `now` is the moment of the look back.
pub fn came(evening: &PastEvening, zone: &Zone, now: Moment) -> String {
    let at = |hours: f64| after_hours(evening.at, hours).map(|at| zone.here(at));
    let written = |moment: Moment| when::date_time(moment, Form::Short);
    let span = evening.came;
    match (at(span.from), at(span.to)) {
        _ if span.from <= 0.0 && span.to.is_infinite() => {
            "Came: nobody wrote down what came".to_string()
        }
        (Some(from), Some(to)) if (to - from).num_minutes() < 60 || span.from <= 0.0 => {
            format!("Came: something was out by {}", written(to))
        }
        (Some(from), Some(to)) => {
            format!("Came: something was out between {} and {}", written(from), written(to))
        }
        (Some(from), None) if (now - from).num_minutes() < 60 => {
            "Came: nothing was out so far".to_string()
        }
        (Some(from), None) => {
            format!(
                "Came: nothing was out by {}; then a service, or nothing was written",
                written(from)
            )
        }
        (None, _) => "Came: nobody wrote down what came".to_string(),
    }
}
