//! How loud a recording is: ITU-R BS.1770-4, EBU R 128, EBU Tech 3342 for the range.
//!
//! One channel is measured as it is heard, from both loudspeakers: 3 LU above what the channel alone would read.

use super::{NarrationError, RATE, Recording};
use ebur128::{Channel, EbuR128, Mode};

/// What is usual, in LUFS: what video hosts play at (louder is turned down by them), speech on the net (AES TD1004,
/// 2015), broadcast (EBU R 128).
pub const TARGETS: [(f64, &str); 3] = [(-14.0, "video hosts"), (-16.0, "speech on the net"), (-23.0, "broadcast")];

/// What is measured of a whole recording.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loudness {
    /// Integrated loudness in LUFS; `None` if nothing is above the absolute gate of −70 LUFS.
    pub integrated: Option<f64>,
    /// Loudness range in LU.
    pub range: f64,
    /// True peak of the loudest channel in dBTP, −∞ for silence.
    pub true_peak: f64,
}

/// A loudness meter.
pub struct Meter {
    meter: EbuR128,
    channels: u32,
}

impl Meter {
    /// A meter for interleaved samples of 1 or 2 channels at 48 kHz.
    pub fn new(channels: usize) -> Meter {
        assert!((1..=2).contains(&channels), "a recording has one or two channels here");
        let channels = channels as u32;
        let mut meter = EbuR128::new(channels, RATE, Mode::I | Mode::LRA | Mode::TRUE_PEAK)
            .expect("two channels at 48 kHz are within the meter's bounds");
        if channels == 1 {
            meter.set_channel(0, Channel::DualMono).expect("one channel may be heard twice");
        }
        Meter { meter, channels }
    }

    /// Hears interleaved samples; a sample that is no number is silence.
    pub fn hear(&mut self, samples: &[f32]) {
        let heard = if samples.iter().all(|sample| sample.is_finite()) {
            self.meter.add_frames_f32(samples)
        } else {
            let silenced: Vec<f32> = samples.iter().map(|s| if s.is_finite() { *s } else { 0.0 }).collect();
            self.meter.add_frames_f32(&silenced)
        };
        heard.expect("the samples are whole frames");
    }

    /// What all that was heard measures.
    pub fn read(&self) -> Loudness {
        let integrated = self.meter.loudness_global().ok().filter(|lufs| lufs.is_finite());
        let range = self.meter.loudness_range().unwrap_or(0.0);
        let peaks = (0..self.channels).filter_map(|channel| self.meter.true_peak(channel).ok());
        Loudness { integrated, range, true_peak: decibels(peaks.fold(0.0, f64::max)) }
    }
}

/// Measures a recording from beginning to end.
pub fn measure(recording: &Recording) -> Result<Loudness, NarrationError> {
    let mut meter = Meter::new(recording.channels());
    for block in recording.blocks()? {
        meter.hear(&block?);
    }
    Ok(meter.read())
}

/// A factor as decibels.
pub(super) fn decibels(factor: f64) -> f64 {
    20.0 * libm::log10(factor)
}

/// Decibels as a factor.
pub(super) fn factor(decibels: f64) -> f64 {
    libm::pow(10.0, decibels / 20.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A sine of 1 kHz, so many seconds at each peak level in dBFS, in phase in all channels.
    fn tone(channels: usize, parts: &[(f64, f64)]) -> Loudness {
        let mut meter = Meter::new(channels);
        let mut n = 0_u64;
        for &(seconds, level) in parts {
            let samples: Vec<f32> = (0..(seconds * 48_000.0) as u64)
                .flat_map(|_| {
                    n += 1;
                    let phase = std::f64::consts::TAU * (n % 48) as f64 / 48.0;
                    let sample = (factor(level) * libm::sin(phase)) as f32;
                    std::iter::repeat_n(sample, channels)
                })
                .collect();
            meter.hear(&samples);
        }
        meter.read()
    }

    /// EBU Tech 3341 (version 4, 2023), Table 1, cases 1 to 5: stereo, tolerance ±0.1 LU.
    #[test]
    fn the_minimum_requirements_of_tech_3341() {
        let cases: [(&[(f64, f64)], f64); 5] = [
            (&[(20.0, -23.0)], -23.0),
            (&[(20.0, -33.0)], -33.0),
            (&[(10.0, -36.0), (60.0, -23.0), (10.0, -36.0)], -23.0),
            (&[(10.0, -72.0), (10.0, -36.0), (60.0, -23.0), (10.0, -36.0), (10.0, -72.0)], -23.0),
            (&[(20.0, -26.0), (20.1, -20.0), (20.0, -26.0)], -23.0),
        ];
        for (number, (parts, expected)) in (1..).zip(cases) {
            let read = tone(2, parts).integrated.unwrap();
            assert!((read - expected).abs() <= 0.1, "case {number}: {read:.3} LUFS, expected {expected}");
        }
    }

    /// EBU Tech 3342 (version 4, 2023), Table 1, cases 1 and 2, from memory: the range of two levels is their distance, ±1.
    #[test]
    fn a_range_is_the_distance_of_two_levels() {
        for (parts, expected) in [([(20.0, -20.0), (20.0, -30.0)], 10.0), ([(20.0, -20.0), (20.0, -15.0)], 5.0)] {
            let read = tone(2, &parts).range;
            assert!((read - expected).abs() <= 1.0, "{read:.2} LU, expected {expected}");
        }
    }

    #[test]
    fn one_channel_is_heard_from_both_sides() {
        let (mono, stereo) = (tone(1, &[(5.0, -20.0)]), tone(2, &[(5.0, -20.0)]));
        assert!((mono.integrated.unwrap() - stereo.integrated.unwrap()).abs() < 0.001);
        assert!((mono.true_peak + 20.0).abs() < 0.1, "{}", mono.true_peak);
    }

    #[test]
    fn silence_has_no_loudness() {
        let mut meter = Meter::new(1);
        meter.hear(&vec![0.0; 48_000]);
        meter.hear(&[f32::NAN, f32::INFINITY]);
        let Loudness { integrated, true_peak, .. } = meter.read();
        assert_eq!((integrated, true_peak), (None, f64::NEG_INFINITY));
    }
}
