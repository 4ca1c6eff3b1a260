#![no_main]
#[path = "../../tests/fuzz_checks/mod.rs"]
mod checks;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| checks::stem_lists(bytes));
