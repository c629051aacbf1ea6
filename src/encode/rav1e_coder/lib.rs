//! rav1e with 8-bit 4:2:0 pixels, behind types without parameters.
//!
//! rav1e's coder is generic in its pixel, so it is compiled where it is used. Here it is used once, in a crate that
//! hardly ever changes: every build of the rest is three times as fast for it.

use rav1e::prelude::{
    BlockSize, ChromaSampling, ColorDescription, ColorPrimaries, Config, Context, EncoderConfig, EncoderStatus,
    FrameParameters, FrameTypeOverride, MatrixCoefficients, Packet, PartitionRange, PixelRange, Rational,
    SceneDetectionSpeed, SegmentationLevel, TransferCharacteristics, Tune,
};
use std::fmt;

/// What a stream is to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Pixels, even.
    pub width: usize,
    /// Pixels, even.
    pub height: usize,
    /// Frames a second: `rate.0 / rate.1`.
    pub rate: (u64, u64),
    /// `seq_level_idx`; left to itself rav1e states no level at all.
    pub level: u8,
    /// 0 to 10; the higher the faster.
    pub speed: u8,
    /// 0 to 255; the higher the coarser.
    pub quantizer: usize,
    /// Whether blocks go down to 4×4 (else the speed decides).
    pub smallest_blocks: bool,
}

/// Streams that fit one after another: they have everything in common that a sequence header tells.
pub struct Streams {
    config: Config,
    width: usize,
}

/// A coder at work. Frames come out in the order they go in.
pub struct Stream {
    width: usize,
    context: Context<u8>,
}

/// Why the coder gave up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GaveUp(String);

impl fmt::Display for GaveUp {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for GaveUp {}

impl Streams {
    /// Streams of BT.709 pictures in limited range.
    pub fn new(settings: Settings) -> Streams {
        let mut coder = EncoderConfig::with_speed_preset(settings.speed);
        coder.width = settings.width;
        coder.height = settings.height;
        coder.time_base = Rational { num: settings.rate.1, den: settings.rate.0 };
        coder.bit_depth = 8;
        coder.chroma_sampling = ChromaSampling::Cs420;
        coder.pixel_range = PixelRange::Limited;
        coder.color_description = Some(ColorDescription {
            color_primaries: ColorPrimaries::BT709,
            transfer_characteristics: TransferCharacteristics::BT709,
            matrix_coefficients: MatrixCoefficients::BT709,
        });
        coder.level_idx = Some(settings.level);
        coder.quantizer = settings.quantizer;
        // Line art has few slants and nothing to be smoothed away; what moves, moves by whole steps.
        coder.speed_settings.cdef = false;
        coder.speed_settings.segmentation = SegmentationLevel::Disabled;
        coder.speed_settings.prediction.fine_directional_intra = false;
        coder.speed_settings.motion.use_satd_subpel = false;
        // Flat squares and line art have no texture to hide errors in, which is what the other tuning counts on.
        coder.tune = Tune::Psnr;
        // Each frame is shown and refreshes one slot; keys stand where they are asked for. Looking ahead would find
        // nothing that is not known already.
        coder.low_latency = true;
        coder.set_key_frame_interval(0, 0);
        coder.speed_settings.scene_detection_mode = SceneDetectionSpeed::None;
        coder.speed_settings.rdo_lookahead_frames = 1;
        if settings.smallest_blocks {
            coder.speed_settings.partition.partition_range =
                PartitionRange::new(BlockSize::BLOCK_4X4, BlockSize::BLOCK_64X64);
        }
        // One tile a picture: two streams on two cores are 1.86 times as fast, two tiles 1.47 times. All streams share the
        // process's pool of threads: a pool for each, gone with its stream, leaves its memory behind in the allocator, more
        // with every stream.
        coder.tiles = 1;
        Streams { config: Config::new().with_encoder_config(coder).with_threads(0), width: settings.width }
    }

    /// A stream that begins.
    pub fn stream(&self) -> Result<Stream, GaveUp> {
        let context = self.config.new_context().map_err(|refusal| GaveUp(refusal.to_string()))?;
        Ok(Stream { context, width: self.width })
    }
}

impl Stream {
    /// Codes a picture: luma, then both chroma planes, without padding.
    pub fn send(&mut self, luma: &[u8], cb: &[u8], cr: &[u8], key: bool) -> Result<(), GaveUp> {
        let mut frame = self.context.new_frame();
        let width = self.width;
        for (plane, (samples, width)) in frame.planes.iter_mut().zip([(luma, width), (cb, width / 2), (cr, width / 2)])
        {
            plane.copy_from_raw_u8(samples, width, 1);
        }
        let frame_type_override = if key { FrameTypeOverride::Key } else { FrameTypeOverride::No };
        let parameters = FrameParameters { frame_type_override, ..FrameParameters::default() };
        self.context.send_frame((frame, parameters)).map_err(|status| GaveUp(status.to_string()))
    }

    /// No picture comes any more.
    pub fn finish(&mut self) {
        self.context.flush();
    }

    /// The next picture that is ready; `None` while the coder waits for pictures, or at the end.
    pub fn receive(&mut self) -> Result<Option<Coded>, GaveUp> {
        loop {
            match self.context.receive_packet() {
                Ok(packet) => return Ok(Some(Coded { packet, width: self.width })),
                Err(EncoderStatus::Encoded) => {}
                Err(EncoderStatus::NeedMoreData | EncoderStatus::LimitReached) => return Ok(None),
                Err(status) => return Err(GaveUp(status.to_string())),
            }
        }
    }
}

/// A picture that has been coded.
pub struct Coded {
    packet: Packet<u8>,
    width: usize,
}

impl Coded {
    /// Its number, from 0, in the order of sending.
    pub fn number(&self) -> u64 {
        self.packet.input_frameno
    }

    /// Its bytes.
    pub fn into_bytes(self) -> Vec<u8> {
        self.packet.data
    }

    /// Writes what a decoder will show to the three planes, without padding; says whether the coder told.
    pub fn shown(&self, planes: [&mut [u8]; 3]) -> bool {
        let Some(shown) = &self.packet.rec else { return false };
        for ((plane, to), width) in shown.planes.iter().zip(planes).zip([self.width, self.width / 2, self.width / 2]) {
            plane.copy_to_raw_u8(to, width, 1);
        }
        true
    }
}
