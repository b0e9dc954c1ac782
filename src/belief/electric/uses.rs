//! When logged uses fell, draw by draw.
//!
//! What was written in the evening may have been done before or after the gauge was looked at. A
//! draw therefore has hours of its own for every such use: one whose meal came after the reading
//! is not told by it that meals cost nothing.

use super::{DRAWS, Each};
use crate::belief::past::{Past, UsedPart, UsedSpan};
use crate::domain::time::Moment;
use rand::{Rng, RngExt};
use std::ops::RangeInclusive;

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

/// A use that each draw has hours of its own for, in pieces.
pub(super) struct Placed {
    /// Index of the activity.
    pub activity: usize,
    /// The hours of the past that a piece may lie in.
    pub hours: RangeInclusive<usize>,
    /// Amount of a piece.
    amount: f32,
    /// Per piece, how many hours after the first of them each draw has it.
    pieces: Vec<Each<u16>>,
}

impl Placed {
    /// What lies in one of its hours, in each draw.
    #[inline(always)]
    pub fn amounts(&self, hour: usize) -> Each<f32> {
        let place = (hour - self.hours.start()) as u16;
        let mut amounts = [0.0; DRAWS];
        for piece in &self.pieces {
            for (amount, own) in amounts.iter_mut().zip(piece) {
                *amount += if *own == place { self.amount } else { 0.0 };
            }
        }
        amounts
    }
}

impl DayUses {
    /// The uses of the hours from `first` to before `end`.
    pub fn of<R: Rng>(
        past: &Past,
        (first, end): (usize, usize),
        manner: &Manner,
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
                    day.place(&weights, span, manner.sizes[span.activity], random);
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
        self.placed.iter().any(|placed| *placed.hours.end() > hour)
    }

    /// Gives each draw the hours of another.
    pub fn reorder(&mut self, order: &Each<usize>) {
        for piece in self.placed.iter_mut().flat_map(|placed| &mut placed.pieces) {
            let before = *piece;
            piece.iter_mut().zip(order).for_each(|(own, from)| *own = before[*from]);
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
            let sum = &mut sums[placed.activity];
            let hours = (hour + 1).saturating_sub(*placed.hours.start());
            for piece in &placed.pieces {
                let by = piece.iter().filter(|own| usize::from(**own) < hours).count();
                sum.0 += f64::from(placed.amount) * by as f64;
                sum.1 += f64::from(placed.amount) * DRAWS as f64;
            }
        }
        sums.into_iter().map(|(by, all)| (all > 0.0).then(|| by / all)).collect()
    }

    /// Gives each draw hours for a use, by the weights of those hours.
    fn place<R: Rng>(
        &mut self,
        weights: &[(usize, f64)],
        span: &UsedSpan,
        size: f64,
        random: &mut R,
    ) {
        let (Some(first), Some(last)) = (weights.first(), weights.last()) else { return };
        let pieces = (span.amount / size.max(1e-9)).round().clamp(1.0, PIECES as f64);
        let whole: f64 = weights.iter().map(|w| w.1).sum();
        let mut placed = Placed {
            activity: span.activity,
            hours: first.0..=last.0,
            amount: (span.amount / pieces) as f32,
            pieces: vec![[0; DRAWS]; pieces as usize],
        };
        let mut left = vec![[0.0; DRAWS]; placed.pieces.len()];
        for draw in 0..DRAWS {
            for piece in &mut left {
                piece[draw] = random.random_range(0.0..1.0) * whole;
            }
        }
        for (piece, left) in placed.pieces.iter_mut().zip(&mut left) {
            // How many hours lie before the one that is reached; a count in all draws is quicker
            // than a search in each.
            for (_, weight) in weights {
                for (own, left) in piece.iter_mut().zip(&mut *left) {
                    *left -= weight;
                    *own += u16::from(*left >= 0.0);
                }
            }
            for own in piece {
                *own = (weights.get(usize::from(*own)).unwrap_or(last).0 - first.0) as u16;
            }
        }
        self.placed.push(placed);
    }
}
