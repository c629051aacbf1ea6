//! Animated PNG: exact pixels, exact times (PNG specification, third edition, W3C 2025, §11.3.6).

use super::cels::{self, Cel};
use super::{AnimationError, Made, Watch, tick_of};
use crate::film::Film;
use crate::timeline::Layout;
use crate::units::FrameRate;
use png::{BitDepth, BlendOp, ColorType, Compression, DisposeOp, Encoder, EncodingError, SrgbRenderingIntent};
use std::io::{self, Write};

/// The number of cels comes first in the file, so they are painted twice.
pub(super) fn write(film: &Film, out: &mut dyn Write, watch: &Watch) -> Result<Made, AnimationError> {
    let mut count = 0;
    cels::each(film, watch, 0, |cel| {
        count += delays(film.rate(), &cel).len() as u32;
        Ok(())
    })?;

    let size = film.look().size;
    let alpha = film.look().layout == Layout::Overlay;
    let mut encoder = Encoder::new(out, size.width, size.height);
    encoder.set_color(if alpha { ColorType::Rgba } else { ColorType::Rgb });
    encoder.set_depth(BitDepth::Eight);
    encoder.set_source_srgb(SrgbRenderingIntent::Perceptual);
    encoder.set_compression(Compression::Balanced);
    encoder.set_animated(count, 0).map_err(into_io)?;
    encoder.set_blend_op(BlendOp::Source).and_then(|()| encoder.set_dispose_op(DisposeOp::None)).map_err(into_io)?;
    let mut writer = encoder.write_header().map_err(into_io)?;
    let mut cels = 0;
    cels::each(film, watch, film.frames(), |cel| {
        cels += 1;
        let pixels = if alpha { cel.pixels.clone() } else { cel.rgb() };
        let rect = cel.rect;
        for (num, den) in delays(film.rate(), &cel) {
            let mut frame = || {
                writer.reset_frame_position()?;
                writer.set_frame_dimension(rect.width, rect.height)?;
                writer.set_frame_position(rect.x, rect.y)?;
                writer.set_frame_delay(num, den)?;
                writer.write_image_data(&pixels)
            };
            frame().map_err(into_io)?;
        }
        Ok(())
    })?;
    writer.finish().map_err(into_io)?;
    Ok(Made { cels, colours: None })
}

/// How long a cel stays, as fractions of a second with 16 bits above and below: exactly, where that can be said; in
/// milliseconds else, and more than one if they are many: then the cel is laid down again.
fn delays(rate: FrameRate, cel: &Cel) -> Vec<(u16, u16)> {
    let exact = |frames: u64| {
        let num = u16::try_from(frames * u64::from(rate.den())).ok()?;
        Some((num, u16::try_from(rate.num()).ok()?))
    };
    if let Some(delay) = exact(cel.end - cel.first) {
        return vec![delay];
    }
    let mut left = tick_of(rate, cel.end, 1000) - tick_of(rate, cel.first, 1000);
    let mut delays = Vec::new();
    while left > 0 {
        let now = left.min(60_000);
        delays.push((now as u16, 1000));
        left -= now;
    }
    delays
}

fn into_io(error: EncodingError) -> io::Error {
    match error {
        EncodingError::IoError(error) => error,
        other => io::Error::other(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::PixelRect;

    #[test]
    fn a_long_hold_is_said_in_parts() {
        let rect = PixelRect { x: 0, y: 0, width: 2, height: 2 };
        let cel = |end| Cel { first: 0, end, rect, pixels: Vec::new() };
        let rate = |num, den| FrameRate::new(num, den).expect("a rate");
        assert_eq!(delays(rate(30, 1), &cel(45)), [(45, 30)]);
        assert_eq!(delays(rate(30_000, 1001), &cel(30)), [(30_030, 30_000)]);
        // 4.5 s at 29.97 has no 16-bit numerator any more: 135 · 1001 / 30000 s.
        assert_eq!(delays(rate(30_000, 1001), &cel(135)), [(4505, 1000)]);
        // An hour and a half.
        let long: u64 = delays(rate(30, 1), &cel(162_000)).iter().map(|(num, _)| u64::from(*num)).sum();
        assert_eq!(long, 5_400_000);
    }
}
