//! What of a film's pictures is coded: all of an opaque film; of an overlay its fill and its key, a clip each.
//!
//! The fill carries straight colour, *unshaped*: it has not been multiplied by the key, so whoever lays it over footage
//! multiplies once. Where nothing is, it goes on in the colour of the plates, which is what every edge of an overlay
//! fades from: half-covered pixels, chroma shared by four pixels, and scaling never mix in black, and no fringe is seen.
//! The key is the coverage as grey, 16 for nothing to 235 for all.

use super::canvas::{Brush, Pictures};
use crate::film::Film;
use crate::paint::{self, Painter, Pixmap};
use crate::timeline::Layout;
use crate::units::{Fnv, FrameIndex, FrameRate, PixelRect, Size};
use std::ops::Range;

/// One of the clips that a film's pictures become.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Layer {
    /// The pictures as they are, opaque.
    Whole,
    /// An overlay's colours, straight.
    Fill,
    /// An overlay's coverage, the matte.
    Key,
}

impl Layer {
    /// The layers of a film, in the order in which they are made.
    pub fn of(film: &Film) -> &'static [Layer] {
        match film.look().layout {
            Layout::Overlay => &[Layer::Fill, Layer::Key],
            Layout::Panel | Layout::LowerThird => &[Layer::Whole],
        }
    }
}

/// A layer of a film as pictures.
#[derive(Clone, Copy)]
pub struct Layered<'a> {
    film: &'a Film,
    layer: Layer,
}

impl<'a> Layered<'a> {
    /// A layer of `film`.
    pub fn new(film: &'a Film, layer: Layer) -> Layered<'a> {
        Layered { film, layer }
    }
}

/// Both layers of an overlay change at the same frames, so that their chunks begin together and they have a unit for
/// every frame of the film.
impl Pictures for Layered<'_> {
    fn size(&self) -> Size {
        Pictures::size(self.film)
    }

    fn rate(&self) -> FrameRate {
        Pictures::rate(self.film)
    }

    fn changes(&self, range: Range<FrameIndex>) -> Vec<bool> {
        self.film.changes(range)
    }

    fn cuts(&self) -> Vec<FrameIndex> {
        self.film.cuts()
    }

    fn digest(&self, frame: FrameIndex) -> Option<u128> {
        let whole = self.film.digest(frame)?;
        let name: &[u8] = match self.layer {
            Layer::Whole => return Some(whole),
            Layer::Fill => b"fill",
            Layer::Key => b"key",
        };
        let mut fnv = Fnv::default();
        fnv.bytes(name);
        fnv.bytes(&whole.to_le_bytes());
        Some(fnv.value())
    }

    fn brush(&self) -> Brush<'_> {
        let turn: fn([u8; 4], [u8; 4]) -> [u8; 4] = match self.layer {
            Layer::Whole => return self.film.brush(),
            Layer::Fill => colour,
            Layer::Key => coverage,
        };
        let Size { width, height } = self.size();
        // The painted frame is kept, for what is painted anew may overlap.
        let mut painted = Pixmap::new(width, height).expect("a film's frame has a size that can be painted");
        let [r, g, b, _] = Painter::new(self.film.look()).plate_colour().0;
        let empty = [r, g, b, u8::MAX];
        let mut brush = self.film.brush();
        Box::new(move |frame, pixmap| {
            let changed = brush(frame, &mut painted);
            for rect in &changed {
                turn_within(&painted, pixmap, *rect, |pixel| turn(pixel, empty));
            }
            changed
        })
    }
}

/// A premultiplied pixel's own colour, opaque; `empty` where there is none.
fn colour(pixel: [u8; 4], empty: [u8; 4]) -> [u8; 4] {
    let [r, g, b, a] = paint::straight(pixel);
    if a == 0 { empty } else { [r, g, b, u8::MAX] }
}

/// A pixel's coverage as grey.
fn coverage([_, _, _, a]: [u8; 4], _: [u8; 4]) -> [u8; 4] {
    [a, a, a, u8::MAX]
}

fn turn_within(from: &Pixmap, to: &mut Pixmap, rect: PixelRect, turn: impl Fn([u8; 4]) -> [u8; 4]) {
    let row = from.width() as usize * 4;
    let (start, length) = (rect.x as usize * 4, rect.width as usize * 4);
    for y in rect.y as usize..(rect.y + rect.height).min(from.height()) as usize {
        let at = y * row + start..(y * row + start + length).min((y + 1) * row);
        let (from, _) = from.data()[at.clone()].as_chunks::<4>();
        let (to, _) = to.data_mut()[at].as_chunks_mut::<4>();
        for (from, to) in from.iter().zip(to) {
            *to = turn(*from);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fill_multiplied_by_its_key_is_the_painted_picture_again() {
        let empty = [9, 8, 7, 255];
        for a in 0..=255u8 {
            for part in 0..=8u32 {
                let channel = (u32::from(a) * part / 8) as u8;
                let pixel = [channel, 0, a, a];
                let fill = colour(pixel, empty);
                let [key, ..] = coverage(pixel, empty);
                assert_eq!((key, fill[3]), (a, 255));
                if a == 0 {
                    assert_eq!(fill, empty);
                    continue;
                }
                for (fill, painted) in fill.iter().zip(pixel).take(3) {
                    let again = (u32::from(*fill) * u32::from(key) + 127) / 255;
                    assert!(again.abs_diff(u32::from(painted)) <= 1, "{pixel:?} becomes {fill}");
                }
            }
        }
    }
}
