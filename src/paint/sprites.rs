//! Pieces and their shadows, drawn once for each size and place within a pixel, and kept.

use super::brush::place;
use super::piece::{Pose, Sprite, draw};
use super::silhouette::PieceSet;
use super::theme::{PieceInk, Rgba, Theme};
use crate::units::{Piece, Role, Side};
use std::collections::HashMap;
use std::hash::Hash;
use std::sync::Arc;
use tiny_skia::{Pixmap, PremultipliedColorU8};

/// A piece on its way is drawn to the eighth of a pixel, which no eye can tell from exact, so that a slow glide does
/// not step, and a piece at rest finds the sprite it had before.
const STEPS: f32 = 8.0;
/// A bow is drawn to the 128th of its angle: the king's cross then moves by less than a quarter of a pixel a step.
const BOW_STEPS: f32 = 128.0;
/// Pieces kept, half of them of late: both sides' at rest and, while they glide, as many again. A glide's sprites, each
/// at another part of a pixel, are hardly ever wanted again, however many are kept: 90 kB each at 1080p.
const KEEP_PIECES: usize = 64;
/// Shadows kept: all pieces at rest have one.
const KEEP_SHADOWS: usize = 24;
/// Bytes of pixels kept of each: at 2160p the pieces at rest take 4.3 MB.
const KEEP_BYTES: usize = 12 << 20;

/// Keeps sprites. What it keeps never changes what is drawn.
pub(super) struct Sprites {
    set: &'static PieceSet,
    pieces: Kept<PieceKey>,
    shadows: Kept<ShadowKey>,
}

#[derive(Clone, Copy, PartialEq, Eq, Hash)]
struct PieceKey {
    role: Role,
    ink: PieceInk,
    size: u32,
    bow: i32,
    offset: (u8, u8),
}

#[derive(Clone, Copy, PartialEq, Eq, Hash)]
struct ShadowKey {
    colour: Rgba,
    size: u32,
    lift: u8,
    offset: (u8, u8),
}

/// A place split into whole pixels and eighths.
fn split(at: f32) -> (i32, u8) {
    let steps = (at * STEPS).round() as i32;
    (steps.div_euclid(STEPS as i32), steps.rem_euclid(STEPS as i32) as u8)
}

impl Sprites {
    /// None kept yet, of the pieces that come with plyreel.
    #[cfg(test)]
    pub fn new() -> Sprites {
        Sprites::of(PieceSet::staunton())
    }

    /// None kept yet, of these pieces.
    pub fn of(set: &'static PieceSet) -> Sprites {
        Sprites { set, pieces: Kept::new(KEEP_PIECES), shadows: Kept::new(KEEP_SHADOWS) }
    }

    /// Whose sprites they are.
    pub fn set(&self) -> &'static PieceSet {
        self.set
    }

    /// A piece alone, for side tiles and cards, its square `size` pixels wide.
    pub fn sprite(&mut self, piece: Piece, size: f32, theme: &Theme) -> Arc<Sprite> {
        self.piece(piece.role, ink_of(piece.side, theme), size, 0.0, (0, 0))
    }

    /// A piece in colours of one's own.
    pub fn tinted(&mut self, role: Role, ink: &PieceInk, size: f32) -> Arc<Sprite> {
        self.piece(role, ink, size, 0.0, (0, 0))
    }

    fn piece(&mut self, role: Role, ink: &PieceInk, size: f32, bow: f32, offset: (u8, u8)) -> Arc<Sprite> {
        let key = PieceKey {
            role,
            ink: *ink,
            size: (size * STEPS).round() as u32,
            bow: (bow * BOW_STEPS).round() as i32,
            offset,
        };
        let part = |eighths: u8| f32::from(eighths) / STEPS;
        let set = self.set;
        self.pieces.get(key, || {
            let pose = Pose {
                size: key.size as f32 / STEPS,
                bow: key.bow as f32 / BOW_STEPS,
                offset: (part(offset.0), part(offset.1)),
            };
            draw(set, role, ink, pose)
        })
    }

    /// Lays a piece with its square's corner at (x, y), to the eighth of a pixel.
    pub fn put_piece(
        &mut self,
        pixmap: &mut Pixmap,
        (role, ink): (Role, &PieceInk),
        (x, y): (f32, f32),
        size: f32,
        bow: f32,
        opacity: f32,
    ) {
        let ((x, part_x), (y, part_y)) = (split(x), split(y));
        let sprite = self.piece(role, ink, size, bow, (part_x, part_y));
        place(pixmap, &sprite.pixmap, x - sprite.pad, y - sprite.pad, opacity);
    }

    /// Lays the soft shadow of a piece on a square with its corner at (x, y); `lift` (0 to 1) softens it.
    pub fn put_shadow(
        &mut self,
        pixmap: &mut Pixmap,
        colour: Rgba,
        (x, y): (f32, f32),
        size: f32,
        lift: f32,
        opacity: f32,
    ) {
        let ((x, part_x), (y, part_y)) = (split(x), split(y));
        let key = ShadowKey {
            colour,
            size: (size * STEPS).round() as u32,
            lift: (lift.clamp(0.0, 1.0) * 32.0).round() as u8,
            offset: (part_x, part_y),
        };
        let sprite = self.shadows.get(key, || shadow(key));
        place(pixmap, &sprite.pixmap, x - sprite.pad, y - sprite.pad, opacity);
    }
}

/// The colours of a side's pieces.
pub(super) fn ink_of(side: Side, theme: &Theme) -> &PieceInk {
    match side {
        Side::White => &theme.light,
        Side::Black => &theme.dark,
    }
}

/// An ellipse under the foot, a little to the right of it, darkest in the middle. In twelve steps only: more cannot be
/// seen, and each is a colour the coder must carry.
fn shadow(key: ShadowKey) -> Sprite {
    let size = key.size as f32 / STEPS;
    let lift = f32::from(key.lift) / 32.0;
    let pad = (size * 0.1).ceil() as i32 + 1;
    let side = size.ceil() as u32 + 2 * pad as u32 + 1;
    let mut pixmap = Pixmap::new(side, side).expect("a sprite has a size");
    let corner = |eighths: u8| pad as f32 + f32::from(eighths) / STEPS;
    let (left, top) = (corner(key.offset.0), corner(key.offset.1));
    let centre = (left + size * (0.535 + 0.03 * lift), top + size * 0.897);
    let radii = (size * (0.42 + 0.02 * lift), size * (0.105 + 0.012 * lift));
    let core = 0.55 - 0.25 * lift;
    let steps = 12.0;
    let [r, g, b, strength] = key.colour.0;
    let darkest = f32::from(strength) / 255.0 * (1.0 - 0.35 * lift);
    let width = side as usize;
    for (i, pixel) in pixmap.pixels_mut().iter_mut().enumerate() {
        let (dx, dy) =
            (((i % width) as f32 + 0.5 - centre.0) / radii.0, ((i / width) as f32 + 0.5 - centre.1) / radii.1);
        let t = ((1.0 - (dx * dx + dy * dy).sqrt()) / (1.0 - core)).clamp(0.0, 1.0);
        let soft = (t * t * (3.0 - 2.0 * t) * steps).round() / steps;
        let alpha = (soft * darkest * 255.0).round() as u32;
        let dim = |channel: u8| ((u32::from(channel) * alpha + 127) / 255) as u8;
        if let Some(colour) = PremultipliedColorU8::from_rgba(dim(r), dim(g), dim(b), alpha as u8) {
            *pixel = colour;
        }
    }
    Sprite { pixmap, pad }
}

/// Sprites by key, in two generations: when the young one is full it becomes the old one, and what was still in the
/// old one is forgotten. What is used again is carried over, so it behaves as "least recently used" without a clock.
struct Kept<K> {
    young: HashMap<K, Arc<Sprite>>,
    old: HashMap<K, Arc<Sprite>>,
    /// Bytes of the young generation.
    bytes: usize,
    /// How many sprites both may have.
    most: usize,
}

impl<K: Copy + Eq + Hash> Kept<K> {
    fn new(most: usize) -> Kept<K> {
        Kept { young: HashMap::new(), old: HashMap::new(), bytes: 0, most }
    }

    fn get(&mut self, key: K, make: impl FnOnce() -> Sprite) -> Arc<Sprite> {
        if let Some(sprite) = self.young.get(&key) {
            return Arc::clone(sprite);
        }
        let sprite = self.old.remove(&key).unwrap_or_else(|| Arc::new(make()));
        let bytes = sprite.pixmap.data().len();
        if self.young.len() >= self.most / 2 || self.bytes + bytes > KEEP_BYTES / 2 {
            self.old = std::mem::take(&mut self.young);
            self.bytes = 0;
        }
        self.bytes += bytes;
        self.young.insert(key, Arc::clone(&sprite));
        sprite
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_split_into_whole_pixels_and_eighths() {
        assert_eq!(split(12.0), (12, 0));
        assert_eq!(split(12.26), (12, 2));
        assert_eq!(split(-0.125), (-1, 7));
        assert_eq!(split(0.99), (1, 0));
    }

    #[test]
    fn the_cache_stays_small_and_keeps_what_is_used() {
        for side in [5, 512] {
            let mut kept: Kept<usize> = Kept::new(KEEP_PIECES);
            let sprite = || Sprite { pixmap: Pixmap::new(side, side).expect("a size"), pad: 0 };
            kept.get(0, sprite);
            for key in 1..200 {
                kept.get(key, sprite);
                kept.get(0, || panic!("what is used all the time is never drawn twice"));
            }
            let count = kept.young.len() + kept.old.len();
            let bytes = count * (side * side * 4) as usize;
            assert!(count <= KEEP_PIECES && bytes <= KEEP_BYTES, "{count} sprites are kept");
        }
    }
}
