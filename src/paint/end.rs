//! What an end card has beside its words: the board that was left, the last moves under it, and the bays.

use super::board::{BoardGeometry, paint_board};
use super::brush::Bounds;
use super::card::paint_hero;
use super::coordinates::paint_coordinates;
use super::font::Font;
use super::kit::{self, Kit};
use super::layout::CardFrame;
use super::notation::numbered;
use super::text::Style;
use crate::film::{CardPicture, ListMove};
use tiny_skia::Pixmap;

/// Where the bays begin, in wide frames.
pub(super) const BAYS: f32 = 690.0;
/// The em of the last moves.
const MOVES: f32 = 44.0;
/// How tall a bay is for its width, and the gap between two, as a part of their width together.
const BAY_RATIO: f32 = 9.0 / 16.0;
const BAY_GAP: f32 = 16.0 / 912.0;

/// Where the board of an end card stands: left, top, square. A frame as tall as it is wide has no room for one.
pub(super) fn board(card: &CardPicture, frame: &CardFrame) -> Option<(f32, f32, f32)> {
    let clear = frame.clear;
    card.board.as_ref().filter(|_| frame.is_wide || clear.height() > 1.15 * clear.width())?;
    Some(if frame.is_wide {
        (136.0, 112.0, 80.0)
    } else {
        let square = ((clear.height() - 820.0 - moves_below(card)) / 8.5).min(clear.width() / 9.5).floor();
        (f32::midpoint(clear.left, clear.right) - 3.86 * square, clear.top + 0.2 * square, square)
    })
}

/// How much further the words below a board begin for the moves under it, on the design grid.
pub(super) fn moves_below(card: &CardPicture) -> f32 {
    if card.moves.is_empty() { 0.0 } else { MOVES + 20.0 }
}

/// Where the bays of an end card begin, for both together so wide.
pub(super) fn bays_top(frame: &CardFrame, width: f32) -> f32 {
    if frame.is_wide { BAYS } else { frame.clear.bottom - bay_width(width) * BAY_RATIO }
}

fn bay_width(both: f32) -> f32 {
    both * (1.0 - BAY_GAP) / 2.0
}

/// Paints the position left behind, and two empty bays for what the host lays over them. The words begin at `start` and
/// are `wide`, on the design grid.
pub(super) fn paint(frame: &mut Pixmap, card: &CardPicture, (start, wide): (f32, f32), kit: &mut Kit) {
    let (cards, theme) = (kit.plan.cards, kit.theme);
    let grid = cards.grid;
    match (&card.board, board(card, &cards)) {
        (Some(board), Some((x, y, square))) => {
            let geometry = BoardGeometry {
                x: grid.x(x).round(),
                y: grid.y(y).round(),
                square: grid.long(square).round().max(1.0),
            };
            paint_board(frame, geometry, theme, board, &mut kit.sprites);
            paint_coordinates(&mut kit::canvas(frame), geometry, grid.long(1.0), theme, &mut kit.typesetter);
            let left = geometry.x + 0.02 * geometry.square;
            // Below the coordinates, however small the squares are.
            let below = geometry.y + (9.2 * geometry.square).max(8.5 * geometry.square + grid.long(1.1 * MOVES));
            paint_moves(frame, &card.moves, (left, below), 8.0 * geometry.square, kit);
        }
        _ if cards.is_wide => paint_hero(frame, card.hero, kit),
        // The bays take its place.
        _ => {}
    }
    let both = if cards.is_wide { 912.0 } else { wide };
    let (width, top) = (bay_width(both), grid.y(bays_top(&cards, both)).round());
    for bay in 0..2 {
        let left = grid.x(start + bay as f32 * (width + both * BAY_GAP)).round();
        let right = left + grid.long(width).round();
        let bounds = Bounds::new(left, top, right, top + grid.long(width * BAY_RATIO).round());
        let radius = grid.long(14.0);
        let mut canvas = kit::canvas(frame);
        canvas.rounded(bounds, radius, theme.dark_square.fade(0.20));
        canvas.frame(bounds, radius, grid.long(2.5).max(1.0), theme.muted.fade(0.55));
    }
}

/// The last moves on one line, as large as the board is wide.
fn paint_moves(frame: &mut Pixmap, moves: &[ListMove], (x, baseline): (f32, f32), width: f32, kit: &mut Kit) {
    let words = moves.iter().enumerate().map(|(at, played)| numbered(played, at == 0, kit.notation));
    let text = words.collect::<Vec<_>>().join(" ");
    let style = Style::moves(Font::Medium, kit.plan.cards.grid.long(MOVES));
    let shrunk = (width / kit.typesetter.width(&text, style).max(1.0)).min(1.0);
    let style = style.at(style.size * shrunk);
    kit.typesetter.draw(&mut kit::canvas(frame), &text, style, x, baseline.round(), kit.theme.text);
}
