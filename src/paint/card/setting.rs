//! The words of title, chapter and end cards: where they go, and how they are set one under the other.

use crate::film::CardPicture;
use crate::paint::end;
use crate::paint::fit::{Fitted, Rule};
use crate::paint::font::Font;
use crate::paint::layout::{CardFrame, Grid};
use crate::paint::notation::prose;
use crate::paint::text::{Style, Typesetter};
use crate::paint::words::{Ink, Paragraph, SetWords, SideTile};
use crate::timeline::CardKind;
use crate::units::Side;

/// Where a card's words go, on the design grid.
#[derive(Clone, Copy)]
pub(super) struct Design {
    pub(super) left: f32,
    pub(super) width: f32,
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
    pub(super) bottom: f32,
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
pub(super) fn design(card: &CardPicture, frame: &CardFrame) -> Design {
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

/// The words of a card, one under the other.
pub(super) fn set_words(card: &CardPicture, design: Design, grid: Grid, typesetter: &mut Typesetter) -> SetWords {
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
