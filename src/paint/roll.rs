//! The credits: what each is for, small, and whom it names, in as many columns as it takes. Nothing is ever left out.

use super::fit::{Rule, filled};
use super::font::Font;
use super::layout::{CardFrame, Grid};
use super::notation::prose;
use super::text::{Style, Typesetter};
use super::words::{Ink, Paragraph, SetLine, SetWords};
use crate::film::CardPicture;

/// Columns and sizes of type, in the order in which they are tried.
const WAYS: [(usize, f32); 7] = [(1, 46.0), (1, 40.0), (2, 42.0), (2, 36.0), (2, 30.0), (3, 30.0), (3, 26.0)];
/// Where the words of a wide frame begin and end, and where one column ends beside the piece drawn large.
const WIDE: (f32, f32) = (150.0, 1770.0);
const BESIDE_HERO: f32 = 990.0;
const GUTTER: f32 = 60.0;
/// Rows begin so far below the title.
const BELOW_TITLE: f32 = 92.0;
/// In ems of the name: how large its label is, how far above it, and the air to the next row.
const LABEL: f32 = 0.70;
const LABEL_DROP: f32 = 1.18;
const LEADING: f32 = 1.26;
const AIR: f32 = 0.92;
/// How far letters reach below the baseline, in ems.
const DESCENT: f32 = 0.25;

/// Left and right edge of the words.
fn edges(frame: &CardFrame) -> (f32, f32) {
    if frame.is_wide { WIDE } else { (frame.clear.left + 26.0, frame.clear.right - 26.0) }
}

fn paragraph<'a>(frame: &CardFrame, text: &'a str, style: Style, rule: Rule, ink: Ink) -> Paragraph<'a> {
    let (left, right) = edges(frame);
    let (x, width) = (frame.grid.x(left), frame.grid.long(right - left));
    Paragraph { text, style, rule, ink, x, width, leading: 1.08 }
}

/// The words of a credits card, and whether the piece drawn large has room beside them.
pub(super) fn set_words(card: &CardPicture, frame: &CardFrame, typesetter: &mut Typesetter) -> (SetWords, bool) {
    let grid = frame.grid;
    let mut words = SetWords::default();
    let mut baseline = grid.y(if frame.is_wide { 128.0 } else { frame.clear.top + 40.0 });
    if let Some(kicker) = card.kicker.as_deref().filter(|text| !text.trim().is_empty()) {
        let text = kicker.to_uppercase();
        let style = Style::prose(Font::Semibold, grid.long(30.0)).tracked(0.13);
        words.add(typesetter, paragraph(frame, &text, style, Rule::Task, Ink::Accent), |_| baseline);
        baseline += grid.long(104.0);
    } else {
        baseline += grid.long(40.0);
    }
    let title = prose(&card.title);
    let style = Style::prose(Font::SerifSemibold, grid.long(96.0)).tracked(-0.008);
    let title = Paragraph {
        x: grid.x(edges(frame).0) - grid.long(4.0),
        ..paragraph(frame, &title, style, Rule::Display, Ink::Text)
    };
    if let Some((last, _)) = words.add(typesetter, title, |_| baseline) {
        baseline = last;
    }
    let top = baseline + grid.long(BELOW_TITLE);
    let mut set = None;
    for (columns, size) in WAYS {
        let columns = if frame.is_wide { columns } else { columns.min(2) };
        let (rows, fits) =
            set_rows(card, columns, grid.long(size), (top, grid.y(frame.clear.bottom)), frame, typesetter);
        set = Some((columns, rows, fits));
        if fits {
            break;
        }
    }
    let Some((columns, rows, fits)) = set else { return (words, true) };
    words.lines.extend(rows);
    if !fits {
        words.refused.extend(card.rows.last().map(|(_, text)| text.clone()));
    }
    (words, columns == 1 && frame.is_wide)
}

/// Sets all rows in so many columns; tells whether they fit.
fn set_rows(
    card: &CardPicture,
    columns: usize,
    em: f32,
    (top, bottom): (f32, f32),
    frame: &CardFrame,
    typesetter: &mut Typesetter,
) -> (Vec<SetLine>, bool) {
    let grid: Grid = frame.grid;
    let (left, right) = edges(frame);
    let right = if columns == 1 && frame.is_wide { BESIDE_HERO } else { right };
    let width = grid.long((right - left - GUTTER * (columns - 1) as f32) / columns as f32);
    let style = Style::prose(Font::Medium, em);
    let label_style = Style::prose(Font::Semibold, em * LABEL).tracked(0.02);
    let mut fits = true;
    let mut lines = Vec::new();
    let in_column = card.rows.len().div_ceil(columns).max(1);
    for (column, rows) in card.rows.chunks(in_column).enumerate() {
        let x = grid.x(left) + (width + grid.long(GUTTER)) * column as f32;
        let mut baseline = top;
        for (label, name) in rows {
            let mut set = |text: &str, style: Style, ink: Ink, baseline: &mut f32| {
                let text = prose(text);
                let broken = filled(typesetter, &text.split_whitespace().collect::<Vec<_>>().join(" "), style, width);
                fits &= broken.is_some();
                for (at, text) in broken.unwrap_or_default().into_iter().enumerate() {
                    *baseline += if at == 0 { 0.0 } else { style.size * LEADING };
                    lines.push(SetLine { text, style, x, baseline: baseline.round(), ink });
                }
            };
            if !label.is_empty() {
                set(label, label_style, Ink::Accent, &mut baseline);
                baseline += em * LABEL_DROP;
            }
            set(name, style, Ink::Text, &mut baseline);
            fits &= baseline + DESCENT * em <= bottom;
            baseline += em * (AIR + LABEL_DROP * 0.7);
        }
    }
    (lines, fits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::film::{Look, Own};
    use crate::paint::layout::Plan;
    use crate::timeline::{CardKind, Layout, Notation, ThemeName};
    use crate::units::{Role, Size};

    fn card(rows: usize, name: &str) -> CardPicture {
        CardPicture {
            kind: CardKind::Credits,
            kicker: Some("Lantern lessons".into()),
            title: "Credits".into(),
            line: None,
            second: None,
            task: None,
            hero: Role::Rook,
            progress: None,
            board: None,
            moves: Vec::new(),
            rows: (0..rows).map(|row| (format!("Position {row}"), name.to_owned())).collect(),
            pause: None,
            ring: None,
        }
    }

    fn set(card: &CardPicture) -> (SetWords, bool) {
        let size = Size { width: 1920, height: 1080 };
        let (theme, layout, notation) = (ThemeName::Dusk, Layout::Panel, Notation::Figurine);
        let look = Look { size, theme, layout, notation, own: Own::default() };
        set_words(card, &Plan::of(look).cards, &mut Typesetter::default())
    }

    #[test]
    fn twelve_long_credits_are_all_there_and_within_the_frame() {
        let long = "A. Firstcomposer, B. Secondcomposer-Longname & C. Third, The Exemplary Monthly of Composition, 1931, 2nd hon. mention";
        for rows in 1..=12 {
            let (words, _) = set(&card(rows, long));
            assert!(words.refused.is_empty(), "{rows} rows");
            assert_eq!(words.lines.iter().filter(|line| line.text.starts_with("A. First")).count(), rows);
            let mut typesetter = Typesetter::default();
            for line in &words.lines {
                assert!(line.baseline <= 1026.0, "{line:?}");
                let end = line.x + typesetter.width(&line.text, line.style);
                assert!(end <= 1824.0, "{} ends at {end}", line.text);
            }
        }
    }

    #[test]
    fn few_credits_stand_large_beside_the_piece() {
        let (words, alone) = set(&card(3, "Richard Réti, 1921"));
        assert!(alone);
        assert!(words.lines.iter().any(|line| line.style.size == 46.0));
    }
}
