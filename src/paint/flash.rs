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
mod tests;
