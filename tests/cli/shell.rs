//! What shells, prompts, status bars and cron ask for.

use crate::place::{LATER, Place};

#[test]
fn every_shell_completes_and_every_command_has_a_page() {
    let place = Place::bare();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let script = place.done(&["completions", shell]);
        for word in ["waystock", "hindsight", "dry-run", "from-template"] {
            assert!(script.contains(word), "{word} is missing for {shell}");
        }
    }
    assert_eq!(place.run(&["completions", "abacus"]).code, 2);
    let page = place.done(&["man"]);
    assert!(page.contains(".TH waystock 1") && page.contains("Exit codes"), "{page}");
    let page = place.done(&["man", "stretch"]);
    assert!(page.contains("\\-\\-nights") && page.contains("waystock"), "{page}");
    assert_eq!(place.run(&["man", "strech"]).code, 2);
}

/// Within the hours that are safe no stop is needed, and an hour later one is.
#[test]
fn next_answers_a_prompt_and_cron() {
    let place = Place::demo();
    let (short, line) = (place.done(&["next", "--short"]), place.done(&["next"]));
    let (stock, by) = short.trim_end().split_once(" by ").unwrap();
    // "Fri 03:30" of "be at a stop by Fri 23 Oct 03:30".
    let (day, clock) = by.split_once(' ').unwrap();
    assert!(line.starts_with(&format!("be at a stop by {day} ")), "{short}{line}");
    assert!(line.contains(&format!(" {clock} (in ")) && line.contains(stock), "{short}{line}");
    let safe = place.run(&["next", "--json"]).json()["next"]["hours"]["p10"].as_f64().unwrap();
    let (under, over) = (safe.floor(), safe.ceil());
    for (within, code) in [
        (format!("{under}h"), 1),
        (format!("{under} hours"), 1),
        (format!("{over} h"), 0),
        ("29 days".to_string(), 0),
    ] {
        let run = place.run(&["next", "--within", &within]);
        assert_eq!((run.code, run.out.as_str()), (code, line.as_str()), "{within}: {run:?}");
    }
    for wrong in ["soon", "45 days", "24", ""] {
        let run = place.run(&["next", "--within", wrong]);
        assert_eq!((run.code, run.out.as_str()), (2, ""), "{wrong}: {run:?}");
        assert!(run.err.contains("--within: found"), "{run:?}");
    }
}

#[test]
fn entries_are_found_by_what_they_are_about() {
    let place = Place::demo();
    let count = |words: &[&str]| {
        let all = place.run(&[&["journal", "--json"], words].concat()).json();
        all["entries"].as_array().unwrap().len()
    };
    let all = count(&[]);
    let grey = count(&["--stock", "grey"]);
    assert!(0 < grey && grey < all);
    // What is about grey is of these kinds, and dishes and showers give to it.
    let kinds = ["level", "empty", "use"];
    let sum: usize = kinds.iter().map(|kind| count(&["--stock", "grey", "--kind", kind])).sum();
    assert_eq!(sum, grey);
    assert!(count(&["--stock", "grey", "shower"]) > 0);
    assert_eq!(count(&["shower", "fresh"]), 0, "both words in one entry");
    // A day is all of it: two halves and the whole.
    let of_day = count(&["--since", "17 october", "--until", "17 october"]);
    let late = count(&["--since", "18 october"]);
    assert_eq!(count(&["--since", "17 october"]), of_day + late);
    assert!(of_day > 0 && late > 0);
    let yesterday = count(&["--since", "yesterday"]);
    assert_eq!(yesterday, count(&["--since", "2026-10-19T00:00:00-02:30"]));
    for wrong in [["--since", "blursday"], ["--stock", "beer"], ["--kind", "party"]] {
        assert_eq!(place.run(&["journal", wrong[0], wrong[1]]).code, 2, "{wrong:?}");
    }
}

#[test]
fn entries_are_corrected_taken_back_and_put_back_by_id() {
    let place = Place::demo();
    let run = |words: &[&str]| place.run(&[words, &["--at", LATER]].concat());
    let saved = run(&["log", "fresh 60%", "--json"]).json();
    let id = saved["ids"][0].as_str().unwrap();
    // The salt at the end of an id can be left out.
    let short = id.rsplit_once('-').unwrap().0;
    let listed = |more: &[&str]| run(&[&["journal", "--since", "today"], more].concat()).out;
    assert!(listed(&[]).contains("fresh 60%"));
    assert_eq!(run(&["correct", short, "fresh", "55%"]).out, "corrected: fresh 55%\n");
    assert!(listed(&[]).contains("fresh 55%") && !listed(&[]).contains("fresh 60%"));
    // Two things are no correction of one, and what is not understood changes nothing.
    for wrong in [&["correct", id, "fresh 50%,", "1 shower"][..], &["correct", id, "frosh"]] {
        assert_eq!(run(wrong).code, 2, "{wrong:?}");
    }
    assert!(run(&["retract", id]).out.starts_with("took back: fresh 55%"));
    assert!(!listed(&[]).contains("fresh 55%"));
    assert!(listed(&["--retracted"]).contains(id));
    assert_eq!(run(&["retract", id]).code, 2, "it does not stand");
    assert!(run(&["restore", id]).out.starts_with("put back: "));
    assert!(listed(&[]).contains("fresh 55%"));
    assert_eq!(run(&["restore", id]).code, 2, "it stands");
    assert!(run(&["note", "tap", "drips"]).out.starts_with("saved: note tap drips"));
}
