//! When logged uses fell, draw by draw.
//!
//! What was written in the evening may have been done before or after the gauge was looked at. A
//! draw therefore has hours of its own for every such use: one whose meal came after the reading
//! is not told by it that meals cost nothing.

use super::Draw;
use crate::belief::past::{Past, UsedPart, UsedSpan};
use crate::domain::time::Moment;
use crate::mechanism::climate::lanes::{LANES, Lane};
use rand::{Rng, RngExt};

/// Most pieces that one entry is cut into.
const PIECES: usize = 8;

/// How far the hours of a crew's uses may lean from what the rig file says, in log odds, and how
/// far one reading may change that. Common practice, no source.
const LEAN_MOST: f64 = 4.0;
const LEAN_STEP: f64 = 0.7;

/// How much earlier (or later, negative) than the rig's hours a crew does things, seen from when
/// it looks at its gauge: log odds that a use lies before the reading, per activity.
pub(super) struct Leanings(Vec<f64>);

impl Leanings {
    pub fn none(activities: usize) -> Leanings {
        Leanings(vec![0.0; activities])
    }

    /// Learns from the share of each activity that draws had used by a reading, and that those
    /// had which foresaw it.
    pub fn learn(&mut self, before: &[Option<f64>], after: &[Option<f64>]) {
        let odds = |share: f64| {
            let share = share.clamp(0.02, 0.98);
            (share / (1.0 - share)).ln()
        };
        for (lean, shares) in self.0.iter_mut().zip(before.iter().zip(after)) {
            if let (Some(before), Some(after)) = shares {
                let step = (odds(*after) - odds(*before)).clamp(-LEAN_STEP, LEAN_STEP);
                *lean = (*lean + step).clamp(-LEAN_MOST, LEAN_MOST);
            }
        }
    }
}

/// What a day's uses are laid out by.
pub(super) struct Manner<'a> {
    /// When the store was read, in order.
    pub readings: &'a [Moment],
    pub leanings: &'a Leanings,
    /// How much of each activity is done in one go.
    pub sizes: &'a [f64],
}

/// The logged uses of one civil day.
#[derive(Default)]
pub(super) struct DayUses {
    first: usize,
    /// By hour of the day and activity: what falls there in every draw.
    even: Vec<Vec<f64>>,
    /// What falls there in some draws only.
    pub placed: Vec<Placed>,
}

/// An amount of an activity in one hour that differs between draws.
pub(super) struct Placed {
    /// Index of the hour in the past.
    pub hour: usize,
    /// Index of the activity.
    pub activity: usize,
    /// Amounts, in rows of draws.
    pub rows: Vec<Lane>,
}

impl DayUses {
    /// The uses of the hours from `first` to before `end`.
    pub fn of<R: Rng>(
        past: &Past,
        (first, end): (usize, usize),
        manner: &Manner,
        draws: &[Draw],
        random: &mut R,
    ) -> DayUses {
        let none = vec![0.0; past.parts.activities.len()];
        let even = vec![none; end - first];
        let mut day = DayUses { first, even, placed: Vec::new() };
        let begins = past.from + chrono::Duration::hours(first as i64);
        let ends = past.from + chrono::Duration::hours(end as i64);
        let from = past.spans.partition_point(|span| span.ends < begins);
        for span in past.spans[from..].iter().take_while(|span| span.ends <= ends) {
            let parts = past.parts_of(span);
            if parts.first().is_none_or(|p| !(first..end).contains(&p.0)) {
                continue;
            }
            let next = manner.readings.partition_point(|at| *at <= span.begins);
            let read = manner.readings.get(next).filter(|at| parts.len() > 1 && **at < span.ends);
            match read {
                Some(at) => {
                    // The hour before the full one that is nearest.
                    let read = ((*at - past.from).num_minutes() + 30) / 60 - 1;
                    let lean = (-manner.leanings.0[span.activity]).exp();
                    let leaning = |(index, part): (usize, UsedPart)| {
                        let weight = part.amount * if index as i64 > read { lean } else { 1.0 };
                        (index, weight)
                    };
                    let weights = parts.into_iter().map(leaning).collect::<Vec<_>>();
                    day.place(&weights, span, manner.sizes[span.activity], draws, random);
                }
                None => parts.iter().for_each(|(index, part)| {
                    if let Some(counts) = day.even.get_mut(index - first) {
                        counts[part.activity] += part.amount;
                    }
                }),
            }
        }
        day
    }

    /// Whether draws differ in what they used before a moment and will use after it.
    pub fn divided_at(&self, hour: usize) -> bool {
        self.placed.iter().any(|placed| placed.hour > hour)
    }

    /// Gives each draw the hours of another.
    pub fn reorder(&mut self, order: &[usize]) {
        for placed in &mut self.placed {
            let before = std::mem::take(&mut placed.rows);
            placed.rows = vec![[0.0; LANES]; before.len()];
            for (to, from) in order.iter().enumerate() {
                placed.rows[to / LANES][to % LANES] = before[from / LANES][from % LANES];
            }
        }
    }

    /// What falls into an hour in every draw, by activity.
    pub fn even(&self, hour: usize) -> &[f64] {
        &self.even[hour - self.first]
    }

    /// Share of each activity that was placed up to an hour; none where nothing is placed.
    pub fn shares_by(&self, hour: usize, activities: usize) -> Vec<Option<f64>> {
        let mut sums = vec![(0.0, 0.0); activities];
        for placed in &self.placed {
            let amount: f32 = placed.rows.iter().flatten().sum();
            let sum = &mut sums[placed.activity];
            sum.0 += if placed.hour <= hour { amount } else { 0.0 };
            sum.1 += amount;
        }
        sums.into_iter().map(|(by, all)| (all > 0.0).then(|| f64::from(by / all))).collect()
    }

    /// Gives each draw hours for a use, by the weights of those hours.
    fn place<R: Rng>(
        &mut self,
        weights: &[(usize, f64)],
        span: &UsedSpan,
        size: f64,
        draws: &[Draw],
        random: &mut R,
    ) {
        let (Some(first), Some(last)) = (weights.first(), weights.last()) else { return };
        let pieces = (span.amount / size.max(1e-9)).round().clamp(1.0, PIECES as f64);
        let whole: f64 = weights.iter().map(|w| w.1).sum();
        let begins = self.placed.len();
        let rows = draws.len().div_ceil(LANES);
        let empty = |hour| Placed { hour, activity: span.activity, rows: vec![[0.0; LANES]; rows] };
        self.placed.extend((first.0..=last.0).map(empty));
        for draw in 0..draws.len() {
            for _ in 0..pieces as usize {
                let mut left = random.random_range(0.0..1.0) * whole;
                let chosen = weights.iter().find(|(_, weight)| {
                    left -= weight;
                    left < 0.0
                });
                let index = chosen.unwrap_or(last).0;
                let row = &mut self.placed[begins + index - first.0].rows[draw / LANES];
                row[draw % LANES] += (span.amount / pieces) as f32;
            }
        }
    }
}
