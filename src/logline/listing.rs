//! Lists that leave words out: `emptied grey and liquids`, `fresh and diesel full`. What one thing
//! of a list says holds for the others that leave it open.

use super::amounts;
use super::lexicon::Tense;
use super::misread::Misread;
use super::moment::{Clock, Day, Toward, When};
use super::speech;
use super::timed::Timed;
use super::vocabulary::Vocabulary;
use super::word::{Word, text};
use super::words::Joint;

/// Gives each thing of a list what it leaves open; where that is unclear, it is asked back.
pub(super) fn complete(
    pieces: &mut [Timed],
    known: &Vocabulary,
    clock: &Clock,
) -> Result<(), Misread> {
    let mut first = 0;
    for at in 1..pieces.len() {
        no_name(pieces, at, known)?;
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
    one_time(pieces, known, clock)
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
    let (one, other) = (text(&pieces[first].body.words[1..]), text(&pieces[at].body.words));
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

const NAMELESS: &str = "of what came before it? Say it with its name";

/// An amount of nothing, behind a thing that has a name: `battery 71%, 60% this morning`, `fresh
/// 60%, no 55%`, `emptied grey, 10 L left`. Asked back, with the name.
fn no_name(pieces: &[Timed], at: usize, known: &Vocabulary) -> Result<(), Misread> {
    let words = &pieces[at].body.words[..];
    let mended = words.first().is_some_and(|w| w.is("rather"));
    let left = words.iter().any(|w| w.is("left"));
    let words: Vec<Word> =
        words.iter().filter(|w| !w.is("rather") && !w.is("left")).cloned().collect();
    let about = words.iter().take_while(|w| w.is("about")).count();
    let amount = amounts::read(&words[about..], known).ok().flatten();
    let own = pieces[at].before.or(&pieces[at].after);
    let before = &pieces[at - 1].body.words[..];
    if let ([verb], true) = (before, amount.is_some())
        && speech::MEASURED.contains(&verb.low.as_str())
    {
        let misread = Misread::new(verb.start, spanned(&pieces[at]).1, &text(&words), NAMELESS);
        return Err(misread.write(format!("{} {}", verb.low, text(&words))));
    }
    let goes_on = mended || left || !own.is_empty();
    if !goes_on || amount.is_none_or(|(_, taken)| about + taken != words.len()) {
        return Ok(());
    }
    let find = |from: usize| known.find(before[from..].iter().map(|w| w.low.as_str()));
    let Some(name) = (0..before.len()).find(|from| find(*from).is_some()) else { return Ok(()) };
    let Some((meaning, taken)) = find(name) else { return Ok(()) };
    let (amount, named) = (text(&words), text(&before[name..name + taken]));
    let served = speech::service_of(before);
    let again = match (served, &meaning.activity) {
        (Some(verb), _) if left => format!("{} {named} to {amount}", verb.low),
        (Some(verb), _) => format!("{} {named} {amount}", verb.low),
        (None, Some(_)) => format!("{amount} {named}"),
        (None, None) => format!("{named} {amount}"),
    };
    let time = |piece: &Timed| piece.before.or(&piece.after).words;
    let (one, other) = (&pieces[at - 1], &pieces[at]);
    let over = left && served.is_some() || mended;
    let start = if over { spanned(one).0 } else { spanned(other).0 };
    let told = if over && time(other).is_empty() { time(one) } else { time(other) };
    let misread = Misread::new(start, spanned(other).1, &text(&words), NAMELESS);
    Err(misread.write(format!("{again} {told}").trim()))
}

/// The characters of a thing with its times.
fn spanned(piece: &Timed) -> (usize, usize) {
    let (start, end) = piece.body.span();
    let times = [&piece.before, &piece.after];
    let said = times.iter().filter(|when| !when.is_empty());
    said.fold((start, end), |(start, end), when| (start.min(when.start), end.max(when.end)))
}

/// In `2 showers, dishes yesterday` the day may hold for one or for both: asked back, unless it
/// begins the line. A reading is one of now where it names no time.
fn one_time(pieces: &[Timed], known: &Vocabulary, clock: &Clock) -> Result<(), Misread> {
    if pieces.first().is_some_and(|piece| !piece.before.is_empty()) {
        return Ok(());
    }
    let own = |piece: &Timed| piece.before.or(&piece.after);
    for pair in pieces.windows(2) {
        let [one, other] = pair else { continue };
        let listed = other.joint == Joint::And;
        let shared = match (own(one).is_empty(), own(other).is_empty()) {
            _ if one.is_time() || other.is_time() || other.joint == Joint::Colon => false,
            (true, false) if listed => other.before.is_empty(),
            (false, true) if listed => true,
            // Behind the last of a list, or before the first of what follows.
            (true, false) => {
                other.before.is_empty() && is_done(one, known) && is_done(other, known)
            }
            (false, true) => !one.before.is_empty() && is_done(one, known) && is_done(other, known),
            _ => false,
        };
        if !shared || one.until.is_some() || other.until.is_some() {
            continue;
        }
        let told: When = if own(one).is_empty() { own(other) } else { own(one) };
        let today = told.day == Some(Day::FromToday(0)) && told.hour.is_none();
        if today || told.toward != Toward::Open || !listed && !is_another_day(&told, clock) {
            continue;
        }
        let message = "does the time hold for both? Say it with each, or in front of both";
        let mut misread = Misread::new(told.start, told.end, &told.words, message);
        misread.mend.thing = Some((spanned(one).0, spanned(other).1));
        let with = |piece: &Timed, time: &str| format!("{} {time}", text(&piece.body.words));
        let both = format!("{}, {}", with(one, &told.words), with(other, &told.words));
        let apart = match own(one).is_empty() {
            true => format!("{}, {}", with(one, "now"), with(other, &told.words)),
            false => format!("{}, {}", with(one, &told.words), with(other, "now")),
        };
        return Err(misread.write_piece(both).write_piece(apart));
    }
    Ok(())
}

/// Whether a thing was done, at a time that it may leave to be guessed: no reading, no plan, and
/// not who is aboard.
fn is_done(piece: &Timed, known: &Vocabulary) -> bool {
    let words = &piece.body.words;
    let other = ["camp", "note", "outlook", "closed", "guests", "away", "aboard", "drove-to"];
    let reading = speech::service_of(words).is_none()
        && (0..words.len()).any(|at| {
            let name = known.find(words[at..].iter().map(|w| w.low.as_str()));
            name.is_some_and(|(meaning, _)| meaning.activity.is_none())
        });
    !reading
        && !words.iter().any(|w| w.tense != Tense::Behind || other.iter().any(|other| w.is(other)))
}

/// Whether a time says another day than today.
fn is_another_day(when: &When, clock: &Clock) -> bool {
    match (when.exact, when.day) {
        (Some(exact), _) => clock.zone.date(exact) != clock.civil.date(),
        (None, day) => !matches!(day, None | Some(Day::This | Day::FromToday(0))),
    }
}
