//! An overlay over footage: laid over three test cards by ffmpeg, as PNG and as fill and key, beside our own composite.

mod films;

use films::{Film, run};
use plyreel::film::Film as Pictures;
use plyreel::game::{PgnFiles, resolve};
use plyreel::paint::{Painter, Pixmap};
use plyreel::source::Source;
use plyreel::timeline::parse;
use plyreel::units::FrameIndex;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const SIZE: (usize, usize) = (640, 360);
const CARDS: [&str; 3] = ["testsrc2", "smptehdbars", "color=white"];

/// Marks, an arrow, a ghost, captions that come, change and go, and a card.
const TEXT: &str = r#"
[film]
title   = "T"
height  = 360
fps     = 25
theme   = "dusk"
layout  = "overlay"

[[scene]]
name = "S"
at   = 0
fen  = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"
cues = [
  { at = 0.5, text = "One line." },
  { at = 1.2, play = "c7", marks = ["key c7", "trap a1 b1", "threat d5", "guard d6"], arrows = ["c7 c8"] },
  { at = 2.4, ghost = "b Rd6+", text = "And now two lines, because there is more to be said of this move than fits in one of them." },
  { at = 4.0, play = "Rd6+", text = "" },
  { at = 5.2, text = "Ночью светит маяк." },
]

[[scene]]
at   = 7
card = "end"
text = "That was it"
"#;

fn film() -> Film {
    let film = Film::new();
    fs::write(film.path(), TEXT).unwrap();
    film
}

fn pictures() -> Pictures {
    let (timeline, mistakes) = parse(&Source::new("film.toml", TEXT));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (game, mistakes) = resolve(&timeline, &PgnFiles::new());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    Pictures::new(&timeline, &game, None).0
}

/// What ffmpeg writes to its standard output.
fn ffmpeg(arguments: &[&str]) -> Vec<u8> {
    let output = Command::new("ffmpeg")
        .args(["-v", "error", "-nostdin"])
        .args(arguments)
        .args(["-f", "rawvideo", "-pix_fmt", "rgb24", "-"])
        .output()
        .unwrap_or_else(|error| panic!("cannot run ffmpeg ({error}); scripts/tools test installs it"));
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.trim().is_empty(), "ffmpeg {arguments:?}: {said}");
    output.stdout
}

fn card(name: &str) -> String {
    let mark = if name.contains('=') { ':' } else { '=' };
    format!("{name}{mark}size={}x{}:rate=25", SIZE.0, SIZE.1)
}

/// Our own composite: the painted, premultiplied pixels over a background.
fn over(painted: &Pixmap, background: &[u8]) -> Vec<u8> {
    let mut out = Vec::with_capacity(background.len());
    for (pixel, under) in painted.pixels().iter().zip(background.chunks_exact(3)) {
        let left = 255 - u32::from(pixel.alpha());
        for (over, under) in [pixel.red(), pixel.green(), pixel.blue()].into_iter().zip(under) {
            out.push((u32::from(over) + (u32::from(*under) * left + 127) / 255).min(255) as u8);
        }
    }
    out
}

fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn pictures_with_straight_alpha_composite_as_we_do() {
    let film = film();
    let folder = film.out().with_extension("frames");
    run(film.command(&["frames", "-q"]).arg(film.path()).args(["--from", "0.4", "--to", "5.9", "-o"]).arg(&folder));
    let count = fs::read_dir(&folder).unwrap().count();
    let sequence = folder.join("%05d.png");
    let pictures = pictures();
    let mut painter = Painter::new(pictures.look());
    let mut worst = 0;
    for name in CARDS {
        let source = card(name);
        let frames = count.to_string();
        let background = ffmpeg(&["-f", "lavfi", "-i", &source, "-frames:v", &frames]);
        let graph = "[0:v]format=rgb24[b];[1:v]format=rgba[o];[b][o]overlay=format=rgb";
        let sequence = sequence.to_str().unwrap();
        let inputs = ["-f", "lavfi", "-i", &source, "-framerate", "25", "-start_number", "10", "-i", sequence];
        let theirs = ffmpeg(&[&inputs[..], &["-filter_complex", graph, "-frames:v", &frames]].concat());
        assert_eq!(theirs.len(), background.len());
        let bytes = SIZE.0 * SIZE.1 * 3;
        for frame in 0..count {
            let mut painted = Pixmap::new(SIZE.0 as u32, SIZE.1 as u32).unwrap();
            painter.paint(&pictures.frame(FrameIndex(10 + frame as u64)), &mut painted);
            let ours = over(&painted, &background[frame * bytes..][..bytes]);
            let theirs = &theirs[frame * bytes..][..bytes];
            worst = ours.iter().zip(theirs).map(|(a, b)| a.abs_diff(*b)).fold(worst, u8::max);
        }
    }
    println!("{count} frames over {} cards: never more than {worst} of 255 apart", CARDS.len());
    assert!(worst <= 1, "up to {worst} of 255 apart");
}

/// Bright pixels that let the footage through are words, or parts of a card, on nothing: over a bright window they would
/// be lost. While a scene comes in all of it is half there; else every word has its plate, also while captions change.
#[test]
fn no_word_ever_stands_on_bare_footage() {
    let text = TEXT
        .replacen("[[scene]]", "[[scene]]\nat = 0\ncard = \"title\"\n\n[[scene]]", 1)
        .replace("at   = 0\nfen", "at   = 0.4\nfen");
    let (timeline, mistakes) = parse(&Source::new("film.toml", text));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (game, _) = resolve(&timeline, &PgnFiles::new());
    let film = Pictures::new(&timeline, &game, None).0;
    let mut painter = Painter::new(film.look());
    let mut painted = Pixmap::new(SIZE.0 as u32, SIZE.1 as u32).unwrap();
    let mut judged = 0;
    for frame in (0..film.frames()).map(FrameIndex) {
        let picture = film.frame(frame);
        if picture.beneath.is_some() {
            continue;
        }
        painter.paint(&picture, &mut painted);
        // The words' near white; the accent of the bar beside them fades with its plate.
        let is_bare = |alpha: u8, blue: u8| (40..215).contains(&alpha) && blue > alpha / 10 * 7;
        let bare = painted.pixels().iter().filter(|pixel| is_bare(pixel.alpha(), pixel.blue())).count();
        assert_eq!(bare, 0, "frame {}", frame.0);
        judged += 1;
    }
    assert!(judged > 100, "{judged} frames");
}

fn layers(film: &Film) -> (PathBuf, PathBuf) {
    (film.out().with_extension("fill.mp4"), film.out().with_extension("key.mp4"))
}

fn probed(path: &Path) -> (Vec<String>, Vec<String>) {
    let show = ["-v", "error", "-select_streams", "v", "-show_entries", "packet=pts_time,duration_time,flags"];
    let output = Command::new("ffprobe").args(show).args(["-of", "csv=p=0"]).arg(path).output().unwrap();
    let lines: Vec<String> = String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect();
    let streams = ["-v", "error", "-show_entries", "stream=codec_type", "-of", "csv=p=0"];
    let output = Command::new("ffprobe").args(streams).arg(path).output().unwrap();
    let streams = String::from_utf8(output.stdout).unwrap().lines().map(str::to_owned).collect();
    (lines, streams)
}

/// Whether a pixel or one beside it is wholly transparent.
fn is_open(painted: &Pixmap, at: usize) -> bool {
    let pixels = painted.pixels();
    let beside = [Some(at), at.checked_sub(1), Some(at + 1), at.checked_sub(SIZE.0), Some(at + SIZE.0)];
    beside.into_iter().flatten().filter_map(|at| pixels.get(at)).any(|pixel| pixel.alpha() == 0)
}

#[test]
fn fill_and_key_are_frame_exact_and_composite_as_we_do() {
    let film = film();
    let text = TEXT.replacen("title   =", "narration = \"voice.wav\"\ntitle   =", 1);
    fs::write(film.path(), text).unwrap();
    film.speak("voice.wav", 9.0, 440.0);
    let output = run(film.command(&["clip"]).arg(film.path()).arg("-o").arg(film.out()));
    let (fill, key) = layers(&film);
    assert_eq!(String::from_utf8_lossy(&output.stdout), format!("{}\n{}\n", fill.display(), key.display()));
    assert!(!film.out().exists(), "an overlay has no third file");
    let ((fills, sounds), (keys, silent)) = (probed(&fill), probed(&key));
    assert_eq!(fills, keys, "the same times, and keys at the same frames");
    assert_eq!(fills.len(), 9 * 25);
    assert!(sounds.iter().any(|kind| kind == "audio") && !silent.iter().any(|kind| kind == "audio"));

    let pictures = pictures();
    let mut painter = Painter::new(pictures.look());
    let frames = fills.len();
    let count = frames.to_string();
    let (fill, key) = (fill.to_str().unwrap(), key.to_str().unwrap());
    let bytes = SIZE.0 * SIZE.1 * 3;
    for name in CARDS {
        let source = card(name);
        let background = ffmpeg(&["-f", "lavfi", "-i", &source, "-frames:v", &count]);
        let graph = "[0:v]format=rgb24[b];\
             [1:v]scale=in_color_matrix=bt709:in_range=tv:out_range=pc:flags=accurate_rnd+full_chroma_int,format=rgba[f];\
             [2:v]scale=in_range=tv:out_range=pc,format=gray[k];[f][k]alphamerge[o];[b][o]overlay=format=rgb";
        let inputs = ["-f", "lavfi", "-i", &source, "-i", fill, "-i", key];
        let theirs = ffmpeg(&[&inputs[..], &["-filter_complex", graph, "-frames:v", &count]].concat());
        assert_eq!(theirs.len(), background.len());
        let (mut sum, mut far, mut fringe) = (0u64, 0u64, 0u8);
        for frame in 0..frames {
            let mut painted = Pixmap::new(SIZE.0 as u32, SIZE.1 as u32).unwrap();
            painter.paint(&pictures.frame(FrameIndex(frame as u64)), &mut painted);
            let under = &background[frame * bytes..][..bytes];
            let ours = over(&painted, under);
            let theirs = &theirs[frame * bytes..][..bytes];
            for (at, (ours, theirs)) in ours.chunks(3).zip(theirs.chunks(3)).enumerate() {
                // Where nothing is, and the rims of what is: a fringe would show here. At rest they are 6 apart at most; letters
                // of a caption that comes in before its plate is as wide as they are reach 19.
                let is_rim = is_open(&painted, at);
                for (a, b) in ours.iter().zip(theirs) {
                    sum += u64::from(a.abs_diff(*b));
                    far += u64::from(a.abs_diff(*b) > 24);
                    if is_rim {
                        fringe = fringe.max(a.abs_diff(*b));
                    }
                }
            }
        }
        let all = (frames * bytes) as f64;
        let (mean, far) = (sum as f64 / all, far as f64 / all);
        println!("{name}: mean {mean:.3} of 255, {:.4} % above 24, at the rims at most {fringe}", far * 100.0);
        assert!(mean < 0.6, "{name}: mean {mean}");
        assert!(far < 0.01, "{name}: {far} of all samples above 24");
        assert!(fringe <= 24, "{name}: {fringe} at the rims");
    }
}

#[test]
fn an_overlay_is_kept_in_chunks_and_comes_from_parts_like_any_film() {
    let film = film();
    let make = |more: &[&str]| {
        let output = run(film
            .command(&["clip", "-q", "--format", "json"])
            .arg(film.path())
            .arg("-o")
            .arg(film.out())
            .args(more));
        let (fill, key) = layers(&film);
        let object: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        (object["made"].clone(), fs::read(fill).unwrap(), fs::read(key).unwrap())
    };
    let (made, fill, key) = make(&[]);
    assert_eq!(made["chunks"], made["coded_chunks"], "no chunk of the fill is taken for one of the key");
    let (made, again, key_again) = make(&[]);
    assert_eq!(made["coded_chunks"], 0);
    assert!(again == fill && key_again == key && fill != key);

    let part = |share: &str| {
        let output = run(film.command(&["clip", "-q", "--no-cache", "--chunk", share]).arg(film.path()));
        PathBuf::from(String::from_utf8(output.stdout).unwrap().trim_end())
    };
    let parts = [part("2/2"), part("1/2")];
    let output = run(film.command(&["join", "-q"]).arg(film.path()).args(&parts).arg("-o").arg(film.out()));
    let (fill_path, key_path) = layers(&film);
    assert_eq!(String::from_utf8_lossy(&output.stdout), format!("{}\n{}\n", fill_path.display(), key_path.display()));
    assert!(fs::read(fill_path).unwrap() == fill && fs::read(key_path).unwrap() == key);
}

#[test]
fn fill_and_key_are_there_together_or_not_at_all() {
    let film = film();
    let (fill, key) = layers(&film);
    fs::create_dir(&key).unwrap();
    let output = film.command(&["clip", "-q"]).arg(film.path()).arg("-o").arg(film.out()).output().unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", stderr(&output));
    assert!(!fill.exists(), "the fill went with the key");
    let output = film.command(&["clip", "-q"]).arg(film.path()).args(["-o", "-"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("an overlay becomes two files, fill and key"), "{}", stderr(&output));
}
