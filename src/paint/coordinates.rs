//! File letters under the board and rank numbers at its left.

use super::board::BoardGeometry;
use super::canvas::Canvas;
use super::font::Font;
use super::text::{Style, Typesetter};
use super::theme::Theme;

/// Draws them, a quarter of a square high, centred on their files and ranks.
pub(super) fn paint_coordinates(
    canvas: &mut Canvas<'_>,
    board: BoardGeometry,
    theme: &Theme,
    typesetter: &mut Typesetter,
) {
    let BoardGeometry { x, y, square } = board;
    let style = Style::moves(Font::Semibold, square * 0.25);
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
