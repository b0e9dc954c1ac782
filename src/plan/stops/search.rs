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
//! which some stock alone could no longer reach the end, or not in so few stops, are cut. Both are safe, so the result is a true optimum (fewest stops, then
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
    /// What it costs, whatever is taken.
    pub cost: f64,
    /// What a unit of some of the stocks that it services costs: `(stock, price)`, at least 0.
    pub prices: Vec<(usize, f64)>,
}

impl Visit {
    /// Whether no unit costs more here than there, whatever is needed.
    fn is_no_dearer(&self, than: &Visit) -> bool {
        self.prices.iter().all(|(stock, price)| {
            than.prices.iter().any(|(other, dearer)| other == stock && price <= dearer)
        })
    }
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
    /// What is expected to be used up to each slot, on top of what a service would bring at slot
    /// 0: `[stock][slot]`; empty where nothing has a price.
    pub used: Vec<Vec<f64>>,
}

impl Problem {
    /// What a visit costs when each stock was last serviced at these slots.
    pub fn bill(&self, visit: &Visit, last: impl Fn(usize) -> usize) -> f64 {
        let given = self.given.get(visit.slot).copied().unwrap_or(0);
        let units = visit.prices.iter().filter(|(stock, _)| given >> stock & 1 == 0);
        let units = units.map(|(stock, price)| {
            let Some(used) = self.used.get(*stock) else { return 0.0 };
            let from = last(*stock);
            // Slot 0 is now, when nothing is serviced yet.
            let before = if from == 0 { 0.0 } else { used[from] };
            price * (used[visit.slot] - before).max(0.0)
        });
        visit.cost + units.sum::<f64>()
    }

    /// Stocks that have a price anywhere, bit by bit.
    fn priced(&self) -> u32 {
        let prices = self.visits.iter().flat_map(|visit| &visit.prices);
        prices.fold(0, |mask, (stock, _)| mask | 1 << stock)
    }
}

/// What a schedule, in order of slots, costs.
pub fn cost(problem: &Problem, visits: &[usize]) -> f64 {
    let mut last = vec![0; problem.stocks];
    let mut next = visits.iter().map(|visit| &problem.visits[*visit]).peekable();
    let mut sum = 0.0;
    for slot in 1..problem.slots {
        let mut serves = problem.given.get(slot).copied().unwrap_or(0);
        while let Some(visit) = next.next_if(|visit| visit.slot <= slot) {
            sum += problem.bill(visit, |stock| last[stock]);
            serves |= visit.serves;
        }
        for (stock, last) in last.iter_mut().enumerate() {
            if serves >> stock & 1 == 1 {
                *last = slot;
            }
        }
    }
    sum
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
const MOST_LABELS: usize = 4000;
/// The same for the quick first pass, whose number of stops is the most that is looked for.
const QUICK_LABELS: usize = 24;
/// Comparisons of labels after which the search settles for what the first pass found.
const MOST_WORK: u64 = 12_000_000;

#[derive(Debug, Clone)]
struct Label {
    slot: usize,
    last: Vec<u16>,
    lost: Bits,
    count: usize,
    km: f64,
    cost: f64,
    visits: Vec<usize>,
}

/// Finds the schedule, `Ok(None)` when none keeps within the lives that may be lost.
///
/// A quick pass over few labels finds some schedule; the full pass then looks for one with no
/// more stops. Where the full pass takes too long, the first one's schedule is the answer, with
/// [`Found::exact`] false.
///
/// # Errors
/// [`Cancelled`] when `watch` says so.
pub fn search(problem: &Problem, watch: &dyn Watch) -> Result<Option<Found>, Cancelled> {
    let mut pass = Pass {
        problem,
        reach: Reach::of(problem),
        by_slot: useful_visits(problem),
        priced: problem.priced(),
        watch,
        most_stops: usize::MAX,
        most_labels: QUICK_LABELS,
        work: 0,
        complete: true,
    };
    let quick = pass.run()?;
    quick.iter().for_each(|found| watch.found(found));
    if pass.complete {
        return Ok(quick);
    }
    pass.most_stops = quick.as_ref().map_or(usize::MAX, |found| found.visits.len());
    pass.most_labels = MOST_LABELS;
    (pass.work, pass.complete) = (0, true);
    let full = pass.run()?;
    let better =
        |a: &Found, b: &Found| (a.visits.len(), a.km, a.cost) <= (b.visits.len(), b.km, b.cost);
    let best = match (full, quick) {
        (Some(full), Some(quick)) if !better(&full, &quick) => Some(quick),
        (Some(full), _) => Some(full),
        (None, quick) => quick,
    };
    best.iter().for_each(|found| watch.found(found));
    Ok(best)
}

/// Looks on while a search is at it.
pub trait Watch {
    /// Whether nobody waits any more; asked again and again.
    fn cancelled(&self) -> bool;

    /// A schedule was found, perhaps not the best.
    fn found(&self, _found: &Found) {}

    /// No schedule has fewer stops.
    fn least(&self, _stops: usize) {}
}

impl<F: Fn() -> bool> Watch for F {
    fn cancelled(&self) -> bool {
        self()
    }
}

/// One pass of label setting.
struct Pass<'a> {
    problem: &'a Problem,
    reach: Reach,
    by_slot: Vec<Vec<usize>>,
    priced: u32,
    watch: &'a dyn Watch,
    /// More stops than this are not looked for.
    most_stops: usize,
    most_labels: usize,
    work: u64,
    /// Whether nothing was dropped.
    complete: bool,
}

impl Pass<'_> {
    fn run(&mut self) -> Result<Option<Found>, Cancelled> {
        let problem = self.problem;
        let mut level = vec![Label {
            slot: 0,
            last: vec![0; problem.stocks],
            lost: vec![0; problem.lives.div_ceil(64)],
            count: 0,
            km: 0.0,
            cost: 0.0,
            visits: Vec::new(),
        }];
        for _ in 0..problem.slots {
            if let Some(end) = best_end(problem, &level) {
                let Label { visits, count, km, cost, .. } = end;
                let exact = self.complete;
                return Ok(Some(Found { visits, lost: count, km, cost, exact }));
            }
            let mut next: Vec<Vec<Label>> = vec![Vec::new(); problem.slots];
            for label in &level {
                if self.watch.cancelled() {
                    return Err(Cancelled);
                }
                self.extend(label, &mut next);
                if self.work > MOST_WORK {
                    self.complete = false;
                    return Ok(None);
                }
            }
            for labels in &mut next {
                if labels.len() > self.most_labels {
                    self.complete = false;
                    labels.sort_by(|a, b| {
                        let key = |l: &Label| l.last.iter().map(|s| usize::from(*s)).sum::<usize>();
                        key(b).cmp(&key(a)).then(a.count.cmp(&b.count))
                    });
                    labels.truncate(self.most_labels);
                }
            }
            level = next.into_iter().flatten().collect();
        }
        Ok(None)
    }

    fn extend(&mut self, label: &Label, next: &mut [Vec<Label>]) {
        let problem = self.problem;
        for (slot, labels) in next.iter_mut().enumerate().skip(label.slot + 1) {
            if self.by_slot[slot].is_empty() {
                continue;
            }
            // Lives lost only grow with the slot, so that later slots cannot do either.
            let Some(there) = advanced(problem, label, slot) else { break };
            for index in &self.by_slot[slot] {
                let visit = &problem.visits[*index];
                let mut reached = there.clone();
                reached.cost += problem.bill(visit, |stock| usize::from(there.last[stock]));
                serve(problem, &mut reached, visit.serves, slot);
                reached.km += visit.km;
                reached.visits.push(*index);
                let needed = self.reach.needed(&reached);
                if needed != usize::MAX && reached.visits.len() + needed <= self.most_stops {
                    self.work += labels.len() as u64 + 1;
                    keep(problem, self.priced, labels, reached);
                }
            }
        }
    }
}

/// The label that reaches the end with least driving and cost, if any does.
fn best_end(problem: &Problem, level: &[Label]) -> Option<Label> {
    let ends = level.iter().filter_map(|label| advanced(problem, label, problem.slots - 1));
    ends.min_by(|a, b| a.km.total_cmp(&b.km).then(a.cost.total_cmp(&b.cost)))
}

/// The caller gave up waiting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cancelled;

/// Visits per slot, without those that another one at the same slot makes pointless: at least
/// the same services for no more driving and cost.
pub fn useful_visits(problem: &Problem) -> Vec<Vec<usize>> {
    let mut by_slot: Vec<Vec<usize>> = vec![Vec::new(); problem.slots];
    for (index, visit) in problem.visits.iter().enumerate() {
        let beaten = problem.visits.iter().enumerate().any(|(other_index, other)| {
            let covers = other.slot == visit.slot
                && other.serves & visit.serves == visit.serves
                && (other.km <= visit.km && other.cost <= visit.cost)
                && other.is_no_dearer(visit);
            let same = (other.serves, other.km, other.cost) == (visit.serves, visit.km, visit.cost)
                && visit.is_no_dearer(other);
            covers && other_index != index && (!same || other_index < index)
        });
        if !beaten && visit.serves != 0 && visit.slot + 1 < problem.slots {
            by_slot[visit.slot].push(index);
        }
    }
    by_slot
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
        label.last[stock] = slot as u16;
    }
    label.slot = slot;
}

/// Number of lives in a set.
pub fn count(bits: &[u64]) -> usize {
    bits.iter().map(|word| word.count_ones() as usize).sum()
}

/// Adds a label unless one is as good in every way, and drops those that it replaces.
fn keep(problem: &Problem, priced: u32, labels: &mut Vec<Label>, new: Label) {
    let end = problem.slots - 1;
    let safe = |a: &Label, b: &Label, stock: usize| {
        let (x, y) = (usize::from(a.last[stock]), usize::from(b.last[stock]));
        // Served as late or later, or served late enough for the whole trip (which may cost more
        // when it is filled up all the same).
        x >= y
            || priced >> stock & 1 == 0
                && problem.fails[stock][x][end].iter().all(|bits| *bits == 0)
    };
    let covers = |a: &Label, b: &Label| {
        (a.km < b.km || a.km == b.km && a.cost <= b.cost)
            && a.lost.iter().zip(&b.lost).all(|(x, y)| x & !y == 0)
            && (0..problem.stocks).all(|stock| safe(a, b, stock))
    };
    if labels.iter().any(|label| covers(label, &new)) {
        return;
    }
    labels.retain(|label| !covers(&new, label));
    labels.push(new);
}

/// How many stops each stock alone still needs: the lower bound that cuts dead ends and
/// schedules with too many stops.
struct Reach {
    /// `need[stock][served]`: the fewest further visits to the end from a service at that slot;
    /// `usize::MAX` when no chain of visits and given services gets there within the lives that
    /// may be lost.
    need: Vec<Vec<usize>>,
}

impl Reach {
    fn of(problem: &Problem) -> Reach {
        let end = problem.slots - 1;
        let of_stock = |stock: usize| {
            let mut need = vec![0; problem.slots];
            let price = |slot: usize| {
                let given = problem.given.get(slot).copied().unwrap_or(0);
                let mut visits = problem.visits.iter().filter(|v| v.slot == slot);
                match given & (1 << stock) != 0 {
                    true => Some(0),
                    false => visits.any(|v| v.serves & (1 << stock) != 0).then_some(1),
                }
            };
            let prices: Vec<Option<usize>> = (0..problem.slots).map(price).collect();
            for from in (0..end).rev() {
                let fine = |to: usize| count(&problem.fails[stock][from][to]) <= problem.allowed;
                let onward = |to: usize| prices[to].map(|p: usize| p.saturating_add(need[to]));
                let least = (from + 1..end).filter(|to| fine(*to)).filter_map(onward).min();
                need[from] = if fine(end) { 0 } else { least.unwrap_or(usize::MAX) };
            }
            need
        };
        Reach { need: (0..problem.stocks).map(of_stock).collect() }
    }

    fn needed(&self, label: &Label) -> usize {
        let of = label.last.iter().enumerate();
        of.map(|(stock, last)| self.need[stock][usize::from(*last)]).max().unwrap_or(0)
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
    let served = visits.iter().map(|visit| &problem.visits[*visit]);
    let served: Vec<(usize, u32)> = served.map(|visit| (visit.slot, visit.serves)).collect();
    lost_serving(problem, &served)
}

/// Lives lost by services at slots, bit by bit: `(slot, stocks)`.
pub fn lost_serving(problem: &Problem, visits: &[(usize, u32)]) -> usize {
    let mut bits: Bits = vec![0; problem.lives.div_ceil(64)];
    for stock in 0..problem.stocks {
        let served = |slot: &usize| {
            let given = problem.given.get(*slot).copied().unwrap_or(0);
            let paid = visits.iter().filter(|(at, _)| at == slot);
            paid.fold(given, |mask, (_, serves)| mask | serves) & (1 << stock) != 0
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
    (0..problem.stocks).filter(|stock| reach.need[*stock][0] == usize::MAX).collect()
}

#[cfg(test)]
mod tests;
