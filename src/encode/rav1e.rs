//! A chunk's frames → units, the changed ones coded by rav1e, the still ones shown again.
//!
//! rav1e walks the whole picture for every frame it is given, still or not: 60 to 120 ms of one core at 1080p. So it is
//! given only the frames that change, and one copy after a key; and of these, where nothing has changed of late, the
//! picture it made itself (see `settled`), in which it finds nothing to do. The held frames between them do no harm:
//! every frame names its references by slot, showing one changes no slot, and order hints count only the frames that are
//! coded.

use super::canvas::Canvas;
use super::level::level;
use super::obu::{FrameHeader, FrameType, ObuKind, SequenceHeader, held_unit, obus, without_delimiters};
use super::plan::{COPY, Chunk, KEY, Step};
use super::settled::Settled;
use super::workers::Tick;
use super::yuv::Yuv;
use super::{EncodeError, Unit};
use crate::units::{FrameIndex, FrameRate, Size};
use plyreel_rav1e::{Coded, GaveUp, Settings, Shown, Stream as Coder, Streams};

/// What rav1e is asked for.
struct Effort {
    /// 0 to 10; the higher the faster.
    speed: u8,
    /// 0 to 255; the higher the coarser. It decides the bytes and hardly the time.
    quantizer: usize,
    /// Whether blocks go down to 4×4, which the higher speeds leave out.
    smallest_blocks: bool,
}

/// Whoever chooses rav1e wants a small file. Line art lives in small blocks: the 4×4 blocks, which speed 8 leaves out,
/// cost 8 % more time and save a quarter of the bytes at the same quality. On a dense film at 1080p in dusk the worst
/// frame has 48.4 dB of luma, and a minute takes 1.0 MB.
const FINE: Effort = Effort { speed: 8, quantizer: 90, smallest_blocks: true };
/// For a look at the timing. On the same film at 540p, the size a draft of 1080p has: a little over half the time, keys
/// half as large again, and 38.2 dB of luma in the worst frame where the above has 44.9.
const DRAFT: Effort = Effort { speed: 10, quantizer: 120, smallest_blocks: false };

/// A chunk coder: everything about a stream that its chunks share, so that they fit one after another.
pub struct Rav1e {
    streams: Streams,
}

impl Rav1e {
    /// A coder for frames of this size and rate.
    pub fn new(size: Size, rate: FrameRate, draft: bool) -> Rav1e {
        let Effort { speed, quantizer, smallest_blocks } = if draft { DRAFT } else { FINE };
        let streams = Streams::new(Settings {
            width: size.width as usize,
            height: size.height as usize,
            rate: (rate.num().into(), rate.den().into()),
            level: level(size, rate),
            speed,
            quantizer,
            smallest_blocks,
        });
        Rav1e { streams }
    }

    /// Codes one chunk: a unit for each of its frames. `tick` is called after each frame and may end the work.
    pub fn code(&self, chunk: &Chunk, canvas: &mut Canvas, tick: Tick) -> Result<Vec<Unit>, EncodeError> {
        let coder = self.streams.stream().map_err(|why| failure(chunk.start, &why))?;
        let mut feed = Feed { coder, packets: Vec::new(), settled: Settled::new() };
        for (frame, step) in (chunk.start..).zip(&chunk.steps) {
            if matches!(step, Step::Key | Step::Coded) {
                canvas.paint(FrameIndex(frame));
            }
            if matches!(step, Step::Key | Step::Coded | Step::Copy) {
                let sent = feed.send(canvas.planes(), *step == Step::Key).and_then(|()| feed.receive());
                sent.map_err(|why| failure(frame, &why))?;
            }
            tick()?;
        }
        feed.finish().map_err(|why| failure(chunk.start + chunk.steps.len() as u64, &why))?;
        Ok(assemble(&chunk.steps, feed.packets))
    }
}

fn failure(frame: u64, why: &GaveUp) -> EncodeError {
    EncodeError::Video { frame, reason: why.to_string() }
}

/// A coder at work, and what has come out of it so far.
struct Feed {
    coder: Coder,
    packets: Vec<Vec<u8>>,
    settled: Settled<Shown>,
}

impl Feed {
    fn send(&mut self, planes: &Yuv, key: bool) -> Result<(), GaveUp> {
        let again = self.settled.next(planes);
        self.coder.send(planes.planes(), again, key)
    }

    /// Takes all that is ready.
    fn receive(&mut self) -> Result<(), GaveUp> {
        while let Some(coded) = self.coder.receive()? {
            self.take(coded);
        }
        Ok(())
    }

    /// Takes all that is still to come.
    fn finish(&mut self) -> Result<(), GaveUp> {
        while let Some(coded) = self.coder.receive_rest()? {
            self.take(coded);
        }
        Ok(())
    }

    fn take(&mut self, coded: Coded) {
        assert_eq!(coded.number(), self.packets.len() as u64, "packets come out in the order the frames went in");
        if let Some(shown) = coded.shown() {
            self.settled.shows(coded.number(), shown);
        }
        self.packets.push(coded.into_bytes());
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
