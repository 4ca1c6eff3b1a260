//! Raw records -> (values, issues): the only place that guesses what a cell means and converts it.
//!
//! `decide_*` looks at the columns and a sample once per file and makes a plan; the plan then turns each record into values
//! in metres, or into an [`Issue`](crate::issue::Issue). What was decided, and why, is in [`columns::Decision`].
//!
//! It must not read files of records, reproject, or repair geometry.

pub mod column_names;
mod column_units;
pub mod columns;
mod dates;
mod decimal_comma;
pub mod diameter;
mod diameter_text;
pub mod diameter_unit;
pub mod geometry_cell;
pub mod kinds;
mod measure;
pub mod number;
pub mod place;
pub mod species;
mod species_scientific;
mod species_table;
mod species_text;
pub mod stated;
pub mod status;
pub mod status_words;
pub mod tree_words;
pub mod trees;
pub mod weather;
mod weather_columns;
pub mod wkb;
pub mod words;
pub mod works;

pub use columns::{Candidate, Decision};
pub use dates::parse_date;
pub use kinds::Kinds;
pub use place::PlaceProblem;
pub use status::permit_is_active;
pub use trees::{TreePlan, decide_trees};
pub use works::{Purpose, WorkFacts, WorkPlan, decide_works};
