//! Changed pictures → AV1 frames of our own: copies of what was shown before, and palettes where it is new.
//!
//! An ordinary encoder walks the whole picture for every frame. A board film changes in small rectangles of few
//! colours, so a frame here is an AV1 inter frame in which every block whose pixels are as before is copied with one
//! symbol or two, and only blocks with new pixels carry them: as a palette of at most eight colours and a map. There
//! is no transform; where eight colours are too few for 8×8 pixels, the differences follow pixel by pixel. At 1080p
//! that takes tenths of a millisecond instead of tens of milliseconds.
//!
//! Flat and gently graded blocks are exact, gradients and their dither with them, so nothing is banded. Only beside an
//! edge, where the eye cannot tell, something is left out ([`Choices::steep`]): there every 8×8 pixels are continued
//! from what is beside them, or have the fewest colours, so that the mean squared error in luma stays within 1.25
//! (47 dB), and that in chroma at about 2 (45 dB); where eight colours leave more in luma, the greater differences
//! follow, so that it does not, or no pixel is further than 2 from its source.
//!
//! Three kinds of units come out ([`PatchCoder`]): key frames, changed frames and held ones. The frames use two slots
//! of the decoder: slot 0 holds the last shown frame, slot 1 the last key frame, the *plate*, from which ground that a
//! piece uncovers is copied. The coder keeps what a decoder has, sample by sample ([`PatchCoder::reconstruction`]).
//!
//! A frame goes through these files:
//! 1. `changes` finds the cells of 8×8 pixels that are new;
//! 2. `tile` walks the partition tree and decides what each block becomes, with `block`, `prediction`,
//!    `palette` and `residual`;
//! 3. `mode_info` writes the symbols of a block, with the contexts that `cells` knows;
//! 4. `range_coder` and `cdf` make bytes of symbols;
//! 5. `headers` and `bits` put headers and OBUs around them.
//!
//! Comes in: planes and the rectangles that may have changed. Goes out: units without temporal delimiters. Must not
//! know: films, painting, containers. Section numbers are those of the AV1 Bitstream & Decoding Process
//! Specification, version 1.0.0 with Errata 1.

mod bits;
mod block;
mod cdf;
mod cdf_tables;
mod cells;
mod changes;
mod headers;
mod mode_info;
mod palette;
mod picture;
mod prediction;
mod range_coder;
mod residual;
mod tile;

pub use headers::sequence_header;

use super::Unit;
use super::obu::held_unit;
use super::yuv::Yuv;
use crate::units::{FrameRate, PixelRect, Size};
use bits::{ObuType, obu};
use cdf::Cdfs;
use changes::{Changes, touched};
use headers::{Chances, FrameKind, SHOWN_SLOT, frame_header};
use picture::{Area, Picture};
use range_coder::RangeCoder;
use tile::{Buffers, Tile};

/// What may be chosen about the coding; [`Choices::default`] is what films use, other values are for tests.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Choices {
    /// Whether blocks that continue their edge are predicted from it: exactly, or if they are steep within the errors
    /// below.
    pub predict: bool,
    /// Whether blocks are copied from the plate.
    pub plate: bool,
    /// Whether a frame starts from the chances with which the frame before ended.
    pub inherit: bool,
    /// A block larger than 8×8 is carried whole when at least this share (of 64) of its cells is new.
    pub whole_share: u8,
    /// A block larger than 8×8 is carried whole with at most this many colours in luma: a map of more is dearer than
    /// the colours of four quarters, of which none may have so many.
    pub most_whole: usize,
    /// A block in which luma spans more levels than this is *steep*, and carried within the errors below; all others
    /// exactly if eight colours can.
    pub steep: u8,
    /// The most squared error in luma that a steep cell is left with: if eight colours leave more, by a residual.
    pub most_error: u32,
    /// The most squared error in both chroma planes of a steep block of any size, if eight pairs leave no more.
    pub most_chroma_error: u32,
    /// How blocks are split.
    pub splits: Splits,
}

/// How blocks are split.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Splits {
    /// Where copies and colours ask for it.
    Needed,
    /// At random places besides, by this seed, so that every neighbourhood occurs.
    Scattered(u32),
}

impl Default for Choices {
    fn default() -> Choices {
        Choices {
            predict: true,
            plate: true,
            inherit: true,
            whole_share: 32,
            most_whole: 5,
            steep: 16,
            most_error: 80,        // 1.25 for each of 64 pixels: 47 dB
            most_chroma_error: 64, // 2 for each of 16 pixels in both planes: 45 dB
            splits: Splits::Needed,
        }
    }
}

/// What the blocks of a frame became.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Blocks copied from the frame before.
    pub copied: usize,
    /// Blocks copied from the plate.
    pub plate: usize,
    /// Blocks with pixels of their own: 8×8, 16×16, 32×32, 64×64.
    pub carried: [usize; 4],
    /// 8×8 blocks whose luma palette is as near as need be, not exact by design: the steep ones, and those with more
    /// than eight values.
    pub reduced_luma: usize,
    /// Those of them with a residual.
    pub residual: usize,
    /// 8×8 blocks whose chroma palette is so.
    pub reduced_chroma: usize,
    /// Blocks whose luma is predicted nearly, but not exactly.
    pub near_luma: usize,
    /// Blocks whose chroma is so.
    pub near_chroma: usize,
    /// Blocks with luma or chroma predicted along the lines of a hatch.
    pub diagonal: usize,
}

/// A picture that this coder cannot write.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum UnfitSize {
    /// It needs more than one tile (AV1 specification §5.9.15).
    #[error("{0}×{1} does not fit into one tile (4096 wide, 4096 × 2304 in all)")]
    Large(u32, u32),
    /// A side is odd or zero.
    #[error("{0}×{1} is not even")]
    Odd(u32, u32),
}

/// What was shown last; decides how it may be shown again.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Last {
    Nothing,
    /// A key frame, which may not be shown again (§6.8.2: its `showable_frame` is 0).
    Key,
    Inter,
}

/// Codes the pictures of one chunk. Streams of coders with one size and rate may follow each other: each begins with
/// a key frame, and all have the same sequence header.
pub struct PatchCoder {
    size: Size,
    rate: FrameRate,
    choices: Choices,
    area: Area,
    /// The picture shown last as it came in, and as a decoder has it.
    source: Picture,
    shown: Picture,
    /// The same of the last key frame.
    plate_source: Picture,
    plate_shown: Picture,
    changes: Changes,
    buffers: Buffers,
    cdfs: Cdfs,
    order_hint: u32,
    last: Last,
    tally: Tally,
}

impl PatchCoder {
    /// A coder for pictures of this size, at this rate (which only the level depends on).
    pub fn new(size: Size, rate: FrameRate) -> Result<PatchCoder, UnfitSize> {
        let Size { width, height } = size;
        if width == 0 || height == 0 || width % 2 == 1 || height % 2 == 1 {
            return Err(UnfitSize::Odd(width, height));
        }
        if !headers::fits_one_tile(size) {
            return Err(UnfitSize::Large(width, height));
        }
        let picture = Picture::new(size);
        let area = picture.area();
        Ok(PatchCoder {
            size,
            rate,
            choices: Choices::default(),
            changes: Changes::none(&area),
            buffers: Buffers::new(&area),
            area,
            source: picture.clone(),
            shown: picture.clone(),
            plate_source: picture.clone(),
            plate_shown: picture,
            cdfs: Cdfs::new(),
            order_hint: 0,
            last: Last::Nothing,
            tally: Tally::default(),
        })
    }

    /// Changes the choices from the next frame on.
    pub fn choose(&mut self, choices: Choices) {
        self.choices = choices;
    }

    /// A key frame: the whole picture, with the sequence header.
    pub fn key(&mut self, picture: &Yuv) -> Unit {
        assert_eq!(picture.size(), self.size, "the picture has the size of the coder");
        self.source.load(picture, &self.area);
        self.changes.all();
        self.cdfs = Cdfs::new();
        let tile = self.tile(true);
        self.begin_from_key();
        let mut data = Vec::with_capacity(tile.len() + 64);
        obu(&mut data, ObuType::SequenceHeader, &[&sequence_header(self.size, self.rate)]);
        obu(&mut data, ObuType::Frame, &[&frame_header(self.size, FrameKind::Key), &tile]);
        Unit { data, key: true }
    }

    /// A frame that differs from the last one inside `rects` at most, wherever in whole cells of 8×8 pixels it does.
    /// Before any key frame it is one.
    pub fn change(&mut self, picture: &Yuv, rects: &[PixelRect]) -> Unit {
        if self.last == Last::Nothing {
            return self.key(picture);
        }
        assert_eq!(picture.size(), self.size, "the picture has the size of the coder");
        self.changes.clear();
        let plate = self.choices.plate.then_some(&self.plate_source);
        for &rect in rects {
            self.changes.take(&touched(rect, &self.area), picture, &mut self.source, plate);
        }
        self.inter()
    }

    /// The last picture once more, as a frame of its own that may be shown again.
    pub fn copy(&mut self) -> Unit {
        self.changes.clear();
        self.inter()
    }

    /// The last picture once more for the fewest bytes: three, or behind a key frame a copy.
    pub fn hold(&mut self) -> Unit {
        match self.last {
            Last::Inter => Unit { data: held_unit(SHOWN_SLOT).to_vec(), key: false },
            Last::Key | Last::Nothing => self.copy(),
        }
    }

    /// What a decoder shows now.
    pub fn reconstruction(&self) -> Yuv {
        let mut yuv = Yuv::black(self.size);
        self.shown.store(&mut yuv);
        yuv
    }

    /// What the blocks of the last coded frame became.
    pub fn tally(&self) -> Tally {
        self.tally
    }

    /// Takes the frame that was just made for the key frame that all slots hold.
    fn begin_from_key(&mut self) {
        self.plate_source.copy(&self.source, &self.area);
        self.plate_shown.copy(&self.shown, &self.area);
        self.order_hint = 0;
        self.last = Last::Key;
    }

    /// An inter frame of the changes noted.
    fn inter(&mut self) -> Unit {
        assert!(self.last != Last::Nothing, "a stream begins with a key");
        let inherit = self.choices.inherit;
        if !inherit {
            self.cdfs = Cdfs::new();
        }
        self.order_hint += 1;
        let chances = if inherit { Chances::Inherited } else { Chances::Default };
        let tile = self.tile(false);
        self.last = Last::Inter;
        let header = frame_header(self.size, FrameKind::Inter { order_hint: self.order_hint, chances });
        let mut data = Vec::with_capacity(tile.len() + header.len() + 8);
        obu(&mut data, ObuType::Frame, &[&header, &tile]);
        Unit { data, key: false }
    }

    /// Codes the cells that are new; `shown` becomes what a decoder has.
    fn tile(&mut self, key: bool) -> Vec<u8> {
        self.tally = Tally::default();
        let random = if let Splits::Scattered(seed) = self.choices.splits { seed | 1 } else { 1 };
        let tile = Tile {
            rc: RangeCoder::new(),
            cdfs: &mut self.cdfs,
            buffers: &mut self.buffers,
            key,
            source: &self.source,
            shown: &mut self.shown,
            plate: &self.plate_shown,
            changes: &self.changes,
            choices: self.choices,
            tally: &mut self.tally,
            random,
        };
        let data = tile.encode();
        self.cdfs.end_frame();
        data
    }
}
