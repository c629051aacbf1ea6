//! Which cells of a new picture are new, and against what.

use super::picture::{Area, CELL, Picture, Plane};
use crate::encode::yuv::Yuv;
use crate::units::PixelRect;

/// Of each cell, where it may be copied from.
pub(super) struct Changes {
    columns: usize,
    flags: Vec<u8>,
    /// Of the cells in one row: whether they differ from the picture before, and from the plate.
    marks: Vec<[bool; 2]>,
}

/// The cell differs from the picture before.
pub(super) const FROM_SHOWN: u8 = 1;
/// The cell differs from the plate, or was not compared with it because it does not differ from the picture before.
pub(super) const FROM_PLATE: u8 = 2;
/// The cell can be copied from nowhere.
pub(super) const NEW: u8 = FROM_SHOWN | FROM_PLATE;

impl Changes {
    /// No changes in a picture of so many cells.
    pub(super) fn none(area: &Area) -> Changes {
        Changes {
            columns: area.columns.len(),
            flags: vec![FROM_PLATE; area.rows.len() * area.columns.len()],
            marks: Vec::new(),
        }
    }

    /// Forgets all changes.
    pub(super) fn clear(&mut self) {
        self.flags.fill(FROM_PLATE);
    }

    /// Every cell is new.
    pub(super) fn all(&mut self) {
        self.flags.fill(NEW);
    }

    /// Takes the cells of `area` from `now` into `source`, the picture before, and notes those that differ from it, and
    /// whether they are those of the plate. Areas may overlap: what is noted stays.
    pub(super) fn take(&mut self, area: &Area, now: &Yuv, source: &mut Picture, plate: Option<&Picture>) {
        for row in area.rows.clone() {
            let line = Area { rows: row..row + 1, columns: area.columns.clone() };
            self.marks.clear();
            self.marks.resize(line.columns.len(), [false; 2]);
            for (plane, samples) in now.planes().into_iter().enumerate() {
                mark(&mut self.marks, 0, samples, &source.planes[plane], &line);
                if let Some(plate) = plate {
                    mark(&mut self.marks, 1, samples, &plate.planes[plane], &line);
                }
            }
            for (column, &[from_shown, from_plate]) in line.columns.clone().zip(&self.marks) {
                if from_shown {
                    let flags = if from_plate || plate.is_none() { NEW } else { FROM_SHOWN };
                    self.flags[row * self.columns + column] = flags;
                }
            }
            source.load(now, &line);
        }
    }

    /// The flags of cells in one row.
    pub(super) fn row(&self, row: usize, columns: std::ops::Range<usize>) -> &[u8] {
        &self.flags[row * self.columns..][columns]
    }
}

/// Marks the cells of one row that differ between unpadded samples and a plane.
fn mark(marks: &mut [[bool; 2]], which: usize, samples: &[u8], plane: &Plane, line: &Area) {
    let columns = line.columns.start * plane.cell..(line.columns.end * plane.cell).min(plane.width);
    let rows = line.rows.start * plane.cell..(line.rows.end * plane.cell).min(plane.height);
    for row in rows {
        let now = &samples[row * plane.width..][columns.clone()];
        let before = plane.row(row, columns.clone());
        match plane.cell {
            CELL => mark_row::<CELL>(marks, which, now, before),
            _ => mark_row::<{ CELL / 2 }>(marks, which, now, before),
        }
    }
}

fn mark_row<const SIDE: usize>(marks: &mut [[bool; 2]], which: usize, now: &[u8], before: &[u8]) {
    let ((now, now_rest), (before, before_rest)) = (now.as_chunks::<SIDE>(), before.as_chunks::<SIDE>());
    for ((mark, now), before) in marks.iter_mut().zip(now).zip(before) {
        mark[which] |= now != before;
    }
    if let Some(last) = marks.get_mut(now.len()) {
        last[which] |= now_rest != before_rest;
    }
}

/// The cells that a rectangle of pixels touches, within `whole`; none if it lies outside.
pub(super) fn touched(rect: PixelRect, whole: &Area) -> Area {
    let cells = |from: u32, length: u32, end: usize| {
        if length == 0 {
            return 0..0;
        }
        let last = (from as usize + length as usize).div_ceil(CELL).min(end);
        (from as usize / CELL).min(last)..last
    };
    Area { rows: cells(rect.y, rect.height, whole.rows.end), columns: cells(rect.x, rect.width, whole.columns.end) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rectangle_touches_whole_cells_inside_the_picture() {
        let whole = Area { rows: 0..10, columns: 0..20 };
        let rect = |x, y, width, height| PixelRect { x, y, width, height };
        assert_eq!(touched(rect(7, 8, 2, 8), &whole), Area { rows: 1..2, columns: 0..2 });
        assert_eq!(touched(rect(150, 70, 100, 100), &whole), Area { rows: 8..10, columns: 18..20 });
        assert!(touched(rect(1000, 0, 5, 5), &whole).columns.is_empty());
        assert!(touched(rect(8, 8, 0, 8), &whole).columns.is_empty());
    }
}
