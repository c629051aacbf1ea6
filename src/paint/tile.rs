//! Parts of the frame that are painted by themselves, kept, and copied into place.
//!
//! The parts of a scene (board, head, list, caption) never overlap, so a part that has not changed costs a copy, and
//! a rectangle of the frame comes out the same whether it is painted alone or with the rest.

use super::canvas::Canvas;
use crate::units::{PixelRect, Size};
use tiny_skia::Pixmap;

/// A rectangle of the frame with its pixels.
pub(super) struct Tile {
    place: PixelRect,
    pixels: Pixmap,
}

impl Tile {
    /// The ground as it lies at `place`, which must lie within it and not be empty.
    pub fn cut(ground: &Pixmap, place: PixelRect) -> Tile {
        let pixels = Pixmap::new(place.width, place.height).expect("a part of the frame has a size");
        let mut tile = Tile { place, pixels };
        tile.clear(ground);
        tile
    }

    /// Another tile of the same place with the same pixels.
    pub fn copy_of(other: &Tile) -> Tile {
        Tile { place: other.place, pixels: other.pixels.clone() }
    }

    /// Where it lies.
    pub fn place(&self) -> PixelRect {
        self.place
    }

    /// Its pixels.
    pub fn pixels(&self) -> &Pixmap {
        &self.pixels
    }

    /// Its pixels, to paint on.
    pub fn pixels_mut(&mut self) -> &mut Pixmap {
        &mut self.pixels
    }

    /// Makes it the bare ground again.
    pub fn clear(&mut self, ground: &Pixmap) {
        copy(ground, (self.place.x, self.place.y), &mut self.pixels, (0, 0), self.place);
    }

    /// Makes it equal to another tile of the same place.
    pub fn copy_from(&mut self, other: &Tile) {
        self.pixels.data_mut().copy_from_slice(other.pixels.data());
    }

    /// Makes it equal to another tile of the same place, moved `down` by so many pixels, with bare ground behind it.
    pub fn copy_moved(&mut self, other: &Tile, down: i32, ground: &Pixmap) {
        if down != 0 {
            self.clear(ground);
        }
        self.each_row(other, down, |row, other| row.copy_from_slice(other));
    }

    /// Makes it lie `t` of the way (0 to 1) from itself to another tile of the same place, moved `down` by so many
    /// pixels; what that leaves open stays.
    pub fn blend_moved(&mut self, other: &Tile, down: i32, t: f32) {
        self.each_row(other, down, |row, other| blend(row, other, t));
    }

    fn each_row(&mut self, other: &Tile, down: i32, mut join: impl FnMut(&mut [u8], &[u8])) {
        let length = self.place.width as usize * 4;
        let skip = |by: i32| usize::try_from(by).unwrap_or(0);
        let rows = self.pixels.data_mut().chunks_exact_mut(length).skip(skip(down));
        for (row, other) in rows.zip(other.pixels.data().chunks_exact(length).skip(skip(-down))) {
            join(row, other);
        }
    }

    /// A canvas over it, in frame coordinates.
    pub fn canvas(&mut self) -> Canvas<'_> {
        Canvas::new(&mut self.pixels, self.place.x, self.place.y)
    }

    /// Copies what of it lies within `rect` into the frame.
    pub fn lay(&self, frame: &mut Pixmap, rect: PixelRect) {
        if let Some(part) = intersection(self.place, rect) {
            let from = (part.x - self.place.x, part.y - self.place.y);
            copy(&self.pixels, from, frame, (part.x, part.y), part);
        }
    }
}

/// Copies a rectangle of `size` from one picture to another.
fn copy(source: &Pixmap, from: (u32, u32), target: &mut Pixmap, to: (u32, u32), size: PixelRect) {
    let (source_row, target_row) = (source.width() as usize * 4, target.width() as usize * 4);
    let length = size.width as usize * 4;
    let source = &source.data()[from.1 as usize * source_row + from.0 as usize * 4..];
    let target = &mut target.data_mut()[to.1 as usize * target_row + to.0 as usize * 4..];
    for (source, target) in source.chunks(source_row).zip(target.chunks_mut(target_row)).take(size.height as usize) {
        target[..length].copy_from_slice(&source[..length]);
    }
}

/// Copies a rectangle of one picture to the same place in another of the same size.
pub(super) fn copy_same(source: &Pixmap, target: &mut Pixmap, rect: PixelRect) {
    copy(source, (rect.x, rect.y), target, (rect.x, rect.y), rect);
}

/// Moves premultiplied pixels `t` of the way (0 to 1, in 256 steps) towards others.
pub(super) fn blend(pixels: &mut [u8], towards: &[u8], t: f32) {
    let t = (t.clamp(0.0, 1.0) * 256.0).round() as u32;
    for (value, &other) in pixels.iter_mut().zip(towards) {
        *value = ((u32::from(*value) * (256 - t) + u32::from(other) * t + 128) >> 8) as u8;
    }
}

/// The whole frame.
pub(super) fn whole(size: Size) -> PixelRect {
    PixelRect { x: 0, y: 0, width: size.width, height: size.height }
}

/// The pixels touched by a rectangle with these edges, cut to the frame; `None` if there are none.
pub(super) fn covering(left: f32, top: f32, right: f32, bottom: f32, size: Size) -> Option<PixelRect> {
    let x = left.floor().max(0.0) as u32;
    let y = top.floor().max(0.0) as u32;
    let right = (right.ceil().max(0.0) as u32).min(size.width);
    let bottom = (bottom.ceil().max(0.0) as u32).min(size.height);
    (right > x && bottom > y).then(|| PixelRect { x, y, width: right - x, height: bottom - y })
}

/// What two rectangles share.
pub(super) fn intersection(a: PixelRect, b: PixelRect) -> Option<PixelRect> {
    let (x, y) = (a.x.max(b.x), a.y.max(b.y));
    let right = (a.x + a.width).min(b.x + b.width);
    let bottom = (a.y + a.height).min(b.y + b.height);
    (right > x && bottom > y).then(|| PixelRect { x, y, width: right - x, height: bottom - y })
}
