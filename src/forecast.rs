//! Many lives run forward hour by hour, the moments at which their stocks meet a limit, and
//! what follows: which stock forces the next stop, by when, and how sure.
//!
//! [`scene::Scene`] holds what all lives share (hours, crew, sun, plans, expected weather);
//! [`lives::run`] draws each life and steps it; [`passages`] turns the lives' passages into
//! quantiles; [`evening::evening`] is the whole way from a journal to an answer.

pub mod answer;
mod cold;
pub mod evening;
pub mod hindsight;
mod limit;
pub mod lives;
pub mod notices;
pub mod passages;
mod practice;
pub mod sampler;
pub mod scene;
pub mod season;
pub mod sharpen;
pub mod variants;
pub mod why;

// The face of this folder: what is named most often, by its short path.
pub use answer::{
    Evening, Forecast, LearnedValue, NextStop, Notice, Options, Quantiles, StockForecast,
};
pub use hindsight::{Hindsight, PastEvening};

pub use evening::evening;
