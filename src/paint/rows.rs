//! The rows of a panel's move list: their measures, the running text of a try, and how they are drawn.

use super::brush::Bounds;
use super::canvas::Canvas;
use super::font::Font;
use super::head::{TASK_INDENT, TILE};
use super::layout::Plan;
use super::list::{Block, SetList, Tone};
use super::text::{Style, Typesetter};
use super::theme::Theme;

/// A move of White's and its answer.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    pub number: String,
    /// Whether neither move has been played.
    pub is_ahead: bool,
    pub cells: [Option<(String, Tone)>; 2],
}

/// A try in running text.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct TryBlock {
    /// What it is: `TRY`, or `OR` for another way and for a try that branches off from a try.
    pub label: String,
    /// 0 for a try, 1 for one that branches off from a try.
    pub level: usize,
    pub is_playing: bool,
    pub lines: Vec<Vec<Word>>,
}

/// A move or a verdict at its place in the frame, in pixels from the left.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Word {
    pub text: String,
    pub tone: Tone,
    pub x: f32,
}

/// A try has at most this many lines; one that is longer leaves out what is neither its start nor near its end.
const MOST_LINES: usize = 3;

/// The em of moves, and the pitch of their rows, on the design grid.
const SIZE: f32 = 42.0;
const PITCH: f32 = 62.0;
/// Where the baseline lies in a row.
const BASELINE: f32 = 45.0;
/// From White's moves to Black's.
const SECOND_COLUMN: f32 = 290.0;
/// Move numbers, tries, their labels and the fold line, in parts of the moves' size.
const NUMBER_SIZE: f32 = 0.8;
const TRY_SIZE: f32 = 0.78;
const LABEL_SIZE: f32 = 0.72;
const FOLD_SIZE: f32 = 0.72;
/// A deeper try is this much further in, in ems.
const TRY_STEP: f32 = 0.9;
/// From the rule of a try to its words, and between two words, in ems of the try.
const TRY_INDENT: f32 = 0.66;
const WORD_SPACE: f32 = 0.42;
/// A chip reaches this far round its move, in ems: aside, above and below the baseline; its corners' radius.
pub(super) const CHIP_ASIDE: f32 = 0.32;
pub(super) const CHIP_ABOVE: f32 = 1.13;
pub(super) const CHIP_BELOW: f32 = 0.31;
const CHIP_RADIUS: f32 = 0.2;

/// What the figures above are measured in: a pixel of the design, less where a narrow panel has smaller moves.
fn unit(plan: &Plan) -> f32 {
    plan.type_sizes.moves / SIZE
}

/// Measures and sets blocks for a plan.
pub(super) struct Setter<'a> {
    unit: f32,
    left: f32,
    right: f32,
    typesetter: &'a mut Typesetter,
}

impl<'a> Setter<'a> {
    /// A setter for the list of a plan.
    pub fn new(plan: &Plan, typesetter: &'a mut Typesetter) -> Setter<'a> {
        let left = plan.head.left + plan.grid.long(TASK_INDENT);
        Setter { unit: unit(plan), left, right: plan.head.right, typesetter }
    }

    /// How tall a block is.
    pub fn height(&self, block: &Block) -> f32 {
        match block {
            Block::Fold(_) => self.fold_height(),
            Block::Row(_) => self.row_height(),
            Block::Try(block) => self.try_height(block.lines.len()),
        }
    }

    /// How tall the fold line is.
    pub fn fold_height(&self) -> f32 {
        self.unit * PITCH * 0.92
    }

    /// How tall a row is.
    pub fn row_height(&self) -> f32 {
        self.unit * PITCH
    }

    /// How tall a try of so many lines is.
    pub fn try_height(&self, lines: usize) -> f32 {
        self.unit * (PITCH * (0.94 + TRY_SIZE * lines.saturating_sub(1) as f32))
    }

    /// Whether the words of a fold line have room in the list's width.
    pub fn holds_fold(&mut self, text: &str) -> bool {
        self.typesetter.width(text, fold_style(SIZE * self.unit)) <= self.right - self.left
    }

    /// Sets a try's words in lines; `lit` is the index of the current move among them.
    pub fn set_try(&mut self, words: &[(String, Tone)], label: &str, level: usize, lit: Option<usize>) -> TryBlock {
        let mut block = TryBlock { label: label.to_owned(), level, is_playing: lit.is_some(), lines: Vec::new() };
        block.lines = self.break_words(words, &block);
        let keep = lit.unwrap_or(words.len()).max(2);
        let mut from = 2;
        while block.lines.len() > MOST_LINES && from <= keep && from < words.len() {
            let mut shorter = vec![words[0].clone(), ("…".to_owned(), words[1].1)];
            shorter.extend_from_slice(&words[from..]);
            block.lines = self.break_words(&shorter, &block);
            from += 1;
        }
        block.lines.truncate(MOST_LINES);
        block
    }

    fn break_words(&mut self, words: &[(String, Tone)], block: &TryBlock) -> Vec<Vec<Word>> {
        let em = SIZE * TRY_SIZE * self.unit;
        let start = self.left + block.level as f32 * TRY_STEP * SIZE * self.unit + TRY_INDENT * em;
        let label = label_style(em);
        let mut x = start + self.typesetter.width(&block.label, label) + 0.5 * em;
        let mut lines: Vec<Vec<Word>> = vec![Vec::new()];
        for (text, tone) in words {
            let is_lit = *tone == Tone::Lit;
            let width = self.typesetter.width(text, word_style(em, is_lit));
            // The chip's edge beyond the word takes space of its own.
            let aside = if is_lit { CHIP_ASIDE * em } else { 0.0 };
            if x + width + 2.0 * aside > self.right && !lines.last().is_none_or(Vec::is_empty) {
                lines.push(Vec::new());
                x = start;
            }
            let word = Word { text: text.clone(), tone: *tone, x: x + aside };
            x += width + 2.0 * aside + (WORD_SPACE * em - aside * 0.5);
            if let Some(line) = lines.last_mut() {
                line.push(word);
            }
        }
        lines
    }
}

pub(super) fn word_style(em: f32, is_lit: bool) -> Style {
    Style::moves(if is_lit { Font::Bold } else { Font::Medium }, em)
}

pub(super) fn label_style(em: f32) -> Style {
    Style::moves(Font::Semibold, em * LABEL_SIZE).tracked(0.1)
}

fn fold_style(em: f32) -> Style {
    Style::moves(Font::Medium, em * FOLD_SIZE)
}

/// Draws a list that has been laid out.
pub(super) fn paint_list(
    canvas: &mut Canvas<'_>,
    list: &SetList,
    plan: &Plan,
    theme: &Theme,
    typesetter: &mut Typesetter,
) {
    let (moves_left, numbers_right) =
        (plan.head.left + plan.grid.long(TASK_INDENT), plan.head.left + plan.grid.long(TILE));
    let mut brush = Brush { canvas, theme, typesetter, unit: unit(plan), moves_left, numbers_right };
    for (top, block) in &list.blocks {
        match block {
            Block::Fold(text) => brush.fold(text, *top),
            Block::Row(row) => brush.row(row, *top),
            Block::Try(block) => brush.try_block(block, *top),
        }
    }
}

struct Brush<'a, 'b> {
    canvas: &'a mut Canvas<'b>,
    theme: &'a Theme,
    typesetter: &'a mut Typesetter,
    unit: f32,
    /// Where moves begin: under the task's words.
    moves_left: f32,
    /// Where numbers end: under the side tile's right edge.
    numbers_right: f32,
}

impl Brush<'_, '_> {
    /// Three thinning bars and what lies under them.
    fn fold(&mut self, text: &str, top: f32) {
        let em = SIZE * self.unit;
        let baseline = (top + BASELINE * self.unit - 0.08 * em).round();
        let (right, width) = (self.numbers_right, 0.86 * em);
        for (above, strength) in [(0.56, 0.8), (0.30, 0.55), (0.04, 0.3)] {
            let y = (baseline - above * em).round();
            let thickness = (2.5 * self.unit).round().max(1.0);
            self.canvas.rectangle(right - width, y, width, thickness, self.theme.muted.fade(strength));
        }
        self.typesetter.draw(self.canvas, text, fold_style(em), self.moves_left, baseline, self.theme.muted);
    }

    fn row(&mut self, row: &Row, top: f32) {
        let em = SIZE * self.unit;
        let baseline = (top + BASELINE * self.unit).round();
        let style = Style::moves(Font::Medium, em * NUMBER_SIZE);
        let colour = self.theme.muted.fade(if row.is_ahead { 0.6 } else { 1.0 });
        let width = self.typesetter.width(&row.number, style);
        self.typesetter.draw(self.canvas, &row.number, style, self.numbers_right - width, baseline, colour);
        for (column, cell) in row.cells.iter().enumerate() {
            if let Some((text, tone)) = cell {
                let x = self.moves_left + column as f32 * SECOND_COLUMN * self.unit;
                self.word(text, *tone, em, x, baseline);
            }
        }
    }

    fn try_block(&mut self, block: &TryBlock, top: f32) {
        let em = SIZE * TRY_SIZE * self.unit;
        let pitch = PITCH * TRY_SIZE * self.unit;
        let first = (top + (BASELINE - 5.0) * self.unit).round();
        let left = (self.moves_left + block.level as f32 * TRY_STEP * SIZE * self.unit).round();
        let (label, rule) = if block.is_playing {
            (self.theme.accent, self.theme.accent)
        } else {
            (self.theme.muted, self.theme.muted.fade(0.55))
        };
        let height = pitch * block.lines.len().saturating_sub(1) as f32 + 1.16 * em;
        self.canvas.rectangle(left, first - 0.9 * em, (3.0 * self.unit).round().max(1.0), height, rule);
        let style = label_style(em);
        self.typesetter.draw(self.canvas, &block.label, style, left + TRY_INDENT * em, first, label);
        for (index, line) in block.lines.iter().enumerate() {
            let baseline = (first + pitch * index as f32).round();
            for word in line {
                self.word(&word.text, word.tone, em, word.x, baseline);
            }
        }
    }

    fn word(&mut self, text: &str, tone: Tone, em: f32, x: f32, baseline: f32) {
        draw_word(self.canvas, self.theme, self.typesetter, (text, tone), em, (x, baseline));
    }
}

/// A move or a verdict at its place: left edge and baseline; the lit one on its chip.
pub(super) fn draw_word(
    canvas: &mut Canvas<'_>,
    theme: &Theme,
    typesetter: &mut Typesetter,
    (text, tone): (&str, Tone),
    em: f32,
    (x, baseline): (f32, f32),
) {
    let is_lit = tone == Tone::Lit;
    let style = word_style(em, is_lit);
    if is_lit {
        let width = typesetter.width(text, style);
        let chip = Bounds::new(
            (x - CHIP_ASIDE * em).round(),
            (baseline - CHIP_ABOVE * em).round(),
            (x + width + CHIP_ASIDE * em).round(),
            (baseline + CHIP_BELOW * em).round(),
        );
        canvas.rounded(chip, CHIP_RADIUS * em, theme.accent);
    }
    let colour = match tone {
        Tone::Plain => theme.text,
        Tone::Quiet => theme.muted,
        Tone::Ahead => theme.muted.fade(0.6),
        Tone::Lit => theme.text_on_accent,
    };
    typesetter.draw(canvas, text, style, x, baseline, colour);
}
