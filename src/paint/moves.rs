//! Pieces at rest, on their way, falling apart, turning into another, and shown where they might stand.

use super::board::{BoardGeometry, corner};
use super::brush::{Bounds, Layer, eraser, faded, fill, round, stroke};
use super::outline::{Point, polygon, to_path};
use super::silhouette::PieceSet;
use super::sprites::{Sprites, ink_of};
use super::theme::{Rgba, SquareFill, Theme};
use crate::film::{GhostPicture, Gliding, Promoting, Sliced, Standing};
use crate::units::{Piece, Role, Side};
use tiny_skia::{FillRule, LineCap, PathBuilder, Pixmap, StrokeDash, Transform};

/// Shadows are the outline's colour, so that they deepen a square's own hue; on paper they are fainter.
fn shadow_colour(theme: &Theme) -> Rgba {
    match theme.square_fill {
        SquareFill::Flat => theme.dark.outline.fade(0.36),
        SquareFill::Hatched => theme.dark.outline.fade(0.24),
    }
}

/// The shadow of a piece at rest. A bowing piece draws in, and its shadow with it.
pub(super) fn paint_standing_shadow(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    standing: Standing,
    bow: f32,
    sprites: &mut Sprites,
) {
    let at = geometry.corner(standing.square);
    let lift = 0.25 * bow.abs().min(1.0);
    sprites.put_shadow(pixmap, shadow_colour(theme), at, geometry.square, lift, standing.opacity);
}

/// A piece at rest.
pub(super) fn paint_standing(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    standing: Standing,
    bow: f32,
    sprites: &mut Sprites,
) {
    let Piece { side, role } = standing.piece;
    let at = geometry.corner(standing.square);
    sprites.put_piece(pixmap, (role, ink_of(side, theme)), at, geometry.square, bow, standing.opacity);
}

/// A lifted piece is this much larger, and stands this much higher, as a fraction of a square.
const LIFT_SCALE: f32 = 0.03;
const LIFT_HEIGHT: f32 = 0.05;

/// A piece on its way, with its shadow: softer the higher it is lifted.
pub(super) fn paint_gliding(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    gliding: &Gliding,
    sprites: &mut Sprites,
) {
    let square = geometry.square;
    let (x, y) = (geometry.x + gliding.x * square, geometry.y + gliding.y * square);
    let lift = gliding.lift.clamp(0.0, 1.0);
    sprites.put_shadow(pixmap, shadow_colour(theme), (x, y), square, lift, 1.0);
    let at = (x - 0.5 * LIFT_SCALE * lift * square, y - LIFT_HEIGHT * lift * square);
    let Piece { side, role } = gliding.piece;
    sprites.put_piece(pixmap, (role, ink_of(side, theme)), at, square * (1.0 + LIFT_SCALE * lift), 0.0, 1.0);
}

/// How far each half of a taken piece has parted when it is gone, sideways and up or down, in squares.
const PART: (f32, f32) = (0.36, 0.05);
/// The halves keep their full ink for this share of the time.
const FULL_INK: f32 = 0.35;
/// The cut runs from this height at the left of the square to that at its right, and is this wide.
const CUT: (f32, f32) = (0.64, 0.40);
const CUT_WIDTH: f32 = 0.02;

/// A taken piece, cut in two: the upper half slides off to the left, the lower to the right, and both fade.
pub(super) fn paint_sliced(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    sliced: Sliced,
    sprites: &mut Sprites,
) {
    let progress = sliced.progress.clamp(0.0, 1.0);
    let ink = 1.0 - ((progress - FULL_INK) / (1.0 - FULL_INK)).max(0.0);
    let (square, (x, y)) = (geometry.square, geometry.corner(sliced.square));
    if ink <= 0.0 {
        return;
    }
    if progress <= 0.0 {
        let standing = Standing { square: sliced.square, piece: sliced.piece, opacity: 1.0 };
        paint_standing_shadow(pixmap, geometry, theme, standing, 0.0, sprites);
        paint_standing(pixmap, geometry, theme, standing, 0.0, sprites);
        return;
    }
    sprites.put_shadow(pixmap, shadow_colour(theme), (x, y), square, progress, ink * (1.0 - progress));
    let Piece { side, role } = sliced.piece;
    for (way, beyond) in [(-1.0, 2.0), (1.0, -2.0)] {
        let at = (x + way * PART.0 * progress * square, y + way * PART.1 * progress * square);
        let bounds = Bounds::new(at.0, at.1, at.0 + square, at.1 + square).grown(0.12 * square);
        let Some(mut layer) = Layer::over(pixmap, bounds) else { continue };
        let view = Transform::from_row(square, 0.0, 0.0, square, at.0, at.1);
        sprites.put_piece(&mut layer.pixmap, (role, ink_of(side, theme)), at, square, 0.0, 1.0);
        // What lies beyond the cut belongs to the other half. The cut's line is carried on past the square's edges.
        let edge = |t: f32| Point::new(t, CUT.0 + (CUT.1 - CUT.0) * t + way * CUT_WIDTH / 2.0);
        let (left, right) = (edge(-0.5), edge(1.5));
        let other = [left, right, Point::new(1.5, 0.5 + beyond), Point::new(-0.5, 0.5 + beyond)];
        if let Some(other) = polygon(&other) {
            layer.pixmap.fill_path(&other, &eraser(1.0), FillRule::Winding, view, None);
        }
        layer.put(pixmap, ink);
    }
}

/// The cut line of a promotion climbs from here to there, as heights in the square.
const CLIMB: (f32, f32) = (0.96, 0.02);

/// A pawn turning into a piece: a line climbs from their common foot, the new piece below it, the pawn above.
pub(super) fn paint_promoting(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    promoting: &Promoting,
    sprites: &mut Sprites,
) {
    let (square, at) = (geometry.square, geometry.corner(promoting.square));
    let ink = ink_of(promoting.side, theme);
    sprites.put_shadow(pixmap, shadow_colour(theme), at, square, 0.0, 1.0);
    let climbed = promoting.climbed.clamp(0.0, 1.0);
    let height = if climbed >= 1.0 { -0.2 } else { CLIMB.0 + (CLIMB.1 - CLIMB.0) * climbed };
    let bounds = Bounds::new(at.0, at.1, at.0 + square, at.1 + square).grown(0.12 * square);
    for (role, opacity, gone) in [
        (Role::Pawn, promoting.pawn, Bounds::new(-0.5, height, 1.5, 1.5)),
        (promoting.role, 1.0, Bounds::new(-0.5, -0.5, 1.5, height)),
    ] {
        let Some(mut layer) = Layer::over(pixmap, bounds) else { continue };
        let view = Transform::from_row(square, 0.0, 0.0, square, at.0, at.1);
        sprites.put_piece(&mut layer.pixmap, (role, ink), at, square, 0.0, 1.0);
        let Bounds { left, top, right, bottom } = gone;
        let corners = [(left, top), (right, top), (right, bottom), (left, bottom)].map(|(x, y)| Point::new(x, y));
        if let Some(gone) = polygon(&corners) {
            layer.pixmap.fill_path(&gone, &eraser(1.0), FillRule::Winding, view, None);
        }
        layer.put(pixmap, opacity);
    }
    if climbed > 0.0 && climbed < 1.0 {
        let (x, y) = corner(promoting.square);
        let mut path = PathBuilder::new();
        path.move_to(0.14, height);
        path.line_to(0.86, height);
        if let Some(path) = path.finish() {
            let view = geometry.view().pre_translate(x, y);
            stroke(pixmap, &path, theme.casing, &round(0.026 + 0.022), view);
            stroke(pixmap, &path, theme.accent, &round(0.026), view);
        }
    }
}

/// A move shown, not played: a translucent body with a stitched edge in two tones, seen on either square.
pub(super) fn paint_ghost(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    theme: &Theme,
    ghost: GhostPicture,
    set: &PieceSet,
) {
    let Piece { side, role } = ghost.piece;
    let (body, thread) = match side {
        Side::White => (theme.white_arrow, theme.black_arrow),
        Side::Black => (theme.black_arrow, theme.white_arrow),
    };
    let form = set.of(role).form(geometry.square);
    let Some(outline) = to_path(&form.body) else { return };
    let (x, y) = corner(ghost.square);
    let view = geometry.view().pre_translate(x, y).pre_scale(0.01, 0.01);
    let pixel = 100.0 / geometry.square;
    faded(pixmap, view, Bounds::new(-10.0, -10.0, 110.0, 110.0), ghost.enter * ghost.opacity, |pixmap, view| {
        fill(pixmap, &outline, body.fade(0.36), view);
        for line in form.lines.iter().filter(|line| !line.fine) {
            if let Some(path) = to_path(&line.path) {
                stroke(pixmap, &path, thread.fade(0.5), &round((1.7 * line.weight).max(pixel)), view);
            }
        }
        for solid in form.fills.iter().filter_map(|solid| to_path(solid)) {
            fill(pixmap, &solid, thread.fade(0.5), view);
        }
        stroke(pixmap, &outline, body.fade(0.95), &round((2.2 * pixel).max(4.4)), view);
        let mut stitches = round((1.3 * pixel).max(2.3));
        stitches.line_cap = LineCap::Butt;
        let long = (4.0 * pixel).max(8.4);
        stitches.dash = StrokeDash::new(vec![long, long * 0.62], 0.0);
        stroke(pixmap, &outline, thread, &stitches, view);
    });
}
