//! Animated WebP: exact pixels; the container of RFC 9649, §2.7, around frames that a library compresses.

use super::cels;
use super::{AnimationError, Made, Watch, tick_of};
use crate::film::Film;
use crate::timeline::Layout;
use image_webp::{ColorType, EncodingError, WebPEncoder};
use std::io::{self, Write};
use std::mem;

/// A frame's duration has 24 bits (§2.7.1.1).
const LONGEST: u64 = (1 << 24) - 1;
/// What may stand behind the file's size, which has 32 bits (§2.4).
const MOST: u64 = u32::MAX as u64 - 10;
/// Flags of the VP8X chunk (§2.7.1).
const ANIMATION: u8 = 0b0000_0010;
const ALPHA: u8 = 0b0001_0000;
/// In a frame: do not blend with what is beneath (§2.7.1.1); nothing is disposed of.
const NO_BLENDING: u8 = 0b0000_0010;

/// The file's size comes first, so its chunks are kept until all are there: as many bytes as the file will have.
pub(super) fn write(film: &Film, out: &mut dyn Write, watch: &Watch) -> Result<Made, AnimationError> {
    let size = film.look().size;
    let alpha = film.look().layout == Layout::Overlay;
    let mut body = Vec::new();
    let mut header = vec![ANIMATION | if alpha { ALPHA } else { 0 }, 0, 0, 0];
    header.extend(bits24(size.width - 1));
    header.extend(bits24(size.height - 1));
    chunk(&mut body, *b"VP8X", &header);
    // The ground is never seen; round for ever (§2.7.1.1).
    chunk(&mut body, *b"ANIM", &[0; 6]);
    let mut count = 0;
    // Painted once only: each frame counts twice.
    cels::each(
        film,
        watch,
        |frame| 2 * frame,
        |mut cel| {
            count += 1;
            let rect = cel.rect;
            let (pixels, colour) =
                if alpha { (mem::take(&mut cel.pixels), ColorType::Rgba8) } else { (cel.rgb(), ColorType::Rgb8) };
            let compressed = lossless(&pixels, rect.width, rect.height, colour)?;
            let rate = film.rate();
            let mut left = tick_of(rate, cel.end, 1000) - tick_of(rate, cel.first, 1000);
            while left > 0 {
                let now = left.min(LONGEST);
                let mut frame = Vec::with_capacity(compressed.len() + 16);
                for number in [rect.x / 2, rect.y / 2, rect.width - 1, rect.height - 1, now as u32] {
                    frame.extend(bits24(number));
                }
                frame.push(NO_BLENDING);
                frame.extend(&compressed);
                chunk(&mut body, *b"ANMF", &frame);
                left -= now;
            }
            if body.len() as u64 > MOST {
                return Err(io::Error::other("a WebP holds at most 4 GiB").into());
            }
            Ok(())
        },
    )?;
    let length = (body.len() + 4) as u32;
    out.write_all(b"RIFF")?;
    out.write_all(&length.to_le_bytes())?;
    out.write_all(b"WEBP")?;
    out.write_all(&body)?;
    Ok(Made { cels: count, colours: None })
}

/// The lossless chunk of one picture, out of the still that the library makes of it.
fn lossless(pixels: &[u8], width: u32, height: u32, colour: ColorType) -> io::Result<Vec<u8>> {
    let mut still = Vec::new();
    WebPEncoder::new(&mut still).encode(pixels, width, height, colour).map_err(|error| match error {
        EncodingError::IoError(error) => error,
        other => io::Error::other(other),
    })?;
    // RIFF, its size, WEBP; then chunks with a size each.
    let mut at = 12;
    while let Some(size) = still.get(at + 4..at + 8).and_then(|size| size.try_into().ok()).map(u32::from_le_bytes) {
        let end = at + 8 + (size as usize).next_multiple_of(2);
        if still[at..].starts_with(b"VP8L") {
            return Ok(still[at..end.min(still.len())].to_vec());
        }
        at = end;
    }
    Err(io::Error::other("the picture was not compressed without loss"))
}

/// A chunk with its size, padded to an even length (§2.3).
fn chunk(body: &mut Vec<u8>, name: [u8; 4], payload: &[u8]) {
    body.extend(name);
    body.extend((payload.len() as u32).to_le_bytes());
    body.extend(payload);
    if payload.len() % 2 == 1 {
        body.push(0);
    }
}

fn bits24(number: u32) -> [u8; 3] {
    let [a, b, c, _] = number.to_le_bytes();
    [a, b, c]
}
