//! The forecast engine against laws, balances and common practice that it was not written from.

mod engine {
    mod balances;
    mod chance;
    mod first_passage;
    mod practice;
    mod world;
}
