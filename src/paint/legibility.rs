//! What could not be drawn well, found before anything is painted.

use super::layout::unsupported;
use crate::diag::{Code, Diagnostic};
use crate::film::Film;
use crate::source::Span;

/// Looks for what could not be drawn well: missing glyphs, texts that do not fit their place.
pub fn legibility(film: &Film) -> Vec<Diagnostic> {
    unsupported(film.look())
        .map(|message| Diagnostic::error(Code::BadValue, Span::default(), message))
        .into_iter()
        .collect()
}
