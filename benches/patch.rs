//! The patch coder on painted pictures at 1080p: what one frame costs, by what changed in it.
//!
//! Each case first codes its pictures once and compares them with what a decoder has: a coder that is fast because
//! it is wrong fails here. The bytes of a frame are printed beside.

use divan::Bencher;
use plyreel::encode::patch::PatchCoder;
use plyreel::encode::{Yuv, even_rect};
use plyreel::film::Film;
use plyreel::game;
use plyreel::paint::{Painter, Pixmap};
use plyreel::source::Source;
use plyreel::timeline;
use plyreel::units::{FrameIndex, PixelRect, Size};

const FILM: &str = r#"
[film]
title = "The patch coder's bench"
height = 1080
fps = 30
[[scene]]
name = "The first position"
at = "0:00"
fen = "8/8/1KP5/3r4/8/8/8/k7 w - - 0 1"
task = "White to play and win"
cues = [
  { at = "0:01.0", play = "c7" },
  { at = "0:02.5", text = "Why not a queen at once? The answer lies deeper." },
]
[[scene]]
name = "The start"
at = "0:04"
fen = "rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1"
"#;

/// Least PSNR in luma inside what changed, in dB.
const LEAST_PSNR: f64 = 46.0;

fn main() {
    divan::main();
}

/// Paints whole frames of the film.
fn frames<const N: usize>(numbers: [u64; N]) -> [Yuv; N] {
    let (timeline, mistakes) = timeline::parse(&Source::new("bench.toml", FILM));
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (game, mistakes) = game::resolve(&timeline, &game::PgnFiles::default());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (film, _) = Film::new(&timeline, &game, None);
    let size = film.look().size;
    let mut painter = Painter::new(film.look());
    let mut pixmap = Pixmap::new(size.width, size.height).expect("a size that can be painted");
    numbers.map(|number| {
        painter.paint(&film.frame(FrameIndex(number)), &mut pixmap);
        let mut yuv = Yuv::black(size);
        yuv.convert(pixmap.data());
        yuv
    })
}

fn coder(key: &Yuv) -> PatchCoder {
    let rate = plyreel::units::FrameRate::new(30, 1).expect("a rate");
    let mut coder = PatchCoder::new(key.size(), rate).expect("a size that fits");
    coder.key(key);
    coder.copy();
    coder
}

/// The smallest even rectangle around the luma that differs.
fn difference(a: &Yuv, b: &Yuv) -> PixelRect {
    let Size { width, .. } = a.size();
    let (mut left, mut right, mut top, mut bottom) = (u32::MAX, 0, u32::MAX, 0);
    for (i, _) in (0u32..).zip(a.luma().iter().zip(b.luma())).filter(|(_, (a, b))| a != b) {
        let (x, y) = (i % width, i / width);
        (left, right, top, bottom) = (left.min(x), right.max(x + 1), top.min(y), bottom.max(y + 1));
    }
    assert!(left < right, "the pictures differ");
    even_rect(PixelRect { x: left, y: top, width: right - left, height: bottom - top })
}

/// `picture` with `rect` at `part` quarters of its contrast: every pixel there is new.
fn faded(picture: &Yuv, rect: PixelRect, part: u32) -> Yuv {
    let mut faded = picture.clone();
    let width = picture.size().width;
    for (plane, samples) in faded.planes_mut().into_iter().enumerate() {
        let half = u32::from(plane > 0);
        for y in rect.y >> half..(rect.y + rect.height) >> half {
            for x in rect.x >> half..(rect.x + rect.width) >> half {
                let sample = &mut samples[(y * (width >> half) + x) as usize];
                *sample = ((u32::from(*sample) * part + 100 * (4 - part)) / 4) as u8;
            }
        }
    }
    faded
}

fn psnr(a: &Yuv, b: &Yuv, rect: PixelRect) -> f64 {
    let width = a.size().width;
    let mut error = 0u64;
    for y in rect.y..rect.y + rect.height {
        for x in rect.x..rect.x + rect.width {
            let i = (y * width + x) as usize;
            error += u64::from(a.luma()[i].abs_diff(b.luma()[i])).pow(2);
        }
    }
    let samples = f64::from(rect.width) * f64::from(rect.height);
    if error == 0 { f64::INFINITY } else { 10.0 * libm::log10(255.0 * 255.0 * samples / error as f64) }
}

/// Times going from one picture to the other and back, each time one frame, behind a key of a third.
fn change(bencher: Bencher, key: &Yuv, pictures: [&Yuv; 2]) {
    let mut coder = coder(key);
    let rect = difference(pictures[0], pictures[1]);
    coder.change(pictures[0], &[PixelRect { x: 0, y: 0, width: key.size().width, height: key.size().height }]);
    let unit = coder.change(pictures[1], &[rect]);
    let psnr = psnr(pictures[1], &coder.reconstruction(), rect);
    assert!(psnr >= LEAST_PSNR, "{psnr} dB inside the rectangle");
    println!("{}×{}: {} bytes, {psnr:.1} dB", rect.width, rect.height, unit.data.len());
    let mut next = 0;
    bencher.bench_local(|| {
        let unit = coder.change(pictures[next], &[rect]);
        next = 1 - next;
        unit
    });
}

#[divan::bench]
fn copy(bencher: Bencher) {
    let [rest] = frames([0]);
    let mut coder = coder(&rest);
    let before = coder.reconstruction();
    let unit = coder.copy();
    assert_eq!(coder.reconstruction(), before, "a copy changes nothing");
    println!("{} bytes", unit.data.len());
    bencher.bench_local(|| coder.copy());
}

#[divan::bench]
fn glide_step(bencher: Bencher) {
    let [rest, one, two] = frames([0, 41, 42]);
    change(bencher, &rest, [&one, &two]);
}

#[divan::bench]
fn square_of_240(bencher: Bencher) {
    let [rest] = frames([0]);
    let rect = PixelRect { x: 400, y: 120, width: 240, height: 240 };
    change(bencher, &rest, [&faded(&rest, rect, 3), &faded(&rest, rect, 2)]);
}

#[divan::bench]
fn caption_of_1500_by_120(bencher: Bencher) {
    let [rest] = frames([100]);
    let rect = PixelRect { x: 380, y: 860, width: 1500, height: 120 };
    change(bencher, &rest, [&faded(&rest, rect, 3), &faded(&rest, rect, 2)]);
}

#[divan::bench]
fn full_repaint(bencher: Bencher) {
    let [rest, other] = frames([0, 150]);
    let black = Yuv::black(rest.size());
    change(bencher, &black, [&rest, &other]);
}

#[divan::bench]
fn key(bencher: Bencher) {
    let [start] = frames([150]);
    let mut coder = coder(&start);
    let Size { width, height } = start.size();
    let psnr = psnr(&start, &coder.reconstruction(), PixelRect { x: 0, y: 0, width, height });
    assert!(psnr >= 48.0, "{psnr} dB");
    println!("{} bytes, {psnr:.1} dB", coder.key(&start).data.len());
    bencher.bench_local(|| coder.key(&start));
}
