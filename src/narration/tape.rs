//! A recording's packets and the decoder that turns them into samples at the recording's own rate.

mod player;

use super::edits::{self, Edges, Edits};
use super::guard::guarded;
use super::opus::{self, OpusDecoder};
use super::{Kind, NarrationError, whole};
use player::OpusHead;
use std::fs::File;
use std::io::ErrorKind;
use std::path::Path;
use symphonia::core::audio::Channels;
use symphonia::core::codecs::audio::well_known::{CODEC_ID_AAC, CODEC_ID_MP3, CODEC_ID_OPUS, CODEC_ID_VORBIS};
use symphonia::core::codecs::audio::{AudioCodecId, AudioCodecParameters, AudioDecoderOptions};
use symphonia::core::errors::Error;
use symphonia::core::formats::probe::Hint;
use symphonia::core::formats::{FormatOptions, FormatReader, TrackType};
use symphonia::core::io::MediaSourceStream;
use symphonia::core::meta::MetadataOptions;
use symphonia::core::packet::Packet;
use symphonia::core::units::TimeBase;

pub(super) use player::{Decoder, Player};

/// A packet that comes this much later than the samples before it has a hole before it, which is filled with silence:
/// so a damaged place costs what it holds, and never the step of what comes after. In ms: far more than a container's
/// rounding, less than anyone hears as out of step.
pub(super) const HOLE_MS: u64 = 10;

/// A jump of the clock beyond this is damage to the clock itself and is not followed.
const LONGEST_HOLE_S: u64 = 60;

/// How many packets at the start may be damaged before a recording is called unreadable.
const FIRST_PACKETS: usize = 32;

/// One sound track, read from its first packet on.
pub(super) struct Tape {
    reader: Box<dyn FormatReader>,
    track: u32,
    pub(super) codec: AudioCodecId,
    parameters: AudioCodecParameters,
    time_base: Option<TimeBase>,
    pub(super) kind: Kind,
    delay: u64,
    padding: u64,
    clock: Clock,
    counted: Counted,
    starts: Starts,
    /// Bytes of packets so far, of all tracks.
    read: u64,
}

/// What the packets say of their lengths, summed up.
#[derive(Default)]
struct Counted {
    packets: u64,
    /// Ticks of the track's clock.
    ticks: u64,
    /// The first packet's bytes and ticks, the measure of a WAV file's last, in which the file may end.
    first: Option<(u64, u64)>,
}

/// When the first packet of the track comes, and the first of the other tracks if one comes before it, in nanoseconds.
#[derive(Default)]
struct Starts {
    own: Option<i128>,
    others: Option<i128>,
}

/// What is on a tape, as far as a pass over its packets tells.
pub(super) struct Survey {
    pub(super) rate: u32,
    /// Channels in the file.
    pub(super) channels: usize,
    pub(super) edges: Edges,
    /// Whether the file ends in the middle of something.
    pub(super) cut_short: bool,
}

impl Tape {
    pub(super) fn open(path: &Path) -> Result<Tape, NarrationError> {
        let file = File::open(path).map_err(|source| NarrationError::Open { path: path.into(), source })?;
        let kind = Kind::of(path)?;
        let refused = |error| NarrationError::of(path, kind, &error);
        let stream = MediaSourceStream::new(Box::new(file), symphonia::core::io::MediaSourceStreamOptions::default());
        let mut hint = Hint::new();
        hint.with_extension(kind.extension());
        let (format, meta) = (FormatOptions::default(), MetadataOptions::default());
        let reader = guarded(|| symphonia::default::get_probe().probe(&hint, stream, format, meta)).map_err(refused)?;
        let track = reader
            .default_track(TrackType::Audio)
            .ok_or_else(|| NarrationError::NoSound { path: path.into(), kind })?;
        let parameters = track
            .codec_params
            .as_ref()
            .and_then(|parameters| parameters.audio())
            .ok_or_else(|| NarrationError::NoSound { path: path.into(), kind })?
            .clone();
        let time_base = track.time_base;
        let (id, delay, padding) = (track.id, track.delay.unwrap_or(0).into(), track.padding.unwrap_or(0).into());
        let codec = parameters.codec;
        let (clock, counted, starts) = (Clock::default(), Counted::default(), Starts::default());
        Ok(Tape {
            reader,
            track: id,
            codec,
            parameters,
            time_base,
            kind,
            delay,
            padding,
            clock,
            counted,
            starts,
            read: 0,
        })
    }

    /// The next packet of the track; `None` at the end, also at an end that comes too early.
    pub(super) fn next(&mut self) -> Result<Option<Packet>, Error> {
        loop {
            let packet = guarded(|| self.reader.next_packet())?;
            self.read += packet.as_ref().map_or(0, |packet| packet.data.len() as u64);
            match packet {
                Some(packet) if packet.track_id == self.track => {
                    let begins = self.time_base.map_or(0, |base| nanoseconds(&packet, base));
                    self.starts.own.get_or_insert(begins);
                    return Ok(Some(packet));
                }
                Some(packet) if self.starts.own.is_none() => {
                    let track = self.reader.tracks().iter().find(|track| track.id == packet.track_id);
                    let begins = track.and_then(|track| track.time_base).map(|base| nanoseconds(&packet, base));
                    self.starts.others = self.starts.others.or(begins);
                }
                Some(_) => {}
                None => return Ok(None),
            }
        }
    }

    /// Decodes the first packets to learn what comes out, then reads all packets, without decoding them, to learn how
    /// much.
    pub(super) fn survey(path: &Path) -> Result<Survey, NarrationError> {
        let (rate, channels) = Tape::open(path)?.try_out(path)?;
        let mut tape = Tape::open(path)?;
        if tape.kind == Kind::Matroska && tape.codec != CODEC_ID_OPUS {
            return tape.played_through(path, rate, channels);
        }
        let (mut decoded, mut cut_short) = (0, false);
        loop {
            match tape.next() {
                Ok(Some(packet)) => {
                    let silence = tape.clock.silence_before(tape.samples_at(&packet, rate), decoded, rate);
                    decoded = decoded.saturating_add(silence).saturating_add(tape.frames(&packet, rate));
                    tape.clock.restart_if_nothing_came(decoded);
                }
                Ok(None) => break,
                // What was read so far stands; a file that gives nothing at all has failed in `try_out`.
                Err(error) => {
                    cut_short = tape.breaks_off(&error, path);
                    break;
                }
            }
        }
        let edges = tape.edges(path, rate, decoded, tape.in_samples(tape.counted.ticks, rate))?;
        if edges.length == 0 {
            return Err(NarrationError::Empty { path: path.into(), kind: tape.kind });
        }
        cut_short |= whole::ends_early(path, tape.kind, decoded, tape.counted.packets);
        Ok(Survey { rate, channels, edges, cut_short })
    }

    /// The survey of a tape whose packets do not tell how many samples they hold: Matroska's clock is in milliseconds.
    fn played_through(mut self, path: &Path, rate: u32, channels: usize) -> Result<Survey, NarrationError> {
        let decoder = self.decoder().map_err(|error| NarrationError::of(path, self.kind, &error))?;
        let mut player = Player::new(decoder, rate, channels);
        let mut samples = Vec::new();
        let played = loop {
            samples.clear();
            match self.play(&mut player, &mut samples) {
                Ok(true) => {}
                end => break end,
            }
        };
        let edges = self.edges(path, rate, player.at, player.at)?;
        if edges.length == 0 {
            return Err(NarrationError::Empty { path: path.into(), kind: self.kind });
        }
        let breaks_off = played.is_err_and(|error| self.breaks_off(&error, path));
        let cut_short = breaks_off || whole::ends_early(path, self.kind, player.at, 0);
        Ok(Survey { rate, channels, edges, cut_short })
    }

    fn edges(&self, path: &Path, rate: u32, decoded: u64, timed: u64) -> Result<Edges, NarrationError> {
        let skip = match self.codec {
            _ if self.kind == Kind::Mp4 => {
                let edits = Edits::read(path, self.track)
                    .map_err(|source| NarrationError::Open { path: path.into(), source })?;
                return edits.edges(rate, decoded, timed).map_err(|what| NarrationError::Unsupported {
                    path: path.into(),
                    kind: self.kind,
                    what,
                });
            }
            CODEC_ID_OPUS => u64::from(self.opus_head().map_or(0, |head| head.pre_skip)),
            CODEC_ID_MP3 => self.delay,
            _ => 0,
        };
        let padding = if self.codec == CODEC_ID_MP3 { self.padding } else { 0 };
        let length = decoded.saturating_sub(skip.saturating_add(padding));
        Ok(Edges { lead: self.late(rate, skip), skip, length })
    }

    /// Whether an error is not simply how a file ends that was written to a pipe: WAV, of which the sizes tell whether it
    /// is whole, and Matroska of unknown length, of which nearly all has been read then.
    fn breaks_off(&self, error: &Error, path: &Path) -> bool {
        let is_end = matches!(error, Error::IoError(error) if error.kind() == ErrorKind::UnexpectedEof);
        match self.kind {
            Kind::Wav => false,
            Kind::Matroska if is_end => {
                let length = std::fs::metadata(path).map_or(0, |file| file.len());
                self.read < length / 4 * 3
            }
            _ => true,
        }
    }

    /// How many samples after the other tracks of the file this one begins, its coder's priming not counted. The file's
    /// own zero tells nothing: a recording of a stream may begin at any time of its clock.
    fn late(&self, rate: u32, priming: u64) -> u64 {
        let (Kind::Matroska, Some(own), Some(others)) = (self.kind, self.starts.own, self.starts.others) else {
            return 0;
        };
        let late = (own - others) * i128::from(rate) / 1_000_000_000 + i128::from(priming);
        let late = u64::try_from(late).unwrap_or(0);
        if late < hole_from(rate) || late > edits::LATEST_S * u64::from(rate) { 0 } else { late }
    }

    /// The rate and the channels of the first packet that can be decoded.
    fn try_out(&mut self, path: &Path) -> Result<(u32, usize), NarrationError> {
        let mut decoder = self.decoder().map_err(|error| NarrationError::of(path, self.kind, &error))?;
        let mut failure = None;
        for _ in 0..FIRST_PACKETS {
            let packet = match self.next() {
                Ok(Some(packet)) => packet,
                Ok(None) => break,
                Err(error) => {
                    failure = Some(error);
                    break;
                }
            };
            let mut samples = Vec::new();
            match decoder.decode(&packet, &mut samples) {
                Ok(spec) if !samples.is_empty() => {
                    // No sound worth resampling is outside these; a damaged header may say anything.
                    if !(4_000..=768_000).contains(&spec.rate) {
                        let what = format!("a sample rate of {} Hz", spec.rate);
                        return Err(NarrationError::Unsupported { path: path.into(), kind: self.kind, what });
                    }
                    return Ok((spec.rate, spec.channels));
                }
                Ok(_) => {}
                Err(error) => failure = Some(error),
            }
        }
        Err(match failure {
            Some(error) => NarrationError::of(path, self.kind, &error),
            None => NarrationError::Empty { path: path.into(), kind: self.kind },
        })
    }

    /// A decoder for this tape's packets.
    pub(super) fn decoder(&self) -> Result<Decoder, Error> {
        if self.codec == CODEC_ID_OPUS {
            let head = self.opus_head();
            // In MP4 the header is another one (Opus in ISOBMFF §4.3.2), and its gain is practically always 0.
            let gain = head.as_ref().map_or(0, |head| head.gain);
            let channels = head.map(|head| head.channels).or(self.parameters.channels.as_ref().map(Channels::count));
            let channels = channels.unwrap_or(2);
            if channels > 2 {
                return Err(Error::Unsupported("Opus with more than two channels"));
            }
            let decoder = OpusDecoder::new(channels, gain).map_err(|_| Error::Unsupported("this Opus stream"))?;
            return Ok(Decoder::Opus(decoder, channels));
        }
        // In Ogg the packets themselves say what is trimmed; elsewhere `Edges` does.
        let options = AudioDecoderOptions::default().gapless(self.codec == CODEC_ID_VORBIS);
        guarded(|| symphonia::default::get_codecs().make_audio_decoder(&self.parameters, &options)).map(Decoder::Other)
    }

    /// How many samples the packet decodes to. Each packet is asked for once, in order.
    fn frames(&mut self, packet: &Packet, rate: u32) -> u64 {
        let (ticks, bytes) = (packet.dur.get(), packet.data.len() as u64);
        let before = self.counted.ticks;
        let (first_bytes, first_ticks) = *self.counted.first.get_or_insert((bytes.max(1), ticks));
        // A WAV file written to a pipe does not know its length, and its last packet tells of more than it holds.
        let held = if self.kind == Kind::Wav { bytes.saturating_mul(first_ticks) / first_bytes } else { u64::MAX };
        self.counted.ticks = before.saturating_add(ticks.min(held));
        self.counted.packets += 1;
        match self.codec {
            CODEC_ID_OPUS => opus::packet_duration(&packet.data).unwrap_or(0).saturating_sub(packet.trim_end.get()),
            // ISO/IEC 11172-3 §2.4.2.3, 13818-3: 1152 samples a frame, 576 at the low sampling frequencies, where the
            // ID bit is 0.
            CODEC_ID_MP3 => match packet.data.get(1) {
                Some(byte) if byte & 0b1000 != 0 => 1152,
                _ => 576,
            },
            CODEC_ID_AAC => self.aac_frame_length(),
            // Taken from the sums, so that the roundings of a clock that does not count in samples do not add up.
            _ => self.in_samples(self.counted.ticks, rate).saturating_sub(self.in_samples(before, rate)),
        }
    }

    /// Ticks of the track's clock as samples, to the nearest.
    fn in_samples(&self, ticks: u64, rate: u32) -> u64 {
        let Some(base) = self.time_base else { return ticks };
        let denom = u128::from(base.denom.get());
        let samples = (u128::from(ticks) * u128::from(base.numer.get()) * u128::from(rate) + denom / 2) / denom;
        u64::try_from(samples).unwrap_or(u64::MAX)
    }

    /// Samples in one AAC packet: 1024, or 960 where `frameLengthFlag` of the configuration says so (ISO/IEC 14496-3
    /// §4.4.1).
    pub(super) fn aac_frame_length(&self) -> u64 {
        let short = self.parameters.extra_data.as_ref().is_some_and(|config| {
            // object type (5), frequency index (4), channels (4), then the flag; an escaped frequency has its own place
            config.len() >= 2 && (config[0] & 7) << 1 | config[1] >> 7 != 15 && config[1] & 0b100 != 0
        });
        if short { 960 } else { 1024 }
    }

    /// The decoder's own configuration, for a track that is passed on as it is.
    pub(super) fn configuration(&self) -> Option<&[u8]> {
        self.parameters.extra_data.as_deref()
    }

    /// Where the packet begins, in samples from the first packet's beginning.
    fn samples_at(&self, packet: &Packet, rate: u32) -> Option<u64> {
        let base = self.time_base?;
        let ticks = i128::from(packet.pts.get());
        let samples = ticks * i128::from(base.numer.get()) * i128::from(rate) / i128::from(base.denom.get());
        i64::try_from(samples).ok().map(i64::cast_unsigned)
    }

    fn opus_head(&self) -> Option<OpusHead> {
        OpusHead::read(self.parameters.extra_data.as_deref()?)
    }

    /// Decodes the next packet and appends its samples, one or two channels of them, to `out`; a damaged packet becomes
    /// silence. `false` at the end, an error where the file breaks off or makes no sense from there on.
    pub(super) fn play(&mut self, player: &mut Player, out: &mut Vec<f32>) -> Result<bool, Error> {
        let Some(packet) = self.next()? else { return Ok(false) };
        let silence = self.clock.silence_before(self.samples_at(&packet, player.rate), player.at, player.rate);
        let width = player.width();
        out.resize(out.len() + usize::try_from(silence).unwrap_or(0) * width, 0.0);
        player.at += silence;
        let start = out.len();
        player.raw.clear();
        let heard = match player.decoder.decode(&packet, &mut player.raw) {
            Ok(spec) => spec.channels == player.channels && spec.rate == player.rate,
            Err(_) => false,
        };
        if heard {
            match &player.downmix {
                Some(downmix) => downmix.mix(&player.raw, out),
                None => out.extend_from_slice(&player.raw),
            }
            if matches!(player.decoder, Decoder::Opus(..)) {
                let cut = usize::try_from(packet.trim_end.get()).unwrap_or(usize::MAX);
                let kept = ((out.len() - start) / width).saturating_sub(cut);
                out.truncate(start + kept * width);
            }
        }
        player.at += ((out.len() - start) / width) as u64;
        if heard {
            self.clock.restart_if_nothing_came(player.at);
        }
        Ok(true)
    }
}

fn nanoseconds(packet: &Packet, base: TimeBase) -> i128 {
    i128::from(packet.pts.get()) * i128::from(base.numer.get()) * 1_000_000_000 / i128::from(base.denom.get())
}

/// From how many samples on something is missing.
fn hole_from(rate: u32) -> u64 {
    u64::from(rate) * HOLE_MS / 1000
}

/// Follows the packets' own clock, to find holes.
#[derive(Default)]
struct Clock {
    first: Option<u64>,
}

impl Clock {
    /// A codec whose blocks overlap gives nothing for the first of them (Vorbis I §4.3.8): the clock starts with the
    /// first packet that gives sound.
    fn restart_if_nothing_came(&mut self, at: u64) {
        if at == 0 {
            self.first = None;
        }
    }

    /// How many samples are missing before a packet that begins at `begins`, when `at` samples have come.
    fn silence_before(&mut self, begins: Option<u64>, at: u64, rate: u32) -> u64 {
        let Some(begins) = begins else { return 0 };
        let first = *self.first.get_or_insert(begins.wrapping_sub(at));
        // Both may stand for negative times; their difference is what counts.
        let due = begins.wrapping_sub(first).cast_signed();
        let hole = u64::try_from(due).unwrap_or(0).saturating_sub(at);
        let (least, most) = (hole_from(rate), u64::from(rate) * LONGEST_HOLE_S);
        if (least..most).contains(&hole) { hole } else { 0 }
    }
}
