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

/// Sets a head at the top of the plan's panel. What it lacks leaves no gap.
pub(super) fn set_head(head: &Head, plan: &Plan, typesetter: &mut Typesetter) -> SetHead {
    let grid = plan.grid;
    let mut words = SetWords::default();
    // The baseline above what comes next.
    let mut above = grid.y(KICKER_BASELINE);
    words.add(typesetter, kicker(&head.kicker.to_uppercase(), plan), |_| above);
    let title = prose(&head.title);
    // The serif's stems stand a little right of its origin; drawn back they line up with the sans above and below.
    let paragraph = title_paragraph(&title, plan);
    let paragraph = Paragraph { x: paragraph.x - grid.long(3.0), ..paragraph };
    if let Some((last, _)) = words.add(typesetter, paragraph, |fitted| above + fitted.size * 1.02) {
        above = last;
    }
    let credit = prose(&head.credit);
    let first = above + grid.long(14.0);
    if let Some((last, _)) = words.add(typesetter, credit_paragraph(&credit, plan), |f| first + f.size * 1.22) {
        above = last;
    }
    if !words.lines.is_empty() {
        let thickness = grid.long(2.0).round().max(1.0);
        let y = (above + grid.long(26.0)).round();
        words.rules.push((plan.panel.left, y, plan.panel.width(), thickness));
        above = y + thickness;
    }
    let bottom = set_task(&mut words, head, above, plan, typesetter);
    SetHead { words, bottom }
}

/// The side tile and the task beside it, below `above`; returns where they end.
fn set_task(words: &mut SetWords, head: &Head, above: f32, plan: &Plan, typesetter: &mut Typesetter) -> f32 {
    let grid = plan.grid;
    let task = match head.side {
        Some(side) if head.task.trim().is_empty() => format!("{side} to move"),
        _ => prose(&head.task),
    };
    if task.trim().is_empty() {
        return above;
    }
    let top = (above + grid.long(20.0)).round();
    let tile = grid.long(TILE).round().max(1.0);
    let mut paragraph = task_paragraph(&task, plan);
    if let Some(side) = head.side {
        words.tile = Some(SideTile { x: plan.panel.left.round(), y: top, size: tile, side });
    } else {
        paragraph = Paragraph { x: plan.panel.left, width: plan.panel.width(), ..paragraph };
    }
    // Centred on the tile by the height of its capitals, .72 em in Lato.
    words.add(typesetter, paragraph, |fitted| top + tile / 2.0 + fitted.size * 0.36);
    top + tile
}

/// The first baseline of a panel.
const KICKER_BASELINE: f32 = 88.0;
/// The side tile and where the words beside it begin; the move list keeps to the same two edges.
pub(super) const TILE: f32 = 66.0;
pub(super) const TASK_INDENT: f32 = 88.0;

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
