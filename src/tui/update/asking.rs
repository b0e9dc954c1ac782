//! Questions that take a while: asked when their screen opens, again when what they rest on changes,
//! and taken in when their answers come.

use super::super::asking::{Inquiry, Job, News};
use super::{round, stops};
use crate::domain::Rig;
use crate::forecast::Options;
use crate::forecast::hindsight::Settings;
use crate::tui::{Context, Effect, Extent, JournalView, State};
use std::sync::Arc;

/// Opens the screen of a question, and asks it unless its answer is there. A look back is long, and
/// one more entry hardly changes it: an older one is shown as well.
pub(super) fn open(state: &mut State, screen: Context) {
    if state.book.is_none() {
        return state.say("the folder is not read yet");
    }
    state.open(screen);
    let looked = &state.lookback.asked;
    let is_there = match screen {
        Context::Stretch => state.planner.asked.current,
        Context::Stops => state.trip.asked.current,
        Context::LookBack => looked.working || looked.answer.is_some(),
        _ => state.spent.current || state.spent.working,
    };
    if !is_there {
        ask(state, screen);
    }
}

/// Whether any place is known at which something can be serviced.
pub(in crate::tui) fn has_places(rig: &Rig) -> bool {
    rig.places.iter().any(|place| place.offers_anything())
}

/// Asks the question of a screen with its values as they stand, which makes one under way stale.
pub(super) fn ask(state: &mut State, screen: Context) {
    let Some(book) = state.book.clone() else { return };
    let (now, zone, options) = (state.now, state.zone(), state.options);
    let (generation, asked) = match screen {
        Context::Stretch => {
            state.planner.values.meet(&book.loaded.rig, now);
            let asking = state.planner.asking(now, zone, &options);
            (state.planner.asked.begin(), Inquiry::Stretch(Box::new(asking)))
        }
        Context::Stops if !has_places(&book.loaded.rig) => return,
        Context::Stops => {
            let asking = state.trip.asking(now, zone, &options);
            (state.trip.begin(), Inquiry::Stops(Box::new(asking)))
        }
        Context::LookBack => {
            let usual = Settings::at(now);
            let lives = usual.lives.min(options.lives);
            let settings = Settings { seed: options.seed, lives, ..usual };
            (state.lookback.asked.begin(), Inquiry::LookBack(settings))
        }
        _ => (state.spent.begin(), Inquiry::Spent),
    };
    state.want(Effect::Ask(Box::new(Job { generation, book, now, seed: options.seed, asked })));
}

/// Other plans beside it, or no more.
pub(super) fn compare(state: &mut State) {
    state.trip.compares = !state.trip.compares;
    ask(state, Context::Stops);
}

/// Asks for a forecast from the book as it is, which makes a running one stale.
pub(super) fn forecast(state: &mut State) {
    state.book.clone().into_iter().for_each(|book| foretell(state, book));
}

/// The same from another book.
pub(super) fn foretell(state: &mut State, book: Arc<JournalView>) {
    let (generation, now, seed) = (state.evening.begin(), state.now, state.options.seed);
    let asked = Inquiry::Evening(Options { at: now, ..state.options });
    state.want(Effect::Ask(Box::new(Job { generation, book, now, seed, asked })));
}

/// Answers about what lies ahead are old by now: those that are open are asked for again.
pub(super) fn ask_open(state: &mut State) {
    state.planner.asked.outdate();
    state.trip.asked.outdate();
    state.spent.outdate();
    for screen in [Context::Spent, Context::Stretch, Context::Stops] {
        // The screen of a stock shows that answer, too.
        let also = screen == Context::Spent && state.screens.contains(&Context::Stock);
        if also || state.screens.contains(&screen) {
            ask(state, screen);
        }
    }
}

/// The journal has changed. A look back that is there is not asked again by itself.
pub(super) fn ask_again(state: &mut State) {
    ask_open(state);
    let looked = &mut state.lookback.asked;
    let wanted = looked.working || looked.answer.is_none();
    looked.outdate();
    if wanted && state.screens.contains(&Context::LookBack) {
        ask(state, Context::LookBack);
    }
}

/// A question got further, or its answer came.
pub(super) fn answered(state: &mut State, generation: u64, news: News) {
    match news {
        News::Lives(progress) => state.evening.progressed(generation, progress),
        News::Evening(evening) if generation == state.evening.generation => {
            if state.rig.asked.take() == Some(generation) {
                (state.evening.working, state.evening.progress) = (false, None);
                state.rig.after = Some(evening);
                return;
            }
            state.evening.answered(generation, evening, Extent::Whole);
            round::renew(state);
            if !std::mem::replace(&mut state.greeted, true) {
                round::open(state);
            }
        }
        News::Evening(_) => {}
        News::Stretch(answer, extent) => {
            state.planner.values.usual.clone_from(&answer.usual);
            state.planner.asked.answered(generation, answer, extent);
        }
        News::SoFar(so_far) => state.trip.searched(generation, so_far),
        News::Stops(answer) => stops::scheduled(state, generation, answer),
        News::Spent(answer) => state.spent.answered(generation, answer, Extent::Whole),
        News::Evenings(progress) => state.lookback.asked.progressed(generation, progress),
        News::LookBack(answer) => {
            state.lookback.asked.answered(generation, answer, Extent::Whole);
            let last = state.lookback.evenings().saturating_sub(1);
            state.lookback.row = state.lookback.row.min(last);
        }
    }
}
