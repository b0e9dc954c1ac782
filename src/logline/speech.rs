//! Everyday speech, brought to the words of the grammar: verbs of the trade, words that mean
//! nothing beside a thing, beginnings of words, numbers in letters. What each means stands in the
//! lexicon; a word that the rig gives to a thing of its own wins.

use super::lexicon::{Sense, Tense, lexicon};
use super::misread::Misread;
use super::time;
use super::vocabulary::Vocabulary;
use super::word::{Kind, Mark, Word};

/// The shortest beginning of a word that stands for it.
const SHORTEST_BEGINNING: usize = 3;

/// The same of a verb: many short words of English begin as one.
const SHORTEST_VERB: usize = 4;

/// Words of the grammar that are said of a service, and how each is said when it comes last.
const SERVICES: [&str; 5] = ["filled", "added", "emptied", "swapped", "out-of"];
/// Words of the grammar that take an amount, which may stand before them.
const MEASURED: [&str; 4] = ["drove", "shore", "generator", "charged"];

/// The words of one thing as the grammar has them.
pub(super) fn plain<'a>(
    words: Vec<Word<'a>>,
    known: &Vocabulary,
) -> Result<Vec<Word<'a>>, Misread> {
    let mut out: Vec<Word<'a>> = Vec::with_capacity(words.len());
    let people = words.iter().any(|w| {
        ["guest", "guests", "visitor", "visitors", "away", "aboard", "crew"].iter().any(|p| w.is(p))
    });
    let mut at = 0;
    while let Some(word) = words.get(at) {
        let rest = &words[at..];
        if word.kind != Kind::Plain || as_written(&out) {
            out.push(word.clone());
            at += 1;
            continue;
        }
        let low = || rest.iter().take_while(|w| w.kind == Kind::Plain).map(|w| w.low.as_str());
        let name = known.find(low());
        let phrase = lexicon().find(low());
        let named = name.map_or(0, |(_, taken)| taken);
        match phrase {
            Some((sense, taken)) if taken > named => {
                let span = &rest[..taken];
                say(sense, span, words.get(at + taken), &mut out, known)?;
                at += taken;
            }
            _ if named > 0 => {
                let again = repeats(name.map(|(meaning, _)| meaning), &out, known);
                if !again {
                    drop_first_name(
                        name.map(|(meaning, _)| meaning),
                        &rest[..named],
                        &mut out,
                        known,
                    );
                    out.extend(rest[..named].iter().cloned());
                }
                at += named;
            }
            _ => {
                if people || !word.is("for") {
                    out.push(begun(word, known));
                }
                at += 1;
            }
        }
    }
    Ok(out)
}

/// Whether the words from here on are a name or a row of their own, which stay as they are.
fn as_written(out: &[Word]) -> bool {
    out.iter().any(|w| w.is("camp") || w.is("outlook") || w.is("drove-to"))
}

/// Adds what a phrase of the table says.
fn say<'a>(
    sense: Sense,
    span: &[Word<'a>],
    next: Option<&Word<'a>>,
    out: &mut Vec<Word<'a>>,
    known: &Vocabulary,
) -> Result<(), Misread> {
    let after_number = out.last().is_some_and(|w| w.is_numeric() || is_article(w));
    match sense {
        Sense::Skip => {
            if let (Some(last), Some(gone)) = (out.last_mut(), span.last())
                && gone.mark == Mark::Colon
            {
                last.mark = Mark::Colon;
            }
        }
        Sense::Hedge => out.extend(span.iter().cloned()),
        // Both tanks: the number only says that two follow.
        Sense::Number(_) if span[0].is("both") && next.is_some_and(|w| is_stock(w, known)) => {}
        Sense::Number(digits) => put(digits, Tense::Behind, span, out),
        Sense::Unit(unit) if after_number => put(unit, Tense::Behind, span, out),
        Sense::Unit(_) => out.extend(span.iter().cloned()),
        Sense::Ask(line) => return Err(asked(line, span, known)),
        // `grey empty` is a level, `empty grey` an errand; `day` alone is a word of time.
        Sense::Say("camp" | "drove-to", _) if !out.is_empty() && !only_time(out) => {
            let meant = span[0].is("camp") || span.iter().any(|w| w.is("to"));
            match meant {
                true => {
                    put(canonical(sense), tense(sense), span, out);
                }
                false => out.extend(span.iter().cloned()),
            }
        }
        Sense::Say(meaning, tense) => put(meaning, tense, span, out),
    }
    Ok(())
}

fn canonical(sense: Sense) -> &'static str {
    match sense {
        Sense::Say(meaning, _) => meaning,
        _ => "",
    }
}

fn tense(sense: Sense) -> Tense {
    match sense {
        Sense::Say(_, tense) => tense,
        _ => Tense::Behind,
    }
}

fn is_article(word: &Word) -> bool {
    word.is("a") || word.is("an")
}

fn is_stock(word: &Word, known: &Vocabulary) -> bool {
    is_stock_name(&word.low, known)
}

fn is_stock_name(word: &str, known: &Vocabulary) -> bool {
    known.find([word].into_iter()).is_some_and(|(m, _)| m.stock.is_some())
}

/// Whether these words can be nothing but a time.
fn only_time(words: &[Word]) -> bool {
    words
        .iter()
        .all(|w| time::is_time_word(&w.low) || w.is_numeric() || w.is("today") || w.is("at"))
}

/// Puts words of the grammar in place of those of `span`.
fn put<'a>(meaning: &str, tense: Tense, span: &[Word<'a>], out: &mut Vec<Word<'a>>) {
    let (Some(first), Some(last)) = (span.first(), span.last()) else { return };
    for word in meaning.split(' ') {
        out.push(Word {
            text: first.text,
            low: word.to_string(),
            start: first.start,
            end: last.end,
            kind: Kind::Plain,
            mark: Mark::Nothing,
            tense,
        });
    }
    if let Some(put) = out.last_mut() {
        put.mark = last.mark;
    }
}

/// A phrase that is not clear, with the line that would do; `{name}` in it is the rig's own word.
fn asked(line: &str, span: &[Word], known: &Vocabulary) -> Misread {
    let mut meant = line.to_string();
    if let Some((before, rest)) = line.split_once('{')
        && let Some((name, after)) = rest.split_once('}')
    {
        match known.stock_named(name) {
            Some(own) => meant = format!("{before}{own}{after}"),
            None => return Misread::over(span, "this moves no stock of this rig"),
        }
    }
    Misread::over(span, format!("not clear: write `{meant}` if that is meant")).write(meant)
}

/// Whether the name just read says again what the last word said: `gas bottle`.
fn repeats(meaning: Option<&super::vocabulary::Meaning>, out: &[Word], known: &Vocabulary) -> bool {
    let before = out.last().and_then(|w| known.find([w.low.as_str()].into_iter()));
    match (meaning, before) {
        (Some(now), Some((before, _))) => {
            now.stock.is_some() && now.stock == before.stock && now.activity == before.activity
        }
        _ => false,
    }
}

/// Drops an activity's name that is said again behind its number: `cooked three meals`.
fn drop_first_name(
    meaning: Option<&super::vocabulary::Meaning>,
    named: &[Word],
    out: &mut Vec<Word>,
    known: &Vocabulary,
) {
    let Some(first) = known.find(out.iter().map(|w| w.low.as_str())) else { return };
    let (before, taken) = first;
    let same = meaning.is_some_and(|now| now.activity.is_some() && now.activity == before.activity);
    let numbers = out[taken..].iter().all(|w| w.is_numeric() || is_article(w));
    let other = out[..taken].iter().map(|w| &w.low).ne(named.iter().map(|w| &w.low));
    if same && numbers && other && out.len() <= taken + 1 {
        out.drain(..taken);
    }
}

/// A word, or the one that it is the only beginning of.
fn begun<'a>(word: &Word<'a>, known: &Vocabulary) -> Word<'a> {
    let mut whole = word.clone();
    if let Some(stem) = word.low.strip_suffix("'s")
        && is_stock_name(stem, known)
    {
        whole.low = stem.to_string();
        return whole;
    }
    let letters = word.low.chars().count();
    let plain = word.low.chars().all(char::is_alphabetic);
    if letters < SHORTEST_BEGINNING || !plain || is_grammar(&word.low, known) {
        return whole;
    }
    let mut found: Vec<&str> = known
        .offered
        .iter()
        .map(|o| o.word.as_str())
        .chain(lexicon().verbs().filter(|_| letters >= SHORTEST_VERB))
        .filter(|name| !name.contains(' ') && name.starts_with(&word.low))
        .collect();
    let means = |name: &str| match known.find([name].into_iter()) {
        Some((meaning, _)) => format!("{meaning:?}"),
        None => match lexicon().find([name].into_iter()) {
            Some((sense, _)) => canonical(sense).to_string(),
            None => name.to_string(),
        },
    };
    found.dedup();
    if let Some(first) = found.first()
        && found.iter().all(|other| means(other) == means(first))
    {
        whole.low = match lexicon().find([*first].into_iter()) {
            Some((Sense::Say(meaning, _), _)) if known.find([*first].into_iter()).is_none() => {
                meaning.to_string()
            }
            _ => first.to_string(),
        };
    }
    whole
}

/// Whether the grammar has this word, so that it is no beginning of another.
fn is_grammar(word: &str, known: &Vocabulary) -> bool {
    const WORDS: [&str; 28] = [
        "for", "out", "low", "off", "all", "its", "half", "full", "empty", "third", "quarter",
        "tenths", "steps", "quarters", "from", "until", "planned", "ago", "next", "last", "this",
        "noon", "week", "weeks", "days", "day", "and", "but",
    ];
    WORDS.contains(&word)
        || time::is_time_word(word)
        || lexicon().knows(word)
        || known.unit_named(word).is_some()
}

/// Brings the verb to the front where it was said last: `grey emptied`, `40 L added to fresh`,
/// `2 h drive`.
pub(super) fn verb_first<'a>(mut words: Vec<Word<'a>>) -> Vec<Word<'a>> {
    let verb = |w: &Word| SERVICES.iter().chain(&MEASURED).any(|v| w.is(v));
    let Some(at) = words.iter().position(verb).filter(|at| *at > 0) else {
        return words;
    };
    let others = words.iter().filter(|w| verb(w)).count() > 1;
    let charged = words[0].is("charged");
    if others || charged {
        return words;
    }
    let mut verb = words.remove(at);
    if verb.is("out-of") {
        verb.low = "emptied".to_string();
    }
    let before = &words[..at];
    let named = before.iter().any(|w| !w.is_numeric() && w.low.len() > 3);
    if MEASURED.contains(&verb.low.as_str()) {
        if named {
            words.insert(at, verb);
            return words;
        }
        // Said as a noun, it looks nowhere: `2 h drive on friday`.
        verb.tense = Tense::Behind;
        words.retain(|w| !w.is("of"));
    }
    words.insert(0, verb);
    words
}

/// Whether these words are a service with nothing left open: one verb and one name.
pub(super) fn service_of<'p, 'a>(words: &'p [Word<'a>]) -> Option<&'p Word<'a>> {
    words.first().filter(|w| SERVICES.iter().any(|verb| w.is(verb)))
}
