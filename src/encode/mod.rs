//! Pixmaps → YUV BT.709 limited range → AV1 temporal units; the narration → Opus packets.
//!
//! Must not know: containers, the timeline's text, chess.
//!
//! Stillness is free. A board stands still nine frames of ten, and an ordinary encoder walks the whole picture for each
//! of them: 50 ms and more of one core at 1080p. Here [`Pictures`] tell which frames change, a plan is made before
//! anything is painted, and a frame that changes nothing becomes three bytes that show the last picture again. The
//! plan cuts the film into chunks that begin with keys and know nothing of each other: each is a function of its
//! pictures and the settings, so they are coded side by side ([`code`]), named by all that shapes them and kept in a
//! [`Store`], and shared out among machines ([`Work::part`]).

mod canvas;
mod layer;
mod level;
pub mod obu;
pub mod patch;
mod patched;
mod plan;
mod rav1e;
mod reel;
mod segments;
mod settled;
mod sound;
mod store;
mod work;
mod workers;
mod yuv;

pub use canvas::{Brush, Pictures};
pub use layer::{Layer, Layered};
pub use obu::{Av1Config, av1_configuration, sequence_header};
pub use reel::{OpenFile, Reel};
pub use sound::{AacPackets, SoundCodec, SoundTrack, sound};
pub use store::{ChunkName, NoStore, SOURCES_VERSION, Store};
pub use work::{Coder, Settings, Work};
pub use workers::{Coded, code};
pub use yuv::{Yuv, even_rect};
// Memory for `Coder::Rav1e`.
pub use plyreel_rav1e::{Shelf, keep_large_blocks};

use crate::units::FrameIndex;
use std::ops::Range;
use std::sync::atomic::AtomicBool;
use std::sync::{Mutex, PoisonError};

/// One temporal unit without its temporal delimiter, every OBU with its size field (AV1 specification §7.5;
/// libaom refuses OBUs without a size).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unit {
    /// The OBUs.
    pub data: Vec<u8>,
    /// Whether it is a random access point: a shown key frame with its sequence header.
    pub key: bool,
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
    /// The file for units that do not fit into memory could not be used.
    #[error("the file for a film on its way could not be used: {0}")]
    Reel(#[source] std::io::Error),
    /// The recording could not be read.
    #[error(transparent)]
    Narration(#[from] crate::narration::NarrationError),
}

/// Codes the frames of `range` and keeps nothing: one unit a frame, in order. `done` is told the number of frames finished so far.
///
/// The units depend on the pictures and the coder alone, not on the number of workers.
pub fn pictures(
    film: &impl Pictures,
    range: Range<FrameIndex>,
    settings: Settings,
    done: &(dyn Fn(u64) + Sync),
    stop: &AtomicBool,
) -> Result<Vec<Unit>, EncodeError> {
    let work = Work::new(film, range, settings)?;
    let whole = Mutex::new(Vec::new());
    let finished = |_, coded: Coded| -> Result<(), EncodeError> {
        *whole.lock().unwrap_or_else(PoisonError::into_inner) = coded.reel.units().map_err(EncodeError::Reel)?;
        Ok(())
    };
    code(&[work], settings.workers, &NoStore, &|_| Reel::default(), done, &finished, stop)?;
    Ok(whole.into_inner().unwrap_or_else(PoisonError::into_inner))
}
