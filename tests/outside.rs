//! Public answers against something outside: closed forms, published examples, counting by hand.
//!
//! Each test asks the program in a folder of its own, or the library's own questions where the
//! program has none, and knows the right answer from elsewhere. Each of them was seen to fail
//! when the one thing that it is about was broken in the source.
#![allow(clippy::disallowed_methods, reason = "the tests write data folders")]

mod outside {
    mod clocks;
    mod curse;
    mod dates;
    mod records;
    mod van;
    mod weather;
}
