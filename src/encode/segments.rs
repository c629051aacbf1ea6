//! Samples → Opus packets, in segments side by side.
//!
//! One coder takes five seconds for a quarter of an hour, which is long beside pictures that were kept from before. So the
//! recording is cut into segments of half a minute, each with a coder of its own. It is fed the last samples of the
//! segment before, whose packets are thrown away, so that it stands where one coder for the whole would stand. At the
//! seam both the last packet of one segment and the first of the next do without prediction (RFC 6716 §4.3.2.1: the
//! coarse energy is then told in full, and without a pitch filter), so that a decoder that comes from one coder's packet
//! finds nothing missing in the other's.

use super::EncodeError;
use crate::narration::opus::OpusEncoder;
use crate::narration::{Blocks, Packets, Recording};
use std::ops::Range;
use std::panic::resume_unwind;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;

/// Samples in one Opus packet: 20 ms, the length the coder is tuned for (RFC 6716 §2.1.4).
pub(super) const FRAME: usize = 960;

/// Packets in a segment: half a minute.
const SEGMENT: usize = 1500;

/// Packets a coder is fed before its segment. RFC 7845 §4.6 asks 80 ms of a decoder; a coder's rate control and its
/// detectors look back further.
const LEAD: usize = 15;

/// The samples of one segment on their way to a coder.
struct Segment {
    number: usize,
    /// Interleaved: the lead, then the segment, a whole number of packets.
    samples: Vec<f32>,
    /// How many packets of the samples are lead.
    lead: usize,
    last: bool,
}

/// Coded segments: their number and packets.
type Finished = (usize, Result<Packets, String>);

/// Codes the samples of `range` as `frames` packets of about `rate` bits a second on `workers` threads; the packets do not
/// depend on their number. Silence follows the last sample until it is out of the coder again.
pub(super) fn code_opus(
    recording: &Recording,
    range: &Range<u64>,
    rate: u32,
    frames: u64,
    workers: usize,
    stop: &(dyn Fn() -> bool + Sync),
) -> Result<Packets, EncodeError> {
    let channels = recording.channels();
    let reader = Reader { blocks: recording.blocks()?, channels, early: range.start, left: range.end - range.start };
    let (segments, waiting) = sync_channel(1);
    let (finished, done) = channel();
    let waiting = Arc::new(Mutex::new(waiting));
    let failed = AtomicBool::new(false);
    let failed = &failed;
    thread::scope(|scope| {
        let coders: Vec<_> = (0..workers.max(1))
            .map(|_| {
                let finished = finished.clone();
                let waiting = Arc::clone(&waiting);
                scope.spawn(move || work(&waiting, &finished, failed, channels, rate))
            })
            .collect();
        // Held by the coders alone: should they all be gone, nobody waits for them.
        drop((finished, waiting));
        let read = cut(reader, frames as usize, &segments, failed, stop);
        drop(segments);
        for coder in coders {
            coder.join().unwrap_or_else(|panic| resume_unwind(panic));
        }
        read
    })?;
    in_order(done)
}

/// One thread: codes what comes until nothing comes any more, or one of the threads fails.
fn work(
    waiting: &Mutex<Receiver<Segment>>,
    finished: &Sender<Finished>,
    failed: &AtomicBool,
    channels: usize,
    rate: u32,
) {
    loop {
        let segment = waiting.lock().unwrap_or_else(PoisonError::into_inner).recv();
        let Ok(segment) = segment else { return };
        let number = segment.number;
        let packets = code(&segment, channels, rate);
        failed.fetch_or(packets.is_err(), Ordering::Relaxed);
        finished.send((number, packets)).expect("the packets are put in order when all threads have ended");
        if failed.load(Ordering::Relaxed) {
            return;
        }
    }
}

fn code(segment: &Segment, channels: usize, rate: u32) -> Result<Packets, String> {
    let mut coder = OpusEncoder::new(channels, rate)?;
    let mut packets = Packets::default();
    let mut packet = Vec::new();
    let count = segment.samples.len() / (FRAME * channels);
    for (n, frame) in segment.samples.chunks_exact(FRAME * channels).enumerate() {
        let before_seam = n + 1 == segment.lead || (n + 1 == count && !segment.last);
        let behind_seam = n == segment.lead && segment.lead > 0;
        coder.set_prediction(!(before_seam || behind_seam))?;
        packet.clear();
        coder.encode(frame, &mut packet)?;
        if n >= segment.lead {
            packets.push(&packet);
        }
    }
    Ok(packets)
}

/// Reads the recording through and hands out its segments.
fn cut(
    mut reader: Reader,
    frames: usize,
    segments: &SyncSender<Segment>,
    failed: &AtomicBool,
    stop: &dyn Fn() -> bool,
) -> Result<(), EncodeError> {
    let frame = FRAME * reader.channels;
    let (mut samples, mut lead) = (Vec::new(), 0);
    for number in 0..frames.div_ceil(SEGMENT) {
        let count = (frames - number * SEGMENT).min(SEGMENT);
        let wanted = (lead + count) * frame;
        while samples.len() < wanted {
            if stop() {
                return Err(EncodeError::Stopped);
            }
            if failed.load(Ordering::Relaxed) {
                // What the coder said of it is the error.
                return Ok(());
            }
            if !reader.read(&mut samples)? {
                samples.resize(wanted, 0.0);
            }
        }
        let kept = samples.split_off(wanted);
        let next_lead = LEAD.min(lead + count);
        let next: Vec<f32> = samples[wanted - next_lead * frame..].iter().copied().chain(kept).collect();
        let last = (number + 1) * SEGMENT >= frames;
        let segment = Segment { number, samples: std::mem::replace(&mut samples, next), lead, last };
        lead = next_lead;
        if segments.send(segment).is_err() {
            // The coders are gone, and what they say tells why.
            return Ok(());
        }
    }
    Ok(())
}

fn in_order(done: Receiver<Finished>) -> Result<Packets, EncodeError> {
    let mut coded: Vec<Finished> = done.into_iter().collect();
    coded.sort_by_key(|segment| segment.0);
    let mut whole = Packets::default();
    for (_, packets) in coded {
        for packet in packets.map_err(EncodeError::Sound)?.iter() {
            whole.push(packet);
        }
    }
    Ok(whole)
}

/// The wanted samples of a recording, block by block.
struct Reader {
    blocks: Blocks,
    channels: usize,
    /// Samples still to be passed over, and still to be given.
    early: u64,
    left: u64,
}

impl Reader {
    /// Appends some samples; `false` at the end.
    fn read(&mut self, out: &mut Vec<f32>) -> Result<bool, EncodeError> {
        if self.left == 0 {
            return Ok(false);
        }
        let Some(block) = self.blocks.next() else { return Ok(false) };
        let block = block?;
        let samples = (block.len() / self.channels) as u64;
        let skipped = self.early.min(samples);
        let taken = (samples - skipped).min(self.left);
        self.early -= skipped;
        self.left -= taken;
        out.extend_from_slice(&block[skipped as usize * self.channels..(skipped + taken) as usize * self.channels]);
        Ok(true)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::narration::opus::OpusDecoder;
    use std::f64::consts::TAU;

    /// Mono: a gliding voice of eight harmonics with some breath, which keeps the coder's predictors busy.
    fn voice(samples: usize) -> Vec<f32> {
        let mut noise = 1u32;
        let mut phase = 0.0;
        let sample = |n: usize| {
            let t = n as f64 / 48_000.0;
            phase += (140.0 + 30.0 * libm::sin(TAU * t / 3.1)) / 48_000.0;
            let harmonics: f64 = (1..=8).map(|k| libm::sin(TAU * phase * f64::from(k)) / f64::from(k)).sum();
            noise = noise.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let breath = f64::from(noise >> 8) / f64::from(1u32 << 24) - 0.5;
            (0.2 * harmonics * (0.6 + 0.4 * libm::sin(TAU * t * 2.3)) + 0.01 * breath) as f32
        };
        (0..samples).map(sample).collect()
    }

    fn recording(folder: &std::path::Path, samples: &[f32]) -> Recording {
        let path = folder.join("voice.wav");
        let mut wav = b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x03\0\x01\0".to_vec();
        wav.extend(48_000u32.to_le_bytes());
        wav.extend(192_000u32.to_le_bytes());
        wav.extend([4, 0, 32, 0]);
        wav.extend(b"data");
        wav.extend((samples.len() as u32 * 4).to_le_bytes());
        wav.extend(samples.iter().flat_map(|s| s.to_le_bytes()));
        let size = wav.len() as u32 - 8;
        wav[4..8].copy_from_slice(&size.to_le_bytes());
        std::fs::write(&path, wav).unwrap();
        Recording::open(&path).unwrap()
    }

    fn decoded(packets: &Packets, delay: usize) -> Vec<f32> {
        let mut decoder = OpusDecoder::new(1, 0).unwrap();
        let mut samples = Vec::new();
        packets.iter().for_each(|packet| assert_eq!(decoder.decode(packet, &mut samples), Ok(FRAME)));
        samples.split_off(delay)
    }

    /// Signal to noise of each packet's samples, in dB.
    fn fidelity(heard: &[f32], said: &[f32]) -> Vec<f64> {
        let power = |samples: &mut dyn Iterator<Item = f32>| samples.map(|s| f64::from(s) * f64::from(s)).sum::<f64>();
        heard
            .chunks_exact(FRAME)
            .zip(said.chunks_exact(FRAME))
            .map(|(heard, said)| {
                let noise = power(&mut heard.iter().zip(said).map(|(a, b)| a - b));
                10.0 * libm::log10(power(&mut said.iter().copied()) / noise)
            })
            .collect()
    }

    #[test]
    fn nothing_is_read_any_more_once_a_coder_has_failed() {
        let folder = tempfile::tempdir().unwrap();
        let said = vec![0.0; 5 * SEGMENT * FRAME];
        let recording = recording(folder.path(), &said);
        let asked = std::sync::atomic::AtomicUsize::new(0);
        let stop = || {
            asked.fetch_add(1, Ordering::Relaxed);
            false
        };
        let coded = |rate| code_opus(&recording, &(0..said.len() as u64), rate, 5 * SEGMENT as u64, 1, &stop);
        assert!(coded(96_000).is_ok());
        let whole = asked.swap(0, Ordering::Relaxed);
        // No coder takes no bits a second.
        assert!(matches!(coded(0), Err(EncodeError::Sound(_))));
        let part = asked.load(Ordering::Relaxed);
        // One segment fails, one waits, one is being read.
        assert!(part * 3 < whole * 2, "{part} of {whole} looks at the recording");
    }

    #[test]
    fn a_seam_is_not_heard() {
        let said = voice((2 * SEGMENT + 100) * FRAME);
        let folder = tempfile::tempdir().unwrap();
        let recording = recording(folder.path(), &said);
        let range = 0..said.len() as u64;
        let frames = (2 * SEGMENT + 101) as u64;
        let packets = code_opus(&recording, &range, 96_000, frames, 1, &|| false).unwrap();
        assert_eq!(packets.len() as u64, frames);
        assert!(packets == code_opus(&recording, &range, 96_000, frames, 3, &|| false).unwrap(), "the threads show");

        // One coder for the whole, as it would be without segments.
        let padded: Vec<f32> = said.iter().copied().chain(vec![0.0; FRAME]).collect();
        let one = Segment { number: 0, samples: padded, lead: 0, last: true };
        let one = code(&one, 1, 96_000).unwrap();
        let delay = OpusEncoder::new(1, 96_000).unwrap().lookahead().unwrap() as usize;
        let (several, one) = (fidelity(&decoded(&packets, delay), &said), fidelity(&decoded(&one, delay), &said));
        for seam in [SEGMENT, 2 * SEGMENT] {
            for packet in seam - 3..seam + 12 {
                let (with, without) = (several[packet], one[packet]);
                // A packet told in full has fewer bits left for the sound.
                assert!(with > without - 5.0, "packet {packet}: {with:.1} dB with a seam, {without:.1} dB without");
            }
        }
    }
}
