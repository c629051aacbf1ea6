//! The countdown of a position card: it runs down to the end of its card.

use super::motion::{RING_NUMBER, Window};
use super::picture::RingPicture;
use crate::units::Time;
use std::time::Duration;

/// More ticks than this cannot be told apart.
const MOST_TICKS: u32 = 60;

/// A countdown on the clock.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ring {
    start: Time,
    end: Time,
    seconds: u32,
    /// Seconds a tick.
    step: u32,
}

impl Ring {
    /// A countdown of `length` to `end`, in whole seconds; the first of them may be cut off by `from`.
    pub(super) fn new(length: Duration, from: Time, end: Time) -> Ring {
        let seconds = u32::try_from(length.as_millis().div_ceil(1000)).unwrap_or(u32::MAX).max(1);
        let start = if end.since(Time::ZERO) > Duration::from_secs(u64::from(seconds)) {
            end - Duration::from_secs(u64::from(seconds))
        } else {
            Time::ZERO
        };
        Ring { start: start.max(from), end, seconds, step: seconds.div_ceil(MOST_TICKS) }
    }

    /// The ring at `time`.
    ///
    /// The tick of the present second melts over its own second, so that nothing steps and nothing flashes.
    pub(super) fn at(self, time: Time) -> RingPicture {
        let left = self.end.max(time).since(time).as_secs_f64();
        let gone = (f64::from(self.seconds) - left).clamp(0.0, f64::from(self.seconds));
        let ticks = self.seconds.div_ceil(self.step);
        let melting = gone / f64::from(self.step);
        let part = melting.fract();
        let spent = melting.floor() + part * part * (3.0 - 2.0 * part);
        let whole = gone.floor();
        let change = Window::new(0.0, RING_NUMBER).through((gone - whole) * 1000.0);
        RingPicture {
            ticks,
            spent: spent.min(f64::from(ticks)) as f32,
            left: self.seconds - whole as u32,
            change: (whole > 0.0 && change < 1.0).then_some(change as f32),
        }
    }

    /// The stretch in which it changes.
    pub(super) fn change(self) -> (Time, Time) {
        (self.start, self.end)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(seconds: u64) -> Ring {
        Ring::new(Duration::from_secs(seconds), Time::from_millis(1000), Time::from_millis(61_000))
    }

    #[test]
    fn it_is_full_until_it_begins_and_ends_with_its_card() {
        let ring = ring(20);
        let before = ring.at(Time::from_millis(30_000));
        assert_eq!((before.ticks, before.spent, before.left, before.change), (20, 0.0, 20, None));
        let last = ring.at(Time::from_millis(60_999));
        assert_eq!((last.left, last.spent > 19.9), (1, true));
        assert_eq!(ring.change(), (Time::from_millis(41_000), Time::from_millis(61_000)));
    }

    #[test]
    fn nothing_steps_from_frame_to_frame() {
        for (ring, most) in [(ring(20), 0.06), (ring(55), 0.06)] {
            let mut before = ring.at(Time::from_millis(0)).spent;
            for frame in 0..61 * 30 {
                let spent = ring.at(Time::from_micros(frame * 1_000_000 / 30)).spent;
                assert!(spent >= before && spent - before < most, "frame {frame}: from {before} to {spent}");
                before = spent;
            }
        }
    }

    #[test]
    fn a_long_countdown_has_a_tick_for_several_seconds() {
        let ring = Ring::new(Duration::from_mins(5), Time::ZERO, Time::from_millis(301_000));
        assert_eq!(ring.at(Time::from_millis(1000)).ticks, 60);
        let later = ring.at(Time::from_millis(11_000));
        assert_eq!((later.spent, later.left), (2.0, 290));
    }

    #[test]
    fn the_number_changes_by_a_fade() {
        let changing = ring(20).at(Time::from_millis(43_080));
        assert_eq!((changing.left, changing.change), (18, Some(0.5)));
        assert_eq!(ring(20).at(Time::from_millis(43_160)).change, None);
    }
}
