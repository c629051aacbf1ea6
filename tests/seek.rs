//! A player that jumps to any moment shows the right picture: ffmpeg's seeks against `frames`; and the keys lie near
//! enough to each other for it to be quick.

mod films;

use films::{Film, run};
use std::fmt::Write as _;
use std::fs;
use std::io::BufReader;
use std::path::Path;
use std::process::Command;

/// Frames a second of the film.
const FPS: u64 = 24;

/// The luma of a frame as BT.709 in limited range has it, one number a pixel, out of the PNG that `frames` made.
fn painted(path: &Path) -> Vec<f64> {
    let decoder = png::Decoder::new(BufReader::new(fs::File::open(path).expect("every frame is there")));
    let mut reader = decoder.read_info().expect("a PNG");
    let mut data = vec![0; reader.output_buffer_size().expect("a small picture")];
    reader.next_frame(&mut data).expect("a whole PNG");
    let luma = |p: &[u8]| {
        let [r, g, b] = [p[0], p[1], p[2]].map(f64::from);
        16.0 + 219.0 / 255.0 * (0.2126 * r + 0.7152 * g + 0.0722 * b)
    };
    data.chunks_exact(3).map(luma).collect()
}

/// The luma of the picture where a seek to just before `frame` begins lands, as it is coded: no conversion of colours
/// stands between.
fn sought(path: &Path, frame: u64) -> Vec<f64> {
    let at = format!("{:.6}", (frame as f64 - 0.25).max(0.0) / FPS as f64);
    let output = Command::new("ffmpeg")
        .args(["-v", "error", "-ss", &at, "-i"])
        .arg(path)
        .args(["-frames:v", "1", "-pix_fmt", "yuv420p", "-f", "rawvideo", "-"])
        .output()
        .expect("ffmpeg is there; scripts/tools test installs it");
    assert!(output.status.success(), "{}: {}", path.display(), String::from_utf8_lossy(&output.stderr));
    let luma = output.stdout.len() * 2 / 3;
    output.stdout[..luma].iter().map(|sample| f64::from(*sample)).collect()
}

/// Peak signal to noise in dB, on the pixels of `mask` alone.
fn psnr(one: &[f64], other: &[f64], mask: &[usize]) -> f64 {
    assert_eq!(one.len(), other.len());
    let error = mask.iter().map(|&at| (one[at] - other[at]).powi(2)).sum::<f64>() / mask.len() as f64;
    if error == 0.0 { 99.0 } else { 10.0 * libm::log10(255.0 * 255.0 / error) }
}

/// Where two pictures differ by more than a coder's rounding.
fn differing(one: &[f64], other: &[f64]) -> Vec<usize> {
    (0..one.len()).filter(|&at| (one[at] - other[at]).abs() >= 2.0).collect()
}

/// Fifty moments, or as many as `PLYREEL_SEEKS` says, all over the film. Most of a picture is the same before and after;
/// so the frame is told from its neighbours on those pixels alone in which they differ.
#[test]
fn a_seek_shows_the_frame_of_its_time() {
    let film = Film::new();
    let clips = ["mp4", "webm"].map(|ending| {
        let path = film.folder().join(format!("seek.{ending}"));
        run(film.command(&["clip", "-q", "-o"]).args([&path, &film.path()]));
        path
    });
    let folder = film.folder().join("frames");
    run(film.command(&["frames", "-q", "-o"]).args([&folder, &film.path()]));
    let frame_at = |frame: u64| painted(&folder.join(format!("{frame:05}.png")));
    let count: u64 = std::env::var("PLYREEL_SEEKS").ok().and_then(|count| count.parse().ok()).unwrap_or(50);
    let mut told = 0;
    println!("frame  mp4      webm     the one before: pixels, mp4, webm   the one after");
    for i in 1..=count {
        // All over the film, and every second time inside the first move's glide of a scene (from 1.5 s on).
        let frame = match i % 2 {
            0 => (i * 911) % (60 * FPS - 2) + 1,
            _ => (i / 2 % 3) * 20 * FPS + 37 + i / 6 % 12,
        };
        let shown = frame_at(frame);
        let got = clips.each_ref().map(|path| sought(path, frame));
        let everywhere: Vec<usize> = (0..shown.len()).collect();
        let right = got.each_ref().map(|got| psnr(got, &shown, &everywhere));
        assert!(right.iter().all(|right| *right > 38.0), "frame {frame}: {right:.1?} dB");
        let mut line = format!("{frame:5}  {:.1} dB  {:.1} dB", right[0], right[1]);
        for other in [frame - 1, frame + 1] {
            let beside = frame_at(other);
            let mask = differing(&shown, &beside);
            if mask.is_empty() {
                line.push_str("  the same");
                continue;
            }
            told += 1;
            let pairs = got.each_ref().map(|got| (psnr(got, &shown, &mask), psnr(got, &beside, &mask)));
            write!(line, "  {} px", mask.len()).unwrap();
            for (right, wrong) in pairs {
                write!(line, ", {right:.1} not {wrong:.1}").unwrap();
                assert!(right > wrong + 3.0, "frame {frame} or {other}: {right:.1}, {wrong:.1} dB\n{line}");
            }
        }
        println!("{line}");
    }
    println!("{told} neighbours told apart");
    assert!(told > count, "the moments lie where nothing moves: {told}");
}

/// What ffprobe lists as key packets of a clip lies at most ten seconds apart.
#[test]
fn keys_lie_at_most_ten_seconds_apart() {
    let film = Film::new();
    for ending in ["mp4", "webm"] {
        let path = film.folder().join(format!("keys.{ending}"));
        run(film.command(&["clip", "-q", "-o"]).args([&path, &film.path()]));
        let output = Command::new("ffprobe")
            .args(["-v", "error", "-select_streams", "v", "-show_entries", "packet=pts_time,flags", "-of", "csv=p=0"])
            .arg(&path)
            .output()
            .expect("ffprobe is there; scripts/tools test installs it");
        let text = String::from_utf8_lossy(&output.stdout);
        let keys: Vec<f64> = text
            .lines()
            .filter(|line| line.contains(",K"))
            .map(|line| line.split(',').next().and_then(|time| time.parse().ok()).expect("a time"))
            .collect();
        assert!(keys.len() >= 6 && keys[0] == 0.0, "{keys:?}");
        let ends = keys.iter().skip(1).copied().chain([60.0]);
        assert!(keys.iter().zip(ends).all(|(from, to)| to - from <= 10.0 + 1e-3), "{ending}: {keys:?}");
    }
}
