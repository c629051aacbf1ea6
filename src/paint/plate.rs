//! Plates: what words stand on where the ground is not theirs.

use super::board::BoardGeometry;
use super::brush::Bounds;
use super::canvas::Canvas;
use super::design::Form;
use super::layout::Plan;
use super::theme::{Rgba, SquareFill, Theme};

/// How much of the footage the plates of an overlay cover. Over pure white a caption then has 11:1 and the coordinates
/// 5:1 (WCAG 2.x, dusk), over black more.
const BOARD_COVERS: f32 = 0.86;
const CAPTION_COVERS: f32 = 0.90;

/// The colour of all plates of an overlay, with which its transparent parts are filled too: so no edge that is scaled or
/// coded by half can take in another colour.
pub(super) fn plate_colour(theme: &Theme) -> Rgba {
    theme.ground_edge
}

/// A caption's plate in an overlay.
pub(super) fn caption_plate(theme: &Theme) -> Rgba {
    plate_colour(theme).fade(CAPTION_COVERS)
}

/// In an overlay, the plate of a card: as covering as a caption's, for its words are read over footage too.
pub(super) fn paint_card_plate(canvas: &mut Canvas<'_>, plate: Bounds, plan: &Plan, theme: &Theme) {
    if plan.form == Form::Bare {
        let whole = Bounds::new(plate.left.round(), plate.top.round(), plate.right.round(), plate.bottom.round());
        canvas.rounded(whole, 1.5 * plate_radius(plan), caption_plate(theme));
    }
}

/// The radius of a plate's corners.
pub(super) fn plate_radius(plan: &Plan) -> f32 {
    plan.grid.long(16.0)
}

/// Paints the plate that stands from a scene's beginning to its end, if the plan has one.
pub(super) fn paint_plate(canvas: &mut Canvas<'_>, plan: &Plan, theme: &Theme) {
    let Some(plate) = plan.plate else { return };
    match plan.form {
        Form::Bare => {
            let BoardGeometry { square, .. } = plan.board;
            canvas.rounded(plate, square * 0.23, plate_colour(theme).fade(BOARD_COVERS));
        }
        _ => paint_box(canvas, plate, plan, theme),
    }
}

/// The box of a lower third, a bar at its left edge.
fn paint_box(canvas: &mut Canvas<'_>, plate: Bounds, plan: &Plan, theme: &Theme) {
    let colour = match theme.square_fill {
        SquareFill::Flat => theme.ground_edge.mix(Rgba::hex(0), 0.32),
        SquareFill::Hatched => theme.light_square,
    };
    canvas.rounded(plate, plate_radius(plan), colour);
    let inset = plan.grid.long(18.0).round();
    let bar = plan.grid.long(8.0).round().max(1.0);
    canvas.rectangle(plate.left, plate.top + inset, bar, plate.height() - 2.0 * inset, theme.accent);
}
