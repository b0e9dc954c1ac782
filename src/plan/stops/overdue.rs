//! Where something may be at its limit before any stop can see to it. No schedule is as sure as asked
//! then, and yet one has to go: what cannot be helped is left out of the count, up to the first stops
//! that see to it, and the schedule is as sure as asked from there on.

use super::answer::Overdue;
use super::choose::Chosen;
use super::model::{TripModel, whole};
use super::problem::{Cancelled, Visit, count, join};
use crate::plan::case::Outcome;
use crate::plan::practice::FIRST_CHANCES;
use std::cell::RefCell;

/// The schedule as it was chosen where it works; else one that works from its first stops on, if
/// there is any, with what is overdue until then.
pub(super) fn excused(
    plain: TripModel<'_>,
    chosen: Chosen,
) -> (TripModel<'_>, Chosen, Option<Overdue>) {
    let overdue = if chosen.works || chosen.stopped { Vec::new() } else { plain.overdue() };
    let Some(first) = overdue.iter().filter_map(|stock| plain.first_chance(*stock)).max() else {
        return (plain, chosen, None);
    };
    for until in first..plain.problem.end().min(first + FIRST_CHANCES) {
        let model = plain.seen_to_by(&overdue, until);
        match model.choose() {
            Ok(other) if other.works => {
                let said = other
                    .found
                    .as_ref()
                    .map(|(found, share)| plain.is_overdue(overdue, &found.visits, *share));
                return (model, other, said);
            }
            Ok(_) => {}
            // Given up here, the answer stays as it was.
            Err(Cancelled) => break,
        }
    }
    (plain, chosen, None)
}

impl<'a> TripModel<'a> {
    /// Stocks without which enough lives reach a stop; none where that is so anyway. What is seen to
    /// nowhere waits for no stop, and stays in the count.
    fn overdue(&self) -> Vec<usize> {
        let first = |stock: usize| Some((stock, self.first_chance(stock)?));
        let mut all: Vec<(usize, usize)> = (0..self.problem.stocks).filter_map(first).collect();
        let lost = |(stock, first): &(usize, usize)| &self.problem.fails[*stock][0][*first];
        all.sort_by_key(|one| count(lost(one)));
        // Those that lose least stay in the count, as far as half of what may be lost goes.
        let mut union = self.problem.no_lives();
        let in_time = all.iter().take_while(|one| {
            join(&mut union, lost(one));
            count(&union) <= self.problem.allowed / 2
        });
        all[in_time.count()..].iter().map(|(stock, _)| *stock).collect()
    }

    /// The first slot at which a stock can be seen to.
    fn first_chance(&self, stock: usize) -> Option<usize> {
        let serves = |visit: &&Visit| visit.serves.has(stock);
        let visits = self.problem.visits.iter().filter(serves).map(|visit| visit.slot);
        let given = (1..self.problem.end()).filter(|slot| self.problem.given[*slot].has(stock));
        visits.chain(given).min()
    }

    /// The same trip where these stocks hold until they are seen to, which must be by a slot.
    fn seen_to_by(&self, stocks: &[usize], until: usize) -> TripModel<'a> {
        let mut model = TripModel { compared: RefCell::default(), ..self.clone() };
        let all = vec![f64::NEG_INFINITY; model.problem.lives];
        let (none, all) = (model.problem.no_lives(), model.before(1, &all));
        for stock in stocks {
            let fails = model.problem.fails[*stock][0].iter_mut().enumerate().skip(1);
            fails.for_each(|(slot, lives)| {
                lives.clone_from(if slot <= until { &none } else { &all })
            });
        }
        model.excused = whole(&self.case, 0.0, &stocks.iter().copied().collect());
        model
    }

    /// A schedule on the fresh lives with nothing left out of the count.
    pub(super) fn try_all(&self, visits: &[usize]) -> Outcome {
        self.with_drives(visits, self.asked.request.seed).limits_with(self.puts(visits))
    }

    /// What to say of these stocks beside a schedule that does from its first stops on, in such a
    /// share of the lives.
    fn is_overdue(&self, stocks: Vec<usize>, visits: &[usize], probability: f64) -> Overdue {
        // What is planned already sees to it, too.
        let done = self.problem.done(self.problem.made(visits));
        let out = |life: usize, stock: &usize| {
            let seen_to = done.iter().position(|done| done.stocks.has(*stock));
            let seen_to = seen_to.map_or(f64::INFINITY, |slot| self.hours[slot]);
            self.passages[0][*stock][life] < seen_to
        };
        let lives = 0..self.problem.lives;
        let late = lives.filter(|life| stocks.iter().any(|stock| out(*life, stock))).count();
        Overdue { stocks, chance: late as f64 / self.problem.lives as f64, probability }
    }
}
