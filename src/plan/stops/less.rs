//! Less done at the stops of a schedule that holds: one stock at a time, on the lives of its trial.

use super::model::{Puts, TripModel};
use crate::forecast::lives::OneStock;
use crate::forecast::variants::LevelChange;
use crate::plan::case::Case;

/// Most lives that it is tried on: every hour of them is kept.
const LIVES: usize = 4096;

/// A schedule, and what is done at its stops so far.
pub(super) struct Less<'a> {
    pub model: &'a TripModel<'a>,
    /// Its visits.
    pub visits: &'a [usize],
    confidence: f64,
    case: Case,
    puts: Puts,
    /// When each stock meets its limit then, `[stock][life]`.
    passages: Vec<Vec<f64>>,
    /// The stock that was tried last.
    tried: Option<(usize, OneStock)>,
}

impl<'a> Less<'a> {
    /// All that the stops do.
    pub(super) fn of(model: &'a TripModel<'a>, visits: &'a [usize]) -> Less<'a> {
        let request = model.asked.request;
        let (mut case, puts) = (model.with_drives(visits, request.seed), model.puts(visits));
        case.lives = case.lives.min(LIVES);
        let passages = case.limits_with(puts.clone()).lives.passages;
        let confidence = request.confidence;
        Less { model, visits, confidence, case, puts, passages, tried: None }
    }

    /// Whether the schedule still holds when something else is done to a stock at some visits,
    /// `(place among them, what)`; that is then kept.
    pub(super) fn holds_with(&mut self, stock: usize, other: &[(usize, LevelChange)]) -> bool {
        let mut puts = self.puts.clone();
        for (visit, put) in other {
            let hour = self.model.hour_of(self.visits[*visit]);
            let own = puts.iter_mut().find(|own| own.0 == hour && own.1 == stock);
            let Some(own) = own else { return false };
            own.2 = *put;
        }
        if self.tried.as_ref().is_none_or(|(last, _)| *last != stock) {
            self.tried = Some((stock, self.case.one_stock(stock)));
        }
        let Some((_, alone)) = &self.tried else { return false };
        let own = puts.iter().filter(|put| put.1 == stock).map(|put| (put.0, put.2));
        let before = std::mem::replace(&mut self.passages[stock], alone.passages(own.collect()));
        let until = self.case.until_hours;
        let out = |life: &usize| self.passages.iter().any(|of| of[*life] < until);
        let lost = (0..self.case.lives).filter(out).count();
        let holds = 1.0 - lost as f64 / self.case.lives as f64 >= self.confidence;
        if holds {
            self.puts = puts
        } else {
            self.passages[stock] = before
        }
        holds
    }
}
