#![no_main]

#[path = "../readers.rs"]
#[allow(dead_code, reason = "each target feeds one of them")]
mod readers;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| readers::memory(bytes));
