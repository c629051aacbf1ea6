//! A recording brought to a loudness, with its true peaks below a ceiling.

use super::limiter::Limiter;
use super::loudness::{Loudness, measure};
use super::{NarrationError, Recording};

/// How near the loudness must come, in LU: half of what EBU Tech 3341 lets a meter be off.
const NEAR: f64 = 0.05;

/// How often the gain is set anew. Each time the limiter takes away less than before of what was added.
const TRIES: usize = 4;

/// More than this, in dB, is not added to what the loudness alone would ask for: a limiter that takes so much away is
/// heard.
const MOST_REGAINED: f64 = 6.0;

/// The most that quiet recordings are raised by, in dB: beyond it there is only noise.
const MOST_GAIN: f64 = 60.0;

/// A gain and a ceiling.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levelling {
    /// In dB.
    pub gain: f64,
    /// In dBTP.
    pub ceiling: f64,
}

/// A recording made louder or softer.
#[derive(Clone, Debug)]
pub struct Levelled {
    /// The recording, whose samples are now the new ones.
    pub recording: Recording,
    /// What it was.
    pub before: Loudness,
    /// What it is.
    pub after: Loudness,
}

/// Brings a recording to `target` LUFS with true peaks at or below `ceiling` dBTP. `None` if it is too quiet to have a
/// loudness. Where the limiter would have to take too much away, it stays below the target; see [`Levelled::after`].
pub fn level(recording: &Recording, target: f64, ceiling: f64) -> Result<Option<Levelled>, NarrationError> {
    let before = measure(recording)?;
    let Some(integrated) = before.integrated else { return Ok(None) };
    let asked = (target - integrated).min(MOST_GAIN);
    let mut gain = asked;
    for _ in 1..TRIES {
        let levelled = recording.levelled(Levelling { gain, ceiling });
        let after = measure(&levelled)?;
        let missing = after.integrated.map_or(0.0, |got| target - got);
        let next = (gain + missing).min(asked + MOST_REGAINED).min(MOST_GAIN);
        if missing.abs() <= NEAR || (next - gain).abs() <= NEAR {
            return Ok(Some(Levelled { recording: levelled, before, after }));
        }
        gain = next;
    }
    let recording = recording.levelled(Levelling { gain, ceiling });
    let after = measure(&recording)?;
    Ok(Some(Levelled { recording, before, after }))
}

/// Blocks with a levelling: as long as they were, in step.
pub(super) struct Leveller {
    limiter: Limiter,
}

impl Leveller {
    pub(super) fn new(channels: usize, levelling: Levelling) -> Leveller {
        Leveller { limiter: Limiter::new(channels, levelling.gain, levelling.ceiling) }
    }

    /// One block of samples; the last few come with [`Leveller::finish`].
    pub(super) fn block(&mut self, samples: &[f32]) -> Vec<f32> {
        let mut out = Vec::with_capacity(samples.len());
        self.limiter.push(samples, &mut out);
        out
    }

    pub(super) fn finish(&mut self) -> Vec<f32> {
        let mut out = Vec::new();
        self.limiter.finish(&mut out);
        out
    }
}
