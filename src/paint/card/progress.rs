//! How far a film has come, on a chapter card: one rank of squares, a chapter each.

use super::setting::Design;
use crate::paint::brush::Bounds;
use crate::paint::font::Font;
use crate::paint::kit::{self, Kit};
use crate::paint::layout::CardFrame;
use crate::paint::sprites::Sprites;
use crate::paint::text::Style;
use crate::paint::theme::Theme;
use crate::paint::words::SideTile;
use crate::units::{Piece, Role, Side};
use tiny_skia::Pixmap;

/// Where the rank of squares lies; one chapter alone has none. Below the tile of a task, if there is one.
pub(super) fn progress_place(
    progress: Option<(usize, usize)>,
    design: Design,
    tile: Option<SideTile>,
    frame: &CardFrame,
) -> Option<Bounds> {
    let (_, count) = progress.filter(|(_, count)| *count > 1)?;
    let CardFrame { grid, is_wide, clear, .. } = *frame;
    let (across, row) = if is_wide { (1620.0, 742.0) } else { (design.width, clear.top + 0.66 * clear.height()) };
    let square = grid.long((across / count as f32).min(104.0)).floor().max(4.0);
    let below = tile.map_or(0.0, |tile| tile.y + tile.size + grid.long(64.0));
    let (x, y) = (grid.x(design.left).round(), grid.y(row).max(below).round());
    Some(Bounds::new(x, y, x + count as f32 * square, y + square))
}

/// The chapters as one rank of squares: past ones dark, the coming one light with a pawn on it, the rest dimmed.
pub(super) fn paint_progress(
    frame: &mut Pixmap,
    progress: Option<(usize, usize)>,
    design: Design,
    tile: Option<SideTile>,
    kit: &mut Kit,
) {
    let place = progress_place(progress, design, tile, &kit.plan.cards);
    let (Some((current, count)), Some(Bounds { left: x, top: y, bottom, .. })) = (progress, place) else { return };
    let (square, theme) = (bottom - y, kit.theme);
    let gap = (square * 0.038).round().max(1.0);
    for chapter in 0..count {
        let at = x + chapter as f32 * square;
        let colour = match chapter.cmp(&current) {
            std::cmp::Ordering::Less => theme.dark_square,
            std::cmp::Ordering::Equal => theme.light_square,
            std::cmp::Ordering::Greater => theme.ground_centre.mix(theme.dark_square, 0.34),
        };
        let bounds = Bounds::new(at, y, at + square - 2.0 * gap, y + square - 2.0 * gap);
        kit::canvas(frame).rounded(bounds, square * 0.055, colour);
        let middle = at + square / 2.0 - gap;
        if chapter == current {
            let pawn = Piece { side: Side::Black, role: Role::Pawn };
            stand(frame, pawn, square - 2.0 * gap, at, y, theme, &mut kit.sprites);
        } else {
            let style = Style::moves(Font::Bold, square * 0.385);
            let colour = if chapter < current { theme.light.fill } else { theme.muted };
            let baseline = (y + square / 2.0 - gap + style.size * 0.36).round();
            let number = (chapter + 1).to_string();
            kit.typesetter.draw_centred(&mut kit::canvas(frame), &number, style, middle, baseline, colour);
        }
    }
}

/// A piece on a square of its own.
fn stand(frame: &mut Pixmap, piece: Piece, size: f32, x: f32, y: f32, theme: &Theme, sprites: &mut Sprites) {
    let sprite = sprites.sprite(piece, size, theme);
    kit::canvas(frame).picture(&sprite.pixmap, x.round() as i32 - sprite.pad, y.round() as i32 - sprite.pad);
}
