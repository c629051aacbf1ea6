//! AAC packets as they are, so that a finished film can carry a recording without coding it anew.

use super::tape::Tape;
use super::{Kind, NarrationError, Recording};
use symphonia::core::codecs::audio::well_known::CODEC_ID_AAC;

/// Coded packets in one piece of memory: two hours of narration are some 400 000 of them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Packets {
    bytes: Vec<u8>,
    ends: Vec<usize>,
}

impl Packets {
    /// Adds one packet.
    pub fn push(&mut self, packet: &[u8]) {
        self.bytes.extend_from_slice(packet);
        self.ends.push(self.bytes.len());
    }

    /// Keeps the first `count`.
    pub fn truncate(&mut self, count: usize) {
        self.ends.truncate(count);
        self.bytes.truncate(self.ends.last().copied().unwrap_or(0));
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// Packet `n`, counted from 0.
    pub fn get(&self, n: usize) -> Option<&[u8]> {
        let end = *self.ends.get(n)?;
        let start = n.checked_sub(1).map_or(0, |before| self.ends[before]);
        Some(&self.bytes[start..end])
    }

    /// All of them, in order.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = &[u8]> {
        (0..self.len()).map(|n| self.get(n).unwrap_or_default())
    }
}

/// An AAC-LC track in raw packets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AacTrack {
    /// The `AudioSpecificConfig` (ISO/IEC 14496-3 §1.6.2.1).
    pub config: Vec<u8>,
    /// Samples a second.
    pub rate: u32,
    /// Channels, 1 or 2.
    pub channels: usize,
    /// The raw packets, without ADTS headers.
    pub packets: Packets,
    /// Samples each packet decodes to: 1024 or 960.
    pub packet_length: u64,
    /// Decoded samples to leave out at the start.
    pub priming: u64,
    /// Samples that are heard after them; what the packets hold beyond is padding.
    pub length: u64,
}

/// Whole packets that are kept before the first that is heard.
const PRIMING_PACKETS: u64 = 2;

/// The packets of a recording in an MP4 file, if they are AAC-LC in one or two channels and begin at the beginning.
pub(super) fn read(recording: &Recording) -> Result<Option<AacTrack>, NarrationError> {
    let mut tape = Tape::open(&recording.path)?;
    // ADTS tells nothing of its priming, and a leading silence would have to be coded.
    if tape.kind != Kind::Mp4 || tape.codec != CODEC_ID_AAC || recording.edges.lead > 0 || recording.source_channels > 2
    {
        return Ok(None);
    }
    let Some(config) = tape.configuration().map(<[u8]>::to_vec) else { return Ok(None) };
    // audioObjectType, the first five bits: 2 is AAC-LC, which every player decodes.
    if config.len() < 2 || config[0] >> 3 != 2 {
        return Ok(None);
    }
    let packet_length = tape.aac_frame_length();
    // What a trimming has cut away is not passed on: in Matroska it would be heard. A packet is decoded with the one
    // before it, and a coder's usual priming is two.
    let cut_away = (recording.edges.skip / packet_length).saturating_sub(PRIMING_PACKETS);
    let mut track = AacTrack {
        config,
        rate: recording.rate,
        channels: recording.source_channels,
        packets: Packets::default(),
        packet_length,
        priming: recording.edges.skip - cut_away * packet_length,
        length: recording.edges.length,
    };
    let mut early = cut_away;
    // A file cut short ends here as it ended in the survey.
    while let Ok(Some(packet)) = tape.next() {
        if early > 0 {
            early -= 1;
        } else {
            track.packets.push(&packet.data);
        }
    }
    // A hole filled with silence is not in the packets: then they do not reach as far as the recording does.
    let whole = track.packets.len() as u64 * track.packet_length >= track.priming + track.length;
    Ok(whole.then_some(track))
}
