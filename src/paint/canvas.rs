//! A part of the frame to draw on, in the frame's own coordinates, and the plain shapes.

use super::brush::{Bounds, rounded};
use super::figurine::draw_figurine;
use super::silhouette::PieceSet;
use super::theme::Rgba;
use crate::units::Role;
use tiny_skia::{FillRule, Path, PathBuilder, Pixmap, PixmapPaint, Rect, Stroke, Transform};

/// Pixels whose top left corner lies somewhere in the frame. Everything drawn is given in frame coordinates, so that a
/// part can be repainted by itself and come out the same.
pub(super) struct Canvas<'a> {
    pixels: &'a mut Pixmap,
    left: f32,
    top: f32,
}

impl<'a> Canvas<'a> {
    /// A canvas whose first pixel is the frame's pixel (`left`, `top`).
    pub fn new(pixels: &'a mut Pixmap, left: u32, top: u32) -> Canvas<'a> {
        Canvas { pixels, left: left as f32, top: top as f32 }
    }

    /// Fills a path given in its own coordinates, placed by `transform`.
    pub fn fill(&mut self, path: &Path, colour: Rgba, transform: Transform) {
        let transform = transform.post_translate(-self.left, -self.top);
        self.pixels.fill_path(path, &colour.to_paint(), FillRule::Winding, transform, None);
    }

    /// A rectangle, its edges between pixels softened.
    pub fn rectangle(&mut self, x: f32, y: f32, width: f32, height: f32, colour: Rgba) {
        if let Some(rect) = Rect::from_xywh(x, y, width, height) {
            self.fill(&PathBuilder::from_rect(rect), colour, Transform::identity());
        }
    }

    /// A rectangle with rounded corners.
    pub fn rounded(&mut self, bounds: Bounds, radius: f32, colour: Rgba) {
        if let Some(path) = rounded(bounds, radius) {
            self.fill(&path, colour, Transform::identity());
        }
    }

    /// The outline of a rectangle with rounded corners, `width` thick, its middle on the bounds.
    pub fn frame(&mut self, bounds: Bounds, radius: f32, width: f32, colour: Rgba) {
        if let Some(path) = rounded(bounds, radius) {
            let stroke = Stroke { width, ..Stroke::default() };
            let transform = Transform::from_translate(-self.left, -self.top);
            self.pixels.stroke_path(&path, &colour.to_paint(), &stroke, transform, None);
        }
    }

    /// A piece as a sign in a text of `em` pixels.
    pub fn figurine(&mut self, piece: (&PieceSet, Role), em: f32, x: f32, baseline: f32, colour: Rgba) {
        draw_figurine(self.pixels, piece, em, x - self.left, baseline - self.top, colour);
    }

    /// Lays a picture down with its top left corner at a whole pixel of the frame.
    pub fn picture(&mut self, picture: &Pixmap, x: i32, y: i32) {
        let (x, y) = (x - self.left as i32, y - self.top as i32);
        self.pixels.draw_pixmap(x, y, picture.as_ref(), &PixmapPaint::default(), Transform::identity(), None);
    }
}
