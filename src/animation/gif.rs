//! Animated GIF: one palette for all of it, so that what stands still never changes its colour (GIF89a, 1990).

use super::cels;
use super::{AnimationError, Made, Watch, tick_of};
use crate::film::Film;
use gif::{DisposalMethod, Encoder, EncodingError, Frame, Repeat};
use imagequant::{Attributes, Histogram, HistogramEntry, RGBA};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{self, Write};

type Rgb = [u8; 3];

/// All colours are counted before the first byte is written, so the cels are painted twice.
pub(super) fn write(film: &Film, out: &mut dyn Write, watch: &Watch) -> Result<Made, AnimationError> {
    let mut counts: BTreeMap<Rgb, u32> = BTreeMap::new();
    cels::each(
        film,
        watch,
        |frame| frame,
        |cel| {
            let (pixels, _) = cel.pixels.as_chunks::<4>();
            // Runs of one colour are long: one look-up each.
            for run in pixels.chunk_by(|one, other| one == other) {
                let [r, g, b, _] = run[0];
                let count = counts.entry([r, g, b]).or_default();
                *count = count.saturating_add(run.len() as u32);
            }
            Ok(())
        },
    )?;
    let palette = palette(&counts)?;
    let mut nearest: BTreeMap<Rgb, u8> = counts.keys().map(|colour| (*colour, nearest_in(&palette, *colour))).collect();

    let size = film.look().size;
    let global: Vec<u8> = palette.iter().flatten().copied().collect();
    let mut encoder = Encoder::new(out, size.width as u16, size.height as u16, &global).map_err(into_io)?;
    encoder.set_repeat(Repeat::Infinite).map_err(into_io)?;
    let mut count = 0;
    cels::each(
        film,
        watch,
        |frame| film.frames() + frame,
        |cel| {
            count += 1;
            let (pixels, _) = cel.pixels.as_chunks::<4>();
            let mut indices = Vec::with_capacity(pixels.len());
            for run in pixels.chunk_by(|one, other| one == other) {
                let [r, g, b, _] = run[0];
                let colour = [r, g, b];
                let index = *nearest.entry(colour).or_insert_with(|| nearest_in(&palette, colour));
                indices.extend(std::iter::repeat_n(index, run.len()));
            }
            let rate = film.rate();
            let mut left = tick_of(rate, cel.end, 100) - tick_of(rate, cel.first, 100);
            while left > 0 {
                let now = left.min(u64::from(u16::MAX));
                let frame = Frame {
                    delay: now as u16,
                    dispose: DisposalMethod::Keep,
                    top: cel.rect.y as u16,
                    left: cel.rect.x as u16,
                    width: cel.rect.width as u16,
                    height: cel.rect.height as u16,
                    buffer: Cow::Borrowed(&indices),
                    ..Frame::default()
                };
                encoder.write_frame(&frame).map_err(into_io)?;
                left -= now;
            }
            Ok(())
        },
    )?;
    // The end of the file is written here, where a full disk is still told.
    encoder.into_inner().map_err(into_io)?;
    Ok(Made { cels: count, colours: Some((palette.len(), counts.len())) })
}

/// The painted colours if they are at most 256, else the 256 that stand best for them.
fn palette(counts: &BTreeMap<Rgb, u32>) -> io::Result<Vec<Rgb>> {
    if counts.len() <= 256 {
        return Ok(counts.keys().copied().collect());
    }
    let entries: Vec<HistogramEntry> = counts
        .iter()
        .map(|(&[r, g, b], &count)| HistogramEntry { color: RGBA { r, g, b, a: u8::MAX }, count })
        .collect();
    let chosen = || {
        let mut attributes = Attributes::new();
        attributes.set_max_colors(256)?;
        let mut histogram = Histogram::new(&attributes);
        histogram.add_colors(&entries, 0.0)?;
        Ok(histogram.quantize(&attributes)?.palette().iter().map(|colour| [colour.r, colour.g, colour.b]).collect())
    };
    chosen().map_err(|error: imagequant::Error| io::Error::other(error))
}

/// The palette's colour with the least squared distance; the first of equals.
fn nearest_in(palette: &[Rgb], colour: Rgb) -> u8 {
    let distance = |other: &Rgb| -> u32 {
        other.iter().zip(colour).map(|(one, other)| u32::from(one.abs_diff(other)).pow(2)).sum()
    };
    let nearest = palette.iter().enumerate().min_by_key(|(_, other)| distance(other));
    nearest.map_or(0, |(index, _)| index as u8)
}

fn into_io(error: EncodingError) -> io::Error {
    match error {
        EncodingError::Io(error) => error,
        other => io::Error::other(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_colours_are_kept_exactly() {
        let counts: BTreeMap<Rgb, u32> = (0..=255).map(|n| ([n, 255 - n, n / 2], 1)).collect();
        let palette = palette(&counts).expect("a palette");
        assert_eq!(palette.len(), 256);
        assert!(counts.keys().all(|colour| palette[usize::from(nearest_in(&palette, *colour))] == *colour));
    }

    #[test]
    fn many_colours_are_stood_for_by_near_ones() {
        let counts: BTreeMap<Rgb, u32> = (0..2000u32).map(|n| ([(n / 8) as u8, (n / 16) as u8, 40], 1)).collect();
        let palette = palette(&counts).expect("a palette");
        assert!(palette.len() <= 256);
        let furthest = counts.keys().flat_map(|colour| {
            let near = palette[usize::from(nearest_in(&palette, *colour))];
            near.into_iter().zip(*colour).map(|(one, other)| one.abs_diff(other))
        });
        assert!(furthest.max().expect("colours") <= 4);
    }
}
