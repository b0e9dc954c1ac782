//! Phrases: quantities, dates, durations and answers as strings, shared by both fronts.
//!
//! Pure. Every function says how it rounds; what people act on rounds to the safe side. Nothing
//! here knows about screens beyond "how many columns may it take".

pub mod answer;
pub mod caution;
pub mod count;
pub mod fit;
pub mod hindsight;
pub mod looks;
pub mod notice;
pub mod page;
pub mod papers;
pub mod plans;
pub mod proposals;
pub mod quantity;
pub mod reasons;
pub mod safe;
pub mod share;
pub mod sheet;
pub mod stops;
pub mod stretch;
pub mod usage;
pub mod when;

// The face of this folder: what is named most often, by its short path.
pub use answer::Urgency;
pub use count::{commas, counted, led, listed, people};
pub use fit::{cut, left, longest_fitting, right, width, wrap};
pub use quantity::{Spread, unit_word};
pub use safe::safe;
pub use share::{futures, of_ten, percent};
pub use when::{Dates, Form, clock, date_time, day, half_hour_before, still_ahead};
