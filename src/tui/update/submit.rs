//! What the line was for once it is submitted: logging, correcting, the answer to a plan, a value,
//! or the name of an action.

use super::super::hearing::Understood;
use super::line::{close, open_with};
use super::saving::save;
use super::{first_run, follow, form, journal, plans, rig};
use crate::domain::{Body, Draft, EntryId};
use crate::text::safe;
use crate::tui::{Action, Effect, Purpose, SavePurpose, Spends, State, Tone, keymap};

/// Saves what the line says, or sets what it was opened for.
pub(super) fn submit(state: &mut State) -> Vec<Effect> {
    let text = state.line.input.value().to_string();
    match state.line.purpose.clone() {
        Purpose::Setup => return first_run::submit(state, &text),
        Purpose::Search => close(state),
        _ if text.trim().is_empty() => close(state),
        Purpose::Note(of) => return journal::save_remark(state, of, &text),
        Purpose::RigValue(_) | Purpose::RigAdd | Purpose::RigDate => {
            return rig::submit(state, &text);
        }
        Purpose::MoveStop => return follow::moved(state, &text),
        Purpose::Elsewhere => return follow::elsewhere(state, &text),
        Purpose::Value => return form::typed(state, &text),
        purpose => match state.line.reading.clone() {
            None => {}
            Some(Err(misread)) => {
                state.say(Tone::Bad, format!("nothing saved: {}", misread.message));
            }
            Some(Ok(understood)) => return saved(state, purpose, understood),
        },
    }
    Vec::new()
}

fn saved(state: &mut State, purpose: Purpose, understood: Understood) -> Vec<Effect> {
    match purpose {
        Purpose::Correct(of) => save_correction(state, of, understood),
        Purpose::Answer(of) => plans::submit(state, &of, understood),
        _ => {
            let done = format!("saved: {}", understood.echo);
            save(state, understood.drafts, SavePurpose { done, spends: Spends::Line })
        }
    }
}

fn save_correction(state: &mut State, of: EntryId, understood: Understood) -> Vec<Effect> {
    let mut drafts = understood.drafts.into_iter();
    let (Some(Draft { at, note, body: Body::Happened(event) }), None) =
        (drafts.next(), drafts.next())
    else {
        return state
            .only_say(Tone::Bad, "nothing saved: a correction is one thing; log the rest apart");
    };
    let purpose =
        SavePurpose { done: format!("corrected: {}", understood.echo), spends: Spends::Line };
    save(state, vec![Draft { at, note, body: Body::Correct { of, event } }], purpose)
}

/// `log` with words logs them; anything else is the name of an action, which is handed back.
pub(super) fn of_palette(state: &mut State) -> Option<Action> {
    let text = state.line.input.value().trim().to_string();
    if let Some(words) = text.strip_prefix("log ") {
        open_with(state, Purpose::Log, words.trim_start());
        return None;
    }
    let found = keymap::matching(state.context_below_line(), &text).first().map(|b| b.action);
    match found {
        Some(_) => close(state),
        None => state.say(Tone::Bad, format!("no action is called {}", safe(&text))),
    }
    found.filter(|_| !text.is_empty())
}
