//! Numbers as they are typed: decimal commas, fractions with a sign of their own, digits of other
//! scripts, and what a plus before one says.

use super::lexer::{FRACTIONS, Joint, Lexer};
use crate::domain::Unit;
use crate::logline::lexis::misread::Misread;
use crate::logline::lexis::word::{Kind, text};

impl Lexer<'_, '_> {
    /// `+20 L` at the beginning is something added, as `tank +20L` is; anywhere else a plus joins two
    /// things.
    pub(super) fn plus(&mut self) {
        let next = self.chars[self.at + 1..].iter().map(|(_, c)| *c).find(|c| *c != ' ');
        let plus = self.peek(0) == Some('+');
        let adds = plus && next.is_some_and(|c| c.is_ascii_digit());
        let apart = self.at > 0 && self.chars[self.at - 1].1 == ' ';
        let stock = apart && self.vocabulary.stock_named(&text(&self.words)).is_some();
        let glued = adds && apart && self.peek(1).is_some_and(|c| c.is_ascii_digit());
        if adds && (self.words.is_empty() || stock) {
            self.push(self.at, self.at + 1, Kind::Plain);
        } else {
            self.part(Joint::And);
            if glued && self.pours() {
                self.push(self.at, self.at + 1, Kind::Plain);
            }
        }
        self.at += 1;
    }

    /// Whether the number behind a plus is of what is poured or weighed.
    fn pours(&self) -> bool {
        let rest = self.chars[self.at + 1..].iter().map(|(_, c)| *c);
        let rest =
            rest.skip_while(|c| c.is_ascii_digit() || ".,".contains(*c)).skip_while(|c| *c == ' ');
        let unit: String = rest.take_while(|c| c.is_alphabetic()).collect();
        let unit = self.vocabulary.unit_named(&unit.to_lowercase());
        unit.is_some_and(|u| u.converts_to(&Unit::Litre) || u.converts_to(&Unit::Kilogram))
    }

    /// Where a number with a decimal comma ends; a comma that may be one is refused.
    pub(super) fn decimal_comma(&self, start: usize, end: usize) -> Result<Option<usize>, Misread> {
        let char = |at: usize| self.chars.get(at).map(|(_, c)| *c);
        let digit = |at: usize| char(at).is_some_and(|c| c.is_ascii_digit());
        if !digit(end - 1) || char(end) != Some(',') || !digit(end + 1) {
            return Ok(None);
        }
        let digits = self.chars[end + 1..].iter().take_while(|(_, c)| c.is_ascii_digit()).count();
        let number = end + 1 + digits;
        let rest = self.chars[number..].iter().map(|(_, c)| *c).skip_while(|c| *c == ' ');
        let unit: String = rest.take_while(|c| c.is_alphabetic() || *c == '%').collect();
        let whole = (start..end).all(digit);
        let tail = self.chars[end + 1..].iter().take_while(|(_, c)| !c.is_whitespace()).count();
        let found = self.slice(start, end + 1 + tail);
        let (all, point) = (found.replace(',', ""), found.replace(',', "."));
        let wrong = |message: &str| Misread::new(start, end + 1 + tail, found, message);
        // `3,200 Wh` in one country are 3.2 Wh in another.
        if whole && digits == 3 && char(start) != Some('0') && end - start < 4 {
            let message = format!("thousands, or a decimal comma? Write `{all}` or `{point}`");
            return Err(wrong(&message).write(all).write(point));
        }
        if whole && (unit.starts_with('%') || self.vocabulary.unit_named(&unit).is_some()) {
            let tail = self.chars[number..].iter().take_while(|(_, c)| c.is_alphabetic()).count();
            let percent = usize::from(char(number) == Some('%'));
            return Ok(Some(number + tail.max(percent)));
        }
        let misread =
            wrong("a comma between digits: write a decimal point, or a space after a comma");
        let misread = misread.write(point);
        // Two things: something that is known stands behind the second number.
        let known = self.vocabulary.names(unit.to_lowercase().as_str());
        Err(if known { misread.write(found.replace(',', ", ")) } else { misread })
    }

    /// A decimal comma, a fraction with a sign of its own, a times sign.
    pub(super) fn tidy_number(&mut self) {
        let Some(word) = self.words.last_mut() else { return };
        for (sign, alone, behind) in FRACTIONS {
            let put = if word.low.starts_with(sign) { alone } else { behind };
            word.low = word.low.replace(sign, put);
        }
        if word.low.starts_with(|c: char| c.is_ascii_digit()) {
            word.low = word.low.replace(',', ".");
        }
        if matches!(word.low.as_str(), "×" | "*") {
            word.low = "x".to_string();
        }
    }

    pub(super) fn refuse_foreign_digits(&self, start: usize, end: usize) -> Result<(), Misread> {
        let known = |c: char| FRACTIONS.iter().any(|(sign, ..)| *sign == c);
        let foreign = |c: char| c.is_numeric() && !c.is_ascii() && !known(c);
        if self.chars[start..end].iter().any(|(_, c)| foreign(*c)) {
            let message = "digits are 0 to 9 here, like `3/4` or `20 L`";
            return Err(Misread::new(start, end, self.slice(start, end), message));
        }
        Ok(())
    }
}
