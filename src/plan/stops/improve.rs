//! A schedule with a given number of stops that loses as few lives as can be found, and then
//! drives as little: a beam of labels, then one stop after another put where it is best.
//!
//! Nothing here proves anything; what is found is judged on all lives, and [`super::bound`] says
//! how far from the optimum it can be.

use super::search::{Bits, Cancelled, Found, Problem, cost, count, useful_visits};

/// Labels kept per number of stops and slot.
const WIDTH: usize = 48;
/// Rounds of putting every stop anew.
const ROUNDS: usize = 12;

/// A schedule under way.
#[derive(Clone)]
struct Label {
    last: Vec<u16>,
    lost: Bits,
    /// Lives lost so far, open intervals included.
    count: usize,
    km: f64,
    visits: Vec<usize>,
}

/// Judges whole schedules, a visit per slot at most.
pub struct Judge<'a> {
    problem: &'a Problem,
    useful: Vec<Vec<usize>>,
}

impl<'a> Judge<'a> {
    /// Prepares what every judgement needs.
    pub fn of(problem: &'a Problem) -> Judge<'a> {
        Judge { problem, useful: useful_visits(problem) }
    }

    /// Lives lost by services at each slot, bit by bit.
    fn lost(&self, serves: &[u32], bits: &mut Bits) -> usize {
        bits.iter_mut().for_each(|word| *word = 0);
        let end = self.problem.slots - 1;
        for stock in 0..self.problem.stocks {
            let mut last = 0;
            for (slot, serves) in serves.iter().enumerate().take(end).skip(1) {
                if serves >> stock & 1 == 1 {
                    join(bits, &self.problem.fails[stock][last][slot]);
                    last = slot;
                }
            }
            join(bits, &self.problem.fails[stock][last][end]);
        }
        count(bits)
    }

    fn serves(&self, visits: &[usize]) -> Vec<u32> {
        let mut serves = self.problem.given.clone();
        serves.resize(self.problem.slots, 0);
        for visit in visits {
            serves[self.problem.visits[*visit].slot] |= self.problem.visits[*visit].serves;
        }
        serves
    }

    /// Driving, then cost.
    fn price(&self, visits: &[usize]) -> (f64, f64) {
        let km = visits.iter().map(|visit| self.problem.visits[*visit].km).sum();
        let mut sorted = visits.to_vec();
        sorted.sort_unstable_by_key(|visit| self.problem.visits[*visit].slot);
        (km, cost(self.problem, &sorted))
    }

    /// A schedule with what it drives and costs.
    pub fn found(&self, visits: Vec<usize>, lost: usize) -> Found {
        let (km, cost) = self.price(&visits);
        Found { visits, lost, km, cost, exact: false }
    }

    /// Puts one stop after another where the fewest lives are lost (or, once few enough are,
    /// where there is least driving and cost), until that helps no more. Lives lost.
    pub fn settle(&self, visits: &mut [usize]) -> usize {
        let mut bits: Bits = vec![0; self.problem.lives.div_ceil(64)];
        let mut serves = self.serves(visits);
        let mut best = (self.lost(&serves, &mut bits), self.price(visits));
        let allowed = self.problem.allowed;
        let key = |(lost, price): (usize, (f64, f64))| (lost.max(allowed), price);
        for _ in 0..ROUNDS {
            let mut moved = false;
            for n in 0..visits.len() {
                let here = self.problem.visits[visits[n]].slot;
                let taken: Vec<usize> =
                    visits.iter().map(|v| self.problem.visits[*v].slot).collect();
                let free = |slot: &usize| *slot == here || !taken.contains(slot);
                let given = |slot: usize| self.problem.given.get(slot).copied().unwrap_or(0);
                serves[here] = given(here);
                let mut chosen = visits[n];
                for slot in (1..self.problem.slots - 1).filter(free) {
                    for visit in &self.useful[slot] {
                        let before = std::mem::replace(&mut visits[n], *visit);
                        serves[slot] = given(slot) | self.problem.visits[*visit].serves;
                        let lost = self.lost(&serves, &mut bits);
                        serves[slot] = given(slot);
                        if lost.max(allowed) <= best.0.max(allowed) {
                            let this = (lost, self.price(visits));
                            if key(this) < key(best) {
                                (best, chosen, moved) = (this, *visit, true);
                            }
                        }
                        visits[n] = before;
                    }
                }
                visits[n] = chosen;
                let visit = &self.problem.visits[chosen];
                serves[visit.slot] = given(visit.slot) | visit.serves;
            }
            if !moved {
                break;
            }
        }
        visits.sort_by_key(|visit| self.problem.visits[*visit].slot);
        best.0
    }

    /// A schedule of at most `most` stops that loses few lives, over labels of which `needed`,
    /// told each stock's last service, says that the stops left can do; `None` when none reaches
    /// the end.
    ///
    /// # Errors
    /// [`Cancelled`] when `cancelled` says so.
    pub fn beam(
        &self,
        most: usize,
        needed: &dyn Fn(&[u16]) -> usize,
        cancelled: &dyn Fn() -> bool,
    ) -> Result<Option<Vec<usize>>, Cancelled> {
        let problem = self.problem;
        let words = problem.lives.div_ceil(64);
        let start = Label {
            last: vec![0; problem.stocks],
            lost: vec![0; words],
            count: 0,
            km: 0.0,
            visits: Vec::new(),
        };
        let mut levels: Vec<Vec<Label>> = vec![Vec::new(); problem.slots];
        levels[0].push(start);
        let mut best: Option<Label> = None;
        for made in 0..=most {
            for (slot, label) in
                levels.iter().enumerate().flat_map(|(s, l)| l.iter().map(move |l| (s, l)))
            {
                let ended = self.advanced(label, slot, problem.slots - 1);
                if best.as_ref().is_none_or(|b| (ended.count, ended.km) < (b.count, b.km)) {
                    best = Some(ended);
                }
            }
            if made == most {
                break;
            }
            let mut next: Vec<Vec<Label>> = vec![Vec::new(); problem.slots];
            for (from, labels) in levels.iter().enumerate() {
                if cancelled() {
                    return Err(Cancelled);
                }
                for label in labels {
                    self.extend(label, from, most - made - 1, needed, &mut next);
                }
            }
            next.iter_mut().for_each(narrow);
            levels = next;
        }
        Ok(best.map(|label| label.visits))
    }

    fn extend(
        &self,
        label: &Label,
        from: usize,
        left: usize,
        needed: &dyn Fn(&[u16]) -> usize,
        next: &mut [Vec<Label>],
    ) {
        let problem = self.problem;
        for (slot, labels) in next.iter_mut().enumerate().take(problem.slots - 1).skip(from + 1) {
            let there = self.advanced(label, from, slot);
            if there.count > 2 * problem.allowed + problem.lives / 16 {
                break;
            }
            for index in &self.useful[slot] {
                let visit = &problem.visits[*index];
                let given = problem.given.get(slot).copied().unwrap_or(0);
                let mut reached = there.clone();
                self.serve(&mut reached, label, visit.serves | given, slot);
                if needed(&reached.last) <= left {
                    reached.km += visit.km;
                    reached.visits.push(*index);
                    labels.push(reached);
                }
            }
            if labels.len() > 8 * WIDTH {
                narrow(labels);
            }
        }
    }

    /// A label at a later slot: what is given on the way, and its lives lost with all intervals
    /// counted up to there (the intervals stay open).
    fn advanced(&self, label: &Label, from: usize, slot: usize) -> Label {
        let mut moved = label.clone();
        for between in from + 1..slot {
            let given = self.problem.given.get(between).copied().unwrap_or(0);
            if given != 0 {
                let before = moved.clone();
                self.serve(&mut moved, &before, given, between);
            }
        }
        let mut all = moved.lost.clone();
        for (stock, last) in moved.last.iter().enumerate() {
            join(&mut all, &self.problem.fails[stock][usize::from(*last)][slot]);
        }
        moved.count = count(&all);
        moved
    }

    fn serve(&self, label: &mut Label, before: &Label, mask: u32, slot: usize) {
        for stock in (0..self.problem.stocks).filter(|stock| mask >> stock & 1 == 1) {
            let from = usize::from(label.last[stock].max(before.last[stock]));
            join(&mut label.lost, &self.problem.fails[stock][from][slot]);
            label.last[stock] = slot as u16;
        }
    }
}

/// Keeps the labels with the fewest lives lost, each with other services.
fn narrow(labels: &mut Vec<Label>) {
    labels.sort_by(|a, b| a.count.cmp(&b.count).then(a.km.total_cmp(&b.km)));
    let mut seen: Vec<Vec<u16>> = Vec::new();
    labels.retain(|label| {
        let new = !seen.iter().any(|last| last.iter().zip(&label.last).all(|(a, b)| a >= b));
        if new && seen.len() < WIDTH {
            seen.push(label.last.clone());
        }
        new && seen.len() <= WIDTH
    });
    labels.truncate(WIDTH);
}

fn join(bits: &mut [u64], more: &[u64]) {
    bits.iter_mut().zip(more).for_each(|(bits, more)| *bits |= more);
}
