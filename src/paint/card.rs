//! Cards: title, chapter and end here, credits and positions in files of their own. Each is words on the ground, with a
//! piece drawn large, a rank of squares or a board beside them.

mod progress;
mod setting;

use super::brush::Bounds;
use super::end;
use super::kit::{self, Kit};
use super::layout::{CardFrame, Plan};
use super::plate::paint_card_plate;
use super::position::{self, paint_position_card};
use super::roll;
use super::text::Typesetter;
use super::theme::{PieceInk, Rgba, SquareFill, Theme};
use super::words::{SetLine, SetWords};
use crate::film::CardPicture;
use crate::timeline::CardKind;
use crate::units::Role;
use progress::{paint_progress, progress_place};
use setting::{design, set_words};
use tiny_skia::Pixmap;

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

/// The words of a card as they are set; refused are those that do not fit: too long for a line, or too many lines for
/// the card.
pub(super) fn card_words(card: &CardPicture, plan: &Plan, typesetter: &mut Typesetter) -> SetWords {
    match card.kind {
        CardKind::Position => return position::set_words(card, &plan.cards, typesetter),
        CardKind::Credits => return roll::set_words(card, &plan.cards, typesetter).0,
        CardKind::Title | CardKind::Chapter | CardKind::End => {}
    }
    let CardFrame { grid, clear, .. } = plan.cards;
    let design = design(card, &plan.cards);
    let mut words = set_words(card, design, grid, typesetter);
    let outside = |line: &SetLine| {
        line.baseline > grid.y(design.bottom) || line.baseline - line.style.size * 0.72 < grid.y(clear.top)
    };
    if words.lines.iter().any(outside) {
        words.refused.extend(card.second.clone().or_else(|| card.line.clone()));
    }
    words
}

/// The piece at the right, larger than the frame, in colours mixed from ground and dark square.
pub(super) fn paint_hero(frame: &mut Pixmap, role: Role, kit: &mut Kit) {
    let CardFrame { grid, is_wide, height, .. } = kit.plan.cards;
    let (left, top, size) = match (is_wide, height < 1400.0) {
        (true, _) => (1120.0, -30.0, 1160.0),
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
