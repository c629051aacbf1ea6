//! A film → its cels: each picture that differs from the one before, cut down to where it does.

use super::{AnimationError, Watch};
use crate::film::{Film, Picture, Run};
use crate::paint::{Painter, Pixmap, straight};
use crate::units::{FrameIndex, PixelRect, Size};

/// What is laid over the cels before, from a frame on.
pub(super) struct Cel {
    /// From which frame it is on screen.
    pub first: u64,
    /// Up to which, that one not included: the next cel's first, or the film's end.
    pub end: u64,
    /// Where: the smallest rectangle with even place and sides that holds all changed pixels.
    pub rect: PixelRect,
    /// Its pixels row by row: straight red, green, blue, alpha.
    pub pixels: Vec<u8>,
}

impl Cel {
    /// Its pixels without alpha.
    pub fn rgb(&self) -> Vec<u8> {
        let (pixels, _) = self.pixels.as_chunks::<4>();
        pixels.iter().flat_map(|[r, g, b, _]| [*r, *g, *b]).collect()
    }
}

/// Hands every cel of the film to `take`, in order. Painted as needed and not kept; the same each time. `came` says how
/// far the whole work has come with a frame.
pub(super) fn each(
    film: &Film,
    watch: &Watch,
    came: impl Fn(u64) -> u64,
    mut take: impl FnMut(Cel) -> Result<(), AnimationError>,
) -> Result<(), AnimationError> {
    let mut stage = Stage::new(film);
    let mut waiting: Option<Cel> = None;
    for Run { frames, still } in film.runs(FrameIndex(0)..FrameIndex(film.frames())) {
        watch.came_to(came(frames.start.0))?;
        if still {
            continue;
        }
        for frame in frames.start.0..frames.end.0 {
            watch.came_to(came(frame))?;
            let Some(rect) = stage.paint(film.frame(FrameIndex(frame))) else { continue };
            let cel = Cel { first: frame, end: film.frames(), rect, pixels: stage.cut(rect) };
            if let Some(mut before) = waiting.replace(cel) {
                before.end = frame;
                take(before)?;
            }
        }
    }
    waiting.map_or(Ok(()), take)?;
    watch.came_to(came(film.frames()))
}

/// The picture as it was painted last.
struct Stage {
    painter: Painter,
    pixmap: Pixmap,
    last: Option<Picture>,
    /// Straight red, green, blue, alpha.
    shown: Vec<u8>,
    size: Size,
}

impl Stage {
    fn new(film: &Film) -> Stage {
        let look = film.look();
        let Size { width, height } = look.size;
        let pixmap = Pixmap::new(width, height).expect("a film's frame has a size that can be painted");
        let shown = vec![0; width as usize * height as usize * 4];
        Stage { painter: Painter::new(look), pixmap, last: None, shown, size: look.size }
    }

    /// Paints a picture; where its pixels differ from those before, if anywhere. The first differs everywhere.
    fn paint(&mut self, picture: Picture) -> Option<PixelRect> {
        let Size { width, height } = self.size;
        let whole = PixelRect { x: 0, y: 0, width, height };
        let first = self.last.is_none();
        let damaged = match &self.last {
            Some(last) => self.painter.damage(last, &picture),
            None => vec![whole],
        };
        self.painter.paint_within(&picture, &mut self.pixmap, &damaged);
        self.last = Some(picture);
        let mut changed: Option<[u32; 4]> = None;
        for rect in damaged {
            let (right, bottom) = ((rect.x + rect.width).min(width), (rect.y + rect.height).min(height));
            for y in rect.y..bottom {
                self.compare(y, rect.x..right, &mut changed);
            }
        }
        if first {
            return Some(whole);
        }
        changed.map(|[left, top, right, bottom]| {
            // A WebP frame's place is counted in steps of two pixels (RFC 9649, §2.7.1.1).
            let (x, y) = (left & !1, top & !1);
            PixelRect { x, y, width: (right - x).next_multiple_of(2), height: (bottom - y).next_multiple_of(2) }
        })
    }

    /// Takes over a stretch of a row, and widens `changed` (left, top, right, bottom) to what differs in it.
    fn compare(&mut self, y: u32, columns: std::ops::Range<u32>, changed: &mut Option<[u32; 4]>) {
        let at = |x: u32| (y as usize * self.size.width as usize + x as usize) * 4;
        let bytes = at(columns.start)..at(columns.end).max(at(columns.start));
        let (new, _) = self.pixmap.data()[bytes.clone()].as_chunks::<4>();
        let (old, _) = self.shown[bytes].as_chunks_mut::<4>();
        for (x, (new, old)) in columns.zip(new.iter().zip(old)) {
            let new = straight(*new);
            if *old != new {
                *old = new;
                let [left, top, right, bottom] = changed.get_or_insert([x, y, x + 1, y + 1]);
                (*left, *top) = ((*left).min(x), (*top).min(y));
                (*right, *bottom) = ((*right).max(x + 1), (*bottom).max(y + 1));
            }
        }
    }

    /// The pixels of a rectangle.
    fn cut(&self, rect: PixelRect) -> Vec<u8> {
        let row = |y: u32| {
            let start = (y as usize * self.size.width as usize + rect.x as usize) * 4;
            &self.shown[start..start + rect.width as usize * 4]
        };
        (rect.y..rect.y + rect.height).flat_map(|y| row(y).iter().copied()).collect()
    }
}
