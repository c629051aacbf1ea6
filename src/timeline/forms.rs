//! The written forms of times, lengths, frame rates and frame shapes; each is read from a text alone.
//!
//! The command line takes the same forms (`--at 1:12.5`, `--budget 30s`), hence public.

use super::words::none_of;
use super::{At, FrameShape};
use crate::units::{FrameRate, Time};
use std::fmt;
use std::str::FromStr;
use std::time::Duration;

/// The first time that is too late: 100 hours, in microseconds. Far beyond any film, far below any overflow.
pub(super) const TOO_LATE: u64 = 100 * 3600 * 1_000_000;
/// The longest length a timeline may name: an hour, in microseconds.
pub(super) const LONGEST: u64 = 3600 * 1_000_000;
/// The shortest and longest side of a picture in pixels; both even, because chroma has half the resolution.
pub(super) const SIDE: (u32, u32) = (240, 3840);
/// The most pixels a picture may have: 3840 × 2160.
pub(super) const MOST_PIXELS: u32 = 3840 * 2160;
/// The bounds of `height` in pixels.
pub(super) const HEIGHT: (u32, u32) = (240, 2160);

/// Why a text is not of the wanted form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormError {
    /// What is wrong with it; a fact, fit for a place under the carets.
    pub fact: String,
    /// What would be accepted.
    pub hints: Vec<String>,
}

impl FormError {
    pub(super) fn new(fact: impl Into<String>) -> FormError {
        FormError { fact: fact.into(), hints: Vec::new() }
    }

    pub(super) fn hint(mut self, hint: impl Into<String>) -> FormError {
        self.hints.push(hint.into());
        self
    }
}

/// The fact and, in brackets, what would be accepted.
impl fmt::Display for FormError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.fact)?;
        if self.hints.is_empty() { Ok(()) } else { write!(f, " ({})", self.hints.join("; ")) }
    }
}

impl std::error::Error for FormError {}

const TIME_HINT: &str = "a time is `m:ss.fff`, `h:mm:ss.fff` or seconds, such as `1:04.5`";
const AT_HINT: &str = "a time is `m:ss.fff`, `h:mm:ss.fff`, seconds, or `+1.5` after the cue before";
const LENGTH_HINT: &str = "a length is `1.1s`, `800ms` or seconds, up to an hour";
const RATE_HINT: &str = "a frame rate is 24, 25, 30, 50, 60, `24000/1001`, `30000/1001` or `60000/1001`";
const SHAPE_HINT: &str = "a frame is `wide`, `tall`, `square` or a size such as `1600x900`";

/// Reads a point on the film's clock: `m:ss.fff`, `h:mm:ss.fff` or seconds, rounded to the microsecond.
pub fn time(text: &str) -> Result<Time, FormError> {
    clock(text).map_err(|fact| FormError::new(fact).hint(TIME_HINT))
}

/// Reads a cue's time: a [`time`], or `+1.5` for a length after the cue before.
pub fn at(text: &str) -> Result<At, FormError> {
    let result = match text.trim().strip_prefix('+') {
        Some(after) => clock(after).map(|time| At::After(time.since(Time::ZERO))),
        None => clock(text).map(At::Clock),
    };
    result.map_err(|fact| FormError::new(fact).hint(AT_HINT))
}

/// Reads a length: `1.1s`, `800ms`, or seconds, rounded to the microsecond.
pub fn length(text: &str) -> Result<Duration, FormError> {
    micros_of_length(text.trim()).map(Duration::from_micros).map_err(|fact| FormError::new(fact).hint(LENGTH_HINT))
}

/// A number of seconds as a time; `fact` when it is none.
pub(super) fn time_from_seconds(seconds: f64) -> Result<Time, FormError> {
    let micros = micros_from_seconds(seconds, TOO_LATE).map_err(|fact| FormError::new(fact).hint(TIME_HINT))?;
    Ok(Time::from_micros(micros as i64))
}

/// A number of seconds as a length.
pub(super) fn length_from_seconds(seconds: f64) -> Result<Duration, FormError> {
    let micros = micros_from_seconds(seconds, LONGEST + 1).map_err(|fact| FormError::new(fact).hint(LENGTH_HINT))?;
    Ok(Duration::from_micros(micros))
}

/// Reads a frame rate: `30`, or a fraction of the NTSC family such as `30000/1001`.
pub fn frame_rate(text: &str) -> Result<FrameRate, FormError> {
    let (num, den) = match text.trim() {
        "24" => (24, 1),
        "25" => (25, 1),
        "30" => (30, 1),
        "50" => (50, 1),
        "60" => (60, 1),
        "24000/1001" => (24_000, 1001),
        "30000/1001" => (30_000, 1001),
        "60000/1001" => (60_000, 1001),
        other => {
            let error = FormError::new("not a frame rate that films use");
            return Err(match other {
                "23.976" | "23.98" => error.hint("the exact rate is `24000/1001`"),
                "29.97" => error.hint("the exact rate is `30000/1001`"),
                "59.94" => error.hint("the exact rate is `60000/1001`"),
                _ => error,
            }
            .hint(RATE_HINT));
        }
    };
    FrameRate::new(num, den).ok_or_else(|| FormError::new("a rate of nothing"))
}

impl FromStr for FrameShape {
    type Err = FormError;

    /// Reads `wide`, `tall`, `square`, or a size of two even numbers of pixels.
    fn from_str(text: &str) -> Result<FrameShape, FormError> {
        match text {
            "wide" => return Ok(FrameShape::Wide),
            "tall" => return Ok(FrameShape::Tall),
            "square" => return Ok(FrameShape::Square),
            _ => {}
        }
        let no_size = || none_of(text, ["wide", "tall", "square"], "not a frame".to_owned()).hint(SHAPE_HINT);
        let (width, height) = text.split_once(['x', '\u{d7}']).ok_or_else(no_size)?;
        let (width, height) = (side(width).ok_or_else(no_size)?, side(height).ok_or_else(no_size)?);
        let bounds = |fact: String| {
            let (shortest, longest) = SIDE;
            FormError::new(fact).hint(format!(
                "each side is even, {shortest} to {longest} pixels, the whole no more than 3840x2160 has"
            ))
        };
        for side in [width, height] {
            if !(SIDE.0..=SIDE.1).contains(&side) {
                return Err(bounds(format!("{side} pixels is too {}", if side < SIDE.0 { "short" } else { "long" })));
            }
            if side % 2 != 0 {
                return Err(bounds(format!("{side} is odd")));
            }
        }
        if width * height > MOST_PIXELS {
            return Err(bounds("too many pixels".to_owned()));
        }
        Ok(FrameShape::Free { width, height })
    }
}

impl fmt::Display for FrameShape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            FrameShape::Wide => f.write_str("wide"),
            FrameShape::Tall => f.write_str("tall"),
            FrameShape::Square => f.write_str("square"),
            FrameShape::Free { width, height } => write!(f, "{width}x{height}"),
        }
    }
}

/// One side of a size; `None` unless it is one to six digits.
fn side(text: &str) -> Option<u32> {
    let digits = !text.is_empty() && text.len() <= 6 && text.bytes().all(|b| b.is_ascii_digit());
    digits.then(|| text.parse().ok()).flatten()
}

/// A clock time in its three forms; the error is the fact.
fn clock(text: &str) -> Result<Time, String> {
    let text = text.trim();
    if text.is_empty() {
        return Err("an empty time".to_owned());
    }
    if text.starts_with('-') {
        return Err("a time before the film begins".to_owned());
    }
    let parts: Vec<&str> = text.split(':').collect();
    let (hours, minutes, seconds) = match parts[..] {
        [seconds] => (0, 0, decimal(seconds.strip_suffix('s').map_or(seconds, str::trim_end))?),
        [minutes, seconds] => (0, whole(minutes, "minutes")?, sixtieth(seconds)?),
        [hours, minutes, seconds] => {
            let count = whole(minutes, "minutes")?;
            if minutes.len() != 2 || count >= 60 {
                return Err("after the hours, minutes are two digits, 00 to 59".to_owned());
            }
            (whole(hours, "hours")?, count, sixtieth(seconds)?)
        }
        _ => return Err("more than hours, minutes and seconds".to_owned()),
    };
    let micros = (hours * 3600 + minutes * 60) * 1_000_000 + seconds;
    if micros >= TOO_LATE {
        return Err("later than any film: 100 hours or more".to_owned());
    }
    Ok(Time::from_micros(micros as i64))
}

/// Seconds after a colon: two digits below 60, then decimals; in microseconds.
fn sixtieth(text: &str) -> Result<u64, String> {
    let micros = decimal(text)?;
    let whole = text.split('.').next().unwrap_or(text);
    if whole.len() != 2 || whole > "59" {
        return Err("after a colon, seconds are two digits, 00 to 59".to_owned());
    }
    Ok(micros)
}

/// Hours or minutes; at most six digits, so that no sum of them overflows.
fn whole(text: &str, what: &str) -> Result<u64, String> {
    if text.is_empty() || text.len() > 6 || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err(format!("`{text}` is not a number of {what}"));
    }
    text.parse().map_err(|_| format!("`{text}` is not a number of {what}"))
}

fn micros_of_length(text: &str) -> Result<u64, String> {
    if text.is_empty() {
        return Err("an empty length".to_owned());
    }
    if text.starts_with('-') {
        return Err("a length below zero".to_owned());
    }
    let (number, micros_each) = match (text.strip_suffix("ms"), text.strip_suffix('s')) {
        (Some(number), _) => (number, 1000),
        (None, Some(number)) => (number, 1_000_000),
        (None, None) => (text, 1_000_000),
    };
    let micros = scaled(number.trim_end(), micros_each)?;
    if micros > LONGEST { Err("longer than an hour".to_owned()) } else { Ok(micros) }
}

/// Digits, then perhaps a point and digits: seconds in microseconds.
fn decimal(text: &str) -> Result<u64, String> {
    scaled(text, 1_000_000)
}

/// A decimal number times `unit`, which is a power of ten up to 10⁶, rounded half up to a whole number.
fn scaled(text: &str, unit: u64) -> Result<u64, String> {
    if text.contains(',') {
        return Err("decimals follow a point, not a comma".to_owned());
    }
    let (whole, decimals) = text.split_once('.').unwrap_or((text, "0"));
    let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(decimals) {
        return Err(format!("`{text}` is not a number of seconds"));
    }
    if whole.trim_start_matches('0').len() > 9 {
        return Err("far too long".to_owned());
    }
    let whole: u64 = whole.parse().map_err(|_| "far too long".to_owned())?;
    let mut value = whole * unit;
    let mut place = unit;
    for digit in decimals.bytes() {
        if place == 1 {
            // The first digit that has no place any more decides the rounding.
            value += u64::from(digit >= b'5');
            break;
        }
        place /= 10;
        value += u64::from(digit - b'0') * place;
    }
    Ok(value)
}

/// A number of seconds in microseconds, below `limit`.
fn micros_from_seconds(seconds: f64, limit: u64) -> Result<u64, String> {
    if !seconds.is_finite() {
        return Err("not a finite number".to_owned());
    }
    if seconds < 0.0 {
        return Err("below zero".to_owned());
    }
    let micros = (seconds * 1e6).round();
    if micros >= limit as f64 { Err("far too long".to_owned()) } else { Ok(micros as u64) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn micros(text: &str) -> Option<i64> {
        time(text).ok().map(Time::as_micros)
    }

    #[test]
    fn times_are_read_in_all_their_forms() {
        assert_eq!(micros("0:58.4"), Some(58_400_000));
        assert_eq!(micros("1:02:03.004"), Some(3_723_004_000));
        assert_eq!(micros("31.2"), Some(31_200_000));
        assert_eq!(micros("90"), Some(90_000_000));
        assert_eq!((micros("12s"), micros("12.5 s")), (Some(12_000_000), Some(12_500_000)));
        assert_eq!(at("+1.5s"), Ok(At::After(Duration::from_millis(1500))));
        assert_eq!((micros("1:12s"), micros("12ms"), micros("s")), (None, None, None));
        assert_eq!(micros("75:00"), Some(4_500_000_000));
        assert_eq!(micros("0.1234565"), Some(123_457));
        assert_eq!(micros("0:59.9999999"), Some(60_000_000), "rounded after the check of the digits");
    }

    #[test]
    fn what_is_no_time_says_why() {
        for (text, fact) in [
            ("", "an empty time"),
            ("-3", "a time before the film begins"),
            ("1:5", "after a colon, seconds are two digits, 00 to 59"),
            ("1:65", "after a colon, seconds are two digits, 00 to 59"),
            ("1:60:00", "after the hours, minutes are two digits, 00 to 59"),
            ("0:58,4", "decimals follow a point, not a comma"),
            ("1:2:3:4", "more than hours, minutes and seconds"),
            ("100:00:00", "later than any film: 100 hours or more"),
            ("x:10", "`x` is not a number of minutes"),
            ("soon", "`soon` is not a number of seconds"),
            ("5.", "`5.` is not a number of seconds"),
        ] {
            assert_eq!(time(text).unwrap_err().fact, fact, "{text}");
        }
    }

    #[test]
    fn a_plus_makes_a_time_relative() {
        assert_eq!(at("+1.5"), Ok(At::After(Duration::from_millis(1500))));
        assert_eq!(at("1.5"), Ok(At::Clock(Time::from_millis(1500))));
        assert!(at("+-1").is_err());
        assert!(time("+1.5").is_err(), "a point of the clock cannot be relative");
    }

    #[test]
    fn lengths_are_read_in_all_their_forms() {
        assert_eq!(length("1.1s"), Ok(Duration::from_millis(1100)));
        assert_eq!(length("800ms"), Ok(Duration::from_millis(800)));
        assert_eq!(length("2 s"), Ok(Duration::from_secs(2)));
        assert_eq!(length("0.0015ms"), Ok(Duration::from_micros(2)));
        assert_eq!(length("3600"), Ok(Duration::from_hours(1)));
        assert!(length("3600.000001").is_err());
        assert!(length("1m").is_err());
        assert!(length("s").is_err());
    }

    #[test]
    fn a_rounded_ntsc_rate_is_told_its_exact_form() {
        assert_eq!(frame_rate("30000/1001").unwrap().to_string(), "30000/1001");
        assert_eq!(frame_rate("29.97").unwrap_err().hints[0], "the exact rate is `30000/1001`");
        assert!(frame_rate("12").is_err());
    }

    #[test]
    fn frame_sizes_have_bounds() {
        assert_eq!("1600x900".parse(), Ok(FrameShape::Free { width: 1600, height: 900 }));
        assert_eq!("2160x3840".parse(), Ok(FrameShape::Free { width: 2160, height: 3840 }));
        for refused in ["1601x900", "100x900", "3842x900", "3840x3840", "x", "1600x", "wied", "1600X900"] {
            assert!(refused.parse::<FrameShape>().is_err(), "{refused}");
        }
    }

    proptest! {
        #[test]
        fn a_printed_time_reads_back(micros in 0..TOO_LATE as i64 / 1000) {
            let time_written = Time::from_micros(micros * 1000);
            prop_assert_eq!(time(&time_written.to_string()), Ok(time_written));
        }

        #[test]
        fn no_text_breaks_a_form(text in "[-+0-9:.,smx/ ]{0,16}|.{0,12}") {
            let _ = (time(&text), at(&text), length(&text), frame_rate(&text), text.parse::<FrameShape>());
        }
    }
}
