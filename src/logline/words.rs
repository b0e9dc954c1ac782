//! From a line to pieces: the things between commas, each a run of words that know where they
//! stand. Nothing here knows what a word means, but for `camp` (whose name and coordinates keep
//! their commas and digits), `note` (whose text runs to the end) and `and`.

use super::Misread;
use super::vocabulary::Vocabulary;

/// The longest line, in characters.
pub(super) const LONGEST_LINE: usize = 2048;

/// How a word was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Bare.
    Plain,
    /// Between double quotes: a name taken as it stands.
    Quoted,
    /// Between parentheses: a remark on the thing before it.
    Remark,
    /// All that follows `note`.
    Text,
}

/// One word and its place in the line, counted in characters.
#[derive(Debug, Clone)]
pub(super) struct Word<'a> {
    pub text: &'a str,
    pub low: String,
    pub start: usize,
    pub end: usize,
    pub kind: Kind,
}

impl Word<'_> {
    /// Whether this is the bare word `low`.
    pub fn is(&self, low: &str) -> bool {
        self.kind == Kind::Plain && self.low == low
    }

    /// Whether it begins as a number does.
    pub fn is_numeric(&self) -> bool {
        let digits = self.text.trim_start_matches(['-', '+', '.']);
        self.kind == Kind::Plain && digits.starts_with(|c: char| c.is_ascii_digit())
    }
}

/// The words of one thing.
pub(super) type Piece<'a> = Vec<Word<'a>>;

struct Lexer<'a, 'v> {
    line: &'a str,
    /// Byte offset and character, in order, so that an index here counts characters.
    chars: Vec<(usize, char)>,
    at: usize,
    piece: Piece<'a>,
    pieces: Vec<Piece<'a>>,
    vocabulary: &'v Vocabulary,
}

/// Cuts a line into its pieces; none of them is empty.
pub(super) fn pieces<'a>(line: &'a str, known: &Vocabulary) -> Result<Vec<Piece<'a>>, Misread> {
    let chars: Vec<(usize, char)> = line.char_indices().take(LONGEST_LINE + 1).collect();
    if chars.len() > LONGEST_LINE {
        let message = format!("the line is longer than {LONGEST_LINE} characters");
        return Err(Misread::new(LONGEST_LINE, LONGEST_LINE, "", message));
    }
    if let Some(at) = chars.iter().position(|(_, c)| c.is_control() && *c != '\t') {
        return Err(Misread::new(at, at + 1, "", "a control character: leave it out"));
    }
    let mut lexer = Lexer { line, chars, at: 0, piece: vec![], pieces: vec![], vocabulary: known };
    while let Some(c) = lexer.peek(0) {
        lexer.step(c)?;
    }
    let Lexer { piece, mut pieces, .. } = lexer;
    if !piece.is_empty() {
        pieces.push(piece);
    }
    if pieces.is_empty() {
        return Err(Misread::new(0, 0, "", "nothing written: say what happened, like `2 showers`"));
    }
    Ok(pieces)
}

impl<'a> Lexer<'a, '_> {
    fn peek(&self, ahead: usize) -> Option<char> {
        self.chars.get(self.at + ahead).map(|(_, c)| *c)
    }

    fn slice(&self, start: usize, end: usize) -> &'a str {
        let byte = |at: usize| self.chars.get(at).map_or(self.line.len(), |(byte, _)| *byte);
        &self.line[byte(start)..byte(end)]
    }

    fn push(&mut self, start: usize, end: usize, kind: Kind) {
        let text = self.slice(start, end);
        self.piece.push(Word { text, low: text.to_lowercase(), start, end, kind });
    }

    fn step(&mut self, c: char) -> Result<(), Misread> {
        match c {
            c if c.is_whitespace() => self.at += 1,
            ',' => self.comma()?,
            '"' => self.enclosed('"', Kind::Quoted, "the closing quote is missing")?,
            '(' => self.enclosed(')', Kind::Remark, "the closing parenthesis is missing")?,
            _ => self.bare()?,
        }
        Ok(())
    }

    fn comma(&mut self) -> Result<(), Misread> {
        let after_one_number = self.camp().is_some_and(|camp| {
            let said = camp.iter().skip_while(|w| w.is("at"));
            said.clone().count() == 1 && said.clone().all(Word::is_numeric)
        });
        let next = self.chars[self.at + 1..].iter().map(|(_, c)| *c).find(|c| !c.is_whitespace());
        if after_one_number && next.is_some_and(|c| c.is_ascii_digit() || "-+.".contains(c)) {
            self.at += 1;
            return Ok(());
        }
        if self.piece.is_empty() {
            let message = "nothing before this comma: a comma separates things";
            return Err(Misread::new(self.at, self.at + 1, ",", message));
        }
        self.at += 1;
        self.pieces.push(std::mem::take(&mut self.piece));
        Ok(())
    }

    /// The words after `camp`, while the piece is one.
    fn camp(&self) -> Option<&[Word<'a>]> {
        let camp = self.piece.iter().position(|w| w.is("camp"))?;
        Some(&self.piece[camp + 1..])
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
        let length = self.chars[start..]
            .iter()
            .position(|(_, c)| c.is_whitespace() || *c == ',' || *c == '(')
            .unwrap_or(self.chars.len() - start);
        let mut end = start + length.max(1);
        self.at = end;
        let in_camp = self.camp().is_some();
        if !in_camp && self.closing_mark(start, end)? {
            end -= 1;
        }
        if !in_camp {
            self.refuse_foreign_digits(start, end)?;
            self.refuse_decimal_comma(start, end)?;
        }
        match self.glued_unit(start, end).filter(|_| !in_camp) {
            Some(unit) => {
                self.push(start, unit, Kind::Plain);
                self.push(unit, end, Kind::Plain);
            }
            None => self.push(start, end, Kind::Plain),
        }
        self.reserved(in_camp)
    }

    /// Whether the word's last character ends a sentence, and with it a thing; `80%.` means `80%`.
    fn closing_mark(&self, start: usize, end: usize) -> Result<bool, Misread> {
        let last = self.chars[end - 1].1;
        if end - start < 2 || !matches!(last, '.' | ';') {
            return Ok(false);
        }
        let rest = &self.chars[end..];
        let next = rest.iter().map(|(_, c)| *c).find(|c| !c.is_whitespace());
        match (next, last) {
            (None | Some(','), _) => Ok(true),
            (Some(_), ';') => {
                let message = "a comma separates things";
                Err(Misread::new(end - 1, end, ";", message))
            }
            _ => Ok(false),
        }
    }

    /// What `note` and `and` do as soon as they are read.
    fn reserved(&mut self, in_camp: bool) -> Result<(), Misread> {
        let Some(word) = self.piece.last() else { return Ok(()) };
        if word.is("note") || word.is("note:") {
            return self.text();
        }
        if word.is("and") && !in_camp {
            let before = self.piece.len().checked_sub(2).map(|at| self.piece[at].low.as_str());
            if before.is_some_and(|before| self.vocabulary.goes_on_with_and(before)) {
                return Ok(());
            }
            let (start, end) = (word.start, word.end);
            self.piece.pop();
            if self.piece.is_empty() {
                return Err(Misread::new(start, end, "and", "nothing before this `and`"));
            }
            self.pieces.push(std::mem::take(&mut self.piece));
        }
        Ok(())
    }

    fn text(&mut self) -> Result<(), Misread> {
        let blank = |(_, c): &(usize, char)| c.is_whitespace();
        let rest = &self.chars[self.at..];
        let lead = rest.iter().take_while(|c| blank(c)).count();
        let trail = rest.iter().rev().take_while(|c| blank(c)).count();
        let (start, end) = (self.at + lead, self.chars.len().saturating_sub(trail));
        if start >= end {
            let word = self.piece.last().map_or((0, 0), |w| (w.start, w.end));
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

    /// Where the unit begins in a number with its unit on it, like `60%` or `4min`.
    fn glued_unit(&self, start: usize, end: usize) -> Option<usize> {
        let chars = &self.chars[start..end];
        let sign = usize::from(chars.first()?.1 == '-');
        let digits = |c: char| c.is_ascii_digit() || c == '.';
        let length = chars[sign..].iter().take_while(|(_, c)| digits(*c)).count();
        let tail = &chars[sign + length..];
        let unit = !tail.is_empty() && tail.iter().all(|(_, c)| c.is_alphabetic() || *c == '%');
        (length > 0 && unit).then_some(start + sign + length)
    }

    fn refuse_foreign_digits(&self, start: usize, end: usize) -> Result<(), Misread> {
        if self.chars[start..end].iter().any(|(_, c)| c.is_numeric() && !c.is_ascii()) {
            let message = "digits are 0 to 9 here, like `3/4` or `20 L`";
            return Err(Misread::new(start, end, self.slice(start, end), message));
        }
        Ok(())
    }

    /// `1,5` would silently become two things.
    fn refuse_decimal_comma(&self, start: usize, end: usize) -> Result<(), Misread> {
        let digit = |at: usize| self.chars.get(at).is_some_and(|(_, c)| c.is_ascii_digit());
        if digit(end - 1) && self.peek(0) == Some(',') && digit(end + 1) {
            let tail = self.chars[end + 1..].iter().take_while(|(_, c)| !c.is_whitespace()).count();
            let found = self.slice(start, end + 1 + tail);
            let message = "a comma between digits: write a decimal point, or a space after a comma";
            return Err(Misread::new(start, end + 1 + tail, found, message));
        }
        Ok(())
    }
}
