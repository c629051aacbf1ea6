//! Just enough reading of AV1 to know what a coder wrote: where the OBUs are, what the stream is, and which slots of
//! the decoder a frame refreshes. Clauses are those of the AV1 Bitstream & Decoding Process Specification.

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

/// What a sequence header says (§5.5), as far as containers and the frame headers after it need.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(clippy::struct_excessive_bools)] // the flags are the header's own syntax elements
pub struct SequenceHeader {
    /// `seq_profile`; 0 is Main.
    pub profile: u8,
    /// `seq_level_idx[0]`: 9 is level 4.1, 31 means no level is kept.
    pub level: u8,
    /// `seq_tier[0]`: whether it is the High tier.
    pub high_tier: bool,
    /// 8, 10 or 12.
    pub bit_depth: u8,
    /// Whether there is luma only.
    pub monochrome: bool,
    /// Whether chroma has half the samples across, and half of them down.
    pub subsampling: (bool, bool),
    /// `chroma_sample_position`: 0 unknown, 1 left, 2 top left.
    pub chroma_position: u8,
    /// `color_primaries`, `transfer_characteristics`, `matrix_coefficients`; 2 where the stream does not say.
    pub colour: (u8, u8, u8),
    /// Whether 0 is black and the highest value white.
    pub full_range: bool,
    /// The largest frame, in luma samples across and down.
    pub frame_size: (u32, u32),
    /// Whether frames carry film grain parameters.
    pub film_grain: bool,
    framing: Framing,
}

/// The part of a sequence header that decides how frame headers are read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Framing {
    reduced_still: bool,
    /// Whether frames carry times for a decoder model.
    decoder_model: bool,
    /// Bits of `display_frame_id`, where frames have one.
    frame_id_bits: Option<u32>,
    /// `seq_force_screen_content_tools` and `seq_force_integer_mv`; `None` where each frame chooses.
    screen_content: Option<bool>,
    integer_mv: Option<bool>,
    order_hint_bits: u32,
}

impl SequenceHeader {
    /// Reads the payload of a sequence header OBU; `None` if it is cut short or uses a reserved code.
    pub fn read(payload: &[u8]) -> Option<SequenceHeader> {
        let mut bits = Bits::new(payload);
        let profile = bits.take(3)? as u8;
        bits.flag()?; // still_picture
        let mut framing = Framing { reduced_still: bits.flag()?, ..Framing::default() };
        let (level, high_tier) = if framing.reduced_still {
            (bits.take(5)? as u8, false)
        } else {
            operating_points(&mut bits, &mut framing)?
        };
        let (width_bits, height_bits) = (bits.take(4)? + 1, bits.take(4)? + 1);
        let frame_size = (bits.take(width_bits)? + 1, bits.take(height_bits)? + 1);
        tools(&mut bits, &mut framing)?;
        let mut header = SequenceHeader {
            profile,
            level,
            high_tier,
            bit_depth: 8,
            monochrome: false,
            subsampling: (true, true),
            chroma_position: 0,
            colour: (2, 2, 2),
            full_range: false,
            frame_size,
            film_grain: false,
            framing,
        };
        colour_config(&mut bits, &mut header)?;
        header.film_grain = bits.flag()?;
        Some(header)
    }

    /// The four bytes that begin an `av1C` box (AV1 in ISOBMFF §2.3) and a Matroska `CodecPrivate`.
    pub fn configuration(&self) -> [u8; 4] {
        let flag = |set: bool, place: u32| u8::from(set) << place;
        [
            0x81, // marker and version 1
            self.profile << 5 | self.level,
            flag(self.high_tier, 7)
                | flag(self.bit_depth > 8, 6)
                | flag(self.bit_depth == 12, 5)
                | flag(self.monochrome, 4)
                | flag(self.subsampling.0, 3)
                | flag(self.subsampling.1, 2)
                | self.chroma_position,
            0, // no initial presentation delay
        ]
    }
}

/// §5.5.1, from `timing_info_present_flag` to the last operating point: the first point's level and tier.
fn operating_points(bits: &mut Bits, framing: &mut Framing) -> Option<(u8, bool)> {
    let mut buffer_delay_bits = None;
    if bits.flag()? {
        // §5.5.3 timing_info
        bits.take(32)?;
        bits.take(32)?;
        if bits.flag()? {
            bits.uvlc()?;
        }
        if bits.flag()? {
            // §5.5.4 decoder_model_info
            framing.decoder_model = true;
            buffer_delay_bits = Some(bits.take(5)? + 1);
            bits.take(32)?;
            bits.take(10)?;
        }
    }
    let initial_delay = bits.flag()?;
    let points = bits.take(5)? + 1;
    let mut first = None;
    for _ in 0..points {
        bits.take(12)?; // operating_point_idc
        let level = bits.take(5)? as u8;
        let high_tier = level > 7 && bits.flag()?;
        if let Some(delay_bits) = buffer_delay_bits
            && bits.flag()?
        {
            // §5.5.5 operating_parameters_info
            bits.take(delay_bits)?;
            bits.take(delay_bits)?;
            bits.flag()?;
        }
        if initial_delay && bits.flag()? {
            bits.take(4)?;
        }
        first = first.or(Some((level, high_tier)));
    }
    first
}

/// §5.5.1, from `frame_id_numbers_present_flag` to `enable_restoration`.
fn tools(bits: &mut Bits, framing: &mut Framing) -> Option<()> {
    if !framing.reduced_still && bits.flag()? {
        let delta_bits = bits.take(4)? + 2;
        framing.frame_id_bits = Some(bits.take(3)? + delta_bits + 1);
    }
    bits.take(3)?; // use_128x128_superblock, enable_filter_intra, enable_intra_edge_filter
    if !framing.reduced_still {
        bits.take(4)?; // interintra, masked compound, warped motion, dual filter
        let order_hints = bits.flag()?;
        if order_hints {
            bits.take(2)?; // enable_jnt_comp, enable_ref_frame_mvs
        }
        framing.screen_content = if bits.flag()? { None } else { Some(bits.flag()?) };
        if framing.screen_content != Some(false) {
            framing.integer_mv = if bits.flag()? { None } else { Some(bits.flag()?) };
        }
        if order_hints {
            framing.order_hint_bits = bits.take(3)? + 1;
        }
    }
    bits.take(3)?; // enable_superres, enable_cdef, enable_restoration
    Some(())
}

/// §5.5.2.
fn colour_config(bits: &mut Bits, header: &mut SequenceHeader) -> Option<()> {
    /// The codes that mean sRGB, for which 4:4:4 in full range goes without saying.
    const SRGB: (u8, u8, u8) = (1, 13, 0);
    let high = bits.flag()?;
    header.bit_depth = match (high, header.profile) {
        (false, _) => 8,
        (true, 2) if bits.flag()? => 12,
        (true, _) => 10,
    };
    header.monochrome = header.profile != 1 && bits.flag()?;
    if bits.flag()? {
        header.colour = (bits.take(8)? as u8, bits.take(8)? as u8, bits.take(8)? as u8);
    }
    if header.monochrome {
        header.full_range = bits.flag()?;
        return Some(());
    }
    if header.colour == SRGB {
        header.full_range = true;
        header.subsampling = (false, false);
    } else {
        header.full_range = bits.flag()?;
        header.subsampling = match (header.profile, header.bit_depth) {
            (0, _) => (true, true),
            (1, _) => (false, false),
            (2, 12) => {
                let across = bits.flag()?;
                (across, across && bits.flag()?)
            }
            (2, _) => (true, false),
            _ => return None,
        };
        if header.subsampling == (true, true) {
            header.chroma_position = bits.take(2)? as u8;
        }
    }
    bits.flag()?; // separate_uv_delta_q
    Some(())
}

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

/// Reads bits, the highest of a byte first (§4.10.2).
struct Bits<'a> {
    data: &'a [u8],
    at: usize,
}

impl<'a> Bits<'a> {
    fn new(data: &'a [u8]) -> Bits<'a> {
        Bits { data, at: 0 }
    }

    fn flag(&mut self) -> Option<bool> {
        let byte = self.data.get(self.at / 8)?;
        let bit = byte >> (7 - self.at % 8) & 1;
        self.at += 1;
        Some(bit == 1)
    }

    /// `f(count)`, at most 32 bits.
    fn take(&mut self, count: u32) -> Option<u32> {
        let mut value = 0;
        for _ in 0..count {
            value = value << 1 | u32::from(self.flag()?);
        }
        Some(value)
    }

    /// `uvlc()` of §4.10.3; only its length matters here.
    fn uvlc(&mut self) -> Option<()> {
        let mut zeros = 0;
        while !self.flag()? {
            zeros += 1;
        }
        if zeros < 32 {
            self.take(zeros)?;
        }
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Writes bits, the highest of a byte first, for headers made by hand after the syntax tables.
    fn bits(fields: &[(u32, u32)]) -> Vec<u8> {
        let digits: Vec<u8> =
            fields.iter().flat_map(|&(value, count)| (0..count).rev().map(move |i| (value >> i & 1) as u8)).collect();
        digits.chunks(8).map(|byte| byte.iter().enumerate().fold(0, |all, (i, bit)| all | bit << (7 - i))).collect()
    }

    /// A Main-profile sequence header, 8-bit 4:2:0 with BT.709 tags, as §5.5 lays it out.
    fn sequence(level: u32, chroma_position: u32) -> Vec<u8> {
        let mut fields = vec![(0, 3), (0, 1), (0, 1), (0, 1), (0, 1), (0, 5), (0, 12), (level, 5)];
        if level > 7 {
            fields.push((0, 1));
        }
        fields.extend([(10, 4), (10, 4), (1919, 11), (1079, 11), (0, 1), (0, 3), (0, 4), (1, 1), (0, 2)]);
        fields.extend([(1, 1), (1, 1), (6, 3), (0, 3)]); // choose screen content and integer motion; 7 hint bits
        fields.extend([(0, 1), (0, 1), (1, 1), (1, 8), (1, 8), (1, 8), (0, 1), (chroma_position, 2), (0, 1)]);
        fields.extend([(0, 1), (1, 1)]);
        bits(&fields)
    }

    /// The four bytes are those the binding's text gives for these streams.
    #[test]
    fn configurations_are_those_of_the_binding() {
        let record = |level, position| SequenceHeader::read(&sequence(level, position)).unwrap().configuration();
        assert_eq!(record(8, 0), [0x81, 0x08, 0x0c, 0x00], "1080p30");
        assert_eq!(record(9, 0), [0x81, 0x09, 0x0c, 0x00], "1080p60");
        assert_eq!(record(9, 2), [0x81, 0x09, 0x0e, 0x00], "1080p60, chroma at the top left");
        assert_eq!(record(13, 0), [0x81, 0x0d, 0x0c, 0x00], "2160p60");
    }

    #[test]
    fn a_sequence_header_is_read() {
        let read = SequenceHeader::read(&sequence(5, 0)).unwrap();
        assert_eq!((read.profile, read.level, read.high_tier, read.bit_depth), (0, 5, false, 8));
        assert_eq!((read.frame_size, read.colour, read.full_range), ((1920, 1080), (1, 1, 1), false));
        assert_eq!((read.monochrome, read.subsampling, read.film_grain), (false, (true, true), false));
    }

    #[test]
    fn a_timed_sequence_header_is_read() {
        let mut fields = vec![(0, 3), (0, 1), (0, 1), (1, 1), (1, 32), (60, 32), (1, 1), (1, 1), (1, 1)];
        fields.extend([(4, 5), (1, 32), (9, 5), (9, 5)]); // a decoder model with delays of 5 bits
        fields.extend([(1, 1), (0, 5), (0, 12), (12, 5), (1, 1), (1, 1), (3, 5), (3, 5), (0, 1), (1, 1), (7, 4)]);
        fields.extend([(8, 4), (8, 4), (319, 9), (179, 9), (1, 1), (3, 4), (2, 3), (0, 3), (0, 4), (0, 1)]);
        fields.extend([(0, 1), (0, 1), (0, 3)]); // no order hints, no screen content
        fields.extend([(1, 1), (1, 1), (0, 1), (1, 1), (1, 1)]); // 10 bit, monochrome, full range, grain
        let read = SequenceHeader::read(&bits(&fields)).unwrap();
        assert_eq!((read.level, read.high_tier, read.bit_depth, read.monochrome), (12, true, 10, true));
        assert_eq!((read.frame_size, read.full_range, read.film_grain), ((320, 180), true, true));
        assert_eq!(read.framing.frame_id_bits, Some(8));
        assert_eq!(FrameHeader::read(&[0x30, 0, 0], &read), None, "frames of a decoder model are not read");
    }

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
