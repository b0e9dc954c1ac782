//! Words that name stocks and activities: each may mean one thing only, and must be a word
//! that a log line can hold.

use super::finding::{Fault, Path, note, written};
use crate::domain::entry::KINDS;
use crate::domain::rig::{Parts, Rig};
use crate::domain::unit::Unit;

/// Words that begin an entry, and so can name nothing else: all kinds but the weather's.
const ENTRY_WORDS: &[&str] = KINDS.split_at(10).0;

const LONGEST: usize = 40;

/// A word with the thing that it names.
struct NamedWord<'r> {
    word: &'r str,
    kind: &'static str,
    owner: &'r str,
    index: usize,
    path: Path,
}

pub(super) fn check(rig: &Rig, faults: &mut Vec<Fault>) {
    if rig.parts.stocks.is_empty() {
        note(faults, Path::root().field("stocks"), "no stock", "at least one stock");
    }
    for (path, parts) in written(rig) {
        let words = words_of(parts, &path);
        for word in &words {
            form(word, faults);
        }
        among_themselves(&words, faults);
        base_names(parts, &path, faults);
    }
    for (i, change) in rig.changes.iter().enumerate() {
        let path = Path::root().field("changes").item(i);
        let whole = rig.parts_on(change.from);
        let others = words_of(&whole, &Path::root());
        with_others(&words_of(&change.parts, &path), &others, faults);
    }
}

fn words_of<'r>(parts: &'r Parts, path: &Path) -> Vec<NamedWord<'r>> {
    let mut words = Vec::new();
    let mut add = |word: &'r str, kind, owner: &'r str, index, path: Path| {
        words.push(NamedWord { word, kind, owner, index, path });
    };
    for (i, stock) in parts.stocks.iter().enumerate() {
        let path = path.field("stocks").item(i);
        add(&stock.name, "stock", &stock.name, i, path.field("name"));
        for (j, also) in stock.also.iter().enumerate() {
            add(also, "stock", &stock.name, i, path.field("also").item(j));
        }
    }
    for (i, activity) in parts.activities.iter().enumerate() {
        let path = path.field("activities").item(i);
        add(&activity.name, "activity", &activity.name, i, path.field("name"));
        add(&activity.plural, "activity", &activity.name, i, path.field("plural"));
        for (j, also) in activity.also.iter().enumerate() {
            add(also, "activity", &activity.name, i, path.field("also").item(j));
        }
    }
    words
}

fn form(word: &NamedWord, faults: &mut Vec<Fault>) {
    let text = word.word;
    let allowed = |c: char| c.is_alphanumeric() || matches!(c, ' ' | '-' | '\'');
    let expected = if ENTRY_WORDS.contains(&text) || Unit::known_words().any(|unit| unit == text) {
        "another word (this one has a meaning of its own in a log line)".to_owned()
    } else if !text.starts_with(char::is_alphabetic) || !text.chars().all(allowed) {
        "a word that starts with a letter: letters, digits, blanks, - and '".to_owned()
    } else if text.to_lowercase() != text {
        format!("lower case: \"{}\"", text.to_lowercase())
    } else if text.ends_with(' ') || text.contains("  ") {
        "single blanks, and none at the end".to_owned()
    } else if text.chars().count() > LONGEST {
        format!("at most {LONGEST} characters")
    } else {
        return;
    };
    note(faults, word.path.clone(), format!("\"{text}\""), expected);
}

fn among_themselves(words: &[NamedWord], faults: &mut Vec<Fault>) {
    for (i, word) in words.iter().enumerate() {
        let same_thing = |w: &NamedWord| w.kind == word.kind && w.index == word.index;
        let clash = words[..i].iter().find(|w| w.word == word.word && !same_thing(w));
        if let Some(other) = clash {
            clash_note(word, other, faults);
        }
    }
}

/// A changed part may keep the words of the part that it replaces, but no other part's.
fn with_others(words: &[NamedWord], others: &[NamedWord], faults: &mut Vec<Fault>) {
    for word in words {
        let replaced = |w: &NamedWord| words.iter().any(|n| n.kind == w.kind && n.owner == w.owner);
        let clash = others.iter().find(|w| w.word == word.word && !replaced(w));
        if let Some(other) = clash {
            clash_note(word, other, faults);
        }
    }
}

fn clash_note(word: &NamedWord, other: &NamedWord, faults: &mut Vec<Fault>) {
    let expected = match word.kind == other.kind && word.word == other.owner {
        true => format!("a word of its own (there is another {} of that name)", other.kind),
        false => format!("a word of its own (it means the {} \"{}\")", other.kind, other.owner),
    };
    note(faults, word.path.clone(), format!("\"{}\"", word.word), expected);
}

fn base_names(parts: &Parts, path: &Path, faults: &mut Vec<Fault>) {
    for (i, base) in parts.base.iter().enumerate() {
        let path = path.field("base").item(i).field("name");
        let found = format!("\"{}\"", base.name);
        if base.name.trim().is_empty() {
            note(faults, path, found, "a name");
        } else if parts.base[..i].iter().any(|known| known.name == base.name) {
            note(faults, path, found, "a name that no other base use has");
        }
    }
}
