//! Progress of long work, on standard error where that is a terminal.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Work shorter than this shows nothing.
const STEPS: u64 = 1000;

/// A bar that goes away when the work is done.
pub(crate) struct Progress {
    bar: ProgressBar,
}

impl Progress {
    pub(crate) fn new() -> Self {
        let bar = ProgressBar::new(STEPS);
        if let Ok(style) = ProgressStyle::with_template("{bar:24} {percent:>3} %  {msg}") {
            bar.set_style(style.progress_chars("=> "));
        }
        bar.enable_steady_tick(Duration::from_millis(200));
        Self { bar }
    }

    /// Shows the part done, 0 to 1, and what is being done.
    pub(crate) fn show(&self, part: f64, what: &str) {
        self.bar
            .set_position((part.clamp(0.0, 1.0) * STEPS as f64) as u64);
        if self.bar.message() != what {
            self.bar.set_message(what.to_owned());
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
