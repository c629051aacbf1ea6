//! rav1e with 8-bit 4:2:0 pixels, behind types without parameters.
//!
//! rav1e's coder is generic in its pixel, so it is compiled where it is used. Here it is used once, in a crate that
//! hardly ever changes: every build of the rest is three times as fast for it.

mod shelf;
mod zeros;

use rav1e::prelude::{
    BlockSize, ChromaSampling, ColorDescription, ColorPrimaries, Config, Context, EncoderConfig, EncoderStatus, Frame,
    FrameParameters, FrameTypeOverride, MatrixCoefficients, Packet, PartitionRange, PixelRange, Plane, Rational,
    SceneDetectionSpeed, SegmentationLevel, TransferCharacteristics, Tune,
};
use std::fmt;
use std::sync::Arc;
use zeros::Owner;

pub use shelf::{Shelf, keep_large_blocks};

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
    height: usize,
}

/// A coder at work. Frames come out in the order they go in.
pub struct Stream {
    width: usize,
    height: usize,
    context: Context<u8>,
    owner: Owner,
    /// The picture sent last.
    last: Option<Arc<Frame<u8>>>,
    /// How many pictures were sent, and how many came out.
    sent: u64,
    received: u64,
}

/// The side of the blocks in which a picture may take over another, in luma samples: the smallest whose chroma is a
/// block too.
pub const BLOCK: usize = 8;

/// What a decoder will show of a picture.
#[derive(Clone)]
pub struct Shown(Arc<Frame<u8>>);

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
        let config = Config::new().with_encoder_config(coder).with_threads(0);
        Streams { config, width: settings.width, height: settings.height }
    }

    /// A stream that begins.
    pub fn stream(&self) -> Result<Stream, GaveUp> {
        let context = self.config.new_context().map_err(|refusal| GaveUp(refusal.to_string()))?;
        let Streams { width, height, .. } = *self;
        Ok(Stream { context, owner: Owner::new(), width, height, last: None, sent: 0, received: 0 })
    }
}

impl Stream {
    /// Codes a picture: luma and both chroma planes, without padding. `again` says of its blocks, row by row, which are
    /// to be as an earlier picture is shown.
    pub fn send(&mut self, planes: [&[u8]; 3], again: Option<(&Shown, &[bool])>, key: bool) -> Result<(), GaveUp> {
        let mut frame = self.context.new_frame();
        for (number, (plane, samples)) in frame.planes.iter_mut().zip(planes).enumerate() {
            let (width, block) = if number == 0 { (self.width, BLOCK) } else { (self.width / 2, BLOCK / 2) };
            plane.copy_from_raw_u8(samples, width, 1);
            if let Some((shown, blocks)) = again {
                let across = self.width.div_ceil(BLOCK);
                take_over(plane, &shown.0.planes[number], width, block, |row| &blocks[row * across..][..across]);
            }
            plane.pad(self.width, self.height);
        }
        let kind = if key { FrameTypeOverride::Key } else { FrameTypeOverride::No };
        self.give(Arc::new(frame), kind)?;
        self.sent += 1;
        Ok(())
    }

    fn give(&mut self, frame: Arc<Frame<u8>>, frame_type_override: FrameTypeOverride) -> Result<(), GaveUp> {
        let parameters = FrameParameters { frame_type_override, ..FrameParameters::default() };
        let again = frame.clone();
        let Stream { context, owner, .. } = self;
        // SAFETY: as in `receive`.
        let sent = unsafe { owner.work(|| context.send_frame((again, parameters))) };
        self.last = Some(frame);
        sent.map_err(|status| GaveUp(status.to_string()))
    }

    /// The next picture that is ready; `None` while the coder waits for pictures.
    pub fn receive(&mut self) -> Result<Option<Coded>, GaveUp> {
        while self.received < self.sent {
            let Stream { context, owner, .. } = self;
            // SAFETY: what the coder asks for is its own, and it works here and in `give` only. Of a packet the picture is
            // shared, so that nobody can write to it, and the bytes are copied when it is out of the coder's hands.
            match unsafe { owner.work(|| context.receive_packet()) } {
                Ok(packet) => {
                    self.received += 1;
                    return Ok(Some(Coded::new(packet)));
                }
                Err(EncoderStatus::Encoded) => {}
                Err(EncoderStatus::NeedMoreData) => return Ok(None),
                Err(status) => return Err(GaveUp(status.to_string())),
            }
        }
        Ok(None)
    }

    /// The next picture when no more is to be sent; `None` at the end.
    ///
    /// A coder told of the end prepares all the pictures it still has at once: at 1080p 40 MB more than it ever held
    /// before. So it is not told, and waits for pictures behind the last one, which is what it gets: the last once more,
    /// and never to be coded.
    pub fn receive_rest(&mut self) -> Result<Option<Coded>, GaveUp> {
        while self.received < self.sent {
            if let Some(coded) = self.receive()? {
                return Ok(Some(coded));
            }
            let last = self.last.clone().expect("a picture was sent");
            self.give(last, FrameTypeOverride::No)?;
        }
        Ok(None)
    }
}

/// Copies the marked blocks of a row of blocks, for all rows.
fn take_over<'a>(
    to: &mut Plane<u8>,
    from: &Plane<u8>,
    width: usize,
    block: usize,
    marked: impl Fn(usize) -> &'a [bool],
) {
    for (y, (to, from)) in to.rows_iter_mut().zip(from.rows_iter()).enumerate() {
        let blocks = to[..width].chunks_mut(block).zip(from[..width].chunks(block));
        for ((to, from), _) in blocks.zip(marked(y / block)).filter(|(_, marked)| **marked) {
            to.copy_from_slice(from);
        }
    }
}

/// A picture that has been coded.
pub struct Coded {
    number: u64,
    bytes: Vec<u8>,
    shown: Option<Shown>,
}

impl Coded {
    fn new(packet: Packet<u8>) -> Coded {
        Coded { number: packet.input_frameno, bytes: packet.data.clone(), shown: packet.rec.map(Shown) }
    }

    /// Its number, from 0, in the order of sending.
    pub fn number(&self) -> u64 {
        self.number
    }

    /// Its bytes.
    pub fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }

    /// What a decoder will show, if the coder told.
    pub fn shown(&self) -> Option<Shown> {
        self.shown.clone()
    }
}
