//! One frame's tile: the partition tree (AV1 specification §5.11.1 to §5.11.5), and what each of its blocks becomes.
//!
//! All blocks are square, 8×8 to 64×64. A block is copied from the frame shown before or from
//! the plate, if its cells allow; else it is carried by predictions, exact but beside an edge, and by palettes, as
//! large as eight colours give it exactly, and at 8×8 by the nearest, with a residual if these are not near enough.

use super::block::{Block, Carrier};
use super::cdf::Cdfs;
use super::cells::{Cells, Place, Reference};
use super::changes::{Changes, FROM_PLATE, FROM_SHOWN, NEW};
use super::mode_info::PaletteEdges;
use super::picture::{Area, CELL, Picture, SUPERBLOCK};
use super::range_coder::RangeCoder;
use super::{Choices, Splits, Tally};

/// Buffers kept from frame to frame.
pub(super) struct Buffers {
    pub(super) cells: Cells,
    pub(super) edges: PaletteEdges,
    pub(super) block: Block,
}

impl Buffers {
    pub(super) fn new(area: &Area) -> Buffers {
        Buffers {
            cells: Cells::new(area.rows.end, area.columns.end),
            edges: PaletteEdges::new(area.columns.end),
            block: Block::new(),
        }
    }
}

/// A frame on its way into one tile.
pub(super) struct Tile<'a> {
    pub(super) rc: RangeCoder,
    pub(super) cdfs: &'a mut Cdfs,
    pub(super) buffers: &'a mut Buffers,
    /// A key frame: nothing can be copied, and mode symbols differ.
    pub(super) key: bool,
    pub(super) source: &'a Picture,
    /// What a decoder has: the frame before, and cell by cell this one.
    pub(super) shown: &'a mut Picture,
    pub(super) plate: &'a Picture,
    pub(super) changes: &'a Changes,
    pub(super) choices: Choices,
    pub(super) tally: &'a mut Tally,
    pub(super) random: u32,
}

impl Tile<'_> {
    /// `tile_group_obu`'s only tile (§5.11.1).
    pub(super) fn encode(mut self) -> Vec<u8> {
        self.buffers.cells.clear();
        let side = SUPERBLOCK / CELL;
        for row in (0..self.buffers.cells.rows).step_by(side) {
            for column in (0..self.buffers.cells.columns).step_by(side) {
                self.node(Place { row, column, log2: SUPERBLOCK.ilog2() as usize });
            }
        }
        self.rc.finish()
    }

    /// `decode_partition` (§5.11.4).
    fn node(&mut self, place: Place) {
        let (rows, columns) = (self.buffers.cells.rows, self.buffers.cells.columns);
        if place.row >= rows || place.column >= columns {
            return;
        }
        // hasRows and hasCols: whether the second half begins inside the picture (MiRows is twice the rows).
        let half_in = |at: usize, end: usize| 2 * at + place.side() < 2 * end;
        let (has_rows, has_columns) = (half_in(place.row, rows), half_in(place.column, columns));
        let fate = if has_rows && has_columns { self.fate(place) } else { Fate::Split };
        self.write_partition(place, has_rows, has_columns, fate == Fate::Split);
        match fate {
            Fate::Split => place.quarters().into_iter().for_each(|quarter| self.node(quarter)),
            Fate::Copy(reference) => self.write_copy(place, reference),
            Fate::Carry(luma, chroma) => self.write_intra(place, luma, chroma),
        }
    }

    /// What becomes of a block whose halves all begin inside the picture.
    fn fate(&mut self, place: Place) -> Fate {
        let (mut new, mut cells, mut union) = (0, 0, 0);
        let columns = place.column..(place.column + place.side()).min(self.buffers.cells.columns);
        for row in place.row..(place.row + place.side()).min(self.buffers.cells.rows) {
            for &flags in self.changes.row(row, columns.clone()) {
                union |= flags;
                new += usize::from(flags == NEW);
            }
            cells += columns.len();
        }
        let smallest = place.log2 == 3;
        if union & FROM_SHOWN == 0 || union & FROM_PLATE == 0 {
            let reference = if union & FROM_SHOWN == 0 { Reference::Shown } else { Reference::Plate };
            return if !smallest && self.scatter(8) { Fate::Split } else { Fate::Copy(reference) };
        }
        // Partly copied from one, partly from the other; or too little of it is new to be carried whole.
        let too_few = new == 0 || new * 64 < cells * usize::from(self.choices.whole_share);
        if !smallest && (too_few || self.scatter(2)) {
            return Fate::Split;
        }
        self.carriers(place).map_or(Fate::Split, |(luma, chroma)| Fate::Carry(luma, chroma))
    }

    /// What carries the block whole: exactly, or at 8×8 as near as can be, and if it is steep as near as need be.
    fn carriers(&mut self, place: Place) -> Option<(Carrier, Carrier)> {
        let smallest = place.log2 == 3;
        let Choices { predict, most_whole, steep, most_error, most_chroma_error, .. } = self.choices;
        let block = &mut self.buffers.block;
        block.gather(self.source, place, &self.buffers.cells);
        let near = Some((steep, most_error)).filter(|_| block.span() > steep);
        let predicted = block.predicted_luma(self.shown, place, near).filter(|_| predict);
        let steep = near.is_some();
        let luma = match predicted {
            Some((mode, _)) => Carrier::Prediction(mode),
            None => match if steep && smallest { None } else { block.exact_luma() } {
                Some(palette) if !smallest && palette.len > most_whole => return None,
                Some(palette) => Carrier::Palette(palette),
                None if smallest => {
                    self.tally.reduced_luma += 1;
                    let neighbours = self.buffers.cells.neighbours(place);
                    let cache = self.buffers.edges.cache(0, place, neighbours);
                    Carrier::Palette(block.reduce_luma(if steep { most_error } else { 0 }, most_error, &cache))
                }
                None => return None,
            },
        };
        let most = if steep { most_chroma_error } else { 0 };
        let chroma = match block.predicted_chroma(self.shown, place, most).filter(|_| predict) {
            Some((mode, error)) => {
                self.tally.near_chroma += usize::from(error > 0);
                Carrier::Prediction(mode)
            }
            None => match if steep && smallest { None } else { block.exact_chroma() } {
                Some(palette) => Carrier::Palette(palette),
                None if smallest => {
                    self.tally.reduced_chroma += 1;
                    Carrier::Palette(block.reduce_chroma(most))
                }
                None => return None,
            },
        };
        self.tally.near_luma += usize::from(predicted.is_some_and(|(_, error)| error > 0));
        self.tally.residual += usize::from(block.residual.is_some());
        Some((luma, chroma))
    }

    /// Whether a node is split at random, once in `n` times, where the choices ask for that.
    fn scatter(&mut self, n: u32) -> bool {
        if !matches!(self.choices.splits, Splits::Scattered(_)) {
            return false;
        }
        // xorshift, 32 bits
        self.random ^= self.random << 13;
        self.random ^= self.random >> 17;
        self.random ^= self.random << 5;
        self.random.is_multiple_of(n)
    }

    /// `partition`, `split_or_horz` or `split_or_vert` (§5.11.4, §8.3.2). Without both, the split is implied.
    fn write_partition(&mut self, place: Place, has_rows: bool, has_columns: bool, split: bool) {
        const NONE: usize = 0;
        const SPLIT: usize = 3;
        let context = self.buffers.cells.partition_context(place);
        if has_rows && has_columns {
            let partition = if split { SPLIT } else { NONE };
            match place.log2 {
                3 => self.rc.symbol(&mut self.cdfs.partition8[context], partition),
                4 => self.rc.symbol(&mut self.cdfs.partition16[context], partition),
                5 => self.rc.symbol(&mut self.cdfs.partition32[context], partition),
                _ => self.rc.symbol(&mut self.cdfs.partition64[context], partition),
            }
        } else if has_rows || has_columns {
            let cumulative = match place.log2 {
                4 => self.cdfs.partition16[context].cumulative(),
                5 => self.cdfs.partition32[context].cumulative(),
                _ => self.cdfs.partition64[context].cumulative(),
            };
            // The chance of a split is that of all partitions which cut along the picture's edge: HORZ 1, VERT 2,
            // SPLIT 3, HORZ_A 4, HORZ_B 5, VERT_A 6, VERT_B 7, HORZ_4 8, VERT_4 9.
            let chance = |i: usize| u32::from(cumulative[i] - cumulative[i - 1]);
            let cuts = if has_columns { [2, 3, 4, 6, 7, 9] } else { [1, 3, 4, 5, 6, 8] };
            let split_chance: u32 = cuts.into_iter().map(chance).sum();
            self.rc.flag((1 << 15) - split_chance, split);
        }
    }
}

/// What becomes of a node of the partition tree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fate {
    Split,
    Copy(Reference),
    Carry(Carrier, Carrier),
}
