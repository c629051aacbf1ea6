//! What of a list is in view where not all is, and the line that stands for what came before.

use super::entries::Entry;
use crate::film::MoveList;
use crate::timeline::LineKind;
use std::ops::Range;

/// Which of so many blocks are shown where not all may have room: a stretch that leaves some for a fold line of this
/// height, if it does not begin with the first.
/// Only blocks that may be in view are asked how tall they are.
pub(super) fn window(
    count: usize,
    height: &mut impl FnMut(usize) -> f32,
    current: usize,
    room: f32,
    fold: f32,
) -> Range<usize> {
    // The newest blocks that fit, at least one. With the first of all in view there is no fold line.
    let mut start = count;
    let mut used = 0.0;
    while start > 0 && used + height(start - 1) <= if start == 1 { room } else { room - fold } {
        start -= 1;
        used += height(start);
    }
    if current >= start {
        return start.min(count - 1)..count;
    }
    // The current move lies in the fold: it opens, two blocks before it. Where even those leave no room, fewer.
    for before in [2, 1, 0] {
        let start = current.saturating_sub(before);
        let room = if start == 0 { room } else { room - fold };
        let mut end = start;
        let mut used = 0.0;
        while end < count && used + height(end) <= room {
            used += height(end);
            end += 1;
        }
        if end > current {
            return start..end;
        }
    }
    current..current + 1
}

/// What has been folded: how many of what.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::paint) struct Folded {
    /// The numbers of the first and of the last move, if there are moves among it.
    pub moves: Option<(u32, u32)>,
    pub tries: usize,
    pub variations: usize,
}

impl Folded {
    /// What these entries hold.
    pub(super) fn of(entries: &[Entry], list: &MoveList) -> Folded {
        let number = |entry: &Entry| match entry {
            Entry::Moves(range) => list.main.get(range.start).map(|played| played.number),
            Entry::Try(_) => None,
        };
        let first = entries.iter().find_map(number);
        let last = entries.iter().rev().find_map(number);
        let lines = || {
            entries.iter().filter_map(|entry| match entry {
                Entry::Try(index) => Some(list.tries[*index].line),
                Entry::Moves(_) => None,
            })
        };
        let tries = lines().filter(|line| *line == LineKind::Try).count();
        Folded { moves: first.zip(last), tries, variations: lines().count() - tries }
    }

    /// `moves 1 – 34 · 1 try`; or in the film's own words, if it has such. Of these, as of ours, a part between two `·`
    /// is left out where what it counts is not there.
    pub(in crate::paint) fn told(self, own: &str) -> String {
        let parts: Vec<String> = if own.is_empty() { self.ours() } else { self.theirs(own) };
        parts.join("  ·  ")
    }

    fn ours(self) -> Vec<String> {
        let counted = |count: usize, one: &str, many: &str| match count {
            0 => None,
            1 => Some(format!("1 {one}")),
            count => Some(format!("{count} {many}")),
        };
        let moves =
            self.moves.map(
                |(first, last)| {
                    if first == last { format!("move {first}") } else { format!("moves {first} – {last}") }
                },
            );
        let tries = counted(self.tries, "try", "tries");
        let variations = counted(self.variations, "variation", "variations");
        moves.into_iter().chain(tries).chain(variations).collect()
    }

    fn theirs(self, own: &str) -> Vec<String> {
        let count = |count: usize| (count > 0).then(|| count.to_string());
        let places = [
            ("{from}", self.moves.map(|(first, _)| first.to_string())),
            ("{to}", self.moves.map(|(_, last)| last.to_string())),
            ("{tries}", count(self.tries)),
            ("{variations}", count(self.variations)),
        ];
        let filled = |part: &str| {
            places.iter().try_fold(part.trim().to_owned(), |part, (place, value)| match value {
                Some(value) => Some(part.replace(place, value)),
                None => (!part.contains(place)).then_some(part),
            })
        };
        own.split('·').filter_map(filled).collect()
    }
}
