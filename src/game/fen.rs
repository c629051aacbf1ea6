//! FEN (PGN standard 1994, §16.1), read with the place of every mistake inside it.
//!
//! shakmaty says only that a FEN is wrong; which rank, which letter and which field is found here.

mod fields;
mod sense;

use crate::diag::{Code, Diagnostic};
use crate::source::Span;
use shakmaty::{Chess, Setup};
use std::ops::Range;

/// Something about a FEN: what, where inside the text, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Fault {
    /// The headline without the FEN itself.
    pub message: String,
    /// Bytes of the FEN.
    pub place: Range<usize>,
    /// The fact under the carets.
    pub label: String,
    /// What to write.
    pub hint: Option<String>,
    /// The position can be played on all the same.
    pub harmless: bool,
}

impl Fault {
    fn new(place: Range<usize>, message: impl Into<String>, label: impl Into<String>) -> Fault {
        Fault { message: message.into(), place, label: label.into(), hint: None, harmless: false }
    }

    fn hint(mut self, hint: impl Into<String>) -> Fault {
        self.hint = Some(hint.into());
        self
    }

    /// The error or, if the position can be played on, the warning.
    pub(crate) fn at(self, span: Span) -> Diagnostic {
        let message = format!("the FEN {}", self.message);
        let found = if self.harmless {
            Diagnostic::warning(Code::Fen, span, message.clone())
        } else {
            Diagnostic::error(Code::Fen, span, message.clone())
        };
        // It can be wrong in many ways.
        self.hint.into_iter().fold(found.about(message).label(self.label), Diagnostic::hint)
    }

    fn harmless(mut self) -> Fault {
        self.harmless = true;
        self
    }
}

/// A FEN with four fields or more, piece by piece: where each letter of the placement and each field stands.
struct Fields<'a> {
    text: &'a str,
    setup: Setup,
    /// The byte of the letter that put a man on a square.
    letters: [Option<usize>; 64],
    /// The bytes of the placement, side, castling and en passant fields.
    ranges: [Range<usize>; 4],
}

/// The position of a FEN, and all that is to be said of it.
///
/// The position is there if every fault is harmless. The two counters may be missing; they are then `0 1`.
pub(crate) fn read(text: &str) -> (Option<Chess>, Vec<Fault>) {
    let mut faults = Vec::new();
    let position = fields::read(text, &mut faults).and_then(|fields| sense::check(fields, &mut faults));
    let sound = faults.iter().all(|fault| fault.harmless);
    (position.filter(|_| sound), faults)
}
