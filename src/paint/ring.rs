//! A countdown: a ring of ticks that go out one by one, and the seconds left in its middle.
//!
//! The tick of the present second melts into the ground over all of its second, so nothing steps, nothing flashes, and
//! a frame changes a twentieth of one tick.

use super::canvas::Canvas;
use super::font::Font;
use super::text::{Style, Typesetter};
use super::theme::{Rgba, Theme};
use crate::film::RingPicture;
use crate::units::{PixelRect, Size};
use tiny_skia::Transform;

/// Where a ring lies: its middle and its outer radius, in pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RingPlace {
    pub x: f32,
    pub y: f32,
    pub radius: f32,
}

/// Ticks begin at this share of the radius, and are this wide for the room that each has.
const INNER: f32 = 0.76;
const WIDE: f32 = 0.42;
/// What has gone out keeps this much of the quiet colour.
const GONE: f32 = 0.30;

/// All that a ring covers, in the frame.
pub(super) fn area(place: RingPlace, size: Size) -> PixelRect {
    let RingPlace { x, y, radius } = place;
    let reach = radius + 3.0;
    rect((x - reach, y - reach, x + reach, y + reach), size)
}

/// The rectangles in which two states of a ring differ.
pub(super) fn damage(before: &RingPicture, after: &RingPicture, place: RingPlace, size: Size) -> Vec<PixelRect> {
    if before.ticks != after.ticks {
        return vec![area(place, size)];
    }
    let mut rects = Vec::new();
    for tick in 0..after.ticks {
        if lit(before, tick) != lit(after, tick) {
            let (from, to, width) = tick_line(place, tick, after.ticks);
            let reach = width / 2.0 + 2.0;
            let (left, right) = (from.0.min(to.0) - reach, from.0.max(to.0) + reach);
            let (top, bottom) = (from.1.min(to.1) - reach, from.1.max(to.1) + reach);
            rects.push(rect((left, top, right, bottom), size));
        }
    }
    if (before.left, before.change) != (after.left, after.change) {
        let reach = place.radius * INNER * 0.86;
        let RingPlace { x, y, .. } = place;
        rects.push(rect((x - reach, y - reach * 0.6, x + reach, y + reach * 0.6), size));
    }
    rects
}

fn rect((left, top, right, bottom): (f32, f32, f32, f32), size: Size) -> PixelRect {
    super::tile::covering(left, top, right, bottom, size).unwrap_or(PixelRect { x: 0, y: 0, width: 1, height: 1 })
}

/// How much of a tick still burns.
fn lit(ring: &RingPicture, tick: u32) -> f32 {
    1.0 - (ring.spent - tick as f32).clamp(0.0, 1.0)
}

/// From where to where a tick's middle line runs, and how wide it is. The first is right of the top.
fn tick_line(place: RingPlace, tick: u32, ticks: u32) -> ((f32, f32), (f32, f32), f32) {
    let turn = std::f32::consts::TAU * (tick as f32 + 0.5) / ticks as f32;
    let (across, up) = (libm::sinf(turn), libm::cosf(turn));
    let width = (std::f32::consts::TAU * place.radius * INNER / ticks as f32 * WIDE).min(place.radius * 0.11);
    let at = |distance: f32| (place.x + across * distance, place.y - up * distance);
    (at(place.radius * INNER + width / 2.0), at(place.radius - width / 2.0), width)
}

/// Draws a ring with its number.
pub(super) fn paint_ring(
    canvas: &mut Canvas<'_>,
    ring: &RingPicture,
    place: RingPlace,
    theme: &Theme,
    typesetter: &mut Typesetter,
) {
    let gone = theme.ground_centre.mix(theme.muted, GONE);
    for tick in 0..ring.ticks {
        let (from, to, width) = tick_line(place, tick, ring.ticks);
        let colour = gone.mix(theme.accent, lit(ring, tick));
        let mut line = tiny_skia::PathBuilder::new();
        line.move_to(from.0, from.1);
        line.line_to(to.0, to.1);
        let Some(line) = line.finish() else { continue };
        let stroke = super::brush::round(width);
        if let Some(outline) = line.stroke(&stroke, 1.0) {
            canvas.fill(&outline, colour, Transform::identity());
        }
    }
    let mut number = |seconds: u32, opacity: f32| {
        let text = if seconds < 100 { seconds.to_string() } else { format!("{}:{:02}", seconds / 60, seconds % 60) };
        let size = place.radius * if seconds < 100 { 0.80 } else { 0.52 };
        let style = Style::moves(Font::Bold, size);
        let colour: Rgba = theme.text.fade(opacity);
        typesetter.draw_centred(canvas, &text, style, place.x, (place.y + size * 0.36).round(), colour);
    };
    match ring.change {
        None => number(ring.left, 1.0),
        Some(t) => {
            number(ring.left + 1, 1.0 - t);
            number(ring.left, t);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paint::theme::DUSK;
    use tiny_skia::Pixmap;

    const PLACE: RingPlace = RingPlace { x: 200.0, y: 200.0, radius: 150.0 };
    const SIZE: Size = Size { width: 400, height: 400 };

    fn painted(ring: &RingPicture) -> Pixmap {
        let mut pixmap = Pixmap::new(400, 400).expect("a size");
        let [r, g, b, a] = DUSK.ground_centre.0;
        pixmap.fill(tiny_skia::Color::from_rgba8(r, g, b, a));
        paint_ring(&mut Canvas::new(&mut pixmap, 0, 0), ring, PLACE, &DUSK, &mut Typesetter::default());
        pixmap
    }

    fn at(second: f32) -> RingPicture {
        let part = second.fract();
        let change = Some(part / 0.16).filter(|change| *change < 1.0 && second >= 1.0);
        let spent = second.floor() + part * part * (3.0 - 2.0 * part);
        RingPicture { ticks: 30, spent, left: 30 - second as u32, change }
    }

    #[test]
    fn what_changes_lies_within_the_damage() {
        for frame in 0..90_i16 {
            let (before, after) = (at(f32::from(frame) / 30.0), at(f32::from(frame + 1) / 30.0));
            let rects = damage(&before, &after, PLACE, SIZE);
            let (a, b) = (painted(&before), painted(&after));
            for (i, (a, b)) in a.pixels().iter().zip(b.pixels()).enumerate().filter(|(_, (a, b))| a != b) {
                let (x, y) = (i as u32 % 400, i as u32 / 400);
                let inside = |r: &PixelRect| (r.x..r.x + r.width).contains(&x) && (r.y..r.y + r.height).contains(&y);
                assert!(rects.iter().any(inside), "frame {frame}: {a:?} becomes {b:?} at {x}, {y}");
            }
        }
    }

    /// Nothing flashes: a tenth of the relative luminance is the least change that counts (WCAG 2.2, 2.3.1), and no
    /// pixel outside the number changes by as much from one frame to the next.
    #[test]
    fn from_frame_to_frame_the_ticks_hardly_change() {
        let linear = |v: u8| {
            let c = f64::from(v) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
        };
        let luminance = |p: &tiny_skia::PremultipliedColorU8| {
            0.2126 * linear(p.red()) + 0.7152 * linear(p.green()) + 0.0722 * linear(p.blue())
        };
        for frame in 30..60_i16 {
            let (a, b) = (painted(&at(f32::from(frame) / 30.0)), painted(&at(f32::from(frame + 1) / 30.0)));
            for (i, (a, b)) in a.pixels().iter().zip(b.pixels()).enumerate() {
                let (x, y) = (i as f32 % 400.0 - 200.0, (i / 400) as f32 - 200.0);
                if (x * x + y * y).sqrt() > 0.78 * 150.0 {
                    let change = (luminance(a) - luminance(b)).abs();
                    assert!(change < 0.05, "frame {frame}: {change}");
                }
            }
        }
    }
}
