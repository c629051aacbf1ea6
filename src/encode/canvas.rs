//! What the coders look at: a film's frames, painted and converted only where they change.

use super::yuv::{Yuv, even_rect};
use crate::film::{Film, Look, Own, Picture};
use crate::paint::{Painter, Pixmap};
use crate::units::{Fnv, FrameIndex, FrameRate, PixelRect, Size};
use std::ops::Range;

/// Pictures in order that can be coded: a film; in tests, anything that can be painted frame by frame.
pub trait Pictures: Sync {
    /// Their size in pixels; both sides are even.
    fn size(&self) -> Size;

    /// Frames per second.
    fn rate(&self) -> FrameRate;

    /// For each frame of `range`, whether it shows anything else than the frame before it. What it says of the first
    /// frame does not matter.
    fn changes(&self, range: Range<FrameIndex>) -> Vec<bool>;

    /// The frames at which scenes begin, in order.
    fn cuts(&self) -> Vec<FrameIndex>;

    /// A number that names all that shapes a frame's pixels: equal ones have equal pixels. `None` if there is none; then
    /// nothing is kept from one render to the next.
    fn digest(&self, frame: FrameIndex) -> Option<u128>;

    /// Something that paints frames, for one thread.
    fn brush(&self) -> Brush<'_>;
}

/// Paints a frame in premultiplied sRGB onto a pixmap of the pictures' size, which holds what the brush painted last;
/// says within which rectangles that may have changed it, all of it the first time. They may overlap. The same frame
/// always has the same pixels, whatever was painted before it.
pub type Brush<'a> = Box<dyn FnMut(FrameIndex, &mut Pixmap) -> Vec<PixelRect> + 'a>;

impl Pictures for Film {
    fn size(&self) -> Size {
        self.look().size
    }

    fn rate(&self) -> FrameRate {
        Film::rate(self)
    }

    fn changes(&self, range: Range<FrameIndex>) -> Vec<bool> {
        let frames = range.end.0.saturating_sub(range.start.0) as usize;
        let mut changes = Vec::with_capacity(frames);
        for run in self.runs(range) {
            changes.resize(changes.len() + (run.frames.end.0 - run.frames.start.0) as usize, !run.still);
        }
        // Past its end a film shows its last picture.
        changes.resize(frames, false);
        changes
    }

    fn cuts(&self) -> Vec<FrameIndex> {
        self.chapters().iter().map(|chapter| Film::rate(self).first_at(chapter.start)).collect()
    }

    fn digest(&self, frame: FrameIndex) -> Option<u128> {
        let Look { size, theme, layout, notation, own } = self.look();
        let Own { colours, pieces, fonts } = own;
        let mut fnv = Fnv::default();
        fnv.bytes(&size.width.to_le_bytes());
        fnv.bytes(&size.height.to_le_bytes());
        // The themes' colours and the layouts' measures are sources, whose version every chunk's name holds.
        fnv.bytes(&[theme as u8, layout as u8, notation as u8]);
        fnv.bytes(&[colours.given().count() as u8]);
        for (colour, value) in colours.given() {
            fnv.bytes(&[colour as u8]);
            fnv.bytes(&value);
        }
        for digest in [pieces, fonts] {
            fnv.bytes(&digest.map_or([0; 17], |digest| {
                let mut bytes = [1; 17];
                bytes[1..].copy_from_slice(&digest.to_le_bytes());
                bytes
            }));
        }
        fnv.bytes(&self.frame(frame).digest().to_le_bytes());
        Some(fnv.value())
    }

    fn brush(&self) -> Brush<'_> {
        let mut painter = Painter::new(self.look());
        let mut last: Option<Picture> = None;
        Box::new(move |frame, pixmap| {
            let picture = self.frame(frame);
            let changed = match &last {
                Some(last) => painter.damage(last, &picture),
                None => vec![whole(self.look().size)],
            };
            painter.paint_within(&picture, pixmap, &changed);
            last = Some(picture);
            changed
        })
    }
}

/// One thread's painting place: the frame last painted, as pixels and as planes.
pub struct Canvas<'a> {
    brush: Brush<'a>,
    pixmap: Pixmap,
    planes: Yuv,
}

impl<'a> Canvas<'a> {
    /// An empty canvas.
    pub fn new(pictures: &'a dyn Pictures) -> Canvas<'a> {
        let size = pictures.size();
        let pixmap = Pixmap::new(size.width, size.height).expect("a film's frame has a size that can be painted");
        Canvas { brush: pictures.brush(), pixmap, planes: Yuv::black(size) }
    }

    /// Paints `frame` where it differs from the one painted last, and converts that. The rectangles, with even places
    /// and sides, outside which the planes are as they were; they may overlap.
    pub fn paint(&mut self, frame: FrameIndex) -> Vec<PixelRect> {
        let size = self.planes.size();
        let changed = (self.brush)(frame, &mut self.pixmap);
        let changed: Vec<PixelRect> =
            changed.into_iter().filter_map(|rect| inside(rect, size)).map(even_rect).collect();
        for &rect in &changed {
            self.planes.convert_rect(self.pixmap.data(), rect);
        }
        changed
    }

    /// The frame last painted.
    pub fn planes(&self) -> &Yuv {
        &self.planes
    }
}

fn whole(size: Size) -> PixelRect {
    PixelRect { x: 0, y: 0, width: size.width, height: size.height }
}

/// The part of `rect` on a picture of this size, if there is any.
fn inside(rect: PixelRect, size: Size) -> Option<PixelRect> {
    let right = rect.x.saturating_add(rect.width).min(size.width);
    let bottom = rect.y.saturating_add(rect.height).min(size.height);
    let (width, height) = (right.checked_sub(rect.x)?, bottom.checked_sub(rect.y)?);
    (width > 0 && height > 0).then_some(PixelRect { width, height, ..rect })
}
