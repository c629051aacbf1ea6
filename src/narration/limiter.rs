//! A gain, and below it a limiter that looks ahead: no true peak passes the ceiling, and nothing is clipped.
//!
//! The gain that each sample allows is held for the length of the look-ahead, let go slowly, and smoothed over the same
//! length, so that it is down in time and never bends sharply. What comes out is as long as what goes in, and in step.

use super::loudness::factor;
use std::collections::VecDeque;

/// How far it looks ahead, in samples at 48 kHz: 5 ms, half before and half after a peak's fall and rise.
const AHEAD: usize = 240;

/// Each of two moving means that smooth the gain; together as long as the look-ahead.
const MEAN: usize = AHEAD / 2;

/// How much of its distance to 1 the gain goes back each sample once peaks are over: a time constant of 100 ms, long
/// against the periods of a voice.
const RELEASE: f64 = 1.0 / 4800.0;

/// Between two samples the signal is reckoned at so many points; BS.1770-4 Annex 2 asks for four times the rate.
const PHASES: usize = 4;

/// Samples on either side that a point between is reckoned from.
const REACH: usize = 12;

/// The same for the meters in use: a shorter sinc, that of the reference implementations of EBU R 128.
const METER_REACH: usize = 6;

/// What points between samples may be above the highest sample near them, for a sinc of this reach: no more than the
/// sum of its taps' sizes. Where samples are lower by this, nothing needs to be reckoned.
const OVERSHOOT: f32 = 2.4;

/// What is kept free below the ceiling, in dB: a gain in motion moves the peaks a little.
const MARGIN: f64 = 0.1;

/// Interleaved samples in, interleaved samples out.
pub(super) struct Limiter {
    channels: usize,
    gain: f32,
    ceiling: f64,
    /// Points between samples are reckoned in two ways, and the higher counts: on noise up to half the rate meters of
    /// short reach read a quarter of a dB more than there is.
    taps: [[[f32; 2 * REACH]; PHASES - 1]; 2],
    /// Samples with their gain, the newest at the end; those at the front have gone out.
    samples: Vec<f32>,
    /// For so many frames yet a point between samples may pass the ceiling.
    loud: usize,
    /// The highest point between the last sample whose gain was found and the next.
    between: f32,
    /// What the samples of the look-ahead allow, each with its number: lowest at the front, and rising.
    allowed: VecDeque<(u64, f64)>,
    held: f64,
    means: [Mean; 2],
    /// Frames that came in, frames that were put in, with the silence behind them, frames whose gain was found, and
    /// frames that went out.
    heard: u64,
    fed: u64,
    found: u64,
    out: u64,
}

impl Limiter {
    /// A gain in dB and a ceiling in dBTP.
    pub(super) fn new(channels: usize, gain: f64, ceiling: f64) -> Limiter {
        Limiter {
            channels,
            gain: factor(gain) as f32,
            ceiling: factor(ceiling - MARGIN),
            taps: [taps(), meter_taps()],
            // What is before the first sample is silence.
            samples: vec![0.0; REACH * channels],
            loud: 0,
            between: 0.0,
            allowed: VecDeque::new(),
            held: 1.0,
            means: [Mean::new(), Mean::new()],
            heard: 0,
            fed: 0,
            found: 0,
            out: 0,
        }
    }

    /// Takes samples and gives those that are due.
    pub(super) fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        for frame in samples.chunks_exact(self.channels) {
            for sample in frame {
                // A sample that is no number would stay in every sum.
                let louder = if sample.is_finite() { sample * self.gain } else { 0.0 };
                if f64::from(louder.abs() * OVERSHOOT) > self.ceiling {
                    self.loud = 2 * REACH;
                }
                self.samples.push(louder);
            }
            self.heard += 1;
            self.feed(out);
        }
    }

    /// Gives what is still inside: as many samples as came in have then gone out.
    pub(super) fn finish(&mut self, out: &mut Vec<f32>) {
        while self.out < self.heard {
            self.samples.extend(std::iter::repeat_n(0.0, self.channels));
            self.feed(out);
        }
    }

    /// One frame more is there: the one [`REACH`] before it has all its neighbours.
    fn feed(&mut self, out: &mut Vec<f32>) {
        self.fed += 1;
        if self.fed > REACH as u64 {
            let allowed = self.allow();
            self.settle(allowed, out);
        }
        self.loud = self.loud.saturating_sub(1);
        // What is still looked at: the neighbours of the next sample, and all that has not gone out.
        let kept = (AHEAD + 2 * REACH) * self.channels;
        if self.samples.len() > 64 * kept {
            let gone = self.samples.len() - kept;
            self.samples.drain(..gone);
        }
    }

    /// The gain that the frame [`REACH`] before the newest allows.
    fn allow(&mut self) -> f64 {
        let near = &self.samples[self.samples.len() - 2 * REACH * self.channels..];
        let own = &near[(REACH - 1) * self.channels..REACH * self.channels];
        let mut peak = own.iter().fold(self.between, |peak, sample| peak.max(sample.abs()));
        let mut after = 0.0_f32;
        if self.loud > 0 {
            for channel in 0..self.channels {
                for taps in self.taps.as_flattened() {
                    let samples = near[channel..].iter().step_by(self.channels);
                    let point: f32 = taps.iter().zip(samples).map(|(tap, sample)| tap * sample).sum();
                    after = after.max(point.abs());
                }
            }
        }
        peak = peak.max(after);
        self.between = after;
        if f64::from(peak) > self.ceiling { self.ceiling / f64::from(peak) } else { 1.0 }
    }

    /// Takes the gain that the next frame allows, and lets the frame out that has now been seen far enough ahead.
    fn settle(&mut self, allowed: f64, out: &mut Vec<f32>) {
        while self.allowed.back().is_some_and(|(_, gain)| *gain >= allowed) {
            self.allowed.pop_back();
        }
        self.allowed.push_back((self.found, allowed));
        while self.allowed.front().is_some_and(|(number, _)| number + AHEAD as u64 <= self.found) {
            self.allowed.pop_front();
        }
        self.found += 1;
        let lowest = self.allowed.front().map_or(1.0, |(_, gain)| *gain);
        self.held = lowest.min(self.held + (1.0 - self.held) * RELEASE);
        let [first, second] = &mut self.means;
        let smooth = second.of(first.of(self.held)) as f32;
        // Every mean since the frame `AHEAD - 1` before this one has held what that frame allows.
        if self.found >= AHEAD as u64 {
            let behind = (AHEAD + REACH) * self.channels;
            let start = self.samples.len() - behind;
            out.extend(self.samples[start..start + self.channels].iter().map(|sample| sample * smooth));
            self.out += 1;
        }
    }
}

/// A moving mean of the last [`MEAN`] values, 1 before the first. Sums of whole numbers, so that nothing drifts.
struct Mean {
    last: VecDeque<i64>,
    sum: i64,
}

impl Mean {
    /// Units of one.
    const ONE: f64 = 1_099_511_627_776.0; // 2^40

    fn new() -> Mean {
        let one = Mean::ONE as i64;
        Mean { last: std::iter::repeat_n(one, MEAN).collect(), sum: one * MEAN as i64 }
    }

    fn of(&mut self, value: f64) -> f64 {
        let value = (value * Mean::ONE) as i64;
        self.sum += value - self.last.pop_front().unwrap_or(0);
        self.last.push_back(value);
        self.sum as f64 / (Mean::ONE * MEAN as f64)
    }
}

/// The taps for the points a quarter, a half and three quarters of the way to the next sample: a sinc under a raised
/// cosine, each set's sum exactly 1.
fn taps() -> [[f32; 2 * REACH]; PHASES - 1] {
    let mut sets = [[0.0; 2 * REACH]; PHASES - 1];
    for (phase, set) in (1..).zip(&mut sets) {
        let offset = f64::from(phase) / PHASES as f64;
        let mut exact = [0.0; 2 * REACH];
        for (tap, weight) in exact.iter_mut().enumerate() {
            let distance = std::f64::consts::PI * (tap as f64 - (REACH as f64 - 1.0) - offset);
            let window = 0.5 + 0.5 * libm::cos(distance / (REACH as f64 + 0.5));
            *weight = libm::sin(distance) / distance * window;
        }
        let sum: f64 = exact.iter().sum();
        for (tap, weight) in set.iter_mut().zip(exact) {
            *tap = (weight / sum) as f32;
        }
    }
    sets
}

/// The taps of a usual meter: a sinc of [`METER_REACH`] under a Hann window, as it is.
fn meter_taps() -> [[f32; 2 * REACH]; PHASES - 1] {
    let mut sets = [[0.0; 2 * REACH]; PHASES - 1];
    for (phase, set) in (1..).zip(&mut sets) {
        let offset = f64::from(phase) / PHASES as f64;
        for (tap, weight) in set.iter_mut().enumerate() {
            let distance = tap as f64 - (REACH as f64 - 1.0) - offset;
            if distance.abs() < METER_REACH as f64 {
                let angle = std::f64::consts::PI * distance;
                let window = 0.5 + 0.5 * libm::cos(angle / METER_REACH as f64);
                *weight = (libm::sin(angle) / angle * window) as f32;
            }
        }
    }
    sets
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::narration::loudness::Meter;
    use proptest::prelude::*;

    fn limited(channels: usize, gain: f64, ceiling: f64, samples: &[f32]) -> Vec<f32> {
        let mut limiter = Limiter::new(channels, gain, ceiling);
        let mut out = Vec::new();
        for part in samples.chunks(channels * 777) {
            limiter.push(part, &mut out);
        }
        limiter.finish(&mut out);
        out
    }

    fn peak(channels: usize, samples: &[f32]) -> f64 {
        let mut meter = Meter::new(channels);
        meter.hear(samples);
        meter.hear(&vec![0.0; 4800 * channels]);
        meter.read().true_peak
    }

    #[test]
    fn what_stays_below_the_ceiling_is_only_made_louder() {
        let quiet: Vec<f32> = (0..4000).map(|n| 0.1 * libm::sinf((n * n) as f32 * 0.001)).collect();
        let out = limited(1, 6.0, -1.0, &quiet);
        assert_eq!(out.len(), quiet.len());
        let gain = factor(6.0) as f32;
        assert!(quiet.iter().zip(&out).all(|(before, after)| (before * gain - after).abs() < 1e-6), "in step");
    }

    #[test]
    fn peaks_between_samples_count() {
        // A sine at a quarter of the rate, sampled at 45°: every sample is 3 dB below the peak between them.
        let sine: Vec<f32> = (0..48_000).map(|n| [0.7, 0.7, -0.7, -0.7][n % 4]).collect();
        assert!(peak(1, &sine) > -0.2, "{}", peak(1, &sine));
        let held = peak(1, &limited(1, 3.0, -1.0, &sine));
        assert!((-1.4..=-0.95).contains(&held), "{held}");
    }

    #[test]
    fn a_meter_of_short_reach_is_content_too() {
        // 32 samples of noise, on which it reads 0.25 dB more than there is.
        let mut samples = vec![0.0_f32; 9000];
        let mut state = 599_u32;
        for sample in &mut samples[598..630] {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            *sample = 1.453_897_5 * ((state >> 8) as f32 / 8_388_608.0 - 1.0);
        }
        let held = peak(1, &limited(1, 0.0, 0.0, &samples));
        assert!((-0.2..=0.0).contains(&held), "{held}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]
        /// Bursts of noise, steps and single full samples, however loud: the ceiling holds, the length stays.
        #[test]
        fn no_true_peak_passes(
            bursts in proptest::collection::vec((0_usize..9000, 1_usize..900, -1.5_f32..1.5, 0_u32..4), 1..12),
            gain in -6.0..30.0_f64,
            ceiling in -9.0..0.0_f64,
            channels in 1_usize..=2,
        ) {
            let mut samples = vec![0.0_f32; 9000 * channels];
            for (at, length, height, kind) in bursts {
                let mut state = at as u32 | 1;
                for n in at..(at + length).min(9000) {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    let noise = (state >> 8) as f32 / 8_388_608.0 - 1.0;
                    samples[n * channels + (at % channels)] += match kind {
                        0 => height * noise,
                        1 => height,
                        2 => height * if n % 4 < 2 { 1.0 } else { -1.0 },
                        _ => if n == at { height } else { 0.0 },
                    };
                }
            }
            let out = limited(channels, gain, ceiling, &samples);
            prop_assert_eq!(out.len(), samples.len());
            let held = peak(channels, &out);
            prop_assert!(held <= ceiling + 0.05, "{} above {}", held, ceiling);
        }
    }
}
