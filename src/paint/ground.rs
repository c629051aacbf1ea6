//! The empty ground: one flat colour under board and words, darkening towards the frame's edges only. Paper is flat.
//!
//! A flat ground codes about six times smaller than a graded one and lets a changed rectangle carry few colours, so
//! the gradient is confined to the margin, outside nearly all that moves. There its dozen steps would show as rings:
//! round each step an 8 × 8 Bayer pattern softens it. Between the steps the margin is flat again, which saves more
//! than half of what a pattern all over would cost.

use super::theme::{Rgba, SquareFill, Theme};
use crate::units::Size;
use tiny_skia::{Pixmap, PremultipliedColorU8};

/// Paints the ground of a whole frame.
pub(super) fn ground(size: Size, theme: &Theme) -> Pixmap {
    let mut pixmap = Pixmap::new(size.width, size.height).expect("a frame has a size");
    if theme.square_fill == SquareFill::Hatched {
        pixmap.pixels_mut().fill(pixel(theme.ground_centre.mix(theme.ground_edge, 0.5)));
        return pixmap;
    }
    let across = squeeze(size.width);
    let down = squeeze(size.height);
    let flat = pixel(theme.ground_centre);
    let width = size.width as usize;
    for (y, row) in pixmap.pixels_mut().chunks_exact_mut(width).enumerate() {
        for (x, target) in row.iter_mut().enumerate() {
            let t = margin(across[x] + down[y]);
            *target = if t == 0.0 { flat } else { pixel(dithered(theme, t, x, y)) };
        }
    }
    pixmap
}

/// (distance from the middle, 1 at the edge)^4, for each pixel of an axis. Summed over both axes this grows along
/// the frame's edges and most in its corners; no root is needed.
fn squeeze(length: u32) -> Vec<f32> {
    let half = length as f32 / 2.0;
    (0..length)
        .map(|i| {
            let d = (i as f32 + 0.5 - half) / half;
            let square = d * d;
            square * square
        })
        .collect()
}

/// Where the margin begins and ends on the scale of [`squeeze`]: it begins at .84 of the way to the middle of an edge,
/// and only the corners reach the full edge colour.
const BEGINS: f32 = 0.5;
const ENDS: f32 = 2.0;

fn margin(squeezed: f32) -> f32 {
    let t = ((squeezed - BEGINS) / (ENDS - BEGINS)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

fn dithered(theme: &Theme, t: f32, x: usize, y: usize) -> Rgba {
    let threshold = (f32::from(BAYER[y % 8][x % 8]) + 0.5) / 64.0;
    let mut mixed = [255; 4];
    for (i, channel) in mixed.iter_mut().enumerate().take(3) {
        let (from, to) = (f32::from(theme.ground_centre.0[i]), f32::from(theme.ground_edge.0[i]));
        let exact = from + (to - from) * t;
        // Cutting off is rounding down, as nothing here is negative; where the machine has no rounding of its own, a call
        // for each would be a third of the time that a still takes.
        let whole = f32::from(exact as u8);
        let steep = ((exact - whole - 0.5) * STEEPNESS + 0.5).clamp(0.0, 1.0);
        *channel = (whole + steep + threshold) as u8;
    }
    Rgba(mixed)
}

/// A step takes this part, inverted, of the way to the next one; the rest of the way is flat.
const STEEPNESS: f32 = 2.5;

fn pixel(colour: Rgba) -> PremultipliedColorU8 {
    let [r, g, b, _] = colour.0;
    PremultipliedColorU8::from_rgba(r, g, b, 255).expect("an opaque colour is its own premultiplied one")
}

/// The ordered dither matrix of Bayer (1973): each value once, neighbours far apart.
const BAYER: [[u8; 8]; 8] = [
    [0, 32, 8, 40, 2, 34, 10, 42],
    [48, 16, 56, 24, 50, 18, 58, 26],
    [12, 44, 4, 36, 14, 46, 6, 38],
    [60, 28, 52, 20, 62, 30, 54, 22],
    [3, 35, 11, 43, 1, 33, 9, 41],
    [51, 19, 59, 27, 49, 17, 57, 25],
    [15, 47, 7, 39, 13, 45, 5, 37],
    [63, 31, 55, 23, 61, 29, 53, 21],
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paint::theme::{DUSK, INK};

    #[test]
    fn the_middle_is_flat_and_the_corners_have_the_edge_colour() {
        let ground = ground(Size { width: 320, height: 180 }, &DUSK);
        let at = |x, y| ground.pixel(x, y).expect("inside");
        for (x, y) in [(40, 90), (160, 20), (200, 150), (280, 90)] {
            assert_eq!(at(x, y), pixel(DUSK.ground_centre));
        }
        let wanted = DUSK.ground_edge.0;
        let corner = at(0, 0);
        assert!(corner.red().abs_diff(wanted[0]) <= 1 && corner.blue().abs_diff(wanted[2]) <= 1);
    }

    #[test]
    fn paper_is_flat() {
        let ground = ground(Size { width: 64, height: 36 }, &INK);
        assert!(ground.pixels().iter().all(|pixel| *pixel == ground.pixels()[0]));
    }

    #[test]
    fn the_bayer_matrix_holds_every_threshold_once() {
        let mut all: Vec<u8> = BAYER.iter().flatten().copied().collect();
        all.sort_unstable();
        assert_eq!(all, (0..64).collect::<Vec<u8>>());
    }
}
