//! Units and the plain words of the trade, with every rounding rule. Used by any room, uses none.

mod board;
mod fnv;
mod time;
mod words;

pub use board::{Piece, Placement, Role, Side, Square};
pub use fnv::Fnv;
pub use time::{FrameIndex, FrameRate, Time, gcd};
pub use words::{escaped, listed};

/// A picture's size in pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Size {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

/// A rectangle of whole pixels: `x..x+width`, `y..y+height`, from the top left corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs)]
pub struct PixelRect {
    pub x: u32,
    pub y: u32,
    pub width: u32,
    pub height: u32,
}
