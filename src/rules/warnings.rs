//! The warning codes that zones and findings carry, with what each tells the reviewer.

pub use crate::model::warning::WARNINGS;

/// The codes that a limit may raise with `flag`.
pub const FLAGS: &[&str] = &["qualified_arborist_before_cutting", "verify_on_site"];

/// The code as it lives in the list; `None` where it is not there.
pub fn flag(code: &str) -> Option<&'static str> {
    FLAGS.iter().copied().find(|&known| known == code)
}
