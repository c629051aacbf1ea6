//! What an ordinary coder is given to look at: the picture where it has changed of late, and elsewhere what a decoder
//! shows already, so that there is nothing left to code.
//!
//! A coder that quantizes never shows quite what it was given, and tries in every frame to make up for it, all over the
//! picture. Given its own picture back it finds a difference of nothing, at once. The coder tells what it shows some
//! frames late; a block is given back when it has not changed since the frame of which that is known.

use super::yuv::Yuv;
use crate::units::Size;
use plyreel_rav1e::BLOCK;

/// The pictures of a chunk as they are sent. `S` is what a decoder shows of one.
pub(super) struct Settled<S> {
    /// The frame sent last, as painted.
    sent: Option<Yuv>,
    /// Of each block, row by row, the number of the frame in which it changed last.
    changed: Vec<u64>,
    /// What a decoder shows for the frame of this number.
    shown: Option<(u64, S)>,
    /// Of each block, whether it has not changed since that frame.
    unchanged: Vec<bool>,
    next: u64,
}

impl<S> Settled<S> {
    /// Before the first frame of a chunk, which is a key.
    pub(super) fn new() -> Settled<S> {
        Settled { sent: None, changed: Vec::new(), shown: None, unchanged: Vec::new(), next: 0 }
    }

    /// What of the next frame is to be given back rather than sent as painted: what a decoder shows, and in which blocks.
    pub(super) fn next(&mut self, painted: &Yuv) -> Option<(&S, &[bool])> {
        let number = self.next;
        self.next += 1;
        let Size { width, height } = painted.size();
        let across = (width as usize).div_ceil(BLOCK);
        let Some(before) = &mut self.sent else {
            self.changed = vec![number; across * (height as usize).div_ceil(BLOCK)];
            self.sent = Some(painted.clone());
            return None;
        };
        for (plane, (old, new)) in before.planes_mut().into_iter().zip(painted.planes()).enumerate() {
            let (row, block) = shape(width, plane);
            for (y, (old, new)) in old.chunks_exact_mut(row).zip(new.chunks_exact(row)).enumerate() {
                // Most rows are as they were.
                if old != new {
                    for (x, (old, new)) in old.chunks(block).zip(new.chunks(block)).enumerate() {
                        if old != new {
                            self.changed[y / block * across + x] = number;
                        }
                    }
                    old.copy_from_slice(new);
                }
            }
        }
        let (known, shown) = self.shown.as_ref()?;
        self.unchanged.clear();
        self.unchanged.extend(self.changed.iter().map(|changed| changed <= known));
        Some((shown, &self.unchanged))
    }

    /// Takes over what a decoder shows for frame `number`.
    pub(super) fn shows(&mut self, number: u64, shown: S) {
        self.shown = Some((number, shown));
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

    /// The blocks of the picture, 3 across, that are given back, as letters row by row.
    fn given_back(again: Option<(&&str, &[bool])>) -> String {
        let Some((shown, blocks)) = again else { return "nothing".to_owned() };
        let rows = blocks.chunks(3).map(|row| row.iter().map(|&so| if so { 'x' } else { '.' }).collect());
        format!("{shown}: {}", rows.collect::<Vec<String>>().join(" "))
    }

    #[test]
    fn what_has_not_changed_since_is_given_back() {
        let mut settled = Settled::new();
        // Nothing is known of what is shown: the pictures as they are.
        assert_eq!(given_back(settled.next(&picture(50, &[]))), "nothing");
        assert_eq!(given_back(settled.next(&picture(50, &[(9, 3)]))), "nothing");
        // The first frame is known, in which everything changed; the second changed the block around (9, 3).
        settled.shows(0, "first");
        assert_eq!(given_back(settled.next(&picture(50, &[(9, 3)]))), "first: x.x xxx xxx");
        // The second is known too, and nothing has changed since.
        settled.shows(1, "second");
        assert_eq!(given_back(settled.next(&picture(50, &[(9, 3)]))), "second: xxx xxx xxx");
        // A change in chroma alone, in the narrow block at the edge, is a change of the block.
        let mut other = picture(50, &[(9, 3)]);
        other.planes_mut()[2][8 * 10 + 9] = 90;
        assert_eq!(given_back(settled.next(&other)), "second: xxx xxx xx.");
    }
}
