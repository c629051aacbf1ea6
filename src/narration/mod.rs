//! A recording → its length and its samples at 48 kHz, block by block.
//!
//! Comes in: a sound file's path. Goes out: a [`Recording`], whose [`Blocks`] are interleaved samples in step with the
//! recording's own clock: sample `n` is the sound at `n / 48000` s, with the coder's priming and padding (MP3, AAC,
//! Vorbis, Opus) and the resampler's delay taken out. Must not know: pictures, chess. Memory is bounded whatever the
//! recording's length; only [`Recording::aac`], which passes packets on, holds them all.

mod aac;
mod boxes;
mod downmix;
mod edits;
mod fragments;
mod guard;
mod kind;
mod levelling;
mod limiter;
mod loudness;
pub mod opus;
mod resample;
mod speech;
mod tape;
pub mod transcript;
mod whole;

pub use aac::{AacTrack, Packets};
pub use kind::Kind;
pub use levelling::{Levelled, Levelling, level};
pub use loudness::{Loudness, Meter, TARGETS, measure};
pub use speech::{Listener, Speech};

use crate::units::Fnv;
use levelling::Leveller;
use resample::{Resampler, resampled};
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::time::Duration;
use symphonia::core::errors::Error;
use tape::{Player, Survey, Tape};

/// The rate of all sound inside the program, in Hz: the one Opus is coded at and video has always used.
pub const RATE: u32 = 48_000;

/// About how many samples a channel a block holds: a fifth of a second.
const BLOCK: usize = 9600;

/// A sound file, looked through once.
#[derive(Clone, Debug)]
pub struct Recording {
    path: PathBuf,
    kind: Kind,
    rate: u32,
    source_channels: usize,
    edges: edits::Edges,
    cut_short: bool,
    levelling: Option<Levelling>,
}

impl Recording {
    /// Opens a recording, decodes its beginning and reads its packets through, which gives its exact length.
    pub fn open(path: &Path) -> Result<Recording, NarrationError> {
        let kind = Kind::of(path)?;
        let Survey { rate, channels, edges, cut_short } = Tape::survey(path)?;
        Ok(Recording { path: path.into(), kind, rate, source_channels: channels, edges, cut_short, levelling: None })
    }

    /// Where it is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What sort of file it is.
    pub fn kind(&self) -> Kind {
        self.kind
    }

    /// Its own sample rate, in Hz.
    pub fn rate(&self) -> u32 {
        self.rate
    }

    /// Channels of its [`Recording::blocks`]: 1 or 2. More than two in the file are mixed down to left and right by
    /// ITU-R BS.775-3 Table 2, without scaling.
    pub fn channels(&self) -> usize {
        self.source_channels.min(2)
    }

    /// Channels in the file.
    pub fn source_channels(&self) -> usize {
        self.source_channels
    }

    /// Whether there was once more of it: it stops in the middle, as after an interrupted copy, or makes no sense from
    /// some place on, or holds less than it says. What can be read is used.
    pub fn is_cut_short(&self) -> bool {
        self.cut_short
    }

    /// Its exact length in samples at 48 kHz.
    pub fn samples(&self) -> u64 {
        resampled(self.own_samples(), self.rate)
    }

    /// The same at its own rate.
    fn own_samples(&self) -> u64 {
        self.edges.lead.saturating_add(self.edges.length)
    }

    /// Its length in whole nanoseconds: what is left over is no reason for another frame.
    pub fn length(&self) -> Duration {
        let nanos = u128::from(self.own_samples()) * 1_000_000_000 / u128::from(self.rate);
        Duration::from_nanos(u64::try_from(nanos).unwrap_or(u64::MAX))
    }

    /// Its samples at 48 kHz from the beginning: [`Recording::samples`] of them for each channel, whatever is damaged
    /// on the way. Damaged places are silent; but MP3 and AAC in ADTS have no clock that tells how long such a place is,
    /// and what comes after it is early by as much.
    pub fn blocks(&self) -> Result<Blocks, NarrationError> {
        let tape = Tape::open(&self.path)?;
        let failed = |error: &Error| NarrationError::of(&self.path, self.kind, error);
        let decoder = tape.decoder().map_err(|error| failed(&error))?;
        let channels = self.channels();
        let resampler = Resampler::new(self.rate, channels).map_err(|what| self.unsupported(what))?;
        Ok(Blocks {
            tape,
            player: Player::new(decoder, self.rate, self.source_channels),
            resampler,
            recording: self.clone(),
            state: State::Lead(self.edges.lead),
            skip: self.edges.skip,
            left: self.edges.length,
            unheard: self.samples(),
            leveller: self.levelling.map(|levelling| Leveller::new(channels, levelling)),
        })
    }

    /// The same recording with another gain: its samples, packets and digest are those of the new sound.
    #[must_use]
    pub fn levelled(&self, levelling: Levelling) -> Recording {
        Recording { levelling: Some(levelling), ..self.clone() }
    }

    /// A hash of the file's bytes as they are now, and of what is done to them: recordings with equal ones sound the same.
    pub fn digest(&self) -> io::Result<u128> {
        let mut file = File::open(&self.path)?;
        let mut fnv = Fnv::default();
        if let Some(Levelling { gain, ceiling }) = self.levelling {
            fnv.bytes(&gain.to_le_bytes());
            fnv.bytes(&ceiling.to_le_bytes());
        }
        let mut block = vec![0; 1 << 16];
        loop {
            match file.read(&mut block)? {
                0 => return Ok(fnv.value()),
                read => fnv.bytes(&block[..read]),
            }
        }
    }

    /// Its AAC packets as they are, where it has any that can be passed on; none of a recording that was levelled.
    pub fn aac(&self) -> Result<Option<AacTrack>, NarrationError> {
        if self.levelling.is_some() { Ok(None) } else { aac::read(self) }
    }

    fn unsupported(&self, what: String) -> NarrationError {
        NarrationError::Unsupported { path: self.path.clone(), kind: self.kind, what }
    }
}

/// Interleaved samples at 48 kHz, about a fifth of a second at a time.
pub struct Blocks {
    tape: Tape,
    player: Player,
    resampler: Resampler,
    recording: Recording,
    state: State,
    /// Decoded samples still to be left out, and still to be heard, at the recording's rate.
    skip: u64,
    left: u64,
    /// Samples at 48 kHz still to be given.
    unheard: u64,
    leveller: Option<Leveller>,
}

#[derive(Clone, Copy)]
enum State {
    /// So much silence comes first.
    Lead(u64),
    Tape,
    /// The tape is at its end; what is still due is silence.
    Tail,
    Done,
}

impl Blocks {
    fn fill(&mut self, out: &mut Vec<f32>) -> Result<(), String> {
        let channels = self.recording.channels();
        let mut samples = Vec::new();
        while out.len() < BLOCK * channels {
            samples.clear();
            match self.state {
                State::Lead(0) => self.state = State::Tape,
                State::Lead(n) => {
                    let now = n.min(BLOCK as u64);
                    samples.resize(now as usize * channels, 0.0);
                    self.state = State::Lead(n - now);
                }
                State::Tape => {
                    if self.left == 0 || !matches!(self.tape.play(&mut self.player, &mut samples), Ok(true)) {
                        self.state = State::Tail;
                    }
                    self.trim(&mut samples, channels);
                }
                State::Tail if self.left > 0 => {
                    let now = self.left.min(BLOCK as u64);
                    samples.resize(now as usize * channels, 0.0);
                    self.left -= now;
                }
                State::Tail => {
                    self.state = State::Done;
                    return self.resampler.finish(out);
                }
                State::Done => return Ok(()),
            }
            self.resampler.push(&samples, out)?;
        }
        Ok(())
    }

    /// Takes away what is priming at the start and padding at the end.
    fn trim(&mut self, samples: &mut Vec<f32>, channels: usize) {
        let frames = (samples.len() / channels) as u64;
        let early = self.skip.min(frames);
        self.skip -= early;
        let kept = (frames - early).min(self.left);
        self.left -= kept;
        samples.truncate((early + kept) as usize * channels);
        samples.drain(..early as usize * channels);
    }
}

impl Blocks {
    /// The next block as it was recorded.
    fn recorded(&mut self) -> Option<Result<Vec<f32>, NarrationError>> {
        let channels = self.recording.channels();
        let mut out = Vec::with_capacity((BLOCK + 4096) * channels);
        if let Err(what) = self.fill(&mut out) {
            self.state = State::Done;
            return Some(Err(self.recording.unsupported(what)));
        }
        // The lead's and the length's roundings to 48 kHz are one.
        let due = usize::try_from(self.unheard).unwrap_or(usize::MAX).saturating_mul(channels);
        out.truncate(due);
        self.unheard -= (out.len() / channels) as u64;
        (!out.is_empty()).then_some(Ok(out))
    }
}

impl Iterator for Blocks {
    type Item = Result<Vec<f32>, NarrationError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let block = match (self.recorded(), &mut self.leveller) {
                (Some(Ok(recorded)), Some(leveller)) => leveller.block(&recorded),
                // The leveller looks ahead, so that the last samples come when there are no more.
                (None, Some(_)) => self.leveller.take()?.finish(),
                (other, _) => return other,
            };
            if !block.is_empty() {
                return Some(Ok(block));
            }
        }
    }
}

/// What can be wrong with a recording.
#[derive(Debug, thiserror::Error)]
pub enum NarrationError {
    /// It is not there or may not be read.
    #[error("`{path}` could not be read")]
    Open {
        /// The recording.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// Its first bytes are of no known kind.
    #[error("`{path}` is no recording of a known kind; {accepted} are read", accepted = Kind::ACCEPTED)]
    UnknownKind {
        /// The file.
        path: PathBuf,
    },
    /// There is no sound track in it.
    #[error("`{path}` is {kind} but holds no sound")]
    NoSound {
        /// The recording.
        path: PathBuf,
        /// What its first bytes are.
        kind: Kind,
    },
    /// It is of a known kind but makes use of something that is not read.
    #[error("`{path}` is {kind} of a sort that is not read: {what}")]
    Unsupported {
        /// The recording.
        path: PathBuf,
        /// What its first bytes are.
        kind: Kind,
        /// What is not read.
        what: String,
    },
    /// It breaks the rules of its kind.
    #[error("`{path}` begins as {kind} but is damaged: {reason}")]
    Damaged {
        /// The recording.
        path: PathBuf,
        /// What its first bytes are.
        kind: Kind,
        /// What is wrong.
        reason: String,
    },
    /// Bytes are missing at its end, without which it cannot be read.
    #[error("`{path}` is {kind} of {of} bytes, of which only the first {bytes} are there; copy it again")]
    CutShort {
        /// The recording.
        path: PathBuf,
        /// What its first bytes are.
        kind: Kind,
        /// How many bytes there are.
        bytes: u64,
        /// How many the file says there are.
        of: u64,
    },
    /// Its first bytes are of a kind that is known but not read.
    #[error("`{path}` is {name}, which is not read; export it as one of {accepted}", accepted = Kind::ACCEPTED)]
    Foreign {
        /// The recording.
        path: PathBuf,
        /// What it is.
        name: &'static str,
    },
    /// It holds not one sample.
    #[error("`{path}` is {kind} with no sample of sound in it")]
    Empty {
        /// The recording.
        path: PathBuf,
        /// What its first bytes are.
        kind: Kind,
    },
}

impl NarrationError {
    fn of(path: &Path, kind: Kind, error: &Error) -> NarrationError {
        // A file that was cut is told of as that; what the reader stumbles over then depends on where.
        if let Some((bytes, of)) = whole::shortfall(path, kind) {
            return NarrationError::CutShort { path: path.into(), kind, bytes, of };
        }
        let path = path.into();
        match error {
            Error::Unsupported(what) => NarrationError::Unsupported { path, kind, what: (*what).to_owned() },
            Error::IoError(error) if error.kind() == io::ErrorKind::UnexpectedEof => {
                NarrationError::Damaged { path, kind, reason: "the file ends too early".to_owned() }
            }
            Error::IoError(error) => NarrationError::Damaged { path, kind, reason: error.to_string() },
            other => NarrationError::Damaged { path, kind, reason: other.to_string() },
        }
    }
}
