//! What lies over a whole board: the dimmed ground of a slow replay, the drained colour of a take-back.

use super::board::{BoardGeometry, SHEET_RADIUS, sheet};
use super::theme::{PieceInk, Rgba, Theme};
use crate::units::PixelRect;
use tiny_skia::{Pixmap, PremultipliedColorU8};

/// The theme as the standing pieces of a slow replay have it; marks, arrows and what moves keep their light.
pub(super) fn dimmed(theme: &Theme, by: f32) -> Theme {
    if by <= 0.0 {
        return *theme;
    }
    let darker = |colour: Rgba| {
        let [r, g, b, a] = colour.mix(Rgba([0, 0, 0, 255]), by).0;
        Rgba([r, g, b, a])
    };
    let ink = |ink: &PieceInk| PieceInk {
        fill: darker(ink.fill),
        shade: darker(ink.shade),
        outline: darker(ink.outline),
        line: darker(ink.line),
        is_dark: ink.is_dark,
    };
    Theme { light: ink(&theme.light), dark: ink(&theme.dark), ..*theme }
}

/// Darkens the bare board within `rects`.
pub(super) fn dim(pixmap: &mut Pixmap, geometry: BoardGeometry, by: f32, rects: &[PixelRect]) {
    if by <= 0.0 {
        return;
    }
    each_pixel(pixmap, geometry, rects, by, |pixel, by| {
        let keep = 256 - by;
        let less = |channel: u8| ((u32::from(channel) * keep + 128) >> 8) as u8;
        [less(pixel.red()), less(pixel.green()), less(pixel.blue())]
    });
}

/// Takes colour away within `rects`, towards the grey of equal luma (BT.709 weights, on the coded values, as a video
/// tool would).
pub(super) fn drain(pixmap: &mut Pixmap, geometry: BoardGeometry, by: f32, rects: &[PixelRect]) {
    if by <= 0.0 {
        return;
    }
    each_pixel(pixmap, geometry, rects, by, |pixel, by| {
        let by = by as i32;
        let channels = [pixel.red(), pixel.green(), pixel.blue()];
        let [r, g, b] = channels.map(i32::from);
        let luma = (54 * r + 183 * g + 19 * b + 128) >> 8;
        // Between a channel and the luma, so never above the alpha.
        channels.map(|channel| (i32::from(channel) + (((luma - i32::from(channel)) * by) >> 8)) as u8)
    });
}

/// Changes the colours of each pixel of the sheet that lies within one of `rects`, once; `change` is told by how many
/// 256ths, less where the sheet covers only a part of the pixel.
fn each_pixel(
    pixmap: &mut Pixmap,
    geometry: BoardGeometry,
    rects: &[PixelRect],
    by: f32,
    change: impl Fn(PremultipliedColorU8, u32) -> [u8; 3],
) {
    let sheet = sheet().seen(geometry.view());
    let radius = SHEET_RADIUS * geometry.square;
    let full = (by.min(1.0) * 256.0).round() as u32;
    let (width, height) = (pixmap.width(), pixmap.height());
    let rows = (sheet.top.floor().max(0.0) as u32)..(sheet.bottom.ceil().max(0.0) as u32).min(height);
    for row in rows {
        let mut stretches: Vec<(u32, u32)> = rects
            .iter()
            .filter(|rect| (rect.y..rect.y + rect.height).contains(&row))
            .map(|rect| (rect.x.max(sheet.left.floor().max(0.0) as u32), rect.x + rect.width))
            .collect();
        stretches.sort_unstable();
        let mut done = 0;
        let y = row as f32 + 0.5;
        let dy = (sheet.top + radius - y).max(y - sheet.bottom + radius).max(0.0);
        for (start, end) in stretches {
            let end = end.min(width).min(sheet.right.ceil().max(0.0) as u32);
            for column in start.max(done)..end {
                let x = column as f32 + 0.5;
                let dx = (sheet.left + radius - x).max(x - sheet.right + radius).max(0.0);
                let strength = if dx == 0.0 && dy == 0.0 {
                    full
                } else {
                    let cover = (radius + 0.5 - (dx * dx + dy * dy).sqrt()).clamp(0.0, 1.0);
                    (full as f32 * cover).round() as u32
                };
                let pixel = &mut pixmap.pixels_mut()[(row * width + column) as usize];
                let [r, g, b] = change(*pixel, strength);
                if let Some(colour) = PremultipliedColorU8::from_rgba(r, g, b, pixel.alpha()) {
                    *pixel = colour;
                }
            }
            done = done.max(end);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GEOMETRY: BoardGeometry = BoardGeometry { x: 8.0, y: 8.0, square: 10.0 };

    fn white() -> Pixmap {
        let mut pixmap = Pixmap::new(96, 96).expect("a size");
        pixmap.fill(tiny_skia::Color::WHITE);
        pixmap
    }

    #[test]
    fn dimming_darkens_the_sheet_and_nothing_else() {
        let mut pixmap = white();
        dim(&mut pixmap, GEOMETRY, 0.15, &[PixelRect { x: 0, y: 0, width: 96, height: 96 }]);
        let red = |x, y| pixmap.pixel(x, y).map(PremultipliedColorU8::red);
        assert_eq!(red(48, 48), Some(217));
        assert_eq!(red(3, 48), Some(255));
        assert_eq!(red(48, 92), Some(255));
    }

    #[test]
    fn rectangles_that_overlap_are_changed_once() {
        let rect = |x, width| PixelRect { x, y: 0, width, height: 96 };
        let (mut once, mut parts) = (white(), white());
        dim(&mut once, GEOMETRY, 0.15, &[rect(0, 96)]);
        dim(&mut parts, GEOMETRY, 0.15, &[rect(40, 56), rect(0, 60), rect(50, 10)]);
        assert!(once.data() == parts.data());
    }

    #[test]
    fn draining_keeps_luma_and_takes_colour() {
        let mut pixmap = white();
        pixmap.fill(tiny_skia::Color::from_rgba8(200, 100, 40, 255));
        drain(&mut pixmap, GEOMETRY, 0.4, &[PixelRect { x: 0, y: 0, width: 96, height: 96 }]);
        let pixel = pixmap.pixel(48, 48).expect("inside");
        // Luma by BT.709: .2126 R + .7152 G + .0722 B = 116.9.
        let luma =
            0.2126 * f64::from(pixel.red()) + 0.7152 * f64::from(pixel.green()) + 0.0722 * f64::from(pixel.blue());
        assert!((luma - 116.9).abs() < 1.5, "{luma}");
        assert_eq!(pixel.red(), 166);
    }
}
