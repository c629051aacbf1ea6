//! Pixmaps → YUV BT.709 limited range → AV1 temporal units; the narration → Opus packets.
//!
//! Must not know: containers, the timeline's text, chess.
//!
//! Stillness is free. A board stands still nine frames of ten, and an ordinary encoder walks the whole picture for each
//! of them: 50 ms and more of one core at 1080p. Here [`Pictures`] tell which frames change, a plan is made before
//! anything is painted, and a frame that changes nothing becomes three bytes that show the last picture again. The
//! plan cuts the film into chunks that begin with keys and know nothing of each other: each is a function of its
//! pictures and the settings, so they are coded side by side.

mod canvas;
mod level;
pub mod obu;
pub mod patch;
mod patched;
mod plan;
mod rav1e;
mod sound;
mod workers;
mod yuv;

pub use canvas::{Brush, Pictures};
pub use obu::{Av1Config, av1_configuration, sequence_header};
pub use sound::{AacPackets, SoundCodec, SoundTrack, sound};
pub use yuv::{Yuv, even_rect};

use crate::units::FrameIndex;
use patched::Patched;
use plan::{Motion, plan};
use rav1e::Rav1e;
use std::ops::Range;
use std::sync::atomic::AtomicBool;
use workers::code_chunks;

/// From one key frame to the next at most this many seconds: how far a player may have to decode to reach a frame.
const SECONDS_BETWEEN_KEYS: u64 = 10;

/// One temporal unit without its temporal delimiter, every OBU with its size field (AV1 specification §7.5;
/// libaom refuses OBUs without a size).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unit {
    /// The OBUs.
    pub data: Vec<u8>,
    /// Whether it is a random access point: a shown key frame with its sequence header.
    pub key: bool,
}

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

/// What can go wrong in coding.
#[derive(Debug, thiserror::Error)]
pub enum EncodeError {
    /// The user asked to stop.
    #[error("stopped")]
    Stopped,
    /// The AV1 coder failed.
    #[error("the AV1 coder failed at frame {frame}: {reason}")]
    Video {
        /// The frame in the film.
        frame: u64,
        /// What it said.
        reason: String,
    },
    /// The Opus coder failed.
    #[error("the Opus coder failed: {0}")]
    Sound(String),
    /// The recording could not be read.
    #[error(transparent)]
    Narration(#[from] crate::narration::NarrationError),
}

/// Codes the frames of `range`: one unit a frame, in order. `done` is told the number of frames finished so far.
///
/// The units depend on the pictures and the coder alone, not on the number of workers.
pub fn pictures(
    film: &impl Pictures,
    range: Range<FrameIndex>,
    settings: Settings,
    done: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Vec<Unit>, EncodeError> {
    let (size, rate) = (film.size(), film.rate());
    let first = range.start.0;
    let changes = film.changes(range.clone());
    let cuts: Vec<u64> = film.cuts().into_iter().map(|cut| cut.0).collect();
    let limit = SECONDS_BETWEEN_KEYS * u64::from(rate.num()) / u64::from(rate.den());
    let motion = Motion { changes: &|frame| changes[(frame - first) as usize], cuts: &cuts, limit: limit.max(4) };
    let chunks = plan(first..range.end.0, &motion);
    let workers = settings.workers;
    match settings.coder {
        Coder::Patch => {
            let refused = |refusal: patch::UnfitSize| EncodeError::Video { frame: first, reason: refusal.to_string() };
            let coder = Patched::new(size, rate).map_err(refused)?;
            code_chunks(film, &chunks, workers, &|chunk, canvas, tick| coder.code(chunk, canvas, tick), done, stop)
        }
        Coder::Rav1e => {
            let coder = Rav1e::new(size, rate, settings.draft);
            code_chunks(film, &chunks, workers, &|chunk, canvas, tick| coder.code(chunk, canvas, tick), done, stop)
        }
    }
}
