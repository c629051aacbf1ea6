//! Moves for viewers whom movement troubles: nothing glides; a piece fades where it stood and comes where it stands.

use super::motion::CALM;
use super::picture::{BoardPicture, Standing};
use crate::game::{Node, Ply};
use crate::units::{Placement, Square};

/// One position giving way to another.
#[derive(Clone, Debug)]
pub(super) struct Fade {
    before: Placement,
    after: Placement,
    /// Where the move began and ended, if one is played.
    ply: Option<(Square, Square)>,
}

impl Fade {
    /// A move played.
    pub(super) fn of_ply(before: &Node, after: &Node, ply: &Ply) -> Fade {
        Fade { before: before.placement, after: after.placement, ply: Some((ply.from, ply.to)) }
    }

    /// Moves taken back, all at once.
    pub(super) fn back(before: &Node, after: &Node) -> Fade {
        Fade { before: before.placement, after: after.placement, ply: None }
    }

    /// Where the move began and ended, if one is played.
    pub(super) fn ply(&self) -> Option<(Square, Square)> {
        self.ply
    }

    /// The board `ms` into it.
    pub(super) fn at(&self, ms: f64) -> BoardPicture {
        let come = (ms / CALM).clamp(0.0, 1.0) as f32;
        let mut standing = Vec::new();
        for square in Square::all() {
            let (old, new) = (self.before.get(square), self.after.get(square));
            let piece = |piece, opacity: f32| Standing { square, piece, opacity };
            if old == new {
                standing.extend(old.map(|same| piece(same, 1.0)));
            } else {
                standing.extend(old.map(|old| piece(old, 1.0 - come)));
                standing.extend(new.map(|new| piece(new, come)));
            }
        }
        standing.retain(|piece| piece.opacity > 0.0);
        let (footprint, plinth) = self.ply.unzip();
        BoardPicture { standing, footprint, plinth, ..BoardPicture::default() }
    }
}
