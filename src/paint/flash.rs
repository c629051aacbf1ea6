//! A meter for flashes: the general and the red flash limit of WCAG 2.2 (success criterion 2.3.1), measured on frames.
//!
//! A *flash* is a pair of opposing changes of relative luminance by at least a tenth of its range, the darker state
//! below 0.80; a *red flash* is a pair of opposing changes to or from a saturated red. Neither may come more than three
//! times within a second, unless the parts of the picture that flash at once hold no more than a quarter of any field
//! of view of 10°.
//!
//! The frame is looked at in cells of a tenth of a degree, each by its mean light: finer patterns are exempt by the
//! definition ("fine, balanced pattern"). The criterion gives the field as 341 × 256 pixels of 1024 × 768, which is a
//! third of the frame each way; that is what is taken here for every frame. A cell counts as flashing for one second
//! after its seventh change in less than one second.

use super::contrast::{LINEAR, Linear};
use crate::units::{PixelRect, Size, Time};
use std::time::Duration;
use tiny_skia::Pixmap;

/// A change of relative luminance counts from here on …
const LUMINANCE_STEP: f32 = 0.1;
/// … if the darker state is below this.
const DARKER_BELOW: f32 = 0.80;
/// A red is saturated if this much of its light is red …
const SATURATED: f32 = 0.8;
/// … and a change to or from it counts if it is further than this in the CIE 1976 UCS diagram.
const CHROMATICITY_STEP: f32 = 0.2;
/// Three flashes are six changes.
const MOST_CHANGES: usize = 6;
const WINDOW: Duration = Duration::from_secs(1);
/// The share of a field that may flash.
pub(super) const MOST_OF_FIELD: f32 = 0.25;
/// Cells along the frame's longer side: a third of it is 10°, a cell a tenth of a degree.
const CELLS: u32 = 300;

/// Which limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FlashKind {
    /// Of luminance.
    General,
    /// Of saturated red.
    Red,
}

/// Too much of a field flashes too often.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Flash {
    pub kind: FlashKind,
    /// The share of the field that flashes, over [`MOST_OF_FIELD`].
    pub share: f32,
}

/// Looks at frames in their order.
pub(super) struct FlashMeter {
    size: Size,
    columns: usize,
    rows: usize,
    cells: Vec<Cell>,
}

#[derive(Clone, Copy)]
struct Cell {
    seen: bool,
    light: Light,
    luminance_changes: Changes,
    red: Red,
    red_changes: Changes,
}

/// The last seven changes of a cell, and when there were last too many.
#[derive(Clone, Copy)]
struct Changes {
    times: [Time; MOST_CHANGES + 1],
    flashing_since: Time,
}

/// Long before any frame.
const NEVER: Time = Time::from_micros(i64::MIN / 4);

impl FlashMeter {
    /// A meter for frames of this size.
    pub fn new(size: Size) -> FlashMeter {
        let longer = size.width.max(size.height).max(1);
        // A multiple of three each way, so that a field is a whole number of cells.
        let count = |side: u32| (side * CELLS / 3).div_ceil(longer).max(1) as usize * 3;
        let (columns, rows) = (count(size.width), count(size.height));
        let changes = Changes { times: [NEVER; MOST_CHANGES + 1], flashing_since: NEVER };
        let cell = Cell {
            seen: false,
            light: Light::Level { low: 0.0, high: 0.0 },
            luminance_changes: changes,
            red: Red { from: Linear::default(), to: Linear::default() },
            red_changes: changes,
        };
        FlashMeter { size, columns, rows, cells: vec![cell; columns * rows] }
    }

    /// Looks at a frame that appears `at` this time and differs from the one before within `changed` only.
    pub fn see(&mut self, frame: &Pixmap, changed: &[PixelRect], at: Time) -> Option<Flash> {
        assert!(
            (frame.width(), frame.height()) == (self.size.width, self.size.height),
            "the meter has the frame's size"
        );
        let mut dirty = vec![false; self.cells.len()];
        for rect in changed {
            let columns = cells_of(rect.x, rect.width, self.size.width, self.columns);
            for row in cells_of(rect.y, rect.height, self.size.height, self.rows) {
                dirty[row * self.columns..][columns.clone()].fill(true);
            }
        }
        let (mut general, mut red) = (false, false);
        for index in (0..dirty.len()).filter(|&index| dirty[index]) {
            let mean = self.mean(frame, index);
            let cell = &mut self.cells[index];
            if cell.see_luminance(mean) {
                general |= cell.luminance_changes.count(at);
            }
            if cell.see_red(mean) {
                red |= cell.red_changes.count(at);
            }
            cell.seen = true;
        }
        let over = |kind, share| (share > MOST_OF_FIELD).then_some(Flash { kind, share });
        let general = general.then(|| self.share_of_field(at, |cell| &cell.luminance_changes));
        let red = red.then(|| self.share_of_field(at, |cell| &cell.red_changes));
        general
            .and_then(|share| over(FlashKind::General, share))
            .or_else(|| red.and_then(|share| over(FlashKind::Red, share)))
    }

    /// The mean light of a cell's pixels.
    fn mean(&self, frame: &Pixmap, index: usize) -> Linear {
        let (column, row) = (index % self.columns, index / self.columns);
        let pixels = |cell: usize, count: usize, side: u32| {
            let side = side as usize;
            let first = (cell * side / count).min(side - 1);
            first..((cell + 1) * side / count).max(first + 1)
        };
        let across = pixels(column, self.columns, self.size.width);
        let mut sum = [0.0_f32; 3];
        let mut number = 0;
        for y in pixels(row, self.rows, self.size.height) {
            let line = &frame.pixels()[y * self.size.width as usize..][across.clone()];
            for pixel in line {
                sum[0] += LINEAR[usize::from(pixel.red())];
                sum[1] += LINEAR[usize::from(pixel.green())];
                sum[2] += LINEAR[usize::from(pixel.blue())];
            }
            number += line.len();
        }
        Linear(sum.map(|channel| channel / number as f32))
    }

    /// The largest share of any field that flashed within the last second.
    fn share_of_field(&self, at: Time, changes: impl Fn(&Cell) -> &Changes) -> f32 {
        largest_share(self.columns, self.rows, |index| changes(&self.cells[index]).flashing_since + WINDOW > at)
    }
}

/// The largest share of any field, which is a third of the places each way, that `is_set`. Places are numbered row by
/// row; columns and rows are multiples of three.
pub(super) fn largest_share(columns: usize, rows: usize, is_set: impl Fn(usize) -> bool) -> f32 {
    let width = columns + 1;
    // How many are set above and to the left of each corner.
    let mut sums = vec![0_u32; width * (rows + 1)];
    for row in 0..rows {
        let mut in_row = 0;
        for column in 0..columns {
            in_row += u32::from(is_set(row * columns + column));
            sums[(row + 1) * width + column + 1] = sums[row * width + column + 1] + in_row;
        }
    }
    let (across, down) = (columns / 3, rows / 3);
    let mut most = 0;
    for top in 0..=rows - down {
        for left in 0..=columns - across {
            let corner = |x: usize, y: usize| sums[(top + y) * width + left + x];
            most = most.max(corner(across, down) + corner(0, 0) - corner(across, 0) - corner(0, down));
        }
    }
    most as f32 / (across * down) as f32
}

/// The cells that hold some of `length` pixels from `start` on.
fn cells_of(start: u32, length: u32, side: u32, count: usize) -> std::ops::Range<usize> {
    let (start, end) = (start.min(side) as usize, start.saturating_add(length).min(side) as usize);
    if start >= end {
        return 0..0;
    }
    let (side, first) = (side as usize, start * count / side as usize);
    // A cell smaller than a pixel reaches over the one beside it.
    first.saturating_sub(1)..(end * count).div_ceil(side).saturating_add(1).min(count)
}

impl Changes {
    /// Counts one more; whether that is too many.
    fn count(&mut self, at: Time) -> bool {
        self.times.rotate_left(1);
        self.times[MOST_CHANGES] = at;
        let is_too_often = self.times[0] + WINDOW > at;
        if is_too_often {
            self.flashing_since = at;
        }
        is_too_often
    }
}

/// How a cell's luminance has gone since its last change.
#[derive(Clone, Copy)]
enum Light {
    /// No change yet: the extremes so far.
    Level { low: f32, high: f32 },
    /// It rose last; the highest since.
    Rising { high: f32 },
    /// It fell last; the lowest since.
    Falling { low: f32 },
}

fn is_change(low: f32, high: f32) -> bool {
    high - low >= LUMINANCE_STEP && low < DARKER_BELOW
}

/// Where a cell was before its last red change, and the furthest from there that it went since.
#[derive(Clone, Copy)]
struct Red {
    from: Linear,
    to: Linear,
}

impl Cell {
    /// Takes in a luminance; whether a change is now complete. A change may take any number of frames.
    fn see_luminance(&mut self, mean: Linear) -> bool {
        let now = mean.luminance();
        if !self.seen {
            self.light = Light::Level { low: now, high: now };
            return false;
        }
        let next = match self.light {
            Light::Level { low, high } if now > high && is_change(low, now) => Light::Rising { high: now },
            Light::Level { low, high } if now < low && is_change(now, high) => Light::Falling { low: now },
            Light::Rising { high } if is_change(now, high) => Light::Falling { low: now },
            Light::Falling { low } if is_change(low, now) => Light::Rising { high: now },
            Light::Level { low, high } => {
                self.light = Light::Level { low: low.min(now), high: high.max(now) };
                return false;
            }
            Light::Rising { high } => {
                self.light = Light::Rising { high: high.max(now) };
                return false;
            }
            Light::Falling { low } => {
                self.light = Light::Falling { low: low.min(now) };
                return false;
            }
        };
        self.light = next;
        true
    }

    /// The same for changes to and from saturated red.
    fn see_red(&mut self, now: Linear) -> bool {
        if !self.seen {
            self.red = Red { from: now, to: now };
            return false;
        }
        let Red { from, to } = self.red;
        if is_red_change(to, now) {
            self.red = Red { from: to, to: now };
            return true;
        }
        // Red that deepens on its way in is still the same change.
        if apart(from, now) > apart(from, to) && from != to {
            self.red.to = now;
        }
        false
    }
}

fn is_red_change(a: Linear, b: Linear) -> bool {
    a.red_share().max(b.red_share()) >= SATURATED && apart(a, b) > CHROMATICITY_STEP
}

/// The distance of two colours in the CIE 1976 UCS diagram.
fn apart(a: Linear, b: Linear) -> f32 {
    let ([u0, v0], [u1, v1]) = (a.chromaticity(), b.chromaticity());
    ((u0 - u1) * (u0 - u1) + (v0 - v1) * (v0 - v1)).sqrt()
}

#[cfg(test)]
mod tests {
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
}
