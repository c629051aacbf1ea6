//! Loudness against ffmpeg's meter: as measured, as reported, and as a narration is brought to it.

#![allow(clippy::disallowed_methods)] // a signal to be measured need not be the same to the last bit

#[path = "judges/ffmpeg.rs"]
mod ffmpeg;
mod films;

use films::Film;
use plyreel::narration::{Loudness, Recording, level, measure};
use std::fs;
use std::path::Path;

/// Something like a voice: syllables of a buzz, in phrases of changing level, with pauses and a hard plosive here and
/// there.
fn voice(seconds: usize, level: f32, channels: usize) -> Vec<f32> {
    let mut state = 1_u32;
    let mut noise = move || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 8) as f32 / 8_388_608.0 - 1.0
    };
    let (mut samples, mut puff) = (Vec::new(), 0.0_f32);
    for n in 0..seconds * 48_000 {
        let t = n as f64 / 48_000.0;
        let phrase = if t % 5.0 < 3.8 { 0.3 + 0.7 * ((t / 5.0).floor() % 4.0) / 3.0 } else { 0.0 };
        let syllable = (std::f64::consts::PI * (t * 4.0).fract()).sin().powi(2);
        let buzz: f64 = (1..20).map(|k| (std::f64::consts::TAU * 120.0 * f64::from(k) * t).sin() / f64::from(k)).sum();
        puff += 0.2 * (if n % 55_000 < 200 { 6.0 * noise() } else { 0.0 } - puff);
        let sample = level * (phrase * syllable * 0.5 * buzz) as f32 + level * puff + 1e-4 * noise();
        samples.extend(std::iter::repeat_n(sample.clamp(-1.0, 1.0), channels));
    }
    samples
}

/// Within what EBU Tech 3341 and 3342 let meters differ by: 0.1 LU, 1 LU for the range; fourfold oversampling may read a peak 0.4 dB low.
fn near(ours: Loudness, judged: [f64; 3]) -> bool {
    let integrated = ours.integrated.expect("it is loud enough");
    (integrated - judged[0]).abs() <= 0.1
        && (ours.range - judged[1]).abs() <= 1.0
        && (ours.true_peak - judged[2]).abs() <= 0.4
}

#[test]
fn the_meter_agrees_with_ffmpeg_and_so_does_what_is_levelled() {
    let folder = tempfile::tempdir().unwrap();
    let (path, out) = (folder.path().join("voice.wav"), folder.path().join("out.wav"));
    for (channels, loud) in [(1, 0.05), (2, 0.4)] {
        ffmpeg::coded(&path, &voice(32, loud, channels), 48_000, channels, &["-c:a", "pcm_f32le"]);
        let recording = Recording::open(&path).unwrap();
        let (ours, judged) = (measure(&recording).unwrap(), ffmpeg::loudness(&path));
        assert!(near(ours, judged), "{channels} channels: {ours:?}, ffmpeg {judged:?}");
        for (target, ceiling) in [(-14.0, -1.0), (-23.0, -3.0)] {
            let levelled = level(&recording, target, ceiling).unwrap().unwrap();
            let samples: Vec<f32> = levelled.recording.blocks().unwrap().flat_map(Result::unwrap).collect();
            assert_eq!(samples.len() as u64, recording.samples() * channels as u64, "it is as long as it was");
            assert_ne!(levelled.recording.digest().unwrap(), recording.digest().unwrap());
            ffmpeg::coded(&out, &samples, 48_000, channels, &["-c:a", "pcm_f32le"]);
            let judged = ffmpeg::loudness(&out);
            println!("{channels} channels to {target}: ffmpeg reads {judged:?}, before {ours:?}");
            assert!(near(levelled.after, judged), "{:?}, ffmpeg {judged:?}", levelled.after);
            assert!((judged[0] - target).abs() <= 0.15 && judged[2] <= ceiling + 0.05, "{target}: ffmpeg {judged:?}");
        }
    }
}

#[test]
fn a_clip_is_as_loud_as_asked_for_and_check_says_how_far_it_was() {
    let film = Film::new();
    let text = fs::read_to_string(film.path()).unwrap();
    fs::write(film.path(), text.replacen("title =", "narration = \"voice.wav\"\ntitle =", 1)).unwrap();
    ffmpeg::coded(&film.path().with_file_name("voice.wav"), &voice(24, 0.1, 1), 48_000, 1, &[]);

    let output = film.command(&["check", "--format", "json"]).arg(film.path()).output().unwrap();
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    let judged = ffmpeg::loudness(&film.path().with_file_name("voice.wav"));
    assert!((report["sound"]["lufs"].as_f64().unwrap() - judged[0]).abs() <= 0.1, "{report}");
    let to_broadcast = report["sound"]["targets"][2]["distance"].as_f64().unwrap();
    assert!((to_broadcast - (-23.0 - judged[0])).abs() <= 0.1, "{report}");
    let output = film.command(&["check"]).arg(film.path()).output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(said.contains("LUFS, range") && said.contains("to -23 (broadcast)"), "{said}");

    let sound = |more: &[&str]| {
        film.clip(more);
        ffmpeg::loudness(Path::new(&film.out()))
    };
    let plain = sound(&[]);
    assert!((plain[0] - judged[0]).abs() <= 0.3, "as recorded: {plain:?}, {judged:?}");
    // Coding moves peaks, so that the ceiling holds to within a decibel behind Opus.
    for target in ["-14", "-20"] {
        let levelled = sound(&["--loudness", target]);
        println!("clip --loudness {target}: ffmpeg reads {levelled:?}");
        assert!((levelled[0] - target.parse::<f64>().unwrap()).abs() <= 0.3, "{target}: {levelled:?}");
        assert!(levelled[2] <= 0.0, "{target}: {levelled:?}");
    }
}
