//! A key picture in the middle of stillness must not be seen: what was on screen before it is the same after it, to the
//! last bit in our own coder; with rav1e but for single pixels at edges, by three levels at most and by less than a
//! fifteenth of one in the mean (root of 0.0037).
//!
//! `PLYREEL_KEYS=1` writes what is around the largest difference of each such key to `target/keys`, eight times as large:
//! before the key, the difference sixteen times as strong, the key. A key that is seen is written in any case.

mod films;

use films::{plyreel, run};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const SIZE: (usize, usize) = (640, 360);

/// Moves, marks, a caption and a scene that fades in, each with stillness after it in which keys must stand.
fn text(theme: &str) -> String {
    format!(
        r#"
[film]
title = "Still"
height = 360
fps = 25
theme = "{theme}"
ends = 40

[[scene]]
name = "The long wait"
at = 0
fen = "r3k2r/pp1b1ppp/2n1pn2/q1pp4/3P4/P1PBPN2/1P1N1PPP/R2QK2R w KQkq - 0 9"
task = "White to move"
credit = "Made for this test"
cues = [
  {{ at = 1, play = "O-O", text = "The king goes home." }},
  {{ at = 2, play = "cxd4", marks = ["key d4", "threat c3", "guard f6", "trap h7"], arrows = ["c3 d4", "plan a1 c1"] }},
  {{ at = 3, play = "exd4" }},
]

[[scene]]
name = "Another"
at = 20
fen = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"
cues = [{{ at = 21, play = "c7 Rd6+", every = 1, text = "And now?" }}]
"#
    )
}

/// What an outside decoder shows: every frame's planes.
fn decoded(path: &Path) -> Vec<Vec<u8>> {
    let output = Command::new("ffmpeg")
        .args(["-v", "error", "-i"])
        .arg(path)
        .args(["-fps_mode", "passthrough", "-pix_fmt", "yuv420p", "-f", "rawvideo", "-"])
        .output()
        .expect("ffmpeg is there; scripts/tools test installs it");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    output.stdout.chunks_exact(SIZE.0 * SIZE.1 * 3 / 2).map(<[u8]>::to_vec).collect()
}

/// The frames that are keys.
fn keys(path: &Path) -> Vec<usize> {
    let output = Command::new("ffprobe")
        .args(["-v", "error", "-select_streams", "v", "-show_entries", "packet=flags", "-of", "csv=p=0"])
        .arg(path)
        .output()
        .expect("ffprobe is there");
    let listed = String::from_utf8(output.stdout).expect("text");
    listed.lines().enumerate().filter(|(_, flags)| flags.starts_with('K')).map(|(frame, _)| frame).collect()
}

/// Sides of what is cut out around a difference.
const CUT: (usize, usize) = (80, 60);

/// Writes what is around the largest difference in luma of two frames one after the other: before, difference, after.
fn write_difference(film: &Path, frames: &[Vec<u8>], key: usize, name: &str) -> PathBuf {
    let luma = SIZE.0 * SIZE.1;
    let apart = |at: &usize| frames[key - 1][*at].abs_diff(frames[key][*at]);
    let at = (0..luma).max_by_key(apart).expect("pixels");
    let corner = |at: usize, cut: usize, side: usize| at.saturating_sub(cut / 2).min(side - cut);
    let (x, y) = (corner(at % SIZE.0, CUT.0, SIZE.0), corner(at / SIZE.0, CUT.1, SIZE.1));
    let cut = |frame: usize| {
        format!(
            "select=eq(n\\,{frame}),setpts=0,crop={}:{}:{x}:{y},scale=iw*8:ih*8:flags=neighbor,format=gbrp",
            CUT.0, CUT.1
        )
    };
    let stronger = "lutrgb=r=val*16:g=val*16:b=val*16";
    let filter = format!(
        "[0:v]split[x][y];[x]{},split[a][c];[y]{},split[b][d];[a][b]blend=all_mode=difference,{stronger}[e];\
         [c][e][d]hstack=3",
        cut(key - 1),
        cut(key)
    );
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/keys");
    fs::create_dir_all(&folder).expect("a folder");
    let path = folder.join(format!("{name}-{key}.png"));
    let mut ffmpeg = Command::new("ffmpeg");
    ffmpeg.args(["-v", "error", "-y", "-i"]).arg(film).args(["-filter_complex", &filter, "-frames:v", "1"]).arg(&path);
    run(&mut ffmpeg);
    path
}

#[test]
fn no_key_in_a_hold_is_seen() {
    let asked = std::env::var_os("PLYREEL_KEYS").is_some();
    let mut table = String::new();
    for theme in ["dusk", "tide", "ink"] {
        let folder = tempfile::tempdir().expect("a folder");
        let film = folder.path().join("film.toml");
        fs::write(&film, text(theme)).expect("a file");
        let out = folder.path().join("film.mp4");
        // Twice what rav1e was found to differ by.
        for (coder, most, most_squared) in [("patch", 0, 0.0), ("rav1e", 6, 0.0075)] {
            run(plyreel(&["clip", "-q", "--no-cache", "--coder", coder, "-o"]).arg(&out).arg(&film));
            let (frames, keys) = (decoded(&out), keys(&out));
            // Stillness on both sides of a key: the picture does not change in the five frames before it, nor after it.
            let still = |range: std::ops::Range<usize>| {
                range.clone().all(|at| at + 1 == range.end || frames[at] == frames[at + 1])
            };
            let held: Vec<usize> = keys
                .into_iter()
                .filter(|&key| key >= 6 && key + 5 < frames.len() && still(key - 5..key) && still(key + 1..key + 5))
                .collect();
            assert!(held.len() >= 2, "{theme} {coder}: no keys in the holds, {held:?}");
            for key in held {
                let apart = frames[key - 1].iter().zip(&frames[key]).map(|(one, other)| one.abs_diff(*other));
                let largest = apart.clone().max().expect("pixels");
                let squared: f64 = apart.map(|by| f64::from(by).powi(2)).sum::<f64>() / frames[key].len() as f64;
                writeln!(table, "{theme:5} {coder:6} key at {key:4}: at most {largest}, squared {squared:.4}")
                    .expect("a string takes it");
                let seen = largest > most || squared > most_squared;
                if seen || asked {
                    let path = write_difference(&out, &frames, key, &format!("{theme}-{coder}"));
                    writeln!(table, "  before, difference, after: {}", path.display()).expect("a string takes it");
                }
                assert!(!seen, "a key is seen\n{table}");
            }
        }
    }
    println!("{table}");
}
