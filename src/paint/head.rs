//! The head of a scene: kicker, title, credit, a hairline, the side that begins and its task.

use super::fit::Rule;
use super::font::Font;
use super::layout::Plan;
use super::notation::prose;
use super::text::{Style, Typesetter};
use super::words::{Ink, Paragraph, SetWords, SideTile};
use crate::film::Head;

/// A head, set, and where the list below it may begin.
pub(super) struct SetHead {
    pub words: SetWords,
    pub bottom: f32,
}

/// Sets a head at the top of the plan's panel.
pub(super) fn set_head(head: &Head, plan: &Plan, typesetter: &mut Typesetter) -> SetHead {
    let grid = plan.grid;
    let (x, width) = (plan.panel.left, plan.panel.width());
    let mut words = SetWords::default();
    let mut y = grid.y(KICKER_BASELINE);
    let mut bottom = grid.y(KICKER_BASELINE) - grid.long(26.0);
    if !head.kicker.trim().is_empty() {
        words.add(typesetter, kicker(&head.kicker, plan), |_| y);
        bottom = y;
    }
    let title = prose(&head.title);
    // The serif's stems stand a little right of its origin; drawn back they line up with the sans above and below.
    let paragraph = Paragraph { x: x - grid.long(3.0), ..title_paragraph(&title, plan) };
    if let Some((last, size)) = words.add(typesetter, paragraph, |fitted| y + fitted.size * 1.02) {
        y = last;
        bottom = last + size * 0.12;
    }
    let credit = prose(&head.credit);
    let first = y + grid.long(14.0);
    if let Some((last, _)) = words.add(typesetter, credit_paragraph(&credit, plan), |f| first + f.size * 1.22) {
        y = last;
        bottom = last + grid.long(4.0);
    }
    let task = prose(&head.task);
    if task.trim().is_empty() && head.side.is_none() {
        if !words.lines.is_empty() {
            bottom = hairline(&mut words, plan, y.max(bottom - grid.long(4.0)) + grid.long(26.0));
        }
        return SetHead { words, bottom: bottom + grid.long(8.0) };
    }
    let rule = hairline(&mut words, plan, y.max(bottom - grid.long(4.0)) + grid.long(26.0));
    let tile_top = (rule + grid.long(20.0)).round();
    let tile = grid.long(TILE).round().max(1.0);
    if let Some(side) = head.side {
        words.tile = Some(SideTile { x: x.round(), y: tile_top, size: tile, side });
    }
    let indent = if head.side.is_some() { grid.long(TASK_INDENT) } else { 0.0 };
    let paragraph = Paragraph { x: x + indent, width: width - indent, ..task_paragraph(&task, plan) };
    // Centred on the tile by the height of its capitals, .72 em in Lato.
    words.add(typesetter, paragraph, |fitted| tile_top + tile / 2.0 + fitted.size * 0.36);
    SetHead { words, bottom: tile_top + tile }
}

/// The first baseline of a panel.
const KICKER_BASELINE: f32 = 88.0;
/// The side tile and where the words beside it begin; the move list keeps to the same two edges.
pub(super) const TILE: f32 = 66.0;
pub(super) const TASK_INDENT: f32 = 88.0;

fn hairline(words: &mut SetWords, plan: &Plan, y: f32) -> f32 {
    let thickness = plan.grid.long(2.0).round().max(1.0);
    words.rules.push((plan.panel.left, y.round(), plan.panel.width(), thickness));
    y.round() + thickness
}

/// Small capitals would need a font of their own: capitals, spaced.
pub(super) fn kicker<'a>(text: &'a str, plan: &Plan) -> Paragraph<'a> {
    Paragraph {
        text,
        style: Style::prose(Font::Semibold, plan.grid.long(26.0)).tracked(0.13),
        rule: Rule::Task,
        ink: Ink::Accent,
        x: plan.panel.left,
        width: plan.panel.width(),
        leading: 1.2,
    }
}

/// A scene's title.
pub(super) fn title_paragraph<'a>(text: &'a str, plan: &Plan) -> Paragraph<'a> {
    Paragraph {
        text,
        style: Style::prose(Font::SerifSemibold, plan.grid.long(84.0)).tracked(-0.004),
        rule: Rule::Display,
        ink: Ink::Text,
        x: plan.panel.left,
        width: plan.panel.width(),
        leading: 1.06,
    }
}

/// Author, source, year.
pub(super) fn credit_paragraph<'a>(text: &'a str, plan: &Plan) -> Paragraph<'a> {
    Paragraph {
        text,
        style: Style::prose(Font::Medium, plan.grid.long(36.0)),
        rule: Rule::Credit,
        ink: Ink::Muted,
        x: plan.panel.left,
        width: plan.panel.width(),
        leading: 1.22,
    }
}

/// The stipulation; its width is what the tile leaves.
pub(super) fn task_paragraph<'a>(text: &'a str, plan: &Plan) -> Paragraph<'a> {
    let indent = plan.grid.long(TASK_INDENT);
    Paragraph {
        text,
        style: Style::prose(Font::Semibold, plan.grid.long(44.0)),
        rule: Rule::Task,
        ink: Ink::Text,
        x: plan.panel.left + indent,
        width: plan.panel.width() - indent,
        leading: 1.2,
    }
}
