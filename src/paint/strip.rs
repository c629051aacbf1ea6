//! The moves where there is no room for a list: one row of the moves that led here, the current one last; or that one
//! alone.
//!
//! A row fills from the left, so that what has been read stays where it is. When it is full it is turned like a page:
//! it begins anew with the move before the current one.

use super::brush::Bounds;
use super::canvas::Canvas;
use super::list::Tone;
use super::notation::numbered;
use super::rows::{CHIP_ABOVE, CHIP_ASIDE, CHIP_BELOW, draw_word, label_style, word_style};
use super::text::Typesetter;
use super::theme::Theme;
use crate::film::{Current, ListMove, MoveList};
use crate::timeline::Notation;

/// A row of moves, set: each with its left edge in pixels of the frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct SetStrip {
    /// What the line is, `TRY` or `OR`, and its left edge.
    label: Option<(String, f32)>,
    words: Vec<(String, Tone, f32)>,
    em: f32,
    baseline: f32,
}

/// Between two words, beside what their chips would take, in ems.
const GAP: f32 = 0.06;
/// After a label and after the dots for what came before, in ems.
const AFTER: f32 = 0.36;

/// Sets a row of moves into a place; `em` is the most their size may be.
pub(super) fn set_strip(
    list: &MoveList,
    place: Bounds,
    em: f32,
    notation: Notation,
    typesetter: &mut Typesetter,
) -> SetStrip {
    let (label, moves, verdict) = line_to_here(list);
    if moves.is_empty() {
        return SetStrip::default();
    }
    let mut set = SetStrip { label: label.map(|label| (label.to_owned(), place.left)), em, ..SetStrip::default() };
    let start = match label {
        Some(label) => place.left + typesetter.width(label, label_style(em)) + AFTER * em,
        None => place.left,
    };
    let dots = typesetter.width("…", word_style(em, false)) + AFTER * em;
    // Every word takes what it would take on its chip, so that none moves when the chip goes on.
    let mut slot = |text: &str| typesetter.width(text, word_style(em, true)) + (2.0 * CHIP_ASIDE + GAP) * em;
    let words: Vec<(String, String)> =
        moves.iter().map(|played| (numbered(played, true, notation), numbered(played, false, notation))).collect();
    let page = page(&words, start, dots, place.right, &mut slot);
    let mut x = start;
    if page > 0 {
        set.words.push(("…".into(), Tone::Quiet, x));
        x += dots;
    }
    for (at, (first, text)) in words.iter().enumerate().skip(page) {
        let text = if at == page { first } else { text };
        let tone = if at + 1 == words.len() { Tone::Lit } else { Tone::Plain };
        set.words.push((text.clone(), tone, x + CHIP_ASIDE * em));
        x += slot(text);
    }
    let over = x - GAP * em - place.right;
    if over > 0.5 && em > 0.3 * place.height() {
        // One move is longer than the row.
        let smaller = em * ((place.width() - over) / place.width()).clamp(0.5, 0.96);
        return set_strip(list, place, smaller, notation, typesetter);
    }
    // A verdict that finds no room is to be seen on the board too.
    if let Some(verdict) = verdict.filter(|verdict| x + slot(verdict) - 2.0 * CHIP_ASIDE * em <= place.right) {
        set.words.push((verdict.to_owned(), Tone::Plain, x + CHIP_ASIDE * em));
    }
    set.centre(place);
    set
}

/// The first move of the page that the last one is on. Of each move the words are given that begin a page, and those
/// that do not.
fn page(words: &[(String, String)], start: f32, dots: f32, right: f32, slot: &mut impl FnMut(&str) -> f32) -> usize {
    let mut page = 0;
    let mut x = start;
    for (at, (first, text)) in words.iter().enumerate() {
        let width = slot(if at == page { first } else { text });
        if at == page || x + width <= right {
            x += width;
            continue;
        }
        let alone = start + dots + slot(first);
        let with_before = start + dots + slot(&words[at - 1].0) + slot(text);
        (page, x) = if at - 1 > page && with_before <= right { (at - 1, with_before) } else { (at, alone) };
    }
    page
}

/// Sets the current move alone at the right of a place.
pub(super) fn set_chip(
    list: &MoveList,
    place: Bounds,
    em: f32,
    notation: Notation,
    typesetter: &mut Typesetter,
) -> SetStrip {
    let (_, moves, _) = line_to_here(list);
    let Some(current) = moves.last() else { return SetStrip::default() };
    let text = numbered(current, true, notation);
    let wanted = typesetter.width(&text, word_style(em, true)) + 2.0 * CHIP_ASIDE * em;
    // The chip's own height has to find room too.
    let em = (em * (place.width() / wanted).min(1.0)).min((place.height() - 1.0) / (CHIP_ABOVE + CHIP_BELOW));
    let width = typesetter.width(&text, word_style(em, true)) + CHIP_ASIDE * em;
    let mut set = SetStrip { em, ..SetStrip::default() };
    set.words.push((text, Tone::Lit, place.right - width));
    set.centre(place);
    set
}

impl SetStrip {
    /// The same with its move put out, and without the words that a later row does not have in the same place, so that
    /// they go before others come.
    #[must_use]
    pub fn unlit(&self, later: &SetStrip) -> SetStrip {
        let is_level = self.em == later.em && self.baseline == later.baseline;
        let mut unlit = self.clone();
        unlit.label = unlit.label.filter(|label| is_level && later.label.as_ref() == Some(label));
        unlit.words.retain(|(text, _, x)| {
            is_level && later.words.iter().any(|(other, _, at)| other == text && (at - x).abs() < 0.5)
        });
        for (_, tone, _) in unlit.words.iter_mut().filter(|(_, tone, _)| *tone == Tone::Lit) {
            *tone = Tone::Plain;
        }
        unlit
    }

    /// Draws it.
    pub fn paint(&self, canvas: &mut Canvas<'_>, theme: &Theme, typesetter: &mut Typesetter) {
        if let Some((label, x)) = &self.label {
            typesetter.draw(canvas, label, label_style(self.em), *x, self.baseline, theme.accent);
        }
        for (text, tone, x) in &self.words {
            draw_word(canvas, theme, typesetter, (text, *tone), self.em, (*x, self.baseline));
        }
    }

    fn centre(&mut self, place: Bounds) {
        let middle = f32::midpoint(place.top, place.bottom);
        self.baseline = (middle + (CHIP_ABOVE - CHIP_BELOW) / 2.0 * self.em).round();
    }
}

/// The moves that led to the current one: the main line's, or a try's with its label and, at its end, its verdict.
fn line_to_here(list: &MoveList) -> (Option<&str>, Vec<ListMove>, Option<&str>) {
    match list.current {
        Current::None => (None, Vec::new(), None),
        Current::Main(index) => (None, list.main.iter().take(index + 1).collect(), None),
        Current::Try(index, at) => match list.tries.get(index) {
            Some(line) => {
                let label = &*line.label;
                let is_over = at + 1 == line.moves.len() && !line.verdict.is_empty();
                let verdict = is_over.then_some(&*line.verdict);
                (Some(label), line.moves.iter().take(at + 1).collect(), verdict)
            }
            None => (None, Vec::new(), None),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strip(words: &[(&str, f32)]) -> SetStrip {
        let words = words.iter().map(|(text, x)| ((*text).to_owned(), Tone::Plain, *x)).collect();
        SetStrip { words, em: 40.0, baseline: 100.0, ..SetStrip::default() }
    }

    #[test]
    fn words_that_others_will_cover_go_first_and_the_rest_stays() {
        let (before, later) = (strip(&[("1.f7", 0.0), ("Re6+", 90.0)]), strip(&[("1.f7", 0.0), ("Kf8", 90.0)]));
        assert_eq!(before.unlit(&later), strip(&[("1.f7", 0.0)]));
        assert_eq!(before.unlit(&SetStrip::default()), strip(&[]));
    }
}
