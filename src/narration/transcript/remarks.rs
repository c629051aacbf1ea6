//! What cannot be read, collected: the first few places each, the rest as a number.

use crate::diag::{Code, Diagnostic};
use crate::source::Span;

/// How many places are told one by one. A file of another kind would be wrong on every line.
const TOLD: usize = 12;

#[derive(Default)]
pub(super) struct Remarks {
    told: Vec<Diagnostic>,
    skipped: usize,
}

impl Remarks {
    /// A part that is left out, with the fact for its place.
    pub(super) fn skipped(&mut self, span: Span, headline: &str, fact: &str) {
        self.skipped += 1;
        if self.skipped <= TOLD {
            self.told.push(Diagnostic::warning(Code::Transcript, span, headline).label(fact));
        }
    }

    /// A mistake that leaves nothing to read.
    pub(super) fn refused(&mut self, span: Span, headline: &str, fact: &str, hint: &str) {
        self.told.push(Diagnostic::error(Code::Transcript, span, headline).label(fact).hint(hint));
    }

    /// Whether a mistake was told already.
    pub(super) fn has_refused(&self) -> bool {
        crate::diag::has_errors(&self.told)
    }

    pub(super) fn into_diagnostics(mut self) -> Vec<Diagnostic> {
        if let (Some(last), true) = (self.told.last_mut(), self.skipped > TOLD) {
            last.hints.push(format!("{} more places like this were left out", self.skipped - TOLD));
        }
        self.told
    }
}
