//! A walk over the words of a row that has its own order, as an outlook's.

use super::amounts::{self, Said};
use super::misread::Misread;
use super::vocabulary::Vocabulary;
use super::word::Word;

/// A walk over the words of one thing.
pub(in crate::logline) struct Reader<'p, 'a> {
    pub words: &'p [Word<'a>],
    pub at: usize,
}

impl<'p, 'a> Reader<'p, 'a> {
    pub fn rest(&self) -> &'p [Word<'a>] {
        &self.words[self.at..]
    }

    pub fn peek(&self) -> Option<&'p Word<'a>> {
        self.words.get(self.at)
    }

    /// Takes the next word if it is one of these.
    pub fn take(&mut self, any: &[&str]) -> bool {
        let found = self.peek().is_some_and(|w| any.iter().any(|known| w.is(known)));
        self.at += usize::from(found);
        found
    }

    /// Takes an amount, if one comes next.
    pub fn amount(&mut self, known: &Vocabulary) -> Result<Option<Said>, Misread> {
        let read = amounts::read(self.rest(), known)?;
        Ok(read.map(|(said, taken)| {
            self.at += taken;
            said
        }))
    }

    /// The words taken since `from`.
    pub fn since(&self, from: usize) -> &'p [Word<'a>] {
        &self.words[from.min(self.at)..self.at]
    }

    /// The misread for a word that should come next and does not: it points at the last one.
    pub fn missing(&self, message: impl Into<String>) -> Misread {
        match self.peek().or(self.words.last()) {
            Some(word) => Misread::at(word, message),
            None => Misread::new(0, 0, "", message),
        }
    }
}
