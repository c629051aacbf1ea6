//! Chunks by name, so that what was coded once need not be coded again.
//!
//! A chunk's bytes are a function of what its name is a hash of: the pictures of its coded frames, what each frame
//! becomes, size, rate, look and coder, and the version of all the program's parts that shape them. Where a chunk
//! stands in a film does not count, so a scene that moves in time keeps its chunks. A narration is one chunk, named by
//! its file's content.

use super::canvas::Pictures;
use super::plan::{Chunk, Step};
use super::work::Settings;
use super::{Coder, Unit};
use crate::narration::Recording;
use crate::units::{Fnv, FrameIndex};
use std::fmt;
use std::ops::Range;

/// The version of all that shapes coded bytes: a hash of their sources, made when the program was built.
pub const SOURCES_VERSION: &str = env!("PLYREEL_SOURCES");

/// A chunk's name. Equal names mean equal units.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ChunkName(pub u128);

/// 32 hexadecimal digits.
impl fmt::Display for ChunkName {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

/// A place where coded chunks are kept. Neither call fails: a chunk that cannot be kept is coded again.
pub trait Store: Sync {
    /// Whether it keeps anything, so that names are worth making.
    fn keeps(&self) -> bool {
        true
    }

    /// The units kept under this name, whole and as they were put.
    fn get(&self, name: ChunkName) -> Option<Vec<Unit>>;

    /// Keeps a chunk's units.
    fn put(&self, name: ChunkName, units: &[Unit]);
}

/// Keeps nothing.
#[derive(Clone, Copy, Debug)]
pub struct NoStore;

impl Store for NoStore {
    fn keeps(&self) -> bool {
        false
    }

    fn get(&self, _: ChunkName) -> Option<Vec<Unit>> {
        None
    }

    fn put(&self, _: ChunkName, _: &[Unit]) {}
}

/// The chunk's name; `None` if its pictures have none.
pub fn name(chunk: &Chunk, pictures: &dyn Pictures, settings: Settings) -> Option<ChunkName> {
    let mut fnv = Fnv::default();
    fnv.bytes(SOURCES_VERSION.as_bytes());
    let (size, rate) = (pictures.size(), pictures.rate());
    for number in [size.width, size.height, rate.num(), rate.den()] {
        fnv.bytes(&number.to_le_bytes());
    }
    fnv.bytes(match (settings.coder, settings.draft) {
        (Coder::Patch, _) => b"p",
        (Coder::Rav1e, false) => b"r",
        (Coder::Rav1e, true) => b"d",
    });
    for (frame, &step) in (chunk.start..).zip(&chunk.steps) {
        fnv.bytes(&[letter(step)]);
        if matches!(step, Step::Key | Step::Coded) {
            fnv.bytes(&pictures.digest(FrameIndex(frame))?.to_le_bytes());
        }
    }
    Some(ChunkName(fnv.value()))
}

/// The name of a coded recording from one sample to another; `None` if the file cannot be read.
pub fn sound_name(recording: &Recording, samples: &Range<u64>) -> Option<ChunkName> {
    let mut fnv = Fnv::default();
    fnv.bytes(SOURCES_VERSION.as_bytes());
    fnv.bytes(b"s");
    fnv.bytes(&samples.start.to_le_bytes());
    fnv.bytes(&samples.end.to_le_bytes());
    fnv.bytes(&recording.digest().ok()?.to_le_bytes());
    Some(ChunkName(fnv.value()))
}

/// One byte for each step; its end needs no mark, for what follows a step hangs on the step alone.
fn letter(step: Step) -> u8 {
    match step {
        Step::Key => b'K',
        Step::Coded => b'x',
        Step::Copy => b'c',
        Step::Held => b'.',
        Step::Rekey => b'R',
        Step::Recopy => b'r',
    }
}
