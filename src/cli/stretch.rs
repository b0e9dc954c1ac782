//! `waystock stretch --nights N`: will it work, what first, what buys more. Exit code 1 when it
//! does not work.

use super::args::{StretchOptions, WeatherChoice};
use super::{CommandResult, Failure, Output, Rounded, Session, gaps, list, object, plan_words};
use crate::domain::plans::plans;
use crate::domain::{Rig, UnitSystem};
use crate::plan::answer::{Afford, Choice, Otherwise, Step, StockEnd};
use crate::plan::proposal::Proposal;
use crate::plan::stops::saved;
use crate::plan::{Basis, Request, Stretch, Suppose, Weather, stretch};
use crate::text::stops::closed_now;
use crate::text::{Form, people, proposals, stretch as words, when};
use serde_json::{Value, json};

/// Prints the answer in plain lines, or as JSON.
pub fn run(options: &StretchOptions, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load_for_answer(1)?;
    let rig = &contents.rig;
    let now = session.now(rig);
    let from = options.from.as_deref().map(|text| plan_words::from("--from", text, rig, now));
    let place = options.place.as_deref().map(|text| plan_words::place("--place", text, rig));
    let request = Request {
        from: from.transpose()?,
        nights: options.nights,
        place: place.transpose()?,
        weather: match options.weather {
            WeatherChoice::Outlook => Weather::Outlook,
            WeatherChoice::Typical => Weather::Typical,
        },
        crew: options.crew,
        fill_first: options.fill_first,
        confidence: f64::from(options.confidence) / 100.0,
        lives: session.common.lives as usize,
        seed: session.common.seed,
    };
    plan_words::within_sight(&request, rig, now)?;
    let (standing, learned) = session.learned(&contents)?;
    let suppose =
        Suppose { habits: plan_words::habits(&options.habit, rig)?, ..Suppose::default() };
    let from = request.from.unwrap_or(now);
    let (standing, beliefs) =
        suppose.applied(&Basis { rig, standing: &standing, beliefs: &learned, now }, from);
    let basis = Basis { rig, standing: &standing, beliefs: &beliefs, now };
    let in_words = |proposal: &Proposal| proposals::words(proposal, rig.show);
    let answer =
        stretch::stretch(&basis, &request, &options.with, &in_words).map_err(unknown_choice)?;
    if session.common.json {
        let mut value = as_json(&answer, rig.show);
        value["with"] = json!(options.with);
        out.json(&value);
    } else {
        let usual = learned.habits.iter().map(|habit| habit.daily_amount(answer.aboard));
        let usual: Vec<f64> = usual.collect();
        let habits = words::habits(&suppose.habits, &rig.parts.activities, &usual);
        print(rig, &answer, (options, habits), out);
        let saved = saved::stops_ahead(rig, &plans(basis.standing));
        let before = saved.iter().filter(|stop| stop.at < answer.until).count();
        out.lines(words::without_saved(before).map(|line| format!("{line}.")));
        gaps::tell_unread(&contents.journal, out);
    }
    Ok(u8::from(!answer.works))
}

fn unknown_choice(unknown: stretch::UnknownChoice) -> Failure {
    let words = &unknown.words;
    match (words.trim().is_empty(), unknown.matching.first()) {
        (false, Some(first)) => {
            let found = format!(
                "--with: {words:?} fits {} choices: {}",
                unknown.matching.len(),
                unknown.matching.join("; ")
            );
            Failure::new(2, found)
                .hint(format!("Say which, in more of its words: --with \"{first}\"."))
        }
        _ => {
            let found = format!("--with: found {words:?}, expected a choice of this stretch");
            Failure::new(2, found).hint(format!("There are: {}.", unknown.known.join("; ")))
        }
    }
}

fn print(
    rig: &Rig,
    stretch: &Stretch,
    (options, habits): (&StretchOptions, Option<String>),
    out: &mut Output,
) {
    let zone = rig.zone(stretch.at);
    let said = words::said(stretch, &zone, rig.show, &|_| String::new());
    let mut first = said.first.into_iter();
    out.lines(first.next());
    out.line(&format!(
        "{} to {}, {}, {} aboard{}{}",
        when::date_time(zone.here(stretch.from), Form::Short),
        when::date_time(zone.here(stretch.until), Form::Short),
        stretch.place,
        people(stretch.aboard),
        if stretch.fill_first { ", serviced first" } else { "" },
        words::hook_up(stretch).map_or(String::new(), |words| format!(", {words}")),
    ));
    if !options.with.is_empty() {
        out.line(&format!("with: {}", options.with.join("; ")));
    }
    out.lines(habits);
    out.lines(first);
    if !said.parts.is_empty() {
        out.line("");
    }
    said.parts.iter().for_each(|part| print_part(part, out));
    if stretch.before.is_some() && stretch.from <= stretch.at {
        let names = words::serviced_first(stretch);
        out.lines(closed_now(rig, &names, stretch.at).map(|line| format!("{line}.")));
    }
    for part in said.more.iter().filter(|_| options.all) {
        out.line("");
        print_part(part, out);
    }
    out.line("");
    if !options.all {
        out.line("Every stock, all that buys time, how much you can afford: --all");
    }
    out.lines(words::cautions(stretch, rig.show).iter().map(|line| format!("{line}.")));
}

/// A part of an answer, its lines indented below its head.
pub(super) fn print_part((head, lines): &words::AnswerPart, out: &mut Output) {
    out.line(&format!("{head}{}", if lines.is_empty() { "." } else { ":" }));
    out.lines(lines.iter().map(|line| format!("  {line}")));
}

/// `waystock.stretch/1`.
fn as_json(stretch: &Stretch, show: UnitSystem) -> Value {
    let stock = |index: usize| &stretch.stocks[index];
    let end = |s: &StockEnd| {
        object!(s; name, unit, capacity ~ 3, limit ~ 3, start, end ~ 3, margin ~ 3, out ~ 6,
            binding ~ 6, stood_in_by, until)
    };
    let step = |s: &Step| {
        object!(s; stock = stock(s.stock).name, do = format!("{:?}", s.kind).to_lowercase(),
            amount ~ 3, unit = stock(s.stock).unit, whole,
            hours = json!(s.hours.map(|(hours, _)| hours)))
    };
    let before = stretch
        .before
        .as_ref()
        .map(|before| object!(before; works, probability ~ 6, steps = list(&before.steps, step)));
    let choice = |c: &Choice| {
        object!(c; words = proposals::words(&c.proposal, show), hours ~ 3, or_more, probability ~ 6,
            gain ~ 6)
    };
    let together = stretch.together.as_ref().map(|t| {
        let words = |index: &usize| proposals::words(&stretch.choices[*index].proposal, show);
        object!(t; works, probability ~ 6, hours ~ 3, choices = list(&t.choices, words))
    });
    let afford = |a: &Afford| object!(a; activity = a.plural, unit = a.counted_in, usual ~ 3, most = json!(a.most), or_more);
    object!(stretch;
        schema = "waystock.stretch/1", at, from, until, nights, place, aboard ~ 3, fill_first,
        hook_up_hours ~ 3, confidence ~ 4, lives, seed, works, probability ~ 6,
        binding = stretch.binding.map(|index| &stock(index).name),
        stocks = list(&stretch.stocks, end),
        longest = list(&stretch.longest, |l| object!(l; confidence ~ 4, nights, or_more, until)),
        before = before, choices = list(&stretch.choices, choice), together = together, safe_until,
        otherwise = stretch.otherwise.as_ref().map(|other| otherwise_as_json(stretch, other)),
        afford_after = format!("{:?}", stretch.afford_after).to_lowercase(),
        afford = list(&stretch.afford, afford))
}

fn otherwise_as_json(stretch: &Stretch, other: &Otherwise) -> Value {
    let stop = other.stop.as_ref().map(
        |(at, place, share)| object!(other; at = at, place = place, probability = share.rounded(6)),
    );
    let carry = |(stock, more): &(usize, f64)| {
        let stock = &stretch.stocks[*stock];
        object!(stock; stock = stock.name, amount = more.rounded(3), unit)
    };
    object!(other; nights, nights_serviced, stop = stop, people, carry = list(&other.carry, carry))
}
