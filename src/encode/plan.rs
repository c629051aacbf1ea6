//! Which unit each frame becomes, before a pixel is painted: where the keys stand, and what is held.
//!
//! A film is cut into chunks that begin with a key and know nothing of each other, so that they can be coded side by
//! side. Three facts shape the plan:
//!
//! - A shown key may not be shown again (AV1 specification §6.8.2): after a key one frame is coded, if only as a copy,
//!   before anything is held.
//! - A key inside a hold is seen: coding the same picture afresh changes a third of its pixels a little. So keys stand
//!   on frames that change anyway, best on the last frame of a move, just before the picture rests.
//! - A hold too long to do without a key can have the bytes of its key and of the copy after it written once more: the
//!   decoder ends in the state it was in. That needs a hold that began with a key, so such holds do.

use std::ops::Range;

/// What a frame becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Step {
    /// A key frame: the whole picture, and the place to seek to.
    Key,
    /// An inter frame: the picture changed.
    Coded,
    /// An inter frame of the same picture, right after its key, so that there is something that may be held.
    Copy,
    /// A few bytes that show the last picture again.
    Held,
    /// The bytes of the chunk's key once more. The picture has rested since that key.
    Rekey,
    /// The bytes of the copy after that key once more, right after the key's.
    Recopy,
}

/// Where in a chunk its key stands.
pub const KEY: usize = 0;
/// Where in a chunk the copy after its key stands, if the picture rests there.
pub const COPY: usize = 1;

/// Frames coded together, from a key on.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Chunk {
    /// The first frame in the film.
    pub start: u64,
    /// What each frame from there on becomes. The first is the only [`Step::Key`].
    pub steps: Vec<Step>,
}

/// What decides a plan.
pub struct Motion<'a> {
    /// Whether a frame differs from the one before it. Not asked for the first frame of the range.
    pub changes: &'a dyn Fn(u64) -> bool,
    /// Frames at which a scene begins, in order: places worth seeking to.
    pub cuts: &'a [u64],
    /// The greatest number of frames from one key to the next, at least 4.
    pub limit: u64,
}

/// Plans the frames of `range`: chunk after chunk, each frame once.
pub fn plan(range: Range<u64>, motion: &Motion) -> Vec<Chunk> {
    assert!(motion.limit >= 4, "a key, its copy and a frame either side need room");
    let mut chunks = Vec::new();
    let mut rekeys = Vec::new();
    let (mut start, mut last_key) = (range.start, range.start);
    while start < range.end {
        let next = match next_key(last_key, range.end, motion) {
            Next::Rekey(frame) => {
                rekeys.push(frame);
                last_key = frame;
                continue;
            }
            Next::Key(frame) => frame,
            Next::End => range.end,
        };
        chunks.push(Chunk { start, steps: steps(start..next, &rekeys, motion) });
        rekeys.clear();
        (start, last_key) = (next, next);
    }
    chunks
}

enum Next {
    /// Code a key here: a chunk begins.
    Key(u64),
    /// Write the chunk's key again here and its copy after it.
    Rekey(u64),
    /// No further key is needed.
    End,
}

/// What the next key after `last` is, in a film that goes to `end`.
fn next_key(last: u64, end: u64, motion: &Motion) -> Next {
    let changes = motion.changes;
    let deadline = last + motion.limit;
    let window = last + 1..(deadline + 1).min(end);
    let cut = motion.cuts.iter().find(|cut| window.contains(cut));
    if let Some(first_change) = cut.and_then(|&cut| (cut..window.end).find(|&frame| changes(frame))) {
        return Next::Key(first_change);
    }
    if deadline + 1 >= end {
        return Next::End;
    }
    let Some(last_change) = window.clone().rev().find(|&frame| changes(frame)) else {
        // The picture has rested since the key itself. The copy needs a frame of the same rest.
        return Next::Rekey(if changes(deadline + 1) { deadline - 1 } else { deadline });
    };
    // The picture rests beyond the deadline after this change, or is on the move at the deadline.
    let settles = |frame: u64| changes(frame) && !changes(frame + 1);
    let late = last + motion.limit / 2 + 1..deadline + 1;
    let settled = if last_change < deadline { Some(last_change) } else { late.rev().find(|&frame| settles(frame)) };
    Next::Key(settled.unwrap_or(deadline))
}

/// What the frames of one chunk become.
fn steps(frames: Range<u64>, rekeys: &[u64], motion: &Motion) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    for frame in frames {
        steps.push(match steps.last() {
            None => Step::Key,
            Some(_) if rekeys.contains(&frame) => Step::Rekey,
            Some(Step::Rekey) => Step::Recopy,
            Some(_) if (motion.changes)(frame) => Step::Coded,
            Some(Step::Key) => Step::Copy,
            Some(_) => Step::Held,
        });
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// `x` changes, `.` holds; the plan as one letter a frame, chunks apart.
    fn planned(film: &str, cuts: &[u64], limit: u64) -> String {
        let film = film.as_bytes();
        let motion = Motion { changes: &|frame| film[frame as usize] == b'x', cuts, limit };
        let letter = |step: &Step| match step {
            Step::Key => 'K',
            Step::Coded => 'x',
            Step::Copy => 'c',
            Step::Held => '.',
            Step::Rekey => 'R',
            Step::Recopy => 'r',
        };
        let chunks = plan(0..film.len() as u64, &motion);
        chunks.iter().map(|chunk| chunk.steps.iter().map(letter).collect::<String>()).collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn a_short_film_is_one_chunk() {
        assert_eq!(planned("x....xxx...", &[], 20), "Kc...xxx...");
        assert_eq!(planned("xx...", &[], 20), "Kx...");
        assert_eq!(planned("x", &[], 20), "K");
    }

    #[test]
    fn a_scene_begins_a_chunk_with_its_first_change() {
        assert_eq!(planned("x....xxx...", &[4], 20), "Kc... Kxx...");
        assert_eq!(planned("x....xxx...", &[0, 5], 20), "Kc... Kxx...");
        assert_eq!(planned("x..........", &[4], 20), "Kc.........", "nothing changes: a key would be seen");
    }

    #[test]
    fn a_key_stands_where_the_picture_comes_to_rest() {
        assert_eq!(planned("x..xxx..xxx....xxx...", &[], 16), "Kc.xxx..xx Kc...xxx...");
        assert_eq!(planned("x..xxxxxxxxxxxxxxxxxx...", &[], 10), "Kc.xxxxxxx Kxxxxxxxxx Kc..", "or at the deadline");
    }

    #[test]
    fn a_long_hold_has_its_key_again() {
        assert_eq!(planned("x..............", &[], 6), "Kc....Rr....Rr.");
        assert_eq!(planned("x..xx...............xx", &[], 6), "Kc.x Kc....Rr....Rr..xx");
        assert_eq!(planned("x......x.......", &[], 6), "Kc...Rr Kc....Rr", "the copy rests with its key");
    }

    proptest! {
        #[test]
        fn every_plan_keeps_the_laws(
            changes in proptest::collection::vec(proptest::bool::weighted(0.3), 1..200),
            rests in proptest::collection::vec((0usize..200, 0usize..60), 0..4),
            cuts in proptest::collection::btree_set(0u64..200, 0..5),
            limit in 4u64..40,
            start in 0u64..20,
        ) {
            let mut changes = changes;
            for (from, count) in rests {
                changes.iter_mut().skip(from).take(count).for_each(|change| *change = false);
            }
            let cuts: Vec<u64> = cuts.into_iter().collect();
            let end = changes.len() as u64;
            let start = start.min(end);
            let motion = Motion { changes: &|frame| changes[frame as usize], cuts: &cuts, limit };
            let mut frame = start;
            let mut last_key = start;
            for chunk in plan(start..end, &motion) {
                prop_assert_eq!(chunk.start, frame);
                prop_assert_eq!(chunk.steps[0], Step::Key);
                for (i, &step) in chunk.steps.iter().enumerate() {
                    let before = i.checked_sub(1).map(|i| chunk.steps[i]);
                    let changed = frame == start || changes[frame as usize];
                    prop_assert_eq!(changed, matches!(step, Step::Key | Step::Coded), "frame {}", frame);
                    match before {
                        Some(Step::Key) => prop_assert!(matches!(step, Step::Coded | Step::Copy)),
                        Some(Step::Rekey) => prop_assert_eq!(step, Step::Recopy),
                        _ => prop_assert!(!matches!(step, Step::Copy | Step::Recopy)),
                    }
                    if step == Step::Rekey {
                        prop_assert!(chunk.steps[1..i].iter().all(|&step| step != Step::Coded));
                        prop_assert!(chunk.steps.get(i + 1).is_some(), "a last frame needs no key");
                    }
                    if matches!(step, Step::Key | Step::Rekey) {
                        prop_assert!(frame - last_key <= limit);
                        last_key = frame;
                    }
                    frame += 1;
                }
            }
            prop_assert_eq!(frame, end);
            prop_assert!(end == start || end - last_key <= limit + 1);
        }
    }
}
