//! Flashes as the definition has them, and what is none.

use super::*;
use FlashKind::{General, Red};

const SIZE: Size = Size { width: 1024, height: 768 };

fn filled(colour: u32) -> impl Fn(&mut Pixmap) {
    move |frame| {
        frame.fill(tiny_skia::Color::from_rgba8((colour >> 16) as u8, (colour >> 8) as u8, colour as u8, 255));
    }
}

/// What the meter says of pictures shown in turn, each for `millis`, over three seconds; the first thing it says.
fn shown(size: Size, millis: i64, pictures: &[&dyn Fn(&mut Pixmap)]) -> Option<Flash> {
    let mut meter = FlashMeter::new(size);
    let mut frame = Pixmap::new(size.width, size.height).expect("a size");
    let whole = [PixelRect { x: 0, y: 0, width: size.width, height: size.height }];
    (0..3000 / millis).find_map(|i| {
        pictures[i as usize % pictures.len()](&mut frame);
        meter.see(&frame, &whole, Time::from_millis(i * millis))
    })
}

const SMALL: Size = Size { width: 96, height: 54 };

fn toggled(a: u32, b: u32) -> Option<FlashKind> {
    let there = shown(SMALL, 50, &[&filled(a), &filled(b)]).map(|flash| flash.kind);
    assert_eq!(there, shown(SMALL, 50, &[&filled(b), &filled(a)]).map(|flash| flash.kind), "{a:06x} {b:06x}");
    there
}

/// Pairs on both sides of every limit, computed apart from this code from the definitions in WCAG 2.2.
#[test]
fn pairs_of_colours_flash_as_the_definition_has_it() {
    for (a, b, expected) in [
        // The step of luminance: .09990 and .10224.
        (0x00_0000, 0x59_5959, None),
        (0x00_0000, 0x5A_5A5A, Some(General)),
        // The darker state: .80695 and .79910 (with a step of .2009).
        (0xFF_FFFF, 0xE8_E8E8, None),
        (0xFF_FFFF, 0xE7_E7E7, Some(General)),
        (0xFF_FFFF, 0x80_8080, Some(General)),
        // Red that darkens keeps its chromaticity, but its luminance falls by .167.
        (0xFF_0000, 0x80_0000, Some(General)),
    ] {
        assert_eq!(toggled(a, b), expected, "{a:06x} {b:06x}");
    }
}

/// The red limit by itself: every one of these pairs changes in luminance as well.
#[test]
fn pairs_of_colours_flash_red_as_the_definition_has_it() {
    let linear = |hex: u32| Linear::of([(hex >> 16) as u8, (hex >> 8) as u8, hex as u8]);
    for (a, b, share, step, is_flash) in [
        (0xFF_0000, 0xFF_FFFF, 1.0, 0.259, true),
        (0xFF_0000, 0x00_00FF, 1.0, 0.457, true),
        (0xC8_3C3C, 0xFF_FFFF, 0.865, 0.179, false),
        (0xDC_2828, 0xF0_DCB4, 0.944, 0.206, true),
        (0xFF_0000, 0x80_0000, 1.0, 0.0, false),
        // Black is taken for neutral.
        (0xFF_0000, 0x00_0000, 1.0, 0.259, true),
    ] {
        let (a, b) = (linear(a), linear(b));
        assert!((a.red_share() - share).abs() < 5e-4, "{}", a.red_share());
        assert!((apart(a, b) - step).abs() < 5e-4, "{}", apart(a, b));
        assert_eq!((is_red_change(a, b), is_red_change(b, a)), (is_flash, is_flash));
    }
}

/// Two reds and a grey of one luminance (.2126, .2140): nothing flashes but the red.
#[test]
fn red_flashes_without_any_change_of_luminance() {
    assert_eq!(toggled(0xFF_0000, 0x7F_7F7F), Some(Red));
    // By way of a mixture, so that no single frame makes the whole change.
    let (red, half, grey) = (filled(0xFF_0000), filled(0xE0_4040), filled(0x7F_7F7F));
    let flash = shown(SMALL, 30, &[&red, &half, &grey, &half]);
    assert_eq!(flash.map(|flash| flash.kind), Some(Red));
}

#[test]
fn three_flashes_a_second_are_allowed_and_a_fourth_is_not() {
    let (black, white) = (filled(0), filled(0xFF_FFFF));
    // Six changes a second: the seventh comes when the first is exactly a second old.
    assert_eq!(shown(Size { width: 60, height: 60 }, 1000 / 6 + 1, &[&black, &white]), None);
    assert!(shown(Size { width: 60, height: 60 }, 1000 / 7, &[&black, &white]).is_some());
    let mut meter = FlashMeter::new(SMALL);
    let mut frame = Pixmap::new(SMALL.width, SMALL.height).expect("a size");
    let whole = [PixelRect { x: 0, y: 0, width: SMALL.width, height: SMALL.height }];
    let mut see = |colour: u32, micros: i64| {
        filled(colour)(&mut frame);
        meter.see(&frame, &whole, Time::from_micros(micros))
    };
    for i in 0..=6 {
        assert_eq!(see(if i % 2 == 0 { 0 } else { 0xFF_FFFF }, i * 160_000), None, "six changes");
    }
    assert!(see(0xFF_FFFF, 1_159_999).is_some(), "the seventh within the second that began at .16 s");
}

#[test]
fn a_slow_fade_is_a_change_and_a_small_wave_is_none() {
    let grey = |level: f64| filled(0x01_0101 * (level * 255.0) as u32);
    let wave = |depth: f64, length: i64| {
        let mut meter = FlashMeter::new(SMALL);
        let mut frame = Pixmap::new(SMALL.width, SMALL.height).expect("a size");
        let whole = [PixelRect { x: 0, y: 0, width: SMALL.width, height: SMALL.height }];
        (0..3000).step_by(16).find_map(|millis: i64| {
            let phase = (millis % length) as f64 / length as f64;
            grey(0.4 + depth * (2.0 * (phase - 0.5).abs() - 0.5))(&mut frame);
            meter.see(&frame, &whole, Time::from_millis(millis))
        })
    };
    assert!(wave(0.6, 200).is_some(), "five times a second, in frames that each change little");
    assert_eq!(wave(0.6, 400), None, "two and a half times a second");
    assert_eq!(wave(0.1, 200), None, "less than a tenth of the range");
}

#[test]
fn a_quarter_of_a_field_may_flash_and_more_may_not() {
    let square = |side: u32, colour: u32| {
        move |frame: &mut Pixmap| {
            filled(0x20_2020)(frame);
            let paint = super::super::theme::Rgba::hex(colour).to_paint();
            let rect = tiny_skia::Rect::from_xywh(300.0, 200.0, side as f32, side as f32).expect("a square");
            frame.fill_rect(rect, &paint, tiny_skia::Transform::identity(), None);
        }
    };
    // The limit is 21,824 pixels of 1024 × 768: 147 × 147 are 21,609, 151 × 151 are 22,801.
    let flash = |side| shown(SIZE, 50, &[&square(side, 0), &square(side, 0xFF_FFFF)]);
    assert_eq!(flash(144), None);
    let share = flash(153).expect("over the limit").share;
    assert!((share - 0.268).abs() < 0.012, "{share}");
}

#[test]
fn a_fine_pattern_is_exempt_and_a_coarse_one_is_not() {
    let checked = |side: usize, odd: usize| {
        move |frame: &mut Pixmap| {
            let width = frame.width() as usize;
            for (i, pixel) in frame.data_mut().chunks_exact_mut(4).enumerate() {
                let light = (i % width / side + i / width / side) % 2 == odd;
                pixel.copy_from_slice(if light { &[255; 4] } else { &[0, 0, 0, 255] });
            }
        }
    };
    let size = Size { width: 1920, height: 1080 };
    assert_eq!(shown(size, 130, &[&checked(1, 0), &checked(1, 1)]), None);
    assert!(shown(size, 130, &[&checked(24, 0), &checked(24, 1)]).is_some());
}

#[test]
fn what_is_not_in_the_changed_part_is_not_looked_at_again() {
    let mut meter = FlashMeter::new(SMALL);
    let mut frame = Pixmap::new(SMALL.width, SMALL.height).expect("a size");
    let corner = [PixelRect { x: 0, y: 0, width: 2, height: 2 }];
    for i in 0..40 {
        filled(if i % 2 == 0 { 0 } else { 0xFF_FFFF })(&mut frame);
        assert_eq!(meter.see(&frame, &corner, Time::from_millis(i * 20)), None);
    }
}
