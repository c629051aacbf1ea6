//! Lines of words, set: each with its place, style and ink, ready to draw. Heads, captions and cards are lists of them.

use super::brush::Bounds;
use super::canvas::Canvas;
use super::fit::{Fitted, Rule, TooLong, cut, fit, fit_rows, moved_into};
use super::sprites::Sprites;
use super::text::{Style, Typesetter};
use super::theme::{Rgba, Theme};
use crate::units::{Piece, Role, Side};

/// Which of the theme's colours a text has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ink {
    Text,
    Muted,
    Accent,
}

impl Ink {
    /// The colour.
    pub fn colour(self, theme: &Theme) -> Rgba {
        match self {
            Ink::Text => theme.text,
            Ink::Muted => theme.muted,
            Ink::Accent => theme.accent,
        }
    }
}

/// One line at its place.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct SetLine {
    pub text: String,
    pub style: Style,
    pub x: f32,
    pub baseline: f32,
    pub ink: Ink,
}

/// A tile with the king of the side that begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SideTile {
    pub x: f32,
    pub y: f32,
    pub size: f32,
    pub side: Side,
}

/// Lines, a tile and hairlines: what a head and most of a card consist of.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct SetWords {
    pub lines: Vec<SetLine>,
    pub tile: Option<SideTile>,
    /// Left, top, width, height.
    pub rules: Vec<(f32, f32, f32, f32)>,
    /// The texts that do not fit as a whole.
    pub refused: Vec<String>,
}

/// A paragraph to set: its words, how they may be fitted, and where.
#[derive(Clone, Copy)]
pub(super) struct Paragraph<'a> {
    pub text: &'a str,
    pub style: Style,
    pub rule: Rule,
    pub ink: Ink,
    pub x: f32,
    pub width: f32,
    /// From one baseline to the next, in ems.
    pub leading: f32,
}

impl SetWords {
    /// Sets a paragraph; `first` gives its first baseline from the em it was fitted to. Returns the last baseline and
    /// that em; `None` if there are no words.
    pub fn add(
        &mut self,
        typesetter: &mut Typesetter,
        paragraph: Paragraph<'_>,
        first: impl FnOnce(&Fitted) -> f32,
    ) -> Option<(f32, f32)> {
        let Paragraph { text, style, rule, width, .. } = paragraph;
        let fitted = fit(typesetter, text, style, width, rule).unwrap_or_else(|TooLong| {
            self.refused.push(text.to_owned());
            cut(text, style.size, |text| fit(typesetter, text, style, width, rule))
        });
        let baseline = first(&fitted);
        self.push(fitted, paragraph, baseline)
    }

    /// The same with all of its ink within these rows: set smaller where it has to be, and moved where it would leave them.
    pub fn add_within(
        &mut self,
        typesetter: &mut Typesetter,
        paragraph: Paragraph<'_>,
        rows: (f32, f32),
        first: impl Fn(&Fitted) -> f32,
    ) -> Option<(f32, f32)> {
        let Paragraph { text, style, rule, width, leading, .. } = paragraph;
        // Whole rows of pixels, so that what lies in those beside them is never touched.
        let rows = (rows.0.ceil(), rows.1.floor());
        let mut fitting = |text: &str| fit_rows(typesetter, text, style, width, (rule, leading), rows.1 - rows.0);
        let fitted = fitting(text).unwrap_or_else(|TooLong| {
            self.refused.push(text.to_owned());
            cut(text, style.size, fitting)
        });
        let baseline = first(&fitted);
        let at = self.lines.len();
        let (last, size) = self.push(fitted, paragraph, baseline)?;
        let (top, bottom) = self.ink(at, typesetter)?;
        let moved = moved_into(rows, top, bottom);
        for line in &mut self.lines[at..] {
            line.baseline += moved;
        }
        Some((last + moved, size))
    }

    /// From the first to the last row with ink of the lines from this one on.
    pub fn ink(&self, from: usize, typesetter: &mut Typesetter) -> Option<(f32, f32)> {
        let mut rows: Option<(f32, f32)> = None;
        for line in self.lines.get(from..)? {
            let (above, below) = typesetter.ink(&line.text, line.style);
            let (top, bottom) = rows.unwrap_or((f32::MAX, f32::MIN));
            rows = Some((top.min(line.baseline - above), bottom.max(line.baseline + below)));
        }
        rows
    }

    /// All that the lines and the tile cover.
    pub fn bounds(&self, typesetter: &mut Typesetter) -> Option<Bounds> {
        let lines = self.lines.iter().map(|line| {
            let (above, below) = typesetter.ink(&line.text, line.style);
            let right = line.x + typesetter.width(&line.text, line.style);
            Bounds::new(line.x, line.baseline - above, right, line.baseline + below)
        });
        let tile = self.tile.map(|SideTile { x, y, size, .. }| Bounds::new(x, y, x + size, y + size));
        lines.chain(tile).reduce(|a, b| {
            Bounds::new(a.left.min(b.left), a.top.min(b.top), a.right.max(b.right), a.bottom.max(b.bottom))
        })
    }

    fn push(&mut self, fitted: Fitted, paragraph: Paragraph<'_>, first: f32) -> Option<(f32, f32)> {
        let Paragraph { style, ink, x, leading, .. } = paragraph;
        let mut baseline = first;
        let mut last = None;
        for text in fitted.lines {
            self.lines.push(SetLine { text, style: style.at(fitted.size), x, baseline: baseline.round(), ink });
            last = Some((baseline, fitted.size));
            baseline += fitted.size * leading;
        }
        last
    }

    /// Moves everything.
    pub fn shift(&mut self, dx: f32, dy: f32) {
        for line in &mut self.lines {
            line.x += dx;
            line.baseline += dy;
        }
        for (x, y, ..) in &mut self.rules {
            *x += dx;
            *y += dy;
        }
        if let Some(tile) = &mut self.tile {
            tile.x += dx;
            tile.y += dy;
        }
    }

    /// Draws everything.
    pub fn draw(&self, canvas: &mut Canvas<'_>, typesetter: &mut Typesetter, sprites: &mut Sprites, theme: &Theme) {
        for &(x, y, width, height) in &self.rules {
            canvas.rectangle(x, y, width, height, theme.muted.fade(0.35));
        }
        if let Some(tile) = self.tile {
            draw_tile(canvas, sprites, theme, tile);
        }
        for line in &self.lines {
            let colour = line.ink.colour(theme);
            typesetter.draw(canvas, &line.text, line.style, line.x, line.baseline, colour);
        }
    }
}

/// The white king stands on a dark square and the black king on a light one, so that both show best.
fn draw_tile(canvas: &mut Canvas<'_>, sprites: &mut Sprites, theme: &Theme, tile: SideTile) {
    let SideTile { x, y, size, side } = tile;
    let colour = match side {
        Side::White => theme.dark_square,
        Side::Black => theme.light_square,
    };
    canvas.rounded(Bounds::new(x, y, x + size, y + size), size * 0.12, colour);
    let inner = (size * 0.92).round().max(1.0);
    let sprite = sprites.sprite(Piece { side, role: Role::King }, inner, theme);
    // The king's body reaches from 2.8 to 92.6 hundredths of his square: he is lowered until that is centred.
    let (left, top) = (x + (size - inner) / 2.0, y + size * 0.055);
    canvas.picture(&sprite.pixmap, left.round() as i32 - sprite.pad, top.round() as i32 - sprite.pad);
}
