//! Opus (RFC 6716) in and out at 48 kHz behind two safe types.
//!
//! The only file in the crate with `unsafe`: the coder is a line-by-line translation of the reference library and keeps
//! its raw pointers. Everything that reaches it from here has been checked first.
#![allow(unsafe_code, clippy::unsafe_removed_from_name)] // the library has no safe interface; each block says why it is sound

use std::ptr::NonNull;
use unsafe_libopus as lib;

/// The rate at which Opus is decoded and coded here, in Hz.
pub const OPUS_RATE: u32 = 48_000;

/// The most samples a channel one packet can hold: 120 ms (RFC 6716 §3.2.5).
pub const LONGEST_PACKET: usize = 5760;

/// The largest packet worth the name: RFC 6716 §3.4 allows 1275 bytes for each of at most 48 frames, and a coder asked
/// for 20 ms never writes more than 1275·3 + 7.
const LARGEST_PACKET: usize = 3832;

/// A decoder for one mono or stereo stream.
pub struct OpusDecoder {
    state: NonNull<lib::OpusDecoder>,
    channels: usize,
}

// SAFETY: the state is plain memory owned by this value alone; the library keeps no thread-bound data.
unsafe impl Send for OpusDecoder {}

impl OpusDecoder {
    /// A decoder that gives `channels` (1 or 2) channels, made louder by `gain` (dB in Q7.8, as in the identification
    /// header of RFC 7845 §5.1).
    pub fn new(channels: usize, gain: i16) -> Result<OpusDecoder, String> {
        if !(1..=2).contains(&channels) {
            return Err(format!("{channels} channels in one Opus stream"));
        }
        let mut error = 0;
        // SAFETY: rate and channels are among the accepted values and `error` outlives the call.
        let state = unsafe { lib::opus_decoder_create(OPUS_RATE as i32, channels as i32, &raw mut error) };
        let state = NonNull::new(state).ok_or_else(|| reason(error))?;
        let decoder = OpusDecoder { state, channels };
        // SAFETY: the state was made above; the request takes one i32.
        let status = unsafe {
            lib::opus_decoder_ctl_impl(state.as_ptr(), lib::OPUS_SET_GAIN_REQUEST, lib::varargs!(i32::from(gain)))
        };
        if status == lib::OPUS_OK { Ok(decoder) } else { Err(reason(status)) }
    }

    /// Appends the packet's interleaved samples to `samples`; the number of samples a channel.
    pub fn decode(&mut self, packet: &[u8], samples: &mut Vec<f32>) -> Result<usize, String> {
        let length = i32::try_from(packet.len()).map_err(|_| "a packet beyond all bounds".to_owned())?;
        if length == 0 {
            return Err("an empty packet".to_owned());
        }
        let start = samples.len();
        samples.resize(start + LONGEST_PACKET * self.channels, 0.0);
        // SAFETY: the packet has `length` bytes; the room behind `start` holds the longest packet for all channels, and
        // the library refuses a packet longer than the frame size it is told.
        let got = unsafe {
            lib::opus_decode_float(
                self.state.as_ptr(),
                packet.as_ptr(),
                length,
                samples[start..].as_mut_ptr(),
                LONGEST_PACKET as i32,
                0,
            )
        };
        let got_frames = usize::try_from(got).unwrap_or(0);
        samples.truncate(start + got_frames * self.channels);
        if got < 0 { Err(reason(got)) } else { Ok(got_frames) }
    }
}

impl Drop for OpusDecoder {
    fn drop(&mut self) {
        // SAFETY: the state came from `opus_decoder_create` and is freed once.
        unsafe { lib::opus_decoder_destroy(self.state.as_ptr()) }
    }
}

/// 0 to 10. From 7 on the coder analyses whether it hears speech or music, for which the rates used here are too high to
/// matter; without, it is done in a good half of the time.
const COMPLEXITY: i32 = 6;

/// A coder for one mono or stereo stream at 48 kHz.
pub struct OpusEncoder {
    state: NonNull<lib::OpusEncoder>,
    channels: usize,
}

// SAFETY: the state is plain memory owned by this value alone; the library keeps no thread-bound data.
unsafe impl Send for OpusEncoder {}

impl OpusEncoder {
    /// A coder of full-band sound at about `bits_per_second`, constrained variable rate.
    pub fn new(channels: usize, bits_per_second: u32) -> Result<OpusEncoder, String> {
        if !(1..=2).contains(&channels) {
            return Err(format!("{channels} channels in one Opus stream"));
        }
        let mut error = 0;
        // SAFETY: rate, channels and application are among the accepted values and `error` outlives the call.
        let state = unsafe {
            lib::opus_encoder_create(OPUS_RATE as i32, channels as i32, lib::OPUS_APPLICATION_AUDIO, &raw mut error)
        };
        let mut coder = OpusEncoder { state: NonNull::new(state).ok_or_else(|| reason(error))?, channels };
        coder.set(lib::OPUS_SET_BITRATE_REQUEST, i32::try_from(bits_per_second).unwrap_or(i32::MAX))?;
        coder.set(lib::OPUS_SET_VBR_REQUEST, 1)?;
        coder.set(lib::OPUS_SET_VBR_CONSTRAINT_REQUEST, 1)?;
        coder.set(lib::OPUS_SET_COMPLEXITY_REQUEST, COMPLEXITY)?;
        Ok(coder)
    }

    /// Whether the next frames may lean on those before them. A frame that may not is one at which packets of two coders
    /// can be joined.
    pub fn set_prediction(&mut self, allowed: bool) -> Result<(), String> {
        self.set(lib::OPUS_SET_PREDICTION_DISABLED_REQUEST, i32::from(!allowed))
    }

    fn set(&mut self, request: i32, value: i32) -> Result<(), String> {
        // SAFETY: the state is alive, and each request passed in this file takes one i32.
        let status = unsafe { lib::opus_encoder_ctl_impl(self.state.as_ptr(), request, lib::varargs!(value)) };
        if status == lib::OPUS_OK { Ok(()) } else { Err(reason(status)) }
    }

    /// How many samples late the decoded sound comes out: the pre-skip to be written in the container.
    pub fn lookahead(&mut self) -> Result<u32, String> {
        let mut value = 0;
        // SAFETY: the state is alive; the request writes one i32 through the reference it is given.
        let status = unsafe {
            lib::opus_encoder_ctl_impl(self.state.as_ptr(), lib::OPUS_GET_LOOKAHEAD_REQUEST, lib::varargs!(&mut value))
        };
        if status == lib::OPUS_OK { u32::try_from(value).map_err(|_| reason(status)) } else { Err(reason(status)) }
    }

    /// Codes one frame of interleaved samples, 2.5 to 60 ms of them, and appends the packet to `packet`; its bytes.
    pub fn encode(&mut self, samples: &[f32], packet: &mut Vec<u8>) -> Result<usize, String> {
        let frames = samples.len() / self.channels;
        if !matches!(frames, 120 | 240 | 480 | 960 | 1920 | 2880) || !samples.len().is_multiple_of(self.channels) {
            return Err(format!("{frames} samples are no Opus frame"));
        }
        let start = packet.len();
        packet.resize(start + LARGEST_PACKET, 0);
        // SAFETY: `samples` holds `frames` samples for each channel, a length the library accepts, and the room behind
        // `start` is as large as it is said to be.
        let got = unsafe {
            lib::opus_encode_float(
                self.state.as_ptr(),
                samples.as_ptr(),
                frames as i32,
                packet[start..].as_mut_ptr(),
                LARGEST_PACKET as i32,
            )
        };
        let got_bytes = usize::try_from(got).unwrap_or(0);
        packet.truncate(start + got_bytes);
        if got < 0 { Err(reason(got)) } else { Ok(got_bytes) }
    }
}

impl Drop for OpusEncoder {
    fn drop(&mut self) {
        // SAFETY: the state came from `opus_encoder_create` and is freed once.
        unsafe { lib::opus_encoder_destroy(self.state.as_ptr()) }
    }
}

/// How many samples a channel at 48 kHz the packet holds, read from its first bytes (RFC 6716 §3.1); `None` for a
/// packet that breaks §3.2.
pub fn packet_duration(packet: &[u8]) -> Option<u64> {
    let toc = *packet.first()?;
    let config = usize::from(toc >> 3);
    let frame = match config {
        0..=11 => [480, 960, 1920, 2880][config % 4],
        12..=15 => [480, 960][config % 2],
        _ => [120, 240, 480, 960][config % 4],
    };
    let frames = match toc & 3 {
        0 => 1,
        1 | 2 => 2,
        _ => u64::from(*packet.get(1)? & 63),
    };
    let duration = frame * frames;
    (1..=LONGEST_PACKET as u64).contains(&duration).then_some(duration)
}

/// The library's own error codes in words.
fn reason(code: i32) -> String {
    match code {
        lib::OPUS_BAD_ARG => "a value out of its range",
        lib::OPUS_BUFFER_TOO_SMALL => "no room for the result",
        lib::OPUS_INTERNAL_ERROR => "an internal error of the coder",
        lib::OPUS_INVALID_PACKET => "the packet is damaged",
        lib::OPUS_UNIMPLEMENTED => "a request the coder does not know",
        lib::OPUS_INVALID_STATE => "the coder's state is damaged",
        lib::OPUS_ALLOC_FAIL => "out of memory",
        _ => "an unknown error",
    }
    .to_owned()
}
