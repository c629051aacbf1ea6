//! A chunk's frames → units, the changed ones coded by rav1e, the still ones shown again.
//!
//! rav1e walks the whole picture for every frame it is given, still or not: 60 to 120 ms of one core at 1080p. So it is
//! given only the frames that change, and one copy after a key. The held frames between them do no harm: every frame
//! names its references by slot, showing one changes no slot, and order hints count only the frames that are coded.

use super::canvas::Canvas;
use super::level::level;
use super::obu::{FrameHeader, FrameType, ObuKind, SequenceHeader, held_unit, obus, without_delimiters};
use super::plan::{COPY, Chunk, KEY, Step};
use super::workers::Tick;
use super::yuv::Yuv;
use super::{EncodeError, Unit};
use crate::units::{FrameIndex, FrameRate, Size};
use rav1e::prelude::{
    BlockSize, ChromaSampling, ColorDescription, ColorPrimaries, Config, Context, EncoderConfig, EncoderStatus,
    FrameParameters, FrameTypeOverride, MatrixCoefficients, PartitionRange, PixelRange, Rational, SceneDetectionSpeed,
    TransferCharacteristics,
};

/// What rav1e is asked for.
struct Effort {
    /// 0 to 10; the higher the faster.
    speed: u8,
    /// 0 to 255; the higher the coarser. It decides the bytes and hardly the time.
    quantizer: usize,
    /// The smallest and the largest block; `None` leaves them to the speed.
    blocks: Option<(BlockSize, BlockSize)>,
}

/// Whoever chooses rav1e wants the smallest file. Measured on a film of a study at 720p: 153 KB, 48.5 dB mean PSNR-Y,
/// where speed 10 gives 285 KB and 45.3 dB in half the time. Line art lives in small blocks: the 4×4 blocks, which
/// speed 8 leaves out, cost 8 % more time and save 9 % of the bytes at 1.2 dB more. At 1080p keys take 25 to 80 KB, and
/// the worst frame of the three themes has 43.4 dB.
const FINE: Effort = Effort { speed: 8, quantizer: 90, blocks: Some((BlockSize::BLOCK_4X4, BlockSize::BLOCK_64X64)) };
/// For a look at the timing: half the time, keys twice as large, 40 dB or more.
const DRAFT: Effort = Effort { speed: 10, quantizer: 120, blocks: None };

/// A chunk coder: everything about a stream that its chunks share, so that they fit one after another.
pub struct Rav1e {
    config: Config,
}

impl Rav1e {
    /// A coder for frames of this size and rate.
    pub fn new(size: Size, rate: FrameRate, draft: bool) -> Rav1e {
        let effort = if draft { DRAFT } else { FINE };
        let mut coder = EncoderConfig::with_speed_preset(effort.speed);
        coder.width = size.width as usize;
        coder.height = size.height as usize;
        coder.time_base = Rational { num: u64::from(rate.den()), den: u64::from(rate.num()) };
        coder.bit_depth = 8;
        coder.chroma_sampling = ChromaSampling::Cs420;
        coder.pixel_range = PixelRange::Limited;
        coder.color_description = Some(ColorDescription {
            color_primaries: ColorPrimaries::BT709,
            transfer_characteristics: TransferCharacteristics::BT709,
            matrix_coefficients: MatrixCoefficients::BT709,
        });
        // Left to itself rav1e states no level at all.
        coder.level_idx = Some(level(size, rate));
        coder.quantizer = effort.quantizer;
        // Frames come out in the order they go in, each shown, each refreshing one slot; keys stand where the plan
        // says. Looking ahead would find nothing: the plan knows what changes.
        coder.low_latency = true;
        coder.set_key_frame_interval(0, 0);
        coder.speed_settings.scene_detection_mode = SceneDetectionSpeed::None;
        coder.speed_settings.rdo_lookahead_frames = 1;
        if let Some((smallest, largest)) = effort.blocks {
            coder.speed_settings.partition.partition_range = PartitionRange::new(smallest, largest);
        }
        // Work is shared out by chunks: two chunks on two cores are 1.86 times as fast, two tiles 1.47 times.
        coder.tiles = 1;
        Rav1e { config: Config::new().with_encoder_config(coder).with_threads(1) }
    }

    /// Codes one chunk: a unit for each of its frames. `tick` is called after each frame and may end the work.
    pub fn code(&self, chunk: &Chunk, canvas: &mut Canvas, tick: Tick) -> Result<Vec<Unit>, EncodeError> {
        let context = self
            .config
            .new_context()
            .map_err(|refusal| EncodeError::Video { frame: chunk.start, reason: refusal.to_string() })?;
        let mut feed = Feed { context, packets: Vec::new() };
        for (frame, step) in (chunk.start..).zip(&chunk.steps) {
            if matches!(step, Step::Key | Step::Coded) {
                canvas.paint(FrameIndex(frame));
            }
            if matches!(step, Step::Key | Step::Coded | Step::Copy) {
                let sent = feed.send(canvas.planes(), *step == Step::Key).and_then(|()| feed.receive());
                sent.map_err(|status| failure(frame, status))?;
            }
            tick()?;
        }
        feed.context.flush();
        feed.receive().map_err(|status| failure(chunk.start + chunk.steps.len() as u64, status))?;
        Ok(assemble(&chunk.steps, feed.packets))
    }
}

fn failure(frame: u64, status: EncoderStatus) -> EncodeError {
    EncodeError::Video { frame, reason: status.to_string() }
}

/// A coder at work, and what has come out of it so far.
struct Feed {
    context: Context<u8>,
    packets: Vec<Vec<u8>>,
}

impl Feed {
    fn send(&mut self, planes: &Yuv, key: bool) -> Result<(), EncoderStatus> {
        let width = planes.size().width as usize;
        let mut frame = self.context.new_frame();
        frame.planes[0].copy_from_raw_u8(planes.luma(), width, 1);
        frame.planes[1].copy_from_raw_u8(planes.cb(), width / 2, 1);
        frame.planes[2].copy_from_raw_u8(planes.cr(), width / 2, 1);
        let frame_type_override = if key { FrameTypeOverride::Key } else { FrameTypeOverride::No };
        self.context.send_frame((frame, FrameParameters { frame_type_override, ..FrameParameters::default() }))
    }

    /// Takes all that is ready.
    fn receive(&mut self) -> Result<(), EncoderStatus> {
        loop {
            match self.context.receive_packet() {
                Ok(packet) => {
                    let expected = self.packets.len() as u64;
                    assert_eq!(packet.input_frameno, expected, "packets come out in the order the frames went in");
                    self.packets.push(packet.data);
                }
                Err(EncoderStatus::Encoded) => {}
                Err(EncoderStatus::NeedMoreData | EncoderStatus::LimitReached) => return Ok(()),
                Err(status) => return Err(status),
            }
        }
    }
}

/// One unit a step out of the packets of the steps that were coded.
fn assemble(steps: &[Step], packets: Vec<Vec<u8>>) -> Vec<Unit> {
    let mut packets = packets.into_iter();
    let mut stream = Stream::default();
    let mut units: Vec<Unit> = Vec::with_capacity(steps.len());
    // The slot that holds what is on screen, once something is coded that may be shown again.
    let mut shown: Option<u8> = None;
    for step in steps {
        let mut coded = || packets.next().expect("each frame given to the coder comes out of it");
        let unit = match step {
            Step::Key => Unit { data: stream.key(&coded()), key: true },
            Step::Coded | Step::Copy => {
                let (data, slot) = stream.inter(&coded());
                shown = Some(slot);
                Unit { data, key: false }
            }
            Step::Held => {
                let slot = shown.expect("something is coded after the key before anything is held");
                Unit { data: held_unit(slot).to_vec(), key: false }
            }
            // Nothing was coded since, so the copy's slot is still the one to show.
            Step::Rekey => units[KEY].clone(),
            Step::Recopy => units[COPY].clone(),
        };
        units.push(unit);
    }
    assert!(packets.next().is_none(), "nothing comes out of the coder that was not given to it");
    units
}

/// Reads what the coder wrote, to know which slot of the decoder holds the last picture: the coder does not say.
#[derive(Default)]
struct Stream {
    sequence: Option<SequenceHeader>,
}

impl Stream {
    /// The unit of a key packet.
    fn key(&mut self, packet: &[u8]) -> Vec<u8> {
        let (unit, header) = self.read(packet);
        let expected = FrameHeader::Coded { kind: FrameType::Key, shown: true, showable: false, refreshed: 0xff };
        assert_eq!(header, expected, "a key stands where the plan put it");
        unit
    }

    /// The unit of an inter packet and the slot that its picture goes to.
    fn inter(&mut self, packet: &[u8]) -> (Vec<u8>, u8) {
        let (unit, header) = self.read(packet);
        let FrameHeader::Coded { kind: FrameType::Inter, shown: true, showable: true, refreshed } = header else {
            panic!("a frame that changes is coded as a shown inter frame, not as {header:?}");
        };
        assert_eq!(refreshed.count_ones(), 1, "an inter frame refreshes one slot");
        (unit, refreshed.trailing_zeros() as u8)
    }

    fn read(&mut self, packet: &[u8]) -> (Vec<u8>, FrameHeader) {
        let unit = without_delimiters(packet).expect("the coder writes whole OBUs with their sizes");
        let mut header = None;
        for obu in obus(&unit).into_iter().flatten() {
            match obu.kind {
                ObuKind::SequenceHeader => self.sequence = SequenceHeader::read(&unit[obu.payload]),
                ObuKind::Frame | ObuKind::FrameHeader => {
                    let sequence = self.sequence.as_ref().expect("a sequence header precedes the first frame");
                    header = FrameHeader::read(&unit[obu.payload], sequence);
                }
                _ => {}
            }
        }
        (unit, header.expect("each packet of the coder has a frame"))
    }
}
