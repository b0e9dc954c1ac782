//! A question that takes a while: which one is asked now, how far it is, what was answered last.

use std::sync::Arc;

/// How much of an answer there is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// More of it follows.
    Part,
    /// Nothing more comes.
    Whole,
}

/// How far a question is: so much done of so much.
pub type DoneOf = (usize, usize);

/// One question and its last answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Pending<T> {
    /// Number of the question asked last; answers with another one are dropped.
    pub generation: u64,
    /// Whether its answer is still incomplete.
    pub working: bool,
    /// How far it is, once that is known.
    pub progress: Option<DoneOf>,
    /// Whether it was given up before it was answered.
    pub stopped: bool,
    /// The answer to that question, or to an earlier one until it comes.
    pub answer: Option<Arc<T>>,
    /// Whether the answer is the one to the question as it stands.
    pub current: bool,
}

impl<T> Default for Pending<T> {
    fn default() -> Pending<T> {
        Pending {
            generation: 0,
            working: false,
            progress: None,
            stopped: false,
            answer: None,
            current: false,
        }
    }
}

impl<T> Pending<T> {
    /// It is asked anew; returns its number. An answer that is there stays, as an old one.
    pub fn begin(&mut self) -> u64 {
        let (generation, answer) = (self.generation + 1, self.answer.take());
        *self = Pending { generation, working: true, answer, ..Pending::default() };
        generation
    }

    /// An answer came, the whole of it or a part.
    pub fn answered(&mut self, generation: u64, answer: Arc<T>, extent: Extent) {
        if generation == self.generation && self.working {
            self.answer = Some(answer);
            self.current = true;
            self.progress = None;
            self.working = extent == Extent::Part;
        }
    }

    /// What there was came after the question had been given up.
    pub fn settled(&mut self, generation: u64, answer: Arc<T>) -> bool {
        let settles = generation == self.generation && self.stopped;
        if settles {
            self.answer = Some(answer);
            self.current = true;
        }
        settles
    }

    /// It got further.
    pub(super) fn progressed(&mut self, generation: u64, progress: DoneOf) {
        if generation == self.generation && self.working {
            // Workers report from several threads: a late report is no step back.
            self.progress = self.progress.max(Some(progress));
        }
    }

    /// Nobody waits for it any more. Whether anybody did.
    pub fn stop(&mut self) -> bool {
        let worked = std::mem::take(&mut self.working);
        self.stopped |= worked;
        worked
    }

    /// What it was asked of has changed.
    pub(super) fn outdate(&mut self) {
        self.current = false;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_newest_question_is_answered_and_none_after_it_was_stopped() {
        let mut asked = Pending::default();
        let (first, second) = (asked.begin(), asked.begin());
        asked.answered(first, Arc::new(1), Extent::Whole);
        assert!(asked.working && asked.answer.is_none());
        asked.progressed(second, (3, 9));
        asked.progressed(second, (2, 9));
        asked.progressed(first, (8, 9));
        assert_eq!(asked.progress, Some((3, 9)));
        asked.answered(second, Arc::new(2), Extent::Part);
        assert!(asked.working && asked.current);
        asked.answered(second, Arc::new(3), Extent::Whole);
        assert!(!asked.working && asked.answer == Some(Arc::new(3)));
        let third = asked.begin();
        assert!(!asked.current && asked.answer.is_some() && asked.progress.is_none());
        assert!(asked.stop() && !asked.stop() && asked.stopped);
        asked.answered(third, Arc::new(4), Extent::Whole);
        assert_eq!(asked.answer, Some(Arc::new(3)));
        // What there was until then is welcome all the same, once; not so after another question.
        assert!(asked.settled(third, Arc::new(5)) && asked.current);
        asked.begin();
        assert!(!asked.settled(third, Arc::new(6)));
        assert_eq!(asked.answer, Some(Arc::new(5)));
    }
}
