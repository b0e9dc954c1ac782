//! A habit's own clock: its cumulative intensity.

use super::grid::DRAWN_HOURS;
use std::ops::Range;

/// A habit's own clock, the cumulative intensity of its process: how many occurrences to expect, at a rate of 1, up to each hour. Hours
/// in which it cannot occur do not exist on it; the others are its slots.
pub(super) struct CumulativeIntensity {
    /// Per slot: its hour and that hour's block among those drawn together, and the clock's
    /// reading at its end.
    places: Vec<(u8, u8)>,
    upto: Vec<f64>,
    /// Per hour of the horizon, and its end: the first slot that is no earlier.
    from: Vec<u32>,
    /// Per even step of the clock, the slot that it begins in. Steps are no longer than any slot
    /// where their number allows that, and hold the end of one slot at most.
    steps: Vec<u32>,
    steps_per_unit: f64,
    /// Whether a step may hold the ends of several slots.
    coarse: bool,
}

/// Most steps of a clock: more would not stay near the processor. Steps as short as slots find a
/// slot without a search, whose end the processor guesses wrong every other time.
const MOST_STEPS: f64 = 16_384.0;
/// Added to a number from 0 to 2^51, leaves it rounded to a whole one in the lower bits: cheaper
/// than a conversion that minds every other number.
const WHOLE: f64 = 4_503_599_627_370_496.0;

impl CumulativeIntensity {
    /// The clock of these exposures by the hour, in blocks of `step` hours.
    pub(super) fn of(exposures: impl Iterator<Item = f64>, step: usize) -> CumulativeIntensity {
        let (mut places, mut upto, mut from) = (Vec::new(), Vec::new(), vec![0]);
        let (mut reached, mut least) = (0.0, f64::INFINITY);
        for (hour, exposure) in exposures.enumerate() {
            if exposure > 0.0 {
                reached += exposure;
                least = least.min(exposure);
                let within = hour % DRAWN_HOURS;
                places.push((within as u8, (within / step) as u8));
                upto.push(reached);
            }
            from.push(upto.len() as u32);
        }
        let wanted = if reached > 0.0 { 1.01 * reached / least } else { 0.0 };
        let count = wanted.min(MOST_STEPS).ceil();
        let steps_per_unit = count / f64::max(reached, f64::MIN_POSITIVE);
        // A step reaches half of itself to both sides of its number, and a little farther, so
        // that rounding cannot lead to a slot behind the right one.
        let begins = |step: usize| (step as f64 - 0.5 - 1e-6) / steps_per_unit;
        let (mut steps, mut slot) = (Vec::new(), 0);
        for step in 0..=count as usize {
            while slot + 1 < upto.len() && upto[slot] < begins(step) {
                slot += 1;
            }
            steps.push(slot as u32);
        }
        CumulativeIntensity {
            places,
            upto,
            from,
            steps,
            steps_per_unit,
            coarse: wanted > MOST_STEPS,
        }
    }

    /// The slots within a range of hours.
    #[inline(always)]
    pub(super) fn slots(&self, hours: &Range<usize>) -> Range<usize> {
        self.from[hours.start] as usize..self.from[hours.end] as usize
    }

    /// A slot's hour among those drawn together, and that hour's block.
    #[inline(always)]
    pub(super) fn place(&self, slot: usize) -> (usize, usize) {
        let (hour, block) = self.places[slot];
        (hour.into(), block.into())
    }

    /// What it says at the end of a slot.
    pub(super) fn reading(&self, slot: usize) -> f64 {
        self.upto[slot]
    }

    /// Whether slots are so uneven that [`CumulativeIntensity::slot`] has to search.
    pub(super) fn is_coarse(&self) -> bool {
        self.coarse
    }

    /// The slot at a reading of the clock that is neither negative nor later than its end;
    /// `COARSE` as [`CumulativeIntensity::is_coarse`] says.
    #[inline(always)]
    pub(super) fn slot<const COARSE: bool>(&self, reading: f64) -> usize {
        let number = (reading * self.steps_per_unit + WHOLE).to_bits() as u32 as usize;
        let mut slot = self.steps[number.min(self.steps.len() - 1)] as usize;
        if COARSE {
            while reading > self.upto[slot] {
                slot += 1;
            }
            return slot;
        }
        // A sum, not a branch: the processor would guess it wrong every other time.
        slot + usize::from(reading > self.upto[slot])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(exposures: &[f64]) {
        let clock = CumulativeIntensity::of(exposures.iter().copied(), 24);
        let end: f64 = exposures.iter().sum();
        let plain = |reading: f64| {
            let mut upto = 0.0;
            exposures.iter().position(|exposure| {
                upto += exposure;
                *exposure > 0.0 && upto >= reading
            })
        };
        for n in 0..=5000 {
            let reading = (end * f64::from(n) / 5000.0).min(clock.upto[clock.upto.len() - 1]);
            let slot = match clock.is_coarse() {
                true => clock.slot::<true>(reading),
                false => clock.slot::<false>(reading),
            };
            let (hour, _) = clock.place(slot);
            assert_eq!(Some(hour), plain(reading), "{reading} of {end}");
        }
    }

    #[test]
    fn every_reading_finds_its_hour() {
        check(&[0.25; 40]);
        check(&[0.0, 1.0, 0.0, 3.0, 0.5, 0.0, 0.125, 2.0]);
        // So uneven that steps cannot be as short as the shortest slot.
        check(&[5.0, 1e-6, 1e-6, 0.0, 4.0, 1e-7, 3.0]);
    }

    #[test]
    fn hours_have_their_slots() {
        let clock = CumulativeIntensity::of([0.0, 1.0, 0.0, 2.0, 2.0].into_iter(), 2);
        assert_eq!(clock.slots(&(0..5)), 0..3);
        assert_eq!(clock.slots(&(2..4)), 1..2);
        assert_eq!([0, 1, 2].map(|slot| clock.place(slot)), [(1, 0), (3, 1), (4, 2)]);
        let none = CumulativeIntensity::of([0.0; 5].into_iter(), 24);
        assert!(none.slots(&(0..5)).is_empty());
    }
}
