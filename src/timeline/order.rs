//! The film's clock never goes back: every time that is written is held against the ones above it, across scenes.

use super::reader::Reader;
use super::{At, Cue, Timeline};
use crate::diag::{Code, Diagnostic};
use crate::source::{Span, Spanned};
use crate::units::Time;
use std::time::Duration;

/// What is known of the clock after the scenes and cues so far.
struct Clock {
    /// When the last scene or cue begins; `None` where it has no time, so that only the film can tell.
    begin: Option<Time>,
    /// The place of the written time that says so; `None` before the first.
    bound: Option<Bound>,
}

/// The latest time that must not be undercut.
struct Bound {
    time: Time,
    span: Span,
    /// What begins then, for the headline: `one at …` or `a move at …`.
    what: String,
    fact: String,
}

/// Reports every time that lies before one above it.
pub(super) fn check(reader: &mut Reader<'_>, timeline: &Timeline) {
    let mut clock = Clock { begin: Some(Time::ZERO), bound: None };
    for scene in &timeline.scenes {
        clock.pass(reader, scene.at, "the scene");
        for cue in &scene.cues {
            clock.pass(reader, cue.at, "the cue");
            clock.play(cue);
        }
    }
}

impl Clock {
    /// Goes on to the next scene or cue.
    fn pass(&mut self, reader: &mut Reader<'_>, at: Option<Spanned<At>>, what: &str) {
        let Some(at) = at else {
            self.begin = None;
            return;
        };
        let written = &reader.source()[at.span.start..at.span.end];
        let (time, one, fact) = match at.value {
            At::Clock(time) => (time, format!("one at `{written}`"), format!("{what} before")),
            At::After(length) => {
                // What is relative to something without a time is held against the rest where the film is put on the
                // clock.
                let Some(begin) = self.begin else { return };
                let time = begin + length;
                (time, format!("one at `{time}`"), format!("{what} before, at {time}"))
            }
        };
        match &self.bound {
            Some(bound) if time < bound.time => {
                let gap = seconds(bound.time.since(time));
                let diagnostic = Diagnostic::error(
                    Code::TimeGoesBack,
                    at.span,
                    format!("{what} at `{written}` comes after {}", bound.what),
                )
                .label(format!("{gap} earlier than {}", bound.fact))
                .also(bound.span, bound.fact.clone())
                .hint("each time must not be earlier than the one above it");
                reader.report(diagnostic);
                // The times below are held against the later one, so that one slip is reported once; what is
                // relative to this cue still counts from it.
                self.begin = Some(time);
            }
            _ => {
                self.begin = Some(time);
                self.bound = Some(Bound { time, span: at.span, what: one, fact });
            }
        }
    }

    /// Counts the moves of a cue that are spaced by a written length: the last one's start is a bound as well.
    fn play(&mut self, cue: &Cue) {
        let (Some(every), Some(at), Some(begin)) = (cue.every, cue.at, self.begin) else { return };
        let Some(gaps) = u32::try_from(cue.play.len()).ok().and_then(|moves| moves.checked_sub(1)).filter(|&n| n > 0)
        else {
            return;
        };
        let last = begin + every.value.saturating_mul(gaps);
        if self.bound.as_ref().is_none_or(|bound| bound.time < last) {
            let fact = format!("the last of {} moves, which begins at {last}", gaps + 1);
            self.bound = Some(Bound { time: last, span: at.span, what: format!("a move at `{last}`"), fact });
        }
    }
}

/// `0.250 s`: to the millisecond, finer only where that would say nothing.
fn seconds(length: Duration) -> String {
    if length < Duration::from_millis(1) {
        format!("{:.6} s", length.as_secs_f64())
    } else {
        format!("{:.3} s", length.as_secs_f64())
    }
}
