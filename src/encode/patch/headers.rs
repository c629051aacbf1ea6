//! The sequence header and the headers of our frames (AV1 specification §5.5 and §5.9).
//!
//! The coding tools switched on in the sequence are those that rav1e 0.8 switches on, which every player has met; beyond
//! those, screen content tools are chosen frame by frame. Every tool that is off saves its symbols in every block.

use super::bits::BitWriter;
use super::picture::SUPERBLOCK;
use crate::encode::level::level;
use crate::units::{FrameRate, Size};

/// `OrderHintBits`.
const ORDER_HINT_BITS: usize = 6;
/// `base_q_idx`, which sets the steps of the residual: see there. At 0 the frame would be lossless, which changes
/// much; 21 to 60 choose the CDFs of coefficients that are kept here.
const QUANTIZER: u32 = 25;
/// The widest tile, `MAX_TILE_WIDTH`, and the largest, `MAX_TILE_AREA` (§3), in samples.
const MAX_TILE_WIDTH: u64 = 4096;
const MAX_TILE_AREA: u64 = 4096 * 2304;

/// The slot that holds the last shown frame, `LAST_FRAME`.
pub(super) const SHOWN_SLOT: u8 = 0;
/// The slot that holds the last key frame, `LAST2_FRAME`.
pub(super) const PLATE_SLOT: u8 = 1;

/// The payload of the sequence header OBU (`sequence_header_obu`, §5.5.1): 8 bits, 4:2:0, BT.709 in limited range.
///
/// It depends on nothing else, so the streams of all coders with one size and rate can be put one behind another
/// (§7.5: the sequence headers must be the same bit by bit).
pub fn sequence_header(size: Size, rate: FrameRate) -> Vec<u8> {
    let mut b = BitWriter::default();
    b.number(3, 0); // seq_profile: Main
    b.flag(false); // still_picture
    b.flag(false); // reduced_still_picture_header
    b.flag(false); // timing_info_present_flag: containers keep time
    b.flag(false); // initial_display_delay_present_flag
    b.number(5, 0); // operating_points_cnt_minus_1
    b.number(12, 0); // operating_point_idc[ 0 ]
    let level = level(size, rate);
    b.number(5, u32::from(level)); // seq_level_idx[ 0 ]
    if level > 7 {
        b.flag(false); // seq_tier[ 0 ]: Main
    }
    let bits = |side: u32| (u32::BITS - (side - 1).leading_zeros()).max(1);
    b.number(4, bits(size.width) - 1); // frame_width_bits_minus_1
    b.number(4, bits(size.height) - 1); // frame_height_bits_minus_1
    b.number(bits(size.width) as usize, size.width - 1); // max_frame_width_minus_1
    b.number(bits(size.height) as usize, size.height - 1); // max_frame_height_minus_1
    b.flag(false); // frame_id_numbers_present_flag
    b.flag(false); // use_128x128_superblock
    b.flag(false); // enable_filter_intra
    b.flag(false); // enable_intra_edge_filter: a hatch is continued as sharp as it is
    b.flag(false); // enable_interintra_compound
    b.flag(false); // enable_masked_compound
    b.flag(false); // enable_warped_motion
    b.flag(false); // enable_dual_filter
    b.flag(true); // enable_order_hint
    b.flag(false); // enable_jnt_comp
    b.flag(false); // enable_ref_frame_mvs
    b.flag(true); // seq_choose_screen_content_tools: in each frame
    b.flag(true); // seq_choose_integer_mv: in each frame
    b.number(3, ORDER_HINT_BITS as u32 - 1); // order_hint_bits_minus_1
    b.flag(false); // enable_superres
    b.flag(true); // enable_cdef
    b.flag(false); // enable_restoration
    color_config(&mut b);
    b.flag(false); // film_grain_params_present
    b.flag(true); // trailing_one_bit, §5.3.4
    b.aligned()
}

/// `color_config`, §5.5.2.
fn color_config(b: &mut BitWriter) {
    b.flag(false); // high_bitdepth
    b.flag(false); // mono_chrome
    b.flag(true); // color_description_present_flag
    b.number(8, 1); // color_primaries: CP_BT_709
    b.number(8, 1); // transfer_characteristics: TC_BT_709
    b.number(8, 1); // matrix_coefficients: MC_BT_709
    b.flag(false); // color_range: limited
    b.number(2, 0); // chroma_sample_position: CSP_UNKNOWN, the centre has no code (§6.4.2)
    b.flag(true); // separate_uv_delta_q
}

/// What a frame's chances start from (`primary_ref_frame`, §6.8.2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Chances {
    /// The standard's defaults.
    Default,
    /// Those with which the last shown frame ended.
    Inherited,
}

/// What a frame header says beside the constants.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FrameKind {
    /// A shown key frame: fills all slots.
    Key,
    /// A frame that refers to [`SHOWN_SLOT`] and [`PLATE_SLOT`], and takes the first.
    Inter { order_hint: u32, chances: Chances },
}

/// `uncompressed_header` of a frame that is coded and shown (§5.9.2), up to the byte that ends it in an `OBU_FRAME`.
pub(super) fn frame_header(size: Size, kind: FrameKind) -> Vec<u8> {
    let mut b = BitWriter::default();
    b.flag(false); // show_existing_frame
    b.number(2, u32::from(kind != FrameKind::Key)); // frame_type: KEY_FRAME or INTER_FRAME
    b.flag(true); // show_frame; so showable_frame is 1 for all but key frames
    if kind != FrameKind::Key {
        b.flag(false); // error_resilient_mode; 1 in a shown key frame
    }
    b.flag(false); // disable_cdf_update
    b.flag(true); // allow_screen_content_tools
    b.flag(true); // force_integer_mv
    b.flag(false); // frame_size_override_flag
    match kind {
        FrameKind::Key => {
            b.number(ORDER_HINT_BITS, 0); // order_hint
            b.flag(false); // render_and_frame_size_different, §5.9.6
            b.flag(false); // allow_intrabc
        }
        FrameKind::Inter { order_hint, chances } => {
            b.number(ORDER_HINT_BITS, order_hint % (1 << ORDER_HINT_BITS)); // order_hint
            // primary_ref_frame: ref_frame_idx[ 0 ], or PRIMARY_REF_NONE
            b.number(3, if chances == Chances::Inherited { 0 } else { 7 });
            b.number(8, 1 << SHOWN_SLOT); // refresh_frame_flags
            b.flag(false); // frame_refs_short_signaling
            for reference in 0..7 {
                let slot = if reference == 1 { PLATE_SLOT } else { SHOWN_SLOT };
                b.number(3, u32::from(slot)); // ref_frame_idx[ i ]
            }
            b.flag(false); // render_and_frame_size_different
            b.flag(false); // is_filter_switchable, §5.9.10; allow_high_precision_mv is not coded with force_integer_mv
            b.number(2, 0); // interpolation_filter: EIGHTTAP
            b.flag(false); // is_motion_mode_switchable
        }
    }
    b.flag(false); // disable_frame_end_update_cdf: the next frame inherits the chances
    tile_info(&mut b, size);
    b.number(8, QUANTIZER); // base_q_idx, §5.9.12
    b.flag(false); // DeltaQYDc: delta_coded
    b.flag(false); // diff_uv_delta
    b.flag(false); // DeltaQUDc
    b.flag(false); // DeltaQUAc
    b.flag(false); // using_qmatrix
    b.flag(false); // segmentation_enabled, §5.9.14
    b.flag(false); // delta_q_present, §5.9.17
    b.number(6, 0); // loop_filter_level[ 0 ], §5.9.11: no deblocking
    b.number(6, 0); // loop_filter_level[ 1 ]
    b.number(3, 0); // loop_filter_sharpness
    b.flag(false); // loop_filter_delta_enabled
    b.number(2, 0); // cdef_damping_minus_3, §5.9.19
    b.number(2, 0); // cdef_bits
    b.number(6, 0); // cdef_y_pri_strength, cdef_y_sec_strength: no filter
    b.number(6, 0); // cdef_uv_pri_strength, cdef_uv_sec_strength
    b.flag(false); // tx_mode_select, §5.9.21: TX_MODE_LARGEST
    if kind != FrameKind::Key {
        b.flag(false); // reference_select, §5.9.23; so skip_mode_present is not coded
    }
    b.flag(false); // reduced_tx_set
    if kind != FrameKind::Key {
        b.number(7, 0); // is_global[ LAST_FRAME .. ALTREF_FRAME ], §5.9.24
    }
    b.aligned()
}

/// Whether a picture can be coded as one tile (§5.9.15).
pub(super) fn fits_one_tile(size: Size) -> bool {
    let padded = |side: u32| u64::from(side).next_multiple_of(SUPERBLOCK as u64);
    padded(size.width) <= MAX_TILE_WIDTH && padded(size.width) * padded(size.height) <= MAX_TILE_AREA
}

/// `tile_info`, §5.9.15: one tile.
fn tile_info(b: &mut BitWriter, size: Size) {
    b.flag(true); // uniform_tile_spacing_flag
    // maxLog2TileCols and maxLog2TileRows are above 0 from two superblocks on; their minima are 0 (`fits_one_tile`).
    let more = |side: u32| side as usize > SUPERBLOCK;
    if more(size.width) {
        b.flag(false); // increment_tile_cols_log2
    }
    if more(size.height) {
        b.flag(false); // increment_tile_rows_log2
    }
}
