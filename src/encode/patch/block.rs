//! The samples of one block, and what is chosen to carry them.

use super::cells::{Cells, Mode, Place};
use super::palette::colours::{exact_chroma, exact_luma};
use super::palette::reduce::{reduce_chroma, reduce_luma};
use super::palette::syntax::Cache;
use super::palette::{MOST, Palette};
use super::picture::{CELL, Picture, Plane, SUPERBLOCK};
use super::prediction::{MODES, Target};
use super::residual::Residual;

/// How the luma or the chroma of an intra block is carried.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Carrier {
    /// A prediction from the edge.
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
    /// Whether what lies above and to the right is coded already.
    above_right: bool,
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
            above_right: false,
            samples: [vec![0; room], vec![0; room / 4], vec![0; room / 4]],
            maps: [vec![0; room], vec![0; room / 4]],
            residual: None,
        }
    }

    /// Takes in the block at `place`, where so many `cells` of the picture are coded.
    pub(super) fn gather(&mut self, source: &Picture, place: Place, cells: &Cells) {
        self.width = place.side().min(cells.columns - place.column) * CELL;
        self.height = place.side().min(cells.rows - place.row) * CELL;
        self.above_right = cells.has_above_right(place);
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

    /// How many levels of luma the block spans.
    pub(super) fn span(&self) -> u8 {
        let (least, most) = self.samples(0).iter().fold((u8::MAX, 0), |(least, most), &s| (least.min(s), most.max(s)));
        most.saturating_sub(least)
    }

    /// A luma palette for an 8×8 block: the fewest colours that leave at most `allowed` squared error, or the eight
    /// that come nearest, preferring those of `cache`. Where they leave more than `most`, a residual makes up for it.
    pub(super) fn reduce_luma(&mut self, allowed: u32, most: u32, cache: &Cache) -> Palette {
        let len = self.len(0);
        let (samples, map) = (&self.samples[0][..len], &mut self.maps[0][..len]);
        let palette = reduce_luma(samples, map, allowed, cache);
        let mut differences = [0; CELL * CELL];
        for ((difference, &sample), &i) in differences.iter_mut().zip(samples).zip(map.iter()) {
            *difference = i16::from(sample) - i16::from(palette.first[usize::from(i) % MOST]);
        }
        let error: u32 = differences.iter().map(|&d| u32::from(d.unsigned_abs()).pow(2)).sum();
        self.residual = if error > most { Residual::new(&differences, most) } else { None };
        palette
    }

    /// A chroma palette for an 8×8 block: the fewest pairs that leave about `allowed` squared error, or eight.
    pub(super) fn reduce_chroma(&mut self, allowed: u32) -> Palette {
        let len = self.len(1);
        reduce_chroma(&self.samples[1][..len], &self.samples[2][..len], &mut self.maps[1][..len], allowed)
    }

    /// The prediction of luma from the edge in `shown` (what is decoded so far) that gives the block exactly; or else
    /// the one that leaves the least squared error, at most `most` in each cell that spans more than `steep` levels and
    /// none in the others; `near` holds both, `None` if the block itself does not span so much. And this error.
    pub(super) fn predicted_luma(&self, shown: &Picture, place: Place, near: Option<(u8, u32)>) -> Option<(Mode, u32)> {
        let plane = &shown.planes[0];
        let target = self.target(plane, place);
        let exact = |&mode: &Mode| target.error(plane, mode, self.samples(0), 0).is_some();
        if let Some(mode) = MODES.into_iter().find(exact) {
            return Some((mode, 0));
        }
        let (steep, most) = near?;
        let near = |mode| Some((mode, target.near(plane, mode, self.samples(0), steep, most)?));
        MODES.into_iter().filter_map(near).min_by_key(|&(_, error)| error)
    }

    /// The prediction of both chroma planes, which share one mode, that leaves the least squared error, and this error,
    /// if it is at most `most`.
    pub(super) fn predicted_chroma(&self, shown: &Picture, place: Place, most: u32) -> Option<(Mode, u32)> {
        let [_, cb, cr] = &shown.planes;
        let target = self.target(cb, place);
        let error = |mode| {
            let error = target.error(cb, mode, self.samples(1), most)?;
            Some((mode, error + target.error(cr, mode, self.samples(2), most - error)?))
        };
        MODES.into_iter().filter_map(error).min_by_key(|&(_, error)| error)
    }

    /// Where the block lies in a plane.
    fn target(&self, plane: &Plane, place: Place) -> Target {
        Target {
            x: place.column * plane.cell,
            y: place.row * plane.cell,
            side: place.side() * plane.cell,
            width: self.width * plane.cell / CELL,
            height: self.height * plane.cell / CELL,
            above_right: self.above_right,
        }
    }

    /// Writes into `shown` what a decoder now has at `place`.
    pub(super) fn reconstruct(&self, shown: &mut Picture, place: Place, luma: Carrier, chroma: Carrier) {
        for (index, plane) in shown.planes.iter_mut().enumerate() {
            let target = self.target(plane, place);
            let palette = match if index == 0 { luma } else { chroma } {
                Carrier::Palette(palette) => palette,
                Carrier::Prediction(mode) => {
                    target.write(plane, mode);
                    continue;
                }
            };
            let Target { x, y, width, height, .. } = target;
            let colours = if index == 2 { palette.second } else { palette.first };
            let map = self.maps[usize::from(index > 0)].chunks_exact(width);
            for (row, map) in map.enumerate().take(height) {
                let samples = plane.row_mut(y + row, x..x + width);
                for (sample, &i) in samples.iter_mut().zip(map) {
                    *sample = colours[usize::from(i) % MOST];
                }
                if let (0, Some(residual)) = (index, &self.residual) {
                    residual.add(row, samples);
                }
            }
        }
    }
}
