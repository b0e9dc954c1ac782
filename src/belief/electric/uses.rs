//! When logged uses fell, member by member.
//!
//! What was written in the evening may have been done before or after the gauge was looked at. A
//! member therefore has hours of its own for every such use: one whose meal came after the
//! reading is not told by it that meals cost nothing.

use super::members::{MEMBERS, PerMember};
use crate::belief::past::{Past, UsedPart, UsedSpan};
use crate::belief::practice::{MOST_PIECES, TIMING_BIAS_MOST, TIMING_BIAS_STEP};
use crate::domain::Moment;
use rand::{Rng, RngExt};
use std::ops::RangeInclusive;

/// How much earlier than the rig's hours (or later: negative) a crew does things, seen from when
/// it looks at its gauge: log odds that a use lies before the reading, per activity.
pub(super) struct TimingBias(Vec<f64>);

impl TimingBias {
    pub fn none(activities: usize) -> TimingBias {
        TimingBias(vec![0.0; activities])
    }

    /// Learns from a resampling: per activity, the share that was used by a reading in all
    /// members, and in those that foresaw it.
    pub fn learn(&mut self, before: &[Option<f64>], after: &[Option<f64>]) {
        let odds = |share: f64| {
            let share = share.clamp(0.02, 0.98);
            (share / (1.0 - share)).ln()
        };
        for (bias, shares) in self.0.iter_mut().zip(before.iter().zip(after)) {
            if let (Some(before), Some(after)) = shares {
                let step = odds(*after) - odds(*before);
                let step = step.clamp(-TIMING_BIAS_STEP, TIMING_BIAS_STEP);
                *bias = (*bias + step).clamp(-TIMING_BIAS_MOST, TIMING_BIAS_MOST);
            }
        }
    }
}

/// What a day's uses are placed by.
pub(super) struct UsePlacement<'a> {
    /// When the store was read, in order.
    pub readings: &'a [Moment],
    pub timing: &'a TimingBias,
    /// How much of each activity is done in one go.
    pub sizes: &'a [f64],
}

/// The logged uses of one civil day.
#[derive(Default)]
pub(super) struct DayUses {
    first: usize,
    /// By hour of the day and activity: what falls there in every member.
    shared: Vec<Vec<f64>>,
    /// What falls there in some members only.
    pub placed: Vec<PlacedUse>,
}

/// A use that each member has hours of its own for, in pieces.
pub(super) struct PlacedUse {
    /// Index of the activity.
    pub activity: usize,
    /// The hours of the past that a piece may lie in.
    pub hours: RangeInclusive<usize>,
    /// Amount of a piece.
    amount: f32,
    /// Per piece, how many hours after the first of them each member has it.
    pieces: Vec<PerMember<u16>>,
}

impl PlacedUse {
    /// Amount that lies in one of its hours, in each member.
    #[inline(always)]
    pub fn amounts(&self, hour: usize) -> PerMember<f32> {
        let place = (hour - self.hours.start()) as u16;
        let mut amounts = [0.0; MEMBERS];
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
        placement: &UsePlacement,
        random: &mut R,
    ) -> DayUses {
        let none = vec![0.0; past.parts.activities.len()];
        let mut day = DayUses { first, shared: vec![none; end - first], placed: Vec::new() };
        let begins = past.from + chrono::Duration::hours(first as i64);
        let ends = past.from + chrono::Duration::hours(end as i64);
        let from = past.uses.spans.partition_point(|span| span.ends < begins);
        for span in past.uses.spans[from..].iter().take_while(|span| span.ends <= ends) {
            let parts = &span.parts;
            if parts.first().is_none_or(|p| !(first..end).contains(&p.0)) {
                continue;
            }
            let next = placement.readings.partition_point(|at| *at <= span.begins);
            let read = placement.readings.get(next);
            match read.filter(|at| parts.len() > 1 && **at < span.ends) {
                Some(at) => {
                    // The hour before the full one that is nearest.
                    let read = ((*at - past.from).num_minutes() + 30) / 60 - 1;
                    let later = (-placement.timing.0[span.activity]).exp();
                    let weigh = |(index, part): &(usize, UsedPart)| {
                        (*index, part.amount * if *index as i64 > read { later } else { 1.0 })
                    };
                    let weights: Vec<_> = parts.iter().map(weigh).collect();
                    day.place(&weights, span, placement.sizes[span.activity], random);
                }
                None => parts.iter().for_each(|(index, part)| {
                    if let Some(amounts) = day.shared.get_mut(index - first) {
                        amounts[part.activity] += part.amount;
                    }
                }),
            }
        }
        day
    }

    /// Whether members differ in what they used up to an hour and will use after it.
    pub(super) fn divided_at(&self, hour: usize) -> bool {
        self.placed.iter().any(|placed| *placed.hours.end() > hour)
    }

    /// Gives each member the hours of its ancestor.
    pub(super) fn apply_ancestors(&mut self, ancestors: &PerMember<usize>) {
        for piece in self.placed.iter_mut().flat_map(|placed| &mut placed.pieces) {
            let before = *piece;
            piece.iter_mut().zip(ancestors).for_each(|(own, from)| *own = before[*from]);
        }
    }

    /// Amounts that fall into an hour in every member, by activity.
    pub fn shared(&self, hour: usize) -> &[f64] {
        &self.shared[hour - self.first]
    }

    /// Share of each activity that was placed up to an hour; none where nothing is placed.
    pub(super) fn shares_by(&self, hour: usize, activities: usize) -> Vec<Option<f64>> {
        let mut sums = vec![(0.0, 0.0); activities];
        for placed in &self.placed {
            let sum = &mut sums[placed.activity];
            let hours = (hour + 1).saturating_sub(*placed.hours.start());
            for piece in &placed.pieces {
                let by = piece.iter().filter(|own| usize::from(**own) < hours).count();
                sum.0 += f64::from(placed.amount) * by as f64;
                sum.1 += f64::from(placed.amount) * MEMBERS as f64;
            }
        }
        sums.into_iter().map(|(by, all)| (all > 0.0).then(|| by / all)).collect()
    }

    /// Gives each member hours for a use, by the weights of those hours.
    fn place<R: Rng>(
        &mut self,
        weights: &[(usize, f64)],
        span: &UsedSpan,
        size: f64,
        random: &mut R,
    ) {
        let (Some(first), Some(last)) = (weights.first(), weights.last()) else { return };
        let pieces = (span.amount / size.max(1e-9)).round().clamp(1.0, MOST_PIECES);
        let whole: f64 = weights.iter().map(|w| w.1).sum();
        let mut placed = PlacedUse {
            activity: span.activity,
            hours: first.0..=last.0,
            amount: (span.amount / pieces) as f32,
            pieces: vec![[0; MEMBERS]; pieces as usize],
        };
        let mut left = vec![[0.0; MEMBERS]; placed.pieces.len()];
        for member in 0..MEMBERS {
            for piece in &mut left {
                piece[member] = random.random_range(0.0..1.0) * whole;
            }
        }
        for (piece, left) in placed.pieces.iter_mut().zip(&mut left) {
            // How many hours lie before the one that is reached; a count in all members is
            // quicker than a search in each.
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
