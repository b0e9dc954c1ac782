//! A rig in the making: the questions of the first evening, one table for both fronts. Pure: texts
//! in, the text of `rig.ron` out; asking and writing are up to the caller.

mod answers_read;
mod gauges;
mod heat;
mod kinds;
pub mod parts;
mod questions;
mod rig_text;
mod sketch;
mod table;
mod zones;

use crate::store::starter::{Answers, fill_template};
use crate::store::templates::{TEMPLATES, Template};
use questions::QUESTIONS;
pub use sketch::Machine;
use sketch::Sketch;
use std::collections::BTreeMap;

/// The questions with what was answered so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    sketch: Sketch,
    /// What was typed or taken, by the matter of the question.
    given: BTreeMap<&'static str, String>,
    step: usize,
}

/// An answer that is not understood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    /// What would be: "a number from 0.5 to 50".
    pub expected: String,
    /// The same answer with a small slip mended, where that makes it right.
    pub mended: Option<String>,
}

impl Setup {
    /// Nothing answered; begins from the first template, or from a named one as it is.
    ///
    /// # Errors
    /// When the template cannot be read, which a test rules out for those built in.
    pub fn new(machine: Machine) -> Result<Setup, String> {
        let sketch = Sketch::of(&TEMPLATES[0], machine)?;
        Ok(Setup { sketch, given: BTreeMap::new(), step: 0 })
    }

    /// The text of `rig.ron` for a template as it is.
    ///
    /// # Errors
    /// As [`Setup::rig_text`].
    pub fn of_template(template: &Template) -> Result<String, Vec<String>> {
        filled(template.text, &Answers::new()).and_then(checked)
    }

    /// What is asked now, and the answer that Enter takes; `None` once all is asked.
    pub fn asked(&self) -> Option<(String, String)> {
        let question = QUESTIONS.get(self.step)?;
        Some((question.text(&self.sketch), self.offered(self.step)))
    }

    /// Every question that this van has in a word or two, with what was answered or would be taken.
    pub fn all(&self) -> Vec<(&'static str, String)> {
        let asked = (0..QUESTIONS.len()).filter(|step| self.is_asked(*step));
        asked.map(|step| (QUESTIONS[step].short, self.offered(step))).collect()
    }

    /// Whether this van has such a thing.
    fn is_asked(&self, step: usize) -> bool {
        QUESTIONS[step].offer(&self.sketch).is_some()
    }

    /// Place of what is asked now in [`Setup::all`].
    pub fn place(&self) -> usize {
        (0..self.step).filter(|step| self.is_asked(*step)).count()
    }

    /// What the answer is for.
    pub fn about(&self) -> &'static str {
        QUESTIONS.get(self.step).map_or("", |question| question.about)
    }

    /// Answers to choose from, with a remark each; none where anything can be said.
    pub fn choices(&self) -> Vec<(&'static str, &'static str)> {
        QUESTIONS.get(self.step).map_or_else(Vec::new, |question| question.choices(&self.sketch))
    }

    /// Takes an answer, or the offered one where it is blank, and goes on.
    ///
    /// # Errors
    /// What would be right; the question stays.
    pub fn answer(&mut self, typed: &str) -> Result<(), Wrong> {
        let Some(question) = QUESTIONS.get(self.step) else { return Ok(()) };
        let typed = typed.trim();
        let answer = if typed.is_empty() { self.offered(self.step) } else { typed.to_string() };
        let mut tried = self.sketch.clone();
        if let Err(expected) = question.take(&mut tried, &answer) {
            // A comma for the decimal point is mended, if Enter says so.
            let mended = answer.replace(',', ".");
            let is_right = question.take(&mut self.sketch.clone(), &mended).is_ok();
            let mended = Some(mended).filter(|mended| *mended != answer && is_right);
            return Err(Wrong { expected, mended });
        }
        self.given.insert(question.short, answer);
        self.sketch = tried;
        self.step += 1;
        while self.step < QUESTIONS.len() && !self.is_asked(self.step) {
            self.step += 1;
        }
        Ok(())
    }

    /// To the question before, which offers what was said. Whether there is one.
    pub fn back(&mut self) -> bool {
        let before = (0..self.step).rfind(|step| self.is_asked(*step));
        self.step = before.unwrap_or(0);
        before.is_some()
    }

    /// The text of `rig.ron` for what was answered.
    ///
    /// # Errors
    /// What is wrong with it, one sentence each: answers that do not go together.
    pub fn rig_text(&self) -> Result<String, Vec<String>> {
        let text = filled(&self.sketch.text, &self.sketch.answers)?;
        // What the template's head says of its van holds for another no longer.
        checked(if self.step > 0 { described_no_more(&text) } else { text })
    }

    /// What was said before if it still can be, else what this van's template suggests.
    fn offered(&self, step: usize) -> String {
        let question = &QUESTIONS[step];
        let before = self.given.get(question.short).cloned();
        let before = before.filter(|given| question.take(&mut self.sketch.clone(), given).is_ok());
        before.or_else(|| question.offer(&self.sketch)).unwrap_or_default()
    }
}

fn filled(text: &str, answers: &Answers) -> Result<String, Vec<String>> {
    fill_template(text, answers).map_err(|fault| vec![format!("the template: {fault}")])
}

/// The text, if it is a rig's.
fn checked(text: String) -> Result<String, Vec<String>> {
    rig_text::parse(&text).map(|_| text)
}

/// A rig's text with no more of its head than the last paragraph, which is about the file.
fn described_no_more(text: &str) -> String {
    let head = text.lines().take_while(|line| line.starts_with("//"));
    let last = head.enumerate().filter(|(_, line)| line.trim_end() == "//").last();
    text.split_inclusive('\n').skip(last.map_or(0, |(at, _)| at + 1)).collect()
}
