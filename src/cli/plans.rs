//! `waystock plans`: what is planned and what waits for an answer, and the answers: done as
//! planned, something else instead, not done. An answer is an entry of its own, and `undo` takes it
//! back.

use super::args::PlansAnswer;
use super::log::not_understood;
use super::{
    AsJson, CommandResult, Failure, Output, Session, gaps, json, list, object, vocabulary,
};
use crate::domain::{Plan, PlanOutcome, Rig, UnitSystem, Zone, plans, standing};
use crate::forecast::Evening;
use crate::logline;
use crate::plan::stops::saved;
use crate::store::data_folder::Contents;
use crate::text::{led, listed, plans as words};
use serde_json::{Value, json};

/// Lists the plans, or answers one.
pub fn run(answer: Option<&PlansAnswer>, session: &mut Session, out: &mut Output) -> CommandResult {
    let contents = session.load()?;
    match answer {
        None => list_plans(&contents, session, out)?,
        Some(answer) => say(answer, &contents, session, out)?,
    }
    Ok(0)
}

fn list_plans(contents: &Contents, session: &Session, out: &mut Output) -> Result<(), Failure> {
    let evening = session.evening(contents)?;
    gaps::tell_unread(&contents.journal, out);
    if session.common.json {
        let mut value = in_json(&evening, contents.rig.show);
        value["schema"] = json!("waystock.plans/1");
        value["at"] = evening.forecast.at.json();
        out.json(&value);
        return Ok(());
    }
    let zone = contents.rig.zone(evening.forecast.at);
    if evening.plans.is_empty() {
        out.line("Nothing is planned.");
    }
    let (open, ahead): (Vec<&Plan>, Vec<&Plan>) = evening.plans.iter().partition(|p| p.is_open);
    section("Was it done?", &open, &contents.rig, out);
    if let Some(first) = open.first() {
        let id = first.id();
        out.line(&format!("Say so: waystock plans done {id}"));
        out.line(&format!("    or: waystock plans change {id} WORDS, waystock plans drop {id}"));
    }
    out.lines(words::hangs_on(&evening, &zone).map(|text| format!("{text}.")));
    if !open.is_empty() && !ahead.is_empty() {
        out.line("");
    }
    section("Planned:", &ahead, &contents.rig, out);
    if ahead.iter().any(|plan| plan.place.is_some()) {
        out.line("The dates count a saved stop as not made until you say that it was.");
    }
    Ok(())
}

fn section(head: &str, plans: &[&Plan], rig: &Rig, out: &mut Output) {
    if plans.is_empty() {
        return;
    }
    out.line(head);
    for plan in plans {
        let zone = rig.zone(plan.at);
        out.line(&format!("  {}  {}", words::when(plan, &zone), words::about(plan, rig.show)));
        out.line(&format!("    {}", plan.id()));
    }
}

/// The forecast of an evening with its notices, and what is planned, where a plan is open or a stop
/// is saved.
pub(super) fn evening_as_json(rig: &Rig, evening: &Evening) -> Value {
    let mut value = json::forecast(&evening.forecast);
    value["notices"] = json::notices(evening, rig.show);
    if evening.plans.iter().any(|plan| plan.is_open || plan.place.is_some())
        && let (Value::Object(object), Value::Object(planned)) =
            (&mut value, in_json(evening, rig.show))
    {
        object.extend(planned);
    }
    value
}

/// "; was it done? stop at Quillet Harbour, Thu 22 Oct 11:00: waystock plans", or the saved stop
/// that comes first.
pub(super) fn in_one_line(evening: &Evening, zone: &Zone, rig: &Rig) -> String {
    let open = evening.plans.iter().find(|plan| plan.is_open);
    if let Some(plan) = open {
        let (what, at) = (words::briefly(plan, rig.show), words::when(plan, zone));
        return format!("; was it done? {what}, {at}: waystock plans");
    }
    let drives = saved::drives(rig, &evening.plans, &evening.forecast);
    let Some(first) = drives.first() else { return String::new() };
    let plan = first.stops[0];
    let place = plan.place.as_deref().unwrap_or_default();
    let late = led(", too late for ", &listed(&first.late_for));
    format!("; saved stop {} at {place}{late}", words::when(plan, zone))
}

/// What is planned: `plans`, and `next_if_done`, null where nothing waits for an answer.
fn in_json(evening: &Evening, show: UnitSystem) -> Value {
    let plan = |plan: &Plan| {
        object!(plan; id = plan.id(), ids = list(&plan.entries, |e| e.id.to_string()), at, open = plan.is_open,
            place, what = list(&plan.entries, |e| words::thing(&e.event, show)))
    };
    let if_done = evening.if_done.as_ref().map(|next| json::next(&evening.forecast, next));
    object!(evening; plans = list(&evening.plans, plan), next_if_done = if_done)
}

fn say(
    answer: &PlansAnswer,
    contents: &Contents,
    session: &mut Session,
    out: &mut Output,
) -> Result<(), Failure> {
    let now = session.now(&contents.rig);
    let all = plans::plans(&standing(&contents.journal.entries, now));
    let (PlansAnswer::Done { id } | PlansAnswer::Drop { id } | PlansAnswer::Change { id, .. }) =
        answer;
    let plan = find(&all, id)?;
    let show = contents.rig.show;
    let about = words::about(plan, show);
    let (done, what, outcome) = match answer {
        PlansAnswer::Done { .. } if plan.at > now => {
            let at = words::when(plan, &contents.rig.zone(now));
            let message = format!("{id}: planned for {at}, which is still to come");
            return Err(Failure::new(2, message)
                .hint("Drop it or change it, or log what was done today with waystock log."));
        }
        PlansAnswer::Done { .. } => ("done as planned", about.clone(), PlanOutcome::Done),
        PlansAnswer::Drop { .. } => ("not done", about.clone(), PlanOutcome::NotDone),
        PlansAnswer::Change { words, .. } => {
            let (known, line) = (vocabulary(contents, now).about(plan.at), words.join(" "));
            let said = logline::parse(&line, &known, now)
                .map_err(|misread| not_understood(&line, &misread))?;
            let echo = logline::echo(&said, &known, now);
            ("changed", echo, PlanOutcome::Otherwise(said))
        }
    };
    let records = plans::answer(plan, outcome, now);
    let changes = matches!(answer, PlansAnswer::Change { .. });
    let left_out = if changes { words::left_out(plan, &records, show) } else { String::new() };
    let saved = session.folder.journal.append(&records, now)?;
    session.after_saving(out);
    let what = format!("{what}{left_out}");
    let value = object!(saved; schema = "waystock.plans/1", done = done, plan = about,
        saved = what, ids = list(&saved, |entry| entry.id.to_string()));
    session.result(&value, &format!("{done}: {what}"), out);
    Ok(())
}

/// The plan that one of its entries names.
fn find<'p>(all: &'p [Plan], id: &str) -> Result<&'p Plan, Failure> {
    let named = |plan: &&Plan| plan.entries.iter().any(|entry| entry.id.to_string() == id);
    all.iter().find(named).ok_or_else(|| {
        Failure::found("", id, "the id of a plan").hint("waystock plans lists them with their ids.")
    })
}
