//! Will so many nights without service work? What binds, what would make it work, what buys time?
//!
//! Three answers, each with more in it than the one before: [`first_look`] says yes or no, what
//! binds and what is to spare, within a frame, so that it follows typing; [`look_closer`] tells
//! levels and longer stays by more lives and says what to do before leaving; [`advise`] adds what
//! buys time and how much can be afforded, at the cost of some dozens of further runs. The share
//! of lives in which the stretch works is the same in all of them. [`verdict`] is the first two,
//! [`stretch`] all three.

use super::afford::AsItIs;
use super::answer::{Afford, AffordAfter, Longest, StockEnd};
use super::case::{Case, Outcome, last_morning, safe_hours, share_from};
use super::change::Change;
use super::practice::{LEAST_GAIN, LEAST_HOURS, PRESSING};
use super::proposal::Proposal;
use super::together::Tried;
use super::{Basis, Request, Stretch, afford, before, options, otherwise, together};
use crate::domain::{Zone, after_hours, hours_between};
use crate::forecast::passages::{estimate, quantile, sorted};

/// Hours past the last morning that the verdict looks at, so that longer stays show.
const BEYOND_H: usize = 24 * 14;
/// Hours past the last morning that choices are judged on.
const CHOICES_BEYOND_H: usize = 24 * 3;
/// Most lives that levels, margins and longer stays are told by; the probability itself comes from
/// all that were asked for.
const DETAIL_LIVES: usize = 2000;
/// The same for the first look: their margins move by a litre or two when more lives tell them.
const GLANCE_LIVES: usize = 256;
/// Most lives that choices are judged on.
const CHOICES_LIVES: usize = 2000;
/// Most lives that what can be afforded is judged on.
const AFFORD_LIVES: usize = 1000;
/// Most choices that are shown, and that a set is put together from.
const MOST_CHOICES: usize = 16;

/// The whole answer, with choices made: each by the words that `worded` gives it, or by a part of
/// them that no other choice has.
///
/// # Errors
/// The first one that is not, or not clearly, a choice of this stretch.
pub fn stretch(
    basis: &Basis,
    request: &Request,
    chosen: &[String],
    worded: &dyn Fn(&Proposal) -> String,
) -> Result<Stretch, UnknownChoice> {
    let (mut answer, case, outcome) = verdict_with(basis, request, chosen, worded)?;
    advise(basis, &mut answer, &case, &outcome);
    Ok(answer)
}

/// The answer without choices and what can be afforded, with what [`advise`] goes on from.
pub fn verdict(basis: &Basis, request: &Request) -> (Stretch, Case, Outcome) {
    let (mut answer, look) = first_look(basis, request);
    let (case, outcome) = look_closer(&mut answer, look);
    (answer, case, outcome)
}

/// What a first look found, for [`look_closer`] to go on from.
pub struct FirstLook {
    case: Case,
    zone: Zone,
    /// Share of all lives asked for in which no limit is met, where they are more than the first
    /// look's.
    sharp: Option<f64>,
    lives: usize,
}

/// The verdict as far as it can be had within a frame: whether it works, which is final; what
/// binds, what each stock ends with and how long one can stay, by few lives. Nothing is said yet
/// about what to do before leaving.
pub fn first_look(basis: &Basis, request: &Request) -> (Stretch, FirstLook) {
    look_at(basis, request, Case::of(basis, request, BEYOND_H))
}

/// Tells levels and longer stays by more lives, and finds what to do before leaving.
pub fn look_closer(answer: &mut Stretch, look: FirstLook) -> (Case, Outcome) {
    let FirstLook { mut case, zone, sharp, lives } = look;
    case.lives = lives.min(DETAIL_LIVES);
    let outcome = case.outcome_until_the_morning();
    tell(zone, answer, &case, &outcome, sharp);
    answer.before = (!answer.works).then(|| before::before(&case, &outcome, answer.confidence));
    (case, outcome)
}

/// A choice that there is not.
#[derive(Debug, Clone, PartialEq)]
pub struct UnknownChoice {
    /// What was asked for.
    pub words: String,
    /// Choices that have these words, where they are several.
    pub matching: Vec<String>,
    /// All that could be chosen.
    pub known: Vec<String>,
}

fn verdict_with(
    basis: &Basis,
    request: &Request,
    chosen: &[String],
    worded: &dyn Fn(&Proposal) -> String,
) -> Result<(Stretch, Case, Outcome), UnknownChoice> {
    let (answer, case, outcome) = verdict(basis, request);
    if chosen.is_empty() {
        return Ok((answer, case, outcome));
    }
    let offers = options::offers(&case, &|stock| pressed_until(&answer, &case, stock));
    let known: Vec<String> = offers.iter().map(|offer| worded(&offer.proposal)).collect();
    let mut changes: Vec<Change> = Vec::new();
    for words in chosen {
        let wanted = words.trim().to_lowercase();
        let has = |n: &usize| known[*n].to_lowercase().contains(&wanted);
        let alike: Vec<usize> = (0..known.len()).filter(has).collect();
        let same = alike.iter().find(|n| known[**n].to_lowercase() == wanted);
        let Some(n) = same.or(alike.first().filter(|_| alike.len() == 1)) else {
            let matching = alike.into_iter().map(|n| known[n].clone()).collect();
            return Err(UnknownChoice { words: words.clone(), matching, known });
        };
        changes.extend(offers[*n].changes.iter().cloned());
    }
    let case = Case::of(basis, request, BEYOND_H).with(&changes);
    let (mut answer, look) = look_at(basis, request, case);
    let (case, outcome) = look_closer(&mut answer, look);
    Ok((answer, case, outcome))
}

fn pressed_until(answer: &Stretch, case: &Case, stock: usize) -> f64 {
    let until = answer.stocks[stock].until;
    until.map_or(f64::INFINITY, |until| hours_between(case.scene.now, until))
}

fn look_at(basis: &Basis, request: &Request, mut case: Case) -> (Stretch, FirstLook) {
    // Many lives sharpen one share; what the stocks end with is told by fewer.
    let sharp = (request.lives > GLANCE_LIVES)
        .then(|| case.clone().cut(0, request.lives).limits().probability);
    case.lives = request.lives.min(GLANCE_LIVES);
    let outcome = case.outcome_until_the_morning();
    let mut answer = Stretch {
        at: basis.now,
        from: case.from,
        until: last_morning(basis.zone(), case.from, request.nights),
        nights: request.nights,
        confidence: request.confidence,
        lives: request.lives,
        seed: case.seed,
        place: case.beliefs.timeline.camp(case.from).name.clone(),
        aboard: case.aboard(),
        fill_first: request.fill_first,
        hook_up_hours: case.hook_up_hours,
        ..Stretch::default()
    };
    let zone = basis.zone();
    tell(zone, &mut answer, &case, &outcome, sharp);
    (answer, FirstLook { case, zone, sharp, lives: request.lives })
}

/// Fills in what an outcome says.
fn tell(zone: Zone, answer: &mut Stretch, case: &Case, outcome: &Outcome, sharp: Option<f64>) {
    answer.probability = sharp.unwrap_or(outcome.probability);
    answer.works = answer.probability >= answer.confidence;
    let safe = safe(answer, case, outcome, answer.confidence);
    answer.safe_until = after_hours(case.scene.now, safe);
    answer.binding = outcome.most_often_first().filter(|s| outcome.binding[*s] > 0.0);
    answer.stocks = stock_ends(case, outcome, answer.confidence);
    answer.longest = [0.9, 0.8, 0.5]
        .map(|c| longest(zone, case, c, self::safe(answer, case, outcome, c)))
        .to_vec();
}

/// Hours for which the stretch is safe. The verdict may rest on more lives than these: at the
/// confidence that was asked for no date contradicts it.
fn safe(answer: &Stretch, case: &Case, outcome: &Outcome, confidence: f64) -> f64 {
    let hours = outcome.safe_hours(confidence);
    match (confidence == answer.confidence, answer.works) {
        (false, _) => hours,
        (true, true) => hours.max(case.until_hours),
        (true, false) => hours.min(case.until_hours - 0.5),
    }
}

fn stock_ends(case: &Case, outcome: &Outcome, confidence: f64) -> Vec<StockEnd> {
    let stocks = case.beliefs.mechanism.stocks().iter().enumerate();
    stocks
        .map(|(index, stock)| {
            let passages = sorted(outcome.lives.passages[index].iter().copied());
            let rooms = sorted(outcome.lives.room[index].iter().copied());
            let marked = sorted(outcome.lives.marked[index].iter().copied());
            StockEnd {
                name: stock.name.clone(),
                unit: stock.unit.clone(),
                runs: stock.runs,
                capacity: stock.capacity,
                limit: stock.limit(),
                start: estimate(outcome.lives.first[index].iter().copied()),
                end: quantile(&marked, 0.5).unwrap_or(0.0),
                margin: quantile(&rooms, 1.0 - confidence).unwrap_or(0.0),
                out: 1.0 - share_from(&passages, case.until_hours),
                binding: outcome.binding[index],
                stood_in_by: case
                    .beliefs
                    .mechanism
                    .parts
                    .stood_in_by(&stock.name, case.scene.most_heat_w)
                    .map(str::to_owned),
                until: after_hours(case.scene.now, safe_hours(&passages, confidence)),
            }
        })
        .collect()
}

fn longest(zone: Zone, case: &Case, confidence: f64, safe: f64) -> Longest {
    let horizon = case.scene.hours.len() as f64;
    let (now, reached) = (case.scene.now, safe.min(horizon));
    let mut nights = 0;
    while hours_between(now, last_morning(zone, case.from, nights + 1)) <= reached {
        nights += 1;
    }
    Longest { confidence, nights, or_more: safe.is_infinite(), until: after_hours(now, safe) }
}

/// Adds what buys time, the smallest set that makes the stretch work, and what can be afforded.
pub fn advise(basis: &Basis, answer: &mut Stretch, case: &Case, outcome: &Outcome) {
    let confidence = answer.confidence;
    let lives = case.lives.min(CHOICES_LIVES);
    let small = case.clone().cut(CHOICES_BEYOND_H, lives);
    let base = small.limits();
    let pressing =
        |stock: &usize| outcome.binding[*stock] > PRESSING || answer.stocks[*stock].out > PRESSING;
    let offers = options::offers(case, &|stock| pressed_until(answer, case, stock));
    let mut tried: Vec<Tried> = offers
        .into_iter()
        .filter(|offer| offer.changes.iter().any(|c| c.spares(&case.beliefs).iter().any(pressing)))
        .map(|offer| Tried::of(&small, &base, offer, confidence))
        .filter(|tried| tried.choice.gain >= LEAST_GAIN || tried.choice.hours >= LEAST_HOURS)
        .collect();
    // By what each brings: first the share of futures, in whole percent as shown, then the hours.
    // A share of lives is one of few; what a difference of two of them lacks beyond that is noise.
    let percent = |tried: &Tried| ((tried.choice.gain * 1e8).round() / 1e6).round();
    tried.sort_by(|a, b| {
        (percent(b).total_cmp(&percent(a))).then(b.choice.hours.total_cmp(&a.choice.hours))
    });
    tried.truncate(MOST_CHOICES);
    if !answer.works {
        answer.together = together::together(&small, &base, &tried, confidence);
        let helps = answer.together.as_ref().is_some_and(|set| set.works)
            || answer.before.as_ref().is_some_and(|steps| steps.works);
        answer.otherwise = (!helps).then(|| otherwise::otherwise(basis, answer, &small));
    }
    answer.choices = tried.into_iter().map(|tried| tried.choice).collect();
    (answer.afford_after, answer.afford) = affordable(answer, small);
}

/// What can be afforded, counted from the first state of things in which the stretch works.
fn affordable(answer: &Stretch, case: Case) -> (AffordAfter, Vec<Afford>) {
    let lives = case.lives.min(AFFORD_LIVES);
    let mut case = case.cut(0, lives);
    let mut after = AffordAfter::Nothing;
    let mut known = if answer.works { AsItIs::Works } else { AsItIs::Fails };
    match (&answer.before, &answer.together) {
        (Some(steps), _) if steps.works => {
            (after, known) = (AffordAfter::Serviced, AsItIs::Works);
            let full: Vec<_> = steps.steps.iter().map(|step| case.service(step.stock)).collect();
            case.puts.extend(full);
        }
        (_, Some(set)) if set.works => {
            (after, known) = (AffordAfter::Together, AsItIs::Works);
            let changes: Vec<Change> =
                set.choices.iter().flat_map(|i| answer.choices[*i].changes.clone()).collect();
            case = case.with(&changes);
        }
        _ => {}
    }
    (after, afford::afford(&case, known, answer.confidence))
}
