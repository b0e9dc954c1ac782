//! The forecast engine against laws, balances and common practice that it was not written from.
#![allow(clippy::disallowed_macros, reason = "measured figures are printed")]

mod engine {
    mod balances;
    mod chance;
    mod charging;
    mod cold;
    mod deviations;
    mod first_passage;
    mod lead_acid;
    mod ledgers;
    mod practice;
    mod published;
    mod sources;
    mod weather_year;
    mod world;
}
