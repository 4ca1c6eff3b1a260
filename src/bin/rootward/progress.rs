//! Progress on stderr: bars on a terminal, one line per stage elsewhere, nothing with `--quiet`.

use crate::diagnose::{say, visible};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use rootward::pipeline::progress::Progress;
use std::io::IsTerminal;
use std::sync::Mutex;

/// Progress as a person sees it.
pub struct Screen {
    style: Style,
    bar: Mutex<Option<ProgressBar>>,
}

#[derive(PartialEq)]
enum Style {
    Bars,
    Lines,
    Quiet,
}

impl Screen {
    /// Bars where stderr is a terminal.
    pub fn new(quiet: bool) -> Screen {
        let style = match (quiet, std::io::stderr().is_terminal()) {
            (true, _) => Style::Quiet,
            (false, true) => Style::Bars,
            (false, false) => Style::Lines,
        };
        Screen { style, bar: Mutex::new(None) }
    }

    fn with_bar(&self, act: impl FnOnce(&mut Option<ProgressBar>)) {
        act(&mut self.bar.lock().unwrap_or_else(|poisoned| poisoned.into_inner()));
    }
}

impl Progress for Screen {
    fn begin(&self, stage: &'static str, what: &str, total: Option<u64>) {
        match self.style {
            Style::Quiet => {}
            Style::Lines => say(&format!("{stage:<10} {}", visible(what))),
            Style::Bars => self.with_bar(|bar| *bar = Some(new_bar(stage, what, total))),
        }
    }

    fn advance(&self, records: u64) {
        if self.style == Style::Bars {
            self.with_bar(|bar| {
                if let Some(bar) = bar {
                    bar.inc(records);
                }
            });
        }
    }

    fn end(&self) {
        if self.style == Style::Bars {
            self.with_bar(|bar| {
                if let Some(bar) = bar.take() {
                    bar.finish();
                }
            });
        }
    }
}

fn new_bar(stage: &'static str, what: &str, total: Option<u64>) -> ProgressBar {
    let template = match total {
        Some(_) => "{prefix:<10} {wide_msg} {human_pos}/{human_len} {bar:20}",
        None => "{prefix:<10} {wide_msg} {elapsed}",
    };
    let style = ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar());
    let bar = ProgressBar::with_draw_target(total, ProgressDrawTarget::stderr());
    bar.with_style(style).with_prefix(stage).with_message(visible(what))
}
