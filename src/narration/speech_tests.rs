//! Pauses in a generated voice, whose own are known to the sample.

#![allow(clippy::disallowed_methods)] // what is heard here is not bound to the last bit

use super::{Listener, Speech};
use crate::units::Time;
use std::f64::consts::{PI, TAU};
use std::time::Duration;

struct Noise(u64);

impl Noise {
    /// 0 to 1.
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.next()).sum::<f64>() - 6.0
    }
}

/// A formant: a resonance at a frequency with a bandwidth, both in Hz.
#[derive(Default)]
struct Formant(f64, f64);

impl Formant {
    fn of(&mut self, sample: f64, frequency: f64, bandwidth: f64) -> f64 {
        let r = (-PI * bandwidth / 48_000.0).exp();
        let out = sample * (1.0 - r) + 2.0 * r * (TAU * frequency / 48_000.0).cos() * self.0 - r * r * self.1;
        (self.1, self.0) = (self.0, out);
        out
    }
}

/// So many sentences of syllables (a hiss or a stop before some, then a vowel on a gliding pitch), with pauses of 0.3 to
/// 1.6 s between them; the samples, the pauses, and the power of the speech.
fn sentences(count: usize, noise: &mut Noise) -> (Vec<f64>, Vec<(f64, f64)>, f64) {
    let mut samples = vec![0.0; 24_000];
    let mut pauses = Vec::new();
    let (mut power, mut spoken) = (0.0, 0.0);
    for _ in 0..count {
        let start = samples.len();
        let loud = 0.25 + 0.5 * noise.next();
        let voice = 95.0 + 120.0 * noise.next();
        for _ in 0..4 + (noise.next() * 9.0) as usize {
            let onset = noise.next();
            if onset < 0.35 {
                let length = 2400 + (noise.next() * 3000.0) as usize;
                let mut last = 0.0;
                for n in 0..length {
                    let white = noise.normal();
                    samples
                        .push(0.06 * loud * (white - last) * (PI * (n as f64 + 300.0) / (length as f64 + 600.0)).sin());
                    last = white;
                }
            } else if onset < 0.55 {
                samples.extend(std::iter::repeat_n(0.0, 1900)); // 40 ms closed, which is no pause
                samples.extend((0..300).map(|n| 0.12 * loud * noise.normal() * (1.0 - n as f64 / 300.0)));
            }
            let length = 4800 + (noise.next() * 7000.0) as usize;
            let places = [300.0 + 500.0 * noise.next(), 900.0 + 1300.0 * noise.next(), 2600.0];
            let mut formants = [Formant::default(), Formant::default(), Formant::default()];
            let mut phase = 0.0_f64;
            for n in 0..length {
                let at = n as f64 / length as f64;
                phase += voice * (1.0 + 0.15 * (PI * at).cos()) / 48_000.0;
                let pulse = if phase >= 1.0 { 1.0 } else { 0.0 };
                phase = phase.fract();
                let mut out = 0.0;
                for (formant, (place, width)) in formants.iter_mut().zip(places.into_iter().zip([70.0, 90.0, 130.0])) {
                    out += formant.of(pulse, place, width);
                }
                let envelope = (PI * (at * 0.94 + 0.03)).sin().powf(0.6);
                samples.push(out * envelope * loud * 22.0);
            }
        }
        power += samples[start..].iter().map(|sample| sample * sample).sum::<f64>();
        spoken += (samples.len() - start) as f64;
        let pause = 0.3 + 1.3 * noise.next() * noise.next();
        pauses.push((samples.len() as f64 / 48_000.0, samples.len() as f64 / 48_000.0 + pause));
        samples.extend(std::iter::repeat_n(0.0, (pause * 48_000.0) as usize));
    }
    pauses.pop();
    (samples, pauses, power / spoken)
}

/// Pink noise with the mains' hum under it, at a signal to noise ratio in dB, rising by so many dB on the way.
fn room(samples: &mut [f64], power: f64, ratio: f64, rising: f64, noise: &mut Noise) {
    let mut b = [0.0; 3];
    let length = samples.len() as f64;
    let floor: Vec<f64> = (0..samples.len())
        .map(|n| {
            let white = noise.normal();
            b[0] = 0.99765 * b[0] + white * 0.099_046;
            b[1] = 0.963 * b[1] + white * 0.296_516_4;
            b[2] = 0.57 * b[2] + white * 1.052_691_3;
            let t = n as f64 / 48_000.0;
            let hum = 2.0 * (TAU * 50.0 * t).sin() + (TAU * 100.0 * t).sin() + 0.3 * (TAU * 150.0 * t).sin();
            (b.iter().sum::<f64>() + 0.1848 * white + hum) * 10_f64.powf(rising * n as f64 / length / 20.0)
        })
        .collect();
    let own = floor.iter().map(|sample| sample * sample).sum::<f64>() / length;
    let gain = (power / 10_f64.powf(ratio / 10.0) / own).sqrt();
    samples.iter_mut().zip(floor).for_each(|(sample, floor)| *sample += floor * gain);
}

/// A breath, or a click, in every pause that has room for it.
fn breaths(samples: &mut [f64], pauses: &[(f64, f64)], power: f64, level: f64, noise: &mut Noise) {
    for (number, (start, end)) in pauses.iter().enumerate().filter(|(_, (start, end))| end - start > 0.55) {
        let at = ((start + 0.12 + 0.1 * noise.next()) * 48_000.0) as usize;
        let (length, loud) = if number % 3 < 2 { ((end - start - 0.3) * 48_000.0, level) } else { (240.0, 0.0) };
        let height = power.sqrt() * 10_f64.powf(loud / 20.0);
        for n in 0..length.min(16_000.0) as usize {
            samples[at + n] += height * noise.normal() * (PI * n as f64 / length.min(16_000.0)).sin();
        }
    }
}

fn listened(samples: &[f64]) -> Speech {
    let mut listener = Listener::default();
    for part in samples.chunks(10_007) {
        listener.hear(&part.iter().map(|sample| *sample as f32).collect::<Vec<_>>(), 1);
    }
    listener.finish()
}

/// Precision and recall of the pauses' beginnings, within 80 ms.
fn score(speech: &Speech, pauses: &[(f64, f64)]) -> (f64, f64) {
    let found: Vec<f64> =
        speech.pauses(Duration::from_millis(220)).iter().map(|pause| pause.start.as_secs_f64()).collect();
    let met = |truth: &&(f64, f64)| found.iter().any(|found| (found - truth.0).abs() <= 0.08);
    let right = |found: &&f64| pauses.iter().any(|(start, _)| (*found - start).abs() <= 0.08);
    (
        found.iter().filter(right).count() as f64 / found.len().max(1) as f64,
        pauses.iter().filter(met).count() as f64 / pauses.len() as f64,
    )
}

#[test]
fn pauses_are_found_in_hum_drift_and_breath() {
    let noise = &mut Noise(88_172_645_463_325_252);
    let (clean, pauses, power) = sentences(24, noise);
    for (name, ratio, rising, breath) in [
        ("clean", 80.0, 0.0, None),
        ("25 dB, hum, breaths at -20 dB", 25.0, 0.0, Some(-20.0)),
        ("25 dB, hum, breaths at -12 dB", 25.0, 0.0, Some(-12.0)),
        ("30 dB, rising by 10 dB, breaths at -15 dB", 30.0, 10.0, Some(-15.0)),
    ] {
        let mut samples = clean.clone();
        if let Some(level) = breath {
            breaths(&mut samples, &pauses, power, level, noise);
        }
        room(&mut samples, power, ratio, rising, noise);
        let (precision, recall) = score(&listened(&samples), &pauses);
        println!("{name}: precision {precision:.3}, recall {recall:.3} of {}", pauses.len());
        assert!(precision >= 0.95 && recall >= 0.95, "{name}: precision {precision:.3}, recall {recall:.3}");
    }
}

#[test]
fn nothing_and_noise_are_not_speech() {
    assert_eq!(listened(&[]).runs(), []);
    assert_eq!(listened(&vec![0.0; 100_000]).runs(), []);
    let noise = &mut Noise(7);
    let hiss: Vec<f64> = (0..96_000).map(|_| 0.1 * noise.normal()).collect();
    assert_eq!(listened(&hiss).runs(), []);
}

#[test]
fn the_nearest_onset_within_reach() {
    let ms = Time::from_millis;
    let speech = Speech::of_runs(vec![ms(1000)..ms(2000), ms(2500)..ms(2600)]);
    let near = |at: i64, reach: u64| speech.onset_near(ms(at), Duration::from_millis(reach));
    assert_eq!(near(900, 200), Some(ms(1000)));
    assert_eq!(near(1800, 900), Some(ms(2500)));
    assert_eq!(near(1600, 500), None);
    assert_eq!(Speech::default().onset_near(ms(5), Duration::MAX), None);
    assert_eq!(speech.pauses(Duration::from_millis(500)), [ms(2000)..ms(2500)]);
}
