//! The samples of one block, and what is chosen to carry them.

use super::cells::{Mode, Place};
use super::palette::colours::{exact_chroma, exact_luma};
use super::palette::reduce::{reduce_chroma, reduce_luma};
use super::palette::{MOST, Palette};
use super::picture::{CELL, Picture, Plane, SUPERBLOCK};
use super::residual::Residual;

/// How the luma or the chroma of an intra block is carried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Carrier {
    /// A prediction from the edge that gives the block exactly.
    Prediction(Mode),
    /// A palette, its map in [`Block::maps`].
    Palette(Palette),
}

impl Carrier {
    /// `YMode` or `UVMode`: a palette counts as `DC_PRED`.
    pub(super) fn mode(self) -> Mode {
        match self {
            Carrier::Prediction(mode) => mode,
            Carrier::Palette(_) => Mode::Dc,
        }
    }
}

/// The samples of one block, packed; room for the largest.
pub(super) struct Block {
    /// Coded luma samples across and down: the block without what lies beyond the picture's whole cells.
    pub(super) width: usize,
    pub(super) height: usize,
    samples: [Vec<u8>; 3],
    /// For each luma sample and each pair of chroma samples the index of its colour.
    maps: [Vec<u8>; 2],
    /// What is added to the luma palette of an 8×8 block.
    pub(super) residual: Option<Residual>,
}

impl Block {
    pub(super) fn new() -> Block {
        let room = SUPERBLOCK * SUPERBLOCK;
        Block {
            width: 0,
            height: 0,
            samples: [vec![0; room], vec![0; room / 4], vec![0; room / 4]],
            maps: [vec![0; room], vec![0; room / 4]],
            residual: None,
        }
    }

    /// Takes in the block at `place` of a picture of `rows` × `columns` cells.
    pub(super) fn gather(&mut self, source: &Picture, place: Place, rows: usize, columns: usize) {
        self.width = place.side().min(columns - place.column) * CELL;
        self.height = place.side().min(rows - place.row) * CELL;
        self.residual = None;
        for (plane, samples) in source.planes.iter().zip(&mut self.samples) {
            let (x, y) = (place.column * plane.cell, place.row * plane.cell);
            let (width, height) = (self.width * plane.cell / CELL, self.height * plane.cell / CELL);
            for (row, target) in (y..y + height).zip(samples.chunks_exact_mut(width)) {
                target.copy_from_slice(plane.row(row, x..x + width));
            }
        }
    }

    /// Coded samples of a plane.
    fn len(&self, plane: usize) -> usize {
        let luma = self.width * self.height;
        if plane == 0 { luma } else { luma / 4 }
    }

    fn samples(&self, plane: usize) -> &[u8] {
        &self.samples[plane][..self.len(plane)]
    }

    /// The map of the luma palette (0) or of the chroma palette (1).
    pub(super) fn map(&self, plane: usize) -> &[u8] {
        &self.maps[plane][..self.len(plane)]
    }

    /// A luma palette, if eight colours give the block exactly.
    pub(super) fn exact_luma(&mut self) -> Option<Palette> {
        let len = self.len(0);
        exact_luma(&self.samples[0][..len], &mut self.maps[0][..len])
    }

    /// A chroma palette, if eight pairs give the block exactly.
    pub(super) fn exact_chroma(&mut self) -> Option<Palette> {
        let len = self.len(1);
        exact_chroma(&self.samples[1][..len], &self.samples[2][..len], &mut self.maps[1][..len])
    }

    /// The luma palette that comes nearest to an 8×8 block. Where its squared errors sum up to more than `most`, a
    /// residual makes up for the greater part of them.
    pub(super) fn reduce_luma(&mut self, most: u32) -> Palette {
        let len = self.len(0);
        let (samples, map) = (&self.samples[0][..len], &mut self.maps[0][..len]);
        let palette = reduce_luma(samples, map);
        let differences: Vec<i16> = samples
            .iter()
            .zip(map.iter())
            .map(|(&sample, &i)| i16::from(sample) - i16::from(palette.first[usize::from(i) % MOST]))
            .collect();
        let error: u32 = differences.iter().map(|&d| u32::from(d.unsigned_abs()).pow(2)).sum();
        self.residual = if error > most { Residual::new(&differences) } else { None };
        palette
    }

    /// A chroma palette that comes near to an 8×8 block.
    pub(super) fn reduce_chroma(&mut self) -> Palette {
        let len = self.len(1);
        reduce_chroma(&self.samples[1][..len], &self.samples[2][..len], &mut self.maps[1][..len])
    }

    /// The prediction of luma from the edge in `shown` (what is decoded so far) that gives the block exactly.
    pub(super) fn predicted_luma(&self, shown: &Picture, place: Place) -> Option<Mode> {
        self.predicted(&shown.planes[0], 0, place)
    }

    /// The prediction of both chroma planes likewise: they share one mode.
    pub(super) fn predicted_chroma(&self, shown: &Picture, place: Place) -> Option<Mode> {
        let cb = self.predicted(&shown.planes[1], 1, place)?;
        (self.predicted(&shown.planes[2], 2, place)? == cb).then_some(cb)
    }

    fn predicted(&self, shown: &Plane, plane: usize, place: Place) -> Option<Mode> {
        let samples = self.samples(plane);
        let (x, y) = (place.column * shown.cell, place.row * shown.cell);
        let width = self.width * shown.cell / CELL;
        let rows = || samples.chunks_exact(width);
        // Beyond the picture's edge samples are not seen, and the last seen column and row repeat there.
        let seen = (shown.width - x).min(width);
        let seen_rows = shown.height - y;
        if place.row > 0 {
            let above = shown.row(y - 1, x..x + seen);
            if rows().all(|row| row[..seen] == *above) {
                return Some(Mode::Vertical);
            }
        }
        let left = |row: usize| shown.samples[(y + row) * shown.stride + x - 1];
        if place.column > 0
            && rows().take(seen_rows).enumerate().all(|(row, samples)| samples.iter().all(|&s| s == left(row)))
        {
            return Some(Mode::Horizontal);
        }
        // The mean takes in samples beyond the picture's edge, which are not kept here.
        let side = place.side() * shown.cell;
        let inside = x + side <= shown.width && y + side <= shown.height;
        let flat = samples.iter().all(|&sample| sample == samples[0]);
        (inside && flat && dc(shown, x, y, side) == samples[0]).then_some(Mode::Dc)
    }

    /// Writes into `shown` what a decoder now has at `place`.
    pub(super) fn reconstruct(&self, shown: &mut Picture, place: Place, luma: Carrier, chroma: Carrier) {
        for (index, plane) in shown.planes.iter_mut().enumerate() {
            let (x, y) = (place.column * plane.cell, place.row * plane.cell);
            let width = self.width * plane.cell / CELL;
            let height = self.height * plane.cell / CELL;
            for row in 0..height {
                let packed = row * width..(row + 1) * width;
                let target = plane.row_mut(y + row, x..x + width);
                match if index == 0 { luma } else { chroma } {
                    Carrier::Prediction(_) => target.copy_from_slice(&self.samples[index][packed]),
                    Carrier::Palette(palette) => {
                        let colours = if index == 2 { palette.second } else { palette.first };
                        for (sample, &i) in target.iter_mut().zip(&self.maps[usize::from(index > 0)][packed]) {
                            *sample = colours[usize::from(i) % MOST];
                        }
                        if let (0, Some(residual)) = (index, &self.residual) {
                            residual.add(row, target);
                        }
                    }
                }
            }
        }
    }
}

/// The DC prediction of a square at `x`, `y` that lies wholly inside the picture (AV1 specification §7.11.2.5).
fn dc(shown: &Plane, x: usize, y: usize, side: usize) -> u8 {
    let (mut sum, mut count) = (0u32, 0u32);
    if y > 0 {
        sum += shown.row(y - 1, x..x + side).iter().map(|&sample| u32::from(sample)).sum::<u32>();
        count += side as u32;
    }
    if x > 0 {
        sum += (y..y + side).map(|row| u32::from(shown.samples[row * shown.stride + x - 1])).sum::<u32>();
        count += side as u32;
    }
    // Without any edge: half of the range.
    (sum + count / 2).checked_div(count).map_or(128, |mean| mean as u8)
}
