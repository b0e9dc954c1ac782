//! `waystock stretch --nights N`: will it work, what first, what buys more. Exit code 1 when it
//! does not work.

use super::args::{Much, StretchOptions, WeatherChoice};
use super::context::Context;
use super::failure::Failure;
use super::output::Output;
use super::{gaps, json, plan_words};
use crate::domain::plans::plans;
use crate::domain::rig::Rig;
use crate::plan::answer::{AffordAfter, Before, Otherwise, Request, Stretch, Weather};
use crate::plan::stops::saved;
use crate::plan::suppose::Suppose;
use crate::plan::{Basis, stretch};
use crate::text::when::{self, Form};
use crate::text::{answer, caution, proposals, share, stretch as words};
use serde_json::{Value, json};

/// Prints the answer in plain lines, or as JSON.
pub fn run(
    options: &StretchOptions,
    context: &mut Context,
    out: &mut Output,
) -> Result<u8, Failure> {
    let contents = context.load_for_answer(1)?;
    let rig = &contents.rig;
    let now = context.now(rig);
    let request = Request {
        from: options.from.as_deref().map(|text| plan_words::from(text, rig, now)).transpose()?,
        nights: options.nights,
        place: options.place.as_deref().map(|text| plan_words::place(text, rig)).transpose()?,
        weather: match options.weather {
            WeatherChoice::Outlook => Weather::Outlook,
            WeatherChoice::Typical => Weather::Typical,
        },
        crew: options.crew,
        fill_first: options.fill_first,
        confidence: f64::from(options.confidence) / 100.0,
        lives: context.common.lives as usize,
        seed: context.common.seed,
    };
    plan_words::within_sight(&request, rig, now)?;
    let (standing, beliefs) = context.learned(&contents)?;
    let suppose =
        Suppose { habits: plan_words::habits(&options.habit, rig)?, ..Suppose::default() };
    let from = request.from.unwrap_or(now);
    let (standing, beliefs) =
        suppose.applied(&Basis { rig, standing: &standing, beliefs: &beliefs, now }, from);
    let basis = Basis { rig, standing: &standing, beliefs: &beliefs, now };
    let (mut answer, case, outcome) =
        stretch::verdict_with(&basis, &request, &options.with, &proposals::words)
            .map_err(unknown_choice)?;
    stretch::advise(&basis, &mut answer, &case, &outcome);
    if context.common.json {
        let mut value = as_json(&answer);
        value["with"] = json!(options.with);
        out.raw(json::text(&value).as_bytes());
    } else {
        let much = if options.all { Much::All } else { Much::Short };
        print(rig, &answer, &options.with, much, out);
        let saved = saved::stops_ahead(rig, &plans(basis.standing));
        let before = saved.iter().filter(|stop| stop.at < answer.until).count();
        if let Some(line) = words::without_saved(before) {
            out.line(&format!("{line}."));
        }
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

fn print(rig: &Rig, stretch: &Stretch, with: &[String], much: Much, out: &mut Output) {
    let zone = rig.zone(stretch.at);
    out.line(&words::verdict(stretch));
    out.line(&format!(
        "{} to {}, {}, {} aboard{}{}",
        when::date_time(zone.here(stretch.from), Form::Short),
        when::date_time(zone.here(stretch.until), Form::Short),
        stretch.place,
        super::forecast::people(stretch.aboard),
        if stretch.fill_first { ", serviced first" } else { "" },
        words::hook_up(stretch).map_or(String::new(), |words| format!(", {words}")),
    ));
    if !with.is_empty() {
        out.line(&format!("with: {}", with.join("; ")));
    }
    if let Some(line) = words::binding(stretch, &zone) {
        out.line(&line);
    }
    if let Some(line) = words::tightest(stretch, rig.show) {
        out.line(&line);
    }
    if !stretch.works {
        out.line("");
        let could = words::otherwise(stretch, &zone, rig.show);
        could.iter().for_each(|line| out.line(line));
        if stretch.otherwise.is_none() || much == Much::All {
            print_ways(rig, stretch, out);
        }
    }
    if much == Much::All {
        print_all(rig, stretch, out);
    }
    out.line("");
    if much == Much::Short {
        out.line("Every stock, all that buys time, how much you can afford: --all");
    }
    cautions(rig, stretch, out);
}

/// The smallest set, and the least to do before leaving.
fn print_ways(rig: &Rig, stretch: &Stretch, out: &mut Output) {
    if let Some(set) = words::set(stretch) {
        out.line(&set);
    }
    if let Some(before) = &stretch.before {
        print_before(rig, stretch, before, out);
    }
}

fn print_all(rig: &Rig, stretch: &Stretch, out: &mut Output) {
    let zone = rig.zone(stretch.at);
    out.line("");
    for longest in &stretch.longest {
        let sure = share::percent(longest.confidence);
        out.line(&format!("longest, {sure} sure: {}", words::longest(stretch, longest, &zone)));
    }
    out.line("");
    out.line("On the last morning, with what is asked:");
    for stock in &stretch.stocks {
        let margin = words::margin(stock, rig.show);
        let met = match stock.out > 0.0 {
            true => format!("; {} chance of its limit before", words::percent_down(stock.out)),
            false => String::new(),
        };
        out.line(&format!("  {}: {margin}{met}", stock.name));
    }
    print_choices(stretch, out);
}

fn print_before(rig: &Rig, stretch: &Stretch, before: &Before, out: &mut Output) {
    if before.steps.is_empty() {
        out.line("Before you go: no filling or emptying helps.");
        return;
    }
    let reached = words::percent_down(before.probability);
    match before.works {
        true => out.line(&format!("Before you go ({reached} chance then):")),
        false => out.line(&format!("Before you go ({reached} chance then, still not enough):")),
    }
    for step in &before.steps {
        out.line(&format!("  {}", words::step(step, &stretch.stocks, rig.show)));
    }
}

fn print_choices(stretch: &Stretch, out: &mut Output) {
    if !stretch.choices.is_empty() {
        out.line("");
        out.line("What buys time, each by itself:");
        for choice in &stretch.choices {
            out.line(&format!(
                "  {}: {}",
                proposals::words(&choice.proposal),
                words::choice_gain(choice)
            ));
        }
    }
    if !stretch.afford.is_empty() {
        out.line("");
        let after = match stretch.afford_after {
            AffordAfter::Nothing => "",
            AffordAfter::Serviced => ", those stocks serviced all the way before leaving",
            AffordAfter::Together => ", with that set",
        };
        out.line(&format!("How much you can do and still last{after}, all else as usual:"));
        words::afforded(stretch).iter().for_each(|line| out.line(&format!("  {line}")));
    }
}

fn cautions(rig: &Rig, stretch: &Stretch, out: &mut Output) {
    let kept = words::reserves(&stretch.stocks, rig.show);
    if !kept.is_empty() {
        let kept: Vec<&str> = kept.iter().map(String::as_str).collect();
        let kept = answer::listed(&kept);
        out.line(&format!("Kept back, whatever the plan: {kept}."));
    }
    if stretch.choices.iter().any(|choice| choice.burns) {
        out.line(&format!(
            "Caution: {}. Fires only where they are allowed.",
            caution::BURNING.line
        ));
    }
    let empties =
        |b: &Before| b.steps.iter().any(|s| s.kind == crate::plan::answer::StepKind::Empty);
    if stretch.before.as_ref().is_some_and(empties) {
        out.line(&format!("Caution: {}.", caution::WASTE.line));
    }
    out.line(&format!("{}.", caution::ESTIMATE.line));
}

/// `waystock.stretch/1`.
fn as_json(stretch: &Stretch) -> Value {
    let stocks = &stretch.stocks;
    let name = |index: usize| stocks[index].name.clone();
    json!({
        "schema": "waystock.stretch/1",
        "at": json::moment(Some(stretch.at)),
        "from": json::moment(Some(stretch.from)),
        "until": json::moment(Some(stretch.until)),
        "nights": stretch.nights,
        "place": stretch.place,
        "aboard": json::rounded(stretch.aboard, 3),
        "fill_first": stretch.fill_first,
        "hook_up_hours": stretch.hook_up_hours.map(|hours| json::rounded(hours, 3)),
        "confidence": json::rounded(stretch.confidence, 4),
        "lives": stretch.lives,
        "seed": stretch.seed,
        "works": stretch.works,
        "probability": json::rounded(stretch.probability, 6),
        "binding": stretch.binding.map(name),
        "stocks": stocks.iter().map(|s| json!({
            "name": s.name, "unit": s.unit.word(),
            "capacity": json::rounded(s.capacity, 3), "limit": json::rounded(s.limit, 3),
            "start": json::estimate(s.start), "end": json::rounded(s.end, 3),
            "margin": json::rounded(s.margin, 3), "out": json::rounded(s.out, 6),
            "binding": json::rounded(s.binding, 6), "until": json::moment(s.until),
        })).collect::<Vec<_>>(),
        "longest": stretch.longest.iter().map(|l| json!({
            "confidence": json::rounded(l.confidence, 4), "nights": l.nights,
            "or_more": l.or_more, "until": json::moment(l.until),
        })).collect::<Vec<_>>(),
        "before": stretch.before.as_ref().map(|before| json!({
            "works": before.works,
            "probability": json::rounded(before.probability, 6),
            "steps": before.steps.iter().map(|s| json!({
                "stock": name(s.stock), "do": format!("{:?}", s.kind).to_lowercase(),
                "amount": json::rounded(s.amount, 3), "unit": stocks[s.stock].unit.word(),
                "whole": s.whole, "hours": s.hours.map(|(hours, _)| hours),
            })).collect::<Vec<_>>(),
        })),
        "choices": stretch.choices.iter().map(|c| json!({
            "words": proposals::words(&c.proposal), "hours": json::rounded(c.hours, 3), "or_more": c.or_more,
            "probability": json::rounded(c.probability, 6), "gain": json::rounded(c.gain, 6),
        })).collect::<Vec<_>>(),
        "together": stretch.together.as_ref().map(|t| json!({
            "works": t.works, "probability": json::rounded(t.probability, 6),
            "hours": json::rounded(t.hours, 3),
            "choices": t.choices.iter().map(|i| proposals::words(&stretch.choices[*i].proposal))
                .collect::<Vec<_>>(),
        })),
        "safe_until": json::moment(stretch.safe_until),
        "otherwise": stretch.otherwise.as_ref().map(|other| otherwise_as_json(stretch, other)),
        "afford_after": format!("{:?}", stretch.afford_after).to_lowercase(),
        "afford": stretch.afford.iter().map(|a| json!({
            "activity": a.plural, "unit": a.counted_in.word(),
            "usual": json::rounded(a.usual, 3), "most": a.most, "or_more": a.or_more,
        })).collect::<Vec<_>>(),
    })
}

fn otherwise_as_json(stretch: &Stretch, other: &Otherwise) -> Value {
    json!({
        "nights": other.nights, "nights_serviced": other.nights_serviced,
        "stop": other.stop.as_ref().map(|(at, place, share)| json!({
            "at": json::moment(Some(*at)), "place": place,
            "probability": json::rounded(*share, 6),
        })),
        "people": other.people,
        "carry": other.carry.iter().map(|(stock, more)| json!({
            "stock": stretch.stocks[*stock].name, "amount": json::rounded(*more, 3),
            "unit": stretch.stocks[*stock].unit.word(),
        })).collect::<Vec<_>>(),
    })
}
