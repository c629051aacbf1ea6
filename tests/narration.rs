//! Recordings of every kind, made by ffmpeg and decoded by it and by us: the same samples at the same places.

#[path = "judges/ffmpeg.rs"]
mod judge;

use plyreel::narration::{NarrationError, Recording};
use std::path::Path;

fn ours(path: &Path) -> (Recording, Vec<f32>) {
    let recording = Recording::open(path).unwrap_or_else(|error| panic!("{error}"));
    let samples: Vec<f32> = recording.blocks().unwrap().flat_map(|block| block.unwrap()).collect();
    assert_eq!(samples.len() as u64, recording.samples() * recording.channels() as u64, "{}", path.display());
    (recording, samples)
}

/// What is tried: file name, ffmpeg's options, whether nothing is lost.
const KINDS: [(&str, &[&str], bool); 14] = [
    ("s16.wav", &["-c:a", "pcm_s16le"], true),
    ("s24.wav", &["-c:a", "pcm_s24le"], true),
    ("u8.wav", &["-c:a", "pcm_u8"], true),
    ("f32.wav", &["-c:a", "pcm_f32le"], true),
    ("extensible.wav", &["-c:a", "pcm_s32le"], true),
    ("plain.flac", &["-c:a", "flac"], true),
    ("lame.mp3", &["-c:a", "libmp3lame", "-b:a", "128k"], false),
    ("vorbis.ogg", &["-c:a", "libvorbis", "-q:a", "5"], false),
    ("opus.opus", &["-c:a", "libopus", "-b:a", "96k"], false),
    ("aac.m4a", &["-c:a", "aac", "-b:a", "128k"], false),
    ("alac.m4a", &["-c:a", "alac"], true),
    ("opus.webm", &["-c:a", "libopus", "-b:a", "96k"], false),
    ("vorbis.mkv", &["-c:a", "libvorbis"], false),
    ("flac.ogg", &["-c:a", "flac"], true),
];

#[test]
fn every_kind_rate_and_channel_count_agrees_with_ffmpeg() {
    let folder = tempfile::tempdir().unwrap();
    for rate in [48_000, 44_100, 22_050, 8_000, 96_000] {
        for channels in [1, 2] {
            let seconds = 1.117;
            let original = judge::sweep(seconds, rate, channels);
            for (name, options, lossless) in KINDS {
                let supported = match name {
                    "lame.mp3" => rate <= 48_000,
                    _ if name.contains("opus") => rate == 48_000,
                    // libvorbis has no mono mode at this quality for 96 kHz, ffmpeg's AAC none for 8 kHz at 128 kbit/s.
                    _ => true,
                };
                if !supported {
                    continue;
                }
                let what = format!("{name} {rate} Hz, {channels} channels");
                let path = folder.path().join(name);
                judge::coded(&path, &original, rate, channels, options);
                let (recording, samples) = ours(&path);
                assert!(!recording.is_cut_short(), "{what}");
                assert_eq!((recording.rate(), recording.channels()), (rate, channels), "{what}");

                let theirs = judge::decoded(&path, 48_000, channels);
                let delay = judge::delay(&theirs, &samples, channels, 40);
                assert!(delay.abs() <= i64::from(rate != 48_000), "{what}: {delay} samples late");
                let theirs = &theirs[usize::try_from(-delay).unwrap_or(0) * channels..];
                let snr = judge::snr(theirs, &samples[usize::try_from(delay).unwrap_or(0) * channels..]);
                let floor = if rate == 48_000 { 60.0 } else { 30.0 };
                println!("{what}: {snr:.1} dB, {} of {} samples", samples.len() / channels, theirs.len() / channels);
                assert!(snr > floor, "{what}: {snr} dB");
                // The original's length is the length, whatever the coder put before and behind it.
                let exact = original.len() as u64 / channels as u64;
                let nearest = (exact * 48_000 + u64::from(rate) / 2) / u64::from(rate);
                let slack = if name == "opus.webm" || name == "vorbis.mkv" { 960 } else { 0 };
                assert!(recording.samples().abs_diff(nearest) <= slack, "{what}: {} of {nearest}", recording.samples());
                if lossless && rate == 48_000 {
                    let floor = if name == "u8.wav" { 35.0 } else { 80.0 };
                    assert!(judge::snr(&original, &samples) > floor, "{what}");
                }
            }
        }
    }
}

#[test]
fn a_text_is_no_recording() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("notes.wav");
    std::fs::write(&path, "these are words").unwrap();
    let error = Recording::open(&path).unwrap_err();
    assert!(matches!(error, NarrationError::UnknownKind { .. }));
    assert!(error.to_string().contains("notes.wav") && error.to_string().contains("FLAC"), "{error}");
    assert!(matches!(Recording::open(&folder.path().join("none.wav")), Err(NarrationError::Open { .. })));
}

/// Damaged recordings are read as far as they go, or refused with their name; never a panic, never endless.
#[test]
fn damage_is_survived() {
    let folder = tempfile::tempdir().unwrap();
    let original = judge::sweep(0.4, 48_000, 2);
    let mut seed = 0x9E37_79B9_7F4A_7C15_u64;
    let mut random = |below: usize| {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize % below
    };
    let rounds = std::env::var("ROUNDS").ok().and_then(|rounds| rounds.parse().ok()).unwrap_or(12);
    for (name, options, _) in KINDS {
        let path = folder.path().join(name);
        judge::coded(&path, &original, 48_000, 2, options);
        let whole = std::fs::read(&path).unwrap();
        for round in 0..rounds {
            let mut damaged = whole.clone();
            match round % 3 {
                0 => damaged.truncate(random(whole.len())),
                // Headers are hit more often than their share, for there the harm is greatest.
                1 => (0..=random(7)).for_each(|_| damaged[random(600.min(whole.len()))] = random(256) as u8),
                _ => (0..=random(39)).for_each(|_| damaged[random(whole.len())] ^= 1 << random(8)),
            }
            std::fs::write(&path, &damaged).unwrap();
            let read = std::panic::catch_unwind(|| match Recording::open(&path) {
                Ok(recording) if recording.length().as_secs() < 3600 => {
                    let blocks = recording.blocks().map(|blocks| blocks.map_while(Result::ok).map(|b| b.len()).sum());
                    let given: usize = blocks.unwrap_or(0);
                    assert_eq!(given as u64, recording.samples() * recording.channels() as u64, "{name}");
                }
                Ok(_) => {}
                Err(error) => assert!(error.to_string().contains(name), "{error}"),
            });
            if read.is_err() {
                let kept = std::env::temp_dir().join(format!("damaged-{round}-{name}"));
                std::fs::write(&kept, &damaged).unwrap();
                panic!("round {round} of {name}: the file is kept at {}", kept.display());
            }
        }
    }
}
