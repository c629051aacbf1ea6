//! Mode info of the blocks (AV1 specification §5.11.5 to §5.11.50), symbol by symbol in the order of the syntax.

use super::block::Carrier;
use super::cells::{Cell, Cells, Mode, Neighbours, Place, Reference};
use super::palette::syntax::{Cache, write_ascending, write_cr};
use super::palette::{MOST, Palette, index_map};
use super::picture::{Area, CELL, SUPERBLOCK};
use super::tile::Tile;

/// `angle_delta_y` and `_uv` of no turn: 0, coded with `MAX_ANGLE_DELTA` added.
const STRAIGHT: usize = 3;

/// The palettes along the lower and right edges of what is coded (`PaletteColors` of the blocks above and left).
pub(super) struct PaletteEdges {
    /// By column of cells, for luma and Cb.
    above: [Vec<[u8; MOST]>; 2],
    /// By row of cells within the superblock row.
    left: [[[u8; MOST]; SUPERBLOCK / CELL]; 2],
}

impl PaletteEdges {
    pub(super) fn new(columns: usize) -> PaletteEdges {
        let above = vec![[0; MOST]; columns.next_multiple_of(SUPERBLOCK / CELL)];
        PaletteEdges { above: [above.clone(), above], left: [[[0; MOST]; SUPERBLOCK / CELL]; 2] }
    }

    fn fill(&mut self, plane: usize, place: Place, colours: [u8; MOST]) {
        self.above[plane][place.column..][..place.side()].fill(colours);
        self.left[plane][place.row % (SUPERBLOCK / CELL)..][..place.side()].fill(colours);
    }

    /// The palette cache of a block. The palette above counts only within one superblock row (§5.11.46).
    pub(super) fn cache(&self, plane: usize, place: Place, neighbours: Neighbours) -> Cache {
        let len = |cell: Option<Cell>| cell.map_or(0, |cell| usize::from(cell.palette[plane]));
        let row = place.row % (SUPERBLOCK / CELL);
        let above = if row == 0 { 0 } else { len(neighbours.above) };
        Cache::new(&self.above[plane][place.column][..above], &self.left[plane][row][..len(neighbours.left)])
    }
}

impl Tile<'_> {
    /// `inter_frame_mode_info` (§5.11.18) of a block that is a copy: GLOBALMV, which is no motion, no residual.
    pub(super) fn write_copy(&mut self, place: Place, reference: Reference) {
        let neighbours = self.buffers.cells.neighbours(place);
        self.write_skip(neighbours, true);
        self.write_is_inter(neighbours, true);
        // read_ref_frames (§5.11.25): single_ref_p1 0, forward; single_ref_p3 0, LAST or LAST2; single_ref_p4
        let (ours, plate) = Cells::reference_contexts(neighbours);
        self.rc.symbol(&mut self.cdfs.single_ref[ours][0], 0);
        self.rc.symbol(&mut self.cdfs.single_ref[ours][1], 0);
        self.rc.symbol(&mut self.cdfs.single_ref[plate][2], usize::from(reference == Reference::Plate));
        // inter_block_mode_info (§5.11.23): new_mv 1, not NEWMV; zero_mv 0, GLOBALMV. ZeroMvContext is 0 without
        // use_ref_frame_mvs. The filter is not switchable, there is one reference and no motion mode.
        let context = self.buffers.cells.new_mv_context(place, reference);
        self.rc.symbol(&mut self.cdfs.new_mv[context], 1);
        self.rc.symbol(&mut self.cdfs.zero_mv[0], 0);
        self.buffers.cells.fill(place, Cell { reference, log2: place.log2 as u8, ..Cell::default() });
        if reference == Reference::Plate {
            self.tally.plate += 1;
            let end = |at: usize, end: usize| (at + place.side()).min(end);
            let area = Area {
                rows: place.row..end(place.row, self.buffers.cells.rows),
                columns: place.column..end(place.column, self.buffers.cells.columns),
            };
            self.shown.copy(self.plate, &area);
        } else {
            self.tally.copied += 1;
        }
    }

    /// `intra_frame_mode_info` (§5.11.7) in a key frame, else `inter_frame_mode_info` with `intra_block_mode_info`
    /// (§5.11.18, §5.11.22); then the maps and the residual. `cdef_idx` has no bits (`cdef_bits` is 0), and with
    /// `TX_MODE_LARGEST` no transform size is written.
    pub(super) fn write_intra(&mut self, place: Place, luma: Carrier, chroma: Carrier) {
        self.tally.carried[place.log2 - 3] += 1;
        let neighbours = self.buffers.cells.neighbours(place);
        let (y_mode, uv_mode) = (luma.mode(), chroma.mode());
        self.tally.diagonal += usize::from(y_mode == Mode::Diagonal || uv_mode == Mode::Diagonal);
        self.write_skip(neighbours, self.buffers.block.residual.is_none());
        if self.key {
            // allow_intrabc is 0. Intra_Mode_Context of DC, V, H and D45 is 0 to 3.
            let context = |cell: Option<Cell>| cell.map_or(0, |cell| cell.y_mode as usize);
            let cdf = &mut self.cdfs.key_y_mode[context(neighbours.above)][context(neighbours.left)];
            self.rc.symbol(cdf, y_mode as usize); // intra_frame_y_mode
        } else {
            self.write_is_inter(neighbours, false);
            let size_group = (place.log2 - 2).min(3);
            self.rc.symbol(&mut self.cdfs.y_mode[size_group], y_mode as usize); // y_mode
        }
        self.write_angle(y_mode); // intra_angle_info_y, §5.11.42
        // uv_mode: chroma from luma is allowed up to 32×32, which takes another alphabet (§8.3.2)
        if place.log2 <= 5 {
            self.rc.symbol(&mut self.cdfs.uv_mode[y_mode as usize], uv_mode as usize);
        } else {
            self.rc.symbol(&mut self.cdfs.uv_mode_64[y_mode as usize], uv_mode as usize);
        }
        self.write_angle(uv_mode); // intra_angle_info_uv, §5.11.43
        let palettes = self.write_palette_mode_info(place, neighbours, luma, chroma);
        // filter_intra_mode_info is empty: enable_filter_intra is 0. palette_tokens:
        let block = &self.buffers.block;
        for (plane, carrier, width) in [(0, luma, block.width), (1, chroma, block.width / 2)] {
            if let Carrier::Palette(palette) = carrier {
                index_map::write(&mut self.rc, self.cdfs, plane, palette.len, block.map(plane), width);
                self.buffers.edges.fill(plane, place, palette.first);
            }
        }
        let residual = block.residual.as_ref().map(|residual| {
            let signs = neighbours.above.iter().chain(&neighbours.left).filter_map(|cell| cell.residual);
            residual.write(&mut self.rc, self.cdfs, signs.sum());
            residual.first_sign()
        });
        let cell = Cell { reference: Reference::Intra, log2: place.log2 as u8, y_mode, palette: palettes, residual };
        self.buffers.cells.fill(place, cell);
        self.buffers.block.reconstruct(self.shown, place, luma, chroma);
    }

    /// `skip` (§5.11.11): its context is the number of neighbours that have it.
    fn write_skip(&mut self, neighbours: Neighbours, skip: bool) {
        let context = neighbours.count(|cell| cell.residual.is_none());
        self.rc.symbol(&mut self.cdfs.skip[context], usize::from(skip));
    }

    /// `is_inter` (§5.11.20).
    fn write_is_inter(&mut self, neighbours: Neighbours, is_inter: bool) {
        let context = Cells::is_inter_context(neighbours);
        self.rc.symbol(&mut self.cdfs.is_inter[context], usize::from(is_inter));
    }

    /// `angle_delta_y` or `angle_delta_uv` of a directional mode.
    fn write_angle(&mut self, mode: Mode) {
        if mode != Mode::Dc {
            self.rc.symbol(&mut self.cdfs.angle_delta[mode as usize - 1], STRAIGHT);
        }
    }

    /// `palette_mode_info` (§5.11.46). Gives the sizes of both palettes.
    fn write_palette_mode_info(
        &mut self,
        place: Place,
        neighbours: Neighbours,
        luma: Carrier,
        chroma: Carrier,
    ) -> [u8; 2] {
        let of = |carrier| if let Carrier::Palette(palette) = carrier { Some(palette) } else { None };
        let (luma_palette, chroma_palette): (Option<Palette>, Option<Palette>) = (of(luma), of(chroma));
        let size = place.palette_context();
        if luma.mode() == Mode::Dc {
            let context = neighbours.count(|cell| cell.palette[0] > 0);
            let has = usize::from(luma_palette.is_some());
            self.rc.symbol(&mut self.cdfs.palette_y_mode[size][context], has); // has_palette_y
            if let Some(palette) = luma_palette {
                self.rc.symbol(&mut self.cdfs.palette_y_size[size], palette.len - 2); // palette_size_y_minus_2
                let cache = self.buffers.edges.cache(0, place, neighbours);
                write_ascending(&mut self.rc, palette.first(), &cache, 1);
            }
        }
        if chroma.mode() == Mode::Dc {
            let context = usize::from(luma_palette.is_some());
            let has = usize::from(chroma_palette.is_some());
            self.rc.symbol(&mut self.cdfs.palette_uv_mode[context], has); // has_palette_uv
            if let Some(palette) = chroma_palette {
                self.rc.symbol(&mut self.cdfs.palette_uv_size[size], palette.len - 2); // palette_size_uv_minus_2
                let cache = self.buffers.edges.cache(1, place, neighbours);
                write_ascending(&mut self.rc, palette.first(), &cache, 0);
                write_cr(&mut self.rc, palette.second());
            }
        }
        [luma_palette, chroma_palette].map(|palette| palette.map_or(0, |palette| palette.len as u8))
    }
}
