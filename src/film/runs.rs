//! Which frames equal the one before: what the coder need not look at.

use super::Film;
use crate::units::{FrameIndex, FrameRate, Time};
use std::ops::Range;

/// A stretch of frames, as long as can be, that all stand still or all move.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// Which frames.
    pub frames: Range<FrameIndex>,
    /// Whether every one of them shows the same picture as the frame before it.
    pub still: bool,
}

/// The frames that may differ from the one before, as sorted ranges that do not touch.
pub(super) fn restless(changes: Vec<(Time, Time)>, rate: FrameRate, frames: u64) -> Vec<Range<u64>> {
    // A change from `a` to `b` shows first in the frame at or after `a`, last in the one at or after `b`.
    let mut ranges: Vec<Range<u64>> = changes
        .into_iter()
        .map(|(from, to)| rate.first_at(from).0..rate.first_at(to).0.saturating_add(1).min(frames))
        .chain(std::iter::once(0..1))
        .filter(|range| !range.is_empty())
        .collect();
    ranges.sort_by_key(|range| range.start);
    let mut merged: Vec<Range<u64>> = Vec::new();
    for range in ranges {
        match merged.last_mut() {
            Some(last) if range.start <= last.end => last.end = last.end.max(range.end),
            _ => merged.push(range),
        }
    }
    merged
}

impl Film {
    /// The stretches of `range` in which all frames stand still, and those in which all move, in turn.
    ///
    /// Exact: a frame is still if and only if its picture equals that of the frame before; the film's first frame
    /// never is. Holds cost nothing, however long; only frames near a motion are looked at.
    pub fn runs(&self, range: Range<FrameIndex>) -> impl Iterator<Item = Run> + '_ {
        let end = range.end.0.min(self.frames());
        let mut next = range.start.0;
        std::iter::from_fn(move || {
            let first = next;
            let still = self.stands(first..end)?.0;
            while let Some((_, until)) = self.stands(next..end).filter(|(stands, _)| *stands == still) {
                next = until;
            }
            Some(Run { frames: FrameIndex(first)..FrameIndex(next), still })
        })
    }

    /// Whether the first frame of `range` stands still, and up to where that is known; `None` if there is none.
    fn stands(&self, range: Range<u64>) -> Option<(bool, u64)> {
        if range.is_empty() {
            return None;
        }
        let next = self.restless.partition_point(|restless| restless.end <= range.start);
        match self.restless.get(next) {
            Some(restless) if restless.start <= range.start => {
                let still =
                    range.start > 0 && self.frame(FrameIndex(range.start)) == self.frame(FrameIndex(range.start - 1));
                Some((still, range.start + 1))
            }
            Some(restless) => Some((true, restless.start.min(range.end))),
            None => Some((true, range.end)),
        }
    }
}
