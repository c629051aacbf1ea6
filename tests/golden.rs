//! Golden frames: whole pictures as they were looked at and found good.
//!
//! Painted at 320 × 180. No channel of any pixel may differ by more than 1. A failure
//! writes *expected | difference | actual* under `target/golden`. `BLESS=1 cargo test --test golden NAME` rewrites the
//! pictures of the tests it runs and then fails, so that it never reads as a pass.

mod pictures;

use pictures::{busy, card_picture, long_list, look, mate, picture, study};
use plyreel::film::{Head, Look, Own, Picture, ScenePicture};
use plyreel::paint::{self, Crop, Painter, Panel, Pixmap, Poster, PosterWord};
use plyreel::timeline::{CardKind, Layout, ThemeName};
use std::fs::File;
use std::io::{BufReader, BufWriter};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Every golden frame has its test here, and every test its picture.
macro_rules! golden {
    ($($name:ident: $theme:ident, $layout:ident, $size:expr, $picture:expr;)*) => {
        const NAMES: &[&str] = &[$(stringify!($name)),*];

        $(
            #[test]
            fn $name() {
                check(stringify!($name), (ThemeName::$theme, Layout::$layout), $size, &$picture);
            }
        )*
    };
}

const WIDE: (u32, u32) = (320, 180);

golden! {
    busy_ink: Ink, Panel, WIDE, picture(busy());
    card_chapter_tide: Tide, Panel, WIDE, card_picture(CardKind::Chapter);
    card_end_dusk: Dusk, Panel, WIDE, card_picture(CardKind::End);
    card_position_dusk: Dusk, Panel, WIDE, card_picture(CardKind::Position);
    card_title_overlay: Tide, Overlay, WIDE, card_picture(CardKind::Title);
    card_title_dusk: Dusk, Panel, WIDE, card_picture(CardKind::Title);
    long_list_dusk: Dusk, Panel, WIDE, picture(long_list());
    head_ink: Ink, Panel, WIDE, picture(long_head());
    lower_third_tide: Tide, LowerThird, WIDE, picture(mate());
    mate_tide: Tide, Panel, WIDE, picture(mate());
    overlay_dusk: Dusk, Overlay, WIDE, picture(study());
    square_ink: Ink, Panel, (240, 240), picture(study());
    study_dusk: Dusk, Panel, WIDE, picture(study());
    tall_dusk: Dusk, Panel, (180, 320), picture(long_list());
}

/// Accents over descenders, a title of three lines, a credit of two.
fn long_head() -> ScenePicture {
    let head = Head {
        kicker: "Übungen, Jqp · 12".into(),
        title: "Étude für Ägypten: How a bishop and a queen that dies win the ending against two pawns".into(),
        credit: "Á. Példa & Ž. Příklad, The Exemplary Monthly Magazine of Composition, 1931 (2nd prize)".into(),
        ..(*study().head).clone()
    };
    ScenePicture { head: Arc::new(head), ..study() }
}

/// Looked at a quarter as wide as it is made.
#[test]
fn poster_dusk() {
    let poster = Poster {
        theme: ThemeName::Dusk,
        own: Own::default(),
        board: study().board,
        crop: Crop { x: 560, y: -2, square: 180 },
        panel: Panel::Left { top: 720.0, bottom: 634.0 },
        words: ["Not", "a", "queen!"].map(|text| PosterWord { text: text.into(), accented: text == "queen!" }).into(),
    };
    let painted = paint::poster(&poster);
    let (width, height) = (painted.width() as usize / 4, painted.height() as usize / 4);
    let mean = |x: usize, y: usize, channel: usize| {
        let at = |i: usize| painted.data()[((4 * y + i / 4) * 4 * width + 4 * x + i % 4) * 4 + channel];
        ((0..16).map(|i| u32::from(at(i))).sum::<u32>() / 16) as u8
    };
    let pixels = (0..width * height * 3).map(|i| mean(i / 3 % width, i / 3 / width, i % 3)).collect();
    judge(POSTER, &Frame { width: width as u32, height: height as u32, pixels });
}

const POSTER: &str = "poster_dusk";

#[test]
fn every_picture_has_a_test_and_is_small() {
    for entry in std::fs::read_dir(folder()).expect("the golden folder") {
        let path = entry.expect("an entry").path();
        let name = path.file_stem().and_then(|name| name.to_str()).expect("a name");
        assert!(NAMES.contains(&name) || name == POSTER, "{} has no test", path.display());
        let bytes = path.metadata().expect("its length").len();
        assert!(bytes <= 20 * 1024, "{} has {bytes} bytes, more than 20 KiB", path.display());
    }
}

/// Red, green and blue, row by row.
struct Frame {
    width: u32,
    height: u32,
    pixels: Vec<u8>,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/golden")
}

fn check(name: &str, look: (ThemeName, Layout), size: (u32, u32), picture: &Picture) {
    judge(name, &painted(look, size, picture));
}

fn judge(name: &str, actual: &Frame) {
    let path = folder().join(format!("{name}.png"));
    if std::env::var_os("BLESS").is_some() {
        assert!(std::env::var_os("CI").is_none(), "golden frames are not blessed where nobody looks at them");
        write(&path, actual);
        panic!("{} has been rewritten: look at it, then run the test without BLESS", path.display());
    }
    let expected = read(&path);
    let worst = if (expected.width, expected.height) == (actual.width, actual.height) {
        expected.pixels.iter().zip(&actual.pixels).map(|(a, b)| a.abs_diff(*b)).max().unwrap_or(0)
    } else {
        u8::MAX
    };
    if worst > 1 {
        let shown = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/golden").join(format!("{name}.png"));
        write(&shown, &beside(&expected, actual));
        panic!("`{name}` differs by up to {worst} of 255: see {}", shown.display());
    }
}

/// What is transparent shows a mid grey, as footage would.
fn painted((theme, layout): (ThemeName, Layout), (width, height): (u32, u32), picture: &Picture) -> Frame {
    let mut pixmap = Pixmap::new(width, height).expect("a frame");
    Painter::new(Look { layout, ..look(theme, width, height) }).paint(picture, &mut pixmap);
    let over = |channel: u8, alpha: u8| channel + (u16::from(255 - alpha) * 128 / 255) as u8;
    let pixels = pixmap
        .pixels()
        .iter()
        .flat_map(|pixel| [pixel.red(), pixel.green(), pixel.blue()].map(|channel| over(channel, pixel.alpha())));
    Frame { width, height, pixels: pixels.collect() }
}

/// Expected, difference (eightfold) and actual, side by side.
fn beside(expected: &Frame, actual: &Frame) -> Frame {
    let (width, height) = (actual.width as usize, actual.height as usize);
    let at = |frame: &Frame, x: usize, y: usize, channel: usize| {
        let index = (y * frame.width as usize + x) * 3 + channel;
        if x < frame.width as usize { frame.pixels.get(index).copied().unwrap_or(0) } else { 0 }
    };
    let mut pixels = Vec::with_capacity(width * height * 9);
    for y in 0..height {
        for part in 0..3 {
            for (x, channel) in (0..width).flat_map(|x| (0..3).map(move |channel| (x, channel))) {
                let (a, b) = (at(expected, x, y, channel), at(actual, x, y, channel));
                pixels.push(match part {
                    0 => a,
                    1 => a.abs_diff(b).saturating_mul(8),
                    _ => b,
                });
            }
        }
    }
    Frame { width: actual.width * 3, height: actual.height, pixels }
}

fn read(path: &Path) -> Frame {
    let file = File::open(path).unwrap_or_else(|error| panic!("{}: {error}; bless it first", path.display()));
    let mut reader = png::Decoder::new(BufReader::new(file)).read_info().expect("a PNG");
    let mut pixels = vec![0; reader.output_buffer_size().expect("a size")];
    let info = reader.next_frame(&mut pixels).expect("its pixels");
    assert_eq!((info.color_type, info.bit_depth), (png::ColorType::Rgb, png::BitDepth::Eight));
    Frame { width: info.width, height: info.height, pixels }
}

fn write(path: &Path, frame: &Frame) {
    std::fs::create_dir_all(path.parent().expect("a folder")).expect("the folder can be made");
    let file = BufWriter::new(File::create(path).expect("the picture can be written"));
    let mut encoder = png::Encoder::new(file, frame.width, frame.height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    let mut writer = encoder.write_header().expect("the header can be written");
    writer.write_image_data(&frame.pixels).expect("the pixels can be written");
}
