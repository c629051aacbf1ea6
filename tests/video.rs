//! The coded film, judged by decoders that are not ours: dav1d, libaom, and both of them inside ffmpeg.
//!
//! libaom is the stern one: it refuses what dav1d forgives, a key frame shown twice among others.

use plyreel::encode::{Brush, Coder, EncodeError, Pictures, Settings, Unit, Yuv, av1_configuration, pictures};
use plyreel::film::Film;
use plyreel::game::{PgnFiles, resolve};
use plyreel::paint::{Painter, Pixmap};
use plyreel::source::Source;
use plyreel::units::{FrameIndex, FrameRate, PixelRect, Size};
use std::ops::Range;
use std::path::Path;
use std::process::Command;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{LazyLock, Mutex};

/// A board of textured squares with a disc on its way, written as one letter a frame: `x` the disc moves, `.` it rests.
struct Card {
    size: Size,
    rate: u32,
    frames: String,
    cuts: Vec<u64>,
}

impl Card {
    fn moves_until(&self, frame: FrameIndex) -> usize {
        self.frames[..=frame.0 as usize].matches('x').count()
    }

    fn planes(&self, frame: FrameIndex) -> Yuv {
        let mut pixmap = Pixmap::new(self.size.width, self.size.height).unwrap();
        self.brush()(frame, &mut pixmap);
        let mut planes = Yuv::black(self.size);
        planes.convert(pixmap.data());
        planes
    }

    fn units(&self, coder: Coder) -> Vec<Unit> {
        self.coded(coder, 2, &|_| (), &AtomicBool::new(false)).unwrap()
    }

    fn coded(
        &self,
        coder: Coder,
        workers: usize,
        done: &(dyn Fn(u64) + Sync),
        stop: &AtomicBool,
    ) -> Result<Vec<Unit>, EncodeError> {
        let range = FrameIndex(0)..FrameIndex(self.frames.len() as u64);
        pictures(self, range, Settings { coder, workers, draft: false }, done, stop)
    }
}

impl Pictures for Card {
    fn size(&self) -> Size {
        self.size
    }

    fn rate(&self) -> FrameRate {
        FrameRate::new(self.rate, 1).unwrap()
    }

    fn changes(&self, range: Range<FrameIndex>) -> Vec<bool> {
        self.frames.bytes().map(|letter| letter == b'x').skip(range.start.0 as usize).collect()
    }

    fn cuts(&self) -> Vec<FrameIndex> {
        self.cuts.iter().copied().map(FrameIndex).collect()
    }

    fn digest(&self, _: FrameIndex) -> Option<u128> {
        None
    }

    fn brush(&self) -> Brush<'_> {
        Box::new(|frame, pixmap| {
            let square = self.size.height / 8;
            let moves = self.moves_until(frame) as f32;
            let (x, y) = (square as f32 * (0.5 + moves * 0.11), square as f32 * (2.5 + moves * 0.05));
            for (i, pixel) in pixmap.data_mut().as_chunks_mut::<4>().0.iter_mut().enumerate() {
                let (column, row) = (i as u32 % self.size.width, i as u32 / self.size.width);
                let grain = (i as u32).wrapping_mul(2_654_435_761) >> 30;
                let ground =
                    if (column / square + row / square).is_multiple_of(2) { [214, 201, 176] } else { [96, 116, 108] };
                let away = ((column as f32 - x).powi(2) + (row as f32 - y).powi(2)).sqrt();
                let cover = (square as f32 * 0.4 - away).clamp(0.0, 1.0);
                let disc = if away < square as f32 * 0.3 { [240.0, 236.0, 228.0] } else { [24.0, 22.0, 30.0] };
                for channel in 0..3 {
                    let ground = (ground[channel] + grain) as f32;
                    pixel[channel] = (ground + (disc[channel] - ground) * cover).round() as u8;
                }
                pixel[3] = 255;
            }
            vec![PixelRect { x: 0, y: 0, width: self.size.width, height: self.size.height }]
        })
    }
}

/// Ten frames a second, so a key at least every hundred; neither side is a multiple of eight. A short move, a short
/// rest, a long move, a rest that needs its key twice again, a cut.
fn small_card() -> Card {
    let frames = ["x..", &"x".repeat(12), &".".repeat(40), &"x".repeat(70), &".".repeat(230), &"x".repeat(5), "...."];
    Card { size: Size { width: 326, height: 186 }, rate: 10, frames: frames.concat(), cuts: vec![0, 355] }
}

/// A film's units, and its frames as a judge decodes them.
type Coded = (Vec<Unit>, Vec<Vec<u8>>);

const CODERS: [Coder; 2] = [Coder::Patch, Coder::Rav1e];

/// By each coder, the small card's units and its frames as libaom decodes them; made once for all tests.
static SMALL: LazyLock<[Coded; 2]> = LazyLock::new(|| {
    let card = small_card();
    CODERS.map(|coder| {
        let units = card.units(coder);
        let frames = decoded("aomdec", card.size, &units);
        (units, frames)
    })
});

fn ivf(path: &Path, size: Size, units: &[Unit]) {
    let mut file = b"DKIF\0\0\x20\0AV01".to_vec();
    file.extend((size.width as u16).to_le_bytes());
    file.extend((size.height as u16).to_le_bytes());
    file.extend([30u32, 1, units.len() as u32, 0].into_iter().flat_map(u32::to_le_bytes));
    for (time, unit) in units.iter().enumerate() {
        let delimiter = [0x12, 0];
        file.extend(((delimiter.len() + unit.data.len()) as u32).to_le_bytes());
        file.extend((time as u64).to_le_bytes());
        file.extend(delimiter);
        file.extend(&unit.data);
    }
    std::fs::write(path, file).unwrap();
}

const JUDGES: [&str; 3] = ["dav1d", "ffmpeg libdav1d", "ffmpeg libaom-av1"];

/// The frames as a judge decodes them, planes one after another. It must have nothing to say.
fn decoded(judge: &str, size: Size, units: &[Unit]) -> Vec<Vec<u8>> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("film.ivf");
    ivf(&path, size, units);
    let path = path.to_str().unwrap();
    let mut words = judge.split(' ');
    let program = words.next().unwrap();
    let arguments: Vec<&str> = match (program, words.next()) {
        ("dav1d", _) => vec!["-q", "--muxer", "yuv", "-o", "/dev/stdout", "-i", path],
        ("aomdec", _) => vec!["--rawvideo", "--i420", "-o", "-", path],
        (_, Some(decoder)) => {
            vec!["-v", "warning", "-c:v", decoder, "-i", path, "-fps_mode", "passthrough", "-f", "rawvideo", "-"]
        }
        _ => unreachable!("the judges are listed above"),
    };
    let output = Command::new(program).args(arguments).output().unwrap_or_else(|error| panic!("{program}: {error}"));
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{judge} has something to say");
    assert!(output.status.success(), "{judge} gives up");
    let frame = (size.width * size.height * 3 / 2) as usize;
    assert_eq!(output.stdout.len() % frame, 0, "{judge} gives whole frames");
    output.stdout.chunks(frame).map(<[u8]>::to_vec).collect()
}

/// Peak signal-to-noise ratio of two planes, in dB.
fn psnr(left: &[u8], right: &[u8]) -> f64 {
    let squares: u64 = left.iter().zip(right).map(|(l, r)| u64::from(l.abs_diff(*r)).pow(2)).sum();
    10.0 * libm::log10(255.0 * 255.0 * left.len() as f64 / squares.max(1) as f64)
}

#[test]
fn all_judges_decode_the_same_film() {
    let card = small_card();
    for (units, first) in &*SMALL {
        assert_eq!(units.len(), card.frames.len());
        assert_eq!(first.len(), units.len(), "one frame a unit");
        for judge in JUDGES {
            assert!(decoded(judge, card.size, units) == *first, "{judge} sees another film than aomdec");
        }
        for frame in 1..units.len() {
            if units[frame].data.len() == 3 {
                assert!(first[frame] == first[frame - 1], "frame {frame} is held and yet differs");
            }
        }
        let held = units.iter().filter(|unit| unit.data.len() == 3).count();
        assert!(held > 240, "only {held} frames are held");
    }
}

#[test]
fn the_picture_hardly_changes_when_its_key_comes_again() {
    let card = small_card();
    for (units, frames) in &*SMALL {
        for frame in 1..units.len() {
            let rests = card.frames.as_bytes()[frame] == b'.';
            if rests && frames[frame] != frames[frame - 1] {
                let like = psnr(&frames[frame], &frames[frame - 1]);
                assert!(like > 55.0, "frame {frame} is {like:.1} dB from the one before");
            }
        }
    }
}

#[test]
fn a_player_may_begin_at_any_key() {
    let card = small_card();
    for (units, whole) in &*SMALL {
        let keys: Vec<usize> = (0..units.len()).filter(|&frame| units[frame].key).collect();
        assert!(keys.contains(&355), "the cut is a key");
        assert!(keys.windows(2).all(|pair| pair[1] - pair[0] <= 100), "{keys:?}");
        let again = keys.windows(2).filter(|pair| units[pair[0]] == units[pair[1]]).count();
        assert_eq!(again, 2, "the long rest has its key twice again");
        for &key in &keys {
            assert_eq!(av1_configuration(&units[key].data), av1_configuration(&units[0].data));
            assert!(decoded("aomdec", card.size, &units[key..]) == whole[key..], "from frame {key} on");
        }
    }
}

#[test]
fn every_coded_frame_is_close_to_what_was_painted() {
    let frames = "xxxx..xxx.".to_owned();
    let card = Card { size: Size { width: 1920, height: 1080 }, rate: 30, frames, cuts: vec![6] };
    for coder in CODERS {
        let units = card.units(coder);
        let configuration = av1_configuration(&units[0].data).unwrap();
        assert_eq!(configuration.sequence.configuration(), [0x81, 0x08, 0x0c, 0x00]);
        assert_eq!(configuration.sequence.colour, (1, 1, 1));
        for (frame, picture) in decoded("ffmpeg libaom-av1", card.size, &units).iter().enumerate() {
            let painted = card.planes(FrameIndex(frame as u64));
            let luma = painted.luma().len();
            let fidelity = psnr(&picture[..luma], painted.luma());
            println!("frame {frame}: {} bytes, PSNR-Y {fidelity:.2} dB", units[frame].data.len());
            assert!(fidelity >= 42.0, "frame {frame} is {fidelity:.1} dB from what was painted");
            let chroma = psnr(&picture[luma..], &[painted.cb(), painted.cr()].concat());
            assert!(chroma >= 42.0, "the colours of frame {frame} are {chroma:.1} dB from what was painted");
        }
    }
}

#[test]
fn the_number_of_workers_changes_no_byte() {
    let card = small_card();
    for (coder, small) in CODERS.into_iter().zip(&*SMALL) {
        let done = Mutex::new(Vec::new());
        let together =
            card.coded(coder, 5, &|frames| done.lock().unwrap().push(frames), &AtomicBool::new(false)).unwrap();
        assert_eq!(*done.lock().unwrap(), (1..=card.frames.len() as u64).collect::<Vec<_>>(), "the count only grows");
        assert!(together == small.0, "two workers");
        let alone = card.coded(coder, 1, &|_| (), &AtomicBool::new(false)).unwrap();
        assert!(together == alone, "one worker");
    }
}

#[test]
fn coding_stops_when_told() {
    let card = small_card();
    for coder in CODERS {
        let stop = AtomicBool::new(false);
        let last = Mutex::new(0);
        let told = |frames| {
            *last.lock().unwrap() = frames;
            stop.store(frames >= 20, Ordering::Relaxed);
        };
        assert!(matches!(card.coded(coder, 2, &told, &stop), Err(EncodeError::Stopped)));
        assert!(*last.lock().unwrap() <= 21, "each of the two workers may finish the frame it is at");
    }
}

#[test]
fn a_part_of_a_film_begins_with_a_key() {
    let card = small_card();
    let range = FrameIndex(5)..FrameIndex(25);
    let stop = AtomicBool::new(false);
    let units =
        pictures(&card, range, Settings { coder: Coder::Rav1e, workers: 1, draft: true }, &|_| (), &stop).unwrap();
    assert_eq!(units.len(), 20);
    assert!(units[0].key && units[1..].iter().all(|unit| !unit.key));
    let none = pictures(
        &card,
        FrameIndex(5)..FrameIndex(5),
        Settings { coder: Coder::Rav1e, workers: 1, draft: true },
        &|_| (),
        &stop,
    );
    assert_eq!(none.unwrap(), []);
}

/// A study's beginning (G. E. Barbier and F. Saavedra, 1895) with a caption, a mark and an arrow.
const STUDY: &str = r#"
[film]
title = "The rook it chose"
height = 360
fps = 30

[[scene]]
name = "The rook it chose"
at = 0
fen = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"
task = "White to play and win"
cues = [
  { at = 1, play = "c7 Rd6+", every = "0.8s", text = "The pawn runs." },
  { at = 3, marks = ["guard d6"], arrows = ["c7 c8"] },
]
"#;

fn film(text: &str) -> Film {
    let source = Source::new("study.toml", text);
    let (timeline, mistakes) = plyreel::timeline::parse(&source);
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (game, mistakes) = resolve(&timeline, &PgnFiles::new());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (film, mistakes) = Film::new(&timeline, &game, None);
    assert!(mistakes.is_empty(), "{mistakes:?}");
    film
}

#[test]
fn a_film_is_coded_as_it_is_painted() {
    let film = film(STUDY);
    let size = film.look().size;
    let end = FrameIndex(film.frames());
    let stop = AtomicBool::new(false);
    for coder in CODERS {
        let units =
            pictures(&film, FrameIndex(0)..end, Settings { coder, workers: 2, draft: false }, &|_| (), &stop).unwrap();
        let frames = decoded("aomdec", size, &units);
        assert_eq!(frames.len() as u64, film.frames());
        let mut painter = Painter::new(film.look());
        let mut pixmap = Pixmap::new(size.width, size.height).unwrap();
        let mut planes = Yuv::black(size);
        for (frame, picture) in (0..).map(FrameIndex).zip(&frames) {
            painter.paint(&film.frame(frame), &mut pixmap);
            planes.convert(pixmap.data());
            let fidelity = psnr(&picture[..planes.luma().len()], planes.luma());
            assert!(fidelity >= 42.0, "frame {} is {fidelity:.1} dB from what is painted", frame.0);
        }
        let held = units.iter().filter(|unit| unit.data.len() == 3).count();
        assert!(held * 2 > units.len(), "most frames rest, but only {held} of {} are held", units.len());
    }
}
