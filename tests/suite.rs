//! Every test that runs the program from outside, in one binary; a file of `tests/` that is not named here is not run
//! (`architecture` checks the list).

mod faults;
mod fuzz_checks;
mod projection_support;
mod run;

mod all_or_nothing;
mod architecture;
mod bad_input;
mod barriers;
mod browser;
mod damaged_files;
mod docs_tables;
mod fences;
mod formats;
mod fuzz_cases;
mod geometry_geos;
mod guide;
mod hand_derived;
mod hostile_numbers;
mod hostile_tables;
mod hostile_text;
mod languages;
mod layer_formats;
mod limits;
mod no_network;
mod open_data;
mod pages;
mod projection;
mod projection_geodesics;
mod published_replacement;
mod published_rules;
mod replacement_table;
mod rule_language;
mod rule_sets_page;
mod sample_town;
mod services;
mod set_backs;
mod side_by_side;
mod surfaces;
mod upkeep;
mod wrong_records;
