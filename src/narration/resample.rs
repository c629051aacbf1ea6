//! A recording's own rate → 48 kHz, block by block, with the filter's delay taken out and the length exact.

use super::RATE;
use crate::units::gcd;
use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Resampler as Filter};

/// Shortest filter, in samples of the slower rate. At 44.1 kHz it leaves everything below 21 kHz as it was; the
/// filter's delay costs nothing here, because it is taken out again.
const FILTER: usize = 2048;

/// Resamples interleaved sound: sample `n` that comes out is the sound at `n / 48000` s of what went in.
pub struct Resampler {
    /// `None` where the recording has 48 kHz already.
    filter: Option<Fft<f32>>,
    channels: usize,
    rate: u32,
    waiting: Vec<f32>,
    given: u64,
    /// Samples a channel that still come from before the start.
    delay: usize,
    made: u64,
}

impl Resampler {
    /// From `rate` Hz to 48 kHz.
    pub fn new(rate: u32, channels: usize) -> Result<Resampler, String> {
        let filter = if rate == RATE { None } else { Some(filter(rate, channels)?) };
        let delay = filter.as_ref().map_or(0, Filter::output_delay);
        Ok(Resampler { filter, channels, rate, waiting: Vec::new(), given: 0, delay, made: 0 })
    }

    /// Takes interleaved samples at the recording's rate and appends what is ready at 48 kHz to `out`.
    pub fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) -> Result<(), String> {
        self.given += (samples.len() / self.channels) as u64;
        let Some(filter) = &mut self.filter else {
            out.extend_from_slice(samples);
            self.made = self.given;
            return Ok(());
        };
        self.waiting.extend_from_slice(samples);
        let block = filter.input_frames_next() * self.channels;
        let whole = self.waiting.len() / block * block;
        for piece in self.waiting[..whole].chunks_exact(block) {
            let start = out.len();
            run(filter, piece, self.channels, out)?;
            let late = self.delay.min((out.len() - start) / self.channels);
            out.drain(start..start + late * self.channels);
            self.delay -= late;
            self.made += ((out.len() - start) / self.channels) as u64;
        }
        self.waiting.drain(..whole);
        Ok(())
    }

    /// Appends the rest, so that all that came out is [`resampled`] of all that went in.
    pub fn finish(&mut self, out: &mut Vec<f32>) -> Result<(), String> {
        let Some(filter) = &self.filter else { return Ok(()) };
        let silence = vec![0.0; filter.input_frames_next() * self.channels];
        let (given, wanted) = (self.given, resampled(self.given, self.rate));
        let before = out.len();
        let made = self.made;
        while self.made < wanted {
            self.push(&silence, out)?;
        }
        self.given = given;
        self.made = wanted;
        out.truncate(before + usize::try_from(wanted - made).unwrap_or(usize::MAX) * self.channels);
        Ok(())
    }
}

/// How many samples at 48 kHz stand for `samples` at `rate` Hz, to the nearest.
pub fn resampled(samples: u64, rate: u32) -> u64 {
    let scaled = (u128::from(samples) * u128::from(RATE) * 2 + u128::from(rate)) / (u128::from(rate) * 2);
    u64::try_from(scaled).unwrap_or(u64::MAX)
}

/// A filter whose two block lengths are even: only then is its delay, half a block, a whole number of samples.
fn filter(rate: u32, channels: usize) -> Result<Fft<f32>, String> {
    let divisor = gcd(rate, RATE);
    let (from, to) = ((rate / divisor) as usize, (RATE / divisor) as usize);
    let blocks = FILTER.div_ceil(from.min(to)).next_multiple_of(2);
    Fft::new(rate as usize, RATE as usize, from * blocks, channels, FixedSync::Both).map_err(|error| error.to_string())
}

fn run(filter: &mut Fft<f32>, piece: &[f32], channels: usize, out: &mut Vec<f32>) -> Result<(), String> {
    let (frames_in, frames_out) = (piece.len() / channels, filter.output_frames_next());
    let start = out.len();
    out.resize(start + frames_out * channels, 0.0);
    let input = InterleavedSlice::new(piece, channels, frames_in).map_err(|error| error.to_string())?;
    let mut output =
        InterleavedSlice::new_mut(&mut out[start..], channels, frames_out).map_err(|error| error.to_string())?;
    let (_, made) = filter.process_into_buffer(&input, &mut output, None).map_err(|error| error.to_string())?;
    out.truncate(start + made * channels);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tone is itself at the new rate, in phase, from the filter's first whole length to its last.
    #[test]
    fn a_tone_keeps_its_phase() {
        for rate in [8_000, 11_025, 22_050, 32_000, 44_100, 96_000, 192_000] {
            let tone = |n: usize, rate: u32| libm::sinf(2.0 * std::f32::consts::PI * 1000.0 * n as f32 / rate as f32);
            let seconds = 1;
            let input: Vec<f32> = (0..rate as usize * seconds).map(|n| tone(n, rate)).collect();
            let mut resampler = Resampler::new(rate, 1).unwrap();
            let mut out = Vec::new();
            for piece in input.chunks(777) {
                resampler.push(piece, &mut out).unwrap();
            }
            resampler.finish(&mut out).unwrap();
            assert_eq!(out.len(), 48_000 * seconds, "{rate}");
            // The filter reaches FILTER samples of the slower rate to each side.
            let edge = FILTER * (48_000 / rate.min(48_000)) as usize;
            let worst = (edge..out.len() - edge).map(|n| (out[n] - tone(n, 48_000)).abs()).fold(0.0, f32::max);
            assert!(worst < 1e-3, "{rate}: {worst}");
        }
    }

    #[test]
    fn lengths_are_exact() {
        for (rate, given) in [(44_100, 1), (44_100, 44_099), (8_000, 3), (96_000, 5), (22_050, 100_001), (48_000, 7)] {
            let mut resampler = Resampler::new(rate, 2).unwrap();
            let mut out = Vec::new();
            resampler.push(&vec![0.25; given * 2], &mut out).unwrap();
            resampler.finish(&mut out).unwrap();
            assert_eq!(out.len() as u64, resampled(given as u64, rate) * 2, "{rate} {given}");
        }
    }
}
