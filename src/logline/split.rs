//! Several things in one piece with no comma between them: `battery 62 fresh 3/4`,
//! `2 showers emptied grey`. Cut where only one way of cutting makes sense, else asked back.

use super::amounts;
use super::lexicon::OPENERS;
use super::misread::{EXAMPLE, Misread};
use super::reader::{Reader, SaidThing, Scene};
use super::thing::{self, Ends};
use super::word::{Kind, Word, text};
use crate::domain::entry::{Event, Spot};

/// What a word, or a run of them, is on the face of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Face {
    Verb,
    Name,
    Amount,
    Other,
}

/// Reads the one thing, or the several, that these words say.
pub(super) fn read(words: &[Word], ends: Ends, scene: &Scene) -> Result<Vec<SaidThing>, Misread> {
    if let Some(two) = drive_and_camp(words, scene) {
        let [drive, camp] = two?;
        return Ok(vec![drive, camp]);
    }
    let whole = match thing::read(words, ends, scene) {
        Ok(said) => return Ok(vec![said]),
        Err(misread) => misread,
    };
    let faces = faces(words, scene);
    let things = |face: Face| faces.iter().filter(|(f, _)| *f == face).count();
    let several = things(Face::Name) + things(Face::Verb) > 1 && things(Face::Name) > 0;
    let verbatim = words.iter().any(|w| w.is("camp") || w.is("outlook") || w.is("note"));
    if !several || verbatim || ends == Ends::Until {
        return Err(whole);
    }
    let mut ways = [cut(&faces, Side::Behind), cut(&faces, Side::Before)];
    if faces[0].0 == Face::Amount {
        ways.swap(0, 1);
    }
    let mut first_fault = None;
    let mut read: Vec<(Vec<usize>, Vec<SaidThing>)> = Vec::new();
    for cuts in ways {
        if read.iter().any(|(same, _)| *same == cuts) || cuts.len() < 3 {
            continue;
        }
        let said = cuts.windows(2).map(|c| part(&words[c[0]..c[1]], scene));
        match said.collect::<Result<Vec<_>, _>>() {
            Ok(said) => read.push((cuts, said)),
            Err(misread) => {
                first_fault.get_or_insert(misread);
            }
        }
    }
    if read.len() > 1 {
        let message = "which number goes with which? A comma separates things";
        let parts = |cuts: &[usize]| {
            cuts.windows(2).map(|c| text(&words[c[0]..c[1]])).collect::<Vec<_>>().join(", ")
        };
        let misread = Misread::over(words, message);
        return Err(read.iter().fold(misread, |m, (cuts, _)| m.write_piece(parts(cuts))));
    }
    if let Some((_, said)) = read.first()
        && let Some(pair) = said.windows(2).find(|pair| pair[0].event == pair[1].event)
        && let Event::Use { activity, .. } = &pair[0].event
    {
        let message = format!("twice, or said twice? Write `2 times {activity}` or `{activity}`");
        let misread = Misread::over(words, message);
        return Err(misread.write_piece(format!("{activity} twice")).write_piece(activity));
    }
    // Where the parts are things of their own, what is unclear is one of them.
    let things = read.pop().map(|(_, said)| said);
    things.ok_or(first_fault.filter(|fault| !fault.mend.swaps.is_empty()).unwrap_or(whole))
}

/// One part of several; what is unclear about it is so of that part alone.
fn part(words: &[Word], scene: &Scene) -> Result<SaidThing, Misread> {
    thing::read(words, Ends::Open, scene).map_err(|mut misread| {
        let start = words.iter().map(|w| w.start).min().unwrap_or_default();
        let end = words.iter().map(|w| w.end).max().unwrap_or_default();
        misread.mend.thing.get_or_insert((start, end));
        // What is left to be said is said of one thing, not of one among several.
        misread.mend.swaps.retain(|swap| !swap.text().contains(EXAMPLE));
        misread
    })
}

/// The words by what they are on the face of it, each run with its first word.
fn faces(words: &[Word], scene: &Scene) -> Vec<(Face, usize)> {
    let (mut faces, mut at) = (Vec::new(), 0);
    while at < words.len() {
        let mut reader = Reader { words, at };
        let verb = OPENERS.iter().chain(&["closed", "+"]).any(|opener| words[at].is(opener));
        let face = match () {
            () if words[at].kind != Kind::Plain => Face::Other,
            () if reader.name(scene.known).is_some() => Face::Name,
            () if verb => Face::Verb,
            () => match amounts::read(&words[at..], scene.known) {
                Ok(Some((_, taken))) => {
                    reader.at = at + taken;
                    Face::Amount
                }
                _ => Face::Other,
            },
        };
        faces.push((face, at));
        at = reader.at.max(at + 1);
    }
    faces.push((Face::Other, words.len()));
    faces
}

/// On which side of an amount its name stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Behind,
    Before,
}

/// Where the words are cut when each amount goes with the name before it, or with the one behind
/// it: the first word of each part, and the end.
fn cut(faces: &[(Face, usize)], side: Side) -> Vec<usize> {
    let mut cuts = vec![0];
    let (mut verb, mut name, mut amount) = (false, false, false);
    for (index, (face, at)) in faces[..faces.len() - 1].iter().enumerate() {
        let named = faces[index + 1].0 == Face::Name;
        let twice = index > 0 && faces[index - 1].0 == Face::Amount;
        let begins = match face {
            Face::Verb => true,
            Face::Name => name || !verb && !amount,
            // Hours and minutes are one amount, and a level may follow on an amount.
            Face::Amount if verb => amount && named,
            Face::Amount if amount => named || !twice,
            Face::Amount => name && side == Side::Before && named,
            Face::Other => false,
        };
        if begins && *at > 0 {
            cuts.push(*at);
            (verb, name, amount) = (false, false, false);
        }
        verb |= *face == Face::Verb;
        name |= *face == Face::Name;
        amount |= *face == Face::Amount;
    }
    cuts.push(faces[faces.len() - 1].1);
    cuts
}

/// `drove 1 h to Alder flats`: a drive, and the camp at its end.
fn drive_and_camp(words: &[Word], scene: &Scene) -> Option<Result<[SaidThing; 2], Misread>> {
    let to = words.iter().position(|w| w.is("to")).filter(|_| words[0].is("drove"))?;
    let name = words[to + 1..].iter().map(|w| w.text).collect::<Vec<_>>().join(" ");
    let place = scene.known.place(&name)?;
    let drive = thing::read(&words[..to], Ends::Open, scene);
    let camp = Event::Camp(Spot::Named(place.into()));
    Some(drive.map(|drive| [drive, camp.into()]))
}
