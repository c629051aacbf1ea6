//! A player that jumps to any moment shows the right picture: ffmpeg's seeks against `still`.

mod films;

use films::{Film, run};
use std::fs;
use std::path::Path;
use std::process::Command;

/// Frames a second of the film.
const FPS: u64 = 24;

/// A picture's luma, or its red, green and blue, one byte a sample.
fn decoded(arguments: &[&str]) -> Vec<u8> {
    let output = Command::new("ffmpeg")
        .args(["-v", "error"])
        .args(arguments)
        .args(["-frames:v", "1", "-pix_fmt", "rgb24", "-f", "rawvideo", "-"])
        .output()
        .expect("ffmpeg is there; scripts/tools test installs it");
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

/// Peak signal to noise, in dB.
fn psnr(one: &[u8], other: &[u8]) -> f64 {
    assert_eq!(one.len(), other.len());
    let square = |(a, b): (&u8, &u8)| (f64::from(*a) - f64::from(*b)).powi(2);
    let error: f64 = one.iter().zip(other).map(square).sum::<f64>() / one.len() as f64;
    if error == 0.0 { 99.0 } else { 10.0 * libm::log10(255.0 * 255.0 / error) }
}

/// The picture at the moment `frame` begins, as `still` makes it.
fn still(film: &Film, frame: u64) -> Vec<u8> {
    let path = film.folder().join("still.png");
    let at = format!("{:.6}", frame as f64 / FPS as f64);
    run(film.command(&["still", "-q", "--at", &at, "-o"]).args([&path, &film.path()]));
    decoded(&["-i", path.to_str().unwrap()])
}

/// Where a seek to just before `frame` begins lands.
fn sought(path: &Path, frame: u64) -> Vec<u8> {
    let at = format!("{:.6}", (frame as f64 - 0.25).max(0.0) / FPS as f64);
    decoded(&["-ss", &at, "-i", path.to_str().unwrap()])
}

/// Twelve moments, or as many as `PLYREEL_SEEKS` says, all over the film.
#[test]
fn a_seek_shows_the_frame_of_its_time() {
    let film = Film::new();
    let clips = ["mp4", "webm"].map(|ending| {
        let path = film.folder().join(format!("seek.{ending}"));
        run(film.command(&["clip", "-q", "-o"]).args([&path, &film.path()]));
        path
    });
    let count: u64 = std::env::var("PLYREEL_SEEKS").ok().and_then(|count| count.parse().ok()).unwrap_or(12);
    let mut moving = 0;
    for i in 1..=count {
        // All over the film, and every second time inside the first move's glide of a scene (from 1.5 s on).
        let frame = match i % 2 {
            0 => (i * 7919) % (60 * FPS - 2) + 1,
            _ => (i / 2 % 3) * 20 * FPS + 37 + i * 5 % 10,
        };
        let (before, shown, after) = (still(&film, frame - 1), still(&film, frame), still(&film, frame + 1));
        for path in &clips {
            let got = sought(path, frame);
            let right = psnr(&got, &shown);
            // 4:2:0 halves the colour of the finest lines, which is most of the difference.
            assert!(right > 33.0, "{}: frame {frame}: {right:.1} dB", path.display());
            for (name, other) in [("before", &before), ("after", &after)] {
                // The last steps of a fade differ by less than the coder may err.
                if psnr(other, &shown) < 45.0 {
                    moving += 1;
                    let wrong = psnr(&got, other);
                    assert!(
                        right > wrong,
                        "{}: frame {frame} or the one {name}: {right:.1}, {wrong:.1} dB",
                        path.display()
                    );
                }
            }
        }
    }
    assert!(moving > count, "the moments lie where nothing moves: {moving}");
    fs::remove_file(film.folder().join("still.png")).unwrap();
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
