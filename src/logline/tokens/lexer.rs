//! What a line is cut into, and how far it has been read.

use crate::logline::lexis::lexicon::Tense;
use crate::logline::lexis::vocabulary::Vocabulary;
use crate::logline::lexis::word::{Kind, Mark, Word};

/// How a piece goes on from the one before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logline) enum Joint {
    /// After a comma, or at the beginning.
    Comma,
    /// After `and`, or a plus.
    And,
    /// After a time with a colon, which holds from here on.
    Colon,
}

/// The words of one thing.
#[derive(Debug, Clone)]
pub(in crate::logline) struct Piece<'a> {
    pub words: Vec<Word<'a>>,
    pub joint: Joint,
    /// Its characters.
    pub span: (usize, usize),
}

/// Fractions with a sign of their own.
pub(super) const FRACTIONS: [(char, &str, &str); 9] = [
    ('½', "1/2", ".5"),
    ('¼', "1/4", ".25"),
    ('¾', "3/4", ".75"),
    ('⅓', "1/3", ".333"),
    ('⅔', "2/3", ".667"),
    ('⅛', "1/8", ".125"),
    ('⅜', "3/8", ".375"),
    ('⅝', "5/8", ".625"),
    ('⅞', "7/8", ".875"),
];

/// A line, and what has been read of it.
pub(super) struct Lexer<'a, 'v> {
    pub line: &'a str,
    /// Byte offset and character, in order, so that an index here counts characters.
    pub chars: Vec<(usize, char)>,
    pub at: usize,
    pub words: Vec<Word<'a>>,
    pub joint: Joint,
    pub pieces: Vec<Piece<'a>>,
    pub vocabulary: &'v Vocabulary,
}

impl<'a> Lexer<'a, '_> {
    pub(super) fn peek(&self, ahead: usize) -> Option<char> {
        self.chars.get(self.at + ahead).map(|(_, c)| *c)
    }

    pub(super) fn slice(&self, start: usize, end: usize) -> &'a str {
        let byte = |at: usize| self.chars.get(at).map_or(self.line.len(), |(byte, _)| *byte);
        &self.line[byte(start)..byte(end)]
    }

    pub(super) fn push(&mut self, start: usize, end: usize, kind: Kind) {
        let text = self.slice(start, end);
        let (mark, tense) = (Mark::Nothing, Tense::Behind);
        let low = text.to_lowercase().replace('’', "'");
        self.words.push(Word { text, low, start, end, kind, mark, tense, lead: None });
    }

    /// Ends the piece, if there is one; what follows is joined to it by `next`.
    pub(super) fn part(&mut self, next: Joint) {
        if !self.words.is_empty() {
            let words = std::mem::take(&mut self.words);
            let span = (words[0].start, words[words.len() - 1].end);
            self.pieces.push(Piece { words, joint: self.joint, span });
            self.joint = next;
        } else if next == Joint::Comma {
            self.joint = next;
        }
    }
}
