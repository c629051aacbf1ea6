//! Pieces in running text: the small silhouettes, solid, with lines and window cut out.

use super::brush::eraser;
use super::outline::to_path;
use super::silhouette::PieceSet;
use super::theme::Rgba;
use crate::units::Role;
use tiny_skia::{FillRule, Pixmap, Stroke, Transform};

/// The side of a figurine's square, in ems. The king is then about 1.06 em tall.
pub(super) const FIGURINE_SQUARE: f32 = 1.16;
/// How far the pen moves on after a figurine, in ems.
pub(super) const FIGURINE_ADVANCE: f32 = 0.98;
/// How far below the square's top the baseline runs, as a share of the square: the foot stands on it.
const FOOT: f32 = 0.936;

/// How far a figurine reaches above and below its baseline at most, in ems: to its square's edges.
pub(super) const FIGURINE_INK: (f32, f32) = (FIGURINE_SQUARE * (FOOT - 0.016), FIGURINE_SQUARE * 0.012);

/// From the piece grid to text of `em` pixels, the pen at (x, baseline).
fn to_text(em: f32, x: f32, baseline: f32) -> Transform {
    let square = em * FIGURINE_SQUARE;
    let left = x - em * (FIGURINE_SQUARE - FIGURINE_ADVANCE) / 2.0;
    Transform::from_scale(square / 100.0, square / 100.0).post_translate(left, baseline - square * FOOT)
}

/// A figurine alone on a transparent picture, ready to be laid with its corner at the returned place relative to a pen
/// that stands `part` of a pixel (0 to 1) past a whole one, on a baseline at a whole pixel.
pub(super) fn figurine(set: &PieceSet, role: Role, em: f32, part: f32, colour: Rgba) -> (Pixmap, i32, i32) {
    let square = em * FIGURINE_SQUARE;
    let left = (em * (FIGURINE_SQUARE - FIGURINE_ADVANCE) / 2.0).ceil() + 1.0;
    let above = (square * FOOT).ceil() + 1.0;
    let (width, height) = ((left + square).ceil() as u32 + 3, (above + square * (1.0 - FOOT)).ceil() as u32 + 2);
    let mut pixmap = Pixmap::new(width, height).expect("a figurine has a size");
    let view = to_text(em, left + part, above);
    let form = &set.of(role).small;
    if let Some(body) = to_path(&form.body) {
        pixmap.fill_path(&body, &colour.to_paint(), FillRule::Winding, view, None);
    }
    let cut = (105.0 / square).max(3.6);
    for line in &form.lines {
        if let Some(path) = to_path(&line.path) {
            let stroke = Stroke { width: cut * line.weight.min(1.4), ..super::brush::round(0.0) };
            pixmap.stroke_path(&path, &eraser(1.0), &stroke, view, None);
        }
    }
    for path in form.fills.iter().filter_map(|solid| to_path(solid)) {
        pixmap.fill_path(&path, &eraser(1.0), FillRule::Winding, view, None);
    }
    (pixmap, -(left as i32), -(above as i32))
}

/// Draws a figurine with the pen at `x` on `baseline` (rounded to a whole pixel). Returns the advance in pixels.
pub(super) fn draw_figurine(
    pixmap: &mut Pixmap,
    (set, role): (&PieceSet, Role),
    em: f32,
    x: f32,
    baseline: f32,
    colour: Rgba,
) -> f32 {
    let whole = x.floor();
    let (picture, dx, dy) = figurine(set, role, em, x - whole, colour);
    super::brush::place(pixmap, &picture, whole as i32 + dx, baseline.round() as i32 + dy, 1.0);
    em * FIGURINE_ADVANCE
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiny_skia::Path;

    /// The silhouette of a piece in ems, its foot on the baseline y = 0, its advance from x = 0; nothing cut out.
    fn figurine_path(role: Role) -> Path {
        let body = to_path(&PieceSet::staunton().of(role).small.body).expect("the built-in pieces have bodies");
        body.transform(to_text(1.0, 0.0, 0.0)).expect("an even scale keeps a path finite")
    }

    #[test]
    fn figurines_stand_on_the_baseline_and_keep_to_their_advance() {
        for role in Role::ALL {
            let bounds = figurine_path(role).bounds();
            assert!(bounds.bottom().abs() < 0.01, "{role} stands at {}", bounds.bottom());
            assert!(bounds.left() > 0.0 && bounds.right() < FIGURINE_ADVANCE, "{role} is as wide as {bounds:?}");
            assert!(bounds.top() > -1.1, "{role} is {} em tall", -bounds.top());
        }
    }

    #[test]
    fn lines_are_cut_out() {
        for role in Role::ALL {
            let colour = Rgba::hex(0xFF_FFFF);
            let (picture, left, above) = figurine(PieceSet::staunton(), role, 42.0, 0.0, colour);
            let ink: f64 = picture.pixels().iter().map(|p| f64::from(p.alpha())).sum();
            let mut solid = Pixmap::new(picture.width(), picture.height()).expect("a size");
            let view = Transform::from_scale(42.0, 42.0).post_translate(-left as f32, -above as f32);
            solid.fill_path(&figurine_path(role), &colour.to_paint(), FillRule::Winding, view, None);
            let whole: f64 = solid.pixels().iter().map(|p| f64::from(p.alpha())).sum();
            assert!(ink < whole * 0.97 && ink > whole * 0.6, "{role}: {ink} of {whole}");
        }
    }
}
