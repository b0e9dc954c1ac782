//! How good earlier forecasts were, in words, shared by both fronts.

use super::{Form, commas, counted, led, percent, quantity, when};
use crate::domain::{Moment, UnitSystem, Zone, after_hours};
use crate::forecast::hindsight::judge::Verdict;
use crate::forecast::hindsight::{
    BandSide, Lean, Luck, NextReading, SafeDates, StockRecord, Tally, Unjudged,
};
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
        counted(looked.evenings.len(), "evening"),
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

/// "30 inside, 1 sooner, 2 later, 7 open": every judged one once, by the word that the lists have for
/// each.
fn in_words(tally: &Tally) -> String {
    let counts = [
        (tally.settled_inside, "inside the band"),
        (tally.settled_sooner, "sooner"),
        (tally.settled_later(), "later"),
        (tally.judged - tally.settled, "open"),
    ];
    commas(counts.iter().map(|(count, word)| format!("{count} {word}")))
}

/// "40 evenings: 30 inside the band, ...; by chance 33 inside (32 would be right; luck alone gives 24 to
/// 38)": what is open counts by its chance.
fn fared_in_all(tally: &Tally, luck: Option<Luck>) -> String {
    format!(
        "{}; by chance {:.0} inside ({:.0} would be right{})",
        in_words(tally),
        tally.shares.inside,
        tally.wanted(),
        allowed(luck)
    )
}

/// "Next stop, on 40 evenings: 30 inside the band, 1 sooner, 2 later, 7 open; by chance 33 inside ...".
pub fn coverage(looked: &Hindsight) -> String {
    let tally = &looked.next.tally;
    match (tally.judged, tally.settled) {
        (0, _) => "Next stop: none of them can be judged.".to_string(),
        (judged, 0) => format!(
            "Next stop: you always serviced first, {}, so nobody knows whether \
             the dates were right.",
            on_all(judged)
        ),
        (judged, _) => format!(
            "Next stop, on {judged} evenings: {}.",
            fared_in_all(tally, looked.luck_of_next())
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
    let other = if came == "later" { "sooner" } else { "later" };
    format!(
        "Your dates were {verdict}: of {evenings} evenings that can say, the limit came {came} than \
         the likely date on {count}, {other} on {}; by {size} in the middle.",
        evenings - count
    )
}

/// How the dates that were called safe fared: what a service cut short neither proves nor
/// contradicts them. `None` where there is none.
pub fn safe_dates(looked: &Hindsight) -> Option<String> {
    let SafeDates { serviced_before, held, broken, unknown } = looked.safe_dates();
    let tested = held + broken;
    let counts = [
        (serviced_before, "you serviced before it with nothing out".to_string()),
        (held, "nothing was out by then".to_string()),
        (broken, format!("something was out before it (one in ten of {tested} may be)")),
        (unknown, "nobody knows whether something was out by then".to_string()),
    ];
    let all: usize = counts.iter().map(|(count, _)| count).sum();
    let told = counts.iter().filter(|(count, _)| *count > 0);
    let told: Vec<String> = told.map(|(count, what)| format!("on {count} {what}")).collect();
    let evenings = counted(all, "evening");
    (all > 0).then(|| format!("The date called safe, of {evenings}: {}.", told.join("; ")))
}

/// "Readings, of 204 that came next: 150 inside the band, ..."; `None` where nothing was read.
pub fn readings(looked: &Hindsight) -> Option<String> {
    let mut all = Tally::default();
    looked.stocks.iter().for_each(|stock| all.join(&stock.levels.tally));
    (all.judged > 0).then(|| {
        let fared = fared_in_all(&all, looked.luck_of_readings());
        format!("Readings, of {} that came next: {fared}.", all.judged)
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

/// How a stock's readings fared: "of 28: 3 inside, 1 sooner, 0 later, 24 open; by chance 22 inside (want
/// 22); typical error 2 L"; `None` where nothing was read.
pub fn levels(stock: &StockRecord, system: UnitSystem) -> Option<String> {
    let tally = &stock.levels.tally;
    let (inside, judged, wanted) = (tally.shares.inside, tally.judged, tally.wanted());
    let error = stock.levels.typical_error.map_or("-".to_string(), |error| {
        quantity::amount(error, stock.capacity, &stock.unit, system)
    });
    (judged > 0).then(|| {
        format!(
            "of {judged}: {}; by chance {inside:.0} inside (want {wanted:.0}); typical error {error}",
            in_words(tally)
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

/// "on all 12 evenings", "on the one evening".
fn on_all(evenings: usize) -> String {
    if evenings == 1 { "on the one evening".into() } else { format!("on all {evenings} evenings") }
}

/// How a stock's bands of dates fared.
pub fn dates(stock: &StockRecord) -> String {
    let (record, tally) = (&stock.dates, &stock.dates.tally);
    let mut text = match (tally.judged, tally.settled) {
        (0, _) => "no evening can be judged".to_string(),
        (judged, 0) => format!("not known: serviced in time {}", on_all(judged)),
        (judged, _) => format!(
            "of {judged} evenings: {}; by chance {:.0} inside (want {:.0})",
            in_words(tally),
            tally.shares.inside,
            tally.wanted(),
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
fn seldom_inside(looked: &Hindsight) -> Option<&StockRecord> {
    let share = |stock: &&StockRecord| {
        stock.levels.tally.shares.inside / stock.levels.tally.wanted().max(1e-9)
    };
    let told = looked.stocks.iter().filter(|stock| stock.levels.tally.judged >= 3);
    told.min_by(|a, b| share(a).total_cmp(&share(b))).filter(|stock| share(stock) < 0.5)
}

/// Which stock was misjudged, and how.
pub fn misjudged(looked: &Hindsight) -> String {
    let Some(worst) = looked.misjudged else {
        return match seldom_inside(looked) {
            Some(StockRecord { name, levels, .. }) => format!(
                "Too few readings to tell bad luck from a fault, but {name} was inside its band on \
                 only {:.0} of {}.",
                levels.tally.shares.inside, levels.tally.judged
            ),
            None => "No stock was misjudged more often than luck explains.".to_string(),
        };
    };
    let stock = &looked.stocks[worst.stock];
    let way = match worst.way {
        BandSide::Sooner => "it neared its limit sooner than said",
        BandSide::Later => "it stayed further from its limit than said",
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
        _ if evening.said.is_reached() => {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::time::Moment;
    use crate::forecast::Quantiles;
    use crate::forecast::hindsight::Span;

    fn evening(sooner: f64, inside: f64, came: (f64, f64)) -> PastEvening {
        let verdict = Verdict { sooner, inside, later: 1.0 - sooner - inside };
        PastEvening {
            at: Moment::parse_from_rfc3339("2026-09-01T21:00:00+02:00").unwrap(),
            said: Quantiles { p10: Some(24.0), p50: Some(48.0), ..Quantiles::default() },
            came: Span { from: came.0, to: came.1 },
            verdict: Some(verdict),
            readings: Vec::new(),
        }
    }

    /// The counts of a sentence behind its first colon, those in brackets left out.
    fn counts(sentence: &str) -> (usize, Vec<usize>) {
        let (head, rest) = sentence.split_once(": ").unwrap();
        let number = |word: &str| word.trim_matches(|c: char| !c.is_ascii_digit()).parse().ok();
        let numbers = |text: &str| text.split(' ').filter_map(number).collect::<Vec<usize>>();
        let rest: String = rest.split('(').map(|part| part.rsplit(')').next().unwrap()).collect();
        (numbers(head)[0], numbers(&rest))
    }

    /// Every evening stands in one of the counts that a sentence names, and its list says the same.
    #[test]
    fn counts_add_up_to_the_set_that_the_sentence_names() {
        let far = f64::INFINITY;
        let all = [
            vec![evening(0.0, 1.0, (30.0, 31.0)); 9],
            vec![evening(1.0, 0.0, (2.0, 3.0)); 1],
            vec![evening(0.0, 0.0, (90.0, far)); 2],
            vec![evening(0.1, 0.7, (5.0, far)); 3],
            vec![evening(0.3, 0.6, (5.0, 40.0)); 4],
        ];
        let evenings = all.concat();
        let mut next = crate::forecast::hindsight::TrackRecord::default();
        evenings.iter().filter_map(|evening| evening.verdict).for_each(|v| next.tally.add(v));
        let looked = Hindsight { evenings, next, stocks: Vec::new(), misjudged: None };
        let (of, told) = counts(coverage(&looked).split(';').next().unwrap());
        assert_eq!((of, told.as_slice()), (19, &[9, 1, 2, 7][..]));
        let listed = |word| looked.evenings.iter().filter(|e| fared(e) == word).count();
        assert_eq!(["inside", "sooner", "later", "open"].map(listed).to_vec(), told);
        let (of, told) = counts(&safe_dates(&looked).unwrap());
        assert_eq!((of, told.iter().sum()), (19, 19), "{told:?}");
        assert_eq!(told, [3, 11, 1, 4]);
        let lean = lean(looked.lean().unwrap());
        let number = |word: &str| word.trim_end_matches([',', ';']).parse::<usize>().ok();
        let said: Vec<usize> = lean.split(' ').filter_map(number).collect();
        assert_eq!(said[0], said[1] + said[2], "{lean}");
    }
}
