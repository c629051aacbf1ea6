//! Cards: title, chapter and end here, credits and positions in files of their own. Each is words on the ground, with a
//! piece drawn large, a rank of squares or a board beside them.

use super::brush::Bounds;
use super::end;
use super::fit::{Fitted, Rule};
use super::font::Font;
use super::kit::{self, Kit};
use super::layout::{CardFrame, Grid, Plan};
use super::notation::prose;
use super::plate::paint_card_plate;
use super::position::{self, paint_position_card};
use super::roll;
use super::sprites::Sprites;
use super::text::{Style, Typesetter};
use super::theme::{PieceInk, Rgba, SquareFill, Theme};
use super::words::{Ink, Paragraph, SetLine, SetWords, SideTile};
use crate::film::CardPicture;
use crate::timeline::CardKind;
use crate::units::{Piece, Role, Side};
use tiny_skia::Pixmap;

/// Where a card's words go, on the design grid.
#[derive(Clone, Copy)]
struct Design {
    left: f32,
    width: f32,
    kicker: f32,
    title: f32,
    line: f32,
    second: f32,
    /// From the kicker's baseline to the first of the title, in ems of the title.
    drop: f32,
    /// From the title's last baseline to the line below it, beside one and a half of that line's em; in ems of the title.
    after: f32,
    /// Where the middle of the words lies; `None`: they begin with the kicker's baseline at the second value.
    middle: Option<f32>,
    top: f32,
    /// Where the words must end.
    bottom: f32,
    line_ink: Ink,
}

/// The last row of the title-safe frame, in wide frames.
const SAFE_BOTTOM: f32 = 1026.0;

const TITLE: Design = Design {
    left: 150.0,
    width: 1010.0,
    kicker: 34.0,
    title: 142.0,
    line: 48.0,
    second: 40.0,
    drop: 1.06,
    after: 0.30,
    middle: Some(566.0),
    top: 300.0,
    bottom: SAFE_BOTTOM,
    line_ink: Ink::Text,
};

const CHAPTER: Design =
    Design { width: 1500.0, title: 136.0, line: 50.0, middle: None, top: 290.0, line_ink: Ink::Muted, ..TITLE };

/// An end card with a board at its left.
const END: Design = Design {
    left: 912.0,
    width: 912.0,
    kicker: 30.0,
    title: 140.0,
    line: 42.0,
    second: 42.0,
    drop: 0.95,
    after: 0.08,
    middle: None,
    top: 126.0,
    bottom: end::BAYS - 24.0,
    line_ink: Ink::Muted,
};

/// An end card without one: words and bays at the left, the piece at the right.
const END_ALONE: Design = Design { left: 150.0, top: 180.0, width: 1010.0, ..END };

/// The figures for a card.
fn design(card: &CardPicture, frame: &CardFrame) -> Design {
    if !frame.is_wide {
        return narrow(card, frame);
    }
    match card.kind {
        CardKind::Chapter => CHAPTER,
        CardKind::End if card.board.is_some() => END,
        CardKind::End => END_ALONE,
        _ => TITLE,
    }
}

/// The figures for a frame that is not wide: words in the upper part, the piece or the bays below them.
fn narrow(card: &CardPicture, frame: &CardFrame) -> Design {
    let clear = frame.clear;
    let words = Design {
        left: clear.left + 26.0,
        width: clear.width() - 52.0,
        kicker: 32.0,
        title: 112.0,
        line: 46.0,
        second: 38.0,
        top: clear.top + 40.0,
        bottom: clear.bottom,
        middle: Some(clear.top + if frame.height < 1400.0 { 0.28 } else { 0.40 } * clear.height()),
        ..TITLE
    };
    match card.kind {
        CardKind::Chapter => {
            Design { middle: None, top: clear.top + 0.20 * clear.height(), line_ink: Ink::Muted, ..words }
        }
        CardKind::End => {
            let board =
                end::board(card, frame).map_or(clear.top, |(_, y, square)| y + 8.5 * square + end::moves_below(card));
            Design {
                title: 104.0,
                line: 42.0,
                second: 42.0,
                drop: 0.95,
                after: 0.08,
                middle: None,
                top: board + 64.0,
                bottom: end::bays_top(frame, clear.width() - 52.0) - 24.0,
                line_ink: Ink::Muted,
                ..words
            }
        }
        _ => words,
    }
}

/// Paints a card onto the bare ground.
pub(super) fn paint_card(frame: &mut Pixmap, card: &CardPicture, kit: &mut Kit) {
    // Boards, bays and a ring fill the frame; one plate for all of them is calmer than three.
    if matches!(card.kind, CardKind::Position | CardKind::End) {
        let CardFrame { grid, clear, .. } = kit.plan.cards;
        let reach = |at: f32, by: f32| at + by * PLATE_REACH;
        let (left, top) = (grid.x(reach(clear.left, -1.0)), grid.y(reach(clear.top, -1.0)));
        let (right, bottom) = (grid.x(reach(clear.right, 1.0)), grid.y(reach(clear.bottom, 1.0)));
        paint_card_plate(&mut kit::canvas(frame), Bounds::new(left, top, right, bottom), &kit.plan, kit.theme);
    }
    match card.kind {
        CardKind::Position => return paint_position_card(frame, card, kit),
        CardKind::Credits => return paint_credits(frame, card, kit),
        CardKind::Title | CardKind::Chapter | CardKind::End => {}
    }
    let design = design(card, &kit.plan.cards);
    let words = set_words(card, design, kit.plan.cards.grid, &mut kit.typesetter);
    if card.kind != CardKind::End {
        let rank = progress_place(card.progress, design, words.tile, &kit.plan.cards);
        stand_on_plate(frame, &words, rank, kit);
    }
    match card.kind {
        CardKind::Chapter => paint_progress(frame, card.progress, design, words.tile, kit),
        CardKind::End => end::paint(frame, card, (design.left, design.width), kit),
        _ => paint_hero(frame, card.hero, kit),
    }
    words.draw(&mut kit::canvas(frame), &mut kit.typesetter, &mut kit.sprites, kit.theme);
}

/// How far a card's plate reaches out of what it carries, on the design grid.
const PLATE_REACH: f32 = 34.0;

/// In an overlay, lays a plate under the words of a card, and under what else lies in `also`.
fn stand_on_plate(frame: &mut Pixmap, words: &SetWords, also: Option<Bounds>, kit: &mut Kit) {
    let all = [words.bounds(&mut kit.typesetter), also].into_iter().flatten();
    let around = |a: Bounds, b: Bounds| {
        Bounds::new(a.left.min(b.left), a.top.min(b.top), a.right.max(b.right), a.bottom.max(b.bottom))
    };
    let Some(carried) = all.reduce(around) else { return };
    let air = kit.plan.cards.grid.long(PLATE_REACH);
    let plate = Bounds::new(carried.left - air, carried.top - air, carried.right + air, carried.bottom + air);
    paint_card_plate(&mut kit::canvas(frame), plate, &kit.plan, kit.theme);
}

/// The credits, with the piece drawn large where there is room.
fn paint_credits(frame: &mut Pixmap, card: &CardPicture, kit: &mut Kit) {
    let (words, has_room) = roll::set_words(card, &kit.plan.cards, &mut kit.typesetter);
    stand_on_plate(frame, &words, None, kit);
    if has_room {
        paint_hero(frame, card.hero, kit);
    }
    words.draw(&mut kit::canvas(frame), &mut kit.typesetter, &mut kit.sprites, kit.theme);
}

/// The texts of a card that do not fit: too long for a line, or too many lines for the card.
pub(super) fn too_long(card: &CardPicture, plan: &Plan, typesetter: &mut Typesetter) -> Vec<String> {
    match card.kind {
        CardKind::Position => return position::set_words(card, &plan.cards, typesetter).refused,
        CardKind::Credits => return roll::set_words(card, &plan.cards, typesetter).0.refused,
        CardKind::Title | CardKind::Chapter | CardKind::End => {}
    }
    let CardFrame { grid, clear, .. } = plan.cards;
    let design = design(card, &plan.cards);
    let words = set_words(card, design, grid, typesetter);
    let mut refused = words.refused;
    let outside = |line: &SetLine| {
        line.baseline > grid.y(design.bottom) || line.baseline - line.style.size * 0.72 < grid.y(clear.top)
    };
    if words.lines.iter().any(outside) {
        refused.extend(card.second.clone().or_else(|| card.line.clone()));
    }
    refused
}

/// The words of a card, one under the other.
fn set_words(card: &CardPicture, design: Design, grid: Grid, typesetter: &mut Typesetter) -> SetWords {
    let mut words = SetWords::default();
    let mut baseline = grid.y(design.top);
    let title_text = prose(&card.title);
    let title = title_paragraph(&title_text, design, grid);
    match card.kicker.as_deref().filter(|text| !text.trim().is_empty()) {
        Some(text) => {
            words.add(typesetter, kicker_paragraph(&text.to_uppercase(), design, grid), |_| baseline);
            baseline += title.style.size * design.drop;
        }
        None => baseline += title.style.size * 0.5,
    }
    // A smaller title moves up with the tops of its capitals, not with its baseline.
    let first = |fitted: &Fitted| baseline - (title.style.size - fitted.size) * 0.66;
    if let Some((last, size)) = words.add(typesetter, title, first) {
        baseline = last + size * design.after;
    }
    let is_listing = card.kind == CardKind::End;
    for (text, ink, size) in lines(card, design) {
        if is_listing && let Some((label, value)) = label(text) {
            baseline = set_row(&mut words, label, value, baseline, design, grid, typesetter);
        } else {
            let text = prose(text);
            let paragraph = line_paragraph(&text, ink, size, design, grid);
            // Below a hairline a plain line needs air.
            let air = if words.rules.is_empty() { 0.0 } else { grid.long(30.0) };
            let last = words.add(typesetter, paragraph, |fitted| baseline + air + fitted.size * 1.5);
            baseline = last.map_or(baseline, |(last, _)| last);
        }
    }
    if let Some((task, side)) = &card.task {
        baseline = set_task(&mut words, task, *side, baseline, design, grid, typesetter);
    }
    if let Some(middle) = design.middle {
        let top = words.lines.first().map_or(baseline, |line| line.baseline - line.style.size * 0.72);
        words.shift(0.0, (grid.y(middle) - f32::midpoint(top, baseline)).round());
    }
    words
}

/// The smaller lines of a card, each line of the author's own by itself.
fn lines(card: &CardPicture, design: Design) -> impl Iterator<Item = (&str, Ink, f32)> {
    let first = card.line.as_deref().unwrap_or_default().lines().map(move |text| (text, design.line_ink, design.line));
    let second = card.second.as_deref().unwrap_or_default().lines().map(move |text| (text, Ink::Muted, design.second));
    first.chain(second).filter(|(text, ..)| !text.trim().is_empty())
}

/// A line of the form `Sources: Weekly Citizen, May 1895`, in two.
fn label(text: &str) -> Option<(&str, &str)> {
    let (label, value) = text.split_once(": ")?;
    let is_short = label.chars().count() <= 12 && label.split(' ').count() <= 2;
    (is_short && !value.trim().is_empty()).then_some((label.trim(), value.trim()))
}

/// A label and its value on one line over a hairline; returns the baseline from which the next line is measured.
fn set_row(
    words: &mut SetWords,
    label: &str,
    value: &str,
    above: f32,
    design: Design,
    grid: Grid,
    typesetter: &mut Typesetter,
) -> f32 {
    const PITCH: f32 = 74.0;
    const INDENT: f32 = 216.0;
    let is_first = words.rules.is_empty();
    let baseline = above + grid.long(if is_first { PITCH + 20.0 } else { PITCH });
    let label = Paragraph {
        text: label,
        style: Style::prose(Font::Semibold, grid.long(34.0)).tracked(0.02),
        rule: Rule::Task,
        ink: Ink::Accent,
        x: grid.x(design.left),
        width: grid.long(INDENT - 16.0),
        leading: 1.2,
    };
    words.add(typesetter, label, |_| baseline);
    let value = prose(value);
    let value = Paragraph {
        text: &value,
        style: Style::prose(Font::Medium, grid.long(42.0)),
        rule: Rule::Task,
        ink: Ink::Text,
        x: grid.x(design.left + INDENT),
        width: grid.long(design.width - INDENT),
        leading: 1.2,
    };
    words.add(typesetter, value, |_| baseline);
    let thickness = grid.long(2.0).round().max(1.0);
    let y = (baseline + grid.long(24.0)).round();
    words.rules.push((grid.x(design.left), y, grid.long(design.width), thickness));
    baseline
}

/// The tile and the task beside it; returns the tile's foot.
fn set_task(
    words: &mut SetWords,
    task: &str,
    side: Side,
    above: f32,
    design: Design,
    grid: Grid,
    typesetter: &mut Typesetter,
) -> f32 {
    const TILE: f32 = 80.0;
    const INDENT: f32 = 108.0;
    let (tile, top) = (grid.long(TILE).round().max(1.0), (above + grid.long(62.0)).round());
    words.tile = Some(SideTile { x: grid.x(design.left).round(), y: top, size: tile, side });
    let text = prose(task);
    let paragraph = Paragraph {
        text: &text,
        style: Style::prose(Font::Semibold, grid.long(46.0)),
        rule: Rule::Task,
        ink: Ink::Text,
        x: grid.x(design.left + INDENT),
        width: grid.long(design.width - INDENT),
        leading: 1.2,
    };
    words.add(typesetter, paragraph, |fitted| top + tile / 2.0 + fitted.size * 0.36);
    top + tile
}

fn kicker_paragraph(text: &str, design: Design, grid: Grid) -> Paragraph<'_> {
    Paragraph {
        text,
        style: Style::prose(Font::Semibold, grid.long(design.kicker)).tracked(0.13),
        rule: Rule::Task,
        ink: Ink::Accent,
        x: grid.x(design.left),
        width: grid.long(design.width),
        leading: 1.2,
    }
}

fn title_paragraph(text: &str, design: Design, grid: Grid) -> Paragraph<'_> {
    Paragraph {
        text,
        style: Style::prose(Font::SerifSemibold, grid.long(design.title)).tracked(-0.008),
        rule: Rule::Display,
        ink: Ink::Text,
        // Drawn back until its stems line up with the sans above and below.
        x: grid.x(design.left) - grid.long(design.title * 0.045),
        width: grid.long(design.width),
        leading: 1.08,
    }
}

fn line_paragraph(text: &str, ink: Ink, size: f32, design: Design, grid: Grid) -> Paragraph<'_> {
    Paragraph {
        text,
        style: Style::prose(Font::Medium, grid.long(size)),
        rule: Rule::Ordinary,
        ink,
        x: grid.x(design.left),
        width: grid.long(design.width),
        leading: 1.3,
    }
}

/// The piece at the right, larger than the frame, in colours mixed from ground and dark square.
pub(super) fn paint_hero(frame: &mut Pixmap, role: Role, kit: &mut Kit) {
    let CardFrame { grid, is_wide, height, .. } = kit.plan.cards;
    let (left, top, size) = match (is_wide, height < 1400.0) {
        (true, _) => (1010.0, -30.0, 1160.0),
        (false, true) => (450.0, height - 610.0, 700.0),
        (false, false) => (210.0, height - 890.0, 1000.0),
    };
    let size = grid.long(size).round().max(1.0);
    let sprite = kit.sprites.tinted(role, &hero_ink(kit.theme), size);
    let (x, y) = (grid.x(left).round() as i32, grid.y(top).round() as i32);
    kit::canvas(frame).picture(&sprite.pixmap, x - sprite.pad, y - sprite.pad);
}

fn hero_ink(theme: &Theme) -> PieceInk {
    let depth = match theme.square_fill {
        SquareFill::Flat => 0.3,
        SquareFill::Hatched => 0.0,
    };
    let outline = match theme.square_fill {
        SquareFill::Flat => theme.ground_edge.mix(Rgba::hex(0), depth),
        SquareFill::Hatched => theme.ground_centre.mix(theme.edge, 0.34),
    };
    PieceInk {
        fill: theme.ground_centre.mix(theme.dark_square, 0.30),
        shade: theme.ground_centre.mix(theme.dark_square, 0.14),
        outline,
        line: theme.accent.mix(theme.ground_centre, 0.12),
        is_dark: true,
    }
}

/// Where that rank of squares lies. Below the tile of a task, if there is one.
fn progress_place(
    progress: Option<(usize, usize)>,
    design: Design,
    tile: Option<SideTile>,
    frame: &CardFrame,
) -> Option<Bounds> {
    let (_, count) = progress.filter(|(_, count)| *count > 0)?;
    let CardFrame { grid, is_wide, clear, .. } = *frame;
    let (across, row) = if is_wide { (1620.0, 742.0) } else { (design.width, clear.top + 0.66 * clear.height()) };
    let square = grid.long((across / count as f32).min(104.0)).floor().max(4.0);
    let below = tile.map_or(0.0, |tile| tile.y + tile.size + grid.long(64.0));
    let (x, y) = (grid.x(design.left).round(), grid.y(row).max(below).round());
    Some(Bounds::new(x, y, x + count as f32 * square, y + square))
}

/// The chapters as one rank of squares: past ones dark, the coming one light with a pawn on it, the rest dimmed.
fn paint_progress(
    frame: &mut Pixmap,
    progress: Option<(usize, usize)>,
    design: Design,
    tile: Option<SideTile>,
    kit: &mut Kit,
) {
    let Some((current, count)) = progress.filter(|(_, count)| *count > 0) else { return };
    let Some(Bounds { left: x, top: y, bottom, .. }) = progress_place(progress, design, tile, &kit.plan.cards) else {
        return;
    };
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
