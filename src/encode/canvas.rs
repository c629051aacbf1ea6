//! What the coders look at: a film's frames, painted and converted only where they change.

use super::yuv::Yuv;
use crate::film::{Film, Picture};
use crate::paint::{Painter, Pixmap};
use crate::units::{FrameIndex, FrameRate, Size};
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

    /// Something that paints whole frames, for one thread. The same frame always has the same pixels.
    fn brush(&self) -> Brush<'_>;
}

/// Paints a whole frame: premultiplied sRGB onto a pixmap of the pictures' size.
pub type Brush<'a> = Box<dyn FnMut(FrameIndex, &mut Pixmap) + 'a>;

impl Pictures for Film {
    fn size(&self) -> Size {
        self.look().size
    }

    fn rate(&self) -> FrameRate {
        Film::rate(self)
    }

    fn changes(&self, range: Range<FrameIndex>) -> Vec<bool> {
        let mut before: Option<Picture> = None;
        let changed = |frame| {
            let picture = self.frame(FrameIndex(frame));
            let changed = before.as_ref() != Some(&picture);
            before = Some(picture);
            changed
        };
        (range.start.0..range.end.0).map(changed).collect()
    }

    fn cuts(&self) -> Vec<FrameIndex> {
        self.chapters().iter().map(|chapter| Film::rate(self).first_at(chapter.start)).collect()
    }

    fn brush(&self) -> Brush<'_> {
        let mut painter = Painter::new(self.look());
        Box::new(move |frame, pixmap| painter.paint(&self.frame(frame), pixmap))
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

    /// Paints `frame` and converts it.
    pub fn paint(&mut self, frame: FrameIndex) {
        (self.brush)(frame, &mut self.pixmap);
        self.planes.convert(self.pixmap.data());
    }

    /// The frame last painted.
    pub fn planes(&self) -> &Yuv {
        &self.planes
    }
}
