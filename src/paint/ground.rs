//! The empty ground: one flat colour under board and words, darkening towards the frame's edges only. Paper is flat.
//!
//! A flat ground codes many times smaller than a graded one and lets a changed rectangle carry few colours, so the
//! gradient is confined to the margin, outside nearly all that moves. There its steps would show as rings. So the
//! channels take turns, one level at a time, and half of each step is a checkerboard of both colours. A coder that knows
//! a pixel's neighbours foretells a flat place and a checkerboard alike: only the rings between them cost anything. A
//! pattern of more shades, such as Bayer's, has more rings and takes twice the bytes, and seen from where a pixel cannot
//! be told it is no nearer to the gradient.

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
    let shades = shades(theme);
    let width = size.width as usize;
    for (y, row) in pixmap.pixels_mut().chunks_exact_mut(width).enumerate() {
        for (x, target) in row.iter_mut().enumerate() {
            *target = shades[shade(margin(across[x] + down[y]), shades.len() - 1, x, y)];
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

/// The colours from the ground's middle to its edge: as many steps as all channels have levels to go.
fn shades(theme: &Theme) -> Vec<PremultipliedColorU8> {
    let (from, to) = (theme.ground_centre, theme.ground_edge);
    let steps: u16 = from.0.iter().zip(to.0).map(|(from, to)| u16::from(from.abs_diff(to))).sum();
    (0..=steps).map(|step| pixel(from.mix(to, f32::from(step) / f32::from(steps.max(1))))).collect()
}

/// Which of `steps` + 1 shades lies at `t` (0 to 1): the nearest one, and about half way between two a checkerboard of
/// both.
fn shade(t: f32, steps: usize, x: usize, y: usize) -> usize {
    // Cutting off is rounding down, as nothing here is negative; where the machine has no rounding of its own, a call
    // for each would be a third of the time that a still takes.
    let threshold = if (x + y).is_multiple_of(2) { 0.25 } else { 0.75 };
    (t * steps as f32 + threshold) as usize
}

fn pixel(colour: Rgba) -> PremultipliedColorU8 {
    let [r, g, b, _] = colour.0;
    PremultipliedColorU8::from_rgba(r, g, b, 255).expect("an opaque colour is its own premultiplied one")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paint::theme::{DUSK, INK, TIDE};

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
    fn no_ring_is_a_whole_step() {
        for theme in [&DUSK, &TIDE] {
            let steps = shades(theme).len() - 1;
            let mean = |t: f32| [0, 1].map(|x| shade(t, steps, x, 0)).iter().sum::<usize>();
            let mut before = 0;
            for t in (0..=10_000).map(|t| t as f32 / 10_000.0) {
                let now = mean(t);
                assert!(now == before || now == before + 1, "{now} halves of a step after {before}");
                before = now;
            }
            assert_eq!(before, 2 * steps, "the edge has the edge's colour");
        }
    }

    #[test]
    fn from_shade_to_shade_no_channel_leaps() {
        for theme in [&DUSK, &TIDE, &Theme { ground_edge: DUSK.ground_centre, ..DUSK }] {
            let shades = shades(theme);
            assert_eq!(shades[0], pixel(theme.ground_centre));
            assert_eq!(shades[shades.len() - 1], pixel(theme.ground_edge));
            for pair in shades.windows(2) {
                let channels = |shade: PremultipliedColorU8| [shade.red(), shade.green(), shade.blue()];
                let (from, to) = (channels(pair[0]), channels(pair[1]));
                assert!(from.iter().zip(to).all(|(from, to)| from.abs_diff(to) <= 1), "{from:?} to {to:?}");
            }
        }
    }
}
