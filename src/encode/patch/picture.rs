//! Planes of samples padded to whole superblocks, so that blocks at the edges are as whole as all others.

use crate::encode::yuv::Yuv;
use crate::units::Size;
use std::ops::Range;

/// Luma samples on a side of a superblock (`use_128x128_superblock` is 0).
pub(super) const SUPERBLOCK: usize = 64;
/// Luma samples on a side of a cell, the smallest block that is coded.
pub(super) const CELL: usize = 8;

/// One plane. Only `width` × `height` of it are seen.
#[derive(Clone, Debug)]
pub(super) struct Plane {
    pub(super) width: usize,
    pub(super) height: usize,
    pub(super) stride: usize,
    /// Samples on a side of a cell: 8 in luma, 4 in chroma.
    pub(super) cell: usize,
    pub(super) samples: Vec<u8>,
}

impl Plane {
    fn new(width: usize, height: usize, cell: usize) -> Plane {
        let padded = |side: usize| side.next_multiple_of(SUPERBLOCK / CELL * cell);
        let stride = padded(width);
        Plane { width, height, stride, cell, samples: vec![0; stride * padded(height)] }
    }

    /// Samples `columns` of a row.
    pub(super) fn row(&self, row: usize, columns: Range<usize>) -> &[u8] {
        &self.samples[row * self.stride..][columns]
    }

    /// Samples `columns` of a row, to be written.
    pub(super) fn row_mut(&mut self, row: usize, columns: Range<usize>) -> &mut [u8] {
        &mut self.samples[row * self.stride..][columns]
    }

    /// Copies the cells of `area` from a plane of the same size.
    fn copy_cells(&mut self, from: &Plane, area: &Area) {
        let columns = area.columns.start * self.cell..area.columns.end * self.cell;
        for row in area.rows.start * self.cell..area.rows.end * self.cell {
            self.row_mut(row, columns.clone()).copy_from_slice(from.row(row, columns.clone()));
        }
    }

    /// Takes over the cells of `area` from unpadded samples. Cells that hang over the picture's edge repeat its last
    /// column and row: what a decoder has there is never seen, and such cells need no further colours.
    fn load_cells(&mut self, from: &[u8], area: &Area) {
        let columns = area.columns.start * self.cell..area.columns.end * self.cell;
        let inside = columns.start..columns.end.min(self.width);
        for row in area.rows.start * self.cell..area.rows.end * self.cell {
            let source = &from[row.min(self.height - 1) * self.width..][inside.clone()];
            let target = &mut self.samples[row * self.stride..][columns.clone()];
            let (seen, beyond) = target.split_at_mut(source.len());
            seen.copy_from_slice(source);
            beyond.fill(source.last().copied().unwrap_or(0));
        }
    }
}

/// A rectangle of cells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Area {
    pub(super) rows: Range<usize>,
    pub(super) columns: Range<usize>,
}

/// A 4:2:0 picture: luma, Cb, Cr.
#[derive(Clone, Debug)]
pub(super) struct Picture {
    pub(super) planes: [Plane; 3],
}

impl Picture {
    /// A picture of this size, whose sides are even.
    pub(super) fn new(size: Size) -> Picture {
        let (width, height) = (size.width as usize, size.height as usize);
        let chroma = Plane::new(width / 2, height / 2, CELL / 2);
        Picture { planes: [Plane::new(width, height, CELL), chroma.clone(), chroma] }
    }

    /// All its cells.
    pub(super) fn area(&self) -> Area {
        let luma = &self.planes[0];
        Area { rows: 0..luma.height.div_ceil(CELL), columns: 0..luma.width.div_ceil(CELL) }
    }

    /// Takes over the cells of `area`.
    pub(super) fn load(&mut self, yuv: &Yuv, area: &Area) {
        for (plane, samples) in self.planes.iter_mut().zip(yuv.planes()) {
            plane.load_cells(samples, area);
        }
    }

    /// Copies the cells of `area` from a picture of the same size.
    pub(super) fn copy(&mut self, from: &Picture, area: &Area) {
        for (plane, from) in self.planes.iter_mut().zip(&from.planes) {
            plane.copy_cells(from, area);
        }
    }

    /// What is seen of it, without padding.
    pub(super) fn store(&self, yuv: &mut Yuv) {
        for (plane, samples) in self.planes.iter().zip(yuv.planes_mut()) {
            for (row, target) in samples.chunks_exact_mut(plane.width).enumerate() {
                target.copy_from_slice(plane.row(row, 0..plane.width));
            }
        }
    }
}
