//! File letters under the board and rank numbers at its left.

use super::board::BoardGeometry;
use super::canvas::Canvas;
use super::font::Font;
use super::text::{Style, Typesetter};
use super::theme::Theme;

/// How large they are: a quarter of a square, but not under this size on the design grid unless that is over a third.
const SHARE: f32 = 0.25;
const LEAST: f32 = 24.0;
const MOST: f32 = 0.34;

/// Draws them, centred on their files and ranks. `unit` is the design grid's, in pixels.
pub(super) fn paint_coordinates(
    canvas: &mut Canvas<'_>,
    board: BoardGeometry,
    unit: f32,
    theme: &Theme,
    typesetter: &mut Typesetter,
) {
    let BoardGeometry { x, y, square } = board;
    let style = Style::moves(Font::Semibold, (square * SHARE).max((LEAST * unit).min(square * MOST)));
    let colour = theme.coordinates;
    for i in 0..8u8 {
        let middle = (f32::from(i) + 0.5) * square;
        let file = char::from(b'a' + i).to_string();
        let below = (y + 8.35 * square).round();
        typesetter.draw_centred(canvas, &file, style, x + middle, below, colour);
        let rank = char::from(b'8' - i).to_string();
        // Figures are as tall as capitals, .72 em, and stand centred on the rank.
        let baseline = (y + middle + style.size * 0.36).round();
        typesetter.draw_centred(canvas, &rank, style, x - 0.27 * square, baseline, colour);
    }
}
