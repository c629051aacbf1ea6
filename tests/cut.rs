//! Recordings that were cut, trimmed, begin late or count in other ways than samples, made by ffmpeg: what of them is
//! read, what is said of the rest, and what is passed on.

#[path = "judges/ffmpeg.rs"]
mod judge;

use plyreel::narration::{NarrationError, Recording};
use std::fs;
use std::path::Path;
use std::process::Command;

const SECONDS: f64 = 6.0;

fn coded(path: &Path, rate: u32, options: &[&str]) -> Vec<u8> {
    judge::coded(path, &judge::sweep(SECONDS, rate, 1), rate, 1, options);
    fs::read(path).unwrap()
}

fn samples(recording: &Recording) -> Vec<f32> {
    recording.blocks().unwrap().flat_map(|block| block.unwrap()).collect()
}

/// Where the body of the first box of this kind begins.
fn place(file: &[u8], kind: [u8; 4]) -> usize {
    file.windows(4).position(|window| window == kind).expect("the box is there") + 4
}

/// Changes a number of 32 bits with its most significant byte first.
fn change(file: &mut [u8], at: usize, by: impl Fn(u32) -> u32) {
    let number = u32::from_be_bytes(file[at..at + 4].try_into().unwrap());
    file[at..at + 4].copy_from_slice(&by(number).to_be_bytes());
}

#[test]
fn a_recording_that_lost_its_end_says_so() {
    let folder = tempfile::tempdir().unwrap();
    for (name, options) in [
        ("half.wav", &["-c:a", "pcm_s16le"][..]),
        ("half.flac", &["-c:a", "flac"]),
        ("half.mp3", &["-c:a", "libmp3lame"]),
        ("half.ogg", &["-c:a", "libvorbis"]),
        ("half.opus", &["-c:a", "libopus"]),
    ] {
        let path = folder.path().join(name);
        let whole = coded(&path, 48_000, options);
        assert!(!Recording::open(&path).unwrap().is_cut_short(), "{name}");
        fs::write(&path, &whole[..whole.len() / 2]).unwrap();
        let recording = Recording::open(&path).unwrap();
        assert!(recording.is_cut_short(), "{name}");
        let seconds = recording.length().as_secs_f64();
        assert!((0.3..0.7).contains(&(seconds / SECONDS)), "{name}: {seconds} s");
        let told = check(folder.path(), name);
        assert!(told.contains("is not whole") && told.contains("warning"), "{told}");
    }
    // Without its index, or with a length that is not there, there is nothing to read.
    for (name, options) in
        [("half.m4a", &["-c:a", "aac", "-movflags", "+faststart"][..]), ("half.webm", &["-c:a", "libopus"])]
    {
        let path = folder.path().join(name);
        let whole = coded(&path, 48_000, options);
        assert!(!Recording::open(&path).unwrap().is_cut_short(), "{name}");
        fs::write(&path, &whole[..whole.len() / 2]).unwrap();
        match Recording::open(&path) {
            Ok(recording) => assert!(recording.is_cut_short(), "{name}"),
            Err(error) => {
                assert!(matches!(error, NarrationError::CutShort { .. }), "{error:?}");
                assert!(error.to_string().contains(&format!("of {} bytes", whole.len())), "{error}");
            }
        }
    }
}

/// What `check` says of a film with this narration.
fn check(folder: &Path, narration: &str) -> String {
    let film = format!(
        "[film]\ntitle = \"T\"\nnarration = \"{narration}\"\nheight = 240\n\n[[scene]]\nat = \"0:00\"\nname = \"One\"\n\
         fen = \"8/k1P5/p7/K7/8/8/8/8 w - - 0 1\"\ncues = [{{ at = \"0:01\", play = \"c8=R!\" }}]\n"
    );
    fs::write(folder.join("film.toml"), film).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_plyreel"));
    let output = command.args(["check", "film.toml"]).current_dir(folder).env_remove("NO_COLOR").output().unwrap();
    assert_eq!(output.status.code(), Some(0));
    String::from_utf8(output.stderr).unwrap() + &String::from_utf8(output.stdout).unwrap()
}

#[test]
fn damage_in_the_middle_of_matroska_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("spoilt.mka");
    let mut file = coded(&path, 48_000, &["-c:a", "libvorbis", "-cluster_time_limit", "500"]);
    let middle = file.len() / 2;
    file[middle..middle + 700].fill(0);
    fs::write(&path, &file).unwrap();
    let recording = Recording::open(&path).unwrap();
    assert!(recording.is_cut_short());
}

#[test]
fn a_webm_file_from_a_browser_is_whole() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("live.webm");
    coded(&path, 48_000, &["-c:a", "libopus", "-live", "1"]);
    let recording = Recording::open(&path).unwrap();
    assert!(!recording.is_cut_short());
    assert!((recording.length().as_secs_f64() - SECONDS).abs() < 0.05);
}

#[test]
fn a_wav_file_from_a_pipe_is_as_long_as_its_samples() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("piped.wav");
    let mut file = coded(&path, 48_000, &["-c:a", "pcm_s16le"]);
    let size = place(&file, *b"data");
    file[size..size + 4].fill(0xFF);
    file[4..8].fill(0xFF);
    fs::write(&path, &file).unwrap();
    let recording = Recording::open(&path).unwrap();
    assert_eq!(recording.samples(), (SECONDS * 48_000.0) as u64);
    assert!(!recording.is_cut_short());
}

#[test]
fn a_track_that_does_not_count_in_samples_is_as_long_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("voice.m4a");
    for codec in ["aac", "alac"] {
        let mut file = coded(&path, 44_100, &["-c:a", codec]);
        let recording = Recording::open(&path).unwrap();
        let (length, before) = (recording.samples(), samples(&recording));
        // Half as many ticks, each twice as long.
        let half = |number: u32| number.div_ceil(2);
        let header = place(&file, *b"mdhd");
        change(&mut file, header + 12, half);
        change(&mut file, header + 16, half);
        let times = place(&file, *b"stts");
        let entries = u32::from_be_bytes(file[times + 4..times + 8].try_into().unwrap()) as usize;
        (0..entries).for_each(|entry| change(&mut file, times + 8 + 8 * entry + 4, half));
        let edit = place(&file, *b"elst");
        change(&mut file, edit + 12, half);
        fs::write(&path, &file).unwrap();
        let recording = Recording::open(&path).unwrap();
        assert!(recording.samples().abs_diff(length) <= 2, "{codec}: {} of {length}", recording.samples());
        assert!(
            judge::snr(&before[..before.len() - 100], &samples(&recording)[..before.len() - 100]) > 90.0,
            "{codec}"
        );
        let probed = judge::decoded(&path, 48_000, 1).len() as u64;
        assert!(recording.samples().abs_diff(probed) <= 1200, "{codec}: {} of {probed}", recording.samples());
    }
}

#[test]
fn a_hole_between_fragments_is_told_and_none_is_made_up() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("voice.m4a");
    let fragments = ["-c:a", "aac", "-movflags", "frag_keyframe+empty_moov", "-frag_duration", "500000"];
    let mut file = coded(&path, 48_000, &fragments);
    let recording = Recording::open(&path).unwrap();
    assert!((recording.length().as_secs_f64() - SECONDS).abs() < 0.05, "{:?}", recording.length());
    // All fragments from the fifth on begin two seconds later.
    let places: Vec<usize> = (0..file.len() - 4).filter(|at| &file[*at..at + 4] == b"tfdt").collect();
    assert!(places.len() > 8);
    for &place in &places[5..] {
        let wide = file[place + 4] == 1;
        change(&mut file, place + if wide { 12 } else { 8 }, |begins| begins + 96_000);
    }
    fs::write(&path, &file).unwrap();
    let error = Recording::open(&path).unwrap_err().to_string();
    assert!(error.contains("2.00 s are missing"), "{error}");
}

#[test]
fn what_a_trimming_cut_away_is_not_passed_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("voice.m4a");
    let mut file = coded(&path, 48_000, &["-c:a", "aac"]);
    let edit = place(&file, *b"elst");
    // Two seconds later in the track's clock, and as much shorter in the movie's, which counts in milliseconds.
    change(&mut file, edit + 12, |from| from + 96_000);
    change(&mut file, edit + 8, |length| length - 2000);
    fs::write(&path, &file).unwrap();
    let recording = Recording::open(&path).unwrap();
    assert_eq!(recording.samples(), ((SECONDS - 2.0) * 48_000.0) as u64);
    let track = recording.aac().unwrap().expect("AAC is passed on");
    assert!(track.priming < 3 * track.packet_length, "{} samples before the beginning", track.priming);
    assert!(track.packets.len() as u64 * track.packet_length >= track.priming + track.length);
    assert_eq!(track.length, recording.samples());

    // What is passed on sounds as the recording does, decoded by another.
    let film = folder.path().join("film.toml");
    let text = "[film]\ntitle = \"T\"\nnarration = \"voice.m4a\"\nheight = 240\n\n[[scene]]\nat = \"0:00\"\nname = \"One\"\n\
                fen = \"8/k1P5/p7/K7/8/8/8/8 w - - 0 1\"\ncues = [{ at = \"0:01\", play = \"c8=R!\" }]\n";
    fs::write(&film, text).unwrap();
    let made = folder.path().join("film.mkv");
    let mut command = Command::new(env!("CARGO_BIN_EXE_plyreel"));
    assert!(command.args(["clip", "-q", "--no-cache", "-o"]).args([&made, &film]).status().unwrap().success());
    let theirs = judge::decoded(&made, 48_000, 1);
    let ours = samples(&recording);
    // A player that heeds no delay gives at most the coder's own priming before the beginning.
    let late = theirs.len() as i64 - ours.len() as i64;
    assert!((-1024..=3 * 1024).contains(&late), "{late} samples more than the recording");
    let delay = judge::delay(&theirs, &ours, 1, 3100);
    assert!(delay.abs() <= 3 * 1024, "{delay}");
}

#[test]
fn sound_that_begins_later_than_the_picture_begins_later_in_the_film() {
    let folder = tempfile::tempdir().unwrap();
    let sound = folder.path().join("voice.wav");
    coded(&sound, 48_000, &["-c:a", "pcm_s16le"]);
    let silent = |samples: &[f32]| samples.iter().position(|sample| sample.abs() > 0.01).unwrap() as f64 / 48_000.0;
    let from = silent(&samples(&Recording::open(&sound).unwrap()));
    for (name, codec) in [("late.mkv", "flac"), ("late.webm", "libopus")] {
        let path = folder.path().join(name);
        let video = if name.ends_with("webm") { "libvpx" } else { "ffv1" };
        let picture = ["-f", "lavfi", "-i", "color=black:s=64x64:r=10:d=7"];
        let late = ["-itsoffset", "1.5", "-i", sound.to_str().unwrap(), "-c:v", video, "-c:a", codec];
        judge::ffmpeg(&[&picture[..], &late, &[path.to_str().unwrap()]].concat(), &[]);
        let recording = Recording::open(&path).unwrap();
        let begins = silent(&samples(&recording));
        assert!((begins - from - 1.5).abs() < 0.02, "{name}: {begins} s");
        assert!((recording.length().as_secs_f64() - SECONDS - 1.5).abs() < 0.05, "{name}");

        // Alone, it is the recording: its clock's zero says nothing.
        let alone = folder.path().join(format!("alone-{name}"));
        let (path, alone) = (path.to_str().unwrap(), alone.to_str().unwrap());
        judge::ffmpeg(&["-copyts", "-i", path, "-map", "0:a", "-c", "copy", alone], &[]);
        let begins = silent(&samples(&Recording::open(Path::new(alone)).unwrap()));
        assert!((begins - from).abs() < 0.02, "{name}: {begins} s");
    }
}

#[test]
fn kinds_that_are_not_read_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long.wav");
    coded(&path, 48_000, &["-c:a", "pcm_s16le", "-rf64", "always"]);
    let error = Recording::open(&path).unwrap_err().to_string();
    assert!(error.contains("RF64") && error.contains("FLAC"), "{error}");
}
