//! The head of a panel: kicker, title, credit, a hairline, the side that begins and its task. Other forms are in
//! [`super::band`].

use super::band::{set_lower, set_over};
use super::brush::Bounds;
use super::design::Form;
use super::fit::{Fitted, Rule};
use super::font::Font;
use super::layout::Plan;
use super::notation::prose;
use super::text::{Style, Typesetter};
use super::words::{Ink, Paragraph, SetWords, SideTile};
use crate::film::Head;

/// A head, set.
pub(super) struct SetHead {
    pub words: SetWords,
    /// The parts of the frame its words lie in, in pixels. They do not overlap.
    pub places: Vec<Bounds>,
    /// Where the moves go.
    pub moves: MovesPlace,
}

/// Where the moves go, and in which form.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum MovesPlace {
    /// A list of rows from here down.
    Rows(f32),
    /// One row of moves.
    Strip(Bounds),
    /// The last move alone, at the right.
    Chip(Bounds),
    /// Nowhere.
    Nowhere,
}

/// Sets a head as the plan's form has it.
pub(super) fn set_head(head: &Head, plan: &Plan, typesetter: &mut Typesetter) -> SetHead {
    match plan.form {
        Form::Panel => set_panel(head, plan, typesetter),
        Form::Line | Form::Stack => set_over(head, plan, typesetter),
        Form::Lower => set_lower(head, plan, typesetter),
        Form::Bare => SetHead { words: SetWords::default(), places: Vec::new(), moves: MovesPlace::Nowhere },
    }
}

/// From the foot of the head to the top of the list's first row, on the design grid.
const LIST_BELOW_HEAD: f32 = 21.0;

/// Sets a head at the top of the plan's panel. What it lacks leaves no gap.
fn set_panel(head: &Head, plan: &Plan, typesetter: &mut Typesetter) -> SetHead {
    let grid = plan.grid;
    let mut words = SetWords::default();
    // The baseline above what comes next.
    let mut above = grid.y(KICKER_BASELINE);
    words.add(typesetter, kicker(&head.kicker.to_uppercase(), plan), |_| above);
    let hair = grid.long(2.0);
    let title = prose(&head.title);
    // The serif's stems stand a little right of its origin; drawn back they line up with the sans above and below.
    let paragraph = title_paragraph(&title, plan);
    let paragraph = Paragraph { x: paragraph.x - grid.long(3.0), ..paragraph };
    if let Some(last) = add_below(&mut words, typesetter, paragraph, hair, |fitted| above + fitted.size * 1.02) {
        above = last;
    }
    let credit = prose(&head.credit);
    let first = above + grid.long(14.0);
    let paragraph = credit_paragraph(&credit, plan);
    if let Some(last) = add_below(&mut words, typesetter, paragraph, hair, |fitted| first + fitted.size * 1.22) {
        above = last;
    }
    if !words.lines.is_empty() {
        let thickness = grid.long(2.0).round().max(1.0);
        let y = (above + grid.long(26.0)).round();
        words.rules.push((plan.head.left, y, plan.head.width(), thickness));
        above = y + thickness;
    }
    let bottom = set_task(&mut words, head, above, plan, typesetter);
    let list = bottom + grid.long(LIST_BELOW_HEAD);
    // Down to the list's own part: descenders of the last line and the tile's edge lie within.
    let foot = (list - grid.long(4.0) - 2.0).floor();
    let air = grid.long(10.0);
    let place = Bounds::new(plan.head.left - air, 0.0, plan.head.right + air, foot);
    SetHead { words, places: vec![place], moves: MovesPlace::Rows(list) }
}

/// Adds a paragraph below those that are there; accents that would reach up to what hangs below them push it down.
/// Returns its last baseline.
fn add_below(
    words: &mut SetWords,
    typesetter: &mut Typesetter,
    paragraph: Paragraph<'_>,
    hair: f32,
    first: impl FnOnce(&Fitted) -> f32,
) -> Option<f32> {
    let foot = words.ink(0, typesetter).map_or(0.0, |(_, foot)| foot.ceil() + hair);
    let at = words.lines.len();
    let (last, _) = words.add(typesetter, paragraph, first)?;
    let (top, _) = words.ink(at, typesetter)?;
    let moved = (foot - top).max(0.0).ceil();
    words.lines[at..].iter_mut().for_each(|line| line.baseline += moved);
    Some(last + moved)
}

/// The words of the task: the author's, or who is to move.
pub(super) fn task_words(head: &Head) -> String {
    match head.side {
        Some(side) if head.task.trim().is_empty() => format!("{side} to move"),
        _ => prose(&head.task),
    }
}

/// The side tile and the task beside it, below `above`; returns where they end.
fn set_task(words: &mut SetWords, head: &Head, above: f32, plan: &Plan, typesetter: &mut Typesetter) -> f32 {
    let grid = plan.grid;
    let task = task_words(head);
    if task.trim().is_empty() {
        return above;
    }
    let top = (above + grid.long(20.0)).round();
    let tile = grid.long(TILE).round().max(1.0);
    let mut paragraph = task_paragraph(&task, plan);
    if let Some(side) = head.side {
        words.tile = Some(SideTile { x: plan.head.left.round(), y: top, size: tile, side });
    } else {
        paragraph = Paragraph { x: plan.head.left, width: plan.head.width(), ..paragraph };
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
fn kicker<'a>(text: &'a str, plan: &Plan) -> Paragraph<'a> {
    Paragraph {
        text,
        style: Style::prose(Font::Semibold, plan.type_sizes.kicker).tracked(0.13),
        rule: Rule::Task,
        ink: Ink::Accent,
        x: plan.head.left,
        width: plan.head.width(),
        leading: 1.2,
    }
}

/// A scene's title.
fn title_paragraph<'a>(text: &'a str, plan: &Plan) -> Paragraph<'a> {
    Paragraph {
        text,
        style: Style::prose(Font::SerifSemibold, plan.type_sizes.title).tracked(-0.004),
        rule: Rule::Display,
        ink: Ink::Text,
        x: plan.head.left,
        width: plan.head.width(),
        leading: 1.06,
    }
}

/// Author, source, year.
fn credit_paragraph<'a>(text: &'a str, plan: &Plan) -> Paragraph<'a> {
    Paragraph {
        text,
        style: Style::prose(Font::Medium, plan.type_sizes.credit),
        rule: Rule::Credit,
        ink: Ink::Muted,
        x: plan.head.left,
        width: plan.head.width(),
        leading: 1.22,
    }
}

/// The stipulation; its width is what the tile leaves.
fn task_paragraph<'a>(text: &'a str, plan: &Plan) -> Paragraph<'a> {
    let indent = plan.grid.long(TASK_INDENT);
    Paragraph {
        text,
        style: Style::prose(Font::Semibold, plan.type_sizes.task),
        rule: Rule::Task,
        ink: Ink::Text,
        x: plan.head.left + indent,
        width: plan.head.width() - indent,
        leading: 1.2,
    }
}
