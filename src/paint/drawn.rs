//! A board picture as a list of things to draw, bottom to top, each with the rectangle it keeps to.
//!
//! Painting walks the list; [`damage`] compares two of them.

use super::arrows::{Quill, occupant, quills};
use super::board::{BoardGeometry, EDGE, corner};
use super::brush::Bounds;
use super::silhouette::PieceSet;
use crate::film::{
    BoardPicture, ForcePicture, GhostPicture, Gliding, KingMoment, MarkPicture, Promoting, Sliced, Standing,
};
use crate::timeline::MarkRole;
use crate::units::{PixelRect, Role, Square};

/// One thing on the board.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Drawn {
    Hatch(MarkPicture),
    Footprint(Square),
    Plinth(Square),
    Mark(MarkPicture),
    King(KingMoment),
    /// A line of force, and whether a man stands where it begins and where it ends.
    Force(ForcePicture, [bool; 2]),
    /// Shaft with the other shafts, head above all else.
    Quill(Box<Quill>),
    /// A piece at rest and how far it bows.
    Standing(Standing, f32),
    Sliced(Sliced),
    Promoting(Promoting),
    Gliding(Gliding),
    Ghost(GhostPicture),
    Threat(MarkPicture),
}

impl Drawn {
    /// All that a picture shows, bottom to top.
    pub fn of(picture: &BoardPicture, set: &PieceSet) -> Vec<Drawn> {
        let of_role = |wanted: fn(MarkRole) -> bool, kind: fn(MarkPicture) -> Drawn| {
            picture.marks.iter().filter(move |mark| wanted(mark.role)).copied().map(kind)
        };
        let mut all = Vec::new();
        all.extend(of_role(|role| role == MarkRole::Trap, Drawn::Hatch));
        all.extend(picture.footprint.map(Drawn::Footprint));
        all.extend(picture.plinth.map(Drawn::Plinth));
        all.extend(of_role(|role| !matches!(role, MarkRole::Trap | MarkRole::Threat), Drawn::Mark));
        all.extend(picture.king.map(Drawn::King));
        all.extend(
            picture
                .forces
                .iter()
                .map(|force| Drawn::Force(*force, [force.from, force.to].map(|end| occupant(picture, end).is_some()))),
        );
        all.extend(quills(picture, set).into_iter().map(|quill| Drawn::Quill(Box::new(quill))));
        all.extend(picture.standing.iter().map(|standing| Drawn::Standing(*standing, bow_of(picture, *standing))));
        all.extend(picture.sliced.iter().copied().map(Drawn::Sliced));
        all.extend(picture.promoting.map(Drawn::Promoting));
        all.extend(picture.gliding.iter().copied().map(Drawn::Gliding));
        all.extend(picture.ghosts.iter().copied().map(Drawn::Ghost));
        all.extend(of_role(|role| role == MarkRole::Threat, Drawn::Threat));
        all
    }

    /// The rectangle, in board squares, that it never leaves.
    pub fn bounds(&self) -> Bounds {
        let on = |square: Square, margin: f32| {
            let (x, y) = corner(square);
            Bounds::new(x, y, x + 1.0, y + 1.0).grown(margin)
        };
        match self {
            Drawn::Hatch(mark) | Drawn::Mark(mark) | Drawn::Threat(mark) => on(mark.square, MARK_MARGIN),
            Drawn::Footprint(square) | Drawn::Plinth(square) => on(*square, 0.0),
            Drawn::King(
                KingMoment::Check { square, .. }
                | KingMoment::Mate { square, .. }
                | KingMoment::Stalemate { square, .. },
            ) => on(*square, 0.02),
            Drawn::Force(force, _) => on(force.from, 0.0).joined(on(force.to, 0.0)),
            Drawn::Quill(quill) => quill.bounds(),
            Drawn::Standing(standing, _) => on(standing.square, PIECE_MARGIN),
            Drawn::Ghost(ghost) => on(ghost.square, PIECE_MARGIN),
            Drawn::Promoting(promoting) => on(promoting.square, PIECE_MARGIN),
            Drawn::Sliced(sliced) => {
                let b = on(sliced.square, PIECE_MARGIN);
                Bounds::new(b.left - 0.36, b.top - 0.05, b.right + 0.36, b.bottom + 0.05)
            }
            Drawn::Gliding(Gliding { x, y, .. }) => Bounds::new(*x, *y, x + 1.0, y + 1.0).grown(PIECE_MARGIN + 0.08),
        }
    }
}

/// A mark coming in is drawn up to 1.14 times its size.
const MARK_MARGIN: f32 = 0.08;
/// A piece's sprite reaches a tenth of a square over its square, a pixel more for rounding.
const PIECE_MARGIN: f32 = 0.12;

/// How far a standing piece bows: only a mated king does.
fn bow_of(picture: &BoardPicture, standing: Standing) -> f32 {
    match picture.king {
        Some(KingMoment::Mate { square, bow, .. })
            if square == standing.square && standing.piece.role == Role::King =>
        {
            bow
        }
        _ => 0.0,
    }
}

/// The rectangles, in pixels, outside which two pictures of the same board are the same. May overlap, and may reach
/// beyond the frame to the right and below.
pub(super) fn damage(
    before: &BoardPicture,
    after: &BoardPicture,
    geometry: BoardGeometry,
    set: &PieceSet,
) -> Vec<PixelRect> {
    if before == after {
        return Vec::new();
    }
    let view = geometry.view();
    let pixels = |bounds: Bounds| {
        // Two pixels for soft edges and for places rounded to the eighth of a pixel.
        let b = bounds.seen(view).grown(2.0);
        let (x, y) = (b.left.floor().max(0.0) as u32, b.top.floor().max(0.0) as u32);
        let (right, bottom) = (b.right.ceil().max(0.0) as u32, b.bottom.ceil().max(0.0) as u32);
        PixelRect { x, y, width: right.saturating_sub(x), height: bottom.saturating_sub(y) }
    };
    if before.dimmed != after.dimmed || before.drained != after.drained {
        return vec![pixels(Bounds::new(0.0, 0.0, 8.0, 8.0).grown(EDGE + 0.3))];
    }
    let (old, new) = (Drawn::of(before, set), Drawn::of(after, set));
    // What both show in the same order looks the same wherever nothing else has changed. What changed its place in the
    // order counts as changed: the common part is found by walking both lists in step.
    let mut changed = Vec::new();
    let mut rest = new.as_slice();
    for item in &old {
        match rest.iter().position(|other| other == item) {
            Some(at) => {
                changed.extend(rest[..at].iter().map(Drawn::bounds));
                rest = &rest[at + 1..];
            }
            None => changed.push(item.bounds()),
        }
    }
    changed.extend(rest.iter().map(Drawn::bounds));
    changed.into_iter().map(pixels).filter(|rect| rect.width > 0 && rect.height > 0).collect()
}
