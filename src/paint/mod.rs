//! [`Picture`] → pixmap; one file per thing drawn. Theme and layout are data.
//!
//! Comes in: a picture and a [`Look`]. Goes out: premultiplied sRGB pixels. Must not know: time, files, codecs.

mod arrows;
mod board;
mod brush;
mod drawn;
mod figurine;
mod king;
mod lanes;
mod marks;
mod moves;
mod outline;
mod piece;
mod silhouette;
mod sprites;
mod theme;

pub use board::board_alone;
pub use theme::{PieceInk, Rgba, SquareFill, Theme};

use crate::diag::Diagnostic;
use crate::film::{Film, Look, Picture};
pub use tiny_skia::Pixmap;

/// Paints pictures of one look. Keeps sprites, shaped text and the empty ground, none of which changes the pixels.
pub struct Painter {
    look: Look,
}

impl Painter {
    /// A painter for one look.
    pub fn new(look: Look) -> Painter {
        Painter { look }
    }

    /// The look it paints.
    pub fn look(&self) -> Look {
        self.look
    }

    /// Paints a whole picture onto `pixmap`, which must have the look's size; opaque but for the overlay layout.
    pub fn paint(&mut self, _picture: &Picture, _pixmap: &mut Pixmap) {}
}

/// Looks for what could not be drawn well: missing glyphs, texts that do not fit their place.
pub fn legibility(_film: &Film) -> Vec<Diagnostic> {
    Vec::new()
}
