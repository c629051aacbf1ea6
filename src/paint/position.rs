//! The position card: the stipulation huge beside the board, and time to think.

use super::board::{BoardGeometry, paint_board};
use super::coordinates::paint_coordinates;
use super::fit::{Fitted, Rule};
use super::font::Font;
use super::kit::{self, Kit};
use super::layout::CardFrame;
use super::notation::prose;
use super::ring::RingPlace;
use super::text::{Style, Typesetter};
use super::words::{Ink, Paragraph, SetWords, SideTile};
use crate::film::CardPicture;
use tiny_skia::Pixmap;

/// Where the card's parts lie, in units of the card's grid.
struct Design {
    left: f32,
    right: f32,
    kicker: f32,
    /// Sizes of type: stipulation, credit, the words beside the tile, those beside the ring.
    sizes: [f32; 4],
    /// Middle and radius of the ring; the words beside it stand in its middle.
    ring: (f32, f32, f32),
    /// Where the words beside the ring begin.
    beside: f32,
}

/// The board of a wide frame: left, top, square.
const WIDE_BOARD: (f32, f32, f32) = (136.0, 61.0, 114.0);

// In two lines a display text is set at .88 of its size: 100 and 72 units here.
const WIDE: Design = Design {
    left: 1137.0,
    right: 1824.0,
    kicker: 111.0,
    sizes: [114.0, 40.0, 42.0, 82.0],
    ring: (1287.0, 784.0, 150.0),
    beside: 1484.0,
};

/// In other frames the words stand above the board and the ring below it.
fn design(frame: &CardFrame) -> Design {
    if frame.is_wide {
        return WIDE;
    }
    let clear = frame.clear;
    let tall = clear.height() > 1.15 * clear.width();
    let radius = if tall { 120.0 } else { 84.0 };
    let left = clear.left + 26.0;
    Design {
        left,
        right: clear.right - 26.0,
        kicker: clear.top + 40.0,
        sizes: if tall { [96.0, 38.0, 40.0, 78.0] } else { [72.0, 32.0, 34.0, 62.0] },
        ring: (left + radius, clear.bottom - radius, radius),
        beside: left + 2.0 * radius + 46.0,
    }
}

/// Where the ring lies, in pixels.
pub(super) fn ring_place(frame: &CardFrame) -> RingPlace {
    let (x, y, radius) = design(frame).ring;
    RingPlace { x: frame.grid.x(x), y: frame.grid.y(y), radius: frame.grid.long(radius) }
}

fn paragraph((x, width): (f32, f32), text: &str, style: Style, rule: Rule, ink: Ink) -> Paragraph<'_> {
    Paragraph { text, style, rule, ink, x, width, leading: 1.08 }
}

/// Sets the words of the card.
pub(super) fn set_words(card: &CardPicture, frame: &CardFrame, typesetter: &mut Typesetter) -> SetWords {
    set(card, frame, typesetter).0
}

/// The words of the card, and where those above a board end.
fn set(card: &CardPicture, frame: &CardFrame, typesetter: &mut Typesetter) -> (SetWords, f32) {
    let (grid, design) = (frame.grid, design(frame));
    let [title_size, credit_size, task_size, pause_size] = design.sizes.map(|size| grid.long(size));
    let mut words = SetWords::default();
    let column = (grid.x(design.left), grid.long(design.right - design.left));
    let mut baseline = grid.y(design.kicker);
    if let Some(kicker) = card.kicker.as_deref().filter(|text| !text.trim().is_empty()) {
        let text = kicker.to_uppercase();
        let style = Style::prose(Font::Semibold, grid.long(30.0)).tracked(0.13);
        words.add(typesetter, paragraph(column, &text, style, Rule::Task, Ink::Accent), |_| baseline);
    }
    let title = prose(&card.title);
    let style = Style::prose(Font::SerifSemibold, title_size).tracked(-0.008);
    let title = paragraph(column, &title, style, Rule::Display, Ink::Text);
    let title = Paragraph { x: column.0 - grid.long(4.0), ..title };
    let first = |fitted: &Fitted| baseline + grid.long(6.0) + fitted.size;
    if let Some((last, _)) = words.add(typesetter, title, first) {
        baseline = last;
    }
    if let Some(credit) = card.line.as_deref().filter(|text| !text.trim().is_empty()) {
        let text = prose(credit);
        let style = Style::prose(Font::Medium, credit_size);
        let credit = Paragraph { leading: 1.22, ..paragraph(column, &text, style, Rule::Credit, Ink::Muted) };
        if let Some((last, _)) = words.add(typesetter, credit, |_| baseline + credit_size * 1.75) {
            baseline = last;
        }
    }
    let mut rule = baseline;
    if frame.is_wide {
        rule = (baseline + grid.long(45.0)).round();
        words.rules.push((column.0, rule, column.1, grid.long(2.0).round().max(1.0)));
    }
    let mut end = rule;
    if let Some((task, side)) = &card.task {
        let (size, top) = ((task_size * 1.57).round().max(1.0), (rule + task_size * 0.8).round());
        words.tile = Some(SideTile { x: column.0.round(), y: top, size, side: *side });
        let text = prose(task);
        let indent = size + task_size * 0.52;
        let style = Style::prose(Font::Semibold, task_size);
        let task = paragraph((column.0 + indent, column.1 - indent), &text, style, Rule::Task, Ink::Text);
        words.add(typesetter, task, |fitted| top + size / 2.0 + fitted.size * 0.36);
        end = top + size;
    }
    if let Some(pause) = card.pause.as_deref().filter(|text| !text.trim().is_empty()) {
        let text = prose(pause);
        let x = grid.x(if card.ring.is_some() { design.beside } else { design.left });
        let style = Style::prose(Font::SerifSemibold, pause_size).tracked(-0.004);
        let pause = paragraph((x, grid.x(design.right) - x), &text, style, Rule::Display, Ink::Text);
        let middle = grid.y(design.ring.1);
        words.add(typesetter, pause, |fitted| {
            let lines = fitted.lines.len().max(1) as f32;
            middle - ((lines - 1.0) * 1.08 - 0.70) / 2.0 * fitted.size
        });
    }
    (words, end)
}

/// Where the board stands, below words that end at `end` where it is not beside them.
fn board_place(frame: &CardFrame, end: f32) -> BoardGeometry {
    let grid = frame.grid;
    if frame.is_wide {
        let (x, y, square) = WIDE_BOARD;
        let square = grid.long(square).round().max(1.0);
        return BoardGeometry { x: grid.x(x).round(), y: grid.y(y).round(), square };
    }
    let (clear, ring) = (frame.clear, design(frame).ring);
    // Half a square for the coordinates, as much for the edge and the air on the other sides.
    let room = grid.y(ring.1 - ring.2) - grid.long(24.0) - end;
    let square = (room / 9.0).min(grid.long(clear.width()) / 8.8).floor().max(1.0);
    let x = grid.x(f32::midpoint(clear.left, clear.right)) - 3.8 * square;
    BoardGeometry { x: x.round(), y: (end + 0.36 * square).round(), square }
}

/// Paints the card but for its ring.
pub(super) fn paint_position_card(frame: &mut Pixmap, card: &CardPicture, kit: &mut Kit) {
    let cards = kit.plan.cards;
    let (words, end) = set(card, &cards, &mut kit.typesetter);
    if let Some(board) = &card.board {
        let geometry = board_place(&cards, end);
        paint_board(frame, geometry, kit.theme, board, &mut kit.sprites);
        let unit = kit.plan.cards.grid.long(1.0);
        paint_coordinates(&mut kit::canvas(frame), geometry, unit, kit.theme, &mut kit.typesetter);
    }
    words.draw(&mut kit::canvas(frame), &mut kit.typesetter, &mut kit.sprites, kit.theme);
}
