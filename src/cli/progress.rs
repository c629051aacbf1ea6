//! A bar with the time left on a terminal; a line now and then where standard error goes to a file.

use super::args::{Format, Talk};
use super::report::colour_on;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{self, IsTerminal};
use std::time::Duration;

/// How far a long command has come. Cleared when dropped.
pub struct Progress {
    bar: ProgressBar,
}

impl Progress {
    /// A bar over `total` frames, with the word for what is done to them.
    pub fn new(talk: &Talk, verb: &'static str, total: u64) -> Progress {
        let terminal = io::stderr().is_terminal();
        let shown = terminal && !talk.quiet && talk.format == Format::Human;
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
        Progress { bar }
    }

    /// Says how many frames are finished.
    pub fn set(&self, done: u64) {
        self.bar.set_position(done);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
