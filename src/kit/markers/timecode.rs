//! Time code (SMPTE ST 12-1): frames as labels, `01:00:00:00`, and in drop-frame `01:00:00;00`.
//!
//! At 30000/1001 and 60000/1001 frames a second a label counts 30 or 60 to the second, so that it runs late; drop-frame
//! leaves out the first two (four) labels of every minute but each tenth, and stays within a frame or two of the clock.
//! No picture is dropped.

use crate::units::{FrameIndex, FrameRate};
use std::fmt;

/// A frame's label.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Timecode {
    hours: u64,
    minutes: u64,
    seconds: u64,
    frames: u64,
    drop: bool,
}

/// Why a text is no label of a frame.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TimecodeError {
    /// Not `hh:mm:ss:ff`, or `hh:mm:ss;ff` in drop-frame.
    #[error("`{0}` is no time code at this rate")]
    Form(String),
    /// A label that drop-frame leaves out.
    #[error("`{0}` is left out in drop-frame")]
    Dropped(String),
}

/// Labels a second at a rate.
fn base(rate: FrameRate) -> u64 {
    u64::from(rate.num()).div_ceil(u64::from(rate.den()))
}

/// How many labels a minute leaves out: none where the rate is whole, nor at 24000/1001, for which there is no drop.
fn dropped(rate: FrameRate) -> u64 {
    if rate.den() == 1001 && base(rate).is_multiple_of(30) { base(rate) / 15 } else { 0 }
}

impl Timecode {
    /// Whether a rate's labels are drop-frame.
    pub fn is_drop(rate: FrameRate) -> bool {
        dropped(rate) > 0
    }

    /// The label of a frame; after 24 hours it goes on counting hours.
    pub fn of(frame: FrameIndex, rate: FrameRate) -> Timecode {
        Timecode::leaving_out(frame, rate, dropped(rate))
    }

    /// The label of a frame where no label is left out, which at 30000/1001 runs late by 3.6 s an hour.
    pub fn non_drop(frame: FrameIndex, rate: FrameRate) -> Timecode {
        Timecode::leaving_out(frame, rate, 0)
    }

    fn leaving_out(frame: FrameIndex, rate: FrameRate, drop: u64) -> Timecode {
        let base = base(rate);
        let ten_minutes = 600 * base - 9 * drop;
        let (tens, rest) = (frame.0 / ten_minutes, frame.0 % ten_minutes);
        let in_tens = if drop > 0 && rest >= drop { drop * ((rest - drop) / (60 * base - drop)) } else { 0 };
        let count = frame.0 + 9 * drop * tens + in_tens;
        Timecode {
            hours: count / (3600 * base),
            minutes: count / (60 * base) % 60,
            seconds: count / base % 60,
            frames: count % base,
            drop: drop > 0,
        }
    }

    /// The frame it is the label of.
    pub fn frame(self, rate: FrameRate) -> FrameIndex {
        let minutes = 60 * self.hours + self.minutes;
        let count = base(rate) * (60 * minutes + self.seconds) + self.frames;
        FrameIndex(count - dropped(rate) * (minutes - minutes / 10))
    }

    /// Reads a label at a rate: with `;` before the frames exactly where the rate is drop-frame.
    pub fn parse(text: &str, rate: FrameRate) -> Result<Timecode, TimecodeError> {
        let form = || TimecodeError::Form(text.to_owned());
        let drop = dropped(rate) > 0;
        let (clock, frames) = text.rsplit_once(if drop { ';' } else { ':' }).ok_or_else(form)?;
        let digits = |part: &str| -> Option<u64> {
            let sound = part.len() == 2 && part.bytes().all(|byte| byte.is_ascii_digit());
            if sound { part.parse().ok() } else { None }
        };
        let parts: Option<Vec<u64>> = clock.split(':').chain([frames]).map(digits).collect();
        let Some(&[hours, minutes, seconds, frames]) = parts.as_deref() else { return Err(form()) };
        if hours >= 24 || minutes >= 60 || seconds >= 60 || frames >= base(rate) {
            return Err(form());
        }
        if frames < dropped(rate) && seconds == 0 && minutes % 10 != 0 {
            return Err(TimecodeError::Dropped(text.to_owned()));
        }
        Ok(Timecode { hours, minutes, seconds, frames, drop })
    }
}

impl fmt::Display for Timecode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Timecode { hours, minutes, seconds, frames, drop } = self;
        let mark = if *drop { ';' } else { ':' };
        write!(f, "{hours:02}:{minutes:02}:{seconds:02}{mark}{frames:02}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rate(num: u32) -> FrameRate {
        FrameRate::new(num, 1001).expect("a rate")
    }

    /// Computed by SMPTE ST 12-1's rule; 3598 and 17982 also stand in independent test tables.
    #[test]
    fn labels_of_29_97() {
        for (frame, label) in [
            (0, "00:00:00;00"),
            (1799, "00:00:59;29"),
            (1800, "00:01:00;02"),
            (3597, "00:01:59;29"),
            (3598, "00:02:00;02"),
            (16184, "00:09:00;02"),
            (17981, "00:09:59;29"),
            (17982, "00:10:00;00"),
            (19782, "00:11:00;02"),
            (107_892, "01:00:00;00"),
            (2_589_407, "23:59:59;29"),
        ] {
            assert_eq!(Timecode::of(FrameIndex(frame), rate(30000)).to_string(), label);
            assert_eq!(Timecode::parse(label, rate(30000)).unwrap().frame(rate(30000)), FrameIndex(frame));
        }
    }

    #[test]
    fn labels_of_59_94() {
        for (frame, label) in
            [(3599, "00:00:59;59"), (3600, "00:01:00;04"), (35964, "00:10:00;00"), (215_784, "01:00:00;00")]
        {
            assert_eq!(Timecode::of(FrameIndex(frame), rate(60000)).to_string(), label);
            assert_eq!(Timecode::parse(label, rate(60000)).unwrap().frame(rate(60000)), FrameIndex(frame));
        }
    }

    #[test]
    fn every_label_of_a_day_leads_back_to_its_frame() {
        let rate = rate(30000);
        for frame in (0..2_589_408).map(FrameIndex) {
            assert_eq!(Timecode::of(frame, rate).frame(rate), frame);
        }
    }

    #[test]
    fn labels_that_are_left_out_are_refused() {
        for label in ["00:01:00;00", "00:01:00;01", "00:59:00;00"] {
            assert_eq!(Timecode::parse(label, rate(30000)), Err(TimecodeError::Dropped(label.to_owned())));
        }
        assert!(Timecode::parse("00:10:00;00", rate(30000)).is_ok());
        for label in ["00:01:00:02", "00:01:00;30", "0:01:00;02", "00:60:00;02", "00:01;02", "24:00:00;00", ""] {
            assert_eq!(Timecode::parse(label, rate(30000)), Err(TimecodeError::Form(label.to_owned())));
        }
    }

    #[test]
    fn whole_rates_and_film_drop_nothing() {
        let label = |frame, rate| Timecode::of(FrameIndex(frame), rate).to_string();
        assert_eq!(label(1800, FrameRate::new(30, 1).unwrap()), "00:01:00:00");
        assert_eq!(label(90_061, FrameRate::new(25, 1).unwrap()), "01:00:02:11");
        assert_eq!(label(1440, rate(24000)), "00:01:00:00");
        assert_eq!(Timecode::non_drop(FrameIndex(1800), rate(30000)).to_string(), "00:01:00:00");
    }
}
