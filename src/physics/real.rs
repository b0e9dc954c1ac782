//! The precision that a formula is worked in.
//!
//! A formula that runs in every hour of every life is written once, for both: `f64` where one
//! life is told of, `f32` where many stand side by side and go through vector instructions.

use std::ops::{Add, Mul, Neg, Sub};

/// A number of either precision.
///
/// Everything is `#[inline(always)]`, since only what is inlined is compiled again for wide
/// vectors. Nothing is fused or reordered, so that wide and narrow code give the same bits.
pub trait Real:
    Copy
    + PartialOrd
    + Into<f64>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Neg<Output = Self>
{
    /// The nearest number of this precision.
    fn of(value: f64) -> Self;

    /// The smaller of two. Unlike `f32::min` it is a single instruction: NaN is nobody's value.
    #[inline(always)]
    fn least(self, other: Self) -> Self {
        if self < other { self } else { other }
    }

    /// The larger of two, as [`Real::least`].
    #[inline(always)]
    fn most(self, other: Self) -> Self {
        if self > other { self } else { other }
    }
}

impl Real for f32 {
    #[inline(always)]
    fn of(value: f64) -> f32 {
        value as f32
    }
}

impl Real for f64 {
    #[inline(always)]
    fn of(value: f64) -> f64 {
        value
    }
}
