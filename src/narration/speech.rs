//! Where a recording speaks and where it pauses.
//!
//! Comes in: samples. Goes out: [`Speech`], the stretches in which somebody speaks, to 10 ms. Level alone tells speech
//! from silence, above a floor that follows the room; what is loud but has no voiced sound in it, a breath, a click,
//! a chair, is no speech. Voicedness is read from the autocorrelation, of which that of the quiet frames is taken off
//! first: a hum has one too, and sounds that have nothing to do with each other add up in it.

use super::{NarrationError, RATE, Recording};
use crate::units::Time;
use std::ops::Range;

/// Samples from one frame to the next: 10 ms.
const HOP: usize = 480;
/// The rate at which voicedness is looked for is this many times lower: 4 kHz holds the lower formants.
const COARSE: usize = 12;
/// Samples a frame's autocorrelation looks at, at the coarse rate: 40 ms, three periods of the lowest voice.
const WINDOW: usize = 160;
/// Periods of voices at the coarse rate: 400 Hz down to 80 Hz.
const PERIODS: Range<usize> = 10..51;
/// Frames on either side among which the floor is sought: 10 s, longer than anyone speaks without a breath.
const AROUND: usize = 1000;
/// Frames from one floor to the next.
const FLOOR_STEP: usize = 100;
/// A frame is voiced from this share of its energy in its period on. Noise of this bandwidth reaches 0.4.
const VOICED: f32 = 0.5;
/// So many frames in a row make voice: 30 ms.
const VOICED_RUN: usize = 3;
/// Speech before its first voiced sound and after its last lasts no longer than this, in frames: an `s` with its stop.
const UNVOICED: usize = 25;
/// Sounds shorter than this are clicks, gaps shorter than this are stops within a word, both in frames.
const SHORT: usize = 6;

/// The stretches of speech in a recording, in order, parted by silence.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Speech {
    runs: Vec<Range<Time>>,
}

impl Speech {
    /// Listens to a recording.
    pub fn heard(recording: &Recording) -> Result<Speech, NarrationError> {
        let channels = recording.channels();
        let mut listener = Listener::default();
        for block in recording.blocks()? {
            listener.hear(&block?, channels);
        }
        Ok(listener.finish())
    }

    /// Speech whose stretches are known.
    pub fn of_runs(mut runs: Vec<Range<Time>>) -> Speech {
        runs.retain(|run| run.start < run.end);
        runs.sort_by_key(|run| run.start);
        Speech { runs }
    }

    /// The stretches.
    pub fn runs(&self) -> &[Range<Time>] {
        &self.runs
    }

    /// The pauses between stretches that last at least `shortest`.
    pub fn pauses(&self, shortest: std::time::Duration) -> Vec<Range<Time>> {
        let between = self.runs.windows(2).map(|pair| pair[0].end..pair[1].start);
        between.filter(|pause| pause.end.since(pause.start) >= shortest).collect()
    }

    /// The beginning of speech nearest to `time`, if there is one within `reach` of it.
    pub fn onset_near(&self, time: Time, reach: std::time::Duration) -> Option<Time> {
        let after = self.runs.partition_point(|run| run.start < time);
        let near = [after.checked_sub(1), Some(after)].into_iter().flatten().filter_map(|index| self.runs.get(index));
        let apart = |onset: Time| onset.since(time).max(time.since(onset));
        near.map(|run| run.start).filter(|onset| apart(*onset) <= reach).min_by_key(|onset| apart(*onset))
    }
}

/// Hears samples and keeps two numbers and an autocorrelation for each frame.
#[derive(Default)]
pub struct Listener {
    high: [HighPass; 2],
    low: [LowPass; 2],
    /// Mono samples of the frame that is not whole yet.
    frame: Vec<f32>,
    /// The last samples at the coarse rate.
    coarse: Vec<f32>,
    /// Each frame's level above the hum, in dB.
    levels: Vec<f32>,
    /// Each frame's autocorrelation: at 0, then at every period.
    echoes: Vec<[Short; 1 + PERIODS.end - PERIODS.start]>,
}

/// The upper half of an `f32`: eight binary digits are far more than voicedness is told by, and there are forty of them
/// for every 10 ms of a recording.
#[derive(Clone, Copy, Default)]
struct Short(u16);

impl Short {
    fn of(value: f32) -> Short {
        // To the nearest; no sum of squares of sound comes near the greatest number.
        Short(((value.to_bits().saturating_add(0x8000)) >> 16) as u16)
    }

    fn value(self) -> f32 {
        f32::from_bits(u32::from(self.0) << 16)
    }
}

impl Listener {
    /// Hears interleaved samples at 48 kHz.
    pub fn hear(&mut self, samples: &[f32], channels: usize) {
        for frame in samples.chunks_exact(channels.max(1)) {
            let mono: f32 = frame.iter().sum::<f32>() / channels as f32;
            self.frame.push(if mono.is_finite() { mono } else { 0.0 });
            if self.frame.len() == HOP {
                self.take();
            }
        }
    }

    fn take(&mut self) {
        let mut energy = 0.0_f64;
        for (n, sample) in std::mem::take(&mut self.frame).into_iter().enumerate() {
            let high = self.high.iter_mut().fold(sample, |sample, filter| filter.of(sample));
            energy += f64::from(high * high);
            let low = self.low.iter_mut().fold(high, |sample, filter| filter.of(sample));
            if n % COARSE == 0 {
                self.coarse.push(low);
            }
        }
        self.levels.push((10.0 * libm::log10(energy / HOP as f64 + 1e-12)) as f32);
        let kept = WINDOW + PERIODS.end;
        let gone = self.coarse.len().saturating_sub(kept);
        self.coarse.drain(..gone);
        let mut echo = [0.0; 1 + PERIODS.end - PERIODS.start];
        if self.coarse.len() == kept {
            // Twice the energy of both stretches' mean would be 1 for a perfect period: kept as it is, so that it adds up.
            let new = &self.coarse[kept - WINDOW..];
            echo[0] = new.iter().map(|sample| sample * sample).sum();
            for (slot, period) in echo[1..].iter_mut().zip(PERIODS) {
                let old = &self.coarse[kept - WINDOW - period..kept - period];
                *slot = new.iter().zip(old).map(|(new, old)| new * old).sum();
            }
        }
        self.echoes.push(echo.map(Short::of));
    }

    /// What was heard.
    pub fn finish(self) -> Speech {
        let loud = loud(&self.levels);
        let voiced = voiced(&self.echoes, &self.levels);
        let runs = spoken(&loud, &voiced, &self.levels);
        let time = |frame: usize| Time::from_millis(frame as i64 * 10);
        Speech { runs: runs.into_iter().map(|run| time(run.start)..time(run.end)).collect() }
    }
}

/// Frames above the floor, with two thresholds, so that a level that wavers does not.
fn loud(levels: &[f32]) -> Vec<bool> {
    let speech = percentile(levels, 0.9);
    let floors: Vec<f32> = (0..levels.len())
        .step_by(FLOOR_STEP)
        .map(|at| percentile(&levels[at.saturating_sub(AROUND)..(at + AROUND).min(levels.len())], 0.05))
        .collect();
    let mut on = false;
    let mut loud = vec![false; levels.len()];
    for (frame, level) in levels.iter().enumerate() {
        // 55 dB below speech nothing is heard, however silent the room; below 6 dB nothing can be told apart.
        let floor = floors[frame / FLOOR_STEP].max(speech - 55.0);
        let range = (speech - floor).max(6.0);
        let (rise, fall) = ((0.3 * range).clamp(4.0, 14.0), (0.2 * range).clamp(2.5, 9.0));
        on = *level > floor + if on { fall } else { rise };
        loud[frame] = on;
        // What led up to a rise belongs to it: 150 ms at most.
        if on && frame > 0 && !loud[frame - 1] {
            let mut back = frame;
            while back > 0 && frame - back < 15 && levels[back - 1] > floor + fall {
                back -= 1;
                loud[back] = true;
            }
        }
    }
    loud
}

/// Frames with a period, in runs.
fn voiced<const N: usize>(echoes: &[[Short; N]], levels: &[f32]) -> Vec<bool> {
    // What is always there: the mean of the quietest fifth.
    let quiet = percentile(levels, 0.2);
    let mut always = [0.0_f64; N];
    let mut count = 0.0_f64;
    for (echo, _) in echoes.iter().zip(levels).filter(|(_, level)| **level <= quiet) {
        count += 1.0;
        for (sum, value) in always.iter_mut().zip(echo) {
            *sum += f64::from(value.value());
        }
    }
    let always = always.map(|sum| (sum / count.max(1.0)) as f32);
    let mut voiced: Vec<bool> = echoes
        .iter()
        .map(|echo| {
            let echo = echo.map(Short::value);
            let own = echo[0] - always[0];
            let best = echo[1..].iter().zip(&always[1..]).map(|(echo, always)| echo - always).fold(0.0, f32::max);
            own > always[0] && best > VOICED * own
        })
        .collect();
    for run in runs(&voiced) {
        if run.len() < VOICED_RUN {
            voiced[run].fill(false);
        }
    }
    voiced
}

/// Loud stretches with voice in them, without what a breath has added before or behind.
fn spoken(loud: &[bool], voiced: &[bool], levels: &[f32]) -> Vec<Range<usize>> {
    let mut spoken = Vec::new();
    for run in joined(runs(loud), SHORT) {
        let mut part: Option<Range<usize>> = None;
        let voices = runs(&voiced[run.clone()]).into_iter().map(|voice| run.start + voice.start..run.start + voice.end);
        for voice in voices {
            match &mut part {
                Some(part) if voice.start - part.end <= UNVOICED + SHORT => part.end = voice.end,
                _ => {
                    spoken.extend(part.take().map(|part| edged(part, &run, levels)));
                    part = Some(voice);
                }
            }
        }
        spoken.extend(part.map(|part| edged(part, &run, levels)));
    }
    let mut spoken = joined(spoken, SHORT);
    spoken.retain(|run| run.len() >= SHORT);
    spoken
}

/// From the first voiced frame to the last, with the unvoiced sounds that belong to them: all of the run where that is
/// short, else what is no softer than 18 dB below the voice.
fn edged(part: Range<usize>, run: &Range<usize>, levels: &[f32]) -> Range<usize> {
    let softest = percentile(&levels[part.clone()], 0.5) - 18.0;
    let before = if part.start - run.start <= UNVOICED {
        part.start - run.start
    } else {
        levels[run.start..part.start].iter().rev().take(UNVOICED).take_while(|level| **level > softest).count()
    };
    let after = if run.end - part.end <= UNVOICED {
        run.end - part.end
    } else {
        levels[part.end..run.end].iter().take(UNVOICED).take_while(|level| **level > softest).count()
    };
    part.start - before..part.end + after
}

/// The stretches of `true`.
fn runs(mask: &[bool]) -> Vec<Range<usize>> {
    let mut runs: Vec<Range<usize>> = Vec::new();
    for frame in (0..mask.len()).filter(|frame| mask[*frame]) {
        match runs.last_mut() {
            Some(run) if run.end == frame => run.end = frame + 1,
            _ => runs.push(frame..frame + 1),
        }
    }
    runs
}

/// Runs whose gap is shorter than `gap` as one.
fn joined(runs: Vec<Range<usize>>, gap: usize) -> Vec<Range<usize>> {
    let mut joined: Vec<Range<usize>> = Vec::new();
    for run in runs {
        match joined.last_mut() {
            Some(last) if run.start < last.end + gap => last.end = run.end.max(last.end),
            _ => joined.push(run),
        }
    }
    joined
}

fn percentile(values: &[f32], share: f64) -> f32 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f32::total_cmp);
    let at = (sorted.len().saturating_sub(1) as f64 * share) as usize;
    sorted.get(at).copied().unwrap_or(-120.0)
}

/// Second-order high-pass at 170 Hz (Butterworth, bilinear transform): twice of it takes 100 Hz down by 19 dB, the mains'
/// first two tones, and leaves the second harmonic of every voice.
#[derive(Default)]
struct HighPass(Biquad);

impl HighPass {
    fn of(&mut self, sample: f32) -> f32 {
        const CUT: f64 = 170.0;
        self.0.of(sample, CUT, |cosine| [f64::midpoint(1.0, cosine), -(1.0 + cosine), f64::midpoint(1.0, cosine)])
    }
}

/// Second-order low-pass at 1.2 kHz, ahead of the coarse rate.
#[derive(Default)]
struct LowPass(Biquad);

impl LowPass {
    fn of(&mut self, sample: f32) -> f32 {
        const CUT: f64 = 1200.0;
        self.0.of(sample, CUT, |cosine| [(1.0 - cosine) / 2.0, 1.0 - cosine, (1.0 - cosine) / 2.0])
    }
}

/// A second-order section in transposed direct form.
#[derive(Default)]
struct Biquad {
    coefficients: Option<[f64; 5]>,
    state: [f64; 2],
}

impl Biquad {
    fn of(&mut self, sample: f32, cut: f64, zeros: fn(f64) -> [f64; 3]) -> f32 {
        let [b0, b1, b2, a1, a2] = *self.coefficients.get_or_insert_with(|| {
            let angle = std::f64::consts::TAU * cut / f64::from(RATE);
            let (sine, cosine) = (libm::sin(angle), libm::cos(angle));
            let alpha = sine / std::f64::consts::SQRT_2;
            let a0 = 1.0 + alpha;
            let [b0, b1, b2] = zeros(cosine);
            [b0 / a0, b1 / a0, b2 / a0, -2.0 * cosine / a0, (1.0 - alpha) / a0]
        });
        let sample = f64::from(sample);
        let out = b0 * sample + self.state[0];
        self.state[0] = b1 * sample - a1 * out + self.state[1];
        self.state[1] = b2 * sample - a2 * out;
        out as f32
    }
}

#[cfg(test)]
#[path = "speech_tests.rs"]
mod tests;
