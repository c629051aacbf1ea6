//! Any bytes behind the first letters of a WAV or a FLAC file are a recording or are refused: no panic, and what is
//! given is as long as was told. The first byte chooses the kind.

#![no_main]

use libfuzzer_sys::fuzz_target;
use plyreel::narration::Recording;
use std::time::Duration;

fuzz_target!(|data: &[u8]| {
    let Some((kind, rest)) = data.split_first() else { return };
    let mut file = if kind % 2 == 0 { b"RIFF\xff\xff\xff\x7fWAVEfmt ".to_vec() } else { b"fLaC".to_vec() };
    file.extend_from_slice(rest);
    let path = std::env::temp_dir().join(format!("plyreel-fuzz-{}", std::process::id()));
    if std::fs::write(&path, &file).is_err() {
        return;
    }
    if let Ok(recording) = Recording::open(&path) {
        // A header may claim hours of silence; only the time to play them is spared.
        if recording.length() < Duration::from_secs(60) {
            let given: usize = recording.blocks().unwrap().map(|block| block.unwrap().len()).sum();
            assert_eq!(given as u64, recording.samples() * recording.channels() as u64, "as long as was told");
        }
    }
});
