//! Heads that are not panels: over the board, with task and moves in a row below them; and in a box under the board, with
//! kicker and credit apart.

use super::brush::Bounds;
use super::design::Form;
use super::fit::Rule;
use super::font::Font;
use super::head::{MovesPlace, SetHead, task_words};
use super::layout::Plan;
use super::notation::prose;
use super::text::{Style, Typesetter};
use super::words::{Ink, Paragraph, SetWords, SideTile};
use crate::film::Head;

const TITLE_LEADING: f32 = 1.04;
const SMALL_LEADING: f32 = 1.2;
/// How far letters reach below their baseline, in ems: Vollkorn's, then Lato's.
const SERIF_FOOT: f32 = 0.27;
const SANS_FOOT: f32 = 0.22;

/// Over the board. In a line: title and credit side by side, below them a row with the task at the left, the moves at the
/// right. In a stack: task, title and credit one under the other; the moves have their row below the board.
pub(super) fn set_over(head: &Head, plan: &Plan, typesetter: &mut Typesetter) -> SetHead {
    let mut words = SetWords::default();
    let (row, air) = (plan.row, plan.grid.long(10.0));
    let above = Bounds::new(plan.head.left - air, plan.head.top - air, plan.head.right + air, plan.head.bottom);
    if plan.form == Form::Stack {
        set_stack(&mut words, head, plan, typesetter);
        return SetHead { words, places: vec![above], moves: MovesPlace::Strip(row) };
    }
    set_line(&mut words, head, plan, typesetter);
    let left = set_row_task(&mut words, head, plan, typesetter);
    let above = Bounds { bottom: row.top.floor(), ..above };
    let task = Bounds::new(row.left - air, row.top.floor(), (left - air).round(), row.bottom);
    let moves = MovesPlace::Strip(Bounds::new(left, row.top, row.right, row.bottom));
    SetHead { words, places: vec![above, task], moves }
}

/// Title left, credit right, their last baselines level.
fn set_line(words: &mut SetWords, head: &Head, plan: &Plan, typesetter: &mut Typesetter) {
    let place = plan.head;
    let title = prose(&head.title);
    let credit = prose(&head.credit);
    let gap = plan.grid.long(36.0);
    let style = credit_style(plan);
    // The credit takes what it needs, but leaves the title three fifths.
    let room = if credit.trim().is_empty() {
        0.0
    } else {
        let most = if title.trim().is_empty() { place.width() } else { place.width() * 0.4 };
        (typesetter.width(credit.trim(), style) + 1.0).min(most)
    };
    let foot = place.bottom - SERIF_FOOT * plan.type_sizes.title * 0.8;
    let width = if room > 0.0 { place.width() - room - gap } else { place.width() };
    let height = foot - place.top;
    let rows = (place.top, plan.row.top);
    add_up(words, typesetter, title_in(&title, place.left, width, height, plan), rows, foot);
    let rule = Rule::Within { height, least: 0.5, leading: SMALL_LEADING };
    let paragraph = Paragraph { rule, x: place.right - room, width: room, ..small(&credit, style, Ink::Muted, place) };
    let first = words.lines.len();
    add_up(words, typesetter, paragraph, rows, foot);
    for line in &mut words.lines[first..] {
        line.x = place.right - typesetter.width(&line.text, line.style);
    }
}

/// Tile and task in capitals, title and credit, one under the other; what is short leaves its room at the top.
fn set_stack(words: &mut SetWords, head: &Head, plan: &Plan, typesetter: &mut Typesetter) {
    let place = plan.head;
    let sizes = plan.type_sizes;
    let credit = prose(&head.credit);
    let rule = Rule::Within { height: 1.9 * sizes.credit, least: 0.6, leading: SMALL_LEADING };
    let paragraph = Paragraph { rule, ..small(&credit, credit_style(plan), Ink::Muted, place) };
    let foot = place.bottom - plan.grid.long(4.0) - SANS_FOOT * sizes.credit;
    let hair = plan.grid.long(2.0);
    let (capitals, ink) =
        add_up(words, typesetter, paragraph, (place.top, place.bottom), foot).unwrap_or((place.bottom, place.bottom));
    let tile = (1.6 * sizes.kicker).round().max(1.0);
    let title = prose(&head.title);
    let foot = capitals - plan.grid.long(14.0) - SERIF_FOOT * sizes.title * 0.7;
    let room = (foot - place.top - tile - plan.grid.long(18.0)).min(1.75 * sizes.title);
    let title = title_in(&title, place.left, place.width(), room, plan);
    let rows = (place.top + tile + plan.grid.long(10.0), ink - hair);
    let (capitals, ink) = add_up(words, typesetter, title, rows, foot).unwrap_or((capitals, ink));
    let task = task_words(head).to_uppercase();
    if task.trim().is_empty() {
        return;
    }
    let middle = (capitals - plan.grid.long(16.0)).min(ink - plan.grid.long(6.0)) - tile / 2.0;
    let mut left = place.left;
    if let Some(side) = head.side {
        words.tile = Some(SideTile { x: left.round(), y: (middle - tile / 2.0).round(), size: tile, side });
        left += tile + plan.grid.long(16.0);
    }
    add_middle(words, typesetter, kicker_in(&task, Bounds { left, ..place }, plan), (place.top, ink - hair), middle);
}

/// The tile of the side that begins, the task beside it; returns where the moves may begin.
fn set_row_task(words: &mut SetWords, head: &Head, plan: &Plan, typesetter: &mut Typesetter) -> f32 {
    /// What the task may take of the row, the rest being for the moves.
    const MOST: f32 = 0.54;
    let row = plan.row;
    let task = task_words(head);
    if task.trim().is_empty() {
        return row.left;
    }
    let size = (row.height() * 0.94).round().max(1.0);
    let mut left = row.left;
    if let Some(side) = head.side {
        let y = (row.top + (row.height() - size) / 2.0).round();
        words.tile = Some(SideTile { x: left.round(), y, size, side });
        left += size + plan.grid.long(16.0);
    }
    let style = Style::prose(Font::Semibold, plan.type_sizes.task);
    let rule = Rule::Within { height: row.height() * 1.05, least: 0.55, leading: 1.1 };
    let width = row.left + MOST * row.width() - left;
    let paragraph = Paragraph { rule, width, x: left, ..small(&task, style, Ink::Text, row) };
    let first = words.lines.len();
    add_middle(words, typesetter, paragraph, (row.top, row.bottom), f32::midpoint(row.top, row.bottom));
    let end = words.lines[first..].iter().map(|line| line.x + typesetter.width(&line.text, line.style));
    end.fold(left, f32::max) + plan.grid.long(34.0)
}

/// In a box under the board: the title; the move at its right, the caption below it. Kicker and credit stand apart.
pub(super) fn set_lower(head: &Head, plan: &Plan, typesetter: &mut Typesetter) -> SetHead {
    let mut words = SetWords::default();
    let place = plan.head;
    let title = prose(&head.title);
    let paragraph = title_in(&title, place.left, place.width(), place.height(), plan);
    add_middle(&mut words, typesetter, paragraph, (place.top, place.bottom), f32::midpoint(place.top, place.bottom));
    let aside = plan.aside;
    let (hair, rows) = (plan.grid.long(2.0), (aside.top, aside.bottom));
    let kicker = head.kicker.to_uppercase();
    let credit = prose(&head.credit);
    let is_beside = aside.height() > aside.width() * 0.8;
    let style = credit_style(plan);
    if is_beside {
        // A narrow column beside the board, from the top down.
        let rule = Rule::Within { height: 5.0 * plan.type_sizes.kicker, least: 0.7, leading: 1.3 };
        let first = aside.top + 1.3 * plan.type_sizes.kicker;
        let paragraph = Paragraph { rule, leading: 1.3, ..kicker_in(&kicker, aside, plan) };
        let at = words.lines.len();
        let last = words.add_within(typesetter, paragraph, rows, |_| first);
        let below = last.map_or(aside.top, |(last, _)| last + plan.grid.long(8.0));
        let ink = words.ink(at, typesetter).map_or(aside.top, |(_, foot)| foot + hair);
        let rule = Rule::Within { height: aside.bottom - below, least: 0.6, leading: 1.28 };
        let paragraph = Paragraph { rule, leading: 1.28, ..small(&credit, style, Ink::Muted, aside) };
        words.add_within(typesetter, paragraph, (ink, aside.bottom), |fitted| below + fitted.size * 1.15);
    } else if aside.height() > 2.2 * style.size {
        let foot = aside.bottom - SANS_FOOT * style.size;
        let rule = Rule::Within { height: aside.height() * 0.6, least: 0.6, leading: SMALL_LEADING };
        let paragraph = Paragraph { rule, ..small(&credit, style, Ink::Muted, aside) };
        let (capitals, ink) =
            add_up(&mut words, typesetter, paragraph, rows, foot).unwrap_or((aside.bottom, aside.bottom));
        let paragraph = kicker_in(&kicker, Bounds { top: aside.top, ..aside }, plan);
        add_up(&mut words, typesetter, paragraph, (aside.top, ink - hair), capitals - plan.grid.long(16.0));
    } else {
        set_aside_line(&mut words, &kicker, &credit, plan, typesetter);
    }
    let air = plan.grid.long(10.0);
    let title = Bounds::new(place.left - air, place.top, place.right + air, place.bottom);
    let aside = Bounds::new(aside.left - air, aside.top - air, aside.right + air, aside.bottom);
    SetHead { words, places: vec![title, aside], moves: MovesPlace::Chip(plan.row) }
}

/// Kicker left, credit right, in one line over the board.
fn set_aside_line(words: &mut SetWords, kicker: &str, credit: &str, plan: &Plan, typesetter: &mut Typesetter) {
    let aside = plan.aside;
    let style = credit_style(plan);
    let middle = f32::midpoint(aside.top, aside.bottom);
    let share = if credit.trim().is_empty() { 1.0 } else { 0.46 };
    let paragraph = kicker_in(kicker, Bounds { right: aside.left + share * aside.width(), ..aside }, plan);
    let rows = (aside.top, aside.bottom);
    add_middle(words, typesetter, paragraph, rows, middle);
    let room = if kicker.trim().is_empty() { aside.width() } else { 0.5 * aside.width() };
    let rule = Rule::Within { height: aside.height(), least: 0.5, leading: SMALL_LEADING };
    let paragraph = Paragraph { rule, width: room, ..small(credit, style, Ink::Muted, aside) };
    let first = words.lines.len();
    add_middle(words, typesetter, paragraph, rows, middle);
    for line in &mut words.lines[first..] {
        line.x = aside.right - typesetter.width(&line.text, line.style);
    }
}

/// The tile and the task where a caption would stand, while there is none.
pub(super) fn set_idle(head: &Head, plan: &Plan, typesetter: &mut Typesetter) -> SetWords {
    let mut words = SetWords::default();
    let place = plan.caption.place;
    let task = task_words(head);
    if task.trim().is_empty() {
        return words;
    }
    let middle = f32::midpoint(place.top, place.bottom);
    let size = (1.36 * plan.caption.em).round().max(1.0);
    let mut left = place.left;
    if let Some(side) = head.side {
        words.tile = Some(SideTile { x: left.round(), y: (middle - size / 2.0).round(), size, side });
        left += size + plan.grid.long(18.0);
    }
    let style = Style::prose(Font::Semibold, plan.type_sizes.task);
    let rule = Rule::Within { height: place.height(), least: 0.6, leading: 1.2 };
    let paragraph = Paragraph { rule, x: left, width: place.right - left, ..small(&task, style, Ink::Text, place) };
    add_middle(&mut words, typesetter, paragraph, (place.top, place.bottom), middle);
    words
}

fn credit_style(plan: &Plan) -> Style {
    Style::prose(Font::Medium, plan.type_sizes.credit)
}

/// A paragraph as wide as its place.
fn small(text: &str, style: Style, ink: Ink, place: Bounds) -> Paragraph<'_> {
    Paragraph { text, style, rule: Rule::Task, ink, x: place.left, width: place.width(), leading: SMALL_LEADING }
}

fn kicker_in<'a>(text: &'a str, place: Bounds, plan: &Plan) -> Paragraph<'a> {
    let style = Style::prose(Font::Semibold, plan.type_sizes.kicker).tracked(0.13);
    let rule = Rule::Within { height: 1.2 * style.size, least: 0.5, leading: 1.2 };
    Paragraph { rule, ..small(text, style, Ink::Accent, place) }
}

fn title_in<'a>(text: &'a str, left: f32, width: f32, height: f32, plan: &Plan) -> Paragraph<'a> {
    Paragraph {
        text,
        style: Style::prose(Font::SerifSemibold, plan.type_sizes.title).tracked(-0.004),
        rule: Rule::Within { height, least: 0.28, leading: TITLE_LEADING },
        ink: Ink::Text,
        // The serif's stems stand a little right of its origin; drawn back they line up with the sans below.
        x: left - plan.type_sizes.title * 0.035,
        width,
        leading: TITLE_LEADING,
    }
}

/// Adds a paragraph whose last baseline is given, within rows that it may not leave; returns the tops of its first line's
/// capitals and of its ink.
fn add_up(
    words: &mut SetWords,
    typesetter: &mut Typesetter,
    paragraph: Paragraph<'_>,
    rows: (f32, f32),
    last: f32,
) -> Option<(f32, f32)> {
    let leading = paragraph.leading;
    let first = words.lines.len();
    let (_, size) = words.add_within(typesetter, paragraph, rows, |fitted| {
        last - fitted.size * leading * fitted.lines.len().saturating_sub(1) as f32
    })?;
    let (ink, _) = words.ink(first, typesetter)?;
    Some((words.lines[first].baseline - 0.74 * size, ink))
}

/// Adds a paragraph centred on a row by the height of its capitals, within rows that it may not leave.
fn add_middle(
    words: &mut SetWords,
    typesetter: &mut Typesetter,
    paragraph: Paragraph<'_>,
    rows: (f32, f32),
    middle: f32,
) {
    let leading = paragraph.leading;
    words.add_within(typesetter, paragraph, rows, |fitted| {
        let lines = fitted.lines.len().saturating_sub(1) as f32;
        middle + fitted.size * 0.35 - fitted.size * leading * lines / 2.0
    });
}
