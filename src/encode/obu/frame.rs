//! The beginning of a frame header, read (AV1 specification §5.9.2).

use super::bits::Bits;
use super::sequence::SequenceHeader;

/// `frame_type` of §6.8.2.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum FrameType {
    Key,
    Inter,
    IntraOnly,
    Switch,
}

/// The beginning of a frame header, §5.9.2.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrameHeader {
    /// `show_existing_frame` 1: the slot it shows.
    Existing(u8),
    /// A coded frame.
    Coded {
        /// Its kind.
        kind: FrameType,
        /// `show_frame`.
        shown: bool,
        /// `showable_frame`: whether it may be shown again.
        showable: bool,
        /// `refresh_frame_flags`: the slots that hold it from now on, the lowest bit for slot 0.
        refreshed: u8,
    },
}

impl FrameHeader {
    /// Reads the beginning of the payload of a frame or frame header OBU; `None` if it is cut short, or carries the
    /// times of a decoder model, which no coder here writes.
    pub fn read(payload: &[u8], sequence: &SequenceHeader) -> Option<FrameHeader> {
        let framing = sequence.framing;
        let mut bits = Bits::new(payload);
        if framing.reduced_still {
            return Some(FrameHeader::Coded { kind: FrameType::Key, shown: true, showable: false, refreshed: 0xff });
        }
        if framing.decoder_model {
            return None;
        }
        if bits.flag()? {
            return Some(FrameHeader::Existing(bits.take(3)? as u8));
        }
        let kind = match bits.take(2)? {
            0 => FrameType::Key,
            1 => FrameType::Inter,
            2 => FrameType::IntraOnly,
            _ => FrameType::Switch,
        };
        let shown = bits.flag()?;
        let showable = if shown { kind != FrameType::Key } else { bits.flag()? };
        let refreshes_all = kind == FrameType::Switch || (kind == FrameType::Key && shown);
        let error_resilient = refreshes_all || bits.flag()?;
        bits.flag()?; // disable_cdf_update
        let screen_content = match framing.screen_content {
            Some(forced) => forced,
            None => bits.flag()?,
        };
        if screen_content && framing.integer_mv.is_none() {
            bits.flag()?; // force_integer_mv
        }
        if let Some(id_bits) = framing.frame_id_bits {
            bits.take(id_bits)?;
        }
        if kind != FrameType::Switch {
            bits.flag()?; // frame_size_override_flag
        }
        bits.take(framing.order_hint_bits)?;
        let intra = matches!(kind, FrameType::Key | FrameType::IntraOnly);
        if !intra && !error_resilient {
            bits.take(3)?; // primary_ref_frame
        }
        let refreshed = if refreshes_all { 0xff } else { bits.take(8)? as u8 };
        Some(FrameHeader::Coded { kind, shown, showable, refreshed })
    }
}

#[cfg(test)]
mod tests {
    use super::super::sequence::tests::{bits, sequence};
    use super::*;

    #[test]
    fn frame_headers_are_read() {
        let sequence = SequenceHeader::read(&sequence(8, 0)).unwrap();
        let key = bits(&[(0, 1), (0, 2), (1, 1), (0, 1), (0, 1)]);
        let coded = |kind, shown, showable, refreshed| FrameHeader::Coded { kind, shown, showable, refreshed };
        assert_eq!(
            FrameHeader::read(&[key, vec![0; 4]].concat(), &sequence),
            Some(coded(FrameType::Key, true, false, 255))
        );
        // Shown, not error resilient, screen content with its own integer motion flag, hint 5, primary 2, slot 3.
        let inter = [(0, 1), (1, 2), (1, 1), (0, 1), (0, 1), (1, 1), (1, 1), (0, 1), (5, 7), (2, 3), (8, 8)];
        assert_eq!(FrameHeader::read(&bits(&inter), &sequence), Some(coded(FrameType::Inter, true, true, 8)));
        // Hidden but showable, error resilient (so no primary), no screen content.
        let hidden = [(0, 1), (1, 2), (0, 1), (1, 1), (1, 1), (0, 1), (0, 1), (0, 1), (5, 7), (2, 8)];
        assert_eq!(FrameHeader::read(&bits(&hidden), &sequence), Some(coded(FrameType::Inter, false, true, 2)));
        assert_eq!(FrameHeader::read(&[0xd8], &sequence), Some(FrameHeader::Existing(5)));
    }
}
