//! Animated PNG: exact pixels, exact times (PNG specification, third edition, W3C 2025, §11.3.6).

use super::cels::{self, Cel};
use super::{AnimationError, Made, Watch};
use crate::film::Film;
use crate::timeline::Layout;
use crate::units::FrameRate;
use png::{BitDepth, BlendOp, ColorType, Compression, DisposeOp, Encoder, EncodingError, SrgbRenderingIntent};
use std::io::{self, Write};
use std::mem;

/// The number of cels comes first in the file, so they are painted twice.
pub(super) fn write(film: &Film, out: &mut dyn Write, watch: &Watch) -> Result<Made, AnimationError> {
    let mut count = 0;
    cels::each(
        film,
        watch,
        |frame| frame,
        |cel| {
            count += delays(film.rate(), &cel).len() as u32;
            Ok(())
        },
    )?;

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
    cels::each(
        film,
        watch,
        |frame| film.frames() + frame,
        |mut cel| {
            cels += 1;
            let pixels = if alpha { mem::take(&mut cel.pixels) } else { cel.rgb() };
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
        },
    )?;
    writer.finish().map_err(into_io)?;
    Ok(Made { cels, colours: None })
}

/// How long a cel stays, as fractions of a second with 16 bits above and below, always exact: more than one if it is too
/// long for one; then the cel is laid down again.
fn delays(rate: FrameRate, cel: &Cel) -> Vec<(u16, u16)> {
    let fraction = |frames: u64| {
        let (num, den) = (frames * u64::from(rate.den()), u64::from(rate.num()));
        let shared = common_divisor(num, den);
        Some((u16::try_from(num / shared).ok()?, u16::try_from(den / shared).ok()?))
    };
    let mut left = cel.end - cel.first;
    let mut delays = Vec::new();
    while left > 0 {
        // A single frame of a rate that a film can have fits.
        let now = (1..=left.min(LONGEST)).rev().find(|frames| fraction(*frames).is_some()).unwrap_or(left);
        delays.extend(fraction(now));
        left -= now;
    }
    delays
}

/// The longest stretch that is tried at once, in frames: at 60 a second more than can be said.
const LONGEST: u64 = 4000;

fn common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { common_divisor(b, a % b) }
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
        assert_eq!(delays(rate(30, 1), &cel(45)), [(3, 2)]);
        assert_eq!(delays(rate(30_000, 1001), &cel(30)), [(1001, 1000)]);
        // 135 · 1001 / 30000 s.
        assert_eq!(delays(rate(30_000, 1001), &cel(135)), [(9009, 2000)]);
        // An hour and a half, and a prime number of frames that no fraction of 16 bits says at once.
        for (rate, frames) in [(rate(30, 1), 162_000), (rate(60_000, 1001), 7919), (rate(24_000, 1001), 104_729)] {
            let said = delays(rate, &cel(frames)).into_iter().map(|(num, den)| {
                let frames = u64::from(num) * u64::from(rate.num());
                let whole = u64::from(den) * u64::from(rate.den());
                assert_eq!(frames % whole, 0, "{num}/{den} s are not whole frames");
                frames / whole
            });
            assert_eq!(said.sum::<u64>(), frames);
        }
    }
}
