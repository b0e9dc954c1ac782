//! The program: reads clock, arguments and environment, and picks a front.

fn main() {}
