//! Will so many nights without service work? What binds, what would make it work, what buys time?
//!
//! [`verdict`] is quick enough to follow typing; [`advise`] adds what buys time and how much can
//! be afforded, at the cost of some dozens of further runs. [`stretch`] does both.

use super::afford;
use super::answer::{Afford, AffordAfter, Choice, Longest, Request, StockEnd, Stretch, Together};
use super::before;
use super::case::{Case, Outcome, last_morning, share_from};
use super::change::Change;
use super::options::{self, Offer};
use crate::belief::Beliefs;
use crate::domain::journal::Standing;
use crate::domain::rig::Rig;
use crate::domain::time::{Moment, after_hours, hours_between};
use crate::forecast::draw::estimate;
use crate::forecast::tracks::Put;

/// Hours past the last morning that the verdict looks at, so that longer stays show.
const BEYOND_H: usize = 24 * 14;
/// Hours past the last morning that choices are judged on.
const CHOICES_BEYOND_H: usize = 24 * 3;
/// Most lives that choices are judged on.
const CHOICES_LIVES: usize = 2000;
/// Most lives that what can be afforded is judged on.
const AFFORD_LIVES: usize = 1000;
/// Most choices that are shown, and that a set is put together from.
const MOST_CHOICES: usize = 16;
/// Most choices in a set.
const LARGEST_SET: usize = 5;
/// A choice that buys less than this is not worth a line.
const LEAST_HOURS: f64 = 0.1;
const LEAST_GAIN: f64 = 0.004;
/// A stock that meets its limit first in fewer lives than this presses nobody.
const PRESSING: f64 = 0.01;

/// The whole answer.
pub fn stretch(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    now: Moment,
    request: &Request,
) -> Stretch {
    let (mut answer, case, outcome) = verdict(rig, standing, beliefs, now, request);
    advise(&mut answer, &case, &outcome);
    answer
}

/// The answer without choices and what can be afforded, with what [`advise`] goes on from.
pub fn verdict(
    rig: &Rig,
    standing: &[Standing],
    beliefs: &Beliefs,
    now: Moment,
    request: &Request,
) -> (Stretch, Case, Outcome) {
    let case = Case::of(rig, standing, beliefs, now, request, BEYOND_H);
    let outcome = case.outcome();
    let zone = rig.zone(now);
    let works = outcome.probability >= request.confidence;
    let binding = (0..outcome.binding.len())
        .max_by(|a, b| outcome.binding[*a].total_cmp(&outcome.binding[*b]));
    let answer = Stretch {
        at: now,
        from: case.from,
        until: last_morning(zone, case.from, request.nights),
        nights: request.nights,
        confidence: request.confidence,
        lives: case.lives,
        seed: case.seed,
        place: case.beliefs.timeline.camp(case.from).name.clone(),
        aboard: case.aboard(),
        fill_first: request.fill_first,
        probability: outcome.probability,
        works,
        binding: binding.filter(|s| outcome.binding[*s] > 0.0),
        stocks: stock_ends(&case, &outcome, request.confidence),
        longest: [0.9, 0.8, 0.5].map(|c| longest(rig, now, &case, &outcome, c)).to_vec(),
        before: (!works).then(|| before::before(&case, &outcome, request.confidence)),
        choices: Vec::new(),
        together: None,
        afford: Vec::new(),
        afford_after: AffordAfter::Nothing,
    };
    (answer, case, outcome)
}

fn stock_ends(case: &Case, outcome: &Outcome, confidence: f64) -> Vec<StockEnd> {
    let sorted = |values: &[f64]| {
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        sorted
    };
    let stocks = case.beliefs.mechanism.stocks().iter().enumerate();
    stocks
        .map(|(index, stock)| {
            let passages = sorted(&outcome.lives.passages[index]);
            let rooms = sorted(&outcome.lives.room[index]);
            let marked = sorted(&outcome.lives.marked[index]);
            let allowed = (passages.len() as f64 * (1.0 - confidence) + 1e-9) as usize;
            let at = |values: &[f64], place: usize| {
                values.get(place.min(values.len().saturating_sub(1))).copied().unwrap_or(0.0)
            };
            StockEnd {
                name: stock.name.clone(),
                unit: stock.unit.clone(),
                runs: stock.runs,
                capacity: stock.capacity,
                limit: stock.limit(),
                start: estimate(outcome.lives.first[index].iter().copied()),
                end: at(&marked, marked.len() / 2),
                margin: at(&rooms, allowed),
                out: 1.0 - share_from(&passages, case.until_hours),
                binding: outcome.binding[index],
                until: after_hours(case.scene.now, at(&passages, allowed)),
            }
        })
        .collect()
}

fn longest(rig: &Rig, now: Moment, case: &Case, outcome: &Outcome, confidence: f64) -> Longest {
    let safe = outcome.safe_hours(confidence);
    let horizon = case.scene.hours.len() as f64;
    let zone = rig.zone(now);
    let reached = safe.min(horizon);
    let mut nights = 0;
    while hours_between(now, last_morning(zone, case.from, nights + 1)) <= reached {
        nights += 1;
    }
    Longest {
        confidence,
        nights,
        or_more: safe.is_infinite(),
        until: after_hours(case.scene.now, safe),
    }
}

/// Adds what buys time, the smallest set that makes the stretch work, and what can be afforded.
pub fn advise(answer: &mut Stretch, case: &Case, outcome: &Outcome) {
    let confidence = answer.confidence;
    let lives = case.lives.min(CHOICES_LIVES);
    let small = case.clone().cut(CHOICES_BEYOND_H, lives);
    let base = small.outcome();
    let pressing =
        |stock: &usize| outcome.binding[*stock] > PRESSING || answer.stocks[*stock].out > PRESSING;
    let pressed_until = |stock: usize| {
        answer.stocks[stock]
            .until
            .map_or(f64::INFINITY, |until| hours_between(case.scene.now, until))
    };
    let mut judged: Vec<(Offer, Choice)> = options::offers(case, &pressed_until)
        .into_iter()
        .filter(|offer| {
            offer.changes.iter().any(|c| c.spares(&case.beliefs).iter().any(|s| pressing(s)))
        })
        .map(|offer| {
            let choice = judge(&small, &base, &offer, confidence);
            (offer, choice)
        })
        .filter(|(_, choice)| choice.gain >= LEAST_GAIN || choice.hours >= LEAST_HOURS)
        .collect();
    judged.sort_by(|(_, a), (_, b)| (b.hours.total_cmp(&a.hours)).then(b.gain.total_cmp(&a.gain)));
    judged.truncate(MOST_CHOICES);
    if !answer.works {
        answer.together = together(&small, &base, &judged, confidence);
    }
    answer.choices = judged.into_iter().map(|(_, choice)| choice).collect();
    (answer.afford_after, answer.afford) = affordable(answer, small);
}

/// What can be afforded, counted from the first state of things in which the stretch works.
fn affordable(answer: &Stretch, case: Case) -> (AffordAfter, Vec<Afford>) {
    let lives = case.lives.min(AFFORD_LIVES);
    let mut case = case.cut(0, lives);
    let mut after = AffordAfter::Nothing;
    match (&answer.before, &answer.together) {
        (Some(steps), _) if steps.works => {
            after = AffordAfter::Serviced;
            let stocks = case.beliefs.mechanism.stocks();
            let full = steps
                .steps
                .iter()
                .map(|step| (step.stock, Put::To(stocks[step.stock].serviced_level())));
            let full: Vec<(usize, Put)> = full.collect();
            case.puts.extend(full);
        }
        (_, Some(set)) if set.works => {
            after = AffordAfter::Together;
            let changes: Vec<Change> =
                set.choices.iter().flat_map(|i| answer.choices[*i].changes.clone()).collect();
            case = case.with(&changes);
        }
        _ => {}
    }
    (after, afford::afford(&case, answer.confidence))
}

/// What an offer buys, by running the same lives with its changes made.
fn judge(case: &Case, base: &Outcome, offer: &Offer, confidence: f64) -> Choice {
    let with = case.with(&offer.changes).outcome();
    let (hours, or_more) = hours_added(case, base, &with, confidence);
    Choice {
        words: offer.words.clone(),
        changes: offer.changes.clone(),
        hours,
        or_more,
        probability: with.probability,
        gain: with.probability - base.probability,
        burns: offer.burns,
    }
}

/// Hours added to what is safe; whether the horizon cut them short.
pub fn hours_added(case: &Case, base: &Outcome, with: &Outcome, confidence: f64) -> (f64, bool) {
    let horizon = case.scene.hours.len() as f64;
    let (before, after) = (base.safe_hours(confidence), with.safe_hours(confidence));
    (after.min(horizon) - before.min(horizon), after.is_infinite() && before.is_finite())
}

/// Takes the best next choice until the set works, then drops what is no longer needed.
fn together(
    case: &Case,
    base: &Outcome,
    judged: &[(Offer, Choice)],
    confidence: f64,
) -> Option<Together> {
    let run = |set: &[usize]| {
        let changes: Vec<Change> =
            set.iter().flat_map(|i| judged[*i].0.changes.iter().cloned()).collect();
        case.with(&changes).outcome()
    };
    let better = |a: &Outcome, b: &Outcome| {
        (a.probability, a.safe_hours(confidence)) > (b.probability, b.safe_hours(confidence))
    };
    let mut set: Vec<usize> = Vec::new();
    let mut best = base.clone();
    while set.len() < LARGEST_SET && best.probability < confidence {
        let mut next: Option<(usize, Outcome)> = None;
        for index in 0..judged.len() {
            if set.iter().any(|taken| judged[*taken].0.group == judged[index].0.group) {
                continue;
            }
            let outcome = run(&[&set[..], &[index]].concat());
            if better(&outcome, next.as_ref().map_or(&best, |(_, o)| o)) {
                next = Some((index, outcome));
            }
        }
        let Some((index, outcome)) = next else { break };
        set.push(index);
        best = outcome;
    }
    if set.is_empty() {
        return None;
    }
    let mut place = 0;
    while place < set.len() && set.len() > 1 {
        let mut fewer = set.clone();
        fewer.remove(place);
        let outcome = run(&fewer);
        if outcome.probability >= confidence {
            (set, best) = (fewer, outcome);
        } else {
            place += 1;
        }
    }
    let (hours, _) = hours_added(case, base, &best, confidence);
    let probability = best.probability;
    Some(Together { choices: set, probability, hours, works: probability >= confidence })
}
