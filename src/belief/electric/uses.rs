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
    /// The uses of the hours from `first` to before `end`. `readings` are the moments at which the
    /// store was read, in order; `size` tells how much of an activity is done in one go.
    pub fn of<R: Rng>(
        past: &Past,
        (first, end): (usize, usize),
        readings: &[Moment],
        size: impl Fn(usize) -> f64,
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
            let Some((hour, _)) = parts.first().filter(|p| (first..end).contains(&p.0)) else {
                continue;
            };
            let next = readings.partition_point(|at| *at <= span.begins);
            let divided = parts.len() > 1 && readings.get(next).is_some_and(|at| *at < span.ends);
            match divided {
                true => day.place(*hour, &parts, span, size(span.activity), draws, random),
                false => parts.iter().for_each(|(index, part)| {
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
            let before = std::mem::replace(&mut placed.rows, Vec::new());
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

    fn place<R: Rng>(
        &mut self,
        hour: usize,
        parts: &[(usize, UsedPart)],
        span: &UsedSpan,
        size: f64,
        draws: &[Draw],
        random: &mut R,
    ) {
        let pieces = (span.amount / size.max(1e-9)).round().clamp(1.0, PIECES as f64);
        let begins = self.placed.len();
        let rows = draws.len().div_ceil(LANES);
        let last = parts.last().map_or(hour, |part| part.0);
        let empty = |hour| Placed { hour, activity: span.activity, rows: vec![[0.0; LANES]; rows] };
        self.placed.extend((hour..=last).map(empty));
        for draw in 0..draws.len() {
            for _ in 0..pieces as usize {
                let mut left = random.random_range(0.0..1.0) * span.amount;
                let chosen = parts.iter().find(|(_, part)| {
                    left -= part.amount;
                    left < 0.0
                });
                let index = chosen.map_or(last, |part| part.0);
                let row = &mut self.placed[begins + index - hour].rows[draw / LANES];
                row[draw % LANES] += (span.amount / pieces) as f32;
            }
        }
    }
}
