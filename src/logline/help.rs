//! Help on the log line: the words of the table, with examples of this rig.

use super::lexis::lexicon::lexicon;
use super::lexis::vocabulary::{Sort, Vocabulary};
use crate::domain::UnitSystem;

/// What can be said, by kind, with the words that mean it; one line of text each, in plain words.
pub fn help(vocabulary: &Vocabulary) -> Vec<String> {
    let name = |sort: Sort, or: &str| {
        let found = vocabulary.offered.iter().find(|offered| offered.of == sort);
        found.map_or(or.to_string(), |offered| offered.word.clone())
    };
    let (down, up) = (name(Sort::Draining, "fresh"), name(Sort::Filling, "grey"));
    let (once, many) = (name(Sort::Activity, "shower"), name(Sort::Plural, "showers"));
    let (volume, distance, sky) = match vocabulary.show {
        UnitSystem::Metric => ("L", "120 km", "3 to 11 C"),
        UnitSystem::Us => ("gal", "75 mi", "37 to 52 F"),
        UnitSystem::Imperial => ("gal", "75 mi", "3 to 11 C"),
    };
    let place = vocabulary.places.first().map_or("Alder flats", String::as_str);
    let mut lines = vec![
        "Say what happened, in one line; a comma, `and` or `;` separates things.".to_string(),
        "What is not clear is asked back, and nothing is saved until it is.".to_string(),
        String::new(),
        format!("used      {once} · 2 {many} · {once} twice"),
        format!("levels    {down} 60% · {up} 3/4 · {down} half full · {up} full · {down} 20 {volume}"),
        format!("filled    filled {down} · filled {down} 20 {volume} · filled {down} to 80%"),
        format!("emptied   emptied {up} · emptied {up} 10 {volume} (so much less) · emptied {up} to 10%"),
        format!("gone      lost {down} 4 {volume} (spilled) · used {down} 15 {volume} in all (a day's uses together)"),
        format!("moved     drove 2 h · drove {distance} · drove 1 h 30"),
        "charged   shore 6 h · generator 1 h · charged 800 Wh from shore".to_string(),
        format!("place     camp {place} · arrived at {place} · camp 55.1,-3.2 · camp \"a new name\""),
        "people    aboard 4 · 2 guests until sunday · 2 guests tonight · away until friday".to_string(),
        format!("the rest  day closed · note free text · outlook tomorrow {sky}, cloud 60%"),
        String::new(),
        "A time holds for the thing that it stands at; in front of the line, or before a colon, for \
         all that follows: `yesterday 21:00: 2 showers, dishes`."
            .to_string(),
        "  now · 20 min ago · at 7 · 7:30 pm · this morning · tonight · last night · yesterday"
            .to_string(),
        "  monday · on friday · 17 october · the 17th · 2026-10-17 14:00 · in 2 days · until sunday"
            .to_string(),
        "A list of things done with another day at its end is asked back: it may hold for one or all."
            .to_string(),
        "`at 7` is morning or evening: asked back where it can be both.".to_string(),
        "What is done lies behind, what is planned lies ahead: `drove 2 h friday`, `drive 2 h friday`."
            .to_string(),
        String::new(),
        "Other words for the same:".to_string(),
    ];
    let own = ["filled", "added", "emptied", "swapped", "drove", "shore", "generator", "camp"];
    let people = ["aboard", "guests", "away", "closed"];
    for (meaning, words) in &lexicon().says {
        if own.iter().chain(&people).any(|shown| shown == meaning) && words.len() > 1 {
            lines.push(format!("  {meaning}: {}", words.join(", ")));
        }
    }
    lines.push("Words that name a thing of this rig:".to_string());
    for (name, words) in vocabulary.everyday() {
        lines.push(format!("  {name}: {}", words.join(", ")));
    }
    lines
}
