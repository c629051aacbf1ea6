//! Predictions of a block from the samples along its edge (AV1 specification §7.11.2), as far as they are written.

use super::cells::Mode;
use super::picture::{CELL, Plane, SUPERBLOCK};

/// All that are written, the first preferred.
pub(super) const MODES: [Mode; 4] = [Mode::Vertical, Mode::Horizontal, Mode::Dc, Mode::Diagonal];

/// A square block of a plane, of which `width` × `height` samples are coded.
#[derive(Clone, Copy)]
pub(super) struct Target {
    pub(super) x: usize,
    pub(super) y: usize,
    pub(super) side: usize,
    pub(super) width: usize,
    pub(super) height: usize,
    /// Whether what lies above and to the right is coded already.
    pub(super) above_right: bool,
}

/// One row of a prediction.
enum Row<'a> {
    Samples(&'a [u8]),
    Level(u8),
}

impl Target {
    /// Whether there is such an edge.
    fn there(self, plane: &Plane, mode: Mode) -> bool {
        let Target { x, y, side, .. } = self;
        match mode {
            Mode::Vertical => y > 0,
            Mode::Horizontal => x > 0,
            // The mean takes in samples beyond the picture's edge, which are not kept here.
            Mode::Dc => x + side <= plane.width && y + side <= plane.height,
            // So does this.
            Mode::Diagonal => y > 0 && self.above_right && x + 2 * side <= plane.width,
        }
    }

    /// The first `seen` samples of a row as `mode` predicts it, where `mean` is the DC prediction.
    fn row(self, plane: &Plane, mode: Mode, mean: u8, row: usize, seen: usize) -> Row<'_> {
        let Target { x, y, .. } = self;
        match mode {
            Mode::Vertical => Row::Samples(plane.row(y - 1, x..x + seen)),
            Mode::Horizontal => Row::Level(plane.samples[(y + row) * plane.stride + x - 1]),
            Mode::Dc => Row::Level(mean),
            // pAngle is 45, so dx is 64 and there is no fraction (§7.11.2.4).
            Mode::Diagonal => Row::Samples(plane.row(y - 1, x + row + 1..x + row + 1 + seen)),
        }
    }

    /// The squared error that `mode`, from what is decoded of `plane` so far, leaves of the packed `samples`; `None` if
    /// it is more than `most`, or if there is no such edge.
    pub(super) fn error(self, plane: &Plane, mode: Mode, samples: &[u8], most: u32) -> Option<u32> {
        if !self.there(plane, mode) {
            return None;
        }
        // Beyond the picture's edge samples are not seen.
        let (seen, seen_rows) = ((plane.width - self.x).min(self.width), plane.height - self.y);
        let mean = if mode == Mode::Dc { self.mean(plane) } else { 0 };
        let mut error = 0;
        for (row, samples) in samples.chunks_exact(self.width).enumerate().take(seen_rows) {
            error += row_error(&samples[..seen], &self.row(plane, mode, mean, row, seen));
            if error > most {
                return None;
            }
        }
        Some(error)
    }

    /// The squared error that `mode` leaves of a luma block's packed `samples`, if in no cell that spans more than
    /// `steep` levels it is more than `most`, and all others are exact; only for blocks inside the picture.
    pub(super) fn near(self, plane: &Plane, mode: Mode, samples: &[u8], steep: u8, most: u32) -> Option<u32> {
        let Target { x, y, side, .. } = self;
        if x + side > plane.width || y + side > plane.height || !self.there(plane, mode) {
            return None;
        }
        let mean = if mode == Mode::Dc { self.mean(plane) } else { 0 };
        let mut total = 0;
        for (first, rows) in (0..).step_by(CELL).zip(samples.chunks_exact(CELL * side)) {
            // Of each cell in these rows: the error, the least and the greatest sample.
            let mut cells = [(0, u8::MAX, 0); SUPERBLOCK / CELL];
            for (row, samples) in (first..).zip(rows.chunks_exact(side)) {
                let predicted = self.row(plane, mode, mean, row, side);
                for (i, (samples, cell)) in samples.chunks_exact(CELL).zip(&mut cells).enumerate() {
                    cell.0 += row_error(samples, &predicted.part(i * CELL, CELL));
                    cell.1 = samples.iter().fold(cell.1, |least, &sample| least.min(sample));
                    cell.2 = samples.iter().fold(cell.2, |greatest, &sample| greatest.max(sample));
                }
            }
            for (error, least, greatest) in &cells[..side / CELL] {
                if *error > if greatest - least > steep { most } else { 0 } {
                    return None;
                }
                total += error;
            }
        }
        Some(total)
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
                Mode::Diagonal => {
                    let above = (y - 1) * plane.stride + x + row - y + 1;
                    plane.samples.copy_within(above..above + width, at);
                }
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

impl<'a> Row<'a> {
    fn part(&self, from: usize, length: usize) -> Row<'a> {
        match *self {
            Row::Samples(samples) => Row::Samples(&samples[from..from + length]),
            Row::Level(level) => Row::Level(level),
        }
    }
}

fn row_error(samples: &[u8], predicted: &Row) -> u32 {
    match predicted {
        Row::Samples(predicted) => samples.iter().zip(*predicted).map(|(&a, &b)| square(a, b)).sum(),
        Row::Level(level) => level_error(samples, *level),
    }
}

fn level_error(samples: &[u8], level: u8) -> u32 {
    samples.iter().map(|&sample| square(sample, level)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::encode::patch::picture::Picture;
    use crate::units::Size;

    /// A plane of 24×24 whose samples above, above right and left of a block at (8, 8) are 10 to 25 and 30.
    fn plane() -> Plane {
        let mut plane = Picture::new(Size { width: 24, height: 24 }).planes[0].clone();
        for (i, sample) in (10..26).zip(plane.row_mut(7, 8..24)) {
            *sample = i;
        }
        for row in 8..16 {
            plane.row_mut(row, 7..8).fill(30);
        }
        plane
    }

    /// The block at (8, 8).
    const BLOCK: Target = Target { x: 8, y: 8, side: 8, width: 8, height: 8, above_right: true };

    #[test]
    fn what_is_written_has_no_error_and_what_differs_has_its_squares() {
        // The mean of 10 to 17 and eight times 30 is 21.75.
        for (mode, corner) in [(Mode::Vertical, 17), (Mode::Horizontal, 30), (Mode::Dc, 22), (Mode::Diagonal, 25)] {
            let mut written = plane();
            BLOCK.write(&mut written, mode);
            assert_eq!(written.row(15, 15..16), [corner]);
            let mut samples: Vec<u8> = (8..16).flat_map(|row| written.row(row, 8..16).to_vec()).collect();
            assert_eq!(BLOCK.error(&plane(), mode, &samples, 0), Some(0));
            samples[63] += 3;
            samples[0] -= 1;
            assert_eq!(BLOCK.error(&plane(), mode, &samples, 10), Some(10));
            assert_eq!(BLOCK.error(&plane(), mode, &samples, 9), None);
            let span = samples.iter().max().unwrap() - samples.iter().min().unwrap();
            assert_eq!(BLOCK.near(&plane(), mode, &samples, span - 1, 10), Some(10));
            assert_eq!(BLOCK.near(&plane(), mode, &samples, span - 1, 9), None);
            assert_eq!(BLOCK.near(&plane(), mode, &samples, span, 10), None, "a cell that is not steep is exact");
        }
    }

    #[test]
    fn each_cell_of_a_larger_block_has_its_own_bounds() {
        let plane = Picture::new(Size { width: 64, height: 64 }).planes[0].clone();
        let target = Target { x: 16, y: 16, side: 16, width: 16, height: 16, above_right: true };
        let near = |changed: &[(usize, u8)]| {
            let mut samples = [0; 256];
            for &(at, sample) in changed {
                samples[at] = sample;
            }
            target.near(&plane, Mode::Vertical, &samples, 4, 60)
        };
        assert_eq!(near(&[(0, 5), (0, 5)]), Some(25));
        assert_eq!(near(&[(0, 5), (8, 5), (128, 7), (255, 6)]), Some(25 + 25 + 49 + 36));
        assert_eq!(near(&[(0, 5), (7, 6)]), None, "61 in one cell");
        assert_eq!(near(&[(0, 5), (255, 4)]), None, "one cell is not steep");
    }

    #[test]
    fn there_is_no_prediction_from_beyond_the_picture() {
        let corner = Target { x: 0, y: 0, ..BLOCK };
        let errors = MODES.map(|mode| corner.error(&plane(), mode, &[128; 64], u32::MAX));
        assert_eq!(errors, [None, None, Some(0), None], "only half of the range");
        let hangs_over = Target { x: 16, y: 16, side: 16, ..BLOCK };
        assert_eq!(hangs_over.error(&plane(), Mode::Dc, &[21; 64], u32::MAX), None);
        let hatch = |target: Target| target.error(&plane(), Mode::Diagonal, &[21; 64], u32::MAX);
        assert!(hatch(BLOCK).is_some());
        assert_eq!(hatch(Target { above_right: false, ..BLOCK }), None);
        assert_eq!(hatch(Target { x: 16, ..BLOCK }), None);
    }
}
