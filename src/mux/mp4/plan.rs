//! Where everything lies in `mdat`: which samples make a chunk, and the order of the chunks.

use super::chapters::ChapterTrack;
use crate::encode::SoundTrack;
use crate::mux::Movie;
use crate::units::FrameRate;
use std::ops::Range;

/// One of the tracks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Track {
    Video,
    Sound,
    Chapters,
}

/// A track's clock: ticks a second, and ticks a frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Clock {
    pub(super) scale: u32,
    pub(super) frame: u32,
}

/// The clock on which every frame is a whole number of ticks: 30000 and 1001 for 30000/1001. Whole rates are told as
/// 30000 and 1000, as cutting programs tell them; both are exact.
pub(super) fn video_clock(rate: FrameRate) -> Clock {
    match rate.num().checked_mul(1000) {
        Some(scale) if rate.den() == 1 => Clock { scale, frame: 1000 },
        _ => Clock { scale: rate.num(), frame: rate.den() },
    }
}

/// Samples that lie side by side.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Chunk {
    pub(super) track: Track,
    /// In the track, counted from 0.
    pub(super) samples: Range<usize>,
    /// From the start of the data.
    at: u64,
}

/// Where a track's samples are: the place of each chunk in the file and how many samples it holds.
pub(super) type Places = Vec<(u64, u32)>;

/// The order of the data.
pub(super) struct Plan {
    chunks: Vec<Chunk>,
    bytes: u64,
}

impl Plan {
    pub(super) fn of(movie: &Movie, chapters: Option<&ChapterTrack>) -> Plan {
        let mut plan = Plan { chunks: Vec::new(), bytes: 0 };
        if let Some(chapters) = chapters {
            plan.push(Track::Chapters, 0..chapters.len(), |n| chapters.sample(n).len());
        }
        let frames = movie.units.len();
        let packets = movie.sound.map_or(0, |sound| sound.packets.len());
        let (mut video, mut sound, mut half) = (0, 0, 0);
        while video < frames || sound < packets {
            half += 1;
            let end = frames_before(movie.rate, half).min(frames);
            plan.push(Track::Video, video..end.max(video), |n| movie.units.length(n));
            video = end.max(video);
            if let Some(track) = movie.sound {
                let end = packets_before(track, half).min(packets);
                plan.push(Track::Sound, sound..end.max(sound), |n| track.packets.get(n).map_or(0, <[u8]>::len));
                sound = end.max(sound);
            }
        }
        plan
    }

    fn push(&mut self, track: Track, samples: Range<usize>, length: impl Fn(usize) -> usize) {
        if samples.is_empty() {
            return;
        }
        self.chunks.push(Chunk { track, samples: samples.clone(), at: self.bytes });
        self.bytes += samples.map(|n| length(n) as u64).sum::<u64>();
    }

    /// All chunks, in order.
    pub(super) fn chunks(&self) -> &[Chunk] {
        &self.chunks
    }

    /// How long the data is.
    pub(super) fn bytes(&self) -> u64 {
        self.bytes
    }

    /// A track's chunks in a file whose data begins at `base`.
    pub(super) fn places(&self, track: Track, base: u64) -> Places {
        let chunks = self.chunks.iter().filter(|chunk| chunk.track == track);
        chunks.map(|chunk| (base + chunk.at, chunk.samples.len() as u32)).collect()
    }
}

/// The longest track's length on a clock of `scale` ticks.
pub(super) fn movie_length(movie: &Movie, scale: u32) -> u64 {
    video_length(movie, scale).max(movie.sound.map_or(0, |sound| rescaled(sound.length, sound.rate, scale)))
}

/// How long the pictures last on a clock of `scale` ticks.
pub(super) fn video_length(movie: &Movie, scale: u32) -> u64 {
    let clock = video_clock(movie.rate);
    rescaled(movie.units.len() as u64 * u64::from(clock.frame), clock.scale, scale)
}

/// Ticks of one clock as ticks of another, to the nearest.
pub(super) fn rescaled(ticks: u64, from: u32, to: u32) -> u64 {
    let scaled = (u128::from(ticks) * u128::from(to) * 2 + u128::from(from)) / (u128::from(from) * 2);
    u64::try_from(scaled).unwrap_or(u64::MAX)
}

/// How many frames begin before the end of the `half`th half second.
fn frames_before(rate: FrameRate, half: u64) -> usize {
    let frames = (u128::from(half) * u128::from(rate.num())).div_ceil(u128::from(rate.den()) * 2);
    usize::try_from(frames).unwrap_or(usize::MAX)
}

/// How many packets begin before it.
fn packets_before(sound: &SoundTrack, half: u64) -> usize {
    let packets = (u128::from(half) * u128::from(sound.rate)).div_ceil(u128::from(sound.packet_length) * 2);
    usize::try_from(packets).unwrap_or(usize::MAX)
}
