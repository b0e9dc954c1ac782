//! The fewest stops that keep every stock within its limit, as an exact search.
//!
//! The model: time is a row of *slots* (slot 0 is now, one slot a day after it). At a slot one
//! may pay a [`Visit`] to a place, which services some stocks. In each life and for each stock
//! the hour of the passage depends only on the slot of its last service, so a schedule fails in
//! the lives in which, for some stock, a service is followed by the limit before the next one.
//! Those lives are a set of bits per (stock, slot served, slot reached), and the failing lives
//! of a schedule are the union over its intervals: exact for these lives, stocks counted
//! jointly.
//!
//! Label setting over the number of stops: a label is the slot reached, each stock's last
//! service, and the lives lost so far. One label replaces another at the same slot when it costs
//! no more, every stock was served as late or later, and it lost no other lives; labels from
//! which some stock alone could no longer reach the end are cut. Both are safe, so the result is a true optimum (fewest stops, then
//! least driving, then least cost) unless [`Found::exact`] says that labels had to be dropped.

/// Sets of lives.
pub type Bits = Vec<u64>;

/// A chance to stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// Its slot, at least 1.
    pub slot: usize,
    /// The caller's number for it.
    pub key: usize,
    /// Stocks that it services, bit by bit.
    pub serves: u32,
    /// Driving that it adds, in km.
    pub km: f64,
    /// What it costs.
    pub cost: f64,
}

/// What is searched.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Slots, slot 0 and the end included.
    pub slots: usize,
    /// Number of stocks, at most 32.
    pub stocks: usize,
    /// Number of lives.
    pub lives: usize,
    /// Lives that may be lost.
    pub allowed: usize,
    /// `fails[stock][served][reached]`: lives in which the stock, served at slot `served`, meets
    /// its limit before slot `reached`; growing with `reached`. The last slot is the end.
    pub fails: Vec<Vec<Vec<Bits>>>,
    /// Chances to stop.
    pub visits: Vec<Visit>,
    /// Stocks serviced at a slot anyway, bit by bit: what is planned already.
    pub given: Vec<u32>,
}

/// A schedule.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Indices into [`Problem::visits`], in order of slots.
    pub visits: Vec<usize>,
    /// Lives lost.
    pub lost: usize,
    /// Driving, in km.
    pub km: f64,
    /// Cost.
    pub cost: f64,
    /// Whether this is the optimum for certain.
    pub exact: bool,
}

/// Most labels kept per number of stops and slot; beyond it the most promising stay and the
/// result may not be the optimum.
const MOST_LABELS: usize = 1500;

#[derive(Debug, Clone)]
struct Label {
    slot: usize,
    last: Vec<u8>,
    lost: Bits,
    count: usize,
    km: f64,
    cost: f64,
    visits: Vec<usize>,
}

/// Finds the schedule, `Ok(None)` when none keeps within the lives that may be lost.
///
/// # Errors
/// [`Cancelled`] when `cancelled` says so.
pub fn search(problem: &Problem, cancelled: &dyn Fn() -> bool) -> Result<Option<Found>, Cancelled> {
    let reach = Reach::of(problem);
    let words = problem.lives.div_ceil(64);
    let start = Label {
        slot: 0,
        last: vec![0; problem.stocks],
        lost: vec![0; words],
        count: 0,
        km: 0.0,
        cost: 0.0,
        visits: Vec::new(),
    };
    let by_slot = useful_visits(problem);
    let mut exact = true;
    let mut level = vec![start];
    for stops in 0..problem.slots {
        let mut best: Option<Label> = None;
        for label in &level {
            if let Some(end) = advanced(problem, label, problem.slots - 1)
                && best.as_ref().is_none_or(|b| (end.km, end.cost) < (b.km, b.cost))
            {
                best = Some(end);
            }
        }
        if let Some(label) = best {
            let Label { visits, count, km, cost, .. } = label;
            return Ok(Some(Found { visits, lost: count, km, cost, exact }));
        }
        let mut next: Vec<Vec<Label>> = vec![Vec::new(); problem.slots];
        for label in &level {
            if cancelled() {
                return Err(Cancelled);
            }
            extend(problem, label, &by_slot, &reach, &mut next);
        }
        for labels in &mut next {
            if labels.len() > MOST_LABELS {
                exact = false;
                labels.sort_by(|a, b| {
                    let key = |l: &Label| l.last.iter().map(|s| usize::from(*s)).sum::<usize>();
                    key(b).cmp(&key(a)).then(a.count.cmp(&b.count))
                });
                labels.truncate(MOST_LABELS);
            }
        }
        level = next.into_iter().flatten().collect();
        if level.is_empty() || stops + 1 == problem.slots {
            return Ok(None);
        }
    }
    Ok(None)
}

/// The caller gave up waiting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cancelled;

/// Visits per slot, without those that another one at the same slot makes pointless: at least
/// the same services for no more driving and cost.
fn useful_visits(problem: &Problem) -> Vec<Vec<usize>> {
    let mut by_slot: Vec<Vec<usize>> = vec![Vec::new(); problem.slots];
    for (index, visit) in problem.visits.iter().enumerate() {
        let beaten = problem.visits.iter().enumerate().any(|(other_index, other)| {
            let covers = other.slot == visit.slot
                && other.serves & visit.serves == visit.serves
                && (other.km, other.cost) <= (visit.km, visit.cost);
            let same = (other.serves, other.km, other.cost) == (visit.serves, visit.km, visit.cost);
            covers && other_index != index && (!same || other_index < index)
        });
        if !beaten && visit.serves != 0 && visit.slot + 1 < problem.slots {
            by_slot[visit.slot].push(index);
        }
    }
    by_slot
}

fn extend(
    problem: &Problem,
    label: &Label,
    by_slot: &[Vec<usize>],
    reach: &Reach,
    next: &mut [Vec<Label>],
) {
    for (slot, visits) in by_slot.iter().enumerate().skip(label.slot + 1) {
        if visits.is_empty() {
            continue;
        }
        // Lives lost only grow with the slot, so that later slots cannot do either.
        let Some(there) = advanced(problem, label, slot) else { break };
        for index in visits {
            let visit = &problem.visits[*index];
            let mut reached = there.clone();
            serve(problem, &mut reached, visit.serves, slot);
            reached.km += visit.km;
            reached.cost += visit.cost;
            reached.visits.push(*index);
            if reach.possible(&reached) {
                keep(&mut next[slot], reached);
            }
        }
    }
}

/// The label carried on to `slot`, through what is given on the way, with every open interval's
/// losses counted; `None` when too many lives are lost. Intervals stay open.
fn advanced(problem: &Problem, label: &Label, slot: usize) -> Option<Label> {
    let mut moved = label.clone();
    for between in label.slot + 1..slot {
        let given = problem.given.get(between).copied().unwrap_or(0);
        if given != 0 {
            serve(problem, &mut moved, given, between);
        }
    }
    moved.slot = slot;
    let mut all = moved.lost.clone();
    for stock in 0..problem.stocks {
        let fails = &problem.fails[stock][usize::from(moved.last[stock])][slot];
        all.iter_mut().zip(fails).for_each(|(a, f)| *a |= f);
    }
    moved.count = count(&all);
    (moved.count <= problem.allowed).then_some(moved)
}

/// Closes the intervals of the stocks served at `slot`.
fn serve(problem: &Problem, label: &mut Label, serves: u32, slot: usize) {
    let serves = serves | problem.given.get(slot).copied().unwrap_or(0);
    for stock in (0..problem.stocks).filter(|s| serves & (1 << s) != 0) {
        let fails = &problem.fails[stock][usize::from(label.last[stock])][slot];
        label.lost.iter_mut().zip(fails).for_each(|(a, f)| *a |= f);
        label.last[stock] = slot as u8;
    }
    label.slot = slot;
}

fn count(bits: &[u64]) -> usize {
    bits.iter().map(|word| word.count_ones() as usize).sum()
}

/// Adds a label unless one is as good in every way, and drops those that it replaces.
fn keep(labels: &mut Vec<Label>, new: Label) {
    let covers = |a: &Label, b: &Label| {
        (a.km, a.cost) <= (b.km, b.cost)
            && a.last.iter().zip(&b.last).all(|(x, y)| x >= y)
            && a.lost.iter().zip(&b.lost).all(|(x, y)| x & !y == 0)
    };
    if labels.iter().any(|label| covers(label, &new)) {
        return;
    }
    labels.retain(|label| !covers(&new, label));
    labels.push(new);
}

/// Whether any stock alone could still reach the end: the lower bound that cuts dead ends.
struct Reach {
    /// `dead[stock][served]`: from a service at that slot no chain of visits and given services
    /// reaches the end within the lives that may be lost.
    dead: Vec<Vec<bool>>,
}

impl Reach {
    fn of(problem: &Problem) -> Reach {
        let end = problem.slots - 1;
        let dead = (0..problem.stocks)
            .map(|stock| {
                let mut dead = vec![false; problem.slots];
                let served = |slot: usize| {
                    let given = problem.given.get(slot).copied().unwrap_or(0);
                    let mut visits = problem.visits.iter().filter(|v| v.slot == slot);
                    given & (1 << stock) != 0 || visits.any(|v| v.serves & (1 << stock) != 0)
                };
                for from in (0..end).rev() {
                    let fine =
                        |to: usize| count(&problem.fails[stock][from][to]) <= problem.allowed;
                    let onward = (from + 1..end).any(|to| fine(to) && served(to) && !dead[to]);
                    dead[from] = !fine(end) && !onward;
                }
                dead
            })
            .collect();
        Reach { dead }
    }

    fn possible(&self, label: &Label) -> bool {
        label.last.iter().enumerate().all(|(stock, last)| !self.dead[stock][usize::from(*last)])
    }
}

impl Problem {
    /// The same trip, ending at an earlier slot.
    pub fn until(&self, end: usize) -> Problem {
        let fails = self.fails.iter().map(|of| {
            of.iter().take(end).map(|to| to.iter().take(end + 1).cloned().collect()).collect()
        });
        let mut problem = Problem { fails: fails.collect(), slots: end + 1, ..self.clone() };
        problem.given.truncate(end + 1);
        problem
    }
}

/// Lives lost by a schedule.
pub fn lost(problem: &Problem, visits: &[usize]) -> usize {
    let mut bits: Bits = vec![0; problem.lives.div_ceil(64)];
    for stock in 0..problem.stocks {
        let served = |slot: &usize| {
            let given = problem.given.get(*slot).copied().unwrap_or(0);
            let paid = visits.iter().map(|v| &problem.visits[*v]).filter(|v| v.slot == *slot);
            paid.fold(given, |mask, v| mask | v.serves) & (1 << stock) != 0
        };
        let mut last = 0;
        for slot in (1..problem.slots - 1).filter(served).chain([problem.slots - 1]) {
            let fails = &problem.fails[stock][last][slot];
            bits.iter_mut().zip(fails).for_each(|(b, f)| *b |= f);
            last = slot;
        }
    }
    count(&bits)
}

/// Stocks that no chain of visits keeps within their limit, each looked at alone.
pub fn unserved(problem: &Problem, allowed: usize) -> Vec<usize> {
    let problem = Problem { allowed, ..problem.clone() };
    let reach = Reach::of(&problem);
    (0..problem.stocks).filter(|stock| reach.dead[*stock][0]).collect()
}

#[cfg(test)]
mod tests;
