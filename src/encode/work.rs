//! A film's pictures, planned and ready to be coded: whole, or in parts on several machines.

use super::canvas::{Canvas, Pictures};
use super::patched::Patched;
use super::plan::{Chunk, Motion, Step, plan};
use super::rav1e::Rav1e;
use super::store::{ChunkName, SOURCES_VERSION, name};
use super::workers::Tick;
use super::{EncodeError, Unit};
use crate::units::{Fnv, FrameIndex};
use std::ops::Range;

/// From one key frame to the next at most this many seconds: how far a player may have to decode to reach a frame.
const SECONDS_BETWEEN_KEYS: u64 = 10;

/// Who writes the changed frames.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Coder {
    /// Our own: copies and palettes, a hundred times faster than an ordinary encoder.
    #[default]
    Patch,
    /// rav1e, without palettes: for the smallest files, and for decoders that trip over palettes.
    Rav1e,
}

/// What may be chosen about the coding.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Settings {
    /// Who writes the changed frames.
    pub coder: Coder,
    /// How many chunks are coded side by side.
    pub workers: usize,
    /// Fastest settings of [`Coder::Rav1e`], for a look at the timing.
    pub draft: bool,
}

/// Chunks of one film that wait to be coded.
pub struct Work<'a> {
    pictures: &'a dyn Pictures,
    settings: Settings,
    coder: ChunkCoder,
    chunks: Vec<Chunk>,
}

enum ChunkCoder {
    Patch(Patched),
    Rav1e(Box<Rav1e>),
}

impl<'a> Work<'a> {
    /// Plans the frames of `range`; an error if frames of this size cannot be coded.
    pub fn new(
        pictures: &'a dyn Pictures,
        range: Range<FrameIndex>,
        settings: Settings,
    ) -> Result<Work<'a>, EncodeError> {
        let (size, rate) = (pictures.size(), pictures.rate());
        let first = range.start.0;
        let refused = |reason: String| EncodeError::Video { frame: first, reason };
        let coder = match settings.coder {
            Coder::Patch => {
                ChunkCoder::Patch(Patched::new(size, rate).map_err(|refusal| refused(refusal.to_string()))?)
            }
            Coder::Rav1e => ChunkCoder::Rav1e(Box::new(Rav1e::new(size, rate, settings.draft))),
        };
        let changes = pictures.changes(range.clone());
        let cuts: Vec<u64> = pictures.cuts().into_iter().map(|cut| cut.0).collect();
        let limit = SECONDS_BETWEEN_KEYS * u64::from(rate.num()) / u64::from(rate.den());
        let motion = Motion { changes: &|frame| changes[(frame - first) as usize], cuts: &cuts, limit: limit.max(4) };
        Ok(Work { pictures, settings, coder, chunks: plan(first..range.end.0, &motion) })
    }

    /// How many chunks there are.
    pub fn chunks(&self) -> usize {
        self.chunks.len()
    }

    /// How many frames all of them have.
    pub fn frames(&self) -> u64 {
        self.frames_in(0..self.chunks.len())
    }

    /// How many frames the chunks with these numbers have.
    pub fn frames_in(&self, chunks: Range<usize>) -> u64 {
        self.chunks.get(chunks).into_iter().flatten().map(|chunk| chunk.steps.len() as u64).sum()
    }

    /// What is coded, as one number: equal ones mean equal units in equal chunks. `None` if the pictures have no
    /// digests.
    pub fn digest(&self) -> Option<u128> {
        let mut fnv = Fnv::default();
        fnv.bytes(SOURCES_VERSION.as_bytes());
        for chunk in &self.chunks {
            fnv.bytes(&name(chunk, self.pictures, self.settings)?.0.to_le_bytes());
        }
        Some(fnv.value())
    }

    /// The numbers of the chunks that make part `part` of `parts`, counted from 1; the parts cost about the same, and
    /// each chunk is in one of them. A part may be empty.
    pub fn part(&self, part: u64, parts: u64) -> Range<usize> {
        assert!((1..=parts).contains(&part), "parts are counted from 1");
        let costs: Vec<u64> = self.chunks.iter().map(cost).collect();
        let all: u64 = costs.iter().sum();
        let mut before = 0;
        // A chunk belongs to the part in which its middle lies.
        let middles: Vec<u128> = costs
            .iter()
            .map(|cost| {
                before += cost;
                u128::from(2 * before - cost) * u128::from(parts)
            })
            .collect();
        let place = |part: u64| middles.partition_point(|&middle| middle < u128::from(2 * all) * u128::from(part));
        place(part - 1)..place(part)
    }

    /// Leaves only the chunks with these numbers.
    #[must_use]
    pub fn only(mut self, chunks: Range<usize>) -> Work<'a> {
        self.chunks.truncate(chunks.end);
        self.chunks.drain(..chunks.start.min(self.chunks.len()));
        self
    }

    /// The name of the chunk with this number.
    pub(super) fn name(&self, chunk: usize) -> Option<ChunkName> {
        name(&self.chunks[chunk], self.pictures, self.settings)
    }

    /// Something to paint its pictures on.
    pub(super) fn canvas(&self) -> Canvas<'a> {
        Canvas::new(self.pictures)
    }

    /// Codes the chunk with this number.
    pub(super) fn code(&self, chunk: usize, canvas: &mut Canvas, tick: Tick) -> Result<Vec<Unit>, EncodeError> {
        match &self.coder {
            ChunkCoder::Patch(coder) => coder.code(&self.chunks[chunk], canvas, tick),
            ChunkCoder::Rav1e(coder) => coder.code(&self.chunks[chunk], canvas, tick),
        }
    }
}

/// What a chunk costs, in changed frames. Held frames cost nothing; the whole picture of a key is worth a few changes.
fn cost(chunk: &Chunk) -> u64 {
    let cost = |step: &Step| match step {
        Step::Key => 6,
        Step::Coded => 1,
        Step::Copy | Step::Held | Step::Rekey | Step::Recopy => 0,
    };
    chunk.steps.iter().map(cost).sum()
}
