//! Lists that leave words out: `emptied grey and liquids`, `fresh and diesel full`. What one thing
//! of a list says holds for the others that leave it open.

use super::misread::Misread;
use super::moment::When;
use super::speech;
use super::timed::Timed;
use super::vocabulary::Vocabulary;
use super::word::Word;
use super::words::Joint;

/// Gives each thing of a list what it leaves open; where that is unclear, it is asked back.
pub(super) fn complete(pieces: &mut [Timed], known: &Vocabulary) -> Result<(), Misread> {
    let mut first = 0;
    for at in 1..pieces.len() {
        let service = speech::service_of(&pieces[first].body.words).cloned();
        if let Some(verb) = service.filter(|_| names_stock(&pieces[at].body.words, known))
            && pieces[at].joint != Joint::Colon
        {
            let alone = is_name(&pieces[at].body.words, known);
            if alone && amount_of(&pieces[first], known).is_none() {
                pieces[at].body.words.insert(0, verb);
                same_time(pieces, first, at);
                continue;
            }
            if pieces[at].joint == Joint::And {
                return Err(unclear(&verb, pieces, first, at));
            }
        }
        level_of_both(pieces, at, known);
        first = at;
    }
    one_time(pieces)
}

/// The stock's name and nothing else.
fn is_name(words: &[Word], known: &Vocabulary) -> bool {
    let found = known.find(words.iter().map(|w| w.low.as_str()));
    found.is_some_and(|(meaning, taken)| taken == words.len() && meaning.stock.is_some())
}

fn names_stock(words: &[Word], known: &Vocabulary) -> bool {
    known.find(words.iter().map(|w| w.low.as_str())).is_some_and(|(m, _)| m.stock.is_some())
}

/// What stands behind verb and name of a service, or between them.
fn amount_of<'p, 'a>(piece: &'p Timed<'a>, known: &Vocabulary) -> Option<&'p Word<'a>> {
    let words = &piece.body.words[1..];
    let named = known.find(words.iter().map(|w| w.low.as_str())).map_or(0, |(_, taken)| taken);
    match named {
        0 => words.first(),
        taken => words[taken..].iter().find(|w| !w.is("completely")),
    }
}

/// Things of a list that leave the verb out happened at one time.
fn same_time(pieces: &mut [Timed], first: usize, at: usize) {
    let time = [first, at].map(|i| pieces[i].before.or(&pieces[i].after));
    let [before, last] = time;
    let told = if last.is_empty() { before } else { last };
    for piece in &mut pieces[first..=at] {
        if piece.before.is_empty() && piece.after.is_empty() {
            piece.after = told.clone();
        }
    }
}

/// An amount after the last of a list: of each, or of the last one?
fn unclear(verb: &Word, pieces: &[Timed], first: usize, at: usize) -> Misread {
    let text = |piece: &Timed, skip: usize| {
        let words = piece.body.words.iter().skip(skip).map(|w| w.low.as_str());
        words.collect::<Vec<_>>().join(" ").replace(" %", "%")
    };
    let (one, other) = (text(&pieces[first], 1), text(&pieces[at], 0));
    let message = "does this hold for both? Say each of them with its verb";
    let (start, end) = (pieces[first].body.span().0, pieces[at].body.span().1);
    let mut misread = Misread::over(&pieces[at].body.words, message);
    misread.mend.thing = Some((start, end));
    misread.write_piece(format!("{0} {one}, {0} {other}", verb.low))
}

/// `fresh and diesel full`: the level of the last one is that of both.
fn level_of_both(pieces: &mut [Timed], at: usize, known: &Vocabulary) {
    if pieces[at].joint != Joint::And || !is_name(&pieces[at - 1].body.words, known) {
        return;
    }
    let words = &pieces[at].body.words;
    let found = known.find(words.iter().map(|w| w.low.as_str()));
    let Some((_, taken)) = found.filter(|(meaning, _)| meaning.stock.is_some()) else { return };
    let level = words[taken..].to_vec();
    pieces[at - 1].body.words.extend(level);
    same_time(pieces, at - 1, at);
}

/// In `2 showers and dishes yesterday` the time may hold for one or for both: asked back.
fn one_time(pieces: &[Timed]) -> Result<(), Misread> {
    if pieces.first().is_some_and(|piece| !piece.before.is_empty()) {
        return Ok(());
    }
    let own = |piece: &Timed| piece.before.or(&piece.after);
    for pair in pieces.windows(2) {
        let [one, other] = pair else { continue };
        if other.joint != Joint::And || own(one).is_empty() == own(other).is_empty() {
            continue;
        }
        if !other.before.is_empty() || !one.before.is_empty() {
            continue;
        }
        if one.until.is_some() || other.until.is_some() {
            continue;
        }
        let told: When = if own(one).is_empty() { own(other) } else { own(one) };
        let message = "does the time hold for both? Say it with each, or in front of both";
        let mut misread = Misread::new(told.start, told.end, &told.words, message);
        let (from, to) = (one.body.span().0, other.body.span().1.max(told.end));
        misread.mend.thing = Some((from, to));
        let text = |piece: &Timed| {
            let words = piece.body.words.iter().map(|w| w.low.as_str());
            words.collect::<Vec<_>>().join(" ").replace(" %", "%")
        };
        let with = |piece: &Timed, time: &str| format!("{} {time}", text(piece));
        let both = format!("{}, {}", with(one, &told.words), with(other, &told.words));
        let apart = match own(one).is_empty() {
            true => format!("{}, {}", with(one, "now"), with(other, &told.words)),
            false => format!("{}, {}", with(one, &told.words), with(other, "now")),
        };
        return Err(misread.write_piece(both).write_piece(apart));
    }
    Ok(())
}
