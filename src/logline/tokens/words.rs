//! From a line to pieces: the things between commas, each a run of words that know where they
//! stand. Nothing here knows what a word means, but for `camp` (whose name and coordinates keep
//! their commas and digits), `note` (whose text runs to the end) and `and`.

use super::hours::clock;
use super::lexer::{FRACTIONS, Joint, Lexer, Piece};
use crate::domain::Unit;
use crate::logline::lexis::face::{is_face, is_picture};
use crate::logline::lexis::lexicon::{Sense, Tense, lexicon};
use crate::logline::lexis::listed::is_of;
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Kind, Mark, Word, as_written};

/// The longest line, in characters.
pub(in crate::logline) const LONGEST_LINE: usize = 2048;

/// Cuts a line into its pieces; none of them is empty.
pub(in crate::logline) fn pieces<'a>(
    line: &'a str,
    known: &Vocabulary,
) -> Result<Vec<Piece<'a>>, Misread> {
    let chars: Vec<(usize, char)> = line.char_indices().take(LONGEST_LINE + 1).collect();
    if chars.len() > LONGEST_LINE {
        let message = format!("the line is longer than {LONGEST_LINE} characters");
        return Err(Misread::new(LONGEST_LINE, LONGEST_LINE, "", message));
    }
    if let Some(at) = chars.iter().position(|(_, c)| c.is_control() && *c != '\t') {
        return Err(Misread::new(at, at + 1, "", "a control character: leave it out"));
    }
    let (words, pieces, joint) = (Vec::new(), Vec::new(), Joint::Comma);
    let mut lexer = Lexer { line, chars, at: 0, words, joint, pieces, vocabulary: known };
    while let Some(c) = lexer.peek(0) {
        lexer.step(c)?;
    }
    lexer.part(Joint::Comma);
    if lexer.pieces.is_empty() {
        return Err(Misread::new(0, 0, "", "nothing written: say what happened, like `2 showers`"));
    }
    Ok(lexer.pieces)
}

impl<'a> Lexer<'a, '_> {
    fn step(&mut self, c: char) -> Result<(), Misread> {
        let in_camp = self.camp().is_some();
        let face = self.face();
        match c {
            _ if face > 0 => self.at += face,
            ',' => self.comma(),
            // `18%!! need water`: the end of a sentence.
            '!' if !in_camp => {
                self.at += 1;
                self.part(Joint::Comma);
            }
            ';' => {
                self.at += 1;
                self.part(Joint::Comma);
            }
            '+' | '&' | '/' if !in_camp => self.plus(),
            '.' if !self.peek(1).is_some_and(|c| c.is_ascii_digit()) && !in_camp => {
                self.at += 1;
                self.part(Joint::Comma);
            }
            '"' => self.enclosed('"', Kind::Quoted, "the closing quote is missing")?,
            '(' => self.enclosed(')', Kind::Remark, "the closing parenthesis is missing")?,
            '=' | '~' if !in_camp => self.at += 1,
            '-' if self.peek(1).is_none_or(char::is_whitespace) && !in_camp => {
                let after_number = self.words.last().is_some_and(Word::is_numeric);
                match after_number {
                    true => self.bare()?,
                    false => self.at += 1,
                }
            }
            c if c.is_whitespace() => self.at += 1,
            _ => self.bare()?,
        }
        Ok(())
    }

    /// How many characters a smile or a picture takes that stands here by itself; 0 where none does.
    fn face(&self) -> usize {
        let begins = self.at == 0 || self.chars[self.at - 1].1.is_whitespace();
        let rest = self.chars[self.at..].iter().map(|(_, c)| *c);
        let pictures = rest.clone().take_while(|c| is_picture(*c)).count();
        let word: String = rest.take_while(|c| !c.is_whitespace()).collect();
        let word = word.trim_end_matches([',', '.']);
        if begins && is_face(word) { word.chars().count() } else { pictures }
    }

    fn comma(&mut self) {
        let after_one_number = match &self.words[..] {
            [.., at, degrees] => {
                at.is_any("at in camp")
                    && degrees.is_numeric()
                    && (degrees.low.contains('.') || self.camp().is_some())
            }
            _ => false,
        };
        let next = self.chars[self.at + 1..].iter().map(|(_, c)| *c);
        let next: String =
            next.skip_while(|c| c.is_whitespace()).take_while(|c| !c.is_whitespace()).collect();
        self.at += 1;
        let degrees = next.starts_with(|c: char| c.is_ascii_digit() || "-+.".contains(c))
            && (next.contains('.') || self.camp().is_some());
        if !(after_one_number && degrees) {
            self.part(Joint::Comma);
        }
    }

    /// The words after `camp`, while the piece is one.
    fn camp(&self) -> Option<&[Word<'a>]> {
        let camp = self.words.iter().position(|w| w.is("camp"))?;
        Some(&self.words[camp + 1..])
    }

    fn enclosed(&mut self, close: char, kind: Kind, missing: &str) -> Result<(), Misread> {
        let open = self.at;
        let Some(length) = self.chars[open + 1..].iter().position(|(_, c)| *c == close) else {
            return Err(Misread::new(open, open + 1, self.slice(open, open + 1), missing));
        };
        let end = open + 1 + length;
        let inside = self.slice(open + 1, end);
        if inside.trim().is_empty() || inside.contains('\t') {
            let message = "nothing readable between these marks";
            return Err(Misread::new(open, end + 1, self.slice(open, end + 1), message));
        }
        self.push(open + 1, end, kind);
        self.at = end + 1;
        Ok(())
    }

    fn bare(&mut self) -> Result<(), Misread> {
        let start = self.at;
        let in_camp = self.camp().is_some();
        let digit = |at: usize| self.chars.get(at).is_some_and(|(_, c)| c.is_ascii_digit());
        // The plus of an offset, as in `02:30:00+01:00`, joins nothing.
        let offset = |at: usize| at > start && digit(at - 1) && digit(at + 1);
        let ends = |(at, (_, c)): (usize, &(usize, char))| {
            let letter = |at: usize| self.chars.get(at).is_some_and(|(_, c)| c.is_alphabetic());
            c.is_whitespace()
                || is_picture(*c)
                || ",(;?".contains(*c)
                || !in_camp
                    && *c == '/'
                    && at > 0
                    && letter(start + at - 1)
                    && letter(start + at + 1)
                || !in_camp && ("&=!~".contains(*c) || *c == '+' && !offset(start + at))
        };
        let length = self.chars[start..].iter().enumerate().position(ends);
        let mut end = start + length.unwrap_or(self.chars.len() - start).max(1);
        if in_camp {
            self.at = end;
            let closed = end > start + 1 && self.chars[end - 1].1 == '.' && self.is_last(end);
            self.push(start, end - usize::from(closed), Kind::Plain);
            return Ok(());
        }
        if let Some(percent) = self.chars[start..end].iter().position(|(_, c)| *c == '%') {
            end = start + percent + 1;
        }
        let decimal = self.decimal_comma(start, end)?;
        end = decimal.unwrap_or(end);
        self.at = end;
        let closing = self.closing(start, &mut end);
        self.refuse_foreign_digits(start, end)?;
        self.runs(start, end);
        clock(&mut self.words, self.chars[self.at..].iter().map(|(_, c)| *c), self.vocabulary);
        if closing == Closing::Colon
            && let Some(last) = self.words.last_mut()
        {
            last.mark = Mark::Colon;
        }
        self.reserved()?;
        if closing == Closing::Sentence {
            self.part(Joint::Comma);
        }
        Ok(())
    }

    /// Whether nothing but a separator follows.
    fn is_last(&self, end: usize) -> bool {
        let next = self.chars[end..].iter().map(|(_, c)| *c).find(|c| !c.is_whitespace());
        next.is_none_or(|c| c == ',' || c == ';')
    }

    /// Takes a full stop or a colon off the end of a word.
    fn closing(&self, start: usize, end: &mut usize) -> Closing {
        let last = self.chars[*end - 1].1;
        if *end - start < 2 || !matches!(last, '.' | ':') {
            return Closing::Nothing;
        }
        *end -= 1;
        let word = self.slice(start, *end).to_lowercase();
        let about = || lexicon().sense(&word);
        let short = word.contains('.') && word.contains(char::is_alphabetic)
            || self.vocabulary.unit_named(&word).is_some()
            || about() == Some(Sense::Say("about", Tense::Behind))
            || crate::logline::times::time::is_month(&word);
        // `litres. Then`: a sentence ends where the next one begins with a capital.
        let next = self.chars[*end + 1..].iter().map(|(_, c)| *c).find(|c| !c.is_whitespace());
        let short = short && !next.is_some_and(char::is_uppercase);
        match (last, short) {
            (':', _) => Closing::Colon,
            (_, true) if !self.is_last(*end + 1) => Closing::Nothing,
            _ => Closing::Sentence,
        }
    }

    /// Pushes a word as its runs of digits and of letters, like `60%`, `4min`, `x2`, `1h30`.
    fn runs(&mut self, start: usize, end: usize) {
        let text = self.slice(start, end);
        let low = text.to_lowercase();
        let whole = self.vocabulary.names(low.as_str()) || lexicon().knows(&low);
        if whole || text.contains(['-', '/', '"', '\'']) && !text.ends_with('%') {
            return self.push(start, end, Kind::Plain);
        }
        let class = |c: char| match c {
            c if c.is_ascii_digit() || ".:,".contains(c) => 0,
            c if FRACTIONS.iter().any(|(sign, ..)| *sign == c) => 0,
            '×' | '*' => 4,
            c if c.is_alphabetic() => 2,
            _ => 3,
        };
        let classes: Vec<u8> = self.chars[start..end].iter().map(|(_, c)| class(*c)).collect();
        let mut cuts = vec![start];
        for at in 1..classes.len() {
            let (before, after) = (classes[at - 1], classes[at]);
            if before != after && (before == 4 || after == 4) {
                cuts.push(start + at);
                continue;
            }
            let by_number = (before == 0) != (after == 0) && before != 3;
            if by_number && self.cuts_here(start + at, *cuts.last().unwrap_or(&start), before) {
                cuts.push(start + at);
            }
        }
        cuts.push(end);
        let first = self.words.len();
        for cut in cuts.windows(2) {
            let times = self.words[first..].last().is_some_and(Word::is_numeric)
                && self.slice(cut[0], cut[1]).starts_with(['x', 'X'])
                && self.is_known(cut[0] + 1, cut[1]);
            let begins = if times { cut[0] + 1 } else { cut[0] };
            if times {
                self.push(cut[0], begins, Kind::Plain);
            }
            self.push(begins, cut[1], Kind::Plain);
            self.tidy_number();
        }
        // `1h30` leaves the minutes' unit out.
        if let [.., hours, unit, minutes] = &self.words[first..]
            && (unit.low == "h" && hours.is_numeric() && minutes.is_numeric())
        {
            let end = minutes.end;
            self.push(end, end, Kind::Plain);
            if let Some(last) = self.words.last_mut() {
                last.low = "min".to_string();
            }
        }
    }

    fn is_known(&self, start: usize, end: usize) -> bool {
        let word = self.slice(start, end).to_lowercase();
        self.vocabulary.names(word.as_str())
    }

    /// Whether letters and digits are two words here: digits never follow a word that is no word.
    fn cuts_here(&self, at: usize, from: usize, before: u8) -> bool {
        if before == 0 {
            return self.slice(from, at).chars().any(char::is_numeric);
        }
        let word = self.slice(from, at).to_lowercase();
        ["x", "×", "*", "h"].contains(&word.as_str())
            || self.vocabulary.names(word.as_str())
            || lexicon().knows(&word)
            || word.ends_with('@')
    }

    /// What `note`, not `please note that`, and `and` do as soon as they are read.
    fn reserved(&mut self) -> Result<(), Misread> {
        let Some(word) = self.words.last() else { return Ok(()) };
        if word.is("note") && !self.words.iter().any(|w| is_of("begs", &w.low)) {
            return self.text();
        }
        if word.is_any("and n then but") {
            // `Ada and Nell showered` is one thing.
            let names = &self.words[..self.words.len() - 1];
            if self.are_names(names) {
                return Ok(());
            }
            let before = self.words.len().checked_sub(2).map(|at| self.words[at].low.as_str());
            let rest: String = self.chars[self.at..].iter().take(12).map(|(_, c)| *c).collect();
            let rest = rest.trim_start().to_lowercase();
            // `there and back`.
            if rest.split(' ').next().is_some_and(|next| is_of("and", next)) {
                return Ok(());
            }
            let half =
                ["a half", "a quarter", "three quart", "3 quart", "half an", "half h", "a bit"];
            let hour =
                before.is_some_and(|unit| self.vocabulary.unit_named(unit) == Some(Unit::Hour));
            let minutes = hour && crate::logline::lexis::amounts::is_minutes(&rest);
            if before.is_some_and(|before| self.vocabulary.goes_on_with_and(before))
                || half.iter().any(|half| rest.starts_with(half))
                || minutes
            {
                return Ok(());
            }
            self.words.pop();
            self.part(Joint::And);
        }
        Ok(())
    }

    /// Whether these words are names of nothing that is known, as of people.
    fn are_names(&self, words: &[Word]) -> bool {
        let name = |w: &Word| {
            w.kind == Kind::Plain
                && w.text.starts_with(char::is_uppercase)
                && !lexicon().knows(&w.low)
                && !crate::logline::times::time::is_time_word(&w.low)
                && !self.vocabulary.names(w.low.as_str())
        };
        let known = || self.vocabulary.place(&as_written(words)).is_some();
        !words.is_empty() && words.iter().all(name) && !known()
    }

    fn text(&mut self) -> Result<(), Misread> {
        let blank = |(_, c): &(usize, char)| c.is_whitespace();
        let rest = &self.chars[self.at..];
        let lead = rest.iter().take_while(|c| blank(c)).count();
        let trail = rest.iter().rev().take_while(|c| blank(c)).count();
        let (start, end) = (self.at + lead, self.chars.len().saturating_sub(trail));
        if start >= end {
            let word = self.words.last().map_or((0, 0), |w| (w.start, w.end));
            let message = "an empty note: write its text after the word";
            return Err(Misread::new(word.0, word.1, "note", message));
        }
        if let Some(tab) = self.chars[start..end].iter().position(|(_, c)| *c == '\t') {
            let at = start + tab;
            return Err(Misread::new(at, at + 1, "", "a tab in a note: write a space"));
        }
        self.push(start, end, Kind::Text);
        self.at = self.chars.len();
        Ok(())
    }
}

/// What the end of a word ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Closing {
    Nothing,
    Sentence,
    Colon,
}
