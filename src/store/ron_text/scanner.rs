//! From text to nodes, in one pass and with bounded nesting.

use super::{FieldNode, Node, ScanFault, Shape, position};
use std::ops::Range;

/// Deeper nesting than any of our files needs; a bound on recursion.
const DEEPEST: usize = 32;

/// The whole text as one value, with nothing but blanks and comments around it.
pub fn scan(text: &str) -> Result<Node, ScanFault> {
    let mut scanner = Scanner { text, at: 0 };
    scanner.skip_header()?;
    let node = scanner.value(0)?;
    scanner.skip_blank()?;
    match scanner.peek() {
        None => Ok(node),
        Some(_) => Err(scanner.fault("nothing after the closing bracket")),
    }
}

/// The number of a `format` field that stands first in a file whose rest may be beyond us.
pub(in crate::store) fn leading_format(text: &str) -> Option<f64> {
    let mut scanner = Scanner { text, at: 0 };
    scanner.skip_header().ok()?;
    for part in ["(", "format", ":"] {
        scanner.at += scanner.rest().strip_prefix(part).map(|_| part.len())?;
        scanner.skip_blank().ok()?;
    }
    let start = scanner.at;
    scanner.word();
    text[start..scanner.at].parse().ok()
}

struct Scanner<'t> {
    text: &'t str,
    at: usize,
}

impl Scanner<'_> {
    fn rest(&self) -> &str {
        &self.text[self.at..]
    }

    fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    fn fault(&self, expected: impl Into<String>) -> ScanFault {
        let found = match self.peek() {
            None => "the end of the file".to_owned(),
            Some(c) if is_word(c) => self.rest().chars().take_while(|c| is_word(*c)).collect(),
            Some(c) => c.to_string(),
        };
        ScanFault { at: self.at, found, expected: expected.into() }
    }

    fn skip_blank(&mut self) -> Result<(), ScanFault> {
        loop {
            let rest = self.rest();
            let blank = rest.len() - rest.trim_start().len();
            self.at += blank;
            let rest = self.rest();
            if rest.starts_with("//") {
                self.at += rest.find('\n').unwrap_or(rest.len());
            } else if rest.starts_with("/*") {
                self.skip_block_comment()?;
            } else {
                return Ok(());
            }
        }
    }

    fn skip_block_comment(&mut self) -> Result<(), ScanFault> {
        let start = self.at;
        let mut level = 0;
        loop {
            let rest = self.rest();
            if rest.starts_with("/*") {
                (level, self.at) = (level + 1, self.at + 2);
            } else if rest.starts_with("*/") {
                (level, self.at) = (level - 1, self.at + 2);
            } else {
                let Some(c) = self.peek() else {
                    let expected = "*/ somewhere after it, to end the comment".to_owned();
                    return Err(ScanFault { at: start, found: "/*".to_owned(), expected });
                };
                self.at += c.len_utf8();
            }
            if level == 0 {
                return Ok(());
            }
        }
    }

    /// Lines such as `#![enable(implicit_some)]` at the top; RON allows them.
    fn skip_header(&mut self) -> Result<(), ScanFault> {
        loop {
            self.skip_blank()?;
            if !self.rest().starts_with("#![") {
                return Ok(());
            }
            let Some(end) = self.rest().find(']') else {
                return Err(self.fault("a line such as #![enable(implicit_some)], or nothing"));
            };
            self.at += end + 1;
        }
    }

    fn value(&mut self, depth: usize) -> Result<Node, ScanFault> {
        self.skip_blank()?;
        if depth > DEEPEST {
            return Err(self.fault("less deeply nested brackets"));
        }
        let start = self.at;
        match self.peek() {
            Some('(') => self.group(start, start..start, depth),
            Some('[') => self.list(depth),
            Some('"') => self.quoted(),
            Some('r') if self.rest().starts_with("r\"") || self.rest().starts_with("r#") => {
                self.raw_quoted()
            }
            Some(c) if is_word(c) || matches!(c, '-' | '+' | '.') => {
                self.word();
                let tag = start..self.at;
                self.skip_blank()?;
                // A number, or a stray minus, tags nothing.
                let name = &self.text[tag.clone()];
                let is_tag = name.chars().all(is_word) && !name.starts_with(char::is_numeric);
                if is_tag && self.peek() == Some('(') {
                    return self.group(start, tag, depth);
                }
                self.at = tag.end;
                Ok(Node { span: tag, shape: Shape::Word })
            }
            Some('{') => Err(self.fault("( ) around fields, [ ] around lists")),
            _ => Err(self.fault("a value: a number, a word, \"text\", ( or [")),
        }
    }

    fn word(&mut self) {
        self.skip(|c| is_word(c) || matches!(c, '-' | '+' | '.'));
    }

    fn skip(&mut self, part: impl Fn(char) -> bool) {
        self.at += self.rest().find(|c| !part(c)).unwrap_or(self.rest().len());
    }

    fn group(&mut self, start: usize, tag: Range<usize>, depth: usize) -> Result<Node, ScanFault> {
        let open = self.at;
        self.at += 1;
        let mut members = Vec::new();
        loop {
            self.skip_blank()?;
            if self.peek() == Some(')') {
                self.at += 1;
                let shape = Shape::Group { tag, members };
                return Ok(Node { span: start..self.at, shape });
            }
            members.push(self.member(open, depth)?);
            self.separator(')', open)?;
        }
    }

    fn member(&mut self, open: usize, depth: usize) -> Result<FieldNode, ScanFault> {
        if matches!(self.peek(), None | Some(']' | '}')) {
            return Err(self.unclosed(')', open));
        }
        let start = self.at;
        if self.peek().is_some_and(|c| c.is_alphabetic() || c == '_') {
            self.skip(is_word);
            let end = self.at;
            self.skip_blank()?;
            if self.peek() == Some(':') {
                self.at += 1;
                let value = self.value(depth + 1)?;
                return Ok(FieldNode { name: Some(start..end), value });
            }
            self.at = start;
        }
        Ok(FieldNode { name: None, value: self.value(depth + 1)? })
    }

    fn list(&mut self, depth: usize) -> Result<Node, ScanFault> {
        let open = self.at;
        self.at += 1;
        let mut items = Vec::new();
        loop {
            self.skip_blank()?;
            match self.peek() {
                None | Some(')' | '}') => return Err(self.unclosed(']', open)),
                Some(']') => {
                    self.at += 1;
                    return Ok(Node { span: open..self.at, shape: Shape::List(items) });
                }
                Some(_) => items.push(self.value(depth + 1)?),
            }
            self.separator(']', open)?;
        }
    }

    fn separator(&mut self, close: char, open: usize) -> Result<(), ScanFault> {
        self.skip_blank()?;
        match self.peek() {
            Some(',') => self.at += 1,
            Some(c) if c == close => {}
            None => return Err(self.unclosed(close, open)),
            Some(_) if self.text[..self.at].ends_with('"') => {
                let expected = format!("a comma or {close} (or a \" is missing before this)");
                return Err(self.fault(expected));
            }
            Some(_) => return Err(self.fault(format!("a comma or {close}"))),
        }
        Ok(())
    }

    fn unclosed(&self, close: char, open: usize) -> ScanFault {
        let (line, column) = position(self.text, open);
        self.fault(format!("{close} to close the bracket opened on line {line}, column {column}"))
    }

    fn quoted(&mut self) -> Result<Node, ScanFault> {
        let start = self.at;
        self.at += 1;
        loop {
            match self.peek() {
                None => return Err(unclosed_text(start)),
                Some('\\') => {
                    self.at += 1;
                    self.at += self.peek().map_or(0, char::len_utf8);
                }
                Some('"') => {
                    self.at += 1;
                    return self.text_node(start);
                }
                Some(c) => self.at += c.len_utf8(),
            }
        }
    }

    fn raw_quoted(&mut self) -> Result<Node, ScanFault> {
        let start = self.at;
        let hashes = self.rest()[1..].bytes().take_while(|b| *b == b'#').count();
        let body = start + 1 + hashes + 1;
        if self.text.as_bytes().get(body - 1) != Some(&b'"') {
            return Err(self.fault("a value: a number, a word, \"text\", ( or ["));
        }
        let end_mark = format!("\"{}", "#".repeat(hashes));
        match self.text[body..].find(&end_mark) {
            None => Err(unclosed_text(start)),
            Some(length) => {
                self.at = body + length + end_mark.len();
                self.text_node(start)
            }
        }
    }

    fn text_node(&self, start: usize) -> Result<Node, ScanFault> {
        let node = Node { span: start..self.at, shape: Shape::Text };
        match node.string(self.text) {
            Some(_) => Ok(node),
            None => Err(ScanFault {
                at: start,
                found: node.slice(self.text).to_owned(),
                expected: "text without stray backslashes (write \\\\ for one)".to_owned(),
            }),
        }
    }
}

fn unclosed_text(at: usize) -> ScanFault {
    let expected = "a second \" somewhere after it, to end the text".to_owned();
    ScanFault { at, found: "\"".to_owned(), expected }
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}
