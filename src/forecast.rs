//! Many lives run forward hour by hour, the moments at which their stocks meet a limit, and
//! what follows: which stock forces the next stop, by when, and how sure.

pub mod answer;
