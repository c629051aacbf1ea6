//! Time, frame index and frame rate, and every rule by which one becomes another.

use std::fmt;
use std::num::NonZeroU32;
use std::ops::{Add, Sub};
use std::time::Duration;

/// A point on the film's clock: whole microseconds from the start of frame 0.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Time(i64);

impl Time {
    /// The start of frame 0.
    pub const ZERO: Time = Time(0);

    /// A time from whole microseconds.
    pub const fn from_micros(micros: i64) -> Time {
        Time(micros)
    }

    /// A time from whole milliseconds.
    pub const fn from_millis(millis: i64) -> Time {
        Time(millis * 1000)
    }

    /// Whole microseconds from the start of frame 0.
    pub const fn as_micros(self) -> i64 {
        self.0
    }

    /// Seconds from the start of frame 0, for display and for ratios only.
    pub fn as_secs_f64(self) -> f64 {
        self.0 as f64 / 1e6
    }

    /// How long after `earlier` this is; zero if it is before.
    pub fn since(self, earlier: Time) -> Duration {
        Duration::from_micros(u64::try_from(self.0 - earlier.0).unwrap_or(0))
    }

    /// Milliseconds from `earlier` to here, negative before it.
    pub fn millis_after(self, earlier: Time) -> f32 {
        (self.0 - earlier.0) as f32 / 1000.0
    }
}

impl Add<Duration> for Time {
    type Output = Time;
    fn add(self, rhs: Duration) -> Time {
        Time(self.0.saturating_add(i64::try_from(rhs.as_micros()).unwrap_or(i64::MAX)))
    }
}

impl Sub<Duration> for Time {
    type Output = Time;
    fn sub(self, rhs: Duration) -> Time {
        Time(self.0.saturating_sub(i64::try_from(rhs.as_micros()).unwrap_or(i64::MAX)))
    }
}

/// `m:ss.mmm`, or `h:mm:ss.mmm` from one hour on; rounded down to the millisecond.
impl fmt::Display for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let millis = self.0.unsigned_abs() / 1000;
        let (seconds, millis) = (millis / 1000, millis % 1000);
        let (minutes, seconds) = (seconds / 60, seconds % 60);
        if minutes < 60 {
            write!(f, "{sign}{minutes}:{seconds:02}.{millis:03}")
        } else {
            write!(f, "{sign}{}:{:02}:{seconds:02}.{millis:03}", minutes / 60, minutes % 60)
        }
    }
}

/// A frame, counted from 0. Frame `n` is on screen for `[n·den/num, (n+1)·den/num)` seconds.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FrameIndex(pub u64);

impl FrameIndex {
    /// How many digits the frames of a film of so many are numbered with in the names of files, so that a listing by
    /// name is in order: five, or as many as the last one needs.
    pub fn digits(frames: u64) -> usize {
        frames.saturating_sub(1).to_string().len().max(5)
    }
}

/// The greatest number that divides both; the other one where one is 0.
pub const fn gcd(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// Frames per second, exact and in lowest terms: 30000/1001, never 29.97.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct FrameRate {
    num: NonZeroU32,
    den: NonZeroU32,
}

impl FrameRate {
    /// `num / den` frames per second, reduced; `None` if either is zero.
    pub fn new(num: u32, den: u32) -> Option<FrameRate> {
        let g = gcd(num, den).max(1);
        Some(FrameRate { num: NonZeroU32::new(num / g)?, den: NonZeroU32::new(den / g)? })
    }

    /// The numerator in lowest terms: the ticks a second of the timebase in which a frame lasts [`FrameRate::den`].
    pub fn num(self) -> u32 {
        self.num.get()
    }

    /// The denominator in lowest terms.
    pub fn den(self) -> u32 {
        self.den.get()
    }

    /// The instant at which frame `n` appears, rounded down to the microsecond.
    ///
    /// Always derived from the index: durations are never added up.
    pub fn start_of(self, frame: FrameIndex) -> Time {
        let micros = u128::from(frame.0) * u128::from(self.den()) * 1_000_000 / u128::from(self.num());
        Time(i64::try_from(micros).unwrap_or(i64::MAX))
    }

    /// The first frame that appears at or after `time`: the one that first shows what happens then.
    pub fn first_at(self, time: Time) -> FrameIndex {
        let scaled = u128::try_from(time.0).unwrap_or(0) * u128::from(self.num());
        let unit = u128::from(self.den()) * 1_000_000;
        FrameIndex(u64::try_from(scaled.div_ceil(unit)).unwrap_or(u64::MAX))
    }

    /// How many frames cover `length`: rounded up, at least one.
    pub fn frames_in(self, length: Duration) -> u64 {
        self.first_at(Time::ZERO + length).0.max(1)
    }
}

/// `30` or `30000/1001`.
impl fmt::Display for FrameRate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.den.get() == 1 { write!(f, "{}", self.num) } else { write!(f, "{}/{}", self.num, self.den) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_frame_is_derived_from_its_index() {
        let rate = FrameRate::new(30000, 1001).unwrap();
        // SMPTE ST 12-1 arithmetic: frame 107892 of 30000/1001 begins at 3599.9964 s.
        assert_eq!(rate.start_of(FrameIndex(107_892)).as_micros(), 3_599_996_400);
        assert_eq!(rate.first_at(Time::from_micros(3_599_996_400)), FrameIndex(107_892));
        assert_eq!(rate.first_at(Time::from_micros(3_599_996_401)), FrameIndex(107_893));
    }

    #[test]
    fn rates_are_reduced() {
        assert_eq!(FrameRate::new(60, 2), FrameRate::new(30, 1));
        assert_eq!(FrameRate::new(0, 1), None);
        assert_eq!(FrameRate::new(30000, 1001).unwrap().to_string(), "30000/1001");
    }

    #[test]
    fn times_print_as_a_clock() {
        assert_eq!(Time::from_millis(72_345).to_string(), "1:12.345");
        assert_eq!(Time::from_millis(3_600_000).to_string(), "1:00:00.000");
    }
}
