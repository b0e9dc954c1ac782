//! What the line was for once it is submitted: logging, correcting, the answer to a plan, a value,
//! or the name of an action.

use super::super::hearing::LineUnderstood;
use super::line::{close, open_with};
use super::saving::save;
use super::{first_run, follow, form, journal, plans, rig, round};
use crate::domain::{Body, Draft, EntryId};
use crate::text::safe;
use crate::tui::{Action, Purpose, SavePurpose, State, keymap};

/// Saves what the line says, or sets what it was opened for.
pub(super) fn submit(state: &mut State) {
    let text = state.line.input.value().to_string();
    match state.line.purpose.clone() {
        Purpose::Setup => first_run::submit(state, &text),
        Purpose::Search => close(state),
        _ if text.trim().is_empty() => close(state),
        Purpose::Note(of) => journal::save_remark(state, of, &text),
        Purpose::RigValue(_) | Purpose::RigAdd | Purpose::RigDate => rig::submit(state, &text),
        Purpose::MoveStop => follow::moved(state, &text),
        Purpose::Elsewhere => follow::elsewhere(state, &text),
        Purpose::Value => form::typed(state, &text),
        purpose => match state.line.reading.clone() {
            None => {}
            Some(Err(misread)) => state.warn(format!("nothing saved: {}", misread.message)),
            Some(Ok(understood)) => saved(state, purpose, understood),
        },
    }
}

fn saved(state: &mut State, purpose: Purpose, understood: LineUnderstood) {
    match purpose {
        Purpose::Correct(of) => save_correction(state, of, understood),
        Purpose::Answer(of) => {
            round::told_in_line(state, &of);
            plans::submit(state, &of, understood)
        }
        _ => {
            let purpose = SavePurpose::line(format!("saved: {}", understood.echo));
            save(state, understood.drafts, purpose);
        }
    }
}

fn save_correction(state: &mut State, of: EntryId, understood: LineUnderstood) {
    let mut drafts = understood.drafts.into_iter();
    let (Some(Draft { at, note, body: Body::Happened(event) }), None) =
        (drafts.next(), drafts.next())
    else {
        return state.warn("nothing saved: a correction is one thing; log the rest apart");
    };
    let purpose = SavePurpose::line(format!("corrected: {}", understood.echo));
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
        None => state.warn(format!("no action is called {}", safe(&text))),
    }
    found.filter(|_| !text.is_empty())
}
