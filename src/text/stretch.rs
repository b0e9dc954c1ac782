//! A stretch in words, shared by both fronts.

use super::{Form, caution, commas, led, listed, quantity, share, when};
use crate::domain::{Activity, Direction, Driver, Moment, Unit, UnitSystem, Zone};
use crate::plan::Stretch;
use crate::plan::answer::{
    Afford, AffordAfter, Before, Choice, Longest, Otherwise, Step, StepKind, StockEnd,
};

/// "Yes, 5 nights work: 94 % chance of lasting; you want 90 %". The probability is rounded down, so
/// that it never looks surer than it is.
pub fn verdict(answer: &Stretch) -> String {
    let nights = nights(answer.nights);
    let (yes, work) = match (answer.works, answer.nights) {
        (true, 1) => ("Yes", "works"),
        (true, _) => ("Yes", "work"),
        (false, 1) => ("No", "does not work"),
        (false, _) => ("No", "do not work"),
    };
    format!("{yes}, {nights} {work}: {}", chance(answer.probability, answer.confidence))
}

/// "4 % chance of lasting; you want 90 %"; rounded down.
pub fn chance(probability: f64, wanted: f64) -> String {
    let wanted = share::percent(wanted);
    format!("{} chance of lasting; you want {wanted}", percent_down(probability))
}

/// "with 6 h of hook-up there", where the place asked for gives that.
pub fn hook_up(answer: &Stretch) -> Option<String> {
    answer.hook_up_hours.map(|hours| format!("with {hours} h of hook-up there"))
}

/// "showers 0.5 a day instead of 1.4": habits that were asked for, by index, beside what is usual, per
/// day for all aboard.
pub fn habits(asked: &[(usize, f64)], activities: &[Activity], usual: &[f64]) -> Option<String> {
    let one = |(index, amount): &(usize, f64)| {
        let activity = activities.get(*index)?;
        let unit = match activity.counted_in {
            Unit::Time | Unit::Use => String::new(),
            ref unit => format!(" {}", quantity::unit_word(unit, &amount.to_string())),
        };
        let usual = usual.get(*index).map_or(String::new(), |usual| {
            format!(" instead of {}", quantity::trimmed(&format!("{usual:.1}")))
        });
        Some(format!("{} {amount}{unit} a day{usual}", activity.plural))
    };
    let all = commas(asked.iter().filter_map(one));
    (!all.is_empty()).then(|| format!("counted with: {all}"))
}

/// "5 nights", "1 night".
pub fn nights(count: u32) -> String {
    if count == 1 { "1 night".to_string() } else { format!("{count} nights") }
}

/// Whole percent, rounded down; "over 99 %" rather than a certainty that no number of lives
/// gives, "under 1 %" rather than none where it is not so.
pub(super) fn percent_down(share: f64) -> String {
    match share {
        s if s > 0.99 => "over 99 %".to_string(),
        s if s <= 0.0 || !s.is_finite() => "0 %".to_string(),
        s if s < 0.01 => "under 1 %".to_string(),
        s => format!("{:.0} %", (s * 100.0 + 1e-9).floor()),
    }
}

/// "grey fills first in 7 of 10 futures; nothing before Thu 22 Oct 16:30 (90 % sure)".
fn binding(answer: &Stretch, zone: &Zone) -> Option<String> {
    let stock = answer.binding.map(|index| &answer.stocks[index])?;
    let until = match answer.safe_until {
        Some(until) if is_before_it_begins(answer, until) => {
            "may be out before it begins".to_string()
        }
        Some(until) if rounded(until, zone) <= answer.at => {
            format!("something may be out {}", when::SHORTLY)
        }
        Some(until) => {
            let sure = share::percent(answer.confidence);
            format!("nothing before {} ({sure} sure)", by(until, zone))
        }
        None => "nothing for longer than was looked at".to_string(),
    };
    let goes = if stock.runs == Direction::Down { "runs out" } else { "fills" };
    Some(format!("{} {goes} first in {}; {until}", stock.name, share::futures(stock.binding)))
}

/// A safe time in words: rounded down to the half hour.
pub(super) fn by(at: Moment, zone: &Zone) -> String {
    when::date_time(rounded(at, zone), Form::Short)
}

fn rounded(at: Moment, zone: &Zone) -> Moment {
    when::half_hour_before(zone.here(at))
}

/// "12 L to spare", "short by 9 L", at the asked confidence.
fn margin(stock: &StockEnd, system: UnitSystem) -> String {
    match stock.margin > 0.0 {
        true => format!("{} to spare", spare_or_short(stock, system)),
        false => format!("short by {}", spare_or_short(stock, system)),
    }
}

/// What is to spare, or short; never "0 L" short.
fn spare_or_short(stock: &StockEnd, system: UnitSystem) -> String {
    let text = quantity::amount(stock.margin.abs(), stock.capacity, &stock.unit, system);
    let nothing = text.starts_with("0 ") || text.starts_with("0.0 ");
    if nothing && stock.margin <= 0.0 { amount_up(-stock.margin, stock, system) } else { text }
}

/// A part of an answer: its head, and its lines.
pub type AnswerPart = (String, Vec<String>);

/// A plan's answer in words, in the order in which both fronts show it.
pub struct InWords {
    /// Whether it works, how sure, and what runs out first.
    pub first: Vec<String>,
    /// What else belongs on the first page.
    pub parts: Vec<AnswerPart>,
    /// The rest, for who asks for it.
    pub more: Vec<AnswerPart>,
}

/// Says an answer; `bar` goes before each choice.
pub fn said(
    answer: &Stretch,
    zone: &Zone,
    system: UnitSystem,
    bar: &dyn Fn(&Choice) -> String,
) -> InWords {
    let first = [Some(verdict(answer)), binding(answer, zone), tightest(answer, system)];
    let ways =
        set(answer, system).map(|set| (set, Vec::new())).into_iter().chain(before(answer, system));
    let ways: Vec<AnswerPart> = ways.filter(|_| !answer.works).collect();
    let rest = parts(answer, zone, system, bar);
    let (parts, more) = match otherwise(answer, zone, system) {
        Some(other) => (vec![other], ways.into_iter().chain(rest).collect()),
        None => (ways, rest),
    };
    InWords { first: first.into_iter().flatten().collect(), parts, more }
}

/// What an answer holds beyond its first lines; `bar` goes before each choice.
fn parts(
    answer: &Stretch,
    zone: &Zone,
    system: UnitSystem,
    bar: &dyn Fn(&Choice) -> String,
) -> Vec<AnswerPart> {
    let sure = |l: &Longest| share::percent(l.confidence);
    let longest = |l: &Longest| format!("{} sure: {}", sure(l), self::longest(answer, l, zone));
    let choice = |choice: &Choice| {
        let words = super::proposals::words(&choice.proposal, system);
        format!("{}{words}: {}", bar(choice), choice_gain(choice))
    };
    let margin = |stock: &StockEnd| {
        let met = match stock.out > 0.0 {
            true => format!("; {} chance of its limit before", percent_down(stock.out)),
            false => String::new(),
        };
        let other = stock.stood_in_by.as_ref().map(|other| format!("; {other} heats then"));
        let met = other.unwrap_or(met);
        format!("{}: {}{met}", stock.name, self::margin(stock, system))
    };
    let afford = match answer.afford_after {
        AffordAfter::Nothing => "How much you can do and still last".to_string(),
        AffordAfter::Serviced => {
            format!("How much you can do, with {} serviced first", listed(serviced_first(answer)))
        }
        AffordAfter::Together => "How much you can do, with all of that".to_string(),
    };
    let afford = afford.as_str();
    with_lines([
        ("Longest", answer.longest.iter().map(longest).collect()),
        ("What buys time, one thing at a time", answer.choices.iter().map(choice).collect()),
        (afford, afforded(answer)),
        ("To spare on the last morning", answer.stocks.iter().map(margin).collect()),
    ])
}

/// Those of some parts that have lines.
pub(super) fn with_lines<const N: usize>(all: [(&str, Vec<String>); N]) -> Vec<AnswerPart> {
    let some = all.into_iter().filter(|(_, lines)| !lines.is_empty());
    some.map(|(head, lines)| (head.to_string(), lines)).collect()
}

/// Names of the stocks that are to be filled, emptied or charged before leaving.
pub fn serviced_first(answer: &Stretch) -> Vec<&str> {
    let steps = answer.before.iter().flat_map(|before| &before.steps);
    steps.map(|step| answer.stocks[step.stock].name.as_str()).collect()
}

/// What to do before leaving.
fn before(answer: &Stretch, system: UnitSystem) -> Option<AnswerPart> {
    let before = answer.before.as_ref()?;
    if before.steps.is_empty() {
        let head = match answer.fill_first {
            true => "Filled and emptied first, as asked: more of that does not help",
            false => "Before you go: no filling or emptying helps",
        };
        return Some((head.to_string(), Vec::new()));
    }
    let or = answer.together.as_ref().is_some_and(|set| set.works && before.works);
    let begin = if or { "Or, before you go" } else { "Before you go" };
    let short = if before.works { "" } else { ", still not enough" };
    let head = format!("{begin} ({} chance then{short})", percent_down(before.probability));
    let steps = before.steps.iter().map(|step| self::step(step, &answer.stocks, system));
    Some((head, steps.collect()))
}

/// What no plan touches, and the cautions that belong to what is proposed.
pub fn cautions(answer: &Stretch, system: UnitSystem) -> Vec<String> {
    let kept = led("Kept back, whatever the plan: ", &listed(reserves(&answer.stocks, system)));
    let empties = |b: &Before| b.steps.iter().any(|step| step.kind == StepKind::Empty);
    let all = [
        Some(kept).filter(|kept| !kept.is_empty()),
        (answer.choices.iter().any(|choice| choice.burns))
            .then(|| format!("{}. Fires only where they are allowed", caution::BURNING.line)),
        answer.before.as_ref().is_some_and(empties).then(|| caution::WASTE.line.to_string()),
        Some(caution::ESTIMATE.line.to_string()),
    ];
    all.into_iter().flatten().collect()
}

/// What is short on the last morning, or tightest: "Short on the last morning: fresh by 29 L,
/// grey by 18 L"; "Tightest on the last morning: grey, with 6 L to spare".
fn tightest(answer: &Stretch, system: UnitSystem) -> Option<String> {
    let amount = |stock: &StockEnd| spare_or_short(stock, system);
    let stocks = || answer.stocks.iter().filter(|stock| stock.stood_in_by.is_none());
    let short = stocks().filter(|stock| stock.margin <= 0.0);
    let short = commas(short.map(|s| format!("{} by {}", s.name, amount(s))));
    if !short.is_empty() {
        return Some(format!("Short on the last morning: {short}"));
    }
    let share = |stock: &&StockEnd| stock.margin / stock.capacity;
    let least = stocks().min_by(|a, b| share(a).total_cmp(&share(b)))?;
    Some(format!("Tightest on the last morning: {}, with {} to spare", least.name, amount(least)))
}

/// What could make it work where nothing at hand does.
fn otherwise(answer: &Stretch, zone: &Zone, system: UnitSystem) -> Option<AnswerPart> {
    let Otherwise { nights: works, nights_serviced, stop, people, carry } =
        answer.otherwise.as_ref()?;
    let best = [
        answer.before.as_ref().map(|b| b.probability),
        answer.together.as_ref().map(|t| t.probability),
    ];
    let best = best.into_iter().flatten().fold(answer.probability, f64::max);
    let head = format!("Nothing at hand is enough ({} chance at best).", percent_down(best));
    let mut lines = Vec::new();
    match (*works, *nights_serviced) {
        (0, 0) => {}
        (0, full) => lines.push(format!("{}, with everything serviced first", nights(full))),
        (works, full) if full > works => lines.push(format!(
            "{} instead of {}; {full} with everything serviced first",
            nights(works),
            answer.nights
        )),
        (works, _) => lines.push(format!("{} instead of {}", nights(works), answer.nights)),
    }
    if let Some((at, place, share)) = stop {
        let at = by(*at, zone);
        let share = percent_down(*share);
        lines.push(format!("a stop in the middle, {at} at {place} ({share} chance then)"));
    }
    if let Some(people) = people {
        let word = if *people == 1 { "person" } else { "people" };
        lines.push(format!("{people} {word} aboard instead of {:.0}", answer.aboard));
    }
    let more = carry.iter().map(|(stock, more)| {
        let s = &answer.stocks[*stock];
        format!("{} more of {}", quantity::amount(*more, s.capacity, &s.unit, system), s.name)
    });
    lines.extend((!carry.is_empty()).then(|| format!("more to hold it: {}", commas(more))));
    let rest = match lines.is_empty() {
        true => "Plan stops instead: waystock stops",
        false => "What could be",
    };
    Some((format!("{head} {rest}"), lines))
}

/// That saved stops have no part in the answer; nothing where none lies ahead of its end.
pub fn without_saved(saved: usize) -> Option<String> {
    let stops = if saved == 1 { "1 saved stop is" } else { "saved stops are" };
    (saved > 0).then(|| format!("The {stops} left out: this is about nights without service"))
}

/// A stretch that begins later may find a stock out when it does, for which no date after the
/// beginning can be named.
fn is_before_it_begins(answer: &Stretch, until: Moment) -> bool {
    answer.from > answer.at && until <= answer.from
}

/// "3 nights (until Fri 23 Oct 16:00)", "3 nights, not quite 4 (until Sat 24 Oct 07:00)", "24 nights or
/// more", "none: something may be out before it begins".
pub fn longest(answer: &Stretch, longest: &Longest, zone: &Zone) -> String {
    let nights = nights(longest.nights);
    match longest.until {
        Some(until) if is_before_it_begins(answer, until) => {
            "none: something may be out before it begins".to_string()
        }
        Some(until) if rounded(until, zone) <= answer.at => nights,
        Some(until) if !longest.or_more => {
            let slept = zone.date(until) - zone.date(answer.from);
            // A night counts with its morning, of which this one lacks some.
            let next = longest.nights + 1;
            let nearly = if slept.num_days() >= i64::from(next) {
                format!(", not quite {next}")
            } else {
                String::new()
            };
            format!("{nights}{nearly} (until {})", by(until, zone))
        }
        _ => format!("{nights} or more"),
    }
}

/// "fill fresh: at least 31 L in", "empty grey", "charge battery: 900 Wh (1.5 h of hook-up)".
/// Amounts are rounded up.
pub fn step(step: &Step, stocks: &[StockEnd], system: UnitSystem) -> String {
    let stock = &stocks[step.stock];
    let amount = amount_up(step.amount, stock, system);
    match (step.kind, step.whole) {
        (StepKind::Fill, true) => format!("fill {} to the brim: about {amount}", stock.name),
        (StepKind::Fill, false) => format!("fill {}: at least {amount} in", stock.name),
        (StepKind::Empty, true) => format!("empty {} altogether: about {amount}", stock.name),
        (StepKind::Empty, false) => format!("empty {}: at least {amount} out", stock.name),
        (StepKind::Move, _) => format!("move to another camp ({} starts anew)", stock.name),
        (StepKind::Charge, whole) => {
            let how = match step.hours {
                Some((hours, Driver::ShoreHour)) => format!(" (about {hours} h of hook-up)"),
                Some((hours, Driver::GeneratorHour)) => format!(" (about {hours} h of generator)"),
                Some((hours, _)) => format!(" (about {hours} h of driving)"),
                None => String::new(),
            };
            let least = if whole { "until full: about" } else { "at least" };
            format!("charge {}: {least} {amount}{how}", stock.name)
        }
    }
}

/// An amount in the crew's unit, rounded up to what can be measured.
fn amount_up(value: f64, stock: &StockEnd, system: UnitSystem) -> String {
    let unit = stock.unit.shown_in(system);
    let shown = value * stock.unit.factor_to(&unit, None).unwrap_or(1.0);
    let grain = match unit {
        Unit::WattHour => 50.0,
        Unit::Kilogram | Unit::Pound => 0.1,
        _ if stock.capacity >= 20.0 => 1.0,
        _ => 0.5,
    };
    let up = (shown / grain - 1e-6).ceil().max(0.0) * grain;
    let text = if grain == 1.0 || grain == 50.0 { format!("{up:.0}") } else { format!("{up:.1}") };
    format!("{text} {}", quantity::unit_word(&unit, &text))
}

/// "lasts 14 h longer (83 % chance)", "raises the chance from 45 to 69 %"; rounded down.
fn choice_gain(choice: &Choice) -> String {
    let reached = percent_down(choice.probability);
    if choice.hours < 0.1 {
        let before = percent_down(choice.probability - choice.gain);
        if choice.gain > 0.0 && before != reached {
            return format!(
                "raises the chance from {} to {reached}",
                before.trim_end_matches(" %")
            );
        }
        return format!("no longer by itself ({reached} chance)");
    }
    let more = if choice.or_more { " or more" } else { "" };
    if choice.probability < 0.01 {
        return format!("lasts {}{more} longer", when::lasting(choice.hours));
    }
    format!("lasts {}{more} longer ({reached} chance)", when::lasting(choice.hours))
}

/// The smallest set of changes: "Enough together (93 % chance then): the heater two degrees lower; …".
fn set(answer: &Stretch, system: UnitSystem) -> Option<String> {
    let set = answer.together.as_ref()?;
    let words =
        set.choices.iter().map(|i| super::proposals::words(&answer.choices[*i].proposal, system));
    let words: Vec<String> = words.collect();
    let enough = match (set.works, words.len()) {
        (true, 1) => "Enough",
        (true, _) => "Enough together",
        (false, _) => "Not enough even together",
    };
    Some(format!("{enough} ({} chance then): {}", percent_down(set.probability), words.join("; ")))
}

/// How much of each activity can be afforded, one line each; one for all where none of it can.
fn afforded(answer: &Stretch) -> Vec<String> {
    match answer.afford.iter().all(|afford| afford.most.is_none()) {
        true if !answer.afford.is_empty() => {
            vec!["nothing: it does not last without any of it either".to_string()]
        }
        _ => answer.afford.iter().map(afford).collect(),
    }
}

/// "showers: at most 4 (usually about 6)".
fn afford(afford: &Afford) -> String {
    let word = |count: f64| match afford.counted_in {
        Unit::Time | Unit::Use => format!("{count:.0}"),
        _ => {
            let number = format!("{count:.0}");
            format!("{number} {}", afford.counted_in.word_for(&number))
        }
    };
    let usual = match afford.usual.round() {
        0.0 => format!("usually under {}", word(1.0)),
        usual => format!("usually about {}", word(usual)),
    };
    match (afford.most, afford.or_more) {
        (None, _) => format!("{}: none, and even then it does not last ({usual})", afford.plural),
        (Some(0.0), false) => format!("{}: none ({usual})", afford.plural),
        (Some(most), true) => format!("{}: {} or more ({usual})", afford.plural, word(most)),
        (Some(most), false) => format!("{}: at most {} ({usual})", afford.plural, word(most)),
    }
}

/// The reserves that no proposal touches: "15 L of fresh", "10 % of battery".
fn reserves(stocks: &[StockEnd], system: UnitSystem) -> Vec<String> {
    let kept = stocks.iter().filter(|s| s.runs == Direction::Down && s.limit > 0.0);
    kept.map(|s| {
        let amount = quantity::kept(s.limit, s.capacity, &s.unit, system);
        format!("{amount} of {}", s.name)
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::proposal::Proposal;

    /// Counted by hand: 0.69 with it and 0.24 less without.
    #[test]
    fn what_adds_no_time_says_what_it_does_for_the_chance() {
        let says = |probability, gain| {
            let proposal = Proposal::Cooler(2.0);
            let (changes, hours) = (Vec::new(), 0.0);
            let (or_more, burns) = (false, false);
            choice_gain(&Choice { proposal, changes, hours, or_more, probability, gain, burns })
        };
        assert_eq!(says(0.69, 0.24), "raises the chance from 45 to 69 %");
        assert_eq!(says(0.69, 0.0), "no longer by itself (69 % chance)");
    }
}
