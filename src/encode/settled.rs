//! What an ordinary coder is given to look at: the picture where it has changed of late, and elsewhere what a decoder
//! shows already, so that there is nothing left to code.
//!
//! A coder that quantizes never shows quite what it was given, and tries in every frame to make up for it, all over the
//! picture. Given its own picture back it finds a difference of nothing, at once. The coder tells what it shows some
//! frames late; a block is given back when it has not changed since the frame of which that is known.

use super::yuv::Yuv;
use crate::units::Size;

/// The side of a block in luma samples: the smallest whose chroma is a block too.
const BLOCK: usize = 8;

/// The pictures of a chunk as they are sent.
pub(super) struct Settled {
    /// The frame sent last, as painted.
    sent: Option<Yuv>,
    /// Of each block, row by row, the number of the frame in which it changed last.
    changed: Vec<u64>,
    /// What a decoder shows for the frame of this number.
    shown: Option<(u64, Yuv)>,
    next: u64,
}

impl Settled {
    /// Before the first frame of a chunk, which is a key.
    pub(super) fn new() -> Settled {
        Settled { sent: None, changed: Vec::new(), shown: None, next: 0 }
    }

    /// The planes to send for the next frame.
    pub(super) fn next(&mut self, painted: &Yuv) -> Yuv {
        let number = self.next;
        self.next += 1;
        let Size { width, height } = painted.size();
        let across = (width as usize).div_ceil(BLOCK);
        let Some(before) = &mut self.sent else {
            self.changed = vec![number; across * (height as usize).div_ceil(BLOCK)];
            self.sent = Some(painted.clone());
            return painted.clone();
        };
        for (plane, (old, new)) in before.planes().into_iter().zip(painted.planes()).enumerate() {
            let (row, block) = shape(width, plane);
            for (y, (old, new)) in old.chunks_exact(row).zip(new.chunks_exact(row)).enumerate() {
                // Most rows are as they were.
                if old != new {
                    for (x, (old, new)) in old.chunks(block).zip(new.chunks(block)).enumerate() {
                        if old != new {
                            self.changed[y / block * across + x] = number;
                        }
                    }
                }
            }
        }
        before.clone_from(painted);
        let Some((known, shown)) = &self.shown else { return painted.clone() };
        let mut mixed = painted.clone();
        for (plane, (to, from)) in mixed.planes_mut().into_iter().zip(shown.planes()).enumerate() {
            let (row, block) = shape(width, plane);
            for (y, (to, from)) in to.chunks_exact_mut(row).zip(from.chunks_exact(row)).enumerate() {
                let changed = &self.changed[y / block * across..][..across];
                for ((to, from), changed) in to.chunks_mut(block).zip(from.chunks(block)).zip(changed) {
                    if changed <= known {
                        to.copy_from_slice(from);
                    }
                }
            }
        }
        mixed
    }

    /// Takes over what a decoder shows for frame `number`; `read` writes it to the planes, and says whether it is known.
    pub(super) fn shows(&mut self, number: u64, read: impl FnOnce([&mut [u8]; 3]) -> bool) {
        let Some(sent) = &self.sent else { return };
        let (_, mut shown) = self.shown.take().unwrap_or_else(|| (number, sent.clone()));
        if read(shown.planes_mut()) {
            self.shown = Some((number, shown));
        }
    }
}

/// How many samples a row of a plane has, and a block's side in it.
fn shape(width: u32, plane: usize) -> (usize, usize) {
    if plane == 0 { (width as usize, BLOCK) } else { (width as usize / 2, BLOCK / 2) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A picture whose samples are all `level`, but for the luma samples listed.
    fn picture(level: u8, spots: &[(usize, usize)]) -> Yuv {
        let mut picture = Yuv::black(Size { width: 20, height: 18 });
        for plane in picture.planes_mut() {
            plane.fill(level);
        }
        for (x, y) in spots {
            picture.planes_mut()[0][y * 20 + x] = 200;
        }
        picture
    }

    #[test]
    fn what_has_not_changed_since_is_given_back() {
        let mut settled = Settled::new();
        let show = |settled: &mut Settled, number, level| {
            settled.shows(number, |planes| {
                for plane in planes {
                    plane.fill(level);
                }
                true
            });
        };
        // Nothing is known of what is shown: the pictures as they are.
        assert_eq!(settled.next(&picture(50, &[])), picture(50, &[]));
        assert_eq!(settled.next(&picture(50, &[(9, 3)])), picture(50, &[(9, 3)]));
        // The first frame is known, in which everything changed; the second changed the block around (9, 3).
        show(&mut settled, 0, 51);
        let given = settled.next(&picture(50, &[(9, 3)]));
        let [luma, cb, _] = given.planes();
        assert_eq!((luma[3 * 20 + 9], luma[3 * 20 + 8], luma[3 * 20 + 7], luma[8 * 20 + 9]), (200, 50, 51, 51));
        assert_eq!((cb[4], cb[3], cb[4 * 10 + 4]), (50, 51, 51), "chroma goes with its block");
        // The second is known too, and nothing has changed since.
        show(&mut settled, 1, 52);
        assert_eq!(settled.next(&picture(50, &[(9, 3)])), picture(52, &[]));
        // A change in chroma alone, in the narrow block at the edge, is a change of the block.
        let mut other = picture(50, &[(9, 3)]);
        other.planes_mut()[2][8 * 10 + 9] = 90;
        let given = settled.next(&other);
        let [luma, _, cr] = given.planes();
        assert_eq!((luma[16 * 20 + 19], luma[16 * 20 + 15], cr[8 * 10 + 9], cr[7 * 10 + 9]), (50, 52, 90, 52));
    }
}
