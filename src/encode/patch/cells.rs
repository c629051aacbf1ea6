//! What the blocks coded so far in a frame leave behind for the contexts of the blocks after them.
//!
//! Kept by cells of 8×8 luma samples. The specification counts in units of 4×4: `MiRow` is twice the cell's row,
//! `MiCol` twice its column, and all blocks are square with sides of whole cells.

/// `RefFrame[ 0 ]` of a block (§6.10.24), as far as it occurs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Reference {
    /// `INTRA_FRAME`, and every cell that is not coded yet.
    #[default]
    Intra,
    /// `LAST_FRAME`: the frame shown before.
    Shown,
    /// `LAST2_FRAME`: the last key frame.
    Plate,
}

/// `YMode` or `UVMode` of an intra block (§6.10.16), as far as it occurs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) enum Mode {
    /// `DC_PRED`. Inter blocks count as this, too.
    #[default]
    Dc = 0,
    /// `V_PRED`.
    Vertical = 1,
    /// `H_PRED`.
    Horizontal = 2,
    /// `D45_PRED`: from above right, along lines that fall to the left.
    Diagonal = 3,
}

/// One cell of a coded block.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cell {
    pub(super) reference: Reference,
    /// The binary logarithm of the block's side in luma samples.
    pub(super) log2: u8,
    pub(super) y_mode: Mode,
    /// Colours of the luma and of the chroma palette (`PaletteSizes`).
    pub(super) palette: [u8; 2],
    /// The sign of the residual's first coefficient (`AboveDcContext`, `LeftDcContext`), where there is a residual.
    pub(super) residual: Option<i8>,
}

/// A block: its first cell and its size.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) row: usize,
    pub(super) column: usize,
    /// The binary logarithm of the side in luma samples, 3 to 6.
    pub(super) log2: usize,
}

impl Place {
    /// Cells on a side.
    pub(super) fn side(self) -> usize {
        1 << (self.log2 - 3)
    }

    /// `bsizeCtx` of palettes (§8.3.2): `Mi_Width_Log2` + `Mi_Height_Log2` − 2.
    pub(super) fn palette_context(self) -> usize {
        2 * (self.log2 - 3)
    }

    /// The four quarters, in coding order.
    pub(super) fn quarters(self) -> [Place; 4] {
        let half = self.side() / 2;
        [(0, 0), (0, half), (half, 0), (half, half)].map(|(down, right)| Place {
            row: self.row + down,
            column: self.column + right,
            log2: self.log2 - 1,
        })
    }
}

/// The cells of a frame. The frame is one tile, so its edges are those of the picture.
pub(super) struct Cells {
    pub(super) rows: usize,
    pub(super) columns: usize,
    all: Vec<Cell>,
}

/// The cells beside a block's first cell, where there are any (`AvailU`, `AvailL`).
#[derive(Clone, Copy)]
pub(super) struct Neighbours {
    pub(super) above: Option<Cell>,
    pub(super) left: Option<Cell>,
}

impl Neighbours {
    /// How many of them are so.
    pub(super) fn count(self, so: impl Fn(&Cell) -> bool) -> usize {
        self.above.iter().chain(self.left.iter()).filter(|cell| so(cell)).count()
    }
}

impl Cells {
    pub(super) fn new(rows: usize, columns: usize) -> Cells {
        Cells { rows, columns, all: vec![Cell::default(); rows * columns] }
    }

    /// Forgets all cells: a frame begins.
    pub(super) fn clear(&mut self) {
        self.all.fill(Cell::default());
    }

    /// Notes a coded block.
    pub(super) fn fill(&mut self, place: Place, cell: Cell) {
        let columns = place.column..(place.column + place.side()).min(self.columns);
        for row in place.row..(place.row + place.side()).min(self.rows) {
            self.all[row * self.columns..][columns.clone()].fill(cell);
        }
    }

    fn at(&self, row: usize, column: usize) -> &Cell {
        &self.all[row * self.columns + column]
    }

    pub(super) fn neighbours(&self, place: Place) -> Neighbours {
        let Place { row, column, .. } = place;
        Neighbours {
            above: (row > 0).then(|| *self.at(row - 1, column)),
            left: (column > 0).then(|| *self.at(row, column - 1)),
        }
    }

    /// Whether what lies above and to the right of a block is coded already (`haveAboveRt`, §5.11.35).
    pub(super) fn has_above_right(&self, place: Place) -> bool {
        let (row, column) = (place.row, place.column + place.side());
        row > 0 && column < self.columns && self.at(row - 1, column).log2 > 0
    }

    /// The context of partition (§8.3.2): which neighbours are smaller than this block.
    pub(super) fn partition_context(&self, place: Place) -> usize {
        let Neighbours { above, left } = self.neighbours(place);
        let smaller = |cell: Option<Cell>| usize::from(cell.is_some_and(|cell| usize::from(cell.log2) < place.log2));
        2 * smaller(left) + smaller(above)
    }

    /// The context of `is_inter` (§8.3.2).
    pub(super) fn is_inter_context(neighbours: Neighbours) -> usize {
        let available = neighbours.count(|_| true);
        let intra = neighbours.count(|cell| cell.reference == Reference::Intra);
        match (available, intra) {
            (2, 2) => 3,
            (2, n) => n,
            (_, n) => 2 * n,
        }
    }

    /// The contexts of `single_ref_p1` and `single_ref_p3`, and that of `single_ref_p4` (§8.3.2). The first two compare
    /// neighbours that refer to LAST or LAST2 with such as refer to frames that never occur; the last compares LAST
    /// with LAST2.
    pub(super) fn reference_contexts(neighbours: Neighbours) -> (usize, usize) {
        let shown = neighbours.count(|cell| cell.reference == Reference::Shown);
        let plate = neighbours.count(|cell| cell.reference == Reference::Plate);
        let against = |ours: usize, others: usize| match ours.cmp(&others) {
            std::cmp::Ordering::Less => 0,
            std::cmp::Ordering::Equal => 1,
            std::cmp::Ordering::Greater => 2,
        };
        (against(shown + plate, 0), against(shown, plate))
    }

    /// `NewMvContext` (§7.10.2): on how many sides a block with the same reference is near. It needs the whole scan
    /// of neighbours although every motion vector is zero; that none is NEWMV leaves four of the six contexts.
    pub(super) fn new_mv_context(&self, place: Place, reference: Reference) -> usize {
        let Place { row, column, .. } = place;
        let side = place.side();
        let same = |row: usize, column: usize| self.at(row, column).reference == reference;
        // deltaRow −1, −3 and −5 from an even MiRow lie 1, 2 and 3 cells above; so with columns.
        let scan_row = |up: usize| {
            row >= up && self.scan(place, side.min(self.columns - column), reference, |i| (row - up, column + i))
        };
        let scan_column = |back: usize| {
            column >= back && self.scan(place, side.min(self.rows - row), reference, |i| (row + i, column - back))
        };
        let mut above = scan_row(1);
        let mut left = scan_column(1);
        // The block above and to the right, if it is coded already (§7.10.2.4, has_top_right): for square blocks
        // coded depth first, exactly then its cell is filled.
        above |= row > 0 && column + side < self.columns && same(row - 1, column + side);
        let close = usize::from(above) + usize::from(left);
        above |= row > 0 && column > 0 && same(row - 1, column - 1);
        for distance in [2, 3] {
            above |= scan_row(distance);
            left |= scan_column(distance);
        }
        // §7.10.2.8, the context process, with no NEWMV found
        match close {
            0 => usize::from(above || left),
            1 => 3,
            _ => 5,
        }
    }

    /// The scan row and scan column processes (§7.10.2.2, §7.10.2.3): whether a block along a side has the
    /// reference. Blocks 64 wide or high look at every other cell only (`useStep16`).
    fn scan(&self, place: Place, length: usize, reference: Reference, at: impl Fn(usize) -> (usize, usize)) -> bool {
        let least = if place.side() >= 8 { 2 } else { 1 };
        let mut i = 0;
        while i < length {
            let (row, column) = at(i);
            let cell = self.at(row, column);
            if cell.reference == reference {
                return true;
            }
            let across = 1 << (cell.log2.max(3) - 3);
            i += place.side().min(across).max(least);
        }
        false
    }
}
