//! A poster's words: as large as their place allows, in one to three lines.

use super::{PORTRAIT, POSTER, Panel, Poster, PosterWord};
use crate::paint::canvas::Canvas;
use crate::paint::direction::{against_the_run, is_leftward};
use crate::paint::font::Font;
use crate::paint::kit;
use crate::paint::notation::prose;
use crate::paint::text::{Style, Typesetter};
use crate::paint::theme::{Rgba, Theme};
use tiny_skia::Pixmap;

/// Why a poster's words cannot be painted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Misfit {
    /// They would have to be smaller than can be read on a phone.
    TooLong,
    /// No font has this character.
    MissingGlyph(char),
    /// This character runs against the rest.
    TwoDirections(char),
}

/// Words smaller than this cannot be read where a poster is a hand's width wide: a tenth of its height.
const SMALLEST: f32 = 92.0;
/// From one size to try to the next.
const STEP: f32 = 2.0;
/// Between the words and what is beside them.
const MARGIN: f32 = 54.0;
const GAP: f32 = 34.0;
/// From one baseline to the next, and how tall capitals and how deep descenders are, in ems.
const LEADING: f32 = 0.96;
const CAPITALS: f32 = 0.74;
const DESCENT: f32 = 0.20;
const TRACKING: f32 = -0.012;

/// One word at its place, in pixels.
struct Set {
    text: String,
    style: Style,
    x: f32,
    baseline: f32,
    accented: bool,
}

/// What is wrong with a poster's words.
pub fn misfits(poster: &Poster) -> Vec<Misfit> {
    let mut found: Vec<Misfit> = Vec::new();
    let mut typesetter = Typesetter::of(&poster.own);
    for word in &poster.words {
        found.extend(typesetter.missing(&prose(&word.text), Font::Heavy).into_iter().map(Misfit::MissingGlyph));
    }
    found.extend(against_the_run(&text(poster)).map(Misfit::TwoDirections));
    if set(poster, &mut typesetter).is_none() {
        found.push(Misfit::TooLong);
    }
    found
}

/// All words, in the order they are said.
fn text(poster: &Poster) -> String {
    poster.words.iter().map(|word| prose(&word.text)).collect::<Vec<_>>().join(" ")
}

/// The words alone on a transparent picture: where their ink lies.
pub fn word_cover(poster: &Poster) -> Pixmap {
    let mut cover = Pixmap::new(POSTER.width, POSTER.height).expect("a poster has a size");
    draw(&mut cover, poster, Theme::laid(poster.theme, poster.own.colours));
    cover
}

/// Draws the words; those that do not fit are left out, as [`misfits`] refuses them.
pub(super) fn draw(frame: &mut Pixmap, poster: &Poster, theme: &Theme) {
    let mut typesetter = Typesetter::of(&poster.own);
    let words = set(poster, &mut typesetter).unwrap_or_default();
    let mut canvas: Canvas<'_> = kit::canvas(frame);
    for word in words {
        let colour: Rgba = if word.accented { theme.accent } else { theme.text };
        typesetter.draw(&mut canvas, &word.text, word.style, word.x, word.baseline, colour);
    }
}

/// The place of the words: how large they may be, in how many lines, and how far right a line may reach whose ink
/// ends at some row.
struct Place {
    largest: f32,
    lines: usize,
    /// The row in whose middle the words stand.
    middle: f32,
    tallest: f32,
    right: Box<dyn Fn(f32) -> f32>,
}

impl Place {
    fn of(panel: Panel) -> Option<Place> {
        let height = POSTER.height as f32;
        match panel {
            Panel::None => None,
            Panel::Left { top, bottom } => Some(Place {
                largest: 212.0,
                lines: 3,
                middle: height * 0.49,
                tallest: height - 84.0,
                right: Box::new(move |row| top + (bottom - top) * row / height - GAP),
            }),
            Panel::Portrait(_) => Some(Place {
                largest: 222.0,
                lines: 3,
                middle: height * 0.5,
                tallest: height - 84.0,
                right: Box::new(|_| PORTRAIT.0 as f32 - GAP),
            }),
            Panel::Above { left, right } => Some(Place {
                largest: 226.0,
                lines: 1,
                middle: left.min(right) * 0.535,
                tallest: left.min(right),
                right: Box::new(|_| POSTER.width as f32 - MARGIN),
            }),
        }
    }
}

/// Sets the words in the largest size at which they fit; `None` if that is too small.
fn set(poster: &Poster, typesetter: &mut Typesetter) -> Option<Vec<Set>> {
    let words: Vec<PosterWord> = poster
        .words
        .iter()
        .map(|word| PosterWord { text: prose(&word.text), accented: word.accented })
        .filter(|word| !word.text.trim().is_empty())
        .collect();
    if words.is_empty() {
        return Some(Vec::new());
    }
    let place = Place::of(poster.panel)?;
    let is_leftward = is_leftward(&text(poster));
    let steps = ((place.largest - SMALLEST) / STEP) as usize;
    (0..=steps)
        .map(|step| place.largest - step as f32 * STEP)
        .find_map(|size| set_at(&words, is_leftward, size, &place, typesetter))
}

/// Sets the words at one size, if they fit: in the lines that look best.
fn set_at(
    words: &[PosterWord],
    is_leftward: bool,
    size: f32,
    place: &Place,
    typesetter: &mut Typesetter,
) -> Option<Vec<Set>> {
    let style = Style::prose(Font::Heavy, size).tracked(TRACKING);
    let mut best: Option<(f32, Vec<Set>)> = None;
    for breaks in partitions(words.len(), place.lines) {
        let height = (CAPITALS + DESCENT + LEADING * (breaks.len() - 1) as f32) * size;
        if height > place.tallest {
            continue;
        }
        // The eye centres what stands on the lines; what hangs below the last one counts for half.
        let first = place.middle - (height - DESCENT * 0.5 * size) / 2.0 + CAPITALS * size;
        let mut set = Vec::new();
        let (mut widest, mut narrowest, mut cost) = (0.0_f32, f32::MAX, 0.0);
        let mut fits = true;
        for (line, range) in breaks.iter().enumerate() {
            let baseline = (first + line as f32 * LEADING * size).round();
            let mut x = MARGIN - 0.02 * size;
            let mut in_line: Vec<&PosterWord> = words[range.clone()].iter().collect();
            if is_leftward {
                in_line.reverse();
            }
            for word in in_line {
                set.push(Set { text: word.text.clone(), style, x, baseline, accented: word.accented });
                x += typesetter.width(&word.text, style) + 0.235 * size;
            }
            let end = x - 0.235 * size;
            // A cut that leans to the left is nearest at the line's foot, one that leans to the right at its head.
            let edge = (place.right)(baseline + DESCENT * size).min((place.right)(baseline - CAPITALS * size));
            fits &= end <= edge;
            (widest, narrowest) = (widest.max(end), narrowest.min(end));
            if let (Some(last), Some(next)) = (words.get(range.end - 1), words.get(range.end)) {
                // Two colours in one line are quieter than a colour broken over two; an article clings to its noun.
                cost += if last.accented && next.accented { 0.5 } else { 0.0 };
                cost -= if last.accented == next.accented { 0.0 } else { 0.4 };
            }
        }
        if fits {
            let cost = cost * size + (widest - narrowest) * 0.25;
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, set));
            }
        }
    }
    best.map(|(_, set)| set)
}

/// Every way to break so many words into at most so many lines.
fn partitions(words: usize, lines: usize) -> Vec<Vec<std::ops::Range<usize>>> {
    fn further(
        from: usize,
        words: usize,
        lines: usize,
        so_far: &mut Vec<std::ops::Range<usize>>,
        all: &mut Vec<Vec<std::ops::Range<usize>>>,
    ) {
        if from == words {
            all.push(so_far.clone());
            return;
        }
        if lines == 0 {
            return;
        }
        for to in from + 1..=words {
            so_far.push(from..to);
            further(to, words, lines - 1, so_far, all);
            so_far.pop();
        }
    }
    let mut all = Vec::new();
    // More words than this are too long in any case.
    if words <= 12 {
        further(0, words, lines, &mut Vec::new(), &mut all);
    }
    all
}
