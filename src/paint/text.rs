//! Shaped text: kerning, lining figures, no ligatures; a chess sign (U+2654 to U+265F) is drawn from our own
//! silhouettes, for no chess font is shipped.
//!
//! A run is shaped once, in ems, and kept; setting it again costs only the filling of its outlines.

use super::canvas::Canvas;
use super::figurine::{FIGURINE_ADVANCE, FIGURINE_INK};
use super::font::{Font, FontSet, has};
use super::own;
use super::silhouette::PieceSet;
use super::theme::Rgba;
use crate::film::Own;
use crate::units::Role;
use rustybuzz::ttf_parser::{GlyphId, OutlineBuilder, Tag};
use rustybuzz::{Face, Feature, UnicodeBuffer};
use std::collections::HashMap;
use std::sync::Arc;
use tiny_skia::{Path, PathBuilder, Transform};

/// How wide digits are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Figures {
    /// All alike: in move lists.
    Tabular,
    /// Each its own: in prose.
    Proportional,
}

/// How a text is set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Style {
    /// The font.
    pub font: Font,
    /// The em in pixels.
    pub size: f32,
    /// How wide digits are.
    pub figures: Figures,
    /// Added after every glyph, in ems.
    pub tracking: f32,
}

impl Style {
    /// Prose in a font at a size in pixels.
    pub fn prose(font: Font, size: f32) -> Style {
        Style { font, size, figures: Figures::Proportional, tracking: 0.0 }
    }

    /// Moves and numbers that stand in columns.
    pub fn moves(font: Font, size: f32) -> Style {
        Style { font, size, figures: Figures::Tabular, tracking: 0.0 }
    }

    /// The same with the letters this far apart, in ems.
    #[must_use]
    pub fn tracked(self, tracking: f32) -> Style {
        Style { tracking, ..self }
    }

    /// The same at another size.
    #[must_use]
    pub fn at(self, size: f32) -> Style {
        Style { size, ..self }
    }
}

/// A shaped text in ems, its pen at the origin, y downwards.
struct Run {
    outline: Option<Path>,
    signs: Vec<(Role, f32)>,
    advance: f32,
    /// How far it reaches above its baseline and below it.
    ink: (f32, f32),
}

/// What a shaped text depends on, beside its size; tracking in thousandths of an em.
type RunKey = (Font, Figures, i32, Box<str>);

/// A film has a few hundred texts; one that has more lets them go and shapes again.
const MOST_RUNS: usize = 4096;

/// Shapes texts and draws them.
pub(super) struct Typesetter {
    runs: HashMap<RunKey, Arc<Run>>,
    set: &'static PieceSet,
    fonts: Option<&'static FontSet>,
}

/// With the pieces and the fonts that come with plyreel.
impl Default for Typesetter {
    fn default() -> Typesetter {
        Typesetter::of(&Own::default())
    }
}

impl Typesetter {
    /// With a look's own pieces and fonts, where it has them.
    pub fn of(own: &Own) -> Typesetter {
        Typesetter { runs: HashMap::new(), set: own::pieces(own), fonts: own::fonts(own) }
    }

    /// The characters of a text that nobody draws, in order, each once. What has nothing to draw (joiners, the selector
    /// that asks for a sign's text form) is not missing.
    pub fn missing(&self, text: &str, font: Font) -> Vec<char> {
        let draws = |character: &char| !matches!(u32::from(*character), 0x200B..=0x200F | 0x202A..=0x202E | 0x2060..=0x2064 | 0xFE00..=0xFE0F);
        let mut missing = Vec::new();
        for character in text.chars().filter(draws) {
            if hand(character, font, self.fonts).is_none() && !missing.contains(&character) {
                missing.push(character);
            }
        }
        missing
    }

    /// How far the pen moves, in pixels.
    pub fn width(&mut self, text: &str, style: Style) -> f32 {
        self.run(text, style).advance * style.size
    }

    /// How far a text reaches above its baseline and below it, in pixels: its own letters, not what its font might hold.
    pub fn ink(&mut self, text: &str, style: Style) -> (f32, f32) {
        let (above, below) = self.run(text, style).ink;
        (above * style.size, below * style.size)
    }

    /// Draws a text with its pen at (`x`, `baseline`); returns how far the pen moved.
    pub fn draw(
        &mut self,
        canvas: &mut Canvas<'_>,
        text: &str,
        style: Style,
        x: f32,
        baseline: f32,
        colour: Rgba,
    ) -> f32 {
        let run = self.run(text, style);
        let size = style.size;
        if let Some(outline) = &run.outline {
            canvas.fill(outline, colour, Transform::from_row(size, 0.0, 0.0, size, x, baseline));
        }
        for &(role, at) in &run.signs {
            canvas.figurine((self.set, role), size, x + at * size, baseline, colour);
        }
        run.advance * size
    }

    /// Draws a text with its middle at `x`.
    pub fn draw_centred(
        &mut self,
        canvas: &mut Canvas<'_>,
        text: &str,
        style: Style,
        x: f32,
        baseline: f32,
        colour: Rgba,
    ) {
        // The space after the last letter is no part of what the eye centres.
        let width = self.width(text, style) - style.tracking * style.size;
        self.draw(canvas, text, style, x - width / 2.0, baseline, colour);
    }

    fn run(&mut self, text: &str, style: Style) -> Arc<Run> {
        let tracking = (style.tracking * 1000.0).round() as i32;
        let key = (style.font, style.figures, tracking, Box::from(text));
        if let Some(run) = self.runs.get(&key) {
            return Arc::clone(run);
        }
        if self.runs.len() >= MOST_RUNS {
            self.runs.clear();
        }
        let run = Arc::new(shape(text, style, self.fonts));
        self.runs.insert(key, Arc::clone(&run));
        run
    }
}

/// Who draws a character.
#[derive(Clone, Copy, PartialEq)]
enum Hand {
    Sign(Role),
    Font(Font),
    /// A font of the film's own, in the place of this one.
    Own(Font),
}

fn hand(character: char, font: Font, fonts: Option<&FontSet>) -> Option<Hand> {
    if let Some(role) = sign(character) {
        return Some(Hand::Sign(role));
    }
    let owns = |font: &Font| fonts.and_then(|fonts| fonts.own(*font)).is_some_and(|face| has(face, character));
    let own = Some(font).filter(owns).map(Hand::Own);
    let bundled = || [font, font.stand_in()].into_iter().find(|font| font.has(character)).map(Hand::Font);
    own.or_else(bundled).or_else(|| Font::ALL.into_iter().find(owns).map(Hand::Own))
}

/// The role of a chess sign, U+2654 to U+265F: king, queen, rook, bishop, knight, pawn, White's before Black's.
fn sign(character: char) -> Option<Role> {
    let index = u32::from(character).checked_sub(0x2654)?;
    (index < 12).then(|| Role::ALL[index as usize % 6])
}

/// Shapes a text, stretch by stretch: one font or one sign each. A character that nobody draws leaves no trace: it is
/// an error found before painting, never a box.
fn shape(text: &str, style: Style, fonts: Option<&FontSet>) -> Run {
    let mut outline = PathBuilder::new();
    let mut signs = Vec::new();
    let mut pen = 0.0;
    for (hand, stretch) in stretches(text, style.font, fonts) {
        match hand {
            Hand::Sign(role) => {
                signs.push((role, pen));
                pen += FIGURINE_ADVANCE + style.tracking;
            }
            Hand::Font(font) => pen = shape_stretch(&stretch, font.face(), style, pen, &mut outline),
            Hand::Own(font) => {
                if let Some(face) = fonts.and_then(|fonts| fonts.own(font)) {
                    pen = shape_stretch(&stretch, face, style, pen, &mut outline);
                }
            }
        }
    }
    let outline = outline.finish();
    let letters = outline.as_ref().map_or((0.0, 0.0), |outline| (-outline.bounds().top(), outline.bounds().bottom()));
    let figurines = if signs.is_empty() { (0.0, 0.0) } else { FIGURINE_INK };
    let ink = (letters.0.max(figurines.0), letters.1.max(figurines.1));
    Run { outline, signs, advance: pen, ink }
}

fn stretches(text: &str, font: Font, fonts: Option<&FontSet>) -> Vec<(Hand, String)> {
    let mut stretches: Vec<(Hand, String)> = Vec::new();
    for character in text.chars() {
        let Some(hand) = hand(character, font, fonts) else { continue };
        match stretches.last_mut() {
            // Lato kerns a figure into the space before it until the two words run together: not across this break.
            Some((_, stretch)) if character.is_ascii_digit() && stretch.ends_with(' ') => {
                stretches.push((hand, character.into()));
            }
            Some((last, stretch)) if *last == hand && !matches!(hand, Hand::Sign(_)) => stretch.push(character),
            _ => stretches.push((hand, character.into())),
        }
    }
    stretches
}

fn shape_stretch(text: &str, face: &Face<'_>, style: Style, from: f32, outline: &mut PathBuilder) -> f32 {
    let figures = match style.figures {
        Figures::Tabular => b"tnum",
        Figures::Proportional => b"pnum",
    };
    let features =
        [(b"lnum", 1), (figures, 1), (b"liga", 0)].map(|(tag, value)| Feature::new(Tag::from_bytes(tag), value, ..));
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    let shaped = rustybuzz::shape(face, &features, buffer);
    let em = 1.0 / face.units_per_em() as f32;
    let mut pen = from;
    for (glyph, position) in shaped.glyph_infos().iter().zip(shaped.glyph_positions()) {
        let x = pen + position.x_offset as f32 * em;
        let y = -position.y_offset as f32 * em;
        face.outline_glyph(GlyphId(glyph.glyph_id as u16), &mut Pen { outline, em, x, y });
        pen += position.x_advance as f32 * em + style.tracking;
    }
    pen
}

/// Writes a glyph's outline, given in font units with y upwards, in ems with y downwards.
struct Pen<'a> {
    outline: &'a mut PathBuilder,
    em: f32,
    x: f32,
    y: f32,
}

impl Pen<'_> {
    fn at(&self, x: f32, y: f32) -> (f32, f32) {
        (self.x + x * self.em, self.y - y * self.em)
    }
}

impl OutlineBuilder for Pen<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.outline.move_to(x, y);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let (x, y) = self.at(x, y);
        self.outline.line_to(x, y);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let ((x1, y1), (x, y)) = (self.at(x1, y1), self.at(x, y));
        self.outline.quad_to(x1, y1, x, y);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let ((x1, y1), (x2, y2), (x, y)) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.outline.cubic_to(x1, y1, x2, y2, x, y);
    }

    fn close(&mut self) {
        self.outline.close();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tabular_figures_are_all_of_one_width() {
        let mut typesetter = Typesetter::default();
        let style = Style::moves(Font::Medium, 100.0);
        let widths: Vec<f32> = "0123456789".chars().map(|c| typesetter.width(&c.to_string(), style)).collect();
        assert!(widths.iter().all(|width| *width == widths[0]), "{widths:?}");
        let prose = Style::prose(Font::Medium, 100.0);
        assert!(typesetter.width("111", prose) < typesetter.width("000", prose));
    }

    #[test]
    fn pairs_are_kerned_and_tracking_adds_up() {
        let mut typesetter = Typesetter::default();
        let style = Style::prose(Font::Medium, 100.0);
        let apart = typesetter.width("A", style) + typesetter.width("V", style);
        assert!(typesetter.width("AV", style) < apart - 2.0);
        let tracked = typesetter.width("AV", style.tracked(0.1)) - typesetter.width("AV", style);
        assert!((tracked - 20.0).abs() < 0.01, "{tracked}");
    }

    #[test]
    fn a_sign_takes_its_own_advance() {
        let mut typesetter = Typesetter::default();
        let style = Style::moves(Font::Medium, 50.0);
        let move_width = typesetter.width("♖d6", style);
        assert!((move_width - typesetter.width("d6", style) - FIGURINE_ADVANCE * 50.0).abs() < 0.01);
        assert_eq!(typesetter.width("♖", style), typesetter.width("♜", style));
    }

    #[test]
    fn a_character_no_font_has_is_named_once_and_never_drawn() {
        // U+6F22 is a Chinese character, U+1F451 a crown; both families are Latin, Greek and Cyrillic at most.
        assert_eq!(Typesetter::default().missing("a漢b漢👑♔\u{fe0e}", Font::Medium), ['漢', '👑']);
        let run = shape("漢", Style::prose(Font::Medium, 10.0), None);
        assert!(run.outline.is_none() && run.advance == 0.0);
    }

    #[test]
    fn the_other_family_stands_in() {
        let lent: Vec<char> = (0x80..0x2000u32)
            .filter_map(char::from_u32)
            .filter(|c| !Font::Medium.has(*c) && Font::SerifMedium.has(*c))
            .collect();
        assert!(!lent.is_empty());
        assert!(Typesetter::default().missing(&lent.iter().collect::<String>(), Font::Medium).is_empty());
    }
}
