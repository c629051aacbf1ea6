//! `plyreel replay`: the line goes round without a jump, and animated pictures decode to the painted frames.

use plyreel::animation::{self, AnimationError, Form};
use plyreel::film::Film;
use plyreel::game::{PgnFiles, resolve};
use plyreel::paint::{Painter, Pixmap};
use plyreel::source::{Source, Span, Spanned};
use plyreel::timeline::{Replay, parse};
use plyreel::units::{FrameIndex, Time};
use std::cell::Cell;
use std::fs;
use std::io::{self, Write};
use std::path::Path;
use std::process::{Command, Output};
use std::sync::atomic::AtomicBool;

/// Marks and an arrow before the first move, a capture, check, promotion, captions; a try beside it.
const TEXT: &str = r#"
[film]
title  = "Once more"
height = 240
narration = "not-there.ogg"
ends   = "0:40"

[[scene]]
name = "The open gate"
at   = 0
fen  = "8/1p1Pk3/8/2N5/8/8/8/4K3 w - - 0 1"
task = "White to move"
cues = [
  { at = 0.5, label = "gate" },
  { at = 1, marks = ["key d7"], arrows = ["d7 d8"], text = "A check comes first." },
  { at = 2, ghost = "d8=Q+", text = "Why not now?" },
  { at = 3, play = "Nxb7", text = "The knight takes.", marks = ["guard d8"] },
  { at = 5, text = "Where can he go?" },
  { at = 6, play = "Kxd7 Nc5+", every = 1, text = "", label = "away" },
  { at = 9, back = "start" },
  { at = 11, play = "d8=Q+?", line = "try" },
  { at = 12, play = "Kxd8" },
]
"#;

fn film(settings: &str, line: Option<&str>, words: bool) -> Film {
    paced(settings, line, words, None)
}

fn paced(settings: &str, line: Option<&str>, words: bool, pace: Option<f64>) -> Film {
    let text = TEXT.replace("[film]\n", &format!("[film]\n{settings}\n"));
    let (timeline, mistakes) = parse(&Source::new("film.toml", text));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (game, mistakes) = resolve(&timeline, &PgnFiles::new());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let replay = Replay {
        scene: Spanned { value: "The open gate".to_owned(), span: Span::default() },
        line: line.map(|line| Spanned { value: line.to_owned(), span: Span::default() }),
        pace: pace.map(|pace| Spanned { value: pace, span: Span::default() }),
    };
    let (film, mistakes) = Film::round(&timeline, &game, (0, 0), &replay, words).expect("there is such a line");
    assert!(mistakes.is_empty(), "{mistakes:?}");
    film
}

fn paint(film: &Film, painter: &mut Painter, frame: u64) -> Pixmap {
    let size = film.look().size;
    let mut pixmap = Pixmap::new(size.width, size.height).expect("a size");
    painter.paint(&film.frame(FrameIndex(frame)), &mut pixmap);
    pixmap
}

#[test]
fn it_ends_as_it_begins() {
    let every_line = [(None, false), (None, true), (Some("try"), true), (Some("away"), false)];
    for (settings, lines) in [
        ("", &every_line[..]),
        ("motion = \"calm\"", &every_line[1..3]),
        ("layout = \"lower-third\"", &every_line[1..2]),
        ("layout = \"overlay\"", &every_line[2..3]),
        ("frame = \"tall\"", &every_line[..1]),
        ("fps = \"30000/1001\"", &every_line[1..2]),
    ] {
        for &(line, words) in lines {
            let film = film(settings, line, words);
            let last = film.frames() - 1;
            let mut painter = Painter::new(film.look());
            let (first, end) = (paint(&film, &mut painter, 0), paint(&film, &mut painter, last));
            assert!(first.data() == end.data(), "{settings} {line:?}: the first and the last picture differ");
            assert!(film.frame(FrameIndex(0)) == film.frame(FrameIndex(last)), "{settings} {line:?}");
            // It rests before it goes round, and it has moved.
            assert!(film.frame(FrameIndex(last - 10)) == film.frame(FrameIndex(last)), "{settings} {line:?}");
            assert!((1..last).any(|frame| film.frame(FrameIndex(frame)) != film.frame(FrameIndex(0))));
        }
    }
}

#[test]
fn it_is_slow_silent_and_keeps_what_the_cues_laid_on_the_board() {
    let film = film("", None, true);
    let captions: Vec<&str> = film.texts().iter().map(|text| text.text.as_str()).collect();
    for said in ["A check comes first.", "The knight takes."] {
        assert!(captions.contains(&said), "{captions:?}");
    }
    for not_said in ["Where can he go?", "Why not now?"] {
        assert!(!captions.contains(&not_said), "a move keeps its own words: {captions:?}");
    }
    // Three plies at a third of the speed, with rests: the film's forty seconds do not hold.
    let length = film.length().as_secs_f64();
    assert!((8.0..30.0).contains(&length), "{length} s");
    let silent = self::film("", None, false);
    assert!(silent.texts().iter().all(|text| !text.text.contains("check comes")), "{:?}", silent.texts());
    assert!(silent.at(Time::from_millis(2000)) != silent.at(Time::from_millis(0)), "marks come before the first move");
}

/// What the judge says: pictures, round for ever, largest and mean squared difference, lateness in ms, and both
/// differences by ffmpeg.
struct Judged {
    pictures: u64,
    round: bool,
    largest: u32,
    squared: f64,
    late: f64,
    by_ffmpeg: Option<(u32, f64)>,
}

fn judge(film: &Film, form: Form, ending: &str) -> (Judged, animation::Made) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join(format!("it.{ending}"));
    let raw = folder.path().join("frames.raw");
    let mut bytes = Vec::new();
    let made = animation::write(film, form, &mut bytes, &|_| (), &AtomicBool::new(false)).expect("it can be made");
    fs::write(&path, bytes).expect("a file");
    let mut painter = Painter::new(film.look());
    let mut frames = Vec::new();
    for frame in 0..film.frames() {
        frames.extend(paint(film, &mut painter, frame).pixels().iter().flat_map(|pixel| {
            let straight = pixel.demultiply();
            [straight.red(), straight.green(), straight.blue(), straight.alpha()]
        }));
    }
    fs::write(&raw, frames).expect("a file");
    let (size, rate) = (film.look().size, film.rate());
    let numbers = [size.width, size.height, rate.num(), rate.den()].map(|number| number.to_string());
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/judges/animation.py");
    let output = Command::new("python3").arg(script).arg(&path).arg(&raw).args(numbers).output();
    let output = output.expect("python3 runs; scripts/tools test installs it");
    let told = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut words = told.split_whitespace();
    let mut next = || words.next().unwrap_or_else(|| panic!("the judge said {told}"));
    let judged = Judged {
        pictures: next().parse().expect("a number"),
        round: next() == "True",
        largest: next().parse().expect("a number"),
        squared: next().parse().expect("a number"),
        late: next().parse().expect("a number"),
        by_ffmpeg: None,
    };
    let by_ffmpeg = next().parse().ok().zip(next().parse().ok());
    (Judged { by_ffmpeg, ..judged }, made)
}

#[test]
fn webp_and_png_decode_to_the_painted_frames() {
    for settings in ["", "fps = \"30000/1001\"\ntheme = \"ink\"", "layout = \"overlay\"\nfps = 25"] {
        let film = paced(settings, None, true, Some(1.0));
        for (form, ending) in [(Form::WebP, "webp"), (Form::Png, "png")] {
            let (judged, made) = judge(&film, form, ending);
            assert_eq!((judged.pictures, judged.round), (made.cels, true), "{settings} {ending}");
            assert_eq!((judged.largest, judged.squared), (0, 0.0), "{settings} {ending}");
            assert!(judged.late <= if form == Form::Png { 0.01 } else { 0.5 }, "{settings}: {} ms", judged.late);
            if let Some(by_ffmpeg) = judged.by_ffmpeg {
                assert_eq!(by_ffmpeg, (0, 0.0), "{settings} {ending}");
            }
        }
    }
}

#[test]
fn a_gif_comes_close() {
    for theme in ["dusk", "tide", "ink"] {
        let film = paced(&format!("theme = \"{theme}\"\nfps = 25"), None, true, Some(1.0));
        let (judged, made) = judge(&film, Form::Gif, "gif");
        assert_eq!((judged.pictures, judged.round), (made.cels, true));
        let (kept, painted) = made.colours.expect("a GIF has a palette");
        assert!(kept <= 256 && kept < painted, "{kept} of {painted} colours");
        for squared in [judged.squared, judged.by_ffmpeg.expect("ffmpeg knows GIF").1] {
            // Over the worst picture; alpha, always right, is a fourth of the mean.
            let decibels = 10.0 * libm::log10(255.0f64.powi(2) / (squared * 4.0 / 3.0));
            assert!(decibels >= 40.0, "{theme}: {decibels:.1} dB");
        }
        assert!(judged.late <= 0.01, "{theme}: {} ms", judged.late);
    }
}

/// A place that is full after so many bytes.
struct Full(usize);

impl Write for Full {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.0 == 0 {
            return Err(io::ErrorKind::StorageFull.into());
        }
        let taken = bytes.len().min(self.0);
        self.0 -= taken;
        Ok(taken)
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_full_disk_is_told() {
    let film = paced("", Some("away"), false, Some(1.0));
    for form in [Form::WebP, Form::Png, Form::Gif] {
        let mut whole = Vec::new();
        let furthest = Cell::new(0);
        let rises = |frame| assert!(furthest.replace(frame) <= frame, "{form:?}: it went back");
        animation::write(&film, form, &mut whole, &rises, &AtomicBool::new(false)).expect("it can be made");
        assert_eq!(furthest.get(), 2 * film.frames(), "{form:?}");
        for room in [0, 5, whole.len() / 2, whole.len() - 1] {
            let made = animation::write(&film, form, &mut Full(room), &|_| (), &AtomicBool::new(false));
            let told = matches!(&made, Err(AnimationError::Write(error)) if error.kind() == io::ErrorKind::StorageFull);
            assert!(told, "{form:?} with room for {room}: {made:?}");
        }
        let stopped = animation::write(&film, form, &mut Vec::new(), &|_| (), &AtomicBool::new(true));
        assert!(matches!(stopped, Err(AnimationError::Stopped)), "{form:?}: {stopped:?}");
    }
}

fn plyreel(arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_plyreel"));
    command.args(arguments).env_remove("HOME").env_remove("XDG_CACHE_HOME").output().expect("the program starts")
}

#[test]
fn the_program_makes_every_form_and_refuses_the_rest() {
    let folder = tempfile::tempdir().expect("a folder");
    let timeline = folder.path().join("film.toml");
    // The narration that the film names is not there, and is not needed.
    fs::write(&timeline, TEXT).expect("a file");
    let timeline = timeline.to_str().expect("a path");
    for (name, first) in [
        ("it.mp4", &b"\0\0\0"[..]),
        ("it.webm", b"\x1a\x45\xdf\xa3"),
        ("it.webp", b"RIFF"),
        ("it.png", b"\x89PNG"),
        ("it.gif", b"GIF89a"),
    ] {
        let path = folder.path().join(name);
        let output = plyreel(&["replay", timeline, "-o", path.to_str().expect("a path"), "--height", "240", "-q"]);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        assert!(fs::read(&path).expect("it is there").starts_with(first), "{name}");
        fs::remove_file(path).expect("it is there");
    }
    let scene = ["--scene", "The open gate"];
    for (arguments, says) in [
        (vec!["-o", "it.avi"], "an animated picture (.webp, .png, .apng, .gif)"),
        (vec!["--scene", "The open gat"], "did you mean `The open gate`?"),
        (vec!["--line", "awy", scene[0], scene[1]], "did you mean `away`?"),
        (vec!["--line", "gate"], "no scene has a line `gate`"),
        (vec!["--line", "gate", scene[0], scene[1]], "no move leads to `gate`"),
        (vec!["--pace", "2"], "a pace is a number from 0.1 to 1"),
        (vec!["-o", "it.gif", "--layout", "overlay"], "write .webp or .png"),
        (vec!["-o", "it.gif", "--fps", "60"], "at most 50 pictures a second"),
    ] {
        let output = plyreel(&[&["replay", timeline][..], &arguments].concat());
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {told}");
        assert!(told.contains(says), "{arguments:?}: {told}");
    }
    let left: Vec<_> =
        fs::read_dir(folder.path()).expect("a folder").flatten().map(|entry| entry.file_name()).collect();
    assert_eq!(left, ["film.toml"], "something was left behind");
}
