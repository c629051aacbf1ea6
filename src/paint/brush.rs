//! How lines, casings and fades are laid on: the few strokes all marks share.
//!
//! Shapes are given in board squares (x from the a-file's left edge, y from the eighth rank's top edge); a *view* maps
//! them to pixels, so widths are fractions of a square too.

use super::theme::Rgba;
use crate::units::PixelRect;
use std::ops::Range;
use tiny_skia::{
    BlendMode, FillRule, LineCap, LineJoin, Paint, Path, PathBuilder, Pixmap, PremultipliedColorU8, Stroke, Transform,
};

/// The casing round every mark but the hatch, as a fraction of a square.
pub(super) const CASING: f32 = 0.018;

/// A rectangle of board squares or of pixels, as its holder says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Bounds {
    pub left: f32,
    pub top: f32,
    pub right: f32,
    pub bottom: f32,
}

impl Bounds {
    pub fn new(left: f32, top: f32, right: f32, bottom: f32) -> Bounds {
        Bounds { left, top, right, bottom }
    }

    /// From the left edge to the right one.
    pub fn width(self) -> f32 {
        self.right - self.left
    }

    /// From the top edge to the bottom one.
    pub fn height(self) -> f32 {
        self.bottom - self.top
    }

    /// Grown by `margin` on all four sides.
    pub fn grown(self, margin: f32) -> Bounds {
        Bounds::new(self.left - margin, self.top - margin, self.right + margin, self.bottom + margin)
    }

    /// The smallest rectangle that holds both.
    pub fn joined(self, other: Bounds) -> Bounds {
        Bounds::new(
            self.left.min(other.left),
            self.top.min(other.top),
            self.right.max(other.right),
            self.bottom.max(other.bottom),
        )
    }

    /// A path's extent.
    pub fn of(path: &Path) -> Bounds {
        let b = path.bounds();
        Bounds::new(b.left(), b.top(), b.right(), b.bottom())
    }

    /// The same rectangle in pixels. The view must scale evenly and not turn.
    pub fn seen(self, view: Transform) -> Bounds {
        Bounds::new(
            self.left * view.sx + view.tx,
            self.top * view.sy + view.ty,
            self.right * view.sx + view.tx,
            self.bottom * view.sy + view.ty,
        )
    }

    /// Whether any of it lies in a rectangle of pixels.
    pub fn touches(self, rect: PixelRect) -> bool {
        self.right > rect.x as f32
            && self.bottom > rect.y as f32
            && self.left < (rect.x + rect.width) as f32
            && self.top < (rect.y + rect.height) as f32
    }
}

/// A transparent picture over a larger one, for what must be erased, masked or faded as a whole.
///
/// It has the larger one's size and its coordinates, so that a shape comes out the same to the last bit whatever else
/// is drawn with it; but only the part over its bounds is looked at again. Memory never touched costs nothing.
pub(super) struct Layer {
    pub pixmap: Pixmap,
    used: Part,
}

/// Whole pixels: columns and rows.
type Part = (Range<u32>, Range<u32>);

impl Layer {
    /// A layer over `bounds` (in pixels). `None` if nothing of it would be seen.
    pub fn over(under: &Pixmap, bounds: Bounds) -> Option<Layer> {
        let cut = |from: f32, to: f32, end: u32| (from.floor().max(0.0) as u32)..(to.ceil().max(0.0) as u32).min(end);
        let used = (cut(bounds.left, bounds.right, under.width()), cut(bounds.top, bounds.bottom, under.height()));
        if used.0.is_empty() || used.1.is_empty() {
            return None;
        }
        Some(Layer { pixmap: Pixmap::new(under.width(), under.height())?, used })
    }

    /// The columns and rows it is used for.
    pub fn used(&self) -> Part {
        self.used.clone()
    }

    /// Lays it on the picture beneath.
    pub fn put(&self, under: &mut Pixmap, opacity: f32) {
        blit(under, &self.pixmap, (0, 0), self.used(), opacity);
    }
}

/// Lays one picture on another at a whole pixel.
///
/// By hand and not by tiny-skia's shaders: most of a sprite or a layer is empty, and skipping that makes it several
/// times faster. Premultiplied source-over, each product rounded to the nearest.
pub(super) fn place(under: &mut Pixmap, picture: &Pixmap, x: i32, y: i32, opacity: f32) {
    let cut = |from: i32, length: u32, end: u32| {
        (from.clamp(0, end as i32) as u32)..((from + length as i32).clamp(0, end as i32) as u32)
    };
    let part = (cut(x, picture.width(), under.width()), cut(y, picture.height(), under.height()));
    blit(under, picture, (x, y), part, opacity);
}

/// Lays a picture with its corner at (x, y), within `part` only, which both must hold.
fn blit(under: &mut Pixmap, picture: &Pixmap, (x, y): (i32, i32), (columns, rows): Part, opacity: f32) {
    let strength = (opacity.clamp(0.0, 1.0) * 255.0).round() as u32;
    if strength == 0 || columns.is_empty() {
        return;
    }
    let (stride, width) = (picture.width() as usize, under.width() as usize);
    for row in rows {
        let from = (row as i32 - y) as usize * stride + (columns.start as i32 - x) as usize;
        let to = row as usize * width + columns.start as usize;
        let sources = &picture.pixels()[from..][..columns.len()];
        for (pixel, source) in under.pixels_mut()[to..][..columns.len()].iter_mut().zip(sources) {
            if source.alpha() == 255 && strength == 255 {
                *pixel = *source;
            } else if source.alpha() > 0 {
                *pixel = over(*source, *pixel, strength);
            }
        }
    }
}

fn over(source: PremultipliedColorU8, under: PremultipliedColorU8, strength: u32) -> PremultipliedColorU8 {
    // Exact for products of two bytes: the rounded quotient by 255.
    let share = |product: u32| (product + 128 + ((product + 128) >> 8)) >> 8;
    let rest = 255 - share(u32::from(source.alpha()) * strength);
    let mix = |s: u8, u: u8| (share(u32::from(s) * strength) + share(u32::from(u) * rest)).min(255) as u8;
    let alpha = mix(source.alpha(), under.alpha());
    PremultipliedColorU8::from_rgba(
        mix(source.red(), under.red()),
        mix(source.green(), under.green()),
        mix(source.blue(), under.blue()),
        alpha,
    )
    .expect("no channel exceeds the alpha, since rounding keeps order")
}

/// Draws straight on the picture if `opacity` is full, else by way of a layer over `bounds` (in squares).
pub(super) fn faded(
    pixmap: &mut Pixmap,
    view: Transform,
    bounds: Bounds,
    opacity: f32,
    draw: impl FnOnce(&mut Pixmap, Transform),
) {
    if opacity >= 1.0 {
        draw(pixmap, view);
    } else if opacity > 0.0
        && let Some(mut layer) = Layer::over(pixmap, bounds.seen(view).grown(1.0))
    {
        draw(&mut layer.pixmap, view);
        layer.put(pixmap, opacity);
    }
}

/// A stroke with round ends and corners.
pub(super) fn round(width: f32) -> Stroke {
    Stroke { width, line_cap: LineCap::Round, line_join: LineJoin::Round, ..Stroke::default() }
}

/// Takes away what is there, as a paint.
pub(super) fn eraser(strength: f32) -> Paint<'static> {
    let mut paint = Rgba([0, 0, 0, 255]).fade(strength).to_paint();
    paint.blend_mode = BlendMode::DestinationOut;
    paint
}

pub(super) fn fill(pixmap: &mut Pixmap, path: &Path, colour: Rgba, view: Transform) {
    pixmap.fill_path(path, &colour.to_paint(), FillRule::Winding, view, None);
}

pub(super) fn stroke(pixmap: &mut Pixmap, path: &Path, colour: Rgba, stroke: &Stroke, view: Transform) {
    pixmap.stroke_path(path, &colour.to_paint(), stroke, view, None);
}

/// A mark's colours from the outside in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cased {
    pub colour: Rgba,
    pub casing: Rgba,
    /// A second, thin edge outside the casing, for a colour that sinks into the squares for some eyes.
    pub rim: Option<Rgba>,
}

/// The second edge's width, as a fraction of a square.
pub(super) const RIM: f32 = 0.011;

impl Cased {
    /// A line of `width`, its casing outside it.
    pub fn line(self, pixmap: &mut Pixmap, path: &Path, width: f32, view: Transform) {
        if let Some(rim) = self.rim {
            stroke(pixmap, path, rim, &round(width + 2.0 * (CASING + RIM)), view);
        }
        stroke(pixmap, path, self.casing, &round(width + 2.0 * CASING), view);
        stroke(pixmap, path, self.colour, &round(width), view);
    }

    /// Blunt dashes along a path, in a casing along another that is longer at both ends of each dash by [`CASING`].
    pub fn blunt(self, pixmap: &mut Pixmap, (path, casing): (&Path, &Path), width: f32, view: Transform) {
        let blunt = |width| Stroke { width, line_cap: LineCap::Butt, ..Stroke::default() };
        stroke(pixmap, casing, self.casing, &blunt(width + 2.0 * CASING), view);
        stroke(pixmap, path, self.colour, &blunt(width), view);
    }

    /// A solid shape.
    pub fn solid(self, pixmap: &mut Pixmap, path: &Path, view: Transform) {
        if let Some(rim) = self.rim {
            stroke(pixmap, path, rim, &round(2.0 * (CASING + RIM)), view);
        }
        stroke(pixmap, path, self.casing, &round(2.0 * CASING), view);
        fill(pixmap, path, self.colour, view);
    }
}

/// A rectangle with rounded corners.
pub(super) fn rounded(b: Bounds, radius: f32) -> Option<Path> {
    // .5523 of the radius makes a cubic follow a quarter circle to within .03 %.
    let k = radius * (1.0 - 0.5523);
    let Bounds { left, top, right, bottom } = b;
    let mut path = PathBuilder::new();
    path.move_to(left + radius, top);
    path.line_to(right - radius, top);
    path.cubic_to(right - k, top, right, top + k, right, top + radius);
    path.line_to(right, bottom - radius);
    path.cubic_to(right, bottom - k, right - k, bottom, right - radius, bottom);
    path.line_to(left + radius, bottom);
    path.cubic_to(left + k, bottom, left, bottom - k, left, bottom - radius);
    path.line_to(left, top + radius);
    path.cubic_to(left, top + k, left + k, top, left + radius, top);
    path.close();
    path.finish()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use tiny_skia::PixmapPaint;

    fn one(colour: Rgba) -> Pixmap {
        let mut pixmap = Pixmap::new(1, 1).expect("a size");
        let [r, g, b, a] = colour.0;
        pixmap.fill(tiny_skia::Color::from_rgba8(r, g, b, a));
        pixmap
    }

    proptest! {
        #[test]
        fn placing_is_source_over_as_tiny_skia_has_it(top: [u8; 4], under: [u8; 4], strength: u8) {
            let opacity = f32::from(strength) / 255.0;
            let (mut ours, mut theirs) = (one(Rgba(under)), one(Rgba(under)));
            place(&mut ours, &one(Rgba(top)), 0, 0, opacity);
            let paint = PixmapPaint { opacity, ..PixmapPaint::default() };
            theirs.draw_pixmap(0, 0, one(Rgba(top)).as_ref(), &paint, Transform::identity(), None);
            for (a, b) in ours.data().iter().zip(theirs.data()) {
                prop_assert!(a.abs_diff(*b) <= 2, "{:?} for {:?}", ours.data(), theirs.data());
            }
        }
    }

    #[test]
    fn what_lies_outside_is_not_placed() {
        let mut pixmap = Pixmap::new(4, 4).expect("a size");
        let full = Pixmap::new(3, 3)
            .map(|mut p| {
                p.fill(tiny_skia::Color::WHITE);
                p
            })
            .expect("a size");
        for (x, y) in [(-3, 0), (4, 0), (0, -9), (0, 4), (-40, -40)] {
            place(&mut pixmap, &full, x, y, 1.0);
        }
        assert!(pixmap.data().iter().all(|&byte| byte == 0));
        place(&mut pixmap, &full, -2, 3, 1.0);
        assert_eq!(pixmap.pixels().iter().filter(|p| p.alpha() > 0).count(), 1);
        assert!(pixmap.pixel(0, 3).is_some_and(|p| p.alpha() == 255));
    }
}
