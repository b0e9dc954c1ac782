//! That a day is complete, told in everyday speech: `saturday is done, nothing else to add`. It is only
//! ever offered.

use super::cut_up::{Clause, without};
use super::prose::Prose;
use super::scene::Scene;
use super::so_far::Thing;

/// The longest clause that says so, in words.
const LONGEST: usize = 12;

/// Takes what `sentences` tell of a day that is complete out of them.
pub(super) fn told(sentences: &mut [Vec<Clause>], scene: &Scene) -> Option<Thing> {
    let clauses: Vec<&Clause> = sentences.iter().flatten().collect();
    let prose = Prose::of(&clauses, scene);
    let prose = &prose;
    let of = |clause: usize| (0..prose.len()).filter(move |at| prose.clause[*at] == clause);
    let used: Vec<usize> = (0..clauses.len())
        .filter(|clause| {
            let named = |at: usize| scene.known.find(prose.lows(at).into_iter()).is_some();
            let day = |at: usize| prose.time(at).is_some_and(|(when, _)| when.day.is_some());
            // `wednesday's done`; `laundry done on wednesday` is another thing.
            let small = |at: usize| day(at) || prose.is("complete filler", at) || prose.skips(at);
            let done = of(*clause).any(|at| prose.is("complete", at)) && of(*clause).all(small);
            let done = done && of(*clause).any(day);
            let closes = of(*clause).any(|at| prose.begins("closes", at) > 0) || done;
            let told = |at: usize| named(at) || prose.number(at).is_some();
            let plain = !clauses[*clause].asks && !of(*clause).any(told);
            closes && plain && of(*clause).count() <= LONGEST
        })
        .collect();
    let first = *used.first()?;
    let near = |at: usize| used.contains(&prose.clause[at]);
    let day = (0..prose.len()).filter(|at| near(*at)).find_map(|at| {
        let (when, taken) = prose.time(at)?;
        let date = when.date(scene.clock)?;
        // A day of a week that has gone, or the one that is now.
        let said = prose.lows(at)[..taken].join(" ");
        (when.hour.is_none() && (date <= scene.clock.civil.date() || when.is_of_any_week()))
            .then_some(said)
    });
    let day = day.filter(|day| day != "today").map_or(String::new(), |day| format!(" {day}"));
    let thing = Thing::new(format!("day closed{day}"), &clauses[first].text);
    without(sentences, &used);
    Some(thing)
}
