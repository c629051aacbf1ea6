//! A decoder at work: packets turned into samples, and what it has given so far.

use crate::narration::downmix::Downmix;
use crate::narration::guard::guarded;
use crate::narration::opus::{self, OpusDecoder};
use symphonia::core::codecs::audio::AudioDecoder;
use symphonia::core::errors::Error;
use symphonia::core::packet::Packet;

/// Turns packets into interleaved samples of all their channels.
pub(in crate::narration) enum Decoder {
    Opus(OpusDecoder, usize),
    Other(Box<dyn AudioDecoder>),
    /// One that stumbled over its own code and is not to be trusted any more: the rest is silence.
    Broken,
}

/// What a packet turned out to hold.
pub(in crate::narration) struct Spec {
    pub(super) rate: u32,
    pub(super) channels: usize,
}

impl Decoder {
    pub(super) fn decode(&mut self, packet: &Packet, samples: &mut Vec<f32>) -> Result<Spec, Error> {
        let decoded = guarded(|| {
            Ok(match self {
                Decoder::Opus(decoder, channels) => decoder
                    .decode(&packet.data, samples)
                    .map(|_| Spec { rate: opus::OPUS_RATE, channels: *channels })
                    .map_err(|_| Error::DecodeError("an Opus packet is damaged")),
                Decoder::Other(decoder) => decoder.decode(packet).map(|sound| {
                    sound.copy_to_vec_interleaved(samples);
                    Spec { rate: sound.spec().rate(), channels: sound.spec().channels().count() }
                }),
                Decoder::Broken => Err(Error::DecodeError("its decoder has given up")),
            })
        });
        decoded.unwrap_or_else(|error| {
            *self = Decoder::Broken;
            Err(error)
        })
    }

    pub(super) fn downmix(&self) -> Option<Downmix> {
        match self {
            Decoder::Opus(..) | Decoder::Broken => None,
            Decoder::Other(decoder) => Downmix::of(decoder.last_decoded().spec().channels())
                .or_else(|| Downmix::of(decoder.codec_params().channels.as_ref()?)),
        }
    }
}

/// A decoder at work: what it has given so far.
pub(in crate::narration) struct Player {
    pub(super) decoder: Decoder,
    pub(super) downmix: Option<Downmix>,
    pub(super) rate: u32,
    pub(super) channels: usize,
    /// Decoded samples so far, with priming.
    pub(super) at: u64,
    pub(super) raw: Vec<f32>,
}

impl Player {
    pub(in crate::narration) fn new(decoder: Decoder, rate: u32, channels: usize) -> Player {
        let downmix = if channels > 2 { decoder.downmix() } else { None };
        Player { decoder, downmix, rate, channels, at: 0, raw: Vec::new() }
    }

    /// Channels that come out.
    pub(super) fn width(&self) -> usize {
        self.channels.min(2)
    }
}

/// What the identification header of an Opus stream says (RFC 7845 §5.1).
pub(super) struct OpusHead {
    pub(super) channels: usize,
    pub(super) pre_skip: u16,
    pub(super) gain: i16,
}

impl OpusHead {
    pub(super) fn read(head: &[u8]) -> Option<OpusHead> {
        let head = head.strip_prefix(b"OpusHead")?;
        let le16 = |at: usize| Some(u16::from_le_bytes([*head.get(at)?, *head.get(at + 1)?]));
        Some(OpusHead { channels: usize::from(*head.get(1)?), pre_skip: le16(2)?, gain: le16(8)?.cast_signed() })
    }
}
