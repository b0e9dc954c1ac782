//! What the line was for once it is submitted: logging, correcting, the answer to a plan, a value,
//! or the name of an action.

use super::super::host::Understood;
use super::line::{close, open_with};
use super::saving::save;
use super::{first_run, follow, form, journal, plans, rig};
use crate::domain::{Body, Draft, EntryId};
use crate::text::safe;
use crate::tui::{Action, Effect, Purpose, SavePurpose, Spends, State, Tone, keymap};

/// What follows from a submitted line.
pub(super) enum Submitted {
    /// Something for the outside to do, or nothing.
    Asks(Vec<Effect>),
    /// An action that it named.
    Names(Action),
}

/// Saves the line, or names what the palette is to do.
pub(super) fn submit(state: &mut State) -> Submitted {
    let text = state.line.input.value().to_string();
    match state.line.purpose.clone() {
        Purpose::Palette => of_palette(state, &text),
        Purpose::Search => {
            close(state);
            Submitted::Asks(Vec::new())
        }
        Purpose::Note(of) if !text.trim().is_empty() => {
            Submitted::Asks(journal::save_remark(state, of, &text))
        }
        Purpose::RigValue(_) | Purpose::RigAdd | Purpose::RigDate if !text.trim().is_empty() => {
            Submitted::Asks(rig::submit(state, &text))
        }
        Purpose::MoveStop if !text.trim().is_empty() => {
            Submitted::Asks(follow::moved(state, &text))
        }
        Purpose::Elsewhere if !text.trim().is_empty() => {
            Submitted::Asks(follow::elsewhere(state, &text))
        }
        Purpose::Setup => Submitted::Asks(first_run::submit(state, &text)),
        Purpose::Value if !text.trim().is_empty() => Submitted::Asks(form::typed(state, &text)),
        _ => Submitted::Asks(saved(state, text)),
    }
}

fn saved(state: &mut State, text: String) -> Vec<Effect> {
    if text.trim().is_empty() {
        close(state);
        return Vec::new();
    }
    match state.line.current().cloned() {
        None => vec![Effect::Understand(text)],
        Some(Err(misread)) => {
            state.say(Tone::Bad, format!("nothing saved: {}", misread.message));
            Vec::new()
        }
        Some(Ok(understood)) => match state.line.purpose.clone() {
            Purpose::Correct(of) => save_correction(state, of, understood),
            Purpose::Answer(of) => plans::submit(state, &of, understood),
            _ => {
                let purpose = SavePurpose {
                    done: format!("saved: {}", understood.echo),
                    spends: Spends::Line,
                };
                save(state, understood.drafts, purpose)
            }
        },
    }
}

fn save_correction(state: &mut State, of: EntryId, understood: Understood) -> Vec<Effect> {
    let mut drafts = understood.drafts.into_iter();
    let (Some(Draft { at, note, body: Body::Happened(event) }), None) =
        (drafts.next(), drafts.next())
    else {
        state.say(Tone::Bad, "nothing saved: a correction is one thing; log the rest apart");
        return Vec::new();
    };
    let purpose =
        SavePurpose { done: format!("corrected: {}", understood.echo), spends: Spends::Line };
    save(state, vec![Draft { at, note, body: Body::Correct { of, event } }], purpose)
}

/// `log` with words logs them; anything else is the name of an action.
fn of_palette(state: &mut State, text: &str) -> Submitted {
    let text = text.trim();
    if let Some(words) = text.strip_prefix("log ") {
        return Submitted::Asks(open_with(state, Purpose::Log, words.trim_start()));
    }
    let context = state.context_below_line();
    let found = keymap::matching(context, text).first().map(|b| b.action);
    match found {
        Some(action) => {
            close(state);
            match text.is_empty() {
                true => Submitted::Asks(Vec::new()),
                false => Submitted::Names(action),
            }
        }
        None => {
            state.say(Tone::Bad, format!("no action is called {}", safe(text)));
            Submitted::Asks(Vec::new())
        }
    }
}
