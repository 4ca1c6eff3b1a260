//! What GDAL and PROJ complain about, gathered per thread instead of printed.
//!
//! The crate's feature iterator hides read errors, and the GeoPackage driver goes on after a failed commit: the only sign of either is what
//! arrives here.

use gdal::errors::CplErrType;
use std::cell::RefCell;
use std::sync::Once;

/// More than this many messages say nothing new.
const MAX_KEPT: usize = 20;

thread_local! {
    static HEARD: RefCell<Heard> = RefCell::new(Heard::default());
}

/// The messages since the last [`listen`] or [`take`].
#[derive(Debug, Default)]
pub(crate) struct Heard {
    /// Failures, oldest first.
    pub(crate) failures: Vec<String>,
    /// Warnings, oldest first.
    pub(crate) warnings: Vec<String>,
}

/// Installs the handler once and forgets what this thread has heard.
pub(crate) fn listen() {
    static INSTALL: Once = Once::new();
    INSTALL.call_once(|| {
        gdal::config::set_error_handler(hear);
        // GDAL would write a missing index beside the input.
        gdal::config::set_config_option("SHAPE_RESTORE_SHX", "NO").expect("the texts hold no NUL");
    });
    take();
}

fn hear(kind: CplErrType, _number: i32, message: &str) {
    // A thread that is ending has nobody left to tell.
    let _ = HEARD.try_with(|heard| {
        let mut heard = heard.borrow_mut();
        let list = match kind {
            CplErrType::Failure | CplErrType::Fatal => &mut heard.failures,
            CplErrType::Warning => &mut heard.warnings,
            _ => return,
        };
        if list.len() < MAX_KEPT {
            list.push(message.trim().replace('\n', " "));
        }
    });
}

/// What this thread has heard since it last asked.
pub(crate) fn take() -> Heard {
    HEARD.with(RefCell::take)
}

/// The first failure this thread has heard since it last asked; empty where there was none.
pub(crate) fn take_first() -> String {
    take().failures.into_iter().next().unwrap_or_default()
}
