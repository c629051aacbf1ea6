//! The narration → coded sound, ready to be put beside the units.
//!
//! Opus always, unless the recording is AAC already and may stay so: decoding and coding it again would only lose.

use super::segments::{FRAME, code_opus};
use super::store::{Store, sound_name};
use super::{EncodeError, Unit};
use crate::narration::opus::{OPUS_RATE, OpusEncoder};
use crate::narration::{AacTrack, Packets, Recording};
use crate::units::Time;
use std::ops::Range;

/// Bits a second for one voice. RFC 7587 §3.1.1 finds full-band speech transparent from 40 kbit/s on; the double and
/// more also carries a room, a chess clock and a music bed, and is little beside the pictures.
const MONO_RATE: u32 = 96_000;

/// Bits a second for two channels: the upper end of the same paragraph's range for stereo music.
const STEREO_RATE: u32 = 128_000;

/// How a track's packets are coded.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SoundCodec {
    /// Opus at 48 kHz; the track's `delay` is its pre-skip.
    Opus,
    /// AAC-LC as the recording had it; the track's `delay` is its priming.
    Aac {
        /// The `AudioSpecificConfig` (ISO/IEC 14496-3 §1.6.2.1).
        config: Vec<u8>,
    },
}

/// A coded narration.
///
/// Packet `n` decodes to `packet_length` samples from `n · packet_length` on. Of all of them the first `delay` are left
/// out and the `length` after those are heard, the first of them with the film's first frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SoundTrack {
    /// How the packets are coded.
    pub codec: SoundCodec,
    /// 1 or 2.
    pub channels: usize,
    /// Samples a second, of all the lengths here: 48000 for Opus.
    pub rate: u32,
    /// The packets.
    pub packets: Packets,
    /// Samples each packet decodes to.
    pub packet_length: u64,
    /// Decoded samples to leave out at the start.
    pub delay: u64,
    /// Samples that are heard.
    pub length: u64,
}

/// Whether AAC may stay AAC.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum AacPackets {
    /// Passed on as they are, where the film begins where the recording begins.
    PassOn,
    /// Coded anew as Opus: the container takes no AAC.
    Recode,
}

/// Codes on `workers` threads what is heard from `range.start` to `range.end`, to the sample, or takes it from the
/// store; `None` if the recording is over by then. `stop` is asked again and again whether to end.
pub fn sound(
    recording: &Recording,
    range: Range<Time>,
    aac: AacPackets,
    store: &dyn Store,
    workers: usize,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Option<SoundTrack>, EncodeError> {
    let start = sample_at(range.start, OPUS_RATE).min(recording.samples());
    let end = sample_at(range.end, OPUS_RATE).clamp(start, recording.samples());
    if start == end {
        return Ok(None);
    }
    if aac == AacPackets::PassOn
        && start == 0
        && let Some(track) = recording.aac()?
    {
        return Ok(Some(passed_on(track, range.end)));
    }
    opus(recording, start..end, store, workers, stop).map(Some)
}

/// The sample nearest to `time`; 0 before the start.
fn sample_at(time: Time, rate: u32) -> u64 {
    let scaled = i128::from(time.as_micros()) * i128::from(rate) + 500_000;
    u64::try_from(scaled.div_euclid(1_000_000)).unwrap_or(0)
}

/// AAC up to `end`: whole packets, of which the last may be heard in part.
fn passed_on(track: AacTrack, end: Time) -> SoundTrack {
    let length = track.length.min(sample_at(end, track.rate));
    let needed = (track.priming + length).div_ceil(track.packet_length);
    let mut packets = track.packets;
    packets.truncate(usize::try_from(needed).unwrap_or(usize::MAX));
    SoundTrack {
        codec: SoundCodec::Aac { config: track.config },
        channels: track.channels,
        rate: track.rate,
        packets,
        packet_length: track.packet_length,
        delay: track.priming,
        length,
    }
}

/// The samples of `range` as Opus, coded or from the store.
fn opus(
    recording: &Recording,
    range: Range<u64>,
    store: &dyn Store,
    workers: usize,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<SoundTrack, EncodeError> {
    let channels = recording.channels();
    let rate = if channels == 1 { MONO_RATE } else { STEREO_RATE };
    let mut coder = OpusEncoder::new(channels, rate).map_err(EncodeError::Sound)?;
    let delay = u64::from(coder.lookahead().map_err(EncodeError::Sound)?);
    let length = range.end - range.start;
    let frames = (length + delay).div_ceil(FRAME as u64);

    let name = || store.keeps().then(|| sound_name(recording, &range)).flatten();
    let before = name();
    let kept = before.and_then(|name| store.get(name)).filter(|units| units.len() as u64 == frames);
    let packets = if let Some(units) = kept {
        let mut packets = Packets::default();
        for unit in &units {
            packets.push(&unit.data);
        }
        packets
    } else {
        let packets = code_opus(recording, &range, rate, frames, workers, stop)?;
        // A recording that is being written while it is read must not be kept under a name it had for a moment.
        if let Some(name) = before.filter(|_| before == name()) {
            let units: Vec<Unit> = packets.iter().map(|data| Unit { data: data.to_vec(), key: false }).collect();
            store.put(name, &units);
        }
        packets
    };
    Ok(SoundTrack {
        codec: SoundCodec::Opus,
        channels,
        rate: OPUS_RATE,
        packets,
        packet_length: FRAME as u64,
        delay,
        length,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::encode::NoStore;
    use crate::narration::opus::OpusDecoder;

    /// A mono WAV with a click of full height at each of `clicks`.
    fn clicks(path: &std::path::Path, length: usize, clicks: &[usize]) {
        let mut data = vec![0i16; length];
        for &at in clicks {
            data[at..at + 24].fill(24_000);
        }
        let mut wav = b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0".to_vec();
        wav.extend(48_000u32.to_le_bytes());
        wav.extend(96_000u32.to_le_bytes());
        wav.extend([2, 0, 16, 0]);
        wav.extend(b"data");
        wav.extend((length as u32 * 2).to_le_bytes());
        wav.extend(data.iter().flat_map(|s| s.to_le_bytes()));
        let size = wav.len() as u32 - 8;
        wav[4..8].copy_from_slice(&size.to_le_bytes());
        std::fs::write(path, wav).unwrap();
    }

    fn heard(track: &SoundTrack) -> Vec<f32> {
        let mut decoder = OpusDecoder::new(track.channels, 0).unwrap();
        let mut samples = Vec::new();
        for packet in track.packets.iter() {
            assert_eq!(decoder.decode(packet, &mut samples), Ok(FRAME));
        }
        samples.drain(..track.delay as usize);
        samples.truncate(track.length as usize);
        samples
    }

    #[test]
    fn a_cut_is_at_the_sample() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("clicks.wav");
        clicks(&path, 96_000, &[30_000, 70_000]);
        let recording = Recording::open(&path).unwrap();
        let range = Time::from_millis(500)..Time::from_millis(1500);
        let track = sound(&recording, range, AacPackets::PassOn, &NoStore, 2, &|| false).unwrap().unwrap();
        assert_eq!(track.length, 48_000);
        let heard = heard(&track);
        assert_eq!(heard.len(), 48_000);
        let rise = (0..heard.len()).find(|&n| heard[n] > 0.3).unwrap();
        assert!(rise.abs_diff(6_000) <= 3, "the click at 0.625 s was heard at sample {rise} of 6000");
    }

    #[test]
    fn what_is_over_is_no_track() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("clicks.wav");
        clicks(&path, 4_800, &[]);
        let recording = Recording::open(&path).unwrap();
        let over = Time::from_millis(100)..Time::from_millis(900);
        assert!(sound(&recording, over, AacPackets::PassOn, &NoStore, 2, &|| false).unwrap().is_none());
        let whole = Time::ZERO..Time::from_millis(900);
        let stopped = sound(&recording, whole, AacPackets::PassOn, &NoStore, 2, &|| true);
        assert!(matches!(stopped, Err(EncodeError::Stopped)));
    }
}
