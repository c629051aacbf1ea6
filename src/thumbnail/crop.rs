//! Which design, and which part of the board: as close as what matters allows.

use super::moment::Subject;
use crate::paint::{Crop, PORTRAIT, POSTER, Panel, PosterWord};
use crate::timeline::ThumbnailDesign;
use crate::units::Square;

/// The cuts of the designs with words, the usual first; the second leaves the board more room.
const SPLITS: [(f32, f32); 2] = [(720.0, 634.0), (608.0, 522.0)];
const BAND: (f32, f32) = (300.0, 232.0);
/// The rows that a split and a band may show, from near to far.
const SPLIT_ROWS: std::ops::RangeInclusive<u32> = 4..=8;
const FULL_ROWS: std::ops::RangeInclusive<u32> = 3..=4;
const BAND_ROWS: std::ops::RangeInclusive<u32> = 2..=4;
/// The frame cuts in the gap between two squares, this far from the outermost ones shown …
const RIM: i32 = 1;
/// … and where the board itself ends, so much further out that its edge is seen.
const SHEET: i32 = 5;
/// The lower right corner, where hosts lay the running time, as shares of the width and the height.
const CORNER: f32 = 0.12;

/// Chooses a design, if none is wished for, and the part of the board that shows what the thumbnail is about.
pub(super) fn choose(subject: &Subject, wish: Option<ThumbnailDesign>, words: &[PosterWord]) -> (Panel, Crop) {
    if words.is_empty() && wish != Some(ThumbnailDesign::Portrait) {
        return (Panel::None, alone(subject));
    }
    match wish.unwrap_or_else(|| fitting(subject, words)) {
        ThumbnailDesign::Portrait => (Panel::Portrait(subject.portrait), portrait(subject.portrait)),
        ThumbnailDesign::Band => {
            let panel = Panel::Above { left: BAND.0, right: BAND.1 };
            (panel, nearest(subject, panel, BAND_ROWS).0)
        }
        ThumbnailDesign::Split => {
            let tried = SPLITS.map(|(top, bottom)| {
                let panel = Panel::Left { top, bottom };
                let (crop, lacks) = nearest(subject, panel, SPLIT_ROWS);
                (panel, crop, lacks)
            });
            // More room is taken from the words only where something would be missing, or much smaller, without.
            let [usual, wide] = tried;
            let much_larger = wide.1.square > usual.1.square + 20;
            let chosen = if wide.2 < usual.2 || (wide.2 == usual.2 && much_larger) { wide } else { usual };
            (chosen.0, chosen.1)
        }
    }
}

/// The design that suits: a king at his end alone; a wide, low scene with few letters under a band; else a split.
fn fitting(subject: &Subject, words: &[PosterWord]) -> ThumbnailDesign {
    if subject.is_the_end {
        return ThumbnailDesign::Portrait;
    }
    let span = |of: fn(&Square) -> u8| {
        let (least, most) = subject.must.iter().map(of).fold((7, 0), |(a, b), n| (n.min(a), n.max(b)));
        most.saturating_sub(least) + 1
    };
    let (across, up) = (span(|square| square.file()), span(|square| square.rank()));
    let letters: usize = words.iter().map(|word| word.text.chars().count() + 1).sum();
    if across >= 4 && up <= 2 && letters <= 11 { ThumbnailDesign::Band } else { ThumbnailDesign::Split }
}

/// The board without words: over all of the picture, or whole in its middle.
fn alone(subject: &Subject) -> Crop {
    let (crop, (missing, _)) = nearest(subject, Panel::None, FULL_ROWS);
    if missing == 0 {
        return crop;
    }
    let square = (POSTER.height - 48) / 8;
    let x = (POSTER.width - 8 * square) / 2;
    Crop { x: x as i32, y: 24, square }
}

/// How much larger than its tile a portrait's square is: the gap round its inlay stays outside.
const INLAY: f32 = 1.032;

/// One square as large as its tile.
fn portrait(square: Square) -> Crop {
    let (left, top, side) = PORTRAIT;
    let (file, row) = (i32::from(square.file()), i32::from(7 - square.rank()));
    let inlay = (side as f32 * INLAY).round() as u32;
    let over = (inlay - side) as i32 / 2;
    let inlay_side = inlay as i32;
    Crop { x: left as i32 - over - file * inlay_side, y: top as i32 - over - row * inlay_side, square: inlay }
}

/// How badly a crop shows what must be seen, the worst first: how many of its squares are not seen whole, and how many
/// the running time would be laid over.
type Lacks = (usize, usize);

/// The nearest crop that shows all that must be seen and nothing of it under the running time, else the one that lacks
/// least; and what it lacks. The frame cuts between two squares where that is as good.
fn nearest(subject: &Subject, panel: Panel, rows: std::ops::RangeInclusive<u32>) -> (Crop, Lacks) {
    let mut best: Option<(Lacks, Crop)> = None;
    for rows in rows {
        for shift in [0, 1, 2, 3] {
            let candidates =
                crops(panel, rows, shift).map(|crop| (lacks(subject, crop, panel), score(subject, crop, panel), crop));
            let Some((lacks, _, crop)) = candidates.min_by(|a, b| a.0.cmp(&b.0).then(b.1.total_cmp(&a.1))) else {
                continue;
            };
            if best.is_none_or(|(least, _)| lacks < least) {
                best = Some((lacks, crop));
            }
            if lacks == (0, 0) {
                return (crop, lacks);
            }
        }
    }
    let (lacks, crop) = best.expect("there is at least one crop");
    (crop, lacks)
}

/// Every place of a board that shows so many whole rows and the frame's right edge between two files, the board then
/// moved up or to the left by so many quarters of a square, or both.
fn crops(panel: Panel, rows: u32, shift: i32) -> impl Iterator<Item = Crop> {
    let top = match panel {
        Panel::Above { left, .. } => left as i32 + 6,
        _ => 0,
    };
    let (width, height) = (POSTER.width as i32, POSTER.height as i32);
    let square = (height - top - 2 * RIM) / rows as i32;
    let quarters = square * shift / 4;
    let shifts = if shift == 0 { vec![(0, 0)] } else { vec![(quarters, 0), (0, quarters), (quarters, quarters)] };
    let places = (0..=8 - rows as i32).flat_map(|row| (1..=8).map(move |right| (row, right)));
    let places: Vec<(i32, i32)> = places.collect();
    places.into_iter().flat_map(move |(row, right)| {
        let edge = |ends: bool| if ends { SHEET } else { 0 };
        let y = top + RIM - row * square + edge(row == 0) - edge(row + rows as i32 == 8);
        let x = width - RIM - right * square - edge(right == 8);
        // Nothing but board to the right of the cut, unless the whole board is smaller than its place.
        let left_of_place = match panel {
            Panel::None | Panel::Above { .. } | Panel::Portrait(_) => 0,
            Panel::Left { bottom, .. } => bottom as i32,
        };
        let holds_place = move |aside: i32| x - aside <= left_of_place || (right == 8 && aside == 0);
        // The board does not end within the frame but with its own edge.
        let ends_outside = move |aside: i32, up: i32| {
            (aside == 0 || x - aside + 8 * square >= width) && (up == 0 || y - up + 8 * square >= height)
        };
        shifts.clone().into_iter().filter_map(move |(aside, up)| {
            (holds_place(aside) && ends_outside(aside, up)).then_some(Crop {
                x: x - aside,
                y: y - up,
                square: square as u32,
            })
        })
    })
}

/// Left, top, right and bottom of a square in pixels.
fn place(square: Square, crop: Crop) -> (f32, f32, f32, f32) {
    let side = crop.square as f32;
    let x = crop.x as f32 + f32::from(square.file()) * side;
    let y = crop.y as f32 + f32::from(7 - square.rank()) * side;
    (x, y, x + side, y + side)
}

/// Whether a square is seen whole: what stands on it reaches to within a tenth of its sides.
fn is_seen(square: Square, crop: Crop, panel: Panel) -> bool {
    let (left, top, right, bottom) = place(square, crop);
    let (width, height) = (POSTER.width as f32, POSTER.height as f32);
    let slack = 2.0 * SHEET as f32;
    let inside = left >= -slack && top >= -slack && right <= width + slack && bottom <= height + slack;
    let air = (right - left) * 0.10;
    let clear = match panel {
        Panel::None | Panel::Portrait(_) => true,
        // The cut leans to the left: it is nearest at the square's top.
        Panel::Left { top: from, bottom: to } => left + air >= from + (to - from) * top / height + 12.0,
        // It rises to the right: it is nearest at the square's left.
        Panel::Above { left: from, right: to } => top + air >= from + (to - from) * left.max(0.0) / width + 12.0,
    };
    inside && clear
}

/// What of what must be seen is missing, and what would be under the running time.
fn lacks(subject: &Subject, crop: Crop, panel: Panel) -> Lacks {
    let missing = subject.must.iter().filter(|square| !is_seen(**square, crop, panel)).count();
    let hidden = subject.must.iter().filter(|square| is_in_corner(**square, crop)).count();
    (missing, hidden)
}

/// Whether what stands on a square, which reaches to within a tenth of its sides, lies partly in the corner of the
/// running time.
fn is_in_corner(square: Square, crop: Crop) -> bool {
    let (left, top, right, bottom) = place(square, crop);
    let (width, height) = (POSTER.width as f32, POSTER.height as f32);
    let air = (right - left) * 0.10;
    right - air > width * (1.0 - CORNER)
        && left + air < width
        && bottom - air > height * (1.0 - CORNER)
        && top + air < height
}

/// How good a crop is beside what must be seen: what else is seen, in the middle, and none of it in the corner.
fn score(subject: &Subject, crop: Crop, panel: Panel) -> f32 {
    let seen = subject.better.iter().filter(|square| is_seen(**square, crop, panel)).count() as f32;
    let (width, height) = (POSTER.width as f32, POSTER.height as f32);
    let hidden = subject.better.iter().filter(|square| is_in_corner(**square, crop)).count() as f32;
    let shows = |square: &&Square| {
        let (left, top, right, bottom) = place(**square, crop);
        let (x, y) = (right.min(width), bottom.min(height));
        let uncovered = match panel {
            Panel::None | Panel::Portrait(_) => true,
            Panel::Left { top, bottom } => x > top + (bottom - top) * y / height,
            Panel::Above { left, right } => y > left + (right - left) * x / width,
        };
        left < width && top < height && x > 0.0 && y > 0.0 && uncovered
    };
    let is_cut = |square: &&Square| shows(square) && !is_seen(**square, crop, panel);
    let cut = subject.better.iter().filter(is_cut).count() as f32;
    let (middle_x, middle_y) = match panel {
        Panel::None | Panel::Portrait(_) => (width / 2.0, height / 2.0),
        Panel::Left { top, bottom } => (f32::midpoint(f32::midpoint(top, bottom), width), height * 0.48),
        Panel::Above { left, right } => (width / 2.0, f32::midpoint(f32::midpoint(left, right), height)),
    };
    let count = subject.must.len().max(1) as f32;
    let (sum_x, sum_y) = subject.must.iter().fold((0.0, 0.0), |(x, y), square| {
        let (left, top, right, bottom) = place(*square, crop);
        (x + f32::midpoint(left, right), y + f32::midpoint(top, bottom))
    });
    let away = ((sum_x / count - middle_x).abs() + (sum_y / count - middle_y).abs()) / crop.square as f32;
    seen * 0.8 - away - hidden * 1.5 - cut * 0.9
}
