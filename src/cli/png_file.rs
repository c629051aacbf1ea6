//! A pixmap as a PNG: RGB where every pixel is opaque, straight alpha else, tagged as sRGB.

use crate::paint::{Pixmap, straight};

/// Whether time or bytes matter more.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effort {
    /// For sequences of thousands.
    Fast,
    /// For single pictures.
    Small,
}

/// The file's bytes.
pub fn encode(pixmap: &Pixmap, effort: Effort) -> Vec<u8> {
    let opaque = pixmap.pixels().iter().all(|pixel| pixel.alpha() == u8::MAX);
    let data: Vec<u8> = if opaque {
        pixmap.pixels().iter().flat_map(|pixel| [pixel.red(), pixel.green(), pixel.blue()]).collect()
    } else {
        let (pixels, _) = pixmap.data().as_chunks::<4>();
        pixels.iter().flat_map(|pixel| straight(*pixel)).collect()
    };
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, pixmap.width(), pixmap.height());
    encoder.set_color(if opaque { png::ColorType::Rgb } else { png::ColorType::Rgba });
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
    match effort {
        Effort::Fast => encoder.set_compression(png::Compression::Fast),
        Effort::Small => {
            // Boards and words are flat: rows as they are pack smaller than differences between them, and a higher level
            // takes several times as long for a quarter less.
            encoder.set_filter(png::Filter::NoFilter);
            encoder.set_deflate_compression(png::DeflateCompression::Level(4));
        }
    }
    let written = encoder.write_header().and_then(|mut writer| writer.write_image_data(&data));
    written.expect("a vector takes every byte of a picture of this size");
    bytes
}
