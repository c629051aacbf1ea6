//! A bar with the time left on a terminal; a line every few minutes where standard error goes to a file, as in a night's
//! work on a machine without anyone.

use super::args::{Format, Talk};
use super::report::colour_on;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{self, IsTerminal, Write};
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// From one line to the next where there is no bar.
const LINES: Duration = Duration::from_mins(2);

/// How far a long command has come. Cleared when dropped.
pub struct Progress {
    bar: ProgressBar,
    lines: Option<Lines>,
}

/// What is written to a file instead of a bar.
struct Lines {
    verb: &'static str,
    total: u64,
    last: Mutex<Instant>,
}

impl Lines {
    /// The line for so many frames, where the last one is long ago.
    fn due(&self, done: u64, now: Instant) -> Option<String> {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        if now.saturating_duration_since(*last) < LINES || self.total == 0 {
            return None;
        }
        *last = now;
        let percent = done.min(self.total) * 100 / self.total;
        Some(format!("{}: {percent} %, {done} of {} frames", self.verb, self.total))
    }
}

impl Progress {
    /// A bar over `total` frames, with the word for what is done to them.
    pub fn new(talk: &Talk, verb: &'static str, total: u64) -> Progress {
        let terminal = io::stderr().is_terminal();
        let talks = !talk.quiet && talk.format == Format::Human;
        let shown = terminal && talks;
        let lines = (talks && !terminal).then(|| Lines { verb, total, last: Mutex::new(Instant::now()) });
        let target = if shown { ProgressDrawTarget::stderr_with_hz(10) } else { ProgressDrawTarget::hidden() };
        let bar = ProgressBar::with_draw_target(Some(total), target);
        let look = if colour_on(terminal) {
            "{msg} {bar:32.magenta/dim} {percent:>3} %  {pos}/{len} frames  {eta} left"
        } else {
            "{msg} {bar:32} {percent:>3} %  {pos}/{len} frames  {eta} left"
        };
        let style = ProgressStyle::with_template(look).unwrap_or_else(|_| ProgressStyle::default_bar());
        bar.set_style(style.progress_chars("━╸─"));
        bar.set_message(verb);
        bar.enable_steady_tick(Duration::from_millis(250));
        Progress { bar, lines }
    }

    /// Says how many frames are finished.
    pub fn set(&self, done: u64) {
        self.bar.set_position(done);
        if let Some(line) = self.lines.as_ref().and_then(|lines| lines.due(done, Instant::now())) {
            // A log that cannot be written stops no film.
            let _ = writeln!(io::stderr().lock(), "{line}");
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_comes_when_the_last_is_long_ago() {
        let began = Instant::now();
        let lines = Lines { verb: "filming", total: 4000, last: Mutex::new(began) };
        assert_eq!(lines.due(10, began + LINES / 2), None);
        assert_eq!(lines.due(1000, began + LINES).as_deref(), Some("filming: 25 %, 1000 of 4000 frames"));
        assert_eq!(lines.due(1001, began + LINES * 3 / 2), None);
        assert!(lines.due(4000, began + LINES * 2).is_some());
    }
}
