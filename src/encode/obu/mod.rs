//! Just enough reading of AV1 to know what a coder wrote: where the OBUs are, what the stream is, and which slots of
//! the decoder a frame refreshes. Clauses are those of the AV1 Bitstream & Decoding Process Specification.

mod bits;
mod frame;
mod sequence;

pub use frame::{FrameHeader, FrameType};
pub use sequence::SequenceHeader;

use std::ops::Range;

/// What an OBU holds, `obu_type` of §6.2.2. Only the kinds that are looked at have names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum ObuKind {
    SequenceHeader,
    TemporalDelimiter,
    FrameHeader,
    Frame,
    Other(u8),
}

/// One OBU inside a unit, §5.3.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Obu {
    /// What it holds.
    pub kind: ObuKind,
    /// Its bytes with header and size.
    pub whole: Range<usize>,
    /// Its bytes without them.
    pub payload: Range<usize>,
}

/// The OBUs of `data`, in order; `None` if it is cut short or an OBU has no size of its own.
pub fn obus(data: &[u8]) -> Option<Vec<Obu>> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < data.len() {
        // §5.3.2: forbidden bit, obu_type (4), obu_extension_flag, obu_has_size_field, reserved bit.
        let header = data[at];
        let (extension, has_size) = (header & 0b100 != 0, header & 0b10 != 0);
        let (size, size_bytes) = leb128(data.get(at + 1 + usize::from(extension)..)?)?;
        let start = at + 1 + usize::from(extension) + size_bytes;
        let end = start.checked_add(size)?;
        if header & 0x80 != 0 || !has_size || end > data.len() {
            return None;
        }
        let kind = match (header >> 3) & 15 {
            1 => ObuKind::SequenceHeader,
            2 => ObuKind::TemporalDelimiter,
            3 => ObuKind::FrameHeader,
            6 => ObuKind::Frame,
            other => ObuKind::Other(other),
        };
        found.push(Obu { kind, whole: at..end, payload: start..end });
        at = end;
    }
    Some(found)
}

/// §4.10.5: seven bits a byte, low ones first, at most eight bytes. The value and how many bytes it took.
fn leb128(data: &[u8]) -> Option<(usize, usize)> {
    let mut value = 0u64;
    for (i, &byte) in data.iter().take(8).enumerate() {
        value |= u64::from(byte & 0x7f) << (7 * i);
        if byte & 0x80 == 0 {
            return Some((usize::try_from(value).ok()?, i + 1));
        }
    }
    None
}

/// `data` without its temporal delimiters, which containers leave out; `None` if it is not made of whole OBUs.
pub fn without_delimiters(data: &[u8]) -> Option<Vec<u8>> {
    let kept = obus(data)?.into_iter().filter(|obu| obu.kind != ObuKind::TemporalDelimiter);
    Some(kept.flat_map(|obu| data[obu.whole].iter().copied()).collect())
}

/// The unit that shows the picture in `slot` (0 to 7) once more: a frame header of its own kind (an `OBU_FRAME` may
/// not do this, §6.8.2) with `show_existing_frame` 1, `frame_to_show_map_idx`, and the trailing one of §5.3.4.
///
/// The picture must have been coded as an inter frame: a shown key frame may not be shown again (§6.8.2).
pub fn held_unit(slot: u8) -> [u8; 3] {
    assert!(slot < 8, "a decoder has eight slots");
    [0b0001_1010, 1, 0b1000_1000 | slot << 4]
}

/// What a container must know of a stream.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Av1Config {
    /// The sequence header, read.
    pub sequence: SequenceHeader,
    /// The sequence header OBU as it stands in the stream, with header and size: the `configOBUs` of `av1C`.
    pub obu: Vec<u8>,
}

/// What the first key unit of a stream says about all of it; `None` if it has no readable sequence header.
pub fn av1_configuration(first_key_unit: &[u8]) -> Option<Av1Config> {
    let header = obus(first_key_unit)?.into_iter().find(|obu| obu.kind == ObuKind::SequenceHeader)?;
    let sequence = SequenceHeader::read(&first_key_unit[header.payload])?;
    Some(Av1Config { sequence, obu: first_key_unit[header.whole].to_vec() })
}

/// The sequence header OBU of a key unit, with header and size.
pub fn sequence_header(key_unit: &[u8]) -> Option<Vec<u8>> {
    av1_configuration(key_unit).map(|config| config.obu)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use sequence::tests::sequence;

    #[test]
    fn a_held_unit_shows_its_slot() {
        let sequence = SequenceHeader::read(&sequence(8, 0)).unwrap();
        for slot in 0..8 {
            let unit = held_unit(slot);
            let found = obus(&unit).unwrap();
            assert_eq!((found.len(), found[0].kind, found[0].payload.clone()), (1, ObuKind::FrameHeader, 2..3));
            assert_eq!(FrameHeader::read(&unit[2..], &sequence), Some(FrameHeader::Existing(slot)));
        }
        assert_eq!(held_unit(1), [0x1a, 0x01, 0x98]);
    }

    #[test]
    fn delimiters_are_left_out() {
        let payload = sequence(8, 0);
        let header = [&[0x0a, payload.len() as u8][..], &payload].concat();
        let unit = [&[0x12, 0x00][..], &header, &held_unit(2)].concat();
        assert_eq!(without_delimiters(&unit).unwrap(), unit[2..]);
        assert_eq!(sequence_header(&unit).unwrap(), header);
        assert_eq!(without_delimiters(&unit[..unit.len() - 1]), None, "cut short");
        assert_eq!(obus(&[0x18, 0x98]), None, "no size field");
    }

    #[test]
    fn sizes_of_two_bytes_are_read() {
        let unit = [&[0x2a, 0x80, 0x01][..], &[0; 128]].concat();
        assert_eq!(obus(&unit).unwrap(), [Obu { kind: ObuKind::Other(5), whole: 0..131, payload: 3..131 }]);
    }

    proptest! {
        #[test]
        fn no_bytes_are_too_strange(data in proptest::collection::vec(any::<u8>(), 0..80)) {
            let _ = (av1_configuration(&data), without_delimiters(&data));
            if let (Some(read), Some(sequence)) = (SequenceHeader::read(&data), SequenceHeader::read(&sequence(8, 0))) {
                let _ = (FrameHeader::read(&data, &read), FrameHeader::read(&data, &sequence), read.configuration());
            }
        }
    }
}
