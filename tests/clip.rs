//! Whole clips before outside judges: ffprobe, ffmpeg with dav1d and with libaom, aomdec, dav1d, mkvmerge.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// Runs a judge; a missing one is told with the way to get it.
fn judge(program: &str, arguments: &[&str]) -> Output {
    Command::new(program)
        .args(arguments)
        .output()
        .unwrap_or_else(|error| panic!("cannot run {program} ({error}); scripts/tools test installs it"))
}

/// Runs a judge that must be content: exit code 0 and nothing on standard error. Gives its standard output.
fn content(program: &str, arguments: &[&str]) -> Vec<u8> {
    let output = judge(program, arguments);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.trim().is_empty(), "{program} {arguments:?}: {said}");
    output.stdout
}

fn clip(film: &Path, out: &Path, more: &[&str]) {
    let mut arguments = vec!["clip", "--no-cache", film.to_str().unwrap(), "-o", out.to_str().unwrap()];
    arguments.extend(more);
    let output = Command::new(env!("CARGO_BIN_EXE_plyreel")).args(&arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

fn announced_frames(film: &Path) -> u64 {
    let output = Command::new(env!("CARGO_BIN_EXE_plyreel"))
        .args(["check", film.to_str().unwrap(), "--format", "json"])
        .output()
        .unwrap();
    let object: serde_json::Value = serde_json::from_slice(&output.stdout).expect("one JSON object");
    assert_eq!(object["diagnostics"], serde_json::json!([]));
    object["film"]["frames"].as_u64().expect("a count")
}

/// A film in which the board changes at each of these times: a cut, which is on screen whole at its first frame.
fn film_text(fps: &str, times: &[f64], ends: f64, narration: Option<&str>) -> String {
    let cut = |(i, at): (usize, &f64)| {
        let to = if i % 2 == 0 { "start" } else { "there" };
        format!("  {{ at = {at}, back = \"{to}\", cut = true }},\n")
    };
    let first = "  { at = 0, play = \"Kb4\", label = \"there\" },\n".to_owned();
    let cues: String = std::iter::once(first).chain(times.iter().enumerate().map(cut)).collect();
    let narration = narration.map(|name| format!("narration = \"{name}\"\n")).unwrap_or_default();
    format!(
        "[film]\ntitle = \"T\"\nheight = 240\nfps = {fps}\nends = {ends}\n{narration}\n[[scene]]\nname = \"S\"\nat = 0\n\
         fen = \"8/k1P5/p7/K7/8/8/8/8 w - - 0 1\"\ncues = [\n{cues}]\n"
    )
}

#[test]
fn every_rate_and_container_satisfies_every_judge() {
    let folder = tempfile::tempdir().unwrap();
    for (fps, exact) in [
        ("24", "24/1"),
        ("25", "25/1"),
        ("30", "30/1"),
        ("50", "50/1"),
        ("60", "60/1"),
        ("\"30000/1001\"", "30000/1001"),
    ] {
        let film = folder.path().join("film.toml");
        fs::write(&film, film_text(fps, &[0.9, 1.4], 2.2, None)).unwrap();
        let frames = announced_frames(&film);
        for ending in ["mp4", "webm", "mkv", "ivf"] {
            let out = folder.path().join(format!("clip.{ending}"));
            clip(&film, &out, &[]);
            let out = out.to_str().unwrap();
            assert_eq!(probe(out, "-count_frames", "nb_read_frames"), frames.to_string(), "{ending} at {fps}");
            if ending != "webm" && ending != "mkv" {
                // Matroska keeps milliseconds, from which a reader guesses the rate.
                assert_eq!(probe(out, "-count_packets", "r_frame_rate"), exact, "{ending} at {fps}");
            }
            if ending != "ivf" {
                assert_eq!(probe(out, "-count_packets", "color_range"), "tv");
                assert_eq!(probe(out, "-count_packets", "color_space"), "bt709");
            }
            let decoded = |coder: &str| {
                let arguments = ["-v", "warning", "-c:v", coder, "-i", out, "-map", "0:v", "-f", "framemd5", "-"];
                pictures_only(&content("ffmpeg", &arguments))
            };
            let pictures = decoded("libdav1d");
            assert_eq!(pictures.len() as u64, frames);
            assert_eq!(pictures, decoded("libaom-av1"), "{ending} at {fps}");
            if ending == "ivf" {
                let yuv = folder.path().join("a.yuv");
                content("aomdec", &["--rawvideo", "--i420", "-o", yuv.to_str().unwrap(), out]);
                let by_aomdec = fs::read(&yuv).unwrap();
                content("dav1d", &["-q", "--strict", "1", "--muxer", "yuv", "-o", yuv.to_str().unwrap(), "-i", out]);
                assert_eq!(by_aomdec.len() as u64, frames * 426 * 240 * 3 / 2);
                assert!(by_aomdec == fs::read(&yuv).unwrap(), "aomdec and dav1d differ at {fps}");
            } else {
                let again = folder.path().join("again.mkv");
                let said = content("mkvmerge", &["-o", again.to_str().unwrap(), out]);
                let said = String::from_utf8_lossy(&said).into_owned();
                assert!(!said.contains("Warning") && !said.contains("Error"), "{said}");
            }
        }
    }
}

/// One field of the video stream.
fn probe(path: &str, counting: &str, field: &str) -> String {
    let entries = format!("stream={field}");
    let arguments =
        // At a lower level ffprobe remarks that it has no decoder for a chapter track.
        ["-v", "error", counting, "-select_streams", "v", "-show_entries", &entries, "-of", "csv=p=0", path];
    String::from_utf8(content("ffprobe", &arguments)).unwrap().trim().trim_end_matches(',').to_owned()
}

/// The MD5 of each picture of a `framemd5` listing.
fn pictures_only(listing: &[u8]) -> Vec<String> {
    let listing = String::from_utf8_lossy(listing).into_owned();
    let lines = listing.lines().filter(|line| !line.starts_with('#'));
    lines.map(|line| line.rsplit(',').next().unwrap_or("").trim().to_owned()).collect()
}

#[test]
fn sound_and_picture_keep_step_to_within_a_frame() {
    let folder = tempfile::tempdir().unwrap();
    let times = [1.5, 2.3333, 3.04, 4.7, 5.9];
    fs::write(folder.path().join("clicks.wav"), clicks(&times, 7.0, 44_100)).unwrap();
    for (fps, rate) in [("30", 30.0), ("\"30000/1001\"", 30_000.0 / 1001.0), ("60", 60.0)] {
        let film = folder.path().join("film.toml");
        fs::write(&film, film_text(fps, &times, 7.0, Some("clicks.wav"))).unwrap();
        for ending in ["mp4", "webm"] {
            let out = folder.path().join(format!("clip.{ending}"));
            clip(&film, &out, &[]);
            let out = out.to_str().unwrap();
            let heard = onsets(out);
            let seen = changes(out, rate);
            assert_eq!(heard.len(), times.len(), "{ending} at {fps}: {heard:?}");
            assert_eq!(seen.len(), times.len(), "{ending} at {fps}: {seen:?}");
            for ((time, heard), seen) in times.iter().zip(heard).zip(seen) {
                assert!((heard - time).abs() < 0.002, "{ending} at {fps}: the click of {time} is heard at {heard}");
                assert!(seen >= time - 1e-6 && seen - time < 1.0 / rate + 1e-6, "{ending}: {time} is seen at {seen}");
                assert!((seen - heard).abs() <= 1.0 / rate + 0.002);
            }
        }
    }
}

/// Mono 16-bit PCM in a WAV file, silent but for a short burst at each time.
fn clicks(times: &[f64], seconds: f64, rate: u32) -> Vec<u8> {
    let mut samples = vec![0i16; (seconds * f64::from(rate)) as usize];
    for time in times {
        let at = (time * f64::from(rate)).round() as usize;
        for (i, sample) in samples[at..at + 400].iter_mut().enumerate() {
            *sample = if i / 20 % 2 == 0 { 24_000 } else { -24_000 };
        }
    }
    let data: Vec<u8> = samples.iter().flat_map(|sample| sample.to_le_bytes()).collect();
    let mut wav = Vec::new();
    wav.extend(b"RIFF");
    wav.extend((36 + data.len() as u32).to_le_bytes());
    wav.extend(b"WAVEfmt ");
    wav.extend(16u32.to_le_bytes());
    wav.extend(1u16.to_le_bytes());
    wav.extend(1u16.to_le_bytes());
    wav.extend(rate.to_le_bytes());
    wav.extend((rate * 2).to_le_bytes());
    wav.extend(2u16.to_le_bytes());
    wav.extend(16u16.to_le_bytes());
    wav.extend(b"data");
    wav.extend((data.len() as u32).to_le_bytes());
    wav.extend(data);
    wav
}

/// When each click begins in the decoded sound, in seconds: the first loud sample after a silence of 50 ms.
fn onsets(path: &str) -> Vec<f64> {
    let arguments = ["-v", "error", "-i", path, "-map", "0:a", "-ac", "1", "-ar", "48000", "-f", "s16le", "-"];
    let data = content("ffmpeg", &arguments);
    let samples = data.chunks_exact(2).map(|pair| i16::from_le_bytes([pair[0], pair[1]]).unsigned_abs());
    let mut found = Vec::new();
    let mut last_loud = -10_000i64;
    for (i, sample) in samples.enumerate() {
        if sample > 6000 {
            if i as i64 - last_loud > 2400 {
                found.push(i as f64 / 48_000.0);
            }
            last_loud = i as i64;
        }
    }
    found
}

/// When the picture changes by more than coding noise, in seconds. The move at the very start is over by then.
fn changes(path: &str, rate: f64) -> Vec<f64> {
    let filter = "scale=160:120,format=gray";
    let data = content("ffmpeg", &["-v", "error", "-i", path, "-map", "0:v", "-vf", filter, "-f", "rawvideo", "-"]);
    let frames: Vec<&[u8]> = data.chunks_exact(160 * 120).collect();
    let mut found: Vec<f64> = Vec::new();
    for (i, pair) in frames.windows(2).enumerate() {
        let largest = pair[0].iter().zip(pair[1]).map(|(a, b)| a.abs_diff(*b)).max().unwrap_or(0);
        let time = (i + 1) as f64 / rate;
        // Marks and captions may go on changing after a cut; what counts is when it begins.
        if largest > 40 && time > 1.2 && found.last().is_none_or(|last| time - last > 0.4) {
            found.push(time);
        }
    }
    found
}

#[test]
fn the_same_film_has_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("clicks.wav"), clicks(&[1.0], 3.0, 48_000)).unwrap();
    let film = folder.path().join("film.toml");
    fs::write(&film, film_text("30", &[1.5, 2.0], 3.0, Some("clicks.wav"))).unwrap();
    for ending in ["mp4", "webm"] {
        let made = |name: &str, jobs: &str| {
            let out = folder.path().join(format!("{name}.{ending}"));
            clip(&film, &out, &["--jobs", jobs]);
            fs::read(out).unwrap()
        };
        let once = made("once", "1");
        assert!(once == made("again", "1"), "{ending} differs from run to run");
        assert!(once == made("many", "5"), "{ending} differs with the number of workers");
    }
}

#[test]
fn a_browser_plays_and_seeks() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("clicks.wav"), clicks(&[1.0, 2.0, 3.0], 6.0, 48_000)).unwrap();
    let film = folder.path().join("film.toml");
    fs::write(&film, film_text("30", &[1.5, 2.0, 3.5], 6.0, Some("clicks.wav"))).unwrap();
    let (mp4, webm) = (folder.path().join("clip.mp4"), folder.path().join("clip.webm"));
    clip(&film, &mp4, &[]);
    clip(&film, &webm, &[]);
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/judges/chromium.py");
    let arguments = [script.to_str().unwrap(), mp4.to_str().unwrap(), webm.to_str().unwrap()];
    let judged = judge("python3", &arguments);
    assert!(
        judged.status.success(),
        "{}{}",
        String::from_utf8_lossy(&judged.stdout),
        String::from_utf8_lossy(&judged.stderr)
    );
}
