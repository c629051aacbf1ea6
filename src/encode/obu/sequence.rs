//! The sequence header, read (AV1 specification §5.5).

use super::bits::Bits;

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
    pub(super) framing: Framing,
}

/// The part of a sequence header that decides how frame headers are read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Framing {
    pub(super) reduced_still: bool,
    /// Whether frames carry times for a decoder model.
    pub(super) decoder_model: bool,
    /// Bits of `display_frame_id`, where frames have one.
    pub(super) frame_id_bits: Option<u32>,
    /// `seq_force_screen_content_tools` and `seq_force_integer_mv`; `None` where each frame chooses.
    pub(super) screen_content: Option<bool>,
    pub(super) integer_mv: Option<bool>,
    pub(super) order_hint_bits: u32,
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

#[cfg(test)]
pub(super) mod tests {
    use super::super::FrameHeader;
    use super::*;

    /// Writes bits, the highest of a byte first, for headers made by hand after the syntax tables.
    pub(in super::super) fn bits(fields: &[(u32, u32)]) -> Vec<u8> {
        let digits: Vec<u8> =
            fields.iter().flat_map(|&(value, count)| (0..count).rev().map(move |i| (value >> i & 1) as u8)).collect();
        digits.chunks(8).map(|byte| byte.iter().enumerate().fold(0, |all, (i, bit)| all | bit << (7 - i))).collect()
    }

    /// A Main-profile sequence header, 8-bit 4:2:0 with BT.709 tags, as §5.5 lays it out.
    pub(in super::super) fn sequence(level: u32, chroma_position: u32) -> Vec<u8> {
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
}
