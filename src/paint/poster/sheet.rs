//! Posters as they are met: small, on a phone, several one under the other.

use super::POSTER;
use crate::film::Own;
use crate::paint::font::Font;
use crate::paint::kit;
use crate::paint::text::{Style, Typesetter};
use crate::paint::theme::Theme;
use crate::timeline::ThemeName;
use tiny_skia::{Pixmap, PremultipliedColorU8};

/// Widths of a poster on a phone: alone in a column, and beside its title in a list.
const WIDTHS: [u32; 2] = [360, 168];
const AIR: u32 = 24;
const LABEL: u32 = 34;

/// All posters with their names, each at both widths, on the film's own ground and in its own letters.
pub fn contact_sheet(posters: &[(Pixmap, String)], theme: ThemeName, own: &Own) -> Pixmap {
    let theme = Theme::laid(theme, own.colours);
    let tall = |width: u32| width * POSTER.height / POSTER.width;
    let row = tall(WIDTHS[0]) + LABEL + AIR;
    let width = AIR + WIDTHS.iter().map(|width| width + AIR).sum::<u32>();
    let height = AIR + row * posters.len().max(1) as u32;
    let mut sheet = Pixmap::new(width, height).expect("a sheet has a size");
    let [r, g, b, _] = theme.ground_edge.0;
    sheet.fill(tiny_skia::Color::from_rgba8(r, g, b, 255));
    let mut typesetter = Typesetter::of(own);
    for (index, (poster, name)) in posters.iter().enumerate() {
        let top = AIR + row * index as u32;
        let mut left = AIR;
        for wanted in WIDTHS {
            lay(&mut sheet, &reduced(poster, wanted, tall(wanted)), left, top);
            left += wanted + AIR;
        }
        let style = Style::prose(Font::Medium, 17.0);
        let baseline = (top + tall(WIDTHS[0]) + 22) as f32;
        typesetter.draw(&mut kit::canvas(&mut sheet), name, style, AIR as f32, baseline, theme.muted);
    }
    sheet
}

fn lay(sheet: &mut Pixmap, picture: &Pixmap, left: u32, top: u32) {
    let (width, across) = (sheet.width() as usize, picture.width() as usize);
    for row in 0..picture.height() as usize {
        let to = (top as usize + row) * width + left as usize;
        sheet.pixels_mut()[to..to + across].copy_from_slice(&picture.pixels()[row * across..(row + 1) * across]);
    }
}

/// A picture made smaller: each pixel is the mean of the area it covers.
fn reduced(picture: &Pixmap, width: u32, height: u32) -> Pixmap {
    let mut out = Pixmap::new(width, height).expect("a small picture has a size");
    let spans = |from: u32, to: u32| -> Vec<Vec<(usize, f32)>> {
        let step = from as f32 / to as f32;
        (0..to)
            .map(|i| {
                let (start, end) = (i as f32 * step, (i + 1) as f32 * step);
                let last = (end.ceil() as usize).min(from as usize);
                (start as usize..last)
                    .map(|at| (at, (end.min(at as f32 + 1.0) - start.max(at as f32)) / step))
                    .collect()
            })
            .collect()
    };
    let (columns, rows) = (spans(picture.width(), width), spans(picture.height(), height));
    let stride = picture.width() as usize;
    for (y, row) in rows.iter().enumerate() {
        for (x, column) in columns.iter().enumerate() {
            let mut sum = [0.0_f32; 3];
            for &(from_y, tall) in row {
                for &(from_x, wide) in column {
                    let pixel = picture.pixels()[from_y * stride + from_x];
                    for (sum, channel) in sum.iter_mut().zip([pixel.red(), pixel.green(), pixel.blue()]) {
                        *sum += f32::from(channel) * tall * wide;
                    }
                }
            }
            let [r, g, b] = sum.map(|sum| sum.round().clamp(0.0, 255.0) as u8);
            let colour = PremultipliedColorU8::from_rgba(r, g, b, 255);
            out.pixels_mut()[y * width as usize + x] = colour.expect("an opaque colour is its own premultiplied one");
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_smaller_picture_keeps_its_mean() {
        let mut picture = Pixmap::new(1280, 720).expect("a size");
        for (i, pixel) in picture.pixels_mut().iter_mut().enumerate() {
            let grey = ((i * 7919) % 256) as u8;
            *pixel = PremultipliedColorU8::from_rgba(grey, 255 - grey, 40, 255).expect("opaque");
        }
        let mean = |picture: &Pixmap| {
            picture.pixels().iter().map(|p| f64::from(p.red())).sum::<f64>() / picture.pixels().len() as f64
        };
        let small = reduced(&picture, 360, 202);
        assert!((mean(&picture) - mean(&small)).abs() < 0.5, "{} and {}", mean(&picture), mean(&small));
        assert!(small.pixels().iter().all(|p| p.blue() == 40));
    }
}
