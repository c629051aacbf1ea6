//! The outside judge of sound and containers: `ffmpeg` and `ffprobe`, run as processes.

#![allow(dead_code)] // each test file uses its own part

use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

/// Runs `program` with `input` on its standard input; standard output, and what it said on standard error.
pub fn run(program: &str, args: &[&str], input: &[u8]) -> (Vec<u8>, String) {
    let mut child = Command::new(program)
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("these tests need `{program}`: {error}"));
    let mut stdin = child.stdin.take().unwrap();
    let input = input.to_vec();
    let feeder = std::thread::spawn(move || {
        // A program that has enough closes its end; what it then says is judged below.
        let _ = stdin.write_all(&input);
    });
    let output = child.wait_with_output().unwrap();
    feeder.join().unwrap();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{program} {args:?} failed: {said}");
    (output.stdout, said)
}

/// `ffmpeg` with only errors spoken.
pub fn ffmpeg(args: &[&str], input: &[u8]) -> (Vec<u8>, String) {
    let mut all = vec!["-hide_banner", "-nostdin", "-loglevel", "warning", "-y"];
    all.retain(|arg| input.is_empty() || *arg != "-nostdin");
    all.extend(args);
    run("ffmpeg", &all, input)
}

/// A file's sound as `ffmpeg` decodes it: interleaved samples at `rate`.
pub fn decoded(path: &Path, rate: u32, channels: usize) -> Vec<f32> {
    let (bytes, _) = ffmpeg(
        &[
            "-i",
            path.to_str().unwrap(),
            "-vn",
            "-f",
            "f32le",
            "-ac",
            &channels.to_string(),
            "-ar",
            &rate.to_string(),
            "-",
        ],
        &[],
    );
    bytes.chunks_exact(4).map(|b| f32::from_le_bytes(b.try_into().unwrap())).collect()
}

/// Codes interleaved samples into `path` with ffmpeg's own choice of container.
pub fn coded(path: &Path, samples: &[f32], rate: u32, channels: usize, options: &[&str]) {
    let bytes: Vec<u8> = samples.iter().flat_map(|s| s.to_le_bytes()).collect();
    let (rate, channels) = (rate.to_string(), channels.to_string());
    let mut args = vec!["-f", "f32le", "-ar", &rate, "-ac", &channels, "-i", "pipe:0", "-bitexact"];
    args.extend(options);
    args.push(path.to_str().unwrap());
    ffmpeg(&args, &bytes);
}

/// A sweep from 100 Hz to a third of the rate with clicks in it, every channel somewhat different.
pub fn sweep(seconds: f64, rate: u32, channels: usize) -> Vec<f32> {
    let frames = (seconds * f64::from(rate)) as usize;
    let top = f64::from(rate.min(48_000)) / 3.0;
    let mut samples = Vec::with_capacity(frames * channels);
    for n in 0..frames {
        let t = n as f64 / f64::from(rate);
        for c in 0..channels {
            let phase = std::f64::consts::TAU * (100.0 * t + (top - 100.0) * t * t / (2.0 * seconds)) + c as f64;
            let tone = libm::sin(phase) * 0.4 / (1.0 + c as f64 * 0.2);
            // A click every 0.37 s, half a millisecond long, so that every delay has one answer only.
            let click = if (t % 0.37) < 0.0005 { 0.4 } else { 0.0 };
            samples.push((tone + click) as f32);
        }
    }
    samples
}

/// How many samples `b` comes later than `a` where they agree best, looked for within `reach` samples; first channel.
pub fn delay(a: &[f32], b: &[f32], channels: usize, reach: i64) -> i64 {
    let (a, b): (Vec<f32>, Vec<f32>) =
        (a.iter().step_by(channels).copied().collect(), b.iter().step_by(channels).copied().collect());
    let agreement = |shift: i64| -> f64 {
        (0..a.len().min(30_000) as i64)
            .filter_map(|n| Some(f64::from(a[n as usize]) * f64::from(*b.get(usize::try_from(n + shift).ok()?)?)))
            .sum()
    };
    (-reach..=reach).max_by(|&x, &y| agreement(x).total_cmp(&agreement(y))).unwrap()
}

/// Signal to noise in dB of `b` against `a`, over what both have.
pub fn snr(a: &[f32], b: &[f32]) -> f64 {
    let (mut signal, mut noise) = (0.0, 1e-30);
    for (x, y) in a.iter().zip(b) {
        signal += f64::from(*x) * f64::from(*x);
        noise += f64::from(x - y) * f64::from(x - y);
    }
    10.0 * libm::log10(signal / noise)
}

/// A recording's loudness by `ffmpeg`'s own EBU R 128 meter, one channel heard from both sides: integrated (LUFS), range
/// (LU), true peak (dBTP).
pub fn loudness(path: &Path) -> [f64; 3] {
    let filter = "ebur128=peak=true:dualmono=true";
    let (_, said) = run(
        "ffmpeg",
        &["-hide_banner", "-nostdin", "-i", path.to_str().unwrap(), "-vn", "-af", filter, "-f", "null", "-"],
        &[],
    );
    let summary = &said[said.rfind("Summary:").unwrap_or_else(|| panic!("no summary: {said}"))..];
    ["I:", "LRA:", "Peak:"].map(|name| {
        let rest = &summary[summary.find(name).expect("the meter names it") + name.len()..];
        rest.split_whitespace().next().and_then(|number| number.parse().ok()).expect("a number")
    })
}
