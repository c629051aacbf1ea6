//! Units + sound → MP4, WebM/Matroska or IVF bytes, into any `io::Write`.
//!
//! Comes in: a [`Movie`], one AV1 unit a frame and at most one sound track, with chapters and a title. Goes out: a whole
//! file, written once from front to back: all sizes are known before the first byte, so that the index stands before
//! the data and a player can start, or seek, after the first few kilobytes. Must not know: how the units were made, the
//! file system.
//!
//! The same movie gives the same bytes: nothing is dated, numbered at random or named after the machine.

mod container;
mod ebml;
mod ivf;
mod matroska;
mod mp4;

pub use container::{Container, UnknownEnding};

use crate::encode::{Av1Config, Reel, SoundCodec, SoundTrack, av1_configuration};
use crate::units::{FrameRate, Size, Time};
use std::io::{self, Write};

/// What goes into a file.
#[derive(Clone, Copy, Debug)]
pub struct Movie<'a> {
    /// The picture's size in pixels, at most 65535 each way.
    pub size: Size,
    /// Constant: frame `n` is on screen from `n·den/num` s to `(n+1)·den/num` s.
    pub rate: FrameRate,
    /// One for each frame; the first is a key.
    pub units: &'a Reel,
    /// The narration; it begins with the first frame.
    pub sound: Option<&'a SoundTrack>,
    /// When each begins, in order, and its title. Those that begin after the last frame are left out.
    pub chapters: &'a [(Time, String)],
    /// The film's title.
    pub title: Option<&'a str>,
}

impl Movie<'_> {
    /// How long the pictures last, in ns, to the nearest.
    fn nanoseconds(&self) -> u64 {
        frame_nanoseconds(self.rate, self.units.len() as u64)
    }

    /// Chapters that begin before the pictures end: start and end in ms, and title.
    fn chapter_list(&self) -> Vec<Chapter> {
        let end = self.nanoseconds().div_ceil(1_000_000);
        let starts: Vec<(u64, &str)> = self
            .chapters
            .iter()
            .map(|(start, title)| (u64::try_from(start.as_micros()).unwrap_or(0) / 1000, title.as_str()))
            .filter(|&(start, _)| start < end)
            .collect();
        let ends = starts.iter().skip(1).map(|&(start, _)| start).chain([end]);
        starts
            .iter()
            .zip(ends)
            .map(|(&(start, title), end)| Chapter { start, end: end.max(start), title: title.to_owned() })
            .collect()
    }
}

/// A chapter on the film's clock, in ms.
struct Chapter {
    start: u64,
    end: u64,
    title: String,
}

/// Writes the movie's file.
pub fn write(container: Container, movie: &Movie, out: &mut dyn Write) -> Result<(), MuxError> {
    let config = examine(container, movie)?;
    match container {
        Container::Mp4 => mp4::write(movie, &config, out),
        Container::WebM | Container::Matroska => matroska::write(container, movie, &config, out),
        Container::Ivf => ivf::write(movie, out),
    }
}

/// Everything that could not be said in the container, before its first byte is written.
fn examine(container: Container, movie: &Movie) -> Result<Av1Config, MuxError> {
    if movie.units.is_empty() {
        return Err(MuxError::NoFrame);
    }
    let first = movie.units.bytes(0..1)?;
    let config = av1_configuration(&first).filter(|_| movie.units.is_key(0)).ok_or(MuxError::NoKey)?;
    if movie.size.width > 0xffff || movie.size.height > 0xffff {
        return Err(MuxError::TooLarge { size: movie.size });
    }
    if movie.units.len() as u64 > u64::from(u32::MAX) {
        return Err(MuxError::TooLong { container });
    }
    match movie.sound {
        Some(sound) if !container.carries(&sound.codec) => {
            Err(MuxError::SoundNotCarried { container, codec: codec_name(&sound.codec) })
        }
        _ => Ok(config),
    }
}

fn codec_name(codec: &SoundCodec) -> &'static str {
    match codec {
        SoundCodec::Opus => "Opus",
        SoundCodec::Aac { .. } => "AAC",
    }
}

/// When frame `n` begins, in ns, to the nearest; always from the index, never added up.
fn frame_nanoseconds(rate: FrameRate, n: u64) -> u64 {
    nanoseconds(u128::from(n) * u128::from(rate.den()), rate.num())
}

/// `ticks / rate` seconds in ns, to the nearest.
fn nanoseconds(ticks: u128, rate: u32) -> u64 {
    let scaled = (ticks * 2_000_000_000 + u128::from(rate)) / (u128::from(rate) * 2);
    u64::try_from(scaled).unwrap_or(u64::MAX)
}

/// What can go wrong in writing a movie.
#[derive(Debug, thiserror::Error)]
pub enum MuxError {
    /// There is nothing to show.
    #[error("a film without a frame has no file")]
    NoFrame,
    /// The first unit does not begin a sequence.
    #[error("the first unit is no key frame with a sequence header")]
    NoKey,
    /// The picture does not fit the header's fields.
    #[error("{width}×{height} pixels are more than a file can say (65535 each way)", width = size.width, height = size.height)]
    TooLarge {
        /// The picture's size.
        size: Size,
    },
    /// More frames or bytes than the container can count.
    #[error("the film is too long for {container}")]
    TooLong {
        /// The container.
        container: Container,
    },
    /// The container has no place for this sound.
    #[error("{container} carries no {codec} sound")]
    SoundNotCarried {
        /// The container.
        container: Container,
        /// The sound's coding.
        codec: &'static str,
    },
    /// The bytes could not be written.
    #[error("the film's file could not be written")]
    Write(#[from] io::Error),
}
