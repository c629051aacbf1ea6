//! Predictions of a block from the samples along its edge (AV1 specification §7.11.2), as far as they are written.

use super::cells::Mode;
use super::picture::Plane;

/// All that are written, the first preferred.
pub(super) const MODES: [Mode; 3] = [Mode::Vertical, Mode::Horizontal, Mode::Dc];

/// A square block of a plane, of which `width` × `height` samples are coded.
#[derive(Clone, Copy)]
pub(super) struct Target {
    pub(super) x: usize,
    pub(super) y: usize,
    pub(super) side: usize,
    pub(super) width: usize,
    pub(super) height: usize,
}

impl Target {
    /// The squared error that `mode`, from what is decoded of `plane` so far, leaves of the packed `samples`; `None` if
    /// it is more than `most`, or if there is no such edge.
    pub(super) fn error(self, plane: &Plane, mode: Mode, samples: &[u8], most: u32) -> Option<u32> {
        let Target { x, y, side, width, .. } = self;
        let there = match mode {
            Mode::Vertical => y > 0,
            Mode::Horizontal => x > 0,
            // The mean takes in samples beyond the picture's edge, which are not kept here.
            Mode::Dc => x + side <= plane.width && y + side <= plane.height,
        };
        if !there {
            return None;
        }
        // Beyond the picture's edge samples are not seen.
        let (seen, seen_rows) = ((plane.width - x).min(width), plane.height - y);
        let above = if mode == Mode::Vertical { plane.row(y - 1, x..x + seen) } else { &[] };
        let mean = if mode == Mode::Dc { self.mean(plane) } else { 0 };
        let mut error = 0;
        for (row, samples) in samples.chunks_exact(width).enumerate().take(seen_rows) {
            let samples = &samples[..seen];
            error += match mode {
                Mode::Vertical => samples.iter().zip(above).map(|(&a, &b)| square(a, b)).sum::<u32>(),
                Mode::Horizontal => level_error(samples, plane.samples[(y + row) * plane.stride + x - 1]),
                Mode::Dc => level_error(samples, mean),
            };
            if error > most {
                return None;
            }
        }
        Some(error)
    }

    /// Writes the prediction into `plane`.
    pub(super) fn write(self, plane: &mut Plane, mode: Mode) {
        let Target { x, y, width, height, .. } = self;
        let mean = if mode == Mode::Dc { self.mean(plane) } else { 0 };
        for row in y..y + height {
            let at = row * plane.stride + x;
            match mode {
                Mode::Vertical => plane.samples.copy_within(at - plane.stride..at - plane.stride + width, at),
                Mode::Horizontal => {
                    let left = plane.samples[at - 1];
                    plane.samples[at..at + width].fill(left);
                }
                Mode::Dc => plane.samples[at..at + width].fill(mean),
            }
        }
    }

    /// The DC prediction, where the block lies wholly inside the picture (§7.11.2.5).
    fn mean(self, plane: &Plane) -> u8 {
        let Target { x, y, side, .. } = self;
        let (mut sum, mut count) = (0u32, 0u32);
        if y > 0 {
            sum += plane.row(y - 1, x..x + side).iter().map(|&sample| u32::from(sample)).sum::<u32>();
            count += side as u32;
        }
        if x > 0 {
            sum += (y..y + side).map(|row| u32::from(plane.samples[row * plane.stride + x - 1])).sum::<u32>();
            count += side as u32;
        }
        // Without any edge: half of the range.
        (sum + count / 2).checked_div(count).map_or(128, |mean| mean as u8)
    }
}

fn square(a: u8, b: u8) -> u32 {
    u32::from(a.abs_diff(b)).pow(2)
}

fn level_error(samples: &[u8], level: u8) -> u32 {
    samples.iter().map(|&sample| square(sample, level)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::encode::patch::picture::Picture;
    use crate::units::Size;

    /// A plane of 16×16 whose samples above and left of a block at (8, 8) are 10 to 17 and 30.
    fn plane() -> Plane {
        let mut plane = Picture::new(Size { width: 16, height: 16 }).planes[0].clone();
        for (i, sample) in (10..18).zip(plane.row_mut(7, 8..16)) {
            *sample = i;
        }
        for row in 8..16 {
            plane.row_mut(row, 7..8).fill(30);
        }
        plane
    }

    #[test]
    fn what_is_written_has_no_error_and_what_differs_has_its_squares() {
        let target = Target { x: 8, y: 8, side: 8, width: 8, height: 8 };
        // The mean of 10 to 17 and eight times 30 is 21.75.
        for (mode, corner) in [(Mode::Vertical, 17), (Mode::Horizontal, 30), (Mode::Dc, 22)] {
            let mut written = plane();
            target.write(&mut written, mode);
            assert_eq!(written.row(15, 15..16), [corner]);
            let mut samples: Vec<u8> = (8..16).flat_map(|row| written.row(row, 8..16).to_vec()).collect();
            assert_eq!(target.error(&plane(), mode, &samples, 0), Some(0));
            samples[63] += 3;
            samples[0] -= 1;
            assert_eq!(target.error(&plane(), mode, &samples, 10), Some(10));
            assert_eq!(target.error(&plane(), mode, &samples, 9), None);
        }
    }

    #[test]
    fn there_is_no_prediction_from_beyond_the_picture() {
        let corner = Target { x: 0, y: 0, side: 8, width: 8, height: 8 };
        let errors = MODES.map(|mode| corner.error(&plane(), mode, &[128; 64], u32::MAX));
        assert_eq!(errors, [None, None, Some(0)], "only half of the range");
        let hangs_over = Target { x: 8, y: 8, side: 16, width: 8, height: 8 };
        assert_eq!(hangs_over.error(&plane(), Mode::Dc, &[21; 64], u32::MAX), None);
    }
}
