//! What the parts before the coder cost: reading a timeline, replaying it, runs of stillness, painting, conversion.
//!
//! Each case checks its answer before it is timed: a part that is fast because it is wrong fails here.

use divan::Bencher;
use plyreel::encode::Yuv;
use plyreel::film::Film;
use plyreel::game::{self, PgnFiles};
use plyreel::paint::{Painter, Pixmap};
use plyreel::source::Source;
use plyreel::timeline;
use plyreel::units::{FrameIndex, PixelRect};
use std::fmt::Write;

fn main() {
    divan::main();
}

/// Sixteen scenes of a minute, each with ten moves there and back, captions and marks.
fn text() -> String {
    let mut text = String::from("[film]\ntitle = \"Parts\"\nfps = 30\nends = 960\n");
    for scene in 0..16 {
        let start = scene * 60;
        write!(
            text,
            "\n[[scene]]\nname = \"Part {scene}\"\nat = {start}\nfen = \"8/8/1KP5/3r4/8/8/8/k7 w - - 0 1\"\n\
             task = \"White to play and win\"\ncues = [\n"
        )
        .expect("a text grows");
        for (n, san) in ["c7", "Rd6+", "Kb5", "Rd5+", "Kb4", "Rd4+", "Kb3", "Rd3+", "Kc2", "Rd4"].iter().enumerate() {
            let at = start as f64 + 3.0 + n as f64 * 5.0;
            writeln!(text, "  {{ at = {at}, play = \"{san}\", marks = [\"key c7\"], arrows = [\"c7 c8\"] }},")
                .expect("a text grows");
            writeln!(text, "  {{ at = {}, text = \"The king walks down the files, step {n}.\" }},", at + 2.5)
                .expect("a text grows");
        }
        text.push_str("]\n");
    }
    text
}

fn film(source: &Source) -> Film {
    let (timeline, mistakes) = timeline::parse(source);
    assert!(mistakes.is_empty(), "{mistakes:?}");
    let (game, mistakes) = game::resolve(&timeline, &PgnFiles::default());
    assert!(mistakes.is_empty(), "{mistakes:?}");
    Film::new(&timeline, &game, None).0
}

/// A 16-minute timeline: text to values.
#[divan::bench]
fn parse(bencher: Bencher) {
    let source = Source::new("bench.toml", text());
    let (timeline, _) = timeline::parse(&source);
    assert_eq!(timeline.scenes.iter().map(|scene| scene.cues.len()).sum::<usize>(), 320);
    bencher.bench(|| timeline::parse(&source));
}

/// Its 160 moves by the laws of chess.
#[divan::bench]
fn replay(bencher: Bencher) {
    let (timeline, _) = timeline::parse(&Source::new("bench.toml", text()));
    let (game, _) = game::resolve(&timeline, &PgnFiles::default());
    let plies: usize = game
        .scenes
        .iter()
        .map(|scene| match &scene.body {
            game::Body::Board(board) => board.nodes.len() - 1,
            game::Body::Card(_) => 0,
        })
        .sum();
    assert_eq!(plies, 160);
    bencher.bench(|| game::resolve(&timeline, &PgnFiles::default()));
}

/// Its 28,800 frames: which of them change.
#[divan::bench]
fn runs(bencher: Bencher) {
    let film = film(&Source::new("bench.toml", text()));
    let all = FrameIndex(0)..FrameIndex(film.frames());
    let frames: u64 = film.runs(all.clone()).map(|run| run.frames.end.0 - run.frames.start.0).sum();
    assert_eq!(frames, film.frames());
    let held = film.runs(all.clone()).filter(|run| run.still && run.frames.end.0 - run.frames.start.0 > 1).count();
    assert!(held > 300, "a film of boards stands still: {held} holds");
    bencher.bench(|| film.runs(all.clone()).count());
}

/// A picture of a moving film and the same painted whole.
struct Painted {
    film: Film,
    painter: Painter,
    pixmap: Pixmap,
}

impl Painted {
    fn new() -> Painted {
        let film = film(&Source::new("bench.toml", text()));
        let size = film.look().size;
        let pixmap = Pixmap::new(size.width, size.height).expect("a size that can be painted");
        Painted { painter: Painter::new(film.look()), film, pixmap }
    }

    fn whole(&mut self, frame: u64) {
        self.painter.paint(&self.film.frame(FrameIndex(frame)), &mut self.pixmap);
    }
}

/// A whole 1080p frame.
#[divan::bench]
fn paint_a_frame(bencher: Bencher) {
    let mut painted = Painted::new();
    painted.whole(400);
    assert!(painted.pixmap.data().chunks_exact(4).all(|pixel| pixel[3] == 255), "a film has no holes");
    bencher.bench_local(|| painted.whole(400));
}

/// What changes from one frame of a glide to the next: painted alone, it equals the whole frame.
#[divan::bench]
fn paint_a_change(bencher: Bencher) {
    let mut painted = Painted::new();
    // The first move begins at 3 s and glides for half a second.
    let (before, after) = (painted.film.frame(FrameIndex(95)), painted.film.frame(FrameIndex(96)));
    painted.painter.paint(&before, &mut painted.pixmap);
    let damage = painted.painter.damage(&before, &after);
    assert!(!damage.is_empty(), "the piece moves");
    painted.painter.paint_within(&after, &mut painted.pixmap, &damage);
    let changed = painted.pixmap.data().to_vec();
    painted.painter.paint(&after, &mut painted.pixmap);
    assert!(changed == painted.pixmap.data(), "the change alone is the whole picture");
    bencher.bench_local(|| painted.painter.paint_within(&after, &mut painted.pixmap, &damage));
}

/// RGB to limited-range BT.709, a whole 1080p frame.
#[divan::bench]
fn convert_a_frame(bencher: Bencher) {
    let mut painted = Painted::new();
    painted.whole(400);
    let mut yuv = Yuv::black(painted.film.look().size);
    yuv.convert(painted.pixmap.data());
    check_luma(&painted.pixmap, &yuv);
    bencher.bench_local(|| yuv.convert(painted.pixmap.data()));
}

/// The same of a square of 128 pixels.
#[divan::bench]
fn convert_a_change(bencher: Bencher) {
    let mut painted = Painted::new();
    painted.whole(400);
    let mut yuv = Yuv::black(painted.film.look().size);
    let rect = PixelRect { x: 400, y: 300, width: 128, height: 128 };
    yuv.convert_rect(painted.pixmap.data(), rect);
    let mut whole = Yuv::black(painted.film.look().size);
    whole.convert(painted.pixmap.data());
    let at = 350 * 1920 + 450;
    assert_eq!(yuv.luma()[at], whole.luma()[at]);
    bencher.bench_local(|| yuv.convert_rect(painted.pixmap.data(), rect));
}

/// ITU-R BT.709-6 item 3.2 to 3.4 in 8 bits, in floating point: luma within one step.
fn check_luma(pixmap: &Pixmap, yuv: &Yuv) {
    for (pixel, &luma) in pixmap.data().chunks_exact(4).zip(yuv.luma()).step_by(997) {
        let [r, g, b] = [0, 1, 2].map(|i| f64::from(pixel[i]) / 255.0);
        let right = 16.0 + 219.0 * (0.2126 * r + 0.7152 * g + 0.0722 * b);
        assert!((f64::from(luma) - right).abs() <= 1.0, "{pixel:?}: {luma} for {right:.2}");
    }
}
