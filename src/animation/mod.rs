//! [`Film`] → one animated picture that goes round for ever: WebP, PNG or GIF.
//!
//! Comes in: a film, best one that ends as it begins ([`Film::round`]). Goes out: the bytes of a file, into any
//! [`Write`]. Must not know: files, codecs of video, the voice.
//!
//! A hold costs nothing: each *cel* says how long it stays. A motion costs the rectangle in which pixels differ from the
//! cel before. WebP (lossless) and PNG hold the painted pixels exactly; GIF has 256 colours for the whole animation,
//! the painted ones where there are no more, and is never dithered: what stands still must not shimmer.

mod apng;
mod cels;
mod gif;
mod webp;

use crate::film::Film;
use crate::timeline::Layout;
use crate::units::{FrameRate, Size};
use std::io::{self, Write};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

/// The animated pictures that can be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Form {
    /// WebP with lossless frames (RFC 9649).
    WebP,
    /// PNG with the chunks of the PNG specification's third edition (W3C 2025, §4.9).
    Png,
    /// GIF89a (CompuServe 1990) with the looping extension (common practice).
    Gif,
}

impl Form {
    /// By the ending of a file's name; `None` if it is not that of an animated picture.
    pub fn from_path(path: &Path) -> Option<Form> {
        let ending = path.extension()?.to_str()?.to_ascii_lowercase();
        match ending.as_str() {
            "webp" => Some(Form::WebP),
            "png" | "apng" => Some(Form::Png),
            "gif" => Some(Form::Gif),
            _ => None,
        }
    }

    /// Why a film of this look cannot have this form; `None` if it can.
    pub fn refuses(self, film: &Film) -> Option<String> {
        let Size { width, height } = film.look().size;
        let rate = film.rate();
        match self {
            Form::Gif if film.look().layout == Layout::Overlay => {
                Some("a GIF's pixels are there or not, an overlay's edges are soft; write .webp or .png".to_owned())
            }
            // Browsers take shorter delays for a tenth of a second (common practice).
            Form::Gif if rate.num() > 50 * rate.den() => {
                Some(format!("a GIF shows at most 50 pictures a second, not {rate}; give --fps 25 or --fps 50"))
            }
            Form::WebP if width.max(height) > WEBP_LONGEST => {
                Some(format!("a WebP is at most {WEBP_LONGEST} pixels wide and high, not {width}×{height}"))
            }
            Form::Gif if width.max(height) > u32::from(u16::MAX) => {
                Some(format!("a GIF is at most {} pixels wide and high, not {width}×{height}", u16::MAX))
            }
            _ => None,
        }
    }
}

/// A lossless WebP frame's sides have 14 bits (RFC 9649, §3.4).
const WEBP_LONGEST: u32 = 1 << 14;

/// Why an animation was not made.
#[derive(Debug, thiserror::Error)]
pub enum AnimationError {
    /// It could not be written.
    #[error(transparent)]
    Write(#[from] io::Error),
    /// A stop was asked for.
    #[error("stopped")]
    Stopped,
}

/// What has been made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Made {
    /// Pictures that differ from the one before.
    pub cels: u64,
    /// Colours, if the form has a palette: how many it has of how many that were painted.
    pub colours: Option<(usize, usize)>,
}

/// Writes a whole film as an animation that goes round for ever. `progress` hears of the frames looked at, of twice as
/// many as the film has: what a form has to know beforehand is found out by painting all of it once.
///
/// # Errors
/// The place cannot be written, or `stop` was set.
///
/// # Panics
/// If the form [refuses](Form::refuses) the film.
pub fn write(
    film: &Film,
    form: Form,
    out: &mut dyn Write,
    progress: &dyn Fn(u64),
    stop: &AtomicBool,
) -> Result<Made, AnimationError> {
    assert!(form.refuses(film).is_none(), "a form that refuses a film is not asked for");
    let watch = Watch { progress, stop };
    match form {
        Form::WebP => webp::write(film, out, &watch),
        Form::Png => apng::write(film, out, &watch),
        Form::Gif => gif::write(film, out, &watch),
    }
}

/// Who is told how far the work has come, and who may stop it.
struct Watch<'a> {
    progress: &'a dyn Fn(u64),
    stop: &'a AtomicBool,
}

impl Watch<'_> {
    fn came_to(&self, frame: u64) -> Result<(), AnimationError> {
        (self.progress)(frame);
        if self.stop.load(Ordering::Relaxed) { Err(AnimationError::Stopped) } else { Ok(()) }
    }
}

/// When frame `n` begins, in `ticks` a second, to the nearest: derived from the index, never added up.
fn tick_of(rate: FrameRate, n: u64, ticks: u64) -> u64 {
    let (num, den) = (u128::from(rate.num()), u128::from(rate.den()));
    ((u128::from(n) * den * u128::from(ticks) + num / 2) / num) as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn delays_never_drift() {
        let ntsc = FrameRate::new(30_000, 1001).expect("a rate");
        // An hour of 29.97: 107892 frames last 3599.9964 s.
        assert_eq!(tick_of(ntsc, 107_892, 1000), 3_599_996);
        let delays = (0..30).map(|n| tick_of(ntsc, n + 1, 100) - tick_of(ntsc, n, 100));
        assert_eq!(delays.sum::<u64>(), 100);
    }

    #[test]
    fn a_form_is_known_by_its_ending() {
        assert_eq!(Form::from_path(Path::new("a/B.WebP")), Some(Form::WebP));
        assert_eq!(Form::from_path(Path::new("x.apng")), Some(Form::Png));
        assert_eq!(Form::from_path(Path::new("x.y.gif")), Some(Form::Gif));
        assert_eq!(Form::from_path(Path::new("x.mp4")), None);
        assert_eq!(Form::from_path(Path::new("gif")), None);
    }
}
